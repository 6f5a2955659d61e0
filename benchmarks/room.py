"""Room in the hull: what touches what, where lead and foam can go, trapped air."""

import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from benchmarks.browser import write_stl
from benchmarks.cut import lofted_hull
from benchmarks.statics import demo_folder
from benchmarks.table import Row, best_time
from dabchick.model.vessel import Vessel
from dabchick.storage.folder import open_boat
from dabchick.studies import air, fit, space

STATIONS, AROUND = 260, 100
"""52 000 triangles."""
SIDES_MM = (900.0, 99.4, 104.0)


def demo_boat() -> Iterator[Row]:
    """Fit and free room of the demo boat, in process"""
    vessel = open_boat(demo_folder()).vessel
    for name, work in (("fit", lambda: fit.run(vessel)), ("free room", lambda: space.run(vessel))):
        taken = best_time(work, 3)
        yield Row(f"{name} of the demo boat", f"{taken:8.2f} s", "under 5 s", taken < 5.0)


def trapped_air() -> Iterator[Row]:
    """Air that stays in at one attitude, in the demo boat with a hull of 52 000 triangles"""
    with tempfile.TemporaryDirectory() as folder:
        fine = _fine(Path(folder))
        air.run(open_boat(demo_folder()).vessel, pitch_deg=5.0, rest=False)
        first = _once(lambda: air.run(fine, pitch_deg=10.0, rest=False))
        again = best_time(lambda: air.run(fine, pitch_deg=12.0, rest=False), 3)
    yield Row("the first attitude, her flooded space found too", f"{first:8.2f} s", "under 1 s", first < 1.0)
    yield Row("another attitude", f"{again:8.2f} s", "under 1 s", again < 1.0)


def _once(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _fine(folder: Path) -> Vessel:
    """The demo boat with a hull as a mesh of her size."""
    vertices, faces = lofted_hull(STATIONS, AROUND)
    low = vertices.min(axis=0)
    write_stl(folder / "hull.stl", (vertices - low) * (np.array(SIDES_MM) / np.ptp(vertices, axis=0)), faces)
    text = (demo_folder() / "boat.toml").read_text("utf-8")
    text = text.replace('stations = "wren-stations.csv"', 'mesh = "hull.stl"\nunit = "mm"')
    (folder / "boat.toml").write_text(text, "utf-8")
    return open_boat(folder).vessel


BENCHES = [demo_boat, trapped_air]
