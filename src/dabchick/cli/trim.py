"""`dabchick trim`: which lead and foam go where, for both states at once."""

from dataclasses import replace
from typing import Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json, si_values

NAME = "trim"
EXAMPLE = "dabchick trim wren --apply"


def command(
    boat: BoatPath = HERE,
    apply: Annotated[
        bool,
        typer.Option("--apply", help="Write the lead, the foam and the moved parts into the boat file."),
    ] = False,
    sheet_lead: Annotated[
        bool,
        typer.Option(
            "--sheet-lead", help="Lead cut to mass from sheet, whatever pieces the boat file names."
        ),
    ] = False,
    lift: Annotated[
        str | None,
        typer.Option(metavar="MASS", help='Lift when dived instead of the boat file\'s, such as "12 g".'),
    ] = None,
    gap: Annotated[
        float,
        typer.Option(
            metavar="SHARE", min=0.0, max=1.0, help="How far from the least lead it may stop, 0.01 for 1 %."
        ),
    ] = 0.01,
    seconds: Annotated[
        float, typer.Option(metavar="SECONDS", min=0.1, help="The most time for the whole search.")
    ] = 7.0,
    json: Json = False,
) -> None:
    """Lead and foam so that she floats on her waterline and hangs level when dived, with the proof."""
    face = Face(json)
    (lift_kg,) = si_values(("--lift", lift, "mass"))
    with face.busy("Looking for the least lead and foam") as progress:
        from dabchick.storage.apply_trim import apply_trim
        from dabchick.storage.folder import open_boat
        from dabchick.studies.result import as_json
        from dabchick.studies.trim import run

        opened = open_boat(boat)
        vessel = opened.vessel
        if lift_kg is not None:
            vessel = replace(vessel, wishes=replace(vessel.wishes, lift_dived_kg=lift_kg))
        result = run(vessel, gap=gap, seconds=seconds, sheet=sheet_lead or None, progress=progress)
        applied = apply and result.feasible
        changed = apply_trim(opened, result) if applied else False
    if json:
        face.give_json(as_json(result) | {"applied": applied})
    else:
        from dabchick.cli.trim_words import print_trim

        print_trim(face, vessel, result, short=applied)
        if apply:
            face.say()
            face.say(_written(str(opened.file), applied, changed))
    if not result.feasible:
        finish(ExitCode.FINDINGS)


def _written(file: str, applied: bool, changed: bool) -> str:
    if not applied:
        return "Nothing was written: first decide which wish gives way."
    return f"Written into {file}." if changed else f"{file} says all of this already."
