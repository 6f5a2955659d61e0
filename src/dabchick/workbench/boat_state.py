"""A boat's state as the pages get it."""

import math
from collections.abc import Mapping
from datetime import date, datetime, time

from pydantic import JsonValue

from dabchick.model.units import shown
from dabchick.model.vessel import Vessel
from dabchick.workbench.bench import Bench, Snapshot
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.boat import BoatState, Count, DatumOut, Tankful


def state_of(bench: Bench) -> BoatState:
    """The boat as her file says now."""
    now = bench.now
    name = now.content.get("name")
    vessel = now.right.vessel if now.right is not None else None
    told = [AdviceOut.of(entry) for entry in now.advice]
    return BoatState(
        boat=bench.name,
        name=name if isinstance(name, str) and name.strip() else bench.name,
        revision=now.revision,
        figures_revision=now.right_revision,
        units="inch" if now.content.get("units") == "inch" else "metric",
        saved=now.saved,
        errors=[entry for entry in told if entry.severity == "error"],
        warnings=[entry for entry in told if entry.severity == "warning"],
        assumptions=list(vessel.assumptions) if vessel is not None else [],
        undo=now.undo,
        redo=now.redo,
        values={key: _plain(value) for key, value in now.content.items()},
        datum=_datum(vessel) if vessel is not None else None,
        tanks=_tanks(vessel) if vessel is not None else [],
        count=_count(now) if vessel is not None else None,
    )


def _plain(value: object) -> JsonValue:
    """A value of the file as JSON can say it; what it cannot say becomes the text that stands in the file."""
    if isinstance(value, Mapping):
        return {str(key): _plain(entry) for key, entry in value.items()}
    if isinstance(value, list):
        return [_plain(entry) for entry in value]
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return value if isinstance(value, str | bool | int | float) else str(value)


def _datum(vessel: Vessel) -> DatumOut:
    datum = vessel.datum
    return DatumOut(
        x_from=datum.x_from,
        z_from=datum.z_from,
        x_origin_m=datum.x_origin_m,
        z_origin_m=datum.z_origin_m,
        x_sign=1 if datum.x_from == "stern" else -1,
    )


def _tanks(vessel: Vessel) -> list[Tankful]:
    return [
        Tankful(
            key=tank.key,
            name=tank.name,
            system=tank.system,
            capacity_m3=tank.capacity_m3,
            capacity=shown(tank.capacity_m3, "volume", vessel.units),
        )
        for tank in vessel.tanks
    ]


def _count(now: Snapshot) -> Count | None:
    if now.right is None:
        return None
    parts = now.right.boat.parts
    return Count(
        parts=len(parts),
        tanks=len(now.right.boat.tanks),
        lead=sum(part.kind == "lead" for part in parts),
        foam=sum(part.kind == "foam" for part in parts),
        openings=len(now.right.boat.hull.openings),
        unweighed=len(now.right.vessel.unweighed),
    )
