"""Station tables: a hull's form as a CSV file that any spreadsheet writes, lofted to a closed mesh.

Above the table stand settings, one a line; `#` begins a comment. Three tables are read, told apart by their
header. A body of revolution (`axis_height` may be left out):

    unit, mm
    measured from, bow
    station_x, diameter, axis_height
    0, 0, 45
    20, 41, 45
    90, 80, 45

Half-breadths over heights, one row for each measured point:

    unit, mm
    measured from, stern
    station_x, height, half_breadth
    0, 20, 0
    0, 31, 0
    60, 4, 0

Or heights down and stations across; an empty cell means that the station is not measured at that height:

    unit, mm
    measured from, bow
    height, 0, 120, 400, 760
    0, , 0, 14,
    20, 0, 22, 33, 0
    40, 0, 30, 41, 0

Where the breadth ends at 0 the hull closes; where it does not, it is flat there. `bow, round` or `stern,
pointed` as a setting says how a closed end is shaped; without it the end is judged from the stations next to
it. With `;` or tabs between the cells a decimal comma is read too.
"""

import csv
import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Literal, cast

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.hull_surface import HullSurface
from dabchick.physics.loft import End, Loft, Section, lofted, revolved
from dabchick.storage.mesh_size import METRES, length_advice, unit_advice

AXIAL: Final = 240
AROUND: Final = 96
"""Rings and corners on each: SUBOFF from 40 stations comes out with its volume to 2e-5, Wigley from 21
likewise.
"""

Kind = Literal["revolution", "rows", "grid"]
_HEADERS: Final[dict[tuple[str, ...], Kind]] = {
    ("station_x", "diameter"): "revolution",
    ("station_x", "diameter", "axis_height"): "revolution",
    ("station_x", "height", "half_breadth"): "rows",
}
_HEADER_FORMS: Final = (
    "station_x, diameter[, axis_height] | station_x, height, half_breadth | height, then the x of each "
    "station"
)
_SETTINGS: Final = ("unit", "measured from", "bow", "stern")


@dataclass(frozen=True)
class _Cell:
    value: float
    line: int
    column: int


@dataclass
class _Station:
    x: _Cell
    heights: list[_Cell] = field(default_factory=list)
    breadths: list[_Cell] = field(default_factory=list)


@dataclass
class _Table:
    """A table as it is read; mistakes gather in `wrong` so that all are told at once."""

    file: str
    settings: dict[str, tuple[str, int]] = field(default_factory=dict)
    header: tuple[list[str], int] | None = None
    rows: list[tuple[list[str], int]] = field(default_factory=list)
    decimal_comma: bool = False
    empty_cells: int = 0
    wrong: list[Advice] = field(default_factory=list)

    def complain(
        self, what: str, todo: str, line: int = 0, column: int = -1, given: str = "", allowed: str = ""
    ) -> None:
        where = f"{self.file}:{line}" if line else self.file
        if column >= 0:
            where += f", column {column + 1}"
        self.wrong.append(Advice(what=what, todo=todo, where=where, given=given, allowed=allowed))

    def number(self, text: str, line: int, column: int) -> _Cell | None:
        """A cell as a number; None and a complaint when it is none."""
        plain = text.replace(",", ".") if self.decimal_comma and text.count(",") == 1 else text
        try:
            value = float(plain)
        except ValueError:
            hint = "Separate the cells with ; if your numbers have a decimal comma." if "," in text else ""
            self.complain(
                "This cell is not a number.",
                hint or "Write plain numbers, without units.",
                line,
                column,
                f'"{text}"',
            )
            return None
        if not math.isfinite(value):
            self.complain(
                "This cell is not a finite number.",
                "Leave it empty if it was not measured.",
                line,
                column,
                text,
            )
            return None
        return _Cell(value, line, column)


