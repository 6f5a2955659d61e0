"""The leak study as the page shows it: words, curves in the builder's units, side views with the water inside."""

import math
from collections.abc import Sequence

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report import leak_words as words
from dabchick.report.air_words import attitude
from dabchick.report.builder_units import length_unit, with_unit
from dabchick.report.leak_drawing import LeakView
from dabchick.report.silhouettes import Loops
from dabchick.studies.leak import TOGETHER
from dabchick.studies.leak_result import LeakResult, LeakStage
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.leak import (
    LeakAlarmOut,
    LeakCurve,
    LeakMark,
    LeakOut,
    LeakTable,
    LeakViewOut,
    Ring,
)
from dabchick.workbench.words import amount

ML_M3, CUBIC_INCH_M3 = 1e-6, 0.0254**3
GRAM_KG, OUNCE_KG = 1e-3, 0.028349523125
PARTS = ("dry part", "room", "she stands", "after", "air stops it", "aft end may fill", "fore end may fill")


def leak_out(vessel: Vessel, result: LeakResult, views: Sequence[LeakView], revision: int) -> LeakOut:
    """All that the page shows of one leak."""
    units, chosen = vessel.units, result.chosen
    unit, size = ("ml", ML_M3) if units == "metric" else ("in³", CUBIC_INCH_M3)
    band = 0.5 * (chosen.room_high_m3 - chosen.room_low_m3)
    bulkheads: list[str] = []
    if chosen.name != TOGETHER:
        bulkheads.append(words.bulkhead_sentence(vessel, chosen))
    if chosen.bulkheads is not None:
        bulkheads += [words.side_sentence(vessel, side) for side in chosen.bulkheads.sides]
    return LeakOut(
        revision=revision,
        sentence=words.summary(vessel, result),
        flow=words.flow_words(result, units),
        part=result.part,
        parts=[part.name for part in result.parts],
        reserve=amount(
            chosen.reserve_m3,
            "volume",
            units,
            result.reserves[0].water_m3.spread if result.reserves else math.nan,
        ),
        lasts=words.span(chosen.after_s),
        stops=with_unit(chosen.stops_at_m3, "volume", units)
        if math.isfinite(chosen.stops_at_m3)
        else "never",
        room=amount(chosen.room_m3, "volume", units, band if band > 0.0 else math.nan),
        water=[stage.water_m3 / size for stage in result.stages],
        water_unit=unit,
        end=chosen.reserve_m3 / size,
        curves=_curves(result.stages, units),
        marks=[
            LeakMark(
                at=event.water_m3 / size,
                state=event.state,
                grave=event.kind in ("sinks", "on end", "over"),
                words=words.event_words(event, units)[2],
            )
            for event in chosen.events
        ],
        views=[_view(view, units) for view in views],
        stages=LeakTable(
            headings=list(words.stage_headings(units)),
            rows=[list(words.stage_row(stage, units)) for stage in words.fewer(result.stages)],
        ),
        events=LeakTable(
            headings=["water", "after", "what happens"],
            rows=[list(words.event_words(event, units)) for event in chosen.events],
        ),
        reserves=LeakTable(
            headings=["tanks", "lift when dry", "until it is gone", "after"],
            rows=[list(words.reserve_words(reserve, units)) for reserve in result.reserves],
        ),
        compartments=LeakTable(
            headings=list(PARTS), rows=[list(words.part_row(part, units)) for part in result.parts]
        ),
        bulkheads=bulkheads,
        alarms=[
            LeakAlarmOut(
                sentence=words.alarm_sentence(vessel, alarm),
                table=LeakTable(
                    headings=["attitude", "wet at", "after", "before the end"],
                    rows=[list(row) for row in words.alarm_rows(vessel, alarm)],
                ),
            )
            for alarm in chosen.alarms
        ],
        caution=words.CAUTION,
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=result.method,
        validity=result.validity,
        sources=list(result.sources),
    )


def _curves(stages: Sequence[LeakStage], units: UnitSet) -> list[LeakCurve]:
    mass_unit, mass = ("g", GRAM_KG) if units == "metric" else ("oz", OUNCE_KG)
    unit, length = length_unit(units)

    def floating(value: float, stage: LeakStage) -> float | None:
        return value if stage.afloat.condition == "floats" and math.isfinite(value) else None

    return [
        LeakCurve(
            label="Lift",
            unit=mass_unit,
            afloat=[stage.afloat.lift_kg.value / mass for stage in stages],
            dived=[stage.dived.lift_kg.value / mass for stage in stages],
        ),
        LeakCurve(
            label="Trim, bow up",
            unit="°",
            afloat=[floating(stage.afloat.trim_deg.value, stage) for stage in stages],
            dived=[stage.dived.trim_deg.value for stage in stages],
        ),
        LeakCurve(
            label="GM, across",
            unit=unit,
            afloat=[floating(stage.afloat.gm_transverse_m.value / length, stage) for stage in stages],
            dived=[stage.dived.gm_transverse_m.value / length for stage in stages],
        ),
    ]


def _view(view: LeakView, units: UnitSet) -> LeakViewOut:
    lie = view.stage.afloat if view.state == "afloat" else view.stage.dived
    way = attitude(round(lie.trim_deg.value, 1) + 0.0, round(lie.heel_deg.value, 1) + 0.0)
    water = with_unit(view.stage.water_m3, "volume", units)
    lift = with_unit(abs(lie.lift_kg.value), "mass", units)
    if lie.condition == "floats":
        text = f"afloat with {water} inside, {way}, {lift} of lift"
    elif lie.condition == "hangs":
        text = f"dived with {water} inside, {way}, {lift} of lift"
    elif view.state == "afloat":
        text = f"no longer coming up with {water} inside, {way}"
    else:
        text = f"sinking with {water} inside, {way}, {lift} too heavy"
    return LeakViewOut(
        state=view.state,
        water=water,
        caption=text,
        hull=_rings(view.hull),
        parts=_rings(view.parts),
        inside=_rings(view.water),
    )


def _rings(loops: Loops) -> list[Ring]:
    return [[(round(float(x), 4), round(float(z), 4)) for x, z in loop] for loop in loops]
