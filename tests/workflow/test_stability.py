"""The way down and up as a builder gets it: the command's words, codes and JSON, and the files it leaves."""

import csv
import io
import json
import math
import re
import shutil
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pypdfium2
import pytest
from PIL import Image

from dabchick.cli.demo import copy_boat
from dabchick.model.advice import BoatError
from dabchick.report.stability_sheet import stability_sheet_pdf, write_stability
from dabchick.report.stability_tables import arms_csv, stages_csv
from dabchick.report.stability_words import event_words, sentence
from dabchick.storage.folder import open_boat
from dabchick.studies import stability
from dabchick.studies.dive_path import through
from dabchick.studies.other_water import in_water
from dabchick.studies.result import as_json
from tests.support.command import dabchick
from tests.support.dives import cases

Capsys = pytest.CaptureFixture[str]
CASES = cases()
FEW = ("--stages", "4")
FILES = [
    "stability-sheet.pdf", "dive-diagram.svg", "dive-diagram.png", "righting-arms.svg", "righting-arms.png",
    "dive-strip.svg", "dive-strip.png", "stability-stages.csv", "stability-arms.csv",
]  # fmt: skip


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("boat") / "wren"
    copy_boat(folder)
    return folder


def page_text(pdf: bytes) -> str:
    with pypdfium2.PdfDocument(pdf) as document:
        assert len(document) == 1
        return re.sub(r"\s+", " ", document[0].get_textpage().get_text_range())


def text_box(pdf: bytes) -> tuple[float, float, float, float]:
    """Least and greatest of all letters on the page [mm]: left, foot, right, top."""
    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0].get_textpage()
        boxes = [page.get_charbox(index) for index in range(page.count_chars())]
    solid = [box for box in boxes if box[3] > box[1] and box[2] > box[0]]
    ends = [
        min(b[0] for b in solid),
        min(b[1] for b in solid),
        max(b[2] for b in solid),
        max(b[3] for b in solid),
    ]
    left, foot, right, top = (end * 25.4 / 72.0 for end in ends)
    return left, foot, right, top


# --- The sheet.


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("case", CASES)
def test_the_sheet_is_one_page_that_holds_the_sentence_within_its_margins(case, paper):
    vessel, result = CASES[case]
    pdf = stability_sheet_pdf(vessel, result, paper)
    wide, high = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
    with pypdfium2.PdfDocument(pdf) as document:
        assert [side * 25.4 / 72.0 for side in document[0].get_size()] == pytest.approx(
            [wide, high], abs=0.05
        )
    text = page_text(pdf)
    assert " ".join(sentence(vessel, result).split()) in text
    for heading in (
        "STABILITY SHEET",
        "DIVE DIAGRAM",
        "RIGHTING ARMS",
        "DIVE STRIP",
        "WARNINGS AND ASSUMPTIONS",
    ):
        assert heading in text
    assert "the rules of the water you use" in text  # the caution stands last on the page
    left, foot, right, top = text_box(pdf)
    assert foot > 6.0
    assert top < high - 8.0
    assert left > 10.0
    assert right < wide - 10.0


def test_the_sheet_shows_the_main_figures():
    vessel, result = CASES["over"]
    text = page_text(stability_sheet_pdf(vessel, result))
    # By hand: GM 0.9 and BG 0.003 - 0.001 * 0.53 m at the least moment, 38.2 + 20 * 0.45 deg of heel when full.
    for words in ("LEAST GM 0.9 mm ± 0.7 mm", "BG THERE 2.5 mm ± 0.6 mm", "+47.2°", "LIFT AT LAST 200.0 g"):
        assert words in text, words


def test_too_many_warnings_are_counted():
    vessel, result = CASES["everything at once"]
    assert re.search(
        r"and \d+ more: run dabchick stability --json", page_text(stability_sheet_pdf(vessel, result))
    )


def test_only_typefaces_that_come_with_typst_are_used():
    fonts = set(re.findall(rb"/FontName\s*/(?:[A-Z]{6}\+)?([\w-]+)", stability_sheet_pdf(*CASES["over"])))
    assert fonts
    assert all(name.startswith((b"LibertinusSerif", b"DejaVuSansMono", b"NewCM")) for name in fonts)