def read_stations(path: Path) -> HullSurface:
    """The hull of a station table as a closed outward mesh in metres: x forward, y to port, z up.

    How the ends were closed, what is flat, what was empty and the resolution are listed in `assumptions`.
    Raises BoatError with every mistake: line and column, what was given, what is allowed, what to do.
    """
    table = _read(path)
    unit = table.settings.get("unit", ("", 0))[0]
    kind = _kind(table)
    loft: Loft | None = None
    said: list[str] = []
    if kind == "revolution":
        loft, said = _revolution(table)
    elif kind is not None:
        stations = _grid(table) if kind == "grid" else _rows(table)
        loft, said = _half_breadths(table, stations)
    if table.wrong or loft is None:
        raise BoatError(*table.wrong)
    ends = np.ptp(loft.vertices, axis=0)
    size = length_advice(float(ends.max()), unit, f"{path.name}:{table.settings['unit'][1]}", "")
    if size:
        raise BoatError(size)
    for name, end in (("stern", loft.first_end), ("bow", loft.last_end)):
        how = {"round": "closes round", "pointed": "closes to a point or an edge", "flat": "ends flat"}[end]
        judged = end != "flat" and name not in table.settings
        said.insert(0, f"The {name} {how}{', as the stations next to it run' if judged else ''}.")
    said.append(
        f"Between stations the form is monotone cubic, drawn as {len(loft.faces)} flat triangles; each "
        f"section was "
        f"widened by up to {loft.widening * 100.0:.2f} % so that its area is that of the smooth curve."
    )
    return HullSurface(
        vertices=loft.vertices * METRES[unit],
        faces=loft.faces,
        source=path.name,
        solid_walled=False,
        assumptions=tuple(f"{path.name}: {sentence}" for sentence in said),
    )


def _read(path: Path) -> _Table:
    table = _Table(path.name)
    if not path.is_file():
        what = "This is a folder, not a file." if path.is_dir() else "There is no such file."
        table.complain(what, "Check its name, and that it lies in the boat's folder.")
        raise BoatError(*table.wrong)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        table.complain("The file is not plain text.", "Save it from the spreadsheet as CSV, UTF-8.")
        raise BoatError(*table.wrong) from reason
    lines = text.splitlines()
    body = [line for line in lines if line.strip() and not line.lstrip(' "').startswith("#")]
    if not body:
        table.complain(
            "The file holds no table.", "Write the settings, the header and one row for each station."
        )
        raise BoatError(*table.wrong)
    delimiter = max(",;\t", key=lambda mark: (sum(mark in line for line in body), mark != ","))
    table.decimal_comma = delimiter != ","
    for number, line in enumerate(lines, start=1):
        if not line.strip() or line.lstrip(' "').startswith("#"):
            continue
        cells = [
            cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
        ]
        while cells and not cells[-1] and table.header is None:
            cells.pop()
        if not any(cells):
            continue
        if table.header is not None:
            table.rows.append((cells, number))
        elif cells[0].lower() in _SETTINGS:
            _setting(table, cells, number)
        else:
            table.header = (cells, number)
    _check_settings(table)
    return table


def _setting(table: _Table, cells: list[str], line: int) -> None:
    name = cells[0].lower()
    if name in table.settings:
        table.complain(
            f"'{name}' is set twice, first in line {table.settings[name][1]}.", "Keep one of them.", line
        )
    elif len(cells) != 2:
        table.complain(f"'{name}' takes one value.", f"Write it like `{name}, {_ALLOWED[name][0]}`.", line)
    else:
        table.settings[name] = (cells[1], line)


_ALLOWED: Final = {
    "unit": tuple(METRES),
    "measured from": ("bow", "stern"),
    "bow": ("round", "pointed"),
    "stern": ("round", "pointed"),
}


def _check_settings(table: _Table) -> None:
    unit, line = table.settings.get("unit", ("", 0))
    wrong = unit_advice(unit, f"{table.file}:{line}" if line else table.file, "")
    if wrong:
        table.wrong.append(wrong)
    if "measured from" not in table.settings:
        table.complain(
            "The table does not say where its x is measured from.", "Add a line `measured from, bow`."
        )
    for name, (value, number) in table.settings.items():
        if name != "unit" and value.lower() not in _ALLOWED[name]:
            table.complain(
                f"'{name}' has a value that is not known.",
                f"Write `{name}, {_ALLOWED[name][0]}`.",
                number,
                1,
                f'"{value}"',
                ", ".join(_ALLOWED[name]),
            )


