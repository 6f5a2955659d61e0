"""The mixed-integer programme: least misses, then least added mass, then least foam, then fewest places.

Each stage is solved by HiGHS to the stated gap; what an earlier stage reached binds the later ones.
"""

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Place, Wishes
from dabchick.studies.programme import solve_programme
from dabchick.studies.trim_model import BG_ROW, GRAM_KG, TrimModel
from dabchick.studies.trim_result import PLACES_STAGE

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]

EXACT = 1e-6
"""Misses, in yardsticks, that count as none."""
PIECES_MAY_MISS = 0.1
"""With pieces, misses up to a tenth of the yardstick are let go for less lead."""
MOVING_COST_G_PER_MM = 1e-3
"""Moving a part is nearly free, but not quite: of two equal answers the one that moves less is taken."""
LEAST_SECONDS = 0.2


@dataclass(frozen=True, eq=False)
class Choice:
    """Amounts chosen, one per column of the model."""

    amounts: Array
    miss: float
    """Largest miss in yardsticks."""
    gaps: dict[str, float]
    """Relative gap that each stage was proven to."""


@dataclass(frozen=True, eq=False)
class _Programme:
    """Columns: the model's amounts, then one yes-or-no per place and material, then the miss."""

    model: TrimModel
    places: tuple[Place, ...]
    wishes: Wishes
    correction: Array
    used: tuple[tuple[int, ...], ...]
    """For each yes-or-no, the model columns that it lets in."""
    size: int

    @property
    def amounts(self) -> int:
        return len(self.model.columns)


def _uses(model: TrimModel) -> tuple[tuple[int, ...], ...]:
    """Columns that share one yes-or-no: a material in a place, or one way of one move."""
    groups: dict[tuple[str, int, int], list[int]] = {}
    for index, column in enumerate(model.columns):
        own = index if column.kind == "move" else -1
        groups.setdefault((column.kind, column.place, own), []).append(index)
    return tuple(tuple(group) for group in groups.values())


def solve(
    model: TrimModel,
    places: tuple[Place, ...],
    wishes: Wishes,
    correction: Array,
    *,
    gap: float,
    seconds: float,
    fixed: Mapping[int, float] | None = None,
    sheet: bool,
    progress: Progress | None = None,
) -> Choice:
    """Choose the amounts. `correction` (7,) is added to the rows (exact balance minus linear rows, so far).

    `fixed` holds columns at an amount (0 keeps a place empty, a positive one keeps a piece count); used when only
    the last tenths of a gram are to be settled. `seconds` is the most time for all stages: each may take half of what
    is left. Raises OutOfTimeError or ImpossibleError as `solve_programme` does.
    """
    used = _uses(model)
    programme = _Programme(model, places, wishes, correction, used, len(model.columns) + len(used) + 1)
    amounts = programme.amounts
    rows, low, high = _rows(programme)
    lower, upper, whole = _limits(programme, fixed or {})
    mass, foam, count = _costs(programme)
    gaps: dict[str, float] = {}
    deadline = time.monotonic() + seconds

    def stage(
        name: str,
        share: float,
        cost: Array,
        extra: list[tuple[Array, float]],
        start: Array | None,
        good_enough: float | None = None,
    ) -> tuple[Array, float]:
        if progress:
            progress(name, share)
        answer = solve_programme(
            cost,
            np.vstack([rows, *(row[None, :] for row, _ in extra)]),
            np.concatenate([low, np.full(len(extra), -np.inf)]),
            np.concatenate([high, [limit for _, limit in extra]]),
            lower,
            upper,
            whole,
            gap=gap,
            seconds=max(0.5 * (deadline - time.monotonic()), LEAST_SECONDS),
            start=start,
            good_enough=good_enough,
        )
        enough = good_enough is not None and answer.cost <= good_enough
        gaps[name] = 0.0 if enough or answer.cost <= 1e-9 else answer.gap
        return answer.point, answer.cost

    may_miss = EXACT if sheet else PIECES_MAY_MISS
    miss_cost = np.zeros(programme.size)
    miss_cost[-1] = 1.0
    found, miss = stage("least misses", 0.0, miss_cost, [], None, may_miss)
    upper[-1] = max(miss * 1.001, may_miss)
    found, least_mass = stage("least added mass", 0.3, mass, [], found)
    within = (1.0 + gap) * least_mass + 1e-4
    leaner = foam + 1e-3 * mass
    found, least_foam = stage("least foam", 0.6, leaner, [(mass, within)], found)
    found, _ = stage(
        PLACES_STAGE,
        0.8,
        count + mass / max(10.0 * within, 1e-9) + _order(programme),
        [(mass, within), (leaner, (1.0 + gap) * least_foam + 1e-5)],
        found,
    )
    amounts_found = found[:amounts].copy()
    wholes = np.array([column.whole for column in model.columns], dtype=bool)
    amounts_found[wholes] = np.round(amounts_found[wholes])
    reached = model.measure @ (model.matrix @ amounts_found + model.base + correction)[:6]
    return Choice(amounts_found, float(np.max(np.abs(reached), initial=0.0)), gaps)


