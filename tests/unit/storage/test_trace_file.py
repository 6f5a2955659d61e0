"""Trace files: read with file and line for each mistake, written so that they read back the same, never changed."""

import copy
from pathlib import Path
from typing import Any

import pytest

from dabchick.model.advice import Advice, BoatError
from dabchick.model.trace import TraceDoc
from dabchick.storage.trace_file import MOST_BYTES, read_trace, read_trace_text, trace_of, trace_text
from tests.support.sample_trace import sample_trace, section_view

TEXT = """\
dabchick_trace = 1
length = "23 5/8 in"

[[view]]
name = "side"
kind = "side"
picture = "plan.png"
scale = { from = [120, 800], to = [1620.0, 800.0], length = "300 mm" }

[[view.curve]]
role = "upper"
points = [
    [100, 500.5],
    [300, 480],
]

[[body]]
name = "sail"
kind = "sail"
breadth = "24 mm"
"""


def advice(text: str) -> tuple[Advice, ...]:
    with pytest.raises(BoatError) as caught:
        read_trace_text(text, "x-trace.toml")
    return caught.value.advice


def test_reads_lengths_in_any_unit_and_what_is_not_said() -> None:
    doc = read_trace_text(TEXT, "x-trace.toml")
    assert doc.length == pytest.approx(23.625 * 0.0254)
    assert doc.views[0].scale is not None
    assert doc.views[0].scale.length == pytest.approx(0.3)
    assert doc.views[0].curves[0].points == ((100.0, 500.5), (300.0, 480.0))
    assert (doc.measured_from, doc.noise, doc.section.form) == ("bow", 0.5, "ellipse")
    assert doc.bodies[0].part_of_hull


def full() -> dict[str, Any]:
    plan = copy.deepcopy(sample_trace())
    plan["view"].append(section_view("300 mm", 0.04, 0.0, 0.083, 'frame "7"'))
    plan["view"][2]["square"]["length"] = "100 mm"
    plan["view"][0]["curve"][0] |= {"name": "upper edge", "corners": [3, 5]}
    plan["section"] = {"form": "superellipse", "exponents": [[0.0, 2.0], [0.5, 2.6]]}
    plan["body"].append({"name": "planes", "kind": "plane", "thickness": "3 mm", "height": "40 mm"})
    plan["body"][1]["part_of_hull"] = False
    return plan | {"length": "0.6 m", "measured_from": "stern", "noise": 0.8, "note": "from a scan\nof 1:1"}


def test_what_is_written_reads_back_the_same() -> None:
    doc = TraceDoc.model_validate(full())
    text = trace_text(doc)
    again = read_trace_text(text, "x-trace.toml")
    assert trace_text(again) == text
    plain, read = doc.model_dump(), again.model_dump()
    for row, view in enumerate(plain["views"]):
        for number, curve in enumerate(view["curves"]):
            points = read["views"][row]["curves"][number].pop("points")
            # Pixels are written to a thousandth.
            assert points == tuple(
                (pytest.approx(x, abs=6e-4), pytest.approx(y, abs=6e-4)) for x, y in curve.pop("points")
            )
    assert read == plain


def test_every_mistake_comes_with_its_line() -> None:
    wrong = (
        TEXT.replace("[300, 480]", "[nan, 480]")
        .replace('"300 mm"', "300")
        .replace('role = "upper"', 'role = "top edge"')
        .replace('kind = "sail"', 'kind = "sail"\ncolour = "black"')
    )
    told = {entry.key: entry for entry in advice(wrong)}
    assert set(told) == {
        "view[1].scale.length",
        "view[1].curve[1].role",
        "view[1].curve[1].points[2][1]",
        "body[1].colour",
    }
    lines = wrong.splitlines()
    for key, words in (
        ("view[1].scale.length", "scale ="),
        ("view[1].curve[1].points[2][1]", "[nan, 480]"),
        ("view[1].curve[1].role", "role"),
        ("body[1].colour", "colour"),
    ):
        line = int(told[key].where.rsplit(":", 1)[1])
        assert words in lines[line - 1]
    assert "breadth, thickness, height, part_of_hull" in told["body[1].colour"].allowed


@pytest.mark.parametrize(
    ("gone", "key", "words"),
    [
        ("dabchick_trace = 1\n", "dabchick_trace", "first line"),
        ('role = "upper"\n', "view[1].curve[1].role", "which edge"),
        ('kind = "side"\n', "view[1].kind", '"side", "top" or "section"'),
    ],
)
def test_a_missing_key_is_told_with_how_it_is_written(gone: str, key: str, words: str) -> None:
    (entry,) = advice(TEXT.replace(gone, ""))
    assert entry.key == key
    assert words in entry.todo


@pytest.mark.parametrize(
    ("exponents", "words"),
    [
        ("[[0.5, 2.0], [0.2, 2.0]]", "rising shares"),
        ("[[0.0, 2.0], [1.2, 2.0]]", "rising shares"),
        ("[[0.0, 0.1]]", "exponent is not drawn"),
    ],
)
def test_exponents_are_checked(exponents: str, words: str) -> None:
    (entry,) = advice(f'dabchick_trace = 1\n[section]\nform = "superellipse"\nexponents = {exponents}\n')
    assert words in entry.what


def test_files_that_are_no_trace(tmp_path: Path) -> None:
    for name, content, words in (
        ("picture.toml", b"\x89PNG\r\n\xff", "not UTF-8"),
        ("half.toml", TEXT[:300].encode(), "not TOML"),
        ("large.toml", b"#" * (MOST_BYTES + 1), "too large"),
    ):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(BoatError, match=words):
            read_trace(tmp_path / name)
        assert (tmp_path / name).read_bytes() == content
    with pytest.raises(BoatError, match="cannot be read"):
        read_trace(tmp_path / "gone.toml")


def test_plain_tables_are_read_without_a_file() -> None:
    assert trace_of(sample_trace()).views[1].kind == "top"
    with pytest.raises(BoatError) as caught:
        trace_of({"dabchick_trace": 2})
    assert caught.value.advice[0].key == "dabchick_trace"
