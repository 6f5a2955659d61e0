"""Limits and verdict: the normal law from scipy.stats, heel from the moment of a weight, words for every outcome."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.report.criteria_words import comparison, verdict_sentence
from dabchick.studies import stability
from dabchick.studies.criteria import chance_kept, judge, range_with_cg
from dabchick.studies.limits import (
    chosen_limits,
    gm_for_side_weight,
    gm_for_torque,
    usual_limits,
)
from dabchick.studies.result import Figure
from dabchick.studies.stability_result import Arms, Attitude, DiveEvent, LeastMoment, StabilityResult, Stage
from dabchick.studies.trim import fitting
from tests.support.vessels import small_vessel


@pytest.fixture(scope="module")
def vessel() -> Vessel:
    found = fitting(small_vessel(), seconds=2.0)
    assert found.right
    return found.vessel


@pytest.fixture(scope="module")
def result(vessel: Vessel) -> StabilityResult:
    return stability.run(vessel, stages=4)


def _with_gm(result: StabilityResult, gm_m: float, spread_m: float = 0.0005) -> StabilityResult:
    """The same way with this GM at every stage and at the least moment, which is put at 62 % on the way up."""

    def changed(stage: Stage) -> Stage:
        return replace(stage, lie=replace(stage.lie, gm_transverse_m=Figure(gm_m, spread_m)))

    least = replace(result.least.lie, gm_transverse_m=Figure(gm_m - 1e-6, spread_m))
    return replace(
        result,
        down=tuple(changed(stage) for stage in result.down),
        up=tuple(changed(stage) for stage in result.up),
        least=LeastMoment("up", 0.62, {"main": 0.62}, least),
    )


def _arms(arm_m: np.ndarray, heels_deg: np.ndarray) -> Arms:
    return Arms(
        heels_deg=tuple(heels_deg), arms_m=tuple(arm_m), trims_deg=(0.0,) * len(heels_deg), range_starboard_deg=90.0,
        range_port_deg=90.0, area_starboard_m_rad=0.0, area_port_m_rad=0.0, greatest_m=float(np.max(arm_m)),
        greatest_at_deg=45.0, loll_deg=math.nan, settled=True,
    )  # fmt: skip


@pytest.mark.parametrize(("margin", "spread"), [(0.0, 1.0), (1.3, 0.7), (-0.4, 0.9), (5e-4, 7e-4)])
def test_chance_is_that_of_the_normal_law(margin: float, spread: float) -> None:
    assert chance_kept(margin, spread) == pytest.approx(
        float(norm.sf(0.0, loc=margin, scale=spread)), abs=1e-12
    )


def test_usual_gm_lets_ten_grams_at_ten_millimetres_heel_three_kilograms_by_one_degree(
    vessel: Vessel,
) -> None:
    # tan(heel) = w b / (M GM), the moment of a weight at the side against M GM sin(heel) (any textbook of statics).
    gm = gm_for_side_weight(3.0, 0.010, 0.010, 1.0)
    assert math.degrees(math.atan(0.010 * 0.010 / (3.0 * gm))) == pytest.approx(1.0)
    mass = sum(item.mass_kg for item in vessel.items)
    assert usual_limits(vessel).gm_least.value == pytest.approx(gm * (mass / 3.0) ** (1.0 / 3.0), abs=6e-5)


def test_a_boat_eight_times_as_heavy_is_asked_for_twice_the_gm(vessel: Vessel) -> None:
    heavy = replace(vessel, items=tuple(replace(item, mass_kg=8.0 * item.mass_kg) for item in vessel.items))
    ratio = usual_limits(heavy).gm_least.value / usual_limits(vessel).gm_least.value
    assert ratio == pytest.approx(2.0, rel=0.05)  # both are rounded to a tenth of a millimetre


def test_torque_of_the_motor_is_held_by_weight_times_gm() -> None:
    gm = gm_for_torque(2.0, 0.02, 5.0)
    assert 2.0 * 9.80665 * gm * math.tan(math.radians(5.0)) == pytest.approx(0.02)


def test_limits_that_are_none_are_refused_all_at_once(vessel: Vessel) -> None:
    with pytest.raises(BoatError) as refused:
        chosen_limits(vessel, gm_m=-0.001, range_deg=200.0)
    assert {entry.key for entry in refused.value.advice} == {"gm_least", "gm_every", "range"}


def test_bg_limit_is_the_boat_files_own_wish(vessel: Vessel) -> None:
    assert usual_limits(vessel).bg.value == vessel.wishes.least_bg_m


def test_she_would_roll_over_names_fill_way_and_figures(vessel: Vessel, result: StabilityResult) -> None:
    verdict = judge(vessel, _with_gm(result, -0.0012), chosen_limits(vessel, gm_m=0.002))
    assert verdict.turns_over
    assert verdict_sentence(vessel, verdict).replace("\u00a0", " ") == (
        "Test boat would roll over at 62 % fill on the way up: GM is −1.2 mm there; limit 2.0 mm."
    )


@pytest.mark.parametrize(
    ("gm_m", "mark"),
    # Spread 0.5 mm, limit 2 mm: 95 % of the normal law need 1.645 spreads (norm.ppf(0.95)).
    [
        (0.0019, "fail"),
        (0.0021, "doubtful"),
        (0.002 + 1.6 * 0.0005, "doubtful"),
        (0.002 + 1.7 * 0.0005, "pass"),
    ],
)
def test_marks_follow_value_and_chance(
    vessel: Vessel, result: StabilityResult, gm_m: float, mark: str
) -> None:
    verdict = judge(vessel, _with_gm(result, gm_m), chosen_limits(vessel, gm_m=0.002))
    assert verdict.of("gm_every").mark == mark


@pytest.mark.parametrize("kind", ["fold", "fork", "jump"])
def test_going_over_on_the_way_is_a_miss_and_going_under_is_none(
    vessel: Vessel, result: StabilityResult, kind: str
) -> None:
    here = Attitude(0.0, 0.0, (0.0, 0.0, 1.0), math.nan)
    event = DiveEvent("jump", "down", 0.7, {"main": 0.7}, here, here)
    gone = judge(vessel, replace(result, events=(replace(event, kind=kind),)))
    under = judge(vessel, replace(result, events=(replace(event, kind="under"),)))
    assert (gone.of("steady").mark, under.of("steady").mark) == ("fail", "pass")


def test_a_boat_that_lolls_without_a_named_event_is_judged_by_the_upright_rest_she_lost(
    vessel: Vessel,
) -> None:
    # The battery 38 mm higher, and a hair to port so that she knows where to go: G rises by m h / M, some 7 mm,
    # twice the GM that she had.
    top = replace(
        vessel,
        items=tuple(
            replace(item, centre_m=(item.centre_m[0], 0.001, 0.06)) if item.name == "battery" else item
            for item in vessel.items
        ),
    )
    verdict = judge(top, stability.run(top, stages=3))
    assert verdict.turns_over
    assert verdict.of("gm_every").value < 0.0
    assert verdict.of("steady").mark == "fail"


def test_range_with_a_higher_cg_is_where_the_sine_takes_the_arm_away() -> None:
    # GZ = a sin(2 heel): raised by c, sin(heel) (2 a cos(heel) - c) = 0 at heel = acos(c / 2a).
    heels = np.arange(-180.0, 180.1, 1.0)
    arms = _arms(0.01 * np.sin(np.radians(2.0 * heels)), heels)
    for raised in (-0.004, 0.0, 0.006):
        expected = math.degrees(math.acos(raised / 0.02))
        assert range_with_cg(arms, raised) == pytest.approx(expected, abs=0.05)


def test_surface_ship_rules_are_said_not_to_hold_and_real_bg_is_scaled() -> None:
    text = " ".join(comparison(50.0, "metric")).replace("\u00a0", " ")
    # 0.2 to 0.5 m over 50: 4 to 10 mm.
    assert "at 1:50 that is 4.0 mm to 10.0 mm" in text
    assert "surface ships do not hold" in text
    assert "from memory" in text
    assert "second hand" in text
