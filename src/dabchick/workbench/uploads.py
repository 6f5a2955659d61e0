"""Files brought in by a page: kept under random names in a folder of this user's own, for an hour at most."""

import re
import secrets
import shutil
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from dabchick.model.advice import Advice
from dabchick.workbench.errors import NotThere, Refused

MOST_BYTES: Final = 64 * 1024 * 1024
MOST_FILES: Final = 30
MOST_TOGETHER: Final = 1024 * 1024 * 1024
KEPT_S: Final = 3600.0

Kind = Literal["mesh", "stations", "plan"]
Purpose = Literal["hull", "plan"]
"""What a page wants a file for; each takes other kinds."""
KINDS: Final[dict[str, Kind]] = {
    ".stl": "mesh",
    ".obj": "mesh",
    ".ply": "mesh",
    ".3mf": "mesh",
    ".csv": "stations",
    ".txt": "stations",
}
PLAN_KINDS: Final[dict[str, Kind]] = {".png": "plan", ".jpg": "plan", ".jpeg": "plan", ".pdf": "plan"}
"""Pictures of plans, and documents that hold them."""
HEAD: Final = 4096
"""So much of a file's beginning tells what it is."""

_OTHERS: Final = (
    (b"%PDF-", "a PDF document"),
    (b"\x89PNG\r\n", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"MZ", "a program"),
    (b"\x7fELF", "a program"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"Rar!", "a RAR archive"),
)


@dataclass(frozen=True)
class Upload:
    """A file that was taken in."""

    upload: str
    name: str
    """As the builder calls it, with all that is no letter, digit, space or one of -_. taken out."""
    kind: Kind
    size: int
    file: Path
    since: float


class Uploads:
    """The files of one server; all gone when it ends."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._files: dict[str, Upload] = {}
        self._folder: Path | None = None

    def folder(self) -> Path:
        """Where the files lie; for this user's eyes only."""
        with self._lock:
            if self._folder is None:
                self._folder = Path(tempfile.mkdtemp(prefix="dabchick-uploads-"))
            return self._folder

    def begin(self, name: str, purpose: Purpose = "hull") -> "Arriving":
        """Take in a file piece by piece. Raises Refused where its name says that it is of no use here."""
        plain = safe_name(name)
        kind = (PLAN_KINDS if purpose == "plan" else KINDS).get(Path(plain).suffix.lower())
        if kind is None:
            raise Refused(415, _no_kind(name, purpose))
        self.forget_old()
        with self._lock:
            if len(self._files) >= MOST_FILES:
                raise Refused(429, _FULL)
            if sum(entry.size for entry in self._files.values()) >= MOST_TOGETHER:
                raise Refused(429, _FULL)
        return Arriving(self, plain, kind)

    def new_file(self, name: str) -> Path:
        """A free place for a file of this safe name that is about to be made, in a folder of its own."""
        folder = self.folder() / secrets.token_hex(12)
        folder.mkdir(mode=0o700)
        return folder / name

    def add(self, kind: Kind, file: Path) -> Upload:
        """A file made at `new_file` becomes an upload."""
        upload = Upload(secrets.token_urlsafe(16), file.name, kind, file.stat().st_size, file, self._clock())
        with self._lock:
            self._files[upload.upload] = upload
        return upload

    def get(self, upload: str) -> Upload:
        """The file of this id. Raises NotThere."""
        self.forget_old()
        with self._lock:
            found = self._files.get(upload)
        if found is None:
            raise NotThere("This file is not here any more.", "Choose it again: a file is kept for an hour.")
        return found

    def forget_old(self) -> None:
        """Remove what has been here for too long."""
        now = self._clock()
        with self._lock:
            old = [entry for entry in self._files.values() if now - entry.since > KEPT_S]
            for entry in old:
                del self._files[entry.upload]
        for entry in old:
            shutil.rmtree(entry.file.parent, ignore_errors=True)

    def close(self) -> None:
        """Remove everything."""
        with self._lock:
            self._files.clear()
            folder, self._folder = self._folder, None
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)


class Arriving:
    """A file on its way in; `done` makes it an upload, and leaving without that leaves nothing behind."""

    def __init__(self, uploads: Uploads, name: str, kind: Kind) -> None:
        self._uploads = uploads
        self._name = name
        self._kind: Kind = kind
        self._file = uploads.new_file(name)
        self._handle = self._file.open("xb")
        self._size = 0
        self._head = b""
        self._taken = False

    def __enter__(self) -> "Arriving":
        return self

    def __exit__(self, *error: object) -> None:
        self._handle.close()
        if not self._taken:
            shutil.rmtree(self._file.parent, ignore_errors=True)

    def take(self, piece: bytes) -> None:
        """One piece more. Raises Refused as soon as the file is too large."""
        self._size += len(piece)
        if self._size > MOST_BYTES:
            raise Refused(413, too_large(self._name, None))
        if len(self._head) < HEAD:
            self._head += piece[: HEAD - len(self._head)]
        self._handle.write(piece)

    def done(self) -> Upload:
        """The whole file is here. Raises Refused when its beginning does not fit its name."""
        self._handle.close()
        if self._size == 0:
            raise Refused(422, Advice("The file is empty.", "Export it again.", where=self._name))
        wrong = unlike(self._name, self._head)
        if wrong is not None:
            raise Refused(415, wrong)
        upload = self._uploads.add(self._kind, self._file)
        self._taken = True
        return upload


