"""The ballast tank: what is needed, what there is, and proposals that can be written into the file."""

from typing import Annotated

from fastapi import APIRouter, Query

from dabchick.model.advice import Advice
from dabchick.storage.apply_tank import PlannedTank
from dabchick.workbench.bench import Stale
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.last_right import last_right, right_now
from dabchick.workbench.shapes.boat import BoatState
from dabchick.workbench.shapes.tank import TankApply, TankOut
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.tank_out import TankAnswer, bore_of, tank_answer, tank_out

_OTHERS = Advice(
    what="The proposals are other ones by now, because the boat has changed.",
    todo="Look at the new ones and choose again.",
)


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes over the tanks of a shelf's boats; none of them is long work."""
    routes = APIRouter(prefix="/api/boats/{boat}/tank", tags=["tank"])

    @routes.get("")
    def get_tank(
        boat: str,
        bore: Annotated[str | None, Query(max_length=40, description="Inner diameter, with its unit")] = None,
    ) -> TankOut:
        """What tank this boat needs; with a bore, how long it would be."""
        now = shelf.bench(boat).now
        right = last_right(now)
        return tank_out(right, tank_answer(right, bore_of(bore)), now.revision)

    @routes.post("/apply")
    def post_apply(boat: str, apply: TankApply) -> BoatState:
        """Write a proposal into the boat file: shape and place of the tanks that it changes."""
        bench = shelf.bench(boat)
        now = bench.now
        if apply.base != now.revision:
            raise Stale(_OTHERS)
        chosen = _chosen(tank_answer(right_now(now), bore_of(apply.bore)), apply)
        # The bench takes it only while this revision stands, so the text is the one that it was planned on.
        bench.edit(chosen.proposal.title, lambda text: chosen.text, base=now.revision, by=apply.by)
        return state_of(bench)

    return routes


def _chosen(answer: TankAnswer, apply: TankApply) -> PlannedTank:
    if apply.proposal >= len(answer.plans) or answer.plans[apply.proposal].proposal.title != apply.title:
        raise Stale(_OTHERS)
    return answer.plans[apply.proposal]
