"""What the study of hand measures says, in the builder's units, for every face alike."""

import math
from typing import NamedTuple

from dabchick.model.measures import HandMeasures
from dabchick.model.units import Dimension
from dabchick.report.builder_units import NO_VALUE, number, with_unit
from dabchick.report.figures import measured
from dabchick.studies.measures import MeasuresResult
from dabchick.studies.result import Figure


class MeasuresFigure(NamedTuple):
    """One figure of the hull with its spread; NaN where it has none."""

    label: str
    dimension: Dimension
    figure: Figure


class StationRow(NamedTuple):
    """One station as the faired form has it."""

    x: str
    beam: str
    height: str
    lowest: str
    girth: str
    exponent: str
    note: str
    """Sign and word where a measure of it is out of line; empty otherwise."""


def summary(hand: HandMeasures, result: MeasuresResult) -> str:
    """The answer in a sentence."""
    volume = measured(result.volume_m3, "volume", hand.units)
    low, high = (
        with_unit(result.volume_m3.value + sign * 2.0 * result.volume_m3.spread, "volume", hand.units)
        for sign in (-1.0, 1.0)
    )
    length = with_unit(result.length_m, "length", hand.units)
    return (
        f"A hull of {length} with a form of {volume}: nineteen times in twenty it is within {low} and {high}, "
        "if the measures hold no slip."
    )


def figures(hand: HandMeasures, result: MeasuresResult) -> list[MeasuresFigure]:
    """The hull in figures; the centre from the builder's own end."""
    lcb = result.lcb_m
    if hand.from_bow:
        lcb = Figure(result.length_m - lcb.value, lcb.spread)
    return [
        MeasuresFigure("Length", "length", Figure(result.length_m, math.nan)),
        MeasuresFigure("Greatest beam measured", "length", Figure(result.beam_m, math.nan)),
        MeasuresFigure("Height, lowest to highest", "length", Figure(result.height_m, math.nan)),
        MeasuresFigure("Volume of the form", "volume", result.volume_m3),
        MeasuresFigure("Area of the form", "area", result.area_m2),
        MeasuresFigure(f"Centre of volume from the {hand.measured_from}", "length", lcb),
    ]


def rows(hand: HandMeasures, result: MeasuresResult) -> list[StationRow]:
    """The faired form at the stations, as they were written down."""
    slips: dict[int, list[str]] = {}
    for slip in result.slips:
        in_line = hand.length(slip.in_line_m)
        what = f"{slip.measure or 'beam'} {in_line} in line"
        slips.setdefault(slip.station, []).append(f"! {what}" if slip.measure else f"! section: {what}")
    found = []
    for index, station in enumerate(result.stations):
        exponent = number(station.exponent, 2)
        x, beam, height, lowest, girth = (
            with_unit(value, "length", hand.units)
            for value in (station.x_m, station.beam_m, station.height_m, station.lowest_m, station.girth_m)
        )
        shape = exponent if exponent != NO_VALUE else ""
        found.append(StationRow(x, beam, height, lowest, girth, shape, "; ".join(slips.get(index, []))))
    return found
