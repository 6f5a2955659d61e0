"""Wigley's parabolic hull afloat on her design waterline, against exact integrals."""

import numpy as np
import pytest
from scipy.integrate import dblquad

from dabchick.physics import shapes
from dabchick.physics.balance import Balance
from dabchick.physics.cut import cut
from dabchick.physics.equilibrium import find, up_vector
from tests.reference.values import read
from tests.support.forms import wigley_mesh
from tests.support.rest import UP, boat, level_offset, own_second_moments

HULL = read("wigley")["hull"]
L, B, T = 1.0, 0.1, 0.0625
VOLUME = 4.0 / 9.0 * L * B * T
KB = 5.0 / 8.0 * T
BM_T, BM_L = 3.0 / 35.0 * B**2 / T, 3.0 / 40.0 * L**2 / T
KG = 0.03


def test_numbers_of_the_case() -> None:
    assert HULL["numeric_case"] == f"L {L:g}, B {B:g}, T {T:g}"
    assert (HULL["V"], HULL["KB"], HULL["BM_T"]) == ("4/9 L B T", "5/8 T", "3/35 B^2/T")
    assert HULL["BM_L"] == "3/40 L^2/T"


def wigley(n: int, m: int) -> Balance:
    solid = shapes.mesh(*wigley_mesh(L, B, T, n, m))
    return boat([solid], 1000.0 * VOLUME, (0.5 * L, 0.0, KG))


def figures(n: int, m: int) -> np.ndarray:
    """Volume, KB, Awp, I_T, I_L and wetted surface below the waterline, plane through a row of vertices."""
    afloat = wigley(n, m)
    part = cut(afloat.forest, UP, T)
    second = own_second_moments(part)
    return np.array(
        [
            part.volume,
            part.moment[2] / part.volume,
            part.waterplane_area,
            second[1, 1],
            second[0, 0],
            part.wetted_area,
        ]
    )


def test_integrals_below_the_waterline() -> None:
    """Two meshes, the square of the mesh size taken out: 1e-6 of the exact integrals."""
    coarse, fine = figures(80, 40), figures(160, 80)
    expected = np.array(
        [
            VOLUME,
            KB,
            2.0 / 3.0 * L * B,
            4.0 / 105.0 * L * B**3,
            L**3 * B / 30.0,
            HULL["wetted_over_L2"] * L**2,
        ]
    )
    assert (4.0 * fine - coarse) / 3.0 == pytest.approx(expected, rel=1e-6)
    assert (coarse - expected) / (fine - expected) == pytest.approx(np.full(6, 4.0), rel=0.02)


def test_wetted_surface_by_quadrature() -> None:
    """Both sides of y(x, z), slopes by hand; 0.148791 L^2 against the usual 0.1487 (from memory)."""

    def element(z: float, x: float) -> float:
        along = -4.0 * B * x / L**2 * (1.0 - (z / T) ** 2)
        down = -B * z / T**2 * (1.0 - (2.0 * x / L) ** 2)
        return float(np.sqrt(1.0 + along**2 + down**2))

    surface = 2.0 * dblquad(element, -0.5 * L, 0.5 * L, -T, 0.0, epsabs=1e-10)[0]
    assert surface == pytest.approx(HULL["wetted_over_L2"] * L**2, rel=1e-6)
    assert surface == pytest.approx(0.1487, abs=1e-4)


def test_afloat_on_her_waterline_with_the_exact_metacentres() -> None:
    """Found from a heeled start; the mesh is inscribed, so she lies deeper by the little volume it lacks."""
    found = []
    for n, m in ((80, 40), (160, 80)):
        rest = find(wigley(n, m), up_vector(15.0, 1.0))
        assert rest.stable
        assert rest.heel_deg == pytest.approx(0.0, abs=1e-7)
        midship = (rest.offset_m - 0.5 * L * rest.normal[0]) / rest.normal[2]
        found.append([midship, rest.gm_transverse_m, rest.gm_longitudinal_m, rest.trim_deg])
    coarse, fine = np.array(found)
    draught, gm, gm_longitudinal, trim = (4.0 * fine - coarse) / 3.0
    # the diagonals of the mesh all lean one way; the trace of trim this gives goes with the mesh's error
    assert trim == pytest.approx(0.0, abs=1e-5)
    assert draught == pytest.approx(T, rel=2e-5)
    assert gm == pytest.approx(KB + BM_T - KG, rel=2e-4)
    assert gm_longitudinal == pytest.approx(KB + BM_L - KG, rel=2e-4)
    assert level_offset(wigley(80, 40)) == pytest.approx(coarse[0], abs=1e-9)
