"""The way of filling as it is asked for on the command line: in order, at rates, or through fills of one's own."""

import csv
import math
from pathlib import Path

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import UnitError, allowed_units, parse
from dabchick.model.vessel import Vessel
from dabchick.studies.dive_path import DivePath, at_rates, in_order, through, together

Fills = float | dict[str, float]


def path_from(
    vessel: Vessel, order: str | None, rates: list[str], fills: str | None, table: Path | None
) -> DivePath:
    """The way asked for; all tanks together when nothing is. Raises BoatError, also where two ways are asked for."""
    asked = [
        name
        for name, given in (("--order", order), ("--rate", rates), ("--through", fills), ("--fills", table))
        if given
    ]
    if len(asked) > 1:
        raise BoatError(
            Advice(
                what=f"{' and '.join(asked)} each say how the tanks fill.",
                todo="Give one of them.",
                where="command line",
                given=", ".join(asked),
                allowed="one of --order, --rate, --through, --fills",
            )
        )
    if order:
        return in_order(vessel, [name.strip() for name in order.split(",") if name.strip()])
    if rates:
        return at_rates(vessel, rates_from(rates))
    if fills:
        return through(vessel, [fills_from(text) for text in fills.split(",")])
    if table:
        return through(vessel, rows_from(table))
    return together(vessel)


def rates_from(texts: list[str]) -> dict[str, float]:
    """Rates [m3/s] by tank from texts such as `main=20 ml/s`; BoatError names every text that is none."""
    rates, faults = {}, []
    for text in texts:
        name, equals, amount = text.rpartition("=")
        if not (equals and name.strip()):
            faults.append(_bad_rate(text, "Write the tank, the volume and the time."))
            continue
        try:
            rates[name.strip()] = parse(amount.strip(), "flow")
        except UnitError as mistake:
            faults.append(_bad_rate(text, f"{mistake.what} {mistake.todo}"))
    if faults:
        raise BoatError(*faults)
    return rates


def fills_from(text: str) -> Fills:
    """One moment of the way: `0.5` or `50%` for all tanks, or `main=0.5:aft=0`. Raises BoatError."""
    parts = [part.strip() for part in text.split(":")]
    try:
        if len(parts) == 1 and "=" not in parts[0]:
            return _share(parts[0])
        found = {}
        for part in parts:
            name, equals, amount = part.rpartition("=")
            if not equals or not name.strip():
                raise ValueError
            found[name.strip()] = _share(amount)
    except ValueError:
        raise BoatError(
            Advice(
                what=f"'{text.strip()}' is no set of fills.",
                todo="Write moments with commas between them: a share for all tanks, or NAME=SHARE with colons "
                "between, such as --through 0,main=0.5:aft=0,1.",
                where="command line --through",
                given=text.strip(),
                allowed="shares from 0 to 1, or 0% to 100%",
            )
        ) from None
    return found


def rows_from(table: Path) -> list[Fills]:
    """Moments from a CSV file: tanks' names in the first line, below them the shares. Raises BoatError."""
    try:
        lines = list(csv.reader(table.read_text("utf-8-sig").splitlines()))
    except (UnicodeDecodeError, csv.Error) as mistake:
        raise BoatError(
            _bad_table(table, f"{table.name} is not a table in UTF-8.", str(mistake))
        ) from mistake
    rows = [[cell.strip() for cell in line] for line in lines if any(cell.strip() for cell in line)]
    if len(rows) < 3:
        raise BoatError(
            _bad_table(
                table, f"{table.name} holds {max(0, len(rows) - 1)} moments; a way has two or more.", ""
            )
        )
    names = rows[0]
    if any(not name for name in names) or len(set(names)) < len(names):
        raise BoatError(_bad_table(table, "Each column needs the name of another tank.", ", ".join(names)))
    found: list[Fills] = []
    faults = []
    for count, row in enumerate(rows[1:], start=1):
        try:
            if len(row) != len(names):
                raise ValueError
            found.append({name: _share(cell) for name, cell in zip(names, row, strict=True)})
        except ValueError:
            faults.append(_bad_table(table, f"Moment {count} is no row of shares.", ", ".join(row)))
    if faults:
        raise BoatError(*faults)
    return found


def _share(text: str) -> float:
    share = float(text.strip().removesuffix("%")) / (100.0 if text.strip().endswith("%") else 1.0)
    if not math.isfinite(share):
        raise ValueError
    return share


def _bad_rate(text: str, todo: str) -> Advice:
    return Advice(
        what=f"'{text}' is no rate of filling.",
        todo=f"{todo} Such as --rate main=20ml/s.".strip(),
        where="command line --rate",
        given=text,
        allowed=f"NAME=RATE, the rate in one of {allowed_units('flow')}",
    )


def _bad_table(table: Path, what: str, given: str) -> Advice:
    return Advice(
        what=what,
        todo="Give the tanks' names in the first line and below them one moment to a line, such as main,aft and 0,0 "
        "and 0.5,0 and 1,1.",
        where=str(table),
        given=given,
        allowed="shares from 0 to 1, or 0% to 100%",
    )
