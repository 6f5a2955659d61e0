"""All curves of rests over a way of filling, stable or not, and whether any is missing.

From all rests at both ends of a leg every curve is followed both ways, round folds and through forks, with every
curve that parts from it. At each stage the rests found are counted: by Morse's theorem minima - saddles + maxima = 2.
Where the count fails, and for pairs that are born and end between the ends, the stages are searched from many starts.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from dabchick.physics.balance import Array
from dabchick.physics.cut import lowest
from dabchick.physics.equilibrium import SinksError, all_equilibria, spread_directions
from dabchick.physics.filling import legs
from dabchick.physics.settle import AT_REST, settle_into
from dabchick.physics.track import FIRST, LONGEST, Point, Step, Track

_SAME = 1e-5
_HANDLED = 1e-3
"""Forks nearer to one another than this are one."""
_PARTS = (1e-3, 3e-3, 1e-2, 3e-4)
_MOST_POINTS = 4000
_MOST_CURVES = 400
_STARTS = 32
_DOWN = np.array([0.0, 0.0, 0.0, -1.0, 0.0])


@dataclass(eq=False)
class Curve:
    """Rests in the order the curve runs."""

    points: list[Point]


@dataclass(eq=False)
class Branches:
    """All curves over all legs, and the count."""

    curves: list[Curve] = field(default_factory=list)
    rests: list[list[Point]] = field(default_factory=list)
    """At each stage."""
    complete: list[bool] = field(default_factory=list)
    """At each stage: Morse's count closes and no rest is neutral."""


def branches(track: Track, stages: Sequence[float], tell: Callable[[float], None] | None = None) -> Branches:
    """Every curve of rests that is found over the whole way; `stages` rise from the first to the last progress."""
    found = Branches()
    parts = legs(track.filling)
    for index, leg in enumerate(parts):
        part = Track(track.balance, leg)
        inner = [float(stage) for stage in stages if part.first < stage < part.last]
        search = _Search(part, [part.first, *inner, part.last])
        search.run(tell, index / len(parts), 1.0 / len(parts))
        found.curves += search.curves
        for stage in stages:
            belongs = part.first < stage <= part.last or (index == 0 and stage == part.first)
            if belongs:
                rests = search.known[float(stage)]
                found.rests.append(rests)
                found.complete.append(search.closes(rests))
    return found


