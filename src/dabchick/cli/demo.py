"""`dabchick demo`: the invented boat Wren from boat file to proof and trim sheet, told step by step."""

import io
import json as text_json
import shlex
from contextlib import redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.rule import Rule
from rich.text import Text

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import Json

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

NAME = "demo"
EXAMPLE = "dabchick demo out"

BOAT = "wren"


@dataclass(frozen=True)
class Step:
    """What the builder thinks, and what she types."""

    thought: str
    arguments: tuple[str, ...]


def command(
    out: Annotated[
        Path, typer.Argument(metavar="OUT", help="Folder for the demo boat and the trim sheet.")
    ] = Path("out"),
    json: Json = False,
) -> None:
    """The whole main job on an invented boat: copied to OUT/wren, trimmed, proved, her trim sheet in OUT."""
    face = Face(json)
    folder = out / BOAT
    copy_boat(folder)
    told: list[dict[str, Any]] = []
    worst = ExitCode.FINE
    for number, step in enumerate(steps(folder, out), start=1):
        code = _in_json(step, told) if json else _aloud(face, number, step)
        if code > ExitCode.FINDINGS:
            finish(ExitCode(code))
        worst = max(worst, ExitCode(code))
    if json:
        face.give_json({"folder": str(folder), "steps": told})
    else:
        face.out.print(Rule(style="dim"))
        face.say(
            f"That is the whole job. The boat is in {folder}, her boat.toml is the fullest example of a boat "
            f"file, and the page for the bench is {out / 'trim-sheet.pdf'}. Now your own: dabchick new petrel"
        )
    if worst:
        finish(worst)


def steps(folder: Path, out: Path) -> tuple[Step, ...]:
    """The story."""
    boat = str(folder)
    return (
        Step(
            "This is Wren, 1:60 and 90 cm long: a flooding GRP hull, a watertight cylinder with everything "
            "inside, a piston tank in its middle. Most of her has been weighed. First: does it all fit?",
            ("check", boat),
        ),
        Step(
            "What does she weigh, where does that weight sit, and which guesses should I not trust?",
            ("weights", boat),
        ),
        Step("I put her into the water as she is, no lead yet. How does she lie?", ("afloat", boat)),
        Step(
            "And dived? One could go on with lead and foam, first surfaced, then dived, then surfaced "
            "again... Better to ask first whether the tank is right.",
            ("tank", boat),
        ),
        Step(
            "The tank can do it. So: which lead and foam, and where, for both states at once?", ("trim", boat)
        ),
        Step(
            "That I like. Write it into the boat file; my comments stay where they are.",
            ("trim", boat, "--apply"),
        ),
        Step("Proof, with the boat file as it now is: surfaced...", ("afloat", boat)),
        Step("...and dived, tank full.", ("afloat", boat, "--dived")),
        Step("The page to pin over the bench while I cut lead.", ("sheet", boat, "--out", str(out))),
    )


def copy_boat(folder: Path) -> None:
    """A fresh demo boat; one that is there already and was changed goes to the folder's history first."""
    from dabchick.storage.atomic import write_atomic
    from dabchick.storage.history import keep

    folder.mkdir(parents=True, exist_ok=True)
    for source in sorted(demo_files(), key=lambda entry: entry.name):
        target, content = folder / source.name, source.read_bytes()
        if target.exists() and (old := target.read_bytes()) != content:
            keep(target, old)
        write_atomic(target, content)


def demo_files() -> "list[Traversable]":
    """The files of the demo boat inside the package."""
    from importlib.resources import files

    return list((files("dabchick") / "data" / "demo" / BOAT).iterdir())


def _aloud(face: Face, number: int, step: Step) -> int:
    from dabchick.cli.app import run

    face.out.print(Rule(f"{number}", style="dim"))
    face.say(step.thought)
    face.out.print(Text(f"$ dabchick {shlex.join(step.arguments)}", style="bold"))
    face.say()
    return run(step.arguments)


def _in_json(step: Step, told: list[dict[str, Any]]) -> int:
    from dabchick.cli.app import run

    heard = io.StringIO()
    with redirect_stdout(heard):
        code = run((*step.arguments, "--json"))
    told.append(
        {
            "command": shlex.join(("dabchick", *step.arguments)),
            "exit_code": int(code),
            "result": text_json.loads(heard.getvalue()),
        }
    )
    return code
