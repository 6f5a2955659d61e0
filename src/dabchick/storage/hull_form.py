"""Station tables from three sizes: hull forms of our own in closed form, for a boat that has no drawing yet.

With u the distance from the bow over the length, a form is a fullness f(u) from 0 to 1 along the boat, a height of the
middle, and a section: half-breadths over heights as shares of half the beam and half the height.
"""

import math
from dataclasses import dataclass
from typing import Final, Literal

Form = Literal["round", "flat deck", "slender"]

END_STATIONS: Final = 9
MIDDLE_STATIONS: Final = 4
HEIGHTS: Final = 13
FLAT: Final = 0.08
"""Angle over which keel and deck are flat: their half-breadth as a share of the greatest."""


@dataclass(frozen=True)
class _Shape:
    nose: float
    """Length of the fore end, as a share of the whole."""
    tail: float
    nose_power: float
    """2: an ellipse; more is blunter, less is finer."""
    tail_power: float
    tail_end: float
    """Fullness left at the stern, for the shaft."""
    deck: float
    """Half-breadth of a flat deck as a share of the greatest; 0 for a round section."""


_SHAPES: Final[dict[Form, _Shape]] = {
    "round": _Shape(nose=0.18, tail=0.42, nose_power=2.0, tail_power=1.8, tail_end=0.10, deck=0.0),
    "flat deck": _Shape(nose=0.24, tail=0.36, nose_power=1.9, tail_power=1.8, tail_end=0.10, deck=0.36),
    "slender": _Shape(nose=0.34, tail=0.44, nose_power=1.75, tail_power=1.7, tail_end=0.08, deck=0.0),
}


@dataclass(frozen=True)
class FormOutlines:
    """Closed outlines [m]: side in x and z, top in x and y, end in y and z."""

    side: tuple[tuple[float, float], ...]
    top: tuple[tuple[float, float], ...]
    end: tuple[tuple[float, float], ...]


def station_table(form: Form, length_mm: float, beam_mm: float, height_mm: float) -> str:
    """The whole CSV file, in millimetres, measured from the bow."""
    shape = _SHAPES[form]
    lines = [
        f"# A {form} hull, {length_mm:g} mm long, {beam_mm:g} mm wide and {height_mm:g} mm high.",
        "# Made from these three sizes: replace it by your own measurements when you have them.",
        "unit, mm",
        "measured from, bow",
        "bow, round",
        "station_x, height, half_breadth",
    ]
    for u, section in _sections(shape):
        for height, breadth in section:
            z = height_mm * height
            lines.append(f"{_plain(u * length_mm)}, {_plain(z)}, {_plain(0.5 * beam_mm * breadth)}")
    return "\n".join(lines) + "\n"


def form_outlines(form: Form, length_m: float, beam_m: float, height_m: float) -> FormOutlines:
    """The same hull as it is drawn, in the house frame."""
    along = [(length_m * (1.0 - u), section) for u, section in _sections(_SHAPES[form])]
    sides = [(x, height_m * section[0][0], height_m * section[-1][0]) for x, section in along]
    breadths = [(x, 0.5 * beam_m * max(out for _, out in section)) for x, section in along]
    fullest = max((section for _, section in along), key=lambda section: max(out for _, out in section))
    half = [(0.5 * beam_m * out, height_m * up) for up, out in fullest]
    return FormOutlines(
        side=(*((x, low) for x, low, _ in sides), *((x, high) for x, _, high in reversed(sides))),
        top=(*breadths, *((x, -out) for x, out in reversed(breadths))),
        end=(*half, *((-out, up) for out, up in reversed(half))),
    )


def _sections(shape: _Shape) -> list[tuple[float, list[tuple[float, float]]]]:
    """For each station, from bow to stern: its u, and heights with half-breadths from the keel up, as shares."""
    section = _decked if shape.deck > 0.0 else _oval
    return [(u, section(shape, _fullness(shape, u))) for u in _stations(shape)]


def _stations(shape: _Shape) -> list[float]:
    """From bow to stern, close together where the form turns fast."""
    count = END_STATIONS
    nose = [shape.nose * (1.0 - math.cos(0.5 * math.pi * k / count)) for k in range(count)]
    middle = [
        shape.nose + (1.0 - shape.nose - shape.tail) * k / MIDDLE_STATIONS for k in range(MIDDLE_STATIONS)
    ]
    tail = [1.0 - shape.tail * (1.0 - k / count) for k in range(count + 1)]
    return [*nose, *middle, *tail]


def _fullness(shape: _Shape, u: float) -> float:
    if u < shape.nose:
        v = 1.0 - u / shape.nose
        return float(max(1.0 - v**shape.nose_power, 0.0) ** 0.5)
    v = max(u - (1.0 - shape.tail), 0.0) / shape.tail
    return float(1.0 - (1.0 - shape.tail_end) * v**shape.tail_power)


def _oval(shape: _Shape, full: float) -> list[tuple[float, float]]:
    """Height and half-breadth of an ellipse about mid-height, as shares of height and half beam."""
    if full == 0.0:
        return [(0.5, 0.0)]
    return [(0.5 * (1.0 + full * up), full * out) for up, out in _half_ellipse(HEIGHTS)]


def _decked(shape: _Shape, full: float) -> list[tuple[float, float]]:
    """An ellipse below, brought up to a level deck that falls a little towards both ends."""
    middle = 0.43
    if full == 0.0:
        return [(middle, 0.0)]
    points = [(middle * (1.0 + full * up), full * out) for up, out in _half_ellipse(HEIGHTS)]
    deck = shape.deck * full
    body = [point for point in points if point[0] < middle or point[1] > 1.25 * deck]
    return [*body, (middle + (1.0 - middle) * full, deck)]


def _half_ellipse(count: int) -> list[tuple[float, float]]:
    """Height and half-breadth from the keel up; flat for a few hundredths there and on top, as a real shell is."""
    turns = [FLAT + (math.pi - 2.0 * FLAT) * k / (count - 1) for k in range(count)]
    return [(-math.cos(turn) / math.cos(FLAT), math.sin(turn)) for turn in turns]


def _plain(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return text if text not in ("-0", "") else "0"
