"""A floating tube with water and gear inside against scipy's minimum of an energy that shares no code with ours.

The other route is that of test_equilibrium: manifold3d cuts tube and room, levels come from scipy's root finder, and
the energy is minimised with numerical gradients. Its room is made of manifold3d's own primitives, not by our offset.
"""

import math
from dataclasses import replace

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.physics.equilibrium import up_vector
from dabchick.studies import leak
from dabchick.studies.leak_path import flooded, settle
from dabchick.studies.leak_room import dry_rooms
from tests.crosscheck.test_equilibrium import Boat, arrays_of, bulk
from tests.support.leaking import RHO, of_bodies, thing
from tests.support.vessels import item

Array = NDArray[np.float64]

SIDES = 12
LONG, RADIUS, WALL = 0.36, 0.045, 0.003
MASS, CENTRE = 1.5, np.array([0.012, 0.001, -0.018])
CELLS, CELLS_AT = (0.11, 0.04, 0.03), (0.05, 0.0, -0.019)
MOTOR, MOTOR_AT = (0.05, 0.03, 0.03), (-0.11, 0.004, -0.006)
TRAY, TRAY_AT = (0.2, 0.038, 0.004), (0.03, 0.0, -0.033)


def tube(long: float, radius: float) -> manifold3d.Manifold:
    """A prism of 12 sides along x."""
    return manifold3d.Manifold.cylinder(long, radius, radius, SIDES, True).rotate((0.0, 90.0, 0.0))


def other_room() -> manifold3d.Manifold:
    """Each flat moves in by the wall, so the circle through the corners shrinks by wall / cos(pi / 12)."""
    room = tube(LONG - 2.0 * WALL, RADIUS - WALL / math.cos(math.pi / SIDES))
    for size, at in ((CELLS, CELLS_AT), (MOTOR, MOTOR_AT), (TRAY, TRAY_AT)):
        room -= manifold3d.Manifold.cube(size, True).translate(at)
    return room


def vessel() -> Vessel:
    body = item("tube", "dry", MASS, (0.0, 0.0, 0.0), shapes.mesh(*arrays_of(tube(LONG, RADIUS))))
    gear = (
        thing("cells", CELLS_AT, shapes.box(*CELLS), "tube", 0.0),
        thing("motor", MOTOR_AT, shapes.box(*MOTOR), "tube", 0.0),
        thing("tray", TRAY_AT, shapes.box(*TRAY), "tube", 0.0),
    )
    assert body.solid is not None
    return of_bodies((replace(body, centre_m=tuple(CENTRE)), *gear), body.solid)


def test_the_room_is_the_same_body() -> None:
    [room] = dry_rooms(vessel(), WALL)
    volume, moment = bulk(other_room())
    assert room.volume_m3 == pytest.approx(volume, rel=1e-9)
    assert room.solid.centre == pytest.approx(moment / volume, abs=1e-9)
    # cells and tray share room, which is off once: with it off twice she would hold less
    shared = 0.11 * 0.038 * 0.003
    apart = empty_inside() - np.prod(CELLS) - np.prod(MOTOR) - np.prod(TRAY)
    assert room.volume_m3 == pytest.approx(float(apart) + shared, rel=1e-9)


def empty_inside() -> float:
    """Volume of the empty inside: a 12-gon of the inner corners' circle, drawn out."""
    inner = RADIUS - WALL / math.cos(math.pi / SIDES)
    return 0.5 * SIDES * inner**2 * math.sin(2.0 * math.pi / SIDES) * (LONG - 2.0 * WALL)


@pytest.mark.parametrize("water_ml", [30.0, 110.0, 240.0])
def test_she_rests_where_the_other_energy_is_least(water_ml: float) -> None:
    boat = vessel()
    wet = flooded(boat, [dry_rooms(boat, WALL)[0].solid], ["tube"])
    water = water_ml * 1e-6
    loading = wet.loading(water, {})
    scale = RHO / 1000.0
    # the other route has water of 1000 kg/m3: all masses in that measure
    other = Boat(tube(LONG, RADIUS), (other_room(),), (water,), MASS / scale, CENTRE)
    up, offset, energy = other.lowest(up_vector(5.0, 2.0))
    rest = settle(loading.balance, up_vector(5.0, 2.0), 0.0, hanging=False)
    assert rest is not None
    assert rest.stable
    assert rest.normal == pytest.approx(up, abs=5e-5)
    assert rest.offset_m == pytest.approx(offset, abs=5e-6)
    assert rest.energy_kg_m / scale == pytest.approx(energy, abs=1e-9 * MASS)


def test_the_study_follows_her_to_the_end() -> None:
    """A late floating stage is a minimum of the other energy too; the end is where she weighs all she displaces."""
    result = leak.run(vessel(), wall_m=WALL)
    volume, _ = bulk(tube(LONG, RADIUS))
    assert result.chosen.reserve_m3 == pytest.approx(volume - MASS / RHO, rel=1e-9)
    stage = [entry for entry in result.stages if entry.afloat.condition == "floats"][-2]
    scale = RHO / 1000.0
    other = Boat(tube(LONG, RADIUS), (other_room(),), (stage.water_m3,), MASS / scale, CENTRE)
    lie = stage.afloat
    up, offset, energy = other.lowest(np.array(lie.normal))
    assert np.array(lie.normal) == pytest.approx(up, abs=2e-4)
    assert lie.offset_m == pytest.approx(offset, abs=2e-5)
    assert other.energy(np.array(lie.normal), lie.offset_m) <= energy + 1e-9
