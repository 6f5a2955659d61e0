"""A hull from hand measures: at stations beam, height, lowest point and girth, faired along the length.

Every section is a superellipse (`superellipse.py`) of the measured half axes whose exponent gives the measured girth.
Half-beam, half-height, height of the middle, and the squareness 1/n run along the length as smooth lines
(`smoothing.py`) in the angle t, x = x0 + L/2 (1 - cos t), each measure weighted by its own spread.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.loft import End as ShapedEnd
from dabchick.physics.loft import Section
from dabchick.physics.smoothing import LEAST_POINTS, Smooth
from dabchick.physics.superellipse import LEAST_EXPONENT, MOST_EXPONENT, area, girth_range, outline

Array = NDArray[np.float64]
Line = Literal["breadth", "height", "middle", "squareness"]
Measure = Literal["beam", "height", "keel", "girth"]
MEASURES: Final[tuple[Measure, ...]] = ("beam", "height", "keel", "girth")
LINE_OF: Final[dict[Measure, Line]] = {
    "beam": "breadth",
    "height": "height",
    "keel": "middle",
    "girth": "squareness",
}
LINES: Final[tuple[Line, ...]] = ("breadth", "height", "middle", "squareness")

LEAST_STATIONS: Final = 5
IMPOSSIBLE: Final = 3.0
"""A girth is impossible when it is outside its range by more spreads than this."""
STATIONS: Final = 41
HEIGHTS: Final = 33


@dataclass(frozen=True, eq=False)
class Measures:
    """What was measured [m], from the aftermost station forward; not measured: NaN."""

    x: Array
    """(k,) rising."""
    beam: Array
    height: Array
    keel: Array
    """Height of the lowest point over the base line."""
    girth: Array
    """All the way round."""
    calliper: float
    """Spread of beam, height and keel [m]."""
    tape: float
    """Spread of a whole girth [m]."""
    ruler: float
    """Spread of a station's place [m]."""
    stern: ShapedEnd | None = None
    """How a closed end is shaped; None: as the stations next to it run."""
    bow: ShapedEnd | None = None
    stern_radius: float = np.nan
    """Of the ball that a round end ends in [m]; NaN: not measured."""
    bow_radius: float = np.nan


@dataclass(frozen=True, eq=False)
class Form:
    """The faired form."""

    stern_x: float
    length: float
    lines: dict[Line, Smooth]
    stern_end: ShapedEnd
    bow_end: ShapedEnd

    def at(self, turn: Array) -> tuple[Array, Array, Array, Array]:
        """Half-breadth, half-height, height of the middle, exponent at angles t."""
        breadth, height = (np.maximum(self.lines[name](turn), 0.0) for name in ("breadth", "height"))
        for line, value in ((self.lines["breadth"], breadth), (self.lines["height"], height)):
            ends = line.waves
            value[(turn <= 0.0) & (ends.first == "odd")] = 0.0
            value[(turn >= np.pi) & (ends.last == "odd")] = 0.0
        part = np.clip(self.lines["squareness"](turn), 1.0 / MOST_EXPONENT, 1.0 / LEAST_EXPONENT)
        return breadth, height, self.lines["middle"](turn), 1.0 / part

    def x(self, turn: Array) -> Array:
        """Distance along at angles t [m]."""
        return self.stern_x + 0.5 * self.length * (1.0 - np.cos(turn))


@dataclass(frozen=True)
class Bulk:
    """Volume [m3], surface [m2] with its flat ends, centre of volume from the aftermost station [m]."""

    volume: float
    surface: float
    centre: float


def girth_limits(measures: Measures, station: int) -> tuple[float, float, float]:
    """Least and greatest girth of a station's beam and height, and the spread of a girth against them [m]."""
    low, high = girth_range(0.5 * float(measures.beam[station]), 0.5 * float(measures.height[station]))
    return low, high, float(np.hypot(measures.tape, 2.0 * np.sqrt(2.0) * measures.calliper))


