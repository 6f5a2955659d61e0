"""`dabchick prints`: a pile of print files as one hull, its walls, and its mass."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import Json
from dabchick.model.advice import Advice, BoatError

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.prints_ask import TextReader
    from dabchick.model.units import UnitSet
    from dabchick.model.vessel import Vector
    from dabchick.storage.piece_file import PieceFile
    from dabchick.storage.repair import RepairReport
    from dabchick.studies.prints import PrintsResult

NAME = "prints"
EXAMPLE = 'dabchick prints aft.stl mid.stl bow.stl --unit mm --material PLA --weighed "652 g"'


def command(
    pieces: Annotated[
        list[Path],
        typer.Argument(
            metavar="PIECE...", help="Print files: STL, OBJ, PLY or 3MF. With --stack the aftermost first."
        ),
    ],
    unit: Annotated[
        list[str] | None,
        typer.Option(
            metavar="UNIT",
            help="Unit of the files: mm (taken without this), cm, m, in, ft. For one piece: NAME=in. May be repeated.",
        ),
    ] = None,
    shift: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=X,Y,Z",
            help='Shift a piece, such as bow.stl="300 mm, 0, 0". NAME: its file or its number.',
        ),
    ] = None,
    turn: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=X,Y,Z",
            help="Turn a piece about its file's axes, in degrees, x then y then z, before it is shifted: 2=0,0,180.",
        ),
    ] = None,
    stack: Annotated[
        bool, typer.Option("--stack", help="Put the pieces end to end along x, the aftermost first.")
    ] = False,
    gap: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Widest gap that is closed (0.1 mm without this).")
    ] = None,
    repair: Annotated[
        bool, typer.Option("--repair", help="Work on mended copies of faulty pieces; says what was changed.")
    ] = False,
    walled: Annotated[
        bool | None,
        typer.Option(
            "--walled/--surface", help="The mesh is the material itself, or the outer form of a skin."
        ),
    ] = None,
    length: Annotated[
        str | None, typer.Option(metavar="LENGTH", help='Known length to scale to, such as "900 mm".')
    ] = None,
    between: Annotated[
        tuple[str, str] | None,
        typer.Option(
            metavar="X,Y,Z X,Y,Z",
            help="Two points in the files between which --length lies, instead of over all.",
        ),
    ] = None,
    material: Annotated[
        str | None,
        typer.Option(metavar="NAME", help='What the walls are made of, such as PLA or "resin print".'),
    ] = None,
    weighed: Annotated[
        str | None, typer.Option(metavar="MASS", help='What all pieces weigh together, such as "652 g".')
    ] = None,
    infill: Annotated[
        str | None, typer.Option(metavar="SHARE", help='Infill, such as "30 %"; "100 %" for a cast.')
    ] = None,
    infill_spread: Annotated[
        str | None, typer.Option(metavar="SHARE", help='How well you know it, such as "5 %".')
    ] = None,
    lines: Annotated[
        int | None, typer.Option(metavar="COUNT", help="Solid lines on each face of a wall.")
    ] = None,
    line_width: Annotated[
        str | None, typer.Option(metavar="LENGTH", help='Width of such a line, such as "0.45 mm".')
    ] = None,
    water: Annotated[
        str | None, typer.Option(metavar="SHARE", help='Absorbed water, of the dry mass, such as "1 %".')
    ] = None,
    water_spread: Annotated[
        str | None, typer.Option(metavar="SHARE", help='How well you know it, such as "0.5 %".')
    ] = None,
    mesh: Annotated[
        Path | None,
        typer.Option(metavar="OUT", help="Write the joined, scaled mesh into this new file, in millimetres."),
    ] = None,
    inch: Annotated[bool, typer.Option("--inch", help="Print the figures in inch units.")] = False,
    json: Json = False,
) -> None:
    """Join print files to one hull: gaps, walls or outer form, thickness, known length, mass against the scales."""
    face = Face(json)
    from dabchick.model.prints_ask import PrintsTexts, TextReader, ask_of
    from dabchick.storage.mesh_write import check_new

    reader = TextReader(lambda key: f"command line --{key.replace('_', '-')}")
    files = _files(reader, pieces, unit or [], shift or [], turn or [])
    gap_m = reader.amount("gap", gap, "length")
    texts = PrintsTexts(
        length=length,
        between=between,
        walled=walled,
        material=material,
        weighed=weighed,
        infill=infill,
        infill_spread=infill_spread,
        lines=lines,
        line_width=line_width,
        water=water,
        water_spread=water_spread,
    )
    ask = ask_of(texts, reader)
    if mesh is not None:
        check_new(mesh, "mm")
    with face.busy("Joining the pieces") as tell:
        from dabchick.storage.join import USUAL_GAP_M, join, write_joined
        from dabchick.studies.prints import run

        joined = join(
            files,
            mend=repair,
            stack=stack,
            gap_m=USUAL_GAP_M if gap_m is None else gap_m,
            judge_size=length is None,
            tell=tell,
        )
        tell("Measuring the walls", 0.6)
        pile = joined.pile
        if not unit:
            said = "no unit was given: the files are read in millimetres"
            pile = replace(pile, assumptions=(said, *pile.assumptions))
        result = run(pile, ask)
        if mesh is not None and result.map is not None:
            write_joined(result.map.vertices_m, result.map.faces, mesh)
    if json:
        face.give_json(_as_json(result, joined.repairs))
    else:
        units: UnitSet = "inch" if inch else "metric"
        _say(face, result, joined.repairs, units)
        if mesh is not None:
            face.say(
                f"Wrote {mesh}, in millimetres. Bring it in as a hull with its unit, and look at it first."
            )
    if any(entry.key != "caution" for entry in result.warnings):
        finish(ExitCode.FINDINGS)


def _as_json(result: "PrintsResult", repairs: "tuple[RepairReport, ...]") -> dict[str, object]:
    """The study's result without the map of every triangle, and the reports of what was mended."""
    from dabchick.studies.result import as_json

    return {**as_json(replace(result, map=None)), "repairs": as_json(repairs)}


