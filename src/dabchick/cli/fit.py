"""`dabchick fit`: what touches what, whether a part slides in, and the largest cylinder that the hull takes."""

import math
import re
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json, si_values

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.fit import FitResult
    from dabchick.studies.fit_bodies import Turn
    from dabchick.studies.fit_cylinder import CylinderRoom
    from dabchick.studies.fit_slide import Plane, SlideResult

NAME = "fit"
EXAMPLE = 'dabchick fit wren --clearance "2 mm"'

_TURN = re.compile(r"\s*([xyz])\s+(.+)")


def command(
    boat: BoatPath = HERE,
    clearance: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help='Room wished between any two things, "2 mm" without it.'),
    ] = None,
    wall: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="Thickness of the dry parts' walls, taken off their inside."),
    ] = None,
    turn: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PART=AXIS ANGLE",
            help='A part that turns each way about x, y or z, such as "aft planes=y 25 deg". May be repeated.',
        ),
    ] = None,
    slide: Annotated[
        str | None,
        typer.Option(metavar="PART", help="Does this part, with all inside it, slide in to its place?"),
    ] = None,
    came: Annotated[
        str,
        typer.Option(
            "--from",
            metavar="WAY",
            help='With --slide: bow, stern, top, or a direction outward, such as "1 0 1".',
        ),
    ] = "top",
    opened: Annotated[
        str | None,
        typer.Option(
            metavar="PLACE",
            help="With --slide: where the hull is opened, as you measure: z for the top, x for bow and stern.",
        ),
    ] = None,
    cylinder_diameter: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="The longest cylinder of this diameter that the hull takes."),
    ] = None,
    cylinder_length: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="The widest cylinder of this length that the hull takes."),
    ] = None,
    past: Annotated[
        str | None,
        typer.Option(
            metavar="WHAT",
            help="What else is in the boat: parts or nothing. Usual: parts for --slide, nothing for a cylinder.",
        ),
    ] = None,
    tilt: Annotated[
        bool, typer.Option("--tilt", help="With a cylinder: let its ends lie at different heights.")
    ] = False,
    json: Json = False,
) -> None:
    """What touches what, how near all else comes, does a part slide in, what cylinder the hull takes."""
    face = Face(json)
    clear, walls, diameter, length, place = si_values(
        ("--clearance", clearance, "length"),
        ("--wall", wall, "length"),
        ("--cylinder-diameter", cylinder_diameter, "length"),
        ("--cylinder-length", cylinder_length, "length"),
        ("--opened", opened, "length"),
    )
    turns = [_turn(text) for text in turn or ()]
    among = _past(past)
    _one_question(slide, diameter, length)
    with face.busy("Trying the parts in their places") as tell:
        from dabchick.storage.folder import open_boat
        from dabchick.studies.fit import USUAL_CLEARANCE_M
        from dabchick.studies.result import as_json

        vessel = open_boat(boat).vessel
        wished = USUAL_CLEARANCE_M if clear is None else clear
        if slide is not None:
            from dabchick.studies import fit_slide

            way = _way(came)
            slid = fit_slide.run(
                vessel,
                slide,
                way=way,
                plane=_plane(vessel, way, place),
                past=among != "nothing",
                clearance_m=wished,
                tell=tell,
            )
        elif diameter is not None or length is not None:
            from dabchick.studies import fit_cylinder

            room = fit_cylinder.run(
                vessel,
                diameter_m=diameter,
                length_m=length,
                clearance_m=wished,
                past=among == "parts",
                tilt=tilt,
                tell=tell,
            )
        else:
            from dabchick.studies import fit

            result = fit.run(vessel, clearance_m=wished, wall_m=walls or 0.0, turns=turns, tell=tell)
    if slide is not None:
        _give(face, as_json(slid), lambda: _say_slide(face, vessel, slid))
        bad = slid.verdict == "blocked"
    elif diameter is not None or length is not None:
        _give(face, as_json(room), lambda: _say_cylinder(face, vessel, room))
        bad = False
    else:
        _give(face, as_json(result), lambda: _say_pairs(face, vessel, result))
        bad = result.overlap_count > 0
    if bad:
        finish(ExitCode.FINDINGS)


def _give(face: Face, content: object, say: "Callable[[], None]") -> None:
    if face.as_json:
        face.give_json(content)
    else:
        say()


