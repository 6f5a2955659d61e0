"""What a trace amounts to, worked out in a process of its own and put into shapes for the page."""

from collections.abc import Mapping
from typing import Any

from dabchick.model.units import UnitSet
from dabchick.workbench.jobs import Tell
from dabchick.workbench.shapes.trace import TraceFigures


def trace_work(tell: Tell, tables: Mapping[str, Any], pictures: Mapping[str, tuple[int, int]]) -> Any:
    """The study, in a process of its own."""
    raise NotImplementedError


def figures_of(base: str, result: Any, units: UnitSet) -> TraceFigures:
    """The study's result for the page."""
    raise NotImplementedError
