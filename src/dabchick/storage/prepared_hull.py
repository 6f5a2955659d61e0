"""Hulls made ready once: reading, checking, lofting, the skin and its clusters take seconds on a large mesh.

What was made ready is kept in the user's own cache folder, never in the boat's folder, under a name that is the
digest of all that went in: the file's bytes, the boat file's [hull] table and this program's own files. It can be
deleted at any time. `DABCHICK_CACHE` names another folder, or `off`.
"""

import hashlib
import os
import pickle
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import dabchick
from dabchick.model.advice import BoatError
from dabchick.model.boat import HULL_FORMS, Hull
from dabchick.model.hull_surface import HullSurface
from dabchick.model.placed_hull import PlacedHull
from dabchick.storage.atomic import write_atomic

MOST_KEPT = 12
"""Hulls kept; the one unused longest goes first."""


@dataclass(frozen=True, eq=False)
class PreparedHull:
    """A hull as read, and as placed with its skin."""

    surface: HullSurface
    placed: PlacedHull


def digest(hull: Hull, content: str) -> str:
    """A name for everything that the prepared hull depends on; `content` is the digest of its file's bytes."""
    mark = hashlib.sha256(content.encode())
    mark.update(hull.model_dump_json(include=_SHAPING).encode())
    mark.update(_program())
    return mark.hexdigest()


@cache
def _program() -> bytes:
    """Mark of this program's files, as they were when it first asked."""
    mark = hashlib.sha256(repr(sys.version_info).encode())
    for file in sorted(Path(dabchick.__file__).parent.rglob("*.py")):
        facts = file.stat()
        mark.update(f"{file.name} {facts.st_size} {facts.st_mtime_ns}".encode())
    return mark.digest()


_SHAPING = {*HULL_FORMS, "unit", "bow", "up", "separate_shells", "solid_walled", "skin"}


def recall(name: str) -> PreparedHull | None:
    """The hull kept under this name, if there is one that can be read."""
    folder = _folder()
    if folder is None:
        return None
    file = folder / f"{name}.hull"
    try:
        found = pickle.loads(file.read_bytes())
        file.touch()
    except (OSError, pickle.UnpicklingError, EOFError, AttributeError, ImportError, IndexError, ValueError):
        return None  # not there, cut short or unreadable: it is made afresh, which is always possible
    return found if isinstance(found, PreparedHull) else None


def keep(name: str, hull: PreparedHull) -> None:
    """Keep a hull for the next time; where that cannot be done, nothing is lost but time."""
    folder = _folder()
    if folder is None:
        return
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_atomic(folder / f"{name}.hull", pickle.dumps(hull, protocol=5))
        for old in sorted(folder.glob("*.hull"), key=lambda file: -file.stat().st_mtime)[MOST_KEPT:]:
            old.unlink(missing_ok=True)
    except (OSError, BoatError):
        return  # a full disk or a read-only home must not stop the builder


def _folder() -> Path | None:
    chosen = os.environ.get("DABCHICK_CACHE", "")
    if chosen == "off":
        return None
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
        return Path(base) / "dabchick" / "hulls" if base else None
    home = Path.home() / ("Library/Caches" if sys.platform == "darwin" else ".cache")
    return Path(os.environ.get("XDG_CACHE_HOME") or home) / "dabchick" / "hulls"
