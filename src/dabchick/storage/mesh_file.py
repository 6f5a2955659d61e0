"""Hull and part meshes from files: STL (binary and text), OBJ, PLY and 3MF, in a unit that is always given.

Nothing is mended on reading. The one thing done to the triangles is to give corners whose three coordinates
are equal to the last bit one vertex, since STL has no vertices of its own; `repair` does more, when asked.
"""

import io
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NoReturn

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.hull_surface import HullSurface
from dabchick.physics.surface import SurfaceReport, faults
from dabchick.storage.mesh_advice import fault_advice
from dabchick.storage.mesh_archive import check_archive
from dabchick.storage.mesh_size import METRES, length_advice, unit_advice

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

SUFFIXES: Final = (".stl", ".obj", ".ply", ".3mf")
MOST_TRIANGLES: Final = 4_000_000
MOST_BYTES: Final = 1_000_000_000

_STL_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_FILE_UNITS: Final = {
    "millimeter": "mm", "millimeters": "mm", "centimeter": "cm", "centimeters": "cm", "meter": "m",
    "meters": "m", "inch": "in", "inches": "in", "foot": "ft", "feet": "ft",
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class RawMesh:
    """Triangles as they stand in a file, in the file's unit, equal corners joined."""

    vertices: Array
    faces: Indices
    corners: int
    """Corners in the file before equal ones were joined."""


def read_mesh(path: Path, unit: str, *, part: bool = False, separate_shells: bool = False) -> HullSurface:
    """A sound closed mesh in metres; the axes stay as in the file.

    `unit` is one of mm, cm, m, in, ft. `part` allows the sizes of parts instead of those of hulls;
    `separate_shells` allows several bodies that do not touch. A body with an inward-facing cavity, or one
    that is all wall, is marked `solid_walled`: the mesh is then the material itself. Raises BoatError with
    every fault, with coordinates; nothing is mended here.
    """
    raw = read_triangles(path, unit)
    report = faults(raw.vertices, raw.faces)
    wrong = list(fault_advice(report, path.name, unit, separate_shells))
    if report.faces and not report.not_finite:
        longest = max(high - low for low, high in zip(report.low, report.high, strict=True))
        size = length_advice(longest, unit, path.name, "" if part else "hull.unit", part)
        wrong += [size] if size else []
    if wrong:
        raise BoatError(*wrong)
    walled, said = _wall(report, unit)
    if separate_shells and len(report.bodies) > 1:
        said.append(f"{path.name} is {len(report.bodies)} separate bodies, all taken as hull.")
    if report.pinch_count:
        x, y, z = report.pinches[0]
        said.append(
            f"{path.name} meets itself in {report.pinch_count} single points, first at ({x:.4g}, {y:.4g}, "
            f"{z:.4g}) "
            f"{unit}; this does not change its volume."
        )
    if raw.corners > len(raw.vertices):
        said.append(
            f"{path.name}: {raw.corners} corners that are equal to the last bit joined into "
            f"{len(raw.vertices)} "
            "vertices; nothing was moved."
        )
    return HullSurface(
        vertices=raw.vertices * METRES[unit],
        faces=raw.faces,
        source=path.name,
        solid_walled=walled,
        assumptions=tuple(said),
    )


def read_triangles(path: Path, unit: str) -> RawMesh:
    """The triangles of a file, unjudged: they may be open, crossing or not even finite.

    Raises BoatError when there is no such file, it is no mesh, it breaks off, or it says itself that its unit
    is another.
    """
    wrong = unit_advice(unit, path.name, "hull.unit")
    if wrong:
        raise BoatError(wrong)
    check_suffix(path)
    return triangles_in(path, _bytes(path), unit)


def check_suffix(path: Path) -> None:
    """Raise BoatError when the file's name is not that of a mesh."""
    if path.suffix.lower() not in SUFFIXES:
        _refuse(
            path,
            f"'{path.suffix or path.name}' is not a mesh that can be read.",
            "Export the hull in one of these forms.",
            allowed=", ".join(SUFFIXES),
        )


def triangles_in(path: Path, data: bytes, unit: str) -> RawMesh:
    """The triangles in the bytes of a file; `path` gives its kind and its name in advice."""
    if path.suffix.lower() == ".stl":
        text = _is_text_stl(data)
        corners = _text_stl(path, data) if text else _binary_stl(path, data)
        vertices, faces = corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3)
    else:
        vertices, faces = _by_trimesh(path, data, unit)
    if len(faces) == 0:
        _refuse(
            path,
            "The file holds no triangles.",
            "Export the hull as a mesh, not as points, lines or a solid.",
        )
    if len(faces) > MOST_TRIANGLES:
        _too_many(path, len(faces))
    joined, number = join_equal(vertices)
    return RawMesh(joined, number[faces], len(vertices))


