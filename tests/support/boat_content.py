"""A boat file's content with a box for a hull, and the vessel that is made of it."""

from typing import Any

from dabchick.model.assemble import vessel
from dabchick.model.boat import Boat
from dabchick.model.hull_surface import HullSurface
from dabchick.model.vessel import Item, Vector, Vessel
from dabchick.physics import shapes

LENGTH, WIDTH, HEIGHT = 0.6, 0.1, 0.12
AXIS, WATERLINE = 0.052, 0.07


def box_hull(shift: Vector = (0.0, 0.0, 0.0), solid_walled: bool = False) -> HullSurface:
    ((vertices, faces, _),) = shapes.box(LENGTH, WIDTH, HEIGHT).moved(shift).meshes()
    return HullSurface(vertices, faces, "box", solid_walled)


def content(**changes: Any) -> dict[str, Any]:
    table = {
        "dabchick": 1,
        "name": "Box",
        "measured_from": {"x": "stern", "z": "keel"},
        "hull": {
            "mesh": "box.stl",
            "unit": "mm",
            "skin": {"thickness": "2 mm", "spread": "0.2 mm", "density": "1450 kg/m^3"},
            "waterline": "70 mm",
        },
    }
    return {**table, **changes}


def built(**changes: Any) -> Vessel:
    return vessel(Boat.model_validate(content(**changes)), box_hull((3.0, 0.0, -5.0)))


def part(**keys: Any) -> dict[str, Any]:
    return {"name": "thing", "kind": "solid", "at": ["200 mm", 0, "50 mm"], **keys}


def only(**keys: Any) -> Item:
    return built(part=[part(**keys)]).items[-1]


def tank(**keys: Any) -> dict[str, Any]:
    return {
        "name": "main",
        "system": "vented pump",
        "shape": {"cylinder": {"length": "100 mm", "diameter": "40 mm"}},
        "at": ["400 mm", 0, "50 mm"],
        **keys,
    }