def _say_pairs(face: Face, vessel: "Vessel", result: "FitResult") -> None:
    from dabchick.report.fit_words import fit_summary, pair_row, wall_words

    face.say(fit_summary(vessel, result))
    if result.pairs:
        table = _table("", "", "", "", "where")
        for pair in result.pairs:
            row = pair_row(vessel, pair)
            where = f"{row.place} ({row.note})" if row.note else row.place
            table.add_row(row.first, row.second, row.kind, row.amount, where)
        face.show(table)
    for text in wall_words(vessel, result):
        face.say(text)
    face.close(result, vessel)


def _say_slide(face: Face, vessel: "Vessel", result: "SlideResult") -> None:
    from dabchick.report.fit_words import hindrance_row, slide_summary

    face.say(slide_summary(vessel, result))
    if result.hindrances:
        table = _table("what", "", "by", "first" if result.verdict == "blocked" else "", "where")
        for one in result.hindrances:
            table.add_row(*hindrance_row(vessel, one))
        face.show(table)
    face.close(result, vessel)


def _say_cylinder(face: Face, vessel: "Vessel", result: "CylinderRoom") -> None:
    from dabchick.report.builder_units import figure
    from dabchick.report.fit_words import cylinder_summary

    face.say(cylinder_summary(vessel, result))
    unit = "mm" if vessel.units == "metric" else "in"
    table = _table(f"x from the {vessel.datum.x_from} [{unit}]", f"room beside it [{unit}]")
    for x, beside in list(zip(result.station_x_m, result.beside_m, strict=True))[::4]:
        along = vessel.datum.to_builder((x, 0.0, 0.0))[0]
        table.add_row(figure(along, "length", vessel.units), figure(beside, "length", vessel.units))
    face.show(table)
    face.close(result, vessel)


def _table(*heads: str) -> "Table":
    from rich.table import Table

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in heads:
        table.add_column(head)
    return table


def _turn(text: str) -> "Turn":
    from dabchick.model.units import UnitError, parse
    from dabchick.studies.fit_bodies import Turn

    name, _, rest = text.rpartition("=")
    found = _TURN.fullmatch(rest)
    if not name or found is None:
        raise _wrong("--turn", text, 'Write part, axis and angle: "aft planes=y 25 deg".')
    axis: dict[str, Literal["x", "y", "z"]] = {"x": "x", "y": "y", "z": "z"}
    try:
        return Turn(name.strip(), axis[found[1]], math.degrees(parse(found[2], "angle")))
    except UnitError as mistake:
        raise _wrong("--turn", text, mistake.todo) from mistake


def _way(text: str) -> 'Literal["bow", "stern", "top"] | tuple[float, float, float]':
    named: dict[str, Literal["bow", "stern", "top"]] = {"bow": "bow", "stern": "stern", "top": "top"}
    if text in named:
        return named[text]
    try:
        x, y, z = (float(word) for word in text.replace(",", " ").split())
    except ValueError as mistake:
        raise _wrong("--from", text, 'Say bow, stern or top, or three figures: "1 0 1".') from mistake
    return x, y, z


def _plane(vessel: "Vessel", way: "str | tuple[float, float, float]", place: float | None) -> "Plane | None":
    from dabchick.studies.fit_slide import Plane

    if place is None:
        return None
    house = vessel.datum.to_house((place, 0.0, place))
    if way == "bow":
        return Plane((1.0, 0.0, 0.0), house[0])
    if way == "stern":
        return Plane((-1.0, 0.0, 0.0), -house[0])
    return Plane((0.0, 0.0, 1.0), house[2])


def _past(text: str | None) -> str | None:
    if text not in (None, "parts", "nothing"):
        raise _wrong("--past", text or "", "Say parts or nothing.")
    return text


def _one_question(slide: str | None, diameter: float | None, length: float | None) -> None:
    if sum(value is not None for value in (slide, diameter, length)) > 1:
        raise _wrong(
            "--slide, --cylinder-diameter, --cylinder-length",
            "more than one of them",
            "Ask for one at a time.",
        )


def _wrong(option: str, given: str, todo: str) -> Exception:
    from dabchick.model.advice import Advice, BoatError

    return BoatError(
        Advice(what=f"{option} cannot be read.", todo=todo, where=f"command line {option}", given=given)
    )
