"""`dabchick weights`: the weight list, its centre and spread, and which guesses matter."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import HERE, BoatPath, Json

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.vessel import Vessel
    from dabchick.studies.weights import LedgerRow, WeightsResult

NAME = "weights"
EXAMPLE = "dabchick weights wren"


def command(
    boat: BoatPath = HERE,
    matters: Annotated[
        bool, typer.Option("--matters", help="Also show what the doubt in each mass does to the boat.")
    ] = False,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv",
            metavar="OUT",
            help="Also write the parts into this CSV file, for a spreadsheet; the workbench takes it back.",
        ),
    ] = None,
    json: Json = False,
) -> None:
    """The weight list: every part with place and spread, the total, its centre, which guesses matter."""
    face = Face(json)
    with face.busy("Adding up the weight list"):
        from dabchick.report.weight_words import summary
        from dabchick.storage.folder import open_boat
        from dabchick.studies.result import as_json
        from dabchick.studies.weights import run

        opened = open_boat(boat)
        vessel = opened.vessel
        result = run(vessel)
        if csv is not None:
            from dabchick.storage.atomic import write_atomic
            from dabchick.storage.parts_csv import parts_csv
            from dabchick.storage.toml_content import content_of

            write_atomic(csv, parts_csv(content_of(opened.text)).encode())
    if json:
        face.give_json(as_json(result))
        return
    face.say(summary(vessel, result))
    if result.unweighed:
        face.say(f"Not weighed yet, and left out: {', '.join(result.unweighed)}.")
    face.show(_ledger(vessel, result))
    if matters:
        face.show(_doubts(vessel, result.rows))
    face.close(result, vessel)
    if csv is not None:
        face.say(f"Wrote {csv}.")


def _ledger(vessel: "Vessel", result: "WeightsResult") -> "Table":
    from rich.table import Table

    from dabchick.report.builder_units import length_unit, number, place_words
    from dabchick.report.figures import measured

    units, datum = vessel.units, vessel.datum
    unit = length_unit(units)[0]
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("part", overflow="fold")
    shown.add_column("mass", justify="right", no_wrap=True)
    shown.add_column("known", no_wrap=True)
    for head in (f"{datum.x_from}, {unit}", "across", f"{datum.z_from}, {unit}", "of doubt"):
        shown.add_column(head, justify="right", no_wrap=True)
    for row in result.rows:
        shown.add_row(
            row.name,
            measured(row.mass_kg, "mass", units),
            row.known,
            *place_words(row.centre_m, datum, units),
            f"{number(100.0 * row.share_of_doubt, 0)} %",
        )
    return shown


def _doubts(vessel: "Vessel", rows: "tuple[LedgerRow, ...]") -> "Table":
    from rich.table import Table

    from dabchick.report.builder_units import number, with_unit

    units = vessel.units
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("its doubt does to", overflow="fold")
    for head in ("draught", "trim, deg", "dived lift", "dived trim, deg"):
        shown.add_column(head, justify="right", no_wrap=True)
    for row in sorted(rows, key=lambda row: -row.share_of_doubt):
        shown.add_row(
            row.name,
            with_unit(row.matters_draught_m, "length", units, plus=True),
            number(row.matters_trim_surfaced_deg, 2, plus=True),
            f"± {with_unit(row.matters_lift_kg, 'mass', units)}",
            number(row.matters_trim_dived_deg, 2, plus=True),
        )
    return shown
