"""The dive diagram: draughts, trim and heel, GM and BG over the fill of the tanks, on the way down and up."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.report import svg
from dabchick.report.builder_units import number, short_with_unit, with_unit
from dabchick.report.chart import (
    SMALL,
    Flag,
    Span,
    caption,
    caption_end,
    curve,
    end_labels,
    flag_lines,
    grid,
    halo,
    key_words,
    lanes,
    lanes_height,
    line_sample,
    text_width,
    whole,
    wrapped,
)
from dabchick.report.dive_lines import (
    WAYS,
    Line,
    Panel,
    band,
    ends_of,
    goes_back,
    panels_of,
    points_of,
    printed,
    where_other,
)
from dabchick.report.marks import FIRM, HAIR, THIN
from dabchick.report.palette import CHESTNUT, FEATHER, INK, PAPER, POND, SLATE
from dabchick.report.stability_words import event_name, event_words, told_events, up_that_differs
from dabchick.studies.dive_path import DivePath
from dabchick.studies.stability_result import StabilityResult, Way

WIDTH_MM: Final = 186.0
HEIGHT_MM: Final = 128.0
_LEFT, _RIGHT = 14.0, 17.0
_TITLE, _AXIS, _KEY, _GAP, _PANEL_CAPTION = 4.0, 8.2, 5.0, 1.6, 3.6
_WORDS: Final = 3.2
_MOST_WORDS: Final = 8
_FILLS: Final = 7.0
_MOST_LANES: Final = 3
_CLOSE: Final = 5.0
_LEAST_PANEL: Final = 6.0
_ARROWS: Final[dict[Way, str]] = {"down": "↓", "up": "↑"}
_UP_DASHES: Final = "1.5 0.9"
_LEAST_DASHES: Final = "2.4 0.7 0.5 0.7"
_EVENT_DASHES: Final = "0.5 0.7"
_KINDS: Final = ("", "2.2 0.8", "0.5 0.7", "2.2 0.7 0.5 0.7")


def dive_diagram_svg(
    vessel: Vessel, result: StabilityResult, *, width_mm: float = WIDTH_MM, height_mm: float = HEIGHT_MM
) -> str:
    """A standalone SVG, `width_mm` by `height_mm`: panels over the way, the least moment and every event marked.

    Full lines go down; dashed ones come up, drawn only where they differ. Light bands are one standard deviation.
    What happens is numbered, and told below as far as there is room. Raises ValueError where there is none for the
    panels.
    """
    x = Span(0.0, 1.0, _LEFT, width_mm - _RIGHT)
    flags = _flags(vessel, result, x)
    placed = lanes(flags, _LEFT, width_mm)
    if max(lane for lane, _ in placed) >= _MOST_LANES:
        flags = [flags[0], *_gathered(flags[1:])]
        placed = lanes(flags, _LEFT, width_mm)
    top = _TITLE + lanes_height(placed) + _PANEL_CAPTION + 0.4
    panels = panels_of(vessel)
    fills = not _alike(result.path)
    shares = [panel.share for panel in panels]
    between = _GAP + _PANEL_CAPTION
    room = height_mm - top - _AXIS - _KEY - (len(shares) - 1) * between - fills * (_FILLS + between)
    least = _LEAST_PANEL * sum(shares) / min(shares)
    told = _told(vessel, result, width_mm, int((room - least) / _WORDS))
    room -= _WORDS * len(told)
    if room < least:
        raise ValueError(f"The dive diagram needs more height than {height_mm:g} mm.")
    boxes = []
    y = top
    for high in [_FILLS] * fills + [room * share / sum(shares) for share in shares]:
        boxes.append((y + high, y))
        y += high + _GAP + _PANEL_CAPTION
    foot = boxes[-1][0]
    drawn = [caption(0.0, 2.6, "Dive diagram", "bands: one standard deviation, cut at the frame")]
    spans = []
    if fills:
        spans.append(Span(-0.04, 1.04, *boxes[0]))
        drawn += _fills_panel(result.path, x, spans[0])
    for panel, box in zip(panels, boxes[fills:], strict=True):
        span, parts = _panel(panel, result, x, box)
        spans.append(span)
        drawn += parts
    drawn = _axis(vessel, result.path, x, foot, spans) + drawn
    drawn += flag_lines(flags, placed, top - _PANEL_CAPTION, spans)
    drawn += _least_mark(result, panels[-1].lines[0], x, spans[-1])
    drawn += _key(result, foot + _AXIS)
    for index, line in enumerate(told):
        drawn.append(
            svg.text(0.0, foot + _AXIS + _KEY + _WORDS * (index + 0.8), line, SMALL, INK, class_="told")
        )
    return whole(width_mm, height_mm, f"Dive diagram of {vessel.name}", drawn)


# -- what is shown -----------------------------------------------------------------------------------------------


def _alike(path: DivePath) -> bool:
    """All tanks hold the same share all the way, and never let any out: then the axis is the fill itself."""
    rows = np.array(path.shares)
    return bool(np.all(rows == rows[:, :1]) and np.all(np.diff(rows[:, 0]) >= 0.0))


def _flags(vessel: Vessel, result: StabilityResult, x: Span) -> list[Flag]:
    least = result.least
    amount = with_unit(least.lie.gm_transverse_m.value, "length", vessel.units)
    flags = [
        Flag(
            x.at(least.progress), f"{_ARROWS[least.way]} least stable: GM {amount}", INK, _LEAST_DASHES, True
        )
    ]
    for index, event in enumerate(told_events(result), start=1):
        colour = SLATE if event.kind in ("under", "out") else CHESTNUT
        words = f"{index} {_ARROWS[event.way]} {event_name(event)}"
        flags.append(Flag(x.at(event.progress), words, colour, _EVENT_DASHES))
    return flags


def _gathered(flags: Sequence[Flag]) -> list[Flag]:
    """Numbers alone, those that lie close together under one word, such as `1, 2, 7` or `1 … 9`."""
    groups: list[list[int]] = []
    for index in sorted(range(len(flags)), key=lambda at: flags[at].x):
        if groups and flags[index].x - flags[groups[-1][0]].x < _CLOSE:
            groups[-1].append(index)
        else:
            groups.append([index])
    found = [replace(flag, words="") for flag in flags]
    for group in groups:
        numbers = sorted(at + 1 for at in group)
        words = ", ".join(map(str, numbers)) if len(numbers) < 4 else f"{numbers[0]} … {numbers[-1]}"
        found[group[0]] = replace(flags[group[0]], words=words)
    return found


def _told(vessel: Vessel, result: StabilityResult, width: float, most: int) -> list[str]:
    """The events in words, in lines as wide as the drawing; those for which there is no room are counted."""
    lines: list[str] = []
    for index, event in enumerate(told_events(result), start=1):
        own = wrapped(f"{index}  {event_words(vessel, event)}", width, SMALL)
        rest = len(told_events(result)) - index
        if len(lines) + len(own) + (rest > 0) > min(most, _MOST_WORDS):
            count = rest + 1
            return [*lines, f"and {count} more: run dabchick stability"] if most > 0 else []
        lines += own
    return lines


# -- panels ------------------------------------------------------------------------------------------------------


def _panel(
    panel: Panel, result: StabilityResult, x: Span, box: tuple[float, float]
) -> tuple[Span, list[str]]:
    span = Span(*ends_of(panel, result), *box)
    drawn = [caption(_LEFT, box[1] - 1.0, panel.title, panel.unit)]
    below = panel.zero and panel.lines[0].name == "GM" and span.low < -0.02 * (span.high - span.low)
    if below:
        drawn.append(_no_hold(x, span))
    drawn += [band(line, result, x, span, hatched=index == 1) for index, line in enumerate(panel.lines)]
    drawn += grid(x, span, 5.0)
    if below:
        words = "GM below 0: nothing turns her back"
        drawn.append(halo(x.start + 1.2, span.start - 1.0, words, SMALL, CHESTNUT, font_style="italic"))
    if panel.title == "Draught":
        drawn += _under_words(result, x, span)
    ends = []
    for line in panel.lines:
        for way in WAYS:
            points, leaps = points_of(line, result, way)
            if way == "up":
                points = where_other(line, points, points_of(line, result, "down")[0])
            on_paper = [(x.at(at), span.within(value)) for at, value in points]
            dashes = "" if way == "down" else _UP_DASHES
            name = f"line {line.name} {way}"
            drawn.append(
                curve(on_paper, line.colour, FIRM if way == "down" else THIN * 1.3, dashes, class_=name)
            )
            if way == "up":
                # Back by the same leap: one arrow with two heads would say no more.
                gone = points_of(line, result, "down")[1]
                leaps = [leap for leap in leaps if not any(goes_back(leap, other) for other in gone)]
            drawn += [_leap(x.at(at), span.within(one), span.within(two), line.colour)
                      for at, one, two in leaps]  # fmt: skip
            if line.rings and way == "down":
                rings = [
                    (x.at(s.progress), span.within(v))
                    for s in result.down
                    if math.isfinite(v := printed(line, s))
                ]
                drawn += [
                    svg.element(
                        "circle", cx=u, cy=v, r=0.55, fill=PAPER, stroke=line.colour, stroke_width=HAIR
                    )
                    for u, v in rings
                ]
            if way == "down" and (
                finite := [p for p in on_paper if math.isfinite(p[0]) and math.isfinite(p[1])]
            ):
                ends.append((finite[-1], line.name, line.colour))
    labels = [(point[1], name, colour) for point, name, colour in ends]
    if labels:
        drawn += end_labels(x.end, labels, (min(box) + 1.0, max(box) - 1.0))
    return span, drawn


def _leap(x: float, y0: float, y1: float, colour: str) -> str:
    """A dotted arrow from one rest to the other."""
    shaft = svg.line(x, y0, x, y1, colour, THIN, stroke_dasharray="0.4 0.6")
    if abs(y1 - y0) < 1.4:
        return shaft
    back = 1.2 if y1 < y0 else -1.2
    tip = f"M{svg.mm(x)} {svg.mm(y1)}l-0.5 {svg.mm(back)}h1z"
    return shaft + svg.element("path", d=tip, fill=colour)


def _no_hold(x: Span, y: Span) -> str:
    """The ground below zero GM, hatched."""
    top, foot = y.at(0.0), y.start
    height, width = foot - top, x.end - x.start
    strokes = []
    for step in range(1, math.ceil((width + height) / 2.2)):
        reach = 2.2 * step
        start = (x.start + max(0.0, reach - height), top + min(height, reach))
        end = (x.start + min(width, reach), top + max(0.0, reach - width))
        strokes.append(f"M{svg.mm(start[0])} {svg.mm(start[1])}L{svg.mm(end[0])} {svg.mm(end[1])}")
    return svg.element(
        "path", class_="no-hold", d="".join(strokes), fill="none", stroke=CHESTNUT, stroke_width=0.1
    )


def _under_words(result: StabilityResult, x: Span, y: Span) -> list[str]:
    """The stretch of the way down without a draught, in words."""
    stages = [stage for stage in result.down if stage.lie.condition != "floats"]
    if not stages:
        return []
    begins = [e.progress for e in result.events if e.kind == "under" and e.way == "down"]
    start = x.at(min([stages[0].progress, *begins]))
    words = "sinks" if any(stage.lie.condition == "sinks" for stage in stages) else "wholly under"
    end = x.at(stages[-1].progress)
    ground = svg.rectangle(
        start, y.end, max(0.3, end - start), y.start - y.end, fill=FEATHER, fill_opacity="0.3"
    )
    wide = text_width(words, SMALL)
    left = max(x.start + 0.5, min(0.5 * (start + end) - 0.5 * wide, x.end - wide - 0.5))
    return [ground, halo(left, y.end + 3.2, words, SMALL, SLATE, font_style="italic")]


def _least_mark(result: StabilityResult, line: Line, x: Span, y: Span) -> list[str]:
    value = result.least.lie.gm_transverse_m.value * line.scale
    if not math.isfinite(value):
        return []
    u, v, r = x.at(result.least.progress), y.within(value), 1.25
    data = f"M{svg.mm(u - r)} {svg.mm(v)}l{r} -{r}l{r} {r}l-{r} {r}z"
    return [
        svg.element("path", class_="least", d=data, fill=PAPER, stroke=INK, stroke_width=FIRM),
        svg.element("circle", cx=u, cy=v, r=0.35, fill=INK),
    ]


def _fills_panel(path: DivePath, x: Span, y: Span) -> list[str]:
    """How full each tank is along the way, where they do not fill alike."""
    drawn = [caption(_LEFT, y.end - 1.0, "Tanks", "% full")]
    drawn += grid(x, Span(100 * y.low, 100 * y.high, y.start, y.end), 3.5)
    u = caption_end(_LEFT, "Tanks") + 10.0
    letters = int(((x.end - u) / len(path.tanks) - 13.0) / (0.46 * SMALL))
    for column, name in enumerate(path.tanks):
        points = [(x.at(at), y.at(row[column])) for at, row in zip(path.knots, path.shares, strict=True)]
        colour, dashes = (INK, POND)[column % 2], _KINDS[column % len(_KINDS)]
        drawn.append(curve(points, colour, FIRM, dashes, class_="tank"))
        if letters < 3:
            continue
        words = svg.shortened(name, letters)
        drawn += [
            line_sample(u, y.end - 1.8, colour, FIRM, dashes), svg.text(u + 9.0, y.end - 1.0, words, SMALL, colour)
        ]  # fmt: skip
        u += 13.0 + text_width(words, SMALL)
    return drawn


# -- axis and key ------------------------------------------------------------------------------------------------


def _axis(vessel: Vessel, path: DivePath, x: Span, foot: float, spans: Sequence[Span]) -> list[str]:
    """Round steps of the way with the fill and the water in the tanks; fine lines up through the panels."""
    room = {tank.name: tank.capacity_m3 for tank in vessel.tanks}
    alike = _alike(path)
    first, last = (path.shares[0][0], path.shares[-1][0]) if alike and path.tanks else (0.0, 1.0)
    shown = Span(100.0 * first, 100.0 * last, x.start, x.end)
    drawn = []
    for value in shown.ticks(14.0):
        u = shown.at(value)
        fills = path.fills_at((u - x.start) / (x.end - x.start))
        held = sum(share * room[name] for name, share in fills.items())
        for span in spans:
            drawn.append(svg.line(u, span.start, u, span.end, FEATHER, HAIR * 0.7))
        drawn.append(svg.line(u, foot, u, foot + 1.0, SLATE, HAIR))
        drawn.append(svg.text(u, foot + 3.7, f"{number(value, 0)}\u00a0%", SMALL, INK, text_anchor="middle"))
        drawn.append(
            svg.text(u, foot + 6.7, short_with_unit(held, "volume", vessel.units), SMALL, SLATE,
                     text_anchor="middle")
        )  # fmt: skip
    words = "filled" if alike else "of the way"
    return [
        *drawn,
        svg.text(0.0, foot + 3.7, words, SMALL, INK, font_style="italic"),
        svg.text(0.0, foot + 6.7, "in tanks", SMALL, SLATE, font_style="italic"),
    ]


def _key(result: StabilityResult, top: float) -> list[str]:
    y = top + 1.4
    differs = bool(up_that_differs(result))
    entries = [(line_sample(0, 0, INK, FIRM), "down")]
    if differs:
        entries.append((line_sample(0, 0, INK, THIN * 1.3, _UP_DASHES), "up, where it differs"))
    entries.append(
        (svg.element("path", d="M2.5 0l1.25 -1.25l1.25 1.25l-1.25 1.25z", fill=PAPER, stroke=INK,
                     stroke_width=FIRM), "least stable moment")
    )  # fmt: skip
    if result.events:
        entries.append((line_sample(0, 0, CHESTNUT, THIN, _EVENT_DASHES), "what happens, numbered"))
    drawn = []
    u = _LEFT
    for sample, words in entries:
        drawn.append(svg.group([sample], transform=f"translate({svg.mm(u)} {svg.mm(y)})"))
        drawn.append(key_words(u + 9.2, y, words))
        u += 12.5 + text_width(words, SMALL)
    if not differs:
        drawn.append(key_words(u, y, "coming up the same"))
    return [svg.group(drawn, class_="key")]
