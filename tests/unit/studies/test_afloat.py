"""`afloat`: by hand where a hand can, and the first-order spreads against brute force."""

from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.studies import afloat
from dabchick.studies.loading import load
from tests.support.vessels import RHO, item, small_vessel


def test_lift_is_displacement_less_mass() -> None:
    """By hand: lift = rho x (sum of all volumes) - (sum of all masses) - rho x tank water."""
    vessel = small_vessel()
    result = afloat.run(vessel, 0.5)
    volumes = sum(entry.volume_m3 for entry in vessel.items)
    masses = sum(entry.mass_kg for entry in vessel.items)
    water = 0.5 * vessel.tanks[0].capacity_m3
    assert result.lie.lift_kg.value == pytest.approx(RHO * (volumes - water) - masses, rel=1e-12)


def test_floats_where_displacement_equals_mass_and_cb_is_over_cg() -> None:
    result = afloat.run(small_vessel())
    lie = result.lie
    assert lie.condition == "floats"
    assert lie.displaced_m3 * RHO == pytest.approx(lie.mass_kg.value, rel=1e-9)
    # B stands over G along the plumb line, so B - G is along the up-vector.
    across = np.subtract(lie.cb_m, lie.cg_m) - np.dot(np.subtract(lie.cb_m, lie.cg_m), lie.normal) * np.array(
        lie.normal
    )
    assert np.linalg.norm(across) < 1e-9
    assert lie.force_residual < 1e-6
    assert lie.moment_residual < 1e-8


def test_spreads_agree_with_brute_force() -> None:
    """Independent route: 600 boats drawn from the ledger's spreads, each laid anew through the full balance.

    Tolerance: the standard error of a standard deviation from 600 draws is 2.9 %, so four of them (12 %).
    """
    calm = small_vessel(waterline_m=0.09)
    # Enough lead low down that she is stiff, so that a standard deviation stays in the linear range.
    vessel = replace(
        calm,
        water_density_spread_kg_m3=0.2,
        items=(
            *(entry for entry in calm.items if entry.name != "piston drive"),
            item(
                "keel lead",
                "lead",
                0.25,
                (0.47, -0.001, 0.006),
                None,
                mass_spread=0.002,
                centre_spread=0.0004,
            ),
        ),
    )
    expected = afloat.run(vessel).lie
    generator = np.random.default_rng(20)
    draws = []
    for _ in range(600):
        items = []
        for entry in vessel.items:
            mass = entry.mass_kg + entry.mass_spread_kg * generator.normal()
            centre = np.array(entry.centre_m) + np.array(entry.centre_spread_m) * generator.normal(size=3)
            solid = entry.solid
            if solid is not None and entry.volume_spread_m3 > 0.0:
                factor = 1.0 + entry.volume_spread_m3 / entry.volume_m3 * generator.normal()
                solid = solid.weighted(factor)
            items.append(replace(entry, mass_kg=mass, centre_m=tuple(centre), solid=solid))
        density = RHO + 0.2 * generator.normal()
        lie = afloat.run(replace(vessel, items=tuple(items), water_density_kg_m3=density)).lie
        draws.append(
            [
                lie.draught_bow_m.value,
                lie.draught_stern_m.value,
                lie.heel_deg.value,
                lie.trim_deg.value,
                lie.lift_kg.value,
            ]
        )
    spread = np.std(draws, axis=0)
    carried = [
        expected.draught_bow_m.spread,
        expected.draught_stern_m.spread,
        expected.heel_deg.spread,
        expected.trim_deg.spread,
        expected.lift_kg.spread,
    ]
    np.testing.assert_allclose(carried, spread, rtol=0.12)


def test_salt_water_lifts_her() -> None:
    """By hand: with 1.0 m3 of net volume per m3, lift grows by (rho2 - rho1) x volume."""
    vessel = small_vessel()
    fresh = afloat.run(vessel)
    salt = afloat.run(vessel, temperature_c=15.0, salinity_g_kg=35.0)
    volume = sum(entry.volume_m3 for entry in vessel.items)
    grown = (salt.water_density_kg_m3 - fresh.water_density_kg_m3) * volume
    assert salt.lie.lift_kg.value - fresh.lie.lift_kg.value == pytest.approx(grown, rel=1e-9)
    assert salt.lie.freeboard_m.value > fresh.lie.freeboard_m.value


def test_every_equilibrium_is_told() -> None:
    result = afloat.run(small_vessel(), every=True)
    assert result.complete
    assert any(not other.stable for other in result.others)


def test_sinking_is_said_with_the_grams() -> None:
    vessel = small_vessel()
    heavy = replace(
        vessel, items=(*vessel.items, item("anvil", "inside", 1.0, (0.45, 0.0, 0.02), inside="cylinder"))
    )
    result = afloat.run(heavy)
    assert result.lie.condition == "sinks"
    assert any("sinks" in entry.what and "g too heavy" in entry.what for entry in result.warnings)


def test_unknown_tank_and_share_come_back_together() -> None:
    with pytest.raises(BoatError) as caught:
        load(small_vessel(), {"man": 0.5, "main": 1.5})
    assert [entry.given for entry in caught.value.advice] == ["man", "1.5"]


def test_unweighed_parts_are_named_not_guessed() -> None:
    vessel = small_vessel(unweighed=("servo",))
    assert any("servo" in entry.what for entry in afloat.run(vessel).warnings)
