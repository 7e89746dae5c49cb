"""The service: a config becomes a bench on the web, until it is told to stop."""

import contextlib
import errno
import os
import socket
import ssl
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import uvicorn

from api.access import (
    FAILURES_A_S,
    FAILURES_AT_ONCE,
    REQUESTS_A_S,
    REQUESTS_AT_ONCE,
    Buckets,
    Doors,
    host_name,
)
from api.app import create_app
from api.build import build, new_id, wall_time
from api.config import AccessTable, Address, Loaded, load_config
from api.export import ExportError
from api.exporting import checks
from api.handing.over import HandingOver, folder_from
from api.logs import log_to_stderr
from api.push.pushing import push_for
from api.service import Service
from api.tokens import Tokens
from daq.records.journal import Journal

SHUTDOWN_S = 2
WS_BYTES_MAX = 64 * 1024


class ServeError(Exception):
    """For the operator: why the service cannot start, or why it stopped."""


def serve(file: Path, ready: Callable[[str], None]) -> None:
    """Serve the bench of that config until SIGINT or SIGTERM.

    ready: told the address to open. Raises ConfigError, RecordError, ServeError.
    """
    log_to_stderr()
    loaded = load_config(file)
    try:
        qif_check = checks(loaded.qif_schema)
    except ExportError as error:
        raise ServeError(str(error)) from None
    folder = folder_from(loaded.config.export, loaded.folder, qif_check)
    with contextlib.closing(listening(loaded.address)) as port:
        journal = Journal.open(loaded.data, now=wall_time, new_id=new_id, url=loaded.database)
        with contextlib.closing(journal):
            service = build(loaded, journal)
            service.doors = doors_of(loaded)
            service.push = push_for(loaded, service.run)
            service.qif_check = qif_check
            service.handing = None if folder is None else HandingOver(service.run, folder)
            access = loaded.config.access
            ready(address_of(port, tls=access is not None and access.certificate is not None))
            server_for(service, access, loaded.folder).run(sockets=[port])
            _raise_end_of(service)


def _raise_end_of(service: Service) -> None:
    """Raise ServeError if the bench ended by itself and not because it was told to."""
    loop = service.loop
    if loop is not None and loop.done() and not loop.cancelled() and loop.exception():
        raise ServeError(
            f"the bench stopped by itself ({loop.exception()!r}); everything kept is safe. "
            "Start the service again, and report this."
        )


def doors_of(loaded: Loaded) -> Doors:
    """Who is let in, as the config says."""
    access = loaded.config.access
    if access is None:
        return Doors()
    return Doors(
        tokens=Tokens(loaded.data),
        hosts=frozenset(host_name(host) for host in access.hosts),
        proxied=access.behind_proxy,
        requests=Buckets(REQUESTS_A_S, REQUESTS_AT_ONCE, time.monotonic),
        failures=Buckets(FAILURES_A_S, FAILURES_AT_ONCE, time.monotonic),
    )


def server_for(
    service: Service, access: AccessTable | None = None, folder: Path = Path()
) -> uvicorn.Server:
    """A server for that bench, which ends when the bench ends.

    access: with a certificate, it speaks TLS. folder: where the paths in it count from.
    """

    def ended() -> None:
        server.should_exit = True

    server = uvicorn.Server(
        uvicorn.Config(
            create_app(service, ended),
            log_config=None,
            access_log=False,
            lifespan="on",
            ws_max_size=WS_BYTES_MAX,
            timeout_graceful_shutdown=SHUTDOWN_S,
            proxy_headers=False,  # whoever asks could say anything in them
            server_header=False,
            **_tls_of(access, folder),
        )
    )
    return server


def _tls_of(access: AccessTable | None, folder: Path) -> dict[str, Any]:
    if access is None or access.certificate is None or access.key is None:
        return {}
    certificate, key = folder / access.certificate, folder / access.key
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key)
    except OSError as error:
        why = getattr(error, "reason", None) or error.strerror or error
        raise ServeError(f"certificate and key of [access] cannot be used: {why}.") from None
    return {"ssl_certfile": certificate, "ssl_keyfile": key}


def listening(address: Address) -> socket.socket:
    """A socket on that address. Raises ServeError when it cannot be had."""
    family = socket.AF_INET6 if ":" in address.host else socket.AF_INET
    opened = socket.socket(family, socket.SOCK_STREAM)
    opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        opened.bind((address.host, address.port))
        opened.listen()  # who comes before the service is ready waits, and is not turned away
    except OSError as error:
        opened.close()
        raise ServeError(_why_not(address, error)) from None
    opened.set_inheritable(True)
    return opened


def address_of(port: socket.socket, *, tls: bool = False) -> str:
    """The address to open in a browser."""
    scheme = "https" if tls else "http"
    host, number = port.getsockname()[:2]
    return f"{scheme}://[{host}]:{number}/" if ":" in host else f"{scheme}://{host}:{number}/"


def _why_not(address: Address, error: OSError) -> str:
    where = f"{address.host}:{address.port}"
    if error.errno == errno.EADDRINUSE:
        return (
            f"port {address.port} of {address.host} is in use, perhaps by another bench: stop "
            "that one, or choose another port ('listen' in the config, --port for the demo)."
        )
    if error.errno == errno.EACCES:
        return f"{where} may not be listened on by this user; choose a port above 1023."
    reason = os.strerror(error.errno) if error.errno else str(error)
    return f"{where} cannot be listened on: {reason}."
