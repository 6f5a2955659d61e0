"""The figures at a glance in words: labels, limits, what is wrong with each, and one plain sentence for all."""

import math
from typing import Final

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import number, short_with_unit, with_unit
from dabchick.report.lie_words import SMALL_ANGLE_DEG, off
from dabchick.studies.glance import Glance, GlanceFigure, Key

LABELS: Final[dict[Key, str]] = {
    "draught_bow": "Draught, bow mark",
    "draught_stern": "Draught, stern mark",
    "trim": "Trim",
    "heel": "Heel",
    "gm_transverse": "GM across",
    "lift": "Lift",
    "bg": "BG",
}
FEW: Final = 0.25
"""An end whose share of the excess is less than this is not worth a word."""
_ALONG: Final = {"metric": 0.1, "inch": 0.1016}
_ACROSS: Final = {"metric": 0.01, "inch": 0.0127}
"""Ways [m] that are easily pictured, to say a moment by: 100 mm or 4 in, 10 mm or 0.5 in."""


def state_words(seen: Glance) -> str:
    """Such as `surfaced`, `tank 40 %`, `dived`."""
    if seen.state != "as filled":
        return seen.state
    fills = seen.lie.fills
    shares = {f"{100.0 * share:.0f} %" for share in fills.values()}
    if len(shares) == 1:
        return f"{'tank' if len(fills) == 1 else 'tanks'} {shares.pop()}"
    return ", ".join(f"{name} {100.0 * share:.0f} %" for name, share in fills.items())


def angle_words(key: Key, degrees: float) -> str:
    """Trim or heel, such as `0.8° bow up`; without a way where nobody sees it."""
    if not math.isfinite(degrees):
        return "unknown"
    amount = f"{number(abs(degrees), 1)}°"
    if abs(degrees) < SMALL_ANGLE_DEG:
        return amount
    if key == "trim":
        return f"{amount} bow {'up' if degrees > 0.0 else 'down'}"
    return f"{amount} to {'starboard' if degrees > 0.0 else 'port'}"


def limit_words(row: GlanceFigure, units: UnitSet) -> str:
    """Such as `82 mm wished, within 1 mm`."""
    if row.kind == "angle":
        return f"level, within {number(row.within, 1)}°"
    if math.isnan(row.wish):
        return f"at least {short_with_unit(row.least, row.kind, units)}"
    wish, within = (short_with_unit(value, row.kind, units) for value in (row.wish, row.within))
    return f"{wish} wished, within {within}"


def row_sentence(row: GlanceFigure, units: UnitSet) -> str:
    """What is wrong and which way; empty when good."""
    if row.verdict == "good":
        return ""
    if row.verdict == "unknown":
        return "Not known as she lies."
    amount = with_unit(abs(row.miss), row.kind, units) if row.kind != "angle" else ""
    match row.key:
        case "draught_bow" | "draught_stern":
            return f"{_upper(off(row.miss, row.key.removeprefix('draught_'), units))}."
        case "trim" | "heel":
            return f"{angle_words(row.key, row.figure.value)}."
        case "gm_transverse":
            return f"{amount} too little: she is tender. Put weight lower."
        case "bg":
            return f"{amount} too little to hold her upright. Put weight lower or foam higher."
        case "lift" if row.figure.value < 0.0:
            return f"She sinks: {with_unit(-row.figure.value, 'mass', units)} too heavy."
        case "lift":
            return f"{amount} {'more' if row.miss > 0.0 else 'less'} than wished."


def sentence(vessel: Vessel, seen: Glance) -> str:
    """One plain sentence on what is wrong, and as far as it is computed, what would set it right."""
    lie, units = seen.lie, vessel.units
    if lie.condition == "sinks":
        with_what = "even with empty tanks" if seen.state == "surfaced" else "with these fills"
        excess = with_unit(-lie.lift_kg.value, "mass", units)
        return f"She sinks {with_what}: {excess} heavier than all the water she can displace."
    if seen.upside_down:
        return "Let go upright, she turns over and ends keel up: put weight lower or foam higher."
    if not lie.stable:
        return "She does not stay like this, the least touch turns her over: put weight lower or foam higher."
    wrong = (
        {row.key: row for row in seen.rows if row.verdict == seen.verdict} if seen.verdict != "good" else {}
    )
    told = {
        "surfaced": _surfaced,
        "as filled": _as_filled,
        "dived": _dived,
    }[seen.state](seen, wrong, units)
    return f"{_upper(told)}."


def _surfaced(seen: Glance, wrong: dict[Key, GlanceFigure], units: UnitSet) -> str:
    if not wrong:
        return "she floats on her waterline, level"
    misses = [off(wrong[key].miss, key.removeprefix("draught_"), units) for key in _DRAUGHTS if key in wrong]
    said = []
    if misses:
        cause = _ends(seen.too_heavy_bow_kg, seen.too_heavy_stern_kg, units)
        said.append(f"she floats {' and '.join(misses)}{cause}")
    elif "trim" in wrong:
        said.append(f"she lies {angle_words('trim', wrong['trim'].figure.value)}")
    return _joined(said + _heel(seen, wrong, units) + _stiffness(wrong, units))


