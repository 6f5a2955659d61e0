"""Inflow against squeezed air: the closed times against scipy's integration, and the edges."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from dabchick.physics import leak_flow

AIR = 101325.0


@given(
    share=st.floats(0.001, 0.999),
    power=st.sampled_from([0.5, 1.0]),
    over=st.floats(200.0, 2e6),
    room=st.floats(1e-5, 1e-1),
)
def test_times_are_those_of_the_integral(share: float, power: float, over: float, room: float) -> None:
    """dt = dV / q(V), q = q0 ((dp0 - p0 V / (R - V)) / dp0)^power, by adaptive quadrature."""
    end = room * over / (AIR + over)
    start_flow = 3e-6

    def rest(water: float) -> float:
        return 1.0 / (start_flow * ((over - AIR * water / (room - water)) / over) ** power)

    expected, _ = quad(rest, 0.0, share * end, epsabs=0.0, epsrel=1e-10, limit=200)
    found = leak_flow.time_to(share * end, start_flow, power, room, over)
    assert float(found) == pytest.approx(expected, rel=1e-6)


def test_a_hole_reaches_the_end_and_a_bore_never_does() -> None:
    """At the stop the hole's integrand grows as 1/sqrt, which has an area; the bore's as 1/x, which has none."""
    over, room = 9790.0, 1e-3
    end = leak_flow.stop_volume(room, over)
    assert np.isfinite(leak_flow.time_to(end, 1e-6, 0.5, room, over))
    assert np.isinf(leak_flow.time_to(end, 1e-6, 1.0, room, over))
    beyond = leak_flow.time_to(np.array([0.0, 1.001 * end]), 1e-6, 0.5, room, over)
    assert beyond[0] == 0.0
    assert np.isinf(beyond[1])


def test_at_the_stop_the_pressures_are_equal_and_nothing_flows() -> None:
    over, room = 19580.0, 1.3e-3
    end = leak_flow.stop_volume(room, over)
    assert float(leak_flow.inside_pressure(end, room)) == pytest.approx(over, rel=1e-12)
    # Boyle: the air left is R p0 / (p0 + dp)
    assert room - end == pytest.approx(room * AIR / (AIR + over), rel=1e-12)
    assert float(leak_flow.flow_at(1.0001 * end, 1e-6, 0.5, room, over)) == 0.0


def test_steady_and_vented_are_volume_over_flow() -> None:
    for power, air in ((0.0, AIR), (0.5, 0.0), (1.0, 0.0)):
        assert float(leak_flow.time_to(3e-4, 1e-6, power, 1e-3, 9790.0, air)) == pytest.approx(
            300.0, rel=1e-12
        )
    assert np.isinf(leak_flow.time_to(1.1e-3, 1e-6, 0.0, 1e-3, 0.0))


def test_no_head_no_water() -> None:
    assert leak_flow.hole_flow(1e-3, -5.0, 998.0) == 0.0
    assert np.isinf(leak_flow.time_to(1e-6, 0.0, 0.5, 1e-3, 0.0))
    assert np.isinf(leak_flow.inside_pressure(1e-3, 1e-3))


@pytest.mark.parametrize("wrong", [0.0, -1e-3, float("nan"), float("inf")])
def test_sizes_that_cannot_be_are_named(wrong: float) -> None:
    with pytest.raises(ValueError, match="diameter"):
        leak_flow.hole_flow(wrong, 1e4, 998.0)
    with pytest.raises(ValueError, match="gap"):
        leak_flow.gap_flow(4e-3, wrong, 0.02, 1e4, 1e-3)
    with pytest.raises(ValueError, match="room"):
        leak_flow.stop_volume(wrong, 1e4)
