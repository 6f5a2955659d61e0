"""The search behind `cure`: single moves, the fewest changes, a trim afresh, a heavy part lowered, each with its proof.

Effects are first order from the energy; a mixed-integer programme chooses; full equilibria set the answer right until
both agree. What is worked out for one vessel and its limits is kept for all ways of looking.
"""

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Item, Tank, Vessel
from dabchick.physics.equilibrium import NotSettledError
from dabchick.studies import stability
from dabchick.studies.criteria import Verdict, judge
from dabchick.studies.cure_options import (
    Options,
    bg_effects,
    changed,
    free_places,
    gm_effects,
    options_of,
)
from dabchick.studies.cure_result import Cure, CureKind, Lever, Reason, Step
from dabchick.studies.cure_solve import MET_M, Needs, choose
from dabchick.studies.cure_states import SAFETY_M, raised_states, states_of
from dabchick.studies.cure_steps import steps_of
from dabchick.studies.cure_trims import both_trims, keeps
from dabchick.studies.hold import GmSlopes, Hold, gm_slopes, held
from dabchick.studies.lay import lay
from dabchick.studies.levers import key_of, lowered
from dabchick.studies.limits import Limits
from dabchick.studies.loading import load
from dabchick.studies.programme import ImpossibleError, OutOfTimeError
from dabchick.studies.result import Figure
from dabchick.studies.stability_result import StabilityResult
from dabchick.studies.trim import fitting
from dabchick.studies.trim_model import rows_of
from dabchick.studies.trim_result import Move, Piece

Array = NDArray[np.float64]

ROUNDS: Final = 5
WITHIN: Final = 1.0
"""Yardsticks of the trim that the programme may use up: half of what counts as right in the bath."""
WORSE: Final = 1.03
"""What is wrong already may get worse by so much."""
SLACK: Final = 0.5
TRIM_SECONDS: Final = 1.5
TRIM_TRIES: Final = 3
LEAST_GAIN_M: Final = 2e-5
SOLVE_SECONDS: Final = 5.0
LEAST_SECONDS: Final = 0.2
PROGRAMME_SECONDS: Final = 30.0
"""The most for one linear programme, and about the most for all, on a busy machine; otherwise nodes end them."""
LOWER_STEP_M: Final = 0.0005


@dataclass(frozen=True, eq=False)
class _Tried:
    """A set of changes with what full equilibria say of it, arms not asked."""

    vessel: Vessel
    pieces: tuple[Piece, ...]
    moves: tuple[Move, ...]
    amounts: Array
    short_m: float
    """Largest need left open."""
    trimmed: bool
    rounds: int


