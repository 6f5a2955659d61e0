"""`weights`: the ledger: total, centre, inertia, the spread of each, and which guesses matter."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.vessel import ItemKind, Known, Vector, Vessel
from dabchick.physics.equilibrium import find, sinks
from dabchick.physics.inertia import combine
from dabchick.physics.response import response
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.loading import load
from dabchick.studies.result import Figure, StudyResult

GUESS_MATTERS = 0.1
"""A guess that makes up more than this share of the variance of a total is worth weighing first."""


@dataclass(frozen=True)
class LedgerRow:
    """One item; `matters` are what one standard deviation of its mass does to the boat."""

    name: str
    kind: ItemKind
    inside: str
    known: Known
    mass_kg: Figure
    centre_m: Vector
    centre_spread_m: Vector
    volume_m3: Figure
    share_of_mass: float
    share_of_doubt: float
    """Of the variance of the total mass, 0 to 1."""
    matters_draught_m: float
    """Change of mean draught."""
    matters_trim_surfaced_deg: float
    matters_lift_kg: float
    """Change of dived lift: mass and volume together."""
    matters_trim_dived_deg: float


@dataclass(frozen=True, kw_only=True, eq=False)
class WeightsResult(StudyResult):
    """The ledger and its sums, tanks empty."""

    rows: tuple[LedgerRow, ...]
    """Heaviest first."""
    mass_kg: Figure
    centre_x_m: Figure
    centre_y_m: Figure
    centre_z_m: Figure
    inertia_kg_m2: NDArray[np.float64]
    """3x3 about the centre of mass, along the house axes; parts without a shape count as points."""
    volume_m3: Figure
    """Of all that displaces water, the rooms of tanks in the flooded space included."""
    unweighed: tuple[str, ...]
    weigh_first: tuple[str, ...]
    """Parts known by guess whose doubt matters most."""


def run(vessel: Vessel) -> WeightsResult:
    """The ledger of everything with a mass, tanks empty."""
    loading = load(vessel)
    items = sorted(loading.weighed, key=lambda item: -item.mass_kg)
    masses = np.array([item.mass_kg for item in items])
    spreads = np.array([item.mass_spread_kg for item in items])
    centres = np.array([item.centre_m for item in items])
    centre_spreads = np.array([item.centre_spread_m for item in items])
    total, centre, inertia = combine(masses, centres, np.array([item.inertia_kg_m2 for item in items]))
    variance = float(np.sum(spreads**2))
    centre_spread = np.sqrt(
        np.sum((masses[:, None] * centre_spreads) ** 2 + (spreads[:, None] * (centres - centre)) ** 2, axis=0)
    ) / float(total)

    balance = loading.balance
    afloat_moves = np.full((len(items), 3), np.nan)
    if not sinks(balance):
        rest = find(balance)
        moved = response(balance, rest)
        afloat_moves = moved.moves(moved.of_mass(centres) * spreads[:, None])
    full = load(vessel, 1.0)
    hanging = response(full.balance, find(full.balance, hanging=True))
    hung_moves = hanging.moves(hanging.of_mass(centres) * spreads[:, None])

    rows = tuple(
        LedgerRow(
            name=item.name,
            kind=item.kind,
            inside=item.inside,
            known=item.known,
            mass_kg=Figure(item.mass_kg, item.mass_spread_kg),
            centre_m=item.centre_m,
            centre_spread_m=item.centre_spread_m,
            volume_m3=Figure(item.volume_m3, item.volume_spread_m3),
            share_of_mass=item.mass_kg / float(total),
            share_of_doubt=item.mass_spread_kg**2 / variance if variance > 0.0 else 0.0,
            matters_draught_m=float(afloat_moves[index, 0]),
            matters_trim_surfaced_deg=math.degrees(afloat_moves[index, 1]),
            matters_lift_kg=math.hypot(item.mass_spread_kg, balance.density * item.volume_spread_m3),
            matters_trim_dived_deg=math.degrees(hung_moves[index, 1]),
        )
        for index, item in enumerate(items)
    )
    doubtful = sorted((row for row in rows if row.known == "guess"), key=lambda row: -row.share_of_doubt)
    weigh_first = tuple(row.name for row in doubtful if row.share_of_doubt > GUESS_MATTERS) or tuple(
        row.name for row in doubtful[:1]
    )
    volume_spread = math.sqrt(
        sum(item.volume_spread_m3**2 for item in vessel.items if item.solid is not None)
    )
    return WeightsResult(
        boat=vessel.name,
        method="sums of mass, moment and inertia; spreads of independent parts added in squares",
        sources=("Huygens-Steiner parallel axes",),
        validity="parts do not move; contents of the tanks left out",
        assumptions=assumptions(vessel, "inertia of a part is that of its shape filled evenly"),
        warnings=warnings(vessel, *_guess_warning(weigh_first, rows)),
        rows=rows,
        mass_kg=Figure(float(total), math.sqrt(variance)),
        centre_x_m=Figure(float(centre[0]), float(centre_spread[0])),
        centre_y_m=Figure(float(centre[1]), float(centre_spread[1])),
        centre_z_m=Figure(float(centre[2]), float(centre_spread[2])),
        inertia_kg_m2=inertia,
        volume_m3=Figure(balance.buoyant_volume, volume_spread),
        unweighed=vessel.unweighed,
        weigh_first=weigh_first,
    )


def _guess_warning(weigh_first: tuple[str, ...], rows: tuple[LedgerRow, ...]) -> tuple[Advice, ...]:
    doubt = sum(row.share_of_doubt for row in rows if row.name in weigh_first)
    if doubt <= GUESS_MATTERS:
        return ()
    return (
        Advice(
            what=f"{doubt:.0%} of the doubt in the total mass comes from guesses: {', '.join(weigh_first)}.",
            todo="Weigh these first.",
            key="part",
            severity="warning",
        ),
    )
