"""Changes to a boat's text: what was asked for, in the builder's datum and units, and not a letter more."""

import difflib
from pathlib import Path

import pytest

from dabchick.model.advice import BoatError
from dabchick.storage.edit import (
    NewPart,
    add_part,
    move_part,
    remove_part,
    replace_part,
    set_trim_parts,
    set_value,
)
from dabchick.storage.folder import OpenBoat, open_boat, save
from tests.support.sample_boat import TEXT, write_boat


@pytest.fixture
def boat(tmp_path: Path) -> OpenBoat:
    return open_boat(write_boat(tmp_path / "box"))


def changes(before: str, after: str) -> list[str]:
    """Lines taken out and put in, blank ones left aside."""
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return [line for line in lines if line[0] in "+-" and line[2:].strip()]


LEAD = NewPart(
    name="lead keel fore",
    kind="lead",
    centre_m=(0.47, -0.005, 0.006),
    mass_kg=0.045,
    known="weighed",
    size_m=(0.04, 0.02, 0.005),
    volume_m3=0.045 / 11350.0,
    note="2 x 20 g + 1 x 5 g",
)
FOAM = NewPart("foam casing", "foam", (0.3, 0.0, 0.09), 0.0007, "computed", size_m=(0.04, 0.05, 0.01))


def test_trim_parts_are_written_from_the_builders_datum(boat: OpenBoat) -> None:
    """600 mm long and measured from the bow, so house x 470 mm is 130 mm; 45 g of lead are 3.965 ml."""
    set_trim_parts(boat, [LEAD, FOAM])
    assert changes(TEXT, boat.text) == [
        "+ [[part]]",
        '+ name = "lead keel fore"',
        '+ kind = "lead"',
        '+ from = "trim"',
        '+ shape = { box = { size = ["40 mm", "20 mm", "5 mm"] } }',
        '+ at = ["130 mm", "-5 mm", "6 mm"]',
        '+ mass = { value = "45 g", known = "weighed" }',
        '+ volume = { value = "3.965 ml", known = "weighed" }',
        '+ note = "2 x 20 g + 1 x 5 g"',
        "+ [[part]]",
        '+ name = "foam casing"',
        '+ kind = "foam"',
        '+ from = "trim"',
        '+ shape = { box = { size = ["40 mm", "50 mm", "10 mm"] } }',
        '+ at = ["300 mm", "0 mm", "90 mm"]',
        '+ mass = { value = "0.7 g", known = "computed" }',
    ]
    assert save(boat)
    lead, foam = boat.vessel.items[-2:]
    assert lead.centre_m == pytest.approx(LEAD.centre_m, abs=1e-6)
    assert lead.volume_m3 == pytest.approx(LEAD.volume_m3, abs=1e-9)
    assert foam.volume_m3 == pytest.approx(20e-6)
    assert [item.name for item in boat.bare_vessel().items][-1] == "keel lead"


def test_second_trim_takes_the_place_of_the_first(boat: OpenBoat) -> None:
    set_trim_parts(boat, [LEAD, FOAM])
    first = boat.text
    set_trim_parts(boat, [LEAD, FOAM])
    assert boat.text == first
    set_trim_parts(boat, [FOAM])
    assert boat.text.count('from = "trim"') == 1
    set_trim_parts(boat, [])
    assert changes(TEXT, boat.text) == []
    save(boat)
    assert [item.name for item in boat.vessel.items][-1] == "keel lead"


def test_trim_parts_do_not_take_taken_names(boat: OpenBoat) -> None:
    set_trim_parts(boat, [NewPart("keel lead", "lead", (0.3, 0, 0.01), 0.01, "weighed"), LEAD, LEAD])
    assert save(boat)
    names = [part.name for part in boat.boat.parts[-3:]]
    assert names == ["keel lead 2", "lead keel fore", "lead keel fore 2"]


def test_trim_parts_stand_where_parts_stand(boat: OpenBoat) -> None:
    set_trim_parts(boat, [LEAD])
    assert boat.text.index('"keel lead"') < boat.text.index("lead keel fore") < boat.text.index("[[place]]")
    assert boat.text.endswith("# end of the file\n")


def test_add_and_remove_are_inverse(boat: OpenBoat) -> None:
    add_part(boat, FOAM)
    assert save(boat)
    assert boat.boat.parts[-1].name == "foam casing"
    assert boat.boat.parts[-1].source is None
    remove_part(boat, "foam casing")
    assert changes(TEXT, boat.text) == []


def test_add_needs_a_new_name(boat: OpenBoat) -> None:
    with pytest.raises(BoatError, match="taken already"):
        add_part(boat, NewPart("main", "lead", (0.3, 0, 0), 0.1, "guess"))
    assert boat.text == TEXT


def test_remove_takes_its_own_comment_along(boat: OpenBoat) -> None:
    remove_part(boat, "servo")
    gone = changes(TEXT, boat.text)
    assert "- # A servo in the flooded space, known by its volume only." in gone
    assert len(gone) == 7
    assert all(line.startswith("-") for line in gone)


