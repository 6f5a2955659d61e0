"""`dabchick check`: does it all fit, and do the figures make sense."""

from pathlib import Path
from typing import Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json

NAME = "check"
EXAMPLE = "dabchick check wren"


def command(
    boat: BoatPath = HERE,
    repair: Annotated[
        Path | None,
        typer.Option(
            metavar="OUT",
            help="Mend the hull's mesh into this new file and say what was changed. The old one is kept.",
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Does it all fit? Mistakes in the files, two parts in one place, odd masses, a bad mesh."""
    face = Face(json)
    if repair is not None:
        _repair(face, boat, repair)
        return
    with face.busy("Trying the parts in their places"):
        from dabchick.storage.folder import open_boat
        from dabchick.studies.check import run
        from dabchick.studies.result import as_json

        result = run(open_boat(boat).vessel)
    if json:
        face.give_json(as_json(result))
    else:
        face.say(_summary(result.boat, result.error_count, result.warning_count))
        face.warnings(result.findings)
        face.warnings(entry for entry in result.warnings if entry not in result.findings)
        face.say()
        face.assumptions(result.assumptions)
    if result.error_count:
        finish(ExitCode.FINDINGS)


def _summary(name: str, errors: int, warnings: int) -> str:
    def counted(count: int, word: str) -> str:
        return f"{count} {word}{'' if count == 1 else 's'}"

    if not errors and not warnings:
        return f"{name}: everything fits."
    if not errors:
        return f"{name}: nothing that has to be put right, {counted(warnings, 'thing')} to look at."
    return f"{name}: {counted(errors, 'thing')} to put right, {counted(warnings, 'thing')} to look at."


def _repair(face: Face, boat: Path, out: Path) -> None:
    with face.busy("Mending the mesh"):
        from dabchick.storage.folder import boat_file
        from dabchick.storage.repair import repair_hull

        report = repair_hull(boat_file(boat), out)
    if face.as_json:
        from dabchick.studies.result import as_json

        face.give_json(as_json(report))
        return
    for line in report.changes:
        face.say(f"- {line}")
    face.say(f"Wrote {out}. Look at it, then name it as hull.mesh in the boat file.")