def _kind(table: _Table) -> Kind | None:
    if table.header is None:
        table.complain("The table has no header.", "Add one above the numbers.", allowed=_HEADER_FORMS)
        return None
    cells, line = table.header
    names = tuple(name.lower().replace(" ", "_").replace("-", "_") for name in cells)
    names = ("station_x" if names[0] == "x" else names[0], *names[1:])
    kind = _HEADERS.get(names) or ("grid" if names[0] == "height" and len(names) > 1 else None)
    if kind is None:
        table.complain(
            "The header is not one that can be read.",
            "Name the columns as one of these, below the settings.",
            line,
            given=", ".join(cells),
            allowed=_HEADER_FORMS,
        )
        return None
    for row, number in table.rows:
        while len(row) > len(names) and not row[-1]:
            row.pop()
        if len(row) > len(names):
            table.complain(
                f"This row has {len(row)} cells, but the header names {len(names)}.",
                "Take the extra cells out. Decimal commas need ; between the cells.",
                number,
            )
    return kind


def _full_rows(table: _Table, width: int) -> list[list[_Cell]]:
    """Rows in which every cell must hold a number."""
    full = []
    for row, line in table.rows:
        numbers = []
        for column in range(width):
            text = row[column] if column < len(row) else ""
            if not text:
                table.complain(
                    "A cell of this row is empty.", "Fill it in, or take the row out.", line, column
                )
            else:
                cell = table.number(text, line, column)
                numbers += [cell] if cell else []
        if len(numbers) == width and len(row) <= width:
            full.append(numbers)
    return full


def _not_negative(table: _Table, cells: list[_Cell], name: str) -> None:
    for cell in cells:
        if cell.value < 0.0:
            table.complain(
                f"A {name} is below 0.",
                "Measure from the middle plane outward.",
                cell.line,
                cell.column,
                f"{cell.value:g}",
                "0 or more",
            )


def _rising(table: _Table, cells: list[_Cell], name: str, meaning: str) -> None:
    for before, cell in itertools.pairwise(cells):
        if cell.value == before.value:
            table.complain(
                f"{name} {cell.value:g} stands twice.",
                "Keep one of them, or correct its value.",
                cell.line,
                cell.column,
            )
        elif cell.value < before.value:
            table.complain(
                f"{name} {cell.value:g} comes after {before.value:g}: {meaning}",
                "Put them in rising order, or correct the value.",
                cell.line,
                cell.column,
            )


def _ends(table: _Table) -> tuple[bool, End | None, End | None]:
    """Whether x counts from the bow, and the ends asked for at the stern and the bow."""
    from_bow = table.settings.get("measured from", ("bow", 0))[0].lower() == "bow"
    asked = [table.settings[name][0].lower() if name in table.settings else None for name in ("stern", "bow")]
    return from_bow, cast(End | None, asked[0]), cast(End | None, asked[1])


def _enough(table: _Table, stations: int) -> bool:
    if stations < 2 and not table.wrong:
        table.complain(
            f"A hull needs at least two stations; the table has {stations}.",
            "Measure one at each end and some between.",
        )
    return not table.wrong


def _built(table: _Table, build: Callable[[], Loft]) -> Loft | None:
    try:
        return build()
    except ValueError as reason:
        what, _, todo = str(reason).partition(". ")
        table.complain(f"{what}.", todo or "Check the table.")
        return None


def _revolution(table: _Table) -> tuple[Loft | None, list[str]]:
    with_axis = table.header is not None and len(table.header[0]) == 3
    rows = _full_rows(table, 3 if with_axis else 2)
    _not_negative(table, [row[1] for row in rows], "diameter")
    _rising(table, [row[0] for row in rows], "Station", "the stations are out of order.")
    for row in rows[1:-1]:
        if row[1].value == 0.0:
            table.complain(
                "The diameter is 0 between the ends, so the hull falls apart there.",
                "Correct it, or take the row out.",
                row[1].line,
                1,
            )
    if not _enough(table, len(rows)):
        return None, []
    from_bow, stern, bow = _ends(table)
    if from_bow:
        rows = rows[::-1]
    x = np.array([row[0].value for row in rows]) * (-1.0 if from_bow else 1.0)
    radius = np.array([0.5 * row[1].value for row in rows])
    axis = np.array([row[2].value for row in rows]) if with_axis else None
    loft = _built(
        table,
        lambda: revolved(x, radius, axis, axial=AXIAL, around=AROUND, first_end=stern, last_end=bow),
    )
    return loft, [f"A body of revolution through {len(rows)} stations."]


