"""The longest cylinder of a given diameter that fits inside the hull, and the widest of a given length."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Item, Vector, Vessel
from dabchick.physics.inside import turns_at
from dabchick.physics.straight_room import distances_along, free_stretches
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.fit import USUAL_CLEARANCE_M, Tell
from dabchick.studies.fit_bodies import Things, point, things_of
from dabchick.studies.result import StudyResult
from dabchick.studies.shared_room import SEGMENTS, corners_of
from dabchick.studies.speech import Speech

Array = NDArray[np.float64]

HEIGHTS: Final = 61
"""Heights of the axis that are tried first, evenly over the hull's."""
FINE_M: Final = 1e-5
"""How exactly height, length and diameter are found."""
TINY_M: Final = 1e-7
PROFILE: Final = 41
"""Places along the cylinder at which the room beside it is given."""
MOST_TILT_DEG: Final = 15.0


@dataclass(frozen=True, kw_only=True)
class CylinderRoom(StudyResult):
    """A straight cylinder that fits, its axis in the middle plane."""

    asked: str
    """`length` where the diameter was given, `diameter` where the length was."""
    length_m: float
    diameter_m: float
    centre_m: Vector
    aft_m: Vector
    """Middle of its after end."""
    fore_m: Vector
    tilt_deg: float
    """Fore end up."""
    clearance_m: float
    """Kept free round it and at both ends."""
    station_x_m: tuple[float, ...]
    """Along the cylinder's axis, house frame."""
    beside_m: tuple[float, ...]
    """Room between the cylinder and what is nearest beside it, at each station."""
    tightest_x_m: float
    past: tuple[str, ...]
    """Parts that it keeps clear of; empty: of the hull alone."""


@dataclass(frozen=True, eq=False)
class _Search:
    """The faces that bar the way, and how to tell whether a place is in the room at all."""

    hull: Array
    others: Array
    low: Array
    high: Array
    one_shell: bool

    def turned(self, tilt: float) -> "_Search":
        """Seen from the axis of a cylinder whose fore end is up by `tilt` [rad]."""
        if tilt == 0.0:
            return self
        c, s = math.cos(tilt), math.sin(tilt)
        turn = np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])
        hull = self.hull @ turn.T
        return _Search(hull, self.others @ turn.T, hull.min((0, 1)), hull.max((0, 1)), self.one_shell)

    @property
    def barring(self) -> Array:
        return np.concatenate([self.hull, self.others]) if len(self.others) else self.hull

    def longest(self, height: float, radius: float, at_least: float = 0.0) -> tuple[float, float]:
        """Ends of the longest stretch that is free along an axis and within the room; both NaN for none."""
        stretches = free_stretches(self.barring, height, radius)
        for start, stop in stretches[np.argsort(stretches[:, 0] - stretches[:, 1])]:
            if stop - start <= at_least:
                break
            if self._in_room(np.array([0.5 * (start + stop), 0.0, height])):
                return float(start), float(stop)
        return math.nan, math.nan

    def length(self, height: float, radius: float, at_least: float = 0.0) -> float:
        """Of the longest stretch; 0 for none longer than `at_least`."""
        start, stop = self.longest(height, radius, at_least)
        return stop - start if stop > start else 0.0

    def _in_room(self, place: Array) -> bool:
        if len(self.others) and _turns(self.others, place) != 0:
            return False
        turns = _turns(self.hull, place)
        return turns == 0 and _walled(self.hull, place) if self.one_shell else turns > 0


