"""The options and arguments that several commands share, so that they read the same everywhere."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from dabchick.model.units import Dimension

BoatPath = Annotated[
    Path,
    typer.Argument(
        metavar="BOAT", help="The boat's folder, or its boat.toml. Without one: the folder you are in."
    ),
]
Json = Annotated[
    bool, typer.Option("--json", help="Print the result as JSON in SI units, the unit in each key.")
]
Temperature = Annotated[
    str | None,
    typer.Option(metavar="TEXT", help='Water temperature instead of the boat file\'s, such as "8 degC".'),
]
Salinity = Annotated[
    str | None,
    typer.Option(metavar="TEXT", help='Salt instead of the boat file\'s, such as "35 g/kg".'),
]

HERE = Path()
"""Where a boat is looked for when none is named."""


def si_values(*asked: "tuple[str, str | None, Dimension]") -> list[float | None]:
    """Option values in SI (temperature in degC, salinity in g/kg); None stays None.

    Each of `asked` is option, text and dimension. Raises one BoatError with all that cannot be read.
    """
    from dabchick.model.advice import Advice, BoatError
    from dabchick.model.units import UnitError, parse

    values: list[float | None] = []
    faults = []
    for option, text, dimension in asked:
        try:
            values.append(None if text is None else parse(text, dimension))
        except UnitError as mistake:
            faults.append(
                Advice(
                    what=mistake.what,
                    todo=mistake.todo,
                    where=f"command line {option}",
                    given=text or "",
                    allowed=mistake.allowed,
                )
            )
    if faults:
        raise BoatError(*faults)
    return values
