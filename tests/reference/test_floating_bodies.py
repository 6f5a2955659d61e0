"""Sphere, cylinder, spheroid and box afloat: draught, CB and metacentres against closed forms."""

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.cut import cut, forest
from dabchick.physics.equilibrium import all_equilibria, find, up_vector
from dabchick.physics.righting import arm_curve
from tests.reference.values import rows
from tests.support.rest import UP, boat, level_cut, level_offset, own_second_moments

WATER = 1000.0


@pytest.mark.parametrize("row", rows("floating_bodies", "sphere"), ids=lambda row: f"s {row['s']}")
def test_sphere(row: dict[str, float]) -> None:
    """Published closed form; ballasted by 0.2 R, so KM = R makes GM = 0.2 R at every draught and heel."""
    radius = 0.31
    ball = shapes.sphere(2.0 * radius)
    afloat = boat([ball], row["s"] * WATER * 4.0 / 3.0 * np.pi * radius**3, (0.0, 0.0, -0.2 * radius))
    rest = find(afloat, up_vector(50.0, 20.0))
    assert rest.stable
    assert rest.heel_deg == pytest.approx(0.0, abs=1e-6)
    assert rest.trim_deg == pytest.approx(0.0, abs=1e-6)
    assert (rest.offset_m + radius) / radius == pytest.approx(row["h_over_R"], rel=1e-9)
    assert -rest.centre_of_buoyancy_m[2] / radius == pytest.approx(row["cb_below_centre_over_R"], rel=1e-9)
    assert rest.gm_transverse_m == pytest.approx(0.2 * radius, rel=1e-9)
    assert rest.gm_longitudinal_m == pytest.approx(0.2 * radius, rel=1e-9)
    heels = np.arange(-180.0, 181.0, 15.0)
    arms = arm_curve(afloat, heels, free_trim=False).arms_m
    assert arms == pytest.approx(0.2 * radius * np.sin(np.radians(heels)), abs=1e-12)


@pytest.mark.parametrize("row", rows("floating_bodies", "cylinder"), ids=lambda row: f"s {row['s']}")
def test_cylinder(row: dict[str, float]) -> None:
    """Circular segment; BM equals the depth of CB under the axis, so a round hull has GM = R - KG."""
    radius, length = 0.045, 0.42
    log = shapes.cylinder(length, 2.0 * radius)
    volume = row["s"] * np.pi * radius**2 * length
    afloat = boat([log], WATER * volume, (0.0, 0.0, -0.3 * radius))
    rest = find(afloat, up_vector(35.0, 3.0))
    assert rest.stable
    assert (rest.offset_m + radius) / radius == pytest.approx(row["draft_over_R"], rel=1e-9)
    assert -rest.centre_of_buoyancy_m[2] / radius == pytest.approx(row["cb_below_axis_over_R"], rel=1e-9)
    beam = row["waterline_beam_over_R"] * radius
    assert rest.waterplane_m2 == pytest.approx(beam * length, rel=1e-9)
    assert rest.gm_transverse_m == pytest.approx(0.3 * radius, rel=1e-8)
    bm_longitudinal = beam * length**3 / 12.0 / volume
    expected = bm_longitudinal - row["cb_below_axis_over_R"] * radius + 0.3 * radius
    assert rest.gm_longitudinal_m == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("row", rows("floating_bodies", "spheroid"), ids=lambda row: f"a {row['a']}")
def test_spheroid_volume_and_surface(row: dict[str, float]) -> None:
    body = shapes.spheroid(2.0 * row["a"], 2.0 * row["b"])
    trees, _ = forest([body])
    whole = cut(trees, UP, 2.0 * row["a"])
    assert body.volume == pytest.approx(row["V"], abs=6e-11)
    assert body.volume == pytest.approx(4.0 / 3.0 * np.pi * row["a"] * row["b"] ** 2, rel=1e-13)
    assert whole.volume == pytest.approx(body.volume, rel=1e-13)
    assert whole.wetted_area == pytest.approx(row["S"], abs=6e-11)
    assert whole.waterplane_area == 0.0
    assert whole.moment == pytest.approx(np.zeros(3), abs=1e-12 * row["V"])


@pytest.mark.parametrize("row", rows("floating_bodies", "spheroid"), ids=lambda row: f"a {row['a']}")
def test_spheroid_half_under(row: dict[str, float]) -> None:
    """Half afloat: KB = 5/8 b, BM_T = 3/8 b, BM_L = 3/8 a^2/b, by the closed form."""
    a, b = row["a"], row["b"]
    afloat = boat([shapes.spheroid(2.0 * a, 2.0 * b)], 0.5 * WATER * 4.0 / 3.0 * np.pi * a * b * b)
    assert level_offset(afloat) == pytest.approx(0.0, abs=1e-12)
    part = level_cut(afloat)
    assert part.moment[2] / part.volume + b == pytest.approx(5.0 / 8.0 * b, rel=1e-9)
    second = own_second_moments(part)
    assert second[1, 1] / part.volume == pytest.approx(3.0 / 8.0 * b, rel=1e-9)
    assert second[0, 0] / part.volume == pytest.approx(3.0 / 8.0 * a * a / b, rel=1e-9)
    assert part.wetted_area == pytest.approx(0.5 * row["S"], abs=3e-11)


@pytest.mark.parametrize("row", rows("floating_bodies", "box"), ids=lambda row: f"{row['L']} m, {row['rho']}")
def test_box(row: dict[str, float]) -> None:
    """Constructed input, exact answer; the third box is top-heavy, so level is a rest but not stable."""
    half_depth = 0.5 * row["D"]
    body = shapes.box(row["L"], row["B"], row["D"])
    afloat = boat([body], row["mass_kg"], (0.0, 0.0, row["KG"] - half_depth), row["rho"])
    level = [
        rest
        for rest in all_equilibria(afloat).found
        if abs(rest.heel_deg) < 1e-6 and abs(rest.trim_deg) < 1e-6
    ]
    assert len(level) == 1
    rest = level[0]
    assert rest.offset_m + half_depth == pytest.approx(row["T"], rel=2e-7)
    assert rest.centre_of_buoyancy_m[2] + half_depth == pytest.approx(row["KB"], rel=5e-7)
    second = own_second_moments(level_cut(afloat))
    volume = row["mass_kg"] / row["rho"]
    assert second[1, 1] / volume == pytest.approx(row["BM_T"], rel=2e-7)
    assert second[0, 0] / volume == pytest.approx(row["BM_L"], rel=2e-7)
    assert rest.gm_transverse_m == pytest.approx(row["GM_T"], rel=5e-7)
    assert rest.gm_longitudinal_m == pytest.approx(row["KB"] + row["BM_L"] - row["KG"], rel=5e-7)
    assert rest.stable == (row["GM_T"] > 0.0)
