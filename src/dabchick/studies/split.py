"""`split`: the hull parted at its break line: what each half weighs, what comes out with it, what crosses the line.

The skin is parted exactly along the line; every other thing goes whole with the half that its centre lies in, or that
the builder says, and what is in a dry part goes with that.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.break_line import Line, outside_hull
from dabchick.model.vessel import Half, Item, Tank, Vector, Vessel
from dabchick.physics.halves import halves, height_at
from dabchick.physics.solid import Solid
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.lift_out import LiftOut, lift_out
from dabchick.studies.result import Figure, StudyResult
from dabchick.studies.speech import Speech

Array = NDArray[np.float64]

SEGMENTS = 240
"""Sides of the polygon that stands for a circle."""
CONTACT_M = 1e-4
"""What reaches over the line by less lies against it."""


@dataclass(frozen=True)
class HalfResult:
    """One half of the boat, without water in the tanks."""

    half: Half
    mass_kg: Figure
    centre_m: Vector
    """NaN where nothing of it weighs anything."""
    skin_mass_kg: float
    skin_volume_m3: float
    parts: tuple[str, ...]
    """What is fixed to it, in the order of the file."""


@dataclass(frozen=True)
class Crossing:
    """A thing that reaches over the line."""

    name: str
    half: Half
    above_m: float
    """Its greatest height over the line."""
    below_m: float
    """Its greatest depth under the line."""
    key: str = ""
    """Where it stands in the boat file."""


@dataclass(frozen=True)
class LeftWhole:
    """An end of the hull that the line does not come to."""

    aft_m: float
    fore_m: float
    skin_mass_kg: float


@dataclass(frozen=True, kw_only=True)
class SplitResult(StudyResult):
    """The boat in two halves."""

    line_m: Line
    """Points (x, z) from aft forward, house frame."""
    from_file: bool
    upper: HalfResult
    lower: HalfResult
    mass_kg: float
    """Of all that weighs, for the sum."""
    crossings: tuple[Crossing, ...]
    """The farthest over the line first."""
    left_whole: tuple[LeftWhole, ...]
    lift_out: LiftOut | None
    """Of the longest thing in the flooded space; None where nothing has a shape."""


def run(vessel: Vessel, *, line_m: Sequence[tuple[float, float]] | None = None) -> SplitResult:
    """Part the boat at a line of the house frame, (x, z) from aft forward; by default at the file's break line.

    Without one in the file it is the waterline, which the assumptions say. Raises BoatError for a line that lies
    outside the hull, or that leaves one half without any skin.
    """
    line, assumed = _line(vessel, line_m)
    faults = list(outside_hull(line, vessel.length_m, float(vessel.high_m[2]), vessel.datum, vessel.units))
    if faults:
        raise BoatError(*faults)
    points = np.array(line)
    skins = [item for item in vessel.items if item.kind == "skin" and item.solid is not None]
    shares = [_parted(item.solid, points) for item in skins if item.solid is not None]
    _both_halves(vessel, points)
    things: list[Item | Tank] = [item for item in vessel.items if item.kind != "skin"]
    members = {thing.name: _half_at(vessel, thing, line) for thing in (*things, *vessel.tanks)}
    upper = _half(vessel, "upper", members, skins, [share[0] for share in shares])
    lower = _half(vessel, "lower", members, skins, [share[1] for share in shares])
    crossings = _crossings(vessel, points, members)
    whole = _left_whole(vessel, points, skins)
    out = lift_out(vessel, points, members, list(standing(vessel)))
    return SplitResult(
        boat=vessel.name,
        method=(
            "skin parted exactly by the divergence theorem on its cut faces; parts whole with the half of their "
            "centre, or as the boat file says; heights over the line from every face"
        ),
        sources=("divergence theorem",),
        validity=(
            f"rigid halves without water; round bodies are polyhedra of {SEGMENTS} sides; the material that the cut "
            "itself takes away is not counted"
        ),
        assumptions=assumptions(vessel, *assumed, *_assumed(vessel)),
        warnings=warnings(vessel, *_findings(vessel, crossings, whole, out)),
        line_m=line,
        from_file=line_m is None and bool(vessel.break_line_m),
        upper=upper,
        lower=lower,
        mass_kg=float(sum(item.mass_kg for item in vessel.items)),
        crossings=crossings,
        left_whole=whole,
        lift_out=out,
    )


def half_of(vessel: Vessel, thing: Item | Tank) -> Half:
    """The half that a part or tank goes with at the file's break line; a dry part takes its contents along."""
    return _half_at(vessel, thing, vessel.break_line_m)


