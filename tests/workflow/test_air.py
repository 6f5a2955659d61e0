"""Trapped air as a builder meets it at the command line: asked, vents proposed, made in the file, asked again."""

from pathlib import Path

import pytest

from tests.support.command import dabchick

Capsys = pytest.CaptureFixture[str]


def test_vents_that_are_proposed_let_the_air_out_once_they_stand_in_the_file(
    wren: Path, capsys: Capsys
) -> None:
    answer = dabchick(capsys, "air", wren, "--pitch", "15 deg", "--vents", "--leave", "1 ml", "--json").json
    before = answer["volume_m3"]
    plan = answer["vents"]
    assert plan["within"]
    assert before > 50e-6
    # her ruler lies at the bow, 900 mm from the stern, and at the keel
    rows = "".join(
        f'  {{ at = ["{(0.9 - x) * 1e3:.3f} mm", "{y * 1e3:.3f} mm", "{z * 1e3:.3f} mm"], '
        f'area = "{vent["area_m2"] * 1e6:.3f} mm^2" }},\n'
        for vent in plan["vents"]
        if vent["opening"] == 0
        for x, y, z in [vent["at_m"]]
    )
    file = wren / "boat.toml"
    text = file.read_text("utf-8")
    assert text.count("openings = [\n") == 1
    file.write_text(text.replace("openings = [\n", f"openings = [\n{rows}"), encoding="utf-8")
    for pitch in ("0", "15 deg", "-15 deg"):
        left = dabchick(capsys, "air", wren, "--pitch", pitch, "--json").json["volume_m3"]
        assert left <= 1e-6


def test_the_answer_in_words(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "air", wren, "--pitch", "15 deg", "--vents")
    assert answer.code == 0
    for text in (
        "Dived 15 deg bow up, Wren keeps",
        "Let go under water she hangs",
        "held by",
        "10 m of water",
        "heavier at depth",
        "new vent",
        "over the keel",
        "Assumed:",
    ):
        assert text in answer.words, text


def test_afloat_says_what_it_does_with_the_air(wren: Path, capsys: Capsys) -> None:
    assert "no air is caught in her" in dabchick(capsys, "afloat", wren).words
    answer = dabchick(capsys, "afloat", wren, "--dived", "--air")
    assert "no air is caught in her" not in answer.words
    assert "Wholly under, she keeps" in answer.words


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--pitch", "steep"), "--pitch"),
        (("--depth", "2 kg"), "--depth"),
        (("--pitch", "120 deg"), "-89 to 89 deg"),
        (("--vents", "--leave", "-1 ml"), "0 ml or more"),
    ],
)
def test_what_cannot_be_asked_is_told_with_what_can(
    wren: Path, capsys: Capsys, arguments: tuple[str, ...], said: str
) -> None:
    answer = dabchick(capsys, "air", wren, *arguments)
    assert answer.code == 2
    assert said in answer.err


def test_a_boat_without_openings_is_told_what_to_do(wren: Path, capsys: Capsys) -> None:
    file = wren / "boat.toml"
    text = file.read_text("utf-8")
    start = text.index("openings = [")
    file.write_text(text[:start] + text[text.index("\n]\n", start) + 3 :], encoding="utf-8")
    answer = dabchick(capsys, "air", wren)
    assert answer.code == 0
    assert "all the air in her stays in" in answer.words
    assert "dabchick air --vents" in answer.words
