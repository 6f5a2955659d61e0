"""`dabchick space`: where lead and foam can go."""

from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import HERE, BoatPath, Json, si_values

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.space import FoundPlace, SpaceResult

NAME = "space"
EXAMPLE = 'dabchick space wren --clearance "3 mm"'


def command(
    boat: BoatPath = HERE,
    cell: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH",
            help='Length of the cells that the room is divided into, such as "3 mm"; half that wide and high.',
        ),
    ] = None,
    clearance: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH",
            help='How far to stay off everything, instead of the boat file\'s, such as "3 mm".',
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Where lead and foam can go: free room by station, and the blocks and rails that could be cut and fixed."""
    face = Face(json)
    cell_m, clearance_m = si_values(("--cell", cell, "length"), ("--clearance", clearance, "length"))
    with face.busy("Looking for free room") as progress:
        from dabchick.report.space_words import summary
        from dabchick.storage.folder import open_boat
        from dabchick.studies.result import as_json
        from dabchick.studies.space import run

        vessel = open_boat(boat).vessel
        result = run(vessel, cell_m=cell_m, clearance_m=clearance_m, progress=progress)
    if json:
        face.give_json(as_json(result))
        return
    face.say(summary(vessel, result))
    face.show(_stations(vessel, result))
    for title, places in (("rail", result.rails), ("block", result.places)):
        if places:
            face.show(_places(vessel, title, places))
    face.close(result, vessel)


def _stations(vessel: "Vessel", result: "SpaceResult") -> "Table":
    from rich.table import Table

    from dabchick.report.builder_units import with_unit
    from dabchick.report.space_words import station_ends

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column(f"from the {vessel.datum.x_from}")
    for heading in ("free below", "free above", "floods below", "floods above"):
        shown.add_column(heading, justify="right")
    for station in result.stations:
        volumes = (
            station.free_below_m3,
            station.free_above_m3,
            station.floods_below_m3,
            station.floods_above_m3,
        )
        shown.add_row(
            station_ends(vessel, station), *(with_unit(value, "volume", vessel.units) for value in volumes)
        )
    return shown


def _places(vessel: "Vessel", title: str, places: "tuple[FoundPlace, ...]") -> "Table":
    from rich.table import Table

    from dabchick.report.space_words import place_row

    known = any(place.reach != "unknown" for place in places)
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column(title, min_width=15)
    shown.add_column("for")
    for heading in (f"from the {vessel.datum.x_from}", f"from the {vessel.datum.z_from}", "section"):
        shown.add_column(heading)
    shown.add_column("volume", justify="right", no_wrap=True)
    if known:
        shown.add_column("to reach it")
    for place in places:
        row = place_row(vessel, place)
        last = (row.reach,) if known else ()
        shown.add_row(place.name, place.holds, row.ends, row.height, row.section, row.volume, *last)
    return shown
