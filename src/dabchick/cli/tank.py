"""`dabchick tank`: how big the ballast tank must be, and where its middle belongs."""

import math
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
        from dabchick.storage.folder import open_boat
        from dabchick.studies.result import as_json
        from dabchick.studies.tank import run

        vessel = open_boat(boat).vessel
        result = run(vessel, bore_m=bore_m, lift_kg=lift_kg)
    if json:
        face.give_json(as_json(result))
        return
    face.say(_summary(vessel, result))
    face.show(_table(vessel, result))
    face.close(result, vessel)


def _summary(vessel: "Vessel", result: "TankResult") -> str:
    from dabchick.cli.figures import measured
    from dabchick.report.builder_units import place_words, with_unit

    units, datum = vessel.units, vessel.datum
    along = with_unit(datum.to_builder(result.centre_m)[0], "length", units)
    side = place_words(result.centre_m, datum, units)[1]
    waterline = with_unit(result.waterline_m, "length", units)
    lift = with_unit(result.lift_kg, "mass", units)
    volume = measured(result.volume_m3, "volume", units)
    text = (
        f"To float at {waterline} over the keel and hang with {lift} of lift, {vessel.name} needs {volume} "
        f"of tank, its middle {along} from the {datum.x_from} ({side})."
    )
    if math.isfinite(result.length_m):
        bore, length = (with_unit(value, "length", units) for value in (result.bore_m, result.length_m))
        text += f" In a bore of {bore} that is {length} of water."
    return text


def _table(vessel: "Vessel", result: "TankResult") -> "Table":
    from rich.table import Table

    from dabchick.report.builder_units import with_unit

    units, datum = vessel.units, vessel.datum
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("")
    shown.add_column("needed", justify="right")
    shown.add_column("present tank", justify="right")
    shown.add_row(
        "volume",
        with_unit(result.volume_m3.value, "volume", units),
        with_unit(result.present_m3, "volume", units),
    )
    needed, present = (datum.to_builder(point) for point in (result.centre_m, result.present_centre_m))
    for name, axis in (
        (f"middle from the {datum.x_from}", 0),
        ("middle to port", 1),
        (f"middle over the {datum.z_from}", 2),
    ):
        shown.add_row(name, *(with_unit(point[axis], "length", units) for point in (needed, present)))
    if result.present_m3 > 0.0:
        shown.add_row(
            "lift when dived",
            *(with_unit(value, "mass", units) for value in (result.lift_kg, result.present_lift_kg)),
        )
        shown.add_row(
            "waterline it would suit",
            *(
                with_unit(value, "length", units)
                for value in (result.waterline_m, result.present_waterline_m)
            ),
        )
    if math.isfinite(result.room_low_x_m):
        ends = sorted(datum.to_builder((x, 0.0, 0.0))[0] for x in (result.room_low_x_m, result.room_high_x_m))
        low, high = (with_unit(end, "length", units) for end in ends)
        shown.add_row("its middle can stand from", low, "")
        shown.add_row("to", high, "")
    if result.split is not None:
        split = result.split
        for name, volume, x in (
            ("or split: fore tank", split.fore_m3, split.fore_x_m),
            ("          aft tank", split.aft_m3, split.aft_x_m),
        ):
            place = with_unit(datum.to_builder((x, 0.0, 0.0))[0], "length", units)
            shown.add_row(name, with_unit(volume, "volume", units), f"at {place}")
    return shown
