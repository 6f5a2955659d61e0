"""Published hull forms drawn as pictures of plans and traced back from the pictures' own pixels.

The truth is the integral of the published radius, which neither the drawing nor the tracing knows.
"""

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from dabchick.model.trace import TraceDoc
from dabchick.model.traced_hull import read_hull
from dabchick.model.traced_plan import plan_hull
from dabchick.physics.surface import faults
from dabchick.physics.traced_form import form_figures
from dabchick.studies import trace
from tests.support.drawn_plans import Sheet, body_of_revolution_trace, picture, shaken, sheet
from tests.support.forms import SUBOFF_LENGTH_FT, series58_radius, suboff_radius

Array = NDArray[np.float64]
Radius = Callable[[Array], Array]

LENGTH_M = 0.9
POINTS = 33
DRAWS = 100


def suboff(share: Array) -> Array:
    """Radius [m] of the SUBOFF bare hull, 0.9 m long, over the share of its length from the stern."""
    return suboff_radius(SUBOFF_LENGTH_FT * (1.0 - np.asarray(share))) * LENGTH_M / SUBOFF_LENGTH_FT


def series58(share: Array) -> Array:
    """Radius [m] of a Series 58 body, length over diameter 7.5."""
    return series58_radius(1.0 - np.asarray(share), LENGTH_M, 0.12)


FORMS: dict[str, Radius] = {"suboff": suboff, "series58": series58}
SHEETS = (
    sheet(3200.0, turn_deg=2.0, skew_deg=1.5, size=(3400, 800), origin=(250.0, 450.0)),
    sheet(3100.0, turn_deg=-1.2, skew_deg=-2.0, bow_left=True, size=(3400, 800), origin=(3150.0, 430.0)),
)
"""Side view turned and skewed, top view too, with the bow to the left and at another scale."""


@cache
def truth(form: str) -> tuple[float, float]:
    """Volume [m3] and centre from the stern [m] of the body of revolution, by 40 000 steps that crowd at the ends."""
    share = 0.5 - 0.5 * np.cos(np.pi * np.linspace(0.0, 1.0, 40_001))
    area = np.pi * FORMS[form](share) ** 2
    volume = LENGTH_M * np.trapezoid(area, share)
    return float(volume), float(LENGTH_M**2 * np.trapezoid(area * share, share) / volume)


@cache
def pictures(form: str) -> tuple[Array, Array]:
    """The plan as it is scanned: side view with both edges, top view with both sides, grain on the paper."""
    share = 0.5 - 0.5 * np.cos(np.pi * np.linspace(0.0, 1.0, 3001))
    line = np.stack([share * LENGTH_M, FORMS[form](share)], axis=1)
    lines = [line, line * [1.0, -1.0]]
    one, two = (
        np.asarray(picture(on, lines, seed=seed), np.float64) for seed, on in enumerate(SHEETS, start=1)
    )
    return one, two


@cache
def found(form: str, count: int, both_sides: bool) -> dict[str, Any]:
    """The trace with every point in the middle of the line as the picture's pixels have it."""
    return body_of_revolution_trace(
        FORMS[form], LENGTH_M, SHEETS, count=count, seen=pictures(form), both_sides=both_sides
    )


def traced(form: str, seed: int, count: int = POINTS, both_sides: bool = False) -> TraceDoc:
    """A hand's trace: half a pixel of noise on every point and mark."""
    return TraceDoc.model_validate(shaken(found(form, count, both_sides), seed))


def quick(doc: TraceDoc) -> dict[str, float]:
    """Volume, centre and length by sums over the stations, without a mesh; they agree to 3e-4."""
    plan, advice = plan_hull(doc, [])
    assert plan is not None
    assert advice == []
    form = form_figures(read_hull(plan).grid)
    return {
        "volume_m3": float(form.volume[0]),
        "lcb_m": float(form.centre[0]),
        "length_m": float(form.length[0]),
    }


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("count", [25, 40])
def test_hull_traced_from_its_picture_is_the_published_one(form: str, count: int) -> None:
    """Volume within 1 % and LCB within 0.3 % of the length, as a builder is promised; points with 0.5 px noise."""
    volume, centre = truth(form)
    result = trace.run(traced(form, seed=1, count=count))
    assert result.faults == ()
    assert result.volume_m3.value == pytest.approx(volume, rel=0.01)
    assert abs(result.lcb_m.value - centre) < 0.003 * LENGTH_M
    assert result.length_m.value == pytest.approx(LENGTH_M, rel=0.003)
    assert abs(result.volume_m3.value - volume) < 3.0 * result.volume_m3.spread
    assert result.hull is not None
    sums = quick(traced(form, seed=1, count=count))
    assert sums["volume_m3"] == pytest.approx(result.volume_m3.value, rel=3e-4)
    assert sums["lcb_m"] == pytest.approx(result.lcb_m.value, rel=3e-4)
    report = faults(result.hull.vertices_m, result.hull.faces)
    assert report.sound
    assert report.volume == pytest.approx(result.volume_m3.value, rel=1e-9)


@pytest.mark.parametrize(("form", "both_sides"), [("suboff", False), ("series58", True)])
def test_stated_band_holds_the_truth(form: str, both_sides: bool) -> None:
    """In 90 of 100 traces or more within two standard deviations; by the normal law 95 are expected.

    And the band is no wider than it need be: the errors of the 100 traces spread within a third of it.
    """
    volume, centre = truth(form)
    stated = trace.run(traced(form, seed=0, both_sides=both_sides))
    drawn = [quick(traced(form, seed, both_sides=both_sides)) for seed in range(1, DRAWS + 1)]
    for name, exact in (("volume_m3", volume), ("lcb_m", centre), ("length_m", LENGTH_M)):
        errors = np.array([figures[name] - exact for figures in drawn])
        spread = getattr(stated, name).spread
        assert (np.abs(errors) <= 2.0 * spread).sum() >= 0.9 * DRAWS, name
        assert 0.66 * spread < np.sqrt(np.mean(errors**2)) < 1.34 * spread, name


def test_both_sides_traced_say_how_far_the_hull_is_from_symmetric() -> None:
    """A hull drawn alike on both sides strays from a straight middle by noise alone; one bent by 3 mm, by that.

    The bend is a parabola, 3 mm deep amidships against its ends; its greatest distance from the straight line that
    fits it best over cosine-spaced stations lies between the 2 mm of even spacing and 3 mm.
    """
    straight = trace.run(traced("series58", seed=2, both_sides=True))
    assert straight.asymmetry_m.value < 3.0 * straight.asymmetry_m.spread
    tables = body_of_revolution_trace(series58, LENGTH_M, SHEETS, both_sides=True)
    top: Sheet = SHEETS[1]
    one_up = np.asarray(top.matrix)[:, 1]
    for curve in tables["view"][1]["curve"]:
        points = np.array(curve["points"])
        share = np.linalg.solve(np.asarray(top.matrix), (points - np.asarray(top.origin)).T)[0] / LENGTH_M
        curve["points"] = (points + 0.003 * (4.0 * share * (1.0 - share))[:, None] * one_up).tolist()
    bent = trace.run(TraceDoc.model_validate(tables), bands=False)
    assert 0.0015 < bent.asymmetry_m.value < 0.003
    assert bent.volume_m3.value == pytest.approx(truth("series58")[0], rel=2e-3)
