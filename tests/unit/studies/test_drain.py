"""Water that lags in a box of a boat: closed-form statics, an independent integration, and what helps."""

import math
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from dabchick.model.advice import BoatError
from dabchick.model.vessel import InnerOpening, Space, Vessel
from dabchick.physics.balance import GRAVITY_M_S2
from dabchick.physics.draining import Stand
from dabchick.storage.folder import open_boat
from dabchick.studies import drain, drain_search
from dabchick.studies.drain_course import NOWHERE, Ballast, follow, free_stand
from dabchick.studies.drain_spaces import water_spaces
from dabchick.studies.lagging import Lagging, lagging
from dabchick.studies.loading import load
from tests.support.drain_boats import AREA_IN, HEIGHT, INNER, MIDDLE, SKIN, TANK_M3, BoxBoat, box_vessel
from tests.support.vessels import RHO

BOX = BoxBoat()
WREN = open_boat(Path(str(files("dabchick.data") / "demo" / "wren"))).vessel
CD = 0.62
CASING = Space("casing", (0.0, -0.05, 0.085), (0.6, 0.05, 0.12), "space[1]")


def gathered(vessel: Vessel) -> Lagging:
    return lagging(vessel, water_spaces(vessel))


def stand(boat: Lagging, share: float, water: float) -> Stand:
    return boat.rest({"main": share}, np.array([water]), NOWHERE)


@pytest.mark.parametrize("share", [0.0, 0.4])
@pytest.mark.parametrize("water_ml", [400.0, 1100.0, 1900.0])
def test_box_with_water_of_its_own_level(share: float, water_ml: float) -> None:
    """Draught and GM by box formulas (see BoxBoat), with the water far above or below the level outside."""
    boat, water = gathered(box_vessel()), water_ml * 1e-6
    here = stand(boat, share, water)
    assert (here.under, here.normal) == (False, pytest.approx([0.0, 0.0, 1.0], abs=1e-9))
    assert here.offset_m == pytest.approx(BOX.draught_m(share * TANK_M3, water), abs=1e-7)
    found = boat.pose({"main": share}, np.array([water]), here)
    gm = found.free_stiffness[1, 1] / boat.own_mass_kg({"main": share})
    assert gm == pytest.approx(BOX.gm_m(share * TANK_M3, water), abs=1e-7)


@pytest.mark.parametrize("vessel", [box_vessel(), WREN, box_vessel(spaces=(CASING,))])
@pytest.mark.parametrize("share", [0.0, 0.5])
def test_equal_levels_are_the_free_flooding_balance(vessel: Vessel, share: float) -> None:
    """An exact cancelling: what the space displaces below the water is what it holds."""
    boat = gathered(vessel)
    fills = dict.fromkeys((tank.name for tank in vessel.tanks), share)
    free = free_stand(boat, fills, NOWHERE)
    water = boat.flooded_to(free.stand.normal, free.stand.offset_m)
    held = boat.rest(fills, water, replace_offset(free.stand, 0.004))
    assert held.offset_m == pytest.approx(free.stand.offset_m, abs=1e-7)
    assert held.normal == pytest.approx(free.stand.normal, abs=1e-7)
    gm = boat.pose(fills, water, held).free_stiffness[1, 1] / boat.own_mass_kg(fills)
    assert gm == pytest.approx(free.gm_m, rel=1e-4, abs=1e-6)


def replace_offset(before: Stand, by: float) -> Stand:
    return before._replace(offset_m=before.offset_m + by)


