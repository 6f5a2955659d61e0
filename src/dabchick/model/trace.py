"""A traced plan as typed, frozen tables: points on pictures, and what is known of each picture's scale.

Points are pixels of the picture as it is stored: x to the right and y down from its top left corner. Every value
is checked by itself here; what must fit together is found in `trace_mistakes.py`.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import AfterValidator, ConfigDict, Field

from dabchick.model.fields import Extent, Length, Name, Table, mistake

ViewKind = Literal["side", "top", "section"]
Role = Literal["upper", "lower", "half_breadth", "section", "outline"]
SectionFormName = Literal["ellipse", "superellipse", "blended"]
TracedBodyKind = Literal["sail", "casing", "plane", "fin"]
Pixel = tuple[float, float]

KEY_EXAMPLES = {
    "dabchick_trace": "Write dabchick_trace = 1 as the first line: it says which format the file has.",
    "name": 'Give it a name, such as name = "side".',
    "kind": 'Write kind = "side", "top" or "section" for a view; "sail", "casing", "plane" or "fin" for a body.',
    "role": 'Say which edge it is, such as role = "upper".',
    "from": "Give its first point in pixels, such as from = [120, 800].",
    "to": "Give its second point in pixels, such as to = [1620, 800].",
    "length": 'Give the true distance of the two points, such as length = "300 mm".',
}

USUAL_NOISE_PX = 0.5
"""One standard deviation of a point set by hand on an enlarged picture: common practice, no source."""
LEAST_EXPONENT = 0.5
MOST_EXPONENT = 20.0


def _noise(value: float) -> float:
    if not 0.0 <= value <= 50.0:
        raise mistake(
            "This is not how exactly a point can be set.", "Give pixels, such as noise = 0.5.", "0 to 50"
        )
    return value


def _exponents(rows: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    places = [place for place, _ in rows]
    if any(not 0.0 <= place <= 1.0 for place in places) or sorted(set(places)) != places:
        raise mistake(
            "Exponents stand at rising shares of the length.",
            "Write them from the stern, such as [[0, 2], [0.5, 2.6], [1, 2]].",
            "shares from 0 to 1, each once",
        )
    if any(not LEAST_EXPONENT <= exponent <= MOST_EXPONENT for _, exponent in rows):
        raise mistake(
            "A section with this exponent is not drawn.",
            "2 is an ellipse, more comes nearer to a box, 1 is a diamond.",
            f"{LEAST_EXPONENT:g} to {MOST_EXPONENT:g}",
        )
    return rows


class SectionShape(Table):
    """What a section between the upper and the lower edge looks like."""

    form: SectionFormName = "ellipse"
    exponents: Annotated[tuple[tuple[float, float], ...], AfterValidator(_exponents)] = ()
    """(share of the length from the stern, n) of |y / b|^n + |z / h|^n = 1; superellipse only."""


class ScaleMark(Table):
    """Two points whose true distance is known; without it they are set already, but no scale yet."""

    start: Pixel = Field(alias="from")
    end: Pixel = Field(alias="to")
    length: Extent | None = None


@dataclass(frozen=True)
class KnownScale:
    """A scale whose true distance has been given."""

    start: Pixel
    end: Pixel
    length: float


class LevelMark(Table):
    """Two points on a line that is truly level; from -> to points to the bow, in a section to port.

    In a top view it lies on the middle line.
    """

    start: Pixel = Field(alias="from")
    end: Pixel = Field(alias="to")


class SquareMark(Table):
    """Two points on a line truly square to the level line; in a section it lies on the middle line.

    With a length it is a second scale, for a picture stretched in one direction.
    """

    start: Pixel = Field(alias="from")
    end: Pixel = Field(alias="to")
    length: Extent | None = None


class TracedCurve(Table):
    """Points along one edge, in order from stern to bow; in a section from keel to top, an outline all round."""

    name: str = ""
    role: Role
    body: str = ""
    """The separate body it belongs to; empty for the hull."""
    points: tuple[Pixel, ...] = ()
    corners: tuple[int, ...] = ()
    """Numbers, from 0, of the points where the edge has a corner."""

    @property
    def all_round(self) -> tuple[Pixel, ...]:
        """The points of an outline, its first once more at the end, however it was written."""
        return self.points if self.points[-1:] == self.points[:1] else (*self.points, *self.points[:1])


class TracedView(Table):
    """One view on one picture."""

    name: Name
    kind: ViewKind
    picture: str = ""
    at: Length | None = None
    """x of a section."""
    scale_mark: ScaleMark | None = Field(default=None, alias="scale")
    level: LevelMark | None = None
    square: SquareMark | None = None
    bow: Literal["left", "right"] | None = None
    """Where the bow is in the picture; only a check of `level`."""
    curves: tuple[TracedCurve, ...] = Field(default=(), alias="curve")

    @property
    def scale(self) -> KnownScale | None:
        """The scale, once its distance is known."""
        mark = self.scale_mark
        return None if mark is None or mark.length is None else KnownScale(mark.start, mark.end, mark.length)


class TracedBodyTable(Table):
    """A closed body beside the hull: sail, casing and fin stand upright, planes lie level, one to each side."""

    name: Name
    kind: TracedBodyKind
    breadth: Extent | None = None
    """Whole breadth of an upright body that was not traced from above."""
    thickness: Extent | None = None
    """Of a plane, or of a fin in place of its breadth."""
    height: Length | None = None
    """Of a plane's middle over the keel, where it was not traced from the side."""
    part_of_hull: bool = True
    """False: the boat file has it as a part of its own, so that it is no shell of the hull."""


class TraceDoc(Table):
    """A whole trace file."""

    model_config = ConfigDict(title="Dabchick trace file")

    dabchick_trace: Literal[1]
    """Version of the format."""
    length: Extent | None = None
    """The builder's own length of the hull over all; it then sets the scale of side and top view."""
    measured_from: Literal["bow", "stern"] = "bow"
    """Where `at` of a section is measured from: the hull's own end."""
    noise: Annotated[float, AfterValidator(_noise)] = USUAL_NOISE_PX
    """How exactly points and marks were set, one standard deviation in pixels of the picture."""
    section: SectionShape = SectionShape()
    views: tuple[TracedView, ...] = Field(default=(), alias="view")
    bodies: tuple[TracedBodyTable, ...] = Field(default=(), alias="body")
    note: str = ""
