"""How she lies: a table of one or more states side by side."""

from collections.abc import Sequence

from rich.table import Table

from dabchick.model.units import UnitSet
from dabchick.report.builder_units import with_unit
from dabchick.report.figures import angle, measured
from dabchick.studies.lie import Lie


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


def _fills(lie: Lie) -> str:
    if not lie.fills:
        return "no tank"
    if len(set(lie.fills.values())) == 1:
        return f"{100.0 * next(iter(lie.fills.values())):.0f} %"
    return ", ".join(f"{name} {100.0 * share:.0f} %" for name, share in lie.fills.items())
