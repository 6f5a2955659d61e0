"""The three drawings read back: what is drawn stands where the figures given by hand say, and no words touch."""

import io
import itertools
import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from dabchick.report.arm_family import arm_family_svg, chosen_stages
from dabchick.report.chart import Flag, Span, lanes, text_width, wrapped
from dabchick.report.dive_diagram import dive_diagram_svg
from dabchick.report.dive_strip import dive_strip_svg
from dabchick.report.typesetting import picture_png
from dabchick.studies.dive_path import in_order
from tests.support.dives import NAN, arms, cases, dive, two_tanks
from tests.support.sample_results import sample_vessel

SVG = "{http://www.w3.org/2000/svg}"
CASES = cases()
DRAWN = {"diagram": dive_diagram_svg, "arms": arm_family_svg, "strip": dive_strip_svg}


def parsed(text):
    return ElementTree.fromstring(text.encode("utf-8"))


def having(root, name):
    return [node for node in root.iter() if name in (node.get("class") or "").split()]


def texts(root):
    return [(node.text or "").replace("\u00a0", " ") for node in root.iter(f"{SVG}text")]


def points(node):
    """Corners of a path of straight absolute steps."""
    return [
        (float(x), float(y))
        for path in node.iter(f"{SVG}path")
        for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d"))
    ]


def upright_scale(root, panel):
    """Paper height as a line of the figure, from two numbered ticks of a panel (counted from the top)."""
    frames = [node for node in root.iter(f"{SVG}rect") if node.get("fill") == "none" and node.get("stroke")]
    box = frames[panel]
    top, foot = float(box.get("y")), float(box.get("y")) + float(box.get("height"))
    left = float(box.get("x"))
    ticks = sorted(
        (float(node.get("y")) - 0.85, float(node.text.replace("−", "-")))
        for node in root.iter(f"{SVG}text")
        if node.get("text-anchor") == "end"
        and top - 0.01 <= float(node.get("y")) - 0.85 <= foot + 0.01
        and abs(float(node.get("x")) - left + 1.0) < 0.01
    )
    (y0, v0), (y1, v1) = ticks[0], ticks[-1]
    width = float(box.get("width"))
    return (lambda y: v0 + (y - y0) * (v1 - v0) / (y1 - y0)), (lambda x: (x - left) / width)


@pytest.mark.parametrize("kind", DRAWN)
@pytest.mark.parametrize("case", CASES)
def test_every_way_gives_well_formed_svg_with_nothing_off_the_paper(case, kind):
    vessel, result = CASES[case]
    drawing = DRAWN[kind](vessel, result)
    root = parsed(drawing)
    width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
    assert "nan" not in drawing
    assert "inf" not in re.sub(r"<title>.*?</title>|<text.*?</text>", "", drawing)
    for node in root.iter(f"{SVG}text"):
        wide = text_width(node.text or "", float(node.get("font-size")))
        if node.get("class") == "told":
            wide *= 0.93  # a running sentence is narrower than its letters one by one
        start = float(node.get("x")) - {"end": wide, "middle": wide / 2}.get(node.get("text-anchor"), 0.0)
        # text_width errs on the safe side, so a little over the edge is still within.
        assert start > -2.5
        assert start + wide < width + 5.0, node.text
        assert 0.0 < float(node.get("y")) < height
    assert "http" not in re.sub(r'xmlns="[^"]*"', "", drawing)


@pytest.mark.parametrize(("line", "panel", "value"), [
    ("bow", 0, lambda lie: 1000 * lie.draught_bow_m.value),
    ("stern", 0, lambda lie: 1000 * lie.draught_stern_m.value),
    ("trim", 1, lambda lie: lie.trim_deg.value),
    ("heel", 1, lambda lie: lie.heel_deg.value),
    ("GM", 2, lambda lie: 1000 * lie.gm_transverse_m.value),
    ("BG", 2, lambda lie: 1000 * lie.bg_m.value),
])  # fmt: skip
def test_the_diagram_s_lines_run_through_the_figures_of_every_stage(line, panel, value):
    vessel, result = CASES["over"]
    root = parsed(dive_diagram_svg(vessel, result))
    up, along = upright_scale(root, panel)
    (drawn,) = [node for node in root.iter() if node.get("class") == f"line {line} down"]
    corners = [(along(x), up(y)) for x, y in points(drawn)]
    for stage in result.down:
        wanted = value(stage.lie)
        near = [v for at, v in corners if abs(at - stage.progress) < 1e-3]
        assert any(v == pytest.approx(wanted, abs=2e-3 * max(1.0, abs(wanted)) + 0.02) for v in near), (
            stage.progress
        )


