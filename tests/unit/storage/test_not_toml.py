"""Broken TOML: the line, and words that help."""

import pytest
import tomlkit
from tomlkit.exceptions import TOMLKitError

from dabchick.storage.not_toml import not_toml


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ('a = 1\nb = "open\nc = 2\n', 2, "not closed"),
        ("a = 1\nb\nc = 2\n", 2, "equals sign"),
        ("a = 1\nb = 71 mm\n", 2, ""),
        ("a = 1\nb = mm\n", 2, "quotes"),
        ("a = 1\na = 2\n", 2, "second time"),
        ("[a]\n[a]\n", 2, "second time"),
        ("[[a]]\n[a]\n", 2, "second time"),
        ("a = [1,\n2\nb = 3\n", 3, "list is not closed"),
        ("a = { b = 1\n", 1, "not closed"),
        ("a = \n", 1, "quotes"),
        ("[a\nb = 1\n", 1, ""),
        ('a = "', 1, "not closed"),
    ],
)
def test_line_and_words(text: str, line: int, words: str) -> None:
    with pytest.raises(TOMLKitError) as caught:
        tomlkit.parse(text)
    advice = not_toml(text, caught.value, "boat.toml")
    assert advice.where == f"boat.toml:{line}"
    assert words in f"{advice.what} {advice.todo}"
    assert advice.given == text.splitlines()[line - 1].strip()


def test_the_first_parsers_word_where_the_second_finds_nothing() -> None:
    with pytest.raises(TOMLKitError) as caught:
        tomlkit.parse("a = 1\nb =\n")
    advice = not_toml("a = 1\nb = 2\n", caught.value, "boat.toml")
    assert advice.where == "boat.toml:2"
