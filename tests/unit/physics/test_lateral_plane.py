"""Silhouettes from abeam against closed forms, and against shapely's union of every triangle's shadow."""

import math

import numpy as np
import pytest
import shapely

from dabchick.physics import shapes
from dabchick.physics.equilibrium import up_vector
from dabchick.physics.lateral_plane import heading, lateral_plane
from dabchick.physics.solid import Solid, together

UPRIGHT = np.array([0.0, 0.0, 1.0])


def heap(*solids: Solid, segments: int = 96):
    corners, faces, count = [], [], 0
    for vertices, triangles, _ in together(solids).meshes(segments):
        corners.append(vertices)
        faces.append(np.asarray(triangles) + count)
        count += len(vertices)
    return np.vstack(corners), np.vstack(faces)


def test_box_by_hand() -> None:
    """0.8 x 0.2 x 0.1 m, water 30 mm over the keel: 0.8 x 0.07 above, centre 35 mm up; 0.8 x 0.03 below, 15 mm down."""
    seen = lateral_plane(*heap(shapes.box(0.8, 0.2, 0.1)), UPRIGHT, -0.02)
    assert seen == pytest.approx((0.8 * 0.07, 0.035, 0.8 * 0.03, -0.015, -0.03, 0.07), rel=1e-12)


def test_box_heeled_by_hand() -> None:
    """By hand: heeled by a, a box B x D stands B sin a + D cos a tall, and her length is seen over all of it."""
    angle = math.radians(25.0)
    tall = 0.2 * math.sin(angle) + 0.1 * math.cos(angle)
    seen = lateral_plane(*heap(shapes.box(0.8, 0.2, 0.1)), up_vector(25.0, 0.0), -10.0)
    assert seen.above_m2 == pytest.approx(0.8 * tall, rel=1e-12)
    assert seen.under_m2 == 0.0
    assert math.isnan(seen.under_height_m)


def test_a_body_behind_another_counts_once() -> None:
    hidden = shapes.box(0.4, 0.05, 0.05).moved([0.1, 0.3, 0.0])
    seen = lateral_plane(*heap(shapes.box(0.8, 0.2, 0.1), hidden), UPRIGHT, -1.0)
    assert seen.above_m2 == pytest.approx(0.08, rel=1e-12)


def test_sphere_half_under() -> None:
    """Half a disc of radius r: area pi r^2 / 2, its centre 4 r / (3 pi) off the water. 400 sides: 1e-4."""
    radius = 0.07
    seen = lateral_plane(*heap(shapes.sphere(2.0 * radius), segments=400), up_vector(33.0, 12.0), 0.0)
    assert seen.above_m2 == pytest.approx(0.5 * math.pi * radius**2, rel=2e-4)
    assert seen.under_height_m == pytest.approx(-4.0 * radius / (3.0 * math.pi), rel=2e-4)


@pytest.mark.parametrize(("heel", "trim"), [(0.0, 0.0), (37.0, -8.0), (-100.0, 25.0)])
def test_against_the_union_of_all_shadows(heel: float, trim: float) -> None:
    """Independent route: shapely unites the shadows of all triangles and clips them at the water."""
    vertices, faces = heap(
        shapes.spheroid(0.9, 0.11),
        shapes.box(0.12, 0.02, 0.06).moved([0.05, 0.0, 0.07]),
        shapes.box(0.03, 0.16, 0.003).moved([-0.38, 0.0, 0.0]),
        segments=40,
    )
    normal, offset = up_vector(heel, trim), 0.011
    shadow = np.column_stack([vertices @ heading(normal), vertices @ normal - offset])
    whole = shapely.union_all([shapely.Polygon(shadow[face]).buffer(0) for face in faces])
    seen = lateral_plane(vertices, faces, normal, offset, strips=2000)
    for area, height, part in (
        (seen.above_m2, seen.above_height_m, whole.intersection(shapely.box(-2.0, 0.0, 2.0, 2.0))),
        (seen.under_m2, seen.under_height_m, whole.intersection(shapely.box(-2.0, -2.0, 2.0, 0.0))),
    ):
        assert area == pytest.approx(part.area, rel=2e-4)
        assert height == pytest.approx(part.centroid.y, rel=5e-4)


def test_on_end_there_is_no_side() -> None:
    with pytest.raises(ValueError, match="on end"):
        heading(np.array([1.0, 0.0, 0.0]))
