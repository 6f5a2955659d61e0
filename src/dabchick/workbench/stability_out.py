"""The stability study as the page shows it: words and figures in the builder's units, and curves ready to be drawn."""

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import length_unit, number
from dabchick.report.stability_words import event_name, event_words, moment_words, sentence, told_events
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure
from dabchick.studies.stability_result import Arms, StabilityResult, Stage, Way
from dabchick.workbench.filling import filling_words
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.figures import LieOut, Shown
from dabchick.workbench.shapes.stability import (
    ArmsOut,
    BranchOut,
    EventOut,
    MomentOut,
    Panel,
    PlotLine,
    StabilityAsk,
    StabilityOut,
)
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.words import UNKNOWN, amount, lie_out

MEANS_NOTHING = 0.3
"""On her beam ends the marks stand no more across the water: under this cosine a draught is not drawn."""
SAME_LENGTH_M = 2e-4
SAME_ANGLE_DEG = 0.1
"""What nobody sees: up to this the way up counts as the way down again."""
SAME_MOMENT = 1e-9
LARGE = "large"
"""Said of a spread beyond what first order can tell, as where a rest ends and nothing holds her."""
LARGE_ANGLE_DEG = 90.0

Take = Callable[[Lie], Figure]


def place(way: Way, progress: float) -> float:
    """Place on the whole way: 0 to 1 going down, 1 to 2 coming up."""
    return progress if way == "down" else 2.0 - progress


def stability_out(vessel: Vessel, result: StabilityResult, ask: StabilityAsk, revision: int) -> StabilityOut:
    """All that the page shows of one way down and up."""
    unit, unit_m = length_unit(vessel.units)
    moments, least = _moments(vessel, result)
    first, _, more = sentence(vessel, result).partition(". ")
    return StabilityOut(
        revision=revision,
        sentence=first.removesuffix(".") + ".",
        more=more,
        filling=filling_words(vessel, ask),
        length_unit=unit,
        down=[stage.progress for stage in result.down],
        up=[stage.progress for stage in result.up],
        panels=_panels(result, unit, unit_m),
        moments=moments,
        events=[
            EventOut(
                kind=event.kind,
                way=event.way,
                progress=event.progress,
                at=place(event.way, event.progress),
                label=event_name(event),
                sentence=event_words(vessel, event),
            )
            for event in sorted(told_events(result), key=lambda event: place(event.way, event.progress))
        ],
        least=least,
        least_sentence=f"Least stable. {moment_words(vessel, result.least)}",
        branches=[
            BranchOut(
                progress=list(branch.progress),
                heel_deg=list(branch.heel_deg),
                trim_deg=list(branch.trim_deg),
                draught=_numbers(value / unit_m for value in branch.draught_m),
                stable=list(branch.stable),
            )
            for branch in result.branches
        ],
        complete=result.complete,
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=result.method,
        sources=list(result.sources),
        validity=result.validity,
    )


def _title(way: Way, progress: float) -> str:
    """Such as `45 % in, going down`; with all of it in she turns back, and there is but one way to be."""
    share = f"{number(100.0 * progress, 0)} % in"
    return share if progress == 1.0 else f"{share}, {'going down' if way == 'down' else 'coming up'}"


def _numbers(values: Iterable[float]) -> list[float | None]:
    return [float(f"{value:.6g}") if math.isfinite(value) else None for value in values]


def _moments(vessel: Vessel, result: StabilityResult) -> tuple[list[MomentOut], int]:
    """Every stage, with the least stable moment put in where it lies between two of them; and where it stands."""
    weakest = result.least
    target = place(weakest.way, weakest.progress)
    found = [
        _of_stage(vessel, stage, abs(place(stage.way, stage.progress) - target) <= SAME_MOMENT)
        for stage in (*result.down, *result.up)
    ]
    for index, moment in enumerate(found):
        if moment.least:
            return found, index
    index = sum(moment.at < target for moment in found)
    found.insert(index, _moment(vessel, weakest.way, weakest.progress, weakest.lie, least=True))
    return found, index


def _moment(vessel: Vessel, way: Way, progress: float, lie: Lie, *, least: bool) -> MomentOut:
    return MomentOut(
        way=way,
        progress=progress,
        at=place(way, progress),
        least=least,
        title=_title(way, progress),
        fills=[
            Line(label=name, figure=Shown(text=f"{number(100.0 * share, 0)} %", spread="", value=share))
            for name, share in lie.fills.items()
        ],
        lie=_lie(vessel, lie),
        free_surface=None,
        waterplane=None,
        under_gm=None,
        arms=None,
    )


