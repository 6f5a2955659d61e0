"""`dabchick cure` on the trimmed demo boat: exit codes, JSON, the file written, and the page of words."""

from pathlib import Path

import pytest

from tests.support.command import dabchick


@pytest.fixture(scope="module")
def trimmed_text(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The demo boat with a trim written in."""
    from importlib.resources import files
    from shutil import copytree

    from dabchick.storage.apply_trim import apply_trim
    from dabchick.storage.folder import open_boat
    from dabchick.studies.trim import run

    folder = tmp_path_factory.mktemp("cure") / "wren"
    copytree(str(files("dabchick.data") / "demo" / "wren"), folder)
    opened = open_boat(folder)
    assert apply_trim(opened, run(opened.vessel, seconds=4.0))
    return folder, (folder / "boat.toml").read_text()


@pytest.fixture
def wren(trimmed_text: tuple[Path, str]) -> Path:
    folder, text = trimmed_text
    (folder / "boat.toml").write_text(text)
    return folder


def test_cure_is_found_written_and_then_kept(capsys: pytest.CaptureFixture[str], wren: Path) -> None:
    before = (wren / "boat.toml").read_text()
    found = dabchick(
        capsys, "cure", wren, "--least-gm", "5 mm", "--least-bg", "0 mm", "--apply", "--no-trim", "--json"
    )
    assert found.code == 0, found.err
    assert found.json["verdict"]["kept"] is False
    best = found.json["cures"][0]
    assert best["kept"]
    assert best["keeps_trims"]
    assert found.json["applied"]
    text = (wren / "boat.toml").read_text()
    assert text != before
    assert "# my ruler: from the bow going aft" in text, "the builder's own words stay"
    again = dabchick(capsys, "cure", wren, "--least-gm", "5 mm", "--least-bg", "0 mm", "--json")
    assert (again.code, again.json["reason"]) == (0, "kept")
    # By a command of its own: she floats as wished (82 mm in the boat file) within a millimetre.
    afloat = dabchick(capsys, "afloat", wren, "--json").json["lie"]
    assert afloat["draught_bow_m"]["value"] == pytest.approx(0.082, abs=0.001)
    assert afloat["draught_stern_m"]["value"] == pytest.approx(0.082, abs=0.001)


def test_what_nothing_reaches_ends_with_findings_and_a_named_reason(
    capsys: pytest.CaptureFixture[str], wren: Path
) -> None:
    before = (wren / "boat.toml").read_text()
    said = dabchick(capsys, "cure", wren, "--least-gm", "40 mm", "--apply", "--no-trim")
    assert said.code == 1
    assert "Nothing that was tried reaches the limits and keeps both trims." in said.words
    assert "all free room and every rail together are not enough" in said.words
    assert "✗ fail" in said.words
    assert "common practice, no source" in said.words
    assert (wren / "boat.toml").read_text() == before


def test_a_side_weight_gives_the_least_gm(capsys: pytest.CaptureFixture[str], wren: Path) -> None:
    answer = dabchick(
        capsys, "cure", wren, "--side-weight", "1 g", "--side-arm", "10 mm", "--side-heel", "1 deg", "--json",
    )  # fmt: skip
    least = next(entry for entry in answer.json["verdict"]["criteria"] if entry["key"] == "gm_least")
    mass = dabchick(capsys, "weights", wren, "--json").json["mass_kg"]["value"]
    # tan(1 deg) = w b / (M GM)
    assert least["limit"] == pytest.approx(0.001 * 0.010 / (mass * 0.0174550649), rel=1e-6)
    assert answer.code == 0


def test_a_limit_below_zero_is_refused(capsys: pytest.CaptureFixture[str], wren: Path) -> None:
    answer = dabchick(capsys, "cure", wren, "--least-gm=-1 mm")
    assert answer.code == 2
    assert "no length of 0 or more" in answer.words
