"""Which wish stands in the way, by how much, and the nearest boat that can.

Each wish in turn is let go while all others are kept, as a linear programme with lead cut to mass; a wish that
frees the rest is reported with the least change that does so.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from dabchick.model.units import shown
from dabchick.model.vessel import Place, Vessel
from dabchick.studies.loading import load
from dabchick.studies.trim_model import BG_ROW, ROWS, TrimModel, model
from dabchick.studies.trim_result import Obstacle

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]

WATERLINE_STEPS_M = (
    0.00025,
    0.0005,
    0.001,
    0.0015,
    0.002,
    0.003,
    0.004,
    0.006,
    0.008,
    0.011,
    0.015,
    0.02,
    0.03,
)
"""How far up and down another waterline is looked for."""
WATERLINE_FINE_M = 2e-5
NEGLIGIBLE = 1e-7
NEGLIGIBLE_HEIGHT_M = 5e-5


@dataclass(frozen=True, eq=False)
class Slack:
    """A way to give way: what one unit does to the rows, and how far it may go."""

    row: Array
    high: float = np.inf


def obstacles(
    vessel: Vessel, places: tuple[Place, ...], *, progress: Progress | None = None
) -> tuple[Obstacle, ...]:
    """Every single wish that, let go, lets all the others be kept; else the least mix of changes that would do."""
    if progress:
        progress("what stands in the way", 0.9)
    linear = _model(vessel, places, vessel.waterline_m)
    if _give_way(linear, []) is not None:
        text = (
            "Only the pieces stand in the way: with lead cut to mass and the smallest foam, all can be kept."
        )
        return (Obstacle("pieces", text, 0.0, ""),)
    found = [
        *_by_weight(vessel, linear),
        *_by_waterline(vessel, places),
        *_by_tank(vessel, linear),
        *_by_lift(vessel, linear),
        *_by_bg(vessel, linear),
        *_by_level(vessel, linear),
        *_by_room(vessel, places, linear),
    ]
    return tuple(found) or _mixed(vessel, linear)


def _model(vessel: Vessel, places: tuple[Place, ...], waterline: float) -> TrimModel:
    return model(vessel, places, waterline, {}, sheet=True)


def _give_way(linear: TrimModel, slacks: Sequence[Slack], *, free_rows: Sequence[int] = ()) -> Array | None:
    """Least sum of slacks that lets every row be kept (`free_rows` need not be); None where none does."""
    count = len(linear.columns)
    scale = np.append(linear.yardstick, linear.yardstick[4])
    matrix = (
        np.column_stack([linear.matrix.reshape(ROWS, count), *(slack.row for slack in slacks)])
        / scale[:, None]
    )
    target = -linear.base / scale
    kept = [row for row in range(6) if row not in free_rows]
    bg = [BG_ROW] if BG_ROW not in free_rows else []
    sizes = np.array([max(float(np.linalg.norm(slack.row / scale)), 1e-12) for slack in slacks])
    cost = np.concatenate([np.zeros(count), sizes])
    bounds = [(0.0, column.high) for column in linear.columns] + [(0.0, slack.high) for slack in slacks]
    result = linprog(
        cost,
        A_ub=-matrix[bg] if bg else None,
        b_ub=-target[bg] if bg else None,
        A_eq=matrix[kept],
        b_eq=target[kept],
        bounds=bounds,
    )
    return np.asarray(result.x[count:]) if result.status == 0 else None


def _unit(row: int, sign: float) -> Array:
    line = np.zeros(ROWS)
    line[row] = sign
    return line


def _by_weight(vessel: Vessel, linear: TrimModel) -> list[Obstacle]:
    """Mass taken out at the boat's own centre of gravity."""
    empty = load(vessel, 0.0)
    x, y, z = empty.balance.moment / empty.balance.mass
    row = -np.array([1.0, x, y, 1.0, x, y, -z - vessel.wishes.least_bg_m])
    given = _give_way(linear, [Slack(row, empty.mass_kg)])
    if given is None or given[0] < NEGLIGIBLE:
        return []
    mass = shown(float(given[0]), "mass", vessel.units)
    return [
        Obstacle(
            "weight", f"She is {mass} too heavy for this waterline: take {mass} out.", float(given[0]), "kg"
        )
    ]


