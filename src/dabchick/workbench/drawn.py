"""Solids as they are drawn: a mesh and three outlines, made once for each form however often it is moved."""

import hashlib
from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from typing import Final
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import MeshShape, MeshSurface, RevolvedSurface, Surface
from dabchick.report.silhouettes import Look, silhouette
from dabchick.storage.coarser import coarser
from dabchick.workbench.shapes.scene import Outlines

Array = NDArray[np.float64]
Ring = list[tuple[float, float]]

SIDES: Final = 64
"""Of round bodies."""
MOST_TRIANGLES: Final = 14_000
"""Of one body; a finer one is thinned, for drawing alone. More show nothing more on a screen and take their time."""
GRID_SHARE: Final = 2e-4
"""Outlines keep to a grid of this share of the body's longest side, and at least to `LEAST_GRID_M`."""
LEAST_GRID_M: Final = 2e-5
LEAST_RING: Final = 25.0
"""Rings of less area, in squares of the grid, are crumbs of rounding and left out."""
KEPT: Final = 600
"""Forms kept, the one unused longest goes first; most are parts of a few kilobytes."""
KEPT_BYTES: Final = 60_000_000

_AXES: Final[dict[Look, tuple[int, int]]] = {"side": (0, 2), "top": (0, 1), "end": (1, 2)}


@dataclass(frozen=True, eq=False)
class Drawn:
    """A form about its own anchor."""

    positions: NDArray[np.float32]
    """(n, 3) [m]"""
    indices: NDArray[np.uint32]
    """(m, 3)"""
    rings: dict[Look, list[Array]]
    thinned: bool

    @property
    def size(self) -> int:
        """About how many bytes it takes."""
        return self.positions.nbytes + self.indices.nbytes


class Forms:
    """Every form drawn lately, by what it is made of."""

    def __init__(self) -> None:
        self._kept: OrderedDict[bytes, Drawn] = OrderedDict()
        self._digests: WeakKeyDictionary[MeshShape, bytes] = WeakKeyDictionary()
        self._lock = Lock()

    def of(self, solid: Solid) -> tuple[Drawn, Array]:
        """The form and where its anchor (3,) stands in the house frame [m]."""
        anchor = _place(solid.surfaces[0])
        with self._lock:
            name = self._name(solid, anchor)
            found = self._kept.get(name)
            if found is None:
                found = self._kept[name] = _drawn(solid.moved(-anchor))
                while len(self._kept) > KEPT or (
                    len(self._kept) > 1 and sum(form.size for form in self._kept.values()) > KEPT_BYTES
                ):
                    self._kept.popitem(last=False)
            self._kept.move_to_end(name)
        return found, anchor

    def _name(self, solid: Solid, anchor: Array) -> bytes:
        mark = hashlib.blake2b(digest_size=16)
        for surface in solid.surfaces:
            # to a nanometre, so that the rounding of a shift makes no new form
            away = np.rint((_place(surface) - anchor) * 1e9)
            mark.update(away.tobytes() + np.array([np.sign(surface.weight)]).tobytes())
            mark.update(self._form(surface))
        return mark.digest()

    def _form(self, surface: Surface) -> bytes:
        if isinstance(surface, RevolvedSurface):
            return surface.pieces.tobytes() + surface.direction.tobytes()
        shape = surface.shape
        if shape not in self._digests:
            mark = hashlib.blake2b(np.ascontiguousarray(shape.vertices).tobytes(), digest_size=16)
            mark.update(np.ascontiguousarray(shape.faces).tobytes())
            self._digests[shape] = mark.digest()
        return self._digests[shape]


def _place(surface: Surface) -> Array:
    return surface.shift if isinstance(surface, MeshSurface) else surface.point


def _drawn(solid: Solid) -> Drawn:
    vertices, faces = [], []
    count = 0
    for points, corners, weight in solid.meshes(SIDES):
        # a hole's faces look into the hole
        faces.append((corners if weight > 0.0 else corners[:, ::-1]) + count)
        vertices.append(points)
        count += len(points)
    every, triangles = np.concatenate(vertices), np.concatenate(faces)
    thin = len(triangles) > MOST_TRIANGLES
    if thin:
        every, triangles = coarser(every, triangles, MOST_TRIANGLES)
    used, inverse = np.unique(triangles, return_inverse=True)
    return Drawn(
        every[used].astype("<f4"),
        inverse.reshape(triangles.shape).astype("<u4"),
        {look: _rings(solid, look) for look in _AXES},
        thin,
    )


def _rings(solid: Solid, look: Look) -> list[Array]:
    low, high = solid.bounds()
    grid = max(GRID_SHARE * float((high - low).max()), LEAST_GRID_M)
    return [
        ring for ring in silhouette(solid, look, grid, SIDES) if abs(_area(ring)) > LEAST_RING * grid * grid
    ]


def _area(ring: Array) -> float:
    after = np.roll(ring, -1, axis=0)
    return 0.5 * float(np.sum(ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1]))


def outlines(form: Drawn, anchor: Array) -> Outlines:
    """The outlines where the form stands, to a hundredth of a millimetre."""
    at = {
        look: [
            [(round(float(u), 5), round(float(v), 5)) for u, v in ring + anchor[list(axes)]] for ring in rings
        ]
        for (look, rings), axes in zip(form.rings.items(), _AXES.values(), strict=True)
    }
    return Outlines(side=at["side"], top=at["top"], end=at["end"])
