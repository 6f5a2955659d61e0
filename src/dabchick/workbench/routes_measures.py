"""Hand measures: a table to type into, the hull that it makes, and that hull as the boat's own."""

from typing import Any, Final

from fastapi import APIRouter

from dabchick.model.advice import BoatError
from dabchick.model.boat import HULL_FORMS
from dabchick.model.units import UnitSet
from dabchick.storage import edit_text
from dabchick.storage.atomic import write_atomic
from dabchick.storage.measures_file import measures_in
from dabchick.workbench.bench import Snapshot
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.measures_out import (
    empty_table,
    file_text,
    fitted,
    hand_of,
    measures_out,
    present_text,
    table_of,
    usual,
)
from dabchick.workbench.routes_hull import MESH_KEYS, free_name
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.boat import BoatState
from dabchick.workbench.shapes.measures import (
    MeasuresLook,
    MeasuresOut,
    MeasuresStart,
    MeasuresTable,
    MeasuresUse,
)
from dabchick.workbench.shelf import Shelf

FIT_SECONDS: Final = 60.0


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """The routes about hand measures."""
    routes = APIRouter(prefix="/api", tags=["measures"])

    @routes.get("/boats/{boat}/measures")
    def start(boat: str) -> MeasuresStart:
        """Her measures where they are her hull, or a table to begin with."""
        bench = shelf.bench(boat)
        now = bench.now
        units = _units(now)
        there = present_text(now.content, bench.folder)
        advice: list[AdviceOut] = []
        table = None
        if there is not None:
            try:
                table = table_of(there[1], there[0])
            except BoatError as fault:
                advice = [AdviceOut.of(entry) for entry in fault.advice]
        if table is None:
            datum = now.content.get("measured_from")
            end = str(datum.get("x", "bow")) if isinstance(datum, dict) else "bow"
            table = empty_table(units, end, None if now.right is None else now.right.vessel.length_m)
        return MeasuresStart(
            revision=now.revision,
            file=there[0] if there is not None else "",
            units=units,
            table=table,
            usual=usual(units),
            advice=advice,
        )

    @routes.post("/boats/{boat}/measures")
    def look(boat: str, table: MeasuresTable) -> MeasuresLook:
        """See whether a hull can be made of the table, and begin to; the answer is at /api/jobs/{job}/measures."""
        bench = shelf.bench(boat)
        try:
            hand = hand_of(table, _units(bench.now))
        except BoatError as fault:
            # asked while the builder types, so a table that is not whole yet is an answer like any other
            return MeasuresLook(advice=[AdviceOut.of(entry) for entry in fault.advice], job=None)
        job = jobs.start(
            "Fairing the measures",
            fitted,
            hand,
            seconds=FIT_SECONDS,
            then=lambda result: measures_out(hand, result),
        )
        return MeasuresLook(advice=[], job=job_out(job))

    @routes.get("/jobs/{job}/measures")
    def looked(job: str) -> MeasuresOut:
        """The hull of the measures."""
        return jobs.answer(job, MeasuresOut)

    @routes.post("/boats/{boat}/measures/use")
    def use(boat: str, wish: MeasuresUse) -> BoatState:
        """Write the measures into the boat's folder and make them her hull; what was stays, so undo works."""
        bench = shelf.bench(boat)
        text = file_text(wish.table)
        measures_in(text, "the table")
        content = text.encode()
        name, is_new = free_name(bench.folder, f"{bench.name}-measures.csv", content)
        if is_new:
            write_atomic(bench.folder / name, content)
        try:
            bench.edit(
                f"Take {name} as the hull",
                lambda old: with_measures(old, name),
                base=wish.base,
                by=wish.by,
            )
        except BaseException:
            if is_new:
                (bench.folder / name).unlink(missing_ok=True)
            raise
        return state_of(bench)

    return routes


def with_measures(text: str, name: str) -> str:
    """The boat's text with these measures as the hull."""
    there = edit_text.content_of(text).get("hull")
    old: dict[str, Any] = there if isinstance(there, dict) else {}
    text = edit_text.puts(text, [(("hull", "measures"), name)])
    for key in (*HULL_FORMS, *MESH_KEYS):
        if key in old and key != "measures":
            text = edit_text.drop(text, ("hull", key))
    return text


def _units(now: Snapshot) -> UnitSet:
    return "inch" if now.content.get("units") == "inch" else "metric"
