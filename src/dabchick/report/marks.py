"""The signs of a drawing: centres, waterline, lead, foam, balloons; told apart by shape, not colour alone."""

import math
from typing import Final, Literal

from dabchick.report import svg
from dabchick.report.palette import CHESTNUT, FOAM_GROUND, INK, LEAD, PAPER, POND, REED

State = Literal["surfaced", "dived"]
HAIR: Final = 0.12
THIN: Final = 0.2
FIRM: Final = 0.35


def gravity_mark(x: float, y: float, radius: float, state: State) -> str:
    """CG: quarters filled in turn; a circle surfaced, a diamond dived."""
    r = radius
    if state == "surfaced":
        body = svg.element("circle", cx=0.0, cy=0.0, r=r, fill=PAPER, stroke=INK, stroke_width=THIN)
        quarters = f"M0 0H{svg.mm(r)}A{svg.mm(r)} {svg.mm(r)} 0 0 0 0 {svg.mm(-r)}ZM0 0H{svg.mm(-r)}" + (
            f"A{svg.mm(r)} {svg.mm(r)} 0 0 0 0 {svg.mm(r)}Z"
        )
    else:
        r = radius * 1.25
        body = svg.element("path", d=_diamond(r), fill=PAPER, stroke=INK, stroke_width=THIN)
        quarters = f"M0 0H{svg.mm(r)}L0 {svg.mm(-r)}ZM0 0H{svg.mm(-r)}L0 {svg.mm(r)}Z"
    filled = svg.element("path", d=quarters, fill=INK)
    return svg.group([body, filled], class_=f"cg {state}", transform=_at(x, y))


def buoyancy_mark(x: float, y: float, radius: float, state: State) -> str:
    """CB: open with a point in the middle; a circle surfaced, a diamond dived."""
    if state == "surfaced":
        body = svg.element(
            "circle", cx=0.0, cy=0.0, r=radius, fill=PAPER, stroke=POND, stroke_width=THIN * 1.4
        )
    else:
        body = svg.element(
            "path", d=_diamond(radius * 1.25), fill=PAPER, stroke=POND, stroke_width=THIN * 1.4
        )
    point = svg.element("circle", cx=0.0, cy=0.0, r=radius * 0.28, fill=POND)
    return svg.group([body, point], class_=f"cb {state}", transform=_at(x, y))


def _diamond(r: float) -> str:
    return f"M{svg.mm(r)} 0L0 {svg.mm(-r)}L{svg.mm(-r)} 0L0 {svg.mm(r)}Z"


def _at(x: float, y: float) -> str:
    return f"translate({svg.mm(x)} {svg.mm(y)})"


def wave(x_low: float, x_high: float, y: float) -> str:
    """The water's surface as a fine wave."""
    half = 1.6
    count = max(1, round((x_high - x_low) / (2.0 * half)))
    half = (x_high - x_low) / (2.0 * count)
    data = (
        f"M{svg.mm(x_low)} {svg.mm(y)}q{svg.mm(half / 2)} -0.55 {svg.mm(half)} 0"
        + f"t{svg.mm(half)} 0" * (2 * count - 1)
    )
    return svg.element("path", class_="waterline", d=data, fill="none", stroke=POND, stroke_width=THIN)


def lead_box(x: float, y: float, width: float, height: float) -> str:
    """Lead: dark and solid, with a light rim so that neighbours part."""
    return svg.rectangle(
        x, y, width, height, class_="lead", fill=LEAD, stroke=PAPER, stroke_width=HAIR, paint_order="stroke"
    )


def foam_box(x: float, y: float, width: float, height: float) -> str:
    """Foam: hatched at 45 degrees; the strokes are cut to the box here, since print cuts patterns badly."""
    pitch = 0.9
    strokes = []
    for step in range(1, math.ceil((width + height) / pitch)):
        reach = step * pitch
        start = (x + max(0.0, reach - height), y + min(height, reach))
        end = (x + min(width, reach), y + max(0.0, reach - width))
        strokes.append(f"M{svg.mm(start[0])} {svg.mm(start[1])}L{svg.mm(end[0])} {svg.mm(end[1])}")
    return svg.group(
        [
            svg.rectangle(x, y, width, height, fill=FOAM_GROUND),
            svg.element("path", d="".join(strokes), fill="none", stroke=REED, stroke_width=0.16),
            svg.rectangle(x, y, width, height, fill="none", stroke=REED, stroke_width=THIN),
        ],
        class_="foam",
    )


def balloon(x: float, y: float, number: str, material: str, size: float = 1.0) -> str:
    """The number of a piece: white on dark for lead, dark on white for foam, a square for a move."""
    radius = 1.95 * size
    ground, ink = (LEAD, PAPER) if material == "lead" else (PAPER, INK)
    rim = {"lead": LEAD, "foam": REED, "move": CHESTNUT}[material]
    if material == "move":
        shape = svg.rectangle(
            x - radius, y - radius, 2 * radius, 2 * radius, fill=ground, stroke=rim, stroke_width=THIN
        )
    else:
        shape = svg.element("circle", cx=x, cy=y, r=radius, fill=ground, stroke=rim, stroke_width=0.28)
    letters = (2.75 if len(number) < 3 else 2.1) * size
    words = svg.text(x, y + letters * 0.335, number, letters, ink, text_anchor="middle", font_weight="600")
    return shape + words


def pointer(x: float, y: float, size: float = 1.0) -> str:
    """The sign of a draught mark: an open triangle standing on its tip."""
    half = 1.7 * size
    data = f"M{svg.mm(x - half)} {svg.mm(y - half)}h{svg.mm(2 * half)}L{svg.mm(x)} {svg.mm(y + half * 0.75)}z"
    return svg.element("path", d=data, fill=PAPER, stroke=POND, stroke_width=0.28, stroke_linejoin="round")
