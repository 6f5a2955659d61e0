"""Hand measures between the page's table and the study."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, cast

import numpy as np

from dabchick.model.advice import BoatError
from dabchick.model.measures import CALLIPER_M, RULER_M, TAPE_M, HandMeasures
from dabchick.model.units import UnitSet, shown
from dabchick.physics.superellipse import outline
from dabchick.report.measures_words import figures, rows, summary
from dabchick.storage.measures_file import COLUMNS, cells_of, measures_in, measures_text
from dabchick.studies.measures import MeasuresResult, run
from dabchick.workbench.jobs import Tell
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.measures import MeasuresOut, MeasuresTable, SlipOut, StationOut
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.words import measured

HEADS: Final = ("station_x", "beam", "height", "keel", "girth")
SHARES: Final = (0.0, 0.03, 0.08, 0.16, 0.28, 0.42, 0.58, 0.74, 0.88, 0.96, 1.0)
"""Where eleven stations stand well: closer and closer together towards the ends. Common practice, no source."""
USUAL: Final = {"calliper": CALLIPER_M, "tape": TAPE_M, "ruler": RULER_M}
DRAWN: Final = 121
ROUND: Final = 25


def file_text(table: MeasuresTable) -> str:
    """The table as a file of measures."""
    settings = {
        "unit": table.unit,
        "measured from": table.measured_from,
        "girth": table.girth,
        "bow": table.bow,
        "stern": table.stern,
        "calliper": table.calliper,
        "tape": table.tape,
        "ruler": table.ruler,
    }
    return measures_text(settings, HEADS, [row for row in table.rows if any(cell.strip() for cell in row)])


def hand_of(table: MeasuresTable, units: UnitSet) -> HandMeasures:
    """The measures of a table, spoken of in the boat's units. Raises BoatError with all that cannot be."""
    try:
        return replace(measures_in(file_text(table), "the table"), units=units)
    except BoatError as fault:
        # The page shows advice at its cell; the line of a file that is not written yet would say nothing.
        raise BoatError(*(replace(entry, where="") for entry in fault.advice)) from fault


def fitted(tell: Tell, hand: HandMeasures) -> MeasuresResult:
    """The study, in a process of its own."""
    tell("Fairing the measures and looking for slips", 0.2)
    return run(hand)


def table_of(text: str, name: str) -> MeasuresTable:
    """A file of measures as the page edits it. Raises BoatError where it has no cells or a unit that is not known."""
    cells = cells_of(text, name)
    said = cells.settings
    unit = said.get("unit", "mm")
    return MeasuresTable(
        unit=cast(Any, unit if unit in ("mm", "cm", "m", "in", "ft") else "mm"),
        measured_from="stern" if said.get("measured from", "bow").lower() == "stern" else "bow",
        girth=cast(Any, _girth(said.get("girth", ""))),
        bow=said.get("bow", ""),
        stern=said.get("stern", ""),
        calliper=said.get("calliper", ""),
        tape=said.get("tape", ""),
        ruler=said.get("ruler", ""),
        rows=[list(row) for row in cells.rows],
    )


def _girth(text: str) -> str:
    plain = " ".join(text.lower().split())
    return plain if plain in ("whole", "half", "half shell") else ""


def empty_table(units: UnitSet, measured_from: str, length_m: float | None) -> MeasuresTable:
    """A table with eleven places along the present hull, or bare rows where there is none."""
    unit, size = ("in", 0.0254) if units == "inch" else ("mm", 0.001)
    digits = 2 if unit == "in" else 0
    places = ["" if length_m is None else f"{share * length_m / size:.{digits}f}" for share in SHARES]
    return MeasuresTable(
        unit=cast(Any, unit),
        measured_from="stern" if measured_from == "stern" else "bow",
        girth="whole",
        rows=[[place, *[""] * (len(COLUMNS) - 1)] for place in places],
    )


def usual(units: UnitSet) -> dict[str, str]:
    """The spreads that count where none is given."""
    return {name: shown(value, "length", units) for name, value in USUAL.items()}


def present_text(content: Mapping[str, Any], folder: Path) -> tuple[str, str] | None:
    """Name and text of the file of measures that is her hull; None where she has none that can be read."""
    hull = content.get("hull")
    name = hull.get("measures") if isinstance(hull, dict) else None
    if not isinstance(name, str) or not name or "\0" in name:
        return None
    file = folder / name
    if not file.resolve().is_relative_to(folder.resolve()) or not file.is_file():
        return None
    return name, file.read_bytes().decode("utf-8-sig", "replace")


@dataclass(frozen=True)
class _Drawn:
    """The form drawn: heights count from its lowest point."""

    side: list[tuple[float, float]]
    top: list[tuple[float, float]]
    low: float
    high: float
    half: float


def measures_out(hand: HandMeasures, result: MeasuresResult) -> MeasuresOut:
    """The answer for the page."""
    drawn = _drawn(result)
    return MeasuresOut(
        sentence=summary(hand, result),
        lines=[
            Line(label=entry.label, figure=measured(entry.figure, entry.dimension, hand.units))
            for entry in figures(hand, result)
        ],
        stations=_stations(hand, result, drawn.low),
        slips=[
            SlipOut(
                row=slip.station,
                measure=slip.measure or "section",
                in_line=hand.length(slip.in_line_m),
                sentence=f"{advice.what} {advice.todo}",
            )
            for slip, advice in zip(result.slips, result.warnings, strict=False)
        ],
        side=drawn.side,
        top=drawn.top,
        length_m=result.length_m,
        high_m=drawn.high,
        half_m=drawn.half,
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=result.method,
    )


def _drawn(result: MeasuresResult) -> _Drawn:
    form = result.form
    turn = np.linspace(0.0, np.pi, DRAWN)
    half, tall, middle, _ = form.at(turn)
    x = form.x(turn) - form.stern_x
    low = float(np.min(middle - tall))
    over, under = middle + tall - low, middle - tall - low

    def ring(out: Any, back: Any) -> list[tuple[float, float]]:
        points = [*zip(x, out, strict=True), *zip(x[::-1], back[::-1], strict=True)]
        return [(round(float(a), 6), round(float(b), 6)) for a, b in points]

    return _Drawn(ring(over, under), ring(half, -half), low, float(over.max()), float(half.max()))


def _stations(hand: HandMeasures, result: MeasuresResult, low: float) -> list[StationOut]:
    found = []
    for index, (station, row) in enumerate(zip(result.stations, rows(hand, result), strict=True)):
        along = abs(hand.stations[index].x_m - hand.stations[0].x_m)
        tall, half = 0.5 * station.height_m, 0.5 * station.beam_m
        middle = station.lowest_m + tall - low
        points: list[tuple[float, float]] = []
        if np.isfinite(station.exponent):
            up, out = outline(station.exponent, ROUND)
            right = [(half * float(y), middle + tall * float(z)) for z, y in zip(up, out, strict=True)]
            points = [*right, *((-y, z) for y, z in reversed(right))]
        found.append(
            StationOut(
                label=row.x,
                beam=row.beam,
                height=row.height,
                lowest=row.lowest,
                girth=row.girth,
                exponent=row.exponent,
                x_m=result.length_m - along if hand.from_bow else along,
                low_m=middle - tall,
                high_m=middle + tall,
                half_m=half,
                outline=[(round(y, 6), round(z, 6)) for y, z in points],
            )
        )
    return found
