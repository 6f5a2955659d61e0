"""Righting arm over heel, trim let free or held."""

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from dabchick.physics.balance import Array, Balance
from dabchick.physics.equilibrium import SinksError
from dabchick.physics.settle import AT_REST, SINKS, arms_into


@dataclass(frozen=True, eq=False)
class ArmCurve:
    """Righting arms over heel."""

    heels_deg: Array
    arms_m: Array
    """Positive where the arm turns her back from a heel to starboard."""
    trims_deg: Array
    """The trim that she takes at each heel, positive bow up."""
    settled: bool
    """False where at some heel the trim did not come to rest."""


def arm_curve(
    balance: Balance,
    heels_deg: ArrayLike,
    *,
    free_trim: bool = True,
    hanging: bool = False,
    start_trim_deg: float = 0.0,
) -> ArmCurve:
    """Righting arm GZ = (1/M) dE/dheel [m] at each heel [deg], any range up to the full circle.

    With `free_trim` the boat trims until no pitching moment is left at every heel; else trim stays at
    `start_trim_deg`. `hanging` treats her as wholly under water. Heels should follow one another closely
    (10 deg or less), since each angle starts from the trim of the one before. Raises SinksError where she sinks.
    """
    heels = np.atleast_1d(np.asarray(heels_deg, dtype=np.float64))
    if not np.all(np.isfinite(heels)):
        raise ValueError("A heel angle is not a finite number. Give angles in degrees.")
    arms, trims = np.empty(heels.size), np.empty(heels.size)
    state = arms_into(
        balance, np.radians(heels), float(np.radians(start_trim_deg)), 0.0, hanging, free_trim, arms, trims
    )
    if state == SINKS:
        raise SinksError
    return ArmCurve(heels, arms, np.degrees(trims), state == AT_REST)


def arm_curves(
    balances: Sequence[Balance], heels_deg: ArrayLike, *, free_trim: bool = True, hanging: bool = False
) -> tuple[ArmCurve, ...]:
    """One curve for each balance (each tank fill, say), on every core: the kernels let go of the interpreter.

    Arguments and errors as for `arm_curve`.
    """
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        return tuple(
            pool.map(
                lambda entry: arm_curve(entry, heels_deg, free_trim=free_trim, hanging=hanging), balances
            )
        )
