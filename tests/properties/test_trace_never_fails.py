"""Whatever is traced, the study answers: a half-drawn or spoilt trace gives advice and never a fault of the program."""

import copy
import warnings
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.trace import TraceDoc
from dabchick.physics.surface import faults
from dabchick.studies import trace
from dabchick.studies.result import as_json
from tests.support.sample_trace import sample_trace, section_view

pixels = st.one_of(st.floats(-50.0, 1500.0), st.sampled_from([0.0, 150.0, 400.0, 900.0, 1350.0]))
points = st.lists(st.lists(pixels, min_size=2, max_size=2), max_size=9)
marks = st.fixed_dictionaries(
    {"from": st.lists(pixels, min_size=2, max_size=2), "to": st.lists(pixels, min_size=2, max_size=2)}
)
roles = st.sampled_from(["upper", "lower", "half_breadth", "section", "outline"])


@st.composite
def spoilt(draw: st.DrawFn) -> dict[str, Any]:
    """The sample with a section and planes, and one to four things in it gone or put at random."""
    plan = copy.deepcopy(sample_trace())
    plan["view"].append(section_view("250 mm", 0.0398, 0.0, 0.083))
    plan["body"].append({"name": "planes", "kind": "plane", "thickness": "3 mm", "height": "40 mm"})
    plan["view"][1]["curve"].append(
        {
            "role": "outline",
            "body": "planes",
            "points": [[200.0, 880.0], [200.0, 740.0], [260.0, 760.0], [300.0, 880.0]],
        }
    )
    plan["section"] = {"form": draw(st.sampled_from(["ellipse", "blended"]))}
    for _ in range(draw(st.integers(1, 4))):
        view = plan["view"][draw(st.integers(0, 2))]
        curve = (
            view["curve"][draw(st.integers(0, len(view["curve"]) - 1))] if view["curve"] else {"points": []}
        )
        match draw(st.integers(0, 10)):
            case 0:
                view.pop(draw(st.sampled_from(["scale", "level", "square", "at", "picture"])), None)
            case 1:
                mark = draw(st.sampled_from(["scale", "level", "square"]))
                view[mark] = {**view.get(mark, {"length": "300 mm"}), **draw(marks)}
                if mark == "level":
                    view[mark].pop("length", None)
            case 2:
                curve["points"] = draw(points)
            case 3 if curve["points"]:
                curve["points"][draw(st.integers(0, len(curve["points"]) - 1))] = [draw(pixels), draw(pixels)]
            case 4:
                curve["points"].reverse()
            case 5:
                curve["role"] = draw(roles)
            case 6:
                curve["body"] = draw(st.sampled_from(["", "sail", "planes", "mast"]))
            case 7:
                curve["corners"] = draw(st.lists(st.integers(-2, 14), max_size=4))
            case 8:
                view["curve"] = view["curve"][1:]
            case 9:
                plan["length"] = draw(st.sampled_from(["600 mm", "9 m", "1 mm"]))
            case 10:
                view["kind"] = draw(st.sampled_from(["side", "top", "section"]))
            case _:
                pass
    return plan


@settings(max_examples=150, deadline=None)
@given(spoilt())
def test_a_spoilt_trace_is_answered(plan: dict[str, Any]) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)
        result = trace.run(
            TraceDoc.model_validate(plan), {"plan.png": (1500, 1200)}, readings=5, axial=40, around=16
        )
    as_json(result.without_meshes())
    assert all(entry.what and entry.todo and entry.key for entry in result.warnings)
    if result.hull is None:
        assert result.faults
        assert np.isnan(result.volume_m3.value)
    elif not result.faults:
        report = faults(result.hull.vertices_m, result.hull.faces, seek_crossings=False)
        assert report.outward
        for body in result.bodies:
            for mesh in body.meshes:
                assert faults(mesh.vertices_m, mesh.faces, seek_crossings=False).outward
