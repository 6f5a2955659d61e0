"""What the tank study says, in the builder's datum and units, for every face alike."""

import math
from typing import NamedTuple

from dabchick.model.units import Dimension
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import place_words, with_unit
from dabchick.report.figures import measured
from dabchick.studies.tank import TankResult


class TankRow(NamedTuple):
    """One figure of the tank that is needed beside that of the present one; empty where there is none."""

    label: str
    needed: str
    present: str


def summary(vessel: Vessel, result: TankResult) -> str:
    """The answer in a sentence."""
    units, datum = vessel.units, vessel.datum
    along = with_unit(datum.to_builder(result.centre_m)[0], "length", units)
    side = place_words(result.centre_m, datum, units)[1]
    waterline = with_unit(result.waterline_m, "length", units)
    lift = with_unit(result.lift_kg, "mass", units)
    volume = measured(result.volume_m3, "volume", units)
    text = (
        f"To float at {waterline} over the keel and hang with {lift} of lift, {vessel.name} needs {volume} "
        f"of tank, its middle {along} from the {datum.x_from} ({side})."
    )
    if math.isfinite(result.length_m):
        bore, length = (with_unit(value, "length", units) for value in (result.bore_m, result.length_m))
        text += f" In a bore of {bore} that is {length} of water."
    return text


class TankFigure(NamedTuple):
    """One figure in SI, needed and present; None where the question does not arise."""

    label: str
    dimension: Dimension
    needed: float | None
    present: float | None


def figures(vessel: Vessel, result: TankResult) -> list[TankFigure]:
    """Needed and present, figure by figure; lengths from the builder's zeros."""
    datum = vessel.datum
    needed, present = (datum.to_builder(point) for point in (result.centre_m, result.present_centre_m))
    found = [TankFigure("volume", "volume", result.volume_m3.value, result.present_m3)]
    for name, axis in (
        (f"middle from the {datum.x_from}", 0),
        ("middle to port", 1),
        (f"middle over the {datum.z_from}", 2),
    ):
        found.append(TankFigure(name, "length", needed[axis], present[axis]))
    if result.present_m3 > 0.0:
        found += [
            TankFigure("lift when dived", "mass", result.lift_kg, result.present_lift_kg),
            TankFigure("waterline it would suit", "length", result.waterline_m, result.present_waterline_m),
        ]
    if math.isfinite(result.room_low_x_m):
        low, high = sorted(
            datum.to_builder((x, 0.0, 0.0))[0] for x in (result.room_low_x_m, result.room_high_x_m)
        )
        found += [
            TankFigure("its middle can stand from", "length", low, None),
            TankFigure("to", "length", high, None),
        ]
    return found


def rows(vessel: Vessel, result: TankResult) -> list[TankRow]:
    """The same in words, and the two tanks that would do instead of one."""
    units, datum = vessel.units, vessel.datum
    found = [
        TankRow(
            entry.label,
            *(
                "" if value is None else with_unit(value, entry.dimension, units)
                for value in (entry.needed, entry.present)
            ),
        )
        for entry in figures(vessel, result)
    ]
    if result.split is not None:
        split = result.split
        for name, volume, x in (
            ("or split: fore tank", split.fore_m3, split.fore_x_m),
            ("          aft tank", split.aft_m3, split.aft_x_m),
        ):
            place = with_unit(datum.to_builder((x, 0.0, 0.0))[0], "length", units)
            found.append(TankRow(name, with_unit(volume, "volume", units), f"at {place}"))
    return found
