"""Can the longest thing be lifted straight out: how much of the opening's width is there for it, all along.

Looked at in thin sections: on its way out each part of the thing passes the hull's inner face from where it stands to
the line, so what counts is the narrowest place on that way and not the width at the line alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Half, Item, Tank, Vessel
from dabchick.physics.breadth import walls_beside
from dabchick.physics.halves import height_at
from dabchick.physics.solid import Solid

Array = NDArray[np.float64]

SEGMENTS = 240
STEPS_ALONG = 240
STEPS_UP = 160
SLACK_M = 1e-4


@dataclass(frozen=True)
class LiftOut:
    """The longest dry part, or without one the longest other thing, and the opening that it must come through."""

    name: str
    half: Half
    length_m: float
    width_m: float
    """Of the thing where it is tightest; NaN where nothing of it has to pass the skin."""
    opening_length_m: float
    """Of the line over the hull's inside."""
    under_whole_m: float
    """So much of the thing's length lies beyond the line's ends."""
    opening_width_m: float
    """Clear width at the line there; NaN where the line runs free of the skin."""
    spare_port_m: float
    """Least room between thing and skin on its way out; inf where nothing is beside it. Below 0 it does not pass."""
    spare_starboard_m: float
    tightest_x_m: float
    in_the_way: tuple[str, ...]
    """What stands over it in the same half and has to come out first."""
    fits: bool
    """Skin alone; what is in the way can be taken out."""


def lift_out(
    vessel: Vessel, line: Array, members: dict[str, Half], standing: Sequence[tuple[Item | Tank, Solid]]
) -> LiftOut | None:
    """How the longest thing comes out, straight up from the lower half or down from the upper; None without one."""
    thing = _longest(vessel)
    if thing is None or thing.envelope is None:
        return None
    half = members[thing.name]
    up = 1.0 if half == "lower" else -1.0
    low, high = thing.envelope.bounds()
    inner_low, inner_high = vessel.hull_inside.bounds()
    opening = min(float(line[-1, 0]), float(inner_high[0])) - max(float(line[0, 0]), float(inner_low[0]))
    under_whole = max(0.0, float(line[0, 0] - low[0])) + max(0.0, float(high[0] - line[-1, 0]))
    under_whole = under_whole if under_whole > SLACK_M else 0.0
    width, wide, port, starboard, at = _tightest(vessel, thing.envelope, line, up)
    return LiftOut(
        name=thing.name,
        half=half,
        length_m=float(high[0] - low[0]),
        width_m=width,
        opening_length_m=opening,
        under_whole_m=under_whole,
        opening_width_m=wide,
        spare_port_m=port,
        spare_starboard_m=starboard,
        tightest_x_m=at,
        in_the_way=_in_the_way(standing, thing, members, up),
        fits=under_whole == 0.0 and min(port, starboard) > -SLACK_M,
    )


def _longest(vessel: Vessel) -> Item | None:
    things = [
        item
        for item in vessel.items
        if item.envelope is not None and item.kind not in ("skin", "inside") and not item.inside
    ]
    kinds = [[item for item in things if item.kind == "dry"], [item for item in things if not item.outside]]
    for chosen in kinds:
        if chosen:
            return max(chosen, key=lambda item: float(np.ptp(_along(item))))
    return None


def _along(item: Item) -> tuple[float, float]:
    assert item.envelope is not None
    low, high = item.envelope.bounds()
    return float(low[0]), float(high[0])


def _tightest(
    vessel: Vessel, body: Solid, line: Array, up: float
) -> tuple[float, float, float, float, float]:
    """Width of the thing and of the opening, spare to port and starboard, and x, where it is tightest."""
    low, high = body.bounds()
    middle = 0.5 * float(low[1] + high[1])
    step = (high[0] - low[0]) / STEPS_ALONG
    xs = np.linspace(low[0] + 0.5 * step, high[0] - 0.5 * step, STEPS_ALONG)
    lines = height_at(line, xs) * up
    start = min(up * low[2], up * high[2])
    stop = float(np.nanmax(np.append(lines, start)))
    if not stop > start:
        return np.nan, np.nan, np.inf, np.inf, np.nan
    zs = start + (stop - start) * (np.arange(STEPS_UP) + 0.5) / STEPS_UP
    right, left = _walls(vessel.hull_inside, xs, zs, up, middle)
    body_right, body_left = _sides(body, xs, zs, up)
    # Above the line, and beyond its ends, the other half is off and nothing is beside the thing.
    under = zs[None, :] < lines[:, None]
    left, right = np.where(under, left, np.inf), np.where(under, right, -np.inf)
    port = np.flip(np.minimum.accumulate(np.flip(left, 1), axis=1), 1) - body_left
    starboard = body_right - np.flip(np.maximum.accumulate(np.flip(right, 1), axis=1), 1)
    there = under & np.isfinite(body_left)
    port, starboard = np.where(there, port, np.inf), np.where(there, starboard, np.inf)
    narrow = np.minimum(port, starboard)
    if not np.isfinite(narrow).any():
        return np.nan, np.nan, np.inf, np.inf, np.nan
    i, j = np.unravel_index(int(np.argmin(narrow)), narrow.shape)
    at_line = int(np.flatnonzero(under[i])[-1])
    opening = float(left[i, at_line] - right[i, at_line])
    return (
        float(body_left[i, j] - body_right[i, j]),
        opening if np.isfinite(opening) else np.nan,
        float(port.min()),
        float(starboard.min()),
        float(xs[i]),
    )


def _walls(solid: Solid, xs: Array, zs: Array, up: float, middle: float) -> tuple[Array, Array]:
    right, left = np.full((len(xs), len(zs)), -np.inf), np.full((len(xs), len(zs)), np.inf)
    for vertices, faces, _ in solid.meshes(SEGMENTS):
        found = walls_beside(vertices * np.array([1.0, 1.0, up]), faces, xs, zs, middle)
        right, left = np.maximum(right, found[0]), np.minimum(left, found[1])
    return right, left


def _sides(solid: Solid, xs: Array, zs: Array, up: float) -> tuple[Array, Array]:
    """Least and greatest y of the thing; inf and -inf where it is not."""
    right, left = np.full((len(xs), len(zs)), np.inf), np.full((len(xs), len(zs)), -np.inf)
    for vertices, faces, _ in solid.meshes(SEGMENTS):
        turned = vertices * np.array([1.0, 1.0, up])
        right = np.minimum(right, walls_beside(turned, faces, xs, zs, -np.inf)[1])
        left = np.maximum(left, walls_beside(turned, faces, xs, zs, np.inf)[0])
    return right, left


def _in_the_way(
    standing: Sequence[tuple[Item | Tank, Solid]], thing: Item, members: dict[str, Half], up: float
) -> tuple[str, ...]:
    """Things of the same half whose boxes overlap it from above, seen along its way."""
    assert thing.envelope is not None
    low, high = thing.envelope.bounds()
    found = []
    for other, body in standing:
        if other is thing or members[other.name] != members[thing.name]:
            continue
        other_low, other_high = body.bounds()
        beside = np.any(other_low[:2] >= high[:2] - SLACK_M) or np.any(other_high[:2] <= low[:2] + SLACK_M)
        over = max(up * other_low[2], up * other_high[2]) > 0.5 * up * float(low[2] + high[2])
        if not beside and over:
            found.append(other.name)
    return tuple(found)
