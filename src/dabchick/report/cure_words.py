"""A cure in the builder's words: what to do, and what it gives."""

import math
from typing import Final

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vector, Vessel
from dabchick.report.builder_units import degrees, number, place_words, with_unit
from dabchick.report.criteria_words import amount
from dabchick.studies.cure_result import BothTrims, Cure, CureKind, CureResult, Lever, Step

TITLES: Final[dict[CureKind, str]] = {
    "one move": "One move",
    "fewest changes": "Fewest changes",
    "lead and foam": "New lead and foam only",
    "trim again": "Trim afresh with more BG",
    "lower": "Lower what is heavy and high",
}
LEAD_CAUTION: Final = (
    "Lead is poison: wash hands, make no dust, and cast only where you have learnt how. "
    "Your local rules come first."
)


def summary(vessel: Vessel, result: CureResult) -> str:
    """The best cure, or why there is none."""
    if result.reason == "kept":
        return result.text
    if not result.reason and result.cures:
        best = result.cures[0]
        return f"Best cure: {gives(vessel, best)}"
    reach = (
        f" The best of them gives a least GM of {with_unit(result.best_gm_m, 'length', vessel.units)} and a BG of "
        f"{with_unit(result.best_bg_m, 'length', vessel.units)}."
        if result.cures
        else ""
    )
    return f"Nothing that was tried reaches the limits and keeps both trims. {result.text}{reach}"


def gives(vessel: Vessel, cure: Cure) -> str:
    """What is done and what comes of it, in one sentence."""
    units = vessel.units
    if len(cure.steps) <= 2:
        doing = " and ".join(step_words(vessel, step) for step in cure.steps)
    else:
        doing = f"{TITLES[cure.kind].lower()}, {len(cure.steps)} steps"
    before, after = (
        number_of(figure.value, units) for figure in (cure.least_gm_before_m, cure.least_gm_after_m)
    )
    return f"{doing}: least GM from {before} to {after}."


def number_of(value_m: float, units: UnitSet) -> str:
    """A length with its unit."""
    return amount(value_m, "m", units)


def step_words(vessel: Vessel, step: Step) -> str:
    """One thing to do, measured as the builder measures."""
    mass = with_unit(step.mass_kg, "mass", vessel.units)
    if step.material == "foam" and step.size_m is not None:
        mass = with_unit(math.prod(step.size_m), "volume", vessel.units)
    pieces = " + ".join(f"{count} x {piece}" for piece, count in step.counts.items())
    if step.kind == "add":
        made = f" ({pieces})" if pieces else f" ({_size(vessel, step)})" if step.material == "foam" else ""
        return f"add {mass} of {step.material}{made} in {step.place}, {_point(vessel, step.to_m)}"
    if step.kind == "take out":
        return f"take out the {mass} of {step.material} at {_point(vessel, step.from_m)}"
    if step.kind == "lower" and step.from_m is not None and step.to_m is not None:
        by = with_unit(step.from_m[2] - step.to_m[2], "length", vessel.units)
        return f"set the {step.part} ({mass}) {by} lower"
    name = f"the {mass} {step.part}" if step.material else f"the {step.part} ({mass})"
    to = f" to {step.place}," if step.place else " to"
    return f"move {name} from {_point(vessel, step.from_m)}{to} {_point(vessel, step.to_m)}"


def _size(vessel: Vessel, step: Step) -> str:
    if step.size_m is None:
        return ""
    return " x ".join(with_unit(edge, "length", vessel.units) for edge in step.size_m)


def _point(vessel: Vessel, point: Vector | None) -> str:
    if point is None:
        return ""
    along, across, up = place_words(point, vessel.datum, vessel.units)
    return f"x {along}, {across}, z {up}"


def trims_words(vessel: Vessel, before: BothTrims, after: BothTrims) -> tuple[tuple[str, str, str], ...]:
    """Label, before and after of both trims."""
    units = vessel.units

    def length(value: float) -> str:
        return with_unit(value, "length", units)

    return (
        ("draught at the bow", length(before.draught_bow_m), length(after.draught_bow_m)),
        ("draught at the stern", length(before.draught_stern_m), length(after.draught_stern_m)),
        ("trim surfaced", degrees(before.trim_deg, decimals=2), degrees(after.trim_deg, decimals=2)),
        ("heel surfaced", degrees(before.heel_deg, decimals=2), degrees(after.heel_deg, decimals=2)),
        ("lift dived", with_unit(before.lift_kg, "mass", units), with_unit(after.lift_kg, "mass", units)),
        ("trim dived", degrees(before.dived_trim_deg, decimals=2), degrees(after.dived_trim_deg, decimals=2)),
        ("heel dived", degrees(before.dived_heel_deg, decimals=2), degrees(after.dived_heel_deg, decimals=2)),
    )


def weights_words(vessel: Vessel, cure: Cure) -> str:
    """What is added or saved."""
    parts = []
    for mass, name in ((cure.added_lead_kg, "lead"), (cure.added_foam_kg, "foam")):
        if abs(mass) >= 5e-5:
            parts.append(
                f"{with_unit(abs(mass), 'mass', vessel.units)} {'more' if mass > 0 else 'less'} {name}"
            )
    return " and ".join(parts) or "no weight added"


def standing(cure: Cure) -> str:
    """Whether it is enough."""
    kept = "keeps every limit" if cure.kept else "does not reach the limits"
    if cure.kept and cure.mark == "doubtful":
        kept = "keeps every limit by the best estimate, one at least doubtfully"
    trims = "both trims stay" if cure.keeps_trims else "but it spoils a trim"
    hand = "; see yourself whether there is room and whether it may move" if cure.by_hand else ""
    return f"{kept}, {trims}{hand}"


def lever_row(vessel: Vessel, lever: Lever) -> tuple[str, str, str, str, str]:
    """Part, mass, what 1 mm gives, what it would take alone, what is clear below."""
    micro = 1e3

    def fine(value_m: float) -> str:
        if vessel.units == "inch":
            return f"{number(value_m / 0.0254, 4, plus=True)}\u00a0in"
        return f"{number(value_m * micro, 3, plus=True)}\u00a0mm"

    def plain(value_m: float) -> str:
        return with_unit(value_m, "length", vessel.units)

    name = f"{lever.part} with all in it" if lever.with_contents else lever.part
    alone = plain(lever.alone_m) if math.isfinite(lever.alone_m) and lever.alone_m > 0.0 else "–"
    return (
        name,
        with_unit(lever.mass_kg, "mass", vessel.units),
        f"{fine(lever.gm_m_per_mm)} GM, {fine(lever.bg_m_per_mm)} BG",
        alone,
        plain(lever.clear_m),
    )
