"""Leaks against the values of `leaks`: inflow through holes, bores and gaps, drips, and the air that stops them."""

import math

import pytest

from dabchick.physics import leak_flow
from dabchick.physics.water import density_kg_m3, kinematic_viscosity_m2_s
from dabchick.studies.leak_source import LeakWay, source_of
from tests.reference.values import rows
from tests.support.vessels import small_vessel

ML_MIN = 1e-6 / 60.0
WATER = density_kg_m3(20.0)
VISCOSITY = WATER * kinematic_viscosity_m2_s(20.0)


@pytest.mark.parametrize("row", rows("leaks", "hole"), ids=str)
def test_a_sharp_hole(row: dict[str, float]) -> None:
    over = leak_flow.head_pa(row["depth_m"], WATER)
    flow = leak_flow.hole_flow(row["d_mm"] * 1e-3, over, WATER)
    assert flow / ML_MIN == pytest.approx(row["ml_per_min"], rel=2e-3)
    # the air gets out: nothing slows it
    assert leak_flow.time_to(1e-4, flow, 0.5, 1.0, over, 0.0) == pytest.approx(row["s_per_100ml"], rel=2e-3)


@pytest.mark.parametrize("row", rows("leaks", "capillary"), ids=str)
def test_a_long_thin_bore(row: dict[str, float]) -> None:
    over = leak_flow.head_pa(row["depth_m"], WATER)
    wide = row["d_mm"] * 1e-3
    flow = leak_flow.bore_flow(wide, row["length_mm"] * 1e-3, over, VISCOSITY)
    assert flow / ML_MIN == pytest.approx(row["ml_per_min"], rel=2e-3)
    assert leak_flow.reynolds(flow, math.pi * wide, VISCOSITY / WATER) == pytest.approx(
        row["reynolds"], abs=0.5
    )


@pytest.mark.parametrize("row", rows("leaks", "annulus"), ids=str)
def test_a_gap_round_a_shaft(row: dict[str, float]) -> None:
    over = leak_flow.head_pa(row["depth_m"], WATER)
    sizes = (row["d_mm"] * 1e-3, row["gap_mm"] * 1e-3, row["length_mm"] * 1e-3)
    assert leak_flow.gap_flow(*sizes, over, VISCOSITY) / ML_MIN == pytest.approx(row["ml_per_min"], rel=2e-3)
    touching = leak_flow.gap_flow(*sizes, over, VISCOSITY, 1.0)
    assert touching / ML_MIN == pytest.approx(row["touching_ml_per_min"], rel=2e-3)


@pytest.mark.parametrize("row", rows("leaks", "drip"), ids=str)
def test_a_steady_drip(row: dict[str, float]) -> None:
    source = source_of(small_vessel(), LeakWay("drip", row["drops_per_min"]), None, vented=False)
    assert source.flow_m3_s / ML_MIN == pytest.approx(row["drops_per_min"] * row["drop_ml"], rel=1e-12)
    assert source.seconds(row["reserve_ml"] * 1e-6, 1e-3) / 3600.0 == pytest.approx(row["hours"], abs=0.05)


@pytest.mark.parametrize("row", rows("leaks", "air_stop"), ids=str)
def test_air_that_stops_the_leak(row: dict[str, float]) -> None:
    share = leak_flow.stop_volume(1.0, leak_flow.head_pa(row["depth_m"], WATER))
    assert share == pytest.approx(row["share"], abs=0.005)
    # by hand: 9790 / (101325 + 9790) = 0.0881
    assert share == pytest.approx(0.0881, abs=1e-4)
