"""Water in a dry part: closed forms of a box and of a round tube, and what must hold of every answer."""

import itertools
import math

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.studies import afloat, leak
from dabchick.studies.leak_bulkhead import Divided
from dabchick.studies.leak_path import flooded, settle, waters_up_to
from dabchick.studies.leak_result import LeakResult
from dabchick.studies.leak_room import dry_rooms
from dabchick.studies.leak_source import LeakWay
from tests.reference.values import rows
from tests.support.leaking import BOX, RHO, box_boat, of_bodies, tube_boat, two_holds
from tests.support.vessels import item, small_vessel

WALL = 0.002
HOLE = LeakWay("hole", diameter_m=1e-3)


def small(**asked: object) -> LeakResult:
    return leak.run(small_vessel(), **asked)  # type: ignore[arg-type]


def test_a_box_loses_rho_i_over_m_and_settles_by_its_weight() -> None:
    """A box afloat with a box of water: T = M / (rho L B), GM = T/2 + B^2 / (12 T) - KG - rho l b^3 / (12 M)."""
    mass, height = 6.0, 0.01
    length, beam, _ = BOX
    inner_length, inner_beam = length - 2 * WALL, beam - 2 * WALL
    result = leak.run(box_boat(mass, (0.3, 0.0, height)), wall_m=WALL)
    for stage in result.stages[:4]:
        lie, water = stage.afloat, stage.water_m3
        total = mass + RHO * water
        draught = total / (RHO * length * beam)
        level = water / (inner_length * inner_beam)
        gravity = (mass * height + RHO * water * (WALL + 0.5 * level)) / total
        lost = RHO * inner_length * inner_beam**3 / 12.0 / total if water else 0.0
        gm = 0.5 * draught + beam**2 / (12.0 * draught) - gravity - lost
        assert gm > 0.0
        assert lie.draught_bow_m.value == pytest.approx(draught, rel=1e-9)
        assert lie.trim_deg.value == pytest.approx(0.0, abs=1e-6)
        assert lie.cg_m[2] == pytest.approx(gravity, rel=1e-9)
        assert lie.gm_transverse_m.value == pytest.approx(gm, rel=1e-7)
        assert stage.free_surface_afloat_m == pytest.approx(lost, rel=1e-9)


def test_lift_falls_by_the_mass_of_the_water_exactly() -> None:
    for result in (small(), leak.run(box_boat(), wall_m=WALL)):
        dry = result.stages[0]
        for stage in result.stages:
            for state, first in ((stage.afloat, dry.afloat), (stage.dived, dry.dived)):
                fallen = first.lift_kg.value - state.lift_kg.value
                assert fallen == pytest.approx(result.water_density_kg_m3 * stage.water_m3, abs=1e-12)


def test_the_reserve_is_lift_over_density_at_every_fill() -> None:
    vessel = small_vessel()
    result = leak.run(vessel, fills=(0.0, 0.3, 1.0))
    for reserve, share in zip(result.reserves, (0.0, 0.3, 1.0), strict=True):
        lift = afloat.run(vessel, share).under.lift_kg.value
        assert reserve.lift_kg.value == pytest.approx(lift, rel=1e-12)
        assert reserve.water_m3.value == pytest.approx(lift / RHO, rel=1e-12)
    assert result.chosen.reserve_m3 == result.reserves[0].water_m3.value
    # the tank's room is all that lies between empty and full
    full, empty = result.reserves[2].water_m3.value, result.reserves[0].water_m3.value
    assert empty - full == pytest.approx(vessel.tanks[0].capacity_m3, rel=1e-9)


