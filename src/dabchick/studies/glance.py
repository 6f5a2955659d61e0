"""`glance`: the few figures that matter in one state, how each stands to its limit, and what is too heavy."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.physics.response import Response, response_at
from dabchick.studies.lay import lay
from dabchick.studies.lie import Lie
from dabchick.studies.loading import load, under_offset_m
from dabchick.studies.result import Figure
from dabchick.studies.trim import ANGLE_RIGHT_DEG, DRAUGHT_RIGHT_M, LIFT_RIGHT_KG

Array = NDArray[np.float64]
State = Literal["surfaced", "as filled", "dived"]
Verdict = Literal["good", "watch", "bad", "unknown"]
Key = Literal["draught_bow", "draught_stern", "trim", "heel", "gm_transverse", "lift", "bg"]
Kind = Literal["length", "mass", "angle"]

WATCH_TIMES: Final = 3.0
"""Watch: up to so many times the yardstick, or down to this part of the least. Common practice, no source."""
BG_CLOSE_M: Final = 1e-4
"""A BG or GM that falls short by less than this still counts, as in `trim`."""
FIRST_ORDER_DEG: Final = 5.0
"""Farther from level than this, first-order weights would mislead and are not told."""
FIRST_ORDER_SHARE: Final = 0.15
"""The same for a draught that misses by more than this share of the hull's height."""
LEAST_BETWEEN_MARKS: Final = 0.01
"""Of her length: marks closer together say nothing of the ends."""


@dataclass(frozen=True)
class GlanceFigure:
    """One figure with its limit; NaN where it has no wish, yardstick or least."""

    key: Key
    figure: Figure
    """SI; angles in degrees."""
    kind: Kind
    wish: float
    within: float
    """Right when no farther than this from the wish."""
    least: float
    verdict: Verdict

    @property
    def miss(self) -> float:
        """Over the wish, or over the least; negative: under it."""
        return self.figure.value - (self.least if math.isnan(self.wish) else self.wish)


@dataclass(frozen=True)
class Glance:
    """What matters in one state. The weights are what would set it right to first order; NaN where that misleads."""

    state: State
    lie: Lie
    rows: tuple[GlanceFigure, ...]
    verdict: Verdict
    """Of the worst row; bad whenever she sinks, turns over or stays like this only on a knife edge."""
    too_heavy_bow_kg: float
    """Surfaced: to be taken off at the bow mark (negative: put on there), with the next one at the stern mark."""
    too_heavy_stern_kg: float
    too_heavy_forward_kg_m: float
    """Dived: mass times way that weight stands too far forward."""
    too_heavy_starboard_kg_m: float
    """Mass times way that weight stands too far to starboard."""

    @property
    def upside_down(self) -> bool:
        return abs(self.lie.heel_deg.value) > 90.0


def state_of(fills: Mapping[str, float]) -> State:
    """Which state these fills are: no water, every tank full, or something between."""
    if not any(fills.values()):
        return "surfaced"
    return "dived" if all(share == 1.0 for share in fills.values()) else "as filled"


def lie_in(vessel: Vessel, fills: float | Mapping[str, float]) -> tuple[State, Lie]:
    """How she lies with these fills: let go, but held under with full tanks where her hull would be under anyway."""
    loading = load(vessel, fills)
    state = state_of(loading.fills)
    if state != "dived":
        return state, lay(vessel, loading, state)
    lie = lay(vessel, loading, "as filled")
    if lie.condition == "floats" and lie.freeboard_m.value > 0.0:
        return "as filled", lie
    return "dived", lay(vessel, loading, "dived", hanging=True)


def surfaced(vessel: Vessel) -> Lie:
    """Tanks empty."""
    return lay(vessel, load(vessel, 0.0), "surfaced")


def dived(vessel: Vessel) -> Lie:
    """Tanks full, held under and free to turn."""
    return lay(vessel, load(vessel, 1.0), "dived", hanging=True)


