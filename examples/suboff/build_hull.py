"""Write the published SUBOFF bare hull at 1.0 m: `suboff-1m.stl` (mm) and `suboff-stations.csv`.

Run with `python examples/suboff/build_hull.py`; both files land beside this one. The mesh has about 66 000
triangles and is not kept in the repository (3.3 MB); the station table holds the same form in 47 rows.

Form: Groves, Huang and Chang, Geometric Characteristics of DARPA SUBOFF Models (DTRC Model Nos. 5470 and
5471), DTRC/SHD-1298-01, 1989, Table 1, read in a public transcription. The inside of the example is invented.
"""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LENGTH_FT = 14.291667
JOINTS_FT = (0.0, 3.333333, 10.645833, 13.979167, LENGTH_FT)
MODEL_LENGTH_MM = 1000.0
AROUND = 128
STATIONS_FT = (
    0.0, 0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5, 2.75, 3.0,
    3.333333, 5.0, 7.0, 9.0, 10.645833, 10.9, 11.2, 11.5, 11.75, 12.0, 12.2, 12.4, 12.6, 12.8, 13.0, 13.2,
    13.4, 13.6, 13.8, 13.979167, 14.05, 14.1, 14.15, 14.2, 14.24, 14.27, LENGTH_FT,
)  # fmt: skip


def radius_ft(x_ft: float) -> float:
    """Radius [ft] at x [ft] from the nose."""
    largest, hub, k0, k1 = 5.0 / 6.0, 0.1175, 10.0, 44.6244
    if x_ft <= 0.0 or x_ft >= LENGTH_FT:
        return 0.0
    if x_ft < JOINTS_FT[1]:
        u = 0.3 * x_ft - 1.0
        form = 1.126395101 * x_ft * u**4 + 0.442874707 * x_ft**2 * u**3 + 1.0 - u**4 * (1.2 * x_ft + 1.0)
        return float(largest * form ** (1.0 / 2.1))
    if x_ft <= JOINTS_FT[2]:
        return largest
    if x_ft <= JOINTS_FT[3]:
        xi = (JOINTS_FT[3] - x_ft) / 3.333333
        factors = (
            hub**2,
            0.0,
            hub * k0,
            20.0 - 20.0 * hub**2 - 4.0 * hub * k0 - k1 / 3.0,
            -45.0 + 45.0 * hub**2 + 6.0 * hub * k0 + k1,
            36.0 - 36.0 * hub**2 - 4.0 * hub * k0 - k1,
            -10.0 + 10.0 * hub**2 + hub * k0 + k1 / 3.0,
        )
        return float(largest * np.sqrt(sum(factor * xi**power for power, factor in enumerate(factors))))
    return float(hub * largest * np.sqrt(max(1.0 - (3.2 * x_ft - 44.733333) ** 2, 0.0)))


def rings_ft() -> Array:
    """Where the rings of the mesh stand: on every joint of the form, crowded where the ends close."""
    nose, shoulder, run, tip = (np.linspace(low, high, 1 + n) for low, high, n in _spans())
    nose = JOINTS_FT[1] * (nose / JOINTS_FT[1]) ** 2
    tip = JOINTS_FT[3] + (LENGTH_FT - JOINTS_FT[3]) * np.sin(
        0.5 * np.pi * (tip - tip[0]) / (tip[-1] - tip[0])
    )
    tip[-1] = LENGTH_FT
    return np.concatenate([nose, shoulder[1:], run[1:], tip[1:]])


def _spans() -> list[tuple[float, float, int]]:
    return [
        (low, high, n) for low, high, n in zip(JOINTS_FT[:-1], JOINTS_FT[1:], (90, 50, 90, 30), strict=True)
    ]


def triangles_mm() -> Array:
    """The closed mesh as corners (m, 3, 3) [mm]: x forward from the stern, y to port, z up from the axis."""
    scale = MODEL_LENGTH_MM / LENGTH_FT
    x = rings_ft()
    radius = np.array([radius_ft(value) for value in x])
    angle = 2.0 * np.pi * np.arange(AROUND + 1) / AROUND
    # The last column repeats the first to the last bit, so that the seam closes.
    side, up = np.sin(angle), -np.cos(angle)
    side[-1], up[-1] = side[0], up[0]
    points = np.stack(
        np.broadcast_arrays(
            (LENGTH_FT - x)[:, None] * scale, radius[:, None] * side * scale, radius[:, None] * up * scale
        ),
        axis=-1,
    )[::-1]
    a, b, c, d = points[:-1, :-1], points[:-1, 1:], points[1:, 1:], points[1:, :-1]
    corners = np.concatenate(
        [np.stack([a, b, c], axis=2).reshape(-1, 3, 3), np.stack([a, c, d], axis=2).reshape(-1, 3, 3)]
    )
    # At both tips the ring is a point, and half of the triangles have no area.
    flat = (corners == np.roll(corners, 1, axis=1)).all(axis=2).any(axis=1)
    return corners[~flat]


def write(folder: Path) -> tuple[Path, Path]:
    """Write both files into a folder; returns their paths."""
    corners = triangles_mm()
    record = np.zeros(
        len(corners), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    )
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    record["normal"] = normal / np.linalg.norm(normal, axis=1)[:, None]
    record["corners"] = corners
    mesh = folder / "suboff-1m.stl"
    mesh.write_bytes(
        b"SUBOFF bare hull, 1.0 m, mm".ljust(80) + len(record).to_bytes(4, "little") + record.tobytes()
    )
    scale = MODEL_LENGTH_MM / LENGTH_FT
    rows = [f"{x * scale:.4f}, {2.0 * radius_ft(x) * scale:.4f}" for x in STATIONS_FT]
    table = folder / "suboff-stations.csv"
    table.write_text(
        "# SUBOFF bare hull at 1.0 m, a body of revolution.\n"
        "# Groves, Huang and Chang, DTRC/SHD-1298-01 (1989), Table 1; written by build_hull.py.\n"
        "unit, mm\nmeasured from, bow\nstation_x, diameter\n" + "\n".join(rows) + "\n",
        encoding="utf-8",
    )
    return mesh, table


if __name__ == "__main__":
    for path in write(Path(__file__).parent):
        print(f"{path.name}: {path.stat().st_size} bytes")  # noqa: T201 - a script's own voice
