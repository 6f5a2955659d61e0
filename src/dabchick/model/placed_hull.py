"""The hull in the house frame: outer form, inner form, material; and where the builder measures from."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.boat import Hull, MeasuredFrom
from dabchick.model.hull_surface import HullSurface, shells
from dabchick.model.vessel import Datum, Vector
from dabchick.physics import shapes
from dabchick.physics.skin import offset_surface
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import MeshSurface, mesh_surface

Array = NDArray[np.float64]

LEAST_ROOM = 1e-6
"""Of the outer volume; a skin that leaves less inside leaves nothing."""


@dataclass(frozen=True, eq=False)
class PlacedHull:
    """x = 0 at the aftermost point, z = 0 at the lowest."""

    outer: Solid
    inner: Solid
    material: Solid
    """The skin, or the whole mesh of a solid-walled hull."""
    high_m: Vector
    low_m: Vector
    assumptions: tuple[str, ...] = ()

    @property
    def length_m(self) -> float:
        return self.high_m[0]

    @property
    def height_m(self) -> float:
        return self.high_m[2]


def placed_hull(hull: Hull, surface: HullSurface) -> PlacedHull:
    """Outer and inner form and the material between, shifted into the house frame.

    Raises ValueError when the surface is not closed and outward, or a skin has no thickness.
    """
    if hull.solid_walled:
        return _solid_walled(surface)
    thickness = hull.skin.thickness
    if thickness is None:
        raise ValueError("The skin has no thickness. Give one, or say that the hull is solid_walled.")
    given = shapes.mesh(surface.vertices, surface.faces)
    (form,) = given.surfaces
    if not isinstance(form, MeshSurface):
        raise TypeError("A hull's form is a mesh.")
    offset = offset_surface(form, -thickness if hull.skin.outside else thickness)
    other = Solid((mesh_surface(offset, surface.faces),))
    outer, inner = (other, given) if hull.skin.outside else (given, other)
    if inner.volume <= LEAST_ROOM * outer.volume:
        raise ValueError("The skin is so thick that nothing is left inside. Give a smaller thickness.")
    # As `skin` makes it, but both forms and the material share their surfaces, which are slow to prepare.
    dry_face = tuple(face.weighted(-1.0, 0.0) for face in inner.surfaces)
    return _shifted(outer, inner, Solid(outer.surfaces + dry_face), ())


def datum_of(measured_from: MeasuredFrom, hull: Hull, length_m: float) -> Datum:
    """Where the builder's zero lies in the house frame."""
    heights = {"keel": 0.0, "waterline": hull.waterline, "axis": measured_from.axis_height or 0.0}
    return Datum(
        x_from=measured_from.x,
        z_from=measured_from.z,
        x_origin_m=length_m if measured_from.x == "bow" else 0.0,
        z_origin_m=heights[measured_from.z],
    )


def vector(values: Array) -> Vector:
    """Three plain floats."""
    x, y, z = (float(value) for value in values)
    return (x, y, z)


def _solid_walled(surface: HullSurface) -> PlacedHull:
    material = shapes.mesh(surface.vertices, surface.faces)
    found = shells(surface)
    assumptions: tuple[str, ...] = ()
    outside = [shell for shell in found if shell[2] > 0.0]
    outer = shapes.mesh(*outside[0][:2])
    cavities = [shell for shell in found if shell[2] < 0.0]
    if cavities:
        vertices, faces, _ = cavities[0]
        inner = shapes.mesh(vertices, faces[:, ::-1])
    else:
        inner = outer
        assumptions = (
            "hull: the mesh is one shell, so the room inside it is taken to be the mesh's own outer form",
        )
    return _shifted(outer, inner, material, assumptions)


def _shifted(outer: Solid, inner: Solid, material: Solid, assumptions: tuple[str, ...]) -> PlacedHull:
    low, high = outer.bounds()
    shift = np.array([-low[0], 0.0, -low[2]])
    return PlacedHull(
        outer=outer.moved(shift),
        inner=inner.moved(shift),
        material=material.moved(shift),
        low_m=vector(low + shift),
        high_m=vector(high + shift),
        assumptions=assumptions,
    )