# --- The files.


def test_all_files_are_written_and_the_same_inputs_give_the_same_bytes(tmp_path):
    vessel, result = CASES["over"]
    one, other = (write_stability(vessel, result, tmp_path / name) for name in ("one", "two"))
    assert [path.name for path in one] == FILES
    for first, second in zip(one, other, strict=True):
        assert first.read_bytes() == second.read_bytes()
    assert b"CreationDate" not in one[0].read_bytes()
    for path in one:
        if path.suffix == ".svg":
            assert ElementTree.parse(path).getroot().tag == "{http://www.w3.org/2000/svg}svg"
        if path.suffix == ".png":
            with Image.open(path) as picture:
                assert picture.format == "PNG"
                assert picture.width == pytest.approx(1860, abs=1)


def test_nothing_is_written_where_one_cannot_be_made(tmp_path, monkeypatch):
    vessel, result = CASES["over"]
    with pytest.raises(ValueError, match="a4, letter"):
        write_stability(vessel, result, tmp_path / "out", paper="a5")
    monkeypatch.setattr(
        "dabchick.report.stability_sheet.arms_csv",
        lambda *given: (_ for _ in ()).throw(RuntimeError("no table")),
    )
    with pytest.raises(RuntimeError, match="no table"):
        write_stability(vessel, result, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(BoatError, match="could not be made") as caught:
        write_stability(*CASES["two stages"], tmp_path / "file" / "out")
    assert "stability files" in caught.value.advice[0].what


@pytest.mark.parametrize(("case", "unit", "metres", "mass", "kilograms"), [
    ("over", "mm", 1e-3, "g", 1e-3),
    ("sinks", "mm", 1e-3, "g", 1e-3),
    # 1 in = 25.4 mm, 1 oz = 28.349523125 g: NIST SP 811 (2008), B.8
    ("everything at once", "in", 0.0254, "oz", 0.028349523125),
])  # fmt: skip
def test_the_tables_read_back_are_the_result(case, unit, metres, mass, kilograms):
    vessel, result = CASES[case]
    stages = (*result.down, *result.up)
    rows = list(csv.DictReader(io.StringIO(stages_csv(vessel, result))))
    assert len(rows) == len(stages)

    def value(text):
        return float(text) if text else math.nan

    for row, stage in zip(rows, stages, strict=True):
        lie, curve = stage.lie, stage.arms
        assert (row["way"], row["state"], row["stable"]) == (
            stage.way,
            lie.condition,
            "yes" if lie.stable else "no",
        )
        wanted = {
            "progress_share": stage.progress,
            f"draught_bow_{unit}": lie.draught_bow_m.value / metres,
            f"draught_stern_{unit}": lie.draught_stern_m.value / metres,
            f"draught_stern_spread_{unit}": lie.draught_stern_m.spread / metres,
            f"freeboard_{unit}": lie.freeboard_m.value / metres,
            "heel_deg": lie.heel_deg.value,
            "trim_spread_deg": lie.trim_deg.spread,
            f"lift_{mass}": lie.lift_kg.value / kilograms,
            f"mass_{mass}": lie.mass_kg.value / kilograms,
            f"gm_across_{unit}": lie.gm_transverse_m.value / metres,
            f"gm_along_{unit}": lie.gm_longitudinal_m.value / metres,
            f"bg_{unit}": lie.bg_m.value / metres,
            f"bg_spread_{unit}": lie.bg_m.spread / metres,
            f"free_surface_{unit}": stage.free_surface_m / metres,
            f"waterplane_{unit}2": stage.waterplane_m2 / metres**2,
            "range_port_deg": curve.range_port_deg,
            "range_starboard_deg": curve.range_starboard_deg,
            f"area_port_{unit}_rad": curve.area_port_m_rad / metres,
            f"area_starboard_{unit}_rad": curve.area_starboard_m_rad / metres,
            f"greatest_arm_{unit}": curve.greatest_m / metres,
            "greatest_at_deg": curve.greatest_at_deg,
            "loll_deg": curve.loll_deg,
        } | {f"filled_{name}_share": share for name, share in lie.fills.items()}
        for key, number in wanted.items():
            assert value(row[key]) == pytest.approx(number, rel=1e-9, nan_ok=True), key
    arms = list(csv.DictReader(io.StringIO(arms_csv(vessel, result))))
    given = [
        (stage.way, stage.progress, *point)
        for stage in stages
        for point in zip(stage.arms.heels_deg, stage.arms.arms_m, stage.arms.trims_deg, strict=True)
    ]
    assert len(arms) == len(given)
    for row, (way, progress, heel, arm, trim) in zip(arms, given, strict=True):
        assert row["way"] == way
        read = [float(row[key]) for key in ("progress_share", "heel_deg", f"arm_{unit}", "trim_deg")]
        assert read == pytest.approx([progress, heel, arm / metres, trim], rel=1e-9, abs=1e-12)


# --- The command.


def test_the_command_says_the_sentence_the_events_and_both_tables(wren, capsys, monkeypatch):
    vessel, result = CASES["over"]
    monkeypatch.setattr(stability, "run", lambda *given, **more: result)
    monkeypatch.setattr("dabchick.studies.other_water.in_water", lambda *given: vessel)
    answer = dabchick(capsys, "stability", wren)
    assert answer.code == 1
    words = answer.words.replace("\u00a0", " ")
    assert sentence(vessel, result).replace("\u00a0", " ") in words
    for index, event in enumerate(result.events, start=1):
        assert f"{index}. {event_words(vessel, event)}".replace("\u00a0", " ") in words
    assert "Coming up she passes the same stages, but for these:" in words
    assert max(len(line) for line in answer.out.splitlines()) <= 100
    # Both ways: 21 stages down and the four that differ coming up, in two narrow tables each.
    rows = [line for line in answer.out.splitlines() if re.match(r" *\d+\s%", line)]
    assert len(rows) == 2 * (21 + 4)


def test_without_findings_it_ends_well_and_says_that_up_is_as_down(wren, capsys, monkeypatch):
    vessel, result = CASES["steady"]
    monkeypatch.setattr(stability, "run", lambda *given, **more: result)
    monkeypatch.setattr("dabchick.studies.other_water.in_water", lambda *given: vessel)
    answer = dabchick(capsys, "stability", wren)
    assert answer.code == 0
    assert "Coming up she passes the same stages." in answer.words


def test_every_curve_of_rests_is_asked_for_only_with_all(wren, capsys, monkeypatch):
    vessel, result = CASES["steady"]
    asked = []
    monkeypatch.setattr(stability, "run", lambda *given, **more: asked.append(more) or result)
    monkeypatch.setattr("dabchick.studies.other_water.in_water", lambda *given: vessel)
    assert "curves of rests" not in dabchick(capsys, "stability", wren).words
    assert "0 curves of rests; there may be more" in dabchick(capsys, "stability", wren, "--all").words
    assert ["every" in more for more in asked] == [False, True]


def test_command_and_python_give_the_same_digits(wren, capsys):
    answer = dabchick(
        capsys, "stability", wren, "--json", *FEW, "--through", "0,30%,1", "--temperature", "20 degC", "--salinity",
        "35 g/kg",
    )  # fmt: skip
    vessel = in_water(open_boat(wren).vessel, 20.0, 35.0)
    result = stability.run(vessel, through(vessel, [0.0, 0.3, 1.0]), stages=4)
    assert json.dumps(answer.json) == json.dumps(as_json(result))
    assert answer.json["water_density_kg_m3"] == pytest.approx(vessel.water_density_kg_m3)
    assert len(answer.json["down"]) == len(answer.json["up"]) == 4


def test_files_go_where_they_are_wanted_and_the_answer_names_them(wren, capsys, tmp_path):
    out = tmp_path / "a folder" / "out"
    answer = dabchick(capsys, "stability", wren, *FEW, "--out", out, "--paper", "letter", "--json")
    assert [Path(name).name for name in answer.json["written"]] == FILES
    assert sorted(path.name for path in out.iterdir()) == sorted(FILES)
    with pypdfium2.PdfDocument(out / "stability-sheet.pdf") as document:
        assert document[0].get_size()[1] * 25.4 / 72.0 == pytest.approx(279.4, abs=0.05)
    told = dabchick(capsys, "stability", wren, *FEW, "--out", out)
    assert f"Wrote {out / 'dive-strip.png'}." in told.words


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--order", "main,bow"), "There is no tank named 'bow'"),
        (("--rate", "main=20ml"), "is no rate of filling"),
        (("--rate", "main=-2ml/s"), "fills at a rate above zero"),
        (("--through", "0,2"), "cannot be filled to 2"),
        (("--through", "0.5"), "no tank takes any water"),
        (("--through", "0,half"), "is no set of fills"),
        (("--order", "main", "--through", "0,1"), "each say how the tanks fill"),
        (("--fills", "missing.csv"), "No such file"),
        (("--stages", "1"), "--stages"),
        (("--paper", "a5"), "--paper"),
        (("--temperature", "8"), "degC"),
        (("--salinity", "35 mm"), "salinity"),
    ],
)
def test_wrong_options_are_answered_with_advice(wren, capsys, arguments, words):
    answer = dabchick(capsys, "stability", wren, *arguments)
    assert answer.code == 2
    assert words in answer.words
    told = dabchick(capsys, "stability", wren, *arguments, "--json").json
    assert told["exit_code"] == 2
    assert all(entry["what"] and entry["todo"] for entry in told["errors"])