def check(measures: Measures) -> None:
    """Raise ValueError for measures of which no hull can be made."""
    x, beam, height = measures.x, measures.beam, measures.height
    if len(x) < LEAST_STATIONS:
        raise ValueError(f"A hull from hand measures needs at least {LEAST_STATIONS} stations. Measure more.")
    if not np.isfinite(x).all() or (np.diff(x) <= 0.0).any():
        raise ValueError("Stations stand in rising order, each once. Sort them.")
    if not (np.isfinite(beam).all() and np.isfinite(height).all()):
        raise ValueError("Every station has a beam and a height; 0 where the hull ends in a point.")
    if (np.minimum(beam, height) < 0.0).any() or (np.minimum(beam, height)[1:-1] <= 0.0).any():
        raise ValueError("Between the ends beam and height are above 0. Check them.")
    if int(np.isfinite(measures.keel).sum()) not in {0, *range(LEAST_POINTS, len(x) + 1)}:
        raise ValueError(f"Give the lowest point at {LEAST_POINTS} stations or more, or nowhere.")
    for k in np.flatnonzero(np.isfinite(measures.girth) & (np.minimum(beam, height) > 0.0)):
        low, high, spread = girth_limits(measures, int(k))
        if not low - IMPOSSIBLE * spread <= measures.girth[k] <= high + IMPOSSIBLE * spread:
            raise ValueError(
                f"No section of station {k + 1}'s beam and height has its girth. Measure it again."
            )


def sections(form: Form, stations: int = STATIONS, heights: int = HEIGHTS) -> list[Section]:
    """Half-breadths over heights at stations that stand closer and closer towards the ends (even in t)."""
    turn = np.linspace(0.0, np.pi, stations)
    found = []
    for x, half, tall, middle, exponent in zip(form.x(turn), *form.at(turn), strict=True):
        if half <= 0.0 and tall <= 0.0:
            found.append(Section(float(x), np.array([middle]), np.zeros(1)))
            continue
        up, out = outline(float(exponent), heights)
        if tall <= 0.0:
            found.append(Section(float(x), np.array([middle]), np.array([half])))
            continue
        found.append(Section(float(x), middle + tall * up, half * out))
    return found


def bulk(form: Form, along: int = 161, around: int = 49) -> Bulk:
    """Volume and centre by Simpson's rule over t, surface by the triangles of a grid."""
    turn = np.linspace(0.0, np.pi, along)
    half, tall, _, exponent = form.at(turn)
    weight = np.full(along, 2.0)
    weight[1::2] = 4.0
    weight[0] = weight[-1] = 1.0
    weight *= (np.pi / (along - 1) / 3.0) * 0.5 * form.length * np.sin(turn)
    slices = weight * area(half, tall, exponent)
    volume = float(slices.sum())
    centre = float(slices @ (form.x(turn) - form.stern_x)) / volume
    return Bulk(volume, _surface(form, turn, around), centre)


def _surface(form: Form, turn: Array, around: int) -> float:
    half, tall, middle, exponent = form.at(turn)
    angle = np.linspace(-0.5 * np.pi, 0.5 * np.pi, around)
    along, up = np.abs(np.cos(angle)), np.abs(np.sin(angle))
    along[[0, -1]] = 0.0
    power = exponent[:, None]
    reach = (along**power + up**power) ** (-1.0 / power)
    points = np.stack(
        [
            np.broadcast_to(form.x(turn)[:, None], reach.shape),
            half[:, None] * along * reach,
            middle[:, None] + tall[:, None] * np.sign(angle) * up * reach,
        ],
        axis=-1,
    )
    one, two = points[1:, 1:] - points[:-1, :-1], points[1:, :-1] - points[:-1, 1:]
    sides = np.linalg.norm(np.cross(one, two), axis=-1).sum()
    ends = area(half[[0, -1]], tall[[0, -1]], exponent[[0, -1]]).sum()
    return float(sides + ends)
