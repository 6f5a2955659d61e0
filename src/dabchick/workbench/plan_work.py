"""Looking at pictures of plans: what runs in a process of its own, since the file may be anything."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from dabchick.storage.plan_picture import PDF_DPI, draw_pdf_page, pdf_pages, shown_picture
from dabchick.workbench.jobs import Tell

SHOWN: Final = "shown.jpg"
"""Lies beside the picture in its folder among the uploads."""


@dataclass(frozen=True)
class PlanLook:
    """A picture that was unpacked whole once, with a small one to show beside it."""

    file: Path
    pages: int
    """0 where it is no document."""
    page: int
    width: int
    height: int
    shown_width: int
    dpi: float
    """Of a drawn page."""


def look(tell: Tell, file: Path, page: int, out: Path) -> PlanLook:
    """See whether a picture is whole; of a document, draw the page into `out` first."""
    pages, dpi = 0, 0.0
    picture = file
    if file.suffix.lower() == ".pdf":
        tell("Opening the document", 0.1)
        pages = pdf_pages(file)
        tell(f"Drawing page {page} of {pages}", 0.2)
        dpi = draw_pdf_page(file, page, out)
        picture = out
    tell("Unpacking the picture", 0.5)
    shown = shown_picture(picture)
    (picture.parent / SHOWN).write_bytes(shown.jpeg)
    return PlanLook(picture, pages, page, shown.width, shown.height, shown.shown_width, dpi)


def small_picture(tell: Tell, file: Path) -> bytes:
    """The picture of a boat's folder as a page shows it."""
    tell("Unpacking the picture", 0.1)
    return shown_picture(file).jpeg


def drawn_more_coarsely(dpi: float) -> bool:
    """The page's sheet is so large that it was drawn with fewer dots than usual."""
    return 0.0 < dpi < PDF_DPI - 0.5
