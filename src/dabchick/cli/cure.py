"""`dabchick cure`: is she stable enough on the way down and up, and what changes that."""

import math
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json, si_values

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.cure_result import Cure, CureResult
    from dabchick.studies.limits import Limits

NAME = "cure"
EXAMPLE = 'dabchick cure wren --least-gm "3 mm" --least-bg "5 mm"'


def command(
    boat: BoatPath = HERE,
    least_gm: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH", help="GM she must have at every moment; usual for her size without it."
        ),
    ] = None,
    least_bg: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="BG dived, instead of the boat file's least_bg.")
    ] = None,
    least_range: Annotated[
        str | None,
        typer.Option("--range", metavar="ANGLE", help='Range of the righting arm, "60 deg" when not given.'),
    ] = None,
    least_arm: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="Greatest righting arm, half the least GM without it."),
    ] = None,
    least_gm_along: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="GM lengthwise; usual for her size without it.")
    ] = None,
    side_weight: Annotated[
        str | None,
        typer.Option(
            metavar="MASS", help="Take the least GM from this weight put to her side, instead of --least-gm."
        ),
    ] = None,
    side_arm: Annotated[
        str, typer.Option(metavar="LENGTH", help="How far to the side that weight is put.")
    ] = "10 mm",
    side_heel: Annotated[
        str, typer.Option(metavar="ANGLE", help="How far that weight may heel her.")
    ] = "1 deg",
    no_trim: Annotated[
        bool, typer.Option("--no-trim", help="Leave out a trim afresh, which takes longest.")
    ] = False,
    apply: Annotated[
        bool,
        typer.Option(
            "--apply", help="Write the first cure that keeps all limits and both trims into the boat file."
        ),
    ] = False,
    json: Json = False,
) -> None:
    """Is she stable enough by your limits, all the way down and up, and which change cures it, with the proof."""
    face = Face(json)
    gm_m, bg_m, range_rad, arm_m, along_m, weight_kg, lever_m, heel_rad = si_values(
        ("--least-gm", least_gm, "length"), ("--least-bg", least_bg, "length"), ("--range", least_range, "angle"),
        ("--least-arm", least_arm, "length"), ("--least-gm-along", least_gm_along, "length"),
        ("--side-weight", side_weight, "mass"), ("--side-arm", side_arm, "length"), ("--side-heel", side_heel, "angle"),
    )  # fmt: skip
    with face.busy("Looking for a cure") as tell:
        from dabchick.storage.apply_cure import apply_cure
        from dabchick.storage.folder import open_boat
        from dabchick.studies.cure import run
        from dabchick.studies.limits import chosen_limits, gm_for_side_weight
        from dabchick.studies.result import as_json

        opened = open_boat(boat)
        vessel = opened.vessel
        if weight_kg is not None:
            mass = sum(item.mass_kg for item in vessel.items)
            gm_m = gm_for_side_weight(mass, weight_kg, lever_m or 0.0, math.degrees(heel_rad or 0.0))
        limits = chosen_limits(
            vessel,
            gm_m=gm_m,
            bg_m=bg_m,
            range_deg=None if range_rad is None else round(math.degrees(range_rad), 9),
            arm_m=arm_m,
            gm_longitudinal_m=along_m,
        )
        result = run(vessel, limits, again=not no_trim, tell=tell)
        taken = next((cure for cure in result.cures if _writable(cure)), None) if apply else None
        changed = apply_cure(opened, taken) if taken is not None else False
    kept = result.verdict.kept or taken is not None
    if json:
        face.give_json(as_json(result) | {"applied": changed})
    else:
        _print(face, vessel, result, limits, opened.boat.scale)
        if apply:
            face.say()
            face.say(_written(str(opened.file), result.verdict.kept, taken, changed))
        face.close(result, vessel)
    if not kept:
        finish(ExitCode.FINDINGS)


def _writable(cure: "Cure") -> bool:
    return cure.kept and cure.keeps_trims and not cure.by_hand


def _written(file: str, kept: bool, taken: "Cure | None", changed: bool) -> str:
    if kept:
        return "Nothing was written: she keeps all limits as she is."
    if taken is None:
        return "Nothing was written: no cure that can be written keeps all limits and both trims."
    return (
        f"Written into {file}; the file before is kept in its history."
        if changed
        else f"{file} says it already."
    )


def _print(face: Face, vessel: "Vessel", result: "CureResult", limits: "Limits", scale: float | None) -> None:
    from dabchick.report.builder_units import with_unit
    from dabchick.report.criteria_words import comparison, verdict_sentence
    from dabchick.report.cure_words import (
        LEAD_CAUTION,
        TITLES,
        lever_row,
        standing,
        step_words,
        summary,
        trims_words,
        weights_words,
    )

    face.say(verdict_sentence(vessel, result.verdict))
    face.say(summary(vessel, result))
    face.show(criteria_table(vessel, result))
    for number, cure in enumerate(result.cures, start=1):
        face.say()
        face.say(f"{number}. {TITLES[cure.kind]}: {standing(cure)}; {weights_words(vessel, cure)}.")
        for step in cure.steps:
            face.say(f"   - {step_words(vessel, step)}")
        rows = [
            (
                label,
                with_unit(before.value, "length", vessel.units),
                f"{with_unit(after.value, 'length', vessel.units)} ± {with_unit(after.spread, 'length', vessel.units)}",
            )
            for label, before, after in (
                ("least GM", cure.least_gm_before_m, cure.least_gm_after_m),
                ("BG dived", cure.bg_before_m, cure.bg_after_m),
            )
        ]
        face.show(_table(("", "before", "after"), [*rows, *trims_words(vessel, cure.before, cure.after)]))
    if result.levers:
        face.say()
        face.say(
            "What lowering the heavy parts by 1 mm gives, and how far each alone would have to come down:"
        )
        face.show(
            _table(
                ("part", "mass", "1 mm lower gives", "alone", "clear below"),
                [lever_row(vessel, lever) for lever in result.levers],
            )
        )
    if any(step.material == "lead" for cure in result.cures for step in cure.steps):
        face.say()
        face.say(LEAD_CAUTION)
    face.say()
    face.say("Limits:")
    for entry in result.verdict.criteria:
        from dabchick.report.criteria_words import LABELS

        face.say(f"- {LABELS[entry.key]}: {limits.of(entry.key).source}")
    for line in comparison(scale, vessel.units):
        face.say(f"- {line}")


def criteria_table(vessel: "Vessel", result: "CureResult") -> "Table":
    """All criteria, one to a row."""
    from dabchick.report.criteria_words import criterion_row

    return _table(
        ("", "worst", "limit", "margin", "chance", "verdict", "where"),
        [criterion_row(vessel, entry) for entry in result.verdict.criteria],
    )


def _table(heads: tuple[str, ...], rows: "list[tuple[str, ...]]") -> "Table":
    from rich.table import Table

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for index, head in enumerate(heads):
        shown.add_column(head, justify="left" if index == 0 or head in ("verdict", "where") else "right")
    for row in rows:
        shown.add_row(*row)
    return shown
