"""The trim sheet: one page to pin over the bench, with its drawing and list of pieces as files beside it."""

import csv
import datetime
import io
import json
from importlib import resources
from pathlib import Path
from typing import Final, NamedTuple

import typst

from dabchick.model.vessel import Vessel
from dabchick.report import palette
from dabchick.report.drawing import HEIGHT_MM, drawing_svg, drawn_height
from dabchick.report.sheet_words import csv_rows, sheet_words
from dabchick.report.typesetting import Paper, fonts, paper_size, write_all
from dabchick.studies.trim_result import TrimResult

PDF_NAME: Final = "trim-sheet.pdf"
SVG_NAME: Final = "trim-drawing.svg"
CSV_NAME: Final = "trim-pieces.csv"

_MARGIN: Final = 12.0
_OTHER_SECTIONS: Final = 133.0
"""Margins, title, main figures, foot and gaps [mm], as the template sets them."""
_LEAST_DRAWING: Final = 86.0
_NOTES_ROOM: Final = 22.0
"""Least room for warnings and assumptions [mm]; what the drawing leaves over is added."""
_LINE: Final = 5.3
_MOST_MOVES: Final = 4
_MOST_LINES: Final = 12


class SheetFiles(NamedTuple):
    """Where the sheet, its drawing and its list of pieces have been written."""

    pdf: Path
    svg: Path
    csv: Path


def write_trim_sheet(
    vessel: Vessel,
    result: TrimResult,
    folder: Path,
    paper: Paper = "a4",
    date: datetime.date | None = None,
) -> SheetFiles:
    """Write `trim-sheet.pdf`, `trim-drawing.svg` and `trim-pieces.csv` into the folder, made if need be.

    The same boat, answer and date give the same bytes on every machine; without a date none is printed.
    Nothing is written before all three are made. Raises BoatError where the folder cannot be written,
    ValueError for a paper that is not known.
    """
    drawing = _drawing(vessel, result, paper)
    files = {
        PDF_NAME: _pdf(vessel, result, drawing, paper, date),
        SVG_NAME: drawing.encode("utf-8"),
        CSV_NAME: pieces_csv(vessel, result).encode("utf-8"),
    }
    write_all(folder, files, "the trim sheet")
    return SheetFiles(folder / PDF_NAME, folder / SVG_NAME, folder / CSV_NAME)


def trim_sheet_pdf(
    vessel: Vessel, result: TrimResult, paper: Paper = "a4", date: datetime.date | None = None
) -> bytes:
    """The sheet as one page of PDF."""
    return _pdf(vessel, result, _drawing(vessel, result, paper), paper, date)


def trim_sheet_svg(vessel: Vessel, result: TrimResult, paper: Paper = "a4") -> str:
    """The sheet's drawing alone, as wide as the page allows."""
    return _drawing(vessel, result, paper)


def pieces_csv(vessel: Vessel, result: TrimResult) -> str:
    """The whole list of pieces, also those for which the page has no room."""
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(csv_rows(vessel, result))
    return text.getvalue()


def _drawing(vessel: Vessel, result: TrimResult, paper: Paper) -> str:
    width, height = paper_size(paper)
    room = _room_for_drawing(result, height)
    return drawing_svg(vessel, result, width_mm=width - 2.0 * _MARGIN, height_mm=room)


def _pdf(vessel: Vessel, result: TrimResult, drawing: str, paper: Paper, date: datetime.date | None) -> bytes:
    width, height = paper_size(paper)
    words = sheet_words(vessel, result, CSV_NAME) | {
        "paper": {"width": width, "height": height},
        "date": None if date is None else [date.year, date.month, date.day],
        "notes_room": _NOTES_ROOM + max(0.0, _left_over(result, height) - drawn_height(drawing)),
        "date_words": "" if date is None else f"{date.day} {_MONTHS[date.month - 1]} {date.year}",
    }
    colours = {
        name: getattr(palette, name.upper())
        for name in ("ink", "slate", "feather", "mist", "chestnut", "lead", "reed")
    }
    return typst.compile(
        _template(),
        format="pdf",
        sys_inputs={"words": json.dumps(words), "palette": json.dumps(colours), "drawing": drawing},
        font_paths=fonts(),
        ignore_system_fonts=True,
    )


_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def _room_for_drawing(result: TrimResult, page_height: float) -> float:
    """Height of the drawing [mm]: a long list or obstacles make it smaller."""
    return max(_LEAST_DRAWING, min(HEIGHT_MM, _left_over(result, page_height)))


def _left_over(result: TrimResult, page_height: float) -> float:
    """What the other sections leave of the page [mm]."""
    lines = len(result.pieces) + min(len(result.moves), _MOST_MOVES)
    list_room = _LINE * min(lines, _MOST_LINES) + 8.0
    obstacles = 0.0 if result.feasible else 4.0 + 6.0 * min(len(result.obstacles), 4)
    return page_height - _OTHER_SECTIONS - list_room - obstacles


def _template() -> bytes:
    return resources.files("dabchick.report").joinpath("templates", "trim_sheet.typ").read_bytes()
