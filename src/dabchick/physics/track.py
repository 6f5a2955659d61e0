"""A curve of rests over progress, step by step: where it goes on, where it turns and where its hold changes.

A step follows the tangent and is then corrected square to it. It is only taken when the new point lies close to where
the tangent pointed and the tangent there turns little; else the step is shortened. So no other curve is caught by
accident. Where the surface reaches a flat face the stiffness jumps and the tangent with it: there the step shrinks to
`_KINK`, and the curve is taken up again on the other side.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dabchick.physics.balance import Array, Balance
from dabchick.physics.corrector import NEUTRAL, NUMBERS, STATE, correct_into
from dabchick.physics.filling import Filling, at_progress

LONGEST = 0.06
"""Longest step, in radians, in radii and in progress alike."""
FIRST = 0.01
_KINK = 3e-7
_LEAST = 1e-10
_TURN = 0.03
"""1 - cosine of the angle between tangents, some 14 degrees."""
_LOCATED = 1e-10
_PROBES = (1e-7, 1e-6, 1e-5)

Change = Literal["fold", "fork", "meet"]
"""fold: the curve turns back in progress as its hold changes. fork: its hold changes and it goes on. meet: it turns
back and its hold stays: another curve runs through it here."""


@dataclass(frozen=True, eq=False)
class Point:
    """One rest on a curve."""

    state: Array
    """(5,) n, offset over radius, progress."""
    numbers: Array
    """(21,) as at `corrector.NUMBERS`."""
    hanging: bool

    @property
    def normal(self) -> Array:
        return np.asarray(self.state[:3])

    @property
    def progress(self) -> float:
        return float(self.state[4])

    @property
    def tangent(self) -> Array:
        return np.asarray(self.numbers[:5])

    @property
    def energy(self) -> float:
        return float(self.numbers[5])

    @property
    def mass(self) -> float:
        return float(self.numbers[6])

    @property
    def waterplane(self) -> float:
        return float(self.numbers[7])

    @property
    def gm(self) -> float:
        """In heel [m]."""
        return float(self.numbers[12])

    @property
    def residual(self) -> float:
        return float(self.numbers[8])

    @property
    def falling(self) -> int:
        return int(self.numbers[14])

    @property
    def neutral(self) -> bool:
        return bool(min(abs(self.numbers[9]), abs(self.numbers[10])) < NEUTRAL)

    @property
    def stable(self) -> bool:
        return self.falling == 0

    @property
    def softest(self) -> Array:
        """(5,) the way of least stiffness, progress held."""
        return np.asarray(self.numbers[15:20])

    def apart(self, other: "Point") -> float:
        """Angle between two attitudes [rad]."""
        chord = float(np.linalg.norm(self.normal - other.normal))
        return 2.0 * math.asin(min(1.0, 0.5 * chord))


@dataclass(frozen=True, eq=False)
class Step:
    """From one point to the next, with what changed between them."""

    point: Point
    size: float
    """Of the step taken."""
    change: Change | None = None
    place: Point | None = None
    """Where it changed, on the near side, to `_LOCATED`."""


_ALONG_PROGRESS = np.array([0.0, 0.0, 0.0, 0.0, 1.0])


class Track:
    """Rests of one balance over one leg of a way of filling."""

    def __init__(self, balance: Balance, filling: Filling) -> None:
        self.balance = balance
        self.filling = filling
        self.depth = filling.under_offset / balance.radius
        self.first = float(filling.knots[0])
        self.last = float(filling.knots[-1])

    def balance_at(self, progress: float, normal: Array, *, hanging: bool = False) -> Balance:
        return at_progress(self.balance, self.filling, progress, normal, hanging)

    def at(self, normal: Array, offset_m: float, progress: float, *, hanging: bool = False) -> Point | None:
        """The rest nearest to a pose at a fixed progress; None where Newton finds none."""
        height = self.depth if hanging else offset_m / self.balance.radius
        state = np.array([*normal, height, progress])
        return self._corrected(state, hanging, _ALONG_PROGRESS)

    def on(self, state: Array, progress: float, *, hanging: bool) -> Point | None:
        """The same from a state of a curve."""
        return self.at(state[:3], float(state[3]) * self.balance.radius, progress, hanging=hanging)

    def between(self, one: Point, other: Point, progress: float) -> Point | None:
        """The rest at a progress between two near points of one curve; None where it cannot be told from another."""
        chord = other.state - one.state
        share = (progress - one.progress) / float(chord[4]) if chord[4] else 1.0
        guess = one.state + share * chord
        near = 0.3 * float(np.linalg.norm(chord)) + 1e-9
        found = self.on(guess, progress, hanging=one.hanging)
        # near a fork another curve is as near as this one, but it has another hold
        alike = found is not None and found.falling in (one.falling, other.falling)
        if found is not None and alike and np.linalg.norm(found.state - guess) <= near:
            return found
        # square to the chord, not at a fixed progress: safe where the curve is about to turn back
        length = float(np.linalg.norm(chord))
        low, high = 0.0, length
        for _ in range(60):
            middle = 0.5 * (low + high)
            found = self.along(one, chord / length, middle)
            if found is None or np.linalg.norm(found.state - one.state) > 2.0 * length:
                return None
            if abs(found.progress - progress) <= 1e-13:
                return found
            low, high = (middle, high) if (found.progress < progress) == (chord[4] > 0.0) else (low, middle)
        return found if found is not None and abs(found.progress - progress) < 1e-9 else None

    def along(self, point: Point, way: Array, size: float) -> Point | None:
        """The rest at a distance `size` from a point along a way (5,)."""
        return self._corrected(point.state + size * way, point.hanging, way)

    def lift(self, point: Point) -> float:
        """Mass she could still carry wholly under [kg]; meant for a point that hangs."""
        return float(self.balance.density * self.balance.buoyant_volume - point.mass)

    def _corrected(self, guess: Array, hanging: bool, way: Array) -> Point | None:
        state = guess.copy()
        state[:3] /= np.linalg.norm(state[:3])
        numbers = np.empty(NUMBERS)
        anchor = np.empty(STATE)
        anchor[:] = guess
        if not correct_into(self.balance, self.filling, state, hanging, way, anchor, numbers):
            return None
        return Point(state, numbers, hanging)

    def advance(self, point: Point, way: Array, size: float) -> Step | None:
        """The next point along a tangent (5,), `size` away or nearer; None where the curve cannot be followed.

        Ends exactly at the ends of the way.
        """
        while size >= _LEAST:
            found = self._tried(point, way, size)
            if found is not None and self._follows(point, way, found, size):
                change = self._change(point, way, found)
                if change is None:
                    return Step(found, size)
                if abs(found.falling - point.falling) <= 1 or size < 1e-8:
                    return self._located(point, way, found, size)
            size *= 0.4
        return None

    def _tried(self, point: Point, way: Array, size: float) -> Point | None:
        end = point.progress + size * float(way[4])
        if self.first < end < self.last:
            return self.along(point, way, size)
        edge = self.first if end <= self.first else self.last
        if way[4] == 0.0 or point.progress == edge:
            return None
        share = (edge - point.progress) / float(way[4])
        return self.on(point.state + share * way, edge, hanging=point.hanging)

    def _follows(self, point: Point, way: Array, found: Point, size: float) -> bool:
        if not self.first <= found.progress <= self.last:
            return False
        moved = found.state - point.state
        length = float(np.linalg.norm(moved))
        if size <= _KINK:
            return length <= 3.0 * size
        if length < 1e-14:
            return False
        turn = 1.0 - abs(float(found.tangent @ way))
        lean = 1.0 - float(moved @ way) / length
        return turn <= _TURN and lean <= _TURN

    @staticmethod
    def onward(found: Point, way: Array) -> Array:
        """The tangent at a point, on from the way that led there."""
        tangent = found.tangent
        return np.asarray(tangent if float(tangent @ way) >= 0.0 else -tangent)

    def _change(self, point: Point, way: Array, found: Point) -> Change | None:
        turned = way[4] * self.onward(found, way)[4] < 0.0
        changed = found.falling != point.falling
        if turned:
            return "fold" if changed else "meet"
        return "fork" if changed else None

    def _located(self, point: Point, way: Array, found: Point, size: float) -> Step:
        """Go on in ever shorter steps to just before what changes, each from the last: no other curve is caught."""
        before, after, taken = point, found, size
        size *= 0.5
        while size > _LOCATED:
            between = self._tried(before, way, size)
            if between is not None and self._follows(before, way, between, size):
                if self._change(before, way, between) is None:
                    before, way = between, self.onward(between, way)
                else:
                    after = between
            size *= 0.5
        change = self._change(before, way, after)
        for probe in _PROBES:
            # hold and turn never change at the same place to the last digit: ask again a little further on
            beyond = self._tried(before, way, probe)
            if beyond is not None and self._follows(before, way, beyond, probe):
                change = self._change(before, way, beyond) or change
        return Step(after, taken, change, before)