class _Search:
    """All curves over one leg."""

    def __init__(self, track: Track, stages: list[float]) -> None:
        self.track = track
        self.stages = stages
        self.known: dict[float, list[Point]] = {stage: [] for stage in stages}
        self.curves: list[Curve] = []
        self.forks: list[Point] = []
        self.waiting: list[tuple[Point, Array]] = []

    def run(self, tell: Callable[[float], None] | None, begin: float, span: float) -> None:
        order = [self.stages[0], self.stages[-1], *self.stages[1:-1]]
        for number, stage in enumerate(order):
            if tell is not None:
                tell(begin + span * number / len(order))
            if number < 2:
                self._search(stage)
            else:
                self._lows(stage, number)
                if not self.closes(self.known[stage]):
                    self._search(stage)

    @staticmethod
    def closes(rests: list[Point]) -> bool:
        return sum((-1) ** rest.falling for rest in rests) == 2 and not any(rest.neutral for rest in rests)

    def _floats(self, stage: float) -> bool:
        balance = self.track.balance_at(stage, self.track.balance.middle, hanging=False)
        water = float(np.sum(np.where(balance.tank_air > 0.0, 0.0, balance.tank_volume)))
        return balance.mass + balance.density * water < balance.density * balance.buoyant_volume

    def _search(self, stage: float) -> None:
        """All rests at a stage from many starts, each new one followed."""
        normal = np.array([0.0, 0.0, 1.0])
        hanging = not self._floats(stage)
        try:
            every = all_equilibria(
                self.track.balance_at(stage, normal, hanging=hanging), hanging=hanging, starts=60
            )
        except SinksError:
            return
        for rest in every.found:
            self._start(rest.normal, 0.0 if hanging else rest.offset_m, stage, hanging)

    def _lows(self, stage: float, turn: int) -> None:
        """The lowest rests at a stage from a few starts, so that a pair born since the last stage is not missed."""
        if not self._floats(stage):
            return
        for direction in spread_directions(_STARTS):
            normal = np.roll(direction, turn)
            offset, state = settle_into(
                self.track.balance_at(stage, normal), normal, 0.0, False, False, False
            )
            if state == AT_REST:
                self._start(normal, offset, stage, False)

    def _start(self, normal: Array, offset: float, stage: float, hanging: bool) -> None:
        found = self.track.at(normal, offset, stage, hanging=hanging)
        if found is None or found.neutral or np.linalg.norm(found.normal - normal) > 0.02:
            if found is not None and found.neutral and not self._seen(found, stage):
                self.known[stage].append(found)
            return
        if self._seen(found, stage):
            return
        self.known[stage].append(found)
        self._trace_both(found, found.tangent)
        while self.waiting and len(self.curves) < _MOST_CURVES:
            self._trace_both(*self.waiting.pop())

    def _seen(self, point: Point, stage: float) -> bool:
        return any(
            other.hanging == point.hanging and np.linalg.norm(other.state - point.state) < _SAME
            for other in self.known[stage]
        )

    def _trace_both(self, start: Point, way: Array) -> None:
        on, closed = self._trace(start, way)
        back = [] if closed else self._trace(start, -way)[0]
        points = [*back[::-1], start, *on]
        if len(points) > 2:
            self.curves.append(Curve(points))

    def _trace(self, start: Point, way: Array) -> tuple[list[Point], bool]:
        """Points after `start` along a way, up to an end of the leg, a curve known already, or round to the start."""
        points: list[Point] = []
        here, size, fresh = start, FIRST, start.hanging or start.waterplane > 0.0
        while len(points) < _MOST_POINTS:
            step = self.track.advance(here, way, size)
            if step is None:
                return points, False
            found = step.point
            stops = self._pass_stages(here, found, points)
            points.append(found)
            if step.change in ("fork", "meet"):
                self._at_fork(step, way)
            if stops or found.progress in (self.track.first, self.track.last):
                return points, False
            if len(points) > 5 and np.linalg.norm(found.state - start.state) < 0.6 * step.size:
                return points, True
            onward = self.track.onward(found, way)
            size = min(LONGEST, 1.6 * step.size) if step.change is None else FIRST
            if not found.hanging and found.waterplane > 0.0:
                fresh = True
            if not found.hanging and found.waterplane <= 0.0 and fresh:
                below = self.track.at(found.normal, 0.0, found.progress, hanging=True)
                if below is None or below.apart(found) > 0.1:
                    return points, False
                points.append(below)
                found, onward, size = below, self._deeper(below), FIRST
            elif found.hanging and self.track.lift(found) > 0.0:
                out = self._top(found)
                if out is None:
                    return points, False
                points[-1] = out
                found, onward, size, fresh = out, self.track.onward(out, _DOWN), 1e-4, False
            here, way = found, onward
        return points, False

    def _deeper(self, point: Point) -> Array:
        """The sense of a hanging curve in which she gets heavier."""
        tangent = point.tangent
        step = 1e-6 if point.progress + 1e-6 < self.track.last else -1e-6
        other = self.track.on(point.state, point.progress + step, hanging=True)
        grows = other is not None and (other.mass - point.mass) * step >= 0.0
        return np.asarray(tangent if (tangent[4] >= 0.0) == grows else -tangent)

    def _top(self, point: Point) -> Point | None:
        """The rest with her highest point just at the surface."""
        n, balance = point.normal, self.track.balance
        top = -lowest(balance.forest, 0, balance.last_displacer, -n[0], -n[1], -n[2])
        state = point.state.copy()
        state[3] = (top + 1e-9 * balance.radius) / balance.radius
        rest = Point(state, point.numbers, hanging=False)
        return self.track.along(rest, -_DOWN, 0.0)

    def _pass_stages(self, here: Point, found: Point, points: list[Point]) -> bool:
        """Note the rests at the stages between two points; True where one of them is known already."""
        low, high = sorted((here.progress, found.progress))
        span = found.progress - here.progress
        for stage in self.stages if span > 0.0 else self.stages[::-1]:
            if not low <= stage <= high or stage == here.progress or found.hanging != here.hanging:
                continue
            at = found if stage == found.progress else self.track.between(here, found, stage)
            if at is None:
                continue
            if self._wrong_medium(at, stage):
                continue
            if self._seen(at, stage):
                points.append(at)
                return True
            self.known[stage].append(at)
        return False

    def _wrong_medium(self, point: Point, stage: float) -> bool:
        """A step may run past the place where she comes out; what hangs there with lift in hand is no rest."""
        return point.hanging and self._floats(stage)

    def _at_fork(self, step: Step, way: Array) -> None:
        """Note the curves that part from a fork, to be followed later."""
        place = step.place
        if place is None or any(np.linalg.norm(other.state - place.state) < _HANDLED for other in self.forks):
            return
        self.forks.append(place)
        if step.change == "meet":
            for beyond in (1e-5, -1e-5, 1e-4, -1e-4):
                found = self.track.on(place.state, place.progress + beyond, hanging=place.hanging)
                if found is not None and found.apart(place) < 0.02:
                    self.waiting.append((found, found.tangent))
                    return
            return
        soft = step.point.softest
        for size in _PARTS:
            found = self.track.along(place, soft, size)
            if found is not None and np.linalg.norm(found.state - place.state) < 3.0 * size:
                self.waiting.append((found, found.tangent))
                return
