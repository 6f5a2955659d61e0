"""The trim sheet as a builder gets it: files in a folder, one page for any boat, the same bytes each time."""

import csv
import datetime
import re
from dataclasses import replace
from xml.etree import ElementTree

import pypdfium2
import pytest

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Datum
from dabchick.report.trim_sheet import trim_sheet_pdf, write_trim_sheet
from dabchick.studies.trim_result import Obstacle
from tests.support.sample_results import sample_result, sample_vessel

HOSTILE = "#set page(width: 1mm) *b* $x^2$ \"q\" 'a' <img/> \\ @ref `raw` // /* [ ] _u_ ~ Öß"


def cases():
    demo = sample_vessel()
    thin = sample_vessel("Reed", length=1.6, beam=0.09, depth=0.09)
    inch = sample_vessel("Coot", units="inch", datum=Datum("stern", "waterline", 0.0, 0.08))
    hostile = sample_vessel(HOSTILE)
    hostile = replace(hostile, items=tuple(replace(item, name=HOSTILE + item.name) for item in hostile.items))
    hard = replace(
        sample_result(demo, pieces=100, feasible=False, moves=4),
        obstacles=tuple(
            Obstacle("weight", f"Obstacle {at}: " + "far too heavy " * 12, 1.0, "g") for at in range(12)
        ),
        warnings=tuple(
            Advice(f"Warning {at} " + "of many words " * 12, "Mind it.", severity="warning")
            for at in range(60)
        ),
    )
    named = sample_result(hostile)
    named = replace(named, pieces=tuple(replace(piece, place=HOSTILE * 3) for piece in named.pieces))
    return {
        "demo": (demo, sample_result(demo)),
        "long and thin": (thin, sample_result(thin, pieces=9)),
        "inch": (inch, sample_result(inch, moves=2)),
        "infeasible": (demo, sample_result(demo, feasible=False)),
        "30 pieces": (demo, sample_result(demo, pieces=30, moves=3)),
        "100 pieces": (demo, sample_result(demo, pieces=100, moves=4)),
        "nothing to add": (demo, sample_result(demo, pieces=0, moves=0)),
        "strange names": (hostile, named),
        "long name": (sample_vessel("Moorhen " * 40), sample_result(demo)),
        "everything at once": (demo, hard),
    }


CASES = cases()


def page_text(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) == 1
    return re.sub(r"\s+", " ", document[0].get_textpage().get_text_range())


def lowest_text(pdf: bytes) -> float:
    """Height [mm] of the lowest letter over the foot of the page."""
    page = pypdfium2.PdfDocument(pdf)[0].get_textpage()
    boxes = [page.get_charbox(index) for index in range(page.count_chars())]
    return min(bottom for _, bottom, _, top in boxes if top > bottom) * 25.4 / 72.0


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("case", CASES)
def test_it_is_one_page_with_nothing_over_its_foot(case, paper):
    vessel, result = CASES[case]
    pdf = trim_sheet_pdf(vessel, result, paper)
    page = pypdfium2.PdfDocument(pdf)[0]
    wide, high = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
    assert [side * 25.4 / 72.0 for side in page.get_size()] == pytest.approx([wide, high], abs=0.05)
    text = page_text(pdf)
    for heading in ("TRIM SHEET", "WHAT TO EXPECT", "WHAT SMALL CHANGES DO", "ORDER OF WORK"):
        assert heading in text
    if result.pieces:
        assert "local rules" in text  # the caution stands last on the page
    assert lowest_text(pdf) > 6.0


def test_the_figures_are_on_the_page():
    vessel, result = CASES["demo"]
    text = page_text(trim_sheet_pdf(vessel, result))
    for words in ("Moorhen", "95 g", "57 ml", "80.5", "80.8", "12.1 g", "8.4", "999.7 kg/m³",
                  "from the bow", "1 × 20 g + 1 × 5 g", "battery", "336.0", "349.4", "6.6° bow down",
                  "3719.9 g"):  # fmt: skip
        assert words in text, words
    for piece in result.pieces:
        along, _, up = vessel.datum.to_builder(piece.centre_m)
        assert f"{1000 * along:.1f}" in text
        assert f"{1000 * up:.1f}" in text


