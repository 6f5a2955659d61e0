"""What is said of a way down: every figure in the words is the one given by hand in tests/support/dives.py."""

import math
import re
from dataclasses import replace

import pytest

from dabchick.report.stability_words import (
    LEAPS,
    attitude_words,
    branch_words,
    event_name,
    event_words,
    fills_words,
    has_findings,
    moment_words,
    percent,
    sentence,
    short_fills,
    stage_heads,
    stage_rows,
    told_events,
    up_that_differs,
)
from dabchick.studies.dive_path import together
from dabchick.studies.leap import leap
from dabchick.studies.result import Figure
from dabchick.studies.stability_result import Attitude, Branch
from tests.support.dives import NAN, arms, attitude, cases, dive, event, two_tanks
from tests.support.sample_results import sample_vessel

CASES = cases()
VESSEL = sample_vessel()
PATH = together(VESSEL)
ML = 1e6 * VESSEL.tanks[0].capacity_m3


def plain(text):
    return text.replace("\u00a0", " ")


def said(name):
    return plain(sentence(*CASES[name]))


def test_the_sentence_says_where_how_firm_and_that_she_stays_upright():
    # 60 % of the tank; GM 0.004 m and BG 0.001 + 0.004 * 0.6 m, trim -1.2 * 0.6 deg, all given by hand.
    assert said("steady") == (
        f"Moorhen is least stable going down with main 60 % full ({0.6 * ML:.1f} ml): GM 4.0 ± 0.7 mm, "
        "BG 3.4 ± 0.6 mm, 0.7 deg bow down. She stays upright all the way down and up. "
        f"With main 100 % full ({ML:.1f} ml), she is wholly under with 12.0 g of lift."
    )


def test_the_sentence_tells_of_the_leaps_and_of_a_hold_within_its_spread():
    text = said("over")
    assert "main 53 % full" in text
    assert "GM 0.9 ± 0.7 mm" in text
    assert "less than twice its spread" in text
    assert (
        f"Going down with main 57 % full ({0.57 * ML:.1f} ml), she goes over all at once: from 4.5 deg over to "
        "starboard, 1.1 deg "
        "bow down to 38.2 deg over to starboard, 1.4 deg bow up."
    ) in text
    assert (
        f"Coming up with main 37 % full ({0.37 * ML:.1f} ml), she comes back all at once: from 34.2 deg"
        in text
    )
    assert "to upright, 0.7 deg bow down" in text
    assert "One more such moment follows below." in text
    # The curves by hand loll at 38 deg from 60 % on.
    assert "She does not stay upright: most of all going down with main 60 % full" in text
    assert "stays upright" not in text


@pytest.mark.parametrize(
    ("case", "words"),
    [
        # 0.168 m of hull less a draught of 0.08 + 0.03 m
        ("never under", "she does not go under: 58.0 mm of her hull stay out of the water, lift 316.0 g."),
        # 0.2 - 0.29 kg of lift when full
        ("sinks", "she sinks: 90.0 g heavier than all the water she can displace."),
        ("keel up", "There nothing turns her back upright."),
        ("not a number", "She stays upright"),
        ("two tanks", "main 74.7 % (457.4 ml), aft trim 0 % (0.0 ml)"),
    ],
)
def test_the_sentence_of_every_kind_of_way(case, words):
    text = said(case)
    if case == "not a number":
        # Where the hold is unknown nobody may say that she keeps it.
        assert words not in text
    else:
        assert words in text
    assert "nan" not in text


def test_a_least_moment_without_a_figure_says_so():
    vessel, result = CASES["not a number"]
    least = replace(result.least, lie=replace(result.least.lie, gm_transverse_m=Figure(NAN, NAN)))
    assert "GM not known" in sentence(vessel, replace(result, least=least))


def test_leaning_without_going_over_says_how_far():
    result = dive(VESSEL, lambda at, way: {"heel": -3.2 * at})
    assert "She leans at most 3.2 deg to port on the way and does not go over." in sentence(VESSEL, result)


def test_lolling_without_any_event_is_told_and_found():
    result = dive(
        VESSEL, lambda at, way: {"heel": -39.0 + 39.0 * at, "arms": arms(0.002, loll=-39.0 + 38.0 * at)}
    )
    assert (
        "She does not stay upright: most of all going down with main empty, lolling 39.0 deg over to port."
        in plain(sentence(VESSEL, result))
    )
    assert has_findings(result)


def test_a_boat_that_lies_keel_up_is_not_said_to_stay_upright():
    with_loll = dive(VESSEL, lambda at, way: {"heel": 175.0, "arms": arms(0.002, loll=175.0)})
    assert "she lies keel up, 175.0 deg over to starboard" in sentence(VESSEL, with_loll)
    without = dive(VESSEL, lambda at, way: {"heel": 175.0})
    assert "She lies 175.0 deg over to starboard on the way: keel up." in sentence(VESSEL, without)
    assert has_findings(without)


