"""Mass, centre and inertia tensor of many bodies together. Tensors are int (r.r 1 - r r^T) dm [kg m2]."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def _shift_term(mass: float, shift: Array) -> Array:
    return np.asarray(mass * (float(shift @ shift) * np.eye(3) - np.outer(shift, shift)))


def combine(masses: ArrayLike, centres: ArrayLike, inertias: ArrayLike) -> tuple[float, Array, Array]:
    """Total mass, common centre (3,) and inertia (3, 3) about it, by the parallel-axis theorem.

    masses (k,) [kg], centres (k, 3) [m], inertias (k, 3, 3) each about its own centre [kg m2]. Negative
    masses are allowed as long as the total is above 0; ValueError otherwise.
    """
    mass = np.asarray(masses, dtype=np.float64)
    centre = np.asarray(centres, dtype=np.float64).reshape(-1, 3)
    inertia = np.asarray(inertias, dtype=np.float64).reshape(-1, 3, 3)
    if not (mass.shape == (len(centre),) == (len(inertia),)):
        raise ValueError(
            f"Masses, centres and inertias differ in number: {mass.shape}, {len(centre)}, {len(inertia)}."
        )
    for what, values in (("mass", mass), ("centre", centre), ("inertia", inertia)):
        if not np.isfinite(values).all():
            row = int(np.argmin(np.isfinite(values).reshape(len(values), -1).all(axis=1)))
            raise ValueError(f"Body {row} has a {what} that is not finite. Give it, or leave it out.")
    total = float(mass.sum())
    if not total > 0.0:
        raise ValueError(f"The total mass is {total} kg, so there is no common centre. Give masses above 0.")
    # about the first centre, so that bodies far from the origin lose no digits
    base = centre[0]
    common = base + mass @ (centre - base) / total
    arms = centre - common
    squares = np.einsum("ki,ki->k", arms, arms)
    tensor = (
        inertia.sum(axis=0) + float(mass @ squares) * np.eye(3) - np.einsum("k,ki,kj->ij", mass, arms, arms)
    )
    return total, np.asarray(common), np.asarray(tensor)


def rotated(inertia: ArrayLike, rotation: ArrayLike) -> Array:
    """The tensor (3, 3) of a body turned by R (3, 3), x' = R x: R I R^T."""
    turn = np.asarray(rotation, dtype=np.float64)
    return np.asarray(turn @ np.asarray(inertia, dtype=np.float64) @ turn.T)


def moved(inertia: ArrayLike, mass: float, shift: ArrayLike) -> Array:
    """The tensor (3, 3) about a point `shift` (3,) [m] from the centre about which it is given, mass [kg]."""
    return np.asarray(inertia, dtype=np.float64) + _shift_term(mass, np.asarray(shift, dtype=np.float64))