def _files(
    reader: "TextReader", paths: list[Path], units: list[str], shifts: list[str], turns: list[str]
) -> "list[PieceFile]":
    """The pieces with what belongs to each. Raises BoatError for a name that no piece, or more than one, has."""
    from dabchick.storage.piece_file import PieceFile

    wrong: list[Advice] = []
    unit_of, shift_of, turn_of = ["mm"] * len(paths), {}, {}
    for text in units:
        name, equals, amount = text.rpartition("=")
        if not equals:
            unit_of = [text.strip()] * len(paths)
    for option, texts in (("unit", units), ("shift", shifts), ("turn", turns)):
        for text in texts:
            name, equals, amount = text.partition("=")
            if not equals:
                if option != "unit":
                    wrong.append(_no_piece(option, text, paths, "It does not say which piece it is for."))
                continue
            which = _which(name.strip(), paths)
            if len(which) != 1:
                what = "No piece has this name or number." if not which else "Several pieces have this name."
                wrong.append(_no_piece(option, text, paths, what))
                continue
            if option == "unit":
                unit_of[which[0]] = amount.strip()
            elif option == "shift":
                shift_of[which[0]] = reader.point("shift", amount)
            else:
                turn_of[which[0]] = reader.turn("turn", amount)
    if wrong:
        raise BoatError(*wrong, *reader.wrong)
    zero: Vector = (0.0, 0.0, 0.0)
    return [
        PieceFile(path, unit_of[k], shift_of.get(k) or zero, turn_of.get(k) or zero)
        for k, path in enumerate(paths)
    ]


def _which(name: str, paths: list[Path]) -> list[int]:
    found = [k for k, path in enumerate(paths) if name in (path.name, path.stem, str(path))]
    if not found and name.isdigit() and 1 <= int(name) <= len(paths):
        return [int(name) - 1]
    return found


def _no_piece(option: str, text: str, paths: list[Path], what: str) -> Advice:
    return Advice(
        what=what,
        todo="Write NAME=VALUE with the piece's file or its number from 1.",
        where=f"command line --{option}",
        given=text,
        allowed=", ".join(f"{k} or {path.name}" for k, path in enumerate(paths, 1)),
    )


def _say(face: Face, result: "PrintsResult", repairs: "tuple[RepairReport, ...]", units: "UnitSet") -> None:
    from dabchick.report.builder_units import with_unit
    from dabchick.report.prints_words import fine_length, place, summary

    for report in repairs:
        face.say(f"{report.source} was mended:")
        for change in report.changes:
            face.say(f"- {change}")
        face.say()
    face.say(summary(result, units))
    face.say(f"Why: {'; '.join(result.finding.reasons)}.")
    face.show(_pieces(result, units))
    for joint in result.joints:
        if joint.overlap_m3 > 0.0:
            how = f"share {with_unit(joint.overlap_m3, 'volume', units)}"
        else:
            how = f"meet on {with_unit(joint.contact_m2, 'area', units)}"
        face.say(f"{joint.first} and {joint.second} {how}.")
    face.show(_figures(result, units))
    face.show(_bands(result, units))
    if result.wall.thinnest:
        face.say()
        face.say("Thinnest places, in the axes of the files:")
        for number, thin in enumerate(result.wall.thinnest, 1):
            face.say(f"{number}. {fine_length(thin.thickness_m, units)} at {place(thin.at_m, units)}")
    face.say()
    face.assumptions(result.assumptions)
    face.warnings(result.warnings)


def _pieces(result: "PrintsResult", units: "UnitSet") -> "Table":
    from dabchick.report.builder_units import with_unit

    shown = _table("piece", "length along x", "volume", "triangles", "")
    for piece in result.pieces:
        shown.add_row(
            piece.name,
            with_unit(piece.high_m[0] - piece.low_m[0], "length", units),
            with_unit(piece.volume_m3, "volume", units),
            str(piece.triangles),
            "mended" if piece.mended else "",
        )
    return shown


def _figures(result: "PrintsResult", units: "UnitSet") -> "Table":
    from dabchick.report.prints_words import rows

    shown = _table("", "figure", "give or take", "")
    for row in rows(result, units):
        shown.add_row(row.label, row.text, row.spread, row.note)
    return shown


def _bands(result: "PrintsResult", units: "UnitSet") -> "Table":
    from dabchick.report.prints_words import band_words, percent

    shown = _table("thickness", "share", "")
    for band in result.wall.bands:
        shown.add_row(band_words(band, units), percent(band.share), "#" * round(40 * band.share))
    return shown


def _table(*heads: str) -> "Table":
    from rich.table import Table

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for number, head in enumerate(heads):
        shown.add_column(head, justify="right" if 0 < number < len(heads) - 1 else "left")
    return shown
