"""A builder asks what fits: the words of the command, its exit codes, and mistakes explained."""

from pathlib import Path

import pytest

from dabchick.cli.demo import copy_boat
from tests.support.command import dabchick

Capsys = pytest.CaptureFixture[str]


@pytest.fixture
def wren(tmp_path: Path) -> Path:
    copy_boat(tmp_path / "wren")
    return tmp_path / "wren"


def flat(text: str) -> str:
    return " ".join(text.replace("\xa0", " ").split())


def test_the_demo_boat_fits_but_for_what_is_to_touch(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "fit", wren)
    assert answer.code == 0
    text = flat(answer.out)
    assert "pairs touch" in text
    assert "share room" not in text
    # Worked by hand from her file: cylinder 48 - 40 = 8 mm up, keel bar 5 + 2.5 = 7.5 mm.
    assert "cylinder keel bar too near 0.5 mm" in text
    assert "common practice, no source" in text


def test_two_parts_in_one_place_are_findings(wren: Path, capsys: Capsys) -> None:
    file = wren / "boat.toml"
    text = file.read_text("utf-8")
    old = 'at = ["270 mm", 0, "30 mm"]'
    assert text.count(old) == 1
    file.write_text(text.replace(old, 'at = ["270 mm", 0, "25 mm"]'), encoding="utf-8")
    answer = dabchick(capsys, "fit", wren)
    assert answer.code == 1
    # The battery's underside comes to 13.5 mm, the tray reaches from 16 to 18 mm: the whole tray's height, 44 mm wide,
    # under 172 of the tray's 180 mm. On its rail it goes 5 mm one way and 4 mm the other: never more than those 172.
    assert "battery tray in one place 15.1 ml" in flat(answer.out)


def test_the_way_in(wren: Path, capsys: Capsys) -> None:
    stopped = dabchick(capsys, "fit", wren, "--slide", "cylinder", "--opened", "82 mm")
    assert stopped.code == 1
    assert "Does not go in" in flat(stopped.out)
    assert "Hull stops it" in flat(stopped.out)
    # Opened at its own axis, where she is widest, there is 95 mm and more of room for 80 mm.
    through = dabchick(capsys, "fit", wren, "--slide", "cylinder", "--opened", "48 mm")
    assert through.code == 0
    assert "Goes in" in flat(through.out)


def test_the_largest_cylinder(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "fit", wren, "--cylinder-diameter", "80 mm")
    assert answer.code == 0
    assert "The longest cylinder of 80.0 mm that fits is" in flat(answer.out)
    again = dabchick(capsys, "fit", wren, "--cylinder-length", "490 mm")
    assert "The widest cylinder of 490.0 mm that fits has" in flat(again.out)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--clearance", "wide"), "--clearance"),
        (("--turn", "rudder"), "part, axis and angle"),
        (("--turn", "rudder=z far"), "--turn"),
        (("--slide", "cylinder", "--from", "below"), "bow, stern or top"),
        (("--past", "everything"), "parts or nothing"),
        (("--slide", "cylinder", "--cylinder-length", "1 m"), "one at a time"),
        (("--slide", "battery"), "goes in with it"),
        (("--cylinder-diameter", "1 m"), "No cylinder of this diameter"),
    ],
)
def test_mistakes_are_explained(wren: Path, capsys: Capsys, options: tuple[str, ...], said: str) -> None:
    answer = dabchick(capsys, "fit", wren, *options)
    assert answer.code == 2
    assert said in flat(answer.err)
