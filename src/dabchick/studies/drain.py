"""`drain`: water that lags in casing and hull when she comes up or goes down, and what it does to her stability."""

import math
from collections.abc import Callable, Mapping
from typing import Final

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics.balance import Array
from dabchick.physics.orifice import AIR_KG_M3, EDGE_BAND, SHARP_EDGE
from dabchick.studies.common import BALANCE_METHOD, BALANCE_SOURCES, assumptions, warnings
from dabchick.studies.drain_course import Ballast, follow
from dabchick.studies.drain_result import Band, Course, DrainResult, DrainSpace, Matters, Remedy, Slower
from dabchick.studies.drain_search import matters, remedies, slower
from dabchick.studies.drain_spaces import HULL, WaterSpaces, water_spaces
from dabchick.studies.lagging import Lagging, lagging
from dabchick.studies.loading import OPEN_BOTTOMED, fills_for
from dabchick.studies.speech import Speech

Tell = Callable[[str, float], None]

BLOW_S: Final = 20.0
METHOD: Final = (
    f"{BALANCE_METHOD}; each flooded space displaces and holds water of its own level and air of its own "
    "pressure; flow "
    "through round holes by the orifice formula over their height, both ways, water and air; time steps implicit in "
    "water and air, their length by step doubling"
)
SOURCES: Final = (
    *BALANCE_SOURCES,
    "orifice: Torricelli; coefficient of discharge 0.62 for a sharp edge, Encyclopaedia Britannica 11th ed. (1911), "
    "Hydraulics (read in a public transcription); 0.6 usual (Midoux, as cited on powderprocess.net, read)",
    "Boyle's law; standard atmosphere 101325 Pa, 10th CGPM (1954)",
    "air 1.225 kg/m3 at 15 degC: International Standard Atmosphere, ISO 2533 (from memory)",
)
VALIDITY: Final = (
    "still water, slow motion: she is at rest for the water in her at every moment, no momentum, no rolling; one level "
    "in each space, no baffles, nothing clings or clogs; holes of 3 mm and less drain slower or not at all"
)
TIGHT_M: Final = 3e-3
SEARCH: Final = 1e-3
"""Tolerance of the steps in a search."""


def run(
    vessel: Vessel,
    *,
    blow_s: float | None = None,
    fill_s: float | None = None,
    rates_m3_s: Mapping[str, float] | None = None,
    discharge: float = SHARP_EDGE,
    limit_m: float | None = None,
    help_wanted: bool = True,
    tell: Tell | None = None,
) -> DrainResult:
    """Both ways in time: tanks blown evenly in `blow_s` from dived, and filled in `fill_s` from the surface.

    `rates_m3_s` gives tanks a rate of their own instead. With a `limit_m` for GM the smallest openings and the shortest
    time of blowing that keep it are found; without `help_wanted` only the two ways. Raises BoatError.
    """
    _asked(vessel, blow_s, fill_s, rates_m3_s, discharge, limit_m)
    say = tell or (lambda text, share: None)
    say("Taking the flooded room apart", 0.01)
    found = water_spaces(vessel)
    boat = lagging(vessel, found)
    up = _ballast(vessel, "up", blow_s, rates_m3_s)
    down = _ballast(vessel, "down", blow_s if fill_s is None else fill_s, rates_m3_s)
    searching = help_wanted and limit_m is not None
    share = 0.12 if searching else 0.35
    rise = _followed(boat, up, discharge, tell=lambda at: say("Coming up", 0.02 + share * at))
    dive = _followed(boat, down, discharge, tell=lambda at: say("Going down", 0.02 + share * (1.0 + at)))
    band: list[Band] = []
    if help_wanted:
        for number, edge in enumerate(EDGE_BAND):
            say("With other edges", 0.02 + share * 2.0 + 0.05 * number)
            ways = [_followed(boat, way, edge, tolerance=SEARCH, figures=False) for way in (up, down)]
            band.append(Band(edge, ways[0].least_gm_m, ways[0].times, ways[1].times))

    def least(factors: Array, ballast: Ballast = up) -> float:
        return _followed(
            boat, ballast, discharge, factors=factors, tolerance=SEARCH, figures=False
        ).least_gm_m

    begun = 0.02 + share * 2.0 + 0.1
    weighed: tuple[Matters, ...] = ()
    if help_wanted and found.passages:
        say("Which space matters", begun)
        weighed = matters(found, least, rise.least_gm_m)
    cures: tuple[Remedy, ...] = ()
    later: Slower | None = None
    if searching and limit_m is not None and found.passages:
        as_is = least(np.ones(len(found.passages)))
        cures = remedies(
            found,
            least,
            limit_m,
            as_is,
            lambda at: say("Finding the smallest openings", begun + 0.05 + 0.4 * at),
        )
        say("Finding the shortest time", begun + 0.5)
        later = slower(
            lambda seconds: least(np.ones(len(found.passages)), _in(up, seconds)),
            limit_m,
            (up.whole_s, as_is),
        )
    return DrainResult(
        boat=vessel.name,
        method=METHOD,
        sources=SOURCES,
        validity=VALIDITY,
        assumptions=assumptions(vessel, *found.assumptions, *_assumed(vessel, blow_s, rates_m3_s, discharge)),
        warnings=warnings(vessel, *found.advice, *_findings(vessel, found, rise, dive, limit_m)),
        water_density_kg_m3=vessel.water_density_kg_m3,
        air_density_kg_m3=AIR_KG_M3,
        discharge=discharge,
        limit_m=math.nan if limit_m is None else limit_m,
        spaces=tuple(
            DrainSpace(
                space.name,
                space.key,
                space.room_m3,
                sum(number in (passage.space, passage.other) for passage in found.passages),
            )
            for number, space in enumerate(found.spaces)
        ),
        up=rise,
        down=dive,
        band=tuple(band),
        matters=weighed,
        remedies=cures,
        slower=later,
    )


