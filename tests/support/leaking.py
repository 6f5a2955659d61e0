"""Plain boats of one sealed body, so that what water inside does to them has a closed form."""

from dataclasses import replace

import numpy as np

from dabchick.model.vessel import Item, Tank, Vector, Vessel
from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from tests.support.vessels import RHO, item, small_vessel

BOX = (0.6, 0.12, 0.1)
BOX_MIDDLE: Vector = (0.3, 0.0, 0.05)
TUBE = (0.4, 0.08)
"""Length and diameter."""
TUBE_MIDDLE: Vector = (0.2, 0.0, 0.04)


def of_bodies(items: tuple[Item, ...], hull: Solid, tanks: tuple[Tank, ...] = ()) -> Vessel:
    """A vessel of these items; the hull is for drawing and draughts only."""
    low, high = hull.bounds()
    length = float(high[0] - low[0])
    return small_vessel(
        items=items,
        tanks=tanks,
        hull=hull,
        hull_inside=hull,
        length_m=length,
        low_m=tuple(map(float, low)),
        high_m=tuple(map(float, high)),
        mark_bow_m=0.9 * length,
        mark_stern_m=0.1 * length,
        waterline_m=0.04,
    )


def box_boat(mass_kg: float = 3.0, centre: Vector = (0.3, 0.0, 0.03), *inside: Item) -> Vessel:
    """A sealed box 600 x 120 x 100 mm, all its mass at one point."""
    body = item("hold", "dry", mass_kg, BOX_MIDDLE, shapes.box(*BOX))
    body = replace(body, centre_m=centre)
    assert body.solid is not None
    return of_bodies((body, *inside), body.solid)


def tube_boat(mass_kg: float, centre: Vector) -> Vessel:
    """A sealed round tube 400 x 80 mm, all its mass at one point."""
    body = item("tube", "dry", mass_kg, TUBE_MIDDLE, shapes.cylinder(*TUBE))
    body = replace(body, centre_m=centre)
    assert body.solid is not None
    return of_bodies((body,), body.solid)


def thing(name: str, centre: Vector, solid: Solid, inside: str = "hold", mass_kg: float = 1e-6) -> Item:
    """Something in a dry part that takes up room and hardly weighs anything."""
    return item(name, "inside", mass_kg, centre, solid, inside=inside)


def two_holds() -> Vessel:
    """Two sealed boxes end to end, each 300 mm long, on a keel of lead."""
    half = shapes.box(0.3, 0.12, 0.1)
    items = (
        replace(item("aft hold", "dry", 1.0, (0.15, 0.0, 0.05), half), centre_m=(0.15, 0.0, 0.02)),
        replace(item("fore hold", "dry", 1.0, (0.45, 0.0, 0.05), half), centre_m=(0.45, 0.0, 0.02)),
        item("keel", "lead", 1.2, (0.3, 0.0, -0.01), shapes.box(0.5, 0.03, 1.2 / 11340.0 / 0.015)),
    )
    return of_bodies(items, shapes.box(*BOX).moved(np.array(BOX_MIDDLE)))


__all__ = ["BOX", "RHO", "TUBE", "box_boat", "of_bodies", "thing", "tube_boat", "two_holds"]
