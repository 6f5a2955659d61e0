"""Joining and measuring print files: what runs in a process of its own, since the files may be anything."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from dabchick.model.prints_ask import PrintsAsk
from dabchick.storage.coarser import coarser
from dabchick.storage.join import join, write_joined
from dabchick.storage.piece_file import PieceFile
from dabchick.studies.prints import PrintsResult, WallMap, run
from dabchick.workbench.jobs import Tell

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

MOST_DRAWN: Final = 24_000
"""Triangles of the map in the picture."""
FEW: Final = 80_000
"""Points read on the walls, so that a builder need not wait long."""


@dataclass(frozen=True, eq=False)
class Joining:
    """The study's result without its map, the joined file, and the map as it is drawn."""

    result: PrintsResult
    file: Path
    vertices_m: Array
    faces: Indices
    bands: Indices
    """(m,) place among the bands from 0, -1 for none"""


def work(
    tell: Tell, files: Sequence[PieceFile], ask: PrintsAsk, stack: bool, gap_m: float, out: Path
) -> Joining:
    """Join the files, measure them, and write the joined mesh into a new file."""
    joined = join(
        files,
        stack=stack,
        gap_m=gap_m,
        judge_size=ask.length_m is None,
        tell=lambda text, share: tell(text, 0.6 * share),
    )
    tell("Measuring the walls", 0.45)
    result = run(joined.pile, ask, most_samples=FEW)
    found = result.map
    if found is None:
        raise TypeError("The study gives a map with its result.")
    tell("Drawing the map", 0.85)
    write_joined(found.vertices_m, found.faces, out)
    vertices, faces, bands = drawn(found)
    return Joining(replace(result, map=None), out, vertices, faces, bands)


def drawn(found: WallMap) -> tuple[Array, Indices, Indices]:
    """The map with at most MOST_DRAWN triangles; each takes the band of the triangle nearest to its middle."""
    vertices, faces = coarser(found.vertices_m, found.faces, MOST_DRAWN)
    if faces is found.faces:
        return vertices, faces, found.band
    known = np.flatnonzero(found.band >= 0)
    if len(known) == 0:
        return vertices, faces, np.full(len(faces), -1, np.int64)
    middles = found.vertices_m[found.faces[known]].mean(axis=1)
    nearest = cKDTree(middles).query(vertices[faces].mean(axis=1))[1]
    return vertices, faces, found.band[known][nearest]