def test_a_boat_without_a_tank_is_told_so(tmp_path, capsys):
    folder = tmp_path / "wren"
    copy_boat(folder)
    file = folder / "boat.toml"
    text = file.read_text("utf-8")
    start = text.index("[[tank]]")
    end = re.search(r"\n\[(?!\[tank)", text[start + 1 :])
    file.write_text(text[:start] + (text[start + 1 + end.start() :] if end else ""), encoding="utf-8")
    answer = dabchick(capsys, "stability", folder)
    assert answer.code == 2
    assert "no tank" in answer.words


@pytest.mark.parametrize(("columns", "tables"), [(50, 3), (80, 2), (100, 1), (200, 1)])
def test_narrow_and_wide_windows_hold_every_figure(wren, capsys, monkeypatch, columns, tables):
    vessel, result = CASES["steady"]
    monkeypatch.setattr(stability, "run", lambda *given, **more: result)
    monkeypatch.setattr("dabchick.studies.other_water.in_water", lambda *given: vessel)
    monkeypatch.setenv("COLUMNS", str(columns))
    out = dabchick(capsys, "stability", wren).out
    assert max(len(line) for line in out.splitlines()) <= min(columns, 100)
    assert "…" not in out
    assert len([line for line in out.splitlines() if re.match(r" *100\s%", line)]) == tables


def test_a_table_of_fills_by_file(wren, capsys, tmp_path):
    table = tmp_path / "way.csv"
    table.write_text("main\n0\n40%\n0.1\n", encoding="utf-8")
    answer = dabchick(capsys, "stability", wren, "--json", "--fills", table, *FEW)
    assert answer.json["path"]["shares"] == [[0.0], [0.4], [0.1]]


def test_the_boat_s_folder_stays_as_it_was(wren, capsys, tmp_path):
    copied = tmp_path / "copy"
    shutil.copytree(wren, copied)
    before = {path.name: path.read_bytes() for path in copied.iterdir() if path.is_file()}
    dabchick(capsys, "stability", copied, *FEW, "--out", tmp_path / "out")
    assert {path.name: path.read_bytes() for path in copied.iterdir() if path.is_file()} == before


def test_a_wish_that_is_not_known_stays_out_of_the_tables():
    vessel, result = CASES["steady"]
    odd = replace(vessel, name='Comma, "quote"')
    rows = list(csv.reader(io.StringIO(stages_csv(odd, result))))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert "nan" not in stages_csv(odd, result)
