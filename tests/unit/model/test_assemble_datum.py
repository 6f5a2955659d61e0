"""The same boat from any zero, however she was drawn, and in any units."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.assemble import vessel
from dabchick.model.boat import Boat
from dabchick.model.vessel import Datum, Vector
from tests.support.boat_content import AXIS, LENGTH, WATERLINE, box_hull, built, content, only, part, tank


def builder_content(datum: Datum, measured_from: dict[str, Any]) -> dict[str, Any]:
    """One boat, told from any datum."""

    def at(*point: float) -> list[str]:
        return [f"{1000.0 * value:.9f} mm" for value in datum.to_builder((point[0], point[1], point[2]))]

    sign = 1.0 if datum.x_from == "stern" else -1.0
    outline = [[f"{sign * x} mm", f"{y} mm"] for x, y in ((0, 0), (40, 0), (0, 30))]
    return content(
        measured_from=measured_from,
        hull={**content()["hull"], "marks": {"bow": at(0.55, 0, 0)[0], "stern": at(0.05, 0, 0)[0]}}
        | {"openings": [{"at": at(0.1, 0.01, 0.02), "area": "60 mm^2"}]},
        part=[
            part(
                name="tube",
                kind="dry",
                mass="600 g",
                at=at(0.3, 0.0, 0.052),
                shape={"cylinder": {"length": "300 mm", "diameter": "80 mm"}},
            ),
            part(
                name="wedge",
                mass="30 g",
                at=at(0.4, 0.02, 0.09),
                shape={"extrusion": {"outline": outline, "height": "10 mm"}},
            ),
            part(
                name="cone",
                mass="30 g",
                at=at(0.5, -0.01, 0.05),
                centre=at(0.51, -0.01, 0.05),
                turn=["10 deg", "20 deg", "-30 deg"],
                shape={"cone": {"length": "40 mm", "base": "20 mm"}},
                rail={"from": at(0.48, -0.01, 0.05), "to": at(0.53, -0.01, 0.05)},
            ),
        ],
        tank=[tank(system="piston", at=at(0.4, 0.0, 0.052), inside="tube")],
        place=[{"name": "keel", "low": at(0.1, -0.01, 0.0), "high": at(0.2, 0.01, 0.01)}],
    )


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["bow", "stern"]),
    st.sampled_from(["keel", "waterline", "axis"]),
    st.tuples(*[st.floats(-2.0, 2.0)] * 3).map(lambda shift: (shift[0], 0.0, shift[2])),
)
def test_datum_and_drawing_origin_change_nothing(x_from: Any, z_from: Any, shift: Vector) -> None:
    heights = {"keel": 0.0, "waterline": WATERLINE, "axis": AXIS}
    datum = Datum(x_from, z_from, LENGTH if x_from == "bow" else 0.0, heights[z_from])
    table: dict[str, Any] = {"x": x_from, "z": z_from}
    if z_from == "axis":
        table["axis_height"] = f"{AXIS} m"
    plain = Datum("stern", "keel", 0.0, 0.0)
    one = vessel(Boat.model_validate(builder_content(plain, {"x": "stern", "z": "keel"})), box_hull())
    two = vessel(Boat.model_validate(builder_content(datum, table)), box_hull(shift))
    assert (two.datum.x_origin_m, two.datum.z_origin_m) == pytest.approx((datum.x_origin_m, datum.z_origin_m))
    for a, b in zip(one.items, two.items, strict=True):
        assert b.mass_kg == pytest.approx(a.mass_kg, rel=1e-9)
        assert b.centre_m == pytest.approx(a.centre_m, abs=1e-9)
        assert b.volume_m3 == pytest.approx(a.volume_m3, rel=1e-9)
        assert b.volume_centre_m == pytest.approx(a.volume_centre_m, abs=1e-9)
        assert b.inertia_kg_m2 == pytest.approx(a.inertia_kg_m2, abs=1e-10)
        if a.rail is not None and b.rail is not None:
            spans = [sorted((r.direction[0] * r.low_m, r.direction[0] * r.high_m)) for r in (a.rail, b.rail)]
            assert spans[0] == pytest.approx(spans[1], abs=1e-9)
    assert two.tanks[0].centre_m == pytest.approx(one.tanks[0].centre_m, abs=1e-9)
    assert two.tanks[0].piston_direction == pytest.approx(one.tanks[0].piston_direction)
    assert (two.mark_bow_m, two.mark_stern_m) == pytest.approx((one.mark_bow_m, one.mark_stern_m))
    assert two.wishes.places[0].low_m == pytest.approx(one.wishes.places[0].low_m, abs=1e-9)
    assert two.openings[0][0] == pytest.approx(one.openings[0][0], abs=1e-9)
    assert two.waterline_m == one.waterline_m == pytest.approx(WATERLINE)


def test_inch_boat_is_the_same_boat() -> None:
    """The same box part in inches; only what is shown differs."""
    metric = only(shape={"box": {"size": ["50.8 mm", "25.4 mm", "12.7 mm"]}}, mass="3 oz")
    inch = built(units="inch", part=[part(shape={"box": {"size": ["2 in", "1 in", "1/2 in"]}}, mass="3 oz")])
    assert inch.items[-1].volume_m3 == pytest.approx(metric.volume_m3, rel=1e-12)
    assert any(" oz" in text for text in inch.assumptions)
