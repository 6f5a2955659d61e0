"""`dabchick stability`: all the way down and up again, and where she is least stable."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from dabchick.cli.face import ExitCode, Face, finish
from dabchick.cli.options import HERE, BoatPath, Json, Salinity, Temperature, si_values

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.stability_result import StabilityResult, Stage

NAME = "stability"
EXAMPLE = "dabchick stability wren --out out"

Paper = Literal["a4", "letter"]


def command(
    boat: BoatPath = HERE,
    stages: Annotated[
        int,
        typer.Option(metavar="N", min=2, max=501, help="Moments looked at on each way, both ends counted."),
    ] = 21,
    order: Annotated[
        str | None,
        typer.Option(
            metavar="TANKS", help="One tank after the other, such as main,aft; the others at the end."
        ),
    ] = None,
    rate: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TANK=RATE", help="Each tank at its own rate, such as main=20ml/s. May be repeated."
        ),
    ] = None,
    through: Annotated[
        str | None,
        typer.Option(
            metavar="FILLS",
            help="Straight from fill to fill: a share for all tanks or by name, such as 0,main=0.5:aft=0,1.",
        ),
    ] = None,
    fills: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="The same from a CSV file: tanks' names on top, a row for each moment."
        ),
    ] = None,
    temperature: Temperature = None,
    salinity: Salinity = None,
    every: Annotated[
        bool, typer.Option("--all", help="Also follow every curve of rests that she could lie in.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="Write the stability sheet (PDF), its drawings (SVG, PNG) and tables (CSV) there.",
        ),
    ] = None,
    paper: Annotated[Paper, typer.Option(metavar="PAPER", help="a4 or letter.")] = "a4",
    json: Json = False,
) -> None:
    """From empty tanks to full ones and back: where she is least stable, what happens, and what holds her."""
    face = Face(json)
    temperature_c, salinity_g_kg = si_values(
        ("--temperature", temperature, "temperature"), ("--salinity", salinity, "salinity")
    )
    with face.busy("Following her down and up") as tell:
        from dabchick.cli.dive_way import path_from
        from dabchick.report.stability_words import has_findings, sentence
        from dabchick.storage.folder import open_boat
        from dabchick.studies.other_water import in_water
        from dabchick.studies.result import as_json
        from dabchick.studies.stability import run

        vessel = in_water(open_boat(boat).vessel, temperature_c, salinity_g_kg)
        path = path_from(vessel, order, rate or [], through, fills)
        more: dict[str, Any] = {"every": True} if every else {}
        result = run(vessel, path, stages=stages, tell=tell, **more)
        written: list[Path] = []
        if out is not None:
            from dabchick.report.stability_sheet import write_stability

            written = write_stability(vessel, result, out, paper)
    if json:
        # Where files were asked for, the answer says where they lie.
        face.give_json(as_json(result) | ({"written": [str(file) for file in written]} if out else {}))
    else:
        from dabchick.report.criteria_words import verdict_sentence
        from dabchick.studies.criteria import judge

        face.say(sentence(vessel, result))
        face.say()
        face.say(f"By the usual limits for her size: {verdict_sentence(vessel, judge(vessel, result))}")
        face.say("Your own limits, and what would cure her: `dabchick cure`.")
        _say_events(face, vessel, result)
        _say_stages(face, vessel, result)
        if every:
            _say_branches(face, result)
        if written:
            face.say()
        for file in written:
            face.say(f"Wrote {file}.")
        face.close(result, vessel)
    if has_findings(result):
        finish(ExitCode.FINDINGS)


def _say_events(face: Face, vessel: "Vessel", result: "StabilityResult") -> None:
    from dabchick.report.stability_words import event_words, told_events

    events = told_events(result)
    if not events:
        return
    face.say()
    face.say("On the way:")
    for index, event in enumerate(events, start=1):
        face.say(f"{index}. {event_words(vessel, event)}")


def _say_stages(face: Face, vessel: "Vessel", result: "StabilityResult") -> None:
    from dabchick.report.stability_words import heads_note, up_that_differs

    face.say()
    face.say("Going down:")
    _show(face, vessel, result.down)
    face.say()
    differs = up_that_differs(result)
    if not differs:
        face.say("Coming up she passes the same stages.")
    else:
        face.say("Coming up she passes the same stages, but for these:")
        _show(face, vessel, differs)
    face.say()
    face.say(heads_note(vessel))


def _show(face: Face, vessel: "Vessel", stages: "Sequence[Stage]") -> None:
    """The stages in one table where the window is wide enough, else in two or more, each with the fills."""
    from dabchick.report.stability_words import LYING, stage_heads, stage_rows

    heads, rows = stage_heads(vessel, stages), stage_rows(vessel, stages)
    titles = [(title.rpartition(" ")[0], title.rpartition(" ")[2], unit) for title, unit in heads]
    wide = [max(map(len, (*title, *(row[at] for row in rows)))) for at, title in enumerate(titles)]
    for columns in _parts(wide, face.out.width, LYING):
        face.show(_table([titles[at] for at in columns], [[row[at] for at in columns] for row in rows]))


def _parts(wide: "Sequence[int]", room: int, lying: int) -> list[list[int]]:
    """Columns of each table: all in one, or those that say how she lies apart from those that say what holds her."""
    if sum(wide) + len(wide) <= room:
        return [list(range(len(wide)))]
    parts = [[0]]
    for column in range(1, len(wide)):
        needed = sum(wide[at] + 1 for at in parts[-1]) + wide[column]
        if column == lying or (needed > room and len(parts[-1]) > 1):
            parts.append([0])
        parts[-1].append(column)
    return parts


def _table(titles: "Sequence[tuple[str, str, str]]", rows: "Sequence[Sequence[str]]") -> "Table":
    from rich.table import Table

    shown = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), collapse_padding=True)
    # A title of two words is broken, so that the column stays as narrow as its figures.
    two = any(upper for upper, _, _ in titles)
    for title in titles:
        shown.add_column("\n".join(title if two else title[1:]), justify="right", no_wrap=True)
    for row in rows:
        shown.add_row(*row)
    return shown


def _say_branches(face: Face, result: "StabilityResult") -> None:
    from dabchick.report.stability_words import branch_words

    proof = (
        "the count of all agrees with theory at every stage, so none is missing"
        if result.complete
        else "there may be more that the search did not meet"
    )
    face.say()
    count = len(result.branches)
    face.say(f"{count} curve{'' if count == 1 else 's'} of rests; {proof}.")
    for index, branch in enumerate(result.branches, start=1):
        face.say(f"{index}. {branch_words(branch)}")
