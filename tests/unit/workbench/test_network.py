"""The sockets that the workbench listens on."""

import asyncio
import socket

from dabchick.workbench.network import listen


def test_small_answers_are_sent_at_once() -> None:
    """Otherwise an answer in two pieces waits for the other side's delayed acknowledgement, about 40 ms."""

    async def at_once() -> bool:
        seen: asyncio.Future[bool] = asyncio.get_running_loop().create_future()

        def met(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            option = writer.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
            seen.set_result(bool(option))
            writer.close()

        loopback, *others = listen(0)
        for other in others:
            other.close()
        async with await asyncio.start_server(met, sock=loopback):
            _, writer = await asyncio.open_connection(*loopback.getsockname())
            found = await asyncio.wait_for(seen, 10.0)
            writer.close()
        return found

    assert asyncio.run(at_once())
