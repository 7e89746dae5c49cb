"""The command: one function a command, heavy imports inside.

Exit codes: 0 done, 1 trouble on the way, 2 something that was given cannot be used.
"""

import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from api.commands.collect import collect
from api.commands.keeping import backup, import_jobs, restore, retain
from api.commands.token import token

app = typer.Typer(
    name="benchtally",
    help="Gauges at the cylinder-head bench, and the inspection record they fill.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # loading it would take half of the time that --help may take
)

BAD_INPUT = 2
TROUBLE = 1


class EvaluateKind(StrEnum):
    """Kinds of capture that can be worked out from a recording."""

    TURN = "turn"
    ROCK = "rock"
    SETTLE = "settle"
    DECAY = "decay"


class OutputForm(StrEnum):
    """How results are written."""

    TABLE = "table"
    JSONL = "jsonl"


ConfigOption = Annotated[Path | None, typer.Option(help="The bench.toml of the bench.")]
DatabaseOption = Annotated[
    str | None, typer.Option(help="Its PostgreSQL database, postgresql://…, if it has one.")
]
DataOption = Annotated[Path | None, typer.Option(help="The data folder of the bench.")]


def say(text: str) -> None:
    """A sentence on stderr."""
    typer.echo(text, err=True)


def stop_on_terminate() -> None:
    """Make SIGTERM end the program as an exit does, with everything closed on the way out."""
    import signal

    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))


@app.command()
def serve(
    config: Annotated[Path, typer.Option(help="The bench.toml of the bench.")],
) -> None:
    """Run a real bench and its page."""
    from api.config import ConfigError
    from api.serve import ServeError
    from api.serve import serve as serve_config
    from daq.records.errors import RecordError

    stop_on_terminate()
    try:
        serve_config(config, lambda address: say(f"The bench is at {address}"))
    except KeyboardInterrupt:
        return
    except ConfigError as error:
        say(str(error))
        raise typer.Exit(BAD_INPUT) from None
    except (ServeError, RecordError) as error:
        say(str(error))
        raise typer.Exit(TROUBLE) from None


@app.command()
def evaluate(
    kind: EvaluateKind,
    files: Annotated[list[Path], typer.Argument(metavar="FILE…")],
    form: Annotated[OutputForm, typer.Option("--format", help="How to write it.")] = (
        OutputForm.TABLE
    ),
    one_way: Annotated[
        bool, typer.Option("--one-way", help="Your word: the part was turned one way only.")
    ] = False,
) -> None:
    """Work out the values of recordings."""
    from api.evaluate import evaluate_file
    from api.tables import evaluated_table
    from api.waiting import progress_over
    from daq.capture.base import Kind
    from drivers.replay import RecordingError

    answers, bad = [], 0
    for file in progress_over(files, "evaluating"):
        try:
            answer = evaluate_file(Kind(kind.value), file, one_way=one_way)
        except RecordingError as error:
            bad += 1
            say(str(error))
            continue
        if form is OutputForm.JSONL:
            typer.echo(answer.json_line())
        answers.append(answer)
    if form is OutputForm.TABLE and answers:
        evaluated_table(answers)
    if bad:
        raise typer.Exit(BAD_INPUT)


@app.command()
def gauges(
    listen: Annotated[
        str | None, typer.Option(help="A port: hear what is said, propose how to read it.")
    ] = None,
    form: Annotated[OutputForm, typer.Option("--format", help="jsonl asks nobody anything.")] = (
        OutputForm.TABLE
    ),
    profile: Annotated[
        str | None, typer.Option(help="Only show what this profile understands.")
    ] = None,
    seconds: Annotated[float, typer.Option(min=0.1, max=3600, help="How long, then.")] = 5.0,
    config: Annotated[Path | None, typer.Option(help="A bench.toml to add the gauge to.")] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for a profile that was made.")] = None,
    check: Annotated[str | None, typer.Option(help="A profile: say whether it holds.")] = None,
    sample: Annotated[Path | None, typer.Option(help="Recorded bytes to read with it.")] = None,
) -> None:
    """Show what is plugged in, and what it says."""
    from api.files import FileError
    from api.listen import command
    from drivers.profile import ProfileError

    if sample is not None and check is None:
        say("--sample holds bytes for --check PROFILE to read: say which profile.")
        raise typer.Exit(BAD_INPUT)
    try:
        if check is not None:
            code = command.check(check, sample, typer.echo)
        elif listen is None:
            from api.listen.known import ports
            from api.tables import ports_table  # loads what evaluates: a second on a slow machine

            code = command.DONE
            if found := ports():
                ports_table(found)
            else:
                say("No serial port is plugged into this computer.")
        elif profile is not None:
            code = command.show_known(listen, profile, seconds, typer.echo)
        elif form is OutputForm.JSONL:
            code = command.propose(listen, out, typer.echo, say)
        else:
            person = command.Terminal(typer.echo, prompted, command.at_terminal())
            code = command.guide(listen, person, config, out)
    except (ProfileError, FileError) as error:
        say(str(error))
        raise typer.Exit(BAD_INPUT) from None
    except KeyboardInterrupt:
        return
    raise typer.Exit(code)