@pytest.mark.parametrize("row", rows("floating_bodies", "cylinder")[:3], ids=str)
def test_water_in_a_level_round_tube_is_a_segment(row: dict[str, float]) -> None:
    """The segment's centroid and width by the table; a round tube rolls about its axis, so KM = R throughout."""
    outer, inner, long = 0.04, 0.04 - WALL, 0.4 - 2 * WALL
    mass, height = 0.7, 0.015
    vessel = tube_boat(mass, (0.2, 0.0, height))
    room = math.pi * inner**2 * long
    water = row["s"] * room
    boat = flooded(vessel, [dry_rooms(vessel, WALL)[0].solid], ["tube"])
    loading = boat.loading(water, {})
    rest = settle(loading.balance, np.array([0.0, 0.0, 1.0]), 0.0, hanging=False)
    assert rest is not None
    assert (rest.heel_deg, rest.trim_deg) == pytest.approx((0.0, 0.0), abs=1e-6)
    total = mass + RHO * water
    # the water hangs below the inner axis by the table's arm; its free surface takes back just that moment
    below = row["cb_below_axis_over_R"] * inner
    width = row["waterline_beam_over_R"] * inner
    lost = RHO * long * width**3 / 12.0 / total
    gravity = (mass * height + RHO * water * (outer - below)) / total
    assert boat.free_surface_m(rest.normal, water, total) == pytest.approx(lost, rel=1e-8)
    assert rest.gm_transverse_m == pytest.approx(outer - gravity - lost, rel=1e-7)
    # so that only the boat's own weight rights her: (M_own (R - KG_own)) / M
    assert rest.gm_transverse_m == pytest.approx(mass * (outer - height) / total, rel=1e-7)


def test_times_and_pressure_of_a_hole_under_a_metre() -> None:
    """Boyle: 9 % of the room stops it (0.0881 by hand); 101325 V / (R - V) stands over the atmosphere."""
    result = small(leak=HOLE, depth_m=1.0, wall_m=0.003)
    part = result.chosen
    head = RHO * 9.80665
    assert part.stops_at_m3 == pytest.approx(part.room_m3 * head / (101325.0 + head), rel=1e-12)
    assert part.stops_at_m3 / part.room_m3 == pytest.approx(0.0881, abs=1e-4)
    assert math.isinf(part.after_s)
    for stage in result.stages:
        squeezed = 101325.0 * stage.water_m3 / (part.room_m3 - stage.water_m3)
        assert stage.pressure_pa == pytest.approx(squeezed, rel=1e-12, abs=1e-9)
        assert (stage.flow_m3_s > 0.0) == (stage.water_m3 < part.stops_at_m3)
        assert math.isfinite(stage.after_s) == (stage.water_m3 <= part.stops_at_m3)
    # at 5 m the air stops it later than she stands; vented it is volume over flow
    deep = small(leak=HOLE, depth_m=5.0, wall_m=0.003).chosen
    assert math.isfinite(deep.after_s)
    free = small(leak=HOLE, depth_m=5.0, wall_m=0.003, vented=True)
    flow = 0.61 * math.pi * 0.25e-6 * math.sqrt(2.0 * 9.80665 * 5.0)
    assert free.chosen.after_s == pytest.approx(free.chosen.reserve_m3 / flow, rel=1e-12)
    assert free.chosen.after_s < deep.after_s
    assert math.isnan(free.chosen.stops_at_m3)


def test_a_drip_with_a_depth_fades_and_one_without_stays() -> None:
    steady, fading = small().chosen, small(depth_m=20.0).chosen
    assert steady.after_s == pytest.approx(steady.reserve_m3 / (0.15e-6 / 60.0), rel=1e-12)
    assert steady.after_s < fading.after_s < math.inf


def test_what_happens_does_happen_there() -> None:
    """Each event's own water, asked for anew, shows it; a little less does not."""
    vessel = small_vessel()
    result = leak.run(vessel)
    boat = flooded(vessel, [dry_rooms(vessel)[0].solid], ["cylinder"])
    dry = result.stages[0].afloat
    kinds = {event.kind for event in result.chosen.events if event.state == "afloat"}
    assert {"deck", "tips", "top", "on end", "sinks"} <= kinds
    for event in result.chosen.events:
        if event.state != "afloat" or event.kind not in ("tips", "on end"):
            continue
        limit = {"tips": 10.0 + dry.trim_deg.value, "on end": 45.0}[event.kind]
        start = next(s for s in reversed(result.stages) if s.water_m3 <= event.water_m3).afloat.normal
        for times, beyond in ((0.998, False), (1.002, True)):
            loading = boat.loading(times * event.water_m3, {})
            rest = settle(loading.balance, np.array(start), 0.0, hanging=False)
            assert rest is not None
            assert (rest.trim_deg > limit) is beyond
        assert event.trim_deg == pytest.approx(limit, abs=1.0) or event.trim_deg > limit