def test_the_way_up_is_drawn_dashed_where_it_differs_and_only_there():
    vessel, result = CASES["over"]
    root = parsed(dive_diagram_svg(vessel, result))
    _, along = upright_scale(root, 1)
    (drawn,) = [node for node in root.iter() if node.get("class") == "line heel up"]
    assert all(path.get("stroke-dasharray") for path in drawn.iter(f"{SVG}path"))
    reached = [along(x) for x, _ in points(drawn)]
    # By hand: apart between 37 % (coming up) and 57 % (going down), a stage more on either side.
    assert min(reached) == pytest.approx(0.37, abs=0.051)
    assert max(reached) == pytest.approx(0.60, abs=0.051)
    steady = parsed(dive_diagram_svg(*CASES["steady"]))
    assert not [node for node in steady.iter() if (node.get("class") or "").endswith(" up")]
    assert "coming up the same" in texts(steady)


def test_the_least_moment_and_every_event_are_marked_and_told():
    vessel, result = CASES["over"]
    root = parsed(dive_diagram_svg(vessel, result))
    up, along = upright_scale(root, 2)
    mark = having(root, "least")[0]
    x, y = (float(value) for value in re.match(r"M(-?[\d.]+) (-?[\d.]+)", mark.get("d")).groups())
    assert along(x + 1.25) == pytest.approx(0.53, abs=1e-3)
    assert up(y) == pytest.approx(0.9, abs=0.01)
    flags = [(node.text or "").replace("\u00a0", " ") for node in having(root, "flag")]
    assert flags == ["↓ least stable: GM 0.9 mm", "1 ↓ forks", "2 ↓ goes over", "3 ↑ comes back"]
    told = " ".join((node.text or "") for node in having(root, "told"))
    for words in (
        "38.2 deg over to starboard",
        "34.2 deg over to starboard",
        "57\u00a0% full",
        "37\u00a0% full",
    ):
        assert words in told


def test_a_leap_breaks_the_line_of_gm_and_jumps_in_the_heel():
    vessel, result = CASES["over"]
    root = parsed(dive_diagram_svg(vessel, result))
    up, along = upright_scale(root, 1)
    (heel,) = [node for node in root.iter() if node.get("class") == "line heel down"]
    at_leap = sorted(up(y) for x, y in points(heel) if abs(along(x) - 0.57) < 1e-3)
    assert at_leap[0] == pytest.approx(4.5, abs=0.1)
    assert at_leap[-1] == pytest.approx(38.2, abs=0.1)
    (gm,) = [node for node in root.iter() if node.get("class") == "line GM down"]
    assert len(list(gm.iter(f"{SVG}path"))) == 2


def test_below_no_hold_the_ground_is_hatched_and_said():
    assert "GM below 0: nothing turns her back" in texts(parsed(dive_diagram_svg(*CASES["keel up"])))
    assert "GM below 0: nothing turns her back" not in texts(parsed(dive_diagram_svg(*CASES["steady"])))


def test_where_she_has_no_draught_the_diagram_says_why():
    assert "wholly under" in texts(parsed(dive_diagram_svg(*CASES["steady"])))
    assert "sinks" in texts(parsed(dive_diagram_svg(*CASES["sinks"])))


