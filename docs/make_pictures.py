"""Draw docs/pictures/ afresh from the demo boat: the trim sheet as it comes out of the printer, the dive diagram."""

import io
import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image

from dabchick.cli.demo import copy_boat
from dabchick.report.dive_diagram import dive_diagram_svg
from dabchick.report.trim_sheet import write_trim_sheet
from dabchick.report.typesetting import picture_png
from dabchick.storage.folder import open_boat
from dabchick.studies import stability, trim
from dabchick.studies.trim_apply import with_trim

PICTURES = Path(__file__).parent / "pictures"
SCALE = 1.6
"""Pixels per point: 950 pixels across an A4 page."""


PIXELS_PER_MM = 5.2
"""970 pixels across a drawing as wide as the page."""


def keep(name: str, picture: Image.Image) -> None:
    """Write a picture with few colours, so that it stays small."""
    picture.quantize(256, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(
        PICTURES / f"{name}.png", optimize=True
    )


def main() -> int:
    """Write the pictures."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "wren"
        copy_boat(folder)
        vessel = open_boat(folder).vessel
        answer = trim.run(vessel, seconds=20.0)
        sheet = write_trim_sheet(vessel, answer, Path(scratch))
        with pypdfium2.PdfDocument(sheet.pdf) as document:
            keep("trim-sheet", document[0].render(scale=SCALE).to_pil())
    trimmed = with_trim(vessel, answer.pieces, answer.moves)
    diagram = dive_diagram_svg(trimmed, stability.run(trimmed))
    keep("dive-diagram", Image.open(io.BytesIO(picture_png(diagram, PIXELS_PER_MM))).convert("RGB"))
    return 0


if __name__ == "__main__":
    sys.exit(main())
