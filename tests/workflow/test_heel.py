"""`dabchick heel` as a builder meets it: the checks, the causes, what is wrong with a question, exit codes."""

from pathlib import Path

import pytest

from tests.support.command import dabchick

Capsys = pytest.CaptureFixture[str]


def test_without_a_cause_it_says_how_much_she_bears(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "heel", wren)
    assert answer.code == 0
    assert "10 g moved 10 mm across heels Wren" in answer.words
    for label in ("10 g by 10 mm", "moment to 5°", "moment to 20°", "most, starboard", "most, port", "N mm"):
        assert label in answer.words


def test_inch_units_and_the_band(wren: Path, capsys: Capsys) -> None:
    file = wren / "boat.toml"
    text = file.read_text("utf-8")
    file.write_text(text.replace('units = "metric"', 'units = "inch"'), "utf-8")
    answer = dabchick(capsys, "heel", wren, "--power", "9 W", "--rpm", "2500", "--wind", "9 kn")
    assert "oz in" in answer.words
    assert "Propeller ahead" in answer.words
    assert "in²" in answer.words
    assert "45 to 85 %" in answer.words


def test_what_lays_her_over_ends_with_1(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "heel", wren, "--power", "200 W", "--rpm", "1000")
    assert answer.code == 1
    assert "lays Wren over" in answer.words
    assert "goes over" in answer.words


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--power", "20 W"), ["--rpm", "needs both the power and the turns"]),
        (("--power", "20", "--rpm", "0"), ['"20 W"']),
        (("--power", "20 W", "--rpm", "0"), ["above 0"]),
        (("--efficiency", "60%"), ["says nothing without a power"]),
        (("--turn", "1 m"), ["--speed", "needs her speed"]),
        (("--speed", "1 m/s"), ["--turn", "radius or its rate"]),
        (("--turn", "1 m", "--rate", "20 deg/s", "--speed", "1 m/s"), ["both are given"]),
        (("--speed", "1 m/s", "--rate", "0"), ["above zero"]),
        (("--wind", "5 deg"), ["is an angle"]),
        (("--drag", "1.2"), ["says nothing without wind"]),
        (("--wind", "5 m/s", "--gust", "4 m/s"), ["weaker than the steady wind"]),
        (("--side", "50g"), ["50g@20mm"]),
        (("--side", "50g@20"), ["has no unit"]),
        (("--side", "50g@1mm,2mm"), ["no weight and place"]),
        (("--fill", "half"), ["no tank fill"]),
    ],
)
def test_a_question_that_cannot_be_is_answered_with_advice(
    wren: Path, capsys: Capsys, arguments: tuple[str, ...], words: list[str]
) -> None:
    answer = dabchick(capsys, "heel", wren, *arguments)
    assert answer.code == 2
    for word in words:
        assert word in answer.words + " ".join(answer.err.split())
