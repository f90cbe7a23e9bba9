"""A server that says nothing of who asks for what: no log, no header of its own, one protocol."""

import uvicorn
from starlette.types import ASGIApp


def quiet_server(app: ASGIApp, last_answer_s: int, most_at_once: int | None = None) -> uvicorn.Server:
    """A server for one application, not yet running.

    Parameters
    ----------
    last_answer_s : int
        How long answers under way may take once it is to end.
    most_at_once : int, optional
        Connections beyond which it is busy; without, any number.
    """
    return uvicorn.Server(
        uvicorn.Config(
            app,
            log_config=None,
            log_level="critical",
            access_log=False,
            server_header=False,
            lifespan="off",
            http="h11",
            ws="none",
            proxy_headers=False,
            limit_concurrency=most_at_once,
            timeout_graceful_shutdown=last_answer_s,
        )
    )
