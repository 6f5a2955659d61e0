"""Cuts whose answer is known: every expected number here is a closed form unless it says otherwise."""

import itertools

import numpy as np
import pytest
from numpy.testing import assert_allclose

from dabchick.physics import shapes
from dabchick.physics.cut import Cut, cut, cut_many, forest, whole
from dabchick.physics.solid import Solid

PI = np.pi


def cut_of(solid: Solid, normal: tuple[float, float, float], offset: float) -> Cut:
    direction = np.array(normal) / np.linalg.norm(normal)
    return cut(forest([solid])[0], direction, offset)


def test_box_upright() -> None:
    part = cut_of(shapes.box(4.0, 2.0, 1.0), (0.0, 0.0, 1.0), -0.1)
    assert_allclose(part.volume, 4.0 * 2.0 * 0.4, rtol=1e-14)
    assert_allclose(part.moment, [0.0, 0.0, 3.2 * -0.3], atol=1e-14)
    assert_allclose(part.waterplane_area, 8.0, rtol=1e-14)
    # about the origin, 0.1 above the waterplane: A l^2/12 and A z^2
    assert_allclose(part.waterplane_second, np.diag([8 * 16 / 12, 8 * 4 / 12, 8 * 0.01]), atol=1e-13)
    assert_allclose(part.wetted_area, 8.0 + 2 * 0.4 * 6.0, rtol=1e-14)
    assert_allclose(part.wetted_moment, [0.0, 0.0, 8.0 * -0.5 + 4.8 * -0.3], atol=1e-13)


def test_box_cut_at_one_corner() -> None:
    # the corner (-1,-1,-1) of a cube of side 2: a tetrahedron with three legs of length 1.5
    part = cut_of(shapes.box(2.0, 2.0, 2.0), (1.0, 1.0, 1.0), (-3.0 + 1.5) / np.sqrt(3.0))
    leg = 1.5
    assert_allclose(part.volume, leg**3 / 6.0, rtol=1e-14)
    assert_allclose(part.moment / part.volume, np.full(3, -1.0 + leg / 4.0), rtol=1e-14)
    assert_allclose(part.waterplane_area, np.sqrt(3.0) / 2.0 * leg**2, rtol=1e-14)
    assert_allclose(part.wetted_area, 3.0 * leg**2 / 2.0, rtol=1e-14)


def test_cube_halved_through_edges_and_vertices() -> None:
    # x + y = 0 holds two whole edges; x + y + z = 0 cuts a regular hexagon; x - y = 0 holds face diagonals
    for normal in itertools.product((-1.0, 0.0, 1.0), repeat=3):
        if any(normal):
            part = cut_of(shapes.box(2.0, 2.0, 2.0), normal, 0.0)
            assert_allclose(part.volume, 4.0, rtol=1e-14)
            areas = {1.0: 4.0, 2.0: 4.0 * np.sqrt(2.0), 3.0: 3.0 * np.sqrt(3.0)}
            assert_allclose(part.waterplane_area, areas[sum(map(abs, normal))], rtol=1e-13)


def test_a_face_on_the_plane_counts_from_below() -> None:
    cube = shapes.box(1.0, 1.0, 1.0)
    top = cut_of(cube, (0.0, 0.0, 1.0), 0.5)
    bottom = cut_of(cube, (0.0, 0.0, 1.0), -0.5)
    assert (top.volume, top.waterplane_area) == (pytest.approx(1.0), pytest.approx(1.0))
    assert (bottom.volume, bottom.waterplane_area, bottom.wetted_area) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("seed", range(20))
def test_a_tilted_face_on_the_plane_counts_from_below(seed: int) -> None:
    rotation, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    normal = rotation[:, 2]
    for solid in (
        shapes.box(1.0, 1.0, 1.0),
        shapes.cylinder(1.0, 1.0).moved((0, 0, 0), np.eye(3)[[2, 1, 0]]),
    ):
        turned = solid.moved((0.3, -0.2, 0.1), rotation)
        middle = float(normal @ [0.3, -0.2, 0.1])
        area = solid.volume
        top, bottom = (cut_of(turned, tuple(normal), middle + side) for side in (0.5, -0.5))
        assert_allclose((top.volume, top.waterplane_area), (solid.volume, area), rtol=1e-13)
        assert_allclose((bottom.volume, bottom.waterplane_area), (0.0, 0.0), atol=1e-14)


