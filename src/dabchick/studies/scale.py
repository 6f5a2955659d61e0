"""`scale`: which scale? A full-size boat at a row of scales: size, mass, speed, what one lifts and the water she wants.

Lengths go with the scale s, volumes with its cube. A model floats on her scale waterline when she displaces the scale
volume of the water she is in, so her mass is  m = M / s^3 * (rho_model / rho_full).  Speeds go with the root of s:
then the waves and the dive look right (equal Froude number V / sqrt(g L), W. Froude 1868-74).
"""

import math
from dataclasses import dataclass
from typing import Final, Literal

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import UnitSet, shown
from dabchick.physics.water import density_kg_m3
from dabchick.studies.result import StudyResult

Hands = Literal["one", "better two", "two or more"]

SCALES: Final = (24.0, 32.0, 48.0, 60.0, 72.0, 96.0)
GRAVITY_M_S2: Final = 9.80665
SEA: Final = (10.0, 35.0)
POND: Final = (15.0, 0.2)
"""Temperature [degC] and salt [g/kg] of the full-size boat's sea and the model's pond, where nothing is said."""

# All of these are common practice, no source; wide on purpose.
DRAUGHT_OF_HEIGHT: Final = 0.8
"""Surfaced draught over the hull's height from keel to deck."""
DRY_SHARE: Final = (0.4, 0.75)
"""Mass of a free-flooding model out of the water and drained, over what her form displaces surfaced."""
DIVE_ANGLE_DEG: Final = (15.0, 30.0)
"""Bow down on the way to the bottom: so deep must the water be that she is clear of it while her stern is still up."""
TURNING_LENGTHS: Final = (4.0, 8.0)
"""Clear water to turn in, with room to notice and to stop, in lengths of the boat."""
BOX_M: Final = (0.06, 0.15)
"""What a box or cradle is longer than the boat."""
LIFT_ONE_KG: Final = 20.0
LIFT_MOST_KG: Final = 25.0
"""Up to the one: one person from a bank; over the other: two."""
CAR_M: Final = 1.7
"""Longer boxes hardly lie in a usual car."""
MODEL_LENGTH_M: Final = (0.15, 5.0)
LIKELY_FULLNESS: Final = (0.35, 0.85)
"""Displacement over the box of length, beam and draught."""


@dataclass(frozen=True)
class FullSize:
    """The boat that the model is made after, in SI."""

    length_m: float
    beam_m: float
    draught_m: float
    displacement_kg: float
    """Surfaced."""
    dived_kg: float | None = None
    speed_m_s: float | None = None
    """Surfaced, or whichever is to be scaled."""
    height_m: float | None = None
    """Of the hull from keel to deck, without the sail."""


@dataclass(frozen=True)
class ScaleRow:
    """The model at one scale; NaN where the full-size figure was not given."""

    scale: float
    length_m: float
    beam_m: float
    draught_m: float
    height_m: float
    mass_surfaced_kg: float
    """What she displaces on her waterline: her own mass and the water that floods her below it."""
    mass_dived_kg: float
    dry_low_kg: float
    dry_high_kg: float
    """Out of the water and drained, free-flooding."""
    speed_m_s: float
    froude_number: float
    hands: Hands
    """How many people lift her, by the upper end of her dry mass."""
    depth_low_m: float
    depth_high_m: float
    turning_low_m: float
    turning_high_m: float
    transport_low_m: float
    transport_high_m: float


@dataclass(frozen=True, kw_only=True)
class ScaleResult(StudyResult):
    """The table, largest model first."""

    fullness: float
    """Displacement over the box of length, beam and draught: a check of the full-size figures."""
    rows: tuple[ScaleRow, ...]


