"""`dabchick scale`: which scale? Size, mass, speed and the water wanted, scale by scale."""

from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import Face
from dabchick.cli.options import Json, si_values

if TYPE_CHECKING:
    from rich.table import Table

    from dabchick.model.units import UnitSet
    from dabchick.studies.scale import ScaleResult

NAME = "scale"
EXAMPLE = (
    'dabchick scale --length "62 m" --beam "6.2 m" --draught "4.3 m" --displacement "620 t" --speed "16 kn"'
)


def command(
    length: Annotated[str, typer.Option(metavar="LENGTH", help='Of the full-size boat, such as "62 m".')],
    beam: Annotated[str, typer.Option(metavar="LENGTH", help='Such as "6.2 m".')],
    draught: Annotated[str, typer.Option(metavar="LENGTH", help='Surfaced, such as "4.3 m".')],
    displacement: Annotated[str, typer.Option(metavar="MASS", help='Surfaced, such as "620 t".')],
    dived: Annotated[
        str | None, typer.Option(metavar="MASS", help='Displacement when dived, such as "740 t".')
    ] = None,
    speed: Annotated[str | None, typer.Option(metavar="SPEED", help='Such as "16 kn".')] = None,
    height: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="Of the hull from keel to deck. Without it: from the draught."),
    ] = None,
    scales: Annotated[
        str, typer.Option(metavar="NUMBERS", help="The second numbers of 1:60, with commas.")
    ] = "24,32,48,60,72,96",
    inch: Annotated[bool, typer.Option("--inch", help="Print in inches, feet and pounds.")] = False,
    json: Json = False,
) -> None:
    """Which scale? Model size, mass, speed, what one lifts, and the depth and room she wants, scale by scale."""
    from dabchick.studies.result import as_json
    from dabchick.studies.scale import FullSize, run

    face = Face(json)
    values = si_values(
        ("--length", length, "length"),
        ("--beam", beam, "length"),
        ("--draught", draught, "length"),
        ("--displacement", displacement, "mass"),
        ("--dived", dived, "mass"),
        ("--speed", speed, "speed"),
        ("--height", height, "length"),
    )
    long, wide, deep, mass = (0.0 if value is None else value for value in values[:4])
    full = FullSize(long, wide, deep, mass, dived_kg=values[4], speed_m_s=values[5], height_m=values[6])
    units: UnitSet = "inch" if inch else "metric"
    result = run(full, _scales(scales), units=units)
    if json:
        face.give_json(as_json(result))
        return
    face.say(f"A boat of {length} at {len(result.rows)} scales. What is a range is a rule of thumb.")
    for table in _tables(result, units):
        face.show(table)
    face.say()
    face.assumptions(result.assumptions)
    face.warnings(result.warnings)


def _scales(text: str) -> tuple[float, ...]:
    from dabchick.model.advice import Advice, BoatError

    try:
        return tuple(float(part.strip().removeprefix("1:")) for part in text.split(",") if part.strip())
    except ValueError as fault:
        raise BoatError(
            Advice(
                what="A scale is not a number.",
                todo="Write them like 48,60,72.",
                where="command line --scales",
                given=text,
            )
        ) from fault


def _tables(result: "ScaleResult", units: "UnitSet") -> "list[Table]":
    """Three tables under each other, since eighty columns do not hold one."""
    from rich.table import Table

    from dabchick.report.scale_words import HEADS, lines

    found = []
    for part in (
        ("length", "beam", "draught", "speed"),
        ("wet", "dived", "dry", "lift"),
        ("depth", "turning", "box"),
    ):
        shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        for head in (HEADS.scale, *(getattr(HEADS, name) for name in part)):
            shown.add_column(head, justify="right")
        for line in lines(result, units):
            shown.add_row(line.scale, *(getattr(line, name) for name in part))
        found.append(shown)
    return found
