"""Hull forms and materials for a boat that is about to be made."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from fastapi.testclient import TestClient

from dabchick.storage.hull_form import Form, form_outlines, station_table
from dabchick.storage.station_table import read_stations
from dabchick.workbench.site import Site
from tests.support.workbench import served, settings, words

FORMS: tuple[Form, ...] = ("round", "flat deck", "slender")


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with served(Site(settings(tmp_path), tmp_path)) as asking:
        yield asking


def box(ring: list[tuple[float, float]]) -> tuple[float, ...]:
    low, high = np.min(ring, axis=0), np.max(ring, axis=0)
    return (*low, *high)


def test_forms_are_drawn_in_the_sizes_asked_for(client: TestClient) -> None:
    asked = {"length": "36 in", "beam": "110 mm", "height": "12 cm", "units": "inch"}
    answer = client.get("/api/forms", params=asked).json()
    assert [form["form"] for form in answer["forms"]] == list(FORMS)
    assert answer["advice"] == []
    assert answer["size"].startswith("36.000 in")
    for form in answer["forms"]:
        outlines = form["outlines"]
        # 36 in are 0.9144 m; keel and deck are flat for a few hundredths, so the outline reaches the full height.
        assert box(outlines["side"][0]) == pytest.approx((0.0, 0.0, 0.9144, 0.12), abs=1e-9)
        assert box(outlines["top"][0]) == pytest.approx((0.0, -0.055, 0.9144, 0.055), abs=2e-5)
        assert box(outlines["end"][0]) == pytest.approx((-0.055, 0.0, 0.055, 0.12), abs=2e-5)


def test_every_wrong_size_is_told_at_once(client: TestClient) -> None:
    answer = client.get("/api/forms", params={"length": "900", "beam": "2 m", "height": "-3 mm"})
    assert answer.status_code == 200
    assert answer.json()["forms"] == []
    # A number without unit and one below zero; the beam cannot be judged without a length.
    assert {entry["key"] for entry in answer.json()["advice"]} == {"hull.length", "hull.height"}
    slim = client.get("/api/forms", params={"length": "900 mm", "beam": "2 m", "height": "10 mm"})
    assert {entry["key"] for entry in slim.json()["advice"]} == {"hull.beam", "hull.height"}
    assert "36 mm to 450 mm" in words(slim)


@pytest.mark.parametrize("form", FORMS)
def test_outlines_are_those_of_the_hull_that_is_made(form: Form, tmp_path: Path) -> None:
    file = tmp_path / "hull.csv"
    file.write_text(station_table(form, 900.0, 110.0, 120.0))
    surface = read_stations(file)
    drawn = form_outlines(form, 0.9, 0.11, 0.12)
    x = surface.vertices[:, 0] - surface.vertices[:, 0].min()
    half = len(drawn.side) // 2
    compared = 0
    for (along, low), (_, high) in zip(drawn.side[:half], reversed(drawn.side[half:]), strict=True):
        near = surface.vertices[np.abs(x - along) < 1e-6]
        if len(near) > 2:
            compared += 1
            assert near[:, 2].min() == pytest.approx(low, abs=2e-4)
            assert near[:, 2].max() == pytest.approx(high, abs=2e-4)
    # The mesh has a section at every station; at the bow it may be a point.
    assert compared >= half - 2


def test_materials_come_with_their_density(client: TestClient) -> None:
    found = {entry["name"]: entry["density"] for entry in client.get("/api/materials").json()}
    # As in data/materials.toml: GRP 1450 kg/m3, lead 11350 kg/m3.
    assert found["lead"] == "11350.0 kg/m^3"
    assert any(density.startswith("1450") for density in found.values())
