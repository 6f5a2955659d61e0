"""Two boats side by side in words, in the first builder's units and from her zeros."""

import math
from typing import Final, Literal, NamedTuple

from dabchick.model.units import Dimension, UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import NO_VALUE, across, length_unit, number, with_unit
from dabchick.studies.compare import CompareResult

Kind = Literal["angle", "percent", "across"] | Dimension


class Row(NamedTuple):
    """One figure of both."""

    key: str
    label: str
    one: str
    other: str
    difference: str
    """Second less first; `same` where nobody could measure it."""


SAME: Final = "same"
ROWS: Final[tuple[tuple[str, str, Kind], ...]] = (
    ("mass_kg", "Mass, tanks empty", "mass"),
    ("lift_dived_kg", "Lift dived", "mass"),
    ("displaced_m3", "Displaced, wholly under", "volume"),
    ("tank_m3", "Tanks", "volume"),
    ("tank_per_displaced_percent", "Tanks over displaced", "percent"),
    ("cg_along_m", "CG from the {x}", "length"),
    ("cg_across_m", "CG across", "across"),
    ("cg_up_m", "CG over the {z}", "length"),
    ("cb_along_m", "CB from the {x}, dived", "length"),
    ("cb_up_m", "CB over the {z}, dived", "length"),
    ("draught_bow_m", "Draught at bow mark", "length"),
    ("draught_stern_m", "Draught at stern mark", "length"),
    ("freeboard_m", "Freeboard, highest point", "length"),
    ("heel_surfaced_deg", "Heel surfaced (+ starboard)", "angle"),
    ("trim_surfaced_deg", "Trim surfaced (+ bow up)", "angle"),
    ("gm_surfaced_m", "GM surfaced", "length"),
    ("bg_surfaced_m", "BG surfaced", "length"),
    ("range_surfaced_deg", "Comes back from, surfaced", "angle"),
    ("heel_dived_deg", "Heel dived", "angle"),
    ("trim_dived_deg", "Trim dived", "angle"),
    ("gm_dived_m", "GM dived", "length"),
    ("bg_dived_m", "BG dived", "length"),
    ("least_gm_m", "Least GM on the way", "length"),
    ("least_at_percent", "Least GM at, of the way", "percent"),
)


def rows(first: Vessel, result: CompareResult) -> list[Row]:
    """Every figure of both and what it changed by."""
    found = []
    for key, label, kind in ROWS:
        values = [getattr(figures, key) for figures in (result.one.figures, result.other.figures)]
        told = [_value(value, kind, first.units) for value in values]
        found.append(
            Row(
                key,
                label.format(x=first.datum.x_from, z=first.datum.z_from),
                told[0],
                told[1],
                _difference(getattr(result.difference, key), kind, first.units),
            )
        )
    return found


def _value(value: float, kind: Kind, units: UnitSet) -> str:
    if not math.isfinite(value):
        return NO_VALUE
    if kind == "angle":
        return f"{number(value, 2 if abs(value) < 90.0 else 0)}°"
    if kind == "percent":
        return f"{number(value, 1)} %"
    if kind == "across":
        words = across(value, units)
        return words if words == "centre" else words.replace(" ", f"\u00a0{length_unit(units)[0]} ", 1)
    return with_unit(value, kind, units)


def _difference(value: float, kind: Kind, units: UnitSet) -> str:
    if not math.isfinite(value):
        return NO_VALUE
    if kind == "angle":
        text = f"{number(value, 2, plus=True)}°"
    elif kind == "percent":
        text = f"{number(value, 1, plus=True)} %"
    elif kind == "across":
        text = _value(value, kind, units)
        return SAME if text == "centre" else f"{text.replace('port', 'to port').replace('stbd', 'to stbd')}"
    else:
        text = with_unit(value, kind, units, plus=True)
    return text if any(digit in "123456789" for digit in text) else SAME


def summary(first: Vessel, result: CompareResult) -> str:
    """What matters of it in a sentence or two."""
    one, other, change = result.one, result.other, result.difference
    units = first.units
    parts = [
        _grown(change.mass_kg, "heavier", "lighter", with_unit(abs(change.mass_kg), "mass", units)),
        _grown(
            change.gm_surfaced_m,
            "more GM surfaced",
            "less GM surfaced",
            with_unit(abs(change.gm_surfaced_m), "length", units),
            before="with ",
        ),
        _grown(
            change.bg_dived_m,
            "more BG dived",
            "less BG dived",
            with_unit(abs(change.bg_dived_m), "length", units),
            before="with ",
        ),
    ]
    said = [part for part in parts if part]
    together = " and ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else said)
    text = f"Against {one.title}, {other.title} is {together}." if said else ""
    if not text:
        text = f"{one.title} and {other.title} weigh the same and stand up alike."
    weaker = change.least_gm_m
    if math.isfinite(weaker):
        least = with_unit(other.figures.least_gm_m, "length", units)
        text += f" On the way down her least GM is {least}"
        before = with_unit(one.figures.least_gm_m, "length", units)
        text += f", {before} before." if least != before else ", as before."
    return text


def _grown(change: float, more: str, less: str, amount: str, *, before: str = "") -> str:
    if not math.isfinite(change) or not any(digit in "123456789" for digit in amount):
        return ""
    return f"{before}{amount} {more if change > 0.0 else less}"
