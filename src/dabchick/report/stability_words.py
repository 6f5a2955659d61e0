"""The way down and up in words: the least stable moment, what happens on the way, the stages as a table."""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import NO_VALUE, figure, length_unit, number, with_unit
from dabchick.report.figures import measured
from dabchick.report.lie_words import SMALL_ANGLE_DEG, leaning
from dabchick.studies.leap import Leap, leap
from dabchick.studies.lie import Lie
from dabchick.studies.stability_result import (
    Attitude,
    Branch,
    DiveEvent,
    EventKind,
    LeastMoment,
    StabilityResult,
    Stage,
    Way,
)

UPRIGHT_DEG: Final = 1.0
"""Less heel than this a builder calls upright."""
OVER_DEG: Final = 90.0
_WAYS: Final[dict[Way, str]] = {"down": "going down", "up": "coming up"}
_TOLD_JUMPS: Final = 2
_SAME_M: Final = 1e-4
_SAME_DEG: Final = 0.1
_SAME_RANGE_DEG: Final = 1.0
LEAPS: Final[dict[Leap, str]] = {"over": "goes over", "back": "comes back", "down": "drops", "up": "rises"}
_NAMES: Final[dict[EventKind, str]] = {
    "fold": "rest ends",
    "fork": "forks",
    "under": "under",
    "out": "out again",
}
_AT_ONCE: Final = 1e-6
"""Moments of the way closer than this are one."""


def sentence(vessel: Vessel, result: StabilityResult) -> str:
    """Where she is least stable, with GM and BG there, and what becomes of her on the way."""
    least = result.least
    told = [
        f"{vessel.name} is least stable {_moment(vessel, least.way, least.fills)}: "
        f"{hold_words(vessel, least.lie)}{leaning(least.lie)}."
    ]
    hold = least.lie.gm_transverse_m
    if not hold.value > 0.0:
        if math.isfinite(hold.value):
            told.append("There nothing turns her back upright.")
    elif hold.value <= 2.0 * hold.spread:
        told.append("That GM is less than twice its spread, so she may have none.")
    told.append(_on_the_way(vessel, result))
    told.append(_in_the_end(vessel, result))
    return " ".join(text for text in told if text)


def told_events(result: StabilityResult) -> tuple[DiveEvent, ...]:
    """The events as they are told and numbered: the end of a rest from which she leaps is told by the leap."""
    leaps = [event for event in result.events if event.kind == "jump"]
    return tuple(
        event
        for event in result.events
        if event.kind not in ("fold", "fork")
        or not any(leap.way == event.way and abs(leap.progress - event.progress) < _AT_ONCE for leap in leaps)
    )


def event_name(event: DiveEvent) -> str:
    """An event in a word or two, for drawings."""
    if event.kind == "jump":
        return LEAPS[leap(event.before, event.after)]
    return _NAMES[event.kind]


def event_words(vessel: Vessel, event: DiveEvent) -> str:
    """What happens, at which fills, and how she lies before and after."""
    moment = _moment(vessel, event.way, event.fills)
    start = moment[0].upper() + moment[1:]
    before, after = attitude_words(event.before), attitude_words(event.after)
    if event.kind == "jump":
        seen = leap(event.before, event.after)
        if seen in ("over", "back"):
            return f"{start}, she {LEAPS[seen]} all at once: from {before} to {after}."
        if math.isnan(event.after.offset_m):
            return f"{start}, she goes under all at once, {after}."
        return f"{start}, she {LEAPS[seen]} all at once, {after}."
    if event.kind == "under":
        return f"{start}, the last of her goes under, {before}."
    if event.kind == "out":
        return f"{start}, something of her comes out of the water again, {after}."
    moved = before != after
    if event.kind == "fold":
        end = f"she goes from {before} to {after}" if moved else f"she lies {before}"
        return f"{start}, the rest she lay in ends: {end}."
    if moved:
        return f"{start}, her rest forks and she leaves it: from {before} to {after}."
    return f"{start}, her rest forks, {before}: it loses or regains its hold, and leaning rests part from it."


