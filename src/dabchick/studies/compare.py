"""`compare`: two boats, or two versions of one, side by side in figures."""

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Final

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Datum, Vector, Vessel
from dabchick.physics.heeling import PORT, STARBOARD, righting_curve
from dabchick.studies import stability
from dabchick.studies.common import BALANCE_METHOD, BALANCE_SOURCES, BALANCE_VALIDITY
from dabchick.studies.lay import lay
from dabchick.studies.lie import Lie
from dabchick.studies.loading import load
from dabchick.studies.result import StudyResult

Tell = Callable[[str, float], None]

SAME_WORDS: Final = ("first", "second")


@dataclass(frozen=True)
class BoatFigures:
    """One boat in figures; places from one builder's zeros for both. NaN where a figure has no meaning."""

    mass_kg: float
    """Without tank water."""
    displaced_m3: float
    """Wholly under, the tanks' water not taken off."""
    tank_m3: float
    """Room of all tanks together."""
    tank_per_displaced_percent: float
    lift_dived_kg: float
    cg_along_m: float
    cg_across_m: float
    """To port."""
    cg_up_m: float
    cb_along_m: float
    """Dived."""
    cb_up_m: float
    draught_bow_m: float
    draught_stern_m: float
    freeboard_m: float
    heel_surfaced_deg: float
    trim_surfaced_deg: float
    gm_surfaced_m: float
    bg_surfaced_m: float
    range_surfaced_deg: float
    """From upright to where nothing turns her back, the weaker side; 180 where she comes back from any heel."""
    heel_dived_deg: float
    trim_dived_deg: float
    gm_dived_m: float
    bg_dived_m: float
    least_gm_m: float
    """On the way down and up again; NaN without a tank."""
    least_at_percent: float
    """Of the way from empty to full tanks."""


@dataclass(frozen=True)
class Compared:
    """One of the two."""

    title: str
    figures: BoatFigures
    surfaced: Lie
    dived: Lie
    lost: tuple[Advice, ...]
    """Why the way down could not be followed to its end; empty where it could."""
    holds: bool
    """She floats, and lies stable with her keel down surfaced and dived."""


@dataclass(frozen=True, kw_only=True)
class CompareResult(StudyResult):
    """Two boats; `difference` is the second less the first."""

    one: Compared
    other: Compared
    difference: BoatFigures


def run(
    one: Vessel,
    other: Vessel,
    titles: tuple[str, str] | None = None,
    *,
    tell: Tell | None = None,
) -> CompareResult:
    """Both boats, each in her own water, all figures twice and their difference. Raises BoatError."""
    say = tell or (lambda text, share: None)
    names = titles or (
        (one.name, other.name)
        if one.name != other.name
        else (f"{one.name}, {SAME_WORDS[0]}", f"{other.name}, {SAME_WORDS[1]}")
    )
    found = []
    for index, (vessel, title) in enumerate(zip((one, other), names, strict=True)):
        start = 0.5 * index

        def along(text: str, share: float, start: float = start, title: str = title) -> None:
            say(f"{title}: {text}", start + 0.5 * share)

        along("laying her", 0.0)
        found.append(_compared(vessel, title, zero_of(one, vessel), along))
    return CompareResult(
        boat=other.name,
        method=f"{BALANCE_METHOD}; range from the righting arms in free trim",
        sources=BALANCE_SOURCES,
        validity=BALANCE_VALIDITY,
        assumptions=(
            *_told(names, [one.assumptions, other.assumptions]),
            "places of both are given from the first one's zeros",
        ),
        warnings=(
            *(entry for each in found for entry in each.lost),
            *(
                Advice(
                    what=f"{entry.title} does not hold herself upright, surfaced or dived, or sinks.",
                    todo="Read her other figures with that in mind; `dabchick afloat --all` shows where she goes.",
                    severity="warning",
                )
                for entry in found
                if not entry.holds
            ),
        ),
        one=found[0],
        other=found[1],
        difference=BoatFigures(
            **{
                entry.name: getattr(found[1].figures, entry.name) - getattr(found[0].figures, entry.name)
                for entry in fields(BoatFigures)
            }
        ),
    )


