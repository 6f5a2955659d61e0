"""Free room and the break line as a builder meets them: in the boat file, by command, from another ruler, and wrong."""

import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import tomlkit

from dabchick.model.schema import boat_schema
from dabchick.storage.folder import open_boat
from dabchick.studies import space, split
from dabchick.studies.places import find_places
from dabchick.studies.space import SpaceResult
from dabchick.workbench.space_out import place_table
from tests.support.command import dabchick
from tests.support.sample_boat import write_boat

Capsys = pytest.CaptureFixture[str]

KEPT = """
[[keep_out]]
name = "pushrod"
low = ["660 mm", "-6 mm", "46 mm"]
high = ["860 mm", "6 mm", "62 mm"]
"""
LINE = [["0 mm", "70 mm"], ["500 mm", "70 mm"], ["500 mm", "60 mm"], ["900 mm", "60 mm"]]


def add(folder: Path, *, line: Any = None, moves: str = "", more: str = "") -> None:
    """Write into the boat file as an editor would."""
    file = folder / "boat.toml"
    document = tomlkit.parse(file.read_text("utf-8"))
    if line is not None:
        document["hull"]["break_line"] = line  # type: ignore[index]
    if moves:
        rows: Any = document["part"]
        next(row for row in rows if row["name"] == "linkages")["moves"] = moves
    file.write_text(tomlkit.dumps(document) + more, encoding="utf-8")


def test_the_schema_takes_what_the_reader_takes(wren: Path) -> None:
    add(wren, line=LINE, moves="4 mm", more=KEPT)
    content = tomllib.loads((wren / "boat.toml").read_text("utf-8"))
    jsonschema.validate(content, boat_schema())
    content["hull"]["break_line"] = "60 mm"
    jsonschema.validate(content, boat_schema())
    for wrong in (60, [["0 mm", "60 mm", "1 mm"], ["9 mm", "60 mm"]], [["0 mm", "60 mm"]]):
        content["hull"]["break_line"] = wrong
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(content, boat_schema())


def test_what_must_stay_free_is_free_for_space_and_trim_alike(wren: Path) -> None:
    before = space.run(open_boat(wren).vessel)
    add(wren, moves="4 mm", more=KEPT)
    vessel = open_boat(wren).vessel
    after = space.run(vessel)
    assert after.free_below_m3 < before.free_below_m3
    (box,) = vessel.keep_outs
    for place in find_places(vessel):
        edges = np.minimum(place.high_m, box.high_m) - np.maximum(place.low_m, box.low_m)
        assert np.prod(np.maximum(edges, 0.0)) < 1e-15
    assert tuple(place.place for place in after.places) == find_places(vessel)


def test_words_of_space(wren: Path, capsys: Capsys) -> None:
    add(wren, line=LINE)
    answer = dabchick(capsys, "space", wren)
    assert answer.code == 0
    assert answer.out.startswith("In Wren lead and foam can use ")
    assert "2 mm off everything" in answer.words
    for word in ("0 to 45 mm", "855 to 900 mm", "rail", "block", "behind", "open"):
        assert word in answer.words, word


def test_words_of_split(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "split", wren, "--at", "60 mm")
    assert answer.code == 0
    # The two halves are all that is on the scales: 2691.9 g by `weights`.
    assert answer.words.startswith("Parted at 60 mm from the keel, the upper half of Wren weighs ")
    result = split.run(open_boat(wren).vessel, line_m=((0.0, 0.06), (0.9, 0.06)))
    total = dabchick(capsys, "weights", wren, "--json").json["mass_kg"]["value"]
    assert result.upper.mass_kg.value + result.lower.mass_kg.value == pytest.approx(total, rel=1e-9)
    # The cylinder's axis lies at 48 mm and it is 80 mm thick: 88 - 60.
    assert "reaches 28.0 mm above the break line" in answer.words
    assert "comes straight up out of the lower half" in answer.words
    assert "of the boat file itself" not in answer.words
    higher = dabchick(capsys, "split", wren, "--at", "82 mm")
    assert "does not come straight up" in higher.words