def test_tanks_that_fill_apart_get_a_panel_of_their_own():
    root = parsed(dive_diagram_svg(*CASES["two tanks"]))
    assert len(having(root, "tank")) == 2
    assert {"main", "aft trim", "of the way"} <= set(texts(root))
    dashes = [next(node.iter(f"{SVG}path")).get("stroke-dasharray") for node in having(root, "tank")]
    assert dashes[0] != dashes[1]
    assert not having(parsed(dive_diagram_svg(*CASES["steady"])), "tank")


def test_the_axis_names_fill_and_water():
    vessel, result = CASES["steady"]
    words = texts(parsed(dive_diagram_svg(vessel, result)))
    assert "50 %" in words
    assert f"{0.5e6 * vessel.tanks[0].capacity_m3:.1f} ml".replace(".0 ml", " ml") in words


def test_no_flag_s_words_touch_another_s():
    flags = [Flag(20.0 + 3.0 * at, f"{at} ↓ goes over", "#000000", "") for at in range(12)]
    placed = lanes(flags, 14.0, 186.0)
    boxes = [
        (lane, left, left + text_width(flag.words, 2.5))
        for flag, (lane, left) in zip(flags, placed, strict=True)
    ]
    for one, other in itertools.combinations(boxes, 2):
        assert one[0] != other[0] or one[2] < other[1] or other[2] < one[1]
    assert all(left >= 14.0 - 1e-9 and right <= 186.0 + 1e-9 for _, left, right in boxes)


def test_too_little_room_is_refused_with_what_is_needed():
    vessel, result = CASES["over"]
    with pytest.raises(ValueError, match="more height than 40 mm"):
        dive_diagram_svg(vessel, result, height_mm=40.0)
    with pytest.raises(ValueError, match="at least 122 x 45 mm"):
        arm_family_svg(vessel, result, width_mm=90.0)
    with pytest.raises(ValueError, match="more room than"):
        dive_strip_svg(vessel, result, width_mm=40.0)


# --- Righting arms.


def test_the_curves_run_through_the_arms_and_differ_without_colour():
    vessel, result = CASES["over"]
    root = parsed(arm_family_svg(vessel, result))
    up, along = upright_scale(root, 0)
    curves = having(root, "arm")
    stages = chosen_stages(result, 7)
    assert len(curves) == len(stages) == 7
    for node, stage in zip(curves, stages, strict=True):
        heels, values = zip(*((-180 + 360 * along(x), up(y)) for x, y in points(node)), strict=True)
        np.testing.assert_allclose(heels, stage.arms.heels_deg, atol=0.1)
        np.testing.assert_allclose(values, 1000 * np.array(stage.arms.arms_m), atol=0.02)
    kinds = [
        (path.get("stroke-dasharray"), path.get("stroke-width"))
        for node in curves
        for path in node.iter(f"{SVG}path")
    ]
    assert len({dash for dash, _ in kinds}) == 7
    widths = [float(width) for _, width in kinds]
    assert widths == sorted(widths)
    assert kinds[-1][0] is None


def test_the_fills_stand_in_order_over_the_curves_they_point_to():
    vessel, result = CASES["steady"]
    root = parsed(arm_family_svg(vessel, result))
    names = having(root, "filled")
    shares = [float(node.text.split("\u00a0")[0]) for node in names]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 100.0)
    assert 60.0 in shares  # the least stable moment is always one of them
    places = [float(node.get("x")) for node in names]
    assert places == sorted(places)
    for left, right in itertools.pairwise(names):
        assert float(right.get("x")) - float(left.get("x")) > text_width(right.text, 2.5)


def test_range_ends_and_loll_are_marked_at_their_heels():
    vessel, result = CASES["over"]
    root = parsed(arm_family_svg(vessel, result))
    _, along = upright_scale(root, 0)
    stages = chosen_stages(result, 7)

    def heel(x):
        return -180.0 + 360.0 * along(x)

    squares = sorted(heel(float(node.get("x")) + 0.7) for node in having(root, "lost"))
    ends = []
    for stage in stages:
        rest = stage.arms.loll_deg if math.isfinite(stage.arms.loll_deg) else stage.lie.heel_deg.value
        ends += [rest + stage.arms.range_starboard_deg, rest - stage.arms.range_port_deg]
    assert squares == pytest.approx(sorted(ends), abs=0.05)
    rings = sorted(heel(float(node.get("cx"))) for node in having(root, "loll"))
    assert rings == pytest.approx(
        sorted(s.arms.loll_deg for s in stages if math.isfinite(s.arms.loll_deg)), abs=0.05
    )


