"""The break line: where the hull comes apart, as the builder draws it in the side view.

One height or a polyline (x, z). From stern to bow it may climb and fall and may step straight up or down, but it
never runs back: every x that it passes has one height, so what lies above it is the upper half. Where it ends
short of the hull's ends, the hull is cut square there and what is left stays whole, with the lower half.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from dabchick.model.advice import Advice
from dabchick.model.units import UnitSet, shown
from dabchick.model.vessel import Datum

KEY: Final = "hull.break_line"
SLACK_M: Final = 5e-5
"""The line may end so far outside the hull: a twentieth of a millimetre."""

Line = tuple[tuple[float, float], ...]


def disorder(given: Sequence[Sequence[float]], units: UnitSet) -> Iterator[Advice]:
    """What is wrong with a line by itself: not two numbers to a point, too few points, or running back."""
    if not given or (len(given) == 1 and len(given[0]) == 1):
        return
    if len(given) < 2 or any(len(point) != 2 for point in given):
        yield Advice(
            what="The break line is neither one height nor points (x, z).",
            todo='Write break_line = "60 mm", or [["0 mm", "60 mm"], ["300 mm", "60 mm"], ["300 mm", "75 mm"], ...].',
            key=KEY,
        )
        return
    forward = given[-1][0] > given[0][0]
    for row in range(1, len(given)):
        before, here = given[row - 1][0], given[row][0]
        back = here < before if forward else here > before
        standing = row > 1 and given[row - 2][0] == before == here
        if back or standing or given[-1][0] == given[0][0] or given[row] == given[row - 1]:
            yield Advice(
                what="The break line runs back on itself, so its halves could not be told apart."
                if back
                else "The break line has two points too many at one x."
                if standing
                else "The break line does not get on from one point to the next.",
                todo="Give its points in order from one end of the hull to the other; a step is two points at one x.",
                key=f"{KEY}[{row + 1}]",
                given=f"x {shown(here, 'length', units)} after x {shown(before, 'length', units)}",
                allowed=f"x {'from' if forward else 'up to'} {shown(before, 'length', units)} on",
            )
            return


def house_line(given: Sequence[Sequence[float]], datum: Datum, length_m: float) -> Line:
    """The line in the house frame, from the stern forward; empty without one. It must be in order."""
    if not given:
        return ()
    if len(given) == 1:
        height = datum.to_house((0.0, 0.0, given[0][0]))[2]
        return ((0.0, height), (length_m, height))
    points = [datum.to_house((x, 0.0, z)) for x, z in given]
    line = tuple((point[0], point[2]) for point in points)
    return line if line[0][0] < line[-1][0] else line[::-1]


def outside_hull(
    line: Line, length_m: float, height_m: float, datum: Datum, units: UnitSet
) -> Iterator[Advice]:
    """Points of a line of the house frame that do not lie within the box round the hull."""
    for x, z in line:
        along, _, up = datum.to_builder((x, 0.0, z))
        if not -SLACK_M <= x <= length_m + SLACK_M:
            ends = sorted(datum.to_builder((end, 0.0, 0.0))[0] for end in (0.0, length_m))
            yield Advice(
                what="The break line runs out of the hull at an end.",
                todo=f"Give its x, measured from the {datum.x_from}.",
                key=KEY,
                given=f"x {shown(along, 'length', units)}",
                allowed=f"{shown(ends[0], 'length', units)} to {shown(ends[1], 'length', units)}",
            )
        if not 0.0 < z < height_m:
            low, high = (datum.to_builder((0.0, 0.0, end))[2] for end in (0.0, height_m))
            yield Advice(
                what=f"The break line lies {'above' if z > 0.0 else 'below'} the hull.",
                todo=f"Give its height, measured from the {datum.z_from}.",
                key=KEY,
                given=f"z {shown(up, 'length', units)}",
                allowed=f"between {shown(low, 'length', units)} and {shown(high, 'length', units)}",
            )