def _by_waterline(vessel: Vessel, places: tuple[Place, ...]) -> list[Obstacle]:
    """The nearest waterline, up or down, at which all other wishes are kept."""
    low, high = vessel.low_m[2], vessel.high_m[2]

    def possible(shift: float) -> bool:
        height = vessel.waterline_m + shift
        return low < height < high and _give_way(_model(vessel, places, height), []) is not None

    best: float | None = None
    for sign in (1.0, -1.0):
        before = 0.0
        for step in WATERLINE_STEPS_M:
            if best is not None and step >= abs(best):
                break
            if possible(sign * step):
                inside, outside = step, before
                while inside - outside > WATERLINE_FINE_M:
                    middle = 0.5 * (inside + outside)
                    if possible(sign * middle):
                        inside = middle
                    else:
                        outside = middle
                best = sign * inside
                break
            before = step
    if best is None or abs(best) < NEGLIGIBLE_HEIGHT_M:
        return []
    way = "Raise" if best > 0.0 else "Lower"
    text = f"{way} the waterline by {shown(abs(best), 'length', vessel.units)} and all the rest can be kept."
    return [Obstacle("waterline", text, best, "m")]


def _by_tank(vessel: Vessel, linear: TrimModel) -> list[Obstacle]:
    """More or less tank at the present centre."""
    if not vessel.tanks:
        return []
    capacity = sum(tank.capacity_m3 for tank in vessel.tanks)
    x, y, z = np.sum([tank.capacity_m3 * np.array(tank.centre_m) for tank in vessel.tanks], axis=0) / capacity
    rho = vessel.water_density_kg_m3
    grown = rho * np.array([0.0, 0.0, 0.0, 1.0, x, y, -z - vessel.wishes.least_bg_m])
    flooded = sum(tank.capacity_m3 for tank in vessel.tanks if not tank.inside) / capacity
    kept = 1.0 - vessel.wishes.lift_dived_kg / (rho * max(load(vessel, 1.0).balance.buoyant_volume, 1e-9))
    under = 1.0 if z < vessel.waterline_m else 0.0
    grown -= flooded * rho * np.array([under, under * x, under * y, 1.0, kept * x, kept * y, -kept * z])
    given = _give_way(linear, [Slack(grown), Slack(-grown, capacity)])
    if given is None or max(given) < NEGLIGIBLE:
        return []
    change = float(given[0] - given[1])
    way = "more" if change > 0.0 else "less"
    text = f"With {shown(abs(change), 'volume', vessel.units)} {way} tank, all the rest can be kept."
    return [Obstacle("tank", text, change, "m3")]


def _by_lift(vessel: Vessel, linear: TrimModel) -> list[Obstacle]:
    given = _give_way(linear, [Slack(_unit(3, 1.0)), Slack(_unit(3, -1.0))])
    if given is None or max(given) < NEGLIGIBLE:
        return []
    lift = vessel.wishes.lift_dived_kg + float(given[0] - given[1])
    shown_lift = shown(lift, "mass", vessel.units)
    sense = "of lift" if lift >= 0.0 else "(she would sink)"
    asked = shown(vessel.wishes.lift_dived_kg, "mass", vessel.units)
    text = f"Dived she would have {shown_lift} {sense} instead of {asked}."
    return [Obstacle("lift", text, lift, "kg")]


def _by_bg(vessel: Vessel, linear: TrimModel) -> list[Obstacle]:
    given = _give_way(linear, [Slack(_unit(BG_ROW, 1.0))])
    if given is None or given[0] < NEGLIGIBLE:
        return []
    mass = load(vessel, 1.0).mass_kg
    short = float(given[0]) / mass
    reached = shown(vessel.wishes.least_bg_m - short, "length", vessel.units)
    wished = shown(vessel.wishes.least_bg_m, "length", vessel.units)
    return [Obstacle("bg", f"BG dived can be {reached} at most, not the {wished} asked.", -short, "m")]


