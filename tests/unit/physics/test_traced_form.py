"""Forms from outlines: closed forms for ellipsoids and superellipses, clean ends, and bodies beside a hull."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import gamma

from dabchick.physics.surface import faults
from dabchick.physics.traced_body import (
    GAP,
    Upright,
    mesh_area,
    mesh_centre,
    mesh_volume,
    mirrored_mesh,
    plate_mesh,
    spans_over,
    upright_mesh,
)
from dabchick.physics.traced_form import (
    FormGrid,
    blended_shapes,
    cosine_shares,
    faired_lines,
    form_figures,
    form_mesh,
    heights_over,
    section_shapes,
    station_shares,
    superellipse_shapes,
    widest_heights,
)

Array = NDArray[np.float64]


def ellipsoid(length: float, beam: float, height: float, exponent: float = 2.0) -> FormGrid:
    x = station_shares(49)
    round_ = np.sqrt(np.maximum(1.0 - (2.0 * x - 1.0) ** 2, 0.0))
    share = cosine_shares(21)
    return FormGrid(
        x=(x * length)[None],
        lower=(0.5 * height * (1.0 - round_))[None],
        upper=(0.5 * height * (1.0 + round_))[None],
        half=(0.5 * beam * round_)[None],
        share=share,
        shape=superellipse_shapes(np.full(49, exponent), np.full(49, 0.5), share)[None],
    )


def test_ellipsoid_has_its_closed_form_figures() -> None:
    """Volume pi / 6 of the box; area of a spheroid of axis ratio e = sqrt(1 - d^2 / l^2), closed form."""
    grid = ellipsoid(0.9, 0.12, 0.12)
    volume = math.pi / 6.0 * 0.9 * 0.12 * 0.12
    e = math.sqrt(1.0 - (0.12 / 0.9) ** 2)
    area = 2.0 * math.pi * 0.06**2 * (1.0 + 0.45 / 0.06 / e * math.asin(e))
    sums = form_figures(grid)
    assert sums.volume[0] == pytest.approx(volume, rel=5e-4)
    assert sums.area[0] == pytest.approx(area, rel=5e-3)
    assert sums.centre[0] == pytest.approx(0.45, rel=1e-9)
    loft = form_mesh(grid)
    report = faults(loft.vertices, loft.faces)
    assert report.sound
    assert (loft.first_end, loft.last_end) == ("round", "round")
    assert report.volume == pytest.approx(volume, rel=3e-4)
    assert report.area == pytest.approx(area, rel=1e-3)


@pytest.mark.parametrize("exponent", [1.0, 1.5, 2.0, 3.0, 5.0])
def test_superellipse_sections_have_their_closed_form_area(exponent: float) -> None:
    """Area 4 a b Gamma(1 + 1/n)^2 / Gamma(1 + 2/n), closed form (Lamé curve), so the volume by that share of pi a b.

    The loft's monotone cubic rounds the diamond's corner off, outward by 0.4 % of its area.
    """
    full = 4.0 * gamma(1.0 + 1.0 / exponent) ** 2 / gamma(1.0 + 2.0 / exponent) / math.pi
    ellipse = math.pi / 6.0 * 0.9 * 0.1 * 0.14
    loft = form_mesh(ellipsoid(0.9, 0.1, 0.14, exponent))
    report = faults(loft.vertices, loft.faces)
    assert report.sound
    assert report.volume == pytest.approx(full * ellipse, rel=3e-3 if exponent > 1.0 else 5e-3)


def test_widest_height_moves_the_section_and_keeps_an_ellipses_area() -> None:
    """Two half-ellipses of heights w h and (1 - w) h have together the area of one of height h."""
    share = cosine_shares(401)
    for w in (0.3, 0.5, 0.7):
        shape = superellipse_shapes(np.array([2.0]), np.array([w]), share)[0]
        assert np.trapezoid(shape, share) == pytest.approx(math.pi / 4.0, rel=1e-3)
        assert widest_heights(shape, share) == pytest.approx(w, abs=0.01)
    upright = np.minimum(1.0, 8.0 * np.minimum(share, 1.0 - share) + 0.2)
    assert widest_heights(upright, share) == pytest.approx(0.5, abs=1e-6)


def test_traced_section_gives_its_own_shape_whatever_its_size() -> None:
    angle = np.linspace(0.0, np.pi, 17)
    for beam, tall in ((0.02, 0.05), (3.0, 1.0)):
        points = np.stack([beam * np.sin(angle), tall * (1.0 - np.cos(angle))], axis=1)
        share = cosine_shares(21)
        shape = section_shapes(faired_lines(points[None], ()), share)[0]
        # Half-breadth of a circle at a share of its height, from cosine-spaced shares: sin of even angles.
        assert shape == pytest.approx(np.sin(np.linspace(0.0, np.pi, 21)), abs=2e-3)


def test_flat_keel_and_deck_stay_flat() -> None:
    points = np.array([[0.4, 0.0], [1.0, 0.3], [1.0, 0.7], [0.6, 1.0]])
    shape = section_shapes(faired_lines(points[None], ()), cosine_shares(21))[0]
    assert shape[0] / shape.max() == pytest.approx(
        0.4 / float(faired_lines(points[None], ())[0, :, 0].max()), rel=0.01
    )
    assert shape[-1] > 0.5


def test_blend_is_each_section_at_its_place_and_holds_beyond() -> None:
    share = cosine_shares(21)
    one, two = (superellipse_shapes(np.array([n]), np.array([0.5]), share)[0] for n in (2.0, 6.0))
    blended = blended_shapes(
        np.array([0.3, 0.7]), np.stack([one, two])[None], np.array([0.0, 0.3, 0.5, 0.7, 1.0])
    )[0]
    for row, expected in ((0, one), (1, one), (3, two), (4, two)):
        assert blended[row] == pytest.approx(expected, abs=1e-9)
    assert ((blended[2] >= one - 1e-9) & (blended[2] <= two + 1e-9)).all()
    assert blended.max(axis=1) == pytest.approx(np.ones(5))


def test_stations_crowd_at_the_ends_and_take_in_the_wanted_ones() -> None:
    shares = station_shares(49, (0.25, 0.251, 0.9999999, 0.5))
    assert (np.diff(shares) > 0.0).all()
    assert {0.25, 0.251, 0.5} <= set(shares.tolist())
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert shares[1] < 0.002


def test_curve_that_swings_out_beyond_its_end_is_read_as_its_earlier_part() -> None:
    line = np.array([[[0.0, 0.0], [1.0, 1.0], [1.2, 0.5], [1.0, 0.0]]])
    assert heights_over(line, np.array([[-1.0, 0.5, 1.0]]))[0, :2] == pytest.approx([0.0, 0.5])


def test_span_of_a_closed_outline() -> None:
    """A diamond about (1, 2) with half diagonals 1 and 2: 2 -/+ 2 (1 - |x - 1|)."""
    outline = np.array([[0.0, 2.0], [1.0, 0.0], [2.0, 2.0], [1.0, 4.0]])
    low, high = spans_over(outline, np.array([-0.5, 0.0, 0.5, 1.0, 1.75, 3.0]))
    assert low[1:5] == pytest.approx([2.0, 1.0, 0.0, 1.5])
    assert high[1:5] == pytest.approx([2.0, 3.0, 4.0, 2.5])
    assert np.isnan(low[[0, 5]]).all()


def tube(length: float, radius: float) -> FormGrid:
    """A hull with level top: an ellipsoid so long that it hardly falls amidships."""
    return ellipsoid(length, 2.0 * radius, 2.0 * radius)


def test_sail_clear_of_the_hull_is_the_prism_over_its_plan() -> None:
    """Chord c, breadth b, height h: an elliptic plan has the area pi b c / 4."""
    hull = tube(1.0, 0.05)
    share = cosine_shares(33)
    x = 0.45 + 0.1 * share
    half = 0.01 * np.sqrt(np.maximum(1.0 - (2.0 * share - 1.0) ** 2, 0.0))
    mesh = upright_mesh(x, np.full(33, 0.12), np.full(33, 0.18), half, hull, True)
    assert mesh is not None
    report = faults(*mesh)
    assert report.sound
    assert mesh_volume(mesh) == pytest.approx(math.pi * 0.02 * 0.1 / 4.0 * 0.06, rel=4e-3)
    assert mesh_centre(mesh) == pytest.approx([0.5, 0.0, 0.15], abs=1e-6)


@pytest.mark.parametrize("above", [True, False])
def test_body_that_reaches_into_the_hull_ends_just_short_of_it(above: bool) -> None:
    """Closed, and apart from the hull; its volume is what stands out of the cylinder-like hull, within the gap.

    Worked by hand: over half-breadth b a circle of radius r falls by r - sqrt(r^2 - y^2), in the mean b^2 / (6 r).
    """
    hull = tube(20.0, 0.05)
    x = 10.0 + 0.1 * cosine_shares(33)
    half = np.full(33, 0.02)
    out, inside = (0.14, 0.06) if above else (-0.04, 0.04)
    low, high = np.full(33, min(out, inside)), np.full(33, max(out, inside))
    mesh = upright_mesh(x, low, high, half, hull, above)
    assert mesh is not None
    assert faults(*mesh).sound
    loft = form_mesh(hull, axial=400, around=96)
    both = faults(
        np.concatenate([loft.vertices, mesh[0]]),
        np.concatenate([loft.faces, mesh[1] + len(loft.vertices)]),
    )
    assert both.meeting_shells == ()
    assert len(both.bodies) == 2
    gap = GAP * 20.0
    expected = 0.1 * 0.04 * (0.04 + 0.02**2 / (6.0 * 0.05) - gap)
    assert mesh_volume(mesh) == pytest.approx(expected, rel=0.02)


def test_body_inside_the_hull_is_none() -> None:
    x = 0.45 + 0.1 * cosine_shares(33)
    assert (
        upright_mesh(x, np.full(33, 0.04), np.full(33, 0.06), np.full(33, 0.01), tube(1.0, 0.05), True)
        is None
    )


def test_sail_on_a_casing_ends_above_its_top() -> None:
    hull = tube(1.0, 0.05)
    x = 0.45 + 0.1 * cosine_shares(33)
    casing = Upright(np.array([0.2, 0.5]), np.full(2, 0.05), np.full(2, 0.115), np.full(2, 0.01))
    mesh = upright_mesh(x, np.full(33, 0.08), np.full(33, 0.18), np.full(33, 0.01), hull, True, [casing])
    assert mesh is not None
    assert faults(*mesh).sound
    on_casing = mesh[0][mesh[0][:, 0] < 0.5]
    assert on_casing[:, 2].min() == pytest.approx(0.115 + GAP, abs=1e-9)


def test_plates_are_their_plan_times_their_thickness_to_both_sides() -> None:
    """A trapezium of chord 40 to 20 mm, 60 mm out, 3 mm thick: 5.4 ml."""
    x = np.linspace(0.0, 0.04, 41)
    outer = 0.02 + np.minimum(0.06, (0.04 - x) * 3.0)
    port = plate_mesh(x, np.full(41, 0.02), outer, 0.05, 0.003)
    starboard = mirrored_mesh(port)
    for mesh, side in ((port, 1.0), (starboard, -1.0)):
        report = faults(*mesh)
        assert report.sound
        assert report.volume == pytest.approx(0.03 * 0.06 * 0.003, rel=1e-3)
        assert side * mesh_centre(mesh)[1] > 0.02
        assert mesh_centre(mesh)[2] == pytest.approx(0.05)
    edge = 0.06 + 0.04 + 0.02 + math.hypot(0.02, 0.06)
    assert mesh_area(port) == pytest.approx(2.0 * 0.03 * 0.06 + 0.003 * edge, rel=2e-3)