def test_remove_leaves_the_next_ones_comment(boat: OpenBoat) -> None:
    remove_part(boat, "battery")
    assert "# A servo in the flooded space" in boat.text
    assert '[[tank]]\nname = "main"' in boat.text
    assert len(changes(TEXT, boat.text)) == 8


def test_replace_keeps_the_comment_above(boat: OpenBoat) -> None:
    replace_part(
        boat, "servo", NewPart("winch", "solid", (0.06, 0.0, 0.06), 0.03, "weighed", volume_m3=12e-6)
    )
    assert '# A servo in the flooded space, known by its volume only.\n[[part]]\nname = "winch"' in boat.text
    assert save(boat)
    assert boat.boat.parts[2].name == "winch"


def test_move_changes_the_place_alone(boat: OpenBoat) -> None:
    """Forward by 15 mm is 15 mm less from the bow."""
    move_part(boat, "battery", (0.015, 0.0, 0.002))
    assert changes(TEXT, boat.text) == [
        '- at = ["200 mm", 0, "30 mm"]',
        '+ at = ["185 mm", "0 mm", "32 mm"]',
    ]


def test_move_takes_the_centre_of_mass_along(tmp_path: Path) -> None:
    text = TEXT.replace(
        'at = ["200 mm", 0, "30 mm"]', 'at = ["200 mm", 0, "30 mm"]\ncentre = ["202 mm", 0, "29 mm"]'
    )
    boat = open_boat(write_boat(tmp_path / "box", text))
    move_part(boat, "battery", (-0.010, 0.0, 0.0))
    assert 'centre = ["212 mm", "0 mm", "29 mm"]' in boat.text
    assert 'at = ["210 mm", "0 mm", "30 mm"]' in boat.text


def test_set_value_keeps_the_comment_behind(boat: OpenBoat) -> None:
    set_value(boat, ("part", 3, "mass"), "214 g")
    assert changes(TEXT, boat.text) == [
        '- mass = "200 g"                   # to be weighed',
        '+ mass = "214 g"                   # to be weighed',
    ]


def test_nothing_to_change_is_said(boat: OpenBoat) -> None:
    with pytest.raises(BoatError, match="Nothing stands at"):
        set_value(boat, ("part", 3, "spread"), "1 g")
    with pytest.raises(BoatError, match="no part called"):
        remove_part(boat, "periscope")


def test_inch_boat_is_written_in_inches(tmp_path: Path) -> None:
    boat = open_boat(write_boat(tmp_path / "box", TEXT.replace('units = "metric"', 'units = "inch"')))
    set_trim_parts(boat, [NewPart("lead", "lead", (0.346, 0.0, 0.0127), 0.0283495, "weighed")])
    assert 'at = ["10 in", "0 in", "0.5 in"]' in boat.text
    assert 'value = "1 oz"' in boat.text


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_line_ends_stay_the_files_own(tmp_path: Path, ending: str) -> None:
    boat = open_boat(write_boat(tmp_path / "box", TEXT.replace("\n", ending)))
    set_trim_parts(boat, [LEAD, FOAM])
    assert boat.text.count("\n") == boat.text.count(ending)
    assert save(boat)


def test_parts_with_tables_of_their_own(tmp_path: Path) -> None:
    """[part.mass] below a [[part]] belongs to it: it goes with it, and new parts come behind it."""
    text = TEXT.replace(
        'mass = "200 g"                   # to be weighed',
        '[part.mass]\nvalue = "200 g"\nknown = "weighed"\n# its own comment',
    )
    boat = open_boat(write_boat(tmp_path / "box", text))
    set_trim_parts(boat, [LEAD])
    assert save(boat)
    assert boat.boat.parts[3].mass is not None
    assert boat.boat.parts[3].mass.known == "weighed"
    assert boat.boat.parts[4].name == "lead keel fore"
    remove_part(boat, "keel lead")
    assert save(boat)
    assert boat.boat.parts[3].name == "lead keel fore"


def test_boat_without_parts(tmp_path: Path) -> None:
    text = TEXT[: TEXT.index("# Everything dry")] + TEXT[TEXT.index("[[place]]") :].removesuffix("\n")
    boat = open_boat(write_boat(tmp_path / "box", text))
    set_trim_parts(boat, [LEAD])
    assert save(boat)
    assert boat.text.startswith(text)
    assert boat.boat.parts[0].name == "lead keel fore"


def test_parts_in_one_list_are_left_alone(tmp_path: Path) -> None:
    start, end = TEXT.index("# Everything dry"), TEXT.index("[[place]]")
    inline = 'part = [{ name = "a", kind = "lead", at = [0, 0, 0], mass = "1 g" }]\n'
    text = TEXT[:start].replace("[water]", f"{inline}[water]") + TEXT[end:]
    boat = open_boat(write_boat(tmp_path / "box", text))
    with pytest.raises(BoatError, match=r"\[\[part\]\]"):
        set_trim_parts(boat, [LEAD])
    assert boat.text == text
