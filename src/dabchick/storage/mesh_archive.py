"""3MF files are archives of XML: before one is unpacked it is seen that it holds no more than it should."""

import io
import zipfile
import zlib
from pathlib import Path
from typing import Final

from dabchick.model.advice import Advice, BoatError

MOST_UNPACKED: Final = 600_000_000
MOST_RATIO: Final = 120
"""Of unpacked to packed; meshes as XML come to 5 to 20 (from memory)."""
SMALL: Final = 1_000_000
"""Unpacked bytes below which the ratio does not matter."""
MOST_ENTRIES: Final = 500
_PIECE: Final = 1 << 20


def check_archive(path: Path, data: bytes) -> None:
    """Raise BoatError when a 3MF file is damaged, would unpack to far more than it is, or defines entities."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            entries = package.infolist()
            if len(entries) > MOST_ENTRIES:
                raise _refusal(path, f"The 3MF file holds {len(entries)} files.", f"up to {MOST_ENTRIES}")
            total = 0
            for entry in entries:
                total += _unpacked(package, entry, path, MOST_UNPACKED - total)
    # What a damaged or locked zip file raises, by where the damage is: NotImplementedError for a packing that is not
    # known, RuntimeError for a password.
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError) as reason:
        raise _refusal(path, f"The file is not a whole 3MF archive: {reason}.") from reason


def _unpacked(package: zipfile.ZipFile, entry: zipfile.ZipInfo, path: Path, most: int) -> int:
    """Size of an entry as it really unpacks, piece by piece: what an archive says of itself may be false."""
    size, tail = 0, b""
    is_xml = entry.filename.lower().endswith((".model", ".rels", ".xml"))
    with package.open(entry) as stream:
        while piece := stream.read(_PIECE):
            size += len(piece)
            if size > most or (size > SMALL and size > MOST_RATIO * max(entry.compress_size, 1)):
                raise _refusal(
                    path,
                    "The 3MF file would unpack to far more than a mesh is.",
                    f"up to {MOST_UNPACKED / 1e6:.0f} MB, and {MOST_RATIO} times its packed size",
                )
            if is_xml:
                # UTF-16 has a zero beside each of these letters.
                letters = (tail + piece).replace(b"\0", b"").upper()
                if b"<!DOCTYPE" in letters or b"<!ENTITY" in letters:
                    raise _refusal(path, "The 3MF file defines XML entities, which no mesh needs.")
                tail = piece[-32:]
    return size


def _refusal(path: Path, what: str, allowed: str = "") -> BoatError:
    return BoatError(
        Advice(what=what, todo="Export the hull again, as STL say.", where=path.name, allowed=allowed)
    )
