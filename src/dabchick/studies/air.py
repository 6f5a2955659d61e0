"""`air`: the air that stays in her flooded space at any attitude, what it does to her, and where vents belong."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.placed_hull import vector
from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.equilibrium import up_vector
from dabchick.physics.pocket_shape import PocketShape, pocket_shape
from dabchick.physics.squeezed_air import squeezed
from dabchick.physics.trapped_air import Air
from dabchick.studies.afloat import RESTLESS
from dabchick.studies.air_lie import AirLie, CarriedError, air_at, lay_with_air
from dabchick.studies.air_pockets import NAMED_M3, AirPocket, listed, turns
from dabchick.studies.air_vents import PITCHES_DEG, VENT_DIAMETER_M, VentPlan, plan
from dabchick.studies.common import BALANCE_SOURCES, assumptions, warnings
from dabchick.studies.flooded_space import FloodedSpace, flooded_space
from dabchick.studies.lay import lay
from dabchick.studies.lie import Lie
from dabchick.studies.loading import highest_m, load
from dabchick.studies.result import StudyResult
from dabchick.studies.speech import Speech

Array = NDArray[np.float64]
Tell = Callable[[str, float], None]

METHOD: Final = (
    "join tree of the height over the flooded space in upright columns; pockets bounded by whole "
    "faces are measured by those "
    "faces, others by the columns; air shut in at one atmosphere, squeezed by Boyle's law where a depth is asked for"
)
SOURCES: Final = (
    *BALANCE_SOURCES,
    "join trees: Carr, Snoeyink, Axen, Computing contour trees in all dimensions, Comput. Geom. 24 "
    "(2003) 75-94 (from memory)",
    "Boyle's law; standard atmosphere 101325 Pa, 10th CGPM (1954); standard gravity 9.80665 m/s2, 3rd CGPM (1901)",
)
VALIDITY: Final = (
    "still water that has had time to rise; no air carried off by the flow, none dissolved; rigid parts"
)
DEPTHS_M: Final = (0.5, 1.0, 2.0, 5.0, 10.0)
LOST_TELLS_KG: Final = 0.001
STEEP_DEG: Final = 89.0
COMES_HEAVIER: Final = "heavier at depth"


@dataclass(frozen=True)
class AirAtDepth:
    """All the air with some water over her highest point."""

    depth_m: float
    volume_m3: float
    lift_kg: float


@dataclass(frozen=True)
class Dived:
    """Held wholly under with every tank full, free to turn."""

    pitch_deg: float
    heel_deg: float
    lift_kg: float
    bg_m: float
    air_m3: float


@dataclass(frozen=True, kw_only=True)
class AirResult(StudyResult):
    """The air that stays in at one attitude, and where she goes with it."""

    pitch_deg: float
    heel_deg: float
    depth_m: float
    """Water over her highest point by which the air is squeezed; NaN: not squeezed."""
    water_density_kg_m3: float
    spacing_m: float
    flooded_m3: float
    """All of the space that floods."""
    pockets: tuple[AirPocket, ...]
    small_count: int
    """Pockets too small to be listed."""
    small_m3: float
    volume_m3: float
    lift_kg: float
    centre_m: Vector
    pitch_effect_deg: float
    """What all this air does to her when dived, to first order: its moment about G over mass times BG."""
    heel_effect_deg: float
    depths: tuple[AirAtDepth, ...]
    without_air: Dived
    with_air: Dived | None
    """At rest with the air that stays in at that very attitude; None where it was not asked for or cannot be."""
    settled: bool
    """`with_air` has come to rest."""
    vents: VentPlan | None
    shapes: tuple[PocketShape, ...] = ()
    """For drawing, one for each of `pockets`; empty where they were not asked for."""


def run(
    vessel: Vessel,
    *,
    pitch_deg: float = 0.0,
    heel_deg: float = 0.0,
    depth_m: float | None = None,
    rest: bool = True,
    vents: bool = False,
    leave_m3: float = 1e-6,
    shapes: bool = False,
    tell: Tell | None = None,
) -> AirResult:
    """The air that stays in at a pitch (bow up) and heel (starboard down), dived.

    With `depth_m` of water over her highest point it is squeezed. `rest` also finds the attitude at which she
    and her air agree;
    `vents` proposes the fewest holes that leave at most `leave_m3` at level and 15 degrees either way. Raises
    BoatError.
    """
    _asked(pitch_deg, heel_deg, depth_m, leave_m3)
    say = tell or (lambda text, share: None)
    say("Finding the flooded space", 0.05)
    space = flooded_space(vessel)
    loading = load(vessel, 1.0)
    density = loading.balance.density
    up = up_vector(heel_deg, pitch_deg)
    say("Letting the water rise", 0.2)
    air = air_at(vessel, space, up, np.inf, density, depth_m)
    free = air if depth_m is None else air_at(vessel, space, up, np.inf, density)
    dry = lay(vessel, loading, "dived", hanging=True)
    wet: AirLie | None = None
    carried: tuple[Advice, ...] = ()
    if rest:
        say("Finding how she hangs with it", 0.35)
        try:
            wet = lay_with_air(vessel, space, loading, "dived", hanging=True, depth_m=depth_m)
        except CarriedError as fault:
            carried = tuple(replace(entry, severity="warning") for entry in fault.advice)
    if vents:
        say("Looking for the fewest vents", 0.55)
    planned = plan(vessel, space, leave_m3) if vents else None
    named = listed(space, air, density, dry)
    small = air.pockets[len(named) :]
    pitch, heel = turns(air.volume_m3, air.centre_m, density, dry)
    depths = _at_depths(vessel, space, free, density)
    return AirResult(
        boat=vessel.name,
        method=METHOD,
        sources=SOURCES,
        validity=VALIDITY,
        assumptions=assumptions(vessel, *_assumed(vessel, space, depth_m, vents)),
        warnings=warnings(vessel, *space.advice, *_findings(vessel, space, free, depths, wet), *carried),
        pitch_deg=pitch_deg,
        heel_deg=heel_deg,
        depth_m=math.nan if depth_m is None else depth_m,
        water_density_kg_m3=density,
        spacing_m=space.columns.spacing,
        flooded_m3=float(np.sum(space.columns.high - space.columns.low)) * space.columns.spacing**2,
        pockets=named,
        small_count=len(small),
        small_m3=float(sum(pocket.volume_m3 for pocket in small)),
        volume_m3=air.volume_m3,
        lift_kg=density * air.volume_m3,
        centre_m=vector(air.centre_m),
        pitch_effect_deg=pitch,
        heel_effect_deg=heel,
        depths=depths,
        without_air=_dived(dry, 0.0),
        with_air=None if wet is None else _dived(wet.lie, wet.air.volume_m3),
        settled=wet is not None and wet.settled,
        vents=planned,
        shapes=tuple(
            pocket_shape(space.columns, pocket, air.up)
            for pocket in air.pockets[: len(named) if shapes else 0]
        ),
    )


def _asked(pitch_deg: float, heel_deg: float, depth_m: float | None, leave_m3: float) -> None:
    faults = [
        Advice(
            what=f"The {name} is {value:g} {unit}, which cannot be.",
            todo=f"Give a {name} within the limits.",
            key=name,
            given=f"{value:g} {unit}",
            allowed=allowed,
        )
        for name, value, unit, right, allowed in (
            ("pitch", pitch_deg, "deg", abs(pitch_deg) <= STEEP_DEG, "-89 to 89 deg"),
            ("heel", heel_deg, "deg", abs(heel_deg) <= 180.0, "-180 to 180 deg"),
            ("depth", depth_m or 0.0, "m", 0.0 <= (depth_m or 0.0) < math.inf, "0 m or more"),
            ("volume to leave", leave_m3, "m3", 0.0 <= leave_m3 < math.inf, "0 ml or more"),
        )
        if not right
    ]
    if faults:
        raise BoatError(*faults)


def _at_depths(vessel: Vessel, space: FloodedSpace, free: Air, density: float) -> tuple[AirAtDepth, ...]:
    top = highest_m(vessel, free.up)
    rows = []
    for depth in DEPTHS_M:
        volume = sum(
            squeezed(space.columns, pocket, free.up, top + depth, density)[0] for pocket in free.pockets
        )
        rows.append(AirAtDepth(depth, float(volume), density * float(volume)))
    return tuple(rows)


def _dived(lie: Lie, air_m3: float) -> Dived:
    return Dived(lie.trim_deg.value, lie.heel_deg.value, lie.lift_kg.value, lie.bg_m.value, air_m3)


def _assumed(vessel: Vessel, space: FloodedSpace, depth_m: float | None, vents: bool) -> list[str]:
    say = Speech(vessel)
    texts = [
        "openings: each a round hole of its area, at the nearest point of the skin's inner face",
        f"columns {say.length(space.columns.spacing)} apart: smaller hollows than that hold no air here",
        "pitch and heel: every tank full, nothing but BG to hold her",
    ]
    shifted = [hole for hole in space.holes if hole.used and hole.off_m > 5e-4]
    if shifted:
        names = ", ".join(str(hole.number) for hole in shifted)
        texts.append(
            f"openings {names}: moved onto the skin, by up to {say.length(max(h.off_m for h in shifted))}"
        )
    if depth_m is not None:
        texts.append("air: shut in at the surface at 1013.25 hPa, as warm below as above")
    if vents:
        texts.append(
            f"vents: new ones {say.length(VENT_DIAMETER_M)} wide, larger ones twice as wide as they "
            f"are; looked at level and "
            f"{max(PITCHES_DEG):.0f} deg either way"
        )
    return texts


def _findings(
    vessel: Vessel,
    space: FloodedSpace,
    free: Air,
    depths: tuple[AirAtDepth, ...],
    wet: AirLie | None,
) -> list[Advice]:
    say = Speech(vessel)
    found = []
    if not space.mouths:
        found.append(
            Advice(
                what="No opening leads into the flooded space, so all the air in her stays in.",
                todo=(
                    "List the flooding holes and the vents with place and area; `dabchick air --vents` says where "
                    "vents belong."
                ),
                key="hull.openings",
                given="none" if not space.holes else "none that can be used",
                allowed="one low and one at the highest point, at least",
                severity="warning",
            )
        )
    else:
        shut = [pocket for pocket in free.pockets if pocket.mouth < 0 and pocket.volume_m3 > NAMED_M3]
        if shut:
            volume = float(sum(pocket.volume_m3 for pocket in shut))
            found.append(
                Advice(
                    what=f"{say.volume(volume)} of the inside is shut off: no opening leads there, so it never floods.",
                    todo="Make a hole into it, or give it as a part that displaces if it is meant to stay dry.",
                    where=say.at(vector(shut[0].centre_m)),
                    key="hull.openings",
                    severity="warning",
                )
            )
    lost = (
        depths[1].lift_kg - free.volume_m3 * (depths[1].lift_kg / depths[1].volume_m3)
        if free.pockets
        else 0.0
    )
    if -lost >= LOST_TELLS_KG:
        found.append(
            Advice(
                what=(
                    f"Her air is squeezed as she goes down: {say.mass(-lost)} of its lift is gone with "
                    f"{say.depth(depths[1].depth_m)} of water over her, so she is {COMES_HEAVIER} "
                    f"and may not come up by herself."
                ),
                todo="Let the air out with vents rather than trim her with it in.",
                key="hull.openings",
                severity="warning",
            )
        )
    if wet is not None and not wet.settled:
        found.append(RESTLESS)
    return found
