"""Traced points as faired curves with their combs, for the page to draw."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from dabchick.physics.fairing import FairCurve, comb, curvature, fair, sampled
from dabchick.workbench.shapes.trace import CurveDrawn, FairWish

SAMPLES_A_SPAN: Final = 10
MOST_SAMPLES: Final = 480
TEETH_A_SPAN: Final = 6
MOST_TEETH: Final = 240
USUAL_TOOTH: Final = 0.05
"""Of the curve's diagonal, for a tooth of middling curvature."""
LONGEST_TOOTH: Final = 0.12
"""Of the curve's diagonal: teeth near it are drawn shorter than they are, or a tight nose would run off the sheet."""
_NOTHING: Final = CurveDrawn(line=[], comb=[], comb_scale=0.0)


def drawn(wish: FairWish) -> CurveDrawn:
    """The curve through the points; nothing where they make none yet, such as a single one, or two in one place."""
    points = np.array(wish.points, np.float64).reshape(-1, 2)
    corners = [corner for corner in wish.corners if corner < len(points)]
    if wish.closed and len(points) > 2 and (points[0] != points[-1]).any():
        points = np.vstack([points, points[:1]])
    if len(points) < 2:
        return _NOTHING
    try:
        curve = fair(points, corners)
    except ValueError:
        return _NOTHING  # while a point is dragged over another; the figures say what is wrong with it
    spans = len(points) - 1
    line = sampled(curve, min(max(SAMPLES_A_SPAN * spans + 1, 40), MOST_SAMPLES))
    teeth, scale = _comb(curve, min(max(TEETH_A_SPAN * spans + 1, 24), MOST_TEETH), wish.comb_scale)
    return CurveDrawn(line=_flat(line), comb=_flat(teeth), comb_scale=scale)


def drawn_all(wishes: Sequence[FairWish]) -> list[CurveDrawn]:
    """Each curve in turn."""
    return [drawn(wish) for wish in wishes]


def _comb(curve: FairCurve, count: int, scale: float | None) -> tuple[np.ndarray, float]:
    """Teeth (k, 2, 2) and their scale; none for a straight line."""
    diagonal = float(np.linalg.norm(np.ptp(curve.points, axis=0)))
    bend = np.abs(curvature(curve, np.linspace(0.0, curve.at[-1], count)))
    middling = float(np.percentile(bend, 60.0))
    if middling * diagonal < 1e-3:
        return np.empty((0, 2, 2)), 0.0
    scale = scale or USUAL_TOOTH * diagonal / middling
    teeth = comb(curve, count, scale)
    way = teeth[:, 1] - teeth[:, 0]
    size = np.linalg.norm(way, axis=1)
    most = LONGEST_TOOTH * diagonal
    shorter = most * np.tanh(size / most) / np.maximum(size, 1e-9)
    return np.stack([teeth[:, 0], teeth[:, 0] + shorter[:, None] * way], axis=1), scale


def _flat(values: np.ndarray) -> list[float]:
    found: list[float] = np.round(values, 2).reshape(-1).tolist()
    return found
