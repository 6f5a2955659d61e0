"""The dive as pictures that follow one another: how she lies at many moments down and up, and her tank water."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.equilibrium import UPRIGHT, Equilibrium, NotSettledError, SinksError, find, up_vector
from dabchick.studies.dive_path import DivePath
from dabchick.studies.loading import load, under_offset_m
from dabchick.studies.stability_result import StabilityResult, Way
from dabchick.studies.tank_water import TankWater, waters_at

Array = NDArray[np.float64]
Tell = Callable[[str, float], None]
Known = tuple[float, Array]
"""A progress and an attitude that the study found there."""

FRAMES: Final = 101
"""Each way; every twentieth part of the way is one of them, as the study's own stages usually are."""
LEAST_FRAMES: Final = 2
MOST_FRAMES: Final = 1001
TURN_DEG: Final = 2.0
"""A turn between two frames that is larger is looked into: does she glide, or go over?"""
NARROW: Final = 1e-6
"""Of the way: a turn that is left within so little is no gliding any more."""
SAME: Final = 1e-7
"""Chord between two attitudes that are drawn as one."""


@dataclass(frozen=True, eq=False)
class Frame:
    """One picture of the dive."""

    way: Way
    progress: float
    """Along the path, 0 to 1."""
    fills: dict[str, float]
    normal: Vector
    """Up, in the house frame."""
    offset_m: float
    """The water surface is where normal . x = offset; NaN when wholly under."""
    went_over: bool
    """She went over into this pose from that of the frame before, at one and the same fill."""
    waters: tuple[TankWater, ...]

    @property
    def under(self) -> bool:
        """Nothing of her breaks the surface: with these fills she sinks."""
        return math.isnan(self.offset_m)


@dataclass(frozen=True, eq=False)
class DiveFrames:
    """The way down and up, in the order she passes them."""

    down: tuple[Frame, ...]
    up: tuple[Frame, ...]


@dataclass(frozen=True, eq=False)
class _Rest:
    progress: float
    found: Equilibrium
    went_over: bool = False


def run(
    vessel: Vessel,
    path: DivePath,
    *,
    frames: int = FRAMES,
    study: StabilityResult | None = None,
    tell: Tell | None = None,
) -> DiveFrames:
    """Frames evenly along the path, each way, from upright at its beginning and on from where she lay.

    With the `study` of the same path she passes through the attitudes that it found. Where she goes over, two frames
    are put in at that fill: before and after. Raises BoatError where she comes to no rest, and ValueError on a count
    of frames that is none.
    """
    if not LEAST_FRAMES <= frames <= MOST_FRAMES:
        raise ValueError(f"There are to be {frames} frames. Give {LEAST_FRAMES} to {MOST_FRAMES}.")
    say = tell or (lambda text, share: None)
    moments = np.linspace(0.0, 1.0, frames)
    try:
        down = _follow(
            vessel, path, moments, UPRIGHT, _known(study, "down"), lambda s: say("Going down", 0.4 * s)
        )
        last = np.array(down[-1].found.normal)
        up = _follow(
            vessel,
            path,
            moments[::-1],
            last,
            _known(study, "up"),
            lambda s: say("Coming up", 0.4 + 0.4 * s),
        )
    except NotSettledError as fault:
        raise BoatError(
            Advice(
                what="Somewhere on the way she comes to no rest, so her dive cannot be shown.",
                todo="Put the part that was moved last elsewhere, or fill the tanks another way.",
                given=str(fault),
            )
        ) from fault
    rests = [*(("down", rest) for rest in down), *(("up", rest) for rest in up)]
    drawn: list[Frame] = []
    seen: dict[float, Frame] = {}
    for count, (way, rest) in enumerate(rests):
        say("Drawing the tank water", 0.8 + 0.2 * count / len(rests))
        frame = _frame(vessel, path, "down" if way == "down" else "up", rest, seen.get(rest.progress))
        seen[rest.progress] = frame
        drawn.append(frame)
    return DiveFrames(tuple(drawn[: len(down)]), tuple(drawn[len(down) :]))


def _known(study: StabilityResult | None, way: Way) -> list[Known]:
    """The attitudes that the study found on this way, in the order she passes them."""
    if study is None:
        return []
    stages = study.down if way == "down" else study.up
    known = [(stage.progress, np.array(stage.lie.normal)) for stage in stages]
    known += [
        (event.progress, up_vector(event.after.heel_deg, event.after.trim_deg))
        for event in study.events
        if event.kind == "jump" and event.way == way
    ]
    return sorted(known, key=lambda entry: entry[0] if way == "down" else -entry[0])


def _follow(
    vessel: Vessel,
    path: DivePath,
    moments: Array,
    start: Array,
    known: Sequence[Known],
    tell: Callable[[float], None],
) -> list[_Rest]:
    ahead = 1.0 if moments[-1] > moments[0] else -1.0
    coming = list(known)
    rests: list[_Rest] = []
    normal = start
    for index, progress in enumerate(moments):
        tell(index / len(moments))
        while coming and ahead * coming[0][0] <= ahead * progress + NARROW:
            normal = coming.pop(0)[1]
        here = _Rest(float(progress), _rest(vessel, path, float(progress), normal))
        if rests and _turn_deg(rests[-1].found.normal, here.found.normal) > TURN_DEG:
            edge = _gone_over(vessel, path, rests[-1], here)
            rests += edge
        rests.append(here)
        normal = here.found.normal
    return rests


def _gone_over(vessel: Vessel, path: DivePath, before: _Rest, after: _Rest) -> list[_Rest]:
    """The poses on both sides of where she goes over between two rests; none where she glides from one to the other."""
    low, high = before, after
    while abs(high.progress - low.progress) > NARROW:
        if _turn_deg(low.found.normal, high.found.normal) <= TURN_DEG:
            return []
        middle = 0.5 * (low.progress + high.progress)
        rest = _Rest(middle, _rest(vessel, path, middle, low.found.normal))
        back = _turn_deg(low.found.normal, rest.found.normal)
        on = _turn_deg(rest.found.normal, high.found.normal)
        if back <= on:
            low = rest
        else:
            high = rest
    return [low, replace(high, went_over=True)]


def _rest(vessel: Vessel, path: DivePath, progress: float, start: Array) -> Equilibrium:
    """Let go from an attitude: afloat, or wholly under where she sinks."""
    loading = load(vessel, path.fills_at(progress))
    depth = under_offset_m(loading)
    try:
        return find(loading.balance, start, depth_m=depth)
    except SinksError:
        return find(loading.balance, start, hanging=True, depth_m=depth)


def _frame(vessel: Vessel, path: DivePath, way: Way, rest: _Rest, same: Frame | None) -> Frame:
    normal = rest.found.normal
    fills = path.fills_at(rest.progress)
    if same is not None and math.dist(same.normal, normal) < SAME:
        waters = same.waters  # the way up is often the way down again
    else:
        waters = waters_at(vessel, load(vessel, fills), normal, rest.found.offset_m)
    return Frame(
        way=way,
        progress=rest.progress,
        fills=fills,
        normal=(float(normal[0]), float(normal[1]), float(normal[2])),
        offset_m=rest.found.offset_m,
        went_over=rest.went_over,
        waters=waters,
    )


def _turn_deg(one: Array, other: Array) -> float:
    return math.degrees(2.0 * math.asin(min(1.0, 0.5 * float(np.linalg.norm(one - other)))))
