"""Air and depth at the command line: the sentence, the tables, exit codes, both sets of units, what cannot be asked."""

from pathlib import Path

import pytest

from dabchick.cli.demo import copy_boat
from dabchick.storage.folder import open_boat
from dabchick.studies import squeeze
from dabchick.studies.result import as_json
from tests.support.command import dabchick
from tests.support.gas_boat import write_gas_boat

Capsys = pytest.CaptureFixture[str]


@pytest.fixture
def coot(tmp_path: Path) -> Path:
    return write_gas_boat(tmp_path / "coot")


def test_the_answer_in_words(coot: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "squeeze", coot)
    found = squeeze.run(open_boat(coot).vessel)
    track = found.tracks[0]
    assert answer.code == 0
    assert answer.out.startswith(
        f"She loses {track.loss_at_surface.kg_m * 1e3:.1f}\u00a0g of lift per metre;"
    )
    for text in (
        f"below {track.neutral_depth_m:.1f} m she will not come back on this air",
        "lift +12.0 g just under",
        "above it she rises, below it she falls",
        f"must hold {found.needed_m3 * 1e6:.1f} ml of air",
        "a closed tank (bag or piston)",
        "brings her back from",
        "300.0 mm from the bow",
        "Caution: Gas under pressure can hurt",
        "1013.25 hPa",
    ):
        assert text in answer.words, text


def test_from_where_she_cannot_come_back_the_shell_is_told(coot: Path, capsys: Capsys) -> None:
    deep = dabchick(capsys, "squeeze", coot, "--depth", "5m")
    assert deep.code == 1
    assert "does not come back" in deep.words
    blown = dabchick(capsys, "squeeze", coot, "--depth", "5m", "--blow", "20 ml")
    assert blown.code == 0
    assert "she will not come back on this blow" in blown.words
    # 20 ml of air weigh some 0.025 g
    assert dabchick(capsys, "squeeze", coot, "--depth", "5m", "--gas", "0.025 g").code == 0


def test_the_same_digits_as_from_python(coot: Path, capsys: Capsys) -> None:
    told = dabchick(
        capsys,
        "squeeze",
        coot,
        "--fill",
        "main=0.6",
        "--depth",
        "3m",
        "--blow",
        "10 ml",
        "--gas",
        "10 mg",
        "--json",
    ).json
    study = squeeze.run(open_boat(coot).vessel, fills=[{"main": 0.6}], blow_m3=1e-5, blow_kg=1e-5)
    assert told == as_json(study)


def test_fills_are_found(coot: Path, capsys: Capsys) -> None:
    lift = dabchick(capsys, "squeeze", coot, "--lift", "20 g", "--json").json
    assert lift["tracks"][0]["lift_under_kg"] == pytest.approx(0.020, abs=1e-9)
    neutral = dabchick(capsys, "squeeze", coot, "--neutral", "2 m", "--json").json
    assert neutral["tracks"][0]["neutral_depth_m"] == pytest.approx(2.0, abs=1e-6)


def test_inches(coot: Path, capsys: Capsys) -> None:
    file = coot / "boat.toml"
    file.write_text(file.read_text("utf-8").replace('units = "metric"', 'units = "inch"'), encoding="utf-8")
    words = dabchick(capsys, "squeeze", coot).words
    for text in ("oz of lift per foot", "Each ounce of weight moves", "lost per foot", "ft"):
        assert text in words, text


def test_a_boat_whose_tank_holds_its_water_gets_a_clear_answer(tmp_path: Path, capsys: Capsys) -> None:
    copy_boat(tmp_path / "wren")
    answer = dabchick(capsys, "squeeze", tmp_path / "wren")
    assert answer.code == 0
    assert answer.words.startswith(
        "Wren has nothing that depth squeezes: her tank main holds its water, so she keeps"
    )
    assert "Caution" not in answer.words
    assert "the water in it is held at any depth" in answer.words
    air = dabchick(capsys, "squeeze", tmp_path / "wren", "--air")
    assert "of lift per metre" in air.words
    assert "the pockets she goes under with" in air.words


def test_two_ways_to_hang_are_told(tmp_path: Path, capsys: Capsys) -> None:
    long = write_gas_boat(tmp_path / "long", tank_long="400 mm", lead_g=560.0)
    answer = dabchick(capsys, "squeeze", long, "--fill", "0.9")
    assert "she may hang in more than one way" in answer.words
    assert "or trim" in answer.words


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--depth", "deep"), "--depth"),
        (("--depth", "0 m"), "0 to 100 m"),
        (("--fill", "0.5", "--lift", "3 g"), "Give one of them"),
        (("--fill", "aft=0.5"), "There is no tank named 'aft'"),
        (("--blow", "-5 ml"), "0 ml or more"),
    ],
)
def test_what_cannot_be_asked_is_told_with_what_can(
    coot: Path, capsys: Capsys, arguments: tuple[str, ...], said: str
) -> None:
    answer = dabchick(capsys, "squeeze", coot, *arguments)
    assert answer.code == 2
    assert said in answer.words
