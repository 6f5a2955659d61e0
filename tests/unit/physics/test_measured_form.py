"""The faired form of measures: closed forms without noise, ends of every kind, datum and size, slips."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.measures import measures_of
from dabchick.physics.loft import lofted
from dabchick.physics.measured_fit import fitted
from dabchick.physics.measured_form import Form, Measures, bulk, sections
from dabchick.physics.out_of_line import out_of_line
from dabchick.physics.superellipse import area, perimeter
from tests.support.measured import SHARES, series58, suboff, taken

FINE = {"calliper": 1e-5, "tape": 1e-5, "ruler": 1e-5}


def superellipsoid(x: Any, beam: float, height: float, exponent: float, keel: float = 0.0) -> Measures:
    """Sections alike in shape on an ellipsoid of revolution's curve: b = B/2 sqrt(1 - u^2), u from -1 to 1."""
    share = np.sqrt(np.maximum(1.0 - (2.0 * (x - x[0]) / (x[-1] - x[0]) - 1.0) ** 2, 0.0))
    share[[0, -1]] = 0.0
    half, tall = 0.5 * beam * share, 0.5 * height * share
    girth = np.array(
        [perimeter(b, h, exponent) if b > 0.0 else np.nan for b, h in zip(half, tall, strict=True)]
    )
    return Measures(x, 2.0 * half, 2.0 * tall, keel + 0.5 * height - tall, girth, **FINE)


@pytest.mark.parametrize("exponent", [1.3, 2.0, 3.0, 6.0])
def test_superellipsoid_has_its_volume_and_centre(exponent: float) -> None:
    # Closed form: area of the middle section times int (1 - u^2) du L/2 = 2/3 L A; centre in the middle.
    found = fitted(superellipsoid(0.9 * SHARES, 0.12, 0.1, exponent))
    middle = float(area(np.array(0.06), np.array(0.05), np.array(exponent)))
    assert found.bulk.volume == pytest.approx(2.0 / 3.0 * 0.9 * middle, rel=1e-4)
    assert found.bulk.centre == pytest.approx(0.45, abs=1e-4)
    assert found.exponent[1:-1] == pytest.approx(np.full(9, exponent), rel=1e-6)


def test_ellipsoid_has_its_surface() -> None:
    # Closed form of a prolate spheroid, e^2 = 1 - (c/a)^2: S = 2 pi c^2 (1 + a / (c e) asin e).
    found = fitted(superellipsoid(SHARES, 0.2, 0.2, 2.0))
    a, c = 0.5, 0.1
    e = np.sqrt(1.0 - (c / a) ** 2)
    assert found.bulk.surface == pytest.approx(
        2.0 * np.pi * c**2 * (1.0 + a / (c * e) * np.arcsin(e)), rel=1e-3
    )


def test_cone_is_pointed_and_has_a_third_of_its_cylinder() -> None:
    # Closed form: V = pi r^2 L / 3, centre a quarter of the length from the flat end.
    radius = 0.05 * (1.0 - SHARES)
    radius[-1] = 0.0
    keel, girth = 0.05 - radius, np.where(radius > 0.0, 2.0 * np.pi * radius, np.nan)
    found = fitted(Measures(SHARES, 2.0 * radius, 2.0 * radius, keel, girth, **FINE))
    assert (found.form.stern_end, found.form.bow_end) == ("flat", "pointed")
    assert found.bulk.volume == pytest.approx(np.pi * 0.05**2 / 3.0, rel=2e-3)
    assert found.bulk.centre == pytest.approx(0.25, abs=2e-3)


def test_end_radius_makes_the_tip_that_it_says() -> None:
    """A cylinder with a half ball: measured without a station on the ball, only its radius says what stands there."""
    r = 0.06
    x = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 0.94, 1.0])
    width = np.where(x < 1.0, 2.0 * r, 0.0)
    girth = np.where(x < 1.0, 2.0 * np.pi * r, np.nan)
    plain = Measures(x, width, width, np.where(x < 1.0, 0.0, r), girth, 3e-4, 1e-3, 5e-4)
    ball = replace(plain, bow_radius=r * 0.999)
    # Closed form: pi r^2 (0.94) + 2/3 pi r^3.
    true = np.pi * r**2 * 0.94 + 2.0 / 3.0 * np.pi * r**3
    assert abs(fitted(ball).bulk.volume / true - 1.0) < 0.01
    half = fitted(ball).form.at(np.arccos(np.array([1.0 - 2.0 * (0.94 + 0.06 * np.sqrt(0.5))])))[0]
    assert float(half[0]) == pytest.approx(r * np.sqrt(0.5), abs=0.002)


@settings(max_examples=5, deadline=None)
@given(
    seed=st.integers(0, 10_000), by=st.floats(0.3, 4.0), along=st.floats(-3.0, 3.0), up=st.floats(-1.0, 1.0)
)
def test_size_and_zeros_change_nothing_but_themselves(seed: int, by: float, along: float, up: float) -> None:
    plain = measures_of(taken(series58, seed))
    moved = Measures(
        x=by * plain.x + along,
        beam=by * plain.beam,
        height=by * plain.height,
        keel=by * plain.keel + up,
        girth=by * plain.girth,
        calliper=by * plain.calliper,
        tape=by * plain.tape,
        ruler=by * plain.ruler,
    )
    one, other = fitted(plain), fitted(moved)
    assert other.bulk.volume == pytest.approx(by**3 * one.bulk.volume, rel=1e-4)
    assert other.bulk.surface == pytest.approx(by**2 * one.bulk.surface, rel=1e-4)
    assert other.bulk.centre == pytest.approx(by * one.bulk.centre, rel=1e-4)
    assert other.spread.volume == pytest.approx(by**3 * one.spread.volume, rel=0.05)


