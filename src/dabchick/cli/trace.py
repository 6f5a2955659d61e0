"""`dabchick trace`: what hull a traced plan makes, and how well the tracing knows it."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import Json

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.studies.trace import TraceResult

NAME = "trace"
EXAMPLE = "dabchick trace wren-trace.toml --stations wren-stations.csv"


def command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The trace file; its pictures lie beside it.")],
    stations: Annotated[
        Path | None,
        typer.Option("--stations", metavar="OUT.csv", help="Also write the hull as a station table."),
    ] = None,
    mesh: Annotated[
        Path | None,
        typer.Option(
            "--mesh",
            metavar="OUT.stl",
            help="Also write hull and separate bodies as one mesh file in millimetres, each body its own shell.",
        ),
    ] = None,
    json: Json = False,
) -> None:
    """The hull of a traced plan: volume, area, centre and sizes, each with the band that tracing leaves."""
    face = Face(json)
    with face.busy("Drawing the traced plan"):
        from dabchick.model.advice import BoatError
        from dabchick.storage.picture_size import picture_size
        from dabchick.storage.trace_file import read_trace_text, trace_text_of
        from dabchick.storage.traced_surface import placed
        from dabchick.studies.result import as_json
        from dabchick.studies.trace import run

        text = trace_text_of(file)
        doc = read_trace_text(text, file)
        named = {view.picture for view in doc.views if view.picture}
        there = {name: file.parent / name for name in named if "\0" not in name}
        pictures = {name: picture_size(path) for name, path in there.items() if path.is_file()}
        result = run(doc, pictures, name=file.stem)
        if result.faults or result.hull is None:
            raise BoatError(*placed(result.warnings, text, str(file)))
        if stations is not None:
            _write_stations(stations, result)
        if mesh is not None:
            _write_mesh(mesh, result)
    if json:
        face.give_json(as_json(result.without_meshes()))
        return
    face.show(_figures(result))
    if result.bodies:
        face.show(_bodies(result))
    face.say()
    face.assumptions(result.assumptions)
    face.warnings(placed(result.warnings, text, str(file)))
    face.say(result.validity)
    for out in (stations, mesh):
        if out is not None:
            face.say(f"Wrote {out}.")


def _write_stations(out: Path, result: "TraceResult") -> None:
    from dabchick.storage.atomic import write_atomic
    from dabchick.storage.station_text import station_text

    rows = [(row.x_m, row.heights_m, row.half_breadths_m) for row in result.stations]
    write_atomic(out, station_text(rows, [f"From the trace {result.boat}."]).encode())


def _write_mesh(out: Path, result: "TraceResult") -> None:
    import numpy as np

    from dabchick.storage.atomic import write_atomic
    from dabchick.storage.mesh_file import check_suffix
    from dabchick.storage.mesh_write import mesh_bytes

    check_suffix(out)
    shells = [shell for shell in (result.hull, *(m for body in result.bodies for m in body.meshes)) if shell]
    first = np.cumsum([0, *(len(shell.vertices_m) for shell in shells[:-1])])
    vertices = np.concatenate([shell.vertices_m * 1000.0 for shell in shells])
    faces = np.concatenate([shell.faces + start for shell, start in zip(shells, first, strict=True)])
    write_atomic(out, mesh_bytes(vertices, faces, out, "traced hull"))


def _figures(result: "TraceResult") -> "Table":
    from dabchick.report.trace_words import figure_rows

    return _table("Hull", figure_rows(result))


def _bodies(result: "TraceResult") -> "Table":
    from dabchick.report.trace_words import body_rows

    return _table("Separate bodies", body_rows(result))


def _table(title: str, rows: "list[tuple[str, str, str]]") -> "Table":
    from rich.table import Table

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column(title)
    shown.add_column("Value", justify="right")
    shown.add_column("Band (2 sigma)", justify="right")
    for row in rows:
        shown.add_row(*row)
    return shown