def test_a_boat_that_may_fill_wholly_says_so() -> None:
    """A keg of a boat: 100 ml of room in a body that floats 2 kg."""
    float_body = item("float", "solid", 1.0, (0.3, 0.0, 0.06), shapes.box(0.6, 0.08, 0.06))
    dry = item("pot", "dry", 0.3, (0.3, 0.0, 0.05), shapes.cylinder(0.1, 0.05))
    vessel = of_bodies((float_body, dry), shapes.box(0.6, 0.1, 0.1).moved((0.3, 0.0, 0.05)))
    part = leak.run(vessel, wall_m=WALL).chosen
    assert part.floods_wholly
    assert part.reserve_m3 == pytest.approx(0.25 * math.pi * 0.046**2 * 0.096, rel=1e-12)
    assert part.bulkheads is None
    assert part.events[-1].kind == "full"


def test_compartments_stand_on_their_own_and_all_together() -> None:
    vessel = two_holds()
    result = leak.run(vessel, wall_m=WALL, part=leak.TOGETHER)
    assert [part.name for part in result.parts] == ["aft hold", "fore hold", leak.TOGETHER]
    aft, fore, both = result.parts
    lift = afloat.run(vessel).under.lift_kg.value
    assert both.room_m3 == pytest.approx(aft.room_m3 + fore.room_m3, rel=1e-12)
    assert aft.room_m3 == pytest.approx(0.296 * 0.116 * 0.096, rel=1e-12)
    assert both.reserve_m3 == pytest.approx(lift / RHO, rel=1e-9)
    # one hold full leaves lift, both do not
    assert aft.floods_wholly
    assert fore.floods_wholly
    assert not both.floods_wholly
    assert RHO * aft.room_m3 < lift < RHO * both.room_m3
    # alike fore and aft, so both together stay level; one alone pulls its own end down
    assert result.stages[3].afloat.trim_deg.value == pytest.approx(0.0, abs=1e-6)
    tips = {part.name: [e for e in part.events if e.kind == "tips"] for part in (aft, fore)}
    assert tips["aft hold"][0].trim_deg > 0.0 > tips["fore hold"][0].trim_deg
    assert tips["aft hold"][0].water_m3 == pytest.approx(tips["fore hold"][0].water_m3, rel=1e-3)


def heavy_keel_box() -> Vessel:
    """A long sealed box with its weight low: half of it may fill, the whole not."""
    return box_boat(4.0, (0.3, 0.0, 0.01))


def test_bulkheads_by_hand() -> None:
    """A box alike at both ends: what may fill is alike too, and ends where lift or trim end."""
    vessel = heavy_keel_box()
    result = leak.run(vessel, wall_m=WALL)
    walls = result.chosen.bulkheads
    assert walls is not None
    assert walls.longest_aft_m == pytest.approx(walls.longest_fore_m, rel=1e-6)
    area = 0.116 * 0.096
    lift = RHO * 0.6 * 0.12 * 0.1 - 4.0
    assert RHO * area * walls.longest_aft_m <= lift + 1e-9
    assert walls.longest_aft_m > 0.05
    # a full end room is a weight without a free surface: the same weight added as an item lies alike
    aft = 0.002 + 0.9 * walls.longest_aft_m
    water = RHO * area * (aft - 0.002)
    load = item("water", "inside", water, (0.5 * (0.002 + aft), 0.0, 0.05))
    heavy = of_bodies((*vessel.items, load), vessel.hull)
    lie = afloat.run(heavy).lie
    assert lie.condition == "floats"
    assert lie.stable
    divided = Divided(vessel, dry_rooms(vessel, WALL)[0])
    left, rest = divided.filled(0.002, aft)
    assert rest is not None
    assert left == pytest.approx(lie.lift_kg.value, rel=1e-9)
    assert rest.trim_deg == pytest.approx(lie.trim_deg.value, abs=1e-5)


