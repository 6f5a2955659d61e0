"""The commands gathered, and whatever goes wrong turned into advice and an exit code."""

import os
import sys
from collections.abc import Sequence

import typer

from dabchick.cli import (
    afloat,
    air,
    check,
    compare,
    cure,
    demo,
    drain,
    fit,
    heel,
    leak,
    measures,
    new,
    prints,
    scale,
    schema,
    serve,
    sheet,
    space,
    split,
    squeeze,
    stability,
    tank,
    trace,
    trim,
    weights,
)
from dabchick.cli.face import ExitCode, Face
from dabchick.model.advice import Advice, BoatError

app = typer.Typer(
    name="dabchick",
    help="From a bare hull to a model submarine that floats right and hangs right.",
    epilog="Example: dabchick demo out",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
COMMANDS = (
    new,
    trace,
    measures,
    prints,
    scale,
    check,
    weights,
    afloat,
    tank,
    fit,
    space,
    air,
    split,
    trim,
    stability,
    cure,
    drain,
    squeeze,
    heel,
    leak,
    compare,
    sheet,
    serve,
    demo,
    schema,
)
for module in COMMANDS:
    app.command(module.NAME, epilog=f"Example: {module.EXAMPLE}")(module.command)


@app.callback(invoke_without_command=True)
def dabchick(version: bool = typer.Option(False, "--version", help="Print the version and stop.")) -> None:
    if version:
        from importlib.metadata import version as version_of

        typer.echo(f"dabchick {version_of('dabchick')}")
        raise typer.Exit


def run(arguments: Sequence[str]) -> int:
    """Run one command; returns its exit code and raises nothing."""
    face = Face("--json" in arguments)
    try:
        code = typer.main.get_command(app).main(list(arguments), prog_name="dabchick", standalone_mode=False)
        sys.stdout.flush()
    except BoatError as mistake:
        face.errors(mistake.advice)
        return ExitCode.WRONG
    except typer.TyperException as mistake:
        if type(mistake).__name__ == "NoArgsIsHelpError":
            typer.echo(mistake.format_message())
            return ExitCode.WRONG
        face.errors([_wrong_use(mistake, arguments)])
        return ExitCode.WRONG
    except BrokenPipeError:
        _leave_pipe_alone()
        return ExitCode.FINE
    except OSError as mistake:
        face.errors([_file_trouble(mistake)])
        return ExitCode.WRONG
    except (KeyboardInterrupt, typer.Abort):
        face.errors([STOPPED], ExitCode.INTERRUPTED)
        return ExitCode.INTERRUPTED
    except Exception as fault:
        if os.environ.get("DABCHICK_TRACEBACK"):
            raise
        face.errors([_own_fault(fault)], ExitCode.FAULT)
        return ExitCode.FAULT
    if code == ExitCode.INTERRUPTED:
        face.errors([STOPPED], ExitCode.INTERRUPTED)
    return code if isinstance(code, int) else ExitCode.FINE


STOPPED = Advice(
    what="Stopped before the end.",
    todo="Your files are as they were; run the same command again when you like.",
)


def _wrong_use(mistake: typer.TyperException, arguments: Sequence[str]) -> Advice:
    words = [word for word in arguments if not word.startswith("-")]
    names = {module.NAME for module in COMMANDS}
    page = f"dabchick {words[0]} --help" if words and words[0] in names else "dabchick --help"
    return Advice(what=mistake.format_message(), todo=f"See `{page}`.", where="command line")


def _file_trouble(mistake: OSError) -> Advice:
    return Advice(
        what=mistake.strerror or str(mistake),
        todo="See that the path is right, that you may read and write there, and that the disk has room.",
        where=str(mistake.filename or ""),
    )


def _own_fault(fault: Exception) -> Advice:
    return Advice(
        what=f"Dabchick itself failed here, not your boat: {type(fault).__name__}: {fault}",
        todo="Please report it with the boat file. With DABCHICK_TRACEBACK=1 set, the command says where.",
    )


def _leave_pipe_alone() -> None:
    """The reader has gone; keep Python from complaining when it flushes at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