@pytest.mark.parametrize(
    ("kind", "way", "before", "after", "words"),
    [
        ("jump", "down", (0.0, 0.0), (-38.24, 1.4),
         "she goes over all at once: from upright and level to 38.2 deg over to port, 1.4 deg bow up."),
        ("fold", "up", (12.0, 0.0), (40.0, 0.0),
         "the rest she lay in ends: she goes from 12.0 deg over to starboard to 40.0 deg over to starboard."),
        ("fold", "up", (12.0, 0.0), (12.0, 0.0), "ends: she lies 12.0 deg over to starboard."),
        ("fork", "down", (0.0, -2.0), (0.0, -2.0), "her rest forks, upright, 2.0 deg bow down: it loses or regains"),
        ("fork", "down", (0.0, -2.0), (1.5, -2.0), "her rest forks and she leaves it: from upright, 2.0 deg"),
        ("under", "down", (0.0, -0.2), (0.0, -0.2), "the last of her goes under, upright, 0.2 deg bow down."),
        ("out", "up", (0.0, -0.2), (0.0, 0.3), "comes out of the water again, upright, 0.3 deg bow up."),
    ],
)  # fmt: skip
def test_every_event_is_told_with_fill_volume_and_attitudes(kind, way, before, after, words):
    told = plain(event_words(VESSEL, event(PATH, kind, way, 0.62, attitude(*before), attitude(*after))))
    start = {"down": "Going down", "up": "Coming up"}[way]
    assert told.startswith(f"{start} with main 62 % full ({0.62 * ML:.1f} ml), ")
    assert words in told


def test_the_end_of_a_rest_from_which_she_leaps_is_told_by_the_leap_alone():
    ends, leaps = (
        event(PATH, kind, "down", 0.5, attitude(2.0, 0.0), attitude(30.0, 0.0)) for kind in ("fold", "jump")
    )
    other = event(PATH, "fold", "up", 0.5, attitude(2.0, 0.0), attitude(2.0, 0.0))
    result = dive(VESSEL, lambda at, way: {}, events=(ends, leaps, other))
    assert told_events(result) == (leaps, other)
    assert [event_name(entry) for entry in told_events(result)] == ["goes over", "rest ends"]
    assert "One more such moment follows below." in sentence(VESSEL, result)


def test_a_leap_to_a_lesser_heel_comes_back():
    leap = event(PATH, "jump", "up", 0.5, attitude(-30.0, 0.0), attitude(2.0, 0.0))
    assert (
        "she comes back all at once: from 30.0 deg over to port to 2.0 deg over to starboard."
        in event_words(VESSEL, leap)
    )
    assert event_name(leap) == "comes back"


def test_an_attitude_that_is_not_known_is_not_made_up():
    assert attitude_words(attitude(NAN, 0.0)) == "how she lies is not known"


def test_a_moment_says_draughts_hold_and_loll():
    vessel, result = CASES["over"]
    stage = result.down[-1]
    bow, stern = (1000 * mark.value for mark in (stage.lie.draught_bow_m, stage.lie.draught_stern_m))
    assert plain(moment_words(vessel, stage)) == (
        f"Going down with main 100 % full ({ML:.1f} ml): {bow:.1f} mm on the bow mark and {stern:.1f} mm on the stern "
        "mark, 1.4 deg bow up and 47.2 deg over to starboard; GM 3.0 ± 0.7 mm, BG 2.0 ± 0.6 mm; upright is no rest, "
        "she lolls at 38.0 deg over to starboard."
    )
    assert moment_words(*((v := CASES["keel up"])[0], v[1].down[-1])).endswith("she does not stay like this.")
    assert "wholly under with 12.0 g of lift" in plain(moment_words(vessel, CASES["steady"][1].down[-1]))
    assert "she sinks, 90.0 g too heavy" in plain(moment_words(vessel, CASES["sinks"][1].down[-1]))


def test_fills_are_said_by_share_and_volume():
    boat = two_tanks()
    assert fills_words(boat, {"main": 0.0, "aft trim": 0.0}) == "all tanks empty"
    assert fills_words(VESSEL, {"main": 0.0}) == "main empty"
    assert (
        plain(fills_words(boat, {"main": 1.0, "aft trim": 0.2}))
        == f"main 100 % ({ML:.1f} ml), aft trim 20 % (30.0 ml)"
    )
    assert fills_words(VESSEL, {}) == "no tank"
    assert plain(short_fills({"main": 1.0, "aft": 0.125})) == "100/12.5 %"
    assert plain(percent(0.62)) == "62 %"
    assert short_fills({}) == "–"


@pytest.mark.parametrize(
    ("case", "found"),
    [("steady", False), ("never under", False), ("over", True), ("sinks", True), ("keel up", True),
     ("not a number", False), ("two tanks", False)],
)  # fmt: skip
def test_findings_are_a_lost_hold_a_leap_a_fork_or_sinking(case, found):
    assert has_findings(CASES[case][1]) is found