def glance(vessel: Vessel, lie: Lie, state: State) -> Glance:
    """The figures that matter when she lies like this, and their verdicts."""
    rows = {"surfaced": _surfaced, "as filled": _as_filled, "dived": _dived}[state](vessel, lie)
    upside_down = abs(lie.heel_deg.value) > 90.0
    lost = lie.condition == "sinks" or not lie.stable or upside_down
    verdict: Verdict = "bad" if lost else worst(row.verdict for row in rows)
    bow = stern = forward = starboard = math.nan
    if not lost and _first_order(vessel, lie, state):
        moved = _response(vessel, lie)
        if state == "surfaced":
            bow, stern = _at_the_marks(vessel, lie, moved)
        if state == "dived":
            forward = _moment(moved, np.array([[1.0, 0.0, 0.0]]), 1, lie.trim_deg.value)
        starboard = _moment(moved, np.array([[0.0, -1.0, 0.0]]), 2, lie.heel_deg.value)
    return Glance(state, lie, rows, verdict, bow, stern, forward, starboard)


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The gravest of some verdicts; what is not known weighs more than what is to be watched."""
    order: tuple[Verdict, ...] = ("bad", "unknown", "watch", "good")
    found = set(verdicts)
    return next((verdict for verdict in order if verdict in found), "good")


def _surfaced(vessel: Vessel, lie: Lie) -> tuple[GlanceFigure, ...]:
    wished = vessel.waterline_m
    return (
        _near("draught_bow", lie.draught_bow_m, "length", wished, DRAUGHT_RIGHT_M),
        _near("draught_stern", lie.draught_stern_m, "length", wished, DRAUGHT_RIGHT_M),
        _near("trim", lie.trim_deg, "angle", 0.0, ANGLE_RIGHT_DEG),
        _near("heel", lie.heel_deg, "angle", 0.0, ANGLE_RIGHT_DEG),
        _at_least("gm_transverse", lie.gm_transverse_m, "length", vessel.wishes.least_bg_m),
    )


def _as_filled(vessel: Vessel, lie: Lie) -> tuple[GlanceFigure, ...]:
    return (
        _near("trim", lie.trim_deg, "angle", 0.0, ANGLE_RIGHT_DEG),
        _near("heel", lie.heel_deg, "angle", 0.0, ANGLE_RIGHT_DEG),
        _at_least("gm_transverse", lie.gm_transverse_m, "length", vessel.wishes.least_bg_m),
        _at_least("lift", lie.lift_kg, "mass", 0.0),
    )


def _dived(vessel: Vessel, lie: Lie) -> tuple[GlanceFigure, ...]:
    return (
        _near("lift", lie.lift_kg, "mass", vessel.wishes.lift_dived_kg, LIFT_RIGHT_KG),
        _near("trim", lie.trim_deg, "angle", 0.0, ANGLE_RIGHT_DEG),
        _near("heel", lie.heel_deg, "angle", 0.0, ANGLE_RIGHT_DEG),
        _at_least("bg", lie.bg_m, "length", vessel.wishes.least_bg_m),
    )


def _near(key: Key, figure: Figure, kind: Kind, wish: float, within: float) -> GlanceFigure:
    miss = abs(figure.value - wish)
    verdict: Verdict = "bad"
    if math.isnan(miss):
        verdict = "unknown"
    elif miss <= within:
        verdict = "good"
    elif miss <= WATCH_TIMES * within:
        verdict = "watch"
    return GlanceFigure(key, figure, kind, wish, within, math.nan, verdict)


def _at_least(key: Key, figure: Figure, kind: Kind, least: float) -> GlanceFigure:
    verdict: Verdict = "bad"
    if math.isnan(figure.value):
        verdict = "unknown"
    elif figure.value >= least - (BG_CLOSE_M if kind == "length" else 0.0):
        verdict = "good"
    elif least > 0.0 and figure.value >= least / WATCH_TIMES:
        verdict = "watch"
    return GlanceFigure(key, figure, kind, math.nan, math.nan, least, verdict)


def _first_order(vessel: Vessel, lie: Lie, state: State) -> bool:
    if max(abs(lie.trim_deg.value), abs(lie.heel_deg.value)) > FIRST_ORDER_DEG:
        return False
    misses = (lie.draught_bow_m.value - vessel.waterline_m, lie.draught_stern_m.value - vessel.waterline_m)
    height = vessel.high_m[2] - vessel.low_m[2]
    return state != "surfaced" or max(map(abs, misses)) <= FIRST_ORDER_SHARE * height


def _response(vessel: Vessel, lie: Lie) -> Response:
    loading = load(vessel, lie.fills)
    hanging = math.isnan(lie.offset_m)
    offset = under_offset_m(loading) if hanging else lie.offset_m
    return response_at(loading.balance, np.array(lie.normal), offset, hanging=hanging)


def _at_the_marks(vessel: Vessel, lie: Lie, moved: Response) -> tuple[float, float]:
    """Masses at both marks, at the height of the keel, that make up the misses of both draughts."""
    marks = np.array([vessel.mark_bow_m, vessel.mark_stern_m])
    loads = moved.of_mass(np.column_stack([marks, np.zeros((2, 2))]))
    moves = moved.moves(loads)
    turns = np.outer(moves[:, 1], moved.pitch) + np.outer(moves[:, 2], moved.roll)
    normal = moved.normal
    heights = (moved.offset_m - normal[0] * marks) / normal[2]
    # row: mark at which the draught is read; column: mark at which 1 kg is put
    slopes = (
        moves[None, :, 0] - turns[None, :, 0] * marks[:, None] - turns[None, :, 2] * heights[:, None]
    ) / normal[2]
    misses = np.array([lie.draught_bow_m.value, lie.draught_stern_m.value]) - vessel.waterline_m
    if abs(marks[0] - marks[1]) < LEAST_BETWEEN_MARKS * vessel.length_m:
        return math.nan, math.nan
    bow, stern = np.linalg.solve(slopes, misses)
    return float(bow), float(stern)


def _moment(moved: Response, way: Array, axis: int, angle_deg: float) -> float:
    """Mass times way [kg m] along `way` (1, 3) that turns her by this angle, about pitch (1) or roll (2)."""
    slope = float(moved.moves(moved.of_shift(1.0, way))[0, axis])
    return math.radians(angle_deg) / slope if slope else math.nan