def test_blown_box_against_an_independent_integration() -> None:
    """scipy's solve_ivp to 1e-8 of dW/dt = Cd a sqrt(2 g |T - L|) in the box's closed-form draught and level.

    The roof's hole is so large that its pull is nothing.
    """
    area, blow = 60e-6, 15.0
    boat = gathered(box_vessel(floor_mm2=area * 1e6))
    course = follow(boat, Ballast("up", {"main": blow}), CD, tolerance=3e-5)

    room = boat.found.spaces[0].room_m3
    # below the roof's hole, through whose mouth water runs as well while it stands there
    moments = [one for one in course.moments if one.spaces[0].level_m < 0.107 and one.time_s < 40.0]

    def rate(time: float, water: np.ndarray) -> list[float]:
        tank = TANK_M3 * max(0.0, 1.0 - time / blow)
        head = BOX.draught_m(tank, float(water[0])) - BOX.level_m(float(water[0]))
        return [math.copysign(CD * area * math.sqrt(2.0 * GRAVITY_M_S2 * abs(head)), head)]

    times = [one.time_s for one in moments]
    exact = solve_ivp(
        rate, (times[0], times[-1]), [moments[0].spaces[0].water_m3], t_eval=times, rtol=1e-8, atol=1e-12,
        method="LSODA", max_step=0.2,
    ).y[0]  # fmt: skip
    assert len(exact) > 15
    for moment, water in zip(moments, exact, strict=True):
        held = moment.spaces[0].water_m3
        assert held == pytest.approx(water, abs=2e-4 * room)
        tank = TANK_M3 * moment.fills["main"]
        assert moment.draught_bow_m == pytest.approx(BOX.draught_m(tank, held), abs=1e-6)
        assert moment.gm_m == pytest.approx(BOX.gm_m(tank, held), abs=1e-6)
    gone = course.moments[0].spaces[0].water_m3 - course.moments[-1].spaces[0].water_m3
    assert course.water_gone_m3 == pytest.approx(gone, abs=1e-15)


def test_lagging_water_costs_gm_and_a_slower_blow_costs_less() -> None:
    """Going up: water high up. The slower she is blown, the nearer to the drained boat."""
    boat = gathered(box_vessel())
    least = [follow(boat, Ballast("up", {"main": blow}), CD).least_gm_m for blow in (5.0, 20.0, 80.0, 1000.0)]
    drained = follow(boat, Ballast("up", {"main": 20.0}), CD).least_drained_gm_m
    assert least == sorted(least)
    assert least[0] < drained - 5e-4
    assert least[-1] == pytest.approx(drained, abs=1e-4)


def test_smallest_openings_and_shortest_time_with_proof() -> None:
    """Both ends of each answer are balanced again here, by the same box; and areas times time is what counts.

    Flow grows with area, so k times the area at the same blow is the same curve as k times the blow with the same
    area, but for the roof: an independent tie between the two answers.
    """
    vessel = box_vessel()
    base = drain.run(vessel, blow_s=20.0, help_wanted=False)
    limit = 0.5 * (base.up.least_gm_m + base.up.least_drained_gm_m)
    result = drain.run(vessel, blow_s=20.0, limit_m=limit)
    (cure,) = result.remedies
    assert cure.gm_m >= limit > cure.smaller_gm_m
    assert 1.0 < cure.factor < 1.05 * cure.smaller_factor
    assert result.slower is not None
    assert result.slower.gm_m >= limit > result.slower.shorter_gm_m
    assert cure.factor == pytest.approx(result.slower.blow_s / 20.0, rel=0.05)
    boat = gathered(vessel)
    proof = follow(boat, Ballast("up", {"main": 20.0}), CD, factors=np.full(2, cure.factor))
    assert proof.least_gm_m >= limit - 2e-5
    assert [row.wanted_m2 for row in cure.openings] == pytest.approx(
        [row.now_m2 * cure.factor for row in cure.openings]
    )
    # the band: a rounder edge drains sooner
    assert result.band[0].up[0].to_95_s > result.up.times[0].to_95_s > result.band[1].up[0].to_95_s


def test_where_no_opening_helps_it_says_so() -> None:
    base = drain.run(box_vessel(), blow_s=20.0, help_wanted=False)
    result = drain.run(box_vessel(), blow_s=20.0, limit_m=base.up.least_drained_gm_m + 0.005)
    assert math.isnan(result.remedies[0].factor)
    assert result.slower is not None
    assert math.isnan(result.slower.blow_s)
    assert "even without any lagging water" in " ".join(entry.what for entry in result.warnings)


def two_spaces(inner_mm2: float) -> Vessel:
    """A casing over a deck at 85 mm, drained through two slots over the deck and a hole in it."""
    return box_vessel(
        openings=(
            ((MIDDLE, 0.0, SKIN), 150e-6),
            ((MIDDLE, 0.5 * INNER[1], 0.09), 20e-6),
            ((MIDDLE, -0.5 * INNER[1], 0.09), 20e-6),
            ((MIDDLE, 0.0, HEIGHT - SKIN), 500e-6),
        ),
        spaces=(CASING,),
        inner_openings=(
            InnerOpening("casing", "", (MIDDLE, 0.0, 0.085), inner_mm2 * 1e-6, "space[1].openings[1]"),
        ),
    )


