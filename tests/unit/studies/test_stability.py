"""`stability`: the contract filled on small boats, against `afloat` and by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Tank, Vessel
from dabchick.physics import shapes
from dabchick.studies import afloat, stability
from dabchick.studies.dive_path import in_order, through
from tests.support.vessels import RHO, item, small_vessel


def box_boat(height_m: float, **changes: object) -> Vessel:
    """A sealed box 0.8 x 0.2 x 0.12 m, even on all sides, with G at a height over her keel and a tank above."""
    hull = shapes.box(0.8, 0.2, 0.12).moved((0.4, 0.0, 0.06))
    room = shapes.box(0.3, 0.1, 0.06).moved((0.4, 0.0, 0.2))
    mass = RHO * 0.8 * 0.2 * 0.06
    tank = Tank(
        name="main", system="sealed pump", solid=room, capacity_m3=room.volume, centre_m=(0.4, 0.0, 0.2),
        inside="box", piston_direction=(0.0, 0.0, 0.0),
    )  # fmt: skip
    items = (
        item("box", "dry", 0.5 * mass, (0.4, 0.0, 0.06), shapes.box(0.8, 0.2, 0.12), mass_spread=0.01),
        item("weight", "inside", 0.5 * mass, (0.4, 0.0, 2.0 * height_m - 0.06), inside="box"),
    )
    values = {"hull": hull, "hull_inside": hull, "items": items, "tanks": (tank,), "length_m": 0.8}
    return small_vessel(**{**values, "mark_bow_m": 0.7, "mark_stern_m": 0.1, **changes})


def test_stages_lie_as_afloat_says() -> None:
    """Where nothing happens on the way, each stage is what `afloat` finds for that fill alone."""
    vessel = small_vessel()
    result = stability.run(vessel, stages=4)
    assert result.events == ()
    assert [stage.progress for stage in result.up] == [stage.progress for stage in result.down][::-1]
    for stage in (*result.down, *result.up):
        alone = afloat.run(vessel, stage.lie.fills)
        assert stage.lie.heel_deg.value == pytest.approx(alone.lie.heel_deg.value, abs=1e-6)
        assert stage.lie.trim_deg.value == pytest.approx(alone.lie.trim_deg.value, abs=1e-6)
        assert stage.lie.gm_transverse_m.value == pytest.approx(alone.lie.gm_transverse_m.value, rel=1e-6)
        assert stage.lie.gm_transverse_m.spread == pytest.approx(alone.lie.gm_transverse_m.spread, rel=1e-6)
        assert stage.under.bg_m.value == pytest.approx(alone.under.bg_m.value, rel=1e-6)
        assert stage.lie.condition == alone.lie.condition


def test_least_moment_is_not_above_any_stage_of_a_finer_way() -> None:
    vessel = small_vessel()
    coarse, fine = stability.run(vessel, stages=3), stability.run(vessel, stages=21)
    least = min(stage.lie.gm_transverse_m.value for stage in (*fine.down, *fine.up))
    assert coarse.least.lie.gm_transverse_m.value <= least + 1e-9
    assert coarse.least.lie.gm_transverse_m.value == pytest.approx(
        fine.least.lie.gm_transverse_m.value, abs=1e-8
    )


def test_a_high_tank_makes_her_loll_where_the_metacentre_says() -> None:
    """By hand, upright: GM = KB + BM - KG with the water's weight and free surface.

    Mass m0 + w, draught T = (m0 + w)/(rho l b); KG = (m0 z0 + w z)/(m0 + w), z the middle of the water's depth;
    loss of GM = rho i / (m0 + w), i = 0.3 x 0.1^3 / 12.
    """
    vessel = box_boat(0.065)
    result = stability.run(vessel, through(vessel, [0.02, 0.9]), stages=12)
    fork = next(event for event in result.events if event.kind == "fork" and event.way == "down")

    def upright_gm(fill: float) -> float:
        dry = RHO * 0.8 * 0.2 * 0.06
        water = RHO * 0.3 * 0.1 * 0.06 * fill
        mass = dry + water
        draught = mass / (RHO * 0.8 * 0.2)
        centre = (dry * 0.065 + water * (0.17 + 0.03 * fill)) / mass
        return 0.5 * draught + 0.2**2 / (12.0 * draught) - centre - RHO * 0.3 * 0.1**3 / 12.0 / mass

    assert upright_gm(fork.fills["main"] - 1e-5) > 0.0 > upright_gm(fork.fills["main"] + 1e-5)
    for stage in result.down:
        upright = abs(stage.lie.heel_deg.value) < 1e-6
        assert upright == (stage.progress < fork.progress)
        assert math.isnan(stage.arms.loll_deg) == upright
        if upright:
            fill = stage.lie.fills["main"]
            assert stage.lie.gm_transverse_m.value == pytest.approx(upright_gm(fill), abs=1e-9)
            lost = RHO * 0.3 * 0.1**3 / 12.0 / stage.lie.mass_kg.value
            assert stage.free_surface_m == pytest.approx(lost, rel=1e-9)
            assert stage.waterplane_m2 == pytest.approx(0.16, rel=1e-9)
        else:
            assert stage.arms.loll_deg == pytest.approx(stage.lie.heel_deg.value, abs=1e-6)
            assert min(stage.arms.range_starboard_deg, stage.arms.range_port_deg) > 0.0
    assert any("cannot stay upright" in entry.what for entry in result.warnings)
    # she comes back to upright at the same fill
    back = [event for event in result.events if event.kind == "fork" and event.way == "up"]
    assert back[-1].progress == pytest.approx(fork.progress, abs=1e-6)


def test_a_full_tank_has_no_free_surface() -> None:
    """Level under a level roof: to the brim nothing moves, a drop less and the whole surface does."""
    vessel = box_boat(0.03)
    low = replace(vessel.tanks[0], solid=vessel.tanks[0].solid.moved((0.0, 0.0, -0.1)))
    last = stability.run(replace(vessel, tanks=(low,)), stages=5).down
    assert last[-1].free_surface_m == pytest.approx(0.0, abs=1e-12)
    assert last[-2].free_surface_m > 0.002


def test_all_rests_are_followed_and_counted() -> None:
    result = stability.run(small_vessel(), stages=3, every=True)
    assert result.complete
    mine = [branch for branch in result.branches if any(branch.stable)]
    assert any(
        abs(branch.heel_deg[0] - result.down[0].lie.heel_deg.value) < 1e-4 and len(branch.progress) > 3
        for branch in mine
    )
    assert not stability.run(small_vessel(), stages=3).complete


def test_tanks_in_order_meet_their_knots() -> None:
    vessel = small_vessel()
    tank = vessel.tanks[0]
    half = replace(tank, capacity_m3=0.5 * tank.capacity_m3)
    two = replace(vessel, tanks=(replace(half, name="fore"), replace(half, name="aft")))
    result = stability.run(two, in_order(two, ["aft"]), stages=5)
    assert [stage.lie.fills for stage in result.down][2] == pytest.approx({"fore": 0.0, "aft": 1.0})


def test_other_water_is_taken() -> None:
    fresh, salt = (
        stability.run(small_vessel(), stages=2),
        stability.run(small_vessel(), stages=2, salinity_g_kg=35.0),
    )
    assert salt.water_density_kg_m3 > fresh.water_density_kg_m3 + 20.0
    assert salt.down[0].lie.freeboard_m.value > fresh.down[0].lie.freeboard_m.value


def test_progress_is_told_and_rises() -> None:
    told: list[float] = []
    stability.run(small_vessel(), stages=3, every=True, tell=lambda text, share: told.append(share))
    assert told == sorted(told)
    assert np.max(told) <= 1.0


def test_what_cannot_be_followed_is_said() -> None:
    with pytest.raises(BoatError, match="no tank, so nothing fills"):
        stability.run(small_vessel(tanks=()))
    with pytest.raises(BoatError, match="two stages"):
        stability.run(small_vessel(), stages=1)
