"""Results as the builder reads them: values with their spread, in the builder's units."""

import math

from dabchick.model.units import Dimension, UnitSet
from dabchick.report.builder_units import NO_VALUE, number, with_unit
from dabchick.studies.result import Figure


def measured(value: Figure, dimension: Dimension, units: UnitSet) -> str:
    """Value, spread and unit, such as `78.1 ± 0.9 mm`."""
    shown = with_unit(value.value, dimension, units)
    if shown == NO_VALUE or not math.isfinite(value.spread):
        return shown
    amount, _, unit = shown.rpartition("\u00a0")
    spread, _, spread_unit = with_unit(value.spread, dimension, units).rpartition("\u00a0")
    if spread_unit == unit:
        return f"{amount} ± {spread} {unit}"
    return f"{amount} {unit} ± {spread} {spread_unit}"


def angle(value: Figure) -> str:
    """Degrees with sign and spread, such as `-0.21 ± 0.05 deg`."""
    if not math.isfinite(value.value):
        return NO_VALUE
    spread = f" ± {number(value.spread, 2)}" if math.isfinite(value.spread) else ""
    return f"{number(value.value, 2, plus=True)}{spread} deg"
