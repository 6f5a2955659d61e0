"""Plans of hulls drawn as pictures, with turn, skew and grain, and traced back from the pictures' own pixels."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Array = NDArray[np.float64]

FINER = 4
"""Pictures are drawn so much larger and made smaller, so that lines are smooth."""


@dataclass(frozen=True)
class Sheet:
    """How lengths lie on a picture: pixel = origin + matrix @ (along, up)."""

    origin: tuple[float, float]
    matrix: tuple[tuple[float, float], tuple[float, float]]
    """Columns: one metre along and one metre up, in pixels (y down)."""
    size: tuple[int, int]

    def pixels(self, lengths: Array) -> Array:
        """(n, 2) from (n, 2)"""
        return np.asarray(np.asarray(self.origin) + lengths @ np.asarray(self.matrix).T)


def sheet(
    pixels_per_m: float,
    turn_deg: float = 0.0,
    skew_deg: float = 0.0,
    bow_left: bool = False,
    size: tuple[int, int] = (3400, 1000),
    origin: tuple[float, float] = (200.0, 500.0),
) -> Sheet:
    """A sheet turned anticlockwise, its uprights leaning by the skew towards the bow; both axes keep one scale."""
    turn, lean = np.radians(turn_deg), np.radians(90.0 + turn_deg - skew_deg)
    along, up = np.array([np.cos(turn), -np.sin(turn)]), np.array([np.cos(lean), -np.sin(lean)])
    if bow_left:
        along, up = along * [-1.0, 1.0], up * [-1.0, 1.0]
    matrix = pixels_per_m * np.stack([along, up], axis=1)
    return Sheet(origin, tuple(map(tuple, matrix.tolist())), size)  # type: ignore[arg-type]


def picture(on: Sheet, lines: list[Array], grain: float = 12.0, seed: int = 1) -> Image.Image:
    """Black lines two pixels wide on grainy paper."""
    large = Image.new("L", (on.size[0] * FINER, on.size[1] * FINER), 235)
    pen = ImageDraw.Draw(large)
    for line in lines:
        # The pen counts from the middle of a fine pixel, the picture from the middle of one of its own; and a line
        # lies evenly about its corners only where they are whole and its width is odd.
        fine = np.rint((on.pixels(line) + 0.5) * FINER - 0.5).astype(int)
        pen.line([(int(x), int(y)) for x, y in fine], fill=20, width=2 * FINER + 1)
    small = np.asarray(large.resize(on.size, Image.Resampling.BOX), np.float64)
    noise = np.random.default_rng(seed).normal(0.0, grain, small.shape)
    return Image.fromarray(np.clip(small + noise, 0.0, 255.0).astype(np.uint8))


def on_line(seen: Array, near: Array, normal: Array, reach: float = 7.0) -> Array:
    """(n, 2) the middle of the dark line that lies across each place, found along its normal in the pixels.

    seen (h, w) grey values; near (n, 2) places a few pixels off; normal (n, 2) unit directions. The middle is the
    centre of darkness below mid grey, sampled bilinearly every quarter pixel.
    """
    along = np.arange(-reach, reach + 0.125, 0.25)
    spots = near[:, None] + along[:, None] * normal[:, None]
    x = np.clip(spots[..., 0], 0.0, seen.shape[1] - 1.001)
    y = np.clip(spots[..., 1], 0.0, seen.shape[0] - 1.001)
    col, row = x.astype(int), y.astype(int)
    fx, fy = x - col, y - row
    above = seen[row, col] * (1.0 - fx) + seen[row, col + 1] * fx
    below = seen[row + 1, col] * (1.0 - fx) + seen[row + 1, col + 1] * fx
    dark = np.maximum(150.0 - (above * (1.0 - fy) + below * fy), 0.0)
    if (dark.sum(axis=1) <= 0.0).any():
        raise AssertionError("no line near one of the places")
    return near + normal * ((dark * along).sum(axis=1) / dark.sum(axis=1))[:, None]


def arc_places(outline: Callable[[Array], Array], count: int) -> Array:
    """(count,) shares of the length at even steps of a mix of arc length and bend, as a hand sets points."""
    share = 0.5 - 0.5 * np.cos(np.pi * np.linspace(0.0, 1.0, 4001))
    line = np.stack([share, outline(share)], axis=1)
    step = np.diff(line, axis=0)
    size = np.linalg.norm(step, axis=1)
    turn = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    bend = np.abs(np.diff(turn, prepend=turn[0]))
    weight = size / size.sum() + 0.6 * bend / max(bend.sum(), 1e-300)
    run = np.concatenate([[0.0], np.cumsum(weight)])
    return np.asarray(np.interp(np.linspace(0.0, run[-1], count), run, share))


def body_of_revolution_trace(
    radius: Callable[[Array], Array],
    length_m: float,
    sheets: tuple[Sheet, Sheet],
    count: int = 33,
    seed: int = 0,
    seen: tuple[Array, Array] | None = None,
    both_sides: bool = False,
) -> dict[str, Any]:
    """A trace, as plain tables, of a body of revolution drawn on two sheets.

    radius [m] over the share of the length from the stern. With `seen` pictures the points are found in their
    pixels, starting from places up to two pixels off the line; without, they lie on it.
    """
    random = np.random.default_rng(seed)
    share = arc_places(lambda s: radius(s) / length_m, count)
    line = np.stack([share * length_m, radius(share)], axis=1)
    ahead = np.clip(share + 1e-5, 0.0, 1.0), np.clip(share - 1e-5, 0.0, 1.0)

    def traced(on: Sheet, sign: float, picture: Array | None) -> list[list[float]]:
        flip = np.array([1.0, sign])
        points = on.pixels(line * flip)
        if picture is not None:
            way = on.pixels(np.stack([ahead[0] * length_m, radius(ahead[0])], axis=1) * flip) - on.pixels(
                np.stack([ahead[1] * length_m, radius(ahead[1])], axis=1) * flip
            )
            way = np.stack([way[:, 1], -way[:, 0]], axis=1) / np.linalg.norm(way, axis=1)[:, None]
            # At a round end the line runs straight up there: its normal lies along the middle line.
            for end in (0, -1):
                out = on.pixels(np.array([[1.0, 0.0]])) - on.pixels(np.array([[0.0, 0.0]]))
                way[end] = out[0] / np.linalg.norm(out)
            off = random.uniform(-2.0, 2.0, len(points))
            points = on_line(picture, points + way * off[:, None], way)
        return points.tolist()

    def mark(on: Sheet, start: tuple[float, float], end: tuple[float, float]) -> dict[str, list[float]]:
        ends = on.pixels(np.array([start, end]))
        return {"from": ends[0].tolist(), "to": ends[1].tolist()}

    def view(name: str, on: Sheet, curves: list[dict[str, Any]]) -> dict[str, Any]:
        tall = float(radius(np.linspace(0.0, 1.0, 201)).max())
        return {
            "name": name,
            "kind": name,
            "picture": f"{name}.png",
            "scale": {**mark(on, (0.0, -1.5 * tall), (length_m, -1.5 * tall)), "length": f"{length_m} m"},
            "level": mark(on, (0.0, 0.0), (length_m, 0.0)),
            "square": mark(on, (0.5 * length_m, -1.5 * tall), (0.5 * length_m, 1.5 * tall)),
            "curve": curves,
        }

    side, top = sheets
    pictures = seen or (None, None)
    halves = [{"role": "half_breadth", "points": traced(top, 1.0, pictures[1])}]
    if both_sides:
        halves.append({"role": "half_breadth", "points": traced(top, -1.0, pictures[1])})
    return {
        "dabchick_trace": 1,
        "view": [
            view(
                "side",
                side,
                [
                    {"role": "upper", "points": traced(side, 1.0, pictures[0])},
                    {"role": "lower", "points": traced(side, -1.0, pictures[0])},
                ],
            ),
            view("top", top, halves),
        ],
    }


def shaken(tables: dict[str, Any], seed: int, noise_px: float = 0.5) -> dict[str, Any]:
    """The same trace with normal noise on every point and mark: another go of the same hand."""
    random = np.random.default_rng(seed)

    def moved(points: list[list[float]]) -> list[list[float]]:
        return (np.array(points) + random.normal(0.0, noise_px, (len(points), 2))).tolist()

    def view(table: dict[str, Any]) -> dict[str, Any]:
        new = {**table, "curve": [{**curve, "points": moved(curve["points"])} for curve in table["curve"]]}
        for mark in ("scale", "level", "square"):
            if mark in table:
                start, end = moved([table[mark]["from"], table[mark]["to"]])
                new[mark] = {**table[mark], "from": start, "to": end}
        return new

    return {**tables, "view": [view(table) for table in tables["view"]]}