def test_step_up_and_step_down_at_the_plane() -> None:
    # a wide foot below a narrow neck, and the reverse, the step on the plane: the section just below counts
    profile = [
        (-2.0, 0.0),
        (2.0, 0.0),
        (2.0, 1.0),
        (1.0, 1.0),
        (1.0, 2.0),
        (-1.0, 2.0),
        (-1.0, 1.0),
        (-2.0, 1.0),
    ]
    foot = shapes.prism(profile, 1.0)
    assert_allclose(cut_of(foot, (0.0, 0.0, 1.0), 1.0).waterplane_area, 4.0, rtol=1e-14)
    turned = [(y, 2.0 - z) for y, z in profile]
    assert_allclose(cut_of(shapes.prism(turned, 1.0), (0.0, 0.0, 1.0), 1.0).waterplane_area, 2.0, rtol=1e-14)


ATTITUDES = [(0, 0, 1), (1, 0, 0), (-1, 0, 0), (0, 1, 0), (1, 2, 3), (1e-9, 0, 1), (1, 1e-9, 0), (1, 1, 0)]


@pytest.mark.parametrize("normal", ATTITUDES)
@pytest.mark.parametrize("height", [1e-6, 0.01, 0.3, 1.0, 1.7, 1.999])
def test_sphere_cap(normal: tuple[float, float, float], height: float) -> None:
    part = cut_of(shapes.sphere(2.0), normal, height - 1.0)
    unit = np.array(normal) / np.linalg.norm(normal)
    rim2 = height * (2.0 - height)
    # the depth itself is known to one part in 1e16 of the radius
    rtol = 1e-13 + 1e-15 / height
    assert_allclose(part.volume, PI * height**2 * (3.0 - height) / 3.0, rtol=rtol)
    assert_allclose(part.moment, -unit * PI * rim2**2 / 4.0, rtol=rtol, atol=1e-14 * part.volume)
    assert_allclose(part.waterplane_area, PI * rim2, rtol=rtol)
    assert_allclose(part.wetted_area, 2.0 * PI * height, rtol=rtol)
    disc = PI * rim2**2 / 4.0 * (np.eye(3) - np.outer(unit, unit))
    about = PI * rim2 * (height - 1.0) ** 2 * np.outer(unit, unit)
    assert_allclose(part.waterplane_second, disc + about, rtol=rtol, atol=1e-13 * PI * rim2)


@pytest.mark.parametrize("normal", ATTITUDES)
@pytest.mark.parametrize("share", [-0.9, -0.2, 0.0, 0.55])
def test_spheroid_is_a_stretched_sphere(normal: tuple[float, float, float], share: float) -> None:
    """x = S y maps the unit sphere on it, so that volumes and moments of a cap scale."""
    stretch = np.array([2.5, 0.4, 0.4])
    unit = np.array(normal) / np.linalg.norm(normal)
    reach = float(np.linalg.norm(stretch * unit))
    height = 1.0 + share
    rim2 = height * (2.0 - height)
    part = cut_of(shapes.spheroid(5.0, 0.8), normal, share * reach)
    scale = float(np.prod(stretch))
    assert_allclose(part.volume, scale * PI * height**2 * (3.0 - height) / 3.0, rtol=1e-13)
    expected = -scale * PI * rim2**2 / 4.0 * stretch * (stretch * unit / reach)
    assert_allclose(part.moment, expected, rtol=1e-12, atol=1e-14)
    assert_allclose(part.waterplane_area, scale / reach * PI * rim2, rtol=1e-13)


@pytest.mark.parametrize("share", [1e-4, 0.1, 0.5, 0.9, 0.9999])
def test_cylinder_lying_down(share: float) -> None:
    radius, length = 0.5, 3.0
    height = share * 2.0 * radius
    half = np.arccos((radius - height) / radius)
    part = cut_of(shapes.cylinder(length, 2 * radius), (0.0, 0.0, 1.0), height - radius)
    segment = radius**2 * (half - np.sin(half) * np.cos(half))
    chord = 2.0 * radius * np.sin(half)
    assert_allclose(part.volume, segment * length, rtol=1e-10)
    assert_allclose(part.moment[2], -(chord**3) / 12.0 * length, rtol=1e-10)
    assert_allclose(part.waterplane_area, chord * length, rtol=1e-11)
    assert_allclose(part.waterplane_second[1, 1], chord**3 / 12.0 * length, rtol=1e-11)
    assert_allclose(part.wetted_area, 2.0 * segment + 2.0 * half * radius * length, rtol=1e-11)


