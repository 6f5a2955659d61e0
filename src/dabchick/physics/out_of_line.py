"""Measures that do not go with the others: a slip of tape or calliper, and a section that stands out as a whole.

At each station the lines through all the other stations say what the section should be, with a spread; the station's
own measures say it too, and bear each other out, since beam, height and girth belong together. With r the measures less
what the lines make of them, and S its covariance (the lines' spreads carried through the section, the measures' own,
and that of the station's place), setting measure j aside lessens r S^-1 r by (S^-1 r)_j^2 / (S^-1)_jj: the square of
how many spreads it is off what the neighbours and the other three measures together make of it.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.measured_fit import ELLIPSE_SPREAD, Fit
from dabchick.physics.measured_form import LINE_OF, LINES, MEASURES, Line, Measure, Measures
from dabchick.physics.smoothing import LEAST_POINTS, expected
from dabchick.physics.superellipse import MOST_EXPONENT, perimeter

Array = NDArray[np.float64]

OUT_OF_LINE: Final = 3.5
"""A measure stands out when it is off by more spreads than this."""
WHOLE_SECTION: Final = 30.0
"""A section stands out as a whole when its measures together are off by more than this, in squares of spreads; four
measures reach it once in a hundred thousand times by chance.
"""


@dataclass(frozen=True)
class OutOfLine:
    """A measure that neither its neighbours nor the other measures of its section bear out."""

    station: int
    measure: Measure | None
    """None: the whole section stands out, with measures that go with each other."""
    measured: float
    """[m]; of a whole section its beam."""
    in_line: float
    """What would be in line [m]."""
    spreads: float
    """How many spreads it is off."""


@dataclass(frozen=True)
class _Slip:
    gain: float
    station: int
    measure: Measure | None
    in_line: float


def out_of_line(measures: Measures) -> tuple[OutOfLine, ...]:
    """All that stands out, by station: found one by one, each looked at once more when all others are set aside."""
    slips: list[_Slip] = []
    for _ in range(max(1, (len(measures.x) - LEAST_POINTS) // 2)):
        worst = max(_Watch(measures, slips).all(), key=lambda slip: slip.gain, default=None)
        if worst is None:
            break
        slips.append(worst)
    kept = []
    for slip in slips:
        others = [other for other in slips if other is not slip]
        again = [
            found for found in _Watch(measures, others).at(slip.station) if found.measure == slip.measure
        ]
        kept += again
    return tuple(
        OutOfLine(
            slip.station,
            slip.measure,
            float(getattr(measures, slip.measure or "beam")[slip.station]),
            slip.in_line,
            float(np.sqrt(slip.gain)),
        )
        for slip in sorted(kept, key=lambda slip: (slip.station, MEASURES.index(slip.measure or "beam")))
    )


class _Watch:
    """The measures against each other, some set aside."""

    def __init__(self, measures: Measures, aside: list[_Slip]) -> None:
        self.measures = measures
        for slip in aside:
            if slip.measure is not None:
                values = getattr(self.measures, slip.measure).copy()
                values[slip.station] = slip.in_line
                self.measures = replace(self.measures, **{slip.measure: values})
        self.aside = {(slip.station, slip.measure) for slip in aside}
        self.fit = Fit(self.measures)
        self.values = self.fit.values(self.measures)
        self.spreads = {name: spread.copy() for name, spread in self.fit.spreads.items()}
        for slip in aside:
            point = int(self.fit.own[slip.station])
            for measure in (slip.measure,) if slip.measure else MEASURES:
                spread = self.spreads[LINE_OF[measure]]
                if np.count_nonzero(np.isfinite(spread)) > LEAST_POINTS:
                    spread[point] = np.inf

    def all(self) -> list[_Slip]:
        """Every slip of every station."""
        return [slip for k in range(len(self.measures.x)) for slip in self.at(k)]

    def at(self, k: int) -> list[_Slip]:
        """What stands out at a station: single measures, or the whole section where no single one explains it."""
        taken = [
            measure
            for measure in MEASURES
            if np.isfinite(getattr(self.measures, measure)[k])
            and (measure == "keel" or min(self.measures.beam[k], self.measures.height[k]) > 0.0)
            and (k, measure) not in self.aside
        ]
        if not taken or (k, None) in self.aside:
            return []
        value, variance = self._expected(k)
        predicted, steep = _section(value)
        rows = [MEASURES.index(measure) for measure in taken]
        own = {
            "beam": self.measures.calliper,
            "height": self.measures.calliper,
            "keel": self.measures.calliper,
        }
        spread = np.array([own.get(measure, self.measures.tape) for measure in taken])
        steep = steep[rows]
        off = np.array([getattr(self.measures, measure)[k] for measure in taken]) - predicted[rows]
        place = steep @ self._along(k) * self.measures.ruler
        covariance = (steep * variance) @ steep.T + np.diag(spread**2) + np.outer(place, place)
        inverse = np.linalg.inv(covariance)
        pulled = inverse @ off
        gains = pulled**2 / np.diag(inverse)
        total = float(off @ pulled)
        best = int(np.argmax(gains))
        slips = [
            _Slip(
                float(gains[j]),
                k,
                measure,
                float(getattr(self.measures, measure)[k] - pulled[j] / inverse[j, j]),
            )
            for j, measure in enumerate(taken)
            if gains[j] > OUT_OF_LINE**2 and j == best
        ]
        if not slips and len(taken) > 1 and total > WHOLE_SECTION and 0 < k < len(self.measures.x) - 1:
            slips.append(_Slip(total, k, None, float(predicted[0])))
        return slips

    def _expected(self, k: int) -> tuple[Array, Array]:
        """Breadth, height, middle and squareness that the other stations make of this one, and their variances."""
        point = int(self.fit.own[k])
        value, variance = np.zeros(4), np.zeros(4)
        closed = {
            "breadth": self.measures.beam[k] <= 0.0,
            "height": self.measures.height[k] <= 0.0,
        }
        for j, name in enumerate(LINES):
            spread = self.spreads[name]
            if closed.get(name, False):
                continue
            there = np.isfinite(spread)
            if np.count_nonzero(there) - there[point] < LEAST_POINTS:
                value[j], variance[j] = self._unknown(name, point)
                continue
            seen = expected(self.fit.waves[name], self.values[name], spread, point)
            value[j], variance[j] = seen.value, seen.spread**2
        for j, measured in ((0, self.measures.beam[k]), (1, self.measures.height[k])):
            value[j] = max(value[j], 0.1 * measured)
        value[3] = min(max(value[3], 1.0 / MOST_EXPONENT), 1.0)
        return value, variance

    def _unknown(self, name: Line, point: int) -> tuple[float, float]:
        """Where too few are left to tell: the line with this one, and a spread that lets everything pass."""
        if name == "squareness":
            return 0.5, (3.0 * ELLIPSE_SPREAD) ** 2
        value = float(self.fit.lines[name](self.fit.turn[[point]])[0])
        return value, max(abs(value), self.fit.length) ** 2

    def _along(self, k: int) -> Array:
        """Change of the four lines with the distance along, at a station between the ends."""
        point = int(self.fit.own[k])
        if k in (0, len(self.measures.x) - 1):
            return np.zeros(4)
        turn = self.fit.turn[[point]]
        along = 0.5 * self.fit.length * np.sin(turn[0])
        return np.array([float(self.fit.lines[name].slope(turn)[0]) / along for name in LINES])


def _section(value: Array) -> tuple[Array, Array]:
    """Beam, height, keel and girth of a section, and how they change with its half axes, middle and squareness."""
    half, tall, middle, part = value
    girth = perimeter(half, tall, 1.0 / part)
    change = []
    for j, step in ((0, 0.01 * half), (1, 0.01 * tall), (3, 0.01)):
        if step == 0.0:
            change.append(0.0)
            continue
        ends = []
        for sign in (-1.0, 1.0):
            moved = value.copy()
            moved[j] += sign * step
            ends.append(perimeter(moved[0], moved[1], 1.0 / min(max(moved[3], 0.05), 1.0)))
        change.append((ends[1] - ends[0]) / (2.0 * step))
    steep = np.zeros((4, 4))
    steep[0, 0] = steep[1, 1] = 2.0
    steep[2] = (0.0, -1.0, 1.0, 0.0)
    steep[3] = (change[0], change[1], 0.0, change[2])
    return np.array([2.0 * half, 2.0 * tall, middle - tall, girth]), steep
