"""Station tables: the three forms, what is assumed, and every mistake with its line and column."""

from pathlib import Path

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.hull_surface import HullSurface
from dabchick.physics.surface import faults
from dabchick.storage.station_table import read_stations


def hull(folder: Path, text: str) -> HullSurface:
    path = folder / "hull.csv"
    path.write_text(text, encoding="utf-8")
    return read_stations(path)


def complaint(folder: Path, text: str) -> str:
    with pytest.raises(BoatError) as caught:
        hull(folder, text)
    return str(caught.value)


def volume(surface: HullSurface) -> float:
    report = faults(surface.vertices, surface.faces)
    assert report.sound
    return report.volume


BODY = """# invented
unit, mm
measured from, bow
station_x, diameter, axis_height
0, 0, 45
100, 80, 45
200, 80, 45
400, 80, 45
"""


def test_body_of_revolution_measured_from_the_bow_has_its_bow_forward(tmp_path: Path) -> None:
    surface = hull(tmp_path, BODY)
    low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
    assert np.ptp(surface.vertices[:, 0]) == pytest.approx(0.4)
    nose = surface.vertices[surface.vertices[:, 0] == high[0]]
    stern = surface.vertices[surface.vertices[:, 0] == low[0]]
    assert len(nose) == 1
    assert nose[0, 2] == pytest.approx(0.045)
    assert np.ptp(stern[:, 1]) == pytest.approx(0.08, rel=1e-3)
    said = " ".join(surface.assumptions)
    assert "The bow closes round, as the stations next to it run." in said
    assert "The stern ends flat." in said
    assert "widened" in said
    assert not surface.solid_walled


def test_same_hull_measured_from_the_stern_is_the_same_hull(tmp_path: Path) -> None:
    turned = """unit, mm
measured from, stern
station_x, diameter, axis_height
0, 80, 45
200, 80, 45
300, 80, 45
400, 0, 45
"""
    one, other = hull(tmp_path, BODY), hull(tmp_path, turned)
    assert np.allclose(one.vertices.min(axis=0) + np.array([0.4, 0.0, 0.0]), other.vertices.min(axis=0))
    assert volume(one) == pytest.approx(volume(other), rel=1e-12)


def test_cylinder_in_inches_has_its_closed_form_volume(tmp_path: Path) -> None:
    surface = hull(tmp_path, "unit, in\nmeasured from, stern\nx, diameter\n0, 4\n20, 4\n")
    assert volume(surface) == pytest.approx(np.pi * 0.0508**2 * 0.508, rel=1e-12)


def test_asked_end_changes_the_form(tmp_path: Path) -> None:
    plain = hull(tmp_path, BODY)
    sharp = hull(tmp_path, BODY.replace("measured from, bow", "measured from, bow\nbow, pointed"))
    assert volume(sharp) < volume(plain) - 1e-5
    assert any("The bow closes to a point or an edge." in said for said in sharp.assumptions)


GRID = """unit, mm
measured from, stern
height, 0, 120, 400, 760
0, , 0, 14,
20, 0, 22, 33, 0
40, 0, 30, 41, 0
"""
ROWS = """unit, mm
measured from, stern
station_x, height, half_breadth
0, 20, 0
0, 40, 0
120, 0, 0
120, 20, 22
120, 40, 30
400, 0, 14
400, 20, 33
400, 40, 41
760, 20, 0
760, 40, 0
"""


def test_grid_and_rows_are_the_same_hull_and_missing_stays_missing(tmp_path: Path) -> None:
    grid, rows = hull(tmp_path, GRID), hull(tmp_path, ROWS)
    assert np.array_equal(grid.vertices, rows.vertices)
    stern = grid.vertices[grid.vertices[:, 0] == 0.0]
    assert stern[:, 2].min() == pytest.approx(0.020)  # not 0: the cell at height 0 was left empty
    assert any("2 empty cells" in said for said in grid.assumptions)
    assert not any("empty cells" in said for said in rows.assumptions)
    assert any("Flat bottom" in said and said.endswith("stations 400.") for said in grid.assumptions)
    assert any("Flat top" in said and said.endswith("stations 120, 400.") for said in grid.assumptions)


def test_box_of_half_breadths_has_its_closed_form_volume(tmp_path: Path) -> None:
    text = "unit, cm\nmeasured from, bow\nheight, 0, 30, 60\n0, 5, 5, 5\n4, 5, 5, 5\n8, 5, 5, 5\n"
    assert volume(hull(tmp_path, text)) == pytest.approx(0.6 * 0.1 * 0.08, rel=1e-12)


def test_spreadsheets_with_semicolons_decimal_commas_and_trailing_cells(tmp_path: Path) -> None:
    plain = hull(tmp_path, GRID.replace("14", "14.5"))
    european = "\ufeff" + GRID.replace(", ", ";").replace(",", ";").replace("14", "14,5").replace(
        "mm", "mm;;;"
    )
    assert np.array_equal(hull(tmp_path, european).vertices, plain.vertices)


