"""One program at a time: a file opened to be added to, held against other programs until it is closed."""

import contextlib
import os
import sys
from collections.abc import Iterator
from io import FileIO
from pathlib import Path

if sys.platform == "win32":
    import msvcrt

    def _hold(handle: FileIO) -> None:
        handle.seek(0)
        msvcrt.locking(handle.fileno(), msvcrt.LK_LOCK, 1)

    def _release(handle: FileIO) -> None:
        handle.seek(0)
        msvcrt.locking(handle.fileno(), msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _hold(handle: FileIO) -> None:
        fcntl.flock(handle.fileno(), fcntl.LOCK_EX)

    def _release(handle: FileIO) -> None:
        fcntl.flock(handle.fileno(), fcntl.LOCK_UN)


@contextlib.contextmanager
def exclusive(path: Path) -> Iterator[FileIO]:
    """Open a file for reading and adding, made where it is not there. Raises OSError as opening does."""
    with path.open("a+b", buffering=0) as handle:
        # Some network folders know no locks; one program alone then still works as it should.
        with contextlib.suppress(OSError):
            _hold(handle)
        try:
            yield handle
        finally:
            with contextlib.suppress(OSError):
                _release(handle)


def add(handle: FileIO, content: bytes, lasting: bool = True) -> None:
    """Add to the end, on a line of its own; what could not be added whole is taken back. Raises OSError."""
    size = handle.seek(0, os.SEEK_END)
    if size:
        handle.seek(size - 1)
        content = content if handle.read(1) == b"\n" else b"\n" + content
        handle.seek(0, os.SEEK_END)
    try:
        while content:
            content = content[handle.write(content) :]
        if lasting:
            os.fsync(handle.fileno())
    except OSError:
        with contextlib.suppress(OSError):
            cut(handle, size)
        raise


def cut(handle: FileIO, size: int) -> None:
    """Take back what was added beyond a size. Raises OSError."""
    os.ftruncate(handle.fileno(), size)
    handle.seek(0, os.SEEK_END)
