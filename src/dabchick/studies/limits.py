"""What the builder calls stable enough: limits with a reason for each, and usual ones by the size of the boat.

No rule for surface ships holds for models, and none is used: such rules rest on the heights of real waves and the
weights of real people, which do not shrink with the boat. A limit here is the builder's own choice.

The usual GM is that of a boat which a stated weight at her side heels by a stated angle at most,

    GM = w b / (M tan(heel)),

with w, b = 10 g and 10 mm for M = 3 kg; for another size the weight grows with her mass and its lever with her
length, so that GM grows with mass^(1/3).
"""

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics.balance import GRAVITY_M_S2

Key = Literal["gm_every", "gm_least", "bg", "range", "arm", "gm_longitudinal", "steady"]
Unit = Literal["m", "deg", "count"]

UNITS: Final[dict[Key, Unit]] = {
    "gm_every": "m",
    "gm_least": "m",
    "bg": "m",
    "range": "deg",
    "arm": "m",
    "gm_longitudinal": "m",
    "steady": "count",
}
OWN: Final = "common practice, no source"
CHOSEN: Final = "the builder's own choice"

SIDE_WEIGHT_KG: Final = 0.010
SIDE_ARM_M: Final = 0.010
SIDE_BOAT_KG: Final = 3.0
SIDE_HEEL_DEG: Final = 1.0
RANGE_DEG: Final = 60.0
ARM_HEEL_DEG: Final = 30.0

REAL_BG_M: Final = (0.2, 0.5)
"""General naval architecture, from memory: no table was read again."""
SUBMERSIBLE_BG_M: Final = (0.0254, 0.0508)
"""1 inch after the drop weight, 2 inches normally: read second hand, a hobby mailing list quoting a class rule."""


@dataclass(frozen=True)
class Limit:
    """The least (for `steady`: the most) that is enough, and why."""

    value: float
    source: str


@dataclass(frozen=True)
class Limits:
    """One limit for each criterion: lengths [m], range [deg], `steady` a count."""

    gm_every: Limit
    """GM in heel at every fill at which she may be stopped."""
    gm_least: Limit
    """GM at the least stable moment between the fills."""
    bg: Limit
    """Dived, tanks full."""
    range: Limit
    """Range of the righting arm, the smaller side."""
    arm: Limit
    """The greatest righting arm, of the weaker side."""
    gm_longitudinal: Limit
    steady: Limit
    """Jumps, forks and folds on the way."""

    def of(self, key: Key) -> Limit:
        """The limit of one criterion."""
        found = getattr(self, key)
        if not isinstance(found, Limit):
            raise TypeError(f"'{key}' is no criterion.")
        return found


def gm_for_side_weight(mass_kg: float, weight_kg: float, arm_m: float, heel_deg: float) -> float:
    """Least GM [m] with which a weight at an arm off the middle heels a boat of this mass by no more than `heel_deg`.

    All above zero, heel below 90 deg; raises BoatError otherwise.
    """
    _must(min(mass_kg, weight_kg, arm_m) > 0.0 and 0.0 < heel_deg < 90.0, "side weight")
    return weight_kg * arm_m / (mass_kg * math.tan(math.radians(heel_deg)))


def gm_for_torque(mass_kg: float, torque_n_m: float, heel_deg: float) -> float:
    """Least GM [m] with which the torque of the motor on the shaft [N m] heels her by no more than `heel_deg`."""
    _must(min(mass_kg, torque_n_m) > 0.0 and 0.0 < heel_deg < 90.0, "torque")
    return torque_n_m / (mass_kg * GRAVITY_M_S2 * math.tan(math.radians(heel_deg)))


def _must(right: bool, key: str) -> None:
    if not right:
        raise BoatError(
            Advice(
                what="A heeling weight, its arm, a torque and a mass are above zero, and the heel below 90 deg.",
                todo="Give such values, for example 10 g at 10 mm for 1 deg.",
                key=key,
            )
        )


def usual_limits(vessel: Vessel) -> Limits:
    """The usual limits for a boat of this mass; BG is the boat file's own wish."""
    mass = sum(item.mass_kg for item in vessel.items)
    _must(mass > 0.0, "mass")
    size = (mass / SIDE_BOAT_KG) ** (1.0 / 3.0)
    gm = size * gm_for_side_weight(SIDE_BOAT_KG, SIDE_WEIGHT_KG, SIDE_ARM_M, SIDE_HEEL_DEG)
    gm = round(gm, 4)
    arm = round(gm * math.sin(math.radians(ARM_HEEL_DEG)), 5)
    why = (
        "by size: 10 g put 10 mm to the side of a 3 kg boat heel her by 1 deg at most, other sizes in proportion to "
        f"mass^(1/3); {OWN}"
    )
    return Limits(
        gm_every=Limit(gm, why),
        gm_least=Limit(gm, why),
        bg=Limit(vessel.wishes.least_bg_m, "least_bg of the boat file"),
        range=Limit(RANGE_DEG, OWN),
        arm=Limit(arm, f"what the least GM gives at 30 deg if she swings like a pendulum; {OWN}"),
        gm_longitudinal=Limit(gm, f"as in heel: dived, both are BG; {OWN}"),
        steady=Limit(0.0, f"she must not go over by herself; {OWN}"),
    )


def chosen_limits(
    vessel: Vessel,
    *,
    gm_m: float | None = None,
    gm_every_m: float | None = None,
    bg_m: float | None = None,
    range_deg: float | None = None,
    arm_m: float | None = None,
    gm_longitudinal_m: float | None = None,
) -> Limits:
    """The usual limits with the builder's own in their place: lengths 0 or more, range 0 to 180. Raises BoatError.

    `gm_m` holds for the least moment and, unless `gm_every_m` says otherwise, for every fill.
    """
    limits = usual_limits(vessel)
    asked: dict[Key, float | None] = {
        "gm_least": gm_m,
        "gm_every": gm_m if gm_every_m is None else gm_every_m,
        "bg": bg_m,
        "range": range_deg,
        "arm": arm_m,
        "gm_longitudinal": gm_longitudinal_m,
    }
    faults = []
    for key, value in asked.items():
        most = 180.0 if key == "range" else math.inf
        if value is not None and not (0.0 <= value <= most and math.isfinite(value)):
            faults.append(
                Advice(
                    what="This limit is no length of 0 or more."
                    if key != "range"
                    else "The range of the righting arm lies between 0 and 180 deg.",
                    todo="Give another one, or none for the usual one.",
                    key=key,
                    given=f"{value:g}",
                    allowed="0 to 180 deg" if key == "range" else "0 or more",
                )
            )
    if faults:
        raise BoatError(*faults)
    given = {key: Limit(value, CHOSEN) for key, value in asked.items() if value is not None}
    return replace(limits, **given)
