"""A builder at the bench: published hulls measured with a tape and a calliper that are a little off."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from dabchick.model.measures import HandMeasures, MeasuredStation
from tests.support.forms import SUBOFF_LENGTH_FT, series58_radius, suboff_radius

Array = NDArray[np.float64]
Radius = Callable[[Array], Array]

SHARES = np.array([0.0, 0.03, 0.08, 0.16, 0.28, 0.42, 0.58, 0.74, 0.88, 0.96, 1.0])
"""Eleven stations from the bow, closer together towards the ends, as docs/measures.md advises."""
EVEN = np.linspace(0.0, 1.0, 11)
CALLIPER_M, TAPE_M = 0.0003, 0.001
AXIS_M = 0.1


def suboff(x: Array) -> Array:
    """Radius of the SUBOFF bare hull drawn to a length of 1 m, x from the bow."""
    return suboff_radius(x * SUBOFF_LENGTH_FT) / SUBOFF_LENGTH_FT


def series58(x: Array) -> Array:
    """Radius of a Series 58 body of 1 m with a length of seven diameters, x from the bow."""
    return series58_radius(x, 1.0, 1.0 / 7.0)


def truth(radius: Radius) -> tuple[float, float, float]:
    """Volume [m3], area [m2] and centre of volume from the bow [m] of a body of 1 m, summed over 200 000 thin rings."""
    x = 0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, 200_001))
    r = radius(x)
    slices = np.pi * r**2
    volume = float(np.trapezoid(slices, x))
    side = float(2.0 * np.pi * np.sum(0.5 * (r[1:] + r[:-1]) * np.hypot(np.diff(x), np.diff(r))))
    return volume, side, float(np.trapezoid(slices * x, x)) / volume


def taken(radius: Radius, seed: int, shares: Array = SHARES, **slips: dict[int, float]) -> HandMeasures:
    """The measures of one afternoon, from the bow; slips are added to them, such as height={4: -0.007}."""
    noise = np.random.default_rng(seed)
    true = radius(shares)
    true[[0, -1]] = 0.0
    stations = []
    for k, (x, r) in enumerate(zip(shares, true, strict=True)):
        off = {name: slips.get(name, {}).get(k, 0.0) for name in ("beam", "height", "keel", "girth")}
        keel = AXIS_M - r + noise.normal(0.0, CALLIPER_M) + off["keel"]
        if r <= 0.0:
            stations.append(MeasuredStation(float(x), 0.0, 0.0, float(keel)))
            continue
        beam, height = 2.0 * r + noise.normal(0.0, CALLIPER_M, 2)
        girth = 2.0 * np.pi * r + noise.normal(0.0, TAPE_M)
        stations.append(
            MeasuredStation(
                float(x),
                float(beam + off["beam"]),
                float(height + off["height"]),
                float(keel),
                float(girth + off["girth"]),
            )
        )
    return HandMeasures(
        name="bench.csv",
        stations=tuple(stations),
        measured_from="bow",
        girth="whole",
        calliper_m=CALLIPER_M,
        tape_m=TAPE_M,
        ruler_m=0.0005,
    )


def as_csv(hand: HandMeasures, unit: str = "mm") -> str:
    """The same as a file, in mm or in."""
    size = {"mm": 0.001, "in": 0.0254}[unit]

    def cell(value: float | None) -> str:
        return "" if value is None else f"{value / size:.4f}"

    lines = [
        f"unit, {unit}",
        f"measured from, {hand.measured_from}",
        f"girth, {hand.girth}",
        f"calliper, {cell(hand.calliper_m)}",
        f"tape, {cell(hand.tape_m)}",
        "station_x, beam, height, keel, girth",
    ]
    for one in hand.stations:
        lines.append(", ".join(cell(v) for v in (one.x_m, one.beam_m, one.height_m, one.keel_m, one.girth_m)))
    return "\n".join(lines) + "\n"