@settings(max_examples=5, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_end_for_end_mirrors_the_form(seed: int) -> None:
    plain = measures_of(taken(suboff, seed))
    turned = Measures(
        x=-plain.x[::-1],
        beam=plain.beam[::-1],
        height=plain.height[::-1],
        keel=plain.keel[::-1],
        girth=plain.girth[::-1],
        calliper=plain.calliper,
        tape=plain.tape,
        ruler=plain.ruler,
    )
    one, other = fitted(plain), fitted(turned)
    assert other.bulk.volume == pytest.approx(one.bulk.volume, rel=1e-6)
    assert other.bulk.centre == pytest.approx(1.0 - one.bulk.centre, abs=1e-6)


def mesh_volume(form: Form) -> float:
    loft = lofted(sections(form), first_end="round", last_end="round")
    corners = loft.vertices[loft.faces]
    return float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0)


@pytest.mark.parametrize("radius", [suboff, series58])
def test_the_mesh_holds_what_the_integral_says(radius: Any) -> None:
    """Independent routes: divergence theorem over the lofted triangles, Simpson's rule over the sections' areas."""
    form = fitted(measures_of(taken(radius, 1))).form
    assert mesh_volume(form) == pytest.approx(bulk(form).volume, rel=5e-4)


@pytest.mark.parametrize(
    ("measure", "by"), [("beam", 0.008), ("height", -0.006), ("keel", 0.004), ("girth", 0.016)]
)
@pytest.mark.parametrize("station", [3, 5, 7])
def test_a_slip_is_found_and_told_what_would_be_in_line(measure: str, by: float, station: int) -> None:
    hand = taken(series58, 5, **{measure: {station: by}})
    arrays = measures_of(hand)
    (found,) = out_of_line(arrays)
    assert (hand.index(found.station), found.measure) == (station, measure)
    true = getattr(measures_of(taken(series58, 5)), measure)[found.station]
    # In line to within what a builder would see on the bench: a sixth of the slip.
    assert found.in_line == pytest.approx(true, abs=abs(by) / 3.0)


def test_two_slips_at_once_are_both_named() -> None:
    hand = taken(series58, 8, height={3: 0.007}, girth={7: -0.018})
    found = {(hand.index(entry.station), entry.measure) for entry in out_of_line(measures_of(hand))}
    assert found == {(3, "height"), (7, "girth")}


def test_honest_measures_are_left_alone() -> None:
    """Twenty afternoons without a slip: at most one false alarm among 800 measures."""
    alarms = [entry for seed in range(20) for entry in out_of_line(measures_of(taken(series58, seed)))]
    assert len(alarms) <= 1


def test_a_section_measured_at_the_wrong_place_stands_out_as_a_whole() -> None:
    """Its measures go with each other, but not with the station: 60 mm aft of where it was written down."""
    hand = taken(series58, 2)
    wrong = taken(series58, 2, shares=np.where(np.arange(11) == 8, 0.82, SHARES))
    stations = list(hand.stations)
    stations[8] = replace(wrong.stations[8], x_m=hand.stations[8].x_m)
    (found,) = out_of_line(measures_of(replace(hand, stations=tuple(stations))))
    assert (hand.index(found.station), found.measure) == (8, None)


def test_missing_girths_make_an_ellipse_and_a_wider_band() -> None:
    hand = measures_of(taken(series58, 4))
    bare = replace(hand, girth=np.full(len(hand.x), np.nan))
    full, without = fitted(hand), fitted(bare)
    assert np.isnan(without.exponent).all()
    assert without.form.at(np.array([1.5]))[3] == pytest.approx([2.0])
    assert without.spread.volume > 4.0 * full.spread.volume


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"x": lambda m: m.x[::-1]}, "rising order"),
        ({"beam": lambda m: np.full(11, np.nan)}, "has a beam"),
        ({"beam": lambda m: np.where(np.arange(11) == 4, 0.0, m.beam)}, "above 0"),
        ({"girth": lambda m: np.where(np.arange(11) == 4, 0.9 * m.girth, m.girth)}, None),
        ({"girth": lambda m: 0.85 * m.girth}, "has its girth"),
        ({"girth": lambda m: 1.35 * m.girth}, "has its girth"),
        ({"keel": lambda m: np.where(np.arange(11) < 2, m.keel, np.nan)}, "lowest point"),
    ],
)
def test_what_no_hull_can_be_made_of_is_refused(change: dict[str, Any], words: str | None) -> None:
    plain = measures_of(taken(series58, 1))
    bad = replace(plain, **{name: make(plain) for name, make in change.items()})
    if words is None:
        # pi / 4 of the box and 1.11 of the diamond: nine tenths of a circle's girth is just one of a diamond's.
        assert fitted(bad).exponent[4] < 1.1
        return
    with pytest.raises(ValueError, match=words):
        fitted(bad)


def test_four_stations_are_too_few() -> None:
    plain = superellipsoid(np.array([0.0, 0.3, 0.6, 1.0]), 0.1, 0.1, 2.0)
    with pytest.raises(ValueError, match="at least 5"):
        fitted(plain)
