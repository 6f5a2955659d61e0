"""Fit by other routes: all pairs of triangles, trimesh and manifold3d for distances, counted cells for the way in."""

import itertools

import manifold3d
import numpy as np
import pytest
import trimesh
from scipy.optimize import minimize

from dabchick.physics import shapes
from dabchick.physics.nearest import nearest, triangle_tree
from dabchick.physics.solid import Solid
from dabchick.physics.triangle_gap import triangles_apart
from dabchick.studies import fit, fit_cylinder, fit_slide
from dabchick.studies.fit_slide import Plane
from tests.support.fitting_boats import box_hull, fat_spindle, item, skinned, vessel

Mesh = tuple[np.ndarray, np.ndarray]


def mesh(solid: Solid, sides: int = 24) -> Mesh:
    vertices, faces, _ = solid.meshes(sides)[0]
    return vertices, faces


def turned(rng: np.random.Generator) -> np.ndarray:
    return np.linalg.qr(rng.normal(size=(3, 3)))[0]


def corners(solid: Mesh) -> np.ndarray:
    vertices, faces = solid
    return vertices[faces]


PAIRS = [
    (shapes.capsule(0.2, 0.05), shapes.cone(0.15, 0.08, 0.02)),
    (shapes.box(0.1, 0.04, 0.03), shapes.spheroid(0.12, 0.06)),
    (shapes.cylinder(0.3, 0.01), shapes.cylinder(0.02, 0.12)),
]


def placed(seed: int, pair: tuple[Solid, Solid]) -> tuple[Mesh, Mesh]:
    rng = np.random.default_rng(seed)
    first, second = pair
    away = rng.normal(size=3)
    away *= 0.25 / np.linalg.norm(away)
    return mesh(first.moved(np.zeros(3), turned(rng))), mesh(
        second.moved(np.zeros(3), turned(rng)).moved(away)
    )


@pytest.mark.parametrize(("seed", "pair"), list(itertools.product(range(3), PAIRS)))
def test_distance_is_the_least_of_all_pairs_of_triangles(seed: int, pair: tuple[Solid, Solid]) -> None:
    # Independent of the tree: every triangle against every other.
    first, second = (corners(one)[::3] for one in placed(seed, pair))
    found = nearest(triangle_tree(first), triangle_tree(second))
    least = min(triangles_apart(a, b)[0] for a in first for b in second)
    assert found is not None
    assert found.distance_m == pytest.approx(np.sqrt(least), abs=1e-15)


@pytest.mark.parametrize(("seed", "pair"), list(itertools.product(range(3), PAIRS)))
def test_distance_is_that_of_manifold(seed: int, pair: tuple[Solid, Solid]) -> None:
    # Independent route: manifold3d's own least gap between two solids, which works in double precision.
    first, second = placed(seed, pair)
    found = nearest(triangle_tree(corners(first)), triangle_tree(corners(second)))
    one, other = (
        manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
        for vertices, faces in (first, second)
    )
    assert found is not None
    assert found.distance_m == pytest.approx(one.min_gap(other, 1.0), abs=1e-9)


@pytest.mark.parametrize(("seed", "pair"), list(itertools.product(range(3), PAIRS)))
def test_the_points_lie_on_both_surfaces_by_trimesh(seed: int, pair: tuple[Solid, Solid]) -> None:
    # Independent route: trimesh's closest points from each found point, and from many corners, which are not nearer.
    first, second = placed(seed, pair)
    found = nearest(triangle_tree(corners(first)), triangle_tree(corners(second)))
    assert found is not None
    one, other = (trimesh.Trimesh(*solid, process=False) for solid in (first, second))
    for body, there in ((one, found.first), (other, found.second)):
        assert trimesh.proximity.closest_point(body, [there])[1][0] == pytest.approx(0.0, abs=1e-9)
    apart = trimesh.proximity.closest_point(other, one.vertices[::2])[1]
    assert apart.min() >= found.distance_m - 1e-9


