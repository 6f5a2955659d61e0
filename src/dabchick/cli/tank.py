"""`dabchick tank`: how big the ballast tank must be, and where its middle belongs."""

from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import HERE, BoatPath, Json, si_values

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.tank import TankResult

NAME = "tank"
EXAMPLE = 'dabchick tank wren --bore "64 mm"'


def command(
    boat: BoatPath = HERE,
    bore: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help='Inner diameter to find the length for, such as "64 mm".'),
    ] = None,
    lift: Annotated[
        str | None,
        typer.Option(metavar="MASS", help='Lift when dived instead of the boat file\'s, such as "12 g".'),
    ] = None,
    json: Json = False,
) -> None:
    """How big the ballast tank must be for her waterline and lift, where it belongs, and what yours does."""
    face = Face(json)
    bore_m, lift_kg = si_values(("--bore", bore, "length"), ("--lift", lift, "mass"))
    with face.busy("Measuring what stands above the waterline"):
        from dabchick.report.tank_words import summary
        from dabchick.storage.folder import open_boat
        from dabchick.studies.result import as_json
        from dabchick.studies.tank import run

        vessel = open_boat(boat).vessel
        result = run(vessel, bore_m=bore_m, lift_kg=lift_kg)
    if json:
        face.give_json(as_json(result))
        return
    face.say(summary(vessel, result))
    face.show(_table(vessel, result))
    face.close(result, vessel)


def _table(vessel: "Vessel", result: "TankResult") -> "Table":
    from rich.table import Table

    from dabchick.report.tank_words import rows

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("")
    shown.add_column("needed", justify="right")
    shown.add_column("present tank", justify="right")
    for row in rows(vessel, result):
        shown.add_row(row.label, row.needed, row.present)
    return shown
