"""The usual gear from data/parts.toml, in the sizes that suit a boat of some length."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final, Literal

from dabchick.model.vessel import Known, Vector

CLASSES: Final = (0.58, 0.8, 1.2)
"""Lengths [m] up to which a boat is tiny, small or middle; beyond, large. Common practice, no source."""
USUAL_LENGTH_M: Final = 0.9


@dataclass(frozen=True)
class StarterPart:
    """A usual part as it suits one length of boat."""

    part: str
    name: str
    group: str
    about: str
    usual: bool
    known: Known
    from_hull: bool
    """Its size and mass follow from the hull."""
    size_m: Vector | None
    """Length, width and height; None for what lies all over the place."""
    mass_kg: float | None
    is_round: bool
    end: Literal["fore", "aft"]
    row: Literal["low", "high", "whole"]
    slides: bool


def size_class(length_m: float) -> int:
    """0 tiny, 1 small, 2 middle, 3 large."""
    return sum(length_m > limit for limit in CLASSES)


def starter_parts(length_m: float = USUAL_LENGTH_M) -> tuple[StarterPart, ...]:
    """All usual parts, in the order of the table."""
    return tuple(_part(row, size_class(length_m)) for row in _rows())


@cache
def _rows() -> tuple[dict[str, Any], ...]:
    text = (files("dabchick") / "data" / "parts.toml").read_text("utf-8")
    return tuple(tomllib.loads(text)["part"])


def _part(row: dict[str, Any], which: int) -> StarterPart:
    size = row["size"][which] if "size" in row else None
    return StarterPart(
        part=row["part"],
        name=row["name"],
        group=row["group"],
        about=row["about"],
        usual=row["usual"],
        known=row["known"],
        from_hull=row.get("made") == "hull",
        size_m=(size[0] / 1000.0, size[1] / 1000.0, size[2] / 1000.0) if size else None,
        mass_kg=row["mass"][which] / 1000.0 if "mass" in row else None,
        is_round=row.get("round", False),
        end=row.get("end", "fore"),
        row=row.get("row", "low"),
        slides=row.get("slides", False),
    )
