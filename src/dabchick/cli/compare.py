"""`dabchick compare`: two boats, or two versions of one, side by side."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import Json
from dabchick.model.advice import Advice, BoatError

if TYPE_CHECKING:
    from dabchick.storage.folder import OpenBoat
    from dabchick.studies.compare import CompareResult

NAME = "compare"
EXAMPLE = 'dabchick compare wren --version "Before the first bath"'


def command(
    boat: Annotated[Path, typer.Argument(metavar="BOAT", help="The first boat's folder, or its boat.toml.")],
    other: Annotated[
        Path | None, typer.Argument(metavar="OTHER", help="The boat to put beside her; or give a version.")
    ] = None,
    version: Annotated[
        str | None, typer.Option(metavar="NAME", help="Her own named version, put beside how she is now.")
    ] = None,
    step: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Her own earlier step, put beside how she is now.")
    ] = None,
    json: Json = False,
) -> None:
    """Two boats, or an earlier version and now, side by side: masses, centres, draughts, GM, BG and what differs."""
    face = Face(json)
    asked = sum(entry is not None for entry in (other, version, step))
    if asked != 1:
        raise BoatError(
            Advice(
                what="Nothing to compare her with."
                if asked == 0
                else "More than one thing to compare her with.",
                todo="Give a second boat, or --version NAME, or --step NUMBER.",
                where="command line",
            )
        )
    with face.busy("Comparing") as tell:
        from dabchick.report.compare_words import summary
        from dabchick.storage.difference import difference
        from dabchick.storage.folder import open_boat
        from dabchick.studies.compare import run
        from dabchick.studies.result import as_json

        one, two, titles = _both(open_boat(boat), other, version, step)
        result = run(one.vessel, two.vessel, titles, tell=tell)
        lines = difference(one.text, two.text)
    if json:
        face.give_json(as_json(result) | {"file_differences": lines})
    else:
        face.say(summary(one.vessel, result))
        _show(face, one, result)
        face.say()
        face.say("In the boat file:" if lines else "In the boat file nothing differs.")
        for line in lines:
            face.say(f"- {line}")
        face.say()
        face.assumptions(result.assumptions[-1:])
        face.warnings(result.warnings)
    if not result.other.holds:
        finish(ExitCode.FINDINGS)


def _both(
    now: "OpenBoat", other: Path | None, version: str | None, step: int | None
) -> "tuple[OpenBoat, OpenBoat, tuple[str, str] | None]":
    from dabchick.storage.earlier import open_earlier
    from dabchick.storage.folder import open_boat

    if other is not None:
        second = open_boat(other)
        if now.vessel.name != second.vessel.name:
            return now, second, None
        first_title, second_title = (
            f"{boat.vessel.name} in {boat.folder.resolve().name}" for boat in (now, second)
        )
        return now, second, (first_title, second_title)
    earlier, title = open_earlier(now.file, name=version or "", number=step)
    return earlier, now, (title, f"{now.vessel.name} now")


def _show(face: Face, one: "OpenBoat", result: "CompareResult") -> None:
    from rich.table import Table

    from dabchick.report.compare_words import rows

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("")
    for name in (result.one.title, result.other.title, "difference"):
        shown.add_column(name, justify="right")
    for row in rows(one.vessel, result):
        shown.add_row(row.label, row.one, row.other, row.difference)
    face.show(shown)
