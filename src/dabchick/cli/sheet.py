"""`dabchick sheet`: the trim sheet, one page to pin over the bench."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json

NAME = "sheet"
EXAMPLE = "dabchick sheet wren --out out"

Paper = Literal["a4", "letter"]


def command(
    boat: BoatPath = HERE,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Where the files go. Without it: the boat's own folder."),
    ] = None,
    paper: Annotated[Paper, typer.Option(metavar="PAPER", help="a4 or letter.")] = "a4",
    json: Json = False,
) -> None:
    """The trim sheet as PDF and its drawing as SVG: where lead and foam go, what to expect in the bath."""
    face = Face(json)
    with face.busy("Trimming her and drawing the sheet"):
        from dabchick.report.trim_sheet import write_trim_sheet
        from dabchick.storage.folder import open_boat
        from dabchick.studies.trim import as_fitted, is_fitted, run

        opened = open_boat(boat)
        # Once a trim is written into the boat file the sheet shows that one, not another as good.
        result = as_fitted(opened.vessel) if is_fitted(opened.vessel) else run(opened.vessel)
        target = out if out is not None else opened.folder
        written = write_trim_sheet(opened.vessel, result, target, paper=paper)
    if json:
        face.give_json({"written": [str(path) for path in written], "feasible": result.feasible})
    else:
        for path in written:
            face.say(f"Wrote {path}.")
        if not result.feasible:
            face.say("Not all wishes can be kept; the sheet says which, and `dabchick trim` says more.")
    if not result.feasible:
        finish(ExitCode.FINDINGS)
