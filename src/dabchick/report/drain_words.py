"""What the drain study says, in the builder's units, for every face alike."""

import math
from typing import Final, NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import NO_VALUE, degrees, number, with_unit
from dabchick.studies.drain_result import (
    Band,
    Course,
    DrainMoment,
    DrainResult,
    Matters,
    Remedy,
    Slower,
    SpaceTimes,
)

NEVER: Final = "never"
ROWS: Final = 12
SLIGHT_M: Final = 5e-5


class MomentRow(NamedTuple):
    """One moment in words."""

    time: str
    filled: str
    levels: str
    """The water in each space over the water outside."""
    lagging: str
    bow: str
    stern: str
    heel: str
    trim: str
    gm: str
    gm_drained: str


MOMENT_HEADS: Final = (
    "time", "tank", "water over outside", "lagging", "bow", "stern", "heel", "trim", "GM", "GM drained",
)  # fmt: skip


def seconds(value_s: float) -> str:
    """A time such as `20.5 s` or `3 min 20 s`; `never` where it does not come."""
    if not math.isfinite(value_s):
        return NEVER
    if value_s < 99.95:
        return f"{number(value_s, 1)}\u00a0s"
    whole = round(value_s)
    minutes, rest = divmod(whole, 60)
    return f"{minutes}\u00a0min {rest}\u00a0s" if rest else f"{minutes}\u00a0min"


def summary(vessel: Vessel, result: DrainResult) -> str:
    """The answer in a few sentences."""
    units, up = vessel.units, result.up
    least = with_unit(up.least_gm_m, "length", units)
    drained = with_unit(up.least_drained_gm_m, "length", units)
    blown = f"Blown in {seconds(up.ballast_s)}, {vessel.name}"
    if not math.isnan(up.lets_go_s):
        text = f"{blown} loses her hold {seconds(up.lets_go_s)} after the start, with the water still in her."
    elif up.least_drained_gm_m - up.least_gm_m < SLIGHT_M:
        text = f"{blown} keeps a GM of {least} on the way up; the water in her hardly lags."
    else:
        text = (
            f"{blown} has her least GM {seconds(up.least_at_s)} after the start: {least}, "
            f"against {drained} if no water lagged."
        )
    return f"{text} {_drains(up)} {_limit_words(result, units)}".strip()


def _drains(up: Course) -> str:
    rows = [row for row in up.times if row.moved_m3 > 1e-7]
    if not rows:
        return "No water is to run out of her."
    slow = max(rows, key=lambda row: row.to_95_s if math.isfinite(row.to_95_s) else math.inf)
    if not math.isfinite(slow.to_95_s):
        return f"The {slow.name} never drains to 95 %."
    return f"The {slow.name} is drained to 95 % after {seconds(slow.to_95_s)}."


def _limit_words(result: DrainResult, units: UnitSet) -> str:
    if math.isnan(result.limit_m):
        return ""
    limit = with_unit(result.limit_m, "length", units)
    if result.up.least_gm_m >= result.limit_m:
        return f"That keeps your limit of {limit}."
    if result.up.least_drained_gm_m < result.limit_m:
        return f"Your limit of {limit} is out of reach even without lagging water: put weight lower."
    return f"That is below your limit of {limit}."


def moment_rows(vessel: Vessel, result: DrainResult, course: Course, most: int = ROWS) -> list[MomentRow]:
    """The way in words: evenly picked moments, with that of the least GM among them."""
    return [moment_row(vessel, result, course.moments[index]) for index in picked(course, most)]


def picked(course: Course, most: int) -> list[int]:
    """Moments evenly apart in time, the least GM, the end of the ballast and both ends among them."""
    moments = course.moments
    last = moments[-1].time_s
    wanted = {0, len(moments) - 1}
    for step in range(1, most):
        goal = last * step / most
        wanted.add(min(range(len(moments)), key=lambda index: abs(moments[index].time_s - goal)))
    wanted.add(min(range(len(moments)), key=lambda index: abs(moments[index].time_s - course.least_at_s)))
    wanted.add(min(range(len(moments)), key=lambda index: abs(moments[index].time_s - course.ballast_s)))
    return sorted(wanted)


def moment_row(vessel: Vessel, result: DrainResult, moment: DrainMoment) -> MomentRow:
    """One moment; draughts are dashes while she is wholly under."""
    units = vessel.units
    return MomentRow(
        seconds(moment.time_s),
        ", ".join(dict.fromkeys(f"{100.0 * share:.0f}\u00a0%" for share in moment.fills.values())),
        ", ".join(with_unit(space.over_m, "length", units, plus=True) for space in moment.spaces),
        with_unit(moment.lagging_kg, "mass", units, plus=True),
        with_unit(moment.draught_bow_m, "length", units),
        with_unit(moment.draught_stern_m, "length", units),
        degrees(moment.heel_deg),
        degrees(moment.trim_deg),
        with_unit(moment.gm_m, "length", units),
        with_unit(moment.gm_drained_m, "length", units),
    )


