"""From the plain content of a boat file to typed tables: what is right is kept, what is wrong is told."""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from dabchick.model.advice import Advice
from dabchick.model.boat import (
    Boat,
    Hull,
    KeepOutTable,
    MeasuredFrom,
    Part,
    PlaceTable,
    SpaceTable,
    TankTable,
    Trim,
    Water,
)
from dabchick.model.keys import Path, dotted, present, value_at

Content = Mapping[str, Any]

_SINGLE: Final[dict[str, type[BaseModel]]] = {
    "measured_from": MeasuredFrom,
    "water": Water,
    "hull": Hull,
    "trim": Trim,
}
_REPEATED: Final[dict[str, type[BaseModel]]] = {
    "part": Part,
    "tank": TankTable,
    "place": PlaceTable,
    "keep_out": KeepOutTable,
    "space": SpaceTable,
}


@dataclass(frozen=True)
class Draft:
    """The tables of a boat file that are right by themselves, whatever the others are like.

    A table with a mistake in a key that may be left out is kept without it; the key then stands in `dropped`.
    """

    content: Content
    boat: Boat | None
    """The whole boat; None when some table is wrong."""
    measured_from: MeasuredFrom | None = None
    water: Water | None = None
    hull: Hull | None = None
    trim: Trim | None = None
    parts: dict[int, Part] = field(default_factory=dict)
    """By position in the file, from 0."""
    tanks: dict[int, TankTable] = field(default_factory=dict)
    places: dict[int, PlaceTable] = field(default_factory=dict)
    keep_outs: dict[int, KeepOutTable] = field(default_factory=dict)
    spaces: dict[int, SpaceTable] = field(default_factory=dict)
    dropped: tuple[str, ...] = ()
    """Dotted keys that were left out; nothing more is to be said about them."""

    def is_dropped(self, key: str) -> bool:
        """Whether a key, or a table round it, was left out."""
        return any(key == gone or key.startswith((f"{gone}.", f"{gone}[")) for gone in self.dropped)


def read(content: Content) -> tuple[Draft, list[Advice]]:
    """Every table that can be used, and advice on every mistake, with its key but without file and line."""
    try:
        boat = Boat.model_validate(content)
    except ValidationError as fault:
        advice = [_advice(error, content) for error in fault.errors(include_url=False)]
        return _partial(content), _once(advice)
    draft = Draft(
        content=content,
        boat=boat,
        measured_from=boat.measured_from,
        water=boat.water,
        hull=boat.hull,
        trim=boat.trim,
        parts=dict(enumerate(boat.parts)),
        tanks=dict(enumerate(boat.tanks)),
        places=dict(enumerate(boat.places)),
        keep_outs=dict(enumerate(boat.keep_outs)),
        spaces=dict(enumerate(boat.spaces)),
    )
    return draft, []


def _partial(content: Content) -> Draft:
    found: dict[str, Any] = {}
    dropped: list[str] = []
    for key, model in _SINGLE.items():
        found[key] = _valid(model, content[key], (key,), dropped) if key in content else None
    for key, model in _REPEATED.items():
        rows = content.get(key, [])
        tables = {
            row: _valid(model, table, (key, row), dropped)
            for row, table in enumerate(rows if isinstance(rows, list) else [])
        }
        found[f"{key}s"] = {row: table for row, table in tables.items() if table is not None}
    return Draft(content=content, boat=None, dropped=tuple(dropped), **found)


def _valid(model: type[BaseModel], table: Any, path: Path, dropped: list[str]) -> BaseModel | None:
    """The table, if need be without its keys that are wrong; None when it cannot do without them."""
    try:
        return model.model_validate(table)
    except ValidationError as fault:
        wrong = {error["loc"][0] for error in fault.errors(include_url=False) if error["loc"]}
    if not isinstance(table, dict):
        return None
    try:
        rest = model.model_validate({key: value for key, value in table.items() if key not in wrong})
    except ValidationError:
        return None
    dropped += [dotted((*path, key)) for key in wrong]
    return rest


def advice_of(
    fault: ValidationError, content: Content, model: type[BaseModel], examples: Mapping[str, str]
) -> list[Advice]:
    """Advice, each once, on another kind of file, read as `model`; `examples` say how a missing key is written."""
    return _once([_advice(error, content, model, examples) for error in fault.errors(include_url=False)])


def _once(advice: list[Advice]) -> list[Advice]:
    return list(dict.fromkeys(advice))


def _advice(
    error: ErrorDetails,
    content: Content,
    model: type[BaseModel] = Boat,
    examples: Mapping[str, str] | None = None,
) -> Advice:
    path: Path = tuple(error["loc"])
    there = present(path, content)
    kind = error["type"]
    context = error.get("ctx", {})
    if kind == "boat":
        return Advice(
            what=context["what"],
            todo=context["todo"],
            allowed=context["allowed"],
            key=dotted(there),
            given=given(value_at(there, content)),
        )
    if kind == "extra_forbidden":
        return _unknown_key(path, content, model)
    if kind == "missing":
        return _missing_key(path, content, _EXAMPLES if examples is None else examples)
    what, todo, allowed = _plain_words(kind, context, error["msg"])
    return Advice(
        what=what, todo=todo, allowed=allowed, key=dotted(there), given=given(value_at(there, content))
    )


