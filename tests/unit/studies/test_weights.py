"""`weights`: sums by hand."""

from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.studies import weights
from tests.support.vessels import item, small_vessel


def two_parts() -> Vessel:
    body = item(
        "body",
        "dry",
        1.0,
        (0.5, 0.0, 0.02),
        shapes.box(0.4, 0.1, 0.04),
        mass_spread=0.003,
        centre_spread=0.001,
    )
    shot = item("shot", "inside", 0.5, (0.2, 0.01, 0.01), inside="body", mass_spread=0.004)
    return small_vessel(items=(body, shot), waterline_m=0.03)


def test_total_centre_and_spread_by_hand() -> None:
    result = weights.run(two_parts())
    assert result.mass_kg.value == pytest.approx(1.5)
    assert result.mass_kg.spread == pytest.approx(0.005)
    assert result.centre_x_m.value == pytest.approx((0.5 + 0.1) / 1.5)
    # d(centre) = sum of m_i dx_i / M and of (x_i - x) dm_i / M, squared and summed.
    expected = np.hypot(1.0 * 0.001, np.hypot(0.1 * 0.003, 0.2 * 0.004)) / 1.5
    assert result.centre_x_m.spread == pytest.approx(expected)


def test_inertia_by_hand() -> None:
    """Box: m/12 (b2 + c2); point: m d2; both carried to the common centre (Huygens-Steiner)."""
    result = weights.run(two_parts())
    x, y, z = (result.centre_x_m.value, result.centre_y_m.value, result.centre_z_m.value)
    yy = 1.0 / 12.0 * (0.4**2 + 0.04**2) + ((0.5 - x) ** 2 + (0.02 - z) ** 2)
    yy += 0.5 * ((0.2 - x) ** 2 + (0.01 - z) ** 2)
    xy = -(1.0 * (0.5 - x) * (0.0 - y) + 0.5 * (0.2 - x) * (0.01 - y))
    assert result.inertia_kg_m2[1, 1] == pytest.approx(yy)
    assert result.inertia_kg_m2[0, 1] == pytest.approx(xy)


def test_doubt_is_shared_out_and_guesses_named() -> None:
    vessel = small_vessel()
    guess = item("ballast guess", "inside", 0.10, (0.5, 0.0, 0.02), inside="cylinder", mass_spread=0.030)
    result = weights.run(replace(vessel, items=(*vessel.items, replace(guess, known="guess"))))
    assert sum(row.share_of_doubt for row in result.rows) == pytest.approx(1.0)
    assert result.weigh_first == ("ballast guess",)
    assert any("ballast guess" in entry.what for entry in result.warnings)
