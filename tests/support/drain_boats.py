"""A box of a boat, thick-skinned and open to the water, whose statics and flows are closed forms."""

import math
from dataclasses import dataclass, replace

import numpy as np

from dabchick.model.vessel import InnerOpening, Item, Space, Tank, Vector, Vessel
from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from tests.support.vessels import RHO, item, small_vessel

LENGTH, WIDTH, HEIGHT, SKIN = 0.6, 0.1, 0.12, 0.01
INNER = (LENGTH - 2 * SKIN, WIDTH - 2 * SKIN, HEIGHT - 2 * SKIN)
AREA_IN = INNER[0] * INNER[1]
TANK_M3 = 0.75e-3
MIDDLE = 0.5 * LENGTH


@dataclass(frozen=True)
class BoxBoat:
    """Masses and the height of their centre; the tank's water sits at the same middle."""

    mass_kg: float = 1.3
    centre_z_m: float = 0.02
    tank_z_m: float = 0.05

    @property
    def shell_m3(self) -> float:
        return LENGTH * WIDTH * HEIGHT - INNER[0] * INNER[1] * INNER[2]

    def draught_m(self, tank_m3: float, water_m3: float) -> float:
        """All of the outer box under water carries boat, tank and the water in her."""
        return (self.mass_kg / RHO + tank_m3 + water_m3) / (LENGTH * WIDTH)

    def level_m(self, water_m3: float) -> float:
        return SKIN + water_m3 / AREA_IN

    def gm_m(self, tank_m3: float, water_m3: float) -> float:
        """Box formulas: KB = T / 2, I = l b^3 / 12 outside less inside, over her own mass; the space not full."""
        draught, depth = self.draught_m(tank_m3, water_m3), water_m3 / AREA_IN
        own = self.mass_kg + RHO * tank_m3
        up = RHO * LENGTH * WIDTH * draught * draught / 2.0 + RHO * LENGTH * WIDTH**3 / 12.0
        down = self.mass_kg * self.centre_z_m + RHO * tank_m3 * self.tank_z_m
        down += RHO * water_m3 * (SKIN + depth / 2.0) + RHO * INNER[0] * INNER[1] ** 3 / 12.0
        return (up - down) / own


def box_vessel(
    boat: BoxBoat = BoxBoat(),
    *,
    floor_mm2: float = 60.0,
    roof_mm2: float = 2000.0,
    openings: tuple[tuple[Vector, float], ...] | None = None,
    spaces: tuple[Space, ...] = (),
    inner_openings: tuple[InnerOpening, ...] = (),
) -> Vessel:
    """One hole in the middle of the floor, one in the roof, a piston tank of 0.75 l."""
    outer = _at(shapes.box(LENGTH, WIDTH, HEIGHT), 0.5 * HEIGHT)
    inner = _at(shapes.box(*INNER), 0.5 * HEIGHT)
    shell = outer - inner
    skin = Item(
        name="skin",
        kind="skin",
        mass_kg=0.1,
        mass_spread_kg=0.0,
        centre_m=(MIDDLE, 0.0, boat.centre_z_m),
        centre_spread_m=(0.0, 0.0, 0.0),
        known="computed",
        solid=shell,
        volume_m3=shell.volume,
        volume_spread_m3=0.0,
        volume_centre_m=(MIDDLE, 0.0, 0.5 * HEIGHT),
        inertia_kg_m2=np.zeros((3, 3)),
    )
    weight = item("weight", "inside", boat.mass_kg - 0.1, (MIDDLE, 0.0, boat.centre_z_m), inside="wall")
    # a bore of no length in z, so that its water's centre stays at one height; along x it is moved by the share
    bore = shapes.cylinder(0.1, 2.0 * math.sqrt(TANK_M3 / 0.1 / math.pi)).moved((MIDDLE, 0.0, boat.tank_z_m))
    tank = Tank(
        name="main",
        system="piston",
        solid=bore,
        capacity_m3=TANK_M3,
        centre_m=(MIDDLE, 0.0, boat.tank_z_m),
        inside="wall",
        # a piston that moves across nothing: its water's centre is that of the tank at every share
        piston_direction=(0.0, 0.0, 0.0),
        bore_area_m2=TANK_M3 / 0.1,
    )
    given = openings
    if given is None:
        given = (
            ((MIDDLE, 0.0, SKIN), floor_mm2 * 1e-6),
            ((MIDDLE, 0.0, HEIGHT - SKIN), roof_mm2 * 1e-6),
        )
    return replace(
        small_vessel(),
        name="box",
        length_m=LENGTH,
        low_m=(0.0, -0.5 * WIDTH, 0.0),
        high_m=(LENGTH, 0.5 * WIDTH, HEIGHT),
        hull=outer,
        hull_inside=inner,
        waterline_m=0.08,
        mark_bow_m=0.54,
        mark_stern_m=0.06,
        items=(skin, weight),
        tanks=(tank,),
        openings=given,
        spaces=spaces,
        inner_openings=inner_openings,
    )


def _at(solid: Solid, height: float) -> Solid:
    return solid.moved((MIDDLE, 0.0, height))
