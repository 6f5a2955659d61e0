"""The SUBOFF bare hull: offsets, volume, wetted surface and LCB, by quadrature and by cutting meshes."""

from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pytest
from scipy.integrate import quad

from dabchick.physics import shapes
from dabchick.physics.cut import Cut, cut, forest
from tests.reference.values import read, rows
from tests.support.forms import FOOT_M, SUBOFF_LENGTH_FT, SUBOFF_LENGTH_M, suboff_mesh, suboff_radius
from tests.support.rest import UP, own_second_moments

RESULTS = read("suboff")["results"]
FORM = read("suboff")["form"]
JOINTS = (0.0, FORM["x_bow_end"], FORM["x_mid_end"], FORM["x_aft_perp"], FORM["length_oa_ft"])


def radius(x_ft: float) -> float:
    return float(suboff_radius(x_ft)[0])


def along(function: Callable[[float], float]) -> list[float]:
    """Integral over x [ft] by segments; x = u^21 at the nose, where the slope is infinite."""
    pieces = []
    for start, end in pairwise(JOINTS):
        if start == 0.0:
            value = quad(
                lambda u: function(u**21) * 21.0 * u**20, 0.0, end ** (1 / 21), epsabs=1e-13, limit=400
            )[0]
        else:
            # x = end - t^2 takes the root out of the slope at the tip
            value = quad(
                lambda t, end=end: function(end - t * t) * 2.0 * t,
                0.0,
                np.sqrt(end - start),
                epsabs=1e-13,
                limit=400,
            )[0]
        pieces.append(value)
    return pieces


def slope(x_ft: float) -> float:
    """dr/dx by a central difference of the offsets, on one segment."""
    start = max(joint for joint in JOINTS if joint <= x_ft)
    end = min(joint for joint in JOINTS if joint > x_ft)
    step = 1e-6 * min(x_ft - start, end - x_ft, 1.0) if start < x_ft else 0.0
    if step == 0.0:
        return 0.0
    return (radius(x_ft + step) - radius(x_ft - step)) / (2.0 * step)


@pytest.mark.parametrize("row", rows("suboff", "offsets"), ids=lambda row: f"x {row['x_ft']} ft")
def test_offsets(row: dict[str, float]) -> None:
    assert radius(row["x_ft"]) == pytest.approx(row["r_ft"], rel=1e-8)


def test_offsets_join_and_close() -> None:
    for joint in JOINTS[1:4]:
        assert radius(joint - 1e-9) == pytest.approx(radius(joint + 1e-9), abs=1e-6)
    assert radius(0.0) == 0.0
    assert radius(JOINTS[4]) == 0.0
    assert radius(5.0) == FORM["r_max_ft"]
    assert FORM["length_oa_ft"] == SUBOFF_LENGTH_FT


def test_quadrature_of_the_form() -> None:
    """An independent quadrature of the same equations: guards the equations, not our cutting."""
    volumes = along(lambda x: np.pi * radius(x) ** 2)
    assert volumes == pytest.approx(RESULTS["segments_ft3"], rel=2e-5)
    assert sum(volumes) * FOOT_M**3 == pytest.approx(RESULTS["volume_m3"], rel=1e-9)
    moment = sum(along(lambda x: np.pi * x * radius(x) ** 2))
    assert moment / sum(volumes) * FOOT_M == pytest.approx(RESULTS["lcb_from_nose_m"], rel=1e-9)


class Body(NamedTuple):
    """Figures of a mesh, and its cut at half depth."""

    volume_m3: float
    wetted_m2: float
    lcb_from_nose_m: float
    half: Cut


def body(n_axial: int, n_around: int, scale: float = 1.0) -> Body:
    length = SUBOFF_LENGTH_M * scale
    solid = shapes.mesh(*suboff_mesh(length, n_axial, n_around))
    trees, _ = forest([solid])
    whole = cut(trees, UP, 1.0)
    half = cut(trees, UP, 0.0)
    return Body(whole.volume, whole.wetted_area, length - whole.moment[0] / whole.volume, half)


@pytest.fixture(scope="module")
def finer() -> list[Body]:
    """Three meshes, each twice as fine both ways."""
    return [body(200 * 2**level, 48 * 2**level) for level in range(3)]


