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
from dabchick.studies.cure import run
from dabchick.studies.cure_options import options_of, relocated
from dabchick.studies.cure_search import Search
from dabchick.studies.cure_solve import MET_M
from dabchick.studies.cure_trims import both_trims
from dabchick.studies.hold import gm_slopes, held
from dabchick.studies.lay import lay
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


@pytest.fixture(scope="module")
def smooth(trimmed: Vessel) -> Vessel:
    """Without boxes at the waterline, whose edges make the stiffness jump: a jump has no slope."""
    kept = [entry for entry in trimmed.items if entry.name not in ("sail", "casing") and entry.kind != "foam"]
    return replace(trimmed, items=tuple(kept))


@pytest.mark.parametrize("hanging", [False, True])
@pytest.mark.parametrize("fill", FILLS)
def test_slope_of_gm_is_that_of_full_equilibria(smooth: Vessel, fill: float, hanging: bool) -> None:
    trimmed = smooth
    battery = next(entry for entry in trimmed.items if entry.name == "battery")
    here = held(trimmed, {"main": fill}, hanging=hanging)
    slopes = gm_slopes(here)
    step = 1e-5
    # Along the boat she trims, and the flat facets of the meshed hull let the stiffness jump a little.
    for axis, allowed in ((0, 2e-2), (2, 2e-3)):
        shift = np.eye(3)[axis] * step
        there = [
            held(
                _moved(trimmed, "battery", tuple(sign * shift)), {"main": fill}, here.normal, hanging=hanging
            )
            for sign in (1.0, -1.0)
        ]
        measured = (there[0].gm_transverse_m - there[1].gm_transverse_m) / (2.0 * step)
        centre = np.array(battery.centre_m)
        slope = battery.mass_kg * (slopes.of_mass(centre + np.eye(3)[axis]) - slopes.of_mass(centre))[0]
        assert slope == pytest.approx(measured, abs=allowed * battery.mass_kg / here.loading.mass_kg)


def test_raising_a_mass_costs_its_share_of_the_height_where_she_hangs_level(trimmed: Vessel) -> None:
    # d(GM)/dz = -m / M, since G alone rises (closed form).
    battery = next(entry for entry in trimmed.items if entry.name == "battery")
    full = load(trimmed, 1.0)
    slopes = gm_slopes(held(trimmed, {"main": 1.0}, hanging=True))
    centre = np.array(battery.centre_m)
    up = slopes.of_mass(centre + np.eye(3)[2]) - slopes.of_mass(centre)
    assert battery.mass_kg * up[0] == pytest.approx(-battery.mass_kg / full.mass_kg, rel=1e-3)


@pytest.mark.parametrize("height", [0.02, 0.09])
def test_slope_of_a_displacing_solid_is_that_of_full_equilibria(smooth: Vessel, height: float) -> None:
    trimmed = smooth
    solid = shapes.box(0.03, 0.02, 0.03).moved(np.array([0.5, 0.01, height]))
    for fill in (0.35, 0.9):
        here = held(trimmed, {"main": fill})
        share = 1e-3

        def at(weight: float, fill: float = fill, start: np.ndarray = here.normal) -> float:
            extra = replace(item("float", "solid", 1e-12, (0.5, 0.01, height)), solid=solid.weighted(weight))
            extra = replace(extra, volume_m3=weight * solid.volume)
            return held(
                replace(trimmed, items=(*trimmed.items, extra)), {"main": fill}, start
            ).gm_transverse_m

        measured = (at(share) - at(-share)) / (2.0 * share)
        assert gm_slopes(here).of_solid(solid)[0] == pytest.approx(measured, rel=0.02, abs=2e-6)