def test_two_triangles_by_minimising() -> None:
    # Independent route: the distance as a function of four places on the triangles, made least by SLSQP (1e-7).
    rng = np.random.default_rng(3)

    def by_minimising(a: np.ndarray, b: np.ndarray) -> float:
        def square(p: np.ndarray) -> float:
            one = a[0] + p[0] * (a[1] - a[0]) + p[1] * (a[2] - a[0])
            two = b[0] + p[2] * (b[1] - b[0]) + p[3] * (b[2] - b[0])
            return float(((one - two) ** 2).sum())

        within = [{"type": "ineq", "fun": lambda p, k=k: 1.0 - p[k] - p[k + 1]} for k in (0, 2)]
        best = minimize(
            square,
            [0.3] * 4,
            bounds=[(0, 1)] * 4,
            constraints=within,
            method="SLSQP",
            options={"ftol": 1e-15},
        )
        return float(np.sqrt(max(0.0, best.fun)))

    for _ in range(60):
        a, b = rng.random((3, 3)), rng.random((3, 3)) + np.array([rng.random(), 0.0, 0.0])
        assert np.sqrt(triangles_apart(a, b)[0]) == pytest.approx(by_minimising(a, b), abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_a_drawn_surface_by_many_places_on_its_way(seed: int) -> None:
    # Independent of the prisms: the still distance at 100 places; between them it can fall by half a step at most.
    rng = np.random.default_rng(seed)
    first, second = placed(seed, PAIRS[seed % len(PAIRS)])
    way = 0.4 * rng.normal(size=3)
    one, other = triangle_tree(corners(first)), triangle_tree(corners(second))
    drawn = nearest(one, other, sweep=way)
    assert drawn is not None
    steps = 100
    least = min(
        found.distance_m
        for share in np.linspace(0.0, 1.0, steps + 1)
        if (found := nearest(one, other, shift=share * way)) is not None
    )
    assert least - 0.5 * np.linalg.norm(way) / steps - 1e-12 <= drawn.distance_m <= least + 1e-12
    there = nearest(one, other, shift=drawn.share * way)
    assert there is not None
    assert there.distance_m == pytest.approx(drawn.distance_m, abs=1e-9)


def boat():
    hull = fat_spindle(60, 48)
    inner, skin = skinned(hull, 0.002)
    parts = [
        skin,
        item("tube", "dry", shapes.cylinder(0.4, 0.08).moved((0.5, 0.0, 0.07)), 2.0),
        item("servo", "solid", shapes.box(0.04, 0.02, 0.04).moved((0.24, 0.01, 0.07)), 0.05),
        item("strut", "solid", shapes.cylinder(0.05, 0.008).moved((0.75, -0.01, 0.06)), 0.03),
    ]
    return vessel(hull, parts, inside=inner)


def test_pairs_of_a_boat_are_those_of_manifold() -> None:
    # Independent route: manifold3d's least gap of every pair, and of every part to the shell between the two forms.
    sample = boat()
    wished = 0.05
    result = fit.run(sample, clearance_m=wished)
    bodies = {
        one.name: manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
        for one in sample.items[1:]
        if one.envelope is not None
        for vertices, faces, _ in one.envelope.meshes(240)
    }
    outer, inner = (
        manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
        for solid in (sample.hull, sample.hull_inside)
        for vertices, faces, _ in solid.meshes()
    )
    bodies["hull"] = outer - inner
    wanted = {
        frozenset(names): bodies[names[0]].min_gap(bodies[names[1]], 1.0)
        for names in itertools.combinations(bodies, 2)
    }
    near = {names: gap for names, gap in wanted.items() if gap < wished}
    assert len(near) >= 4
    assert {frozenset((one.first, one.second)) for one in result.pairs} == set(near)
    for one in result.pairs:
        assert one.clearance_m == pytest.approx(near[frozenset((one.first, one.second))], abs=1e-9)


def cells(low: np.ndarray, high: np.ndarray, size: float) -> np.ndarray:
    """Middles of the cells of a box."""
    axes = [np.arange(start + size / 2, stop, size) for start, stop in zip(low, high, strict=True)]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


@pytest.mark.parametrize(
    ("way", "plane", "width"),
    [
        ("top", Plane((0.0, 0.0, 1.0), 0.1), 0.1),
        ("top", Plane((0.0, 0.0, 1.0), 0.1), 0.13),
        ("bow", Plane((1.0, 0.0, 0.0), 0.8), 0.1),
        ("stern", Plane((-1.0, 0.0, 0.0), -0.2), 0.12),
    ],
)
def test_the_way_in_by_counted_cells(way: str, plane: Plane, width: float) -> None:
    # Independent route: the part as cells of 4 mm, moved in steps of 4 mm; which cells lie in the skin or in a post.
    post = ((0.62, -0.05, 0.03), (0.64, 0.0, 0.05))
    low, high = np.array(post)
    size = (0.2, width, 0.04)
    centre = np.array([0.5, 0.0, 0.08])
    bar = item("bar", "solid", shapes.box(*size).moved(centre))
    stub = item("stub", "solid", shapes.box(*(high - low)).moved((low + high) / 2))
    inner, skin = skinned(box_hull(), 0.003)
    result = fit_slide.run(vessel(box_hull(), [skin, bar, stub], inside=inner), "bar", way=way, plane=plane)
    step = 0.004
    mine = cells(centre - np.array(size) / 2, centre + np.array(size) / 2, step)
    outward = np.array(result.outward)
    hull_low, hull_high = np.array([0.0, -0.06, 0.0]), np.array([1.0, 0.06, 0.15])
    taken: dict[str, float] = {}
    for away in np.arange(0.0, result.way_m, step):
        there = mine + away * outward
        kept = there @ np.array(plane.normal) <= plane.offset_m
        within = np.all((there > hull_low) & (there < hull_high), axis=1)
        free = np.all((there > hull_low + 0.003) & (there < hull_high - 0.003), axis=1)
        if np.any(kept & within & ~free):
            taken["hull"] = away
        if np.any(np.all((there > low) & (there < high), axis=1)):
            taken["stub"] = away
    blocking = {one.name: one for one in result.hindrances if one.blocks}
    assert set(blocking) == set(taken)
    assert (result.verdict == "blocked") == bool(taken)
    for name, away in taken.items():
        # The cell counts from its middle, so it is met up to a step later.
        assert away - step / 2 <= blocking[name].to_go_m <= away + 1.5 * step


def test_the_largest_cylinder_by_booleans() -> None:
    # Independent route: it lies within the inner face, by boolean operations; one a little longer does not, anywhere
    # near. The tessellated cylinder is wider at its corners than between, so it is inscribed.
    sample = boat()
    result = fit_cylinder.run(sample, diameter_m=0.08, clearance_m=0.0)
    vertices, faces, _ = sample.hull_inside.meshes()[0]
    inner = manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))

    def outside(length: float, diameter: float, shift: tuple[float, float]) -> float:
        centre = np.array(result.centre_m) + np.array([shift[0], 0.0, shift[1]])
        points, rows, _ = shapes.cylinder(length, diameter).moved(centre).meshes(720)[0]
        return (manifold3d.Manifold(manifold3d.Mesh64(points, rows.astype(np.uint64))) - inner).volume()

    assert outside(result.length_m, 0.08 - 1e-6, (0.0, 0.0)) <= 1e-13
    for x, z in itertools.product((-0.002, -0.001, 0.0, 0.001, 0.002), repeat=2):
        assert outside(result.length_m + 0.002, 0.08, (x, z)) > 1e-12