def test_sides_that_are_alike_are_drawn_once():
    assert "heel to port" not in texts(parsed(arm_family_svg(*CASES["steady"])))
    assert "heel to port" in texts(parsed(arm_family_svg(*CASES["over"])))


def test_the_table_beside_the_arms_holds_ranges_and_greatest_arms():
    vessel, result = CASES["steady"]
    (table,) = having(parsed(arm_family_svg(vessel, result)), "ranges")
    words = texts(table)
    for stage in chosen_stages(result, 7):
        assert f"{1000 * stage.arms.greatest_m:.1f}" in words
        assert f"{stage.arms.range_port_deg:.0f}°" in words


def test_arms_without_rest_and_unknown_arms_are_told_not_drawn():
    vessel = sample_vessel()

    def shape(at, way):
        curve = arms(0.005)
        broken = tuple(
            NAN if abs(heel) > 100 else arm for heel, arm in zip(curve.heels_deg, curve.arms_m, strict=True)
        )
        return {"arms": replace(curve, arms_m=broken, settled=False)}

    drawing = arm_family_svg(vessel, dive(vessel, shape))
    assert "at some heels her trim found no rest" in drawing
    assert "nan" not in drawing


def test_the_moments_chosen_hold_both_ends_and_the_least():
    _, result = CASES["over"]
    for most in (2, 3, 5, 8):
        stages = chosen_stages(result, most)
        assert len(stages) == most
        assert (stages[0], stages[-1]) == (result.down[0], result.down[-1])
        if most > 2:
            assert min(abs(stage.progress - result.least.progress) for stage in stages) <= 0.025 + 1e-9


# --- The strip.


def hulls(root):
    return [having(node, "hull") for node in having(root, "moment")]


def drawn_loop(path):
    """Corners of the longest loop of relative steps."""
    loops = []
    for start, steps in re.findall(r"M(-?[\d.]+ -?[\d.]+)l([^z]*)z", path.get("d")):
        pairs = np.array([float(value) for value in f"{start} {steps}".split()]).reshape(-1, 2)
        loops.append(np.cumsum(pairs, axis=0))
    return max(loops, key=len)


def test_five_to_eight_moments_in_the_order_she_passes_them():
    for name in ("steady", "over", "sinks", "everything at once"):
        root = parsed(dive_strip_svg(*CASES[name]))
        assert 5 <= len(having(root, "moment")) <= 8
        assert any(text.startswith("least stable") for text in texts(root))


def test_both_ends_and_the_least_moment_are_always_among_them():
    vessel = sample_vessel()
    for least in (0.017, 0.3, 0.5, 0.98):
        result = dive(vessel, lambda at, way: {}, least=("down", least))
        words = texts(parsed(dive_strip_svg(vessel, result)))
        shares = [
            float(text.split("↓ ")[1].split(" ")[0]) for text in words if re.search(r"↓ [\d.]+ %$", text)
        ]
        assert shares == sorted(shares)
        assert (shares[0], shares[-1]) == (0.0, 100.0)
        assert pytest.approx(100 * least) in shares
        assert 5 <= len(shares) <= 8


