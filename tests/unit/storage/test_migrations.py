"""Old formats step by step, comments kept; the future is refused with advice."""

import pytest
import tomlkit

from dabchick.model.advice import BoatError
from dabchick.model.boat import FORMAT_VERSION
from dabchick.storage.migrations import MIGRATIONS, migrate


def test_newest_is_left_alone() -> None:
    document = tomlkit.parse("dabchick = 1 # mine\n")
    assert not migrate(document, "boat.toml:1")
    assert document.as_string() == "dabchick = 1 # mine\n"


@pytest.mark.parametrize("text", ["", 'dabchick = "one"', "dabchick = true", "dabchick = 1.0"])
def test_no_version_is_left_for_the_reading(text: str) -> None:
    assert not migrate(tomlkit.parse(text), "boat.toml:1")


def test_future_says_update() -> None:
    with pytest.raises(BoatError) as caught:
        migrate(tomlkit.parse("dabchick = 99"), "boat.toml:1")
    (advice,) = caught.value.advice
    assert "Update Dabchick" in advice.todo
    assert (advice.given, advice.allowed, advice.where) == ("99", str(FORMAT_VERSION), "boat.toml:1")


@pytest.mark.parametrize("version", [0, -1])
def test_version_that_never_was(version: int) -> None:
    with pytest.raises(BoatError) as caught:
        migrate(tomlkit.parse(f"dabchick = {version}"), "boat.toml:1")
    assert "no format" in caught.value.advice[0].what


def test_steps_run_in_turn_and_keep_comments() -> None:
    def rename(document: tomlkit.TOMLDocument) -> None:
        document["title"] = document.pop("name")

    def shout(document: tomlkit.TOMLDocument) -> None:
        document["title"] = str(document["title"]).upper()

    document = tomlkit.parse('# mine\ndabchick = 1\nname = "wren"\nkept = 3 # too\n')
    assert migrate(document, "boat.toml:1", {1: rename, 2: shout}, newest=3)
    text = document.as_string()
    assert document.unwrap() == {"dabchick": 3, "kept": 3, "title": "WREN"}
    assert "# mine" in text
    assert "# too" in text


def test_a_step_leads_to_every_format_but_the_first() -> None:
    assert set(MIGRATIONS) == set(range(1, FORMAT_VERSION))
