"""Figures for the pages: text in the builder's units beside the SI value, and a lie with all of them."""

import math

from dabchick.model.units import Dimension, UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import NO_VALUE, number, with_unit
from dabchick.report.glance_words import LABELS, angle_words, limit_words, row_sentence, sentence, state_words
from dabchick.studies.glance import Glance, GlanceFigure, Key
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure
from dabchick.workbench.pose import pose
from dabchick.workbench.shapes.figures import GlanceOut, GlanceRow, LieOut, Shown

UNKNOWN = "unknown"


def amount(value_si: float, dimension: Dimension, units: UnitSet, spread_si: float = math.nan) -> Shown:
    """A figure for people from its SI value."""
    text = with_unit(value_si, dimension, units)
    if text == NO_VALUE:
        return Shown(text=UNKNOWN, spread="", value=None)
    spread = with_unit(spread_si, dimension, units) if math.isfinite(spread_si) else ""
    return Shown(text=text, spread=spread, value=value_si)


def measured(figure: Figure, dimension: Dimension, units: UnitSet) -> Shown:
    """A study's figure for people."""
    return amount(figure.value, dimension, units, figure.spread)


def angle(figure: Figure, key: Key) -> Shown:
    """Trim or heel for people, the way in words."""
    if not math.isfinite(figure.value):
        return Shown(text=UNKNOWN, spread="", value=None)
    spread = f"{number(figure.spread, 2)}°" if math.isfinite(figure.spread) else ""
    return Shown(text=angle_words(key, figure.value), spread=spread, value=figure.value)


def lie_out(vessel: Vessel, lie: Lie) -> LieOut:
    """How she lies, for the pages."""
    units = vessel.units
    return LieOut(
        name=lie.name,
        condition=lie.condition,
        stable=lie.stable,
        draught_bow=measured(lie.draught_bow_m, "length", units),
        draught_stern=measured(lie.draught_stern_m, "length", units),
        freeboard=measured(lie.freeboard_m, "length", units),
        heel=angle(lie.heel_deg, "heel"),
        trim=angle(lie.trim_deg, "trim"),
        lift=measured(lie.lift_kg, "mass", units),
        mass=measured(lie.mass_kg, "mass", units),
        gm_transverse=measured(lie.gm_transverse_m, "length", units),
        gm_longitudinal=measured(lie.gm_longitudinal_m, "length", units),
        bg=measured(lie.bg_m, "length", units),
        displaced=amount(lie.displaced_m3, "volume", units),
        cg_m=lie.cg_m,
        cb_m=lie.cb_m,
        pose=pose(vessel, lie),
    )


def glance_out(vessel: Vessel, seen: Glance) -> GlanceOut:
    """The figures at a glance, for the pages."""
    return GlanceOut(
        state=state_words(seen),
        rows=[_row(row, vessel.units) for row in seen.rows],
        verdict=seen.verdict,
        sentence=sentence(vessel, seen),
    )


def _row(row: GlanceFigure, units: UnitSet) -> GlanceRow:
    figure = angle(row.figure, row.key) if row.kind == "angle" else measured(row.figure, row.kind, units)
    return GlanceRow(
        key=row.key,
        label=LABELS[row.key],
        figure=figure,
        limit=limit_words(row, units),
        verdict=row.verdict,
        sentence=row_sentence(row, units),
    )
