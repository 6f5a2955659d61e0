"""The screen's colours are readable in both themes, and the page on looks states what the code holds."""

import re
from pathlib import Path

import pytest

from dabchick.report.palette import contrast

ROOT = Path(__file__).parents[3]
LOOK = (ROOT / "docs" / "look.md").read_text("utf-8")
TOKENS = (ROOT / "web" / "src" / "frame" / "tokens.css").read_text("utf-8")
TEXT = ("ink", "slate", "pond", "pond-strong", "lead", "reed", "chestnut", "moss")
GROUNDS = ("desk", "paper", "mist", "shallows", "reed-ground", "chestnut-ground", "moss-ground")


def colours(theme: str) -> dict[str, str]:
    block = re.search(rf'\[data-theme="{theme}"\] \{{(.*?)\n\}}', TOKENS, re.DOTALL)
    assert block is not None
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block[1]))


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("name", TEXT)
def test_text_can_be_read_on_every_ground_and_in_sunlight_on_paper(theme, name):
    # published: WCAG 2.2 success criteria 1.4.3 (AA) asks 4.5 for text, 1.4.6 (AAA) asks 7
    theirs = colours(theme)
    assert min(contrast(theirs[name], theirs[ground]) for ground in GROUNDS) >= 4.5
    assert contrast(theirs[name], theirs["paper"]) >= 7.0


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_what_can_be_pressed_has_an_edge_that_is_seen(theme):
    # published: WCAG 2.2 success criterion 1.4.11 (AA) asks 3 for edges of controls; 1.4.3 asks 4.5 for their text
    theirs = colours(theme)
    assert min(contrast(theirs["edge"], theirs[ground]) for ground in GROUNDS) >= 3.0
    assert min(contrast(theirs["on-pond"], theirs[pond]) for pond in ("pond", "pond-strong")) >= 4.5


def test_the_page_on_looks_states_these_colours_and_contrasts():
    light, dark = colours("light"), colours("dark")
    rows = re.findall(
        r"^\| `--([\w-]+)` \| `(#[0-9A-F]{6})` \| `(#[0-9A-F]{6})` \| ([^|]*)\|", LOOK, re.MULTILINE
    )
    told = {name: (day.lower(), night.lower()) for name, day, night, _ in rows}
    assert told == {name: (light[name], dark[name]) for name in told}
    assert set(told) | {"on-pond"} == set(light) == set(dark)
    figures = {name: figure.strip() for name, _, _, figure in rows if name in TEXT}
    assert figures == {
        name: f"{contrast(light[name], light['paper']):.1f}, {contrast(dark[name], dark['paper']):.1f}"
        for name in TEXT
    }


def test_the_page_on_looks_states_the_type_scale_and_the_spacing():
    sizes = re.findall(r"--(text-\w+): ([\d.]+)rem", TOKENS)
    assert re.findall(r"^\| `--(text-\w+)` \| (\d+) \|", LOOK, re.MULTILINE) == [
        (name, f"{float(rem) * 16:.0f}") for name, rem in sizes
    ]
    spaces = re.findall(r"--(space-\d+): (\d+)px", TOKENS)
    assert re.findall(r"`--(space-\d+)` (\d+)", LOOK) == spaces
    # 4 px spacing scale: the number in the name counts fours
    assert all(int(name.removeprefix("space-")) * 4 == int(pixels) for name, pixels in spaces)
