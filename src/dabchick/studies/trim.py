"""`trim`: lead and foam for both states at once, proven by a full equilibrium in each."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Place, Vessel
from dabchick.studies.common import BALANCE_SOURCES, assumptions, warnings
from dabchick.studies.lay import SPREAD_METHOD, lay
from dabchick.studies.lie import Lie
from dabchick.studies.loading import load
from dabchick.studies.places import find_places
from dabchick.studies.sensitivity import sensitivities
from dabchick.studies.trim_apply import moves_of, piece_of, pieces_of, with_trim
from dabchick.studies.trim_model import TrimModel, bare, model, rows_of
from dabchick.studies.trim_obstacles import obstacles
from dabchick.studies.trim_result import PLACES_STAGE, Move, Obstacle, Piece, TrimResult
from dabchick.studies.trim_solve import Choice, solve

Array = NDArray[np.float64]

DRAUGHT_RIGHT_M = 0.001
ANGLE_RIGHT_DEG = 0.5
LIFT_RIGHT_KG = 0.002
"""What counts as right in the bath; the builder's own yardstick, no source."""
MOST_ROUNDS = 8
ROWS_AGREE = 2e-3
"""The linear rows agree with the full balance when they differ by less than this, in yardsticks."""


@dataclass(frozen=True, eq=False)
class _Answer:
    """Pieces and moves with the vessel that carries them."""

    vessel: Vessel
    pieces: tuple[Piece, ...]
    moves: tuple[Move, ...]
    miss: float
    gaps: dict[str, float]
    rounds: int


