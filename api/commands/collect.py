"""`benchtally collect`: the events of many benches into one database."""

from pathlib import Path
from typing import Annotated

import typer


def collect(
    database: Annotated[str, typer.Option(help="postgresql://USER@HOST:PORT/DATABASE")],
    broker: Annotated[str, typer.Option(help="mqtt://HOST:PORT, or mqtts:// for TLS")],
    benches: Annotated[
        Path | None, typer.Option(help="TOML list of benches to ask for what is missing.")
    ] = None,
    name: Annotated[
        str | None, typer.Option(help="Of this collector, the same each time; else the machine's.")
    ] = None,
    user: Annotated[str | None, typer.Option(help="User at the broker.")] = None,
    password_file: Annotated[Path | None, typer.Option(help="File with its password.")] = None,
    ca: Annotated[Path | None, typer.Option(help="Certificates to trust the broker by.")] = None,
) -> None:
    """Collect the events of many benches."""
    import asyncio
    import socket

    from pydantic import ValidationError

    from api.collect.benches import BenchesError, load_benches
    from api.collect.collector import Collector
    from api.config import ConfigError
    from api.logs import log_to_stderr
    from api.push.pushing import broker_of
    from api.push.tables import MqttTable
    from daq.records.errors import SchemaError

    log_to_stderr()
    try:
        table = MqttTable(
            broker=broker,
            user=user,
            password_file=None if password_file is None else str(password_file.absolute()),
            ca=None if ca is None else str(ca.absolute()),
        )
        there = broker_of(table, Path())
        asked = [] if benches is None else load_benches(benches)
    except (BenchesError, ConfigError) as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(2) from None
    except ValidationError as error:
        typer.echo(error.errors(include_url=False)[0]["msg"], err=True)
        raise typer.Exit(2) from None
    collector = Collector(database, there, asked, name or socket.gethostname())
    try:
        asyncio.run(collector.run())
    except SchemaError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(1) from None
