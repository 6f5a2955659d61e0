"""Pictures of plans as pages show them, kept in memory for a while, since a large scan takes seconds to unpack."""

from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from threading import Lock
from typing import Final

KEPT_PICTURES: Final = 12


class SmallPictures:
    """Pictures as shown, the newest few, so that a large scan is unpacked once."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._kept: OrderedDict[tuple[str, str], bytes] = OrderedDict()

    def get(self, file: Path, make: Callable[[], bytes]) -> bytes:
        """The picture as kept, or made now."""
        name = (str(file), picture_mark(file))
        with self._lock:
            found = self._kept.get(name)
            if found is not None:
                self._kept.move_to_end(name)
                return found
        made = make()
        self.put(file, made)
        return made

    def put(self, file: Path, content: bytes) -> None:
        """Keep a picture that was made elsewhere."""
        with self._lock:
            self._kept[(str(file), picture_mark(file))] = content
            while len(self._kept) > KEPT_PICTURES:
                self._kept.popitem(last=False)


def picture_mark(file: Path) -> str:
    """Changes when the file does."""
    try:
        facts = file.stat()
    except OSError:
        return ""  # gone; whoever reads it is told so
    return f"{facts.st_size:x}-{facts.st_mtime_ns:x}"
