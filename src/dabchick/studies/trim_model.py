"""Both states at once as linear rows in the amounts of lead and foam and the shifts of movable parts.

At the wished waterline, boat level, with M, W, V for masses, tank water and volumes and "sub" for under the surface:

    0  M - rho Vsub                 = 0      force, surfaced           [kg]
    1  (M G - rho Vsub Bsub).x      = 0      pitch, surfaced           [kg m]
    2  (M G - rho Vsub Bsub).y      = 0      heel, surfaced            [kg m]
    3  M + W - rho V + lift         = 0      force, dived              [kg]
    4  ((M G + W C) - k rho V B).x  = 0      pitch, dived              [kg m]
    5  ((M G + W C) - k rho V B).y  = 0      heel, dived               [kg m]
    6  (k rho V B - (M G + W C)).z - BG (M + W) >= 0                   [kg m]

with k = (rho V - lift) / (rho V), since dived rho V = M + W + lift. Lead, foam and shifts enter linearly but for
where their own blocks lie, which is taken from the round before and set right by the full balance.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Item, Place, Vessel
from dabchick.physics.equilibrium import UPRIGHT
from dabchick.physics.pose import pose
from dabchick.studies.loading import Loading, load
from dabchick.studies.trim_blocks import Block, foam_block, foam_room_m3, lead_block, lead_room_m3
from dabchick.studies.trim_coins import piece_step

Array = NDArray[np.float64]
ROWS = 7
BG_ROW = 6
LEAST_ARM_M = 0.003
"""A righting arm's height below which the yardsticks for angles no longer shrink."""

GOOD_DRAUGHT_M = 0.0005
GOOD_ANGLE_DEG = 0.25
GOOD_LIFT_KG = 0.001
"""Half of what counts as right in the bath (1 mm, 0.5 deg, 2 g): the yardstick for misses."""


GRAM_KG = 1e-3
MILLILITRE_M3 = 1e-6
MILLIMETRE_M = 1e-3
LEAST_LEAD_KG = 0.0005
"""Half a gram of sheet lead: less is not worth a place."""
LEAST_MOVE_M = 0.001
"""A part is shifted by a millimetre or not at all."""


@dataclass(frozen=True)
class Column:
    """One amount to choose, in units of the bench (g, pieces, ml, mm) so that the solver's numbers are near 1."""

    kind: Literal["lead", "foam", "move"]
    place: int
    """Index of the place, or of the movable item."""
    coefficients: tuple[float, ...]
    """What one unit does to the seven rows."""
    high: float
    """Most units."""
    least: float
    """Least units where any are used at all."""
    whole: bool
    piece_kg: float
    """Mass of one piece, or of the step that pieces come in, for lead in pieces, else 0."""
    mass_per_unit: float
    volume_per_unit: float
    shift_per_unit: float = 0.0
    """For a move: metres along the rail's direction."""


@dataclass(frozen=True, eq=False)
class TrimModel:
    """Rows, right-hand sides and yardsticks for one waterline."""

    columns: tuple[Column, ...]
    matrix: Array
    """(7, n)."""
    base: Array
    """(7,): the rows with nothing added."""
    yardstick: Array
    """(6,): a miss of this size moves her by the good draught, angle or lift, the others held."""
    measure: Array
    """(6, 6): the first six rows times this are misses in yardsticks, moments taken where a force does not trim her:
    about the centre of floatation when surfaced, the centre of buoyancy when dived."""


def bare(vessel: Vessel) -> Vessel:
    """The vessel without what an earlier trim put in."""
    return replace(vessel, items=tuple(item for item in vessel.items if not item.from_trim))


