"""Ways of filling: together, in order, at rates, through given fills; and what is no way at all."""

from dataclasses import replace

import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.studies.dive_path import at_rates, in_order, through, together
from tests.support.vessels import small_vessel


def three_tanks() -> Vessel:
    """Tanks of 1, 2 and 3 parts of room."""
    vessel = small_vessel()
    tank = vessel.tanks[0]
    return replace(
        vessel,
        tanks=tuple(
            replace(tank, name=name, capacity_m3=parts * 1e-4)
            for name, parts in (("fore", 1.0), ("main", 2.0), ("aft", 3.0))
        ),
    )


def test_together_fills_all_at_one_share() -> None:
    path = together(three_tanks())
    assert path.knots == (0.0, 1.0)
    assert path.fills_at(0.3) == pytest.approx({"fore": 0.3, "main": 0.3, "aft": 0.3})
    assert path.fills_at(-1.0) == path.fills_at(0.0)
    assert path.fills_at(2.0) == path.fills_at(1.0)


def test_progress_goes_with_the_water_moved() -> None:
    """By hand: main is 2 of 6 parts, the other two together 4; half way 1 of those 4 has run in."""
    path = in_order(three_tanks(), ["main"])
    assert path.knots == pytest.approx((0.0, 1.0 / 3.0, 1.0))
    assert path.fills_at(1.0 / 6.0) == pytest.approx({"fore": 0.0, "main": 0.5, "aft": 0.0})
    assert path.fills_at(0.5) == pytest.approx({"fore": 0.25, "main": 1.0, "aft": 0.25})


def test_order_names_every_tank() -> None:
    path = in_order(three_tanks(), ["aft", "fore", "main"])
    assert path.knots == pytest.approx((0.0, 3.0 / 6.0, 4.0 / 6.0, 1.0))
    assert path.shares[1] == (0.0, 0.0, 1.0)


def test_rates_fill_each_in_its_own_time() -> None:
    """By hand: 1, 2 and 3 parts at 1, 1 and 3 parts a second are full after 1, 2 and 1 s."""
    rates = {"fore": 1e-4, "main": 1e-4, "aft": 3e-4}
    path = at_rates(three_tanks(), rates)
    assert [list(row) for row in path.shares] == [
        [0.0, 0.0, 0.0],
        pytest.approx([1.0, 0.5, 1.0]),
        [1.0, 1.0, 1.0],
    ]
    assert path.knots == pytest.approx((0.0, 5.0 / 6.0, 1.0))


def test_a_tank_without_a_rate_stays_empty() -> None:
    path = at_rates(three_tanks(), {"main": 2e-5})
    assert path.fills_at(1.0) == {"fore": 0.0, "main": 1.0, "aft": 0.0}


def test_through_goes_straight_from_fill_to_fill_and_drops_what_does_not_move() -> None:
    path = through(three_tanks(), [0.0, {"main": 1.0}, {"main": 1.0}, {"main": 0.5, "aft": 1.0}])
    assert len(path.knots) == 3
    # 2 parts, then 1 out of main and 3 into aft
    assert path.knots == pytest.approx((0.0, 2.0 / 6.0, 1.0))
    assert path.fills_at(4.0 / 6.0) == pytest.approx({"fore": 0.0, "main": 0.75, "aft": 0.5})


@pytest.mark.parametrize("rates", [{}, {"main": 0.0}, {"main": -1e-5}, {"main": float("nan")}])
def test_a_rate_is_above_zero(rates: dict[str, float]) -> None:
    with pytest.raises(BoatError) as fault:
        at_rates(three_tanks(), rates)
    assert fault.value.advice[0].key == "rate"


def test_an_unknown_tank_is_named() -> None:
    for ask in (lambda: in_order(three_tanks(), ["bow"]), lambda: at_rates(three_tanks(), {"bow": 1e-5})):
        with pytest.raises(BoatError) as fault:
            ask()
        assert "'bow'" in fault.value.advice[0].what


def test_nothing_moves_or_nothing_is_there() -> None:
    with pytest.raises(BoatError, match="no tank takes any water"):
        through(three_tanks(), [0.5, 0.5])
    with pytest.raises(BoatError, match="no tank, so nothing fills"):
        together(small_vessel(tanks=()))
    with pytest.raises(BoatError, match=r"1\.2"):
        through(three_tanks(), [0.0, 1.2])
