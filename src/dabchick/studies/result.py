"""What every study gives back: frozen figures that say their unit, method, source, assumptions and warnings."""

from dataclasses import dataclass, fields, is_dataclass
from typing import Any

import numpy as np

from dabchick.model.advice import Advice


@dataclass(frozen=True)
class Figure:
    """A number with one standard deviation; the unit stands at the end of the field's name."""

    value: float
    spread: float

    def __format__(self, spec: str) -> str:
        return f"{self.value:{spec}} +/- {self.spread:{spec}}"


@dataclass(frozen=True, kw_only=True)
class StudyResult:
    """The part that all results share."""

    boat: str
    method: str
    sources: tuple[str, ...]
    validity: str
    assumptions: tuple[str, ...]
    warnings: tuple[Advice, ...]


def as_json(value: Any) -> Any:
    """A result as plain lists and dictionaries, keys unchanged (each ends in its unit); NaN becomes null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {entry.name: as_json(getattr(value, entry.name)) for entry in fields(value)}
    if isinstance(value, dict):
        return {str(key): as_json(entry) for key, entry in value.items()}
    if isinstance(value, np.ndarray):
        return as_json(value.tolist())
    if isinstance(value, list | tuple):
        return [as_json(entry) for entry in value]
    if isinstance(value, np.generic):
        return as_json(value.item())
    if isinstance(value, float) and not np.isfinite(value):
        return None
    return value
