"""The stability sheet: one page on the way down and up, with its drawings and tables as files beside it."""

import json
import math
from importlib import resources
from pathlib import Path
from typing import Any, Final

import typst

from dabchick.model.vessel import Vessel
from dabchick.report import palette
from dabchick.report.arm_family import arm_family_svg
from dabchick.report.builder_units import NO_VALUE, degrees, number, with_unit
from dabchick.report.dive_diagram import dive_diagram_svg
from dabchick.report.dive_strip import dive_strip_svg
from dabchick.report.stability_tables import arms_csv, stages_csv
from dabchick.report.stability_words import fills_words, has_findings, sentence
from dabchick.report.svg import plain
from dabchick.report.typesetting import Paper, fonts, paper_size, picture_png, write_all
from dabchick.studies.result import Figure
from dabchick.studies.stability_result import StabilityResult

PDF_NAME: Final = "stability-sheet.pdf"
DIAGRAM_NAME: Final = "dive-diagram"
ARMS_NAME: Final = "righting-arms"
STRIP_NAME: Final = "dive-strip"
STAGES_NAME: Final = "stability-stages.csv"
ARMS_TABLE_NAME: Final = "stability-arms.csv"
_MARGIN: Final = 12.0
_FIXED_ROOM: Final = 65.0
"""Margins, title, main figures, foot and gaps [mm], as the template sets them."""
_MOST_SENTENCE, _MOST_NOTES = 19.0, 18.0
_SHARES: Final = (0.43, 0.285, 0.285)
"""Of what is left: diagram, arms, strip."""
_CAUTION: Final = (
    "Worked out for still water and a rigid boat, drained or flooded to the water outside. Try a new trim first in "
    "shallow water with somebody at hand, and keep to the rules of the water you use."
)


def write_stability(vessel: Vessel, result: StabilityResult, folder: Path, paper: Paper = "a4") -> list[Path]:
    """Write the sheet (PDF), the three drawings (SVG and PNG) and two tables (CSV) into the folder, made if need be.

    The same boat and answer give the same bytes. Nothing is written before all are made. Raises BoatError where the
    folder cannot be written, ValueError for a paper that is not known.
    """
    drawings = {
        DIAGRAM_NAME: dive_diagram_svg(vessel, result),
        ARMS_NAME: arm_family_svg(vessel, result),
        STRIP_NAME: dive_strip_svg(vessel, result),
    }
    files = {PDF_NAME: stability_sheet_pdf(vessel, result, paper)}
    for name, drawing in drawings.items():
        files[f"{name}.svg"] = drawing.encode("utf-8")
        files[f"{name}.png"] = picture_png(drawing)
    files[STAGES_NAME] = stages_csv(vessel, result).encode("utf-8")
    files[ARMS_TABLE_NAME] = arms_csv(vessel, result).encode("utf-8")
    return write_all(folder, files, "the stability files")


def stability_sheet_pdf(vessel: Vessel, result: StabilityResult, paper: Paper = "a4") -> bytes:
    """The sheet as one page of PDF; ValueError for a paper that is not known."""
    width, height = paper_size(paper)
    inner = width - 2.0 * _MARGIN
    words = _words(vessel, result) | {"paper": {"width": width, "height": height}}
    room = height - _FIXED_ROOM - _words_room(words)
    diagram, arms, strip = (room * share for share in _SHARES)
    colours = {
        name: getattr(palette, name.upper()) for name in ("ink", "slate", "feather", "mist", "chestnut")
    }
    made: bytes = typst.compile(
        resources.files("dabchick.report").joinpath("templates", "stability_sheet.typ").read_bytes(),
        format="pdf",
        sys_inputs={
            "words": json.dumps(words),
            "palette": json.dumps(colours),
            "diagram": dive_diagram_svg(vessel, result, width_mm=inner, height_mm=diagram),
            "arms": arm_family_svg(vessel, result, width_mm=inner, height_mm=arms),
            "strip": dive_strip_svg(vessel, result, width_mm=inner, height_mm=strip, columns=4),
        },
        font_paths=fonts(),
        ignore_system_fonts=True,
    )
    return made


