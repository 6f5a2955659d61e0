"""How she lies in one state: the figures that `afloat` and `trim` both report."""

from dataclasses import dataclass
from typing import Literal

from dabchick.model.vessel import Vector
from dabchick.studies.result import Figure

Condition = Literal["floats", "hangs", "sinks"]


@dataclass(frozen=True)
class Lie:
    """One state of the boat; a spread is one standard deviation carried from the ledger.

    `floats`: at rest with something out of the water. `hangs`: held wholly under water and free to turn,
    as a dived boat with a few grams of lift does on her way; then the draughts are NaN. `sinks`: heavier than
    all the water she can displace; the attitude is the one she sinks in.
    """

    name: str
    """Such as `surfaced` or `dived`."""
    condition: Condition
    fills: dict[str, float]
    """Filled share of each tank, 0 to 1."""
    draught_bow_m: Figure
    """At the forward mark, from the keel line up the mark to the water, positive when the keel is under."""
    draught_stern_m: Figure
    freeboard_m: Figure
    """Height of the highest point of the hull over the water; NaN when wholly under."""
    heel_deg: Figure
    """Positive to starboard."""
    trim_deg: Figure
    """Positive bow up."""
    lift_kg: Figure
    """Mass that the boat could still carry when wholly under with these fills; negative: she sinks."""
    mass_kg: Figure
    """With the tank water."""
    displaced_m3: float
    """Volume under water as she lies."""
    cg_m: Vector
    """With the tank water, in the house frame."""
    cb_m: Vector
    gm_transverse_m: Figure
    """Free surface counted; wholly under it equals BG less the free surface."""
    gm_longitudinal_m: Figure
    bg_m: Figure
    """Height of CB over CG, in the upright boat's z."""
    stable: bool
    force_residual: float
    """Unbalanced force over weight."""
    moment_residual: float
    """Unbalanced moment over weight times length."""
    normal: Vector
    """Up, in the house frame."""
    offset_m: float
    """The water surface is where normal . x = offset; NaN when wholly under."""