def _wall(report: SurfaceReport, unit: str) -> tuple[bool, list[str]]:
    thickness = report.wall_thickness
    thick = f"{thickness * METRES[unit] * 1000.0:.2g} mm"
    mean = f"{thick} thick on average (twice the volume over the whole surface)"
    if report.walled:
        return True, [
            f"The mesh has an inner side that faces inward: taken as the material itself, {mean}, not as the "
            f"form "
            "of a skin."
        ]
    if report.all_wall:
        return True, [
            f"The mesh holds walls only, {mean}: taken as the material itself, not as the form of a skin."
        ]
    return False, []


def _bytes(path: Path) -> bytes:
    if not path.exists():
        _refuse(path, "There is no such file.", "Check its name, and that it lies in the boat's folder.")
    if not path.is_file():
        _refuse(path, "This is a folder, not a file.", "Name the mesh file itself.")
    size = path.stat().st_size
    if size == 0:
        _refuse(path, "The file is empty.", "Export the hull again.")
    if size > MOST_BYTES:
        _refuse(
            path, f"The file has {size / 1e6:.0f} MB.", "Export it coarser.", f"{MOST_BYTES / 1e6:.0f} MB"
        )
    return path.read_bytes()


def _is_text_stl(data: bytes) -> bool:
    """Judged by the length that a binary file states of itself: binary files may begin with `solid` too."""
    if len(data) >= 84 and len(data) == 84 + 50 * int.from_bytes(data[80:84], "little"):
        return False
    return data[:512].lstrip().lower().startswith(b"solid") and b"facet" in data[:4096].lower()


def _binary_stl(path: Path, data: bytes) -> Array:
    if len(data) < 84:
        _refuse(
            path,
            "The file is too short for an STL mesh.",
            "Export the hull again.",
            given=f"{len(data)} bytes",
        )
    stated = int.from_bytes(data[80:84], "little")
    held, left = divmod(len(data) - 84, _STL_TRIANGLE.itemsize)
    if data[:512].lstrip().lower().startswith(b"solid") and b"\0" not in data[:512]:
        _refuse(path, "This text STL has no facets.", "Export the hull again as a mesh.")
    if stated > MOST_TRIANGLES and held <= MOST_TRIANGLES:
        _refuse(
            path,
            f"The file says that it holds {stated} triangles, but there is room for {held} only: it is "
            f"damaged, or "
            "not an STL mesh.",
            "Export the hull again.",
        )
    if held < stated:
        _refuse(
            path,
            f"The file breaks off: it should hold {stated} triangles and has {held}.",
            "Copy or export the file again; the copy was cut short.",
        )
    if held > stated or left:
        extra = len(data) - 84 - stated * _STL_TRIANGLE.itemsize
        _refuse(
            path,
            f"The file goes on for {extra} bytes after its {stated} triangles: it is damaged, or not an STL "
            f"mesh.",
            "Export the hull again.",
        )
    if stated > MOST_TRIANGLES:
        _too_many(path, stated)
    return np.frombuffer(data, _STL_TRIANGLE, count=stated, offset=84)["corners"].astype(np.float64)