def _rows(table: _Table) -> list[_Station]:
    stations: list[_Station] = []
    seen: dict[float, int] = {}
    for x, height, breadth in _full_rows(table, 3):
        if not stations or stations[-1].x.value != x.value:
            if x.value in seen:
                table.complain(
                    f"Station {x.value:g} comes again; it began in line {seen[x.value]}.",
                    "Put all rows of a station together, or correct its x.",
                    x.line,
                    0,
                )
            seen.setdefault(x.value, x.line)
            stations.append(_Station(x))
        stations[-1].heights.append(height)
        stations[-1].breadths.append(breadth)
    for station in stations:
        _rising(
            table,
            station.heights,
            f"At station {station.x.value:g}, height",
            "the outline runs back and would cross itself.",
        )
    return stations


def _grid(table: _Table) -> list[_Station]:
    names, line = table.header or ([], 0)
    columns = [table.number(name, line, k) for k, name in enumerate(names) if k > 0]
    stations = {k: _Station(cell) for k, cell in enumerate(columns, start=1) if cell is not None}
    heights = []
    for row, number in table.rows:
        height = table.number(row[0], number, 0) if row[0] else None
        if not row[0]:
            table.complain("This row has no height.", "Write it in the first cell.", number, 0)
        if height is None:
            continue
        heights.append(height)
        for column, station in stations.items():
            text = row[column] if column < len(row) else ""
            if not text:
                table.empty_cells += 1
                continue
            cell = table.number(text, number, column)
            if cell is not None:
                station.heights.append(height)
                station.breadths.append(cell)
    _rising(table, heights, "Height", "the outlines would run back and cross themselves.")
    for station in stations.values():
        if not station.breadths and not table.wrong:
            table.complain(
                f"Station {station.x.value:g} has no half-breadth at any height.",
                "Fill in its column, or take it out.",
                line,
                station.x.column,
            )
    return list(stations.values())


def _half_breadths(table: _Table, stations: list[_Station]) -> tuple[Loft | None, list[str]]:
    for station in stations:
        _not_negative(table, station.breadths, "half-breadth")
        wide = [cell.value != 0.0 for cell in station.breadths]
        for k, cell in enumerate(station.breadths[1:-1], start=1):
            if not wide[k] and any(wide):
                table.complain(
                    f"At station {station.x.value:g} the half-breadth is 0 at height "
                    f"{station.heights[k].value:g}, "
                    "between the lowest and the highest height: the hull would have no thickness there.",
                    "Leave heights empty that lie above or below the hull; give a thin fin as a part.",
                    cell.line,
                    cell.column,
                )
    for station in stations[1:-1]:
        if station.breadths and (
            len(station.breadths) < 2 or not any(cell.value > 0.0 for cell in station.breadths)
        ):
            table.complain(
                f"Station {station.x.value:g} has no area, so the hull falls apart there.",
                "Give at least two heights and a half-breadth above 0.",
                station.x.line,
                station.x.column,
            )
    _rising(table, [station.x for station in stations], "Station", "the stations are out of order.")
    if not _enough(table, len(stations)):
        return None, []
    from_bow, stern, bow = _ends(table)
    if from_bow:
        stations = stations[::-1]
    sign = -1.0 if from_bow else 1.0
    sections = [
        Section(
            sign * station.x.value,
            np.array([cell.value for cell in station.heights]),
            np.array([cell.value for cell in station.breadths]),
        )
        for station in stations
    ]
    loft = _built(table, lambda: lofted(sections, axial=AXIAL, around=AROUND, first_end=stern, last_end=bow))
    said = [f"Half-breadths through {len(stations)} stations, alike on both sides."]
    for place, index in (("bottom", 0), ("top", -1)):
        flat = [f"{s.x.value:g}" for s in stations if len(s.breadths) > 1 and s.breadths[index].value > 0.0]
        if flat:
            said.append(
                f"Flat {place}, since the half-breadth there is above 0, at stations {', '.join(flat)}."
            )
    if table.empty_cells:
        said.append(f"{table.empty_cells} empty cells were not measured; nothing was put in their place.")
    return loft, said
