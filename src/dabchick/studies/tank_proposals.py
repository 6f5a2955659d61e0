"""Tanks that would do: what `tank` asks for, as changes to the tanks that the boat has."""

import math
from dataclasses import dataclass

import numpy as np

from dabchick.model.vessel import Tank, Vector, Vessel
from dabchick.studies.glance import WATCH_TIMES, Verdict
from dabchick.studies.tank import TankResult
from dabchick.studies.trim import LIFT_RIGHT_KG

RIGHT_SHARE = 0.005
"""A tank this near to the needed volume is right, as in the tank study."""
RIGHT_PLACE_M = 0.0005
APART_SHARE = 0.05
"""Of the boat's length: tanks nearer to each other than this cannot share out a moment."""


@dataclass(frozen=True)
class TankChange:
    """One tank as it should be; what is None stays as it is."""

    key: str
    """Of the tank that is changed, or copied, such as `tank[1]`; empty for one of a bore alone."""
    volume_m3: float
    x_m: float | None = None
    """Where its middle should be along the boat, house frame."""
    bore_m: float | None = None
    copied: bool = False
    """A further tank, like the one named."""
    inside: str | None = None
    """For a new tank: the dry part that holds it; empty for none."""
    y_m: float | None = None
    z_m: float | None = None


@dataclass(frozen=True)
class TankProposal:
    """A set of tanks that together take the needed water at the needed place, or as near to it as they can stand."""

    title: str
    sentence: str
    changes: tuple[TankChange, ...]
    reaches: bool = True
    """The tanks can stand where they belong."""


def standing(vessel: Vessel, result: TankResult) -> Verdict:
    """How the present tanks stand to what is asked: by the lift they would leave, and by the moment."""
    if not vessel.tanks:
        return "bad"
    lift = abs(result.present_lift_kg - result.lift_kg) / LIFT_RIGHT_KG
    # A weight that is let pass as lift is let pass as a moment too, at the boat's own half length.
    moment = abs(result.present_pitch_kg_m) / (LIFT_RIGHT_KG * 0.5 * vessel.length_m)
    miss = max(lift, moment)
    return "good" if miss <= 1.0 else "watch" if miss <= WATCH_TIMES else "bad"


def propose(vessel: Vessel, result: TankResult, *, bore_m: float | None = None) -> tuple[TankProposal, ...]:
    """Ways to the tank that `result` asks for, the plainest first; none where the present one is right.

    `bore_m` asks for tanks of another bore.
    """
    if not vessel.tanks:
        return _first_tank(vessel, result, bore_m)
    if len(vessel.tanks) > 1:
        return _shared_out(vessel, result)
    (tank,) = vessel.tanks
    right_place = abs(result.present_centre_m[0] - result.centre_m[0]) < RIGHT_PLACE_M
    right_size = abs(result.present_m3 / result.volume_m3.value - 1.0) < RIGHT_SHARE
    if right_place and right_size and bore_m is None:
        return ()
    return (
        *_one(tank, result, bore_m),
        *_split(tank, result, bore_m),
        *_wider(tank, result, bore_m, right_size),
    )


def _one(tank: Tank, result: TankResult, bore_m: float | None) -> list[TankProposal]:
    """The present tank at the right size and place; where it cannot stand there, as near as it can."""
    needed, x = result.volume_m3.value, result.centre_m[0]
    low, high = result.room_low_x_m, result.room_high_x_m
    size = _size_words(tank, needed, bore_m)
    if math.isfinite(low) and low > high:
        return []  # longer than what holds it: only another bore or another holder helps
    stand = x if not math.isfinite(low) else min(max(x, low), high)
    moved = abs(stand - tank.centre_m[0]) >= RIGHT_PLACE_M
    title = f"{size} '{tank.name}'" + (" and move it" if moved and size != "Move" else "")
    reaches = abs(stand - x) < RIGHT_PLACE_M
    if reaches:
        sentence = "One tank, of the volume that is needed and with its middle where it belongs."
    else:
        title += " as near as it can stand"
        sentence = (
            "It cannot stand where it belongs, so lead or foam has to make up for the rest of its moment."
        )
    return [TankProposal(title, sentence, (TankChange(tank.key, needed, stand, bore_m),), reaches)]


def _size_words(tank: Tank, needed: float, bore_m: float | None) -> str:
    if bore_m is not None:
        return "Another bore for"
    share = needed / tank.capacity_m3 - 1.0
    return "Move" if abs(share) < RIGHT_SHARE else "Longer" if share > 0.0 else "Shorter"


