"""Colours are readable, and the page on looks states the same figures."""

import re
from pathlib import Path

import pytest

from dabchick.report.palette import GROUNDS, TEXT_COLOURS, contrast, luminance

LOOK = Path(__file__).parents[3] / "docs" / "look.md"


def test_the_measure_agrees_with_its_published_ends():
    # published: WCAG 2.2, definition of contrast ratio: white on black is 21, a colour on itself 1
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0, rel=1e-12)
    assert contrast("#777777", "#777777") == 1.0
    # hand-worked: pure green is its weight alone
    assert luminance("#00FF00") == pytest.approx(0.7152, rel=1e-12)


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("colour", TEXT_COLOURS)
def test_text_can_be_read_on_every_ground(colour, ground):
    # published: WCAG 2.2 success criterion 1.4.3 (AA) asks 4.5 for text
    assert contrast(TEXT_COLOURS[colour], GROUNDS[ground]) >= 4.5


def test_the_page_on_looks_states_these_colours_and_contrasts():
    rows = dict(re.findall(r"^\| (\w+) \| `(#[0-9A-F]{6})` .*$", LOOK.read_text("utf-8"), re.MULTILINE))
    figures = dict(
        re.findall(r"^\| (\w+) \| `#[0-9A-F]{6}` \| ([\d.]+) \|", LOOK.read_text("utf-8"), re.MULTILINE)
    )
    for name, colour in TEXT_COLOURS.items():
        assert rows[name] == colour
        assert float(figures[name]) == round(contrast(colour, "#FFFFFF"), 1)
    for name, colour in GROUNDS.items():
        assert rows[name] == colour
