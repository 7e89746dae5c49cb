"""A network that lets connections through and cuts each a moment later, by closing its sockets."""

import asyncio
import contextlib

CUT_S = 0.05


class Cutting:
    """Leads from `port` to another one. after_s: how long a new connection stands; None: for
    ever. cuts: how many have ended."""

    def __init__(self, to_port: int) -> None:
        self.after_s: float | None = CUT_S
        self.cuts = 0
        self._to_port = to_port
        self._standing: set[asyncio.Task] = set()

    async def __aenter__(self) -> "Cutting":
        self._server = await asyncio.start_server(self._between, "127.0.0.1", 0)
        self.port = self._server.sockets[0].getsockname()[1]
        return self

    async def __aexit__(self, *_) -> None:
        self._server.close()
        for each in self._standing:
            each.cancel()
        await asyncio.gather(*self._standing, return_exceptions=True)

    async def _between(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._standing.add(asyncio.current_task())
        pipes: list[asyncio.Task] = []
        ends = [writer]
        try:
            there_reader, there = await asyncio.open_connection("127.0.0.1", self._to_port)
            ends.append(there)
            pipes.append(asyncio.create_task(_pipe(reader, there)))
            pipes.append(asyncio.create_task(_pipe(there_reader, writer)))
            await asyncio.wait(pipes, timeout=self.after_s, return_when=asyncio.FIRST_COMPLETED)
        except (ConnectionError, asyncio.CancelledError):
            pass
        finally:
            self.cuts += 1
            for end in ends:
                end.transport.abort()
            for each in pipes:
                each.cancel()
            await asyncio.gather(*pipes, return_exceptions=True)


async def _pipe(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    with contextlib.suppress(ConnectionError):
        while data := await reader.read(65536):
            writer.write(data)
            await writer.drain()