def test_side_view_is_turned_by_her_trim_and_end_view_by_her_heel():
    vessel = sample_vessel()
    result = dive(vessel, lambda at, way: {"trim": 8.0, "heel": 25.0}, stages=2)
    level = dive(vessel, lambda at, way: {}, stages=2)

    def turned(view, tilted):
        root = parsed(dive_strip_svg(vessel, tilted))
        loop = drawn_loop(hulls(root)[0][view])
        return loop - loop.mean(axis=0)

    # The hull from the side is a flat thing: its long axis lies at the angle of trim, bow (right) up.
    side = turned(0, dive(vessel, lambda at, way: {"trim": 8.0}, stages=2))
    long = np.linalg.svd(side)[2][0]
    flat = np.linalg.svd(turned(0, level))[2][0]
    angle = math.degrees(math.atan2(-long[1] * np.sign(long[0]), abs(long[0])))
    upright = math.degrees(math.atan2(-flat[1] * np.sign(flat[0]), abs(flat[0])))
    assert angle - upright == pytest.approx(8.0, abs=0.3)
    # From astern starboard is right: heeled to starboard, the sail's top goes over to the right.
    end = turned(1, result)
    top = end[np.argmin(end[:, 1])]
    assert top[0] > 0.0
    assert turned(1, level)[np.argmin(turned(1, level)[:, 1])][0] == pytest.approx(0.0, abs=1.5)


def test_the_water_cuts_the_hull_at_her_draught():
    vessel = sample_vessel()
    result = dive(vessel, lambda at, way: {"draught": 0.07}, stages=2)
    root = parsed(dive_strip_svg(vessel, result))
    (scale,) = re.findall(r"scale (?:1 : ([\d.]+))", " ".join(texts(root)))
    moment = having(root, "moment")[0]
    surface = float(having(moment, "waterline")[0].get("d").split(" ")[1].split("q")[0])
    keel = drawn_loop(having(moment, "hull")[0])[:, 1].max()
    assert (keel - surface) * float(scale) == pytest.approx(70.0, abs=0.3)


def test_tank_water_is_drawn_when_there_is_any_and_fills_the_share_of_the_tank():
    vessel, result = CASES["steady"]
    root = parsed(dive_strip_svg(vessel, result))
    counts = [len(having(node, "tank-water")) for node in having(root, "moment")]
    assert counts == [0, *[2] * (len(counts) - 1)]
    last = having(root, "moment")[-1]
    (scale,) = re.findall(r"scale (?:1 : ([\d.]+))", " ".join(texts(root)))
    loop = drawn_loop(having(last, "tank-water")[0])
    # The sample boat's tank is 0.16 of her length of 0.84 m.
    assert np.ptp(loop[:, 0]) * float(scale) == pytest.approx(160 * 0.84, rel=0.01)


def test_wholly_under_she_lies_below_the_surface():
    vessel, result = CASES["steady"]
    last = having(parsed(dive_strip_svg(vessel, result)), "moment")[-1]
    surface = float(having(last, "waterline")[0].get("d").split(" ")[1].split("q")[0])
    assert drawn_loop(having(last, "hull")[0])[:, 1].min() > surface
    assert any("wholly under" in text for text in texts(last))


def test_a_picture_is_png_of_the_size_asked_for_and_the_same_each_time():
    drawing = dive_strip_svg(*CASES["two stages"])
    made = picture_png(drawing, 4.0)
    assert made == picture_png(drawing, 4.0)
    with Image.open(io.BytesIO(made)) as picture:
        assert picture.format == "PNG"
        assert picture.size == pytest.approx((186 * 4, 118 * 4), abs=1)


def test_words_are_wrapped_to_their_width():
    lines = wrapped("a few words that are to be broken " * 6, 60.0, 2.5)
    assert " ".join(lines) == ("a few words that are to be broken " * 6).strip()
    assert all(0.93 * text_width(line, 2.5) <= 60.0 for line in lines)


def test_a_scale_reads_back_what_it_places():
    span = Span(-2.0, 6.0, 80.0, 20.0)
    assert span.at(-2.0) == 80.0
    assert span.at(6.0) == 20.0
    assert span.within(99.0) == 20.0
    assert all(-2.0 <= tick <= 6.0 for tick in span.ticks(6.0))


def test_names_of_many_tanks_never_break_the_drawing():
    vessel = two_tanks("<&>\"' \x07")
    tanks = tuple(replace(tank, name=f"<{tank.name}> & co") for tank in vessel.tanks)
    vessel = replace(vessel, tanks=tanks)
    result = dive(vessel, lambda at, way: {}, path=in_order(vessel, [tanks[1].name]))
    for draw in DRAWN.values():
        parsed(draw(vessel, result))
