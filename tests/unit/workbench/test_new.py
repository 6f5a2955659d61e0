"""New boats: whatever is chosen she opens, floats and has no part in a wrong place; and a usual one can be trimmed."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient

from dabchick.model.advice import BoatError
from dabchick.physics.surface import faults
from dabchick.storage.folder import open_boat
from dabchick.storage.hull_form import Form, station_table
from dabchick.storage.new_boat import HullFile, Order, write_boat, write_demo
from dabchick.storage.starter_parts import size_class, starter_parts
from dabchick.storage.station_table import read_stations
from dabchick.studies import afloat, check, tank, trim
from dabchick.workbench.site import Site
from tests.support.broken import egg, stl_bytes
from tests.support.workbench import served, settings, upload, words

FORMS: tuple[Form, ...] = ("round", "flat deck", "slender")
LENGTHS_MM = (400.0, 600.0, 900.0, 1300.0, 1800.0)
USUAL = tuple(part.part for part in starter_parts() if part.usual)


def order(form: Form, length_mm: float, **more: Any) -> Order:
    table = station_table(form, length_mm, length_mm / 8.0, length_mm / 8.2)
    return Order(**{"name": "Knot", "hull": HullFile("hull.csv", table.encode()), "parts": USUAL, **more})


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("length", LENGTHS_MM)
def test_a_form_has_the_sizes_asked_for_and_is_sound(tmp_path: Path, form: Form, length: float) -> None:
    file = tmp_path / "hull.csv"
    file.write_text(station_table(form, length, length / 9.0, length / 7.5))
    surface = read_stations(file)
    sides = np.ptp(surface.vertices, axis=0) * 1000.0
    assert sides == pytest.approx([length, length / 9.0, length / 7.5], rel=2e-3)
    report = faults(surface.vertices, surface.faces)
    assert report.sound
    # fuller than a cone on each end, less full than a tube: 1/3 and pi/4 of the box
    assert 0.4 < report.volume * 1e9 / np.prod(sides) < 0.7


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("length", LENGTHS_MM)
def test_every_form_and_size_opens_floats_and_fits(tmp_path: Path, form: Form, length: float) -> None:
    write_boat(tmp_path / "boat", order(form, length))
    vessel = open_boat(tmp_path / "boat").vessel
    assert vessel.length_m * 1000.0 == pytest.approx(length, rel=1e-3)
    assert {item.name for item in vessel.items} >= {"cylinder", "battery", "motor", "receiver", "sail"}
    lie = afloat.run(vessel).lie
    assert lie.condition == "floats"
    found = check.run(vessel)
    assert found.error_count == 0, [str(entry) for entry in found.findings]
    # lighter than she is to be, so that the trim has lead to put in, and not much too light to be believed
    sized = tank.run(vessel)
    assert sized.present_m3 == pytest.approx(sized.volume_m3.value, rel=0.01)
    assert vessel.waterline_m < vessel.high_m[2]
    assert not vessel.unweighed


@pytest.mark.slow
@pytest.mark.parametrize("form", FORMS)
def test_a_usual_boat_can_be_trimmed(tmp_path: Path, form: Form) -> None:
    write_boat(tmp_path / "boat", order(form, 900.0))
    result = trim.run(open_boat(tmp_path / "boat").vessel)
    assert result.feasible
    assert result.added_lead_kg > 0.0


@pytest.mark.parametrize("parts", [(), ("cylinder",), ("cylinder", "battery"), ("sail", "rudder")])
def test_any_choice_of_parts_opens(tmp_path: Path, parts: tuple[str, ...]) -> None:
    write_boat(tmp_path / "boat", order("round", 600.0, parts=parts))
    vessel = open_boat(tmp_path / "boat").vessel
    assert {item.name for item in vessel.items} - {"skin"} == {
        {"cylinder": "cylinder", "battery": "battery", "sail": "sail", "rudder": "rudder"}[part]
        for part in parts
    }


def test_what_must_stay_dry_needs_a_cylinder(tmp_path: Path) -> None:
    with pytest.raises(BoatError, match="nothing to lie in: battery"):
        write_boat(tmp_path / "boat", order("round", 600.0, parts=("battery", "sail")))
    with pytest.raises(BoatError, match="no usual part"):
        write_boat(tmp_path / "other", order("round", 600.0, parts=("torpedo",)))


def test_what_the_builder_gives_is_taken(tmp_path: Path) -> None:
    write_boat(
        tmp_path / "boat",
        order(
            "round",
            900.0,
            units="inch",
            skin_m=0.003175,
            material="PLA",
            waterline_m=0.0889,
            name='A "B" \\ C',
        ),
    )
    values = tomllib.loads((tmp_path / "boat" / "boat.toml").read_text("utf-8"))
    assert values["name"] == 'A "B" \\ C'
    assert values["hull"]["skin"] == {"thickness": "0.125 in", "material": "PLA"}
    assert values["hull"]["waterline"] == "3.5 in"
    assert values["units"] == "inch"
    vessel = open_boat(tmp_path / "boat").vessel
    assert vessel.waterline_m == pytest.approx(0.0889)
    assert afloat.run(vessel).lie.condition == "floats"


def test_the_demo_boat_is_copied_under_another_name(tmp_path: Path) -> None:
    write_demo(tmp_path / "copy", "My Wren", "inch")
    boat = open_boat(tmp_path / "copy")
    assert (boat.boat.name, boat.boat.units) == ("My Wren", "inch")
    assert "# Wren, an invented coastal boat" in boat.text, "the builder's comments are still there"


def test_size_classes() -> None:
    assert [size_class(length) for length in (0.4, 0.58, 0.6, 0.9, 1.2, 1.3)] == [0, 0, 1, 2, 2, 3]
    for part in starter_parts():
        masses = [
            next(entry.mass_kg for entry in starter_parts(length) if entry.part == part.part)
            for length in (0.4, 0.7, 1.0, 1.5)
        ]
        if not part.from_hull:
            assert masses == sorted(masses, key=lambda mass: mass or 0.0)
            assert all(mass is not None and mass > 0.0 for mass in masses)


# --- through the server -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def laptop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    shelf = tmp_path_factory.mktemp("shelf")
    with served(Site(settings(shelf), shelf)) as client:
        yield client


def by_size(**changed: str) -> dict[str, str]:
    return {
        "source": "size",
        "length": "700 mm",
        "beam": "3.5 in",
        "height": "85 mm",
        "form": "flat deck",
        **changed,
    }


def test_a_boat_from_sizes_is_on_the_shelf_with_figures(laptop: TestClient) -> None:
    wish = {"name": "Sea Pie", "hull": by_size(), "parts": list(USUAL)}
    made = laptop.post("/api/boats", json=wish)
    assert made.status_code == 200, made.text
    assert made.json() == {"boat": "sea-pie"}
    state = laptop.get("/api/boats/sea-pie").json()
    assert (state["name"], state["errors"]) == ("Sea Pie", [])
    assert state["figures_revision"] == state["revision"]
    assert state["count"]["parts"] == len(USUAL) - 1, "all but the tank"
    assert state["tanks"][0]["name"] == "main"
    assert laptop.post("/api/boats", json=wish).json() == {"boat": "sea-pie-2"}, "none is overwritten"


def test_a_boat_from_a_mesh_in_inches_with_its_bow_along_y(laptop: TestClient) -> None:
    vertices, faces = egg(24.0, 4.0)
    turned = vertices[:, [1, 0, 2]] * [-1.0, 1.0, 1.0], faces
    file = upload(laptop, "hull.stl", stl_bytes(turned)).json()["upload"]
    hull = {"source": "upload", "upload": file, "unit": "in", "bow": "+y"}
    made = laptop.post(
        "/api/boats", json={"name": "Teal", "units": "inch", "hull": hull, "parts": list(USUAL)}
    )
    assert made.status_code == 200, made.text
    state = laptop.get("/api/boats/teal").json()
    assert state["errors"] == []
    figures = {line["label"]: line["figure"] for line in laptop.get("/api/boats/teal/hull").json()["lines"]}
    assert figures["Length"]["value"] == pytest.approx(0.6096)
    assert figures["Beam"]["text"].split() == ["4.000", "in"]
    unready = laptop.post("/api/boats", json={"name": "Teal", "hull": {"source": "upload", "upload": file}})
    assert unready.status_code == 422
    assert "unit" in words(unready)


def test_a_copy_of_the_demo(laptop: TestClient) -> None:
    assert laptop.post("/api/boats", json={"name": "Étude ../../x", "hull": {"source": "demo"}}).json() == {
        "boat": "etude-x"
    }


def test_everything_wrong_is_told_at_once_and_leaves_nothing(laptop: TestClient) -> None:
    before = laptop.get("/api/boats").json()["boats"]
    wish = {"name": "  ", "hull": by_size(length="70 m", beam="long"), "skin": "2", "waterline": "-4 mm"}
    answer = laptop.post("/api/boats", json=wish)
    assert answer.status_code == 422
    keys = {entry["key"] for entry in answer.json()["advice"]}
    assert keys == {"name", "skin", "waterline", "hull.beam"}
    flat = laptop.post(
        "/api/boats", json={"name": "x", "hull": by_size(beam="1 mm", height="2 m"), "waterline": "3 m"}
    )
    assert {entry["key"] for entry in flat.json()["advice"]} == {"hull.beam", "hull.height", "waterline"}
    thick = laptop.post("/api/boats", json={"name": "x", "hull": by_size(), "skin": "60 mm"})
    assert thick.status_code == 422
    assert words(thick)
    assert laptop.get("/api/boats").json()["boats"] == before


def test_the_list_of_parts_says_size_and_mass_for_the_length(laptop: TestClient) -> None:
    small = {part["part"]: part for part in laptop.get("/api/parts", params={"length": "400 mm"}).json()}
    large = {
        part["part"]: part
        for part in laptop.get("/api/parts", params={"length": "5 ft", "units": "inch"}).json()
    }
    assert small["battery"]["mass"] == "14.0 g"
    assert large["battery"]["mass"].endswith("lb")
    assert small["cylinder"]["size"] == "made to fit the hull"
    assert {part for part in small if small[part]["usual"]} == set(USUAL)
    assert laptop.get("/api/parts", params={"length": "4 kg"}).status_code == 422