def test_tabs_quotes_and_windows_lines(tmp_path: Path) -> None:
    text = (
        ROWS.replace(", ", "\t")
        .replace("\n", "\r\n")
        .replace("station_x", '"Station X"')
        .replace("half_b", "Half-b")
    )
    assert np.array_equal(hull(tmp_path, text).vertices, hull(tmp_path, ROWS).vertices)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("unit, mm\n", "", ["no unit of length", "mm, cm, m, in, ft"]),
        ("unit, mm", "unit, inch", ['"inch"', 'Write "in"', "hull.csv:2"]),
        ("measured from, bow\n", "", ["does not say where its x is measured from"]),
        ("from, bow", "from, front", ["hull.csv:3, column 2", '"front"', "bow, stern"]),
        ("unit, mm", "unit, mm\nunit, cm", ["set twice", "line 2"]),
        ("unit, mm", "unit", ["takes one value"]),
        ("diameter", "radius", ["header", "hull.csv:4", "station_x, diameter"]),
        ("100, 80, 45", "100, eighty, 45", ["not a number", "hull.csv:6, column 2", '"eighty"']),
        ("100, 80, 45", "100, nan, 45", ["not a finite number", "hull.csv:6, column 2"]),
        ("100, 80, 45", "100, , 45", ["empty", "hull.csv:6, column 2"]),
        ("100, 80, 45", "100, 80, 45, 9", ["4 cells", "hull.csv:6", "Decimal commas"]),
        ("100, 80, 45", "100, -80, 45", ["below 0", "hull.csv:6, column 2", "-80"]),
        ("100, 80, 45", "100, 0, 45", ["falls apart", "hull.csv:6, column 2"]),
        ("200, 80, 45", "100, 80, 45", ["stands twice", "hull.csv:7, column 1"]),
        ("200, 80, 45", "50, 80, 45", ["out of order", "hull.csv:7, column 1"]),
        ("100, 80, 45\n200, 80, 45\n400, 80, 45\n", "", ["at least two stations; the table has 1"]),
        ("unit, mm", "unit, m", ["400 m long", 'unit = "mm"', "hull.csv:2"]),
        ("unit, mm", "unit, mm\nbow, blunt", ["round, pointed", "hull.csv:3, column 2"]),
    ],
)
def test_mistake_is_told_with_its_place(tmp_path: Path, old: str, new: str, words: list[str]) -> None:
    assert old in BODY
    text = complaint(tmp_path, BODY.replace(old, new, 1))
    for word in words:
        assert word in text, text


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("400, 20, 33", "400, 20, -33", ["half-breadth is below 0", "hull.csv:10, column 3"]),
        ("400, 20, 33", "400, 50, 33", ["run", "cross itself", "hull.csv:11, column 2", "station 400"]),
        ("400, 20, 33", "400, 0, 33", ["stands twice", "hull.csv:10, column 2"]),
        ("400, 20, 33", "400, 20, 0", ["no thickness", "hull.csv:10, column 3", "station 400"]),
        ("760, 40, 0", "120, 90, 0", ["Station 120 comes again", "line 6"]),
        ("120, 0, 0\n120, 20, 22\n120, 40, 30", "120, 0, 3", ["Station 120 has no area", "hull.csv:6"]),
        ("0, 20, 0\n0, 40, 0", "900, 20, 0\n900, 40, 0", ["out of order", "hull.csv:6, column 1"]),
    ],
)
def test_mistake_in_half_breadths_is_told_with_its_place(
    tmp_path: Path, old: str, new: str, words: list[str]
) -> None:
    assert old in ROWS
    text = complaint(tmp_path, ROWS.replace(old, new, 1))
    for word in words:
        assert word in text, text


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            "height, 0, 120, 400",
            "height, 0, 400, 120",
            ["Station 120 comes after 400", "hull.csv:3, column 4"],
        ),
        ("height, 0, 120", "height, 0, fore", ["not a number", "hull.csv:3, column 3"]),
        ("20, 0, 22", "60, 0, 22", ["Height 40 comes after 60", "cross themselves", "hull.csv:6, column 1"]),
        ("20, 0, 22", ", 0, 22", ["no height", "hull.csv:5, column 1"]),
        (
            "22, 33, 0\n40, 0, 30, 41",
            "22, , 0\n40, 0, 30, ",
            ["Station 400 has no area", "hull.csv:3, column 4"],
        ),
        ("120, 400, 760", "120, 400, 760, 800", ["Station 800 has no half-breadth", "hull.csv:3, column 6"]),
    ],
)
def test_mistake_in_a_grid_is_told_with_its_place(
    tmp_path: Path, old: str, new: str, words: list[str]
) -> None:
    assert old in GRID
    text = complaint(tmp_path, GRID.replace(old, new, 1))
    for word in words:
        assert word in text, text


def test_all_mistakes_come_at_once(tmp_path: Path) -> None:
    text = BODY.replace("unit, mm\n", "").replace("100, 80", "100, x").replace("400, 80", "150, -80")
    with pytest.raises(BoatError) as caught:
        hull(tmp_path, text)
    assert len(caught.value.advice) == 4  # unit, number, below 0, out of order
    assert all(entry.todo and "hull.csv" in entry.where for entry in caught.value.advice)


def test_no_file_no_text_no_table(tmp_path: Path) -> None:
    with pytest.raises(BoatError, match="no such file"):
        read_stations(tmp_path / "gone.csv")
    (tmp_path / "binary.csv").write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(BoatError, match="not plain text"):
        read_stations(tmp_path / "binary.csv")
    assert "no table" in complaint(tmp_path, "# only a comment\n\n")
    assert "no header" in complaint(tmp_path, "unit, mm\nmeasured from, bow\n")
