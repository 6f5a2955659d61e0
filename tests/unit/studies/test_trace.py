"""The figures of a trace and their bands: repeatable, in proportion to the noise, and as worked out by hand."""

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from dabchick.model.trace import TraceDoc
from dabchick.physics.surface import faults
from dabchick.storage.trace_file import read_trace_text
from dabchick.studies import trace
from tests.support.drawn_plans import body_of_revolution_trace, sheet
from tests.support.sample_trace import sample_trace, section_view

LENGTH_M, RADIUS_M, PX_PER_M, NOISE_PX = 0.8, 0.06, 2500.0, 0.5
PAGE = Path(__file__).parents[3] / "docs" / "trace.md"


def spheroid(share: NDArray[np.float64]) -> NDArray[np.float64]:
    return RADIUS_M * np.sqrt(np.maximum(1.0 - (2.0 * np.asarray(share) - 1.0) ** 2, 0.0))


def spheroid_trace(**more: object) -> TraceDoc:
    sheets = (sheet(PX_PER_M, turn_deg=3.0), sheet(PX_PER_M, turn_deg=-2.0))
    return TraceDoc.model_validate(body_of_revolution_trace(spheroid, LENGTH_M, sheets) | more)


def test_spheroid_has_its_closed_form_figures() -> None:
    result = trace.run(spheroid_trace(), bands=False)
    assert result.volume_m3.value == pytest.approx(4.0 / 3.0 * math.pi * 0.4 * RADIUS_M**2, rel=5e-4)
    assert result.lcb_m.value == pytest.approx(0.4, abs=2e-5)
    assert (result.length_m.value, result.beam_m.value, result.height_m.value) == pytest.approx(
        (LENGTH_M, 2.0 * RADIUS_M, 2.0 * RADIUS_M), rel=1e-3
    )
    assert math.isnan(result.volume_m3.spread)
    assert result.readings == 0


def test_band_of_the_length_is_the_one_worked_by_hand() -> None:
    """Two ends, each the mean of two points: s^2 / 2 each; a scale as long as the hull: two points, s^2 each.

    Together s sqrt(3) pixels. With the builder's own length there is nothing left to doubt.
    """
    result = trace.run(spheroid_trace(), readings=2000)
    assert result.length_m.spread == pytest.approx(NOISE_PX * math.sqrt(3.0) / PX_PER_M, rel=0.05)
    given = trace.run(spheroid_trace(length=f"{LENGTH_M} m"))
    assert given.length_m.spread == pytest.approx(0.0, abs=1e-12)
    assert given.volume_m3.spread < result.volume_m3.spread


def test_bands_are_repeatable_and_go_with_the_noise() -> None:
    one, two = trace.run(spheroid_trace()), trace.run(spheroid_trace())
    assert (one.volume_m3, one.area_m2, one.lcb_m) == (two.volume_m3, two.area_m2, two.lcb_m)
    assert trace.run(spheroid_trace(), seed=3).volume_m3.spread == pytest.approx(
        one.volume_m3.spread, rel=0.25
    )
    fine = trace.run(spheroid_trace(noise=0.1))
    assert fine.volume_m3.spread == pytest.approx(0.2 * one.volume_m3.spread, rel=0.1)
    still = trace.run(spheroid_trace(noise=0.0))
    assert still.volume_m3.spread == 0.0


def test_traced_sections_decide_what_the_outlines_leave_open() -> None:
    """A superellipse of exponent 4 has 0.9270 of its box, an ellipse pi / 4 = 0.7854 (closed form, by gamma functions).

    Traced as sections and blended, the same outlines hold as much more as by the exponent itself.
    """
    plan = sample_trace()
    ellipse = trace.run(TraceDoc.model_validate(plan), bands=False)
    full = plan | {"section": {"form": "superellipse", "exponents": [[0.0, 4.0]]}}
    by_exponent = trace.run(TraceDoc.model_validate(full), bands=False)
    ratio = math.gamma(1.25) ** 2 / math.gamma(1.5) * 4.0 / math.pi
    assert by_exponent.volume_m3.value / ellipse.volume_m3.value == pytest.approx(ratio, rel=3e-3)
    section = section_view("300 mm", 0.04, 0.0, 0.083)
    turn = np.linspace(0.0, np.pi, 41)
    out, up = np.sqrt(np.sin(turn)), -np.sign(np.cos(turn)) * np.sqrt(np.abs(np.cos(turn)))
    section["curve"][0]["points"] = np.stack(
        [500.0 + 160.0 * out, 700.0 - 166.0 * (1.0 + up)], axis=1
    ).tolist()
    blended = plan | {"section": {"form": "blended"}, "view": [*plan["view"], section]}
    by_section = trace.run(TraceDoc.model_validate(blended))
    assert by_section.faults == ()
    assert by_section.volume_m3.value == pytest.approx(by_exponent.volume_m3.value, rel=5e-3)
    assert by_section.hull is not None
    assert faults(by_section.hull.vertices_m, by_section.hull.faces).sound


def test_trace_on_the_page_of_the_docs_is_a_right_one() -> None:
    """It shows a side view alone, so what is missing is the top view and the points of the lower edge."""
    block = PAGE.read_text("utf-8").split("```toml")[2].split("```")[0]
    result = trace.run(read_trace_text(block, "x-trace.toml"), bands=False)
    assert {entry.key for entry in result.faults} == {"view[1]", "view", "body[1]"}