@pytest.mark.parametrize("slope", [1e-7, 0.1, 1.0, 20.0, 1e4])
def test_cylinder_ungula(slope: float) -> None:
    """A wedge cut off by a plane through a diameter of one end: V = 2/3 r^2 h, lateral area 2 r h."""
    radius = 0.5
    height = slope * radius
    length = 2.0 * height
    # the end stands at x = 0, material at x > 0; water where x < slope z, z > 0 side
    solid = shapes.cylinder(length, 2 * radius).moved((0.5 * length, 0.0, 0.0))
    part = cut_of(solid, (1.0, 0.0, -slope), 0.0)
    assert_allclose(part.volume, 2.0 / 3.0 * radius**2 * height, rtol=1e-12)
    assert_allclose(part.moment[2] / part.volume, 3.0 * PI * radius / 16.0, rtol=1e-12)
    assert_allclose(part.moment[0] / part.volume, 3.0 * PI * height / 32.0, rtol=1e-12)
    assert_allclose(part.waterplane_area, 0.5 * PI * radius * np.hypot(radius, height), rtol=1e-12)
    assert_allclose(part.wetted_area, 2.0 * radius * height + 0.5 * PI * radius**2, rtol=1e-12)


@pytest.mark.parametrize("tilt", [0.0, 1e-12, 1e-6, 0.3])
def test_cylinder_cut_off_slantwise(tilt: float) -> None:
    """A plane that misses both ends leaves area x height on the axis, and an ellipse."""
    radius, length = 0.5, 3.0
    part = cut_of(shapes.cylinder(length, 2 * radius), (np.cos(tilt), np.sin(tilt), 0.0), 0.2 * np.cos(tilt))
    assert_allclose(part.volume, PI * radius**2 * (0.5 * length + 0.2), rtol=1e-13)
    assert_allclose(part.waterplane_area, PI * radius**2 / np.cos(tilt), rtol=1e-13)
    assert_allclose(part.moment[1], -PI * radius**4 / 4.0 * np.tan(tilt), rtol=1e-11, atol=1e-15)
    assert_allclose(part.wetted_area, PI * radius**2 + 2 * PI * radius * (0.5 * length + 0.2), rtol=1e-13)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("share", [1e-3, 0.4, 0.95])
def test_cone_tip(sign: float, share: float) -> None:
    radius, length = 0.7, 2.0
    solid = shapes.cone(length, 2 * radius)
    tip = share**3 * PI * radius**2 * length / 3.0
    from_tip = 0.5 * length - share * length
    part = cut_of(solid, (-sign, 0.0, 0.0), -sign * from_tip)
    # r^2 is known to one part in 1e16 of the base's
    rtol = 1e-13 + 1e-16 / share**2
    assert_allclose(part.volume, tip if sign > 0 else solid.volume - tip, rtol=rtol)
    assert_allclose(part.waterplane_area, PI * (share * radius) ** 2, rtol=rtol)
    if sign > 0:
        assert_allclose(part.wetted_area, PI * share**2 * radius * np.hypot(radius, length), rtol=rtol)
        assert_allclose(part.moment[0] / tip, 0.5 * length - 0.75 * share * length, rtol=rtol)


def test_cone_halved_through_its_axis_and_apex() -> None:
    radius, length = 0.7, 2.0
    for normal in ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (0.0, 0.6, 0.8)):
        part = cut_of(shapes.cone(length, 2 * radius), normal, 0.0)
        assert_allclose(part.volume, PI * radius**2 * length / 6.0, rtol=1e-13)
        assert_allclose(part.waterplane_area, radius * length, rtol=1e-13)
        lateral = PI * radius * np.hypot(radius, length) / 2.0
        assert_allclose(part.wetted_area, lateral + PI * radius**2 / 2.0, rtol=1e-13)


def test_frustum_and_capsule_wholly_under() -> None:
    r0, r1, length = 0.5, 0.2, 1.5
    part = whole(forest([shapes.cone(length, 2 * r0, 2 * r1)])[0])
    assert_allclose(part.volume, PI * length / 3.0 * (r0 * r0 + r0 * r1 + r1 * r1), rtol=1e-14)
    slant = np.hypot(length, r0 - r1)
    assert_allclose(part.wetted_area, PI * (r0 + r1) * slant + PI * (r0 * r0 + r1 * r1), rtol=1e-14)
    assert part.waterplane_area == 0.0
    part = whole(forest([shapes.capsule(2.0, 0.6)])[0])
    assert_allclose(part.volume, PI * 0.09 * 1.4 + 4.0 / 3.0 * PI * 0.027, rtol=1e-14)
    assert_allclose(part.wetted_area, 2.0 * PI * 0.3 * 2.0, rtol=1e-13)