_DRAUGHTS: Final[tuple[Key, Key]] = ("draught_bow", "draught_stern")


def _as_filled(seen: Glance, wrong: dict[Key, GlanceFigure], units: UnitSet) -> str:
    if not wrong:
        return "she floats level, and upright by herself"
    said = []
    if "lift" in wrong:
        said.append(f"she is {with_unit(-wrong['lift'].figure.value, 'mass', units)} too heavy to come up")
    if "trim" in wrong:
        said.append(f"she lies {angle_words('trim', wrong['trim'].figure.value)}")
    return _joined(said + _heel(seen, wrong, units) + _stiffness(wrong, units))


def _dived(seen: Glance, wrong: dict[Key, GlanceFigure], units: UnitSet) -> str:
    lift = with_unit(seen.lie.lift_kg.value, "mass", units)
    if not wrong:
        return f"she hangs level with {lift} of lift"
    said = []
    if "lift" in wrong:
        miss = wrong["lift"].miss
        way = "too light" if miss > 0.0 else "too heavy"
        said.append(f"she lifts by {lift}: {with_unit(abs(miss), 'mass', units)} {way}")
    if "trim" in wrong:
        cause = ""
        if math.isfinite(seen.too_heavy_forward_kg_m):
            moved = about(abs(seen.too_heavy_forward_kg_m) / _ALONG[units], units)
            where = "forward" if seen.too_heavy_forward_kg_m > 0.0 else "aft"
            cause = f": as if {moved} stood {short_with_unit(_ALONG[units], 'length', units)} too far {where}"
        said.append(f"she hangs {angle_words('trim', wrong['trim'].figure.value)}{cause}")
    return _joined(said + _heel(seen, wrong, units) + _stiffness(wrong, units))


def _heel(seen: Glance, wrong: dict[Key, GlanceFigure], units: UnitSet) -> list[str]:
    if "heel" not in wrong:
        return []
    cause = ""
    if math.isfinite(seen.too_heavy_starboard_kg_m):
        moved = about(abs(seen.too_heavy_starboard_kg_m) / _ACROSS[units], units)
        side = "starboard" if seen.too_heavy_starboard_kg_m > 0.0 else "port"
        cause = f": as if {moved} stood {short_with_unit(_ACROSS[units], 'length', units)} too far to {side}"
    return [f"she leans {angle_words('heel', wrong['heel'].figure.value)}{cause}"]


def _stiffness(wrong: dict[Key, GlanceFigure], units: UnitSet) -> list[str]:
    said = []
    for key, name in (("gm_transverse", "GM"), ("bg", "BG")):
        row = next((entry for known, entry in wrong.items() if known == key), None)
        if row is not None and math.isfinite(row.figure.value):
            value, least = (with_unit(entry, "length", units) for entry in (row.figure.value, row.least))
            said.append(f"her {name} is {value} where {least} is the least: put weight lower")
    return said


def _joined(said: list[str]) -> str:
    return "; ".join(said) or "not everything is known as she lies"


def _ends(bow_kg: float, stern_kg: float, units: UnitSet) -> str:
    """Where the excess sits, such as `: about 40 g too heavy aft`; nothing where it is not computed."""
    if not (math.isfinite(bow_kg) and math.isfinite(stern_kg)):
        return ""
    most = max(abs(bow_kg), abs(stern_kg))
    if bow_kg * stern_kg > 0.0 and min(abs(bow_kg), abs(stern_kg)) >= FEW * most:
        total = bow_kg + stern_kg
        said = f": about {about(abs(total), units)} too {'heavy' if total > 0.0 else 'light'} in all"
        if abs(bow_kg - stern_kg) <= FEW * most:
            return said
        return f"{said}, most of it {'forward' if abs(bow_kg) > abs(stern_kg) else 'aft'}"
    ends = [
        f"about {about(abs(kg), units)} too {'heavy' if kg > 0.0 else 'light'} {where}"
        for kg, where in ((bow_kg, "forward"), (stern_kg, "aft"))
        if abs(kg) >= FEW * most
    ]
    return f": {' and '.join(ends)}"


def about(mass_kg: float, units: UnitSet) -> str:
    """A mass to two digits, as far as a first-order figure can be trusted."""
    unit_kg = 0.001 if units == "metric" else 0.028349523125
    amount = mass_kg / unit_kg
    if amount == 0.0:
        return short_with_unit(0.0, "mass", units)
    return short_with_unit(unit_kg * round(amount, 1 - math.floor(math.log10(amount))), "mass", units)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