def test_the_table_holds_the_figures_of_each_stage():
    vessel, result = CASES["over"]
    heads = [title for title, _ in stage_heads(vessel, result.down)]
    rows = stage_rows(vessel, result.down)
    assert len(rows) == len(result.down)
    for stage, row in zip(result.down, rows, strict=True):
        cell = dict(zip(heads, (plain(text).replace("−", "-") for text in row), strict=True))
        assert cell["filled"] == f"{100 * stage.progress:.0f} %"
        assert float(cell["bow"]) == pytest.approx(1000 * stage.lie.draught_bow_m.value, abs=0.051)
        assert float(cell["stern"]) == pytest.approx(1000 * stage.lie.draught_stern_m.value, abs=0.051)
        assert float(cell["heel"]) == pytest.approx(stage.lie.heel_deg.value, abs=0.051)
        assert float(cell["GM across"]) == pytest.approx(1000 * stage.lie.gm_transverse_m.value, abs=0.051)
        assert float(cell["GM along"]) == pytest.approx(1000 * stage.lie.gm_longitudinal_m.value, abs=0.051)
        assert float(cell["lost"]) == pytest.approx(1000 * stage.free_surface_m, abs=0.051)
        assert float(cell["BG"]) == pytest.approx(1000 * stage.lie.bg_m.value, abs=0.051)
        assert cell["range"] == f"{stage.arms.range_port_deg:.0f}/{stage.arms.range_starboard_deg:.0f}"
        assert float(cell["area"]) == pytest.approx(1000 * stage.arms.area_starboard_m_rad, abs=0.051)
        assert cell["greatest"] == f"{1000 * stage.arms.greatest_m:.1f} at {stage.arms.greatest_at_deg:.0f}"
        lolls = stage.arms.loll_deg
        assert cell["lolls"] == ("–" if math.isnan(lolls) else f"{lolls:+.1f}")


def test_loll_has_a_column_only_where_she_lolls():
    vessel, result = CASES["steady"]
    assert "lolls" not in [title for title, _ in stage_heads(vessel, result.down)]


def test_the_way_up_is_told_only_where_it_differs():
    assert up_that_differs(CASES["steady"][1]) == ()
    differs = [round(stage.progress, 2) for stage in up_that_differs(CASES["over"][1])]
    # By hand: she goes over at 57 % going down and back at 37 % coming up.
    assert differs == [0.55, 0.5, 0.45, 0.4]


def test_a_curve_of_rests_says_where_it_runs_and_whether_it_holds():
    branch = Branch(
        (0.2, 0.5, 0.4), (0.0, 10.0, 30.0), (0.0, 0.0, 0.0), (0.1, 0.1, 0.1), (True, False, False)
    )
    assert plain(branch_words(branch)) == (
        "From 20 % to 50 % of the way: heel 0.0 to +30.0 deg, stable for 33.3 % of its points."
    )


def test_no_words_hold_what_is_not_a_number():
    for vessel, result in CASES.values():
        words = [sentence(vessel, result), *(event_words(vessel, entry) for entry in result.events)]
        words += [moment_words(vessel, stage) for stage in (*result.down, *result.up)]
        words += [text for row in stage_rows(vessel, result.down) for text in row]
        assert not re.search(r"\bnan\b|\binf\b", " ".join(words))


def test_a_leap_without_a_turn_is_a_drop_or_a_rise() -> None:
    """By hand: under 2 degrees nobody sees a turn; what is seen is how deep she lies, NaN being wholly under."""

    def name(before: Attitude, after: Attitude) -> str:
        return LEAPS[leap(before, after)]

    def lies(heel: float, trim: float, offset: float) -> Attitude:
        return Attitude(heel, trim, (0.0, 0.0, 1.0), offset)

    assert name(lies(0.0, 0.5, 0.10), lies(0.1, 0.4, 0.13)) == "drops"
    assert name(lies(0.0, 0.5, 0.10), lies(0.1, 0.4, math.nan)) == "drops"
    assert name(lies(0.0, 0.5, math.nan), lies(0.1, 0.4, 0.13)) == "rises"
    assert name(lies(0.0, 0.5, 0.13), lies(0.1, 0.4, 0.10)) == "rises"
    # keel up to either side is the same attitude
    assert name(lies(179.5, 0.0, 0.10), lies(-179.5, 0.0, 0.12)) == "drops"
    assert name(lies(3.0, 0.0, 0.10), lies(40.0, 0.0, 0.10)) == "goes over"
    assert name(lies(-40.0, 0.0, 0.10), lies(-3.0, 0.0, 0.10)) == "comes back"
    assert name(lies(0.0, 1.0, 0.10), lies(0.0, 30.0, 0.10)) == "goes over"
