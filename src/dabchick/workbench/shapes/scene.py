"""What there is to draw.

GET /api/boats/{boat}/scene             -> SceneOut
GET /api/boats/{boat}/meshes?revision=N -> application/octet-stream

The second answer holds, for each body with a mesh in the order of `bodies`: positions as little-endian float32
(3 a vertex), then indices as uint32 (3 a triangle).
"""

from typing import Literal

from dabchick.workbench.shapes.advice import Shape
from dabchick.workbench.shapes.figures import Shown

BodyKind = Literal[
    "hull", "skin", "dry", "solid", "inside", "lead", "foam", "tank", "opening", "place", "keep_out"
]
Vector = tuple[float, float, float]


class MeshPlace(Shape):
    """Where a body's mesh stands in the binary answer, in bytes and counts."""

    offset: int
    vertices: int
    triangles: int


class Outlines(Shape):
    """Outlines in three views, house frame [m]; each a list of closed rings of points."""

    side: list[list[tuple[float, float]]]
    """x, z."""
    top: list[list[tuple[float, float]]]
    """x, y."""
    end: list[list[tuple[float, float]]]
    """y, z."""


class Body(Shape):
    """One thing to draw."""

    key: str
    """In the boat file, counting from 1, such as `part[3]` or `tank[1]`; `hull` for the hull. Each stands once."""
    row: int | None
    """Of its table in the file, counting from 0, as the paths of edits do; None where it stands in no such table."""
    carries: list[str]
    """Keys of what goes along when it is dragged: what is in a dry part. A page that drags it asks for, and saves,
    the same shift for these."""
    name: str
    kind: BodyKind
    inside: str
    from_trim: bool
    movable: bool
    """A page may drag it."""
    centre_m: Vector
    """Centre of mass; of the room for a tank or place."""
    low_m: Vector
    high_m: Vector
    mass: Shown
    at: list[str]
    """Its `at` as written in the file; empty where it has none."""
    mesh: MeshPlace | None
    outlines: Outlines


class Dimension(Shape):
    """A dimension line in one view, from one point to another, with its text in the builder's datum and units."""

    view: Literal["side", "top", "end"]
    start: tuple[float, float]
    end: tuple[float, float]
    text: str


class SceneOut(Shape):
    """The boat for drawing, in the house frame: x forward, y to port, z up [m]."""

    revision: int
    length_m: float
    low_m: Vector
    """Of the box round all that is drawn, dimension lines with it."""
    high_m: Vector
    waterline_m: float
    waterline: str
    mark_bow_m: float
    mark_stern_m: float
    bodies: list[Body]
    dimensions: list[Dimension]
    notes: list[str]
    """What the picture leaves out, in words."""
    mesh_bytes: int
