"""Dotted keys and paths."""

import pytest

from dabchick.model.keys import Path, dotted, path_of, present, value_at


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("part", 2, "mass", "value"), "part[3].mass.value"),
        (("hull",), "hull"),
        (("part", 0, "at", 1), "part[1].at[2]"),
        (("a.b", "c"), '"a.b".c'),
        ((), ""),
    ],
)
def test_there_and_back(path: Path, text: str) -> None:
    assert dotted(path) == text
    assert path_of(text) == path


def test_present_stops_where_the_content_does() -> None:
    content = {"part": [{"mass": "3 g"}]}
    assert present(("part", 0, "mass", "value"), content) == ("part", 0, "mass")
    assert present(("part", 1, "mass"), content) == ("part",)
    assert present(("part", "mass"), content) == ("part",)
    assert value_at(("part", 0, "mass"), content) == "3 g"
