"""The heel study as the page shows it: words in the builder's units, curves as numbers."""

import math

from dabchick.model.units import parse
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import number, with_unit
from dabchick.report.heel_words import cause_row, lever_words, state_rows, state_title, summary
from dabchick.studies.heel_result import Caused, HeelResult, HeelState
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.heel import HeelCauseOut, HeelOut, HeelStateOut
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.words import UNKNOWN


def heel_out(vessel: Vessel, result: HeelResult, revision: int) -> HeelOut:
    """All that the page shows."""
    _, _, unit = with_unit(0.001, "torque", vessel.units).partition("\u00a0")
    over = any(math.isnan(entry.likely.heel_deg) for state in result.states for entry in state.caused)
    tens = [
        state.per_10g_moved_10mm_deg for state in result.states if math.isfinite(state.per_10g_moved_10mm_deg)
    ]
    return HeelOut(
        revision=revision,
        sentence=summary(vessel, result),
        verdict_bad=over or any(not state.holds for state in result.states),
        states=[_state(vessel, result, state) for state in result.states],
        moment_unit=unit,
        moment_unit_n_m=parse(f"1 {unit}", "torque"),
        ten=Shown(text=f"{number(max(tens), 2)}°", spread="", value=max(tens))
        if tens
        else Shown(text=UNKNOWN, spread="", value=None),
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=f"{result.method}. Holds for {result.validity}.",
        sources=list(result.sources),
    )


def _state(vessel: Vessel, result: HeelResult, state: HeelState) -> HeelStateOut:
    title = state_title(state)
    notes = dict.fromkeys(lever_words(entry, vessel.units) for entry in state.caused)
    return HeelStateOut(
        title=title[0].upper() + title[1:],
        holds=state.holds,
        rest_deg=state.lie.heel_deg.value,
        figures=[
            Line(label=label, figure=Shown(text=text, spread="", value=None))
            for label, text in state_rows(state, vessel.units)
        ],
        causes=[_cause(vessel, result, entry) for entry in state.caused],
        notes=[words[0].upper() + words[1:] + "." for words in notes if words],
        heels_deg=list(state.heels_deg),
        arms_n_m=list(state.arms_n_m),
    )


def _cause(vessel: Vessel, result: HeelResult, entry: Caused) -> HeelCauseOut:
    row = cause_row(vessel, result, entry)
    heel, swings = entry.likely.heel_deg, entry.likely.swings_deg
    return HeelCauseOut(
        name=row.cause,
        over=math.isnan(heel),
        moment=row.moment,
        rests=row.rests,
        band=row.band,
        swings=row.swings,
        bears=row.bears,
        heel_deg=None if math.isnan(heel) else heel,
        swings_deg=None if math.isnan(swings) else swings,
        line_n_m=list(entry.line_n_m),
    )
