"""Air and depth: neutral depth and blows in closed form, jumps, the closed tank, trapped air, truths for any fill."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dabchick.cli.demo import copy_boat
from dabchick.model.advice import BoatError
from dabchick.model.vessel import Item, Vessel
from dabchick.physics.balance import ATMOSPHERE_PA, GRAVITY_M_S2
from dabchick.storage.folder import open_boat
from dabchick.studies import squeeze
from dabchick.studies.air_lie import lay_with_air
from dabchick.studies.flooded_space import flooded_space
from dabchick.studies.lay import lay
from dabchick.studies.loading import load
from dabchick.studies.result import as_json
from dabchick.studies.squeeze import Aim, SqueezeResult
from dabchick.studies.squeeze_under import free_air, under
from tests.support.gas_boat import gas_vessel
from tests.support.random_boats import steady
from tests.support.vessels import small_vessel

AREA = 0.1 * 0.08
ROOF_M = 0.1135
"""Coot's tank: 100 x 80 x 25 mm, its roof 113.5 mm over the keel and 6.5 mm under her deck."""
ROOM_M3 = AREA * 0.025
SHORT = (0.0, 0.5, 1.0, 2.0)


@pytest.fixture(scope="module")
def coot(tmp_path_factory: pytest.TempPathFactory) -> Vessel:
    return gas_vessel(tmp_path_factory.mktemp("squeeze") / "coot")


@pytest.fixture(scope="module")
def usual(coot: Vessel) -> SqueezeResult:
    return squeeze.run(coot)


def head(vessel: Vessel) -> float:
    return ATMOSPHERE_PA / (vessel.water_density_kg_m3 * GRAVITY_M_S2)


def flooded_lift(vessel: Vessel) -> float:
    """Lift with full tanks, by the sum of all masses and volumes."""
    volume = sum(item.volume_m3 for item in vessel.items)
    return vessel.water_density_kg_m3 * volume - sum(item.mass_kg for item in vessel.items)


def neutral_depth(vessel: Vessel, free_m3: float) -> float:
    """Closed form, level: the air that just carries her has V = V0 p0 / (p0 + rho g z), z down to its lower face.

    That face hangs V / A under the roof, which is 6.5 mm under her highest point.
    """
    needed = -flooded_lift(vessel) / vessel.water_density_kg_m3
    return head(vessel) * (free_m3 / needed - 1.0) - (0.12 - ROOF_M) - needed / AREA


def test_without_a_fill_she_goes_under_with_the_lift_she_is_to_have(usual: SqueezeResult) -> None:
    """12 g is what her boat file wishes."""
    (track,) = usual.tracks
    assert track.lift_under_kg == pytest.approx(0.012, abs=1e-12)
    assert track.rows[0].lift_kg == track.lift_under_kg
    assert track.loss_worst == track.loss_at_surface


def test_neutral_depth_in_closed_form_and_she_rises_above_it_and_falls_below(
    coot: Vessel, usual: SqueezeResult
) -> None:
    (track,) = usual.tracks
    assert track.neutral == usual.back == "down to"
    assert track.neutral_depth_m == pytest.approx(neutral_depth(coot, track.air_free_m3), abs=1e-5)
    around = squeeze.run(
        coot, fills=[track.fills], depths=[track.neutral_depth_m + way for way in (-0.01, 0.0, 0.01)]
    )
    above, at, below = (row.lift_kg for row in around.tracks[0].rows)
    assert above > 0.0 > below
    assert at == pytest.approx(0.0, abs=1e-9)
    assert not around.comes_back


def test_a_blow_brings_her_back_from_as_deep_as_the_closed_form_says(
    coot: Vessel, usual: SqueezeResult
) -> None:
    """So much air held at the surface or blown in at depth is the same amount, and the curve says the same again."""
    (track,) = usual.tracks
    blown = squeeze.run(coot, fills=[track.fills], blow_m3=3e-5)
    assert blown.back_depth_m == pytest.approx(neutral_depth(coot, track.air_free_m3 + 3e-5), abs=1e-5)
    for point in usual.blows[3:18:7]:
        assert point.back == "down to"
        assert point.depth_m == pytest.approx(neutral_depth(coot, point.air_free_m3), abs=1e-5)


def test_the_air_needed_at_a_depth(coot: Vessel, usual: SqueezeResult) -> None:
    """Closed form: V0 = V (p0 + rho g z) / p0 for the air that just carries her, under 3 m."""
    needed = -flooded_lift(coot) / coot.water_density_kg_m3
    face = 3.0 + 0.12 - ROOF_M + needed / AREA
    assert usual.needed_m3 == pytest.approx(needed * (1.0 + face / head(coot)), rel=1e-6)


def test_a_fill_for_no_lift_at_a_depth(coot: Vessel) -> None:
    found = squeeze.run(coot, aims=[Aim(0.0, 1.5), Aim(0.02, 0.0)], depths=(0.0, 1.5))
    assert found.tracks[0].rows[-1].lift_kg == pytest.approx(0.0, abs=1e-10)
    assert found.tracks[0].neutral_depth_m == pytest.approx(1.5, abs=1e-6)
    assert found.tracks[1].lift_under_kg == pytest.approx(0.02, abs=1e-10)


