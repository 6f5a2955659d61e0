"""The weight list: to look at, to type into cell by cell, to paste into, and as CSV."""

from fastapi import APIRouter, Response

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.part_columns import BY_NAME, as_text, changed, written
from dabchick.storage.parts_csv import parts_csv
from dabchick.storage.toml_content import content_of
from dabchick.workbench.bench import Changer
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.downloads import download
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.ops import carry_out
from dabchick.workbench.pasted import pasted
from dabchick.workbench.row_ops import Row, list_rows, ops_of
from dabchick.workbench.shapes.boat import BoatState
from dabchick.workbench.shapes.weights import CellEdit, Pasted, PastedOut, WeightsOut
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.weight_rows import shown_content, weights_out


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes over the weight lists of a shelf; none of them is long work."""
    routes = APIRouter(prefix="/api/boats/{boat}", tags=["weights"])

    @routes.get("/weights", response_model=WeightsOut)
    def get_weights(boat: str) -> Response:
        """The whole list, as the file says it, with totals."""
        # Written out here: passing a list of hundreds of rows through the framework's own check takes as long again.
        out = weights_out(shelf.bench(boat).now)
        return Response(out.model_dump_json(), media_type="application/json")

    @routes.get(
        "/weights.csv",
        response_class=Response,
        responses={200: {"content": {"text/csv": {"schema": {"type": "string"}}}}},
    )
    def get_csv(boat: str) -> Response:
        """The parts for a spreadsheet; pasted back they are the same parts."""
        content = shown_content(shelf.bench(boat).now)
        name = content.get("name")
        return download(
            parts_csv(content),
            "text/csv; charset=utf-8",
            name if isinstance(name, str) else boat,
            "parts.csv",
        )

    @routes.post("/weights/cell")
    def post_cell(boat: str, cell: CellEdit) -> BoatState:
        """One cell as it was typed, saved at once, readable or not."""
        bench = shelf.bench(boat)

        def later(text: str) -> Changer | None:
            row = _found_again(_rows(text), cell)
            if row is None or _text_at(row, cell) != cell.was:
                return None
            return lambda newer: _changed(newer, row, cell)

        def change(text: str) -> str:
            row = next((row for row in _rows(text) if (row.table, row.row) == (cell.table, cell.row)), None)
            if row is None:
                raise BoatError(_NO_ROW)
            return _changed(text, row, cell)

        bench.edit(_what(cell), change, base=cell.base, by=cell.by, later=later)
        return state_of(bench)

    @routes.post("/weights/pasted")
    def post_pasted(boat: str, sheet: Pasted) -> PastedOut:
        """What a pasted text would do; nothing is changed."""
        now = shelf.bench(boat).now
        return pasted(content_of(now.text), sheet, now.revision)

    return routes


_NO_ROW = Advice(what="There is no such row in the list any more.", todo="Load the list again.")


def _rows(text: str) -> list[Row]:
    return list_rows(content_of(text))


def _found_again(rows: list[Row], cell: CellEdit) -> Row | None:
    """The row in a newer text, by its name; the skin is always itself."""
    if cell.table == "skin":
        return next((row for row in rows if row.table == "skin"), None)
    named = [
        row
        for row in rows
        if row.table == cell.table and cell.row_name is not None and row.values.get("name") == cell.row_name
    ]
    return named[0] if len(named) == 1 else None


def _text_at(row: Row, cell: CellEdit) -> str:
    found = written(row.values, row.table, BY_NAME[cell.column])
    return "" if found is None else as_text(found.value)


def _changed(text: str, row: Row, cell: CellEdit) -> str:
    column = BY_NAME[cell.column]
    if row.table not in column.places:
        raise BoatError(
            Advice(
                what=f"{row.name} has no {column.name} to be set.",
                todo="Leave this cell as it is.",
                key=column.name,
                given=cell.text,
            )
        )
    return carry_out(
        text, ops_of(content_of(text), row, changed(row.values, row.table, column, cell.text)), None
    )


def _what(cell: CellEdit) -> str:
    """A name for the step, such as `Mass of battery: 310 g`."""
    name = "skin" if cell.table == "skin" else cell.row_name or f"{cell.table} {cell.row + 1}"
    text = cell.text.strip()
    told = (text if len(text) <= 40 else f"{text[:39]}…") or "taken out"
    return f"{cell.column.capitalize()} of {name[:60]}: {told}"
