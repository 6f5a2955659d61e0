"""`dabchick leak`: a watertight part that fills slowly: how much she stands, and how long that lasts."""

from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json, si_values

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.leak_result import LeakResult

NAME = "leak"
EXAMPLE = "dabchick leak wren --hole 1mm --depth 2m --wall 2.5mm"


def command(
    boat: BoatPath = HERE,
    part: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help='The dry part that leaks, or "all together". Without one: the one with the most room.',
        ),
    ] = None,
    drip: Annotated[
        str | None, typer.Option(metavar="RATE", help="Drops of 0.05 ml, such as 3/min, or a volume, 9ml/h.")
    ] = None,
    hole: Annotated[
        str | None,
        typer.Option(metavar="SIZE", help='A sharp hole, such as 1mm; a long thin bore: "0.2mm x 10mm".'),
    ] = None,
    gap: Annotated[
        str | None,
        typer.Option(
            metavar="SIZES", help='Round a shaft: shaft x radial gap x length, "4mm x 0.05mm x 20mm".'
        ),
    ] = None,
    depth: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH", help="Water over the leak: 1 m when not given; a drip then stays as it is."
        ),
    ] = None,
    wall: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="Wall of the dry parts, ends too: 3 mm when not given."),
    ] = None,
    vented: Annotated[
        bool, typer.Option("--vented", help="The air can get out, so nothing slows the leak.")
    ] = False,
    fill: Annotated[
        list[float] | None,
        typer.Option(
            metavar="SHARE", help="Tank fill, 0 to 1, at which to give the reserve. May be repeated."
        ),
    ] = None,
    least: Annotated[
        str | None,
        typer.Option(metavar="VOLUME", help="The reserve you ask for, such as 200ml; exit code 1 below it."),
    ] = None,
    least_time: Annotated[
        str | None,
        typer.Option(
            "--least-time", metavar="TIME", help="The time you ask for, such as 20min; exit code 1 below it."
        ),
    ] = None,
    json: Json = False,
) -> None:
    """A dry part that fills slowly: how she lies, how much water she stands, how long it lasts, what would save her."""
    face = Face(json)
    depth_m, wall_m, least_m3, least_s = si_values(
        ("--depth", depth, "length"),
        ("--wall", wall, "length"),
        ("--least", least, "volume"),
        ("--least-time", least_time, "time"),
    )
    with face.busy("Letting water in") as tell:
        from dabchick.storage.folder import open_boat
        from dabchick.studies.leak import FILLS, run
        from dabchick.studies.leak_ask import way_of
        from dabchick.studies.result import as_json

        vessel = open_boat(boat).vessel
        result = run(
            vessel,
            part=part,
            fills=tuple(fill) if fill else FILLS,
            leak=way_of(drip, hole, gap),
            depth_m=depth_m,
            wall_m=wall_m,
            vented=vented,
            least_m3=least_m3,
            least_s=least_s,
            tell=tell,
        )
    if json:
        face.give_json(as_json(result))
    else:
        _say(face, vessel, result)
    if result.short:
        finish(ExitCode.FINDINGS)


def _say(face: Face, vessel: "Vessel", result: "LeakResult") -> None:
    from dabchick.report import leak_words as words

    face.say(words.summary(vessel, result))
    face.say(words.flow_words(result, vessel.units))
    face.show(_over_water(vessel, result))
    face.show(_events(vessel, result))
    face.show(_reserves(vessel, result))
    face.show(_parts(vessel, result))
    chosen = result.chosen
    if chosen.bulkheads is not None:
        face.say()
        face.say(words.bulkhead_sentence(vessel, chosen))
        for side in chosen.bulkheads.sides:
            face.say(words.side_sentence(vessel, side))
    for alarm in chosen.alarms:
        face.say()
        face.say(words.alarm_sentence(vessel, alarm))
        shown = _table(("", "wet at", "after", "before the end"))
        for row in words.alarm_rows(vessel, alarm):
            shown.add_row(*row)
        face.show(shown)
    face.say()
    face.say(words.CAUTION)
    face.close(result, vessel)


def _table(names: tuple[str, ...]) -> "Table":
    from rich.table import Table

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for number, name in enumerate(names):
        shown.add_column(name, justify="right" if number else "left", no_wrap=number == 0)
    return shown


def _over_water(vessel: "Vessel", result: "LeakResult") -> "Table":
    from dabchick.report.leak_words import fewer, stage_headings, stage_row

    shown = _table(stage_headings(vessel.units)[:9])
    for stage in fewer(result.stages):
        shown.add_row(*stage_row(stage, vessel.units)[:9])
    return shown


def _events(vessel: "Vessel", result: "LeakResult") -> "Table":
    from dabchick.report.leak_words import event_words

    shown = _table(("water", "after", "what happens"))
    shown.columns[2].justify = "left"
    for event in result.chosen.events:
        shown.add_row(*event_words(event, vessel.units))
    return shown


def _reserves(vessel: "Vessel", result: "LeakResult") -> "Table":
    from dabchick.report.leak_words import reserve_words

    shown = _table(("tanks", "lift when dry", "until it is gone", "after"))
    for reserve in result.reserves:
        shown.add_row(*reserve_words(reserve, vessel.units))
    return shown


def _parts(vessel: "Vessel", result: "LeakResult") -> "Table":
    from dabchick.report.leak_words import part_row

    shown = _table(("dry part", "room", "she stands", "after", "air stops it", "aft end*", "fore end*"))
    for part in result.parts:
        shown.add_row(*part_row(part, vessel.units))
    shown.caption = "* the longest room from that end that may fill wholly"
    shown.caption_justify = "left"
    return shown
