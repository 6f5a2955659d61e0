"""`dabchick split`: the hull parted at its break line."""

from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import HERE, BoatPath, Json, si_values

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.split import SplitResult

NAME = "split"
EXAMPLE = 'dabchick split wren --at "60 mm"'


def command(
    boat: BoatPath = HERE,
    at: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH",
            help='Height of the break line from your own zero instead of the boat file\'s line, such as "60 mm".',
        ),
    ] = None,
    json: Json = False,
) -> None:
    """What each half of the hull weighs and carries, what crosses the break line, what can be lifted out."""
    face = Face(json)
    (height,) = si_values(("--at", at, "length"))
    with face.busy("Parting the hull"):
        from dabchick.model.break_line import house_line
        from dabchick.report.split_words import lift_sentence, summary
        from dabchick.storage.folder import open_boat
        from dabchick.studies.result import as_json
        from dabchick.studies.split import run

        vessel = open_boat(boat).vessel
        line = None if height is None else house_line(((height,),), vessel.datum, vessel.length_m)
        result = run(vessel, line_m=line)
    if json:
        face.give_json(as_json(result))
        return
    face.say(summary(vessel, result))
    face.show(_halves(vessel, result))
    face.say()
    if result.lift_out is not None:
        face.say(lift_sentence(vessel, result.lift_out))
    face.close(result, vessel)


def _halves(vessel: "Vessel", result: "SplitResult") -> "Table":
    from rich.table import Table

    from dabchick.report.builder_units import with_unit
    from dabchick.report.figures import measured
    from dabchick.report.split_words import centre, with_it

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("")
    shown.add_column("upper half")
    shown.add_column("lower half")
    both = (result.upper, result.lower)
    shown.add_row("mass", *(measured(half.mass_kg, "mass", vessel.units) for half in both))
    shown.add_row("of it skin", *(with_unit(half.skin_mass_kg, "mass", vessel.units) for half in both))
    shown.add_row("centre", *(centre(vessel, half.centre_m) for half in both))
    shown.add_row("with it", *(with_it(half) for half in both))
    return shown