def _lie(vessel: Vessel, lie: Lie) -> LieOut:
    """How she lies; a spread that is longer than the boat, or more than a quarter of a turn, is called large."""
    out = lie_out(vessel, lie)
    spreads = {
        "draught_bow": (lie.draught_bow_m, vessel.length_m),
        "draught_stern": (lie.draught_stern_m, vessel.length_m),
        "freeboard": (lie.freeboard_m, vessel.length_m),
        "heel": (lie.heel_deg, LARGE_ANGLE_DEG),
        "trim": (lie.trim_deg, LARGE_ANGLE_DEG),
    }
    shown: dict[str, Shown] = {key: getattr(out, key) for key in spreads}
    return out.model_copy(
        update={
            key: shown[key].model_copy(update={"spread": LARGE})
            for key, (figure, most) in spreads.items()
            if figure.spread > most and shown[key].value is not None
        }
    )


def _of_stage(vessel: Vessel, stage: Stage, least: bool) -> MomentOut:
    units = vessel.units
    under = stage.under.gm_transverse_m
    return _moment(vessel, stage.way, stage.progress, stage.lie, least=least).model_copy(
        update={
            "free_surface": amount(stage.free_surface_m, "length", units),
            "waterplane": amount(stage.waterplane_m2, "area", units),
            "under_gm": amount(under.value, "length", units, under.spread),
            "arms": _arms(vessel, stage.arms),
        }
    )


def _arms(vessel: Vessel, arms: Arms) -> ArmsOut:
    unit, unit_m = length_unit(vessel.units)

    def area(value: float) -> Shown:
        if not math.isfinite(value):
            return Shown(text=UNKNOWN, spread="", value=None)
        return Shown(text=f"{number(value / unit_m, 2)}\u00a0{unit}·rad", spread="", value=value)

    return ArmsOut(
        heels_deg=list(arms.heels_deg),
        arms=_numbers(value / unit_m for value in arms.arms_m),
        range_starboard=_degrees(arms.range_starboard_deg),
        range_port=_degrees(arms.range_port_deg),
        area_starboard=area(arms.area_starboard_m_rad),
        area_port=area(arms.area_port_m_rad),
        greatest=amount(arms.greatest_m, "length", vessel.units),
        greatest_at=_degrees(arms.greatest_at_deg),
        loll=_degrees(arms.loll_deg),
        settled=arms.settled,
    )


def _degrees(value: float) -> Shown:
    if not math.isfinite(value):
        return Shown(text=UNKNOWN, spread="", value=None)
    return Shown(text=f"{number(value, 1)}°", spread="", value=value)


def _panels(result: StabilityResult, unit: str, unit_m: float) -> list[Panel]:
    def of_marks(figure: Take) -> Take:
        def taken(lie: Lie) -> Figure:
            return figure(lie) if lie.normal[2] > MEANS_NOTHING else Figure(math.nan, math.nan)

        return taken

    def length(key: str, label: str, figure: Take) -> PlotLine:
        return _line(result, key, label, figure, unit_m, SAME_LENGTH_M)

    def angle(key: str, label: str, figure: Take) -> PlotLine:
        return _line(result, key, label, figure, 1.0, SAME_ANGLE_DEG)

    return [
        Panel(
            key="draught",
            title="Draught",
            unit=unit,
            lines=[
                length("draught_bow", "bow", of_marks(lambda lie: lie.draught_bow_m)),
                length("draught_stern", "stern", of_marks(lambda lie: lie.draught_stern_m)),
            ],
        ),
        Panel(
            key="angle",
            title="Trim and heel",
            unit="°",
            lines=[
                angle("trim", "trim", lambda lie: lie.trim_deg),
                angle("heel", "heel", lambda lie: lie.heel_deg),
            ],
        ),
        Panel(
            key="gm",
            title="GM and BG",
            unit=unit,
            lines=[
                length("gm", "GM", lambda lie: lie.gm_transverse_m),
                length("bg", "BG", lambda lie: lie.bg_m),
            ],
        ),
    ]


def _line(result: StabilityResult, key: str, label: str, figure: Take, unit: float, same: float) -> PlotLine:
    def drawn(stages: Sequence[Stage]) -> tuple[list[float], list[float]]:
        figures = [figure(stage.lie) for stage in stages]
        return [one.value for one in figures], [one.spread for one in figures]

    down, down_spread = drawn(result.down)
    up, up_spread = drawn(result.up)
    before = np.interp(
        [stage.progress for stage in result.up], [stage.progress for stage in result.down], down
    )
    known = [math.isfinite(one) and math.isfinite(other) for one, other in zip(before, up, strict=True)]
    apart = [
        abs(one - other) > same if both else math.isfinite(one) != math.isfinite(other)
        for one, other, both in zip(before, up, known, strict=True)
    ]
    return PlotLine(
        key=key,
        label=label,
        down=_numbers(value / unit for value in down),
        down_spread=_numbers(value / unit for value in down_spread),
        up=_numbers(value / unit for value in up),
        up_spread=_numbers(value / unit for value in up_spread),
        differs=[bool(one) for one in apart],
    )
