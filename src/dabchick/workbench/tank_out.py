"""The tank study for the page, with proposals tried out on the boat before they are shown."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from dabchick.model.advice import Advice, BoatError
from dabchick.model.boat import TankTable
from dabchick.model.resize import length_of
from dabchick.model.units import UnitError, parse
from dabchick.model.vessel import Tank
from dabchick.report.builder_units import with_unit
from dabchick.report.tank_words import figures, summary
from dabchick.storage.apply_tank import PlannedTank, plan
from dabchick.storage.folder import OpenBoat
from dabchick.studies import tank as tank_study
from dabchick.studies.tank import TankResult
from dabchick.studies.tank_proposals import propose, standing
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.tank import Line, Proposal, TankOut
from dabchick.workbench.words import amount, measured


@dataclass(frozen=True, eq=False)
class TankAnswer:
    """The study, the proposals that fit, and why others do not."""

    result: TankResult
    plans: tuple[PlannedTank, ...]
    unfit: tuple[Advice, ...]


def bore_of(text: str | None) -> float | None:
    """A bore as it was typed; None for none. Raises BoatError for what is no length."""
    if text is None or not text.strip():
        return None
    try:
        return parse(text, "length")
    except UnitError as fault:
        raise BoatError(
            Advice(
                what=fault.what, todo=fault.todo, where="bore", key="bore", given=text, allowed=fault.allowed
            )
        ) from fault


@lru_cache(maxsize=8)
def tank_answer(boat: OpenBoat, bore_m: float | None) -> TankAnswer:
    """Kept for the last few questions: what is applied is just what was shown."""
    result = tank_study.run(boat.vessel, bore_m=bore_m)
    plans, unfit = [], []
    for proposal in propose(boat.vessel, result, bore_m=bore_m):
        try:
            planned = plan(boat, proposal)
        except BoatError as fault:
            first = next(entry for entry in fault.advice if entry.severity == "error")
            unfit.append(
                Advice(
                    what=f"{proposal.title}: this does not fit. {first.what}",
                    todo="Ask for another bore, or make room for it.",
                    key=first.key,
                    given=first.given,
                    allowed=first.allowed,
                    severity="warning",
                )
            )
            continue
        if planned is None:
            unfit.append(
                Advice(
                    what=f"{proposal.title}: the shape of this tank has no length that could be changed from here.",
                    todo="Draw it anew in the needed size, or ask for a bore.",
                    key="tank",
                    severity="warning",
                )
            )
            continue
        plans.append(planned)
    return TankAnswer(result, tuple(plans), tuple(unfit))


def tank_out(boat: OpenBoat, answer: TankAnswer, revision: int) -> TankOut:
    """The answer for the page."""
    vessel, result = boat.vessel, answer.result
    entries = figures(vessel, result)
    needed, present = (
        [
            Line(label=_label(entry.label), figure=amount(value, entry.dimension, vessel.units))
            for entry, value in ((entry, getattr(entry, side)) for entry in entries)
            if value is not None
        ]
        for side in ("needed", "present")
    )
    needed[0] = Line(label=needed[0].label, figure=measured(result.volume_m3, "volume", vessel.units))
    if math.isfinite(result.length_m):
        needed.append(
            Line(
                label="Length of water",
                figure=amount(result.length_m, "length", vessel.units),
                note=f"in a bore of {with_unit(result.bore_m, 'length', vessel.units)}",
            )
        )
    own = vessel.advice
    return TankOut(
        revision=revision,
        verdict=standing(vessel, result),
        sentence=summary(vessel, result),
        needed=needed,
        present=present if vessel.tanks else [],
        proposals=[_proposal(planned) for planned in answer.plans],
        assumptions=list(result.assumptions),
        warnings=[
            AdviceOut.of(entry)
            for entry in (*(entry for entry in result.warnings if entry not in own), *answer.unfit)
        ],
        method=result.method,
        sources=list(result.sources),
    )


def _label(text: str) -> str:
    return text[:1].upper() + text[1:]


def _proposal(planned: PlannedTank) -> Proposal:
    tanks = _tanks(planned)
    first = tanks[0]
    change = planned.proposal.changes[0]
    length = length_of(planned.tanks[0])
    return Proposal(
        title=planned.proposal.title,
        sentence=planned.proposal.sentence,
        tank=change.key,
        centre_m=first.centre_m,
        length_m=length if math.isfinite(length) else None,
        lines=[*_tank_lines(planned, tanks), *_effects(planned)],
    )


def _tanks(planned: PlannedTank) -> list[Tank]:
    by_name = {tank.name: tank for tank in planned.boat.vessel.tanks}
    return [by_name[table.name] for table in planned.tanks]


def _tank_lines(planned: PlannedTank, tanks: list[Tank]) -> Iterator[Line]:
    vessel = planned.boat.vessel
    units, datum = vessel.units, vessel.datum
    for table, tank in zip(planned.tanks, tanks, strict=True):
        before = f"{table.name}: " if len(tanks) > 1 else ""
        yield Line(label=_label(f"{before}volume"), figure=amount(tank.capacity_m3, "volume", units))
        if math.isfinite(length := length_of(table)):
            yield Line(label=_label(f"{before}length"), figure=amount(length, "length", units))
        if math.isfinite(bore := _bore(table)):
            yield Line(label=_label(f"{before}bore"), figure=amount(bore, "length", units))
        x = datum.to_builder(tank.centre_m)[0]
        yield Line(
            label=_label(f"{before}middle from the {datum.x_from}"),
            figure=amount(x, "length", units),
            note=f"in {tank.inside}" if tank.inside else "in the flooded space",
        )


def _bore(table: TankTable) -> float:
    return table.shape.cylinder.diameter if table.shape.cylinder is not None else math.nan


def _effects(planned: PlannedTank) -> Iterator[Line]:
    """What the study says of the boat with these tanks."""
    vessel, result = planned.boat.vessel, planned.result
    units = vessel.units
    wished = with_unit(result.lift_kg, "mass", units)
    yield Line(
        label="Lift when dived", figure=amount(result.present_lift_kg, "mass", units), note=f"{wished} wished"
    )
    yield Line(
        label="Off its right place",
        figure=amount(abs(result.present_centre_m[0] - result.centre_m[0]), "length", units),
    )
