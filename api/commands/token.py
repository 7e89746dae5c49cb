"""`benchtally token`: who may come in from another machine."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from api.tokens import Scope


def token(
    name: Annotated[str | None, typer.Argument(help="Whom it is for.")] = None,
    scope: Annotated[
        list[Scope] | None, typer.Option(help="What it lets its holder do; give it repeatedly.")
    ] = None,
    remove: Annotated[str | None, typer.Option(metavar="ID", help="Forget that token.")] = None,
    list_: Annotated[bool, typer.Option("--list", help="Show all, without secrets.")] = False,
    config: Annotated[Path | None, typer.Option(help="The bench.toml of the bench.")] = None,
    data: Annotated[Path | None, typer.Option(help="The data folder of the bench.")] = None,
) -> None:
    """Make, list or remove access tokens."""
    from api.config import ConfigError
    from api.store import StoreError, folder_of
    from api.tokens import TokenError, Tokens

    try:
        tokens = Tokens(folder_of(config, data))
        if list_:
            for each in tokens.all():
                typer.echo(f"{each.id}  {','.join(each.scopes):18}  {each.made_at}  {each.name}")
        elif remove is not None:
            tokens.remove(remove)
        elif name is None or not scope:
            said = "Say whom it is for and what it may: NAME --scope read|measure|sign."
            typer.echo(said, err=True)
            raise typer.Exit(2)
        else:
            made_at = datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
            typer.echo(tokens.add(name, scope, made_at))
            typer.echo("It is shown this once: put it where its user keeps secrets.", err=True)
    except (ConfigError, StoreError, TokenError) as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(2) from None
