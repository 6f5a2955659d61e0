"""Hand measures as a CSV file: settings, a header that may name the unit of each column, one row for each station.

    unit, mm
    measured from, bow
    girth, whole
    calliper, 0.3 mm
    station_x, beam, height, keel, girth
    0, 0, 0, 48,
    20, 31, 33, 31, 101
    ...

A cell may have a unit of its own (`4 1/2 in`); an empty cell was not measured. `#` begins a comment. With `;` or tabs
between the cells a decimal comma is read too.
"""

import csv
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final, Literal, cast

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.hull_surface import HullSurface
from dabchick.model.measures import (
    GIRTHS,
    GirthOf,
    HandMeasures,
    MeasuredStation,
    assumed,
    faults,
    key,
    measures_of,
)
from dabchick.model.units import UnitError, parse
from dabchick.physics.loft import End, Section, lofted
from dabchick.physics.measured_fit import Fit
from dabchick.physics.measured_form import Form, sections
from dabchick.storage.mesh_size import METRES, length_advice, unit_advice
from dabchick.storage.sheet_text import unguarded
from dabchick.storage.station_table import AROUND, AXIAL

MOST_STATIONS: Final = 200
COLUMNS: Final = ("x", "beam", "height", "keel", "girth")
_WORDS: Final[dict[str, tuple[str, ...]]] = {
    "x": ("station_x", "x", "station", "place"),
    "beam": ("beam", "breadth", "width"),
    "height": ("height", "depth"),
    "keel": ("keel", "keel_height", "lowest", "lowest_point"),
    "girth": ("girth", "round"),
}
_HEADER: Final = "station_x, beam, height[, keel][, girth], each with a unit in brackets if you like"
_ENDS: Final = ("round", "pointed", "radius 6 mm")
SETTINGS: Final[dict[str, tuple[str, ...]]] = {
    "unit": tuple(METRES),
    "measured from": ("bow", "stern"),
    "girth": GIRTHS,
    "bow": _ENDS,
    "stern": _ENDS,
    "calliper": ("0.3 mm",),
    "tape": ("1 mm",),
    "ruler": ("0.5 mm",),
}
_UNIT_IN_HEADING: Final = re.compile(
    r"(?P<words>.*?)\s*(?:[(\[](?P<bracket>[^)\]]+)[)\]]|\bin (?P<behind>\S+))"
)
_PLAIN: Final = re.compile(r"[-+]?(?:\d+[ -])?(?:\d+/\d+|\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


@dataclass
class _Sheet:
    """A file as it is read; mistakes gather so that all are told at once."""

    name: str
    settings: dict[str, tuple[str, int]] = field(default_factory=dict)
    units: list[tuple[str, str]] = field(default_factory=list)
    """Column and unit of each cell of a row."""
    rows: list[tuple[list[str], int]] = field(default_factory=list)
    has_header: bool = False
    decimal_comma: bool = False
    wrong: list[Advice] = field(default_factory=list)

    def complain(
        self, what: str, todo: str, line: int = 0, *, given: str = "", allowed: str = "", key: str = ""
    ) -> None:
        where = f"{self.name}:{line}" if line else self.name
        self.wrong.append(Advice(what=what, todo=todo, where=where, key=key, given=given, allowed=allowed))


def read_measures(path: Path) -> HandMeasures:
    """The measures in a file. Raises BoatError with every mistake: line, what was given, allowed, to do."""
    if not path.is_file():
        what = "This is a folder, not a file." if path.is_dir() else "There is no such file."
        raise BoatError(Advice(what, "Check its name, and where it lies.", where=path.name))
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        raise BoatError(
            Advice(
                "The file is not plain text.", "Save it from the spreadsheet as CSV, UTF-8.", where=path.name
            )
        ) from reason
    return measures_in(text, path.name)


def measures_in(text: str, name: str) -> HandMeasures:
    """The measures in a text, as if it stood in the file `name`. Raises BoatError as `read_measures`."""
    sheet = _sheet(text, name)
    hand = _hand(sheet)
    if hand is not None and not sheet.wrong:
        sheet.wrong += faults(hand)
        sheet.wrong += _likely_size(sheet, hand)
    if hand is None or sheet.wrong:
        raise BoatError(*sheet.wrong)
    return hand


def form_of(hand: HandMeasures) -> Form:
    """The faired form of the measures."""
    fit = Fit(measures_of(hand))
    return fit.form(fit.values(fit.measures))


def read_measured_hull(path: Path) -> HullSurface:
    """The hull that hand measures describe, as a closed outward mesh in metres. Raises BoatError."""
    try:
        hand = read_measures(path)
    except BoatError as fault:
        # Keys of the measures are none of the boat file's; file and line say where.
        raise BoatError(*(replace(entry, key="") for entry in fault.advice)) from fault
    return hull_of(form_of(hand), hand)


def hull_of(form: Form, hand: HandMeasures) -> HullSurface:
    """The form drawn as a station table draws it; what was assumed goes with it."""
    drawn = sections(form)
    loft = lofted(
        drawn,
        axial=AXIAL,
        around=AROUND,
        first_end=None if form.stern_end == "flat" else form.stern_end,
        last_end=None if form.bow_end == "flat" else form.bow_end,
    )
    said = [
        f"Hand measures at {len(hand.stations)} stations, each section a superellipse, faired along the length.",
        *(f"The {name} {_ENDING[end]}." for name, end in (("stern", form.stern_end), ("bow", form.bow_end))),
        *(f"Assumed {text}." for text in assumed(hand)),
    ]
    return HullSurface(
        vertices=loft.vertices - np.array([form.stern_x, 0.0, 0.0]),
        faces=loft.faces,
        source=hand.name,
        assumptions=tuple(f"{hand.name}: {sentence}" for sentence in said),
    )


_ENDING: Final[dict[End, str]] = {
    "round": "closes round",
    "pointed": "closes to a point or an edge",
    "flat": "ends flat",
}


def stations_text(form: Form, hand: HandMeasures) -> str:
    """The form as a station table (`station_table.py`), in the unit set of the measures and from their end."""
    unit = "in" if hand.units == "inch" else "mm"
    size, digits = METRES[unit], 4 if unit == "in" else 3
    drawn = sections(form)
    far = form.stern_x + form.length
    lines = [
        f"# From the hand measures in {hand.name}: superellipses, faired along the length.",
        f"unit, {unit}",
        f"measured from, {hand.measured_from}",
    ]
    for name, end in (("bow", form.bow_end), ("stern", form.stern_end)):
        if end != "flat":
            lines.append(f"{name}, {end}")
    lines.append("station_x, height, half_breadth")

    def plain(value_m: float) -> str:
        text = f"{value_m / size:.{digits}f}".rstrip("0").rstrip(".")
        return "0" if text in ("", "-0") else text

    for section in drawn[::-1] if hand.from_bow else drawn:
        x = far - section.x if hand.from_bow else section.x - form.stern_x
        lines += [f"{plain(x)}, {height}, {breadth}" for height, breadth in _rising(section, plain)]
    return "\n".join(lines) + "\n"


def _rising(section: Section, plain: Callable[[float], str]) -> list[tuple[str, str]]:
    """Heights and half-breadths as they are written, each height once: near a tip several may round to one."""
    last = len(section.heights) - 1
    rows = [
        (plain(float(z)), plain(float(y)))
        for z, y in zip(section.heights, section.half_breadths, strict=True)
    ]
    kept: dict[str, str] = {}
    for height, breadth in rows[:-1]:
        kept.setdefault(height, breadth)
    if last >= 0:
        kept[rows[-1][0]] = rows[-1][1]
    return list(kept.items())


def measures_text(settings: Mapping[str, str], heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A file of measures from its settings, the headings of its columns and its cells, as they were typed."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([name, value] for name, value in settings.items() if value.strip())
    writer.writerow(heads)
    writer.writerows(rows)
    return out.getvalue()


@dataclass(frozen=True)
class Cells:
    """A file of measures as it was typed, for an editor."""

    settings: dict[str, str]
    rows: tuple[tuple[str, ...], ...]
    """Each with one cell for each of COLUMNS, with its unit where that is not the file's."""


def cells_of(text: str, name: str) -> Cells:
    """What stands in the cells, right or wrong. Raises BoatError only where there are no cells to be found."""
    sheet = _sheet(text, name)
    if not sheet.has_header:
        raise BoatError(*sheet.wrong)
    usual = sheet.settings.get("unit", ("", 0))[0]
    rows = []
    for cells, _ in sheet.rows:
        found = dict.fromkeys(COLUMNS, "")
        for (column, unit), cell in zip(sheet.units, cells, strict=False):
            if column:
                found[column] = f"{cell} {unit}" if unit != usual and _PLAIN.fullmatch(cell) else cell
        rows.append(tuple(found[column] for column in COLUMNS))
    return Cells({name: value for name, (value, _) in sheet.settings.items()}, tuple(rows))


def _sheet(text: str, name: str) -> _Sheet:
    sheet = _Sheet(name)
    lines = text.removeprefix("\ufeff").splitlines()
    body = [line for line in lines if line.strip() and not line.lstrip(' "').startswith("#")]
    if not body:
        sheet.complain(
            "The file holds no measures.", "Write the settings, the header and one row for each station."
        )
        return sheet
    delimiter = max(",;\t", key=lambda mark: (sum(mark in line for line in body), mark != ","))
    sheet.decimal_comma = delimiter != ","
    for number, line in enumerate(lines, start=1):
        if not line.strip() or line.lstrip(' "').startswith("#"):
            continue
        (row,) = csv.reader([line], delimiter=delimiter, skipinitialspace=delimiter != "\t")
        cells = [unguarded(cell).strip() for cell in row]
        if not any(cells):
            continue
        if sheet.has_header:
            sheet.rows.append((cells, number))
        elif cells[0].lower() in SETTINGS:
            _setting(sheet, [cell for cell in cells if cell], number)
        else:
            _header(sheet, cells, number)
    if not sheet.has_header:
        sheet.complain("The measures have no header.", "Name the columns above the numbers.", allowed=_HEADER)
    if len(sheet.rows) > MOST_STATIONS:
        sheet.complain(
            f"There are {len(sheet.rows)} stations.",
            "Bring in a station table or a mesh for a form known so well.",
            allowed=f"up to {MOST_STATIONS}",
        )
        sheet.rows = sheet.rows[:MOST_STATIONS]
    return sheet


def _setting(sheet: _Sheet, cells: list[str], line: int) -> None:
    name = cells[0].lower()
    if name in sheet.settings:
        sheet.complain(
            f"'{name}' is set twice, first in line {sheet.settings[name][1]}.",
            "Keep one of them.",
            line,
            key=name,
        )
    elif len(cells) != 2:
        sheet.complain(
            f"'{name}' takes one value.", f"Write it like `{name}, {SETTINGS[name][0]}`.", line, key=name
        )
    else:
        sheet.settings[name] = (cells[1], line)


def _header(sheet: _Sheet, cells: list[str], line: int) -> None:
    sheet.has_header = True
    usual = sheet.settings.get("unit", ("", 0))[0]
    if usual:
        wrong = unit_advice(usual, f"{sheet.name}:{sheet.settings['unit'][1]}", "unit")
        if wrong:
            sheet.wrong.append(wrong)
            usual = ""
    for cell in cells:
        found = _UNIT_IN_HEADING.fullmatch(cell)
        words, unit = (found["words"], found["bracket"] or found["behind"]) if found else (cell, usual)
        plain = re.sub(r"[\s-]+", "_", words.strip().lower())
        column = next((name for name, known in _WORDS.items() if plain in known), "")
        if cell and not column:
            sheet.complain(
                "This column is not known.", "Name it as one of these.", line, given=cell, allowed=_HEADER
            )
        elif column and any(column == other for other, _ in sheet.units):
            sheet.complain(f"There are two columns for {column}.", "Keep one of them.", line, given=cell)
        if found and unit not in METRES:
            sheet.complain(
                "The unit of this column is not known.", "Correct it.", line, given=cell, allowed=_METRES
            )
            unit = ""
        sheet.units.append((column, unit))
    for column in ("x", "beam", "height"):
        if not any(column == other for other, _ in sheet.units):
            sheet.complain(f"There is no column for {column}.", "Add it.", line, allowed=_HEADER)


_METRES: Final = ", ".join(METRES)


def _hand(sheet: _Sheet) -> HandMeasures | None:
    if not sheet.has_header:
        return None
    stations = []
    for index, (cells, line) in enumerate(sheet.rows):
        values: dict[str, float | None] = {}
        while len(cells) > len(sheet.units) and not cells[-1]:
            cells.pop()
        if len(cells) > len(sheet.units):
            sheet.complain(
                f"This row has {len(cells)} cells, but the header names {len(sheet.units)}.",
                "Take the extra cells out. Decimal commas need ; between the cells.",
                line,
                key=key(index),
            )
        for (column, unit), cell in zip(sheet.units, cells, strict=False):
            values[column] = _value(sheet, cell, unit, line, key(index, column)) if column and cell else None
        for column in ("x", "beam", "height"):
            if values.get(column) is None and not any(
                entry.key == key(index, column) for entry in sheet.wrong
            ):
                sheet.complain(
                    f"The {'place' if column == 'x' else column} of this station is missing.",
                    "Measure it, or take the station out; 0 for a beam and a height that end in a point.",
                    line,
                    key=key(index, column),
                )
        x, beam, height = (values.get(column) for column in ("x", "beam", "height"))
        if x is not None and beam is not None and height is not None:
            stations.append(
                MeasuredStation(
                    x, beam, height, values.get("keel"), values.get("girth"), f"{sheet.name}:{line}"
                )
            )
    from_end = _one_of(sheet, "measured from", must=True)
    girth = _one_of(sheet, "girth")
    spreads = {name: _spread(sheet, name) for name in ("calliper", "tape", "ruler")}
    ends = {name: _end(sheet, name) for name in ("bow", "stern")}
    if sheet.wrong:
        return None
    return HandMeasures(
        name=sheet.name,
        stations=tuple(stations),
        measured_from=cast(Literal["bow", "stern"], from_end),
        girth=cast(GirthOf | None, girth),
        calliper_m=spreads["calliper"],
        tape_m=spreads["tape"],
        ruler_m=spreads["ruler"],
        bow=ends["bow"][0],
        stern=ends["stern"][0],
        bow_radius_m=ends["bow"][1],
        stern_radius_m=ends["stern"][1],
        units="inch" if _unit(sheet) in ("in", "ft") else "metric",
    )


def _unit(sheet: _Sheet) -> str:
    return sheet.settings.get("unit", ("", 0))[0] or next((unit for _, unit in sheet.units if unit), "")


def _value(sheet: _Sheet, cell: str, unit: str, line: int, where: str) -> float | None:
    """A cell in metres; None and a complaint where it is no length."""
    text = cell.replace(",", ".") if sheet.decimal_comma and cell.count(",") == 1 else cell
    if _PLAIN.fullmatch(text) and not unit:
        sheet.complain(
            "This measure has no unit.",
            "Say `unit, mm` above the table, a unit in the heading, or one behind the number.",
            line,
            given=cell,
            allowed=_METRES,
            key=where,
        )
        return None
    try:
        return parse(f"{text} {unit}" if _PLAIN.fullmatch(text) else text, "length")
    except UnitError as fault:
        hint = (
            "Separate the cells with ; if your numbers have a decimal comma." if "," in cell else fault.todo
        )
        sheet.complain(fault.what, hint, line, given=cell, allowed=fault.allowed, key=where)
        return None


def _one_of(sheet: _Sheet, name: str, *, must: bool = False) -> str | None:
    value, line = sheet.settings.get(name, ("", 0))
    plain = " ".join(value.lower().split())
    if value and plain not in SETTINGS[name]:
        sheet.complain(
            f"'{name}' has a value that is not known.",
            f"Write `{name}, {SETTINGS[name][0]}`.",
            line,
            given=value,
            allowed=", ".join(SETTINGS[name]),
            key=name,
        )
        return None
    if must and not value:
        sheet.complain(
            f"The measures do not say '{name}': which end x counts from.",
            f"Add a line `{name}, {SETTINGS[name][0]}`.",
            allowed=", ".join(SETTINGS[name]),
            key=name,
        )
    return plain or None


def _spread(sheet: _Sheet, name: str) -> float | None:
    value, line = sheet.settings.get(name, ("", 0))
    if not value:
        return None
    found = _value(sheet, value, _unit(sheet), line, name)
    if found is not None and found <= 0.0:
        sheet.complain(
            f"The spread of the {name} is not above 0.",
            f"Write `{name}, {SETTINGS[name][0]}`: what the same measure taken again differs by.",
            line,
            given=value,
            key=name,
        )
    return found


def _end(sheet: _Sheet, name: str) -> tuple[End | None, float | None]:
    value, line = sheet.settings.get(name, ("", 0))
    if not value:
        return None, None
    words = value.lower().split(maxsplit=1)
    if words[0] == "radius" and len(words) == 2:
        return "round", _value(sheet, words[1], _unit(sheet), line, name)
    return cast(End | None, _one_of(sheet, name)), None


def _likely_size(sheet: _Sheet, hand: HandMeasures) -> list[Advice]:
    if len(hand.stations) < 2:
        return []
    unit = _unit(sheet) or "m"
    long = abs(hand.stations[-1].x_m - hand.stations[0].x_m)
    line = sheet.settings.get("unit", ("", 0))[1]
    wrong = length_advice(long / METRES[unit], unit, f"{sheet.name}:{line}" if line else sheet.name, "unit")
    return [wrong] if wrong else []
