"""Rows of labels over and under the side view, each tied by a fine line to what it measures."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import isotonic_regression

from dabchick.report import svg
from dabchick.report.marks import HAIR, balloon, pointer
from dabchick.report.palette import INK, POND, SLATE

_WIDTH: Final = 13.5
_SMALL: Final = 0.74
_SMALL_WIDTH: Final = 11.2
_BALLOON: Final = 1.95
_ELBOW: Final = 2.4


@dataclass(frozen=True)
class Label:
    """What is measured, at (x, y) on paper [mm], and its two lines: along, height (or figure, word)."""

    x: float
    y: float
    kind: str
    number: str
    along: str
    height: str
    weight: float = float("inf")
    """Which labels stay when there is no room for all: those with the greatest weight."""


def spread(wanted: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places at least `apart` from each other within [low, high], least squares from the wanted ones.

    Subtracting `apart` times the rank turns "apart" into "not falling", which is isotonic regression. The
    order of the wanted places is kept. Raises ValueError where the row cannot hold them.
    """
    count = len(wanted)
    if count == 0:
        return []
    room = high - low - apart * (count - 1)
    if room < -1e-9:
        raise ValueError(f"{count} labels {apart} mm apart need more room than {high - low} mm.")
    order = np.argsort(np.asarray(wanted, dtype=float), kind="stable")
    rank = np.arange(count)
    level = isotonic_regression(np.asarray(wanted, dtype=float)[order] - apart * rank).x
    placed = np.empty(count)
    placed[order] = np.clip(level, low, max(low, low + room)) + apart * rank
    return [float(place) for place in placed]


def labelled(labels: Sequence[Label], limits: tuple[float, float]) -> list[Label]:
    """The labels that one row can hold, the heaviest where it cannot hold all; in their order."""
    most = int((limits[1] - limits[0]) / _SMALL_WIDTH)
    heaviest = sorted(range(len(labels)), key=lambda at: -labels[at].weight)[:most]
    return [labels[at] for at in sorted(heaviest)]


def label_row(labels: Sequence[Label], line_y: float, away: float, limits: tuple[float, float]) -> str:
    """A row of labels beyond `line_y`, at the distance |away| on its side: negative is above, positive below.

    Each has a fine line from what it measures to the label; where it crosses the ruler under the view a point
    marks the length that is read. Crowded rows shrink; of too many labels those of `labelled` stay.
    """
    low, high = limits
    chosen = labelled(labels, limits)
    size, width = (1.0, _WIDTH) if len(chosen) * _WIDTH <= high - low else (_SMALL, _SMALL_WIDTH)
    reach = _BALLOON * size
    places = spread([label.x for label in chosen], width, low + reach, high - width + reach)
    return svg.group(
        [_one(label, place, line_y, away, size) for label, place in zip(chosen, places, strict=True)],
        class_="labels",
    )


def _one(label: Label, place: float, line_y: float, away: float, size: float) -> str:
    side = -1.0 if away < 0 else 1.0
    near = line_y + away
    centre = near + (2.8 if side > 0 else -3.4) * size
    colour = POND if label.kind == "mark" else INK
    bend = near - side * _ELBOW
    way = (
        f"M{svg.mm(label.x)} {svg.mm(label.y)}V{svg.mm(bend)}L{svg.mm(place)} {svg.mm(near)}V{svg.mm(centre)}"
    )
    drawn = [
        svg.element("path", d=way, fill="none", stroke=colour, stroke_width=HAIR, class_="leader"),
        svg.element("circle", cx=label.x, cy=label.y, r=0.3, fill=colour, class_="measured"),
    ]
    if side > 0:
        drawn.append(svg.element("circle", cx=label.x, cy=line_y, r=0.4, fill=colour, class_="reading"))
    if label.kind == "mark":
        drawn.append(pointer(place, centre, size))
    else:
        drawn.append(balloon(place, centre, label.number, label.kind, size))
    left = place + 2.6 * size
    lower = label.height if label.kind == "mark" else f"↑\u2009{label.height}"
    drawn += [
        svg.text(left, centre - 0.1 * size, label.along, 3.2 * size, INK, font_weight="600", class_="along"),
        svg.text(left, centre + 2.7 * size, lower, 2.7 * size, SLATE, class_="height"),
    ]
    return svg.group(drawn, class_=f"label {label.kind}", data_number=label.number)
