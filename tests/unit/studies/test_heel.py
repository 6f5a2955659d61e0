"""`heel`: signs, closed forms on boxes, the sum of all that is thrown outwards, and mirrored boats."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Item, Tank, Vessel
from dabchick.physics import shapes
from dabchick.physics.balance import GRAVITY_M_S2
from dabchick.physics.solid import Solid
from dabchick.studies import heel
from dabchick.studies.heel_causes import Side, Torque, Turn, Wind
from dabchick.studies.heel_result import Caused, HeelResult, HeelState
from tests.support.vessels import RHO, item, small_vessel

LONG, BEAM, DEPTH = 0.9, 0.16, 0.12
DRAUGHT = 0.06
MASS = RHO * LONG * BEAM * DRAUGHT
KG = 0.035


def box_vessel(kg_m: float = KG, aside_m: float = 0.0, tanks: tuple[Tank, ...] = ()) -> Vessel:
    """A solid box half under water, keel at z = 0, whose whole form displaces: nothing in her floods."""
    middle = (0.5 * LONG, 0.0, 0.5 * DEPTH)
    form = shapes.box(LONG, BEAM, DEPTH)
    hull = item("hull", "solid", MASS, middle, form)
    hull = replace(hull, centre_m=(0.5 * LONG, aside_m, kg_m))
    return small_vessel(
        hull=form.moved(np.array(middle)), items=(hull,), tanks=tanks, waterline_m=DRAUGHT,
        low_m=(0.0, -0.5 * BEAM, 0.0), high_m=(LONG, 0.5 * BEAM, DEPTH),
    )  # fmt: skip


def state(result: HeelResult, name: str = "surfaced") -> HeelState:
    return next(entry for entry in result.states if entry.name == name)


def caused(found: HeelState, cause: str, way: str) -> Caused:
    return next(entry for entry in found.caused if (entry.cause, entry.way) == (cause, way))


def arm(heel_deg: float) -> float:
    """Closed form: the wall-sided box."""
    angle, metacentric = math.radians(heel_deg), BEAM**2 / (12.0 * DRAUGHT)
    gm = 0.5 * DRAUGHT + metacentric - KG
    return math.sin(angle) * (gm + 0.5 * metacentric * math.tan(angle) ** 2)


def test_a_right_handed_propeller_ahead_heels_her_to_port() -> None:
    """By hand: it turns clockwise seen from astern, so the boat is turned against the clock: port side down.

    Q = 0.65 x 20 W / (2 pi x 50 / s) = 41.38 N mm.
    """
    found = state(heel.run(box_vessel(), torque=Torque(20.0, 50.0)))
    ahead, astern = caused(found, "torque", "ahead"), caused(found, "torque", "astern")
    assert ahead.likely.moment_n_m == pytest.approx(-0.65 * 20.0 / (100.0 * math.pi), rel=1e-12)
    assert ahead.likely.heel_deg < 0.0 < astern.likely.heel_deg
    assert MASS * GRAVITY_M_S2 * arm(ahead.likely.heel_deg) == pytest.approx(
        ahead.likely.moment_n_m, rel=1e-8
    )
    assert ahead.low.moment_n_m / ahead.high.moment_n_m == pytest.approx(0.45 / 0.85)
    left = state(heel.run(box_vessel(), torque=Torque(20.0, 50.0, train_share=1.0, left_handed=True)))
    assert caused(left, "torque", "ahead").likely.moment_n_m == pytest.approx(20.0 / (100.0 * math.pi))


def test_dived_torque_is_borne_by_b_over_g() -> None:
    """Closed form: M g BG sin(phi) = Q, BG = 60 - 35 mm."""
    found = state(heel.run(box_vessel(), torque=Torque(60.0, 10.0, train_share=1.0)), "dived")
    moment = 60.0 / (20.0 * math.pi)
    most = MASS * GRAVITY_M_S2 * 0.025
    assert caused(found, "torque", "astern").likely.heel_deg == pytest.approx(
        math.degrees(math.asin(moment / most)), abs=1e-7
    )
    assert found.starboard.moment_n_m == pytest.approx(most, rel=1e-9)
    assert caused(found, "torque", "astern").likely.bears == pytest.approx(most / moment, rel=1e-9)


def test_wind_on_a_box_by_hand() -> None:
    """By hand: F = 1/2 x 1.225 x 5^2 x 1.1 x L x 60 mm of side, 30 mm up, held 30 mm down: lever 60 mm."""
    found = state(heel.run(box_vessel(), wind=Wind(5.0)))
    blown = caused(found, "wind", "from port")
    force = 0.5 * 1.225 * 25.0 * 1.1 * LONG * (DEPTH - DRAUGHT)
    assert blown.lateral_area_m2 == pytest.approx(LONG * 0.06, rel=1e-9)
    assert blown.height_m == pytest.approx(0.06, rel=1e-9)
    assert blown.half_draught_height_m == pytest.approx(0.06, rel=1e-9)
    assert blown.likely.moment_n_m == pytest.approx(force * 0.06, rel=1e-9)
    assert blown.likely.heel_deg > 0.0 > caused(found, "wind", "from starboard").likely.heel_deg
    assert blown.high.moment_n_m / blown.low.moment_n_m == pytest.approx(2.0, rel=1e-9)
    assert (
        caused(state(heel.run(box_vessel(), wind=Wind(5.0, drag=1.1))), "wind", "from port").high
        == blown.likely
    )


def test_wind_at_the_heel_it_brings_by_hand() -> None:
    """By hand: heeled by a, box B x D shows B sin + D cos over all heights; G of sections does not matter.

    Deck edge dry and keel edge wet: the area above is L (tall - deep), deep = T cos + (B/2) sin.
    """
    found = state(heel.run(box_vessel(), wind=Wind(12.0, drag=1.2)))
    blown = caused(found, "wind", "from port")
    angle = math.radians(blown.likely.heel_deg)
    assert 3.0 < blown.likely.heel_deg < 30.0
    tall = BEAM * math.sin(angle) + DEPTH * math.cos(angle)
    deep = DRAUGHT * math.cos(angle) + 0.5 * BEAM * math.sin(angle)
    lever = 0.5 * tall
    moment = 0.5 * 1.225 * 144.0 * 1.2 * LONG * (tall - deep) * lever
    # the silhouettes are taken every 5 degrees and joined by a smooth line
    assert MASS * GRAVITY_M_S2 * arm(blown.likely.heel_deg) == pytest.approx(moment, rel=2e-3)


def test_a_gust_swings_past_its_own_steady_heel() -> None:
    found = state(heel.run(box_vessel(), wind=Wind(4.0, gust_m_s=8.0, drag=1.1)))
    steady, gust = (caused(found, cause, "from port").likely for cause in ("wind", "gust"))
    assert steady.heel_deg < gust.heel_deg < gust.swings_deg
    # by hand, while the arm is nearly straight: she swings as far past the new rest as she lay short of it
    assert gust.swings_deg - gust.heel_deg == pytest.approx(gust.heel_deg - steady.heel_deg, rel=0.1)


def test_a_turn_throws_her_outwards_about_half_the_draught() -> None:
    """By hand: M v^2/R x (KG - T/2); turning to port throws to starboard. Nothing floods in a solid box."""
    found = state(heel.run(box_vessel(), turn=Turn(0.8, 1.0)))
    port = caused(found, "turn", "turn to port")
    assert port.flooded_kg == pytest.approx(0.0, abs=1e-9)
    assert port.likely.moment_n_m == pytest.approx(MASS * 0.64 * (KG - 0.5 * DRAUGHT), rel=1e-9)
    assert port.low.moment_n_m == pytest.approx(port.high.moment_n_m, rel=1e-9)
    other = caused(found, "turn", "turn to starboard")
    assert other.likely.moment_n_m == pytest.approx(-port.likely.moment_n_m, rel=1e-9)
    assert other.likely.heel_deg == pytest.approx(-port.likely.heel_deg, abs=1e-7)


def test_dived_she_leans_into_the_turn_when_g_is_below_the_middle() -> None:
    """By hand: M v^2/R x (KG - D/2) with KG 35 and D/2 60 mm: to port in a turn to port."""
    found = state(heel.run(box_vessel(), turn=Turn(0.8, 1.0)), "dived")
    port = caused(found, "turn", "turn to port")
    assert port.likely.moment_n_m == pytest.approx(MASS * 0.64 * (KG - 0.5 * DEPTH), rel=1e-9)
    assert port.likely.heel_deg < 0.0


def hollow(wall: float) -> Solid:
    return shapes.box(LONG, BEAM, DEPTH) - shapes.box(LONG - 2 * wall, BEAM - 2 * wall, DEPTH - 2 * wall)


def test_the_water_inside_her_goes_round_too() -> None:
    """By hand, dived: an open shell takes round all the water in her: rho x (form - material), its middle at D/2."""
    middle = (0.5 * LONG, 0.0, 0.5 * DEPTH)
    shell = item("shell", "solid", 1.0, middle, hollow(0.004))
    foam = item("foam", "foam", 0.05, (0.5 * LONG, 0.0, 0.09), shapes.box(0.5, 0.1, 0.04))
    lead = item("lead", "inside", 0.8, (0.5 * LONG, 0.0, 0.01))
    form = shapes.box(LONG, BEAM, DEPTH).moved(np.array(middle))
    vessel = small_vessel(hull=form, items=(shell, foam, lead), tanks=())
    found = caused(state(heel.run(vessel, turn=Turn(0.8, 1.0)), "dived"), "turn", "turn to port")
    material = shell.volume_m3 + foam.volume_m3
    flooded = RHO * (LONG * BEAM * DEPTH - material)
    assert found.flooded_kg == pytest.approx(flooded, rel=1e-9)
    # about the middle of the lateral plane, which is the middle of the box; the foam's room holds no water
    own = 0.05 * 0.03 + 0.8 * (0.01 - 0.06)
    water = -RHO * foam.volume_m3 * 0.03
    assert found.likely.moment_n_m == pytest.approx(0.64 * (own + water), rel=1e-8)


def test_water_in_a_tank_runs_outwards_in_a_turn() -> None:
    """Closed form for an upright box tank: its middle shifts by B^2/(12 h) x a/g across, half x a/g of it up."""
    room = shapes.box(0.3, 0.1, 0.05)
    place = (0.5 * LONG, 0.0, 0.05)
    tank = Tank(
        name="main", system="vented pump", solid=room.moved(np.array(place)), capacity_m3=0.3 * 0.1 * 0.05,
        centre_m=place, inside="hull", piston_direction=(0.0, 0.0, 0.0),
    )  # fmt: skip
    turn = Turn(0.7, 1.0)
    vessel = box_vessel(kg_m=0.02, tanks=(tank,))
    found = heel.run(vessel, turn=turn, fills=(0.5,)).states[-1]
    half = RHO * 0.3 * 0.1 * 0.025
    pull = 0.49 / GRAVITY_M_S2
    draught = (MASS + half) / (RHO * LONG * BEAM)
    across = 0.1**2 / (12.0 * 0.025) * pull
    up = 0.025 + 0.0125 + 0.5 * across * pull
    moment = 0.49 * (MASS * 0.02 + half * up - (MASS + half) * 0.5 * draught) + half * GRAVITY_M_S2 * across
    assert caused(found, "turn", "turn to port").likely.moment_n_m == pytest.approx(moment, rel=1e-9)
    assert caused(found, "turn", "turn to starboard").likely.moment_n_m == pytest.approx(-moment, rel=1e-9)


def test_a_weight_moved_across() -> None:
    """Closed form: M arm(phi) = m y cos(phi) on the wall-sided box; 10 g by 10 mm likewise."""
    found = state(heel.run(box_vessel(), side=Side(0.05, 0.04)))
    for way, sign in (("moved to starboard", 1.0), ("moved to port", -1.0)):
        angle = caused(found, "side", way).likely.heel_deg
        assert MASS * arm(angle) == pytest.approx(sign * 0.002 * math.cos(math.radians(angle)), rel=1e-7)
    small = found.per_10g_moved_10mm_deg
    assert MASS * arm(small) == pytest.approx(1e-4 * math.cos(math.radians(small)), rel=1e-6)


def test_a_weight_hung_on_her() -> None:
    """Independent route: the same weight as a part of the boat, laid afresh."""
    vessel = box_vessel()
    at = (0.5 * LONG, -0.07, 0.11)
    hung = caused(state(heel.run(vessel, side=Side(0.08, at_m=at))), "side", "hung on")
    loaded = replace(vessel, items=(*vessel.items, item("weight", "inside", 0.08, at)))
    assert hung.likely.heel_deg == pytest.approx(heel.run(loaded).states[0].lie.heel_deg.value, abs=1e-8)
    assert hung.likely.heel_deg > 0.0


def mirrored(vessel: Vessel) -> Vessel:
    def flip(entry: Item) -> Item:
        x, y, z = entry.centre_m
        solid = entry.solid
        return replace(entry, centre_m=(x, -y, z), solid=None if solid is None else solid.moved(
            np.zeros(3), np.diag([1.0, -1.0, 1.0])))  # fmt: skip

    return replace(
        vessel,
        hull=vessel.hull.moved(np.zeros(3), np.diag([1.0, -1.0, 1.0])),
        items=tuple(flip(entry) for entry in vessel.items),
    )


def test_a_mirrored_boat_heels_to_the_mirrored_side() -> None:
    vessel = small_vessel(waterline_m=0.09)
    lead = item("keel lead", "lead", 0.25, (0.47, -0.003, 0.006), shapes.box(0.1, 0.02, 0.01))
    vessel = replace(vessel, items=(*vessel.items, lead))
    more = {"turn": Turn(0.6, 0.9), "wind": Wind(3.0, gust_m_s=5.0), "side": Side(0.03, 0.02)}
    one = heel.run(vessel, torque=Torque(10.0, 40.0), **more)
    other = heel.run(mirrored(vessel), torque=Torque(10.0, 40.0, left_handed=True), **more)
    opposite = {"port": "starboard", "starboard": "port"}
    for left, right in zip(one.states, other.states, strict=True):
        assert left.holds
        assert left.lie.heel_deg.value == pytest.approx(-right.lie.heel_deg.value, abs=1e-6)
        assert left.starboard.moment_n_m == pytest.approx(right.port.moment_n_m, rel=1e-6)
        for entry in left.caused:
            last = entry.way.split()[-1]
            way = entry.way.removesuffix(last) + opposite.get(last, last)
            twin = caused(right, entry.cause, way)
            assert entry.likely.heel_deg == pytest.approx(-twin.likely.heel_deg, abs=1e-5, nan_ok=True)
            assert entry.likely.swings_deg == pytest.approx(-twin.likely.swings_deg, abs=1e-3, nan_ok=True)


def test_what_lays_her_over_is_said() -> None:
    """4 x the most she bears: no rest, no end of the swing, and words that say so."""
    result = heel.run(box_vessel(), torque=Torque(500.0, 5.0, train_share=1.0))
    found = caused(state(result, "dived"), "torque", "ahead").likely
    assert math.isnan(found.heel_deg)
    assert math.isnan(found.swings_deg)
    assert found.bears < 1.0
    assert any("lays her over" in entry.what for entry in result.warnings)


def test_a_boat_that_does_not_hold_is_not_heeled() -> None:
    result = heel.run(box_vessel(kg_m=0.1), torque=Torque(5.0, 50.0))
    assert not state(result, "dived").holds
    assert state(result, "dived").caused == ()
    assert any("does not hold herself upright" in entry.what for entry in result.warnings)


def test_a_boat_that_sinks_is_heeled_as_she_hangs_and_says_so() -> None:
    """Closed form: M g BG sin(phi) = Q; no wind reaches her."""
    vessel = box_vessel()
    heavy = replace(vessel, items=(replace(vessel.items[0], mass_kg=3.0 * MASS),))
    result = heel.run(heavy, torque=Torque(60.0, 10.0, train_share=1.0), wind=Wind(5.0))
    found = state(result)
    moment = 60.0 / (20.0 * math.pi)
    assert caused(found, "torque", "astern").likely.heel_deg == pytest.approx(
        math.degrees(math.asin(moment / (3.0 * MASS * GRAVITY_M_S2 * 0.025))), abs=1e-7
    )
    assert {entry.cause for entry in found.caused} == {"torque"}
    assert any("She sinks, surfaced" in entry.what for entry in result.warnings)


def test_the_least_stable_moment_is_that_of_the_dive() -> None:
    vessel = small_vessel()
    lead = item("keel lead", "lead", 0.25, (0.47, 0.0, 0.006), shapes.box(0.1, 0.02, 0.01))
    vessel = replace(vessel, items=(*vessel.items, lead))
    result = heel.run(vessel, least=True)
    weakest = state(result, "least stable").lie.gm_transverse_m.value
    assert (
        weakest <= min(state(result, name).lie.gm_transverse_m.value for name in ("surfaced", "dived")) + 1e-9
    )


@pytest.mark.parametrize(
    ("given", "keys"),
    [
        ({"torque": Torque(-1.0, 0.0, train_share=1.5)}, {"power", "rpm", "efficiency"}),
        ({"turn": Turn(math.nan, 0.0)}, {"speed", "turn"}),
        ({"wind": Wind(5.0, gust_m_s=3.0)}, {"gust"}),
        ({"wind": Wind(0.0)}, {"wind"}),
        ({"side": Side(0.0, moved_m=-0.01)}, {"side"}),
        ({"side": Side(0.01)}, {"side"}),
    ],
)
def test_what_cannot_be_is_said_all_at_once(given: dict, keys: set[str]) -> None:
    with pytest.raises(BoatError) as caught:
        heel.run(box_vessel(), **given)
    assert {entry.key for entry in caught.value.advice} == keys
