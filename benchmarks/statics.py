"""Equilibria, righting arms and the studies on the demo boat."""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np
from tests.support.forms import suboff_mesh

from benchmarks.table import Row, best_time
from dabchick.physics import shapes
from dabchick.physics.balance import balance_of, bodies
from dabchick.physics.righting import arm_curve, arm_curves
from dabchick.physics.skin import skin
from dabchick.storage.folder import open_boat
from dabchick.studies import afloat, trim

RHO = 998.2


def demo_folder() -> Path:
    with as_file(files("dabchick.data") / "demo" / "wren") as folder:
        return Path(folder)


def righting_arms() -> Iterator[Row]:
    """21 fills x 37 heels in free trim: SUBOFF skin of 200k triangles (and as many within), 60 parts, a free tank"""
    vertices, faces = suboff_mesh(1.0, 520, 192)
    hull = skin(vertices, faces, 0.002)
    generator = np.random.default_rng(3)
    low, high = hull.bounds()
    middle = 0.5 * (low + high)
    parts = [shapes.cylinder(0.5, 0.09).moved(middle)]
    makers = (
        lambda: shapes.box(0.02, 0.01, 0.008),
        lambda: shapes.cylinder(0.03, 0.008),
        lambda: shapes.sphere(0.01),
        lambda: shapes.tube(0.04, 0.01, 0.008),
    )
    while len(parts) < 60:
        place = middle + np.array([generator.uniform(-0.3, 0.3), *generator.uniform(-0.03, 0.03, 2)])
        parts.append(makers[len(parts) % 4]().moved(place))
    room = shapes.cylinder(0.1, 0.08).moved(middle)
    gathered = bodies([hull, *parts], [room])
    capacity = 0.9 * room.volume
    mass = RHO * (gathered.volume_m3 - capacity) - 0.01
    centre = gathered.centre_m - np.array([0.0, 0.0, 0.008])
    fills = [
        balance_of(gathered, mass, centre, RHO, [share * capacity]) for share in np.linspace(0.0, 1.0, 21)
    ]
    heels = np.arange(0.0, 181.0, 5.0)
    arm_curve(fills[0], heels[:2])
    start = time.perf_counter()
    curves = arm_curves(fills, heels)
    taken = time.perf_counter() - start
    settled = all(curve.settled for curve in curves)
    name = f"21 fills x 37 heels in free trim, {len(faces)} triangles, 60 parts, {os.cpu_count()} cores"
    yield Row(name, f"{taken:8.2f} s", "under 2 s", taken < 2.0 and settled)


def studies() -> Iterator[Row]:
    """`afloat` and `trim` on the demo boat in process, warm"""
    vessel = open_boat(demo_folder()).vessel
    floating = best_time(lambda: afloat.run(vessel), 50)
    yield Row(
        "afloat on the demo boat, warm, in process",
        f"{1e3 * floating:8.2f} ms",
        "under 10 ms",
        floating < 0.01,
    )
    trim.run(vessel)
    for name, sheet in (("pieces", False), ("sheet lead", True)):
        start = time.perf_counter()
        result = trim.run(vessel, sheet=sheet)
        taken = time.perf_counter() - start
        good = taken < 10.0 and result.feasible and result.gap <= 0.01
        yield Row(
            f"trim on the demo boat, {name}, gap {result.gap:.2%}", f"{taken:8.2f} s", "under 10 s", good
        )


def whole_commands() -> Iterator[Row]:
    """Commands as a builder types them, the second time"""
    command = str(Path(sys.executable).parent / "dabchick")
    with tempfile.TemporaryDirectory() as cache:
        environment = {**os.environ, "DABCHICK_CACHE": cache}
        for words, most in ((["--help"], None), (["afloat", str(demo_folder())], 2.0)):
            times = []
            for _ in range(4):
                start = time.perf_counter()
                subprocess.run([command, *words], check=True, capture_output=True, env=environment)
                times.append(time.perf_counter() - start)
            taken = min(times[1:])
            goal = f"under {most:g} s" if most else ""
            yield Row(
                f"dabchick {words[0]}, whole command", f"{taken:8.2f} s", goal, taken < most if most else None
            )


BENCHES = [righting_arms, studies, whole_commands]