def run(
    vessel: Vessel,
    *,
    diameter_m: float | None = None,
    length_m: float | None = None,
    clearance_m: float = USUAL_CLEARANCE_M,
    past: bool = False,
    tilt: bool = False,
    tell: Tell = lambda text, share: None,
) -> CylinderRoom:
    """The longest cylinder of `diameter_m`, or the widest of `length_m`; one of the two.

    Its axis lies in the middle plane, along the boat or, with `tilt`, as it fits best. It keeps `clearance_m` to
    the hull's inner face all round and at its ends, and with `past` to all parts but dry ones and their contents.
    Raises BoatError where none fits.
    """
    if (diameter_m is None) == (length_m is None):
        raise BoatError(
            Advice(
                what="Either the diameter or the length has to be given.",
                todo="Give one; the other is what is looked for.",
                key="cylinder",
            )
        )
    given = diameter_m if diameter_m is not None else length_m
    if given is None or not (math.isfinite(given) and given > 0.0):
        raise BoatError(
            Advice(
                what=f"No cylinder is {given} m.",
                todo="Give a length above 0.",
                key="cylinder",
                given=f"{given} m",
            )
        )
    tell("Looking at the room", 0.05)
    things = things_of(vessel)
    search, names = _search(things, past)
    if diameter_m is not None:
        angle, height = _best(
            search, lambda seen, z, most, _: seen.length(z, 0.5 * diameter_m + clearance_m, most), tilt, tell
        )
        seen = search.turned(angle)
        radius = 0.5 * diameter_m
        start, stop = seen.longest(height, radius + clearance_m)
        if not stop - start > 2.0 * clearance_m:
            raise _nothing(vessel, "diameter", diameter_m)
        start, stop = start + clearance_m, stop - clearance_m
    else:
        assert length_m is not None
        wanted = length_m + 2.0 * clearance_m
        angle, height = _best(
            search, lambda seen, z, most, near: _widest(seen, z, wanted, most, near), tilt, tell
        )
        seen = search.turned(angle)
        radius = _widest(seen, height, wanted, 0.0, TINY_M) - clearance_m
        if not radius > 0.0:
            raise _nothing(vessel, "length", length_m)
        low, high = seen.longest(height, radius + clearance_m)
        start, stop = 0.5 * (low + high - length_m), 0.5 * (low + high + length_m)
    places = np.linspace(start, stop, PROFILE)
    beside = distances_along(seen.barring, height, places) - radius
    c, s = math.cos(angle), math.sin(angle)
    ends = [np.array([c * x - s * height, 0.0, s * x + c * height]) for x in (start, stop)]
    along = c * places - s * height
    say = Speech(vessel)
    tell("Done", 1.0)
    return CylinderRoom(
        boat=vessel.name,
        method=(
            "for each triangle of the hull's inner face the stretch of the axis that it bars, worked out exactly; "
            f"the axis at {HEIGHTS} heights, then the best refined to {FINE_M * 1e3:g} mm"
            + (", its tilt by a simplex search from level" if tilt else "")
        ),
        sources=(),
        validity=(
            "Straight cylinder, axis in the middle plane. Exact for the triangles of the hull's inner face along "
            "each axis tried; a very short peak of the room between two heights tried could be missed. "
            f"Round parts in the way are polyhedra of {SEGMENTS} sides."
        ),
        assumptions=assumptions(
            vessel,
            *(
                [f"clearance wished: {say.length(clearance_m)} (common practice, no source)"]
                if clearance_m == USUAL_CLEARANCE_M
                else []
            ),
            "dry parts and what they hold are taken out" if past else "the hull is empty",
        ),
        warnings=warnings(vessel, *things.unusable),
        asked="length" if diameter_m is not None else "diameter",
        length_m=stop - start,
        diameter_m=2.0 * radius,
        centre_m=point(0.5 * (ends[0] + ends[1])),
        aft_m=point(ends[0]),
        fore_m=point(ends[1]),
        tilt_deg=math.degrees(angle),
        clearance_m=clearance_m,
        station_x_m=tuple(float(x) for x in along),
        beside_m=tuple(float(value) for value in beside),
        tightest_x_m=float(along[int(np.argmin(beside))]),
        past=tuple(names),
    )


def _search(things: Things, past: bool) -> tuple[_Search, list[str]]:
    hull = corners_of(things.inner.whole)
    mates = [
        thing
        for thing in (things.room("") if past else ())
        if not (isinstance(thing.entry, Item) and thing.entry.kind == "dry")
    ]
    others = [corners_of(thing.body.whole) for thing in mates]
    joined = np.concatenate(others) if others else np.empty((0, 3, 3))
    found = _Search(hull, joined, hull.min((0, 1)), hull.max((0, 1)), things.is_one_shell)
    return found, [thing.name for thing in mates]


Measure = Callable[[_Search, float, float, float], float]
"""What is to be made large, at a height: 0 where it is not above the third, right to the fourth [m]."""
ROUGH_M: Final = 2e-4


