"""What the split study says, in the builder's datum and units, for every face alike."""

import math

from dabchick.model.vessel import Vector, Vessel
from dabchick.report.builder_units import across, short_with_unit, with_unit
from dabchick.report.figures import measured
from dabchick.studies.lift_out import LiftOut
from dabchick.studies.split import HalfResult, SplitResult


def summary(vessel: Vessel, result: SplitResult) -> str:
    """The answer in a sentence."""
    upper, lower = (measured(half.mass_kg, "mass", vessel.units) for half in (result.upper, result.lower))
    heights = [vessel.datum.to_builder((0.0, 0.0, z))[2] for _, z in result.line_m]
    low, high = (short_with_unit(end, "length", vessel.units) for end in (min(heights), max(heights)))
    at = f"{low} to {high}" if max(heights) - min(heights) > 1e-6 else low
    return (
        f"Parted at {at} from the {vessel.datum.z_from}, the upper half of {vessel.name} weighs {upper} and the "
        f"lower half {lower}."
    )


def centre(vessel: Vessel, point: Vector) -> str:
    """A centre as the builder measures it."""
    if not math.isfinite(point[0]):
        return "nothing in it weighs"
    units, datum = vessel.units, vessel.datum
    along, athwart, up = datum.to_builder(point)
    side = across(athwart, units)
    return (
        f"{with_unit(along, 'length', units)} from the {datum.x_from}, {side}, "
        f"{with_unit(up, 'length', units)} from the {datum.z_from}"
    )


def with_it(half: HalfResult) -> str:
    """What comes off with a half."""
    return ", ".join(half.parts) if half.parts else "nothing but the skin"


def lift_sentence(vessel: Vessel, out: LiftOut) -> str:
    """Whether the longest thing comes out, and by how much."""
    units = vessel.units
    way = "up out of" if out.half == "lower" else "down out of"
    length = with_unit(out.length_m, "length", units)
    head = f"{out.name}, {length} long, "
    if out.under_whole_m > 0.0:
        part = with_unit(out.under_whole_m, "length", units)
        text = f"{head}does not come straight {way} the {out.half} half: {part} of it lie under what stays whole."
    elif not math.isfinite(min(out.spare_port_m, out.spare_starboard_m)):
        text = f"{head}comes straight {way} the {out.half} half; no skin is beside it on its way."
    else:
        width = with_unit(out.width_m, "length", units)
        spare = min(out.spare_port_m, out.spare_starboard_m)
        at = with_unit(vessel.datum.to_builder((out.tightest_x_m, 0.0, 0.0))[0], "length", units)
        opening = (
            f"the opening is {with_unit(out.opening_width_m, 'length', units)} wide there, the thing {width}"
            if math.isfinite(out.opening_width_m)
            else f"the thing is {width} wide there"
        )
        word = "comes" if out.fits else "does not come"
        room = (
            f"{with_unit(spare, 'length', units)} to spare on the narrower side"
            if spare >= 0.0
            else f"{with_unit(-spare, 'length', units)} too narrow on a side"
        )
        text = (
            f"{head}{word} straight {way} the {out.half} half: {room}, tightest {at} from the "
            f"{vessel.datum.x_from}, where {opening}."
        )
    if out.in_the_way:
        text += f" Take out first: {', '.join(out.in_the_way)}."
    return text
