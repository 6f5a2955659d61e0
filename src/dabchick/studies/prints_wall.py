"""Is a print's mesh the material itself or an outer form, and how thick is it where."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vector
from dabchick.physics.surface import THIN_WALL, SurfaceReport
from dabchick.physics.thickness import Thickness

Array = NDArray[np.float64]

Kind = Literal["walls", "surface", "unclear"]

FULL: Final = 0.2
"""Full hulls have 2 V / A above this part of their smallest side: common practice, no source."""
MOST_THIN_PLACES: Final = 5
APART: Final = 0.06
"""Part of the diagonal by which thin places that are named lie apart."""
MOST_BANDS: Final = 6


@dataclass(frozen=True)
class WallFinding:
    """What speaks for walls and what for an outer form; the builder decides."""

    kind: Kind
    """What the figures say."""
    confirmed: bool | None
    """True: the builder says walls; False: an outer form; None: not said yet."""
    mean_thickness_m: float
    """Twice the volume over the whole surface."""
    smallest_side_m: float
    inner_shells: int
    """Closed shells that face inward: the inside of a hollow body."""
    inner_volume_m3: float
    """Room inside those."""
    bodies: int
    reasons: tuple[str, ...]

    @property
    def is_wall(self) -> bool:
        """What is taken for true: the builder's word, else what the figures say."""
        return self.confirmed if self.confirmed is not None else self.kind == "walls"


@dataclass(frozen=True)
class ThinPlace:
    """A place where the wall is thinnest, in the axes of the files."""

    at_m: Vector
    thickness_m: float


@dataclass(frozen=True)
class Band:
    """Part of the surface whose thickness lies between two values."""

    low_m: float
    """0 for the first."""
    high_m: float
    """Endless, in JSON null, for the last."""
    area_m2: float
    share: float
    """Of the wall's surface."""


@dataclass(frozen=True)
class WallFigures:
    """The thickness over the surface where two faces lie opposite each other; each figure weighted by area."""

    median_m: float
    low_m: float
    """5 % of the surface is thinner."""
    high_m: float
    """5 % is thicker."""
    thinnest: tuple[ThinPlace, ...]
    bands: tuple[Band, ...]
    edge_share: float
    """Of the surface, that lies at edges and is left out of the figures."""
    unread_share: float
    """Of the surface, where a ray inward met nothing."""


def wall_finding(report: SurfaceReport, confirmed: bool | None) -> WallFinding:
    """Weigh the mesh, all lengths in metres."""
    mean, side = report.wall_thickness, report.smallest_side
    inner = [shell for shell in report.shells if len(shell.inside) % 2 == 1]
    room = -sum(shell.volume for shell in inner)
    share = mean / side if side > 0.0 else 0.0
    ratio = (
        f"twice the volume over the surface is {mean * 1000.0:.3g} mm, {100.0 * share:.3g} % of the smallest side "
        f"({side * 1000.0:.4g} mm)"
    )
    reasons = []
    kind: Kind
    if inner:
        kind = "walls"
        noun = "an inner shell faces" if len(inner) == 1 else f"{len(inner)} inner shells face"
        reasons.append(f"{noun} inward and close off {room * 1e6:.4g} cm3 that are not material")
        reasons.append(ratio)
    elif share < THIN_WALL:
        kind = "walls"
        reasons.append(f"{ratio}: below {100.0 * THIN_WALL:g} %, as only walls have it")
    elif share < FULL:
        kind = "unclear"
        reasons.append(
            f"{ratio}: between {100.0 * THIN_WALL:g} % and {100.0 * FULL:g} %, as thick walls and slender full bodies "
            "both have it"
        )
    else:
        kind = "surface"
        reasons.append(f"{ratio}: above {100.0 * FULL:g} %, as full bodies have it")
    if not inner:
        reasons.append("no shell faces inward")
    return WallFinding(
        kind=kind,
        confirmed=confirmed,
        mean_thickness_m=mean,
        smallest_side_m=side,
        inner_shells=len(inner),
        inner_volume_m3=room,
        bodies=len(report.bodies),
        reasons=tuple(reasons),
    )


