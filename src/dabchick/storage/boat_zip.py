"""A boat's folder as one zip file, out and in; what comes in is not trusted."""

import io
import shutil
import stat
import tempfile
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import IO, Final

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.folder import FILE

MOST_FILES: Final = 500
MOST_BYTES: Final = 400_000_000
"""All files of a boat, unpacked."""
_MOST_RATIO: Final = 200
"""Meshes as text pack 5 to 20 times; what packs better than this and is large is no boat."""
_RATIO_FROM: Final = 5_000_000
_DEEPEST: Final = 6
_LONGEST: Final = 150
_STEP: Final = 1 << 20
_UNPACKING: Final = ".dabchick-unpacking-"
_FORBIDDEN: Final = frozenset('<>:"|?*\\')


def pack(folder: Path) -> bytes:
    """The whole folder, without hidden files, under the folder's own name. Raises BoatError when it is too large."""
    found = io.BytesIO()
    size = 0
    with zipfile.ZipFile(found, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in sorted(folder.rglob("*")):
            inner = file.relative_to(folder)
            if any(step.startswith(".") for step in inner.parts) or file.is_symlink() or not file.is_file():
                continue
            if not file.resolve().is_relative_to(folder.resolve()):
                continue
            size += file.stat().st_size
            if size > MOST_BYTES:
                raise _refused(
                    "The boat's folder is too large for one file.",
                    f"Take out what is no part of her ({inner}).",
                )
            archive.write(file, f"{folder.name}/{inner.as_posix()}")
    return found.getvalue()


def unpack(packed: IO[bytes], shelf: Path) -> Path:
    """Unpack a boat into a new hidden folder of the shelf; the caller gives it its name, or removes it.

    Raises BoatError, with nothing left behind, for anything that is not plainly a boat's folder.
    """
    try:
        with zipfile.ZipFile(packed) as archive:
            files = _checked(archive)
            try:
                folder = Path(tempfile.mkdtemp(prefix=_UNPACKING, dir=shelf))
            except OSError as fault:
                raise _unwritable(fault) from fault
            try:
                _write(archive, files, folder)
                folder.chmod(0o755)
            except BaseException:
                shutil.rmtree(folder, ignore_errors=True)
                raise
            return folder
    except OSError as fault:
        raise _unwritable(fault) from fault
    # What a damaged or locked zip file raises, by where the damage is: NotImplementedError for a packing that is not
    # known, RuntimeError for a password, ValueError for a place outside the file.
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError, RuntimeError) as fault:
        raise _refused("The file is not a whole zip file.", "Make it anew and bring it in again.") from fault


def clear_unpacked(shelf: Path) -> None:
    """Remove what a killed process was unpacking."""
    for folder in shelf.glob(f"{_UNPACKING}*"):
        shutil.rmtree(folder, ignore_errors=True)


def _checked(archive: zipfile.ZipFile) -> dict[str, PurePosixPath]:
    """Each file's name in the archive, with its place in the boat's folder."""
    entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if len(entries) > MOST_FILES:
        raise _refused("The zip file holds too many files.", f"A boat has at most {MOST_FILES}.")
    if sum(entry.file_size for entry in entries) > MOST_BYTES:
        raise _refused(
            "The zip file is too large when unpacked.", f"A boat has at most {MOST_BYTES // 1_000_000} MB."
        )
    inner: dict[str, PurePosixPath] = {}
    for entry in entries:
        _plain(entry)
        path = PurePosixPath(entry.filename)
        if not any(step.startswith(".") or step == "__MACOSX" for step in path.parts):
            inner[entry.filename] = path
    top = {path.parts[0] for path in inner.values()}
    if PurePosixPath(FILE) not in inner.values() and len(top) == 1:
        inner = {name: PurePosixPath(*path.parts[1:]) for name, path in inner.items() if len(path.parts) > 1}
    if PurePosixPath(FILE) not in inner.values():
        raise _refused(f"There is no {FILE} in the zip file.", "Zip the boat's folder as a whole.")
    places = [str(path).casefold() for path in inner.values()]
    folders = {str(parent).casefold() for path in inner.values() for parent in path.parents}
    if len(set(places)) != len(places) or folders & set(places):
        raise _refused("The zip file holds two files of one name.", "Make it anew and bring it in again.")
    return inner


def _plain(entry: zipfile.ZipInfo) -> None:
    """Refuse what is no plain file in the boat's folder, and what grows beyond reason."""
    name, mode = entry.filename, entry.external_attr >> 16
    path = PurePosixPath(name)
    steps = name.split("/")
    strange = (
        path.is_absolute()
        or any(step in ("", ".", "..") or step != step.rstrip(" .") for step in steps)
        or any(letter in _FORBIDDEN or ord(letter) < 32 for letter in name)
        or len(steps) > _DEEPEST
        or len(name) > _LONGEST
    )
    if strange:
        raise _refused(
            "The zip file names a place that no boat has.", "Zip the boat's folder as a whole.", name
        )
    if mode and not (stat.S_ISREG(mode) or stat.S_IFMT(mode) == 0):
        raise _refused("The zip file holds a link.", "Zip the files themselves.", name)
    if entry.flag_bits & 1:
        raise _refused("The zip file is locked with a password.", "Make it anew without one.", name)
    if entry.file_size > _RATIO_FROM and entry.file_size > _MOST_RATIO * max(entry.compress_size, 1):
        raise _refused(
            "A file in the zip file unpacks to far more than a boat's file would.", "Leave it out.", name
        )


def _write(archive: zipfile.ZipFile, files: dict[str, PurePosixPath], folder: Path) -> None:
    left = MOST_BYTES
    for name, inner in files.items():
        target = folder.joinpath(*inner.parts)
        target.parent.mkdir(parents=True, exist_ok=True)
        with archive.open(name) as source, target.open("xb") as file:
            while piece := source.read(
                _STEP
            ):  # counted as it comes: what the zip file says of itself may be untrue
                left -= len(piece)
                if left < 0:
                    raise _refused("The zip file unpacks to more than it says.", "Make it anew.", name)
                file.write(piece)


def _refused(what: str, todo: str, given: str = "") -> BoatError:
    return BoatError(Advice(what=what, todo=todo, given=given[:_LONGEST]))


def _unwritable(fault: OSError) -> BoatError:
    reason = (fault.strerror or str(fault)).rstrip(".")
    return _refused(
        f"The boat could not be unpacked: {reason}.",
        "See that the shelf may be written to and that the disk has room.",
    )
