"""A sheet with the plan of an ellipsoid, drawn for tests: every line on it is known in closed form.

An ellipsoid with half axes a, b, c has the volume 4/3 pi a b c. The sheet holds its side view (half axes a and c), its
top view (a and b), its middle section (b and c) and a scale bar.
"""

from dataclasses import dataclass
from math import cos, pi, sin
from pathlib import Path

from PIL import Image, ImageDraw

Place = tuple[float, float]


@dataclass(frozen=True)
class Oval:
    """One view: an ellipse on the sheet, bow to the right."""

    middle: Place
    along: float
    up: float

    def at(self, turn: float) -> Place:
        """The point at an angle: 0 is the bow, a quarter turn the top."""
        return (self.middle[0] + self.along * cos(turn), self.middle[1] - self.up * sin(turn))

    def upper(self, count: int) -> list[Place]:
        """Points of the upper edge from stern to bow, closer together at the ends."""
        return [self.at(pi - pi * step / (count - 1)) for step in range(count)]

    def lower(self, count: int) -> list[Place]:
        """Points of the lower edge from stern to bow."""
        return [self.at(pi + pi * step / (count - 1)) for step in range(count)]


@dataclass(frozen=True)
class Sheet:
    """The sheet's size and what is drawn on it [pixels]; `millimetre` is one millimetre of the boat."""

    width: int = 1600
    height: int = 1100
    millimetre: float = 1.5
    length_mm: float = 900.0
    beam_mm: float = 100.0
    height_mm: float = 120.0

    @property
    def side(self) -> Oval:
        return Oval(
            (800.0, 260.0), 0.5 * self.length_mm * self.millimetre, 0.5 * self.height_mm * self.millimetre
        )

    @property
    def top(self) -> Oval:
        return Oval(
            (800.0, 560.0), 0.5 * self.length_mm * self.millimetre, 0.5 * self.beam_mm * self.millimetre
        )

    @property
    def section(self) -> Oval:
        return Oval(
            (300.0, 860.0), 0.5 * self.beam_mm * self.millimetre, 0.5 * self.height_mm * self.millimetre
        )

    @property
    def bar(self) -> tuple[Place, Place]:
        """A scale bar of 300 mm."""
        return (900.0, 980.0), (900.0 + 300.0 * self.millimetre, 980.0)

    @property
    def volume_m3(self) -> float:
        """4/3 pi a b c."""
        return 4.0 / 3.0 * pi * self.length_mm * self.beam_mm * self.height_mm / 8.0 * 1e-9

    def picture(self) -> Image.Image:
        """The sheet as a scan would show it."""
        picture = Image.new("L", (self.width, self.height), 252)
        pen = ImageDraw.Draw(picture)
        for oval in (self.side, self.top, self.section):
            x, y = oval.middle
            box = (x - oval.along, y - oval.up, x + oval.along, y + oval.up)
            pen.ellipse(box, outline=30, width=3)
            pen.line((box[0] - 40, y, box[2] + 40, y), fill=150, width=1)
        x, y = self.section.middle
        pen.line((x, y - self.section.up - 30, x, y + self.section.up + 30), fill=150, width=1)
        for station in range(1, 10):
            x = self.side.middle[0] - self.side.along + 0.2 * station * self.side.along
            for oval in (self.side, self.top):
                pen.line(
                    (x, oval.middle[1] - oval.up - 10, x, oval.middle[1] + oval.up + 10), fill=190, width=1
                )
        (left, y), (right, _) = self.bar
        pen.rectangle((left, y - 6, right, y + 6), outline=30, width=2)
        pen.rectangle((left, y - 6, 0.5 * (left + right), y + 6), fill=30)
        pen.text((left - 4, y + 14), "0", fill=30)
        pen.text((right - 24, y + 14), "300 mm", fill=30)
        pen.rectangle((20, 20, self.width - 20, self.height - 20), outline=120, width=2)
        return picture

    def save(self, file: Path) -> Path:
        """The sheet as a file; its ending says which kind."""
        self.picture().save(file)
        return file


def traced(sheet: Sheet, picture: str, count: int = 21) -> dict[str, object]:
    """A whole trace of the sheet's side and top view, as the page would keep it."""

    def bar() -> dict[str, object]:
        return {"from": sheet.bar[0], "to": sheet.bar[1], "length": "300 mm"}

    def level(oval: Oval) -> dict[str, Place]:
        return {
            "from": (oval.middle[0] - oval.along, oval.middle[1]),
            "to": (oval.middle[0] + oval.along, oval.middle[1]),
        }

    return {
        "view": [
            {
                "name": "side",
                "kind": "side",
                "picture": picture,
                "scale": bar(),
                "level": level(sheet.side),
                "bow": "right",
                "curve": [
                    {"name": "upper edge", "role": "upper", "points": sheet.side.upper(count)},
                    {"name": "lower edge", "role": "lower", "points": sheet.side.lower(count)},
                ],
            },
            {
                "name": "top",
                "kind": "top",
                "picture": picture,
                "scale": bar(),
                "level": level(sheet.top),
                "bow": "right",
                "curve": [{"name": "half breadth", "role": "half_breadth", "points": sheet.top.upper(count)}],
            },
        ]
    }