def _rows(programme: _Programme) -> tuple[Array, Array, Array]:
    model, size = programme.model, programme.size
    amounts = programme.amounts
    target = model.base + programme.correction
    effects, misses = model.measure @ model.matrix[:6], model.measure @ target[:6]
    rows, low, high = [], [], []
    for row in range(6):
        line = np.zeros(size)
        line[:amounts] = effects[row]
        for sign in (1.0, -1.0):
            bounded = line.copy()
            bounded[-1] = -sign
            rows.append(bounded)
            low.append(-np.inf if sign > 0.0 else -misses[row])
            high.append(-misses[row] if sign > 0.0 else np.inf)
    line = np.zeros(size)
    scale = model.yardstick[4]
    line[:amounts] = model.matrix[BG_ROW] / scale
    line[-1] = 1.0
    rows.append(line)
    low.append(-target[BG_ROW] / scale)
    high.append(np.inf)
    # Lead or foam in one place, and forth or back for one part, but not both.
    either: dict[tuple[bool, int], list[int]] = {}
    for index, group in enumerate(programme.used):
        columns = [model.columns[column] for column in group]
        either.setdefault((columns[0].kind == "move", columns[0].place), []).append(index)
        # The whole group shares the room: each column counts by the part of its own most that it takes.
        line = np.zeros(size)
        for column in group:
            line[column] = 1.0 / max(model.columns[column].high, 1e-12)
        line[amounts + index] = -1.0
        rows.append(line)
        low.append(-np.inf)
        high.append(0.0)
        if columns[0].least > 0.0:
            line = np.zeros(size)
            line[group[0]] = 1.0
            line[amounts + index] = -min(columns[0].least, columns[0].high)
            rows.append(line)
            low.append(0.0)
            high.append(np.inf)
    for indices in either.values():
        if len(indices) > 1:
            line = np.zeros(size)
            line[[amounts + index for index in indices]] = 1.0
            rows.append(line)
            low.append(-np.inf)
            high.append(1.0)
    return np.array(rows), np.array(low), np.array(high)


def _limits(programme: _Programme, fixed: Mapping[int, float]) -> tuple[Array, Array, NDArray[np.bool_]]:
    columns = programme.model.columns
    yes_no = len(programme.used)
    lower = np.zeros(len(columns) + yes_no + 1)
    upper = np.array([*(column.high for column in columns), *np.ones(yes_no), np.inf])
    whole = np.array([*(column.whole for column in columns), *np.ones(yes_no, dtype=bool), False])
    for index, amount in fixed.items():
        lower[index] = upper[index] = amount
    return lower, upper, whole


def _costs(programme: _Programme) -> tuple[Array, Array, Array]:
    columns = programme.model.columns
    mass, foam, count = (np.zeros(programme.size) for _ in range(3))
    for index, column in enumerate(columns):
        mass[index] = MOVING_COST_G_PER_MM if column.kind == "move" else column.mass_per_unit / GRAM_KG
        foam[index] = column.mass_per_unit / GRAM_KG if column.kind == "foam" else 0.0
    for index, group in enumerate(programme.used):
        count[len(columns) + index] = 1.0 if columns[group[0]].kind != "move" else 0.0
    return mass, foam, count


def _order(programme: _Programme) -> Array:
    """A cost too small to matter but for ties: of equal places the one named first, so that the answer is one."""
    order = np.zeros(programme.size)
    first = programme.amounts
    order[first:-1] = 1e-3 * np.arange(1, programme.size - first) / programme.size
    return order
