"""The house colours of printed sheets and drawings, and the measure by which they are judged readable.

Every meaning that a colour carries is carried a second time by a shape, a hatch or a word, so that a black
and white print loses nothing.
"""

from typing import Final

PAPER: Final = "#FFFFFF"
INK: Final = "#14212B"
"""Text, outlines, figures."""
SLATE: Final = "#52606B"
"""Second voice: captions, units, dimension lines."""
FEATHER: Final = "#C3CBD1"
"""Hairlines and outlines of parts; never text."""
MIST: Final = "#EEF2F4"
"""Ground of tables and of the watertight cylinder; never text."""
POND: Final = "#1B6390"
"""The waterline and tank water."""
SHALLOWS: Final = "#DDECF5"
"""Ground of water; never text."""
LEAD: Final = "#2A2E33"
"""Lead: the one dark solid on a sheet."""
REED: Final = "#7A5A12"
"""Foam: outline and hatch."""
FOAM_GROUND: Final = "#FBF6EA"
"""Ground under the hatch of foam; never text."""
CHESTNUT: Final = "#9C2F16"
"""Warnings and obstacles, always beside a word."""

TEXT_COLOURS: Final = {
    "ink": INK,
    "slate": SLATE,
    "pond": POND,
    "lead": LEAD,
    "reed": REED,
    "chestnut": CHESTNUT,
}
GROUNDS: Final = {"paper": PAPER, "mist": MIST, "shallows": SHALLOWS}

_LINEAR_BELOW: Final = 0.04045


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour `#RRGGBB`, 0 black to 1 white (WCAG 2.2)."""
    shares = [int(colour[start : start + 2], 16) / 255.0 for start in (1, 3, 5)]
    red, green, blue = (
        share / 12.92 if share <= _LINEAR_BELOW else ((share + 0.055) / 1.055) ** 2.4 for share in shares
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21: (lighter + 0.05) / (darker + 0.05) in luminance (WCAG 2.2)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)