def moment_words(vessel: Vessel, stage: Stage | LeastMoment) -> str:
    """One moment: the fills, how she lies, and what holds her."""
    lie = stage.lie
    moment = _moment(vessel, stage.way, lie.fills)
    if lie.condition == "sinks":
        lies = f"she sinks, {with_unit(-lie.lift_kg.value, 'mass', vessel.units)} too heavy"
    elif lie.condition == "hangs":
        lies = f"wholly under with {with_unit(lie.lift_kg.value, 'mass', vessel.units)} of lift"
    else:
        bow, stern = (
            with_unit(draught.value, "length", vessel.units)
            for draught in (lie.draught_bow_m, lie.draught_stern_m)
        )
        lies = f"{bow} on the bow mark and {stern} on the stern mark"
    text = f"{moment[0].upper()}{moment[1:]}: {lies}{leaning(lie)}; {hold_words(vessel, lie)}"
    if isinstance(stage, Stage) and math.isfinite(stage.arms.loll_deg):
        text += f"; upright is no rest, she lolls at {heel_words(stage.arms.loll_deg)}"
    return text + ("." if lie.stable else "; she does not stay like this.")


def hold_words(vessel: Vessel, lie: Lie) -> str:
    """GM and BG with their spreads."""
    values = (("GM", lie.gm_transverse_m), ("BG", lie.bg_m))
    return ", ".join(
        f"{name} {measured(value, 'length', vessel.units) if math.isfinite(value.value) else 'not known'}"
        for name, value in values
    )


def attitude_words(attitude: Attitude) -> str:
    """Such as `upright and level` or `38.2 deg over to port, 1.4 deg bow up`."""
    heel, trim = attitude.heel_deg, attitude.trim_deg
    if not (math.isfinite(heel) and math.isfinite(trim)):
        return "how she lies is not known"
    level = abs(trim) < SMALL_ANGLE_DEG
    if abs(heel) < SMALL_ANGLE_DEG:
        return "upright and level" if level else f"upright, {trim_words(trim)}"
    return heel_words(heel) if level else f"{heel_words(heel)}, {trim_words(trim)}"


def heel_words(heel_deg: float) -> str:
    """Such as `3.2 deg over to starboard`."""
    return f"{number(abs(heel_deg), 1)} deg over to {'starboard' if heel_deg > 0.0 else 'port'}"


def trim_words(trim_deg: float) -> str:
    """Such as `1.4 deg bow up`."""
    return f"{number(abs(trim_deg), 1)} deg bow {'up' if trim_deg > 0.0 else 'down'}"


def fills_words(vessel: Vessel, fills: Mapping[str, float]) -> str:
    """How full, in shares and volumes, such as `main 62 % full (151.6 ml)`."""
    room = {tank.name: tank.capacity_m3 for tank in vessel.tanks}
    held = sum(share * room.get(name, math.nan) for name, share in fills.items())
    shares = set(fills.values())
    if not fills:
        return "no tank"
    if shares == {0.0}:
        return "all tanks empty" if len(fills) > 1 else f"{next(iter(fills))} empty"
    if len(shares) == 1:
        share = percent(next(iter(shares)))
        who = "all tanks" if len(fills) > 1 else next(iter(fills))
        return f"{who} {share} full ({with_unit(held, 'volume', vessel.units)})"
    return ", ".join(
        f"{name} {percent(share)} ({with_unit(share * room.get(name, math.nan), 'volume', vessel.units)})"
        for name, share in fills.items()
    )


def percent(share: float) -> str:
    """A share as a builder reads it: whole where that loses nothing, else to a tenth, such as `62.5 %`."""
    amount = 100.0 * share
    return f"{number(amount, 0 if abs(amount - round(amount)) < 0.05 else 1)}\u00a0%"


def short_fills(fills: Mapping[str, float]) -> str:
    """The shares alone, in the tanks' order, such as `62 %` or `100/20 %`."""
    if not fills:
        return NO_VALUE
    shares = list(fills.values())
    if len(set(shares)) == 1:
        return percent(shares[0])
    return "/".join(percent(share).removesuffix("\u00a0%") for share in shares) + "\u00a0%"


def branch_words(branch: Branch) -> str:
    """One curve of rests: over which part of the way it runs, the heels along it, and whether it holds."""
    first, last = min(branch.progress), max(branch.progress)
    heels = [heel for heel in branch.heel_deg if math.isfinite(heel)]
    if all(branch.stable):
        hold = "stable throughout"
    elif any(branch.stable):
        hold = f"stable for {percent(sum(branch.stable) / len(branch.stable))} of its points"
    else:
        hold = "nowhere stable"
    lean = "heel not known"
    if heels:
        low, high = (number(heel, 1, plus=True) for heel in (min(heels), max(heels)))
        lean = f"heel {low} deg" if low == high else f"heel {low} to {high} deg"
    return f"From {percent(first)} to {percent(last)} of the way: {lean}, {hold}."


