"""Cures against closed forms, against full equilibria by brute force, and where nothing helps."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dabchick.model.vessel import Item, Place, Vessel
from dabchick.physics import shapes
from dabchick.physics.equilibrium import UPRIGHT
from dabchick.studies import stability
from dabchick.studies.criteria import judge
from dabchick.studies.cure import Search, both_trims, run
from dabchick.studies.cure_options import options_of, relocated
from dabchick.studies.cure_solve import MET_M
from dabchick.studies.hold import gm_slopes, held
from dabchick.studies.limits import chosen_limits
from dabchick.studies.loading import load
from dabchick.studies.trim import fitting
from dabchick.studies.trim_model import rows_of
from tests.support.random_boats import steady
from tests.support.vessels import RHO, item, small_vessel

FILLS = (0.0, 0.35, 0.7, 0.9, 1.0)


@pytest.fixture(scope="module")
def trimmed() -> Vessel:
    found = fitting(small_vessel(), seconds=3.0)
    assert found.right
    return found.vessel


def _moved(vessel: Vessel, name: str, shift: tuple[float, float, float]) -> Vessel:
    def changed(entry: Item) -> Item:
        if entry.name != name:
            return entry
        return replace(
            entry,
            centre_m=tuple(np.add(entry.centre_m, shift)),
            volume_centre_m=tuple(np.add(entry.volume_centre_m, shift)),
            solid=entry.solid.moved(np.array(shift)) if entry.solid is not None else None,
        )

    return replace(vessel, items=tuple(changed(entry) for entry in vessel.items))


@pytest.mark.parametrize("hanging", [False, True])
@pytest.mark.parametrize("fill", FILLS)
def test_slope_of_gm_is_that_of_full_equilibria(trimmed: Vessel, fill: float, hanging: bool) -> None:
    battery = next(entry for entry in trimmed.items if entry.name == "battery")
    here = held(trimmed, {"main": fill}, hanging=hanging)
    slopes = gm_slopes(here)
    step = 1e-5
    for axis in (0, 2):
        shift = np.eye(3)[axis] * step
        there = [
            held(_moved(trimmed, "battery", tuple(sign * shift)), {"main": fill}, here.normal, hanging=hanging)
            for sign in (1.0, -1.0)
        ]
        measured = (there[0].gm_transverse_m - there[1].gm_transverse_m) / (2.0 * step)
        centre = np.array(battery.centre_m)
        slope = battery.mass_kg * (
            slopes.of_mass(centre + np.eye(3)[axis]) - slopes.of_mass(centre)
        )[0]
        assert slope == pytest.approx(measured, abs=2e-3 * battery.mass_kg / here.loading.mass_kg)


def test_raising_a_mass_costs_its_share_of_the_height_where_she_hangs_level(trimmed: Vessel) -> None:
    # d(GM)/dz = -m / M, since G alone rises (closed form).
    battery = next(entry for entry in trimmed.items if entry.name == "battery")
    full = load(trimmed, 1.0)
    slopes = gm_slopes(held(trimmed, {"main": 1.0}, hanging=True))
    up = slopes.of_mass(np.array(battery.centre_m) + [0.0, 0.0, 1.0]) - slopes.of_mass(np.array(battery.centre_m))
    assert battery.mass_kg * up[0] == pytest.approx(-battery.mass_kg / full.mass_kg, rel=1e-3)


def test_slope_of_a_displacing_solid_is_that_of_full_equilibria(trimmed: Vessel) -> None:
    solid = shapes.box(0.03, 0.02, 0.008).moved(np.array([0.5, 0.01, 0.09]))
    for fill in (0.35, 0.9):
        here = held(trimmed, {"main": fill})
        share = 1e-3

        def at(weight: float, fill: float = fill, start: np.ndarray = here.normal) -> float:
            extra = replace(item("float", "solid", 1e-12, (0.5, 0.01, 0.09)), solid=solid.weighted(weight))
            extra = replace(extra, volume_m3=weight * solid.volume)
            return held(replace(trimmed, items=(*trimmed.items, extra)), {"main": fill}, start).gm_transverse_m

        measured = (at(share) - at(-share)) / (2.0 * share)
        assert gm_slopes(here).of_solid(solid)[0] == pytest.approx(measured, rel=0.02, abs=2e-6)


def box_boat() -> Vessel:
    """A sealed box under a narrow casing, a lead weight on deck and free places at three heights below it."""
    base = small_vessel()
    lead = replace(
        item("weight", "lead", 0.200, (0.45, 0.0, 0.0905), shapes.box(0.06, 0.02, 0.0147)), from_trim=False
    )
    items = (
        item("box", "dry", 0.5, (0.45, 0.0, 0.04), shapes.box(0.6, 0.10, 0.08)),
        item("casing", "solid", 0.05, (0.45, 0.0, 0.11), shapes.box(0.3, 0.02, 0.02)),
        item("keel weight", "inside", 3.69, (0.45, 0.0, 0.034), inside="box"),
        lead,
    )
    places = tuple(
        Place(f"at {low}", "lead", (0.40, -0.03, low / 1000), (0.50, 0.03, low / 1000 + 0.02))
        for low in (-20, -40, 60)
    )
    return replace(base, items=items, wishes=replace(base.wishes, places=places), waterline_m=0.075)


def test_best_move_of_a_box_boat_is_the_lowest_place_and_gives_what_the_weight_in_water_says() -> None:
    vessel = box_boat()
    limits = chosen_limits(vessel, gm_m=0.05, bg_m=0.0, arm_m=0.0, range_deg=0.0, gm_longitudinal_m=0.0)
    before = stability.run(vessel, stages=3)
    search = Search(vessel, limits, before, judge(vessel, before, limits))
    best = search.singles(3)[0]
    (move,) = best.moves
    down = move.from_m[2] - move.to_m[2]
    assert move.to_m[2] == pytest.approx(-0.040 + 0.0147 / 2)
    # Dived: G falls by m h / M, B by v h / V = rho v h / M (closed form).
    lead = vessel.items[-1]
    full = load(vessel, 1.0)
    hung = [held(entry, {"main": 1.0}, hanging=True).gm_transverse_m for entry in (vessel, best.vessel)]
    by_mass = lead.mass_kg * down / full.mass_kg
    by_volume = lead.volume_m3 * down / full.balance.buoyant_volume
    assert hung[1] - hung[0] == pytest.approx(by_mass - by_volume, rel=1e-9)


def test_top_single_move_is_the_best_of_all_by_full_equilibria(trimmed: Vessel) -> None:
    limits = chosen_limits(trimmed, gm_m=0.02)
    before = stability.run(trimmed, stages=5)
    search = Search(trimmed, limits, before, judge(trimmed, before, limits))
    options = options_of(trimmed, search.places, {})
    waterline = trimmed.waterline_m
    miss = options.linear.measure @ options.linear.base[:6]
    most = np.maximum(1.0, np.abs(miss)) + 0.5
    found = []
    for piece in [entry for entry in trimmed.items if entry.kind in ("lead", "foam")]:
        for place in search.places:
            there = relocated(trimmed, piece, place)
            if there is None:
                continue
            tried = replace(trimmed, items=tuple(there if entry is piece else entry for entry in trimmed.items))
            rows = rows_of(tried, load(tried, 0.0), load(tried, 1.0), waterline)
            if np.all(np.abs(options.linear.measure @ rows[:6]) <= most):
                found.append(float(np.max(search.targets() - search.exact(tried))))
    battery = next(entry for entry in trimmed.items if entry.name == "battery")
    assert battery.rail is not None
    best = search.singles(3)
    reached = min([*found, search.worst_wanted()])
    assert best, "some move or shift helps"
    assert best[0].short_m <= reached + 2e-5


@pytest.fixture(scope="module")
def cured(trimmed: Vessel):  # type: ignore[no-untyped-def]
    gm = min(held(trimmed, {"main": fill}).gm_transverse_m for fill in np.linspace(0.0, 1.0, 21))
    return run(trimmed, chosen_limits(trimmed, gm_m=gm + 0.0004, bg_m=0.0, gm_longitudinal_m=0.0, arm_m=0.0))


def test_cure_meets_the_limits_and_keeps_both_trims_by_full_equilibria(cured, trimmed: Vessel) -> None:  # type: ignore[no-untyped-def]
    assert not cured.verdict.kept
    best = cured.cures[0]
    assert best.kept
    # What counts as right in the bath: 1 mm, 0.5 deg, 2 g.
    assert abs(best.after.draught_bow_m - trimmed.waterline_m) < 0.001
    assert abs(best.after.draught_stern_m - trimmed.waterline_m) < 0.001
    assert max(abs(best.after.trim_deg), abs(best.after.dived_trim_deg)) < 0.5
    assert max(abs(best.after.heel_deg), abs(best.after.dived_heel_deg)) < 0.5
    assert abs(best.after.lift_kg - trimmed.wishes.lift_dived_kg) < 0.002
    assert best.least_gm_after_m.value >= cured.verdict.of("gm_least").limit


def test_cures_stand_from_the_cheapest_on_and_those_that_reach_come_first(cured) -> None:  # type: ignore[no-untyped-def]
    kept = [cure.kept for cure in cured.cures]
    assert kept == sorted(kept, reverse=True)
    assert cured.reason == "" and cured.text == ""


def test_a_boat_that_keeps_her_limits_has_nothing_to_cure(trimmed: Vessel) -> None:
    result = run(trimmed, chosen_limits(trimmed, gm_m=0.0, bg_m=0.0, range_deg=0.0, arm_m=0.0, gm_longitudinal_m=0.0))
    assert (result.reason, result.cures) == ("kept", ())


def test_without_lead_foam_rail_or_place_the_reason_is_named() -> None:
    base = small_vessel()
    bare = replace(
        base,
        items=tuple(replace(entry, rail=None) for entry in base.items),
        wishes=replace(base.wishes, places=()),
    )
    result = run(bare, chosen_limits(bare, gm_m=0.05), again=False)
    assert result.reason == "no means"
    assert not any(cure.kept for cure in result.cures)


def test_a_limit_beyond_all_room_says_so_with_the_best_that_can_be_reached(trimmed: Vessel) -> None:
    result = run(trimmed, chosen_limits(trimmed, gm_m=0.08), again=False)
    assert result.reason == "room"
    assert result.cures and not any(cure.kept for cure in result.cures)
    assert result.verdict.of("gm_least").value <= result.best_gm_m < 0.08


def test_a_boat_that_sinks_empty_is_told_so(trimmed: Vessel) -> None:
    heavy = replace(
        trimmed, items=tuple(replace(entry, mass_kg=1.5 * entry.mass_kg) for entry in trimmed.items)
    )
    assert run(heavy, chosen_limits(heavy, gm_m=0.05), again=False).reason == "sinks"


@steady
@given(rise=st.floats(1e-4, 0.02), number=st.integers(0, 50))
def test_raising_any_lead_never_raises_the_least_gm(trimmed: Vessel, rise: float, number: int) -> None:
    leads = [entry for entry in trimmed.items if entry.kind == "lead"]
    piece = leads[number % len(leads)]
    raised = _moved(trimmed, piece.name, (0.0, 0.0, rise))

    def least(vessel: Vessel) -> float:
        return min(held(vessel, {"main": fill}, UPRIGHT).gm_transverse_m for fill in FILLS)

    assert least(raised) <= least(trimmed) + 1e-9


def test_trims_of_the_small_boat_are_those_of_the_water(trimmed: Vessel) -> None:
    # Archimedes: dived she weighs what all her material displaces, less the lift (RHO of the support boat).
    full = load(trimmed, 1.0)
    lift = RHO * full.balance.buoyant_volume - full.mass_kg
    assert both_trims(trimmed).lift_kg == pytest.approx(lift, abs=1e-9)
    assert MET_M < 1e-4