def _by_level(vessel: Vessel, linear: TrimModel) -> list[Obstacle]:
    """Trim or heel left over in one state."""
    found = []
    mass = load(vessel, 1.0).mass_kg
    for name, state, row, ways in (
        ("trim surfaced", "surfaced", 1, ("bow heavy", "stern heavy")),
        ("trim dived", "dived", 4, ("bow heavy", "stern heavy")),
        ("heel surfaced", "surfaced", 2, ("heavy to port", "heavy to starboard")),
        ("heel dived", "dived", 5, ("heavy to port", "heavy to starboard")),
    ):
        given = _give_way(linear, [Slack(_unit(row, 1.0)), Slack(_unit(row, -1.0))])
        if given is None or max(given) < NEGLIGIBLE:
            continue
        # A slack that has to add to the row stands for moment that the boat lacks on the positive side.
        left = float(given[1] - given[0])
        arm = shown(abs(left) / mass, "length", vessel.units)
        text = (
            f"Only level {state} stands in the way: she would be {ways[0] if left > 0.0 else ways[1]} by "
            f"{shown(abs(left) / 0.1, 'mass', vessel.units)} at {shown(0.1, 'length', vessel.units)} "
            f"(her centre of gravity {arm} off)."
        )
        found.append(Obstacle(name, text, left, "kg m"))
    return found


def _by_room(vessel: Vessel, places: tuple[Place, ...], linear: TrimModel) -> list[Obstacle]:
    """Places twice or ten times as large: says whether room is what is missing."""
    if not places:
        return []
    for factor in (1.5, 2.0, 4.0, 10.0):
        grown = TrimModel(
            columns=tuple(
                column if column.kind == "move" else replace(column, high=column.high * factor)
                for column in linear.columns
            ),
            matrix=linear.matrix,
            base=linear.base,
            yardstick=linear.yardstick,
            measure=linear.measure,
        )
        if _give_way(grown, []) is not None:
            text = f"There is too little room for lead or foam: places {factor:g} times as large would do."
            return [Obstacle("places", text, factor, "times")]
    return []


def _mixed(vessel: Vessel, linear: TrimModel) -> tuple[Obstacle, ...]:
    """No single wish frees the rest: the least mix of misses, each in its own words."""
    names = (
        ("weight surfaced", "kg"),
        ("trim surfaced", "kg m"),
        ("heel surfaced", "kg m"),
        ("lift", "kg"),
        ("trim dived", "kg m"),
        ("heel dived", "kg m"),
    )
    slacks = [Slack(_unit(row, sign)) for row in range(6) for sign in (1.0, -1.0)] + [
        Slack(_unit(BG_ROW, 1.0))
    ]
    given = _give_way(linear, slacks)
    if given is None:
        return (
            Obstacle(
                "places",
                "Lead, foam and moves cannot be combined at all: check the limits of the places.",
                0.0,
                "",
            ),
        )
    found = []
    for row, (name, unit) in enumerate(names):
        left = float(given[2 * row + 1] - given[2 * row])
        if abs(left) < 1e-3 * linear.yardstick[row]:
            continue
        amount = shown(abs(left), "mass", vessel.units)
        if unit == "kg m":
            amount = f"{shown(abs(left) / 0.1, 'mass', vessel.units)} at {shown(0.1, 'length', vessel.units)}"
        sense = "too much" if left > 0.0 else "too little"
        found.append(Obstacle(name, f"Several wishes clash; {name}: {amount} {sense}.", left, unit))
    if given[-1] > NEGLIGIBLE:
        short = float(given[-1]) / load(vessel, 1.0).mass_kg
        found.append(
            Obstacle(
                "bg", f"Several wishes clash; BG: {shown(short, 'length', vessel.units)} short.", -short, "m"
            )
        )
    return tuple(found)
