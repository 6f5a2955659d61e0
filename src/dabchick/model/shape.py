"""Shapes as the boat file writes them: one table with one key, such as `{ box = { size = [...] } }`.

A shape is described from its own middle. Directions that matter (the two ends of a cone) are those of the
boat, not of the builder's datum, so that a flipped datum changes nothing; only the x of an outline runs the
builder's way.
"""

from collections.abc import Mapping
from typing import Any, ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import ConfigDict, model_validator
from pydantic.config import JsonDict

from dabchick.model.fields import Axis, Extent, FlatPoint, Gap, Table, mistake
from dabchick.model.hull_surface import HullSurface
from dabchick.physics import shapes
from dabchick.physics.solid import Solid

Array = NDArray[np.float64]
MeshUnit = Literal["mm", "cm", "m", "in", "ft"]

_TURN_FROM_X: dict[Axis, Array] = {
    "x": np.eye(3),
    "y": np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]),
    "z": np.array([[0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]]),
}


class Box(Table):
    """Length, width, height."""

    size: tuple[Extent, Extent, Extent]

    def solid(self) -> Solid:
        return shapes.box(*self.size)

    def grown(self, by_m: float) -> "Box":
        length, width, height = (side + 2.0 * by_m for side in self.size)
        return self.model_copy(update={"size": (length, width, height)})


class Cylinder(Table):
    length: Extent
    diameter: Extent
    axis: Axis = "x"

    def solid(self) -> Solid:
        return _along(shapes.cylinder(self.length, self.diameter), self.axis)

    def grown(self, by_m: float) -> "Cylinder":
        return self.model_copy(
            update={"length": self.length + 2.0 * by_m, "diameter": self.diameter + 2.0 * by_m}
        )


class Tube(Table):
    """A pipe open at both ends."""

    length: Extent
    outer: Extent
    inner: Extent
    axis: Axis = "x"

    @model_validator(mode="after")
    def _has_wall(self) -> "Tube":
        if self.inner >= self.outer:
            raise mistake(
                "The tube's inner diameter is not below its outer one.",
                "Swap or correct them.",
                "inner < outer",
            )
        return self

    def solid(self) -> Solid:
        return _along(shapes.tube(self.length, self.outer, self.inner), self.axis)


class Sphere(Table):
    diameter: Extent

    def solid(self) -> Solid:
        return shapes.sphere(self.diameter)

    def grown(self, by_m: float) -> "Sphere":
        return self.model_copy(update={"diameter": self.diameter + 2.0 * by_m})


class Capsule(Table):
    """A cylinder with half-round ends; the length is over all."""

    length: Extent
    diameter: Extent
    axis: Axis = "x"

    @model_validator(mode="after")
    def _is_long(self) -> "Capsule":
        if self.length < self.diameter:
            raise mistake(
                "The capsule is shorter than it is thick.",
                "Give its length over all, or use a sphere.",
                "length >= diameter",
            )
        return self

    def solid(self) -> Solid:
        return _along(shapes.capsule(self.length, self.diameter), self.axis)

    def grown(self, by_m: float) -> "Capsule":
        return self.model_copy(
            update={"length": self.length + 2.0 * by_m, "diameter": self.diameter + 2.0 * by_m}
        )


class Cone(Table):
    """Base and top diameter; the base is the end towards the stern (axis x), starboard (y) or keel (z)."""

    length: Extent
    base: Gap
    top: Gap = 0.0
    axis: Axis = "x"

    @model_validator(mode="after")
    def _has_body(self) -> "Cone":
        if self.base == 0.0 and self.top == 0.0:
            raise mistake(
                "The cone is a line.", "Give a diameter for its base, its top or both.", "one above 0"
            )
        return self

    def solid(self) -> Solid:
        if self.base >= self.top:
            body = shapes.cone(self.length, self.base, self.top)
        else:
            half_turn = np.diag([-1.0, -1.0, 1.0])
            body = shapes.cone(self.length, self.top, self.base).moved(np.zeros(3), half_turn)
        return _along(body, self.axis)