def has_findings(result: StabilityResult) -> bool:
    """She loses her hold, goes over, forks, lolls, lies beyond 90 deg or sinks somewhere on the way."""
    lies = [result.least.lie, *(stage.lie for stage in (*result.down, *result.up))]
    return (
        any(event.kind in ("jump", "fork", "fold") for event in result.events)
        or any(
            lie.gm_transverse_m.value <= 0.0
            or not lie.stable
            or lie.condition == "sinks"
            or abs(lie.heel_deg.value) > OVER_DEG
            for lie in lies
        )
        or _lolls((*result.down, *result.up))
    )


def up_that_differs(result: StabilityResult) -> tuple[Stage, ...]:
    """The stages of the way up at which she does not lie, or is not held, as at the same fills going down."""
    passed = {round(stage.progress, 9): stage for stage in result.down}
    return tuple(
        stage
        for stage in result.up
        if (down := passed.get(round(stage.progress, 9))) is None or not _alike(down, stage)
    )


def _alike(one: Stage, other: Stage) -> bool:
    pairs: list[tuple[float, float, float]] = []
    for name, tolerance in (
        ("draught_bow_m", _SAME_M), ("draught_stern_m", _SAME_M), ("gm_transverse_m", _SAME_M),
        ("bg_m", _SAME_M), ("heel_deg", _SAME_DEG), ("trim_deg", _SAME_DEG),
    ):  # fmt: skip
        pairs.append((getattr(one.lie, name).value, getattr(other.lie, name).value, tolerance))
    for name, tolerance in (
        ("greatest_m", _SAME_M), ("range_starboard_deg", _SAME_RANGE_DEG), ("range_port_deg", _SAME_RANGE_DEG),
    ):  # fmt: skip
        pairs.append((getattr(one.arms, name), getattr(other.arms, name), tolerance))
    return one.lie.condition == other.lie.condition and all(
        abs(first - second) <= tolerance or (math.isnan(first) and math.isnan(second))
        for first, second, tolerance in pairs
    )


# -- the table of stages -----------------------------------------------------------------------------------------

Head = tuple[str, str]
"""Title and unit of a column."""
LYING: Final = 7
"""The first columns say how she lies, the others what holds her."""


def stage_heads(vessel: Vessel, stages: Sequence[Stage]) -> tuple[Head, ...]:
    """Headings of `stage_rows`; a column for loll only where she lolls somewhere."""
    unit = length_unit(vessel.units)[0]
    heads = (
        ("filled", ""), ("bow", unit), ("stern", unit), ("heel", "deg"), ("trim", "deg"), ("lift", ""),
        ("state", ""), ("GM across", unit), ("GM along", unit), ("lost", unit), ("BG", unit),
        ("range", "port/stbd"), ("area", f"{unit} rad"), ("greatest", f"{unit} at deg"),
    )  # fmt: skip
    return (*heads, ("lolls", "deg")) if _lolls(stages) else heads


def stage_rows(vessel: Vessel, stages: Sequence[Stage]) -> list[tuple[str, ...]]:
    """One row for each stage, in the order of `stage_heads`.

    Draughts at both marks, heel and trim, the lift of the boat held under, what her free surfaces lose her of GM,
    ranges to port and to starboard, the smaller area, the greatest arm of the weaker side and its heel.
    """
    lolls = _lolls(stages)
    return [_row(vessel, stage, lolls) for stage in stages]


def heads_note(vessel: Vessel) -> str:
    """What the short headings stand for."""
    order = "/".join(tank.name for tank in vessel.tanks)
    many = f"Filled: {order}. " if len(vessel.tanks) > 1 else ""
    return (
        f"{many}Bow, stern: draught at the mark. Lost: GM taken by the free surfaces of the tanks. "
        "Range, area, greatest: of the righting arms, weaker side."
    )


def _lolls(stages: Iterable[Stage]) -> bool:
    return any(math.isfinite(stage.arms.loll_deg) for stage in stages)


