"""Worked examples that were read, and constructed ones with an exact answer, by the whole physics layer."""

import numpy as np
import pytest

from dabchick.physics import shapes, water
from dabchick.physics.balance import TankWater, float_offset
from dabchick.physics.cut import CUT_SIZE, cut, forest
from dabchick.physics.equilibrium import find, sinks
from dabchick.physics.liquid import level
from tests.reference.values import read, rows
from tests.support.rest import UP, boat, level_cut, level_offset, own_second_moments

INCH_M = 0.0254
POUND_KG = 0.45359237
FOOT_M = 0.3048


@pytest.mark.parametrize("which", [0, 1], ids=["aluminium", "cast iron"])
def test_spheres_of_ten_inches_weighed_in_water(which: int) -> None:
    """Handbook of 1946: 48 and 136 lb in air, 29.1 and 117.1 lb in water; its water is 62.4 lb/ft3."""
    values = read("fleet_type_submarine")["spheres_10in"]
    book_water = 62.4 * POUND_KG / FOOT_M**3
    trees, _ = forest([shapes.sphere(values["diameter_in"] * INCH_M)])
    lost_lb = book_water * cut(trees, UP, 3.0).volume / POUND_KG
    assert lost_lb == pytest.approx(values["buoyancy_lb"], abs=0.05)
    assert values["weight_air_lb"][which] - lost_lb == pytest.approx(
        values["weight_water_lb"][which], abs=0.05
    )
    # the book's water is real water between 10 and 20 degC
    assert water.density_kg_m3(20.0) < book_water < water.density_kg_m3(10.0)
    assert sinks(boat([shapes.sphere(0.254)], values["weight_air_lb"][which] * POUND_KG))


def test_free_surface_moment_of_an_oil_tank() -> None:
    """Read: 10 m by 6 m of oil at 0.85 t/m3 has a free surface moment of 153 t m, at any sounding."""
    values = read("free_surface")["moment_153"]
    trees, _ = forest([shapes.box(values["length_m"], values["breadth_m"], 4.0)])
    for share in (0.1, 0.5, 0.93):
        _, part = level(trees, UP, share * values["length_m"] * values["breadth_m"] * 4.0)
        inertia = own_second_moments(part)[1, 1]
        assert inertia == pytest.approx(values["i_m4"], rel=1e-9)
        assert values["rho_t_m3"] * inertia == pytest.approx(values["fsm_tm"], rel=1e-9)


@pytest.mark.parametrize(
    "row", rows("free_surface", "model"), ids=lambda row: f"{row['n']} of {row['l_m']} m"
)
def test_free_surface_of_model_tanks(row: dict[str, float]) -> None:
    """GM with the water free against GM with the same water frozen where it lies: the loss is rho i / M."""
    count = int(row["n"])
    width = row["b_m"] / count
    deep = 0.04
    hull = shapes.box(0.9, 0.3, 0.2)
    middles = [(0.05, (index - 0.5 * (count - 1)) * width, -0.02) for index in range(count)]
    half = 0.5 * row["l_m"] * width * deep
    tanks = [TankWater(shapes.box(row["l_m"], width, deep).moved(middle), half) for middle in middles]
    held = count * row["rho"] * half
    dry = row["boat_mass_kg"] - held
    # half full: the water's centre is a quarter of the depth under the tank's middle
    frozen_moment = sum(
        row["rho"] * half * (np.array(middle) - np.array([0.0, 0.0, 0.25 * deep])) for middle in middles
    )
    centre = np.array([0.0, 0.0, -0.03])
    centre_dry = (row["boat_mass_kg"] * centre - frozen_moment) / dry
    free = find(boat([hull], dry, centre_dry, row["rho"], tanks), UP)
    frozen = find(boat([hull], row["boat_mass_kg"], centre, row["rho"]), UP)
    assert free.mass_kg == pytest.approx(row["boat_mass_kg"], rel=1e-12)
    assert free.offset_m == pytest.approx(frozen.offset_m, abs=1e-12)
    assert frozen.gm_transverse_m - free.gm_transverse_m == pytest.approx(row["GM_loss_m"], rel=1e-6)
    assert row["rho"] * row["i_m4"] / row["boat_mass_kg"] == pytest.approx(row["GM_loss_m"], rel=1e-9)