def _best(search: _Search, measure: Measure, tilt: bool, tell: Tell) -> tuple[float, float]:
    """Tilt [rad] and height [m] of the best axis; of equally good ones beside each other the middle one."""
    heights = np.linspace(search.low[2], search.high[2], HEIGHTS + 2)[1:-1]
    step = float(heights[1] - heights[0])
    best, values = 0.0, np.zeros(HEIGHTS)
    for row, height in enumerate(heights):
        tell("Trying heights of the axis", 0.1 + 0.5 * row / HEIGHTS)
        # a little less than the best, so that equally good heights are seen to be so
        values[row] = measure(search, float(height), best - ROUGH_M, ROUGH_M)
        best = max(best, float(values[row]))
    good = np.flatnonzero(values >= best - ROUGH_M)
    height = float(heights[good[len(good) // 2]])
    if best <= 0.0:
        return 0.0, height
    best = measure(search, height, best - 2.0 * ROUGH_M, TINY_M)
    tell("Refining the height of the axis", 0.6)
    while step > FINE_M:
        for tried in (height - step, height + step):
            value = measure(search, tried, best + TINY_M, TINY_M)
            if value > best:
                best, height = value, tried
        step *= 0.5
    if not tilt:
        return 0.0, height
    return _tilted(search, measure, height, best, tell)


def _tilted(search: _Search, measure: Measure, height: float, best: float, tell: Tell) -> tuple[float, float]:
    middle = 0.5 * float(search.low[0] + search.high[0])
    unit = np.array([math.radians(2.0), 0.05 * float(search.high[2] - search.low[2])])
    most = math.radians(MOST_TILT_DEG)
    tell("Trying tilts of the axis", 0.65)

    def axis(values: Array) -> tuple[float, float]:
        # the height is that of the axis at the middle of the hull, which a tilt about it leaves alone
        angle = float(np.clip(values[0] * unit[0], -most, most))
        up = height + float(values[1]) * unit[1]
        return angle, math.cos(angle) * up - math.sin(angle) * middle

    def worse(values: Array) -> float:
        angle, at = axis(values)
        return -measure(search.turned(angle), at, 0.0, TINY_M)

    tries = [
        minimize(worse, [0.0, 0.0], method="Nelder-Mead", options={**_SIMPLEX, "initial_simplex": simplex})
        for simplex in ([[0, 0], [1, 0], [0, 1]], [[0, 0], [-1, 0], [0, -1]])
    ]
    found = min(tries, key=lambda one: float(one.fun))
    return axis(found.x) if -float(found.fun) > best else (0.0, height)


_SIMPLEX: Final = {"maxfev": 90, "xatol": 1e-3, "fatol": 1e-7}


def _widest(seen: _Search, height: float, length: float, at_least: float, near: float) -> float:
    """The largest radius [m] with a free stretch of `length`, right to `near`; 0 where not above `at_least`."""

    def fits(radius: float) -> bool:
        return seen.length(height, radius, length * (1.0 - 1e-9)) > 0.0

    low = max(at_least, 0.0) + TINY_M
    if not fits(low):
        return 0.0
    step = near
    while fits(low + step):
        low, step = low + step, 2.0 * step
    high = low + step
    while high - low > near:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _turns(corners: Array, place: Array) -> int:
    faces = np.arange(3 * len(corners), dtype=np.int64).reshape(-1, 3)
    return int(turns_at(corners.reshape(-1, 3), faces, place[None, :])[0])


def _walled(corners: Array, place: Array) -> bool:
    """Whether there is material on both sides of a place, up and down or port and starboard."""
    beside = corners[(corners[:, :, 0].min(1) <= place[0]) & (corners[:, :, 0].max(1) >= place[0])]
    found = set()
    for triangle in beside:
        section = []
        for one in range(3):
            p, q = triangle[one], triangle[(one + 1) % 3]
            if p[0] != q[0] and min(p[0], q[0]) <= place[0] <= max(p[0], q[0]):
                section.append((p + (place[0] - p[0]) / (q[0] - p[0]) * (q - p))[1:] - place[1:])
        for across, up in ((0, 1), (1, 0)):
            for a, b in pairwise(section):
                if a[across] != b[across] and min(a[across], b[across]) <= 0.0 <= max(a[across], b[across]):
                    hit = a[up] - a[across] / (b[across] - a[across]) * (b[up] - a[up])
                    found.add((up, hit > 0.0))
    return {(0, False), (0, True)} <= found or {(1, False), (1, True)} <= found


def _nothing(vessel: Vessel, asked: str, value_m: float) -> BoatError:
    say = Speech(vessel)
    return BoatError(
        Advice(
            what=f"No cylinder of this {asked} fits inside {vessel.name}.",
            todo="Ask for a smaller one, or for less clearance.",
            key="cylinder",
            given=say.length(value_m),
        )
    )
