"""What a builder says of print files: a known length, material, filling; texts into SI."""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import Dimension, UnitError, parse
from dabchick.model.vessel import Vector

Between = tuple[Vector, Vector]

ZERO: Final[Vector] = (0.0, 0.0, 0.0)
_SHARE: Final = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+))\s*(%?)\s*")


@dataclass(frozen=True, kw_only=True)
class Filling:
    """What the builder knows of the inside of the walls; None: not known."""

    infill: float | None = None
    """Share of the room inside the outer lines, 0 to 1; without lines, of the whole wall."""
    infill_spread: float | None = None
    lines: int | None = None
    """Solid lines on each face of a wall."""
    line_width_m: float | None = None
    water: float | None = None
    """Absorbed water as a share of the dry mass."""
    water_spread: float | None = None


@dataclass(frozen=True, kw_only=True)
class PrintsAsk:
    """What the builder knows and wants; None: not said."""

    length_m: float | None = None
    between_m: Between | None = None
    """Two points in the axes of the files [m] that lie `length_m` apart; without them it is the length over all."""
    walled: bool | None = None
    material: str | None = None
    weighed_kg: float | None = None
    filling: Filling = field(default_factory=Filling)


@dataclass(frozen=True, kw_only=True)
class PrintsTexts:
    """The same as typed; None or blank: not said."""

    length: str | None = None
    between: tuple[str, str] | None = None
    walled: bool | None = None
    material: str | None = None
    weighed: str | None = None
    infill: str | None = None
    infill_spread: str | None = None
    lines: int | None = None
    line_width: str | None = None
    water: str | None = None
    water_spread: str | None = None


class TextReader:
    """Reads texts into SI and keeps every mistake; `place` tells where a key was typed."""

    def __init__(self, place: Callable[[str], str] = lambda key: "") -> None:
        self.wrong: list[Advice] = []
        self._place = place

    def amount(self, key: str, text: str | None, dimension: Dimension) -> float | None:
        """An amount with its unit; None where nothing is said."""
        if text is None or not text.strip():
            return None
        try:
            return parse(text, dimension)
        except UnitError as mistake:
            self._refuse(key, mistake.what, mistake.todo, text, mistake.allowed)
            return None

    def point(self, key: str, text: str | None) -> Vector | None:
        """Three lengths with commas between, such as `300 mm, 0, 0`."""
        if text is None or not text.strip():
            return None
        parts = text.split(",")
        if len(parts) != 3:
            self._refuse(
                key, "Three lengths are wanted here.", 'Write them like "300 mm, 0, 0".', text, "x, y, z"
            )
            return None
        values = [self.amount(key, part.strip() or "?", "length") for part in parts]
        x, y, z = (math.nan if value is None else value for value in values)
        return (x, y, z)

    def turn(self, key: str, text: str | None) -> Vector | None:
        """Three angles in degrees with commas between, such as `0, 0, 90`."""
        if text is None or not text.strip():
            return None
        try:
            values = [float(part.strip().removesuffix("deg").removesuffix("°")) for part in text.split(",")]
        except ValueError:
            values = []
        if len(values) != 3 or not all(math.isfinite(value) for value in values):
            self._refuse(
                key,
                "Three angles in degrees are wanted here.",
                'Write them like "0, 0, 90": about x, then y, then z.',
                text,
                "x, y, z",
            )
            return None
        x, y, z = values
        return (x, y, z)

    def share(self, key: str, text: str | None) -> float | None:
        """A share such as `30 %` or `0.3`."""
        if text is None or not text.strip():
            return None
        found = _SHARE.fullmatch(text)
        if found is None:
            self._refuse(key, "This is no share.", 'Write it like "30 %".', text, "0 to 100 %")
            return None
        return float(found[1]) / (100.0 if found[2] else 1.0)

    def done(self) -> None:
        """Raise one BoatError with every mistake so far."""
        if self.wrong:
            raise BoatError(*self.wrong)

    def _refuse(self, key: str, what: str, todo: str, given: str, allowed: str) -> None:
        self.wrong.append(
            Advice(what=what, todo=todo, where=self._place(key), key=key, given=given, allowed=allowed)
        )


def ask_of(texts: PrintsTexts, reader: TextReader | None = None) -> PrintsAsk:
    """What was typed, in SI. Raises one BoatError with all that cannot be read."""
    read = reader or TextReader()
    between: Between | None = None
    if texts.between is not None and any(text.strip() for text in texts.between):
        first, second = (read.point("between", text or "?") for text in texts.between)
        between = (first or ZERO, second or ZERO)
    ask = PrintsAsk(
        length_m=read.amount("length", texts.length, "length"),
        between_m=between,
        walled=texts.walled,
        material=texts.material.strip() or None if texts.material else None,
        weighed_kg=read.amount("weighed", texts.weighed, "mass"),
        filling=Filling(
            infill=read.share("infill", texts.infill),
            infill_spread=read.share("infill_spread", texts.infill_spread),
            lines=texts.lines,
            line_width_m=read.amount("line_width", texts.line_width, "length"),
            water=read.share("water", texts.water),
            water_spread=read.share("water_spread", texts.water_spread),
        ),
    )
    read.done()
    return ask
