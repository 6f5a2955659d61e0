"""A trace's figures in words: value and band, two standard deviations to either side."""

import math

from dabchick.model.units import Dimension, UnitSet, shown
from dabchick.studies.result import Figure
from dabchick.studies.trace import TraceResult

SIGMAS = 2.0


def figure_rows(result: TraceResult, units: UnitSet = "metric") -> list[tuple[str, str, str]]:
    """Name, value and band of each figure that is known."""
    rows: list[tuple[str, Figure, Dimension]] = [
        ("Volume of the form", result.volume_m3, "volume"),
        ("Surface", result.area_m2, "area"),
        ("Centre of the form from the stern", result.lcb_m, "length"),
        ("Length", result.length_m, "length"),
        ("Beam", result.beam_m, "length"),
        ("Height", result.height_m, "length"),
        ("Length in the top view by its own scale", result.top_length_m, "length"),
        ("Top view longer than side view by", result.length_difference_m, "length"),
        ("Middle off a straight line by at most", result.asymmetry_m, "length"),
    ]
    return [
        (name, *words(figure, dimension, units))
        for name, figure, dimension in rows
        if math.isfinite(figure.value)
    ]


def body_rows(result: TraceResult, units: UnitSet = "metric") -> list[tuple[str, str, str]]:
    """Volume and surface of each separate body."""
    rows = []
    for body in result.bodies:
        both = ", both" if body.kind == "plane" else ""
        rows.append((f"{body.name}{both}: volume", *words(body.volume_m3, "volume", units)))
        rows.append((f"{body.name}{both}: surface", *words(body.area_m2, "area", units)))
    return rows


def words(figure: Figure, dimension: Dimension, units: UnitSet = "metric") -> tuple[str, str]:
    """The value, and the band of two standard deviations; empty where no band was asked for."""
    band = f"+/- {shown(SIGMAS * figure.spread, dimension, units)}" if math.isfinite(figure.spread) else ""
    return shown(figure.value, dimension, units), band
