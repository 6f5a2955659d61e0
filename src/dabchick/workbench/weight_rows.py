"""The weight list for the page: rows as they stand in the file, faulty or not, and what counts in empty cells."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final, NamedTuple, get_args

from dabchick.model.advice import Advice, BoatError
from dabchick.model.boat import PartKind
from dabchick.model.keys import Path, dotted, path_of
from dabchick.model.materials import materials
from dabchick.model.units import UnitError, parse
from dabchick.model.vessel import Item, Known, TankSystem, Vessel
from dabchick.physics.equilibrium import NotSettledError
from dabchick.report.builder_units import with_unit
from dabchick.report.weight_words import matters, share, summary
from dabchick.storage.part_columns import (
    BY_NAME,
    COLUMNS,
    ColumnName,
    PartColumn,
    TableName,
    as_text,
    written,
)
from dabchick.storage.parts_csv import usual_unit
from dabchick.storage.toml_content import content_of
from dabchick.studies import glance as glances
from dabchick.studies import weights
from dabchick.studies.result import Figure
from dabchick.studies.weights import LedgerRow, WeightsResult
from dabchick.workbench.bench import Snapshot
from dabchick.workbench.row_ops import Content, Row, list_rows, plain, units_of
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.figures import GlanceOut, Shown
from dabchick.workbench.shapes.weights import Cell, WeightRow, WeightsOut
from dabchick.workbench.words import UNKNOWN, glance_out, measured

_NONE: Final = Shown(text=UNKNOWN, spread="", value=None)
_BESIDE: Final[Mapping[str, ColumnName]] = {"shape": "volume", "density": "material", "walls": "mass"}
"""Keys without a column of their own, with the one that a builder would look at."""


@dataclass(frozen=True, eq=False)
class _Figures:
    """What the last right boat gives."""

    vessel: Vessel
    result: WeightsResult
    ledger: Mapping[str, LedgerRow]
    items: Mapping[str, Item]
    surfaced: GlanceOut | None
    dived: GlanceOut | None


def weights_out(now: Snapshot) -> WeightsOut:
    """The whole list of one revision."""
    content = shown_content(now)
    figures, trouble = (None, None) if now.right is None else _figures(now.right.vessel)
    rows = list_rows(content)
    at_cells, of_list = _sorted_advice(now.advice, rows)
    vessel = now.right.vessel if now.right is not None else None
    zeros = _zeros(content)
    units = units_of(content)
    own = () if figures is None else figures.result.warnings
    told = vessel.advice if vessel is not None else ()
    of_list = [*of_list, *(entry for entry in own if entry not in told), *([trouble] if trouble else [])]
    return WeightsOut(
        revision=now.revision,
        figures_revision=now.right_revision,
        rows=[_row(row, figures, vessel, at_cells.get((row.table, row.row), {})) for row in rows],
        count=len(rows),
        sentence=summary(figures.vessel, figures.result) if figures is not None else "",
        total=None if figures is None else measured(figures.result.mass_kg, "mass", figures.vessel.units),
        centre=[] if figures is None else _centre(figures),
        axes=[f"from the {zeros[0]}", "to port", f"over the {zeros[1]}"],
        length_unit=usual_unit(BY_NAME["x"], units),
        mass_unit=usual_unit(BY_NAME["mass"], units),
        surfaced=None if figures is None else figures.surfaced,
        dived=None if figures is None else figures.dived,
        kinds=list(get_args(PartKind)),
        systems=list(get_args(TankSystem)),
        knowns=[known for known in get_args(Known) if known != "computed"],
        holders=[row.name for row in rows if row.table == "part" and row.values.get("kind") == "dry"],
        materials=[entry.name for entry in materials()],
        advice=[AdviceOut.of(entry) for entry in of_list],
    )


def shown_content(now: Snapshot) -> Content:
    """The file's tables as they are now; those of the last right boat while the file is no TOML."""
    if now.content or now.right is None:
        return now.content
    return content_of(now.right.text)


def _zeros(content: Content) -> tuple[str, str]:
    table = content.get("measured_from")
    names = table if isinstance(table, dict) else {}
    return as_text(names.get("x")) or "zero", as_text(names.get("z")) or "zero"


