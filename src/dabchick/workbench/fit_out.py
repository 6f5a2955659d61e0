"""The fit studies for the pages: pairs, ways in and cylinders, with the builder's words and places to draw."""

import math
from typing import Final

import numpy as np

from dabchick.model.vessel import Item, Vessel
from dabchick.physics import shapes
from dabchick.report.builder_units import with_unit
from dabchick.report.fit_words import (
    KINDS,
    capital,
    cylinder_summary,
    fit_summary,
    hindrance_row,
    pair_row,
    place,
    slide_summary,
    wall_words,
)
from dabchick.studies.fit import FitResult, Pair
from dabchick.studies.fit_cylinder import CylinderRoom
from dabchick.studies.fit_slide import SlideResult
from dabchick.studies.speech import Speech
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.figures import Shown, Verdict
from dabchick.workbench.shapes.fit import Beside, CylinderOut, FitOut, HindranceOut, PairOut, SlideOut
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.words import amount

SIDES: Final = 48
"""Of the polygon that is drawn for a circle."""


def fit_out(vessel: Vessel, revision: int, result: FitResult) -> FitOut:
    """Every pair that does not keep the clearance."""
    own = vessel.advice
    shaped = [item for item in vessel.items if item.kind != "skin" and item.envelope is not None]
    return FitOut(
        revision=revision,
        verdict="bad" if result.overlap_count else "watch" if result.pairs else "good",
        sentence=fit_summary(vessel, result),
        clearance=with_unit(result.clearance_m, "length", vessel.units),
        pairs=[_pair(vessel, pair) for pair in result.pairs],
        walls=wall_words(vessel, result),
        turning=[item.name for item in shaped if item.kind == "solid"],
        movable=_movable(vessel, shaped),
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings if entry not in own],
        method=result.method,
        validity=result.validity,
    )


def _movable(vessel: Vessel, shaped: list[Item]) -> list[str]:
    """Dry parts first: their way in is what is asked most."""
    stand = [item for item in shaped if not item.inside]
    dry = [item.name for item in stand if item.kind == "dry"]
    rest = [item.name for item in stand if item.kind != "dry"]
    return [*dry, *(tank.name for tank in vessel.tanks if not tank.inside), *rest]


def _pair(vessel: Vessel, pair: Pair) -> PairOut:
    row = pair_row(vessel, pair)
    verdict: Verdict = "bad" if pair.kind == "overlap" else "watch"
    value = pair.overlap_m3 if pair.overlap_m3 > 0.0 else pair.clearance_m
    return PairOut(
        first=pair.first,
        second=pair.second,
        first_key=pair.first_key,
        second_key=pair.second_key,
        held=pair.held,
        verdict=verdict,
        kind=KINDS[pair.kind],
        amount=Shown(text=row.amount, spread="", value=value),
        place=row.place,
        note=row.note,
        first_point_m=pair.first_point_m,
        second_point_m=pair.second_point_m,
    )


def slide_out(vessel: Vessel, revision: int, result: SlideResult) -> SlideOut:
    """Whether a part gets to its place."""
    keys = {item.name: item.key for item in vessel.items} | {tank.name: tank.key for tank in vessel.tanks}
    verdicts: dict[str, Verdict] = {"free": "good", "tight": "watch", "blocked": "bad"}
    hindrances = []
    for one in result.hindrances:
        row = hindrance_row(vessel, one)
        hindrances.append(
            HindranceOut(
                name=capital(one.name) if one.key == "hull" else one.name,
                key=one.key,
                verdict="bad" if one.blocks else "watch",
                how=row.how,
                amount=row.amount,
                to_go=row.to_go,
                place=row.place,
                to_go_m=one.to_go_m,
                first_point_m=one.deepest_m if one.blocks else one.first_point_m,
                second_point_m=one.deepest_m if one.blocks else one.second_point_m,
            )
        )
    return SlideOut(
        revision=revision,
        verdict=verdicts[result.verdict],
        sentence=slide_summary(vessel, result),
        part=result.part,
        keys=[keys[name] for name in result.group],
        outward=result.outward,
        opened_normal=result.plane.normal,
        opened_offset_m=result.plane.offset_m,
        way_m=result.way_m,
        stops_m=max((one.to_go_m for one in result.hindrances if one.blocks), default=0.0),
        hindrances=hindrances,
        assumptions=list(result.assumptions),
        method=result.method,
        validity=result.validity,
    )


def cylinder_out(vessel: Vessel, revision: int, result: CylinderRoom) -> CylinderOut:
    """The cylinder that fits, with its surface to draw."""
    units = vessel.units
    say = Speech(vessel)
    tilt = math.radians(result.tilt_deg)
    turn = np.array(
        [[math.cos(tilt), 0.0, -math.sin(tilt)], [0.0, 1.0, 0.0], [math.sin(tilt), 0.0, math.cos(tilt)]]
    )
    solid = shapes.cylinder(result.length_m, result.diameter_m)
    vertices, faces, _ = solid.moved(result.centre_m, turn).meshes(SIDES)[0]
    volume = 0.25 * math.pi * result.diameter_m**2 * result.length_m
    return CylinderOut(
        revision=revision,
        sentence=cylinder_summary(vessel, result),
        lines=[
            Line(label="Length", figure=amount(result.length_m, "length", units)),
            Line(label="Diameter", figure=amount(result.diameter_m, "length", units)),
            Line(label="Volume", figure=amount(volume, "volume", units)),
            Line(
                label="Least room beside it",
                figure=amount(min(result.beside_m), "length", units),
                note=say.along(result.tightest_x_m),
            ),
            Line(
                label="Middle",
                figure=Shown(text=place(vessel, result.centre_m), spread="", value=None),
            ),
        ],
        aft_m=result.aft_m,
        fore_m=result.fore_m,
        diameter_m=result.diameter_m,
        mesh=Mesh(positions=vertices.ravel().tolist(), indices=faces.ravel().tolist()),
        beside=[
            Beside(at=say.along(x), room=amount(room, "length", units))
            for x, room in zip(result.station_x_m, result.beside_m, strict=True)
        ],
        assumptions=list(result.assumptions),
        method=result.method,
        validity=result.validity,
    )
