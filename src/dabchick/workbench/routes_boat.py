"""One boat: her state, her text, edits of it, undo and redo."""

from fastapi import APIRouter

from dabchick.workbench.bench import Changer
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.ops import carry_out, on_newer
from dabchick.workbench.shapes.boat import Base, BoatState, BoatText, Edit
from dabchick.workbench.shelf import Shelf


def router(shelf: Shelf) -> APIRouter:
    """Routes over the boats of a shelf."""
    routes = APIRouter(prefix="/api/boats/{boat}", tags=["boat"])

    @routes.get("")
    def get_boat(boat: str) -> BoatState:
        """The boat as her file says now."""
        return state_of(shelf.bench(boat))

    @routes.get("/text")
    def get_text(boat: str) -> BoatText:
        """Her file itself."""
        now = shelf.bench(boat).now
        return BoatText(revision=now.revision, text=now.text)

    @routes.post("/edits")
    def post_edit(boat: str, edit: Edit) -> BoatState:
        """One step of work, saved at once: all of its ops or none.

        An edit on an older base is taken when each of its ops puts a value and says what stood there, and that
        still stands there; otherwise it is refused with 409.
        """
        bench = shelf.bench(boat)
        right = bench.right
        datum = right.vessel.datum if right is not None else None

        def later(text: str) -> Changer | None:
            ops = on_newer(edit.ops, text)
            return None if ops is None else lambda newer: carry_out(newer, ops, datum)

        bench.edit(
            edit.what,
            lambda text: carry_out(text, edit.ops, datum),
            base=edit.base,
            by=edit.by,
            later=later,
        )
        return state_of(bench)

    @routes.post("/undo")
    def post_undo(boat: str, base: Base) -> BoatState:
        """Take the last step back."""
        bench = shelf.bench(boat)
        bench.undo(base=base.base, by=base.by)
        return state_of(bench)

    @routes.post("/redo")
    def post_redo(boat: str, base: Base) -> BoatState:
        """Bring the step taken back again."""
        bench = shelf.bench(boat)
        bench.redo(base=base.base, by=base.by)
        return state_of(bench)

    return routes
