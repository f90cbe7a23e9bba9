"""The local server: where it listens, and that it ends cleanly however it is ended."""

import asyncio
import signal
import socket
from concurrent.futures import ThreadPoolExecutor

import pytest
from web.opened import Opened

from fitcheck.core.errors import UsageError
from fitcheck.web.serve import _listening


def test_it_listens_at_this_computers_own_address():
    with _listening(0) as listener:
        address, port = listener.getsockname()
        assert address == "127.0.0.1"
        assert port > 1023
        with socket.create_connection((address, port), timeout=5):
            pass  # it waits until the rest of the start is done


def test_a_port_can_be_chosen_and_used_again_at_once():
    with _listening(0) as listener:
        port = listener.getsockname()[1]
    with _listening(port) as again:
        assert again.getsockname()[1] == port
        with pytest.raises(UsageError, match=f"Port {port} cannot be used"):
            _listening(port)


@pytest.mark.parametrize("port", [-1, 70_000])
def test_a_port_that_is_none(port):
    with pytest.raises(UsageError, match=f"Port {port} cannot be used"):
        _listening(port)


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGHUP])
def test_other_ways_of_ending(tmp_path, how):
    server = Opened(tmp_path)
    said = server.stop(how)
    assert "Traceback" not in said
    assert not list((server.data / "unrecorded").glob("run-*"))


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

    with ThreadPoolExecutor(1) as pool:  # the browser of other tests has a loop going in this thread
        assert pool.submit(asyncio.run, asked()).result()