def run(
    full: FullSize,
    scales: tuple[float, ...] = SCALES,
    *,
    full_density_kg_m3: float | None = None,
    model_density_kg_m3: float | None = None,
    units: UnitSet = "metric",
) -> ScaleResult:
    """The table for these scales, each the second number of 1:60. Raises BoatError with all that cannot be.

    Without densities [kg/m3]: sea water at 10 degC for the full size, a pond at 15 degC for the model. `units` are
    those of the assumptions.
    """
    sea = density_kg_m3(*SEA) if full_density_kg_m3 is None else full_density_kg_m3
    pond = density_kg_m3(*POND) if model_density_kg_m3 is None else model_density_kg_m3
    box = sea * full.length_m * full.beam_m * full.draught_m
    wrong = _faults(full, scales, box)
    if wrong:
        raise BoatError(*wrong)
    height = full.draught_m / DRAUGHT_OF_HEIGHT if full.height_m is None else full.height_m
    rows = tuple(_row(full, scale, height, pond / sea) for scale in sorted(set(scales)))
    return ScaleResult(
        boat=f"{full.length_m:g} m",
        method="lengths by the scale, mass by its cube and the waters' densities, speed by its square root (Froude)",
        sources=(
            "Froude's law of comparison (1868-74, from memory)",
            "TEOS-10 for the densities of the waters",
            "lifting: NIOSH, Applications Manual for the Revised NIOSH Lifting Equation, DHHS (NIOSH) 94-110 (1994), "
            "read in a textbook's account: 23 kg at most for one person under the best conditions, and a pond's bank "
            "is none of those",
            "depth, turning room, dry mass, box and the limits of 20 and 25 kg: common practice, no source",
        ),
        validity="models alike in form, 0.15 to 5 m long; depth and room to turn are rules of thumb with wide bands",
        assumptions=_assumed(full, full_density_kg_m3, model_density_kg_m3, units),
        warnings=tuple(_warnings(full, box, rows)),
        fullness=full.displacement_kg / box,
        rows=rows,
    )


def _row(full: FullSize, scale: float, height_m: float, waters: float) -> ScaleRow:
    length, height = full.length_m / scale, height_m / scale
    surfaced = full.displacement_kg / scale**3 * waters
    dived = math.nan if full.dived_kg is None else full.dived_kg / scale**3 * waters
    speed = math.nan if full.speed_m_s is None else full.speed_m_s / math.sqrt(scale)
    low, high = (height + length * math.sin(math.radians(angle)) for angle in DIVE_ANGLE_DEG)
    dry = tuple(share * surfaced for share in DRY_SHARE)
    return ScaleRow(
        scale=scale,
        length_m=length,
        beam_m=full.beam_m / scale,
        draught_m=full.draught_m / scale,
        height_m=height,
        mass_surfaced_kg=surfaced,
        mass_dived_kg=dived,
        dry_low_kg=dry[0],
        dry_high_kg=dry[1],
        speed_m_s=speed,
        froude_number=speed / math.sqrt(GRAVITY_M_S2 * length),
        hands="one" if dry[1] <= LIFT_ONE_KG else "better two" if dry[1] <= LIFT_MOST_KG else "two or more",
        depth_low_m=low,
        depth_high_m=high,
        turning_low_m=TURNING_LENGTHS[0] * length,
        turning_high_m=TURNING_LENGTHS[1] * length,
        transport_low_m=length + BOX_M[0],
        transport_high_m=length + BOX_M[1],
    )


def _faults(full: FullSize, scales: tuple[float, ...], box_kg: float) -> list[Advice]:
    found = []
    for name in ("length_m", "beam_m", "draught_m", "displacement_kg", "dived_kg", "speed_m_s", "height_m"):
        value = getattr(full, name)
        if value is not None and not (math.isfinite(value) and value > 0.0):
            found.append(
                Advice(
                    what=f"The {_NAMES[name]} is not above 0.",
                    todo="Give it with its unit."
                    if value
                    else "Give it, or leave it out if it is not known.",
                    key=_KEYS[name],
                    given=f"{value:g}",
                    allowed="above 0",
                )
            )
    if not scales or not all(math.isfinite(scale) and scale >= 1.0 for scale in scales):
        found.append(
            Advice(
                what="A scale is the second number of 1:60." if scales else "There is no scale.",
                todo="Write them like 48,60,72.",
                key="scales",
                given=", ".join(f"{scale:g}" for scale in scales),
                allowed="1 or more",
            )
        )
    if found:
        return found
    if full.beam_m >= full.length_m or full.draught_m >= full.length_m:
        found.append(
            Advice(
                what="She is wider or deeper than she is long.",
                todo="See whether two figures have changed places.",
                key="length",
                given=f"{full.length_m:g} m long, {full.beam_m:g} m wide, {full.draught_m:g} m deep",
            )
        )
    if full.displacement_kg > box_kg:
        found.append(
            Advice(
                what="She weighs more than the water in the box of her length, beam and draught.",
                todo="Check the displacement and its unit; tonnes are t, long tons are long ton.",
                key="displacement",
                given=f"{full.displacement_kg / 1000.0:.4g} t",
                allowed=f"below {box_kg / 1000.0:.4g} t",
            )
        )
    if full.dived_kg is not None and full.dived_kg < full.displacement_kg:
        found.append(
            Advice(
                what="Dived she displaces less than surfaced.",
                todo="See whether the two have changed places.",
                key="dived",
                given=f"{full.dived_kg / 1000.0:.4g} t",
                allowed=f"{full.displacement_kg / 1000.0:.4g} t or more",
            )
        )
    if full.height_m is not None and full.height_m < full.draught_m:
        found.append(
            Advice(
                what="The hull is lower than she is deep: her deck would be under water.",
                todo="Give the height from keel to deck.",
                key="height",
                given=f"{full.height_m:g} m",
                allowed=f"above {full.draught_m:g} m",
            )
        )
    return found