class Search:
    """Everything that is worked out once for one vessel and its limits."""

    def __init__(self, vessel: Vessel, limits: Limits, before: StabilityResult, verdict: Verdict) -> None:
        self.vessel, self.limits = vessel, limits
        self.before, self.verdict = before, verdict
        self.states = states_of(vessel, limits, before)
        self.target_bg = limits.bg.value
        self.base = self.exact(vessel)
        self.slopes: list[GmSlopes] | None = None
        self.places = free_places(vessel)
        self.trims = both_trims(vessel)
        self.deadline = time.monotonic() + PROGRAMME_SECONDS

    # What she has and wants ---------------------------------------------------------------------------------------

    def exact(self, vessel: Vessel) -> Array:
        """(2 k + 1,) GM transverse and longitudinal at every state, then BG dived [m], by full equilibria."""
        found = np.empty(2 * len(self.states) + 1)
        for index, state in enumerate(self.states):
            try:
                hold = held(vessel, state.hold.loading.fills, state.hold.normal, hanging=state.hold.hanging)
            except NotSettledError:  # so changed she finds no rest: no change to take
                return np.full(2 * len(self.states) + 1, -math.inf)
            found[2 * index : 2 * index + 2] = hold.gm_transverse_m, hold.gm_longitudinal_m
        found[-1] = lay(vessel, load(vessel, 1.0), "dived", hanging=True).bg_m.value
        return found

    def targets(self) -> Array:
        """(2 k + 1,) in the same order."""
        rows = [value for state in self.states for value in (state.target_m, state.target_long_m)]
        return np.array([*rows, self.target_bg])

    def worst_wanted(self) -> float:
        """The largest need as she stands [m]."""
        return float(np.max(self.targets() - self.base))

    def weakest(self) -> Hold:
        """Where GM is least."""
        return min((state.hold for state in self.states), key=lambda hold: hold.gm_transverse_m)

    def needs(self, options: Options, correction: Array, row_correction: Array, within: float) -> Needs:
        """The linear programme's rows, set right by what full equilibria have said."""
        if self.slopes is None:
            self.slopes = [gm_slopes(state.hold) for state in self.states]
        effects = np.vstack(
            [
                *(gm_effects(slopes, options.options) for slopes in self.slopes),
                bg_effects(self.vessel, options.options),
            ]
        )
        linear = options.linear
        misses = linear.measure @ linear.base[:6]
        return Needs(
            effects=effects,
            wanted_m=self.targets() + SAFETY_M - self.base - correction,
            trims=linear.measure @ options.matrix[:6],
            misses=misses + row_correction,
            within=np.maximum(within, WORSE * np.abs(misses)),
        )

    # The ways -----------------------------------------------------------------------------------------------------

    def best_single(self) -> list[Cure]:
        """The one move that does most without spoiling a trim."""
        tries = self.singles(3)
        return self.proven("one move", tries[0]) if tries else []

    def singles(self, most: int) -> list[_Tried]:
        """Single moves and shifts, the largest gain first by the linear rows, then by full equilibria."""
        options = options_of(self.vessel, self.places, {})
        if not options.options:
            return []
        needs = self.needs(options, np.zeros_like(self.base), np.zeros(6), WITHIN)
        now = float(np.max(needs.wanted_m))
        ranked: list[tuple[float, int, float]] = []
        for index, option in enumerate(options.options):
            if option.kind not in ("move", "shift"):
                continue
            low, high = _allowed(needs, index, option.high)
            amount = high if option.kind == "shift" else 1.0
            if low > high or (option.kind == "move" and high < 1.0 - 1e-9) or amount < option.least:
                continue
            left = float(np.max(needs.wanted_m - amount * needs.effects[:, index]))
            if now - left > LEAST_GAIN_M:
                ranked.append((left, index, amount))
        ranked.sort()
        tries = []
        for _, index, amount in ranked[:most]:
            amounts = np.zeros(len(options.options))
            amounts[index] = amount
            tries.append(self.tried(options, amounts, needs.within, 1))
        tries = [entry for entry in tries if entry.trimmed]
        return sorted(tries, key=lambda entry: entry.short_m)

    def fewest(self) -> tuple[list[Cure], Reason]:
        """The fewest and lightest of everything, and what stands in the way where that is not enough."""
        found: list[Cure] = []
        options = options_of(self.vessel, self.places, {})
        if not options.options:
            return [], "no means"
        reason: Reason = ""
        tried = self.settled(("move", "shift", "lead", "foam"))
        if tried is not None:
            found += self.proven("fewest changes", tried, retry=("move", "shift", "lead", "foam"))
        if not any(cure.kept for cure in found):
            reason = self.obstacle(options)
        moved = tried is not None and any(step.kind not in ("add",) for step in found[0].steps)
        new = self.settled(("lead", "foam")) if moved or tried is None else None
        if new is not None and (tried is None or _differ(tried, new)):
            found += self.proven("lead and foam", new)
        return found, reason

    def obstacle(self, options: Options) -> Reason:
        """Whether the trims stand in the way or there is not enough room."""
        free = self.needs(options, np.zeros_like(self.base), np.zeros(6), 1e6)
        allowed = np.ones(len(options.options), dtype=bool)
        chosen = choose(options.options, free, allowed, seconds=self.seconds())
        if chosen is None or chosen.short_m > MET_M:
            return "room"
        held_to = self.needs(options, np.zeros_like(self.base), np.zeros(6), WITHIN)
        chosen = choose(options.options, held_to, allowed, seconds=self.seconds())
        return "trims" if chosen is None or chosen.short_m > MET_M else "others"

    def settled(self, kinds: tuple[str, ...]) -> _Tried | None:
        """Chosen by the linear programme and set right by full equilibria until both agree; the best found.

        After the first round only the amounts are settled: what is not touched then stays untouched.
        """
        options = options_of(self.vessel, self.places, {})
        needs = self.needs(options, np.zeros_like(self.base), np.zeros(6), WITHIN)
        allowed = np.array([option.kind in kinds for option in options.options], dtype=bool)
        best: _Tried | None = None
        for rounds in range(1, ROUNDS + 1):
            chosen = choose(options.options, needs, allowed, seconds=self.seconds())
            if chosen is None or not np.any(chosen.amounts):
                break
            tried = self.tried(options, chosen.amounts, needs.within, rounds)
            if best is None or _rank(tried) < _rank(best):
                best = tried
            out_of_reach = chosen.short_m > MET_M + SAFETY_M and rounds > 1
            if (tried.short_m <= MET_M and tried.trimmed) or out_of_reach:
                break
            touched = chosen.amounts > 0.0
            allowed &= touched | np.array([option.kind == "shift" for option in options.options], dtype=bool)
            options = options_of(
                self.vessel,
                self.places,
                {
                    (option.kind, option.place): option.volume_per_unit * float(amount)
                    for option, amount in zip(options.options, chosen.amounts, strict=True)
                    if option.kind in ("lead", "foam") and amount > 0.0
                },
            )
            fresh = self.needs(options, np.zeros_like(self.base), np.zeros(6), WITHIN)
            needs = self.needs(
                options,
                self.exact(tried.vessel) - self.base - fresh.effects @ chosen.amounts,
                self.misses(tried.vessel, options) - fresh.misses - fresh.trims @ chosen.amounts,
                WITHIN,
            )
        return best

    def seconds(self) -> float:
        """For one linear programme: less when the time for all of them runs out."""
        return max(min(SOLVE_SECONDS, 0.2 * (self.deadline - time.monotonic())), LEAST_SECONDS)

    def misses(self, vessel: Vessel, options: Options) -> Array:
        """(6,) of a changed vessel, in yardsticks."""
        rows = rows_of(vessel, load(vessel, 0.0), load(vessel, 1.0), vessel.waterline_m)
        return np.asarray(options.linear.measure @ rows[:6])

    def tried(self, options: Options, amounts: Array, within: Array, rounds: int) -> _Tried:
        """These amounts done, and full equilibria asked."""
        vessel, pieces, moves = changed(options, amounts)
        short = float(np.max(self.targets() - self.exact(vessel)))
        trimmed = bool(np.all(np.abs(self.misses(vessel, options)) <= within + SLACK))
        return _Tried(vessel, pieces, moves, amounts, short, trimmed, rounds)

    def again(self, say: Callable[[float], None]) -> list[Cure]:
        """A trim afresh with as much BG as the least GM asks for, the least BG that does it."""
        wishes = self.vessel.wishes
        now = float(self.base[-1])
        asked = max(now, wishes.least_bg_m) + max(self.worst_wanted(), 0.0) + SAFETY_M
        reached, refused = -math.inf, math.inf
        best: _Tried | None = None
        for number in range(TRIM_TRIES):
            say(number / (TRIM_TRIES + 1))
            wish = replace(wishes, least_bg_m=asked)
            try:
                found = fitting(replace(self.vessel, wishes=wish), seconds=TRIM_SECONDS)
            except (ImpossibleError, OutOfTimeError):
                found = None
            if found is not None and found.right:
                vessel = replace(found.vessel, wishes=wishes)
                short = float(np.max(self.targets() - self.exact(vessel)))
                tried = _Tried(vessel, found.pieces, found.moves, np.zeros(0), short, True, number + 1)
                if best is None or _rank(tried) < _rank(best):
                    best = tried
                if short <= MET_M:
                    break
                reached = asked
                asked = min(
                    asked + 1.1 * short, 0.5 * (asked + refused) if math.isfinite(refused) else math.inf
                )
            else:
                refused = asked
                asked = 0.5 * (refused + max(reached, now, wishes.least_bg_m))
        return self.proven("trim again", best) if best is not None else []

    def lower(self, able: Sequence[Lever]) -> list[Cure]:
        """The heavy part that has to come down least, where there seems to be room below it."""
        fits = [
            lever
            for lever in able
            if math.isfinite(lever.alone_m) and lever.alone_m <= lever.clear_m + 1e-9 and lever.alone_m > 0.0
        ]
        if not fits:
            return []
        best = min(fits, key=lambda lever: lever.alone_m)
        by = math.ceil((best.alone_m + 1e-6) / LOWER_STEP_M) * LOWER_STEP_M
        by = min(by, best.clear_m)
        vessel = lowered(self.vessel, key_of(self.vessel, best.part), by)
        short = float(np.max(self.targets() - self.exact(vessel)))
        tried = _Tried(vessel, (), (), np.zeros(0), short, True, 1)
        entries: tuple[Item | Tank, ...] = (*self.vessel.items, *self.vessel.tanks)
        old = next(entry for entry in entries if entry.name == best.part and entry.key)
        x, y, z = old.centre_m
        step = Step("lower", best.part, "", best.mass_kg, (x, y, z), (x, y, z - by), None, "", {})
        return self.proven("lower", tried, steps=(step,))

    # The proof ----------------------------------------------------------------------------------------------------

    def proven(
        self,
        kind: CureKind,
        tried: _Tried,
        *,
        steps: tuple[Step, ...] | None = None,
        retry: tuple[str, ...] = (),
    ) -> list[Cure]:
        """Follow the changed vessel down and up; where another moment has become the worst, once more for that."""
        after = stability.run(tried.vessel, self.before.path)
        verdict = judge(tried.vessel, after, self.limits)
        if not verdict.kept and retry and tried.short_m <= MET_M:
            raised = states_of(tried.vessel, self.limits, after)
            more = raised_states(self.vessel, self.states, raised)
            if more:
                kept_states, kept_base, kept_slopes = self.states, self.base, self.slopes
                self.states = more
                self.base, self.slopes = self.exact(self.vessel), None
                second = self.settled(retry)
                if second is not None:
                    again = self.proven(kind, second, steps=steps)
                    if again[0].kept:
                        self.states, self.base, self.slopes = kept_states, kept_base, kept_slopes
                        return again
                self.states, self.base, self.slopes = kept_states, kept_base, kept_slopes
        trims = both_trims(tried.vessel)
        lead, foam = (_mass(tried.vessel, name) - _mass(self.vessel, name) for name in ("lead", "foam"))
        return [
            Cure(
                kind=kind,
                steps=steps if steps is not None else steps_of(self.vessel, tried.pieces, tried.moves),
                pieces=tried.pieces,
                moves=tried.moves,
                kept=verdict.kept,
                keeps_trims=keeps(self.vessel, self.trims, trims),
                mark=verdict.mark,
                criteria=verdict.criteria,
                least_gm_before_m=figure_of(self.verdict, "gm_least"),
                least_gm_after_m=figure_of(verdict, "gm_least"),
                bg_before_m=figure_of(self.verdict, "bg"),
                bg_after_m=figure_of(verdict, "bg"),
                before=self.trims,
                after=trims,
                added_lead_kg=lead,
                added_foam_kg=foam,
                by_hand=kind == "lower",
                rounds=tried.rounds,
            )
        ]