def _followed(
    boat: Lagging,
    ballast: Ballast,
    discharge: float,
    *,
    factors: Array | None = None,
    tolerance: float = 3e-4,
    figures: bool = True,
    tell: Callable[[float], None] | None = None,
) -> Course:
    try:
        return follow(
            boat,
            ballast,
            discharge,
            factors=factors,
            tolerance=tolerance,
            figures=figures,
            tell=tell,
        )
    except ArithmeticError as fault:
        raise BoatError(
            Advice(
                what="She cannot be followed to the end with the water that lags in her.",
                todo="Check that she floats and hangs at all: `dabchick afloat`.",
                given=str(fault),
            )
        ) from fault


def _ballast(
    vessel: Vessel, way: str, seconds: float | None, rates_m3_s: Mapping[str, float] | None
) -> Ballast:
    whole = BLOW_S if seconds is None else seconds
    rates = rates_m3_s or {}
    times = {
        tank.name: tank.capacity_m3 / rates[tank.name] if tank.name in rates else whole
        for tank in vessel.tanks
    }
    return Ballast("up" if way == "up" else "down", times)


def _in(ballast: Ballast, seconds: float) -> Ballast:
    """The same, drawn out or pressed together to last so long."""
    times = ballast.whole_s
    return Ballast(ballast.way, {name: length * seconds / times for name, length in ballast.times_s.items()})


def _asked(
    vessel: Vessel,
    blow_s: float | None,
    fill_s: float | None,
    rates_m3_s: Mapping[str, float] | None,
    discharge: float,
    limit_m: float | None,
) -> None:
    faults = []
    if not vessel.tanks:
        faults.append(
            Advice(
                what="This boat has no tank, so nothing is blown and she neither dives nor comes up.",
                todo="Add a tank: `dabchick tank` says how large.",
                key="tank",
            )
        )
    for name, value, low, high, allowed in (
        ("blow", blow_s, 0.1, 86400.0, "0.1 s to 1 day"),
        ("fill", fill_s, 0.1, 86400.0, "0.1 s to 1 day"),
        ("cd", discharge, 0.1, 1.0, "0.1 to 1; 0.62 for a sharp edge"),
        ("limit", limit_m, 0.0, 1.0, "0 mm to 1 m"),
    ):
        if value is not None and not low <= value <= high:
            faults.append(
                Advice(
                    what=f"The value {value:g} for {name} cannot be.",
                    todo="Give one within the limits.",
                    key=name,
                    given=f"{value:g}",
                    allowed=allowed,
                )
            )
    for name, rate in (rates_m3_s or {}).items():
        if not (math.isfinite(rate) and rate > 0.0):
            faults.append(
                Advice(
                    what=f"The tank {name} cannot empty at {rate * 1e6:g} ml/s.",
                    todo="Give each tank a rate above zero, such as main=20ml/s.",
                    key="rate",
                    given=f"{rate * 1e6:g} ml/s",
                    allowed="above 0",
                )
            )
    if faults:
        raise BoatError(*faults)
    fills_for(vessel, dict.fromkeys(rates_m3_s or {}, 0.0))


