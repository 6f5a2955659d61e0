"""The scale table: the cube, the root and the waters by hand; what cannot be; truths for any boat."""

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dabchick.model.advice import BoatError
from dabchick.studies.scale import FullSize, run

COASTAL = FullSize(62.0, 6.2, 4.3, 620e3, dived_kg=740e3, speed_m_s=16 * 1852 / 3600)
"""An invented coastal boat."""


def test_one_to_forty_eight_by_hand() -> None:
    found = run(COASTAL, (48.0,), full_density_kg_m3=1025.0, model_density_kg_m3=1000.0)
    (row,) = found.rows
    # By hand: 62 / 48 m; 620 000 / 48^3 x 1000 / 1025 kg; 16 kn / sqrt 48.
    assert row.length_m == pytest.approx(1.2916667)
    assert row.mass_surfaced_kg == pytest.approx(620000.0 / 110592.0 / 1.025)
    assert row.mass_dived_kg == pytest.approx(740000.0 / 110592.0 / 1.025)
    assert row.speed_m_s == pytest.approx(8.2311111 / 6.9282032)
    # Keel to deck 4.3 / 0.8 m full size; 15 and 30 degrees bow down: sin 15 = 0.258819, sin 30 = 0.5.
    assert row.height_m == pytest.approx(4.3 / 0.8 / 48.0)
    assert row.depth_low_m == pytest.approx(row.height_m + 0.258819 * row.length_m, rel=1e-5)
    assert row.depth_high_m == pytest.approx(row.height_m + 0.5 * row.length_m)
    assert (row.turning_low_m, row.turning_high_m) == pytest.approx((4 * row.length_m, 8 * row.length_m))
    assert (row.dry_low_kg, row.dry_high_kg) == pytest.approx(
        (0.4 * row.mass_surfaced_kg, 0.75 * row.mass_surfaced_kg)
    )
    # 620 t in the box of 62 x 6.2 x 4.3 m of sea.
    assert found.fullness == pytest.approx(620.0 / (1.025 * 62.0 * 6.2 * 4.3))


def test_waters_where_nothing_is_said_are_those_of_the_equation_and_listed() -> None:
    found = run(COASTAL, (60.0,))
    # TEOS-10 at the surface: 1026.8 kg/m3 at 10 degC and 35 g/kg, 999.3 at 15 degC and 0.2 g/kg.
    assert found.rows[0].mass_surfaced_kg == pytest.approx(620000.0 / 60.0**3 * 999.3 / 1026.8, rel=1e-4)
    text = " ".join(found.assumptions)
    assert "1026.8 kg/m^3" in text
    assert "999.3 kg/m^3" in text


@given(scale=st.floats(1.0, 500.0), times=st.floats(1.01, 4.0))
def test_froude_number_stays_and_mass_goes_with_the_cube(scale: float, times: float) -> None:
    one, other = run(COASTAL, (scale, times * scale)).rows
    assert other.froude_number == pytest.approx(one.froude_number, rel=1e-9)
    assert one.mass_surfaced_kg / other.mass_surfaced_kg == pytest.approx(times**3, rel=1e-9)
    assert one.speed_m_s / other.speed_m_s == pytest.approx(math.sqrt(times), rel=1e-9)
    assert one.froude_number == pytest.approx(COASTAL.speed_m_s / math.sqrt(9.80665 * 62.0), rel=1e-9)  # type: ignore[operator]


@pytest.mark.parametrize(("scale", "hands"), [(24.0, "two or more"), (27.0, "better two"), (32.0, "one")])
def test_heavy_models_are_warned_of(scale: float, hands: str) -> None:
    found = run(COASTAL, (scale,))
    assert found.rows[0].hands == hands
    assert any("Too heavy" in entry.what for entry in found.warnings) == (hands != "one")


def test_rows_are_sorted_and_each_stands_once() -> None:
    assert [row.scale for row in run(COASTAL, (72.0, 48.0, 72.0)).rows] == [48.0, 72.0]


def test_what_was_not_given_stays_unknown() -> None:
    (row,) = run(replace(COASTAL, dived_kg=None, speed_m_s=None), (48.0,)).rows
    assert math.isnan(row.mass_dived_kg)
    assert math.isnan(row.speed_m_s)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"length_m": 0.0}, "length"),
        ({"displacement_kg": math.nan}, "displacement"),
        ({"speed_m_s": -3.0}, "speed"),
        ({"beam_m": 80.0}, "length"),
        ({"displacement_kg": 2.0e6, "dived_kg": None}, "displacement"),
        ({"dived_kg": 500e3}, "dived"),
        ({"height_m": 3.0}, "height"),
    ],
)
def test_contradictions_are_refused(change: dict[str, Any], key: str) -> None:
    with pytest.raises(BoatError) as caught:
        run(replace(COASTAL, **change))
    assert [entry.key for entry in caught.value.advice] == [key]


@pytest.mark.parametrize("scales", [(), (0.5,), (48.0, math.nan)])
def test_scales_are_numbers_from_one_up(scales: tuple[float, ...]) -> None:
    with pytest.raises(BoatError, match="scale"):
        run(COASTAL, scales)


def test_odd_figures_are_asked_about() -> None:
    found = run(replace(COASTAL, displacement_kg=300e3, dived_kg=None), (600.0,))
    assert {entry.key for entry in found.warnings} == {"displacement", "scales"}
