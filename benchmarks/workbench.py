"""The workbench's server: from an ask on the live channel to its answer, the scene, and the memory it takes."""

import json
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import trimesh
from websockets.sync.client import ClientConnection, connect

from benchmarks.statics import demo_folder
from benchmarks.table import Row, best_time
from dabchick.storage.folder import open_boat
from dabchick.workbench.answers import answer
from dabchick.workbench.drawn import Forms
from dabchick.workbench.scene import scene_of
from dabchick.workbench.shapes.live import Ask

ASKS = 60
_SERVE = """
import sys
from pathlib import Path
import uvicorn
from dabchick.workbench.app import create_app
from dabchick.workbench.settings import Settings
shelf, port = Path(sys.argv[1]), int(sys.argv[2])
uvicorn.run(create_app(Settings(shelf=shelf, port=port)), port=port, log_level="error")
"""


def live() -> Iterator[Row]:
    """Ask to answer: in process, and through a server of its own with the demo boat and a 200k-triangle hull"""
    with tempfile.TemporaryDirectory() as folder:
        shelf = Path(folder)
        shutil.copytree(demo_folder(), shelf / "wren")
        triangles = _fine_boat(shelf / "fine")
        for boat, name, limit in (
            ("wren", "demo boat", 0.050),
            ("fine", f"hull of {triangles} triangles", 0.150),
        ):
            yield from _in_process(shelf / boat, name)
            with _server(shelf) as (port, process):
                yield from _through_server(boat, name, limit, port)
                memory = _most_memory_mb(process.pid)
                if memory is not None:
                    yield Row(
                        f"memory of the server, {name}", f"{memory:8.0f} MB", "under 600 MB", memory < 600.0
                    )


def _in_process(folder: Path, name: str) -> Iterator[Row]:
    opened = open_boat(folder)
    vessel = opened.vessel
    count = iter(range(1_000_000))

    def slide() -> object:
        number = next(count)
        return answer(vessel, Ask(seq=number, fills={"main": 0.2 + 1e-6 * number}), 1).model_dump_json()

    def drag() -> object:
        number = next(count)
        change = {"key": "part[4]", "shift_m": (1e-6 * number, 0.0, 0.0)}
        return answer(
            vessel, Ask.model_validate({"seq": number, "fills": {"main": 0.3}, "changes": [change]}), 1
        ).model_dump_json()

    for work, what in ((slide, "tank slider"), (drag, "part dragged")):
        taken = best_time(work, 20)
        wanted = 0.020 if name == "demo boat" else None
        yield Row(
            f"{what}, {name}, in process, best",
            f"{1e3 * taken:8.1f} ms",
            "" if wanted is None else "under 20 ms",
            None if wanted is None else taken < wanted,
        )
    forms = Forms()
    start = time.perf_counter()
    scene_of(opened, 1, forms)
    first = time.perf_counter() - start
    again = best_time(lambda: scene_of(opened, 2, forms), 5)
    yield Row(f"scene, {name}, first", f"{1e3 * first:8.1f} ms")
    yield Row(
        f"scene, {name}, after an edit: of the first",
        f"{again / first:8.3f}",
        "under 0.5",
        again < 0.5 * first,
    )


def _through_server(boat: str, name: str, limit: float, port: int) -> Iterator[Row]:
    fetched = _fetch(port, f"/api/boats/{boat}/scene")
    with connect(f"ws://127.0.0.1:{port}/api/boats/{boat}/live", max_size=None) as channel:
        json.loads(channel.recv())
        for what, make in (("tank slider", _slid), ("part dragged", _dragged)):
            times = _round_trips(channel, make)
            typical = statistics.median(times)
            yield Row(
                f"{what}, {name}, ask to answer by socket, median",
                f"{1e3 * typical:8.1f} ms",
                f"under {1e3 * limit:.0f} ms",
                typical < limit,
            )
            yield Row(f"{what}, {name}, ask to answer by socket, worst", f"{1e3 * max(times):8.1f} ms")
    start = time.perf_counter()
    meshes = _fetch(port, f"/api/boats/{boat}/meshes?revision={json.loads(fetched)['revision']}")
    taken = time.perf_counter() - start
    yield Row(f"meshes, {name}, {len(meshes) / 1e6:.1f} MB fetched", f"{1e3 * taken:8.1f} ms")


def _slid(seq: int) -> dict[str, Any]:
    return {"kind": "ask", "seq": seq, "fills": {"tank[1]": 0.1 + 0.01 * (seq % 80)}, "changes": []}


def _dragged(seq: int) -> dict[str, Any]:
    shift = [1e-4 * (seq % 97), 0.0, 1e-5 * (seq % 89)]
    return {
        "kind": "ask", "seq": seq, "fills": {"tank[1]": 0.3}, "changes": [{"key": "part[4]", "shift_m": shift}]
    }  # fmt: skip


def _round_trips(channel: ClientConnection, make: Callable[[int], dict[str, Any]]) -> list[float]:
    times = []
    for seq in range(ASKS):
        start = time.perf_counter()
        channel.send(json.dumps(make(seq)))
        told = json.loads(channel.recv())
        times.append(time.perf_counter() - start)
        if told["kind"] != "answer":
            raise RuntimeError(f"The ask was not answered: {told}")
    return times[2:]


def _fine_boat(folder: Path) -> int:
    """The demo boat with her own hull as a fine mesh; returns how many triangles it has."""
    shutil.copytree(demo_folder(), folder)
    ((vertices, faces, _),) = open_boat(folder).vessel.hull.meshes()
    mesh = trimesh.Trimesh(vertices, faces, process=False).subdivide()
    scaled = np.asarray(mesh.vertices) * 1000.0
    trimesh.Trimesh(scaled, mesh.faces, process=False).export(folder / "hull.stl")
    file = folder / "boat.toml"
    text = file.read_text()
    file.write_text(text.replace('stations = "wren-stations.csv"', 'mesh = "hull.stl"\nunit = "mm"'))
    return len(mesh.faces)


@contextmanager
def _server(shelf: Path) -> Iterator[tuple[int, subprocess.Popen[bytes]]]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = subprocess.Popen([sys.executable, "-c", _SERVE, str(shelf), str(port)])
    try:
        until = time.monotonic() + 60.0
        while True:
            try:
                socket.create_connection(("127.0.0.1", port), timeout=1.0).close()
                break
            except OSError:
                if process.poll() is not None or time.monotonic() > until:
                    raise
                time.sleep(0.05)
        yield port, process
    finally:
        process.terminate()
        process.wait()


def _fetch(port: int, path: str) -> bytes:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}") as found:
        return bytes(found.read())


def _most_memory_mb(pid: int) -> float | None:
    """The most resident memory that a process has had; None where the system does not tell."""
    status = Path(f"/proc/{pid}/status")
    if not status.is_file():
        return None
    line = next(entry for entry in status.read_text().splitlines() if entry.startswith("VmHWM:"))
    return float(line.split()[1]) / 1024.0


BENCHES = [live]
