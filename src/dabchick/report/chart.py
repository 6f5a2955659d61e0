"""What plots are drawn with: straight scales with round ticks, lines that break where there is no value, flags."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from dabchick.report import svg
from dabchick.report.builder_units import number
from dabchick.report.labels import spread
from dabchick.report.marks import HAIR, THIN
from dabchick.report.palette import FEATHER, INK, PAPER, SLATE
from dabchick.report.rulers import tick_step

Point = tuple[float, float]
SMALL: Final = 2.5
"""Size [mm] of the words in a plot."""
_MEAN_LETTER: Final = 0.46
"""Mean width of a letter over its size, on the safe side for figures."""
_RUNNING: Final = 0.93
"""Whole sentences are that much narrower than the mean letter says."""
_FLAG_LANE: Final = 3.3


@dataclass(frozen=True)
class Span:
    """A straight scale: `low` lies at `start` on paper [mm], `high` at `end`."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def within(self, value: float) -> float:
        """On paper, kept within the scale."""
        return self.at(min(max(value, self.low), self.high))

    def ticks(self, apart_mm: float) -> list[float]:
        """Round values at least that far apart."""
        step = tick_step(apart_mm * (self.high - self.low) / abs(self.end - self.start))
        first, last = math.ceil(self.low / step - 1e-6), math.floor(self.high / step + 1e-6)
        return [count * step for count in range(first, last + 1)]


def text_width(line: str, size: float) -> float:
    """About how wide a line is on paper [mm], rather too much than too little."""
    return len(line) * size * _MEAN_LETTER


def round_ends(values: Iterable[float], least: float, *, zero: bool = False) -> tuple[float, float]:
    """Ends of a scale that holds the finite values with a little air; at least `least` wide."""
    known = [value for value in values if math.isfinite(value)] + ([0.0] if zero else [])
    low, high = (min(known), max(known)) if known else (0.0, 0.0)
    if high - low < least:
        middle = 0.5 * (low + high)
        low, high = middle - 0.5 * least, middle + 0.5 * least
    air = 0.06 * (high - low)
    return low - air, high + air


def decimals(ticks: Sequence[float]) -> int:
    """Digits after the point that tell the ticks apart."""
    step = abs(ticks[1] - ticks[0]) if len(ticks) > 1 else 1.0
    return max(0, -math.floor(math.log10(step) + 1e-9))


def grid(x: Span, y: Span, apart_mm: float = 6.0, *, plus: bool = False) -> list[str]:
    """Hairlines and figures of the upright scale, and the frame round the panel."""
    ticks = y.ticks(apart_mm)
    places = decimals(ticks)
    drawn = []
    for value in ticks:
        at = y.at(value)
        zero = abs(value) < 1e-12
        drawn.append(svg.line(x.start, at, x.end, at, SLATE if zero else FEATHER, THIN if zero else HAIR))
        drawn.append(
            svg.text(
                x.start - 1.0, at + 0.85, number(value, places, plus=plus), SMALL, SLATE, text_anchor="end"
            )
        )
    drawn.append(
        svg.rectangle(
            x.start, min(y.start, y.end), x.end - x.start, abs(y.end - y.start), fill="none", stroke=SLATE,
            stroke_width=HAIR,
        )
    )  # fmt: skip
    return drawn


def runs(points: Sequence[Point]) -> list[list[Point]]:
    """The points in runs between the gaps that values without a figure leave."""
    found: list[list[Point]] = [[]]
    for point in points:
        if math.isfinite(point[0]) and math.isfinite(point[1]):
            found[-1].append(point)
        elif found[-1]:
            found.append([])
    return [run for run in found if run]


def curve(points: Sequence[Point], colour: str, width: float, dashes: str = "", **more: str) -> str:
    """Straight from point to point on paper; a lone point is a dot. Breaks where there is no value."""
    drawn = []
    for run in runs(points):
        if len(run) == 1:
            drawn.append(svg.element("circle", cx=run[0][0], cy=run[0][1], r=max(0.45, width), fill=colour))
            continue
        data = "M" + "L".join(f"{svg.mm(x)} {svg.mm(y)}" for x, y in run)
        style = {"stroke_dasharray": dashes} if dashes else {}
        drawn.append(
            svg.element(
                "path",
                d=data,
                fill="none",
                stroke=colour,
                stroke_width=width,
                stroke_linejoin="round",
                **style,
            )
        )
    return svg.group(drawn, **more) if drawn else ""


def halo(x: float, y: float, words: str, size: float, colour: str, **more: str) -> str:
    """Words over lines, readable on a ground of paper.

    A rim round the letters would do on the screen; in print each letter's rim eats into the one before.
    """
    wide = 0.94 * text_width(words, size)
    left = x - wide * {"middle": 0.5, "end": 1.0}.get(more.get("text_anchor", "start"), 0.0)
    ground = svg.rectangle(
        left - 0.3, y - 0.8 * size, wide + 0.6, 1.08 * size, fill=PAPER, fill_opacity="0.88"
    )
    return ground + svg.text(x, y, words, size, colour, **more)


