"""A small boat folder for tests: a plain box of a hull, so that every number has a closed form."""

import struct
from pathlib import Path

import numpy as np

HULL_SIZE_MM = (600.0, 100.0, 120.0)

TEXT = """\
# An invented test boat: a box.
dabchick = 1
name = "Box"
scale = 50
measured_from = { x = "bow", z = "keel" }
units = "metric"

[water]
where = "test basin"
temperature = "12 degC"
salinity = "0.2 g/kg"

[hull]
mesh = "hull.stl"                # drawn from the stern
unit = "mm"
skin = { thickness = "2 mm", spread = "0.2 mm", material = "GRP" }
waterline = "70 mm"
marks = { bow = "50 mm", stern = "550 mm" }
openings = [ { at = ["150 mm", 0, "2 mm"], area = "60 mm^2" } ]

# Everything dry sits in here.
[[part]]
name = "cylinder"
kind = "dry"
shape = { cylinder = { length = "400 mm", diameter = "80 mm" } }
at = ["300 mm", 0, "52 mm"]      # its middle
mass = { value = "612 g", known = "weighed" }

[[part]]
name = "battery"
kind = "inside"
inside = "cylinder"
shape = { box = { size = ["70 mm", "35 mm", "30 mm"] } }
at = ["200 mm", 0, "30 mm"]
mass = { value = "310 g", known = "weighed", spread = "1 g" }
rail = { direction = "x", from = "180 mm", to = "260 mm" }

[[tank]]
name = "main"
system = "piston"
shape = { cylinder = { length = "110 mm", diameter = "70 mm" } }
at = ["400 mm", 0, "52 mm"]
inside = "cylinder"
water_end = "stern"

# A servo in the flooded space, known by its volume only.
[[part]]
name = "servo"
kind = "solid"
at = ["540 mm", "-12 mm", "60 mm"]
mass = { value = "19 g", known = "catalogue" }
volume = { value = "9 ml", known = "measured" }

[[part]]
name = "keel lead"
kind = "lead"
at = ["250 mm", 0, "6 mm"]
mass = "200 g"                   # to be weighed

[[place]]
name = "keel fore"
for = "lead"
low = ["60 mm", "-20 mm", "3 mm"]
high = ["200 mm", "20 mm", "12 mm"]
most = "300 g"

[trim]
lift_dived = "12 g"
least_bg = "6 mm"
lead = { pieces = ["5 g", "10 g", "20 g"], places = ["keel fore"] }
foam = { density = "35 kg/m^3", sheet = "10 mm", least = "2 ml", places = "auto" }
# end of the file
"""


def write_box_stl(path: Path, size: tuple[float, float, float] = HULL_SIZE_MM) -> None:
    """A binary STL of a box with its corner at the origin, x along its length, y about the middle plane."""
    _write_stl(path, _box(size, 0.0))


def write_hollow_box_stl(path: Path, wall: float, size: tuple[float, float, float] = HULL_SIZE_MM) -> None:
    """The same box with a closed cavity: a print that is its own material."""
    _write_stl(path, np.concatenate([_box(size, 0.0), _box(size, wall)[:, ::-1]]))


def _box(size: tuple[float, float, float], inset: float) -> np.ndarray:
    """Outward triangles (12, 3, 3)."""
    length, width, height = size
    x = (inset, length - inset)
    y = (inset - 0.5 * width, 0.5 * width - inset)
    z = (inset, height - inset)
    corners = np.array([[x[i], y[j], z[k]] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return np.array(
        [corners[[a, b, c]] for quad in quads for a, b, c in (quad[:3], (quad[0], quad[2], quad[3]))]
    )


def _write_stl(path: Path, triangles: np.ndarray) -> None:
    with path.open("wb") as file:
        file.write(b"test box".ljust(80) + struct.pack("<I", len(triangles)))
        for points in triangles:
            normal = np.cross(points[1] - points[0], points[2] - points[0])
            normal /= np.linalg.norm(normal)
            file.write(struct.pack("<12fH", *normal, *points.reshape(-1), 0))


def write_boat(folder: Path, text: str = TEXT, size: tuple[float, float, float] = HULL_SIZE_MM) -> Path:
    """Write the boat into a new folder; returns the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    write_box_stl(folder / "hull.stl", size)
    (folder / "boat.toml").write_bytes(text.encode())
    return folder