def rows_of(vessel: Vessel, empty: Loading, full: Loading, waterline_m: float) -> Array:
    """The seven rows (7,) of a vessel by the exact cut, her trim pieces included."""
    rows = np.empty(ROWS)
    surfaced = pose(empty.balance, UPRIGHT, waterline_m)
    rho = vessel.water_density_kg_m3
    rows[0] = -surfaced.slopes[0]
    rows[1:3] = (surfaced.moment_kg_m - rho * surfaced.volume_moment_m4)[:2]
    lift = full.balance.density * full.balance.buoyant_volume - full.mass_kg
    dived = pose(full.balance, UPRIGHT, waterline_m, hanging=True)
    left = dived.moment_kg_m - dived.mass_kg * full.balance.buoyant_centre
    rows[3] = vessel.wishes.lift_dived_kg - lift
    # The hanging balance lets her mass, not k rho V, act at B; the two part by row 3 while that is not yet zero.
    centre = full.balance.buoyant_centre
    rows[4:6] = left[:2] + rows[3] * centre[:2]
    rows[6] = -left[2] - rows[3] * centre[2] - vessel.wishes.least_bg_m * full.mass_kg
    return rows


def _measures(vessel: Vessel, empty: Loading, full: Loading, waterline_m: float) -> tuple[Array, Array]:
    """What each of the first six rows may miss for the good draught at the marks, angle and lift; and `measure`."""
    h = pose(empty.balance, UPRIGHT, waterline_m).stiffness
    afloat = h[0, 0] > 0.0
    floatation = -h[0, 1:] / h[0, 0] if afloat else np.zeros(2)
    stiffness = np.diag(h)[1:] - (h[0, 1:] ** 2 / h[0, 0] if afloat else 0.0)
    angle = np.radians(GOOD_ANGLE_DEG)
    hung = full.mass_kg * max(vessel.wishes.least_bg_m, LEAST_ARM_M)
    half_span = max(0.5 * abs(vessel.mark_bow_m - vessel.mark_stern_m), 1e-3)
    trim = min(angle, 0.5 * GOOD_DRAUGHT_M / half_span)
    soft = 0.1 * empty.mass_kg * LEAST_ARM_M
    yardstick = np.array(
        [
            max(0.5 * h[0, 0] * GOOD_DRAUGHT_M, 1e-4),
            max(abs(stiffness[0]), soft) * trim,
            max(abs(stiffness[1]), soft) * angle,
            GOOD_LIFT_KG,
            hung * angle,
            hung * angle,
        ]
    )
    about = np.eye(6)
    about[1:3, 0] = -floatation
    about[4:6, 3] = -full.balance.buoyant_centre[:2]
    return yardstick, about / yardstick[:, None]


def movable(vessel: Vessel) -> tuple[Item, ...]:
    """The items with a rail to move on."""
    return tuple(item for item in vessel.items if item.rail is not None and item.mass_kg > 0.0)


def model(
    vessel: Vessel,
    places: tuple[Place, ...],
    waterline_m: float,
    amounts: Mapping[tuple[str, int], float],
    *,
    sheet: bool,
) -> TrimModel:
    """Set up the rows for a bare vessel; `amounts` [m3] by (material, place) say where each block's middle is taken."""
    empty, full = load(vessel, 0.0), load(vessel, 1.0)
    rho = vessel.water_density_kg_m3
    whole_volume = full.balance.buoyant_volume
    kept = 1.0 - vessel.wishes.lift_dived_kg / (rho * whole_volume)
    wishes = vessel.wishes
    columns = [
        column
        for index, item in enumerate(movable(vessel))
        for column in _move_columns(index, item, vessel, waterline_m, kept)
    ]
    for index, place in enumerate(places):
        lead_room = lead_room_m3(place, wishes) if place.holds != "foam" else 0.0
        foam_room = foam_room_m3(place, wishes) if place.holds != "lead" else 0.0
        if lead_room > 0.0:
            guess = min(amounts.get(("lead", index), 0.25 * lead_room), lead_room)
            row = _block_row(lead_block(place, guess), wishes.lead_density_kg_m3, vessel, waterline_m, kept)
            most = lead_room * wishes.lead_density_kg_m3
            columns += _lead_columns(index, row / wishes.lead_density_kg_m3, most, vessel, sheet=sheet)
        if foam_room >= max(wishes.foam_least_volume_m3, MILLILITRE_M3 * 1e-3):
            guess = min(amounts.get(("foam", index), 0.5 * foam_room), foam_room)
            block = foam_block(place, max(guess, 1e-9), wishes)
            row = _block_row(block, wishes.foam_density_kg_m3, vessel, waterline_m, kept)
            columns.append(
                Column(
                    kind="foam",
                    place=index,
                    coefficients=tuple(row * MILLILITRE_M3),
                    high=foam_room / MILLILITRE_M3,
                    least=wishes.foam_least_volume_m3 / MILLILITRE_M3,
                    whole=False,
                    piece_kg=0.0,
                    mass_per_unit=wishes.foam_density_kg_m3 * MILLILITRE_M3,
                    volume_per_unit=MILLILITRE_M3,
                )
            )
    yardstick, measure = _measures(vessel, empty, full, waterline_m)
    return TrimModel(
        columns=tuple(columns),
        matrix=np.array([column.coefficients for column in columns]).reshape(-1, ROWS).T,
        base=rows_of(vessel, empty, full, waterline_m),
        yardstick=yardstick,
        measure=measure,
    )