def zero_of(first: Vessel, vessel: Vessel) -> Datum:
    """The first builder's kind of zeros on this boat: her own bow or stern, keel, waterline or axis."""
    wanted = first.datum
    if (wanted.x_from, wanted.z_from) == (vessel.datum.x_from, vessel.datum.z_from):
        return vessel.datum
    height = {"keel": 0.0, "waterline": vessel.waterline_m, "axis": wanted.z_origin_m}[wanted.z_from]
    along = vessel.high_m[0] if wanted.x_from == "bow" else vessel.low_m[0]
    return Datum(wanted.x_from, wanted.z_from, along, height)


def _told(names: tuple[str, str], lists: list[tuple[str, ...]]) -> list[str]:
    """What both assume once, what only one does with her name."""
    both = [text for text in lists[0] if text in lists[1]]
    own = [
        f"{name}: {text}"
        for name, texts in zip(names, lists, strict=True)
        for text in texts
        if text not in both
    ]
    return [*both, *own]


def _compared(vessel: Vessel, title: str, datum: Datum, tell: Tell) -> Compared:
    empty, full = load(vessel), load(vessel, 1.0)
    surfaced = lay(vessel, empty, "surfaced")
    dived = lay(vessel, full, "dived", hanging=True)
    least, at = math.nan, math.nan
    lost: tuple[Advice, ...] = ()
    if vessel.tanks:
        try:
            weakest = stability.run(vessel, tell=tell).least
            least, at = weakest.lie.gm_transverse_m.value, 100.0 * weakest.progress
        except BoatError as fault:
            # all other figures stand; why this one is missing is told with them
            lost = tuple(replace(entry, where=title, severity="warning") for entry in fault.advice)
    cg, cb = _place(datum, _dry_centre(vessel)), _place(datum, dived.cb_m)
    room = sum(tank.capacity_m3 for tank in vessel.tanks)
    displaced = full.balance.buoyant_volume
    return Compared(
        title=title,
        figures=BoatFigures(
            mass_kg=empty.mass_kg,
            displaced_m3=displaced,
            tank_m3=room,
            tank_per_displaced_percent=100.0 * room / displaced,
            lift_dived_kg=dived.lift_kg.value,
            cg_along_m=cg[0],
            cg_across_m=cg[1],
            cg_up_m=cg[2],
            cb_along_m=cb[0],
            cb_up_m=cb[2],
            draught_bow_m=surfaced.draught_bow_m.value,
            draught_stern_m=surfaced.draught_stern_m.value,
            freeboard_m=surfaced.freeboard_m.value,
            heel_surfaced_deg=surfaced.heel_deg.value,
            trim_surfaced_deg=surfaced.trim_deg.value,
            gm_surfaced_m=surfaced.gm_transverse_m.value,
            bg_surfaced_m=surfaced.bg_m.value,
            range_surfaced_deg=_range(vessel, surfaced),
            heel_dived_deg=dived.heel_deg.value,
            trim_dived_deg=dived.trim_deg.value,
            gm_dived_m=dived.gm_transverse_m.value,
            bg_dived_m=dived.bg_m.value,
            least_gm_m=least,
            least_at_percent=at,
        ),
        surfaced=surfaced,
        dived=dived,
        lost=lost,
        holds=surfaced.condition == "floats" and _upright(surfaced) and _upright(dived),
    )


def _place(datum: Datum, point: Vector) -> Vector:
    return datum.to_builder(point)


def _dry_centre(vessel: Vessel) -> Vector:
    """Centre of all that is weighed, tanks empty."""
    balance = load(vessel).balance
    x, y, z = (float(value) for value in balance.moment / balance.mass)
    return x, y, z


def _upright(lie: Lie) -> bool:
    return lie.stable and abs(lie.heel_deg.value) < 90.0


def _range(vessel: Vessel, lie: Lie) -> float:
    if lie.condition != "floats" or not _upright(lie):
        return math.nan
    curve = righting_curve(
        load(vessel).balance, lie.heel_deg.value, lie.trim_deg.value, hanging=False, step_deg=4.0
    )
    lost = [curve.lost_deg(way) for way in (STARBOARD, PORT)]
    return min(180.0 if math.isnan(heel) else abs(heel) for heel in lost)
