"""The break line by the API: as the file says it, as typed, as dragged; saved by an edit, and refused with advice."""

from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import split
from tests.support.workbench import words


def asked(laptop: TestClient, **ask: Any) -> Any:
    return laptop.post("/api/boats/wren/split", json=ask)


def test_without_a_line_it_is_the_waterline_as_a_proposal(laptop: TestClient, shelf: Path) -> None:
    answer = asked(laptop).json()
    assert (answer["proposed"], answer["from_file"]) == (True, False)
    assert answer["points_m"] == [[0.0, 0.082], [0.9, 0.082]]
    assert answer["texts"] == [["0 mm", "82 mm"], ["900 mm", "82 mm"]]
    result = split.run(open_boat(shelf / "wren").vessel)
    assert answer["upper"]["mass"]["value"] == result.upper.mass_kg.value
    assert answer["lower"]["parts"] == list(result.lower.parts)
    assert [one["name"] for one in answer["crossings"]] == ["cylinder"]
    assert not answer["lift_fits"]


def test_typed_and_dragged_come_to_the_same(laptop: TestClient) -> None:
    """The demo boat is 900 mm long and measured from her bow: 400 mm from there is 500 mm from the stern."""
    typed = asked(
        laptop,
        points=[["0", "70 mm"], ["400 mm", "70 mm"], ["400 mm", "60 mm"], ["900 mm", "2.362204724 in"]],
    ).json()
    dragged = asked(laptop, points_m=[[0.0, 0.06], [0.5, 0.06], [0.5, 0.07], [0.9, 0.07]]).json()
    assert typed["texts"] == dragged["texts"]
    assert typed["texts"] == [
        ["0 mm", "70 mm"],
        ["400 mm", "70 mm"],
        ["400 mm", "60 mm"],
        ["900 mm", "60 mm"],
    ]
    assert typed["upper"]["mass"]["value"] == pytest.approx(dragged["upper"]["mass"]["value"], rel=1e-6)
    assert not typed["proposed"]


def test_the_texts_are_what_the_file_takes(laptop: TestClient, shelf: Path) -> None:
    before = (shelf / "wren" / "boat.toml").read_text("utf-8")
    tried = asked(laptop, points=[["0", "61.5 mm"]]).json()
    put = {"op": "put", "path": ["hull", "break_line"], "value": tried["texts"], "was": None}
    base = laptop.get("/api/boats/wren").json()["revision"]
    state = laptop.post(
        "/api/boats/wren/edits", json={"base": base, "what": "Break line", "ops": [put]}
    ).json()
    assert state["errors"] == []
    saved = asked(laptop).json()
    assert saved["from_file"]
    assert saved["texts"] == tried["texts"] == [["0 mm", "61.5 mm"], ["900 mm", "61.5 mm"]]
    laptop.post("/api/boats/wren/undo", json={"base": state["revision"]})
    assert (shelf / "wren" / "boat.toml").read_text("utf-8") == before


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        ({"points": [["0", "60"]]}, "no unit"),
        ({"points": [["0", "60 mm"], ["wide", "60 mm"]]}, "not a length"),
        ({"points": [["0", "160 mm"]]}, "above the hull"),
        ({"points": [["0", "60 mm"], ["500 mm", "60 mm"], ["400 mm", "60 mm"]]}, "runs back"),
        ({"points_m": [[0.0, 0.06], [1.9, 0.06]]}, "runs out of the hull"),
        ({"points": [["0", "60 mm"]], "points_m": [[0.0, 0.06], [0.9, 0.06]]}, "given twice"),
    ],
)
def test_a_line_that_cannot_be_is_refused_with_advice(laptop: TestClient, ask: Any, said: str) -> None:
    answer = asked(laptop, **ask)
    assert answer.status_code == 422
    assert said in words(answer)


def test_a_break_line_does_not_make_a_found_trim_old(laptop: TestClient, shelf: Path) -> None:
    from dabchick.workbench.routes_trim import grounds_of
    from dabchick.workbench.shelf import Shelf

    shelved = Shelf(shelf).bench("wren")
    now = shelved.now
    assert now.right is not None
    before = grounds_of(now, now.right)
    for what, path, value in (
        ("Break line", ("hull", "break_line"), "60 mm"),
        ("Half", ("part", 14, "half"), "upper"),
    ):
        from dabchick.storage.edit_text import puts

        shelved.edit(
            what, lambda text, path=path, value=value: puts(text, [(path, value)]), base=shelved.now.revision
        )
    after = shelved.now
    assert after.right is not None
    assert grounds_of(after, after.right).boat == before.boat
    shelved.edit("Moves", lambda text: puts(text, [(("part", 14, "moves"), "5 mm")]), base=after.revision)
    last = shelved.now
    assert last.right is not None
    assert grounds_of(last, last.right).boat != before.boat
