"""A mesh as the bytes of a file: binary STL, OBJ, PLY or 3MF, by the file's name."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.mesh_file import check_suffix

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


def mesh_bytes(vertices: Array, faces: Indices, out: Path, title: str) -> bytes:
    """The whole file for vertices (n, 3) in the file's unit and faces (m, 3); `title` is the head of an STL file."""
    kind = out.suffix.lower().removeprefix(".")
    if kind == "stl":
        corners = vertices[faces]
        record = np.zeros(
            len(faces), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
        )
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        size = np.linalg.norm(normal, axis=1)[:, None]
        record["normal"] = np.divide(normal, size, out=np.zeros_like(normal), where=size > 0.0)
        record["corners"] = corners
        return title.encode("ascii")[:79].ljust(80) + len(faces).to_bytes(4, "little") + record.tobytes()
    import trimesh

    text = trimesh.Trimesh(vertices, faces, process=False).export(file_type=kind)
    return text.encode() if isinstance(text, str) else bytes(text)


def check_new(out: Path, unit: str) -> None:
    """Raise BoatError unless a mesh can be written into this new file."""
    check_suffix(out)
    if out.exists():
        raise BoatError(
            Advice(
                what="There is a file of this name already.",
                todo="Name a new file; the old one is kept as it is.",
                where=str(out),
            )
        )
    if not out.parent.is_dir():
        raise BoatError(Advice("There is no such folder.", "Make it first.", where=str(out.parent)))
    if out.suffix.lower() == ".3mf" and unit != "mm":
        raise BoatError(
            Advice(
                "A 3MF file is written in millimetres only.", "Name an .stl file.", where=str(out), given=unit
            )
        )
