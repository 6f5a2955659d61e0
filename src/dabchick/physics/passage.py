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
from dabchick.physics.cut import lowest
from dabchick.physics.downhill import run_down
from dabchick.physics.filling import legs
from dabchick.physics.settle import tangents
from dabchick.physics.track import FIRST, LONGEST, Point, Step, Track

Kind = Literal["fold", "fork", "jump", "under", "out"]

_PAST = ((1e-7, 1e-4), (1e-6, 1e-3), (1e-5, 3e-3), (1e-4, 1e-2))
"""How far past the end of a rest she is let go, in progress, and how far she is pushed off a ridge [rad]."""
_NUDGE = 1e-4
_MOVED = 1e-3
"""Radians within which it is still the same rest, found again."""
_JUMPED = 0.1
"""Radians: what a tank that opens or shuts moves her by, before it is told as a jump."""
_PARTS = (1e-3, 3e-3, 1e-2, 3e-4, 3e-2)
"""Radians along the soft way at which a curve that parts is looked for."""
_MOST_POINTS = 5000
_MOST_HOLDS = 30


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
    return let_go(track, normal, offset, progress, hanging=False)


def to_starboard(point: Point) -> Array:
    """(5,) the softest way of a point, in the sense that heels her to starboard, or else lifts her bow."""
    soft = point.softest
    pitch, roll = tangents(point.normal)
    heel, trim = float(soft[:3] @ roll), float(soft[:3] @ pitch)
    side = heel if abs(heel) > 0.1 * abs(trim) else trim
    return np.asarray(soft if side >= 0.0 else -soft)


def _rest_below(
    track: Track, normal: Array, offset: float, progress: float, hanging: bool
) -> tuple[Array, float] | None:
    """Downhill, and when wholly under again and again with the air as the attitude found holds it."""
    for _ in range(_MOST_HOLDS):
        rest = run_down(track.balance_at(progress, normal, hanging=hanging), normal, offset, hanging=hanging)
        if rest is None or not hanging or float(np.linalg.norm(rest[0] - normal)) < _MOVED:
            break
        normal = rest[0]
    return rest


def let_go(
    track: Track, normal: Array, offset: float, progress: float, *, hanging: bool, nudge: float = _NUDGE
) -> Point:
    """Downhill from a pose at a fixed progress. Raises LostError."""
    for under in (False, True):
        if hanging and not under:
            continue
        rest = _rest_below(track, normal, offset, progress, under)
        if rest is None:
            continue
        found = track.at(rest[0], rest[1], progress, hanging=under)
        if found is not None and found.stable and under:
            return found
        if under and (found is None or float(np.linalg.norm(found.normal - rest[0])) > 1e-3):
            raise LostError(
                f"Wholly under, she and the air shut in her tanks come to no rest (progress {progress:.6f}): each "
                "turn moves the air, and the air turns her further."
            )
        if found is None or float(np.linalg.norm(found.normal - rest[0])) > 1e-3:
            break
        if found.stable:
            return found
        # on the very ridge: to starboard, or bow up
        turned = found.normal + nudge * to_starboard(found)[:3]
        if nudge > 0.1:
            break
        offset_m = found.state[3] * track.balance.radius
        return let_go(track, turned, offset_m, progress, hanging=under, nudge=10.0 * nudge)
    raise LostError(f"No rest was found downhill at progress {progress:.6f}.")


def follow(track: Track, start: Point, stages: Sequence[float]) -> Passage:
    """Follow the stable rest `start` through `stages`, progress rising or falling from its own.

    The legs of the way are gone one after the other; what a leg's end changes by a step (a tank that opens) moves
    her to the nearest rest downhill. Raises LostError where she can be followed no further.
    """
    wanted = [float(stage) for stage in stages]
    rising = wanted[-1] >= wanted[0]
    parts = [Track(track.balance, leg) for leg in legs(track.filling)]
    passage = Passage(points=[start])
    if wanted[0] == start.progress:
        passage.stages.append(start)
    here = start
    for part in parts if rising else parts[::-1]:
        low, high = (part.first, part.last) if rising else (part.last, part.first)
        sense = 1.0 if rising else -1.0
        if (high - here.progress) * sense <= 0.0 or (low - wanted[-1]) * sense >= 0.0:
            continue
        end = min(high, wanted[-1]) if rising else max(high, wanted[-1])
        going = _Going(part, passage, wanted, end, sense)
        here = going.run(here)
    return passage


