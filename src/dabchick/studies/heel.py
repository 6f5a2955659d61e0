"""`heel`: how much heeling moment she bears, and where torque, a turn, wind or a side weight take her."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.balance import GRAVITY_M_S2, with_air_held
from dabchick.physics.equilibrium import NotSettledError, SinksError, find
from dabchick.physics.heeling import (
    PORT,
    STARBOARD,
    Lever,
    RightingCurve,
    most_borne,
    rest_under,
    righting_curve,
    swing_under,
    way_of,
)
from dabchick.studies import heel_causes as causes
from dabchick.studies import stability
from dabchick.studies.common import BALANCE_SOURCES, assumptions, warnings
from dabchick.studies.heel_causes import Abeam, Side, Torque, Turn, Wind
from dabchick.studies.heel_result import Cause, Caused, Greatest, Heeled, HeelResult, HeelState, MomentTo, Way
from dabchick.studies.lay import lay
from dabchick.studies.lie import Lie
from dabchick.studies.loading import Loading, load, under_offset_m

Array = NDArray[np.float64]
Tell = Callable[[str, float], None]

STEPS_DEG: Final = (5.0, 10.0, 20.0)
FULL_SHARE: Final = 1.0
CAUSE_WORDS: Final[dict[Cause, str]] = {
    "torque": "The propeller's torque", "turn": "The", "wind": "Wind", "gust": "A gust", "side": "The side weight",
}  # fmt: skip
STEEP_DEG: Final = 15.0
_SAME_DEG: Final = 5.0
_SMALL_KG_M: Final = 1e-4
"""10 g moved 10 mm."""

METHOD: Final = (
    "righting arms with trim and immersion let free at every heel, every closed surface and tank cut exactly; she "
    "rests where the arm meets the heeling lever, found on the boat herself; swings by equal areas under the two"
)
VALIDITY: Final = (
    "still water, no damping: a real boat swings less far than stated. Moments about her own long axis; yaw is held "
    "by the rudder"
)
TORQUE_SAYS: Final = (
    "a right-handed propeller going ahead heels her to port; "
    "its torque is share x power / (2 pi x turns per second)"
)
TURN_SAYS: Final = (
    "in a turn the water inside the hull goes round with her, its level as outside; the water's side force acts at the "
    "centre of the lateral plane under water, or at half the draught, dived at the middle of the hull (the other end "
    "of the band). The whole side "
    "force is mass times v^2/R, so added mass needs no count of its own; it moves the force along and up or down "
    "her, which the band stands for"
)
WIND_SAYS: Final = (
    "the wind's speed is that at her height above the water, where it is weaker than a forecast's for 10 m"
)
SOURCES: Final = (
    "wind lever P A Z / (g mass) over the centre of the area under water, and equal areas for a gust: International "
    "Code on Intact Stability 2008, part A 2.3 (read in a public page, not in the code itself)",
    "drag across a body 1.1: Hoerner, Fluid-Dynamic Drag, as cited in a public thesis (T. Prestero, MIT/WHOI 2001, "
    "4.2.2); its band from 0.7 to 1.4 is common practice, no source",
)


@dataclass(frozen=True)
class _Asked:
    torque: Torque | None
    turn: Turn | None
    wind: Wind | None
    side: Side | None


def run(
    vessel: Vessel,
    *,
    torque: Torque | None = None,
    turn: Turn | None = None,
    wind: Wind | None = None,
    side: Side | None = None,
    fills: Sequence[float | Mapping[str, float]] = (),
    least: bool = False,
    tell: Tell | None = None,
) -> HeelResult:
    """Surfaced, dived, at each of `fills`, and with `least` at the least stable moment of the dive. Raises BoatError.

    Wind acts on floating states only. Without any cause it says how much moment she bears.
    """
    causes.checked(torque, turn, wind, side)
    say = tell or (lambda text, share: None)
    asked = _Asked(torque, turn, wind, side)
    found = _states(vessel, fills, least, say)
    states = []
    for index, (name, lie) in enumerate(found):
        say(f"Heeling her, {name}", 0.5 + 0.5 * index / len(found))
        states.append(_state(vessel, name, lie, asked))
    said = [
        text
        for text, given in ((TORQUE_SAYS, torque), (TURN_SAYS, turn), (WIND_SAYS, wind))
        if given is not None
    ]
    if torque is not None and torque.train_share is None:
        low, likely, high = causes.TRAIN
        said.append(
            f"{100 * likely:.0f} % of the motor's power reaches the propeller, from {100 * low:.0f} to "
            f"{100 * high:.0f} % (common practice, no source)"
        )
    return HeelResult(
        boat=vessel.name,
        method=METHOD,
        sources=(*BALANCE_SOURCES, *(SOURCES if wind is not None else ())),
        validity=VALIDITY,
        assumptions=assumptions(vessel, *said),
        warnings=warnings(vessel, *_findings(states)),
        water_density_kg_m3=vessel.water_density_kg_m3,
        torque=torque,
        turn=turn,
        wind=wind,
        side=side,
        states=tuple(states),
    )


def _states(
    vessel: Vessel, fills: Sequence[float | Mapping[str, float]], least: bool, say: Tell
) -> list[tuple[str, Lie]]:
    found = [
        ("surfaced", lay(vessel, load(vessel), "surfaced")),
        ("dived", lay(vessel, load(vessel, FULL_SHARE), "dived", hanging=True)),
    ]
    if least and vessel.tanks:
        weakest = stability.run(vessel, tell=lambda text, share: say(text, 0.5 * share)).least
        lie = lay(
            vessel,
            load(vessel, weakest.fills),
            "least stable",
            hanging=weakest.lie.condition != "floats",
            start=np.array(weakest.lie.normal),
        )
        found.append(("least stable", lie))
    found += [("as filled", lay(vessel, load(vessel, fill), "as filled")) for fill in fills]
    return found


@lru_cache(maxsize=8)
def _curve(
    vessel: Vessel,
    fills: tuple[tuple[str, float], ...],
    normal: Vector,
    heel_deg: float,
    trim_deg: float,
    hanging: bool,
) -> tuple[Loading, RightingCurve]:
    """The boat as she lies and her arms; kept for the states last asked for, since mostly only the causes change."""
    loading = load(vessel, dict(fills))
    if hanging:
        held = with_air_held(loading.balance, np.array(normal), under_offset_m(loading))
        loading = replace(loading, balance=held)
    return loading, righting_curve(loading.balance, heel_deg, trim_deg, hanging=hanging)


def _state(vessel: Vessel, name: str, lie: Lie, asked: _Asked) -> HeelState:
    hanging = lie.condition != "floats"
    loading, curve = _curve(
        vessel, tuple(lie.fills.items()), lie.normal, lie.heel_deg.value, lie.trim_deg.value, hanging
    )
    balance = loading.balance
    # afloat, an open-bottomed tank holds what depth makes of its air, and she displaces her mass with that
    mass_kg = (
        balance.mass + balance.density * float(np.sum(balance.tank_volume))
        if hanging
        else balance.density * lie.displaced_m3
    )
    holds = lie.stable and abs(lie.heel_deg.value) < 90.0
    weight = mass_kg * GRAVITY_M_S2
    rest = curve.rest_deg
    return HeelState(
        name=name,
        lie=lie,
        holds=holds,
        per_10g_moved_10mm_deg=_per_small(loading, lie, hanging) if holds else math.nan,
        moments=tuple(
            MomentTo(
                by,
                starboard_n_m=weight * curve.arm_m(rest + by),
                port_n_m=-weight * curve.arm_m(rest - by),
            )
            for by in STEPS_DEG
        )
        if holds
        else (),
        starboard=_greatest(curve, STARBOARD, weight),
        port=_greatest(curve, PORT, weight),
        heels_deg=tuple(float(heel) for heel in curve.heels_deg),
        arms_n_m=tuple(float(weight * arm) for arm in curve.arms_m),
        trims_deg=tuple(float(trim) for trim in curve.trims_deg),
        settled=curve.settled,
        caused=tuple(_caused(vessel, loading, lie, curve, mass_kg, asked)) if holds else (),
    )


def _greatest(curve: RightingCurve, way: int, weight_n: float) -> Greatest:
    borne = most_borne(curve, lambda heel: float(way), way)
    return Greatest(moment_n_m=weight_n * borne.factor, heel_deg=borne.heel_deg, lost_deg=curve.lost_deg(way))


def _with_shift(loading: Loading, across_kg_m: float) -> Loading:
    """With mass times way moved to port."""
    moment = loading.balance.moment + np.array([0.0, across_kg_m, 0.0])
    balance = loading.balance._replace(moment=moment)
    return replace(loading, balance=balance)


def _per_small(loading: Loading, lie: Lie, hanging: bool) -> float:
    heels = []
    for across in (-_SMALL_KG_M, _SMALL_KG_M):
        try:
            rest = find(
                _with_shift(loading, across).balance,
                np.array(lie.normal),
                hanging=hanging,
                depth_m=under_offset_m(loading),
            )
        except NotSettledError:
            return math.nan
        heels.append(rest.heel_deg)
    return 0.5 * (heels[0] - heels[1])


def _caused(
    vessel: Vessel, loading: Loading, lie: Lie, curve: RightingCurve, mass_kg: float, asked: _Asked
) -> list[Caused]:
    found: list[Caused] = []
    seen = causes.abeam(vessel, curve) if asked.turn or (asked.wind and not curve.hanging) else None
    if asked.torque is not None:
        found += _by_torque(curve, mass_kg, asked.torque)
    if asked.turn is not None and seen is not None:
        found += _by_turn(vessel, loading, curve, mass_kg, seen, asked.turn)
    if asked.wind is not None and seen is not None and not curve.hanging:
        found += _by_wind(curve, mass_kg, seen, asked.wind)
    if asked.side is not None:
        found += _by_side(loading, lie, curve, mass_kg, asked.side)
    return found


def _heeled(curve: RightingCurve, lever: Lever, weight_n: float, from_deg: float | None = None) -> Heeled:
    start = curve.rest_deg if from_deg is None else from_deg
    way = way_of(curve, lever)
    return Heeled(
        moment_n_m=weight_n * lever(curve.rest_deg),
        heel_deg=rest_under(curve, lever),
        swings_deg=swing_under(curve, lever, start),
        bears=most_borne(curve, lever, way).factor if way else math.inf,
    )


def _line(curve: RightingCurve, lever: Lever, weight_n: float) -> tuple[float, ...]:
    return tuple(weight_n * lever(float(heel)) for heel in curve.heels_deg)


def _one(
    cause: Cause,
    way: Way,
    curve: RightingCurve,
    weight_n: float,
    levers: tuple[Lever, Lever, Lever],
    starts: Sequence[float] | None = None,
) -> Caused:
    """One cause from its levers low, likely, high."""
    low, likely, high = (
        _heeled(curve, lever, weight_n, None if starts is None else starts[index])
        for index, lever in enumerate(levers)
    )
    return Caused(
        cause=cause, way=way, likely=likely, low=low, high=high, line_n_m=_line(curve, levers[1], weight_n)
    )


def _by_torque(curve: RightingCurve, mass_kg: float, torque: Torque) -> list[Caused]:
    shares = (torque.train_share,) * 3 if torque.train_share is not None else causes.TRAIN
    found = []
    ways: tuple[tuple[Way, int], ...] = (("ahead", PORT), ("astern", STARBOARD))
    for way, side in ways:
        sign = -side if torque.left_handed else side
        low, likely, high = (
            causes.constant(sign * causes.torque_n_m(torque, share), mass_kg) for share in shares
        )
        found.append(_one("torque", way, curve, mass_kg * GRAVITY_M_S2, (low, likely, high)))
    return found


def _by_turn(
    vessel: Vessel, loading: Loading, curve: RightingCurve, mass_kg: float, seen: Abeam, turn: Turn
) -> list[Caused]:
    found = []
    weight = mass_kg * GRAVITY_M_S2
    ways: tuple[tuple[Way, int], ...] = (("turn to port", STARBOARD), ("turn to starboard", PORT))
    for way, outward in ways:
        levers = causes.turning(vessel, loading, seen, turn, mass_kg, outward)
        weaker, stronger = sorted((levers.likely, levers.other), key=lambda lever: abs(lever(curve.rest_deg)))
        one = _one("turn", way, curve, weight, (weaker, levers.likely, stronger))
        thrown = (mass_kg + levers.flooded_kg) * turn.speed_m_s**2 / turn.radius_m
        found.append(
            replace(
                one,
                lateral_area_m2=seen.at_rest().under_m2,
                height_m=outward * weight * levers.likely(curve.rest_deg) / thrown,
                half_draught_height_m=outward * weight * levers.other(curve.rest_deg) / thrown,
                flooded_kg=levers.flooded_kg,
            )
        )
    return found


def _by_wind(curve: RightingCurve, mass_kg: float, seen: Abeam, wind: Wind) -> list[Caused]:
    drags = (wind.drag,) * 3 if wind.drag is not None else causes.DRAG
    weight = mass_kg * GRAVITY_M_S2
    here = seen.at_rest()
    found = []
    ways: tuple[tuple[Way, int], ...] = (("from port", STARBOARD), ("from starboard", PORT))
    for way, outward in ways:
        steady = [causes.wind(seen, mass_kg, wind.speed_m_s, drag, outward) for drag in drags]
        entries: list[Caused] = []
        if wind.speed_m_s > 0.0:
            entries.append(_one("wind", way, curve, weight, (steady[0], steady[1], steady[2])))
        if wind.gust_m_s is not None:
            gusts = [causes.wind(seen, mass_kg, wind.gust_m_s, drag, outward) for drag in drags]
            starts = [rest_under(curve, lever) for lever in steady]
            entries.append(_one("gust", way, curve, weight, (gusts[0], gusts[1], gusts[2]), starts))
        found += [
            replace(
                entry,
                lateral_area_m2=here.above_m2,
                height_m=here.above_height_m - here.under_height_m,
                half_draught_height_m=here.above_height_m - 0.5 * here.low_m,
            )
            for entry in entries
        ]
    return found


def _by_side(loading: Loading, lie: Lie, curve: RightingCurve, mass_kg: float, side: Side) -> list[Caused]:
    weight = mass_kg * GRAVITY_M_S2
    if side.at_m is not None:
        return [_hung(loading, lie, curve, weight, side.mass_kg, np.array(side.at_m))]
    found = []
    ways: tuple[tuple[Way, int], ...] = (("moved to starboard", STARBOARD), ("moved to port", PORT))
    for way, sign in ways:
        across = sign * side.mass_kg * (side.moved_m or 0.0)
        lever = causes.moved(curve, across, mass_kg)
        one = _one("side", way, curve, weight, (lever, lever, lever))
        rest = _settled(_with_shift(loading, -across), curve, one.likely.heel_deg)
        exact = replace(one.likely, heel_deg=rest)
        found.append(replace(one, likely=exact, low=exact, high=exact))
    return found


def _settled(loading: Loading, curve: RightingCurve, near_deg: float) -> float:
    """The heel of the full balance near one found on the curve, where a weight across her may trim her too."""
    if math.isnan(near_deg):
        return math.nan
    try:
        rest = find(
            loading.balance,
            curve.normal(near_deg),
            hanging=curve.hanging,
            depth_m=under_offset_m(loading),
        )
    except NotSettledError:
        return math.nan
    return rest.heel_deg if abs(rest.heel_deg - near_deg) < _SAME_DEG else math.nan


def _hung(
    loading: Loading, lie: Lie, curve: RightingCurve, weight_n: float, mass_kg: float, at_m: Array
) -> Caused:
    """With a weight hung on her at a place: a boat of another mass, balanced anew."""
    balance = loading.balance._replace(
        mass=loading.balance.mass + mass_kg, moment=loading.balance.moment + mass_kg * at_m
    )
    arm_m = at_m - np.array(lie.cg_m)
    lever = causes.hung(curve, mass_kg, arm_m, weight_n / GRAVITY_M_S2)
    try:
        rest = find(balance, np.array(lie.normal), hanging=curve.hanging, depth_m=under_offset_m(loading))
        heel = rest.heel_deg if abs(rest.heel_deg) < 90.0 else math.nan
    except (SinksError, NotSettledError):
        heel = math.nan
    heeled = replace(_heeled(curve, lever, weight_n), heel_deg=heel)
    return Caused("side", "hung on", heeled, heeled, heeled, _line(curve, lever, weight_n))


def _findings(states: list[HeelState]) -> list[Advice]:
    found = []
    for state in states:
        if state.lie.condition == "sinks":
            found.append(
                Advice(
                    what=f"She sinks, {state.name}: what is said there holds for her hung in the water.",
                    todo="Take out weight or add foam; `dabchick afloat` says how much.",
                    severity="warning",
                )
            )
        if not state.holds:
            found.append(
                Advice(
                    what=f"She does not hold herself upright, {state.name}; what heels her was not worked out there.",
                    todo="Put weight lower or foam higher; `dabchick afloat --all` shows where she goes.",
                    severity="warning",
                )
            )
        if abs(state.lie.trim_deg.value) > STEEP_DEG:
            found.append(
                Advice(
                    what=(
                        f"She lies {abs(state.lie.trim_deg.value):.0f} deg bow "
                        f"{'up' if state.lie.trim_deg.value > 0.0 else 'down'}, {state.name}; heel is counted "
                        "about her own axis, which says little there."
                    ),
                    todo="Trim her first: `dabchick trim`.",
                    severity="warning",
                )
            )
        if not state.settled:
            found.append(
                Advice(
                    what=f"At some heel, {state.name}, her trim came to no rest; the arms there are rough.",
                    todo="Take angles past that heel as a hint only.",
                    severity="warning",
                )
            )
        over = [entry for entry in state.caused if math.isnan(entry.likely.heel_deg)]
        found += [
            Advice(
                what=(
                    f"{CAUSE_WORDS[entry.cause]} {entry.way}, {state.name}, lays her over: no rest is left on "
                    "that side."
                ),
                todo="Put weight lower, make less of the cause, or keep her out of it.",
                severity="warning",
            )
            for entry in over
        ]
        found += [
            Advice(
                what=(
                    f"{CAUSE_WORDS[entry.cause]} {entry.way}, {state.name}: she may go over when it comes at once, "
                    "though she would bear it coming on slowly."
                ),
                todo="Put weight lower, or open the throttle and turn gently.",
                severity="warning",
            )
            for entry in state.caused
            if entry not in over and math.isnan(entry.likely.swings_deg)
        ]
    return found
