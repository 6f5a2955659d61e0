"""Pictures of plans: PNG, JPEG, or a page of a PDF. Sizes are known from the header before anything is unpacked.

Points of a trace count in the pixels of the whole picture as it is seen, that is, after the turn that a camera has
noted in the file (EXIF orientation). Nothing on disk is made smaller; only what is shown is.
"""

import io
import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from dabchick.model.advice import Advice, BoatError

if TYPE_CHECKING:
    from PIL import Image as Pictures
    from pypdfium2 import PdfDocument

PICTURE_ENDINGS: Final = (".png", ".jpg", ".jpeg")
MOST_PIXELS: Final = 100_000_000
"""A sheet of A1 at 300 dots per inch has 70 million."""
LEAST_SIDE: Final = 32
SHOWN_SIDE: Final = 3000
"""The longer side of what a page shows; more than any screen has across."""
PDF_DPI: Final = 200.0
"""0.13 mm a pixel, about the width of a plan's thin line."""
MOST_PDF_PAGES: Final = 2000
_POINTS_PER_INCH: Final = 72.0
_ORIENTATION: Final = 0x0112
_ON_ITS_SIDE: Final = (5, 6, 7, 8)
_QUALITY: Final = 88


@dataclass(frozen=True)
class ShownPicture:
    """A picture as a page shows it, beside the size of the whole one."""

    width: int
    """Of the whole picture on disk [pixels], upright."""
    height: int
    jpeg: bytes
    """The picture itself, no side longer than `SHOWN_SIDE`."""
    shown_width: int
    shown_height: int


def picture_size(file: Path) -> tuple[int, int]:
    """Width and height of a picture as it is seen [pixels], read from its header alone. Raises BoatError."""
    with _opened(file) as picture:
        return _upright_size(picture)


def shown_picture(file: Path) -> ShownPicture:
    """Unpack the whole picture once, which proves it whole, and make the smaller one to show. Raises BoatError."""
    from PIL import Image

    turns = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }
    with _opened(file) as picture:
        size, turn = _upright_size(picture), turns.get(_orientation(picture))
        try:
            picture.load()
        except (OSError, SyntaxError, ValueError, struct.error, zlib.error, EOFError, IndexError) as fault:
            raise _damaged(file) from fault
        small = _plain(picture)
        small.thumbnail((SHOWN_SIDE, SHOWN_SIDE), reducing_gap=3.0)
        if turn is not None:
            small = small.transpose(turn)
        content = io.BytesIO()
        small.save(content, "JPEG", quality=_QUALITY)
        return ShownPicture(*size, content.getvalue(), *small.size)


def pdf_pages(file: Path) -> int:
    """How many pages a PDF has. Raises BoatError where it cannot be read."""
    with _document(file) as document:
        return len(document)


def draw_pdf_page(file: Path, page: int, out: Path) -> float:
    """Draw one page, counted from 1, as a PNG; the dots per inch it was drawn with. Raises BoatError.

    A sheet so large that it would have too many pixels is drawn more coarsely.
    """
    import pypdfium2

    with _document(file) as document:
        count = len(document)
        if not 1 <= page <= count:
            raise BoatError(
                Advice(
                    what=f"The document has no page {page}.",
                    todo="Choose one of its pages.",
                    where=file.name,
                    key="page",
                    given=str(page),
                    allowed=f"1 to {count}",
                )
            )
        try:
            sheet = document[page - 1]
            width, height = sheet.get_size()
            dpi = _dpi(file, width, height)
            drawn = sheet.render(scale=dpi / _POINTS_PER_INCH, fill_color=(255, 255, 255, 255))
            drawn.to_pil().convert("RGB").save(out, "PNG", dpi=(dpi, dpi), compress_level=4)
        except pypdfium2.PdfiumError as fault:
            raise _damaged(file) from fault
        return dpi


def _dpi(file: Path, width: float, height: float) -> float:
    """Dots per inch for a sheet of this size [points]."""
    inches = (width / _POINTS_PER_INCH) * (height / _POINTS_PER_INCH)
    if not inches > 0.0:
        raise _damaged(file)
    return float(min(PDF_DPI, (0.98 * MOST_PIXELS / inches) ** 0.5))