def prompted(question: str, default: str) -> str:
    """What somebody at the terminal answers."""
    return str(typer.prompt(question, default=default, show_default=bool(default)))


class PaperForm(StrEnum):
    """Paper the sheet can be printed on."""

    A4 = "a4"
    LETTER = "us-letter"


class LengthForm(StrEnum):
    """Units the sheet can show lengths in."""

    MM = "mm"
    INCH = "in"


@app.command()
def export(
    job: Annotated[str, typer.Argument(help="Number or id of the job.")],
    as_: Annotated[
        str,
        typer.Option("--as", metavar="FORMAT", help="csv json xlsx qif pdf parquet labels bundle."),
    ],
    out: Annotated[Path | None, typer.Option(help="File to write; else stdout.")] = None,
    config: ConfigOption = None,
    data: DataOption = None,
    schema: Annotated[
        Path | None, typer.Option(help="Folder with the QIF schema, to check QIF by.")
    ] = None,
    paper: Annotated[PaperForm, typer.Option(help="Paper of the PDF.")] = PaperForm.A4,
    length: Annotated[LengthForm, typer.Option(help="Lengths in the PDF.")] = LengthForm.MM,
) -> None:
    """Write the record of a job as a file."""
    from api.config import ConfigError
    from api.export import ExportError
    from api.exporting import Wishes, checks
    from api.store import StoreError, export_job, place_of
    from api.waiting import rows_of
    from daq.head.errors import RefusedError
    from daq.records.errors import RecordError

    try:
        place = place_of(config, data)
        check = checks(schema or place.qif_schema)
        with place.opened() as records, rows_of(f"writing {as_}, rows") as told:
            wishes = Wishes(paper.value, length.value, check, told=told)
            written = export_job(records, job, as_, out, sys.stdout.buffer, wishes)
    except (ConfigError, RefusedError, StoreError) as error:
        say(str(error))
        raise typer.Exit(BAD_INPUT) from None
    except (RecordError, ExportError) as error:
        say(str(error))
        raise typer.Exit(TROUBLE) from None
    for file in written:
        say(f"wrote {file}")


@app.command()
def verify(
    data: Annotated[
        Path,
        typer.Argument(metavar="FILE_OR_DATA", help="A data folder, or a record exported as JSON."),
    ],
    key: Annotated[
        Path | None, typer.Option(help="The public key of the bench (signing.pub).")
    ] = None,
    database: DatabaseOption = None,
) -> None:
    """Check that records are whole, unaltered."""
    from api.verifying import verified
    from api.waiting import working_on
    from daq.records.errors import RecordError
    from daq.records.verify import NOT_SEEN

    sound = True
    try:
        with working_on("checking the records"):
            lines = list(verified(data, key, database))
    except RecordError as error:
        say(str(error))
        raise typer.Exit(TROUBLE) from None
    for line, whole in lines:
        typer.echo(line)
        sound = sound and whole
    say(NOT_SEEN)
    if not sound:
        raise typer.Exit(TROUBLE)


@app.command()
def demo(
    port: Annotated[int, typer.Option(min=0, max=65535, help="Where the page is.")] = 8620,
    data: Annotated[
        Path | None, typer.Option(help="Folder to keep records in; else one made for it.")
    ] = None,
    headless: Annotated[
        bool, typer.Option("--headless", help="The whole job at once, without a page.")
    ] = False,
    seed: Annotated[int, typer.Option(min=0, help="Which invented head.")] = 1,
) -> None:
    """Measure an invented head, pretend gauges."""
    from api.demo.headless import play_headless
    from api.demo.play import play
    from api.serve import ServeError
    from daq.head.errors import RefusedError
    from daq.records.errors import RecordError

    stop_on_terminate()
    try:
        if headless:
            play_headless(data, seed, say)
        else:
            play(data, seed, port, say)
    except KeyboardInterrupt:
        if headless:  # the job is not done
            raise
    except (ServeError, RecordError, RefusedError, OSError) as error:
        say(str(error))
        raise typer.Exit(TROUBLE) from None


for each in (token, collect, backup, restore, retain):
    app.command()(each)
app.command("import-jobs")(import_jobs)


def main() -> None:
    """Run the command; what the person stops with Ctrl-C ends without a trace."""
    try:
        app()
    except KeyboardInterrupt:
        sys.exit(130)
    except BrokenPipeError:
        # Whoever read our output has seen enough; nothing more can be said there.
        sys.stderr.close()
        sys.exit(TROUBLE)


if __name__ == "__main__":
    main()