TIMES_HEADS: Final = ("space", "", "to run", "95 %", "by the edge", "99 %", "by the edge", "stays")


def times_rows(vessel: Vessel, result: DrainResult) -> list[tuple[str, ...]]:
    """Times to drain and to flood, each with its spread by the edge of the holes."""
    rows: list[tuple[str, ...]] = []
    for course, word in ((result.up, "drains"), (result.down, "floods")):
        for number_, row in enumerate(course.times):
            edges = [_band_times(band, course)[number_] for band in result.band]
            rows.append(
                (
                    row.name,
                    word,
                    with_unit(row.moved_m3, "volume", vessel.units),
                    seconds(row.to_95_s),
                    _spread([edge.to_95_s for edge in edges]),
                    seconds(row.to_99_s),
                    _spread([edge.to_99_s for edge in edges]),
                    with_unit(row.left_m3, "volume", vessel.units) if math.isnan(row.to_99_s) else NO_VALUE,
                )
            )
    return rows


def _band_times(band: Band, course: Course) -> tuple[SpaceTimes, ...]:
    return band.up if course.way == "up" else band.down


def _spread(values: list[float]) -> str:
    finite = [value for value in values if math.isfinite(value)]
    if not values:
        return NO_VALUE
    if len(finite) < len(values):
        return NEVER if not finite else f"{seconds(min(finite))} to {NEVER}"
    return f"{seconds(min(finite))} to {seconds(max(finite))}"


def band_sentence(vessel: Vessel, result: DrainResult) -> str:
    """What the edge of the holes makes of the least GM."""
    if not result.band:
        return ""
    low, high = min(row.least_gm_m for row in result.band), max(row.least_gm_m for row in result.band)
    edges = sorted(row.discharge for row in result.band)
    return (
        f"By the edge of her holes (coefficient {edges[0]:g} to {edges[-1]:g}) the least GM lies between "
        f"{with_unit(low, 'length', vessel.units)} and {with_unit(high, 'length', vessel.units)}."
    )


def matters_sentence(vessel: Vessel, rows: tuple[Matters, ...]) -> str:
    """Which space's lagging costs most."""
    if not rows:
        return ""
    best = rows[0]
    if best.gain_m < SLIGHT_M:
        return "Larger openings would gain her nothing worth naming."
    gain, gm = (with_unit(value, "length", vessel.units) for value in (best.gain_m, best.gm_m))
    if len(rows) == 1:
        return f"If the {best.space} drained at once, her least GM would be {gm}: {gain} more."
    return f"The {best.space} matters most: if it drained at once, her least GM would be {gm}, {gain} more."


def remedy_sentence(vessel: Vessel, row: Remedy) -> str:
    """How large the openings must be at least; both sides of it have been followed."""
    which = f"the openings of the {row.space}" if row.space else "all openings"
    name = which[0].upper() + which[1:]
    units = vessel.units
    if math.isnan(row.factor):
        found = with_unit(row.smaller_gm_m, "length", units)
        return f"{name} made {row.smaller_factor:.0f} times as large still give only {found}."
    if math.isnan(row.smaller_factor):
        gm = with_unit(row.gm_m, "length", units)
        return f"{name} may be as small as {row.factor:.2f} of their area, the smallest tried: GM {gm}."
    verb = "need" if row.factor > 1.0 else "may have"
    return (
        f"{name} {verb} {row.factor:.2f} times their area to keep the limit: balanced, {row.factor:.2f} is enough "
        f"and {row.smaller_factor:.2f} is not."
    )


def slower_sentence(vessel: Vessel, row: Slower) -> str:
    """The shortest time of blowing that keeps the limit; both sides of it have been followed."""
    units = vessel.units
    if math.isnan(row.blow_s):
        found = with_unit(row.shorter_gm_m, "length", units)
        return f"With the openings as they are even {seconds(row.shorter_s)} of blowing leave only {found}."
    if math.isnan(row.shorter_s):
        gm = with_unit(row.gm_m, "length", units)
        return f"With the openings as they are she may be blown in {seconds(row.blow_s)}: GM {gm}."
    return (
        f"With the openings as they are, blow for {seconds(row.blow_s)} or longer; balanced, {seconds(row.shorter_s)} "
        "is too short."
    )


def area(value_m2: float, units: UnitSet) -> str:
    """An area, and the round hole that has it: `60.0 mm², 8.7 mm wide`."""
    if not math.isfinite(value_m2):
        return NO_VALUE
    wide = with_unit(2.0 * math.sqrt(value_m2 / math.pi), "length", units)
    shown = f"{value_m2 * 1e6:.0f}\u00a0mm²" if units == "metric" else f"{value_m2 / 0.0254**2:.3f}\u00a0in²"
    return f"{shown}, {wide} wide"
