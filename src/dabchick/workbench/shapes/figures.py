"""Figures as the pages show them: text in the builder's units, and the number where something is drawn."""

from typing import Literal

from dabchick.workbench.shapes.advice import Shape

Verdict = Literal["good", "watch", "bad", "unknown"]


class Shown(Shape):
    """A figure for people."""

    text: str
    """With its unit, such as "82.0 mm"; "unknown" where it is not known."""
    spread: str
    """One standard deviation with its unit, such as "0.6 mm"; empty where there is none."""
    value: float | None
    """SI (angles in degrees), for drawing."""


class GlanceRow(Shape):
    """One figure that matters, with its limit and how it stands to it."""

    key: str
    """Such as `draught_bow`."""
    label: str
    figure: Shown
    limit: str
    """Such as "82.0 mm wished, within 1.0 mm"; empty where there is none."""
    verdict: Verdict
    sentence: str
    """What is wrong and which way; empty when good."""


class GlanceOut(Shape):
    """The figures that matter in one state of the boat, worst first in words."""

    state: str
    """Such as "surfaced", "tank 40 %", "dived"."""
    rows: list[GlanceRow]
    verdict: Verdict
    sentence: str
    """The one plain sentence at the top."""


class LieOut(Shape):
    """How she lies."""

    name: str
    condition: Literal["floats", "hangs", "sinks"]
    stable: bool
    draught_bow: Shown
    draught_stern: Shown
    freeboard: Shown
    heel: Shown
    trim: Shown
    lift: Shown
    mass: Shown
    gm_transverse: Shown
    gm_longitudinal: Shown
    bg: Shown
    displaced: Shown
    cg_m: tuple[float, float, float]
    """House frame."""
    cb_m: tuple[float, float, float]
    pose: list[float]
    """4 x 4 matrix, column by column: house frame [m] to a world with z up, the water surface at z = 0."""
