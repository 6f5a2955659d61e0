"""The drain study as the page shows it: words in the builder's units, curves, openings ready to be written."""

import math

from dabchick.model.keys import path_of
from dabchick.model.units import written
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import length_unit
from dabchick.report.drain_words import (
    MOMENT_HEADS,
    TIMES_HEADS,
    area,
    band_sentence,
    matters_sentence,
    moment_rows,
    remedy_sentence,
    seconds,
    slower_sentence,
    summary,
    times_rows,
)
from dabchick.studies.drain_result import Course, DrainResult, OpeningArea, Remedy
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.drain import DrainCure, DrainCurve, DrainOpening, DrainOut, DrainWay
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.words import amount

SPARE = 1.005
"""An area is written so much larger, so that its rounding never goes below the one that was followed."""


def drain_out(vessel: Vessel, result: DrainResult, revision: int) -> DrainOut:
    """The whole answer."""
    units = vessel.units
    unit, unit_m = length_unit(units)
    return DrainOut(
        revision=revision,
        sentence=summary(vessel, result),
        figures=[
            Line(label="If no water lagged", figure=amount(result.up.least_drained_gm_m, "length", units)),
            *(
                Line(label=f"Room of the {space.name}", figure=amount(space.room_m3, "volume", units))
                for space in result.spaces
            ),
        ],
        spaces=[space.name for space in result.spaces],
        length_unit=unit,
        length_unit_m=unit_m,
        limit_m=None if math.isnan(result.limit_m) else result.limit_m,
        up=_way(vessel, result, result.up, "Coming up"),
        down=_way(vessel, result, result.down, "Going down"),
        times_heads=list(TIMES_HEADS),
        times=[list(row) for row in times_rows(vessel, result)],
        band=band_sentence(vessel, result),
        matters=matters_sentence(vessel, result.matters),
        slower=slower_sentence(vessel, result.slower) if result.slower is not None else "",
        cures=[_cure(vessel, row) for row in result.remedies],
        least=amount(result.up.least_gm_m, "length", units),
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=result.method,
        validity=result.validity,
        sources=list(result.sources),
    )


def _way(vessel: Vessel, result: DrainResult, course: Course, title: str) -> DrainWay:
    moments = course.moments
    least = amount(course.least_gm_m, "length", vessel.units)
    return DrainWay(
        title=title,
        curve=DrainCurve(
            time_s=[round(moment.time_s, 4) for moment in moments],
            gm_m=[round(moment.gm_m, 7) for moment in moments],
            gm_drained_m=[round(moment.gm_drained_m, 7) for moment in moments],
            over_m=[
                [round(moment.spaces[number].over_m, 6) for moment in moments]
                for number in range(len(result.spaces))
            ],
            ballast_s=course.ballast_s,
            least_s=course.least_at_s,
            least_gm_m=course.least_gm_m,
            end=seconds(moments[-1].time_s),
        ),
        heads=list(MOMENT_HEADS),
        moments=[list(row) for row in moment_rows(vessel, result, course)],
        least=f"{least.text} after {seconds(course.least_at_s)}",
    )


def _cure(vessel: Vessel, row: Remedy) -> DrainCure:
    return DrainCure(
        title=f"The {row.space} alone" if row.space else "All openings",
        sentence=remedy_sentence(vessel, row),
        openings=[_opening(vessel, hole) for hole in row.openings] if math.isfinite(row.factor) else [],
    )


def _opening(vessel: Vessel, hole: OpeningArea) -> DrainOpening:
    wanted = hole.wanted_m2 * SPARE
    return DrainOpening(
        name=hole.name,
        now=area(hole.now_m2, vessel.units),
        wanted=area(wanted, vessel.units),
        path=[*path_of(hole.key), "area"],
        area=f"{wanted * 1e6:.1f} mm^2" if vessel.units == "metric" else written(wanted, "area", "inch"),
    )
