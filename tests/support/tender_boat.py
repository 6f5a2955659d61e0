"""A small invented vessel that goes over on her way down."""

import math
from dataclasses import replace

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from tests.support.vessels import small_vessel


def tender_vessel() -> Vessel:
    """The small vessel with her battery 12 mm higher, so that she leans to port, and a narrow tank to starboard.

    Filling it makes her lean less and less, until she goes over to starboard; emptying it again leaves her there.
    """
    vessel = small_vessel()
    length, bore, centre = 0.075, 0.03, (0.47, -0.03, 0.05)
    area = 0.25 * math.pi * bore**2
    tank = replace(
        vessel.tanks[0],
        solid=shapes.cylinder(length, bore).moved(np.array(centre)),
        centre_m=centre,
        capacity_m3=area * length,
        bore_area_m2=area,
    )
    items = tuple(
        replace(item, centre_m=(item.centre_m[0], item.centre_m[1], item.centre_m[2] + 0.012))
        if item.name == "battery"
        else item
        for item in vessel.items
    )
    return replace(vessel, tanks=(tank,), items=items)
