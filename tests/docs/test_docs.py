"""The pages say what the program does: commands, keys of the boat file, links, and READMEs in every layer."""

import re
import runpy
import tomllib
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from dabchick.cli.app import COMMANDS
from dabchick.model.schema import boat_schema

ROOT = Path(__file__).parents[2]
PAGES = [
    *sorted(ROOT.glob("*.md")),
    *sorted((ROOT / "docs").rglob("*.md")),
    *sorted((ROOT / "examples").rglob("*.md")),
    *sorted((ROOT / "src").rglob("*.md")),
]
LAYERS = ("physics", "model", "studies", "storage", "report", "cli", "data")


def test_the_page_of_commands_is_made_from_their_help() -> None:
    page = runpy.run_path(str(ROOT / "docs" / "make_commands.py"))["page"]()
    assert (ROOT / "docs" / "commands.md").read_text("utf-8") == page, (
        "run: .venv/bin/python docs/make_commands.py"
    )


def test_every_exit_code_is_on_the_page_of_commands() -> None:
    from dabchick.cli.face import ExitCode

    page = (ROOT / "docs" / "commands.md").read_text("utf-8")
    for code in ExitCode:
        assert f"| {int(code)} |" in page


@pytest.mark.parametrize("layer", LAYERS)
def test_every_layer_says_what_lives_there(layer: str) -> None:
    text = (ROOT / "src" / "dabchick" / layer / "README.md").read_text("utf-8")
    for part in ("**Lives here.**", "**Never here.**", "**Read first.**"):
        assert part in text
    named = set(re.findall(r"`([\w/]+\.(?:py|toml))`", text)) - {"pyproject.toml"}
    folder = ROOT / "src" / "dabchick" / layer
    for name in named:
        assert (folder / name).exists() or (ROOT / name).exists() or list(folder.rglob(Path(name).name)), name


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text("utf-8")):
        if not target.startswith(("http://", "https://")):
            assert (page.parent / target).exists(), target


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_commands_on_the_pages_exist(page: Path) -> None:
    names = {module.NAME for module in COMMANDS}
    for word in re.findall(r"(?:^|`)dabchick ([a-z]+)", page.read_text("utf-8"), re.MULTILINE):
        assert word in names, word


def test_the_readme_begins_with_the_job_and_the_two_commands() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    title, paragraph, commands = text.split("\n\n")[:3]
    assert title == "# Dabchick"
    for word in ("ballast tank", "lead", "foam", "waterline", "dived"):
        assert word in paragraph
    assert re.findall(r"^make (\w+)", commands, re.MULTILINE) == ["demo", "test"]


def test_python_in_the_readme_names_things_that_exist() -> None:
    for block in re.findall(r"```python\n(.*?)```", (ROOT / "README.md").read_text("utf-8"), re.DOTALL):
        imports = [line for line in block.splitlines() if line.startswith(("from ", "import "))]
        assert imports
        exec("\n".join(imports), {})


def _described() -> dict[str, set[str]]:
    """Keys that the page on the boat file describes, by heading."""
    found: dict[str, set[str]] = {}
    heading = ""
    for line in (ROOT / "docs" / "boat-file.md").read_text("utf-8").splitlines():
        if line.startswith("#"):
            heading = line.lstrip("# ").strip("[] ")
        elif cells := re.match(r"\| `([\w]+)` \|(.*)", line):
            found.setdefault(heading, set()).add(cells[1])
            if heading == "Shapes":
                found.setdefault(f"shape {cells[1]}", set()).update(re.findall(r"`([a-z]+)`", cells[2]))
    return found


def _table(schema: dict[str, Any], *path: str) -> set[str]:
    """Keys of a table of the schema, reached through properties, lists and references."""
    node = schema
    for step in path:
        node = _solid(schema, _solid(schema, node)["properties"][step])
    return set(_solid(schema, node)["properties"])


def _solid(schema: dict[str, Any], node: dict[str, Any]) -> dict[str, Any]:
    """The table behind references, lists and "or nothing"."""
    while "properties" not in node:
        if "$ref" in node:
            node = schema["$defs"][node["$ref"].rsplit("/", 1)[1]]
        elif "items" in node:
            node = node["items"]
        else:
            choices = [
                entry for entry in node.get("anyOf", node.get("allOf", [])) if entry.get("type") != "null"
            ]
            node = choices[-1]
    return node


TABLES = {
    "water": ("water",),
    "hull": ("hull",),
    "hull.skin": ("hull", "skin"),
    "hull.marks": ("hull", "marks"),
    "hull.openings": ("hull", "openings"),
    "part": ("part",),
    "part.rail": ("part", "rail"),
    "part.placed": ("part", "placed"),
    "tank": ("tank",),
    "tank.walls": ("tank", "walls"),
    "place": ("place",),
    "keep_out": ("keep_out",),
    "trim": ("trim",),
    "trim.lead": ("trim", "lead"),
    "trim.foam": ("trim", "foam"),
    "measured_from": ("measured_from",),
    "Shapes": ("part", "shape"),
}


@pytest.mark.parametrize("heading", TABLES)
def test_every_key_of_the_boat_file_is_described(heading: str) -> None:
    assert _described()[heading] == _table(boat_schema(), *TABLES[heading])


def test_the_top_of_the_file_is_described() -> None:
    schema = boat_schema()
    tables = {"water", "hull", "part", "tank", "place", "keep_out", "space", "trim"}
    assert _described()["Top of the file"] | tables == set(schema["properties"])


def test_every_shape_is_described_with_its_keys() -> None:
    schema, described = boat_schema(), _described()
    for shape in described["Shapes"]:
        assert _table(schema, "part", "shape", shape) <= described[f"shape {shape}"], shape


def test_the_pages_units_are_those_that_can_be_read() -> None:
    """Each unit in the table of units goes through the reader."""
    from dabchick.model.units import parse

    names = {"salt": "salinity"}
    text = (ROOT / "docs" / "boat-file.md").read_text("utf-8")
    rows = re.findall(
        r"^\| (length|area|volume|mass|density|salt|temperature|angle) \| (.*) \|$", text, re.MULTILINE
    )
    assert len(rows) == 8
    for kind, units in rows:
        for unit in re.sub(r"\(.*?\)", "", units.split(";")[0]).split(","):
            parse(f"1 {unit.strip()}", names.get(kind, kind))  # type: ignore[arg-type]


def test_the_frame_has_its_one_picture_for_light_and_dark() -> None:
    picture = ElementTree.fromstring((ROOT / "docs" / "frame.svg").read_text("utf-8"))
    text = " ".join("".join(node.itertext()) for node in picture.iter() if node.tag.endswith("text"))
    for word in ("x forward", "y to port", "z up", "heel +", "trim +", "starboard"):
        assert word in text
    assert "prefers-color-scheme: dark" in (ROOT / "docs" / "frame.svg").read_text("utf-8")
    assert "frame.svg" in (ROOT / "docs" / "frame.md").read_text("utf-8")


def test_the_changelog_names_the_version_at_hand() -> None:
    version = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    text = (ROOT / "CHANGELOG.md").read_text("utf-8")
    assert f"## {version}" in text
    assert "### Numbers that moved" in text
