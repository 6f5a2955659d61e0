"""Water that lags as a builder meets it at the command line: asked, a limit set, the openings made, asked again."""

from pathlib import Path

import pytest

from tests.support.command import dabchick

Capsys = pytest.CaptureFixture[str]


def test_openings_that_are_proposed_keep_the_limit_once_they_stand_in_the_file(
    wren: Path, capsys: Capsys
) -> None:
    """A limit halfway between what she has and what she had if no water lagged."""
    first = dabchick(capsys, "drain", wren, "--blow", "10 s", "--json").json
    up = first["up"]
    limit = 0.5 * (up["least_gm_m"] + up["least_drained_gm_m"])
    answer = dabchick(capsys, "drain", wren, "--blow", "10 s", "--limit", f"{limit * 1e3:.6f} mm", "--json")
    assert answer.code == 1
    (cure,) = answer.json["remedies"]
    assert cure["smaller_gm_m"] < limit <= cure["gm_m"]
    file = wren / "boat.toml"
    text = file.read_text("utf-8")
    for now in ("60 mm^2", "90 mm^2"):
        wide = float(now.split()[0]) * cure["factor"] * 1.02
        text = text.replace(f'area = "{now}"', f'area = "{wide:.3f} mm^2"')
    file.write_text(text, encoding="utf-8")
    again = dabchick(capsys, "drain", wren, "--blow", "10 s", "--json").json
    assert again["up"]["least_gm_m"] >= limit - 1e-6
    assert again["up"]["times"][0]["to_95_s"] < up["times"][0]["to_95_s"]


def test_the_answer_in_words_with_a_casing_of_its_own(wren: Path, capsys: Capsys) -> None:
    file = wren / "boat.toml"
    casing = (
        '\n[[space]]\nname = "casing"\nlow = ["0 mm", "-20 mm", "90 mm"]\nhigh = ["900 mm", "20 mm", "120 mm"]\n'
        'openings = [ { at = ["420 mm", 0, "90 mm"], area = "80 mm^2" } ]\n'
    )
    file.write_text(file.read_text("utf-8") + casing, encoding="utf-8")
    answer = dabchick(capsys, "drain", wren, "--blow", "10 s")
    assert answer.code == 0
    for text in (
        "Blown in 10.0 s, Wren",
        "Coming up:",
        "Going down:",
        "casing",
        "drains",
        "floods",
        "By the edge of her holes",
        "Assumed:",
        "coefficient of discharge 0.62",
    ):
        assert text in answer.words, text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--blow", "soon"), "20 s"),
        (("--blow", "0 s"), "0.1 s to 1 day"),
        (("--cd", "3"), "0.1 to 1"),
        (("--rate", "20ml/s"), "--rate main=20ml/s"),
        (("--rate", "main=20 ml"), "20 ml/s"),
        (("--rate", "aft=20 ml/s"), "main"),
        (("--limit", "2 g"), "--limit"),
    ],
)
def test_what_cannot_be_asked_is_told_with_what_can(
    wren: Path, capsys: Capsys, arguments: tuple[str, ...], said: str
) -> None:
    answer = dabchick(capsys, "drain", wren, *arguments)
    assert answer.code == 2
    assert said in answer.err
