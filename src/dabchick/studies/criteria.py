"""`criteria`: is she stable enough, by the builder's own limits, and how sure is that."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy.special import ndtr

from dabchick.model.vessel import Vessel
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.hold import LOLL_DEG, upright_gm_m
from dabchick.studies.lay import SPREAD_METHOD
from dabchick.studies.limits import UNITS, Key, Limits, Unit, usual_limits
from dabchick.studies.loading import load
from dabchick.studies.result import Figure, StudyResult
from dabchick.studies.stability_result import Arms, DiveEvent, LeastMoment, StabilityResult, Stage, Way

Mark = Literal["pass", "doubtful", "fail"]
SURE: Final = 0.95
"""A limit kept with less than this chance is doubtful; common practice, no source."""
GOES_OVER: Final = ("fold", "fork", "jump")
HALF_WAY_ROUND_DEG: Final = 180.0


@dataclass(frozen=True)
class Criterion:
    """One limit and what she has of it."""

    key: Key
    unit: Unit
    """Of value, spread, limit and margin."""
    value: float
    """The worst on the whole way; NaN where it cannot be told."""
    spread: float
    """One standard deviation."""
    limit: float
    margin: float
    """Above zero where the limit is kept."""
    chance: float
    """That it is kept, 0 to 1, by the normal law; for range and arm: that the CG does not stand too high for it."""
    mark: Mark
    """`fail` where the value misses the limit; `doubtful` where it keeps it with a chance under 95 %."""
    way: Way | None
    """Where on the way the worst is; None where that is nowhere in particular."""
    progress: float
    fills: dict[str, float]
    source: str
    """Why this limit."""


@dataclass(frozen=True, kw_only=True)
class Verdict(StudyResult):
    """All criteria, and the gravest mark of them."""

    mark: Mark
    kept: bool
    """No limit is missed."""
    criteria: tuple[Criterion, ...]
    turns_over: bool
    """Somewhere on the way upright is no rest any more, or she goes over into another."""

    def of(self, key: Key) -> Criterion:
        """One criterion."""
        return next(entry for entry in self.criteria if entry.key == key)


@dataclass(frozen=True)
class Moment:
    """A figure at one moment of the way."""

    figure: Figure
    way: Way
    progress: float
    fills: dict[str, float]


def chance_kept(margin: float, spread: float) -> float:
    """Chance that a figure this far inside its limit keeps it: the normal law; 1, 0 or 1/2 without a spread."""
    if math.isnan(margin) or math.isnan(spread):
        return math.nan
    if spread <= 0.0:
        return 1.0 if margin >= 0.0 else 0.0
    return float(ndtr(margin / spread))


def judge(vessel: Vessel, result: StabilityResult, limits: Limits | None = None) -> Verdict:
    """Judge the way down and up by these limits, the usual ones for her size without any."""
    limits = limits or usual_limits(vessel)
    stages = (*result.down, *result.up)
    every = [gm_of(vessel, stage) for stage in stages]
    least = _least(vessel, result.least, every)
    full = result.down[-1]
    dived = Moment(full.under.bg_m, "down", full.progress, full.under.fills)
    lengthwise = [_moment(stage, stage.lie.gm_longitudinal_m) for stage in stages]
    bad = tuple(event for event in result.events if event.kind in GOES_OVER)
    lolled = [moment for stage, moment in zip(stages, every, strict=True) if _lolls(stage, moment)]
    criteria = (
        _criterion("gm_every", _worst(every), limits),
        _criterion("gm_least", least, limits),
        _criterion("bg", dived, limits),
        _range(stages, limits),
        _arm(stages, limits),
        _criterion("gm_longitudinal", _worst(lengthwise), limits),
        _steady(bad, lolled, limits),
    )
    marks = {entry.mark for entry in criteria}
    order: tuple[Mark, ...] = ("fail", "doubtful", "pass")
    return Verdict(
        boat=vessel.name,
        method=(
            "each figure's worst on the way down and up against its limit; chances by the normal law from the "
            f"spreads; {SPREAD_METHOD}"
        ),
        sources=result.sources,
        validity=result.validity,
        assumptions=assumptions(
            vessel,
            "the spread of GM and of the righting arms counts the height of the weights only",
            "the limits are the builder's own or usual ones; rules for surface ships do not hold for models",
        ),
        warnings=warnings(vessel),
        mark=next(mark for mark in order if mark in marks),
        kept="fail" not in marks,
        criteria=criteria,
        turns_over=bool(bad or lolled) or least.figure.value <= 0.0,
    )


def _moment(stage: Stage, figure: Figure) -> Moment:
    return Moment(figure, stage.way, stage.progress, stage.lie.fills)


def gm_of(vessel: Vessel, stage: Stage) -> Moment:
    """GM as she lies; where she lolls or has gone over, that of the upright rest she has lost."""
    figure = stage.lie.gm_transverse_m
    if abs(stage.lie.heel_deg.value) > LOLL_DEG:
        upright = upright_gm_m(load(vessel, stage.lie.fills), hanging=stage.lie.condition != "floats")
        figure = Figure(min(upright, figure.value), figure.spread)
    return _moment(stage, figure)


def _lolls(stage: Stage, moment: Moment) -> bool:
    over = not moment.figure.value > 0.0
    return math.isfinite(stage.arms.loll_deg) or (abs(stage.lie.heel_deg.value) > LOLL_DEG and over)


def _worst(moments: Sequence[Moment]) -> Moment:
    return min(moments, key=lambda entry: -math.inf if math.isnan(entry.figure.value) else entry.figure.value)


def _least(vessel: Vessel, least: LeastMoment, every: Sequence[Moment]) -> Moment:
    refined = Moment(least.lie.gm_transverse_m, least.way, least.progress, least.fills)
    if abs(least.lie.heel_deg.value) > LOLL_DEG:
        return _worst(every)
    return _worst([refined, *every])


def _criterion(key: Key, moment: Moment, limits: Limits, chance: float | None = None) -> Criterion:
    limit = limits.of(key)
    value, spread = moment.figure.value, moment.figure.spread
    margin = value - limit.value
    kept = chance_kept(margin, spread) if chance is None else chance
    return Criterion(
        key=key,
        unit=UNITS[key],
        value=value,
        spread=spread,
        limit=limit.value,
        margin=margin,
        chance=kept,
        mark=_mark(margin, kept),
        way=moment.way,
        progress=moment.progress,
        fills=moment.fills,
        source=limit.source,
    )


def _mark(margin: float, chance: float) -> Mark:
    if not margin >= 0.0:
        return "fail"
    return "pass" if math.isnan(chance) or chance >= SURE else "doubtful"


def _cg_spread(stage: Stage) -> float:
    """Spread of the height of her weight [m], which turns the righting arm at every heel by its sine."""
    return stage.lie.gm_transverse_m.spread


def _range(stages: Sequence[Stage], limits: Limits) -> Criterion:
    def least_of(stage: Stage) -> float:
        return min(stage.arms.range_starboard_deg, stage.arms.range_port_deg)

    least = min(least_of(stage) for stage in stages)
    # Of equal ones the least sure.
    worst = min(
        (stage for stage in stages if least_of(stage) <= least + 1e-9),
        key=lambda stage: _range_chance(stage.arms, _cg_spread(stage), limits.range.value),
    )
    cg = _cg_spread(worst)
    high, low = (range_with_cg(worst.arms, sign * cg) for sign in (-1.0, 1.0))
    spread = 0.5 * abs(high - low)
    chance = _range_chance(worst.arms, cg, limits.range.value)
    if least < limits.range.value:
        chance = min(chance, 0.5)
    return _criterion("range", _moment(worst, Figure(least, spread)), limits, chance)


def range_with_cg(arms: Arms, raised_m: float) -> float:
    """Range [deg] of the weaker side measured on the curve from upright, with the weight this much higher.

    The arm falls by raised x sin(heel) at every heel; up to the first heel at which nothing is left, 180 for none.
    """
    found = []
    for heels, held in _sides(arms):
        left = held - raised_m * np.sin(np.radians(heels))
        lost = np.flatnonzero((heels > 0.0) & (heels < HALF_WAY_ROUND_DEG) & (left <= 0.0))
        if not lost.size:
            found.append(HALF_WAY_ROUND_DEG)
            continue
        at = int(lost[0])
        if at == 0 or left[at - 1] <= 0.0:
            found.append(0.0)
            continue
        share = left[at - 1] / (left[at - 1] - left[at])
        found.append(float(heels[at - 1] + share * (heels[at] - heels[at - 1])))
    return min(found)


def _sides(arms: Arms) -> list[tuple[np.ndarray, np.ndarray]]:
    """Heels from 0 up with the arm that turns her back, to starboard and to port."""
    heels, held = np.array(arms.heels_deg), np.array(arms.arms_m)
    starboard, port = heels >= 0.0, heels <= 0.0
    return [(heels[starboard], held[starboard]), (-heels[port][::-1], -held[port][::-1])]


def _range_chance(arms: Arms, cg_spread: float, limit_deg: float) -> float:
    """Chance that no arm up to the limit is lost, the height of her weight alone being unsure."""
    room = math.inf
    for heels, held in _sides(arms):
        inside = (heels > 0.0) & (heels <= limit_deg) & (heels < HALF_WAY_ROUND_DEG)
        if np.any(inside):
            room = min(room, float(np.min(held[inside] / np.sin(np.radians(heels[inside])))))
    return 1.0 if math.isinf(room) else chance_kept(room, cg_spread)


def _arm(stages: Sequence[Stage], limits: Limits) -> Criterion:
    worst = min(stages, key=lambda stage: stage.arms.greatest_m)
    turn = abs(math.sin(math.radians(worst.arms.greatest_at_deg)))
    return _criterion("arm", _moment(worst, Figure(worst.arms.greatest_m, _cg_spread(worst) * turn)), limits)


def _steady(bad: Sequence[DiveEvent], lolled: Sequence[Moment], limits: Limits) -> Criterion:
    limit = limits.steady
    # Without an event that was found and named, a loll says that she has passed one.
    count = float(len(bad)) if bad else float(bool(lolled))
    first: DiveEvent | Moment | None = bad[0] if bad else (lolled[0] if lolled else None)
    kept = count <= limit.value
    return Criterion(
        key="steady",
        unit="count",
        value=count,
        spread=0.0,
        limit=limit.value,
        margin=limit.value - count,
        chance=1.0 if kept else 0.0,
        mark="pass" if kept else "fail",
        way=first.way if first else None,
        progress=first.progress if first else math.nan,
        fills=dict(first.fills) if first else {},
        source=limit.source,
    )
