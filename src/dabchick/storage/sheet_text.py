"""Text from a spreadsheet or a CSV file taken apart into cells, and numbers that are written the continental way."""

import csv
import io
import re
from dataclasses import dataclass
from typing import Final

from dabchick.model.advice import Advice, BoatError

MOST_ROWS: Final = 5000
MOST_CELLS: Final = 200
_GUARDED: Final = ("=", "+", "-", "@", "\t", "\r", "'")
"""A spreadsheet takes a cell that begins with one of these for a formula; `'` before it says that it is text."""


@dataclass(frozen=True)
class Line:
    """One row of cells, and the line of the text that it begins on, from 1."""

    line: int
    cells: tuple[str, ...]


def lines_of(text: str, *, commas: bool = True) -> list[Line]:
    """Rows of cells, blank ones left out, parted by tabs, semicolons or commas: whichever gives all rows alike.

    Without `commas` a comma parts nothing: one column copied from a spreadsheet has no tabs, and its texts may
    hold commas. Raises BoatError for a quotation mark that is never closed.
    """
    text = text.removeprefix("\ufeff")
    ways = [_parted(text, mark) for mark in ("\t", ";", ",") if commas or mark != ","]
    widths = [{len(line.cells) for line in way} for way in ways]
    for way, width in zip(ways, widths, strict=True):
        if len(width) == 1 and width != {1}:
            return way
    # Rows of unequal length: the first one, most often of headings, says what parts them.
    return next((way for way in ways if way and len(way[0].cells) > 1), ways[0])


def _parted(text: str, delimiter: str) -> list[Line]:
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter != "\t"
    )
    found = []
    before = 0
    try:
        for cells in reader:
            line, before = before + 1, reader.line_num
            if any(cell.strip() for cell in cells):
                found.append(Line(line, tuple(cells)))
    except csv.Error as fault:
        raise BoatError(
            Advice(
                what="A cell of this sheet has no end.",
                todo='See whether a quotation mark (") stands open, and take it out.',
                where=f"line {before + 1}",
            )
        ) from fault
    return found


def guarded(text: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(_GUARDED) else text


def unguarded(text: str) -> str:
    """The inverse of `guarded`."""
    return text[1:] if text[:1] == "'" and text[1:].startswith(_GUARDED) else text


_AMOUNT: Final = re.compile(
    r"(?P<sign>[-+]?)(?P<digits>\d[\d.,]*|[.,]\d+)(?P<rest>\s*(?:[^\d\s].*)?)", re.DOTALL
)
_GROUPED_BY_POINTS: Final = re.compile(r"[1-9]\d{0,2}(?:\.\d{3})+")
_GROUPED_BY_COMMAS: Final = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+")


class TwoReadingsError(ValueError):
    """A number that may mean two things; `readings` are both."""

    def __init__(self, *readings: str) -> None:
        self.readings = readings
        super().__init__(" or ".join(readings))


def plain_number(text: str, *, decimal_commas: bool = False) -> str:
    """An amount with a point for its decimals, whichever way it was written; other texts as they are.

    `decimal_commas` says that other numbers of the same sheet have them, so that a point may part thousands.
    Raises TwoReadingsError on `1,500` and its like.
    """
    text = text.replace("\u00a0", " ").replace("\u202f", " ").replace("−", "-").strip()
    found = _AMOUNT.fullmatch(text)
    if found is None:
        return text
    digits = found["digits"]
    commas, points = digits.count(","), digits.count(".")
    if not commas:
        if points == 1 and decimal_commas and _GROUPED_BY_POINTS.fullmatch(digits):
            raise TwoReadingsError(*(_joined(found, way) for way in (digits, digits.replace(".", ""))))
        if points > 1 and _GROUPED_BY_POINTS.fullmatch(digits):
            return _joined(found, digits.replace(".", ""))
        return text
    whole, _, decimals = digits.rpartition(",")
    if commas == 1 and not points:
        if _GROUPED_BY_COMMAS.fullmatch(digits):
            raise TwoReadingsError(*(_joined(found, digits.replace(",", way)) for way in (".", "")))
        return _joined(found, f"{whole or '0'}.{decimals}")
    if commas == 1 and _GROUPED_BY_POINTS.fullmatch(whole):
        return _joined(found, f"{whole.replace('.', '')}.{decimals}")
    whole, point, decimals = digits.partition(".")
    if points <= 1 and _GROUPED_BY_COMMAS.fullmatch(whole):
        return _joined(found, whole.replace(",", "") + point + decimals)
    return text


def _joined(found: re.Match[str], digits: str) -> str:
    return f"{found['sign']}{digits.rstrip('.')}{found['rest']}"
