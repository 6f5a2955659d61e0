"""The verdict and the cures as the page shows them: words in the builder's units, limits as they were typed."""

import math

from dabchick.model.advice import Advice, BoatError
from dabchick.model.typed import si_all
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import short_with_unit, with_unit
from dabchick.report.criteria_words import LABELS, comparison, criterion_row, verdict_sentence
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
from dabchick.studies.criteria import Verdict
from dabchick.studies.cure_result import Cure, CureResult
from dabchick.studies.limits import Key, Limits, chosen_limits, usual_limits
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.criteria import (
    BeforeAfter,
    CriteriaOut,
    CriterionOut,
    CureCard,
    CureOut,
    LeverOut,
    LimitOut,
    LimitsAsk,
)


def limits_of(vessel: Vessel, ask: LimitsAsk) -> Limits:
    """The limits as typed. Raises one BoatError with all that cannot be read."""
    gm, bg, turn, arm, along = si_all(
        ("gm", ask.gm, "length"),
        ("bg", ask.bg, "length"),
        ("range", ask.range, "angle"),
        ("arm", ask.arm, "length"),
        ("gm_longitudinal", ask.gm_longitudinal, "length"),
    )
    try:
        return chosen_limits(
            vessel,
            gm_m=gm,
            bg_m=bg,
            range_deg=None if turn is None else round(math.degrees(turn), 9),
            arm_m=arm,
            gm_longitudinal_m=along,
        )
    except BoatError as fault:
        raise BoatError(*(_of_field(entry) for entry in fault.advice if entry.key != "gm_every")) from fault


def _of_field(entry: Advice) -> Advice:
    key = "gm" if entry.key == "gm_least" else entry.key
    return Advice(what=entry.what, todo=entry.todo, key=key, given=entry.given, allowed=entry.allowed)


def criteria_out(vessel: Vessel, verdict: Verdict, scale: float | None, revision: int) -> CriteriaOut:
    """All that the page shows of a verdict."""
    return CriteriaOut(
        revision=revision,
        sentence=verdict_sentence(vessel, verdict),
        mark=verdict.mark,
        kept=verdict.kept,
        limits=_limits(vessel),
        rows=[_row(vessel, verdict, entry.key) for entry in verdict.criteria],
        beside=list(comparison(scale, vessel.units)),
        method=verdict.method,
        validity=verdict.validity,
        sources=list(verdict.sources),
        assumptions=list(verdict.assumptions),
        warnings=[AdviceOut.of(entry) for entry in verdict.warnings],
    )


def _limits(vessel: Vessel) -> list[LimitOut]:
    usual, units = usual_limits(vessel), vessel.units
    return [
        LimitOut(
            key="gm", label="Least GM", usual=short_with_unit(usual.gm_least.value, "length", units),
            source=usual.gm_least.source,
        ),
        LimitOut(
            key="bg", label="Least BG dived", usual=short_with_unit(usual.bg.value, "length", units),
            source=usual.bg.source,
        ),
        LimitOut(
            key="range", label="Least righting range", usual=f"{usual.range.value:g}\u00a0deg",
            source=usual.range.source,
        ),
        LimitOut(
            key="arm", label="Least greatest arm", usual=with_unit(usual.arm.value, "length", units),
            source=usual.arm.source,
        ),
        LimitOut(
            key="gm_longitudinal", label="Least GM lengthwise",
            usual=short_with_unit(usual.gm_longitudinal.value, "length", units), source=usual.gm_longitudinal.source,
        ),
    ]  # fmt: skip


def _row(vessel: Vessel, verdict: Verdict, key: Key) -> CriterionOut:
    entry = verdict.of(key)
    words = criterion_row(vessel, entry)
    return CriterionOut(
        key=key,
        label=LABELS[key],
        value=words.value,
        limit=words.limit,
        margin=words.margin,
        chance=words.chance,
        mark=entry.mark,
        where=words.where,
    )


def writable(cure: Cure) -> bool:
    """A cure that may be written into the file: it keeps limits and trims and needs no look into the boat."""
    return cure.kept and cure.keeps_trims and not cure.by_hand


def cure_out(vessel: Vessel, result: CureResult, scale: float | None, revision: int) -> CureOut:
    """All that the page shows of the cures."""
    lead = any(step.material == "lead" for cure in result.cures for step in cure.steps)
    return CureOut(
        revision=revision,
        sentence=summary(vessel, result),
        found=not result.reason,
        cures=[_card(vessel, cure) for cure in result.cures],
        levers=[
            LeverOut(part=part, mass=mass, gives=gives, alone=alone, clear=clear)
            for part, mass, gives, alone, clear in (lever_row(vessel, lever) for lever in result.levers)
        ],
        caution=LEAD_CAUTION if lead else "",
        criteria=criteria_out(vessel, result.verdict, scale, revision),
        method=result.method,
        sources=list(result.sources),
        assumptions=list(result.assumptions),
    )


def _card(vessel: Vessel, cure: Cure) -> CureCard:
    figures = [
        BeforeAfter(
            label=label,
            before=with_unit(before.value, "length", vessel.units),
            after=(
                f"{with_unit(after.value, 'length', vessel.units)} ± "
                f"{with_unit(after.spread, 'length', vessel.units)}"
            ),
        )
        for label, before, after in (
            ("least GM", cure.least_gm_before_m, cure.least_gm_after_m),
            ("BG dived", cure.bg_before_m, cure.bg_after_m),
        )
    ]
    figures += [
        BeforeAfter(label=label, before=before, after=after)
        for label, before, after in trims_words(vessel, cure.before, cure.after)
    ]
    return CureCard(
        title=TITLES[cure.kind],
        kept=cure.kept,
        keeps_trims=cure.keeps_trims,
        mark=cure.mark,
        standing=standing(cure),
        weights=weights_words(vessel, cure),
        steps=[step_words(vessel, step) for step in cure.steps],
        figures=figures,
        writable=writable(cure),
    )
