"""Draw docs/pictures/ afresh from the demo boat: the trim sheet as it comes out of the printer."""

import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image

from dabchick.cli.demo import copy_boat
from dabchick.report.trim_sheet import write_trim_sheet
from dabchick.storage.folder import open_boat
from dabchick.studies import trim

PICTURES = Path(__file__).parent / "pictures"
SCALE = 1.6
"""Pixels per point: 950 pixels across an A4 page."""


def main() -> int:
    """Write the pictures."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "wren"
        copy_boat(folder)
        vessel = open_boat(folder).vessel
        sheet = write_trim_sheet(vessel, trim.run(vessel, seconds=20.0), Path(scratch))
        with pypdfium2.PdfDocument(sheet.pdf) as document:
            picture = document[0].render(scale=SCALE).to_pil()
    picture.quantize(256, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(
        PICTURES / "trim-sheet.png", optimize=True
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
