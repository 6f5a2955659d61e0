"""`dabchick air`: the air that stays in her flooded space at any attitude, and where vents belong."""

import math
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import HERE, BoatPath, Json, si_values

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.air import AirResult
    from dabchick.studies.air_pockets import AirPocket
    from dabchick.studies.air_vents import VentPlan

NAME = "air"
EXAMPLE = 'dabchick air wren --pitch "15 deg" --vents'


def command(
    boat: BoatPath = HERE,
    pitch: Annotated[
        str | None, typer.Option(metavar="ANGLE", help='Bow up, or down when negative, such as "-15 deg".')
    ] = None,
    heel: Annotated[
        str | None,
        typer.Option(metavar="ANGLE", help='To starboard, or to port when negative, such as "5 deg".'),
    ] = None,
    depth: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH", help='Water over her highest point that squeezes the air, such as "2 m".'
        ),
    ] = None,
    vents: Annotated[
        bool, typer.Option("--vents", help="Also find the fewest vents, for level and 15 deg bow up or down.")
    ] = False,
    leave: Annotated[
        str | None,
        typer.Option(metavar="VOLUME", help='How much air the vents may leave in, "1 ml" when not given.'),
    ] = None,
    json: Json = False,
) -> None:
    """The air that stays in her flooded space at any attitude: how much, where, what it lifts, and vents for it."""
    face = Face(json)
    pitch_rad, heel_rad, depth_m, leave_m3 = si_values(
        ("--pitch", pitch, "angle"), ("--heel", heel, "angle"), ("--depth", depth, "length"),
        ("--leave", leave, "volume"),
    )  # fmt: skip
    with face.busy("Letting the water rise in her") as tell:
        from dabchick.report.air_words import summary
        from dabchick.storage.folder import open_boat
        from dabchick.studies.air import run
        from dabchick.studies.result import as_json

        vessel = open_boat(boat).vessel
        result = run(
            vessel,
            pitch_deg=round(math.degrees(pitch_rad or 0.0), 9),
            heel_deg=round(math.degrees(heel_rad or 0.0), 9),
            depth_m=depth_m,
            vents=vents,
            leave_m3=1e-6 if leave_m3 is None else leave_m3,
            tell=tell,
        )
    if json:
        face.give_json(as_json(result))
        return
    face.say(summary(vessel, result))
    if result.pockets:
        face.show(pocket_table(vessel, result.pockets))
    if result.small_count:
        from dabchick.report.builder_units import with_unit

        small = with_unit(result.small_m3, "volume", vessel.units)
        face.say(f"And {result.small_count} smaller pockets with {small} together.")
    if result.pockets:
        face.show(_depths(vessel, result))
    if result.vents is not None:
        _say_vents(face, vessel, result.vents)
    face.close(result, vessel)


def pocket_table(vessel: "Vessel", pockets: "tuple[AirPocket, ...]") -> "Table":
    """Pockets, one to a row."""
    from rich.table import Table

    from dabchick.report.air_words import place_heading, pocket_row

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("air", "lift", "pitch", "heel"):
        shown.add_column(name, justify="right")
    for name in (place_heading(vessel), "water at", "held by"):
        shown.add_column(name)
    for pocket in pockets:
        shown.add_row(*pocket_row(vessel, pocket))
    return shown


def _depths(vessel: "Vessel", result: "AirResult") -> "Table":
    from rich.table import Table

    from dabchick.report.air_words import depth_words
    from dabchick.report.builder_units import with_unit

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("over her", "air", "lift"):
        shown.add_column(name, justify="right")
    for row in result.depths:
        shown.add_row(
            depth_words(row.depth_m, vessel.units),
            with_unit(row.volume_m3, "volume", vessel.units),
            with_unit(row.lift_kg, "mass", vessel.units),
        )
    return shown


def _say_vents(face: Face, vessel: "Vessel", plan: "VentPlan") -> None:
    from rich.table import Table

    from dabchick.report.air_words import attitude, vent_words, vents_sentence
    from dabchick.report.builder_units import with_unit

    face.say()
    face.say(vents_sentence(vessel, plan))
    if not plan.vents:
        return
    made = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("", "where", "hole"):
        made.add_column(name)
    for vent in plan.vents:
        made.add_row(*vent_words(vessel, vent))
    face.show(made)
    left = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("", "air now", "with these vents"):
        left.add_column(name, justify="right")
    for row in plan.attitudes:
        left.add_row(
            attitude(row.pitch_deg, 0.0),
            with_unit(row.before_m3, "volume", vessel.units),
            with_unit(row.after_m3, "volume", vessel.units),
        )
    face.show(left)