def _line(vessel: Vessel, asked: Sequence[tuple[float, float]] | None) -> tuple[Line, list[str]]:
    if asked is not None:
        return tuple((float(x), float(z)) for x, z in asked), []
    if vessel.break_line_m:
        return vessel.break_line_m, []
    text = "split: the boat file names no break line, so she is parted at her waterline"
    return ((0.0, vessel.waterline_m), (vessel.length_m, vessel.waterline_m)), [text]


def _half_at(vessel: Vessel, thing: Item | Tank, line: Line) -> Half:
    holder: Item | Tank = next(
        (other for other in vessel.items if thing.inside and other.name == thing.inside), thing
    )
    if isinstance(holder, Item) and holder.half is not None:
        return holder.half
    middle = holder.centre_m
    body = holder.envelope if isinstance(holder, Item) else holder.solid
    if body is not None:
        # Where the thing itself is, wherever its weight is.
        low, high = body.bounds()
        middle = (0.5 * float(low[0] + high[0]), 0.0, 0.5 * float(low[2] + high[2]))
    height = float(height_at(np.array(line), np.array([middle[0]]))[0])
    return "upper" if middle[2] > height else "lower"


def standing(vessel: Vessel) -> Iterator[tuple[Item | Tank, Solid]]:
    """Each thing of the flooded space, also what reaches out of the hull, with the room it takes up."""
    for item in vessel.items:
        body = item.envelope or item.solid
        if body is not None and body.surfaces and item.kind not in ("skin", "inside") and not item.inside:
            yield item, body
    for tank in vessel.tanks:
        if not tank.inside:
            yield tank, tank.solid


Share = tuple[float, Array]


def _parted(solid: Solid, line: Array) -> tuple[Share, Share]:
    """Weighted volume and first moment above and below the line."""
    volumes, moments = np.zeros(2), np.zeros((2, 3))
    for vertices, faces, weight in solid.meshes(SEGMENTS):
        found = halves(vertices, faces, line)
        for row, part in enumerate((found.above, found.below)):
            volumes[row] += weight * part.volume
            moments[row] += weight * part.moment
    return (float(volumes[0]), moments[0]), (float(volumes[1]), moments[1])


def _both_halves(vessel: Vessel, line: Array) -> None:
    (above, _), (below, _) = _parted(vessel.hull, line)
    if min(above, below) > 1e-6 * vessel.hull.volume:
        return
    side = "above" if above <= below else "below"
    raise BoatError(
        Advice(
            what=f"Nothing of the hull lies {side} this break line.",
            todo="Draw it where the hull is to come apart.",
            key="hull.break_line",
        )
    )


def _half(
    vessel: Vessel, half: Half, members: dict[str, Half], skins: list[Item], shares: list[Share]
) -> HalfResult:
    mass, variance, skin_mass, skin_volume = 0.0, 0.0, 0.0, 0.0
    moment = np.zeros(3)
    for item, (volume, first) in zip(skins, shares, strict=True):
        share = volume / item.volume_m3
        skin_mass += share * item.mass_kg
        skin_volume += volume
        variance += (share * item.mass_spread_kg) ** 2
        moment += item.mass_kg * first / item.volume_m3
    parts = [item for item in vessel.items if members.get(item.name) == half and item.kind != "skin"]
    for item in parts:
        mass += item.mass_kg
        variance += item.mass_spread_kg**2
        moment += item.mass_kg * np.array(item.centre_m)
    mass += skin_mass
    centre = moment / mass if mass > 0.0 else np.full(3, math.nan)
    return HalfResult(
        half=half,
        mass_kg=Figure(mass, math.sqrt(variance)),
        centre_m=(float(centre[0]), float(centre[1]), float(centre[2])),
        skin_mass_kg=skin_mass,
        skin_volume_m3=skin_volume,
        parts=tuple(item.name for item in parts),
    )


