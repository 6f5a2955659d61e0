"""One mixed-integer linear programme, handed to HiGHS, silent, with its gap told."""

from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Solution:
    """The best point found, its cost, and how far the best possible may lie below it, relative."""

    point: Array
    cost: float
    gap: float


class OutOfTimeError(ArithmeticError):
    """No point at all was found in the time allowed."""


class ImpossibleError(ArithmeticError):
    """No point keeps every row and bound."""


def solve_programme(
    cost: Array,
    rows: Array,
    row_low: Array,
    row_high: Array,
    low: Array,
    high: Array,
    whole: NDArray[np.bool_],
    *,
    gap: float,
    seconds: float,
    start: Array | None = None,
    good_enough: float | None = None,
    nodes: int | None = None,
) -> Solution:
    """Least cost . x with row_low <= rows x <= row_high, low <= x <= high, x whole where told.

    Stops at the relative `gap`, at a cost of `good_enough`, after `nodes` of the search tree (the same on every
    machine, however busy), or after `seconds`, with the best found. `start` is a
    point known to be possible. Raises ImpossibleError or OutOfTimeError.
    """
    infinity = highspy.kHighsInf
    matrix = csc_array(rows)
    programme = highspy.HighsLp()
    programme.num_col_, programme.num_row_ = len(cost), len(row_low)
    programme.col_cost_ = cost
    programme.col_lower_ = np.where(np.isneginf(low), -infinity, low)
    programme.col_upper_ = np.where(np.isposinf(high), infinity, high)
    programme.row_lower_ = np.where(np.isneginf(row_low), -infinity, row_low)
    programme.row_upper_ = np.where(np.isposinf(row_high), infinity, row_high)
    programme.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    programme.a_matrix_.start_ = matrix.indptr
    programme.a_matrix_.index_ = matrix.indices
    programme.a_matrix_.value_ = matrix.data
    kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    programme.integrality_ = [kinds[int(entry)] for entry in whole]
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)  # the same answer on every machine
    solver.setOptionValue("mip_rel_gap", gap)
    solver.setOptionValue("time_limit", seconds)
    solver.setOptionValue("primal_feasibility_tolerance", 1e-9)
    solver.setOptionValue("mip_feasibility_tolerance", 1e-9)
    if nodes is not None:
        solver.setOptionValue("mip_max_nodes", nodes)
    if good_enough is not None:
        solver.setOptionValue("objective_target", good_enough)
    solver.passModel(programme)
    if start is not None:
        known = highspy.HighsSolution()
        known.col_value = start.tolist()
        solver.setSolution(known)
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        if status == highspy.HighsModelStatus.kInfeasible:
            raise ImpossibleError("No amounts keep every condition.")
        raise OutOfTimeError(f"No answer in {seconds:g} s ({solver.modelStatusToString(status)}).")
    proven = float(info.mip_gap) if bool(np.any(whole)) else 0.0
    return Solution(np.array(solver.getSolution().col_value), float(info.objective_function_value), proven)