_VERTEX = re.compile(rb"^\s*vertex[ \t]+(\S+)[ \t]+(\S+)[ \t]+(\S+)[ \t\r]*$", re.MULTILINE | re.IGNORECASE)


def _text_stl(path: Path, data: bytes) -> Array:
    lowered = data.lower()
    begun, ended = (
        len(re.findall(rb"\bfacet\s+normal\b", lowered)),
        len(re.findall(rb"\bendfacet\b", lowered)),
    )
    if begun > MOST_TRIANGLES:
        _too_many(path, begun)
    if ended < begun or b"endsolid" not in lowered[-4096:]:
        _refuse(
            path,
            f"The file breaks off: {begun} triangles begin and {ended} end, and the last line should be "
            f"`endsolid`.",
            "Copy or export the file again; the copy was cut short.",
        )
    found = _VERTEX.findall(data)
    lines = len(re.findall(rb"^\s*vertex\b", lowered, re.MULTILINE))
    if len(found) != lines or lines != 3 * begun:
        _refuse(
            path,
            f"The file has {begun} triangles, but {len(found)} readable corners of {lines}.",
            "Export the hull again.",
            allowed="three lines `vertex x y z` for each triangle",
        )
    try:
        return np.array(found, dtype=np.bytes_).astype(np.float64).reshape(-1, 3, 3)
    except ValueError:
        for match in _VERTEX.finditer(data):
            try:
                [float(value) for value in match.groups()]
            except ValueError:
                line = data.count(b"\n", 0, match.start(1)) + 1
                given = match.group().strip().decode(errors="replace")
                _refuse(
                    path,
                    "This corner is not three numbers.",
                    "Export the hull again.",
                    given=given,
                    line=line,
                )
        raise


def _by_trimesh(path: Path, data: bytes, unit: str) -> tuple[Array, Indices]:
    # Imported here because it takes longer than everything else that a command on an STL hull does.
    import trimesh

    kind = path.suffix.lower().removeprefix(".")
    if kind == "3mf":
        check_archive(path, data)
    try:
        scene = trimesh.load_scene(io.BytesIO(data), file_type=kind, process=False)
        own_unit = scene.units
        mesh = scene.to_mesh()
    except Exception as reason:
        raise BoatError(
            Advice(
                what=f"The file is not a whole {kind.upper()} mesh: {type(reason).__name__}, {reason}.",
                todo="Copy or export the file again; the copy may have been cut short.",
                where=path.name,
            )
        ) from reason
    stated = _FILE_UNITS.get(str(own_unit)) if own_unit else None
    if kind == "3mf" and own_unit and stated != unit:
        _refuse(
            path,
            f"The file itself says that its unit is {own_unit}.",
            f'Write unit = "{stated}".' if stated else 'Export it in millimetres and write unit = "mm".',
            given=f'unit = "{unit}"',
        )
    return np.array(mesh.vertices, np.float64).reshape(-1, 3), np.array(mesh.faces, np.int64).reshape(-1, 3)


def join_equal(vertices: Array) -> tuple[Array, Indices]:
    """One vertex for all corners with the same three coordinates; -0 counts as 0."""
    plain = np.ascontiguousarray(vertices + 0.0)
    bits = plain.view(np.int64)
    order = np.lexsort(bits.T)
    fresh = np.concatenate([[True], (bits[order][1:] != bits[order][:-1]).any(axis=1)])
    number = np.empty(len(plain), np.int64)
    number[order] = np.cumsum(fresh) - 1
    return plain[order[fresh]], number


def _too_many(path: Path, count: int) -> NoReturn:
    _refuse(
        path,
        f"The mesh has {count} triangles.",
        "Export it coarser; 50 000 triangles already hold a hull's volume to 0.1 %.",
        allowed=f"up to {MOST_TRIANGLES}",
    )


def _refuse(
    path: Path, what: str, todo: str, allowed: str = "", given: str = "", line: int | None = None
) -> NoReturn:
    where = path.name if line is None else f"{path.name}:{line}"
    raise BoatError(Advice(what=what, todo=todo, where=where, key="", given=given, allowed=allowed))
