"""What the sheet says: the builder's figures, in the builder's words."""

from dataclasses import replace

import pytest

from dabchick.model.advice import Advice
from dabchick.model.vessel import Datum
from dabchick.report.sheet_words import csv_rows, sheet_words
from dabchick.studies.trim_result import Move
from tests.support.sample_results import sample_result, sample_vessel


def words_of(vessel, result):
    return sheet_words(vessel, result, "trim-pieces.csv")


def test_the_main_figures():
    vessel = sample_vessel()
    heroes = {entry["label"]: entry for entry in words_of(vessel, sample_result(vessel))["heroes"]}
    # by hand: lead 25 + 45 + 25 g, foam 19 + 26 + 12 ml, lift 12.1 g, BG 8.4 mm, trim dived -0.13 degrees
    assert heroes["Lead to add"] == {
        "label": "Lead to add",
        "value": "95",
        "unit": "g",
        "note": "in 3 places",
    }
    assert (heroes["Foam to add"]["value"], heroes["Foam to add"]["unit"]) == ("57", "ml")
    assert heroes["Draught stern | bow"]["value"] == "80.5 | 80.8"
    assert heroes["Trim dived"]["value"] == "−0.1°"
    assert (heroes["Lift dived"]["value"], heroes["Lift dived"]["note"]) == ("12.1", "wished 12\u00a0g")
    assert (heroes["BG dived"]["value"], heroes["BG dived"]["note"]) == ("8.4", "at least 5\u00a0mm")


def test_a_piece_says_what_to_weigh_and_where_it_goes():
    vessel = sample_vessel(datum=Datum("bow", "keel", 0.84, 0.0))
    result = sample_result(vessel, pieces=2)
    lead, foam = words_of(vessel, result)["pieces"]
    assert (lead["amount"], lead["counts"]) == ("25.0\u00a0g", "1 × 20 g + 1 × 5 g")
    assert (foam["amount"], foam["counts"]) == ("19.0\u00a0ml", "")
    # by hand: the first piece stands 168 mm from the stern of an 840 mm boat
    assert lead["at"] == ["672.0", "centre", "7.3"]


def test_moves_name_the_way_and_the_places():
    vessel = sample_vessel()
    result = sample_result(vessel, moves=0)
    moves = (
        Move("battery", (0.5, 0.0, 0.03), (0.486, 0.002, 0.03)),
        Move("servo", (0.5, 0.0, 0.03), (0.5, 0.0, 0.02)),
    )
    first, second = words_of(vessel, replace(result, moves=moves))["moves"]
    assert first["way"] == "14\u00a0mm towards the stern, 2\u00a0mm to port"
    assert (first["letter"], first["from"], first["to"]) == ("A", "340.0, centre", "354.0, 2.0 port")
    assert second["way"] == "10\u00a0mm down"
    assert (second["from"], second["to"]) == ("↑ 30.0", "↑ 20.0")


def test_expected_figures_stand_beside_wishes_and_spreads():
    vessel = sample_vessel()
    rows = {row["name"]: row for row in words_of(vessel, sample_result(vessel))["figures"]}
    assert rows["Draught, bow mark"]["surfaced"] == ["80.6", "80.8", "1.1"]
    assert rows["Draught, bow mark"]["dived"] == ["", "", ""]
    assert rows["Trim, + bow up"]["dived"] == ["0°", "−0.1°", "1.2°"]
    assert rows["Lift"]["dived"] == ["12\u00a0g", "12.1\u00a0g", "6.0\u00a0g"]
    assert rows["BG"]["dived"] == ["≥ 5.0", "8.4", "0.5"]
    assert rows["Mass with tank water"]["surfaced"] == ["", "3218.4\u00a0g", "5.0\u00a0g"]


