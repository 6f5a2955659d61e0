"""Air squeezed by depth, and what it weighs, against the sources' tables."""

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.balance import ATMOSPHERE_PA, TankWater
from dabchick.physics.hung import described
from dabchick.physics.squeezed_air import squeezed_share
from dabchick.studies.squeeze import air_density_kg_m3
from tests.reference.values import read, rows
from tests.support.rest import UP, boat

COLD_FRESH = 999.7


@pytest.mark.parametrize("row", rows("soft_air", "soft_bound"), ids=lambda row: f"{row['depth_m']} m")
def test_free_air_and_the_air_in_an_open_tank_lose_what_the_table_says(row: dict[str, float]) -> None:
    """A flat tank: its air is a millimetre high, so that its own height is nothing against the depth."""
    depth, lost = row["depth_m"], row["pct"] / 100.0
    assert 1.0 - squeezed_share(depth, COLD_FRESH) == pytest.approx(lost, rel=1e-3)
    room = shapes.box(0.5, 0.2, 0.002).moved((0.0, 0.0, 0.05))
    free = 0.0001
    afloat = boat(
        [shapes.box(0.6, 0.3, 0.1)], 15.0, (0.0, 0.0, -0.01), COLD_FRESH, [TankWater(room, 0.0, free)]
    )
    # the surface `depth` over the tank's roof, 51 mm over the middle of the box
    hung = described(afloat, np.zeros(3), depth + 0.051, UP)
    assert 1.0 - hung.rooms[0].air_m3 / free == pytest.approx(lost, rel=1.5e-3)


@pytest.mark.parametrize("row", rows("soft_air", "blow_mass"), ids=lambda row: f"{row['t_c']} degC")
def test_the_mass_of_air_that_fills_a_volume_at_depth(row: dict[str, float]) -> None:
    table = read("soft_air")["blow_mass"]
    free = table["volume_m3"] * table["pressure_pa"] / ATMOSPHERE_PA
    grams = 1e3 * air_density_kg_m3(row["t_c"]) * free
    assert grams == pytest.approx(row["g_ideal"], rel=1e-3)
    assert grams == pytest.approx(row["g_real"], rel=1e-3)
