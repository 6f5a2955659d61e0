"""Files that a command writes beside what is there: never over a file that exists, whole or not at all."""

from pathlib import Path

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.hull_surface import HullSurface
from dabchick.storage.atomic import write_atomic


def free(*wanted: tuple[Path | None, str]) -> None:
    """Raise BoatError unless every path is free, in a folder that is there, with the ending that goes with it."""
    faults = []
    for out, ending in wanted:
        if out is None:
            continue
        if out.suffix.lower() != ending:
            faults.append(
                Advice(
                    what="The name does not end as the file's kind asks.",
                    todo=f"Name a file that ends in {ending}.",
                    where=str(out),
                    given=out.suffix or "no ending",
                    allowed=ending,
                )
            )
        elif out.exists():
            faults.append(
                Advice(
                    what="There is a file of this name already.",
                    todo="Name a new file; the old one is kept as it is.",
                    where=str(out),
                )
            )
        elif not out.parent.is_dir():
            faults.append(Advice("There is no such folder.", "Make it first.", where=str(out.parent)))
    if faults:
        raise BoatError(*faults)


def write_new(out: Path, content: bytes) -> None:
    """Write a file that is not there yet."""
    free((out, out.suffix.lower()))
    write_atomic(out, content)


def stl(surface: HullSurface, title: str) -> bytes:
    """A surface as binary STL in millimetres."""
    corners = surface.vertices[surface.faces] * 1000.0
    record = np.zeros(
        len(corners), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    )
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)[:, None]
    record["normal"] = np.divide(normal, size, out=np.zeros_like(normal), where=size > 0.0)
    record["corners"] = corners
    return title.encode("ascii").ljust(80)[:80] + len(corners).to_bytes(4, "little") + record.tobytes()