def wall_advice(finding: WallFinding) -> list[Advice]:
    """What the builder should decide, or look at once more."""
    said = f"The figures say: {_SAID[finding.kind]}; {'; '.join(finding.reasons)}."
    if finding.confirmed is None:
        return [
            Advice(
                what=f"It is not settled whether the mesh is the material itself. {said}",
                todo="Look at the reasons, then say --walled (the mesh is what was printed) or --surface (it is the "
                "outer form of a skin).",
                key="walled",
                severity="warning",
            )
        ]
    if (finding.confirmed and finding.kind == "surface") or (
        not finding.confirmed and finding.kind == "walls"
    ):
        return [
            Advice(
                what=f"What you say of the walls goes against the figures. {said}",
                todo="Look at the map of the thickness once more.",
                key="walled",
                given="the material itself" if finding.confirmed else "an outer form",
                severity="warning",
            )
        ]
    return []


_SAID: Final = {
    "walls": "walls, the mesh is the material",
    "surface": "an outer form",
    "unclear": "either is possible",
}


def wall_figures(read: Thickness) -> WallFigures:
    """Median, 5 % and 95 %, thin places and bands from readings of the thickness."""
    total = float(read.areas.sum())
    known = np.isfinite(read.readings)
    on_wall = read.walls & known
    counted = on_wall if on_wall.any() else known
    values, areas = read.readings[counted], read.areas[counted]
    nan = float("nan")
    low, median, high = _shares(values, areas, (0.05, 0.5, 0.95)) if len(values) else (nan, nan, nan)
    return WallFigures(
        median_m=median,
        low_m=low,
        high_m=high,
        thinnest=_thinnest(read.points[counted], values),
        bands=_bands(values, areas, low, high),
        edge_share=float(read.areas[known & ~read.walls].sum()) / total if total > 0.0 else nan,
        unread_share=float(read.areas[~known].sum()) / total if total > 0.0 else nan,
    )


def band_numbers(bands: tuple[Band, ...], values: Array) -> NDArray[np.int64]:
    """The place of each value among the bands, counted from 0; -1 where there is no value."""
    edges = np.array([band.high_m for band in bands[:-1]])
    numbers: NDArray[np.int64] = np.where(
        np.isfinite(values), np.searchsorted(edges, values, side="right"), -1
    )
    return numbers


def _shares(values: Array, areas: Array, shares: tuple[float, ...]) -> list[float]:
    """Values below which these shares of the area lie."""
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(areas[order])
    places = np.searchsorted(reached, np.array(shares) * reached[-1])
    return [float(values[order[min(int(place), len(order) - 1)]]) for place in places]


def _thinnest(points: Array, values: Array) -> tuple[ThinPlace, ...]:
    if len(values) == 0:
        return ()
    apart = APART * float(np.linalg.norm(np.ptp(points, axis=0)))
    left = np.argsort(values, kind="stable")
    found: list[ThinPlace] = []
    while len(left) and len(found) < MOST_THIN_PLACES:
        place = points[left[0]]
        found.append(ThinPlace((float(place[0]), float(place[1]), float(place[2])), float(values[left[0]])))
        left = left[np.linalg.norm(points[left] - place, axis=1) > apart]
    return tuple(found)


def _bands(values: Array, areas: Array, low: float, high: float) -> tuple[Band, ...]:
    if len(values) == 0:
        return ()
    total = float(areas.sum())
    edges = [0.0, *_round_edges(low, high), float("inf")]
    bands = []
    for start, end in pairwise(edges):
        area = float(areas[(values >= start) & (values < end)].sum())
        bands.append(Band(start, end, area, area / total))
    return tuple(bands)


def _round_edges(low: float, high: float) -> list[float]:
    """Round values that part the range from low to high into at most MOST_BANDS bands."""
    if high - low <= 0.1 * high:
        # A wall of one thickness is one band with a round value either side, not noise in six tones.
        size = next(size for size in _round_sizes() if size >= 0.1 * high)
        first, last = int(np.floor(low / size - 0.25)), int(np.ceil(high / size + 0.25))
        return [round(k * size, 12) for k in (first, last) if k > 0]
    for size in _round_sizes():
        first, last = int(np.floor(low / size)) + 1, int(np.ceil(high / size)) - 1
        if last - first + 2 <= MOST_BANDS:
            return [round(k * size, 12) for k in range(first, last + 1)] or [round(first * size, 12)]
    return [low]


def _round_sizes() -> Iterator[float]:
    """1, 2 and 5 times powers of ten, from a tenth of a micrometre to hundreds of metres."""
    for power in range(-7, 3):
        for step in (1, 2, 5):
            yield step * 10.0**power
