"""Shapes made to hold a wished volume: longer or shorter along their length, or of another bore."""

import math

from dabchick.model.boat import TankTable
from dabchick.model.shape import Cylinder, Shape
from dabchick.physics.solid import Solid


def of_volume(shape: Shape, body: Solid, volume_m3: float) -> Shape | None:
    """The shape with its length changed so that it holds a volume; None for one that has no length to change.

    `body` is the shape's own body. A sphere changes its diameter.
    """
    share = volume_m3 / body.volume
    if shape.box is not None:
        length, width, height = shape.box.size
        return shape.model_copy(
            update={"box": shape.box.model_copy(update={"size": (length * share, width, height)})}
        )
    if shape.sphere is not None:
        diameter = shape.sphere.diameter * share ** (1.0 / 3.0)
        return shape.model_copy(update={"sphere": shape.sphere.model_copy(update={"diameter": diameter})})
    if shape.capsule is not None:
        bore = shape.capsule.diameter
        # A cylinder between two half balls: pi/4 d2 (length - d) + pi/6 d3.
        length = volume_m3 / (0.25 * math.pi * bore**2) + bore / 3.0
        if length < bore:
            return None
        return shape.model_copy(update={"capsule": shape.capsule.model_copy(update={"length": length})})
    for name in ("cylinder", "cone", "prism"):
        plain = getattr(shape, name)
        if plain is not None:
            longer = plain.model_copy(update={"length": plain.length * share})
            return shape.model_copy(update={name: longer})
    if shape.extrusion is not None:
        outline = tuple((x * share, y) for x, y in shape.extrusion.outline)
        return shape.model_copy(update={"extrusion": shape.extrusion.model_copy(update={"outline": outline})})
    return None


def of_bore(shape: Shape | None, bore_m: float, volume_m3: float) -> Shape:
    """A cylinder of a bore that holds a volume, along the axis of the shape's own where it is one."""
    axis = shape.cylinder.axis if shape is not None and shape.cylinder is not None else "x"
    length = volume_m3 / (0.25 * math.pi * bore_m**2)
    cylinder = Cylinder.model_construct(length=length, diameter=bore_m, axis=axis)
    return Shape.model_construct(cylinder=cylinder)


def length_of(tank: TankTable) -> float:
    """The length that `of_volume` changes; NaN where there is none."""
    shape = tank.shape
    if shape.box is not None:
        return shape.box.size[0]
    plain = shape.cylinder or shape.capsule or shape.cone or shape.prism
    return plain.length if plain is not None else math.nan
