"""Earlier versions of a boat file, in `.history/` of the boat's folder, named by when they were put by."""

import contextlib
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from dabchick.storage.atomic import write_atomic

FOLDER: Final = ".history"
MOST: Final = 50
"""So many are kept; the oldest go first."""


def keep(path: Path, content: bytes, now: datetime | None = None) -> Path:
    """Put a copy of the content by, named like `boat-20300131T120000.000000Z.toml`."""
    folder = path.parent / FOLDER
    with contextlib.suppress(OSError):  # write_atomic then says what is wrong with the folder
        folder.mkdir(exist_ok=True)
    stamp = (now or datetime.now(UTC)).strftime("%Y%m%dT%H%M%S.%fZ")
    copy = folder / f"{path.stem}-{stamp}{path.suffix}"
    write_atomic(copy, content)
    for old in versions(path)[:-MOST]:
        old.unlink()
    return copy


def versions(path: Path) -> list[Path]:
    """Copies of a file, oldest first."""
    return sorted((path.parent / FOLDER).glob(f"{path.stem}-*Z{path.suffix}"))
