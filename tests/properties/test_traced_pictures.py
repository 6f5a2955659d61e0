"""The hull of a trace does not depend on how the picture lies: turned, skewed, scaled, shifted or mirrored."""

from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from dabchick.model.trace import TraceDoc
from dabchick.studies import trace
from dabchick.studies.trace import TraceResult
from tests.support.sample_trace import moved, sample_trace, section_view

Array = NDArray[np.float64]


def tables() -> dict[str, Any]:
    plan = sample_trace()
    plan["view"].append(section_view("250 mm", 0.0398, 0.0, 0.083))
    return plan | {"section": {"form": "blended"}}


def drawn(plan: dict[str, Any]) -> TraceResult:
    result = trace.run(TraceDoc.model_validate(plan), bands=False, axial=60, around=24)
    assert result.faults == ()
    return result


@cache
def as_it_stands() -> TraceResult:
    return drawn(tables())


def same(one: TraceResult, two: TraceResult) -> None:
    for mine, theirs in zip(one.stations, two.stations, strict=True):
        assert mine.x_m == pytest.approx(theirs.x_m, abs=1e-9)
        assert mine.heights_m == pytest.approx(theirs.heights_m, abs=1e-9)
        assert mine.half_breadths_m == pytest.approx(theirs.half_breadths_m, abs=1e-9)
    for body, other in zip(one.bodies, two.bodies, strict=True):
        assert body.volume_m3.value == pytest.approx(other.volume_m3.value, rel=1e-6)


lies = st.tuples(
    st.floats(-180.0, 180.0),
    st.floats(-25.0, 25.0),
    st.floats(0.5, 4.0),
    st.booleans(),
    st.floats(-900.0, 900.0),
    st.floats(-900.0, 900.0),
)


def lay(turn_deg: float, skew_deg: float, scale: float, mirror: bool) -> Array:
    """Pixels to pixels: level and square direction keep one scale, and stand 90 degrees less the skew apart."""
    turn, lean = np.radians(turn_deg), np.radians(turn_deg + 90.0 - skew_deg)
    columns = np.array([[np.cos(turn), np.cos(lean)], [np.sin(turn), np.sin(lean)]])
    return np.asarray(scale * columns @ np.diag([-1.0 if mirror else 1.0, 1.0]))


@settings(max_examples=25, deadline=None)
@given(st.tuples(lies, lies, lies))
def test_a_picture_that_lies_otherwise_gives_the_same_hull(views: Any) -> None:
    plan = tables()
    plan["view"] = [
        moved(view, lay(*how[:4]), how[4:]) for view, how in zip(plan["view"], views, strict=True)
    ]
    same(drawn(plan), as_it_stands())


@settings(max_examples=12, deadline=None)
@given(st.floats(0.6, 1.7), st.floats(-20.0, 20.0), st.floats(-60.0, 60.0))
def test_a_second_scale_takes_out_a_picture_stretched_one_way(
    stretch: float, skew: float, turn: float
) -> None:
    """With a length on the square line any picture without perspective is put right."""
    plan = tables()
    matrix = lay(turn, skew, 1.3, False) @ np.diag([1.0, stretch])
    for row in (0, 1):
        plan["view"][row]["square"]["length"] = "130 mm"  # (0.3, -0.03) to (0.3, 0.1)
        plan["view"][row] = moved(plan["view"][row], matrix, (20.0, 30.0))
    same(drawn(plan), as_it_stands())


@given(st.floats(0.2, 3.0))
@settings(max_examples=8, deadline=None)
def test_the_builders_length_takes_the_place_of_the_scale(length_m: float) -> None:
    """All lengths in proportion, so volumes by the cube."""
    plan = sample_trace()
    for view in plan["view"]:
        del view["scale"]
    plan |= {"length": f"{length_m} m", "body": []}
    plan["view"][0]["curve"].pop()
    result, ellipse = drawn(plan), drawn(sample_trace())
    assert result.length_m.value == pytest.approx(length_m, rel=1e-9)
    assert result.beam_m.value == pytest.approx(ellipse.beam_m.value * length_m / 0.6, rel=1e-9)
    assert result.volume_m3.value == pytest.approx(ellipse.volume_m3.value * (length_m / 0.6) ** 3, rel=1e-6)