def _words(vessel: Vessel, result: StabilityResult) -> dict[str, Any]:
    return {
        "name": plain(vessel.name),
        "water": [
            f"Water {with_unit(vessel.water_temperature_c, 'temperature', vessel.units)}, "
            f"salt {with_unit(vessel.water_salinity_g_kg, 'salinity', vessel.units)}",
            f"Density {with_unit(result.water_density_kg_m3, 'density', vessel.units)}",
            f"From {_ends(vessel, result)}",
        ],
        "heroes": _heroes(vessel, result),
        "sentence": plain(sentence(vessel, result)),
        "findings": has_findings(result),
        "notes": _notes(vessel, result),
        "caution": _CAUTION,
        "more": "more: run dabchick stability --json",
    }


def _words_room(words: dict[str, Any]) -> float:
    """Height [mm] to keep for sentence and notes: about what they need at the size they are best read at."""
    sentence_mm = 4.4 * math.ceil(len(words["sentence"]) / 125)
    notes_mm = 6.0 + 1.9 * sum(math.ceil(len(note["text"]) / 85) + 0.4 for note in words["notes"])
    return min(_MOST_SENTENCE, sentence_mm) + min(_MOST_NOTES, notes_mm)


def _ends(vessel: Vessel, result: StabilityResult) -> str:
    """The first and the last fills of the way, the tanks' names cut where there are many."""
    first, last = (fills_words(vessel, stage.lie.fills) for stage in (result.down[0], result.down[-1]))
    text = plain(f"{first} to {last}, and back")
    return text if len(text) <= 64 else f"{len(result.path.tanks)} tanks, along the way drawn below"


def _heroes(vessel: Vessel, result: StabilityResult) -> list[dict[str, str]]:
    """The large figures: what holds her least, and how far she leans."""
    units = vessel.units
    least = result.least
    stages = (*result.down, *result.up)

    def spread(figure: Figure) -> str:
        return f"± {with_unit(figure.spread, 'length', units)}" if math.isfinite(figure.spread) else ""

    def entry(label: str, value: str, note: str) -> dict[str, str]:
        amount, _, unit = value.partition("\u00a0")
        return {"label": label, "value": amount, "unit": unit, "note": note}

    ranges = [
        reach
        for stage in result.down
        for reach in (stage.arms.range_port_deg, stage.arms.range_starboard_deg)
        if math.isfinite(reach)
    ]
    arms = [stage.arms.greatest_m for stage in result.down if math.isfinite(stage.arms.greatest_m)]
    heels = [stage.lie.heel_deg.value for stage in stages if math.isfinite(stage.lie.heel_deg.value)]
    lost = [stage.free_surface_m for stage in stages if math.isfinite(stage.free_surface_m)]
    lean = max(heels, key=abs) if heels else math.nan
    end = result.down[-1].lie
    gm, bg = least.lie.gm_transverse_m, least.lie.bg_m
    return [
        entry("Least GM", with_unit(gm.value, "length", units), spread(gm)),
        entry("BG there", with_unit(bg.value, "length", units), spread(bg)),
        entry("Least range", f"{number(min(ranges), 0)}°" if ranges else NO_VALUE, "of the arms going down"),
        entry("Least arm", with_unit(min(arms), "length", units) if arms else NO_VALUE, "greatest, weakest fill"),
        entry("Most lost", with_unit(max(lost), "length", units) if lost else NO_VALUE, "to free surfaces"),
        entry("Most heel", degrees(lean, decimals=1), "+ starboard down"),
        entry("Lift at last", with_unit(end.lift_kg.value, "mass", units),
              {"floats": "still afloat", "hangs": "wholly under", "sinks": "she sinks"}[end.condition]),
    ]  # fmt: skip


def _notes(vessel: Vessel, result: StabilityResult) -> list[dict[str, str]]:
    warnings = [
        {"kind": "warning", "text": plain(f"{entry.what} {entry.todo}".strip())} for entry in result.warnings
    ]
    own = [text for text in result.assumptions if text not in vessel.assumptions]
    assumed = [*own, *vessel.assumptions]
    return warnings + [{"kind": "assumption", "text": plain(text)} for text in assumed]
