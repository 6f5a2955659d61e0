"""The published JSON Schema: sound, and of one mind with the reading on every value of a boat."""

import copy
import tomllib
from typing import Any

import jsonschema
import pytest

from dabchick.model.reading import read
from dabchick.model.schema import boat_schema
from tests.support.sample_boat import TEXT

SCHEMA = boat_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def test_schema_is_sound() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"].endswith("2020-12/schema")


def test_sample_boat_validates() -> None:
    assert list(VALIDATOR.iter_errors(tomllib.loads(TEXT))) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("dabchick",), 2),
        (("units",), "imperial"),
        (("part", 0, "mass"), 612),
        (("part", 0, "mass"), "-612 g"),
        (("part", 0, "kind"), "wet"),
        (("part", 0, "at"), ["1 mm", 0]),
        (("part", 0, "at"), ["1 mm", 0, 5]),
        (("part", 0, "weight"), "3 g"),
        (("part", 0, "shape"), {}),
        (("hull", "waterline"), 0),
        (("hull", "bow"), "x"),
        (("measured_from", "x"), "middle"),
        (("trim", "lead", "pieces"), [5]),
    ],
)
def test_schema_and_reading_refuse_the_same(path: tuple[Any, ...], value: Any) -> None:
    content = copy.deepcopy(tomllib.loads(TEXT))
    table: Any = content
    for step in path[:-1]:
        table = table[step]
    table[path[-1]] = value
    assert list(VALIDATOR.iter_errors(content))
    draft, advice = read(content)
    assert draft.boat is None
    assert advice
