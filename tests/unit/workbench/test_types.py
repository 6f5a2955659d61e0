"""The pages' types come from the API as it is."""

import importlib.util
from pathlib import Path

MAKER = Path(__file__).parents[3] / "web" / "make_types.py"


def maker():
    spec = importlib.util.spec_from_file_location("make_types", MAKER)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_types_are_as_new():
    assert maker().is_new(), "web/src/frame/types.ts is older than the API: make types"


def test_the_document_holds_the_live_channel_and_notices_any_change():
    made = maker()
    whole = made.document()
    assert {"Ask", "Told", "Answer", "Refused", "Changed", "Hello"} <= set(whole["components"]["schemas"])
    before = made.digest(whole)
    assert made.digest(dict(reversed(whole.items()))) == before
    whole["components"]["schemas"]["Ask"]["properties"]["seq"]["type"] = "number"
    assert made.digest(whole) != before