def test_small_changes_in_words_and_scaled_to_the_units():
    vessel = sample_vessel()
    result = sample_result(vessel)
    metric = {row["cause"]: row for row in words_of(vessel, result)["changes"]}
    assert metric["10 g at the bow mark"] == {
        "cause": "10 g at the bow mark", "surfaced": "0.31° bow down", "dived": "6.6° bow down",
    }  # fmt: skip
    assert metric["10 g moved 100 mm along"]["dived"] == "1.8°"
    assert metric["Water 1 °C warmer"]["dived"] == "−0.5\u00a0g lift"
    inch = {row["cause"]: row for row in words_of(replace(vessel, units="inch"), result)["changes"]}
    # by hand: half an ounce is 14.175 g, so 0.31 deg becomes 0.44 and 6.6 deg 9.4; 10 degF are 5.56 degC
    assert inch["0.5 oz at the bow mark"]["surfaced"] == "0.44° bow down"
    assert inch["0.5 oz at the bow mark"]["dived"] == "9.4° bow down"
    # 1.84 deg x 1.4175 x 101.6 / 100 = 2.65 deg
    assert inch["0.5 oz moved 4 in along"]["dived"] == "2.6°"
    # -0.45 g x 5.556 = -2.5 g = -0.088 oz
    assert inch["Water 10 °F warmer"]["dived"] == "−0.09\u00a0oz lift"


def test_what_has_no_value_is_a_dash_and_never_a_number():
    vessel = sample_vessel()
    result = sample_result(vessel)
    nothing = replace(result.sensitivities, pitch_surfaced_deg_per_10g_at_bow=float("nan"))
    rows = words_of(vessel, replace(result, sensitivities=nothing))["changes"]
    assert rows[0]["surfaced"] == "–"


def test_notes_come_once_with_warnings_first_and_the_unweighed_named():
    vessel = replace(
        sample_vessel(), unweighed=("aerial", "glue"), assumptions=("Foam does not shrink at depth.",)
    )
    result = replace(
        sample_result(vessel),
        warnings=(Advice("Tight fit.", "Check it.", severity="warning"),) * 2,
        assumptions=("Foam does not shrink at depth.",),
    )
    assert words_of(vessel, result)["notes"] == [
        {"kind": "warning", "text": "Tight fit. Check it."},
        {"kind": "warning", "text": "Not weighed and left out of every sum: aerial, glue."},
        {"kind": "assumed", "text": "Foam does not shrink at depth."},
    ]


def test_the_order_of_work_is_moves_lead_foam_bath():
    vessel = sample_vessel()
    steps = words_of(vessel, sample_result(vessel))["steps"]
    assert [step["title"] for step in steps] == ["Move", "Lead", "Foam", "Bath"]
    assert "A" in steps[0]["text"]
    assert "1, 3 and 5" in steps[1]["text"]
    assert "2, 4 and 6" in steps[2]["text"]


def test_where_wishes_cannot_be_kept_nothing_is_to_be_cut():
    vessel = sample_vessel()
    words = words_of(vessel, sample_result(vessel, feasible=False))
    assert [step["title"] for step in words["steps"]] == ["Change", "Again"]
    assert len(words["obstacles"]) == 2


@pytest.mark.parametrize(("condition", "stable"), [("sinks", True), ("hangs", False)])
def test_a_state_that_is_not_the_wished_one_is_named(condition, stable):
    vessel = sample_vessel()
    result = sample_result(vessel)
    dived = replace(result.after[1], condition=condition, stable=stable)
    state = words_of(vessel, replace(result, after=(result.after[0], dived)))["states"][1]
    assert (state["condition"], state["stable"], state["expected"]) == (
        condition,
        stable,
        condition == "hangs",
    )


def test_without_lead_there_is_no_caution_for_lead():
    vessel = sample_vessel()
    result = sample_result(vessel)
    foam = tuple(piece for piece in result.pieces if piece.material == "foam")
    assert "wash your hands" in words_of(vessel, result)["caution"]
    assert words_of(vessel, replace(result, pieces=foam))["caution"] == ""


def test_the_table_of_pieces_holds_every_piece_and_no_formula():
    vessel = sample_vessel()
    result = sample_result(vessel, pieces=100)
    pieces = (replace(result.pieces[0], place="=1+1"), *result.pieces[1:])
    rows = csv_rows(vessel, replace(result, pieces=pieces))
    assert len(rows) == 101
    assert rows[0][6] == "length_mm"
    assert rows[1][2] == "'=1+1"
    assert {len(row) for row in rows} == {12}
    assert float(rows[1][9]) == pytest.approx(1000 * (0.84 - result.pieces[0].centre_m[0]), abs=0.05)