def test_obstacles_are_told_and_cutting_is_not():
    vessel, result = CASES["infeasible"]
    text = page_text(trim_sheet_pdf(vessel, result))
    assert "Not all wishes can be kept" in text
    assert "14 g too heavy for this waterline" in text
    assert "DO NOT CUT YET" in text
    assert "CUT AND PLACE" not in text


def test_what_does_not_fit_is_counted_and_kept_in_the_table(tmp_path):
    vessel, result = CASES["100 pieces"]
    files = write_trim_sheet(vessel, result, tmp_path)
    text = page_text(files.pdf.read_bytes())
    rest = int(re.search(r"and (\d+) more: all 100 are in trim-pieces\.csv", text)[1])
    assert 50 < rest < 100
    with files.csv.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 100
    for row, piece in zip(rows, result.pieces, strict=True):
        assert float(row["from_bow_mm"]) == pytest.approx(1000 * (0.84 - piece.centre_m[0]), abs=0.051)
        assert float(row["up_from_keel_mm"]) == pytest.approx(1000 * piece.centre_m[2], abs=0.051)


def test_too_many_warnings_are_counted():
    vessel, result = CASES["everything at once"]
    text = page_text(trim_sheet_pdf(vessel, result, "letter"))
    assert re.search(r"and \d+ more: run dabchick check", text)
    assert re.search(r"and \d+ more: run dabchick trim", text)


def test_names_are_printed_as_they_are_typed():
    vessel, result = CASES["strange names"]
    text = page_text(trim_sheet_pdf(vessel, result))
    assert "#set page(width: 1mm) *b* $x^2$" in text


def test_the_same_boat_gives_the_same_bytes_and_a_date_only_when_given(tmp_path):
    vessel, result = CASES["demo"]
    first, second = (write_trim_sheet(vessel, result, tmp_path / name) for name in ("one", "two"))
    for one, other in zip(first, second, strict=True):
        assert one.read_bytes() == other.read_bytes()
    plain = first.pdf.read_bytes()
    assert b"CreationDate" not in plain
    dated = trim_sheet_pdf(vessel, result, date=datetime.date(2026, 5, 3))
    assert "3 MAY 2026" in page_text(dated)
    assert dated == trim_sheet_pdf(vessel, result, date=datetime.date(2026, 5, 3))


def test_only_typefaces_that_come_with_typst_are_used():
    vessel, result = CASES["demo"]
    fonts = set(re.findall(rb"/FontName\s*/(?:[A-Z]{6}\+)?([\w-]+)", trim_sheet_pdf(vessel, result)))
    assert fonts
    assert all(name.startswith((b"LibertinusSerif", b"DejaVuSansMono", b"NewCM")) for name in fonts)


def test_the_drawing_stands_alone_as_valid_svg_with_text_as_text(tmp_path):
    vessel, result = CASES["strange names"]
    files = write_trim_sheet(vessel, result, tmp_path, paper="letter")
    root = ElementTree.parse(files.svg).getroot()
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert root.get("width") == "191.9mm"
    words = [node.text for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "bow" in words
    assert "http" not in re.sub(r'xmlns="[^"]*"', "", files.svg.read_text("utf-8"))


def test_a_folder_that_cannot_be_made_is_told_with_what_to_do(tmp_path):
    vessel, result = CASES["demo"]
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(BoatError) as caught:
        write_trim_sheet(vessel, result, tmp_path / "file" / "out")
    (advice,) = caught.value.advice
    assert "could not be made" in advice.what
    assert "folder that you may write to" in advice.todo
    assert advice.where == str(tmp_path / "file" / "out")


def test_a_file_that_cannot_be_written_is_told_and_leaves_no_scraps(tmp_path):
    vessel, result = CASES["demo"]
    (tmp_path / "trim-sheet.pdf").mkdir()
    with pytest.raises(BoatError, match="could not be written"):
        write_trim_sheet(vessel, result, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["trim-sheet.pdf"]


def test_an_unknown_paper_is_refused_before_anything_is_written(tmp_path):
    vessel, result = CASES["demo"]
    with pytest.raises(ValueError, match="a4, letter"):
        write_trim_sheet(vessel, result, tmp_path / "out", paper="a5")
    assert not (tmp_path / "out").exists()
