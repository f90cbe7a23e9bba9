"""How the page listens."""

import asyncio
import socket

from fitcheck.web.serve import _listening


def test_answers_leave_at_once() -> None:
    """What a browser is sent in two pieces must not wait for its receipt of the first: that takes 40 ms."""

    async def asked() -> int:
        at_once: asyncio.Future[int] = asyncio.get_running_loop().create_future()

        async def answer(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            at_once.set_result(writer.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
            writer.close()

        listener = _listening(0)
        async with await asyncio.start_server(answer, sock=listener):
            _, writer = await asyncio.open_connection(*listener.getsockname())
            writer.close()
            return await asyncio.wait_for(at_once, 5)

    assert asyncio.run(asked())