@lru_cache(maxsize=4)
def _figures(vessel: Vessel) -> tuple[_Figures | None, Advice | None]:
    """Sums and glances; kept, because the list is asked for again and again between two changes."""
    try:
        result = weights.run(vessel)
        afloat = glances.glance(vessel, glances.surfaced(vessel), "surfaced")
        under = glances.glance(vessel, glances.dived(vessel), "dived")
    except NotSettledError as fault:
        return None, Advice(
            what="She comes to no rest as she is, so there are no sums to show.",
            todo="See whether a mass or a place is far off.",
            given=str(fault),
        )
    except BoatError as fault:
        return None, fault.advice[0]
    return (
        _Figures(
            vessel,
            result,
            {row.name: row for row in result.rows},
            {item.name: item for item in vessel.items},
            glance_out(vessel, afloat),
            glance_out(vessel, under),
        ),
        None,
    )


def _centre(figures: _Figures) -> list[Shown]:
    result, vessel = figures.result, figures.vessel
    along = (result.centre_x_m, result.centre_y_m, result.centre_z_m)
    x, y, z = vessel.datum.to_builder((along[0].value, along[1].value, along[2].value))
    return [
        measured(Figure(value, figure.spread), "length", vessel.units)
        for value, figure in zip((x, y, z), along, strict=True)
    ]


class _Outcome(NamedTuple):
    """What a row adds to the sums."""

    mass: Shown
    share: str
    matters: str


def _row(
    row: Row, figures: _Figures | None, vessel: Vessel | None, advice: Mapping[ColumnName, list[Advice]]
) -> WeightRow:
    name = f"{row.name} walls" if row.table == "tank" else row.name
    item = figures.items.get(name) if figures is not None else None
    entry = figures.ledger.get(name) if figures is not None else None
    marks = tuple((column, tuple(entries)) for column, entries in advice.items())
    shown = _Outcome(_NONE, "", "")
    if figures is not None and entry is not None:
        shown = _Outcome(
            measured(entry.mass_kg, "mass", figures.vessel.units),
            share(entry.share_of_mass),
            matters(figures.vessel, entry),
        )
    return WeightRow(
        table=row.table,
        row=row.row,
        key=dotted(row.path),
        from_trim=row.values.get("from") == "trim",
        cells=_cells(row, _facts(item, vessel), marks),
        mass=shown.mass,
        share=shown.share,
        matters=shown.matters,
    )


class _Facts(NamedTuple):
    """What the last right boat says of a row; `has_item` is false for one that is left out of every sum."""

    has_item: bool
    mass: str = ""
    spread: str = ""
    known: str = ""
    centre: tuple[str, str, str] = ("", "", "")
    volume: str = ""
    """Empty where it displaces nothing."""
    inside: str = ""
    lead: str = ""
    """Density of the lead at hand."""
    foam: str = ""


def _facts(item: Item | None, vessel: Vessel | None) -> _Facts | None:
    """None while there never was a right boat."""
    if vessel is None:
        return None
    if item is None:
        return _Facts(has_item=False)
    units = vessel.units
    x, y, z = (with_unit(value, "length", units) for value in vessel.datum.to_builder(item.centre_m))
    return _Facts(
        has_item=True,
        mass=with_unit(item.mass_kg, "mass", units),
        spread=with_unit(item.mass_spread_kg, "mass", units),
        known=item.known,
        centre=(x, y, z),
        volume=with_unit(item.volume_m3, "volume", units) if item.volume_m3 else "",
        inside=item.inside,
        lead=with_unit(vessel.wishes.lead_density_kg_m3, "density", units),
        foam=with_unit(vessel.wishes.foam_density_kg_m3, "density", units),
    )