_NAMES: Final = {
    "length_m": "length",
    "beam_m": "beam",
    "draught_m": "draught",
    "displacement_kg": "displacement",
    "dived_kg": "displacement when dived",
    "speed_m_s": "speed",
    "height_m": "height of the hull",
}
_KEYS: Final = {name: name.partition("_")[0] for name in _NAMES}


def _assumed(full: FullSize, sea: float | None, pond: float | None, units: UnitSet) -> tuple[str, ...]:
    found = []
    if full.height_m is None:
        found.append(
            f"a hull {1.0 / DRAUGHT_OF_HEIGHT:g} times as high as her draught (common practice, no source)"
        )
    for given, (temperature, salt), name in ((sea, SEA, "she sails in"), (pond, POND, "the model sails in")):
        if given is None:
            rho = shown(density_kg_m3(temperature, salt), "density", units)
            found.append(f"{rho} of water that {name}: {temperature:g} degC, {salt:g} g/kg of salt")
    found.append(
        f"a free-flooding model weighs {DRY_SHARE[0]:g} to {DRY_SHARE[1]:g} of what she displaces surfaced, out of the "
        "water and drained; in a dry hull both are the same (common practice, no source)"
    )
    return tuple(found)


def _warnings(full: FullSize, box_kg: float, rows: tuple[ScaleRow, ...]) -> list[Advice]:
    found = []
    fullness = full.displacement_kg / box_kg
    low, high = LIKELY_FULLNESS
    if not low <= fullness <= high:
        found.append(
            Advice(
                what=f"She fills {fullness:.2f} of the box of her length, beam and draught, which is not usual.",
                todo="Check displacement, draught and their units.",
                key="displacement",
                given=f"{full.displacement_kg / 1000.0:.4g} t",
                allowed=f"usual: {low * box_kg / 1000.0:.4g} t to {high * box_kg / 1000.0:.4g} t",
                severity="warning",
            )
        )
    heavy = [row for row in rows if row.hands != "one"]
    if heavy:
        names = ", ".join(f"1:{row.scale:g}" for row in heavy)
        found.append(
            Advice(
                what=f"Too heavy for one person to lift from a bank with ease: {names}.",
                todo="Plan two people, a cradle with handles or a trolley into the water. "
                "Ask a doctor where your health sets its own limit.",
                key="scales",
                allowed=f"up to {LIFT_ONE_KG:g} kg by one, over {LIFT_MOST_KG:g} kg by two: common practice, no source",
                severity="warning",
            )
        )
    odd = [row for row in rows if not MODEL_LENGTH_M[0] <= row.length_m <= MODEL_LENGTH_M[1]]
    if odd:
        names = ", ".join(f"1:{row.scale:g}" for row in odd)
        found.append(
            Advice(
                what=f"No model of a likely length: {names}.",
                todo="Choose other scales.",
                key="scales",
                allowed=f"{MODEL_LENGTH_M[0]:g} m to {MODEL_LENGTH_M[1]:g} m long",
                severity="warning",
            )
        )
    return found
