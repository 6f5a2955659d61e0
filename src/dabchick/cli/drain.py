"""`dabchick drain`: water that lags in casing and hull while the tanks are blown or filled."""

import math
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json, si_values

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.drain_result import DrainResult

NAME = "drain"
EXAMPLE = 'dabchick drain wren --blow "20 s" --limit "2 mm"'


def command(
    boat: BoatPath = HERE,
    blow: Annotated[
        str | None,
        typer.Option(
            metavar="TIME", help='How long blowing or pumping out takes, such as "20 s"; that when not given.'
        ),
    ] = None,
    fill: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="How long filling takes; as long as blowing when not given."),
    ] = None,
    rate: Annotated[
        list[str] | None,
        typer.Option(
            metavar="RATE",
            help='How fast one tank empties and fills, such as "main=20ml/s". May be repeated.',
        ),
    ] = None,
    limit: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH",
            help='GM to keep on the way up, such as "2 mm": finds the smallest openings and the shortest time.',
        ),
    ] = None,
    cd: Annotated[
        float | None,
        typer.Option(metavar="NUMBER", help="Coefficient of discharge of the holes, 0.62 when not given."),
    ] = None,
    json: Json = False,
) -> None:
    """Water that lags in casing and hull when she comes up: the least GM on the way, times to drain and flood."""
    face = Face(json)
    blow_s, fill_s, limit_m = si_values(
        ("--blow", blow, "time"), ("--fill", fill, "time"), ("--limit", limit, "length")
    )
    with face.busy("Letting the water run") as tell:
        from dabchick.cli.dive_way import rates_from
        from dabchick.physics.orifice import SHARP_EDGE
        from dabchick.report.drain_words import summary
        from dabchick.storage.folder import open_boat
        from dabchick.studies.drain import run
        from dabchick.studies.result import as_json

        vessel = open_boat(boat).vessel
        result = run(
            vessel,
            blow_s=blow_s,
            fill_s=fill_s,
            rates_m3_s=rates_from(rate or []),
            discharge=SHARP_EDGE if cd is None else cd,
            limit_m=limit_m,
            tell=tell,
        )
    if json:
        face.give_json(as_json(result))
    else:
        face.say(summary(vessel, result))
        _say(face, vessel, result)
        face.close(result, vessel)
    below = not math.isnan(result.limit_m) and result.up.least_gm_m < result.limit_m
    if below or not (math.isnan(result.up.lets_go_s) and math.isnan(result.down.lets_go_s)):
        finish(ExitCode.FINDINGS)


def _say(face: Face, vessel: "Vessel", result: "DrainResult") -> None:
    from dabchick.report.drain_words import (
        MOMENT_HEADS,
        TIMES_HEADS,
        area,
        band_sentence,
        matters_sentence,
        moment_rows,
        remedy_sentence,
        slower_sentence,
        times_rows,
    )

    for course, words in ((result.up, "Coming up:"), (result.down, "Going down:")):
        face.say()
        face.say(words)
        face.show(_table(MOMENT_HEADS, moment_rows(vessel, result, course), left=0))
    face.say()
    face.say("How long it takes, from the moment the tanks begin:")
    face.show(_table(TIMES_HEADS, times_rows(vessel, result), left=2))
    face.say()
    for text in (band_sentence(vessel, result), matters_sentence(vessel, result.matters)):
        if text:
            face.say(text)
    for row in result.remedies:
        face.say(remedy_sentence(vessel, row))
    if result.slower is not None:
        face.say(slower_sentence(vessel, result.slower))
    cures = [row for row in result.remedies if not row.space and not math.isnan(row.factor)]
    if cures:
        holes = [
            (hole.name, area(hole.now_m2, vessel.units), area(hole.wanted_m2, vessel.units))
            for hole in cures[0].openings
        ]
        face.show(_table(("all openings", "now", "smallest that keep the limit"), holes, left=1))


def _table(heads: "Sequence[str]", rows: "Iterable[Sequence[str]]", left: int) -> "Table":
    from rich.table import Table

    shown = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0))
    for index, name in enumerate(heads):
        shown.add_column(name, justify="left" if index < left else "right")
    for row in rows:
        shown.add_row(*row)
    return shown
