"""Lofting: closed forms for bodies that the stations describe exactly or nearly, and refusals with advice."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.physics.loft import Section, _unique_rows, curve, lofted, revolved
from dabchick.physics.surface import faults
from tests.support.forms import wigley_half_breadth


def test_cylinder_has_its_volume_exactly_whatever_the_corners() -> None:
    # Sections are widened to the circle's area, and a cylinder is straight between rings.
    for around in (8, 30, 96):
        loft = revolved(np.array([0.0, 3.0]), np.array([0.5, 0.5]), around=around)
        report = faults(loft.vertices, loft.faces)
        assert report.sound
        assert report.volume == pytest.approx(np.pi * 0.25 * 3.0, rel=1e-12)  # closed form
        assert (loft.first_end, loft.last_end) == ("flat", "flat")


def test_cone_is_straight_when_its_end_is_pointed() -> None:
    x = np.linspace(0.0, 2.0, 5)
    loft = revolved(x, 0.25 * x)
    assert loft.first_end == "pointed"
    assert faults(loft.vertices, loft.faces).volume == pytest.approx(np.pi * 0.25 * 2.0 / 3.0, rel=1e-4)


def test_asked_end_beats_the_judged_one() -> None:
    x, radius = np.array([0.0, 1.0, 2.0]), np.array([0.0, 0.5, 0.5])
    round_end = revolved(x, radius)
    pointed = revolved(x, radius, first_end="pointed")
    assert (round_end.first_end, pointed.first_end) == ("round", "pointed")
    # b^2 straight: a paraboloid, pi r^2 h / 2; b nearly straight: near a cone, pi r^2 h / 3. The cylinder is
    # alike.
    cylinder = np.pi * 0.25
    rounded = faults(round_end.vertices, round_end.faces).volume - cylinder
    sharp = faults(pointed.vertices, pointed.faces).volume - cylinder
    assert np.pi * 0.25 / 2.0 < rounded < np.pi * 0.25 * 0.7
    assert np.pi * 0.25 / 3.0 < sharp < rounded


def test_spheroid_through_its_own_stations_is_near_from_few_and_converges_with_the_rings() -> None:
    exact = 4.0 / 3.0 * np.pi * 0.5 * 0.1**2  # closed form
    for count in (5, 9, 17):
        x = np.linspace(-0.5, 0.5, count)
        errors = []
        for axial in (60, 240):
            loft = revolved(x, 0.1 * np.sqrt(np.maximum(1.0 - 4.0 * x**2, 0.0)), axial=axial)
            assert (loft.first_end, loft.last_end) == ("round", "round")
            errors.append(abs(faults(loft.vertices, loft.faces).volume / exact - 1.0))
        # Four times the rings: a sixteenth of the error, for a surface that is straight between them.
        assert errors[1] < 1e-4
        assert errors[1] < errors[0] / 8.0


def test_ends_are_judged_by_the_points_next_to_them() -> None:
    s = np.linspace(0.0, 1.0, 11)
    assert curve(s, np.sqrt(s * (2.0 - s))).first_end == "round"
    assert curve(s, s).first_end == "pointed"
    assert curve(s, 1.0 - (1.0 - s) ** 2).first_end == "pointed"
    assert curve(s, 0.1 + s).first_end == "flat"


@settings(max_examples=60, deadline=None)
@given(
    values=st.lists(st.floats(0.01, 10.0), min_size=3, max_size=12),
    steps=st.lists(st.floats(0.05, 3.0), min_size=12, max_size=12),
    closed=st.tuples(st.booleans(), st.booleans()),
)
def test_curve_passes_its_points_and_never_swings_beyond_them(
    values: list[float], steps: list[float], closed: tuple[bool, bool]
) -> None:
    value = np.array(values)
    value[0] *= not closed[0]
    value[-1] *= not closed[1]
    at = np.cumsum(steps[: len(value)])
    line = curve(at, value)
    assert np.array_equal(line(at), value)
    for k in range(len(at) - 1):
        between = line(np.linspace(at[k], at[k + 1], 17))
        low, high = sorted(value[k : k + 2])
        assert between.min() >= low - 1e-9 * high
        assert between.max() <= high * (1.0 + 1e-9)


@settings(max_examples=25, deadline=None)
@given(
    radii=st.lists(st.floats(0.2, 2.0), min_size=2, max_size=7),
    bend=st.lists(st.floats(-0.1, 0.1), min_size=9, max_size=9),
    closed=st.tuples(st.booleans(), st.booleans()),
)
def test_every_body_of_revolution_is_a_sound_mesh(
    radii: list[float], bend: list[float], closed: tuple[bool, bool]
) -> None:
    radius = np.array([0.0] * closed[0] + radii + [0.0] * closed[1])
    x = np.arange(len(radius)) * 1.5
    loft = revolved(x, radius, np.array(bend[: len(x)]), axial=30, around=16)
    report = faults(loft.vertices, loft.faces)
    assert report.sound
    assert report.volume > 0.0


def test_bent_axis_moves_sections_up_and_keeps_the_volume() -> None:
    x = np.linspace(0.0, 2.0, 9)
    radius = 0.2 * np.sin(np.pi * x / 2.0)
    radius[-1] = 0.0
    straight, bent = revolved(x, radius), revolved(x, radius, 0.1 + 0.05 * x)
    # Shearing keeps the volume: closed form.
    assert faults(bent.vertices, bent.faces).volume == pytest.approx(
        faults(straight.vertices, straight.faces).volume, rel=1e-12
    )
    assert bent.vertices[:, 2].mean() > 0.1


def test_box_of_half_breadths_is_exact() -> None:
    heights = np.array([0.0, 0.5, 1.0])
    stations = [Section(x, heights, np.full(3, 0.3)) for x in (0.0, 1.0, 2.0)]
    loft = lofted(stations)
    report = faults(loft.vertices, loft.faces)
    assert report.sound
    assert report.volume == pytest.approx(2.0 * 0.6 * 1.0, rel=1e-12)  # closed form
    assert report.area == pytest.approx(2.0 * (2.0 * 0.6 + 2.0 * 1.0 + 0.6 * 1.0), rel=1e-12)
    assert loft.widening == pytest.approx(0.0, abs=1e-12)


def test_round_sections_have_the_area_of_the_circle() -> None:
    angle = np.linspace(np.pi, 0.0, 13)
    heights, half = 0.5 + 0.5 * np.cos(angle), 0.5 * np.sin(angle)
    loft = lofted([Section(0.0, heights, half), Section(1.0, heights, half)])
    report = faults(loft.vertices, loft.faces)
    assert report.sound
    assert report.volume == pytest.approx(np.pi / 4.0, rel=1e-3)  # closed form; 13 measured heights
    assert loft.widening > 1e-5


def test_wigley_from_its_offsets_has_its_closed_form_volume() -> None:
    length, beam, draught, top = 1.0, 0.1, 0.0625, 0.09
    heights = np.append(np.linspace(0.0, draught, 11), top)
    exact = 4.0 / 9.0 * length * beam * draught + 2.0 / 3.0 * length * beam * (top - draught)
    stations = []
    for x in np.linspace(-0.5, 0.5, 21):
        half = wigley_half_breadth(np.full(12, x), heights, length, beam, draught)
        stations.append(Section(float(x), heights, half))
    loft = lofted(stations)
    report = faults(loft.vertices, loft.faces)
    assert report.sound
    assert (loft.first_end, loft.last_end) == ("pointed", "pointed")
    assert report.volume == pytest.approx(exact, rel=1e-4)


@pytest.mark.parametrize("half", [0.45, 0.1, 1.0 / 3.0, 0.7])
def test_level_edge_at_an_end_closes_to_the_last_bit(half: float) -> None:
    """A hull that ends in a level edge of full breadth, as a scow does; sections are ellipses."""
    turn = np.linspace(0.0, np.pi, 21)
    stations = [
        Section(x, 0.05 + 0.05 * tall * (1.0 - np.cos(turn)), half * (1.0 - 0.1 * x) * np.sin(turn))
        for x, tall in ((0.0, 0.8), (0.3, 1.0), (0.57, 0.3))
    ]
    loft = lofted([*stations, Section(0.6, np.array([0.05]), np.array([half]))], axial=40, around=16)
    assert faults(loft.vertices, loft.faces).sound


def test_loft_is_alike_on_both_sides_to_the_last_bit() -> None:
    heights = np.array([0.0, 0.2, 0.5, 0.9])
    stations = [
        Section(0.0, np.array([0.4]), np.array([0.0])),
        Section(0.5, heights, np.array([0.1, 0.3, 0.4, 0.2])),
        Section(1.5, heights + 0.1, np.array([0.0, 0.3, 0.35, 0.0])),
        Section(2.0, np.array([0.5, 0.7]), np.array([0.0, 0.0])),
    ]
    loft = lofted(stations, axial=40, around=24)
    port = {tuple(point) for point in loft.vertices}
    assert {(x, -y if y else y, z) for x, y, z in port} == port
    assert faults(loft.vertices, loft.faces).sound


def test_end_that_is_a_level_edge_closes() -> None:
    heights = np.array([0.0, 0.3, 0.6])
    stations = [
        Section(0.0, np.array([0.3]), np.array([0.2])),
        Section(1.0, heights, np.array([0.1, 0.25, 0.1])),
        Section(2.0, heights, np.array([0.1, 0.25, 0.1])),
    ]
    loft = lofted(stations, axial=40, around=24)
    report = faults(loft.vertices, loft.faces)
    assert report.sound
    bow = loft.vertices[loft.vertices[:, 0] == 0.0]
    assert np.abs(bow[:, 1]).max() == pytest.approx(0.2, rel=0.02)


@settings(max_examples=20, deadline=None)
@given(
    widths=st.lists(st.lists(st.floats(0.05, 1.0), min_size=4, max_size=4), min_size=2, max_size=5),
    keels=st.lists(st.floats(-0.2, 0.2), min_size=7, max_size=7),
    closed=st.tuples(st.booleans(), st.booleans()),
    sharp=st.booleans(),
)
def test_every_half_breadth_table_makes_a_sound_mesh(
    widths: list[list[float]], keels: list[float], closed: tuple[bool, bool], sharp: bool
) -> None:
    stations = []
    for k, width in enumerate(widths):
        half = np.array([0.0, *width[1:3], 0.0]) if sharp else np.array(width)
        stations.append(Section(float(k), keels[k] + np.array([0.0, 0.3, 0.7, 1.0]), half))
    if closed[0]:
        stations.insert(0, Section(-1.0, np.array([0.5]), np.array([0.0])))
    if closed[1]:
        stations.append(Section(float(len(widths)), np.array([0.1, 0.8]), np.array([0.0, 0.0])))
    loft = lofted(stations, axial=24, around=16)
    report = faults(loft.vertices, loft.faces)
    assert report.sound


@pytest.mark.parametrize(
    ("x", "radius", "words"),
    [
        ([0.0], [1.0], "at least two stations"),
        ([0.0, 1.0, 1.0], [0.0, 1.0, 0.0], "rising order"),
        ([0.0, 2.0, 1.0], [0.0, 1.0, 0.0], "rising order"),
        ([0.0, 1.0, 2.0, 3.0], [1.0, 0.0, 1.0, 0.0], "falls apart"),
        ([0.0, 1.0], [0.0, 0.0], "no area|falls apart"),
        ([0.0, 1.0], [1.0, -1.0], "falls apart|from 0 up"),
        ([0.0, np.nan], [1.0, 1.0], "rising order"),
    ],
)
def test_stations_that_make_no_body_are_refused(x: list[float], radius: list[float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        revolved(np.array(x), np.array(radius))


def test_sheet_without_thickness_is_refused_with_advice() -> None:
    heights = np.array([0.0, 0.3, 0.6, 0.9])
    stations = [Section(x, heights, np.array([0.1, 0.2, 0.0, 0.0])) for x in (0.0, 1.0)]
    with pytest.raises(ValueError, match="Leave those heights out"):
        lofted(stations)


def test_different_rows_are_found_as_numpy_finds_them() -> None:
    random = np.random.default_rng(5)
    for rows in (random.integers(-2, 3, (400, 3)), random.integers(-2, 3, (400, 3)) / 7.0, np.zeros((1, 3))):
        found = _unique_rows(rows)
        expected = np.unique(rows, axis=0, return_inverse=True, return_counts=True)
        for mine, theirs in zip(found, expected, strict=True):
            assert (mine.reshape(theirs.shape) == theirs).all()