class _Going:
    """Along one leg."""

    def __init__(self, track: Track, passage: Passage, stages: list[float], end: float, sense: float) -> None:
        self.track = track
        self.passage = passage
        self.stages = stages
        self.end = end
        self.sense = sense
        self.here = passage.points[-1]
        self.size = FIRST

    def run(self, start: Point) -> Point:
        """From a rest at the beginning of the leg to its end."""
        self._enter(start)
        while (self.end - self.here.progress) * self.sense > 0.0:
            if len(self.passage.points) > _MOST_POINTS:
                raise LostError(f"She cannot be followed past progress {self.here.progress:.6f}.")
            self._go()
        return self.here

    def _enter(self, start: Point) -> None:
        """Her rest as this leg has it: the same one, unless a tank has just opened or shut."""
        found = self.track.on(start.state, start.progress, hanging=start.hanging)
        if found is None or not found.stable or found.apart(start) > _MOVED:
            offset = float(start.state[3]) * self.track.balance.radius
            found = let_go(self.track, start.normal, offset, start.progress, hanging=start.hanging)
            if found.apart(start) > _JUMPED:
                self._happens("jump", start, found)
        self._note(found)
        self.here = found

    def _go(self) -> None:
        way = self._way(self.here)
        step = self.track.advance(self.here, way, self.size)
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
        for stage in self._due(point.progress):
            at = point if stage == point.progress else self.track.between(before, point, stage)
            if at is None:
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
        onward = self._through(place) if step.change == "meet" else self._parting(place, step.point)
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
            if not self.track.first <= progress <= self.track.last:
                return place
            found = self.track.on(place.state, progress, hanging=place.hanging)
            if found is not None and found.stable and found.apart(place) < 0.02:
                return found
        return None

    def _within(self, point: Point) -> bool:
        return self.track.first <= point.progress <= self.track.last

    def _parting(self, place: Point, past: Point) -> Point | None:
        """A firm rest that parts from a place where hold is lost, with progress going on."""
        soft = to_starboard(past)
        for size in _PARTS:
            for way in (soft, -soft):
                found = self.track.along(place, way, size)
                if found is None or not found.stable or not self._within(found):
                    continue
                ahead = (found.progress - place.progress) * self.sense
                if (
                    ahead > 0.0
                    and ahead < 0.2
                    and np.linalg.norm(found.state - place.state) < 3.0 * size + ahead
                ):
                    return found
        return None

    def _leave(self, place: Point, kind: Kind, past: Point | None = None) -> None:
        """Let go just past the end of a rest."""
        if kind == "fold" and place.stable and self._goes_on(place):
            return
        after = self._downhill_past(place, past if kind == "fork" or place.neutral else None)
        if (
            kind == "fold"
            and place.stable
            and after.apart(place) <= _MOVED
            and after.hanging == place.hanging
        ):
            # a corner of the curve, no end of it
            self._take_up(after)
            return
        self._happens(kind, place)
        if after.hanging and not place.hanging:
            self._happens("under", place, after)
        if after.apart(place) > _MOVED or after.hanging != place.hanging:
            self._happens("jump", place, after)
        self._take_up(after)

    def _downhill_past(self, place: Point, past: Point | None) -> Point:
        """Let go just past a place, a little further where the slope there is too faint to go by.

        `past` is a rest beyond that has lost its hold: she is pushed off it the soft way.
        """
        for past_by, nudge in _PAST:
            pose = place.state.copy()
            if past is not None:
                pose += nudge * to_starboard(past)
            normal, offset = pose[:3] / np.linalg.norm(pose[:3]), float(pose[3]) * self.track.balance.radius
            try:
                return let_go(self.track, normal, offset, self._beyond(place, past_by), hanging=place.hanging)
            except ArithmeticError as fault:
                last = fault
        raise LostError(str(last))

    def _beyond(self, place: Point, by: float) -> float:
        return min(self.track.last, max(self.track.first, place.progress + self.sense * by))

    def _goes_on(self, place: Point) -> bool:
        """True where the step only failed: the rest is still there just beyond, firm and at hand."""
        progress = self._beyond(place, _PAST[0][0])
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
        n, balance = found.normal, self.track.balance
        state = found.state.copy()
        state[3] = -lowest(balance.forest, 0, balance.last_displacer, -n[0], -n[1], -n[2]) / balance.radius
        brink = Point(state, found.numbers, hanging=False)
        self._pass(brink)
        progress = self._beyond(brink, 0.0)
        edge = self.track.at(n, 0.0, progress, hanging=True)
        if edge is not None and edge.stable and edge.apart(brink) < 0.05:
            self._happens("under", brink, edge)
            self._take_up(edge)
            return
        turned = n + _NUDGE * to_starboard(edge or brink)[:3]
        depth = self.track.filling.under_offset
        after = let_go(self.track, turned / np.linalg.norm(turned), depth, progress, hanging=True)
        self._happens("under", brink)
        if after.apart(brink) > _MOVED:
            self._happens("jump", brink, after)
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
        progress = min(self.track.last, max(self.track.first, high + self.sense * 1e-6))
        offset = self.track.filling.under_offset
        after = let_go(self.track, edge.normal, offset, progress, hanging=False)
        if after.hanging:
            # with her air squeezed she has lift, yet not enough to stay up: on, still under
            self._pass(found)
            return
        self._happens("out", edge, after)
        if after.apart(edge) > _MOVED:
            self._happens("jump", edge, after)
        self._take_up(after)
