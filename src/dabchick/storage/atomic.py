"""Writing a file whole or not at all, so that a crash, a full disk or a pulled plug leaves the old one."""

import contextlib
import os
import tempfile
from pathlib import Path

from dabchick.model.advice import Advice, BoatError

_TEMPORARY = ".dabchick-writing-"


def write_atomic(path: Path, content: bytes) -> None:
    """Write beside the file, flush to the disk, then put in its place in one step.

    Keeps the old file's permissions and writes through a symbolic link. Raises BoatError when it cannot be
    done; the old file is then as it was, and nothing is left beside it.
    """
    target = path.resolve()
    try:
        _replace(target, content)
    except OSError as fault:
        raise BoatError(_advice(path, fault)) from fault


def clear_leftovers(folder: Path) -> None:
    """Remove half-written files that a killed process left behind."""
    for leftover in folder.glob(f"{_TEMPORARY}*"):
        with contextlib.suppress(OSError):
            leftover.unlink()


def _replace(target: Path, content: bytes) -> None:
    mode = target.stat().st_mode & 0o7777 if target.exists() else 0o666 & ~_umask()
    handle, name = tempfile.mkstemp(prefix=_TEMPORARY, dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(mode)
        os.replace(name, target)  # noqa: PTH105 - the one call that is atomic, by its own name
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
    _flush_folder(target.parent)


def _flush_folder(folder: Path) -> None:
    """Make the new name last; where folders cannot be opened (Windows) the system does this itself."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _advice(path: Path, fault: OSError) -> Advice:
    reason = (fault.strerror or str(fault)).rstrip(".")
    return Advice(
        what=f"{path.name} could not be written: {reason}. The file is as it was before.",
        todo="See that the folder may be written to and that the disk has room, then save again.",
        where=str(path),
    )
