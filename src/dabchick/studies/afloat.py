"""`afloat`: how she lies now, at any tank fill, in any water."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import all_equilibria
from dabchick.physics.water import density_kg_m3
from dabchick.studies.air_lie import CarriedError, lay_with_air
from dabchick.studies.air_pockets import AirPocket, listed
from dabchick.studies.common import BALANCE_METHOD, BALANCE_SOURCES, BALANCE_VALIDITY, assumptions, warnings
from dabchick.studies.flooded_space import flooded_space
from dabchick.studies.lay import SPREAD_METHOD, describe, lay
from dabchick.studies.lie import Lie
from dabchick.studies.loading import load
from dabchick.studies.result import StudyResult

NO_AIR: Final = "no air is caught in her: all that floods is flooded as far as the water outside stands"
WITH_AIR: Final = (
    "the air that stays in at the attitude she comes to counts as displaced, at one atmosphere; GM and BG hold it "
    "as it is"
)
WITHOUT_OTHERS: Final = "the other ways to rest are found without trapped air"
RESTLESS: Final = Advice(
    what="She and her air come to no rest: each turn moves the air and the air turns her further.",
    todo="Let the air out at her highest points; `dabchick air --vents` says where.",
    key="hull.openings",
    severity="warning",
)


@dataclass(frozen=True, kw_only=True)
class AfloatResult(StudyResult):
    """How she lies with these tank fills in this water."""

    water_density_kg_m3: float
    lie: Lie
    """Let go upright: floating, or sinking."""
    under: Lie
    """Held wholly under water and free to turn, with the same fills."""
    others: tuple[Lie, ...]
    """Every other equilibrium over all attitudes, least energy first; empty unless asked for."""
    complete: bool
    """All equilibria were asked for, and Morse's count says that none is missing."""
    air: tuple[AirPocket, ...] = ()
    """With the trapped air asked for: the pockets that stay in as she lies, the largest first."""
    air_under: tuple[AirPocket, ...] = ()
    """Those that stay in when she is held wholly under."""


def run(
    vessel: Vessel,
    share: float | Mapping[str, float] = 0.0,
    *,
    temperature_c: float | None = None,
    salinity_g_kg: float | None = None,
    every: bool = False,
    air: bool = False,
) -> AfloatResult:
    """How she lies with tanks filled to `share` (0 to 1, one for all or by name).

    `temperature_c` and `salinity_g_kg` put her in other water. `every` also finds all other equilibria, `air` counts
    the air that stays in her flooded space at the attitude she comes to.
    """
    density = vessel.water_density_kg_m3
    if temperature_c is not None or salinity_g_kg is not None:
        density = float(
            density_kg_m3(
                vessel.water_temperature_c if temperature_c is None else temperature_c,
                vessel.water_salinity_g_kg if salinity_g_kg is None else salinity_g_kg,
            )
        )
    loading = load(vessel, share, density)
    state = "surfaced" if not any(loading.fills.values()) else "as filled"
    lie = lay(vessel, loading, state)
    under = lay(vessel, loading, "wholly under", hanging=True)
    pockets: tuple[AirPocket, ...] = ()
    pockets_under: tuple[AirPocket, ...] = ()
    assumed = [NO_AIR]
    restless: list[Advice] = []
    if air:
        space = flooded_space(vessel)
        afloat = lay_with_air(vessel, space, loading, state)
        pockets, lie, settled = listed(space, afloat.air, density, under), afloat.lie, afloat.settled
        assumed = [WITH_AIR, *([WITHOUT_OTHERS] if every else [])]
        restless = [*space.advice]
        try:
            below = lay_with_air(vessel, space, loading, "wholly under", hanging=True)
        except CarriedError as fault:
            restless += [replace(entry, severity="warning") for entry in fault.advice]
        else:
            pockets_under = listed(space, below.air, density, under)
            under, settled = below.lie, settled and below.settled
        restless += [] if settled else [RESTLESS]
    others: tuple[Lie, ...] = ()
    complete = False
    if every and lie.condition == "floats":
        found = all_equilibria(loading.balance)
        complete = found.complete
        others = tuple(
            describe(vessel, loading, f"other {number}", rest, "floats")
            for number, rest in enumerate(found.found, start=1)
            if math.dist(rest.normal, lie.normal) > 1e-4
        )
    return AfloatResult(
        boat=vessel.name,
        method=f"{BALANCE_METHOD}; {SPREAD_METHOD}",
        sources=BALANCE_SOURCES,
        validity=BALANCE_VALIDITY,
        assumptions=assumptions(vessel, "the spread of GM counts the height of the weights only", *assumed),
        warnings=warnings(vessel, *restless, *_findings(vessel, lie, under)),
        water_density_kg_m3=density,
        lie=lie,
        under=under,
        others=others,
        complete=complete,
        air=pockets,
        air_under=pockets_under,
    )


def _findings(vessel: Vessel, lie: Lie, under: Lie) -> list[Advice]:
    found = []
    if lie.condition == "sinks":
        found.append(
            Advice(
                what=f"She sinks: {-lie.lift_kg.value * 1000:.0f} g too heavy with these fills.",
                todo="Take out weight, add foam, or fill the tank less.",
                severity="warning",
            )
        )
    elif not lie.stable:
        found.append(
            Advice(
                what="She rests here only on a knife edge and would turn over.",
                todo="Put weight lower or foam higher; `afloat --all` shows where she would end up.",
                severity="warning",
            )
        )
    elif abs(lie.heel_deg.value) > 90.0:
        found.append(
            Advice(
                what="Let go upright, she turns over and floats keel up.",
                todo="Put weight lower or foam higher.",
                severity="warning",
            )
        )
    if under.bg_m.value <= 0.0:
        found.append(
            Advice(
                what=(
                    f"Wholly under, her centre of gravity is {-under.bg_m.value * 1000:.1f} mm above her centre "
                    "of buoyancy."
                ),
                todo="Put weight lower or foam higher, or she rolls over when dived.",
                severity="warning",
            )
        )
    return found