def test_a_closed_tank_loses_nothing_and_hangs_as_the_same_water_would(
    coot: Vessel, usual: SqueezeResult
) -> None:
    """Independent route: `lay` with a bag tank that holds just that water."""
    closed = usual.tracks[0].closed
    assert {row.lift_kg for row in closed} == {closed[0].lift_kg}
    assert all(row.loss_kg_m == 0.0 for row in closed)
    first = usual.tracks[0].rows[0]
    assert closed[0].lift_kg == pytest.approx(first.lift_kg, abs=1e-12)
    bag = replace(coot, tanks=(replace(coot.tanks[0], system="bag"),))
    lie = lay(bag, load(bag, 1.0 - first.air_m3 / ROOM_M3), "wholly under", hanging=True)
    assert closed[0].bg_m == pytest.approx(lie.bg_m.value, abs=1e-9)
    assert closed[0].gm_longitudinal_m == pytest.approx(lie.gm_longitudinal_m.value, abs=1e-9)
    assert closed[0].gm_transverse_m == pytest.approx(lie.gm_transverse_m.value, abs=1e-9)


def test_her_lift_goes_where_the_air_is(coot: Vessel, tmp_path: Path) -> None:
    """Level, under the middle of the tank, at the water in it: V / A under the roof."""
    row = squeeze.run(coot, fills=[0.5], depths=(0.0, 1.0)).tracks[0].rows[-1]
    assert row.lost_at_m == pytest.approx((0.3, 0.0, ROOF_M - row.air_m3 / AREA), abs=1e-9)
    ahead = squeeze.run(gas_vessel(tmp_path / "ahead", tank_x="250 mm"), fills=[0.5], depths=SHORT).tracks[0]
    # her ruler lies at the bow: 250 mm from it is 350 mm from the stern
    assert ahead.lost_centre_m[0] == pytest.approx(0.35, abs=0.03)
    assert ahead.rows[0].trim_deg > 3.0
    assert ahead.rows[-1].trim_deg < ahead.rows[0].trim_deg


def test_losses_are_the_slopes_of_the_lift(tmp_path: Path) -> None:
    """Central differences over 2 mm; the tank stands forward, so her trim follows."""
    vessel = gas_vessel(tmp_path / "ahead", tank_x="250 mm")
    high, at, low = squeeze.run(vessel, fills=[0.6], depths=(0.999, 1.0, 1.001)).tracks[0].rows
    assert at.loss_kg_m == pytest.approx((high.lift_kg - low.lift_kg) / 0.002, rel=1e-5)


def test_a_bubble_that_runs_to_the_other_end_is_found_with_its_depth(tmp_path: Path) -> None:
    """A long flat tank and a weight forward of its middle: bow up she hangs only while the bubble is large enough.

    Expected: the stable ways to hang just above and just below the depth named, and the trim that is gone.
    """
    vessel = _weight_forward(gas_vessel(tmp_path / "long", tank_long="400 mm", lead_g=560.0), 0.003)
    fill = [0.9]
    found = squeeze.run(vessel, fills=fill, depths=tuple(np.linspace(0.0, 20.0, 21)))
    (jump,) = found.tracks[0].jumps
    above, below = (
        squeeze.run(vessel, fills=fill, depths=(jump.depth_m - 0.005, jump.depth_m + 0.005)).tracks[0].rows
    )
    assert [rest.trim_deg > 0.0 for rest in above.rests] == [False, True]
    assert [rest.trim_deg > 0.0 for rest in below.rests] == [False]
    assert above.rests[1].trim_deg == pytest.approx(jump.trim_before_deg, abs=0.3)
    assert below.rests[0].trim_deg == pytest.approx(jump.trim_after_deg, abs=0.05)
    assert above.rests[1].air_shift_m > 0.0 > above.rests[0].air_shift_m
    assert any("the bubble runs" in entry.what for entry in found.warnings)


def _weight_forward(vessel: Vessel, by_m: float) -> Vessel:
    """The whole weight further forward."""

    def moved(item: Item) -> Item:
        x, y, z = item.centre_m
        return replace(item, centre_m=(x + by_m, y, z))

    return replace(vessel, items=tuple(moved(item) for item in vessel.items))


def test_a_boat_without_soft_tanks_or_air_keeps_her_lift(usual: SqueezeResult) -> None:
    found = squeeze.run(small_vessel(), fills=[1.0])
    (track,) = found.tracks
    assert found.soft == ()
    assert found.holding == ("main",)
    assert {row.lift_kg for row in track.rows} == {track.lift_under_kg}
    assert track.neutral == "any depth"
    assert found.comes_back
    assert found.blows == found.cautions == ()
    assert any("held at any depth" in text for text in found.assumptions)
    assert usual.cautions