@pytest.mark.parametrize("slenderness", [0.9, 0.3, 1.0 / 32.0, 1e-2, 1e-3])
def test_spheroid_area_prolate_and_oblate(slenderness: float) -> None:
    """Textbook closed forms for the area of a spheroid, equatorial radius a, polar radius c."""
    e = np.sqrt(1.0 - slenderness**2)
    c, a = 1.0, slenderness
    tree, _ = forest([shapes.spheroid(2 * c, 2 * a)])
    expected = 2.0 * PI * a * a * (1.0 + c / (a * e) * np.arcsin(e))
    assert_allclose(whole(tree).wetted_area, expected, rtol=1e-13)
    assert_allclose(2.0 * cut(tree, (0.0, 0.6, 0.8), 0.0).wetted_area, expected, rtol=1e-12)
    c, a = slenderness, 1.0
    tree, _ = forest([shapes.spheroid(2 * c, 2 * a)])
    expected = 2.0 * PI * a * a * (1.0 + (1.0 - e * e) / e * np.arctanh(e))
    assert_allclose(whole(tree).wetted_area, expected, rtol=1e-13)
    for normal in ((0.0, 0.6, 0.8), (1.0, 0.0, 0.0)):
        assert_allclose(2.0 * cut(tree, normal, 0.0).wetted_area, expected, rtol=1e-12)


def test_weights_scale_volume_and_waterplane_but_not_wetted_area() -> None:
    tree, starts = forest([shapes.box(1.0, 1.0, 1.0), shapes.box(1.0, 1.0, 1.0).weighted(-0.25)])
    one, other = (cut(tree, (0.0, 0.0, 1.0), 0.1, starts[i], starts[i + 1]) for i in range(2))
    assert_allclose(other.volume, -0.25 * one.volume, rtol=1e-15)
    assert_allclose(other.waterplane_second, -0.25 * one.waterplane_second, atol=1e-16)
    assert other.wetted_area == one.wetted_area
    both = cut(tree, (0.0, 0.0, 1.0), 0.1)
    assert_allclose(both.volume, 0.75 * one.volume, rtol=1e-15)


def test_tube_under_water_at_any_attitude() -> None:
    outer, inner = shapes.cylinder(1.0, 0.4), shapes.cylinder(1.0, 0.3)
    tube = shapes.tube(1.0, 0.4, 0.3)
    for normal in ATTITUDES:
        pieces = [cut_of(solid, normal, 0.05) for solid in (outer, inner, tube)]
        assert_allclose(pieces[2].volume, pieces[0].volume - pieces[1].volume, rtol=1e-14)
        assert_allclose(pieces[2].wetted_area, pieces[0].wetted_area + pieces[1].wetted_area, rtol=1e-14)


def test_dry_and_wholly_immersed_planes_far_off() -> None:
    solids = [shapes.box(1.0, 2.0, 3.0), shapes.capsule(2.0, 0.5), shapes.cone(1.0, 1.0)]
    tree, _ = forest(solids)
    rows = cut_many(tree, [[0.0, 0.6, 0.8]] * 2, [-50.0, 50.0])
    assert not rows[0].any()
    assert_allclose(rows[1, 0], sum(solid.volume for solid in solids), rtol=1e-14)
    assert_allclose(rows[1, 14], sum(solid.area for solid in solids), rtol=1e-14)
    assert not rows[1, 4:14].any()


def test_cutting_nothing_gives_nothing() -> None:
    tree, starts = forest([])
    assert starts.tolist() == [0]
    assert cut(tree, (0.0, 0.0, 1.0), 0.0).volume == 0.0


@pytest.mark.parametrize(
    ("normal", "offset", "advice"),
    [
        ((0.0, 0.0, np.nan), 0.0, "unit vector"),
        ((0.0, 0.0, 2.0), 0.0, "unit vector"),
        ((0.0, 0.0, 1.0), np.nan, "finite level"),
        ((0.0, 0.0, 1.0), np.inf, "finite level"),
        ((0.0, 1.0), 0.0, "three numbers"),
    ],
)
def test_bad_planes_get_advice(normal: tuple[float, ...], offset: float, advice: str) -> None:
    tree, _ = forest([shapes.box(1.0, 1.0, 1.0)])
    with pytest.raises(ValueError, match=advice):
        cut(tree, normal, offset)


def test_bad_ranges_and_shapes_of_planes_get_advice() -> None:
    tree, _ = forest([shapes.box(1.0, 1.0, 1.0)])
    with pytest.raises(ValueError, match="forest holds 1"):
        cut(tree, (0.0, 0.0, 1.0), 0.0, 0, 2)
    with pytest.raises(ValueError, match=r"normals \(k, 3\)"):
        cut_many(tree, np.zeros((2, 3)), np.zeros(3))
