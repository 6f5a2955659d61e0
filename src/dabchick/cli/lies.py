"""How she lies: a sentence a builder would say, and a table of one or more states side by side."""

import math
from collections.abc import Sequence

from rich.table import Table

from dabchick.cli.figures import angle, measured
from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import number, with_unit
from dabchick.studies.lie import Lie

SMALL_ANGLE_DEG = 0.05
"""Less than this nobody sees on a model."""


def sentence(vessel: Vessel, lie: Lie, under: Lie | None = None) -> str:
    """What one sees when she is put into the water; `under` is the same loading held wholly under."""
    units = vessel.units
    if under is not None and lie.condition == "floats" and lie.freeboard_m.value < 0.0:
        depth = with_unit(-lie.freeboard_m.value, "length", units)
        return (
            f"{sentence(vessel, under)} Let go, she comes up until her sail or masts stand out, with {depth} "
            "of water over the highest point of the hull."
        )
    if lie.condition == "sinks":
        excess = with_unit(-lie.lift_kg.value, "mass", units)
        return f"{vessel.name} sinks: {excess} heavier than all the water she can displace{_leaning(lie)}."
    if lie.condition == "hangs":
        lift = with_unit(lie.lift_kg.value, "mass", units)
        return (
            f"{vessel.name} hangs in the water with {lift} of lift{_leaning(lie) or ', level'}.{_upset(lie)}"
        )
    if any(share > 0.0 for share in lie.fills.values()):
        bow, stern = (
            with_unit(draught.value, "length", units) for draught in (lie.draught_bow_m, lie.draught_stern_m)
        )
        return (
            f"{vessel.name} floats with the water at {bow} on the bow mark and {stern} on the stern mark"
            f"{_leaning(lie)}.{_upset(lie)}"
        )
    bow = _off(lie.draught_bow_m.value - vessel.waterline_m, "bow", units)
    stern = _off(lie.draught_stern_m.value - vessel.waterline_m, "stern", units)
    where = f"{bow} and {stern}"
    if bow.startswith(_ON) and stern.startswith(_ON):
        where = f"{_ON}, bow and stern"
    return f"{vessel.name} floats {where}{_leaning(lie)}.{_upset(lie)}"


_ON = "on her waterline"


def table(lies: Sequence[Lie], units: UnitSet) -> Table:
    """States side by side, one row for each figure."""
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("")
    for lie in lies:
        shown.add_column(lie.name, justify="right")
    rows = (
        ("state", [lie.condition + ("" if lie.stable else ", unstable") for lie in lies]),
        ("tanks filled", [_fills(lie) for lie in lies]),
        ("draught at bow mark", [measured(lie.draught_bow_m, "length", units) for lie in lies]),
        ("draught at stern mark", [measured(lie.draught_stern_m, "length", units) for lie in lies]),
        ("freeboard, highest point", [measured(lie.freeboard_m, "length", units) for lie in lies]),
        ("trim (+ bow up)", [angle(lie.trim_deg) for lie in lies]),
        ("heel (+ starboard down)", [angle(lie.heel_deg) for lie in lies]),
        ("lift when wholly under", [measured(lie.lift_kg, "mass", units) for lie in lies]),
        ("mass with tank water", [measured(lie.mass_kg, "mass", units) for lie in lies]),
        ("displaced", [with_unit(lie.displaced_m3, "volume", units) for lie in lies]),
        ("GM across", [measured(lie.gm_transverse_m, "length", units) for lie in lies]),
        ("GM along", [measured(lie.gm_longitudinal_m, "length", units) for lie in lies]),
        ("BG", [measured(lie.bg_m, "length", units) for lie in lies]),
    )
    for name, cells in rows:
        shown.add_row(name, *cells)
    return shown


def _off(miss_m: float, mark: str, units: UnitSet) -> str:
    amount = with_unit(abs(miss_m), "length", units)
    if not any(digit in "123456789" for digit in amount):
        return f"{_ON} at the {mark}"
    return f"{amount} too {'deep' if miss_m > 0.0 else 'high'} at the {mark}"


def _leaning(lie: Lie) -> str:
    parts = []
    trim, heel = lie.trim_deg.value, lie.heel_deg.value
    if math.isfinite(trim) and abs(trim) >= SMALL_ANGLE_DEG:
        parts.append(f"{number(abs(trim), 1)} deg bow {'up' if trim > 0.0 else 'down'}")
    if math.isfinite(heel) and abs(heel) >= SMALL_ANGLE_DEG:
        parts.append(f"{number(abs(heel), 1)} deg over to {'starboard' if heel > 0.0 else 'port'}")
    return f", {' and '.join(parts)}" if parts else ""


def _upset(lie: Lie) -> str:
    return "" if lie.stable else " She does not stay like this: the least touch turns her over."


def _fills(lie: Lie) -> str:
    if not lie.fills:
        return "no tank"
    if len(set(lie.fills.values())) == 1:
        return f"{100.0 * next(iter(lie.fills.values())):.0f} %"
    return ", ".join(f"{name} {100.0 * share:.0f} %" for name, share in lie.fills.items())
