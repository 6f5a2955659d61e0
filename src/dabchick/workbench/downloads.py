"""Files to be saved by the browser, named after the boat."""

import re
import unicodedata
from typing import Final

from fastapi import Response

_LONGEST: Final = 60


def download(content: bytes | str, kind: str, boat_name: str, what: str, *, shown: bool = False) -> Response:
    """An answer that the browser offers to save, such as `wren-trim-sheet.pdf`; with `shown`, one that it shows."""
    name = file_name(boat_name, what)
    way = "inline" if shown else "attachment"
    return Response(content, media_type=kind, headers={"Content-Disposition": f'{way}; filename="{name}"'})


def file_name(boat_name: str, what: str) -> str:
    """A plain name that every system takes: letters, digits and hyphens, whatever the boat is called."""
    plain = unicodedata.normalize("NFKD", boat_name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST].rstrip("-")
    return f"{stem}-{what}" if stem else f"boat-{what}"
