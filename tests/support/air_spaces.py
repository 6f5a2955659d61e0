"""Flooded spaces of simple form for tests of trapped air, and an independent flood fill of cells in plain numpy."""

from collections import deque

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.columns import Columns, Walls, columns, walls
from dabchick.physics.opening_mouth import mouth
from dabchick.physics.solid import Solid
from dabchick.physics.trapped_air import Air, Mouth, trapped

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Hole = tuple[tuple[float, float, float], float]
SIDES = 192


class Space:
    """A space with things in it, asked for its air."""

    def __init__(self, inside: Solid, things: tuple[Solid, ...] = (), spacing: float = 1e-3) -> None:
        surfaces = [(vertices, faces) for vertices, faces, _ in inside.meshes(SIDES)]
        self.walls: Walls = walls(surfaces, [thing.meshes(SIDES) for thing in things])
        self.columns: Columns = columns(self.walls, spacing)

    def mouths(self, *holes: Hole) -> list[Mouth]:
        found = [mouth(self.walls, self.columns, np.array(place), radius) for place, radius in holes]
        assert all(entry is not None for entry in found)
        return [entry for entry in found if entry is not None]

    def air(self, up: Array, *holes: Hole, outside: float = np.inf) -> Air:
        return trapped(self.walls, self.columns, self.mouths(*holes), up, outside)


def mesh_of_cells(cells: Flags, size: float, corner: Array) -> tuple[Array, NDArray[np.int64]]:
    """The outward surface of a set of cubes: two triangles on every side that looks into the open."""
    padded = np.pad(cells, 1)
    vertices, faces = [], []
    for axis in range(3):
        first, second = (axis + 1) % 3, (axis + 2) % 3
        for way in (-1, 1):
            free = padded & ~np.roll(padded, -way, axis=axis)
            for cell in np.argwhere(free) - 1:
                base = cell.astype(float)
                base[axis] += 1.0 if way > 0 else 0.0
                ring = [base.copy() for _ in range(4)]
                ring[1][first] += 1.0
                ring[2][first] += 1.0
                ring[2][second] += 1.0
                ring[3][second] += 1.0
                start = len(vertices)
                vertices += [corner + size * point for point in (ring if way > 0 else ring[::-1])]
                faces += [(start, start + 1, start + 2), (start, start + 2, start + 3)]
    return np.array(vertices), np.array(faces, dtype=np.int64)


def cells_with_air(
    cells: Flags, holes: list[tuple[tuple[int, int, int], int, int]], axis: int, way: int
) -> Flags:
    """Cells that keep their air when `way` along `axis` is up: a flood fill layer by layer, and nothing else.

    Each hole is a cell and the side of it (axis, way) in whose middle it stands; every cell is halved each way first,
    so that the middle of a side lies between two layers. Returns the halved cells.
    """
    fine = cells.repeat(2, 0).repeat(2, 1).repeat(2, 2)
    marks = []
    for cell, hole_axis, hole_way in holes:
        inner = [2 * index for index in cell]
        inner[hole_axis] += 1 if hole_way > 0 else 0
        height = 2 * cell[axis] + 1 if hole_axis != axis else 2 * cell[axis] + (2 if hole_way > 0 else 0)
        marks.append((tuple(inner), height))
    if way < 0:
        tall = fine.shape[axis]
        fine = np.flip(fine, axis)
        turned = []
        for inner, height in marks:
            place = list(inner)
            place[axis] = tall - 1 - place[axis]
            turned.append((tuple(place), tall - height))
        marks = turned
    air = np.zeros_like(fine)
    layers = np.arange(fine.shape[axis])
    for layer in layers:
        above = fine & (np.expand_dims(layers, [a for a in range(3) if a != axis]) >= layer)
        wet = np.zeros_like(fine)
        waiting = deque(place for place, height in marks if height >= layer + 1 and above[place])
        while waiting:
            place = waiting.popleft()
            if wet[place]:
                continue
            wet[place] = True
            for step_axis in range(3):
                for step in (-1, 1):
                    beside = list(place)
                    beside[step_axis] += step
                    if (
                        0 <= beside[step_axis] < fine.shape[step_axis]
                        and above[tuple(beside)]
                        and not wet[tuple(beside)]
                    ):
                        waiting.append(tuple(beside))
        here = [slice(None)] * 3
        here[axis] = slice(layer, layer + 1)
        air[tuple(here)] = (above & ~wet)[tuple(here)]
    return np.flip(air, axis) if way < 0 else air