def test_trapped_air_is_lost_with_depth_as_boyle_has_it(tmp_path: Path) -> None:
    """Wren, untrimmed. Independent route for the start: `lay_with_air`, which finds air and attitude anew together.

    Going down: her air lies between Boyle's law at the depth of her highest and of her lowest point.
    """
    copy_boat(tmp_path / "wren")
    wren = open_boat(tmp_path / "wren").vessel
    found = squeeze.run(wren, fills=[1.0], depths=(0.0, 1.0, 5.0, 20.0), air=True)
    other = lay_with_air(wren, flooded_space(wren), load(wren, 1.0), "under", hanging=True, depth_m=0.0)
    rows = found.tracks[0].rows
    assert other.settled
    assert rows[0].lift_kg == pytest.approx(other.lie.lift_kg.value, rel=2e-3)
    assert rows[0].trim_deg == pytest.approx(other.lie.trim_deg.value, abs=0.1)
    for row in rows:
        high, low = (head(wren) / (head(wren) + row.depth_m + more) for more in (0.0, 0.95))
        assert low * found.trapped_m3 < row.air_m3 < high * found.trapped_m3
    assert found.tracks[0].closed[-1].lift_kg == pytest.approx(rows[-1].lift_kg, rel=1e-12)


def test_trapped_airs_loss_is_the_slope_of_the_lift(tmp_path: Path) -> None:
    copy_boat(tmp_path / "wren")
    wren = open_boat(tmp_path / "wren").vessel
    high, at, low = squeeze.run(wren, fills=[1.0], depths=(0.95, 1.0, 1.05), air=True).tracks[0].rows
    assert at.loss_kg_m == pytest.approx((high.lift_kg - low.lift_kg) / 0.1, rel=2e-3)


@steady
@given(fill=st.floats(0.0, 0.98), more=st.floats(0.0, 3e-4), deep=st.floats(0.1, 40.0))
def test_more_air_never_lifts_less_and_the_deeper_the_less(
    any_coot: Vessel, fill: float, more: float, deep: float
) -> None:
    airs = free_air(any_coot, {"main": fill})
    less = under(any_coot, {"main": fill}, airs, None, 0.06)
    plenty = under(any_coot, {"main": fill}, {"main": airs["main"] + more}, None, 0.06)
    rests = [less.hung(0.0)]
    for depth in (0.3 * deep, deep):
        rests.append(less.hung(depth, rests[-1].normal))
    lifts = [rest.lift_kg for rest in rests]
    assert lifts[0] >= lifts[1] >= lifts[2]
    assert all(rest.loss_kg_m >= 0.0 for rest in rests)
    assert plenty.hung(deep, rests[-1].normal).lift_kg >= lifts[2] - 1e-12


@pytest.fixture(scope="module")
def any_coot(tmp_path_factory: pytest.TempPathFactory) -> Vessel:
    """With her tank a little forward, so that trim takes part."""
    return gas_vessel(tmp_path_factory.mktemp("squeeze") / "forward", tank_x="290 mm")


def test_fills_that_cannot_be_are_named(coot: Vessel) -> None:
    too_light = squeeze.run(coot, aims=[Aim(5.0, 0.0)], depths=SHORT)
    assert too_light.tracks[0].fills == {"main": 0.0}
    assert any("even with empty tanks" in entry.what for entry in too_light.warnings)
    dry = squeeze.run(coot, aims=[Aim(-5.0, 1.0)], depths=SHORT)
    assert dry.tracks[0].fills == {"main": 1.0}
    assert dry.tracks[0].neutral == "never"
    assert math.isnan(dry.tracks[0].neutral_depth_m)


def test_too_heavy_for_any_blow(tmp_path: Path) -> None:
    found = squeeze.run(gas_vessel(tmp_path / "heavy", lead_g=900.0), fills=[0.5], depths=SHORT)
    assert found.back == "never"
    assert math.isnan(found.needed_m3)
    assert not found.comes_back
    assert {point.back for point in found.blows} == {"never"}
    assert any("not even tanks blown dry" in entry.todo for entry in found.warnings)


@pytest.mark.parametrize(
    "asked",
    [{"depths": ()}, {"depths": (1.0, 0.5)}, {"depths": (0.0, 500.0)}, {"blow_m3": -1e-6}, {"blow_m3": math.inf},
     {"aims": [Aim(math.nan)]}, {"aims": [Aim(0.0, -1.0)]}, {"fills": [1.5]}, {"fills": [{"aft": 0.5}]}],
)  # fmt: skip
def test_what_cannot_be_asked_is_told_with_what_can(coot: Vessel, asked: dict) -> None:
    with pytest.raises(BoatError) as caught:
        squeeze.run(coot, **asked)
    assert all(entry.allowed and entry.todo for entry in caught.value.advice)


def test_air_cannot_be_blown_where_no_tank_takes_it() -> None:
    with pytest.raises(BoatError, match="no tank that air could be blown into"):
        squeeze.run(small_vessel(), blow_m3=1e-5)


def test_the_result_is_plain_json(usual: SqueezeResult) -> None:
    told = as_json(usual)
    assert told["tracks"][0]["neutral_depth_m"] == usual.tracks[0].neutral_depth_m
    assert told["trapped_m3"] is None
