"""`dabchick heel`: what heels her, how far, and how much she bears."""

import math
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.heel_result import HeelResult, HeelState

NAME = "heel"
EXAMPLE = "dabchick heel wren --power 20W --rpm 3000"


def command(
    boat: BoatPath = HERE,
    power: Annotated[
        str | None, typer.Option(metavar="POWER", help='What the motor takes in, such as "20 W"; with --rpm.')
    ] = None,
    rpm: Annotated[
        str | None, typer.Option(metavar="RPM", help="Turns of the propeller in a minute, such as 3000.")
    ] = None,
    efficiency: Annotated[
        str | None,
        typer.Option(
            metavar="SHARE",
            help="Share of the power that reaches the propeller, 65% (45 to 85) when not given.",
        ),
    ] = None,
    left_handed: Annotated[
        bool,
        typer.Option(
            "--left-handed", help="The propeller turns anticlockwise seen from astern, going ahead."
        ),
    ] = False,
    turn: Annotated[
        str | None, typer.Option(metavar="LENGTH", help='Radius of a turn, such as "0.8 m"; with --speed.')
    ] = None,
    rate: Annotated[
        str | None,
        typer.Option(metavar="RATE", help='Rate of a turn instead of its radius, such as "30 deg/s".'),
    ] = None,
    speed: Annotated[
        str | None, typer.Option(metavar="SPEED", help='Her speed in the turn, such as "0.5 m/s".')
    ] = None,
    wind: Annotated[
        str | None, typer.Option(metavar="SPEED", help='Wind from abeam at her own height, such as "5 m/s".')
    ] = None,
    gust: Annotated[
        str | None, typer.Option(metavar="SPEED", help='A gust that comes at once, such as "8 m/s".')
    ] = None,
    drag: Annotated[
        str | None,
        typer.Option(metavar="NUMBER", help="Drag of her side in the wind, 1.1 (0.7 to 1.4) when not given."),
    ] = None,
    side: Annotated[
        str | None,
        typer.Option(
            metavar="MASS@PLACE",
            help="A weight moved across, such as 50g@20mm, or hung at a place from your zeros: 50g@120mm,20mm,90mm.",
        ),
    ] = None,
    fill: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SHARE",
            help="Also at this tank fill: 0.5 for all tanks, or main=0.5,trim=1 by name. May be repeated.",
        ),
    ] = None,
    least: Annotated[
        bool, typer.Option("--least", help="Also where she is least stable on the way down and up.")
    ] = False,
    json: Json = False,
) -> None:
    """What heels her: propeller torque, a turn, wind, a side weight; where she rests and how much she bears."""
    from dabchick.cli.afloat import fills_from

    face = Face(json)
    fills = [fills_from(text.split(","), False) for text in fill or []]
    with face.busy("Heeling her") as tell:
        from dabchick.report.heel_words import summary
        from dabchick.storage.folder import open_boat
        from dabchick.studies.heel import run
        from dabchick.studies.heel_ask import HeelTexts, causes_from
        from dabchick.studies.result import as_json

        vessel = open_boat(boat).vessel
        texts = HeelTexts(power, rpm, efficiency, left_handed, turn, rate, speed, wind, gust, drag, side)
        asked = causes_from(vessel, texts, lambda key: f"command line --{key}")
        result = run(
            vessel,
            torque=asked.torque,
            turn=asked.turn,
            wind=asked.wind,
            side=asked.side,
            fills=fills,
            least=least,
            tell=tell,
        )
    if json:
        face.give_json(as_json(result))
    else:
        face.say(summary(vessel, result))
        face.show(_checks(vessel, result))
        for state in result.states:
            if state.caused:
                _say_causes(face, vessel, result, state)
        face.close(result, vessel)
    if any(not state.holds for state in result.states) or any(
        math.isnan(entry.likely.heel_deg) for state in result.states for entry in state.caused
    ):
        finish(ExitCode.FINDINGS)


def _checks(vessel: "Vessel", result: "HeelResult") -> "Table":
    from rich.table import Table

    from dabchick.report.heel_words import state_rows, state_title

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("")
    columns = [dict(state_rows(state, vessel.units)) for state in result.states]
    for state in result.states:
        shown.add_column(state_title(state), justify="right")
    labels = list(dict.fromkeys(label for column in columns for label in column))
    for label in labels:
        shown.add_row(label, *(column.get(label, "") for column in columns))
    return shown


def _say_causes(face: Face, vessel: "Vessel", result: "HeelResult", state: "HeelState") -> None:
    from rich.table import Table

    from dabchick.report.heel_words import cause_row, lever_words, state_title

    title = state_title(state)
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column(title[0].upper() + title[1:])
    for name in ("moment", "rests", "band", "at once", "bears"):
        shown.add_column(name, justify="right")
    for entry in state.caused:
        row = cause_row(vessel, result, entry)
        shown.add_row(
            row.cause.replace("to starboard", "to stbd").replace("from starboard", "from stbd"), *row[1:]
        )
    face.show(shown)
    for words in dict.fromkeys(lever_words(entry, vessel.units) for entry in state.caused):
        if words:
            face.say(words[0].upper() + words[1:] + ".")