def _row(vessel: Vessel, stage: Stage, lolls: bool) -> tuple[str, ...]:
    lie, arms, units = stage.lie, stage.arms, vessel.units

    def length(value_m: float) -> str:
        return figure(value_m, "length", units)

    reach = "/".join(number(value, 0) for value in (arms.range_port_deg, arms.range_starboard_deg))
    row = (
        short_fills(lie.fills),
        length(lie.draught_bow_m.value),
        length(lie.draught_stern_m.value),
        number(lie.heel_deg.value, 1, plus=True),
        number(lie.trim_deg.value, 1, plus=True),
        with_unit(lie.lift_kg.value, "mass", units),
        lie.condition if lie.stable else "unstable",
        length(lie.gm_transverse_m.value),
        length(lie.gm_longitudinal_m.value),
        length(stage.free_surface_m),
        length(lie.bg_m.value),
        reach,
        length(min(arms.area_port_m_rad, arms.area_starboard_m_rad)),
        f"{length(arms.greatest_m)}\u00a0at\u00a0{number(arms.greatest_at_deg, 0)}",
    )
    return (*row, number(arms.loll_deg, 1, plus=True)) if lolls else row


# -- parts of the sentence ---------------------------------------------------------------------------------------


def _moment(vessel: Vessel, way: Way, fills: Mapping[str, float]) -> str:
    return f"{_WAYS[way]} with {fills_words(vessel, fills)}"


def _on_the_way(vessel: Vessel, result: StabilityResult) -> str:
    events = told_events(result)
    jumps = [event for event in events if event.kind == "jump"]
    forks = [event for event in events if event.kind in ("fork", "fold")]
    told = [event_words(vessel, event) for event in (jumps or forks)[:_TOLD_JUMPS]]
    rest = len(jumps) + len(forks) - len(told)
    if rest > 0:
        told.append(
            "One more such moment follows below." if rest == 1 else f"{rest} more such moments follow below."
        )
    stages = (*result.down, *result.up)
    told += [text for text in (_lolling(vessel, stages),) if text]
    if told:
        return " ".join(told)
    if not all(stage.lie.stable and stage.lie.gm_transverse_m.value > 0.0 for stage in stages):
        return ""
    heels = [stage.lie.heel_deg.value for stage in stages if math.isfinite(stage.lie.heel_deg.value)]
    if not heels:
        return ""
    most = max(heels, key=abs)
    if abs(most) < UPRIGHT_DEG:
        return "She stays upright all the way down and up."
    if abs(most) > OVER_DEG:
        return f"She lies {heel_words(most)} on the way: keel up."
    return f"She leans at most {heel_words(most).replace(' over', '')} on the way and does not go over."


def _lolling(vessel: Vessel, stages: Sequence[Stage]) -> str:
    """Where she leans most for want of a rest upright; nothing where upright holds everywhere."""
    lolling = [stage for stage in stages if math.isfinite(stage.arms.loll_deg)]
    if not lolling:
        return ""
    worst = max(lolling, key=lambda stage: abs(stage.arms.loll_deg))
    when = _moment(vessel, worst.way, worst.lie.fills)
    if all(abs(stage.arms.loll_deg) > OVER_DEG for stage in lolling):
        return f"She does not stay upright: {when} she lies keel up, {heel_words(worst.arms.loll_deg)}."
    return f"She does not stay upright: most of all {when}, lolling {heel_words(worst.arms.loll_deg)}."


def _in_the_end(vessel: Vessel, result: StabilityResult) -> str:
    """How she ends her way down."""
    stage = result.down[-1]
    lie, units = stage.lie, vessel.units
    filled = fills_words(vessel, lie.fills)
    start = filled[0].upper() + filled[1:] if filled.startswith("all") else f"With {filled}"
    lift = with_unit(abs(lie.lift_kg.value), "mass", units)
    if lie.condition == "sinks":
        return f"{start}, she sinks: {lift} heavier than all the water she can displace."
    if lie.condition == "hangs":
        return f"{start}, she is wholly under with {lift} of lift."
    above = lie.freeboard_m.value
    if above > 0.0:
        shown = with_unit(above, "length", units)
        return f"{start}, she does not go under: {shown} of her hull stay out of the water, lift {lift}."
    return f"{start}, only what stands over her hull breaks the surface, lift {lift}."
