"""The rest she lies in, followed over a way of filling, with everything that happens to it.

She stays in her rest as long as it holds. Where it ends (a fold), or loses its hold with no other one parting from it
(a fork to the unstable side), she goes downhill from there into another. Where others part from it she goes with the
one to starboard; an exactly upright boat could as well go to port.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from dabchick.physics.balance import Array
from dabchick.physics.downhill import run_down
from dabchick.physics.settle import tangents
from dabchick.physics.track import FIRST, LONGEST, Point, Step, Track

Kind = Literal["fold", "fork", "jump", "under", "out"]

_PAST = 1e-7
"""In progress: how far past the end of a rest she is let go."""
_NUDGE = 1e-4
_MOVED = 0.01
"""Radians beyond which it is told as a jump that she comes to rest elsewhere."""
_PARTS = (1e-3, 3e-3, 1e-2, 3e-4, 3e-2)
"""Radians along the soft way at which a curve that parts is looked for."""
_MOST_POINTS = 20000


class LostError(ArithmeticError):
    """She could not be followed; the message says where."""


@dataclass(frozen=True, eq=False)
class Happening:
    """One event on the way; `after` is `before` where she does not move."""

    kind: Kind
    before: Point
    after: Point


@dataclass(eq=False)
class Passage:
    """One way, in the order she goes it."""

    stages: list[Point] = field(default_factory=list)
    points: list[Point] = field(default_factory=list)
    """Every rest she was followed through, the stages among them."""
    happenings: list[Happening] = field(default_factory=list)

    @property
    def neutral(self) -> bool:
        return any(point.neutral for point in self.stages)


def begin(track: Track, normal: Array, progress: float = 0.0) -> Point:
    """The rest that she comes to from an attitude (3,) when let go at a progress; wholly under where she sinks."""
    offset = float(track.balance.middle @ normal)
    return _let_go(track, normal, offset, progress, hanging=False)


def _let_go(track: Track, normal: Array, offset: float, progress: float, *, hanging: bool) -> Point:
    """Downhill from a pose at a fixed progress."""
    for under in (False, True):
        if hanging and not under:
            continue
        balance = track.balance_at(progress, normal, hanging=under)
        rest = run_down(balance, normal, offset, hanging=under)
        if rest is None:
            continue
        found = track.at(rest[0], rest[1], progress, hanging=under)
        if found is not None and float(np.linalg.norm(found.normal - rest[0])) < 1e-3:
            return found
        if found is None or not found.stable:
            raise LostError(f"No firm rest was found downhill at progress {progress:.6f}.")
        return found
    raise LostError(f"No rest was found downhill at progress {progress:.6f}.")


def follow(track: Track, start: Point, stages: Sequence[float]) -> Passage:
    """Follow the stable rest `start` through `stages`, progress rising or falling from its own.

    Raises LostError where she can be followed no further.
    """
    going = _Going(track, start, [float(stage) for stage in stages])
    going.run()
    return going.passage


class _Going:
    def __init__(self, track: Track, start: Point, stages: list[float]) -> None:
        self.track = track
        self.passage = Passage(points=[start])
        self.stages = stages
        self.sense = 1.0 if stages[-1] >= stages[0] else -1.0
        self.here = start
        self.size = FIRST
        self.floor = 0.0

    def run(self) -> None:
        if self.stages and self.stages[0] == self.here.progress:
            self.passage.stages.append(self.here)
        while len(self.passage.stages) < len(self.stages):
            if len(self.passage.points) > _MOST_POINTS:
                raise LostError(f"She cannot be followed past progress {self.here.progress:.6f}.")
            self._go()

    def _go(self) -> None:
        way = self._way(self.here)
        step = self.track.advance(self.here, way, self.size, floor=self.floor)
        self.floor = 0.0
        if step is None:
            self._leave(self.here, "fold")
        elif step.change is not None:
            self._meet(step, way)
        elif not self.here.hanging and step.point.waterplane <= 0.0:
            self._go_under(step.point)
        elif self.here.hanging and self.track.lift(step.point) > 0.0:
            self._come_out(step.point)
        else:
            self._pass(step.point)
            self.size = min(LONGEST, 1.6 * step.size)

    def _way(self, point: Point) -> Array:
        tangent = point.tangent
        return np.asarray(tangent if tangent[4] * self.sense >= 0.0 else -tangent)

    def _pass(self, point: Point) -> None:
        """Take a point of the same rest, and the stages before it."""
        before = self.here
        span = point.progress - before.progress
        for stage in self._due(point.progress):
            share = (stage - before.progress) / span if span else 1.0
            guess = before.state + share * (point.state - before.state)
            at = point if stage == point.progress else self.track.on(guess, stage, hanging=point.hanging)
            if at is None or np.linalg.norm(at.state - guess) > 0.5 * LONGEST:
                raise LostError(f"The rest at progress {stage:.6f} slipped between two near it.")
            self._note(at)
            self.passage.stages.append(at)
        self._note(point)
        self.here = point

    def _due(self, progress: float) -> list[float]:
        waiting = self.stages[len(self.passage.stages) :]
        return [stage for stage in waiting if (progress - stage) * self.sense >= 0.0]

    def _note(self, point: Point) -> None:
        if self.passage.points[-1] is not point:
            self.passage.points.append(point)

    def _happens(self, kind: Kind, before: Point, after: Point | None = None) -> None:
        self.passage.happenings.append(Happening(kind, before, after or before))

    def _meet(self, step: Step, way: Array) -> None:
        """A place of change: at a fold she goes; at a fork she takes what parts from it, if it holds."""
        place = step.place or self.here
        self._pass(place)
        if step.change == "fold":
            self._leave(place, "fold")
            return
        if step.change == "meet":
            onward = self._through(place)
        else:
            onward = self._parting(place, step.point)
        if onward is None:
            self._leave(place, "fork", step.point)
            return
        self._happens("fork", place)
        self._pass(onward)
        self.size = FIRST

    def _through(self, place: Point) -> Point | None:
        """The rest that runs through a place where the one followed turns back."""
        for beyond in (1e-6, 1e-5, 1e-4):
            progress = place.progress + self.sense * beyond
            if not 0.0 <= progress <= 1.0:
                return place
            found = self.track.on(place.state, progress, hanging=place.hanging)
            if found is not None and found.stable and found.apart(place) < 0.02:
                return found
        return None

    def _parting(self, place: Point, past: Point) -> Point | None:
        """A firm rest that parts from a place where hold is lost, with progress going on."""
        soft = self._to_starboard(past)
        for size in _PARTS:
            for way in (soft, -soft):
                found = self.track.along(place, way, size)
                if found is None or not found.stable or not 0.0 <= found.progress <= 1.0:
                    continue
                ahead = (found.progress - place.progress) * self.sense
                if ahead > 0.0 and ahead < 0.2 and np.linalg.norm(found.state - place.state) < 3.0 * size + ahead:
                    return found
        return None

    @staticmethod
    def _to_starboard(point: Point) -> Array:
        """The softest way, in the sense that heels her to starboard, or else lifts her bow."""
        soft = point.softest
        pitch, roll = tangents(point.normal)
        heel, trim = float(soft[:3] @ roll), float(soft[:3] @ pitch)
        side = heel if abs(heel) > 0.1 * abs(trim) else trim
        return np.asarray(soft if side >= 0.0 else -soft)

    def _leave(self, place: Point, kind: Kind, past: Point | None = None) -> None:
        """Let go just past the end of a rest."""
        progress = min(1.0, max(0.0, place.progress + self.sense * _PAST))
        pose = place.state.copy()
        if kind == "fork" or place.neutral:
            pose += _NUDGE * self._to_starboard(past or place)
        if kind == "fold" and place.falling == 0 and self._goes_on(place, progress):
            return
        self._happens(kind, place)
        after = _let_go(
            self.track, pose[:3] / np.linalg.norm(pose[:3]), float(pose[3]) * self.track.balance.radius,
            progress, hanging=place.hanging,
        )  # fmt: skip
        if after.hanging and not place.hanging:
            self._happens("under", place, after)
        if after.apart(place) > _MOVED or not after.hanging == place.hanging:
            self._happens("jump", place, after)
        self._take_up(after)

    def _goes_on(self, place: Point, progress: float) -> bool:
        """True where the step only failed: the rest is still there just beyond, firm and at hand."""
        found = self.track.on(place.state, progress, hanging=place.hanging)
        if found is None or not found.stable or found.apart(place) > 1e-4 or progress == place.progress:
            return False
        self._pass(found)
        self.size = 1e-5
        return True

    def _take_up(self, after: Point) -> None:
        """Go on from another rest; stages that lie before it in rounding only are taken there."""
        for stage in self._due(after.progress):
            at = self.track.on(after.state, stage, hanging=after.hanging) or after
            self.passage.stages.append(at)
        self._note(after)
        self.here = after
        self.size = 1e-3

    def _go_under(self, found: Point) -> None:
        """Nothing breaks the surface any more: on wholly under, in the attitude at hand if it holds."""
        progress = min(1.0, max(0.0, found.progress))
        edge = self.track.at(self.here.normal, 0.0, progress, hanging=True)
        if edge is not None and edge.stable and edge.apart(self.here) < 0.05:
            self._happens("under", self.here, edge)
            self._take_up(edge)
            return
        turned = self.here.normal + _NUDGE * self._to_starboard(edge or self.here)[:3]
        after = _let_go(self.track, turned / np.linalg.norm(turned), self.track.filling.under_offset, progress, hanging=True)
        self._happens("under", self.here)
        if after.apart(self.here) > _MOVED:
            self._happens("jump", self.here, after)
        self._take_up(after)

    def _come_out(self, found: Point) -> None:
        """Something comes out of the water: the place where the lift passes zero, and the rest just beyond it."""
        low, high = self.here.progress, found.progress
        edge = self.here
        for _ in range(60):
            middle = 0.5 * (low + high)
            at = self.track.on(edge.state, middle, hanging=True)
            if at is None or middle in (low, high):
                break
            if self.track.lift(at) > 0.0:
                high = middle
            else:
                low, edge = middle, at
        self._pass(edge)
        progress = min(1.0, max(0.0, high + self.sense * 1e-6))
        offset = self.track.filling.under_offset
        after = _let_go(self.track, edge.normal, offset, progress, hanging=False)
        self._happens("out", edge, after)
        if after.apart(edge) > _MOVED:
            self._happens("jump", edge, after)
        self._take_up(after)


def least_gm(track: Track, points: Sequence[Point]) -> Point:
    """The point of least GM in heel, refined between neighbours of the same rest."""
    order = sorted(range(len(points)), key=lambda index: points[index].gm)[:4]
    best = points[order[0]]
    golden = 0.5 * (3.0 - 5.0**0.5)
    for index in order:
        for other in (index - 1, index + 1):
            if not 0 <= other < len(points):
                continue
            low, high = points[index], points[other]
            if low.hanging != high.hanging or low.apart(high) > 0.2:
                continue
            a, b = low.progress, high.progress
            for _ in range(40):
                if abs(b - a) < 1e-9:
                    break
                tried = [_between(track, low, high, a + share * (b - a)) for share in (golden, 1.0 - golden)]
                if tried[0] is None or tried[1] is None:
                    break
                for at in tried:
                    if at is not None and at.gm < best.gm and at.stable:
                        best = at
                if tried[0].gm < tried[1].gm:
                    b = tried[1].progress
                else:
                    a = tried[0].progress
    return best


def _between(track: Track, low: Point, high: Point, progress: float) -> Point | None:
    span = high.progress - low.progress
    share = (progress - low.progress) / span if span else 0.0
    guess = low.state + share * (high.state - low.state)
    found = track.on(guess, progress, hanging=low.hanging)
    if found is None or np.linalg.norm(found.state - guess) > 0.1:
        return None
    return found