def given(value: Any) -> str:
    """A value as the builder may recognise it, cut short."""
    if isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, dict):
        text = f"a table with {', '.join(value)}" if value else "an empty table"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _unknown_key(path: Path, content: Content, model: type[BaseModel]) -> Advice:
    keys = _keys_of(path[:-1], model)
    word = str(path[-1])
    near = difflib.get_close_matches(word.lower(), keys, n=1, cutoff=0.6)
    if not near:
        taken_for = difflib.get_close_matches(word.lower(), _TAKEN_FOR, n=1, cutoff=0.8)
        near = [key for other in taken_for for key in _TAKEN_FOR[other] if key in keys][:1]
    return Advice(
        what=f'The key "{word}" is not known here.',
        todo=f'Did you mean "{near[0]}"?' if near else "Take it out, or put it into a comment or `note`.",
        key=dotted(path),
        given=given(value_at(path, content)) if present(path, content) == path else "",
        allowed=", ".join(keys),
    )


_TAKEN_FOR: Final = {
    "weight": ("mass",),
    "position": ("at",),
    "pos": ("at",),
    "location": ("at",),
    "type": ("kind", "system"),
    "rotation": ("turn",),
    "rotate": ("turn",),
    "parent": ("inside",),
    "draft": ("waterline",),
    "draught": ("waterline",),
    "thick": ("thickness",),
    "width": ("size",),
    "radius": ("diameter",),
    "salt": ("salinity",),
    "movable": ("rail",),
    "comment": ("note",),
}


def _missing_key(path: Path, content: Content, examples: Mapping[str, str]) -> Advice:
    name = str(path[-1])
    there = present(path, content)
    table = value_at(there, content)
    if isinstance(path[-1], int):
        return Advice(
            what=f"The list is too short: it has {len(table)} of its entries.",
            todo="Give them all, such as [x, y, z] for a place; 0 needs no unit.",
            key=dotted(there),
            given=given(table),
        )
    owner = ""
    if isinstance(table, dict) and isinstance(table.get("name"), str) and table["name"].strip():
        owner = f' of "{table["name"]}"'
    return Advice(
        what=f'The key "{name}"{owner} is missing.',
        todo=examples.get(name, f'Add "{name}" here.'),
        key=dotted((*there, name)),
    )


_EXAMPLES: Final = {
    "dabchick": "Write dabchick = 1 as the first line: it says which format the file has.",
    "name": 'Give it a name, such as name = "battery".',
    "measured_from": 'Say where you measure from: measured_from = { x = "bow", z = "keel" }.',
    "hull": 'Add a [hull] table with stations = "file.csv", mesh = "file.stl" and its unit, or trace = "file.toml".',
    "waterline": 'Give the height of the waterline over the keel, such as waterline = "71 mm".',
    "at": 'Give the place of its middle, such as at = ["260 mm", 0, "52 mm"].',
    "kind": 'Write kind = "dry", "solid", "inside", "lead" or "foam".',
    "system": 'Write how water gets in and out, such as system = "piston".',
    "shape": 'Give the room for water, such as shape = { box = { size = ["90 mm", "40 mm", "40 mm"] } }.',
    "unit": 'Say which unit the mesh is drawn in, such as unit = "mm".',
    "value": 'Give the value, such as { value = "310 g", known = "weighed" }.',
}


def _keys_of(path: Path, model: Any) -> list[str]:
    """The keys that are allowed in the table at a path of a file that is read as `model`."""
    for step in path:
        if isinstance(step, int):
            continue
        chosen = next(
            (entry.annotation for name, entry in model.model_fields.items() if (entry.alias or name) == step),
            None,
        )
        model = _table_in(chosen)
        if model is None:
            return []
    return [entry.alias or name for name, entry in model.model_fields.items()]


def _table_in(annotation: Any) -> Any:
    """The table's type inside `X | None`, `tuple[X, ...]` and the like."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = _table_in(inner)
        if found is not None:
            return found
    return None


def _plain_words(kind: str, context: Mapping[str, Any], message: str) -> tuple[str, str, str]:
    """What, what to do, what is allowed, for the mistakes that pydantic finds by itself."""
    if kind == "literal_error":
        allowed = str(context.get("expected", ""))
        return (
            "This is not one of the words allowed here.",
            "Take one of the words allowed.",
            allowed.replace("'", '"'),
        )
    if kind in {"too_short", "too_long"}:
        size = context.get("min_length", context.get("max_length"))
        return "The list has the wrong number of entries.", f"Give {size} of them.", f"{size} entries"
    if kind in {"tuple_type", "list_type"}:
        return "A list is wanted here.", "Write it in square brackets, with commas between.", "a list"
    if kind in {"model_type", "model_attributes_type", "dict_type"}:
        return "A table is wanted here.", "Write it like { key = value }.", "a table"
    if kind in {"string_type", "bool_type", "float_type", "int_type"}:
        wanted = {"string_type": "text", "bool_type": "true or false"}.get(kind, "number")
        return (
            f"A {wanted} is wanted here." if wanted != "true or false" else "true or false is wanted here.",
            ('Put it in quotes, such as "text".' if wanted == "text" else "Write it without quotes."),
            wanted,
        )
    if kind in {"bool_parsing", "float_parsing", "int_parsing", "finite_number"}:
        return "This cannot be read as what is wanted here.", "Write a plain number, or true or false.", ""
    return f"{message}.", "Correct the value.", ""
