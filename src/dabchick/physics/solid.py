"""Solids: weighted closed surfaces whose volumes add and subtract without any boolean operation."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dabchick.physics.surfaces import Surface

Array = NDArray[np.float64]


def vector(value: ArrayLike, what: str) -> Array:
    """Three finite numbers as an array; ValueError that names `what` otherwise."""
    numbers = np.array(value, dtype=np.float64)
    if numbers.shape != (3,) or not np.isfinite(numbers).all():
        raise ValueError(f"The {what} needs three finite numbers; given {value!r}.")
    return numbers


def rotation_matrix(value: ArrayLike) -> Array:
    """A 3x3 orthogonal matrix (a mirror is allowed); ValueError otherwise."""
    matrix = np.array(value, dtype=np.float64)
    if matrix.shape != (3, 3) or not np.allclose(matrix @ matrix.T, np.eye(3), rtol=0.0, atol=1e-9):
        raise ValueError("A rotation needs a 3x3 matrix with R R^T = 1; scale the solid's sizes instead.")
    return matrix


@dataclass(frozen=True, eq=False)
class Solid:
    """A body as the sum of weighted closed surfaces, in one frame [m]."""

    surfaces: tuple[Surface, ...]

    def moved(self, translation: ArrayLike, rotation: ArrayLike | None = None) -> "Solid":
        """x' = R x + t, t [m]; a pure shift costs next to nothing."""
        shift = vector(translation, "translation")
        turn = None if rotation is None else rotation_matrix(rotation)
        return Solid(tuple(surface.moved(shift, turn) for surface in self.surfaces))

    def weighted(self, factor: float) -> "Solid":
        """All volumes times `factor`; wetted areas stay."""
        if not np.isfinite(factor):
            raise ValueError(f"The weight of a solid needs a finite number; given {factor}.")
        return Solid(
            tuple(surface.weighted(factor * surface.weight, surface.area_weight) for surface in self.surfaces)
        )

    def __add__(self, other: "Solid") -> "Solid":
        """Both bodies; where they overlap, the overlap counts twice."""
        return Solid(self.surfaces + other.surfaces)

    def __sub__(self, other: "Solid") -> "Solid":
        """This body less `other`, which has to lie inside it; its surface counts as wetted too."""
        return self + other.weighted(-1.0)

    def bounds(self) -> tuple[Array, Array]:
        """Lowest and highest corner (3,) of the box round it along the frame's axes [m]."""
        corners = [surface.bounds() for surface in self.surfaces]
        return (
            np.min([low for low, _ in corners], axis=0),
            np.max([high for _, high in corners], axis=0),
        )

    def __getstate__(self) -> dict[str, object]:
        """Taken at one moment: another thread may be adding what it has just worked out."""
        return self.__dict__.copy()

    @cached_property
    def volume(self) -> float:
        """Weighted volume [m3]."""
        return float(sum(surface.weight * surface.bulk().volume for surface in self.surfaces))

    @cached_property
    def centre(self) -> Array:
        """(3,) centre of the weighted volume [m]; ValueError when the volume is 0."""
        volume = self.volume
        if volume == 0.0:
            raise ValueError("A solid without volume has no centre. Check its sizes.")
        middle = self._middle()
        local = self._moment(middle)
        return np.asarray(middle + local / volume)

    @property
    def area(self) -> float:
        """Area of all its wetted faces when wholly under [m2]."""
        return float(sum(surface.area_weight * surface.bulk().area for surface in self.surfaces))

    def inertia(self) -> Array:
        """(3, 3) int (r.r 1 - r r^T) dV about its own centre [m5]; times mass/volume for a uniform body."""
        centre = self.centre
        second = np.zeros((3, 3))
        for surface in self.surfaces:
            second += surface.weight * surface.moved(-centre, None).bulk().second
        return np.asarray(np.trace(second) * np.eye(3) - second)

    def meshes(self, segments: int = 96) -> list[tuple[Array, NDArray[np.int64], float]]:
        """Vertices (n, 3) [m], faces (m, 3) and weight of each surface; round ones with that many sides."""
        return [(*surface.mesh(segments), surface.weight) for surface in self.surfaces]

    def _middle(self) -> Array:
        low, high = self.bounds()
        return np.asarray(0.5 * (low + high))

    def _moment(self, about: Array) -> Array:
        total = np.zeros(3)
        for surface in self.surfaces:
            total += surface.weight * surface.moved(-about, None).bulk().moment
        return total


def together(solids: Sequence[Solid]) -> Solid:
    """All surfaces of many solids as one."""
    return Solid(tuple(surface for solid in solids for surface in solid.surfaces))
