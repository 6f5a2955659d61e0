"""`dabchick measures`: a hull from tape and calliper, how well it is known, and what to measure once more."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import Json

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.measures import HandMeasures
    from dabchick.studies.measures import MeasuresResult

NAME = "measures"
EXAMPLE = "dabchick measures wren-measures.csv --stations wren-stations.csv"


def command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The hand measures, a CSV file.")],
    stations: Annotated[
        Path | None,
        typer.Option(
            metavar="OUT", help="Also write the faired form as a station table into this new CSV file."
        ),
    ] = None,
    mesh: Annotated[
        Path | None,
        typer.Option(metavar="OUT", help="Also write it as a closed mesh in mm into this new STL file."),
    ] = None,
    json: Json = False,
) -> None:
    """A hull from hand measures: beam, height, lowest point and girth at stations, with slips of the tape named."""
    face = Face(json)
    with face.busy("Fairing the measures"):
        from dabchick.report.measures_words import summary
        from dabchick.storage.measures_file import hull_of, read_measures, stations_text
        from dabchick.storage.new_file import free, stl, write_new
        from dabchick.studies.measures import run
        from dabchick.studies.result import as_json

        free((stations, ".csv"), (mesh, ".stl"))
        hand = read_measures(file)
        result = run(hand)
        if stations is not None:
            write_new(stations, stations_text(result.form, hand).encode())
        if mesh is not None:
            write_new(mesh, stl(hull_of(result.form, hand), "hull from hand measures"))
    if json:
        whole = as_json(result)
        del whole["form"]  # the lines' own coefficients; the form itself is what --stations writes
        face.give_json(whole)
    else:
        face.say(summary(hand, result))
        face.show(_figures(hand, result))
        face.show(_stations(hand, result))
        face.say()
        face.assumptions(result.assumptions)
        face.warnings(result.warnings)
        for out in (stations, mesh):
            if out is not None:
                face.say(f"Wrote {out}.")
    if result.slips:
        finish(ExitCode.FINDINGS)


def _figures(hand: "HandMeasures", result: "MeasuresResult") -> "Table":
    from rich.table import Table

    from dabchick.report.figures import measured
    from dabchick.report.measures_words import figures

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=False)
    shown.add_column("")
    shown.add_column("", justify="right")
    for entry in figures(hand, result):
        shown.add_row(entry.label, measured(entry.figure, entry.dimension, hand.units))
    return shown


def _stations(hand: "HandMeasures", result: "MeasuresResult") -> "Table":
    from rich.table import Table

    from dabchick.report.measures_words import rows

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in (f"x from {hand.measured_from}", "beam", "height", "lowest", "girth", "n"):
        shown.add_column(name, justify="right")
    shown.add_column("faired form")
    for row in rows(hand, result):
        shown.add_row(*row)
    return shown
