"""Answers to what-ifs: how she lies with these fills and changes, computed anew only as far as something changed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import UnitError, parse
from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import NotSettledError
from dabchick.report.builder_units import with_unit
from dabchick.studies.glance import State, dived, glance, lie_in, state_of, surfaced
from dabchick.studies.lie import Lie
from dabchick.studies.loading import fills_for
from dabchick.studies.tank_water import TankWater, tank_waters
from dabchick.studies.what_if import PartChange, with_changes
from dabchick.workbench.shapes.figures import GlanceOut
from dabchick.workbench.shapes.live import Answer, Ask, Change, Mesh, TankWaterOut
from dabchick.workbench.words import glance_out, lie_out

Found = TypeVar("Found")


@dataclass(frozen=True, eq=False)
class _Tried:
    """A vessel with changes made, and her two states that do not hang on the fills asked for."""

    vessel: Vessel
    surfaced_lie: Lie
    dived_lie: Lie
    surfaced: GlanceOut
    dived: GlanceOut


def answer(vessel: Vessel, ask: Ask, revision: int) -> Answer:
    """How she lies. Raises BoatError for fills and changes that cannot be."""
    tried = _tried(vessel, _changes(ask.changes))
    state, lie = _lie(tried, ask.fills)
    now = {"surfaced": tried.surfaced, "dived": tried.dived}.get(state)
    return Answer(
        seq=ask.seq,
        revision=revision,
        lie=lie_out(tried.vessel, lie),
        tanks=[_water_out(water, tried.vessel) for water in tank_waters(tried.vessel, lie)],
        now=now or glance_out(tried.vessel, glance(tried.vessel, lie, state)),
        surfaced=tried.surfaced,
        dived=tried.dived,
        advice=[],
    )


def _changes(changes: Sequence[Change]) -> tuple[PartChange, ...]:
    """The changes in SI, in one order so that equal asks are known again."""
    faults, read = [], {}
    for change in changes:
        mass = change.mass_kg
        if change.mass is not None:
            try:
                mass = parse(change.mass, "mass")
            except UnitError as fault:
                faults.append(
                    Advice(
                        what=fault.what,
                        todo=fault.todo,
                        key=f"{change.key}.mass",
                        given=change.mass,
                        allowed=fault.allowed,
                    )
                )
        if change.key in read:
            faults.append(
                Advice(
                    what=f"{change.key} is changed twice.",
                    todo="Say all that changes about it at once.",
                    key=change.key,
                )
            )
        read[change.key] = PartChange(change.key, change.shift_m, mass)
    if faults:
        raise BoatError(*faults)
    return tuple(read[key] for key in sorted(read))


@lru_cache(maxsize=12)
def _tried(vessel: Vessel, changes: tuple[PartChange, ...]) -> _Tried:
    """Kept for the few what-ifs last asked for, so that moving a tank slider works out one state alone."""
    changed = with_changes(vessel, changes) if changes else vessel
    afloat, under = _at_rest(surfaced, changed), _at_rest(dived, changed)
    return _Tried(
        changed,
        afloat,
        under,
        glance_out(changed, glance(changed, afloat, "surfaced")),
        glance_out(changed, glance(changed, under, "dived")),
    )


def _lie(tried: _Tried, fills: dict[str, float]) -> tuple[State, Lie]:
    names = {tank.key: tank.name for tank in tried.vessel.tanks}
    every = fills_for(tried.vessel, {names.get(key, key): share for key, share in fills.items()})
    if state_of(every) == "surfaced":
        return "surfaced", tried.surfaced_lie
    return _at_rest(lambda vessel: lie_in(vessel, every), tried.vessel)


def _at_rest(find: Callable[[Vessel], Found], vessel: Vessel) -> Found:
    try:
        return find(vessel)
    except NotSettledError as fault:
        raise BoatError(
            Advice(
                what="She comes to no rest like this, so there is nothing to show.",
                todo="Put the part elsewhere, or another mass.",
                given=str(fault),
            )
        ) from fault


def _water_out(water: TankWater, vessel: Vessel) -> TankWaterOut:
    return TankWaterOut(
        key=water.key,
        share=water.share,
        amount=with_unit(water.volume_m3, "volume", vessel.units),
        water=Mesh(
            positions=[round(entry, 6) for entry in water.vertices.ravel().tolist()],
            indices=water.faces.ravel().tolist(),
        ),
    )