@lru_cache(maxsize=1500)
def _cells(
    row: Row, facts: _Facts | None, marks: tuple[tuple[ColumnName, tuple[Advice, ...]], ...]
) -> dict[ColumnName, Cell]:
    """The cells of a row; kept, for most rows are the same from one change to the next."""
    advice = dict(marks)
    cells: dict[ColumnName, Cell] = {}
    for column in COLUMNS:
        found = written(row.values, row.table, column)
        told = [AdviceOut.of(entry) for entry in advice.get(column.name, ())]
        if found is None:
            text = _assumed(column.name, row, facts)
            if text or told:
                cells[column.name] = Cell(text="", path=[], value=None, assumed=text, advice=told)
            continue
        value = plain(found.value)
        cells[column.name] = Cell(
            text=as_text(value),
            path=[*row.path, *found.path],
            value=value,
            assumed=_assumed(column.name, row, facts) if value is None else "",
            order=_order(value, column),
            advice=told,
        )
    return cells


def _order(value: object, column: PartColumn) -> float | None:
    """The cell's value in SI, by which the page can sort cells in whatever units they are."""
    if column.dimension is None or value is None:
        return None
    try:
        return parse(value, column.dimension)
    except UnitError:
        return None


def _assumed(column: ColumnName, row: Row, facts: _Facts | None) -> str:
    """What counts where nothing is written, in the builder's words; empty where there is nothing to say."""
    if column == "outside":
        return "no" if row.table == "part" else ""
    if column == "name":
        return "skin" if row.table == "skin" else ""
    if facts is None:
        return ""
    if not facts.has_item:
        return "not known: left out of every sum" if column == "mass" else ""
    if column == "mass":
        how = "from volume and material" if facts.known == "computed" else "as in the last right file"
        return f"{facts.mass}, {how}"
    if column == "known":
        return facts.known
    if column == "spread":
        return f"{facts.spread}, {facts.known}"
    if column in ("x", "y", "z"):
        return facts.centre["xyz".index(column)]
    if column == "volume":
        return _volume(row, facts)
    return _material(row, facts) if column == "material" else ""


def _volume(row: Row, facts: _Facts) -> str:
    if not facts.volume:
        return f"inside {facts.inside}: displaces nothing" if facts.inside else "displaces nothing"
    if row.table == "skin":
        how = "area and thickness"
    elif row.table == "tank":
        how = "its walls"
    else:
        how = "its shape" if row.values.get("shape") is not None else "mass and density"
    return f"{facts.volume}, from {how}"


def _material(row: Row, facts: _Facts) -> str:
    density = row.values.get("density")
    if density is not None:
        return as_text(density)
    kind = row.values.get("kind")
    if row.table != "part" or kind not in ("lead", "foam"):
        return ""
    return f"{kind} of {facts.lead if kind == 'lead' else facts.foam}"


def _sorted_advice(
    advice: Sequence[Advice], rows: Sequence[Row]
) -> tuple[dict[tuple[TableName, int], dict[ColumnName, list[Advice]]], list[Advice]]:
    """Advice by row and column, and what is said of the whole list."""
    at_cells: dict[tuple[TableName, int], dict[ColumnName, list[Advice]]] = {}
    of_list: list[Advice] = []
    by_path = {row.path: row for row in rows}
    for entry in advice:
        path = path_of(entry.key)
        row = by_path.get(path[:2])
        if row is None:
            # No row to show it at: of the whole list, or of a row that is no table.
            if not path or path[0] in ("part", "tank"):
                of_list.append(entry)
            continue
        for column in _columns_at(path[2:], row.table):
            at_cells.setdefault((row.table, row.row), {}).setdefault(column, []).append(entry)
    return at_cells, of_list


def _columns_at(path: Path, table: TableName) -> list[ColumnName]:
    """The columns at which advice on a key of a row is shown."""
    if not path:
        return ["mass"]
    if path == ("at",):
        return ["x", "y", "z"]
    for column in COLUMNS:
        base = column.places.get(table)
        if base is None or path[: len(base)] != base:
            continue
        rest: tuple[Any, ...] = path[len(base) :]
        field = rest[0] if rest and rest[0] in ("known", "spread") else "value"
        if not column.field or column.field == field:
            return [column.name]
    if table == "tank" and path[0] == "shape":
        return ["name"]
    return [_BESIDE.get(str(path[0]), "name")]