@contextmanager
def _opened(file: Path) -> Iterator["Pictures.Image"]:
    """The picture with its header read and its size found bearable."""
    from PIL import Image, UnidentifiedImageError

    # The limit is ours, told in our words; Pillow's own would only warn.
    Image.MAX_IMAGE_PIXELS = None
    try:
        opened = Image.open(file, formats=("PNG", "JPEG"))
    except FileNotFoundError as fault:
        raise BoatError(
            Advice(
                what=f"The picture {file.name} is not in the boat's folder.",
                todo="Put it there, or correct the name.",
                where=file.name,
            )
        ) from fault
    except (
        UnidentifiedImageError,
        OSError,
        SyntaxError,
        ValueError,
        struct.error,
        zlib.error,
        EOFError,
    ) as fault:
        raise _damaged(file) from fault
    with opened as picture:
        _bearable(file, *picture.size)
        yield picture


def _bearable(file: Path, width: int, height: int) -> None:
    """Raises BoatError for a picture with too many pixels, or too few to trace on."""
    if width * height > MOST_PIXELS:
        coarser = int((MOST_PIXELS / (width * height)) ** 0.5 * 100)
        raise BoatError(
            Advice(
                what="The picture has more pixels than can be shown.",
                todo="Scan the sheet more coarsely (150 dots per inch are enough for a hull), save the picture at "
                f"{coarser} % of its size, or cut out the views that you trace.",
                where=file.name,
                given=f"{width} × {height}, {width * height / 1e6:.0f} million",
                allowed=f"up to {MOST_PIXELS / 1e6:.0f} million pixels",
            )
        )
    if min(width, height) < LEAST_SIDE:
        raise BoatError(
            Advice(
                what="The picture is too small to trace on.",
                todo="Scan the plan with at least 100 dots per inch.",
                where=file.name,
                given=f"{width} × {height} pixels",
                allowed=f"from {LEAST_SIDE} pixels each way",
            )
        )


def _upright_size(picture: "Pictures.Image") -> tuple[int, int]:
    width, height = picture.size
    return (height, width) if _orientation(picture) in _ON_ITS_SIDE else (width, height)


def _orientation(picture: "Pictures.Image") -> int:
    """How the camera was held; 1 for upright, also where what it noted cannot be read.

    A PNG may note it behind the picture itself, where it would have to be unpacked first; that is not looked for.
    """
    if picture.format == "PNG" and "exif" not in picture.info:
        return 1
    try:
        found = picture.getexif().get(_ORIENTATION, 1)
    except (SyntaxError, ValueError, KeyError, TypeError, struct.error, OSError):
        return 1  # a broken note says nothing; the picture itself is read on its own
    return found if isinstance(found, int) else 1


def _plain(picture: "Pictures.Image") -> "Pictures.Image":
    """Grey or colour, on white where it can be seen through."""
    from PIL import Image

    if picture.mode.startswith("I") or picture.mode == "F":
        # 16 bits of grey; the upper 8 are what a screen shows
        plain = picture.convert("I").point(lambda value: value / 256).convert("L")
    elif picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        seen = picture.convert("RGBA")
        plain = Image.new("RGB", seen.size, "white")
        plain.paste(seen, mask=seen.getchannel("A"))
    else:
        plain = picture.convert("L" if picture.mode in ("1", "L") else "RGB")
    return plain


@contextmanager
def _document(file: Path) -> Iterator["PdfDocument"]:
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(file)
    except pypdfium2.PdfiumError as fault:
        if "password" in str(fault).lower():
            raise BoatError(
                Advice(
                    what="The document is locked with a password.",
                    todo="Save it anew without one, or print the page into a picture.",
                    where=file.name,
                )
            ) from fault
        raise _damaged(file) from fault
    try:
        if not 1 <= len(document) <= MOST_PDF_PAGES:
            raise BoatError(
                Advice(
                    what="The document has no pages."
                    if len(document) < 1
                    else "The document has too many pages.",
                    todo="Save the page of the plan as a document of its own.",
                    where=file.name,
                    given=f"{len(document)} pages",
                    allowed=f"1 to {MOST_PDF_PAGES} pages",
                )
            )
        yield document
    finally:
        document.close()


def _damaged(file: Path) -> BoatError:
    return BoatError(
        Advice(
            what=f"{file.name} is damaged or not whole.",
            todo="Scan or save it anew and bring it in again; if it opens elsewhere, save it there as PNG.",
            where=file.name,
        )
    )
