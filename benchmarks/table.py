"""What a measurement gives back, how it is timed and how it is printed."""

import time
from collections.abc import Callable, Iterable
from typing import NamedTuple


class Row(NamedTuple):
    """One line of the table."""

    what: str
    found: str
    wanted: str = ""
    met: bool | None = None
    """None where nothing is asked."""


Bench = Callable[[], Iterable[Row]]


def best_time(work: Callable[[], object], repeats: int) -> float:
    """Least wall time [s] of `work` over `repeats` runs after one to warm up: the run least disturbed."""
    work()
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def side_by_side(works: list[Callable[[], object]], repeats: int) -> list[float]:
    """Least wall times [s] of several works, run in turn so that all see the same machine."""
    best = [float("inf")] * len(works)
    for work in works:
        work()
    for _ in range(repeats):
        for number, work in enumerate(works):
            start = time.perf_counter()
            work()
            best[number] = min(best[number], time.perf_counter() - start)
    return best


def shown(rows: Iterable[Row]) -> str:
    """The rows as an aligned table."""
    marks = {True: "met", False: "MISSED", None: ""}
    lines = [(row.what, row.found, row.wanted, marks[row.met]) for row in rows]
    widths = [max(len(line[column]) for line in lines) for column in range(4)]
    return "\n".join(
        "  ".join(text.ljust(width) for text, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )
