"""Where a command speaks: streams, advice in words, progress that stays away from pipes."""

import json

import pytest

from dabchick.cli.face import ExitCode, Face, advice_as_json
from dabchick.model.advice import Advice

ADVICE = Advice(
    what="Tank 'main' is 0.0 cm long.",
    todo="Give a length above 0.",
    where="boat.toml:14",
    key="tank[1].shape",
    given="0 cm",
    allowed="above 0",
)


def test_advice_goes_to_the_error_stream_with_every_fact_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    Face().errors([ADVICE])
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "Error  boat.toml:14  tank[1].shape",
        "  Tank 'main' is 0.0 cm long.",
        "  given: 0 cm",
        "  allowed: above 0",
        "  Give a length above 0.",
    ]


def test_the_word_says_how_grave_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    Face().warnings([Advice(what="Odd.", todo="Look.", severity="warning")])
    assert capsys.readouterr().out.splitlines()[0] == "Note"


def test_in_json_mistakes_are_the_whole_answer(capsys: pytest.CaptureFixture[str]) -> None:
    Face(as_json=True).errors([ADVICE, ADVICE])
    out, err = capsys.readouterr()
    assert err == ""
    assert json.loads(out) == {"exit_code": ExitCode.WRONG, "errors": [advice_as_json(ADVICE)] * 2}


def test_json_refuses_what_json_cannot_say() -> None:
    with pytest.raises(ValueError, match="JSON"):
        Face(as_json=True).give_json({"trim_deg": float("nan")})


def test_progress_is_silent_where_nobody_looks(capsys: pytest.CaptureFixture[str]) -> None:
    face = Face()
    with face.busy("Looking") as progress:
        progress("stage", 0.5)
    assert capsys.readouterr() == ("", "")


def test_progress_is_seen_on_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm")
    with Face().busy("Looking for lead") as progress:
        progress("least lead", 0.5)
    out, err = capsys.readouterr()
    assert out == ""
    assert "Looking for lead" in err


def test_markup_in_a_builders_text_is_only_text(capsys: pytest.CaptureFixture[str]) -> None:
    Face().say("part [red]keel[/red] [[tank]]")
    assert capsys.readouterr().out == "part [red]keel[/red] [[tank]]\n"
