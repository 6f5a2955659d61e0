"""Series 58 streamlined bodies: coefficients from their conditions, volume, LCB and surface of meshes."""

from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from dabchick.physics import shapes
from dabchick.physics.cut import cut, forest
from tests.reference.values import rows
from tests.support.forms import SERIES58_CP065, series58_mesh, series58_radius
from tests.support.rest import UP

BODIES = rows("series58", "bodies")
LENGTH = 1.0


def coefficients(row: dict[str, Any]) -> tuple[float, ...]:
    return tuple(row[f"a{power}"] for power in range(1, 7))


@pytest.mark.parametrize("row", BODIES, ids=lambda row: row["model"])
def test_coefficients_meet_the_six_conditions(row: dict[str, Any]) -> None:
    """Solved here afresh: a1 = 2 r0; value 1/4 and slope 0 at m; value 0 and slope -2 r1 at the tail; Cp."""
    m, powers = row["m"], np.arange(1, 7)
    conditions = np.array(
        [
            np.eye(6)[0],
            m**powers,
            powers * m ** (powers - 1.0),
            np.ones(6),
            powers,
            1.0 / (powers + 1.0),
        ]
    )
    right = [2.0 * row["r0"], 0.25, 0.0, 0.0, -2.0 * row["r1"], 0.25 * row["Cp"]]
    assert np.linalg.solve(conditions, right) == pytest.approx(np.array(coefficients(row)), abs=2e-7)


def test_support_form_is_the_cp_065_body() -> None:
    assert coefficients(BODIES[0]) == SERIES58_CP065


@pytest.mark.parametrize("row", BODIES, ids=lambda row: row["model"])
def test_volume_centre_and_surface_of_the_body(row: dict[str, Any]) -> None:
    """Meshes of two finenesses, the square of the mesh size taken out, against the rows to 1e-5."""
    diameter = LENGTH / row["L_over_D"]
    found = []
    for fineness in (1, 2):
        solid = shapes.mesh(
            *series58_mesh(LENGTH, diameter, 120 * fineness, 40 * fineness, coefficients(row))
        )
        trees, _ = forest([solid])
        whole = cut(trees, UP, 1.0)
        found.append([whole.volume, 1.0 - whole.moment[0] / whole.volume, whole.wetted_area])
    coarse, fine = np.array(found)
    volume, centre, surface = (4.0 * fine - coarse) / 3.0
    assert volume == pytest.approx(row["Cp"] * np.pi * diameter**2 * LENGTH / 4.0, rel=1e-5)
    assert centre / LENGTH == pytest.approx(row["xc_over_L"], rel=1e-5)
    assert surface / (np.pi * diameter * LENGTH) == pytest.approx(row["Cs"], rel=1e-5)
    assert fine[0] == pytest.approx(volume, rel=3e-3)


@pytest.mark.parametrize("row", BODIES[:2], ids=lambda row: row["model"])
def test_surface_by_quadrature(row: dict[str, Any]) -> None:
    """Cs = 2 int sqrt(q + (D/L)^2 q'^2 / 4) dx with q = (r/D)^2: the slope's root at both ends falls away."""
    polynomial = np.polynomial.Polynomial((0.0, *coefficients(row)))
    slope = polynomial.deriv()
    thin = 1.0 / row["L_over_D"]

    def ring(x: float) -> float:
        return float(np.sqrt(max(polynomial(x), 0.0) + (0.5 * thin * slope(x)) ** 2))

    assert 2.0 * quad(ring, 0.0, 1.0, epsabs=1e-12)[0] == pytest.approx(row["Cs"], rel=1e-6)
    middle = float(series58_radius(0.4, LENGTH, thin)[0])
    assert middle == pytest.approx(0.5 * thin, rel=1e-7)
