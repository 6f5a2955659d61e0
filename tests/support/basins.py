"""Boxes of water in a boat that stands still, for tests of running water."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from dabchick.physics import shapes
from dabchick.physics.cut import forest
from dabchick.physics.draining import OUTSIDE, Holes, Moment, Spaces, Stand, begin, run_off
from dabchick.physics.orifice import AIR_KG_M3

Array = NDArray[np.float64]
UP = np.array([0.0, 0.0, 1.0])
Box = tuple[float, float, float, float]
"""Length, width, height, height of the floor."""
Hole = tuple[float, float, int, int]
"""Height, area, space, other."""


def basins(boxes: Sequence[Box]) -> Spaces:
    solids = [
        shapes.box(length, width, tall).moved((0.0, 0.0, floor + 0.5 * tall))
        for length, width, tall, floor in boxes
    ]
    trees, starts = forest(solids)
    starts = starts.astype(np.int64)
    return Spaces(trees, starts[:-1], starts[1:], np.array([solid.volume for solid in solids]))


def holes(rows: Sequence[Hole], discharge: float, normal: Sequence[float] = (0.0, 0.0, 1.0)) -> Holes:
    count = len(rows)
    return Holes(
        places=np.array([(0.0, 0.0, row[0]) for row in rows]).reshape(count, 3),
        normals=np.tile(np.array(normal, dtype=np.float64), (count, 1)),
        areas=np.array([row[1] for row in rows]),
        discharge=np.full(count, discharge),
        inner=np.array([row[2] for row in rows], dtype=np.int64),
        outer=np.array([row[3] for row in rows], dtype=np.int64),
    )


def at(offset: float) -> Stand:
    return Stand(UP, offset, np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), np.zeros((3, 3)), False)


def moments(
    spaces: Spaces,
    openings: Holes,
    water: Sequence[float],
    outside: Callable[[float], float],
    until: Callable[[Moment], bool],
    *,
    density: float = 1000.0,
    longest: float = 1e9,
    tolerance: float = 3e-4,
    most: int = 2000,
) -> list[Moment]:
    """Every moment up to and with the first for which `until` holds."""
    found = [begin(spaces, np.array(water), at(outside(0.0)), density)]
    running = run_off(
        spaces, openings, lambda time, held, before: at(outside(time)), found[0], density, AIR_KG_M3,
        longest_s=lambda time: longest, first_s=min(1e-2, longest), tolerance=tolerance,
    )  # fmt: skip
    for now in running:
        found.append(now)
        if until(now):
            return found
        assert len(found) < most, "the water comes to no end"
    raise AssertionError


__all__ = ["OUTSIDE", "at", "basins", "holes", "moments"]
