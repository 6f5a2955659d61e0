"""An invented plan, traced: a hull with a casing and a sail, blunt bow, fine stern with a small flat end."""

import copy
from typing import Any

import numpy as np

PX_PER_M = 2000.0
LENGTH_M = 0.6
SIDE_ORIGIN = (150.0, 400.0)
TOP_ORIGIN = (150.0, 900.0)

_X = (0.0, 0.02, 0.06, 0.12, 0.2, 0.3, 0.4, 0.48, 0.54, 0.58, 0.595, 0.6)
_UPPER = (0.055, 0.058, 0.064, 0.072, 0.08, 0.083, 0.083, 0.082, 0.078, 0.07, 0.06, 0.045)
_LOWER = (0.045, 0.040, 0.030, 0.016, 0.005, 0.0, 0.0, 0.001, 0.006, 0.016, 0.028, 0.045)
_HALF = (0.005, 0.009, 0.018, 0.028, 0.036, 0.04, 0.04, 0.039, 0.034, 0.024, 0.013, 0.0)


def _pixels(points: list[tuple[float, float]], origin: tuple[float, float]) -> list[list[float]]:
    return [[origin[0] + PX_PER_M * x, origin[1] - PX_PER_M * up] for x, up in points]


def _marks(origin: tuple[float, float]) -> dict[str, Any]:
    def mark(*points: tuple[float, float]) -> dict[str, list[float]]:
        start, end = _pixels(list(points), origin)
        return {"from": start, "to": end}

    return {
        "scale": {**mark((0.05, -0.02), (0.55, -0.02)), "length": "500 mm"},
        "level": mark((0.0, 0.0), (0.6, 0.0)),
        "square": mark((0.3, -0.03), (0.3, 0.1)),
    }


def sample_trace() -> dict[str, Any]:
    """The trace as plain tables: a side and a top view on one picture, 2 pixels for a millimetre, nothing amiss."""
    side = {
        "name": "side",
        "kind": "side",
        "picture": "plan.png",
        **_marks(SIDE_ORIGIN),
        "bow": "right",
        "curve": [
            {"role": "upper", "points": _pixels(list(zip(_X, _UPPER, strict=True)), SIDE_ORIGIN)},
            {"role": "lower", "points": _pixels(list(zip(_X, _LOWER, strict=True)), SIDE_ORIGIN)},
            {
                "role": "outline",
                "body": "sail",
                "points": _pixels(
                    [(0.32, 0.07), (0.33, 0.12), (0.39, 0.122), (0.41, 0.115), (0.41, 0.07)], SIDE_ORIGIN
                ),
                "corners": [0, 1, 2, 3, 4],
            },
        ],
    }
    top = {
        "name": "top",
        "kind": "top",
        "picture": "plan.png",
        **_marks(TOP_ORIGIN),
        "curve": [{"role": "half_breadth", "points": _pixels(list(zip(_X, _HALF, strict=True)), TOP_ORIGIN)}],
    }
    return {
        "dabchick_trace": 1,
        "view": [side, top],
        "body": [{"name": "sail", "kind": "sail", "breadth": "20 mm"}],
    }


def section_view(
    at: str, half_m: float, low_m: float, high_m: float, name: str = "section"
) -> dict[str, Any]:
    """A half section to port, an ellipse of 17 points, on a picture of its own with 4 pixels for a millimetre."""
    turn = np.linspace(0.0, np.pi, 17)
    y, z = half_m * np.sin(turn), 0.5 * (low_m + high_m) - 0.5 * (high_m - low_m) * np.cos(turn)
    points = np.stack([500.0 + 4000.0 * y, 700.0 - 4000.0 * z], axis=1).tolist()
    return {
        "name": name,
        "kind": "section",
        "picture": "sections.png",
        "at": at,
        "scale": {"from": [500.0, 750.0], "to": [900.0, 750.0], "length": "100 mm"},
        "level": {"from": [500.0, 720.0], "to": [900.0, 720.0]},
        "square": {"from": [500.0, 700.0], "to": [500.0, 300.0]},
        "curve": [{"role": "section", "points": points}],
    }


def moved(table: dict[str, Any], matrix: Any, shift: Any) -> dict[str, Any]:
    """A view with every point and mark taken from p to matrix p + shift."""
    new = copy.deepcopy(table)

    def to(point: list[float]) -> list[float]:
        return (np.asarray(matrix) @ np.asarray(point) + np.asarray(shift)).tolist()  # type: ignore[no-any-return]

    for mark in ("scale", "level", "square"):
        if mark in new:
            new[mark] |= {"from": to(new[mark]["from"]), "to": to(new[mark]["to"])}
    for curve in new["curve"]:
        curve["points"] = [to(point) for point in curve["points"]]
    new.pop("bow", None)
    return new
