"""Density and viscosity of water against the standards' values and two libraries that implement them."""

import gsw
import iapws
import numpy as np
import pytest
from numpy.typing import NDArray

from dabchick.physics import water
from tests.reference.values import rows

STANDARD_SEA_G_KG = 35.16504
"""Absolute Salinity of standard sea water (TEOS-10)."""
IPTS68_PER_ITS90 = 1.00024
"""t68 = 1.00024 t90, good to a millikelvin from 0 to 40 degC (Saunders 1990, read in public code)."""


def eos80(practical: NDArray[np.float64], t68: NDArray[np.float64]) -> NDArray[np.float64]:
    """The one-atmosphere equation of EOS-80 (UNESCO 44, 1983, eqs 13-14), read in public code."""
    polynomial = np.polynomial.polynomial.polyval
    pure = (999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
    first = (8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
    second = (-5.72466e-3, 1.0227e-4, -1.6546e-6)
    return np.asarray(
        polynomial(t68, pure)
        + polynomial(t68, first) * practical
        + polynomial(t68, second) * practical**1.5
        + 4.8314e-4 * practical**2
    )


@pytest.mark.parametrize("row", rows("iapws_fresh_water", "fresh"), ids=lambda row: f"{row['t_C']} degC")
def test_fresh_water_rows(row: dict[str, float]) -> None:
    assert water.density_kg_m3(row["t_C"]) == pytest.approx(row["rho_kg_m3"], rel=1e-6)
    assert water.kinematic_viscosity_m2_s(row["t_C"]) == pytest.approx(row["nu_m2_s"], rel=1e-4)


def test_fresh_water_against_the_1995_formulation_over_the_whole_range() -> None:
    """IAPWS-95 by another library: of another form; 3e-5 kg/m3 is what the two fits differ by."""
    temperatures = np.linspace(0.01, 40.0, 41)
    states = [iapws.IAPWS95(T=273.15 + t, P=0.101325) for t in temperatures]
    density = water.density_kg_m3(temperatures)
    assert density == pytest.approx(np.array([state.rho for state in states]), abs=3e-5)
    viscosity = water.kinematic_viscosity_m2_s(temperatures)
    assert viscosity == pytest.approx(np.array([state.nu for state in states]), rel=1e-4)


def test_fresh_water_against_the_polynomials_of_metrology() -> None:
    """Tanaka (2001) and Kell (1975), both from memory: orientation at the third decimal."""
    t = np.linspace(0.0, 35.0, 36)
    tanaka = 999.974950 * (1.0 - ((t - 3.983035) ** 2 * (t + 301.797)) / (522528.9 * (t + 69.34881)))
    coefficients = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
    kell = np.polynomial.polynomial.polyval(t, coefficients) / (1.0 + 16.879850e-3 * t)
    assert water.density_kg_m3(t) == pytest.approx(tanaka, abs=0.001)
    assert water.density_kg_m3(t) == pytest.approx(kell, abs=0.0045)


@pytest.mark.parametrize(
    "row",
    [row for row in rows("eos80", "one_atmosphere") if row["p_bar"] == 0]
    + [row for row in rows("eos80", "one_atmosphere_read") if row["p_dbar"] == 0],
)
def test_eos80_check_values_at_the_surface(row: dict[str, float]) -> None:
    """TEOS-10 replaced EOS-80; at these points they part by less than 0.003 kg/m3."""
    remembered = float(eos80(np.array(row["S_PSS78"]), np.array(row["t68_C"])))
    assert remembered == pytest.approx(row["rho_kg_m3"], abs=1e-5)
    salinity = water.absolute_salinity_g_kg(row["S_PSS78"])
    found = water.density_kg_m3(row["t68_C"] / IPTS68_PER_ITS90, salinity)
    assert found == pytest.approx(row["rho_kg_m3"], abs=0.003)


def test_eos80_over_the_whole_range() -> None:
    t, practical = np.meshgrid(np.linspace(0.0, 40.0, 41), np.linspace(0.0, 41.8, 42))
    found = water.density_kg_m3(t, water.absolute_salinity_g_kg(practical))
    assert found == pytest.approx(eos80(practical, IPTS68_PER_ITS90 * t), abs=0.009)


@pytest.mark.parametrize("row", rows("teos10", "surface"), ids=lambda row: f"{row['t_C']} degC")
def test_sea_water_rows(row: dict[str, float]) -> None:
    assert water.density_kg_m3(row["t_C"], STANDARD_SEA_G_KG) == pytest.approx(row["rho_kg_m3"], rel=1e-7)
    found = water.kinematic_viscosity_m2_s(row["t_C"], STANDARD_SEA_G_KG)
    assert found == pytest.approx(row["nu_m2_s"], rel=5e-4)


def test_sea_water_against_the_standards_own_library_over_the_whole_range() -> None:
    """The same equation by another hand: all digits, and both derivatives."""
    t, salinity = np.meshgrid(np.linspace(0.0, 40.0, 81), np.linspace(0.0, 42.0, 85))
    density = gsw.rho_t_exact(salinity, t, 0.0)
    assert water.density_kg_m3(t, salinity) == pytest.approx(density, rel=1e-14)
    by_temperature = -density * gsw.alpha_wrt_t_exact(salinity, t, 0.0)
    assert water.d_density_d_temperature(t, salinity) == pytest.approx(by_temperature, abs=1e-12)
    by_salinity = density * gsw.beta_const_t_exact(salinity, t, 0.0)
    assert water.d_density_d_salinity(t, salinity) == pytest.approx(by_salinity, rel=1e-12)


def test_saline_part_against_the_release_on_seawater() -> None:
    """IAPWS-08 by the other library, salinity as a mass fraction."""
    for t, salinity in [(1.0, 5.0), (12.0, 0.5), (15.0, 35.0), (30.0, 40.0)]:
        state = iapws.SeaWater(T=273.15 + t, P=0.101325, S=1e-3 * salinity)
        assert water.density_kg_m3(t, salinity) == pytest.approx(state.rho, abs=5e-5)


@pytest.mark.parametrize("row", rows("teos10", "ittc_offset"))
def test_towing_tank_table_is_for_one_atmosphere_more(row: dict[str, float]) -> None:
    """The ITTC's sea water is 44 parts per million denser than that at the surface, which is ours."""
    found = water.density_kg_m3(row["t_C"], STANDARD_SEA_G_KG)
    if row["p_sea_dbar"] == 0:
        assert found == pytest.approx(row["rho_kg_m3"], abs=6e-5)
    else:
        assert row["rho_kg_m3"] - found == pytest.approx(0.0447, abs=5e-4)
        assert found == pytest.approx(row["rho_kg_m3"], rel=5e-5)


@pytest.mark.parametrize("row", rows("teos10", "conductivity"), ids=lambda row: f"S {row['S']}")
def test_density_for_a_meter_reading(row: dict[str, float]) -> None:
    """The rows' densities are EOS-80's."""
    salinity = water.absolute_salinity_g_kg(row["S"])
    for temperature in (15, 20, 25):
        found = water.density_kg_m3(float(temperature), salinity)
        assert found == pytest.approx(row[f"rho{temperature}"], abs=0.006)
        assert gsw.C_from_SP(row["S"], temperature, 0.0) == pytest.approx(
            row[f"C{temperature}_mS_cm"], rel=1e-3
        )


def test_salinity_scales() -> None:
    """35 practical is 35.16504 g/kg by the definition of the reference-composition scale."""
    assert water.absolute_salinity_g_kg(35.0) == pytest.approx(STANDARD_SEA_G_KG, rel=1e-15)
    assert water.practical_salinity(STANDARD_SEA_G_KG) == pytest.approx(35.0, rel=1e-15)
    assert water.absolute_salinity_g_kg(20.0) == pytest.approx(float(gsw.SR_from_SP(20.0)), rel=1e-15)


def test_densest_fresh_water_is_at_four_degrees() -> None:
    """3.98 degC, 999.975 kg/m3 (from memory; the scale's own constants)."""
    assert water.d_density_d_temperature(3.98) == pytest.approx(0.0, abs=1e-4)
    assert water.d_density_d_temperature(2.0) > 0.0 > water.d_density_d_temperature(6.0)
    assert water.density_kg_m3(3.98) == pytest.approx(999.975, abs=5e-4)


def test_what_a_season_and_a_salt_pond_do_to_eight_kilograms() -> None:
    """Read off the rows: 5 to 30 degC is 0.43 percent, 34 g on 8 kg; open sea is 2.6 to 2.7 over fresh."""
    cold, warm = water.density_kg_m3(5.0), water.density_kg_m3(30.0)
    assert 8.0 * (1.0 - warm / cold) == pytest.approx(0.034, abs=0.001)
    for temperature in (5.0, 15.0, 25.0):
        ratio = water.density_kg_m3(temperature, STANDARD_SEA_G_KG) / water.density_kg_m3(temperature)
        assert 1.026 < ratio < 1.028


@pytest.mark.parametrize("temperature", [-0.1, 40.1, 285.0, float("nan"), float("inf")])
def test_temperature_outside_the_range_is_refused_with_advice(temperature: float) -> None:
    with pytest.raises(ValueError, match=r"from 0 to 40 degC\. Give it in degrees Celsius within that range"):
        water.density_kg_m3(temperature)


@pytest.mark.parametrize("salinity", [-0.1, 42.1, float("nan")])
def test_salinity_outside_the_range_is_refused_with_advice(salinity: float) -> None:
    with pytest.raises(ValueError, match=r"from 0 to 42 g/kg .*Give grams of salt per kilogram of water"):
        water.kinematic_viscosity_m2_s(15.0, salinity)


def test_both_mistakes_are_told_at_once_and_one_bad_entry_of_many_is_named() -> None:
    with pytest.raises(ValueError, match=r"temperature is 99 degC.*salinity is -1 g/kg"):
        water.density_kg_m3(np.array([12.0, 99.0]), np.array([0.0, -1.0]))


def test_scalars_stay_scalars_and_arrays_broadcast() -> None:
    assert isinstance(water.density_kg_m3(12.0, 0.2), float)
    column, row = np.array([[5.0], [10.0]]), np.array([0.0, 10.0, 20.0])
    grid = water.density_kg_m3(column, row)
    assert grid.shape == (2, 3)
    assert grid[1, 2] == water.density_kg_m3(10.0, 20.0)
