"""Truths about any boat under a heeling moment: it is carried, and more of it heels more."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from dabchick.physics.balance import Balance, evaluate, float_offset
from dabchick.physics.cut import CUT_SIZE
from dabchick.physics.equilibrium import find, sinks
from dabchick.physics.heeling import (
    RightingCurve,
    most_borne,
    rest_under,
    righting_curve,
    swing_under,
)
from dabchick.physics.righting import arm_curve
from tests.support.random_boats import RandomBoat, boats, steady

MIRROR = np.diag([1.0, -1.0, 1.0])
few = settings(steady, max_examples=8)


def curve_of(balance: Balance) -> RightingCurve:
    rest = find(balance)
    # near bow up or bow down heel has no meaning
    assume(rest.stable and abs(rest.trim_deg) < 20.0)
    curve = righting_curve(balance, rest.heel_deg, rest.trim_deg, hanging=False, step_deg=5.0)
    assume(curve.settled)
    return curve


def gentle(curve: RightingCurve, way: int) -> float:
    """A lever [m] that she bears with something in hand, within the first 25 degrees."""
    heels, arms = curve.side(way)
    first = way * arms[1:6]
    assume(np.all(np.diff(np.concatenate([[0.0], first])) > 0.0))
    assume(np.max(np.abs(np.diff(curve.trims_deg[len(heels) - 6 : len(heels) + 6]))) < 5.0)
    return 0.6 * float(first[-1])


@few
@given(boats(tanks=False), st.sampled_from([1, -1]))
def test_the_moment_is_carried_and_nothing_else_is_left(boat: RandomBoat, way: int) -> None:
    """At rest under it dE/dheel is the moment, dE/dtrim and the force are nothing: differences of the energy itself."""
    balance = boat.balance()
    assume(not sinks(balance))
    curve = curve_of(balance)
    lever = way * gentle(curve, way)
    heel = np.radians(rest_under(curve, lambda at: lever))
    trim = np.radians(_settled_trim(curve, float(np.degrees(heel))))
    step = 1e-5

    def energy(at_heel: float, at_trim: float) -> float:
        normal = np.array(
            [np.sin(at_trim), np.cos(at_trim) * np.sin(at_heel), np.cos(at_trim) * np.cos(at_heel)]
        )
        offset = _offset(balance, normal)
        return float(
            evaluate(balance, normal, offset, False, np.empty(4), np.empty((4, 4)), np.empty(CUT_SIZE))
        )

    by_heel = (energy(heel + step, trim) - energy(heel - step, trim)) / (2.0 * step)
    by_trim = (energy(heel, trim + step) - energy(heel, trim - step)) / (2.0 * step)
    scale = boat.mass * balance.radius
    assert abs(by_heel - lever * boat.mass) < 1e-6 * scale
    assert abs(by_trim) < 1e-6 * scale


def _offset(balance: Balance, normal: np.ndarray) -> float:
    offset, floats = float_offset(balance, normal, 0.0, np.empty(CUT_SIZE))
    assert floats
    return float(offset)


def _settled_trim(curve: RightingCurve, heel_deg: float) -> float:
    near = curve.trim_deg(heel_deg)
    return float(arm_curve(curve.balance, [heel_deg], start_trim_deg=near).trims_deg[0])


@few
@given(boats())
def test_the_mirror_image_heels_to_the_other_side(boat: RandomBoat) -> None:
    balance = boat.balance()
    assume(not sinks(balance))
    curve = curve_of(balance)
    twin = curve_of(boat.moved(np.zeros(3), MIRROR).balance())
    assume(abs(curve.rest_deg + twin.rest_deg) < 1e-5)
    lever = gentle(curve, 1)
    there, back = rest_under(curve, lambda at: lever), rest_under(twin, lambda at: -lever)
    assert abs(there + back) < 1e-4
    one, other = (
        most_borne(curve, lambda at: 1.0, 1).factor,
        most_borne(twin, lambda at: -1.0, -1).factor,
    )
    assert abs(one - other) < 1e-6 * balance.radius


@few
@given(boats(tanks=False), st.sampled_from([1, -1]))
def test_more_heels_further_and_a_swing_goes_past_the_rest(boat: RandomBoat, way: int) -> None:
    balance = boat.balance()
    assume(not sinks(balance))
    curve = curve_of(balance)
    lever = way * gentle(curve, way)
    little, much = rest_under(curve, lambda at: 0.5 * lever), rest_under(curve, lambda at: lever)
    assert 0.0 < way * (little - curve.rest_deg) < way * (much - curve.rest_deg)
    swing = swing_under(curve, lambda at: 0.5 * lever, curve.rest_deg)
    assert np.isnan(swing) or way * (swing - little) > 0.0
