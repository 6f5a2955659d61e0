"""The size of a picture in pixels, from the first bytes of its file."""

from pathlib import Path
from typing import Final

from dabchick.storage.checked import contents

UNLIMITED: Final = (1 << 31, 1 << 31)
"""What is said of a picture of another kind, so that no point counts as beside it."""
_SIZE_MARKS: Final = {*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC}
_BARE_MARKS: Final = {0x01, *range(0xD0, 0xD9)}


def picture_size(path: Path) -> tuple[int, int]:
    """Width and height of a PNG or JPEG picture as it is stored; UNLIMITED where it is neither or is cut short.

    PNG: W3C Portable Network Graphics (2003), 11.2.2; JPEG: ITU-T T.81 (1992), B.2.2. Raises BoatError when the
    file cannot be read.
    """
    content = contents(path)
    if content[:8] == b"\x89PNG\r\n\x1a\n" and len(content) >= 24:
        return int.from_bytes(content[16:20]), int.from_bytes(content[20:24])
    return _jpeg(content) if content[:2] == b"\xff\xd8" else UNLIMITED


def _jpeg(content: bytes) -> tuple[int, int]:
    at = 2
    while at + 9 <= len(content) and content[at] == 0xFF:
        mark = content[at + 1]
        if mark in _SIZE_MARKS:
            return int.from_bytes(content[at + 7 : at + 9]), int.from_bytes(content[at + 5 : at + 7])
        at += (
            1 if mark == 0xFF else 2 if mark in _BARE_MARKS else 2 + int.from_bytes(content[at + 2 : at + 4])
        )
    return UNLIMITED
