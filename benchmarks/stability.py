"""The whole study of stability on a large boat, against as many cuts of a mesh library; and 10,000 random boats."""

import os
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import trimesh
from tests.support.dive_boats import distribution
from tests.support.forms import suboff_mesh
from tests.support.vessels import item, small_vessel

from benchmarks.table import Row
from dabchick.model.vessel import Item, Tank, Vessel
from dabchick.physics import shapes
from dabchick.physics.skin import skin
from dabchick.studies import stability

RHO = 998.2
BOATS = 10_000
SLICES = 5
"""Cuts by the mesh library that are timed; the study asks for thousands."""


def large_vessel() -> tuple[Vessel, trimesh.Trimesh]:
    """SUBOFF skin of 200k triangles (and as many within), 60 parts with spreads, a free tank of 0.4 litres."""
    vertices, faces = suboff_mesh(1.0, 520, 192)
    hull, shell = shapes.mesh(vertices, faces), skin(vertices, faces, 0.002)
    low, high = hull.bounds()
    middle = 0.5 * (low + high)
    generator = np.random.default_rng(3)
    makers = (
        lambda: shapes.box(0.02, 0.01, 0.008),
        lambda: shapes.cylinder(0.03, 0.008),
        lambda: shapes.sphere(0.01),
        lambda: shapes.tube(0.04, 0.01, 0.008),
    )
    room = shapes.cylinder(0.1, 0.08).moved(middle)
    capacity = 0.9 * room.volume
    cylinder = shapes.cylinder(0.5, 0.09)
    parts = [
        Item(
            name="skin", kind="skin", mass_kg=0.4, mass_spread_kg=0.004, known="computed", solid=shell,
            centre_m=tuple(map(float, shell.centre)), centre_spread_m=(0.002, 0.0005, 0.001),
            volume_m3=shell.volume, volume_spread_m3=8e-6, volume_centre_m=tuple(map(float, shell.centre)),
            inertia_kg_m2=np.zeros((3, 3)),
        )
    ]  # fmt: skip
    for index in range(58):
        place = middle + np.array([generator.uniform(-0.3, 0.3), *generator.uniform(-0.03, 0.03, 2)])
        centre = tuple(map(float, place))
        solid = makers[index % 4]()
        parts.append(
            item(f"part {index}", "solid", 0.005, centre, solid, mass_spread=1e-4, centre_spread=1e-3)
        )
    displaced = shell.volume + sum(part.volume_m3 for part in parts[1:]) + cylinder.volume + room.volume
    mass = RHO * (displaced - capacity) - 0.01 - sum(part.mass_kg for part in parts)
    low_down = middle - np.array([0.0, 0.0, 0.012])
    parts.append(item("cylinder", "dry", mass, tuple(map(float, middle)), cylinder, mass_spread=0.001))
    parts[-1] = Item(**{**parts[-1].__dict__, "centre_m": tuple(map(float, low_down))})
    tank = Tank(
        name="main", system="sealed pump", solid=room, capacity_m3=capacity,
        centre_m=tuple(map(float, middle)), inside="", piston_direction=(0.0, 0.0, 0.0), key="tank[0]",
    )  # fmt: skip
    length = float(high[0] - low[0])
    vessel = small_vessel(
        name="Large", hull=hull, hull_inside=hull, items=tuple(parts), tanks=(tank,), length_m=length,
        low_m=tuple(map(float, low)), high_m=tuple(map(float, high)),
        mark_bow_m=0.9 * length, mark_stern_m=0.1 * length,
    )  # fmt: skip
    return vessel, trimesh.Trimesh(vertices, faces, process=False)


def whole_study() -> Iterator[Row]:
    """Down and up, 21 fills x 73 heels in free trim, spreads, events and the least moment"""
    vessel, mesh = large_vessel()
    stability.run(vessel, stages=3)
    start = time.perf_counter()
    result = stability.run(vessel)
    taken = time.perf_counter() - start
    settled = all(stage.arms.settled for stage in (*result.down, *result.up))
    arms = len(result.down) * len(result.down[0].arms.heels_deg)
    name = f"stability, {arms} arms, {len(mesh.faces)} triangles, {len(vessel.items)} parts, {os.cpu_count()} cores"
    yield Row(name, f"{taken:8.2f} s", "under 2 s", taken < 2.0 and settled)
    start = time.perf_counter()
    for turn in range(SLICES):
        normal = np.array([0.0, np.sin(turn), np.cos(turn)])
        mesh.slice_plane(mesh.centroid, normal, cap=True)
    slices = (time.perf_counter() - start) / SLICES * arms
    yield Row(
        f"as many cuts by trimesh, one for each arm ({SLICES} timed)",
        f"{slices:8.1f} s",
        "the study 20 times as fast",
        slices > 20.0 * taken,
    )


def random_boats() -> Iterator[Row]:
    """10,000 random boats down and up: each in a proven answer or a named reason"""
    start = time.perf_counter()
    found: Counter[str] = Counter()
    pieces = [range(first, BOATS, 40) for first in range(40)]
    with ProcessPoolExecutor(max_workers=os.cpu_count()) as pool:
        for part in pool.map(distribution, pieces):
            found += part
    taken = time.perf_counter() - start
    for outcome, count in sorted(found.items()):
        good = outcome.startswith(("proven", "named"))
        yield Row(outcome, f"{count:8d}", "", None if good else False)
    failed = sum(count for outcome, count in found.items() if not outcome.startswith("proven"))
    yield Row("boats without a proven answer", f"{failed:8d}", f"of {BOATS}, in {taken:.0f} s", None)


BENCHES = [whole_study, random_boats]