def _split(tank: Tank, result: TankResult, bore_m: float | None) -> list[TankProposal]:
    split = result.split
    if split is None:
        return []
    ends = ((split.fore_m3, split.fore_x_m), (split.aft_m3, split.aft_x_m))
    low, high = result.room_low_x_m, result.room_high_x_m
    kept, other = sorted(ends, key=lambda end: max(low - end[1], end[1] - high))
    changes = (
        TankChange(tank.key, kept[0], kept[1], bore_m),
        TankChange(tank.key, other[0], other[1], bore_m, copied=True, inside=""),
    )
    sentence = "A fore and an aft tank that together do what one would at the right place."
    return [TankProposal(f"Split '{tank.name}' into a fore and an aft tank", sentence, changes)]


def _wider(tank: Tank, result: TankResult, bore_m: float | None, right_size: bool) -> list[TankProposal]:
    """The present length with another bore, for a tank that has one."""
    if bore_m is not None or right_size or not tank.bore_area_m2 > 0.0:
        return []
    length = tank.capacity_m3 / tank.bore_area_m2
    bore = math.sqrt(result.volume_m3.value / length / (0.25 * math.pi))
    x = result.centre_m[0]
    wider = result.volume_m3.value > tank.capacity_m3
    change = TankChange(tank.key, result.volume_m3.value, x, bore)
    title = f"{'Wider' if wider else 'Narrower'} '{tank.name}' of the same length, moved"
    return [TankProposal(title, "Its stroke stays; its bore and its middle change.", (change,))]


def _shared_out(vessel: Vessel, result: TankResult) -> tuple[TankProposal, ...]:
    """Each tank keeps its middle; the volumes change as little as they can for the sum and the moment to be right."""
    volumes = np.array([tank.capacity_m3 for tank in vessel.tanks])
    places = np.array([tank.centre_m[0] for tank in vessel.tanks])
    needed, x = result.volume_m3.value, result.centre_m[0]
    if (
        abs(volumes.sum() / needed - 1.0) < RIGHT_SHARE
        and abs(result.present_centre_m[0] - x) < RIGHT_PLACE_M
    ):
        return ()
    if np.ptp(places) < APART_SHARE * vessel.length_m:
        return ()
    # Least squares in shares of each volume, with the sum and the moment about the needed place held.
    rows = np.vstack([np.ones(len(volumes)), (places - x) / np.ptp(places)])
    gap = np.array([needed, 0.0]) - rows @ volumes
    step = volumes[:, None] * rows.T @ np.linalg.solve(rows * volumes @ rows.T, gap)
    new = volumes + step
    if new.min() <= 0.02 * needed:
        return ()
    changes = tuple(
        TankChange(tank.key, float(volume)) for tank, volume in zip(vessel.tanks, new, strict=True)
    )
    sentence = (
        "Each keeps its place and changes its length, so that all together are right in volume and place."
    )
    return (TankProposal("Share the water out anew between the tanks", sentence, changes),)


def _first_tank(vessel: Vessel, result: TankResult, bore_m: float | None) -> tuple[TankProposal, ...]:
    if bore_m is None:
        return ()
    x, y, _ = result.centre_m
    length = result.volume_m3.value / (0.25 * math.pi * bore_m**2)
    holder = _holder(vessel, result.centre_m, length, bore_m)
    z = result.centre_m[2] if holder is None else holder[1]
    change = TankChange(
        "",
        result.volume_m3.value,
        x,
        bore_m,
        inside="" if holder is None else holder[0],
        y_m=y if holder is None else holder[2],
        z_m=z,
    )
    return (
        TankProposal(
            "A new piston tank",
            "Of the bore asked for, the volume that is needed, and with its middle where it belongs.",
            (change,),
        ),
    )


def _holder(vessel: Vessel, centre: Vector, length: float, bore: float) -> tuple[str, float, float] | None:
    """The dry part that has room for a tank here: its name, and height and side of its middle."""
    for item in vessel.items:
        if item.kind != "dry" or item.solid is None:
            continue
        low, high = item.solid.bounds()
        middle = 0.5 * (low + high)
        long_enough = low[0] <= centre[0] - 0.5 * length and centre[0] + 0.5 * length <= high[0]
        if long_enough and bore <= min(high[1] - low[1], high[2] - low[2]):
            return item.name, float(middle[2]), float(middle[1])
    return None
