"""Several print files joined to one mesh: what each piece is, how they meet, and the mesh itself."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vector

MeshUnit = Literal["mm", "cm", "m", "in", "ft"]


@dataclass(frozen=True)
class Piece:
    """One piece as it lies among the others."""

    name: str
    unit: str
    triangles: int
    volume_m3: float
    area_m2: float
    low_m: Vector
    high_m: Vector
    moved_m: Vector
    """By how much it was moved beyond the builder's own shift, to stack it or to close a small gap."""
    mended: bool


@dataclass(frozen=True)
class Joint:
    """Two pieces that meet: they touch, nearly touch, or share room."""

    first: str
    second: str
    gap_m: float
    """0 where they touch or overlap."""
    overlap_m3: float
    """Room that both claim; it counts once in the joined mesh."""
    contact_m2: float
    """Surface on which they lie on each other once a gap is closed; NaN where they overlap."""
    at_m: Vector
    """Where they are nearest, or the middle of what they share."""


@dataclass(frozen=True, eq=False)
class Pile:
    """Print files joined to one closed outward mesh, in metres, axes as in the files."""

    name: str
    vertices_m: NDArray[np.float64]
    """(n, 3)"""
    faces: NDArray[np.int64]
    """(m, 3), counter-clockwise seen from outside"""
    pieces: tuple[Piece, ...]
    joints: tuple[Joint, ...]
    assumptions: tuple[str, ...] = ()
    advice: tuple[Advice, ...] = ()
    """Warnings of the joining."""
