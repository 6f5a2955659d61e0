"""`dabchick compare` as a builder meets it: two folders, an earlier version, and what cannot be compared."""

import re
from pathlib import Path

import pytest

from dabchick.cli.demo import copy_boat
from dabchick.storage.folder import open_boat
from dabchick.storage.journal import Journal
from dabchick.studies import compare
from dabchick.studies.result import as_json
from tests.support.command import dabchick

Capsys = pytest.CaptureFixture[str]


def heavier(folder: Path) -> str:
    """The boat file with the battery 20 g heavier; it stands there as 506 g."""
    text = (folder / "boat.toml").read_text("utf-8")
    assert text.count('"506 g"') == 1
    return text.replace('"506 g"', '"526 g"')


def test_two_folders_side_by_side(wren: Path, tmp_path: Path, capsys: Capsys) -> None:
    second = tmp_path / "second"
    copy_boat(second)
    (second / "boat.toml").write_text(heavier(second), "utf-8")
    answer = dabchick(capsys, "compare", wren, second)
    assert answer.code == 0
    assert "Against Wren in wren, Wren in second is 20.0 g heavier" in answer.words
    assert re.search(r"Mass, tanks empty +\S+ g +\S+ g +\+20\.0 g", answer.out.replace("\u00a0", " "))
    assert re.search(r"Tanks +\S+ ml +\S+ ml +same", answer.out.replace("\u00a0", " "))
    assert "battery: mass 506 g → 526 g" in answer.words
    told = dabchick(capsys, "compare", wren, second, "--json").json
    assert told.pop("file_differences") == ["battery: mass 506 g → 526 g"]
    titles = ("Wren in wren", "Wren in second")
    assert told == as_json(compare.run(open_boat(wren).vessel, open_boat(second).vessel, titles))


def test_a_named_version_and_a_step_beside_now(wren: Path, capsys: Capsys) -> None:
    journal = Journal(wren / "boat.toml")
    journal.name(journal.step.number, "Before the bath")
    journal.change("Battery", heavier(wren), journal.revision)
    answer = dabchick(capsys, "compare", wren, "--version", "before the Bath")
    assert answer.code == 0
    assert "Against Before the bath, Wren now is 20.0 g heavier" in answer.words
    first = min(journal.steps)
    assert "+20.0" in dabchick(capsys, "compare", wren, "--step", first).words
    answer = dabchick(capsys, "compare", wren, "--version", "never")
    assert answer.code == 2
    assert "'Before the bath'" in answer.words
    answer = dabchick(capsys, "compare", wren, "--step", "99")
    assert answer.code == 2
    assert "There is no step 99" in answer.words


def test_a_version_that_reads_no_more(wren: Path, capsys: Capsys) -> None:
    journal = Journal(wren / "boat.toml")
    right = journal.text
    journal.change("Another hull", right.replace("wren-stations.csv", "gone.csv"), journal.revision)
    journal.name(journal.step.number, "lost hull")
    journal.change("Back", right, journal.revision)
    answer = dabchick(capsys, "compare", wren, "--version", "lost hull")
    assert answer.code == 2
    assert "'lost hull' cannot be read with the files" in answer.words
    assert "gone.csv" in answer.words


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ((), "Nothing to compare her with"),
        (("--step", "1", "--version", "one"), "More than one thing"),
        (("--step", "1"), "no earlier versions yet"),
        (("nowhere",), "does not exist"),
    ],
)
def test_what_cannot_be_compared(wren: Path, capsys: Capsys, more: tuple[str, ...], words: str) -> None:
    answer = dabchick(capsys, "compare", wren, *more)
    assert answer.code == 2
    assert words in answer.words


def test_one_that_does_not_hold_ends_with_1(wren: Path, tmp_path: Path, capsys: Capsys) -> None:
    second = tmp_path / "second"
    copy_boat(second)
    (second / "boat.toml").write_text(heavier(second).replace('"526 g"', '"2.5 kg"'), "utf-8")
    assert dabchick(capsys, "compare", wren, second).code == 1
