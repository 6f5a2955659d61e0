"""A few SVG elements as text: valid XML whatever the builder has typed, lengths in millimetres on paper."""

from collections.abc import Iterable, Sequence
from typing import Final
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

FONT: Final = "Libertinus Serif, Georgia, Times New Roman, serif"
"""The first is the one that typst carries in itself, so that print is alike everywhere."""


def plain(text: str) -> str:
    """The text without characters that XML or a printed line cannot hold (controls, lone surrogates)."""
    held = "".join(" " if sign in "\t\r\n" else sign for sign in text)
    return "".join(sign for sign in held if sign.isprintable() or sign == "\u00a0").strip()


def shortened(text: str, most: int) -> str:
    """The printable text, cut with an ellipsis to at most `most` characters."""
    clean = plain(text)
    return clean if len(clean) <= most else clean[: most - 1].rstrip() + "…"


def mm(value: float) -> str:
    """A length on paper to a thousandth of a millimetre, as short as it goes."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(name: str, content: str = "", /, **attributes: str | float) -> str:
    """One element; an underscore in an attribute's name stands for a hyphen, a trailing one is dropped."""
    written = "".join(
        f" {key.rstrip('_').replace('_', '-')}={quoteattr(value if isinstance(value, str) else mm(value))}"
        for key, value in attributes.items()
    )
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def words(text: str) -> str:
    """The builder's text as XML character data."""
    return escape(plain(text))


def group(parts: Iterable[str], **attributes: str | float) -> str:
    """Elements that belong together."""
    return element("g", "".join(parts), **attributes)


def text(x: float, y: float, line: str, size: float, fill: str, **attributes: str | float) -> str:
    """A line of text with its baseline at (x, y)."""
    return element("text", words(line), x=x, y=y, font_size=size, fill=fill, **attributes)


def line(
    x1: float, y1: float, x2: float, y2: float, stroke: str, width: float, **attributes: str | float
) -> str:
    """A straight line."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, **attributes)


def rectangle(x: float, y: float, width: float, height: float, **attributes: str | float) -> str:
    """A rectangle by its upper left corner."""
    return element("rect", x=x, y=y, width=width, height=height, **attributes)


def loops_path(loops: Sequence[NDArray[np.float64]]) -> str:
    """Path data of closed loops (k, 2) already on paper, as short relative steps of 0.01 mm."""
    data = []
    for loop in loops:
        points = np.rint(loop * 100.0).astype(np.int64)
        steps = np.diff(points, axis=0)
        steps = steps[(steps != 0).any(axis=1)]
        if len(steps) < 2:
            continue
        start = f"M{_hundredths(int(points[0, 0]))} {_hundredths(int(points[0, 1]))}l"
        data.append(start + " ".join(f"{_hundredths(u)} {_hundredths(v)}" for u, v in steps.tolist()) + "z")
    return "".join(data)


def _hundredths(value: int) -> str:
    return f"{value / 100:.2f}".rstrip("0").rstrip(".")