def run(
    vessel: Vessel,
    *,
    gap: float = 0.01,
    seconds: float = 7.0,
    sheet: bool | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> TrimResult:
    """Lead and foam so that she floats on her waterline and hangs level with the lift asked.

    Where the boat already holds a trim that is as good as any found now, within the gap, that one is told: lead once
    fixed is not moved for nothing.

    `gap` is the proven relative gap of each stage, `seconds` the most time for all of them; `sheet` overrides the
    boat's choice between sheet lead (cut to mass) and pieces. `progress(text, share)` is called before each stage; an
    exception raised in it (a cancel) ends the work. Nothing is changed in the vessel.
    """
    start = bare(vessel)
    cut_to_mass = not start.wishes.lead_pieces_kg if sheet is None else sheet
    if not cut_to_mass and not start.wishes.lead_pieces_kg:
        raise BoatError(
            Advice(
                what="Lead in pieces is asked for, but the boat file names no pieces.",
                todo='Give pieces = ["5 g", "10 g", ...] under [trim.lead], or take sheet lead.',
                key="trim.lead.pieces",
            )
        )
    found = find_places(start) if start.wishes.find_places else ()
    places = (*start.wishes.places, *found)
    answer = _settle(start, places, gap=gap, seconds=seconds, sheet=cut_to_mass, progress=progress)
    if is_fitted(vessel):
        fitted = as_fitted(vessel)
        if fitted.feasible and _as_good(fitted, answer, gap, sheet=cut_to_mass):
            return fitted
    return _told(
        start,
        answer,
        places,
        method=(
            "mixed-integer linear programme (HiGHS) for both states at once: least misses, then least added mass, "
            "then least foam, then fewest places; proven by full equilibrium in both states"
        ),
        assumed=("places for lead and foam were found from the free space inside the hull",) if found else (),
        progress=progress,
    )


def is_fitted(vessel: Vessel) -> bool:
    """True where an earlier trim was written into the boat."""
    return any(item.from_trim for item in vessel.items)


def _as_good(fitted: TrimResult, answer: _Answer, gap: float, *, sheet: bool) -> bool:
    """True where what is fitted weighs no more than what was found, within the gap, and is of the kind asked for."""
    lead = [piece for piece in fitted.pieces if piece.material == "lead"]
    of_a_kind = sheet or all(piece.counts for piece in lead)
    added = fitted.added_lead_kg + fitted.added_foam_kg
    return of_a_kind and added <= (1.0 + 2.0 * gap) * sum(piece.mass_kg for piece in answer.pieces) + 2e-4


def as_fitted(vessel: Vessel) -> TrimResult:
    """The trim that the boat file already holds, proven as it stands: nothing is chosen afresh.

    Its pieces are the items that an earlier trim put in. Obstacles are looked for only where it is not right.
    """
    start = bare(vessel)
    pieces = tuple(piece_of(item, vessel.wishes) for item in vessel.items if item.from_trim)
    places = (*start.wishes.places, *(find_places(start) if start.wishes.find_places else ()))
    answer = _Answer(vessel, pieces, (), 0.0, {}, 0)
    return _told(
        start,
        answer,
        places,
        method="the lead and foam written in the boat file, proven by full equilibrium in both states",
        assumed=(),
        progress=None,
    )


def _told(
    start: Vessel,
    answer: _Answer,
    places: tuple[Place, ...],
    *,
    method: str,
    assumed: tuple[str, ...],
    progress: Callable[[str, float], None] | None,
) -> TrimResult:
    """The answer with its proof, its misses and what stands in the way."""
    after = _both(answer.vessel)
    wished = start.waterline_m
    misses = (
        after[0].draught_bow_m.value - wished,
        after[0].draught_stern_m.value - wished,
        after[1].lift_kg.value - start.wishes.lift_dived_kg,
    )
    feasible = _right(start, after, misses)
    standing: tuple[Obstacle, ...] = () if feasible else obstacles(start, places, progress=progress)
    lead = sum(piece.mass_kg for piece in answer.pieces if piece.material == "lead")
    foam = [piece for piece in answer.pieces if piece.material == "foam"]
    return TrimResult(
        boat=start.name,
        method=f"{method}; {SPREAD_METHOD}",
        sources=BALANCE_SOURCES,
        validity="tanks empty when surfaced and full when dived; free-flooding spaces drained or flooded",
        assumptions=assumptions(start, "lead and foam are boxes of even density, exact in mass", *assumed),
        warnings=warnings(start, *_findings(start, places, after)),
        feasible=feasible,
        pieces=answer.pieces,
        moves=answer.moves,
        before=_both(start),
        after=after,
        wished_draught_bow_m=wished,
        wished_draught_stern_m=wished,
        wished_lift_kg=start.wishes.lift_dived_kg,
        wished_bg_m=start.wishes.least_bg_m,
        draught_bow_miss_m=misses[0],
        draught_stern_miss_m=misses[1],
        lift_miss_kg=misses[2],
        added_lead_kg=lead,
        added_foam_m3=sum(piece.volume_m3 for piece in foam),
        added_foam_kg=sum(piece.mass_kg for piece in foam),
        place_count=len(answer.pieces),
        gap=max((value for name, value in answer.gaps.items() if name != PLACES_STAGE), default=0.0),
        gaps=answer.gaps,
        largest_miss=answer.miss,
        rounds=answer.rounds,
        obstacles=standing,
        sensitivities=sensitivities(answer.vessel),
    )


def _both(vessel: Vessel) -> tuple[Lie, Lie]:
    surfaced = lay(vessel, load(vessel, 0.0), "surfaced")
    dived = lay(vessel, load(vessel, 1.0), "dived", hanging=True)
    return surfaced, dived


def _right(vessel: Vessel, after: tuple[Lie, Lie], misses: tuple[float, float, float]) -> bool:
    angles = [after[0].heel_deg, after[0].trim_deg, after[1].heel_deg, after[1].trim_deg]
    return (
        after[0].condition == "floats"
        and after[0].stable
        and after[1].stable
        and max(abs(misses[0]), abs(misses[1])) <= DRAUGHT_RIGHT_M
        and max(abs(angle.value) for angle in angles) <= ANGLE_RIGHT_DEG
        and abs(misses[2]) <= LIFT_RIGHT_KG
        and after[1].bg_m.value >= vessel.wishes.least_bg_m - 1e-4
    )


def _settle(
    vessel: Vessel,
    places: tuple[Place, ...],
    *,
    gap: float,
    seconds: float,
    sheet: bool,
    progress: Callable[[str, float], None] | None,
) -> _Answer:
    """Solve, lay the blocks where they would lie, and set the linear rows right until both agree."""
    waterline = vessel.waterline_m
    correction = np.zeros(7)
    taken: dict[tuple[str, int], float] = {}
    fixed: dict[int, float] = {}
    gaps: dict[str, float] = {}
    rounds = 0
    while True:
        linear = model(vessel, places, waterline, taken, sheet=sheet)
        choice = solve(
            linear,
            places,
            vessel.wishes,
            correction,
            gap=gap,
            seconds=seconds,
            fixed=fixed,
            sheet=sheet,
            progress=progress,
        )
        gaps = gaps if fixed else choice.gaps
        rounds += 1
        pieces = pieces_of(vessel, places, linear, choice.amounts)
        moves = moves_of(vessel, linear, choice.amounts)
        trimmed = with_trim(vessel, pieces, moves)
        exact = rows_of(trimmed, load(trimmed, 0.0), load(trimmed, 1.0), waterline)
        step = exact - (linear.matrix @ choice.amounts + linear.base + correction)
        agree = float(np.max(np.abs(linear.measure @ step[:6]))) < ROWS_AGREE
        if agree or rounds >= MOST_ROUNDS:
            return _Answer(trimmed, pieces, moves, choice.miss, gaps, rounds)
        taken = _amounts_taken(linear, choice)
        # The blocks now lie where this round put them, so the rows are set up afresh; what is left over is the
        # curvature of the block's own shape, which the correction carries.
        fresh = model(vessel, places, waterline, taken, sheet=sheet)
        correction = exact - (fresh.matrix @ choice.amounts + fresh.base)
        fixed = _structure(linear, choice)


def _amounts_taken(linear: TrimModel, choice: Choice) -> dict[tuple[str, int], float]:
    taken: dict[tuple[str, int], float] = {}
    for column, amount in zip(linear.columns, choice.amounts, strict=True):
        if column.kind != "move" and amount > 0.0:
            key = (column.kind, column.place)
            taken[key] = taken.get(key, 0.0) + column.volume_per_unit * float(amount)
    return taken


def _structure(linear: TrimModel, choice: Choice) -> dict[int, float]:
    """Which places stay empty and how many pieces stay where: only the cut amounts are left to settle."""
    return {
        index: float(amount)
        for index, (column, amount) in enumerate(zip(linear.columns, choice.amounts, strict=True))
        if column.whole or amount <= 0.0
    }


def _findings(vessel: Vessel, places: tuple[Place, ...], after: tuple[Lie, Lie]) -> list[Advice]:
    found = []
    if not vessel.tanks:
        found.append(
            Advice(
                what="The boat has no tank, so both states are the same.",
                todo="Add a [[tank]]; `dabchick tank` says how large.",
                key="tank",
                severity="warning",
            )
        )
    if not places:
        found.append(
            Advice(
                what="There is no place for lead or foam.",
                todo='Give [[place]] boxes, or let the tool find them with places = "auto".',
                key="trim",
                severity="warning",
            )
        )
    if after[0].condition == "floats" and not after[0].stable:
        found.append(
            Advice(
                what="Surfaced she would not stay upright even with this lead and foam.",
                todo="Ask for more BG, or put heavy parts lower.",
                severity="warning",
            )
        )
    return found


@dataclass(frozen=True, eq=False)
class Fitting:
    """Lead, foam and moved parts found, and the vessel that carries them: not yet told or explained."""

    vessel: Vessel
    pieces: tuple[Piece, ...]
    moves: tuple[Move, ...]
    right: bool
    """Both states proven by full equilibrium."""


def fitting(vessel: Vessel, *, gap: float = 0.02, seconds: float = 3.0) -> Fitting:
    """The trim alone, afresh and without what stands in its way: for studies that try many wishes.

    Raises OutOfTimeError or ImpossibleError as `solve_programme` does.
    """
    start = bare(vessel)
    places = (*start.wishes.places, *(find_places(start) if start.wishes.find_places else ()))
    sheet = not start.wishes.lead_pieces_kg
    answer = _settle(start, places, gap=gap, seconds=seconds, sheet=sheet, progress=None)
    after = _both(answer.vessel)
    wished = start.waterline_m
    misses = (
        after[0].draught_bow_m.value - wished,
        after[0].draught_stern_m.value - wished,
        after[1].lift_kg.value - start.wishes.lift_dived_kg,
    )
    return Fitting(answer.vessel, answer.pieces, answer.moves, _right(start, after, misses))
