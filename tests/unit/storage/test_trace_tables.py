"""A trace's plain tables as text: what is read back is what was written, as typed, whatever stands in it."""

import tomllib
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from dabchick.storage.trace_file import read_trace_text
from dabchick.storage.trace_tables import tables_text

WORDS = st.text(st.characters(blacklist_categories=["Cs"]), max_size=12)
PIXELS = st.floats(-9999.0, 9999.0).map(lambda value: round(value, 3) + 0.0)
POINTS = st.lists(st.tuples(PIXELS, PIXELS).map(list), max_size=20)
MARKS = st.fixed_dictionaries({"from": st.just([0.5, 1.0]), "to": st.just([9.0, 1.0]), "length": WORDS})
CURVES = st.fixed_dictionaries(
    {"name": WORDS, "role": st.just("outline"), "body": WORDS, "points": POINTS},
    optional={"corners": st.lists(st.integers(0, 9), max_size=3)},
)
VIEWS = st.fixed_dictionaries(
    {
        "name": WORDS,
        "kind": st.just("side"),
        "picture": WORDS,
        "curve": st.lists(CURVES, min_size=1, max_size=3),
    },
    optional={"at": WORDS, "scale": MARKS, "square": MARKS},
)
TRACES = st.fixed_dictionaries(
    {
        "dabchick_trace": st.just(1),
        "view": st.lists(VIEWS, min_size=1, max_size=3),
        "body": st.lists(
            st.fixed_dictionaries({"name": WORDS, "kind": st.just("sail")}), min_size=1, max_size=2
        ),
    },
    optional={
        "length": WORDS,
        "note": WORDS,
        "section": st.just({"form": "superellipse", "exponents": [[0.0, 2.0], [1.0, 2.5]]}),
    },
)


@given(TRACES)
def test_what_is_read_back_is_what_was_written(tables: Any) -> None:
    assert tomllib.loads(tables_text(tables)) == tables


def test_the_text_is_a_trace_file_and_reads_well() -> None:
    curve = {
        "name": "sail, outline",
        "role": "outline",
        "body": "sail",
        "points": [[float(k), 2.0] for k in range(8)],
    }
    scale = {"from": [0.0, 0.0], "to": [1500.12345, 0.0], "length": "11 13/16 in"}
    view = {"name": "side", "kind": "side", "picture": "plan.png", "scale": scale, "curve": [curve]}
    text = tables_text({"view": [view], "body": [{"name": "sail", "kind": "sail", "breadth": "24 mm"}]})
    assert text.splitlines()[0] == "dabchick_trace = 1"
    assert 'scale = { from = [0.0, 0.0], to = [1500.123, 0.0], length = "11 13/16 in" }' in text
    # Six points in a row, the other two in the next.
    assert "    [6.0, 2.0], [7.0, 2.0],\n]" in text
    doc = read_trace_text(text, "wren-trace.toml")
    assert doc.views[0].curves[0].body == doc.bodies[0].name == "sail"
    assert doc.views[0].scale is not None
    # 11 13/16 inches of 25.4 mm
    assert abs(doc.views[0].scale.length - 11.8125 * 0.0254) < 1e-12
