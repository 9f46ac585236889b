"""Who opens many connections from one address takes none from others."""

import asyncio
import socket

from barrelfit.dashboard.server.few_at_once import MOST_FROM_ONE, FewAtOnce


def listening():
    made = FewAtOnce(socket.AF_INET)
    made.bind(("127.0.0.1", 0))
    return made


async def served(listener, work):
    """A server that answers each connection with a byte, and keeps it."""
    kept = []

    async def greet(reader, writer):
        kept.append(writer)
        writer.write(b"x")
        await writer.drain()
        await reader.read()
        writer.close()

    server = await asyncio.start_server(greet, sock=listener)
    try:
        return await work(listener.getsockname()[1])
    finally:
        server.close()
        for writer in kept:
            writer.close()


async def greeted(port, address):
    """Whether a connection from an address is let in, and the connection."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port, local_addr=(address, 0))
    try:
        return await reader.read(1) == b"x", writer
    except ConnectionResetError:
        return False, writer


async def test_one_address_gets_a_few_and_another_still_gets_in():
    async def work(port):
        first = [await greeted(port, "127.0.0.1") for _ in range(MOST_FROM_ONE + 5)]
        other, writer = await greeted(port, "127.0.0.2")
        for _, one in first:
            one.close()
            await one.wait_closed()
        again = False
        while not again:  # as soon as the server has seen them go
            again, last = await greeted(port, "127.0.0.1")
            last.close()
        writer.close()
        return [let_in for let_in, _ in first], other, again

    first, other, again = await served(listening(), work)
    assert first == [True] * MOST_FROM_ONE + [False] * 5
    assert other
    assert again
