"""`dabchick squeeze`: what depth does to the air she carries, and from how deep she comes back."""

from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.afloat import fills_from
from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json, si_values
from dabchick.model.advice import Advice, BoatError

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.squeeze import BlowPoint, DepthRow

NAME = "squeeze"
EXAMPLE = "dabchick squeeze wren --fill main=0.6 --depth 5m"


def command(
    boat: BoatPath = HERE,
    fill: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SHARE",
            help="Water in the tanks as she goes under, 0 to 1: 0.6 for all, or main=0.6 for one. May be repeated. "
            "Without it: the fill that gives the dived lift of the boat file.",
        ),
    ] = None,
    lift: Annotated[
        str | None,
        typer.Option(metavar="MASS", help='Find the fill that gives this lift just under, such as "20 g".'),
    ] = None,
    neutral: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help='Find the fill with just no lift at this depth, such as "2 m".'),
    ] = None,
    depth: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH", help="How deep to look, and from where she is to come back; 3 m if not given."
        ),
    ] = None,
    blow: Annotated[
        str | None,
        typer.Option(
            metavar="VOLUME", help='Air blown in at that depth, as it would be at the surface, "50 ml".'
        ),
    ] = None,
    gas: Annotated[
        str | None, typer.Option(metavar="MASS", help='The same by weight of air, such as "0.1 g".')
    ] = None,
    air: Annotated[
        bool, typer.Option("--air", help="Also count the air trapped in her flooded space.")
    ] = False,
    json: Json = False,
) -> None:
    """Air and depth: lift lost on the way down, neutral depth, and from how deep a blow brings her back."""
    face = Face(json)
    lift_kg, neutral_m, depth_m, blow_m3, blow_kg = si_values(
        ("--lift", lift, "mass"), ("--neutral", neutral, "length"), ("--depth", depth, "length"),
        ("--blow", blow, "volume"), ("--gas", gas, "mass"),
    )  # fmt: skip
    if sum(entry is not None for entry in (fill or None, lift, neutral)) > 1:
        raise BoatError(
            Advice(
                what="--fill, --lift and --neutral each say how full the tanks are.",
                todo="Give one of them.",
                where="command line",
            )
        )
    with face.busy("Taking her down") as tell:
        from dabchick.storage.folder import open_boat
        from dabchick.studies.result import as_json
        from dabchick.studies.squeeze import DEPTH_M, Aim, depths_to, run

        vessel = open_boat(boat).vessel
        aims = [Aim(lift_kg, 0.0)] if lift_kg is not None else []
        aims += [Aim(0.0, neutral_m)] if neutral_m is not None else []
        result = run(
            vessel,
            fills=[fills_from(fill, dived=False)] if fill else [],
            aims=aims,
            depths=depths_to(DEPTH_M if depth_m is None else depth_m),
            air=air,
            blow_m3=blow_m3 or 0.0,
            blow_kg=blow_kg or 0.0,
            tell=tell,
        )
    if json:
        face.give_json(as_json(result))
    else:
        from dabchick.report import squeeze_words as words

        track = result.tracks[0]
        face.say(words.summary(vessel, result))
        for text in (
            words.fill_words(vessel, track),
            words.neutral_sentence(vessel, track),
            words.needed_sentence(vessel, result),
            words.lost_words(vessel, track),
            words.cure_sentence(vessel, result),
        ):
            if text:
                face.say(text)
        face.show(_rows(vessel, words.few(track.rows)))
        if result.blows:
            face.show(_blows(vessel, words.blows_told(result.blows)))
        for caution in result.cautions:
            face.say()
            face.say(f"Caution: {caution}")
        face.close(result, vessel)
    if not result.comes_back:
        finish(ExitCode.FINDINGS)


def _rows(vessel: "Vessel", rows: "list[DepthRow]") -> "Table":
    from rich.table import Table

    from dabchick.report.squeeze_words import loss_heading, row_words

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    headings = ("over her", "lift", loss_heading(vessel.units), "air", "trim", "BG", "GM across", "GM along")
    several = any(len(row.rests) > 1 for row in rows)
    for name in (*headings, *(("or trim",) if several else ())):
        shown.add_column(name, justify="right")
    for row in rows:
        said = row_words(vessel, row)
        shown.add_row(*said[: len(headings) + several])
    return shown


def _blows(vessel: "Vessel", points: "list[BlowPoint]") -> "Table":
    from rich.table import Table

    from dabchick.report.squeeze_words import blow_words

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("air blown, at the surface", "weighs", "lift just under", "brings her back from"):
        shown.add_column(name, justify="right")
    for point in points:
        shown.add_row(*blow_words(vessel, point))
    return shown
