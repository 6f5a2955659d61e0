"""Two steps of a boat side by side in figures, as long work: each is read, laid and followed down."""

import math
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Final

from fastapi import APIRouter, Query

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.report.compare_words import rows, summary
from dabchick.report.silhouettes import silhouette
from dabchick.storage.earlier import called, opened
from dabchick.storage.folder import FILE
from dabchick.studies import compare
from dabchick.studies.compare import Compared
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.compare import CompareOut, CompareRow, CompareView
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shelf import Shelf

GRID_SHARE: Final = 1e-3
"""Of her length: what a small side view is rounded to."""


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes that put two steps of a boat side by side."""
    routes = APIRouter(prefix="/api", tags=["compare"])

    @routes.post("/boats/{boat}/steps/{step}/compare")
    def begin(
        boat: str,
        step: int,
        against: Annotated[int | None, Query(description="Another step; without: now.")] = None,
    ) -> JobOut:
        """Begin to compare a step with another one; the answer is at /api/jobs/{job}/compare."""
        bench = shelf.bench(boat)
        steps, here = bench.steps()
        other = here if against is None else against
        texts = bench.text_of(step), bench.text_of(other)
        names = {entry.number: called(entry) for entry in steps}
        titles = tuple("she now" if number == here else names[number] for number in (step, other))
        job = jobs.start(
            f"Compare {titles[0]} with {titles[1]}",
            compare_texts,
            bench.folder,
            texts,
            titles,
            boat=bench.name,
        )
        return job_out(job)

    @routes.get("/jobs/{job}/compare")
    def found(job: str) -> CompareOut:
        """Both side by side."""
        return jobs.answer(job, CompareOut)

    return routes


def compare_texts(tell: Tell, folder: Path, texts: tuple[str, str], titles: tuple[str, str]) -> CompareOut:
    """Both boats read and compared, in a process of its own. Raises BoatError without the path of the folder."""
    try:
        tell("Reading them", 0.0)
        one, other = (
            opened(folder / FILE, text, title).vessel for text, title in zip(texts, titles, strict=True)
        )
        result = compare.run(one, other, titles, tell=tell)
    except BoatError as fault:
        raise BoatError(
            *(replace(entry, where=entry.where.replace(f"{folder}/", "")) for entry in fault.advice)
        ) from fault
    return CompareOut(
        sentence=summary(one, result),
        one=_view(one, result.one),
        other=_view(other, result.other),
        rows=[CompareRow(**row._asdict()) for row in rows(one, result)],
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        assumptions=list(result.assumptions),
        method=result.method,
        sources=list(result.sources),
    )


def _view(vessel: Vessel, found: Compared) -> CompareView:
    loops = silhouette(vessel.hull, "side", GRID_SHARE * vessel.length_m)
    low, high = vessel.low_m, vessel.high_m
    lie = found.surfaced
    water = []
    if lie.condition == "floats" and math.isfinite(lie.offset_m) and lie.normal[2] > 0.0:
        reach = 0.06 * vessel.length_m
        water = [
            (x, (lie.offset_m - lie.normal[0] * x) / lie.normal[2]) for x in (low[0] - reach, high[0] + reach)
        ]
    return CompareView(
        title=found.title,
        outline=[[(round(float(x), 4), round(float(z), 4)) for x, z in loop] for loop in loops],
        low_m=(low[0], low[2]),
        high_m=(high[0], high[2]),
        water_m=water,
    )