def _lead_columns(index: int, per_kg: Array, most_kg: float, vessel: Vessel, *, sheet: bool) -> list[Column]:
    """Lead in one place: grams of sheet, or whole steps of the pieces' sums, or a count of each piece."""
    density = vessel.wishes.lead_density_kg_m3

    def column(unit_kg: float, least: float, *, piece: bool) -> Column:
        high = most_kg / unit_kg
        return Column(
            kind="lead",
            place=index,
            coefficients=tuple(per_kg * unit_kg),
            high=float(int(high + 1e-9)) if piece else high,
            least=least,
            whole=piece,
            piece_kg=unit_kg if piece else 0.0,
            mass_per_unit=unit_kg,
            volume_per_unit=unit_kg / density,
        )

    if sheet:
        return [column(GRAM_KG, LEAST_LEAD_KG / GRAM_KG, piece=False)] if most_kg >= LEAST_LEAD_KG else []
    step = piece_step(vessel.wishes.lead_pieces_kg)
    if step is None:
        return [column(piece, 0.0, piece=True) for piece in vessel.wishes.lead_pieces_kg if piece <= most_kg]
    return (
        [column(step.step_kg, round(step.least_kg / step.step_kg), piece=True)]
        if step.least_kg <= most_kg
        else []
    )


def _block_row(block: Block, density: float, vessel: Vessel, waterline_m: float, kept: float) -> Array:
    """The seven rows of 1 m3 of a material lying as the block does."""
    rho = vessel.water_density_kg_m3
    x, y, z = block.centre_m
    wet, wet_centre = block.volume_under(waterline_m)
    share = wet / (block.size_m[0] * block.size_m[1] * block.size_m[2])
    return np.array(
        [
            density - rho * share,
            density * x - rho * share * wet_centre[0],
            density * y - rho * share * wet_centre[1],
            density - rho,
            (density - kept * rho) * x,
            (density - kept * rho) * y,
            (kept * rho - density) * z - vessel.wishes.least_bg_m * density,
        ]
    )


def _move_columns(index: int, item: Item, vessel: Vessel, waterline_m: float, kept: float) -> list[Column]:
    """A part shifted along its rail, as a way forth and a way back, so that either has its price.

    Its moment moves, and that of its own displacement as far as it is under.
    """
    if item.rail is None:
        return []
    rho = vessel.water_density_kg_m3
    direction = np.array(item.rail.direction)
    under = rho * item.volume_m3 if item.volume_centre_m[2] < waterline_m else 0.0
    surfaced = (item.mass_kg - under) * direction
    dived = (item.mass_kg - kept * rho * item.volume_m3) * direction
    row = np.array([0.0, surfaced[0], surfaced[1], 0.0, dived[0], dived[1], -dived[2]])
    return [
        Column(
            kind="move",
            place=index,
            coefficients=tuple(sign * MILLIMETRE_M * row),
            high=most / MILLIMETRE_M,
            least=LEAST_MOVE_M / MILLIMETRE_M,
            whole=False,
            piece_kg=0.0,
            mass_per_unit=0.0,
            volume_per_unit=0.0,
            shift_per_unit=sign * MILLIMETRE_M,
        )
        for sign, most in ((1.0, item.rail.high_m), (-1.0, -item.rail.low_m))
        if most >= LEAST_MOVE_M
    ]