@pytest.mark.parametrize("name", ["volume_m3", "wetted_m2", "lcb_from_nose_m"])
def test_meshes_converge_to_the_form(finer: list[Body], name: str) -> None:
    """The error falls with the square of the mesh; what is left after taking that out is under 1e-6."""
    expected = RESULTS[name]
    values = [getattr(mesh, name) for mesh in finer]
    errors = [value - expected for value in values]
    assert errors[0] / errors[1] == pytest.approx(4.0, abs=0.25)
    assert errors[1] / errors[2] == pytest.approx(4.0, abs=0.25)
    assert (4.0 * values[2] - values[1]) / 3.0 == pytest.approx(expected, rel=1e-6)
    assert values[2] == pytest.approx(expected, rel=2e-4)


def test_published_figures(finer: list[Body]) -> None:
    """To the digits that are published (volume and one surface from memory, the other surface read)."""
    volume, wetted, _, _ = finer[2]
    assert volume == pytest.approx(RESULTS["volume_published_m3"], abs=5e-4)
    low, high = RESULTS["wetted_published_m2"]
    assert low - 1.5e-3 <= wetted <= high + 5e-4
    assert pytest.approx(RESULTS["loa_m"], abs=1e-7) == SUBOFF_LENGTH_M
    assert 2.0 * FORM["r_max_ft"] * FOOT_M == pytest.approx(RESULTS["diameter_m"], abs=1e-12)
    disc = np.pi * (0.5 * RESULTS["diameter_m"]) ** 2
    assert volume / (disc * SUBOFF_LENGTH_M) == pytest.approx(RESULTS["prismatic_on_loa"], rel=2e-4)


def test_waterplane_at_half_depth(finer: list[Body]) -> None:
    """The plane runs through vertices all along: area 2 int r dx, I_T 2/3 int r^3 dx, half the volume."""
    expected = {
        "area": 2.0 * sum(along(radius)) * FOOT_M**2,
        "transverse": 2.0 / 3.0 * sum(along(lambda x: radius(x) ** 3)) * FOOT_M**4,
    }
    first = 2.0 * sum(along(lambda x: x * radius(x))) * FOOT_M**3
    second = 2.0 * sum(along(lambda x: x * x * radius(x))) * FOOT_M**4
    expected["longitudinal"] = second - first**2 / expected["area"]
    for name in expected:
        coarse, fine = (waterplane(mesh.half)[name] for mesh in finer[1:])
        assert (4.0 * fine - coarse) / 3.0 == pytest.approx(expected[name], rel=3e-6)
        assert fine == pytest.approx(expected[name], rel=2e-4)
    for volume, wetted, _, half in finer:
        assert half.volume == pytest.approx(0.5 * volume, rel=1e-12)
        assert half.wetted_area == pytest.approx(0.5 * wetted, rel=1e-12)


def waterplane(half: Cut) -> dict[str, float]:
    second = own_second_moments(half)
    return {
        "area": half.waterplane_area,
        "transverse": float(second[1, 1]),
        "longitudinal": float(second[0, 0]),
    }


def test_wetted_surface_by_quadrature() -> None:
    """S = 2 pi int r sqrt(1 + r'^2) dx, slopes by differences; 1e-6 of the 11-digit figure that was read."""
    segments = along(lambda x: 2.0 * np.pi * radius(x) * np.hypot(1.0, slope(x)))
    assert segments == pytest.approx(RESULTS["wetted_segments_ft2"], rel=2e-6)
    assert sum(segments) * FOOT_M**2 == pytest.approx(RESULTS["wetted_m2"], rel=1e-6)


def test_model_of_one_metre_is_the_same_form(finer: list[Body]) -> None:
    volume, wetted, lcb, _ = body(200, 48, scale=1.0 / SUBOFF_LENGTH_M)
    assert volume == pytest.approx(finer[0][0] / SUBOFF_LENGTH_M**3, rel=1e-12)
    assert wetted == pytest.approx(finer[0][1] / SUBOFF_LENGTH_M**2, rel=1e-12)
    assert lcb == pytest.approx(finer[0][2] / SUBOFF_LENGTH_M, rel=1e-12)