def test_spaces_share_the_flooded_room_and_each_opening_leads_into_its_own() -> None:
    found = water_spaces(two_spaces(50.0))
    assert [space.name for space in found.spaces] == ["casing", "hull"]
    # by hand: the inside from 85 to 110 mm, and from 10 to 85 mm
    assert [space.room_m3 for space in found.spaces] == pytest.approx([AREA_IN * 0.025, AREA_IN * 0.075])
    assert [(one.space, one.other) for one in found.passages] == [(1, -1), (0, -1), (0, -1), (0, -1), (0, 1)]


def test_a_casing_that_drains_badly_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """The casing's slots are far too small: it matters more than the hull, and larger slots there are the cure."""
    monkeypatch.setattr(drain_search, "CLOSE", 1.5)
    base = drain.run(two_spaces(100.0), blow_s=5.0, help_wanted=False)
    wider = drain.run(two_spaces(800.0), blow_s=5.0, help_wanted=False)
    assert base.up.times[0].to_95_s > wider.up.times[0].to_95_s
    limit = base.up.least_gm_m + 0.25 * (base.up.least_drained_gm_m - base.up.least_gm_m)
    result = drain.run(two_spaces(100.0), blow_s=5.0, limit_m=limit)
    assert {row.space for row in result.matters} == {"casing", "hull"}
    assert [row.gain_m for row in result.matters] == sorted(
        (row.gain_m for row in result.matters), reverse=True
    )
    assert [row.space for row in result.remedies] == ["", "casing", "hull"]
    for row in result.remedies:
        if not math.isnan(row.factor):
            assert row.gm_m >= limit
    moved = sum(
        one.water_m3 - other.water_m3
        for one, other in zip(result.up.moments[0].spaces, result.up.moments[-1].spaces, strict=True)
    )
    assert result.up.water_gone_m3 == pytest.approx(moved, abs=1e-15)


def test_flooding_takes_time_and_ends_where_free_flooding_ends() -> None:
    result = drain.run(box_vessel(), blow_s=10.0, fill_s=10.0, help_wanted=False)
    row = result.down.times[0]
    assert 0.0 < row.to_95_s < row.to_99_s
    boat = gathered(box_vessel())
    free = free_stand(boat, {"main": 1.0}, NOWHERE)
    full = boat.flooded_to(free.stand.normal, free.stand.offset_m)[0]
    assert result.down.moments[-1].spaces[0].water_m3 == pytest.approx(full, rel=6e-3)
    assert result.down.moments[-1].lift_kg == pytest.approx(
        RHO * load(box_vessel()).balance.buoyant_volume - BOX.mass_kg - RHO * TANK_M3
    )


def test_without_a_vent_the_air_stays_and_it_says_so() -> None:
    shut = box_vessel(openings=(((MIDDLE, 0.0, SKIN), 60e-6),))
    result = drain.run(shut, blow_s=10.0, help_wanted=False)
    assert math.isnan(result.down.times[0].to_95_s)
    words = " ".join(entry.what for entry in result.warnings)
    assert "of the hull never floods" in words
    # the water is held up as well: no air gets in while its only hole is under water
    assert result.up.moments[-1].spaces[0].air_pa < -100.0
    assert "of water stays in the hull" in words


def test_no_opening_at_all_and_no_tank() -> None:
    result = drain.run(box_vessel(openings=()), blow_s=10.0)
    assert any("No opening leads into the hull" in entry.what for entry in result.warnings)
    assert result.up.moments[0].spaces[0].water_m3 == result.up.moments[-1].spaces[0].water_m3
    with pytest.raises(BoatError, match="no tank"):
        drain.run(replace(box_vessel(), tanks=()))
    with pytest.raises(BoatError, match="cannot be") as refused:
        drain.run(box_vessel(), blow_s=0.0, discharge=2.0)
    assert [entry.key for entry in refused.value.advice] == ["blow", "cd"]


def test_top_heavy_she_lets_go_on_the_way() -> None:
    """Weight so high that the drained boat stands but the lagging water does not let her: by box formulas."""
    fair = follow(gathered(box_vessel(floor_mm2=5.0)), Ballast("up", {"main": 5.0}), CD)
    high = replace(BOX, centre_z_m=BOX.centre_z_m + 0.95 * fair.least_drained_gm_m)
    boat = gathered(box_vessel(high, floor_mm2=5.0))
    course = follow(boat, Ballast("up", {"main": 5.0}), CD)
    assert course.least_drained_gm_m > 0.0
    assert course.least_gm_m <= 0.0
    assert course.lets_go_s > 0.0
