"""The faired form of hand measures, and how well it is known.

Each measure's spread is carried through to volume, surface and centre by moving it and making the form anew; to that
come the bends that no measure shows (`Smooth.doubt`), what stations too far apart may hide, and ellipses assumed.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.loft import CLOSED, curve
from dabchick.physics.loft import End as ShapedEnd
from dabchick.physics.measured_form import Bulk, Form, Line, Measures, bulk, check
from dabchick.physics.smoothing import LEAST_POINTS, Parity, Smooth, Waves, smooth, waves
from dabchick.physics.superellipse import exponent_of, perimeter

Array = NDArray[np.float64]

ELLIPSE: Final = 0.5
"""Squareness 1/n of an ellipse."""
ELLIPSE_SPREAD: Final = 0.08
"""Of 1/n where no girth was taken: n from 1.7 to 2.4. Common practice, no source."""
LEAST_SQUARENESS_SPREAD: Final = 0.004
COARSE: Final = (61, 17)
"""Grid for differences of bulk: what it is off by itself falls out of them."""
BENDS: Final = 20
"""Waves whose bends count; those of the next ones fall with the cube of their number."""
GAP_SHARE: Final = 1.0 / 6.0
"""Leaving a station out doubles the gap there. Halving a gap lessens what a line of second to third order is off by
four- to eightfold, so a sixth of the change is taken for what the form may be off by between its stations.
"""


@dataclass(frozen=True, eq=False)
class Fitted:
    """The form with what is known of it."""

    form: Form
    exponent: Array
    """(k,) of each station by its own girth; NaN where there is none."""
    bulk: Bulk
    spread: Bulk
    """One standard deviation of each."""


def fitted(measures: Measures) -> Fitted:
    """The faired form of the measures, and its bulk with spreads.

    Raises ValueError for fewer than five stations, stations that do not rise, beams or heights that are no number or
    vanish between the ends, girths that no section of that beam and height has.
    """
    check(measures)
    fit = Fit(measures)
    form = fit.form(fit.values(measures))
    own = np.where(np.isfinite(measures.girth), 1.0 / fit.squareness(measures)[0], np.nan)
    return Fitted(form, own, bulk(form), fit.spread())


class Fit:
    """One set of measures, and how its lines hang on it."""

    def __init__(self, measures: Measures) -> None:
        self.measures = measures
        self.stern_x = float(measures.x[0])
        self.length = float(measures.x[-1] - measures.x[0])
        self.places = np.concatenate([measures.x, self._ball_places(measures)])
        self.order = np.argsort(self.places, kind="stable")
        self.places = self.places[self.order]
        self.turn = np.arccos(np.clip(1.0 - 2.0 * (self.places - self.stern_x) / self.length, -1.0, 1.0))
        self.own = np.array([int(np.flatnonzero(self.order == k)[0]) for k in range(len(measures.x))])
        """Where each station stands among the points, of which the ends' radii are some."""
        self.ends = self._ends()
        self.waves: dict[Line, Waves] = {
            "breadth": waves(self.turn, *self._parity("breadth")),
            "height": waves(self.turn, *self._parity("height")),
            "middle": waves(self.turn, "even", "even"),
            "squareness": waves(self.turn, "even", "even"),
        }
        values = self.values(measures)
        self.spreads = self._spreads(values, measures)
        first: dict[Line, Smooth] = {
            name: smooth(self.waves[name], values[name], self.spreads[name]) for name in self.waves
        }
        self.spreads = {name: self._with_place(name, first) for name in self.waves}
        self.lines: dict[Line, Smooth] = {
            name: smooth(self.waves[name], values[name], self.spreads[name]) for name in self.waves
        }

    def _ball_places(self, measures: Measures) -> Array:
        """Where the ball of an end is as broad as it is at 45 degrees."""
        share = 1.0 - np.sqrt(0.5)
        places = []
        for radius, end, inward in (
            (measures.stern_radius, measures.x[0], 1.0),
            (measures.bow_radius, measures.x[-1], -1.0),
        ):
            if np.isfinite(radius):
                places.append(end + inward * share * radius)
        return np.array(places)

    def _ends(self) -> tuple[ShapedEnd, ShapedEnd]:
        m = self.measures
        stern: ShapedEnd | None = "round" if np.isfinite(m.stern_radius) else m.stern
        bow: ShapedEnd | None = "round" if np.isfinite(m.bow_radius) else m.bow
        ends: list[ShapedEnd] = []
        for given, index in ((stern, 0), (bow, -1)):
            closed = [name for name in ("beam", "height") if getattr(m, name)[index] <= 0.0]
            if not closed:
                ends.append("flat")
                continue
            judged = curve(m.x, getattr(m, closed[0]))
            ends.append(given or (judged.first_end if index == 0 else judged.last_end))
        return ends[0], ends[1]

    def _parity(self, name: str) -> tuple[Parity, Parity]:
        values = self.measures.beam if name == "breadth" else self.measures.height
        closed = [
            end == "round" and values[k] <= CLOSED * values.max()
            for end, k in zip(self.ends, (0, -1), strict=True)
        ]
        return "odd" if closed[0] else "even", "odd" if closed[1] else "even"

    def values(self, measures: Measures) -> dict[Line, Array]:
        """The four lines' measures at the points; NaN where there is none."""
        half, tall = 0.5 * measures.beam, 0.5 * measures.height
        found: dict[Line, Array] = {
            "breadth": self._at_points(half),
            "height": self._at_points(tall),
            "middle": self._at_points(measures.keel + tall),
            "squareness": self._at_points(self.squareness(measures)[0]),
        }
        for radius, at_end, ball in self._balls(measures):
            out = radius * np.sqrt(0.5)
            found["breadth"][ball] = found["height"][ball] = out
            found["middle"][ball] = found["middle"][at_end]
        if not np.isfinite(measures.keel).any():
            found["middle"][:] = 0.5 * measures.height.max()
        return found

    def _at_points(self, values: Array) -> Array:
        found = np.full(len(self.places), np.nan)
        found[self.own] = values
        return found

    def _balls(self, measures: Measures) -> list[tuple[float, int, int]]:
        """Radius, the point of its end, the point on it."""
        found = []
        count = len(measures.x)
        for radius, at_end in (
            (measures.stern_radius, int(self.own[0])),
            (measures.bow_radius, int(self.own[-1])),
        ):
            if np.isfinite(radius):
                found.append((float(radius), at_end, int(np.flatnonzero(self.order == count)[0])))
                count += 1
        return found

    def squareness(self, measures: Measures) -> tuple[Array, Array]:
        """1/n at the stations and its spread; an ellipse, loosely, where there is no girth; NaN at a tip."""
        value = np.full(len(measures.x), np.nan)
        spread = np.full(len(measures.x), np.inf)
        for k, (beam, height, girth) in enumerate(
            zip(measures.beam, measures.height, measures.girth, strict=True)
        ):
            if beam <= 0.0 or height <= 0.0:
                continue
            value[k], spread[k] = ELLIPSE, ELLIPSE_SPREAD
            if np.isfinite(girth):
                half, tall = 0.5 * float(beam), 0.5 * float(height)
                value[k] = 1.0 / exponent_of(half, tall, float(girth))
                spread[k] = _squareness_spread(half, tall, float(value[k]), measures)
        return value, spread

    def _spreads(self, values: dict[Line, Array], measures: Measures) -> dict[Line, Array]:
        half = np.full(len(self.places), 0.5 * measures.calliper)
        found: dict[Line, Array] = {
            "breadth": half,
            "height": half.copy(),
            "middle": np.full(len(self.places), np.sqrt(1.25) * measures.calliper),
            "squareness": np.full(len(self.places), np.inf),
        }
        found["squareness"][self.own] = self.squareness(measures)[1]
        for name in ("breadth", "height"):
            # An end that is closed is known to be so.
            for end in (0, -1):
                if values[name][end] == 0.0:
                    found[name][end] = 0.0
        for name in found:
            found[name][~np.isfinite(values[name])] = np.inf
        return found

    def _with_place(self, name: Line, first: dict[Line, Smooth]) -> Array:
        """Spread with that of the station's place: the ruler's times the slope there."""
        own = self.spreads[name]
        along = 0.5 * self.length * np.maximum(np.sin(self.turn), 1e-3)
        off = np.abs(first[name].slope(self.turn)) / along * self.measures.ruler
        inner = np.ones(len(own), dtype=bool)
        inner[[0, -1]] = False
        return np.where(inner, np.hypot(own, off), own)

    def form(self, values: dict[Line, Array]) -> Form:
        """The form of these values, as stiff as the measures themselves made the lines."""
        lines: dict[Line, Smooth] = {name: self.lines[name].through(values[name]) for name in self.lines}
        return Form(self.stern_x, self.length, lines, *self.ends)

    def spread(self) -> Bulk:
        """Spread of the bulk: of each measure by its own, carried through everything, and of the bends unseen."""
        m = self.measures
        centre = self.form(self.values(m))
        base = _triple(bulk(centre, *COARSE))
        total = np.zeros(3)
        for name, step in (
            ("beam", m.calliper),
            ("height", m.calliper),
            ("keel", m.calliper),
            ("girth", m.tape),
        ):
            for k in range(len(m.x)):
                old = getattr(m, name)
                if not np.isfinite(old[k]) or (name in ("beam", "height") and old[k] <= 0.0):
                    continue
                moved = old.copy()
                moved[k] += step
                changed = self.form(self.values(replace(m, **{name: moved})))
                total += (_triple(bulk(changed, *COARSE)) - base) ** 2
        total += self._of_places(centre, base)
        total += self._of_missing_girths(base)
        total += self._of_bends(centre, base)
        total += self._of_gaps(centre, self.values(m), base)
        found = np.sqrt(total)
        return Bulk(*(float(value) for value in found))

    def _of_places(self, form: Form, base: Array) -> Array:
        """Square of what the spread of the stations' places does; of the ends' places too, which make the length."""
        m = self.measures
        total = np.zeros(3)
        values = self.values(m)
        along = 0.5 * self.length * np.maximum(np.sin(self.turn), 1e-3)
        for k in range(1, len(m.x) - 1):
            point = self.own[k]
            moved = {name: line.copy() for name, line in values.items()}
            for name, line in form.lines.items():
                moved[name][point] += float(line.slope(self.turn[[point]])[0]) / along[point] * m.ruler
            total += (_triple(bulk(self.form(moved), *COARSE)) - base) ** 2
        longer = m.ruler * np.sqrt(2.0)
        stretched = Form(self.stern_x, self.length + longer, form.lines, *self.ends)
        return total + (_triple(bulk(stretched, *COARSE)) - base) ** 2

    def _of_missing_girths(self, base: Array) -> Array:
        """Square of what the doubt about the ellipses assumed does: all may be off the same way, so it adds up."""
        m = self.measures
        missing = ~np.isfinite(m.girth) & (np.minimum(m.beam, m.height) > 0.0)
        if not missing.any():
            return np.zeros(3)
        values = self.values(m)
        squareness = values["squareness"].copy()
        squareness[self.own[missing]] -= ELLIPSE_SPREAD
        changed = self.form({**values, "squareness": squareness})
        return np.asarray((_triple(bulk(changed, *COARSE)) - base) ** 2)

    def _of_bends(self, form: Form, base: Array) -> Array:
        """Square of what bends that the measures do not show may do: g D g with the slope g by every wave."""
        total = np.zeros(3)
        for name, line in form.lines.items():
            step = np.sqrt(np.maximum(np.diag(line.doubt), 0.0))
            slopes = np.zeros((3, len(step)))
            for k in np.flatnonzero(step[:BENDS] > 0.0):
                heights = line.heights.copy()
                heights[k] += step[k]
                changed = replace(form, lines={**form.lines, name: replace(line, heights=heights)})
                slopes[:, k] = (_triple(bulk(changed, *COARSE)) - base) / step[k]
            total += np.einsum("ik,kl,il->i", slopes, line.doubt, slopes)
        return np.maximum(total, 0.0)

    def _of_gaps(self, form: Form, values: dict[Line, Array], base: Array) -> Array:
        """Square of what the form may be off by between stations too far apart, by leaving out each in turn."""
        total = np.zeros(3)
        for k in range(1, len(self.measures.x) - 1):
            point = int(self.own[k])
            lines = {
                name: line.without(values[name], point)
                if np.isfinite(spread[point]) and np.count_nonzero(np.isfinite(spread)) > LEAST_POINTS
                else line
                for (name, line), spread in zip(form.lines.items(), self.spreads.values(), strict=True)
            }
            total += (GAP_SHARE * (_triple(bulk(replace(form, lines=lines), *COARSE)) - base)) ** 2
        return total


def _squareness_spread(half: float, tall: float, squareness: float, m: Measures) -> float:
    """Of 1/n by girth, beam and height; near its limits, where the girth hardly moves with it, that of just inside."""
    inside = float(np.clip(squareness, 0.16, 0.88))
    step = 0.04

    def girth(b: float, h: float, part: float) -> float:
        return perimeter(b, h, 1.0 / part)

    steep = (girth(half, tall, inside - step) - girth(half, tall, inside + step)) / (2.0 * step)
    across = [
        (girth(half + grow, tall + rise, inside) - girth(half - grow, tall - rise, inside)) / 2.0
        for grow, rise in ((0.25 * half, 0.0), (0.0, 0.25 * tall))
    ]
    by_calliper = [
        0.5 * m.calliper * change / (0.25 * size) for change, size in zip(across, (half, tall), strict=True)
    ]
    return max(float(np.linalg.norm([m.tape, *by_calliper])) / steep, LEAST_SQUARENESS_SPREAD)


def _triple(found: Bulk) -> Array:
    return np.array([found.volume, found.surface, found.centre])