def test_one_bulkhead_that_saves_her_is_found_and_holds() -> None:
    """The lighter the boat, the longer the rooms that may fill: from half the length on one bulkhead does."""
    vessel = box_boat(1.5, (0.3, 0.0, 0.005))
    part = leak.run(vessel, wall_m=WALL).chosen
    walls = part.bulkheads
    assert walls is not None
    assert not part.floods_wholly
    assert walls.low_x_m <= walls.best_x_m <= walls.high_x_m
    assert walls.best_x_m == pytest.approx(0.3, abs=1e-6)
    aft, fore = walls.sides
    assert aft.survives
    assert fore.survives
    assert aft.trim_deg == pytest.approx(-fore.trim_deg, abs=1e-6)
    assert aft.worst == fore.worst
    assert sum(side.room_m3 for side in walls.sides) == pytest.approx(part.room_m3, rel=1e-9)
    divided = Divided(vessel, dry_rooms(vessel, WALL)[0])
    assert divided.survives(0.002, walls.high_x_m)
    assert not divided.survives(0.002, walls.high_x_m + 1e-3)


def test_an_alarm_in_a_box_is_wet_by_a_wedge() -> None:
    """Level: 2 mm of the floor. At 10 deg one sensor stands in the middle: a wedge of half the length reaches it."""
    part = leak.run(box_boat(), wall_m=WALL).chosen
    one, two = part.alarms
    assert one.places_m[0][2] == pytest.approx(0.002 + 0.002, abs=1e-9)
    level, up, down = one.wettings
    assert level.water_m3 == pytest.approx(0.596 * 0.116 * 0.002, rel=1e-9)
    half, slope = 0.298, math.tan(math.radians(10.0))
    # a triangle below the plane through the sensor, its upper end on the floor
    reach = half + 0.002 / slope
    assert up.water_m3 == pytest.approx(0.5 * reach**2 * slope * 0.116, rel=0.02)
    assert up.water_m3 == pytest.approx(down.water_m3, rel=0.02)
    assert max(row.water_m3 for row in two.wettings) < up.water_m3
    assert level.before_end_s == pytest.approx(part.after_s - level.after_s, rel=1e-12)


def test_limits_that_are_missed_are_findings() -> None:
    dry = small()
    reserve, lasts = dry.chosen.reserve_m3, dry.chosen.after_s
    assert not small(least_m3=0.99 * reserve, least_s=0.99 * lasts).short
    short = small(least_m3=1.01 * reserve)
    assert short.short
    assert "less than you ask for" in " ".join(entry.what for entry in short.warnings)
    assert small(least_s=1.01 * lasts).short


def test_an_assumed_wall_is_told_with_its_band() -> None:
    part = small().chosen
    assert part.room_low_m3 == small(wall_m=0.004).chosen.room_m3
    assert part.room_high_m3 == small(wall_m=0.002).chosen.room_m3
    assert any("3.0 mm thick, give or take 1.0 mm" in text for text in small().assumptions)
    given = small(wall_m=0.003)
    assert given.chosen.room_low_m3 == given.chosen.room_m3 == given.chosen.room_high_m3


@pytest.mark.parametrize(
    ("asked", "key"),
    [
        ({"part": "sail"}, "part"),
        ({"leak": LeakWay("hole", diameter_m=-1.0)}, "hole"),
        ({"leak": LeakWay("gap", diameter_m=0.004, gap_m=0.004, length_m=0.02)}, "gap"),
        ({"depth_m": 0.0}, "depth"),
        ({"depth_m": math.nan}, "depth"),
        ({"fills": (1.5,)}, "fill"),
        ({"least_m3": -1.0}, "least"),
        ({"wall_m": 0.05}, "wall"),
    ],
)
def test_what_cannot_be_is_refused_with_advice(asked: dict[str, object], key: str) -> None:
    with pytest.raises(BoatError) as fault:
        small(**asked)
    assert key in {entry.key for entry in fault.value.advice}


def test_a_boat_without_lift_has_no_reserve() -> None:
    result = leak.run(box_boat(9.0, (0.3, 0.0, 0.03)), wall_m=WALL)
    assert result.chosen.reserve_m3 == 0.0
    assert [stage.afloat.condition for stage in result.stages] == ["sinks"]


@pytest.mark.parametrize("end", [1e-9, 3.3e-6, 2.563e-4, 0.1, 17.0])
def test_waters_rise_from_nothing_to_the_end_in_round_steps(end: float) -> None:
    waters = waters_up_to(end)
    assert waters[0] == 0.0
    assert waters[-1] == end
    assert all(b > a for a, b in itertools.pairwise(waters))
    assert 10 <= len(waters) <= 25