def _crossings(vessel: Vessel, line: Array, members: dict[str, Half]) -> tuple[Crossing, ...]:
    found = []
    for thing, body in standing(vessel):
        reaches = [halves(vertices, faces, line) for vertices, faces, _ in body.meshes(SEGMENTS)]
        above = max((entry.highest for entry in reaches if not math.isnan(entry.highest)), default=math.nan)
        below = -min((entry.lowest for entry in reaches if not math.isnan(entry.lowest)), default=math.nan)
        if above > CONTACT_M and below > CONTACT_M:
            found.append(Crossing(thing.name, members[thing.name], above, below, thing.key))
    return tuple(sorted(found, key=lambda entry: (-min(entry.above_m, entry.below_m), entry.name)))


def _left_whole(vessel: Vessel, line: Array, skins: list[Item]) -> tuple[LeftWhole, ...]:
    found = []
    for aft, fore in ((0.0, float(line[0, 0])), (float(line[-1, 0]), vessel.length_m)):
        if fore - aft <= CONTACT_M:
            continue
        # All of it lies above a line under the keel.
        under = np.array([[aft, vessel.low_m[2] - 1.0], [fore, vessel.low_m[2] - 1.0]])
        mass = sum(
            item.mass_kg * _parted(item.solid, under)[0][0] / item.volume_m3
            for item in skins
            if item.solid is not None
        )
        found.append(LeftWhole(aft, fore, float(mass)))
    return tuple(found)


def _assumed(vessel: Vessel) -> list[str]:
    chosen = [item.name for item in vessel.items if item.half is not None]
    said = f", but {', '.join(chosen)} as the boat file says" if chosen else ""
    return [f"split: each part goes with the half that its middle lies in{said}"]


def _findings(
    vessel: Vessel, crossings: tuple[Crossing, ...], whole: tuple[LeftWhole, ...], out: LiftOut | None
) -> list[Advice]:
    say = Speech(vessel)
    found = []
    for entry in crossings:
        over = entry.half == "lower"
        reach = entry.above_m if over else entry.below_m
        found.append(
            Advice(
                what=f"'{entry.name}' goes with the {entry.half} half and reaches {say.length(reach)} "
                f"{'above' if over else 'below'} the break line.",
                todo="Move the line or the part, or see that the other half leaves room for it as it comes off.",
                given=f"{say.length(entry.above_m)} above the line, {say.length(entry.below_m)} below it",
                key=entry.key,
                severity="warning",
            )
        )
    for end in whole:
        found.append(
            Advice(
                what=f"The break line leaves {say.length(end.fore_m - end.aft_m)} at the "
                f"{'stern' if end.aft_m == 0.0 else 'bow'} whole; that end stays with the lower half.",
                todo="Let the line run to the end of the hull, if it is to come apart there too.",
                key="hull.break_line",
                severity="warning",
            )
        )
    if out is not None and not out.fits:
        found.append(
            Advice(
                what=f"'{out.name}' cannot be lifted straight out of the {out.half} half.",
                todo="Widen or lengthen the opening there, lower the line, or take it out tilted or in pieces.",
                where=say.along(out.tightest_x_m) if math.isfinite(out.tightest_x_m) else "",
                given=_tightness(out, say),
                key="hull.break_line",
                severity="warning",
            )
        )
    return found


def _tightness(out: LiftOut, say: Speech) -> str:
    if out.under_whole_m > 0.0:
        return f"{say.length(out.under_whole_m)} of its {say.length(out.length_m)} lie under what stays whole"
    return f"{say.length(-min(out.spare_port_m, out.spare_starboard_m))} too narrow on one side"
