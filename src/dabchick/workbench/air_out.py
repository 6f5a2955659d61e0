"""The air study as the page shows it: words in the builder's units, outlines and meshes for the pictures."""

import math
import string

import numpy as np
from numpy.typing import NDArray

from dabchick.model.typed import si_of
from dabchick.model.units import written
from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import up_vector
from dabchick.physics.pocket_shape import PocketShape
from dabchick.report.air_words import (
    attitude,
    depth_words,
    place_heading,
    pocket_row,
    rest_sentence,
    summary,
    turn_words,
    vent_words,
    vents_sentence,
)
from dabchick.report.builder_units import with_unit
from dabchick.studies.air import AirResult
from dabchick.workbench.pose import pose_at
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.air import AirOut, AirPocketOut, VentedOut, VentOut, VentsOut
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.scene import Outlines
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.words import UNKNOWN, amount


def volume_to_leave(text: str | None) -> float:
    """The volume asked for [m3], 1 ml when none is given. Raises BoatError."""
    given = si_of(text, "volume", "leave")
    return 1e-6 if given is None else given


def air_out(vessel: Vessel, result: AirResult, revision: int) -> AirOut:
    """All that the page shows of one attitude."""
    units = vessel.units
    small = ""
    if result.small_count:
        together = with_unit(result.small_m3, "volume", units)
        count = result.small_count
        small = f"And {count} smaller pocket{'s' if count != 1 else ''} with {together} together."
    return AirOut(
        revision=revision,
        sentence=summary(vessel, result),
        volume=amount(result.volume_m3, "volume", units),
        lift=amount(result.lift_kg, "mass", units),
        pitch=_angle(result.pitch_effect_deg),
        heel=_angle(result.heel_effect_deg),
        place_heading=place_heading(vessel),
        pockets=[_pocket(vessel, result, number, shape) for number, shape in enumerate(result.shapes)],
        rest=small,
        pose=pose_at(vessel, up_vector(result.heel_deg, result.pitch_deg)),
        depths=[
            Line(label=depth_words(row.depth_m, units), figure=amount(row.lift_kg, "mass", units))
            for row in result.depths
        ],
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=result.method,
        sources=list(result.sources),
    )


def _pocket(vessel: Vessel, result: AirResult, number: int, shape: PocketShape) -> AirPocketOut:
    pocket = result.pockets[number]
    words = pocket_row(vessel, pocket)

    def ring(points: NDArray[np.float64]) -> list[list[tuple[float, float]]]:
        found = [(round(float(a), 5), round(float(b), 5)) for a, b in points]
        return [found] if len(found) > 2 else []

    return AirPocketOut(
        name=string.ascii_uppercase[number],
        volume=amount(pocket.volume_m3, "volume", vessel.units, pocket.volume_spread_m3 or math.nan),
        lift=amount(pocket.lift_kg, "mass", vessel.units),
        pitch=words.pitch,
        heel=words.heel,
        place=words.place,
        water=words.water,
        held_by=words.held_by,
        centre_m=pocket.centre_m,
        outlines=Outlines(side=ring(shape.side), top=ring(shape.top), end=ring(shape.end)),
        mesh=Mesh(
            positions=[round(float(entry), 5) for entry in shape.vertices.ravel()],
            indices=[int(entry) for entry in shape.faces.ravel()],
        ),
    )


def _angle(value: float) -> Shown:
    if not math.isfinite(value):
        return Shown(text=UNKNOWN, spread="", value=None)
    return Shown(text=turn_words(value), spread="", value=value)


def vents_out(vessel: Vessel, result: AirResult, revision: int) -> VentsOut:
    """The vents, ready to be written, and how she hangs with her air."""
    plan = result.vents
    if plan is None:
        raise ValueError("No vents were asked for. Run the study with vents=True.")
    found = []
    for vent in plan.vents:
        what, place, size = vent_words(vessel, vent)
        at = vessel.datum.to_builder(vent.at_m)
        found.append(
            VentOut(
                title=what[0].upper() + what[1:],
                place=place,
                size=size,
                row=vent.opening - 1 if vent.opening else None,
                at=[written(value, "length", vessel.units) for value in at],
                area=f"{vent.area_m2 * 1e6:.1f} mm^2"
                if vessel.units == "metric"
                else written(vent.area_m2, "area", "inch"),
                pair=vent.pair,
                at_m=vent.at_m,
            )
        )
    return VentsOut(
        revision=revision,
        sentence=vents_sentence(vessel, plan),
        hangs=rest_sentence(result, vessel.units),
        vents=found,
        attitudes=[
            VentedOut(
                attitude=attitude(row.pitch_deg, 0.0),
                before=amount(row.before_m3, "volume", vessel.units),
                after=amount(row.after_m3, "volume", vessel.units),
            )
            for row in plan.attitudes
        ],
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
    )
