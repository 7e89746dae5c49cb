"""Commands that keep records over the years: backup, restore, retain, import-jobs."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

ConfigOption = Annotated[Path | None, typer.Option(help="The bench.toml of the bench.")]
DataOption = Annotated[Path | None, typer.Option(help="The data folder of the bench.")]


@contextmanager
def _sentences() -> Iterator[None]:
    """What goes wrong as a sentence: exit code 2 for what was given, 1 for trouble on the way."""
    from api.config import ConfigError
    from api.keeping import KeepingError
    from api.store import StoreError
    from daq.head.errors import RefusedError
    from daq.records.errors import RecordError

    try:
        yield
    except (ConfigError, StoreError, KeepingError, RefusedError) as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(2) from None
    except (RecordError, OSError) as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(1) from None


def backup(
    out: Annotated[Path, typer.Argument(help="Folder to make; it must not be there yet.")],
    config: ConfigOption = None,
    data: DataOption = None,
) -> None:
    """Copy the records while the bench runs."""
    from api.keeping import back_up
    from api.store import folder_of

    with _sentences():
        for line in back_up(folder_of(config, data), out):
            typer.echo(line)


def restore(
    source: Annotated[Path, typer.Argument(help="The folder that backup made.")],
    config: ConfigOption = None,
    data: DataOption = None,
) -> None:
    """Put a backup where no records are."""
    from api.keeping import put_back
    from api.store import folder_of

    with _sentences():
        for line in put_back(source, folder_of(config, data)):
            typer.echo(line)


def retain(
    years: Annotated[float, typer.Option(min=0.0, help="Keep jobs closed within so many years.")],
    reason: Annotated[str, typer.Option(help="Why the others go; it stands on their tombstones.")],
    config: ConfigOption = None,
    data: DataOption = None,
    do_it: Annotated[bool, typer.Option("--do-it", help="Remove; else only show what would.")] = (
        False
    ),
) -> None:
    """Remove whole closed jobs that are old."""
    from datetime import UTC, datetime

    from api.keeping import remove_old
    from api.store import place_of

    with _sentences():
        place = place_of(config, data)
        for line in remove_old(
            place.folder, place.database, years, reason, datetime.now(UTC), do_it=do_it
        ):
            typer.echo(line)


def import_jobs(
    source: Annotated[Path, typer.Argument(help="The data folder, or backup, of another bench.")],
    key: Annotated[Path, typer.Option(help="The public key of that bench (signing.pub).")],
    config: ConfigOption = None,
    data: DataOption = None,
) -> None:
    """Take over the closed jobs of another bench."""
    from api.keeping import take_over
    from api.store import place_of

    with _sentences():
        place = place_of(config, data)
        for line in take_over(source, key, place.folder, place.database):
            typer.echo(line)