@pytest.mark.parametrize(
    "row", rows("changing_water", "fresh_water_allowance"), ids=lambda row: f"{row['rho_dock']}"
)
def test_fresh_and_dock_water_allowance(row: dict[str, float]) -> None:
    """A wall-sided ship from sea water of 1025 into the dock: our balance meets the exact column."""
    mass = 1000.0 * row["displacement_t"]
    waterplane = row["TPC_t"] * 1000.0 / (0.01 * 1025.0)
    ship = shapes.box(waterplane / 20.0, 20.0, 30.0)
    middle = (0.0, 0.0, -10.0)
    at_sea = level_offset(boat([ship], mass, middle, 1025.0))
    in_dock = level_offset(boat([ship], mass, middle, row["rho_dock"]))
    in_fresh = level_offset(boat([ship], mass, middle, 1000.0))
    assert level_cut(boat([ship], mass, middle, 1025.0)).waterplane_area == pytest.approx(
        waterplane, rel=1e-12
    )
    assert 1000.0 * (in_dock - at_sea) == pytest.approx(row["DWA_mm_exact"], rel=1e-6)
    assert 1000.0 * (in_fresh - at_sea) == pytest.approx(row["FWA_mm"], rel=1e-9)
    rule = row["FWA_mm"] * (1025.0 - row["rho_dock"]) / 25.0
    assert rule == pytest.approx(row["DWA_mm_rule"], rel=1e-9)
    assert rule == pytest.approx(1000.0 * (in_dock - at_sea), rel=0.0101)


@pytest.mark.parametrize("row", rows("changing_water", "dived"), ids=lambda row: f"to {row['rho_new']}")
def test_ballast_for_a_neutral_boat_in_other_water(row: dict[str, float]) -> None:
    """With the change of ballast she is neutral again: a milligram less floats, a milligram more sinks."""
    volume = row["mass_kg"] / row["rho_old"]
    length = 0.7 * volume / (0.04 * 0.05)
    radius = (0.3 * volume * 3.0 / (4.0 * np.pi)) ** (1.0 / 3.0)
    solids = [shapes.box(length, 0.04, 0.05), shapes.sphere(2.0 * radius).moved((0.1, 0.0, 0.05 + radius))]
    for density, mass in (
        (row["rho_old"], row["mass_kg"]),
        (row["rho_new"], row["mass_kg"] + row["ballast_change_kg"]),
    ):
        assert not sinks(boat(solids, mass - 1e-6, density_kg_m3=density))
        assert sinks(boat(solids, mass + 1e-6, density_kg_m3=density))
    neutral = boat(solids, row["mass_kg"], density_kg_m3=row["rho_new"])
    lift = neutral.density * neutral.buoyant_volume - neutral.mass
    assert lift == pytest.approx(row["ballast_change_kg"], rel=1e-7)


def test_summer_and_winter_densities_of_the_ballast_row() -> None:
    """The third row's densities are fresh water at 10 and 30 degC."""
    row = rows("changing_water", "dived")[2]
    assert water.density_kg_m3(10.0) == pytest.approx(row["rho_old"], rel=1e-7)
    assert water.density_kg_m3(30.0) == pytest.approx(row["rho_new"], rel=1e-7)


def test_exactly_neutral_boat_has_no_waterplane_to_hold_her() -> None:
    """Exactly neutral: the offset found is one at which nothing, or next to nothing, is above the surface."""
    ball = shapes.sphere(0.2)
    neutral = boat([ball], 1000.0 * ball.volume * (1.0 - 1e-12))
    offset, floats = float_offset(neutral, UP, 0.0, np.empty(CUT_SIZE))
    assert floats
    assert offset == pytest.approx(0.1, abs=1e-6)