class Prism(Table):
    """An outline across the boat, [y, z] from the middle, carried along the length."""

    outline: tuple[FlatPoint, ...]
    length: Extent

    def solid(self) -> Solid:
        return shapes.prism(_outline(self.outline), self.length)


class Extrusion(Table):
    """An outline seen from above, [x, y] from the middle, x the builder's way, carried up the height."""

    outline: tuple[FlatPoint, ...]
    height: Extent

    def solid(self, x_sign: float = 1.0) -> Solid:
        outline = _outline(self.outline) * np.array([x_sign, 1.0])
        if x_sign < 0.0:
            outline = outline[::-1]
        return shapes.extruded(outline, self.height).moved(np.array([0.0, 0.0, -0.5 * self.height]))


class MeshShape(Table):
    """A closed mesh in the boat's folder, x forward and z up, placed by the middle of the box round it."""

    file: str
    unit: MeshUnit


def _one_key(schema: JsonDict) -> None:
    schema["minProperties"] = schema["maxProperties"] = 1


class Shape(Table):
    """One shape, named by its one key."""

    model_config = ConfigDict(json_schema_extra=_one_key)
    names: ClassVar[tuple[str, ...]] = (
        "box", "cylinder", "tube", "sphere", "capsule", "cone", "prism", "extrusion", "mesh",
    )  # fmt: skip

    box: Box | None = None
    cylinder: Cylinder | None = None
    tube: Tube | None = None
    sphere: Sphere | None = None
    capsule: Capsule | None = None
    cone: Cone | None = None
    prism: Prism | None = None
    extrusion: Extrusion | None = None
    mesh: MeshShape | None = None

    @model_validator(mode="before")
    @classmethod
    def _has_one_key(cls, given: Any) -> Any:
        if not isinstance(given, dict) or len(given) != 1:
            raise mistake(
                "A shape is one table with one key.",
                'Write it like { box = { size = ["60 mm", "30 mm", "20 mm"] } }.',
                f"one of {', '.join(cls.names)}",
            )
        return given

    def solid(self, x_sign: float, meshes: Mapping[str, HullSurface]) -> Solid:
        """The body round its own middle; `x_sign` is -1 where the builder measures x from the bow.

        `meshes` holds the mesh files by name. Raises ValueError when an outline or a mesh makes no body.
        """
        if self.extrusion is not None:
            return self.extrusion.solid(x_sign)
        if self.mesh is not None:
            surface = meshes[self.mesh.file]
            middle = 0.5 * (surface.vertices.min(axis=0) + surface.vertices.max(axis=0))
            return shapes.mesh(surface.vertices - middle, surface.faces)
        plain = (self.box, self.cylinder, self.tube, self.sphere, self.capsule, self.cone, self.prism)
        return next(body for body in plain if body is not None).solid()

    def grown(self, by_m: float) -> Solid | None:
        """The same shape, larger by `by_m` on every side; None for the kinds that cannot simply grow."""
        for body in (self.box, self.cylinder, self.sphere, self.capsule):
            if body is not None:
                return body.grown(by_m).solid()
        return None


def rotation(turn: tuple[float, float, float]) -> Array:
    """Turn by roll (starboard down), then pitch (bow up), then yaw (bow to port), all in rad: (3, 3)."""
    (cr, cp, cy), (sr, sp, sy) = np.cos(turn), np.sin(turn)
    roll = np.array([[1.0, 0.0, 0.0], [0.0, cr, -sr], [0.0, sr, cr]])
    pitch = np.array([[cp, 0.0, -sp], [0.0, 1.0, 0.0], [sp, 0.0, cp]])
    yaw = np.array([[cy, -sy, 0.0], [sy, cy, 0.0], [0.0, 0.0, 1.0]])
    turned: Array = yaw @ pitch @ roll
    return turned


def axis_turn(axis: Axis) -> Array:
    """The turn that takes +x to +y or +z."""
    return _TURN_FROM_X[axis]


def _along(body: Solid, axis: Axis) -> Solid:
    return body if axis == "x" else body.moved(np.zeros(3), _TURN_FROM_X[axis])


def _outline(points: tuple[FlatPoint, ...]) -> Array:
    return np.array(points, dtype=np.float64).reshape(-1, 2)
