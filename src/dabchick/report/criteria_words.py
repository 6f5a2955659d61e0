"""The verdict on her stability in a sentence, and each criterion in the builder's units."""

import math
from collections.abc import Mapping
from typing import Final, NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import NO_VALUE, number, short_with_unit, with_unit
from dabchick.studies.criteria import Criterion, Mark, Verdict
from dabchick.studies.limits import REAL_BG_M, SUBMERSIBLE_BG_M, Key, Unit

LABELS: Final[dict[Key, str]] = {
    "gm_every": "GM at every fill",
    "gm_least": "GM at the least moment",
    "bg": "BG dived",
    "range": "righting range",
    "arm": "greatest arm",
    "gm_longitudinal": "GM lengthwise",
    "steady": "jumps and forks",
}
MARKS: Final[dict[Mark, str]] = {"pass": "✓ pass", "doubtful": "? doubtful", "fail": "✗ fail"}


class CriterionRow(NamedTuple):
    """One criterion in words."""

    label: str
    value: str
    limit: str
    margin: str
    chance: str
    mark: str
    where: str


def amount(value: float, unit: Unit, units: UnitSet, *, plus: bool = False) -> str:
    """A figure of a criterion with its unit."""
    if unit == "m":
        return with_unit(value, "length", units, plus=plus)
    text = number(value, 0, plus=plus)
    return f"{text}\u00a0deg" if unit == "deg" and text != NO_VALUE else text


def criterion_row(vessel: Vessel, entry: Criterion) -> CriterionRow:
    """One line of the table."""
    units = vessel.units
    value = amount(entry.value, entry.unit, units)
    if entry.spread > 0.0 and math.isfinite(entry.spread):
        value += f" ± {amount(entry.spread, entry.unit, units)}"
    bound = "≤" if entry.key == "steady" else "≥"
    limit = amount(entry.limit, entry.unit, units)
    return CriterionRow(
        LABELS[entry.key],
        value,
        f"{bound} {limit}",
        amount(entry.margin, entry.unit, units, plus=True),
        chance_words(entry.chance),
        MARKS[entry.mark],
        where_words(entry),
    )


def chance_words(chance: float) -> str:
    """A chance in per cent, no surer than it is."""
    if math.isnan(chance):
        return NO_VALUE
    percent = 100.0 * chance
    if percent > 99.5:
        return "over 99\u00a0%"
    if percent < 0.5:
        return "under 1\u00a0%"
    return f"{percent:.0f}\u00a0%"


def where_words(entry: Criterion) -> str:
    """Such as `62 % fill, going up`; empty where it is nowhere in particular."""
    if entry.way is None:
        return ""
    return f"{fill_words(entry.fills)}, {'going down' if entry.way == 'down' else 'coming up'}"


def fill_words(fills: Mapping[str, float]) -> str:
    """How full the tanks are."""
    shares = set(fills.values())
    if len(shares) == 1:
        return f"{100.0 * shares.pop():.0f}\u00a0% fill"
    return ", ".join(f"{name} {100.0 * share:.0f}\u00a0%" for name, share in fills.items())


def verdict_sentence(vessel: Vessel, verdict: Verdict) -> str:
    """Is she stable enough, in one sentence or two."""
    units = vessel.units
    worst = verdict.of("gm_least")
    where = _at(worst)
    gm = amount(worst.value, "m", units)
    limit = amount(worst.limit, "m", units)
    steady = verdict.of("steady")
    if not worst.value > 0.0:
        stands = f"GM is {gm} there" if math.isfinite(worst.value) else "upright is no rest there"
        return f"{vessel.name} would roll over {where}: {stands}; limit {limit}."
    if steady.mark == "fail":
        return (
            f"{vessel.name} would go over by herself {_at(steady)}: the rest she is in loses its hold there, "
            f"though GM is never less than {gm}."
        )
    missed = [entry for entry in verdict.criteria if entry.mark == "fail"]
    if missed:
        first = worst if worst.mark == "fail" else missed[0]
        label = LABELS[first.key] if first is not worst else "GM"
        others = len([entry for entry in missed if not (first is worst and entry.key == "gm_every")]) - 1
        more = f" {others} more limit{'s are' if others > 1 else ' is'} missed." if others > 0 else ""
        return (
            f"{vessel.name} stays upright, but with less than you ask for {_at(first)}: {label} is "
            f"{amount(first.value, first.unit, units)} there; limit {amount(first.limit, first.unit, units)}.{more}"
        )
    unsure = [entry for entry in verdict.criteria if entry.mark == "doubtful"]
    if unsure:
        first = min(unsure, key=lambda entry: entry.chance)
        return (
            f"{vessel.name} keeps every limit by the best estimate, but {LABELS[first.key]} only with a chance of "
            f"{chance_words(first.chance)}: {amount(first.value, first.unit, units)} ± "
            f"{amount(first.spread, first.unit, units)}; limit {amount(first.limit, first.unit, units)}."
        )
    return f"{vessel.name} is stable enough all the way down and up: the least GM is {gm}, {where}; limit {limit}."


def _at(entry: Criterion) -> str:
    if entry.way is None:
        return "on the way"
    return f"at {fill_words(entry.fills)} on the way {entry.way}"


def comparison(scale: float | None, units: UnitSet) -> tuple[str, ...]:
    """Published figures beside the limits, and how far they can be trusted."""
    low, high = (with_unit(value, "length", units) for value in REAL_BG_M)
    small, normal = (short_with_unit(value, "length", units) for value in SUBMERSIBLE_BG_M)
    found = [
        f"Real submarines have a BG of about {low} to {high} when dived (general naval architecture, from memory)"
        + (
            "; at 1:{:g} that is {} to {}.".format(
                scale, *(with_unit(value / scale, "length", units) for value in REAL_BG_M)
            )
            if scale
            else "."
        ),
        f"Small manned submersibles: {normal} normally, {small} after dropping weight (read second hand: a hobby "
        "mailing list quoting a class rule). Such boats are as small as large models, so no scale is applied.",
        "Rules for the stability of surface ships do not hold for models, and none is used.",
    ]
    return tuple(found)