def _assumed(
    vessel: Vessel, blow_s: float | None, rates_m3_s: Mapping[str, float] | None, discharge: float
) -> list[str]:
    low, high = EDGE_BAND
    texts = [
        f"coefficient of discharge {discharge:g}; by the edge of the holes it lies between {low:g} and {high:g}",
        f"air {AIR_KG_M3:g} kg/m3 at one atmosphere, as warm as the water; every space begins without air caught in it",
        "tanks empty and fill evenly, whatever the depth",
        "GM and BG are over her own mass, so that without lag they are those of `afloat`",
    ]
    if blow_s is None and any(tank.name not in (rates_m3_s or {}) for tank in vessel.tanks):
        texts.append(f"tanks blown in {BLOW_S:g} s, since no time was given")
    if not vessel.spaces:
        texts.append("the whole flooded inside is one space: no [[space]] is given")
    if any(tank.system in OPEN_BOTTOMED for tank in vessel.tanks):
        texts.append("the air in blown tanks is not squeezed further on the way")
    return texts


def _findings(
    vessel: Vessel, found: WaterSpaces, rise: Course, dive: Course, limit_m: float | None
) -> list[Advice]:
    say = Speech(vessel)
    advice = []
    reached = {end for passage in found.passages for end in (passage.space, passage.other)}
    for number, space in enumerate(found.spaces):
        if number not in reached:
            advice.append(
                Advice(
                    what=f'No opening leads into the space "{space.name}", so its water and air stay as they are.'
                    if space.name != HULL
                    else "No opening leads into the hull, so its water and air stay as they are.",
                    todo="List the flooding holes and the vents with place and area.",
                    key=f"{space.key}.openings" if space.key else "hull.openings",
                    allowed="one low and one high, at least",
                    severity="warning",
                )
            )
            continue
        for course in (rise, dive):
            row = course.times[number]
            if row.left_m3 > max(0.01 * space.room_m3, 1e-6) and math.isnan(row.to_99_s):
                advice.append(
                    Advice(
                        what=f"{say.volume(row.left_m3)} of water stays in the {space.name}: it finds no way out."
                        if course.way == "up"
                        else f"{say.volume(row.left_m3)} of the {space.name} never floods: no water gets in, or its "
                        "air finds no way out.",
                        todo="Make a hole at its lowest point above the water."
                        if course.way == "up"
                        else "Make a hole low in it and a vent at its top; `dabchick air --vents` says where.",
                        key="hull.openings",
                        severity="warning",
                    )
                )
    small = [passage.name for passage in found.passages if passage.area_m2 < math.pi * TIGHT_M**2 / 4.0]
    if small:
        advice.append(
            Advice(
                what=f"Narrower than {say.length(TIGHT_M)}: {', '.join(small)}. Surface tension and dirt may "
                "block them.",
                todo="Make them wider where they matter (common practice).",
                key="hull.openings",
                severity="warning",
            )
        )
    for course, where in ((rise, "coming up"), (dive, "going down")):
        if not math.isnan(course.lets_go_s):
            advice.append(
                Advice(
                    what=f"She loses her hold {where}, {course.lets_go_s:.1f} s after the tanks begin, and rolls over.",
                    todo="Make the openings larger, blow more slowly, or put weight lower.",
                    key="hull.openings",
                    severity="warning",
                )
            )
    if limit_m is not None and rise.least_gm_m < limit_m:
        drained = rise.least_drained_gm_m
        even = drained < limit_m
        advice.append(
            Advice(
                what=f"Coming up her GM falls to {say.length(rise.least_gm_m)}, below the limit of "
                f"{say.length(limit_m)}"
                + (f"; even without any lagging water it falls to {say.length(drained)}." if even else "."),
                todo="Put weight lower or foam higher: no opening helps."
                if even
                else "Make the openings larger or blow more slowly, as proposed.",
                key="hull.openings",
                given=say.length(rise.least_gm_m),
                allowed=f"{say.length(limit_m)} or more",
                severity="warning",
            )
        )
    return advice
