"""The figures at a glance: verdicts at their borders, and weights that really set her right."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.vessel import Vessel
from dabchick.report.glance_words import about, row_sentence, sentence, state_words
from dabchick.studies import trim
from dabchick.studies.glance import Glance, dived, glance, lie_in, state_of, surfaced, worst
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure
from dabchick.studies.tank_water import tank_waters
from dabchick.studies.trim_apply import with_trim
from tests.support.vessels import item, small_vessel


@pytest.fixture(scope="module")
def right() -> Vessel:
    """A boat trimmed by the full study, so that both states are right."""
    vessel = small_vessel()
    found = trim.run(vessel)
    assert found.feasible
    trimmed = with_trim(vessel, found.pieces, found.moves)
    return replace(trimmed, wishes=replace(trimmed.wishes, least_bg_m=0.002))


def _with(vessel: Vessel, mass_kg: float, at: tuple[float, float, float]) -> Vessel:
    return replace(vessel, items=(*vessel.items, item("more", "inside", mass_kg, at)))


def _shifted(vessel: Vessel, name: str, shift: tuple[float, float, float]) -> Vessel:
    def moved(entry):
        centre = tuple(float(value) for value in np.add(entry.centre_m, shift))
        return replace(entry, centre_m=centre) if entry.name == name else entry

    return replace(vessel, items=tuple(map(moved, vessel.items)))


def test_a_right_boat_is_good_in_both_states(right: Vessel) -> None:
    afloat, under = glance(right, surfaced(right), "surfaced"), glance(right, dived(right), "dived")
    assert (afloat.verdict, under.verdict) == ("good", "good")
    assert [row.key for row in afloat.rows] == [
        "draught_bow",
        "draught_stern",
        "trim",
        "heel",
        "gm_transverse",
    ]
    assert [row.key for row in under.rows] == ["lift", "trim", "heel", "bg"]
    assert sentence(right, afloat) == "She floats on her waterline, level."
    assert sentence(right, under).startswith("She hangs level with ")
    assert all(row_sentence(row, "metric") == "" for row in (*afloat.rows, *under.rows))


def test_the_weight_told_is_the_weight_put_on(right: Vessel) -> None:
    """30 g at the stern mark, on the keel line: told as 30 g at the stern and nothing at the bow."""
    before = glance(right, surfaced(right), "surfaced")
    wrong = _with(right, 0.030, (right.mark_stern_m, 0.0, 0.0))
    after = glance(wrong, surfaced(wrong), "surfaced")
    assert after.too_heavy_stern_kg - before.too_heavy_stern_kg == pytest.approx(0.030, rel=0.10)
    assert after.too_heavy_bow_kg - before.too_heavy_bow_kg == pytest.approx(0.0, abs=0.003)
    assert after.verdict == "bad"
    assert "too deep at the stern" in sentence(wrong, after)
    assert "too heavy aft" in sentence(wrong, after)


def test_taking_off_what_is_told_sets_her_right(right: Vessel) -> None:
    """By full equilibrium: what is told is taken off at both marks, and both draughts come to the waterline."""
    vessel = _with(replace(right, waterline_m=right.waterline_m - 0.003), 0.030, (0.70, 0.0, 0.0))
    seen = glance(vessel, surfaced(vessel), "surfaced")
    assert math.isfinite(seen.too_heavy_bow_kg)
    first = max(abs(row.miss) for row in seen.rows[:2])
    assert first > 0.002
    for _ in range(4):
        for mass, mark in (
            (-seen.too_heavy_bow_kg, vessel.mark_bow_m),
            (-seen.too_heavy_stern_kg, vessel.mark_stern_m),
        ):
            vessel = (
                _with(vessel, mass, (mark, 0.0, 0.0))
                if mass > 0.0
                else replace(vessel, items=_lightened(vessel, -mass, mark))
            )
        seen = glance(vessel, surfaced(vessel), "surfaced")
    assert max(abs(row.miss) for row in seen.rows[:2]) < 1e-4


def _lightened(vessel: Vessel, mass_kg: float, mark: float):
    """The skin without a mass at a point: lighter, with its centre where that leaves it."""
    skin = vessel.items[0]
    left = skin.mass_kg - mass_kg
    centre = (skin.mass_kg * np.array(skin.centre_m) - mass_kg * np.array([mark, 0.0, 0.0])) / left
    return (replace(skin, mass_kg=left, centre_m=tuple(map(float, centre))), *vessel.items[1:])


def test_the_moments_told_are_those_put_in(right: Vessel) -> None:
    """The battery (0.4 kg) 1 mm forward: 0.4 g m. 0.2 mm to starboard: 0.08 g m."""
    before = glance(right, dived(right), "dived")
    forward = _shifted(right, "battery", (0.001, 0.0, 0.0))
    seen = glance(forward, dived(forward), "dived")
    assert seen.too_heavy_forward_kg_m - before.too_heavy_forward_kg_m == pytest.approx(4e-4, rel=0.05)
    aside = _shifted(right, "battery", (0.0, -0.0002, 0.0))
    for state, lie in (("surfaced", surfaced), ("dived", dived)):
        base = glance(right, lie(right), state).too_heavy_starboard_kg_m
        leaning = glance(aside, lie(aside), state)
        assert leaning.too_heavy_starboard_kg_m - base == pytest.approx(8e-5, rel=0.05)
        assert leaning.lie.heel_deg.value > 0.0


def _lie(right: Vessel, **figures: float) -> Lie:
    base = surfaced(right)
    return replace(base, **{name: Figure(value, 0.0) for name, value in figures.items()})


@pytest.mark.parametrize(
    ("miss_mm", "verdict"),
    [
        (0.0, "good"),
        (0.999, "good"),
        (-0.999, "good"),
        (1.001, "watch"),
        (-2.999, "watch"),
        (3.001, "bad"),
        (-3.5, "bad"),
    ],
)
def test_draughts_within_1_mm_are_good_and_within_3_to_be_watched(
    right: Vessel, miss_mm: float, verdict: str
) -> None:
    lie = _lie(right, draught_bow_m=right.waterline_m + miss_mm / 1000.0)
    assert glance(right, lie, "surfaced").rows[0].verdict == verdict


@pytest.mark.parametrize(
    ("degrees", "verdict"), [(0.49, "good"), (-0.51, "watch"), (1.49, "watch"), (-1.51, "bad")]
)
def test_angles_within_half_a_degree_are_good(right: Vessel, degrees: float, verdict: str) -> None:
    assert glance(right, _lie(right, trim_deg=degrees), "surfaced").rows[2].verdict == verdict
    assert glance(right, _lie(right, heel_deg=degrees), "surfaced").rows[3].verdict == verdict


@pytest.mark.parametrize(
    ("share", "verdict"),
    [(1.2, "good"), (1.0, "good"), (0.9, "watch"), (0.34, "watch"), (0.33, "bad"), (-1.0, "bad")],
)
def test_gm_and_bg_are_held_to_the_least(right: Vessel, share: float, verdict: str) -> None:
    value = share * right.wishes.least_bg_m
    assert glance(right, _lie(right, gm_transverse_m=value), "surfaced").rows[4].verdict == verdict
    assert glance(right, _lie(right, bg_m=value), "dived").rows[3].verdict == verdict


@pytest.mark.parametrize(
    ("grams", "verdict"), [(1.9, "good"), (-2.1, "watch"), (5.9, "watch"), (-6.1, "bad")]
)
def test_lift_within_2_g_of_the_wish_is_good(right: Vessel, grams: float, verdict: str) -> None:
    lie = _lie(right, lift_kg=right.wishes.lift_dived_kg + grams / 1000.0)
    assert glance(right, lie, "dived").rows[0].verdict == verdict


def test_what_is_not_known_is_not_good(right: Vessel) -> None:
    seen = glance(right, _lie(right, draught_bow_m=math.nan), "surfaced")
    assert seen.rows[0].verdict == "unknown"
    assert seen.verdict == "unknown"
    assert worst(["good", "watch", "unknown"]) == "unknown"
    assert worst(["good", "bad", "unknown"]) == "bad"


def test_a_boat_that_sinks_is_told_so_with_her_excess(right: Vessel) -> None:
    heavy = _with(right, 3.0, (0.45, 0.0, 0.02))
    seen = glance(heavy, surfaced(heavy), "surfaced")
    spare = surfaced(right).lift_kg.value
    assert seen.verdict == "bad"
    assert sentence(heavy, seen).startswith("She sinks even with empty tanks: ")
    assert -seen.lie.lift_kg.value == pytest.approx(3.0 - spare, abs=1e-9)
    assert math.isnan(seen.too_heavy_bow_kg)


def test_a_boat_on_a_knife_edge_is_bad_whatever_her_figures(right: Vessel) -> None:
    seen = glance(right, replace(surfaced(right), stable=False), "surfaced")
    assert seen.verdict == "bad"
    assert "turns her over" in sentence(right, seen)
    keel_up = glance(right, _lie(right, heel_deg=179.0), "surfaced")
    assert keel_up.verdict == "bad"
    assert "keel up" in sentence(right, keel_up)


def test_states_by_their_fills() -> None:
    assert state_of({"a": 0.0, "b": 0.0}) == "surfaced"
    assert state_of({"a": 1.0, "b": 1.0}) == "dived"
    assert state_of({"a": 1.0, "b": 0.0}) == "as filled"
    assert state_of({}) == "surfaced"


def test_full_tanks_hang_only_where_her_hull_is_under(right: Vessel) -> None:
    state, lie = lie_in(right, 1.0)
    assert (state, lie.condition) == ("dived", "hangs")
    light = replace(right, items=tuple(entry for entry in right.items if entry.kind != "lead"))
    state, lie = lie_in(light, 1.0)
    assert (state, lie.condition) == ("as filled", "floats")
    assert lie.freeboard_m.value > 0.0


def test_state_words(right: Vessel) -> None:
    _, lie = lie_in(right, 0.4)
    seen = glance(right, lie, "as filled")
    assert state_words(seen) == "tank 40 %"
    two = replace(seen, lie=replace(lie, fills={"fore": 0.4, "aft": 0.5}))
    assert state_words(two) == "fore 40 %, aft 50 %"


@pytest.mark.parametrize(
    ("bow", "stern", "words"),
    [
        (0.0, 0.041, "about 41 g too heavy aft"),
        (-0.020, 0.0412, "about 20 g too light forward and about 41 g too heavy aft"),
        (0.030, 0.060, "about 90 g too heavy in all, most of it aft"),
        (-0.050, -0.050, "about 100 g too light in all"),
        (math.nan, math.nan, "She floats 5.0 mm too deep at the stern."),
    ],
)
def test_where_the_weight_sits_in_words(right: Vessel, bow: float, stern: float, words: str) -> None:
    lie = _lie(right, draught_bow_m=right.waterline_m, draught_stern_m=right.waterline_m + 0.005)
    seen = replace(glance(right, lie, "surfaced"), too_heavy_bow_kg=bow, too_heavy_stern_kg=stern)
    assert words in sentence(right, seen).replace("\u00a0", " ")


def test_inch_boats_are_told_in_inches(right: Vessel) -> None:
    inch = replace(right, units="inch")
    lie = _lie(right, draught_stern_m=right.waterline_m + 0.00635)
    seen = glance(inch, lie, "surfaced")
    assert "0.250 in too deep at the stern" in sentence(inch, seen).replace("\u00a0", " ")
    assert about(0.0283495231, "inch").replace("\u00a0", " ") == "1 oz"
    assert about(0.0, "metric").replace("\u00a0", " ") == "0 g"


def test_dived_words(right: Vessel) -> None:
    seen: Glance = glance(right, _lie(right, lift_kg=0.0171, trim_deg=-2.0), "dived")
    seen = replace(seen, too_heavy_forward_kg_m=0.0016)
    told = sentence(right, seen).replace("\u00a0", " ")
    assert told == "She hangs 2.0° bow down: as if 16 g stood 100 mm too far forward."
    only = glance(right, _lie(right, lift_kg=0.0041), "dived")
    wished = 1000.0 * right.wishes.lift_dived_kg
    assert (
        sentence(right, only).replace("\u00a0", " ") == f"She lifts by 4.1 g: {wished - 4.1:.1f} g too heavy."
    )


@pytest.mark.parametrize("share", [0.0, 0.02, 0.4, 0.97, 1.0])
@pytest.mark.parametrize("system", ["piston", "vented pump"])
def test_the_water_drawn_is_the_water_held(right: Vessel, share: float, system: str) -> None:
    """Within the 0.1 % that a circle of 96 sides is short; nothing of it stands over its own level."""
    tank = replace(right.tanks[0], system=system)
    vessel = replace(_with(right, 0.05, (0.1, 0.01, 0.05)), tanks=(tank,))
    lie = lie_in(vessel, share)[1]
    (water,) = tank_waters(vessel, lie)
    assert water.volume_m3 == pytest.approx(share * tank.capacity_m3, rel=1e-12, abs=1e-15)
    corners = water.vertices[water.faces]
    volume = np.einsum("mi,mi->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    # a sliver of a round tank is short by more than the whole, but of less
    assert volume == pytest.approx(water.volume_m3, rel=0.002, abs=2e-4 * tank.capacity_m3)
    if share == 0.0:
        assert len(water.vertices) == 0
    if system == "vented pump" and 0.0 < share < 1.0:
        # a free surface is level: the highest corners all stand at one height in the world
        heights = water.vertices @ np.array(lie.normal)
        assert np.sum(heights > heights.max() - 1e-9) >= 3
    if system == "piston" and share > 0.0:
        # the column's length is the share of the stroke, from the fixed end, which is the bow's here
        along = water.vertices[:, 0]
        assert along.max() - along.min() == pytest.approx(share * 0.075, abs=1e-9)
        assert along.max() == pytest.approx(0.47 + 0.5 * 0.075, abs=1e-9)


def test_air_shut_in_leaves_less_room_the_deeper_it_is(right: Vessel) -> None:
    """Half a tank of air, open below, squeezed by the water over it: more water than was blown for."""
    tank = replace(right.tanks[0], system="air blown", inside="")
    vessel = replace(right, tanks=(tank,))
    _, lie = lie_in(vessel, 0.5)
    (water,) = tank_waters(vessel, lie)
    assert 0.5 * tank.capacity_m3 < water.volume_m3 < 0.52 * tank.capacity_m3
