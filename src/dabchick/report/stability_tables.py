"""The way down and up as tables for a spreadsheet: every stage, and every righting arm; the unit in each header."""

import csv
import io
import math
from collections.abc import Iterable

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import length_unit
from dabchick.studies.result import Figure
from dabchick.studies.stability_result import StabilityResult, Stage

Row = list[str]
_MASS_UNITS: dict[UnitSet, tuple[str, float]] = {"metric": ("g", 0.001), "inch": ("oz", 0.028349523125)}


def stages_csv(vessel: Vessel, result: StabilityResult) -> str:
    """One row for each stage, down and then up, in the builder's units; an empty field where there is no value."""
    unit, size = length_unit(vessel.units)
    mass_unit, mass_size = _MASS_UNITS[vessel.units]
    tanks = [tank.name for tank in vessel.tanks]
    measured = (
        ("draught_bow", unit), ("draught_stern", unit), ("freeboard", unit), ("heel", "deg"), ("trim", "deg"),
        ("lift", mass_unit), ("mass", mass_unit), ("gm_across", unit), ("gm_along", unit), ("bg", unit),
    )  # fmt: skip
    head = ["way", "progress_share", *(f"filled_{name}_share" for name in tanks), "state", "stable"]
    head += [f"{name}_{kind}{mark}" for name, mark in measured for kind in ("", "spread_")]
    head += [
        f"free_surface_{unit}", f"waterplane_{unit}2", "range_port_deg", "range_starboard_deg",
        f"area_port_{unit}_rad", f"area_starboard_{unit}_rad", f"greatest_arm_{unit}", "greatest_at_deg",
        "loll_deg", "settled",
    ]  # fmt: skip

    def row(stage: Stage) -> Row:
        lie, arms = stage.lie, stage.arms
        figures: tuple[tuple[Figure, float], ...] = (
            (lie.draught_bow_m, size), (lie.draught_stern_m, size), (lie.freeboard_m, size), (lie.heel_deg, 1.0),
            (lie.trim_deg, 1.0), (lie.lift_kg, mass_size), (lie.mass_kg, mass_size), (lie.gm_transverse_m, size),
            (lie.gm_longitudinal_m, size), (lie.bg_m, size),
        )  # fmt: skip
        cells = [stage.way, _cell(stage.progress), *(_cell(lie.fills[name]) for name in tanks)]
        cells += [lie.condition, "yes" if lie.stable else "no"]
        cells += [_cell(value / by) for figure, by in figures for value in (figure.value, figure.spread)]
        cells += [
            _cell(value)
            for value in (
                stage.free_surface_m / size, stage.waterplane_m2 / size**2, arms.range_port_deg,
                arms.range_starboard_deg, arms.area_port_m_rad / size, arms.area_starboard_m_rad / size,
                arms.greatest_m / size, arms.greatest_at_deg, arms.loll_deg,
            )
        ]  # fmt: skip
        return [*cells, "yes" if arms.settled else "no"]

    return _text([head, *(row(stage) for stage in (*result.down, *result.up))])


def arms_csv(vessel: Vessel, result: StabilityResult) -> str:
    """One row for each heel of each stage: the arm and the trim that she takes there."""
    unit, size = length_unit(vessel.units)
    head = ["way", "progress_share", "heel_deg", f"arm_{unit}", "trim_deg"]
    rows = (
        [stage.way, _cell(stage.progress), _cell(heel), _cell(arm / size), _cell(trim)]
        for stage in (*result.down, *result.up)
        for heel, arm, trim in zip(stage.arms.heels_deg, stage.arms.arms_m, stage.arms.trims_deg, strict=True)
    )
    return _text([head, *rows])


def _cell(value: float) -> str:
    return f"{value:.10g}" if math.isfinite(value) else ""


def _text(rows: Iterable[Row]) -> str:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()