def box_boat() -> Vessel:
    """A sealed box under a narrow casing, weights of hardly any volume, foam, and free places at many heights."""
    base = small_vessel()
    dense = shapes.box(0.02, 0.01, 0.005)
    items = (
        item("box", "dry", 0.5, (0.45, 0.0, 0.04), shapes.box(0.6, 0.10, 0.08)),
        item("casing", "solid", 0.05, (0.45, 0.0, 0.11), shapes.box(0.3, 0.02, 0.02)),
        item("keel weight", "inside", 3.57, (0.45, 0.0, 0.034), inside="box"),
        item("heavy", "lead", 0.200, (0.45, 0.0, 0.0825), dense),
        item("light", "lead", 0.120, (0.45, 0.0, 0.0925), dense),
        item("float", "foam", 0.001, (0.45, 0.0, -0.050), shapes.box(0.04, 0.04, 0.01)),
    )
    places = tuple(
        Place(f"{holds} at {low}", holds, (0.40, -0.03, low / 1000), (0.50, 0.03, low / 1000 + 0.02))
        for holds, low in (("lead", -20), ("lead", -40), ("lead", 62), ("foam", -100), ("foam", 30))
    )
    return replace(base, items=items, wishes=replace(base.wishes, places=places), waterline_m=0.0741)


def box_search() -> Search:
    vessel = box_boat()
    limits = chosen_limits(vessel, gm_m=0.05, bg_m=0.0, arm_m=0.0, range_deg=0.0, gm_longitudinal_m=0.0)
    before = stability.run(vessel, stages=3)
    return Search(vessel, limits, before, judge(vessel, before, limits))


def test_best_move_of_a_box_boat_is_known_by_hand_and_gives_what_the_weight_in_water_says() -> None:
    search = box_search()
    vessel = search.vessel
    best = search.singles(3)[0]
    (move,) = best.moves
    # The heaviest to the lowest place: 200 g down by 0.120 m beats 120 g down by 0.130 m.
    assert (move.part, round(move.to_m[2], 6)) == ("heavy", -0.0375)
    # Dived: G falls by m h / M, B by v h / V (closed form).
    lead = next(entry for entry in vessel.items if entry.name == "heavy")
    down = lead.centre_m[2] - move.to_m[2]
    full = load(vessel, 1.0)
    hung = [lay(entry, load(entry, 1.0), "dived", hanging=True).bg_m.value for entry in (vessel, best.vessel)]
    by_volume = lead.volume_m3 * down / full.balance.buoyant_volume
    assert hung[1] - hung[0] == pytest.approx(lead.mass_kg * down / full.mass_kg - by_volume, rel=1e-9)


def test_top_single_move_is_the_best_of_all_by_full_equilibria() -> None:
    """Every piece in every place by brute force; the GM of each from `afloat`'s own equilibria at five fills."""
    search = box_search()
    vessel = search.vessel
    options = options_of(vessel, search.places, {})
    miss = options.linear.measure @ options.linear.base[:6]
    most = np.maximum(1.0, 1.03 * np.abs(miss)) + 0.5

    def least(tried: Vessel) -> float:
        return min(
            lay(tried, load(tried, fill), "so").gm_transverse_m.value for fill in (0.0, 0.25, 0.5, 0.75, 1.0)
        )

    found: dict[tuple[str, float], float] = {}
    for piece in [entry for entry in vessel.items if entry.kind in ("lead", "foam")]:
        for place in search.places:
            there = relocated(vessel, piece, place)
            if there is None:
                continue
            tried = replace(vessel, items=tuple(there if entry is piece else entry for entry in vessel.items))
            rows = rows_of(tried, load(tried, 0.0), load(tried, 1.0), vessel.waterline_m)
            if np.all(np.abs(options.linear.measure @ rows[:6]) <= most):
                found[piece.name, round(there.centre_m[2], 6)] = least(tried)
    assert len(found) > 4
    (move,) = search.singles(3)[0].moves
    assert (move.part, round(move.to_m[2], 6)) == max(found, key=lambda key: found[key])


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
    assert cured.reason == ""
    assert cured.text == ""


def test_a_boat_that_keeps_her_limits_has_nothing_to_cure(trimmed: Vessel) -> None:
    result = run(
        trimmed, chosen_limits(trimmed, gm_m=0.0, bg_m=0.0, range_deg=0.0, arm_m=0.0, gm_longitudinal_m=0.0)
    )
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
    assert result.cures
    assert not any(cure.kept for cure in result.cures)
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