def safe_name(name: str) -> str:
    """A file's name as it may stand in a folder: no path, nothing hidden, nothing reserved, 80 letters at most."""
    last = re.split(r"[/\\]", name)[-1]
    plain = re.sub(r"[^\w .\-]", "", last).strip(" .")
    stem, dot, suffix = plain.rpartition(".")
    if not dot:
        return plain[:80]
    stem = stem.strip(" .")[: 79 - min(len(suffix), 8)] or "file"
    if stem.upper() in _RESERVED:
        stem = f"{stem}-file"
    return f"{stem}.{suffix[:8]}"


_RESERVED: Final = {
    "CON", "PRN", "AUX", "NUL", *(f"COM{n}" for n in range(1, 10)), *(f"LPT{n}" for n in range(1, 10)),
}  # fmt: skip
"""Names that stand for devices on some systems, whatever follows the dot."""


_PLAN_HEADS: Final = {
    ".png": b"\x89PNG\r\n",
    ".jpg": b"\xff\xd8\xff",
    ".jpeg": b"\xff\xd8\xff",
    ".pdf": b"%PDF-",
}


def unlike(name: str, head: bytes) -> Advice | None:
    """Advice when a file's beginning is not that of its kind."""
    suffix = Path(name).suffix.lower()
    other = next((what for mark, what in _OTHERS if head.startswith(mark)), None)
    if suffix in _PLAN_HEADS:
        # Some programs put a few bytes before a document; its readers look for its mark in the first kilobyte.
        fits = (
            _PLAN_HEADS[suffix] in head[:1024] if suffix == ".pdf" else head.startswith(_PLAN_HEADS[suffix])
        )
        return None if fits else _other_plan(name, other or "of another kind")
    if other is None and suffix == ".3mf" and not head.startswith(b"PK\x03\x04"):
        other = "no 3MF archive"
    if other is None and suffix != ".3mf" and head.startswith(b"PK\x03\x04"):
        other = "an archive"
    if other is None and suffix == ".ply" and not head.startswith(b"ply"):
        other = "no PLY mesh"
    if other is None and suffix in (".csv", ".txt", ".obj") and b"\0" in head:
        other = "not plain text"
    if other is None:
        return None
    return Advice(
        what=f"{name} is {other} in truth, whatever its name says.",
        todo="Choose the mesh or the table itself; take it out of its archive first.",
        where=name,
        allowed=", ".join(KINDS),
    )


def too_large(name: str, size: int | None) -> Advice:
    """Advice on a file over the limit."""
    is_plan = Path(name).suffix.lower() in PLAN_KINDS
    return Advice(
        what="The file is too large.",
        todo="Save the scan as JPEG, or scan it at 150 dots per inch; that is enough for a hull."
        if is_plan
        else "Export the mesh coarser; 50 000 triangles already hold a hull's volume to 0.1 %.",
        where=name,
        given="" if size is None else f"{size / 1e6:.0f} MB",
        allowed=f"up to {MOST_BYTES / 1e6:.0f} MB",
    )


def _other_plan(name: str, other: str) -> Advice:
    return Advice(
        what=f"{name} is {other} in truth, whatever its name says.",
        todo="Open it where you have it from and save it as PNG, JPEG or PDF.",
        where=name,
        allowed=", ".join(PLAN_KINDS),
    )


def _no_kind(name: str, purpose: Purpose) -> Advice:
    if purpose == "plan":
        return Advice(
            what="Plans of this kind cannot be read here.",
            todo="Save the scan as PNG or JPEG, or the drawing as PDF.",
            where=name[:80],
            given=Path(name).suffix[:20] or "no ending",
            allowed=", ".join(PLAN_KINDS),
        )
    return Advice(
        what="Files of this kind cannot be read here.",
        todo="Choose a mesh of the hull, or a station table saved as CSV.",
        where=name[:80],
        given=Path(name).suffix[:20] or "no ending",
        allowed=", ".join(KINDS),
    )


_FULL: Final = Advice(
    what="Too many files have been brought in within the hour.",
    todo="Wait a while, or start the workbench again.",
)