def end_labels(
    x: float, labels: Sequence[tuple[float, str, str]], limits: tuple[float, float], size: float = SMALL
) -> list[str]:
    """Words right of the ends of lines, each (y, words, colour), moved apart where they would touch."""
    apart = min(size * 1.15, (limits[1] - limits[0]) / max(1, len(labels) - 1) - 1e-6)
    places = spread([label[0] for label in labels], apart, *limits)
    drawn = []
    for (y, words, colour), place in zip(labels, places, strict=True):
        drawn.append(svg.line(x, y, x + 1.8, place, colour, HAIR))
        drawn.append(svg.text(x + 2.3, place + 0.32 * size, words, size, colour))
    return drawn


@dataclass(frozen=True)
class Flag:
    """Words over the panels, with a line down through them at x."""

    x: float
    words: str
    colour: str
    dashes: str
    bold: bool = False


def lanes(flags: Sequence[Flag], low: float, high: float, size: float = SMALL) -> list[tuple[int, float]]:
    """A lane (0 is the lowest) and the left end of the words for each flag, so that no two words touch.

    A flag without words takes no room.
    """
    ends: list[list[tuple[float, float]]] = []
    found: list[tuple[int, float]] = [(0, 0.0)] * len(flags)
    for index in sorted(range(len(flags)), key=lambda at: flags[at].x):
        flag = flags[index]
        if not flag.words:
            continue
        wide = text_width(flag.words, size)
        left = min(max(flag.x - 0.5 * wide, low), high - wide)
        lane = next(
            (
                at
                for at, taken in enumerate(ends)
                if all(left > end + 1.2 or left + wide < begin - 1.2 for begin, end in taken)
            ),
            len(ends),
        )
        if lane == len(ends):
            ends.append([])
        ends[lane].append((left, left + wide))
        found[index] = (lane, left)
    return found


def lanes_height(placed: Sequence[tuple[int, float]]) -> float:
    """How high the flags' words stand [mm]."""
    return _FLAG_LANE * (1 + max((lane for lane, _ in placed), default=-1))


def flag_lines(
    flags: Sequence[Flag], placed: Sequence[tuple[int, float]], top: float, panels: Sequence[Span]
) -> list[str]:
    """The words of the flags above `top`, and the line of each from its words through all panels."""
    drawn = []
    for flag, (lane, _) in zip(flags, placed, strict=True):
        head = top - 0.6 - _FLAG_LANE * lane
        for begin, end in [(head, top), *((min(y.start, y.end), max(y.start, y.end)) for y in panels)]:
            drawn.append(
                svg.line(flag.x, begin, flag.x, end, flag.colour, THIN, stroke_dasharray=flag.dashes)
            )
    for flag, (lane, left) in zip(flags, placed, strict=True):
        if not flag.words:
            continue
        y = top - 1.3 - _FLAG_LANE * lane
        weight = "600" if flag.bold else "400"
        drawn.append(halo(left, y, flag.words, SMALL, flag.colour, font_weight=weight, class_="flag"))
    return drawn


def caption(x: float, y: float, title: str, words: str = "") -> str:
    """The title of a plot or panel in small capitals, with a word beside it."""
    drawn = svg.text(x, y, title.upper(), SMALL, SLATE, letter_spacing="0.1", font_weight="600")
    if words:
        left = caption_end(x, title)
        drawn += svg.text(left, y, words, SMALL + 0.1, SLATE, font_style="italic")
    return drawn


def caption_end(x: float, title: str) -> float:
    """Where the words beside a title begin: its capitals are spaced."""
    return x + len(title) * SMALL * 0.66 + 2.0


def whole(width: float, height: float, title: str, parts: Iterable[str]) -> str:
    """A standalone SVG that wide and high [mm] on white paper."""
    body = [svg.rectangle(0, 0, width, height, class_="paper", fill=PAPER), *parts]
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + svg.element(
        "svg",
        svg.element("title", svg.words(title)) + "".join(body),
        xmlns="http://www.w3.org/2000/svg",
        version="1.1",
        width=f"{svg.mm(width)}mm",
        height=f"{svg.mm(height)}mm",
        viewBox=f"0 0 {svg.mm(width)} {svg.mm(height)}",
        font_family=svg.FONT,
        style="background:#FFFFFF;color-scheme:light",
    )


def wrapped(words: str, width: float, size: float) -> list[str]:
    """The words in lines no wider than `width` [mm] on paper."""
    lines: list[str] = []
    for word in svg.plain(words).split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and _RUNNING * text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(svg.shortened(word, max(3, int(width / (size * _MEAN_LETTER)))))
    return lines


def line_sample(x: float, y: float, colour: str, width: float, dashes: str = "", long: float = 8.0) -> str:
    """A piece of a line for a key."""
    style = {"stroke_dasharray": dashes} if dashes else {}
    return svg.line(x, y, x + long, y, colour, width, **style)


def key_words(x: float, y: float, words: str) -> str:
    """The words of a key beside a sign whose middle lies at y."""
    return svg.text(x, y + 0.85, words, SMALL, INK)