def figure_of(verdict: Verdict, key: str) -> Figure:
    """The figure of one criterion."""
    found = next(entry for entry in verdict.criteria if entry.key == key)
    return Figure(found.value, found.spread)


def _mass(vessel: Vessel, kind: str) -> float:
    return sum(item.mass_kg for item in vessel.items if item.kind == kind)


def _rank(tried: _Tried) -> tuple[bool, float]:
    return (not tried.trimmed, max(tried.short_m, MET_M))


def _differ(first: _Tried, second: _Tried) -> bool:
    """True unless both come to the same to a tenth of a gram and of a millimetre."""
    return _rounded(first) != _rounded(second)


def _rounded(tried: _Tried) -> list[tuple[object, ...]]:
    found: list[tuple[object, ...]] = [
        (piece.material, piece.place, round(piece.mass_kg, 4)) for piece in tried.pieces
    ]
    found += [(move.part, *(round(value, 4) for value in move.to_m)) for move in tried.moves]
    return sorted(found, key=str)


def _allowed(needs: Needs, index: int, high: float) -> tuple[float, float]:
    """Least and most of one option that keep every trim row."""
    low, most = 0.0, high
    for effect, miss, within in zip(needs.trims[:, index], needs.misses, needs.within, strict=True):
        if abs(effect) < 1e-12:
            continue
        ends = sorted(((-within - miss) / effect, (within - miss) / effect))
        low, most = max(low, ends[0]), min(most, ends[1])
    return low, most