def test_without_a_line_she_is_parted_at_her_waterline_and_that_is_said(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "split", wren, "--json").json
    assert answer["line_m"] == [[0.0, 0.082], [0.9, 0.082]]
    assert not answer["from_file"]
    assert any("names no break line" in text for text in answer["assumptions"])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("split", "--at", "160 mm"), ("above the hull", "160.0 mm", "104.0 mm")),
        (("split", "--at", "-1 mm"), ("below the hull",)),
        (("split", "--at", "60"), ("no unit", "--at")),
        (("space", "--cell", "0.01 mm"), ("too small", "memory", "allowed")),
        (("space", "--cell", "2 m"), ("as large as",)),
        (("space", "--clearance", "-1 mm"), ("below zero",)),
        (("space", "--cell", "3 g", "--clearance", "wide"), ("--cell", "--clearance")),
    ],
)
def test_what_cannot_be_asked_is_refused_with_advice(
    wren: Path, capsys: Capsys, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    answer = dabchick(capsys, arguments[0], wren, *arguments[1:])
    assert (answer.code, answer.out) == (2, "")
    for word in words:
        assert word in answer.words, word


def test_a_line_out_of_order_names_its_line_in_the_file(wren: Path, capsys: Capsys) -> None:
    add(wren, line=[["0 mm", "60 mm"], ["500 mm", "60 mm"], ["400 mm", "70 mm"]])
    answer = dabchick(capsys, "split", wren, "--json")
    assert answer.code == 2
    (told,) = answer.json["errors"]
    assert "runs back" in told["what"]
    assert told["key"] == "hull.break_line[3]"
    lines = (wren / "boat.toml").read_text("utf-8").splitlines()
    assert "break_line" in lines[int(told["where"].rpartition(":")[2]) - 1]


def test_a_place_taken_over_holds_what_was_found(wren: Path, capsys: Capsys) -> None:
    """The written [[place]] is read back as the very box, or as spots within it that fill it but for hairs."""
    vessel = open_boat(wren).vessel
    found = space.run(vessel)
    block, rail = found.places[0], found.rails[0]
    document = tomlkit.parse((wren / "boat.toml").read_text("utf-8"))
    rows = tomlkit.aot()
    rows.extend([tomlkit.item(place_table(vessel, place)) for place in (block, rail)])
    document["place"] = rows
    (wren / "boat.toml").write_text(tomlkit.dumps(document), encoding="utf-8")
    first, *spots = open_boat(wren).vessel.wishes.places
    assert (*first.low_m, *first.high_m) == pytest.approx((*block.low_m, *block.high_m), abs=2e-6)
    assert len(spots) == round(rail.size_m[0] / 0.025)
    assert min(spot.low_m[0] for spot in spots) == pytest.approx(rail.low_m[0], abs=2e-5)
    assert max(spot.high_m[0] for spot in spots) == pytest.approx(rail.high_m[0], abs=2e-5)
    volume = sum(float(np.prod(np.subtract(spot.high_m, spot.low_m))) for spot in spots)
    assert volume == pytest.approx(rail.volume_m3, rel=5e-3)
    assert dabchick(capsys, "check", wren).code == 0


# --- Another ruler.

HERE = """\
dabchick = 1
name = "Box"
measured_from = {{ x = "{x_from}", z = "{z_from}" }}

[hull]
mesh = "hull.stl"
unit = "mm"
skin = {{ thickness = "2 mm", material = "GRP" }}
waterline = "70 mm"
break_line = [["{x0} mm", "{za} mm"], ["{x1} mm", "{za} mm"], ["{x1} mm", "{zb} mm"], ["{x2} mm", "{zb} mm"]]

[[part]]
name = "cylinder"
kind = "dry"
shape = {{ cylinder = {{ length = "300 mm", diameter = "60 mm" }} }}
at = ["{xc} mm", 0, "{zc} mm"]
mass = {{ value = "612 g", known = "weighed" }}

[[part]]
name = "shaft"
kind = "solid"
shape = {{ cylinder = {{ length = "100 mm", diameter = "6 mm" }} }}
at = ["{xs} mm", "4.3 mm", "{zs} mm"]
mass = {{ value = "30 g", known = "weighed" }}
moves = "5 mm"

[[keep_out]]
name = "hand"
at = ["{xk} mm", "-10 mm", "{zk} mm"]
size = ["60 mm", "40 mm", "30 mm"]
"""
X = {"x0": 0, "x1": 250, "x2": 600, "xc": 320, "xs": 90.37, "xk": 520}
Z = {"za": 60, "zb": 80, "zc": 50, "zs": 40.71, "zk": 30}


def by(x_from: str, z_from: str) -> str:
    x = {key: 600 - value if x_from == "bow" else value for key, value in X.items()}
    z = {key: value - 70 if z_from == "waterline" else value for key, value in Z.items()}
    return HERE.format(x_from=x_from, z_from=z_from, **x, **z)


def plain(result: SpaceResult) -> list[float]:
    """All figures of the answer; names speak of the builder's own ruler."""
    figures = [result.free_below_m3, result.free_above_m3, result.floods_below_m3, result.floods_above_m3]
    for station in result.stations:
        figures += [station.aft_m, station.free_below_m3, station.free_above_m3]
    for place in sorted((*result.rails, *result.places), key=lambda place: (place.low_m, place.high_m)):
        figures += [*place.low_m, *place.high_m, float(place.reach == "open")]
    return figures


@pytest.mark.parametrize(
    ("x_from", "z_from"), [("bow", "keel"), ("stern", "waterline"), ("bow", "waterline")]
)
def test_another_ruler_in_the_file_changes_nothing(tmp_path: Path, x_from: str, z_from: str) -> None:
    one = open_boat(write_boat(tmp_path / "one", by("stern", "keel"))).vessel
    other = open_boat(write_boat(tmp_path / "other", by(x_from, z_from))).vessel
    assert np.array(other.break_line_m) == pytest.approx(np.array(one.break_line_m))
    assert plain(space.run(other)) == pytest.approx(plain(space.run(one)), rel=1e-9, abs=1e-12)
    here, there = split.run(one), split.run(other)
    for half, same in ((here.upper, there.upper), (here.lower, there.lower)):
        assert same.mass_kg.value == pytest.approx(half.mass_kg.value, rel=1e-9)
        assert same.centre_m == pytest.approx(half.centre_m, abs=1e-9)
        assert same.parts == half.parts
