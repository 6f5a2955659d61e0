"""The least stable moment of a way, refined between the rests she was followed through."""

from collections.abc import Sequence

import numpy as np

from dabchick.physics.track import Point, Track

_GOLDEN = 0.5 * (3.0 - 5.0**0.5)
_LOCATED = 1e-7
_CANDIDATES = 3
_ONE_REST = 0.2
"""Radians: neighbours further apart than this are two rests with a jump between them."""


def least_gm(track: Track, points: Sequence[Point]) -> Point:
    """The stable point of least GM in heel; golden section between neighbours, also where GM has a corner or a step."""
    low = [index for index in range(len(points)) if _is_low(points, index)]
    low.sort(key=lambda index: points[index].gm)
    best = points[low[0]]
    for index in low[:_CANDIDATES]:
        for other in (index - 1, index + 1):
            if 0 <= other < len(points) and _one_rest(points[index], points[other]):
                found = _least_between(track, points[index], points[other])
                if found.gm < best.gm:
                    best = found
    return best


def _is_low(points: Sequence[Point], index: int) -> bool:
    around = points[max(0, index - 1) : index + 2]
    return all(points[index].gm <= other.gm for other in around)


def _one_rest(one: Point, other: Point) -> bool:
    return one.hanging == other.hanging and one.apart(other) < _ONE_REST


def _least_between(track: Track, low: Point, high: Point) -> Point:
    """Golden section from the low end."""
    best, begin, end = low, low.progress, high.progress
    near, far = begin + _GOLDEN * (end - begin), end - _GOLDEN * (end - begin)
    at_near, at_far = _between(track, low, high, near), _between(track, low, high, far)
    while at_near is not None and at_far is not None and abs(end - begin) > _LOCATED:
        best = min((best, at_near, at_far), key=lambda point: point.gm)
        if at_near.gm < at_far.gm or best is low:
            end, far, at_far = far, near, at_near
            near = begin + _GOLDEN * (end - begin)
            at_near = _between(track, low, high, near)
        else:
            begin, near, at_near = near, far, at_far
            far = end - _GOLDEN * (end - begin)
            at_far = _between(track, low, high, far)
    return best


def _between(track: Track, low: Point, high: Point, progress: float) -> Point | None:
    span = high.progress - low.progress
    share = (progress - low.progress) / span if span else 0.0
    guess = low.state + share * (high.state - low.state)
    found = track.on(guess, progress, hanging=low.hanging)
    if found is None or not found.stable or np.linalg.norm(found.state - guess) > 0.1:
        return None
    return found
