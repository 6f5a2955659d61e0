"""A boat's past: every step, named versions, what differs, and the way back."""

from typing import Annotated

from fastapi import APIRouter, Query

from dabchick.storage.difference import difference
from dabchick.storage.folder import MARK
from dabchick.workbench.bench import Bench
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.shapes.boat import Base, BoatState, DifferenceOut, Named, Step, StepsOut
from dabchick.workbench.shelf import Shelf


def router(shelf: Shelf) -> APIRouter:
    """Routes over the boats of a shelf."""
    routes = APIRouter(prefix="/api/boats/{boat}/steps", tags=["history"])

    @routes.get("")
    def get_steps(boat: str) -> StepsOut:
        """Every step, newest first."""
        return _steps(shelf.bench(boat))

    @routes.post("/{step}/name")
    def post_name(boat: str, step: int, named: Named) -> StepsOut:
        """Make a step a named version, or take its name away."""
        bench = shelf.bench(boat)
        bench.name_step(step, named.name)
        return _steps(bench)

    @routes.post("/{step}/restore")
    def post_restore(boat: str, step: int, base: Base) -> BoatState:
        """Take up the text of a step again, as a new step."""
        bench = shelf.bench(boat)
        bench.restore(step, base=base.base, by=base.by)
        return state_of(bench)

    @routes.get("/{step}/difference")
    def get_difference(
        boat: str,
        step: int,
        against: Annotated[int | None, Query(description="Another step; without: now.")] = None,
    ) -> DifferenceOut:
        """What changed from a step to another one, in the builder's words."""
        bench = shelf.bench(boat)
        before = _shown(bench.text_of(step))
        after = _shown(bench.text_of(against if against is not None else bench.steps()[1]))
        return DifferenceOut(lines=difference(before, after), before=before, after=after)

    return routes


def _steps(bench: Bench) -> StepsOut:
    steps, here = bench.steps()
    return StepsOut(
        steps=[
            Step(
                step=step.number,
                parent=step.parent,
                when=step.when,
                what=step.what,
                by=step.by,
                name=step.name,
                here=step.number == here,
            )
            for step in reversed(steps)
        ]
    )


def _shown(text: str) -> str:
    """A text as JSON can carry it: bytes that are no letters as the mark for them."""
    return text.removeprefix(MARK).encode("utf-8", "surrogateescape").decode("utf-8", "replace")
