"""The drawing read back: every dimension printed on it agrees with where its piece is drawn."""

import itertools
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from dabchick.model.vessel import Datum
from dabchick.physics import shapes
from dabchick.report.drawing import drawing_svg, drawn_height
from dabchick.report.rulers import tick_step
from dabchick.report.views import round_scale
from tests.support.sample_results import item, sample_result, sample_vessel

SVG = "{http://www.w3.org/2000/svg}"
LENGTH, HEIGHT, DRAUGHT = 0.84, 0.112, 0.72 * 0.112
DATUMS = [
    Datum("bow", "keel", LENGTH, 0.0),
    Datum("stern", "keel", 0.0, 0.0),
    Datum("bow", "waterline", LENGTH, DRAUGHT),
    Datum("stern", "axis", 0.03, 0.056),
    Datum("bow", "keel", LENGTH + 0.05, -0.01),
]


class Drawing:
    """What a person with a ruler would read off the paper."""

    def __init__(self, text: str) -> None:
        self.root = ElementTree.fromstring(text.encode("utf-8"))
        bar = self.one("scale-bar")
        self.mm_per_m = float(bar.get("data-length-mm")) / float(bar.get("data-length-m"))

    def all(self, name: str, under=None):
        root = self.root if under is None else under
        return [node for node in root.iter() if name in (node.get("class") or "").split()]

    def one(self, name: str, under=None):
        found = self.all(name, under)
        assert len(found) == 1, name
        return found[0]

    def along_ticks(self) -> list[tuple[float, float]]:
        """(figure, x on paper) of the numbered ticks along the hull."""
        return [(figure_of(node.text), float(node.get("x"))) for node in self.all("tick")]

    def height_ticks(self) -> list[tuple[float, float]]:
        """(figure, y on paper) of the ticks up the hull; each figure follows its tick."""
        parts = list(self.one("heights"))
        return [
            (figure_of(words.text), float(tick.get("y1")))
            for tick, words in itertools.pairwise(parts)
            if words.get("class") == "height-tick"
        ]

    def pieces(self, view: str) -> dict[str, tuple[float, float, float, float]]:
        """Middle, width and height on paper of each numbered piece."""
        boxes = {}
        for node in self.all("piece", self.one(view)):
            rect = next(node.iter(f"{SVG}rect"))
            x, y, width, height = (float(rect.get(key)) for key in ("x", "y", "width", "height"))
            boxes[node.get("data-number")] = (x + width / 2, y + height / 2, width, height)
        return boxes

    def labels(self) -> dict[str, tuple[float, float]]:
        """Along and height as printed beside each number."""
        found = {}
        for node in self.all("label"):
            if node.get("data-number"):
                texts = {child.get("class"): child.text for child in node.iter(f"{SVG}text")}
                found[node.get("data-number")] = (figure_of(texts["along"]), figure_of(texts["height"]))
        return found


def figure_of(text: str) -> float:
    return float(re.sub(r"[^\d.\-]", "", text.replace("−", "-")))


def line_through(ticks: list[tuple[float, float]]) -> tuple[float, float]:
    """Paper mm per builder's unit, and the paper place of zero, from the outermost ticks."""
    (low, at_low), (high, at_high) = min(ticks), max(ticks)
    slope = (at_high - at_low) / (high - low)
    return slope, at_low - slope * low


@pytest.mark.parametrize("datum", DATUMS, ids=str)
@pytest.mark.parametrize(
    ("units", "unit_m", "last_digit"), [("metric", 1e-3, 0.05), ("inch", 0.0254, 0.0005)]
)
def test_printed_dimensions_agree_with_the_rulers_and_the_scale_bar(datum, units, unit_m, last_digit):
    vessel = sample_vessel(datum=datum, units=units)
    drawing = Drawing(drawing_svg(vessel, sample_result(vessel, pieces=8)))
    slope, zero = line_through(drawing.along_ticks())
    up_slope, up_zero = line_through(drawing.height_ticks())
    sign = 1.0 if datum.x_from == "stern" else -1.0
    assert slope == pytest.approx(sign * drawing.mm_per_m * unit_m, rel=2e-3)
    assert up_slope == pytest.approx(-drawing.mm_per_m * unit_m, rel=5e-3)
    labels, boxes = drawing.labels(), drawing.pieces("side-view")
    assert set(labels) == set(boxes) == {str(number) for number in range(1, 9)}
    for number, (along, up) in labels.items():
        x, y, _, _ = boxes[number]
        # what a ruler reads at the middle of the drawn piece, to the last printed digit and 0.01 mm of paper
        reading = 0.011 / (drawing.mm_per_m * unit_m) + last_digit
        assert (x - zero) / slope == pytest.approx(along, abs=reading)
        assert (y - up_zero) / up_slope == pytest.approx(up, abs=reading)


@pytest.mark.parametrize("datum", DATUMS, ids=str)
def test_printed_dimensions_are_the_pieces_own_in_the_builders_datum(datum):
    vessel = sample_vessel(datum=datum)
    result = sample_result(vessel, pieces=8)
    labels = Drawing(drawing_svg(vessel, result)).labels()
    for number, piece in enumerate(result.pieces, start=1):
        # by hand: along counts aft from a bow datum and forward from a stern datum
        along = piece.centre_m[0] - datum.x_origin_m
        along = -along if datum.x_from == "bow" else along
        up = piece.centre_m[2] - datum.z_origin_m
        assert labels[str(number)] == pytest.approx((1000 * along, 1000 * up), abs=0.0501)


def test_a_moved_or_flipped_datum_moves_nothing_on_paper_but_the_figures():
    boxes = []
    for datum in DATUMS[:3]:
        vessel = sample_vessel(datum=datum)
        boxes.append(Drawing(drawing_svg(vessel, sample_result(vessel))).pieces("side-view"))
    assert boxes[0] == boxes[1] == boxes[2]


def test_pieces_are_drawn_to_scale_in_both_views_and_line_up():
    vessel = sample_vessel()
    result = sample_result(vessel)
    drawing = Drawing(drawing_svg(vessel, result))
    side, top = drawing.pieces("side-view"), drawing.pieces("top-view")
    for number, piece in enumerate(result.pieces, start=1):
        length, width, height = (size * drawing.mm_per_m for size in piece.size_m)
        assert side[str(number)][2:] == pytest.approx((length, height), abs=2e-3)
        assert top[str(number)][2:] == pytest.approx((length, width), abs=2e-3)
        assert side[str(number)][0] == pytest.approx(top[str(number)][0], abs=2e-3)


def test_port_is_up_in_the_top_view():
    vessel = sample_vessel()
    result = sample_result(vessel, pieces=2)
    lead, foam = result.pieces
    shifted = replace(
        result, pieces=(replace(lead, centre_m=(0.4, 0.02, 0.01)), replace(foam, centre_m=(0.4, -0.02, 0.1)))
    )
    boxes = Drawing(drawing_svg(vessel, shifted)).pieces("top-view")
    drawing = Drawing(drawing_svg(vessel, shifted))
    assert boxes["2"][1] - boxes["1"][1] == pytest.approx(0.04 * drawing.mm_per_m, abs=2e-3)


@pytest.mark.parametrize("datum", DATUMS, ids=str)
def test_the_bow_is_always_right(datum):
    vessel = sample_vessel(datum=datum)
    drawing = Drawing(drawing_svg(vessel, sample_result(vessel)))
    texts = {
        node.text: float(node.get("x"))
        for node in drawing.root.iter(f"{SVG}text")
        if node.text in ("bow", "stern")
    }
    assert texts["bow"] > texts["stern"]
    marks = sorted(drawing.all("mark"), key=lambda node: float(next(node.iter(f"{SVG}circle")).get("cx")))
    figures = [next(child.text for child in node.iter(f"{SVG}text")) for node in marks]
    # the sample lies 0.2 mm deeper at the bow mark and 0.1 mm less at the stern mark
    assert figures == [f"{1000 * DRAUGHT - 0.1:.1f}", f"{1000 * DRAUGHT + 0.2:.1f}"]


def test_both_centres_in_both_states_stand_where_they_are_in_side_view():
    vessel = sample_vessel()
    result = sample_result(vessel)
    drawing = Drawing(drawing_svg(vessel, result))
    slope, zero = line_through(drawing.along_ticks())
    view = drawing.one("side-view")
    for state, lie in zip(("surfaced", "dived"), result.after, strict=True):
        for name, point in (("cg", lie.cg_m), ("cb", lie.cb_m)):
            (mark,) = [node for node in drawing.all(name, view) if state in node.get("class").split()]
            x = float(re.match(r"translate\(([\d.]+) ", mark.get("transform"))[1])
            assert (x - zero) / slope == pytest.approx(1000 * (LENGTH - point[0]), abs=0.2)


def test_states_are_told_apart_by_shape_as_well():
    vessel = sample_vessel()
    drawing = Drawing(drawing_svg(vessel, sample_result(vessel)))
    for name in ("cg", "cb"):
        shapes = {}
        for node in drawing.all(name):
            shapes.setdefault(node.get("class"), set()).add(next(iter(node)).tag)
        assert shapes[f"{name} surfaced"] == {f"{SVG}circle"}
        assert shapes[f"{name} dived"] == {f"{SVG}path"}


@pytest.mark.parametrize(
    "name", ['<Ä&"ö#$*_`\\', "]]>", "x" * 400, "\x00\x1b\ud800 bad", "", "日本", "a\nb"], ids=repr
)
def test_any_name_gives_valid_xml_on_a_white_page(name):
    vessel = sample_vessel(name)
    vessel = replace(vessel, items=tuple(replace(item, name=name or item.name) for item in vessel.items))
    text = drawing_svg(vessel, sample_result(vessel, moves=0))
    drawing = Drawing(text)
    paper = drawing.one("paper")
    box = [float(part) for part in drawing.root.get("viewBox").split()]
    assert paper.get("fill") == "#FFFFFF"
    assert [float(paper.get("width")), float(paper.get("height"))] == box[2:]
    assert len(text) < 200_000


@pytest.mark.parametrize(
    ("length", "beam", "depth"),
    [(0.84, 0.105, 0.112), (2.4, 0.1, 0.1), (0.25, 0.2, 0.2), (0.06, 0.01, 0.012)],
)
@pytest.mark.parametrize("count", [0, 6, 100])
def test_every_boat_stays_on_its_paper(length, beam, depth, count):
    vessel = sample_vessel(length=length, beam=beam, depth=depth, datum=Datum("stern", "keel", 0.0, 0.0))
    drawing = Drawing(
        drawing_svg(vessel, sample_result(vessel, pieces=count), width_mm=186.0, height_mm=110.0)
    )
    width, height = (float(part) for part in drawing.root.get("viewBox").split()[2:])
    assert width == 186.0
    assert height <= 110.0 + 1e-6
    slope, zero = line_through(drawing.along_ticks())
    assert zero >= 0.0
    assert zero + slope * 1000 * length <= width
    for node in drawing.root.iter(f"{SVG}text"):
        if not any(node in list(parent) for parent in drawing.root.iter() if parent.get("transform")):
            assert -1e-6 <= float(node.get("x")) <= width
            assert 0.0 <= float(node.get("y")) <= height


def test_a_part_that_moves_is_dashed_where_it_was_and_drawn_where_it_goes():
    vessel = sample_vessel()
    still = Drawing(drawing_svg(vessel, sample_result(vessel, moves=0)))
    moved = Drawing(drawing_svg(vessel, sample_result(vessel, moves=1)))
    assert not still.all("move")
    assert len(moved.all("move")) == 2  # one arrow in each view


def test_a_dived_state_without_a_place_is_left_out_rather_than_drawn_wrong():
    vessel = sample_vessel()
    result = sample_result(vessel)
    nowhere = (float("nan"),) * 3
    dived = replace(result.after[1], cg_m=nowhere, cb_m=nowhere)
    text = drawing_svg(vessel, replace(result, after=(result.after[0], dived)))
    assert "nan" not in text
    drawing = Drawing(text)
    assert not [node for node in drawing.all("cg", drawing.one("side-view")) if "dived" in node.get("class")]


@pytest.mark.parametrize(
    ("needed", "words"),
    [
        (5.0, "1 : 5"),
        (5.06, "1 : 5.5"),
        (0.4, "2.5 : 1"),
        (0.45, "2 : 1"),
        (0.99, "1 : 1"),
        (11.0, "1 : 12.5"),
        (97.0, "1 : 100"),
    ],
)
def test_scales_are_round_and_never_too_large(needed, words):
    scale = round_scale(needed)
    assert scale.ratio >= needed
    assert scale.words() == words


@pytest.mark.parametrize(
    ("least", "step"), [(0.9, 1.0), (1.1, 2.0), (2.0, 2.0), (3.0, 5.0), (51.0, 100.0), (0.03, 0.05)]
)
def test_ruler_steps(least, step):
    assert tick_step(least) == pytest.approx(step)


def test_paper_too_small_for_a_drawing_is_refused_with_the_size_that_is_needed():
    vessel = sample_vessel()
    with pytest.raises(ValueError, match="at least 38 x"):
        drawing_svg(vessel, sample_result(vessel), width_mm=186.0, height_mm=40.0)


def test_a_propeller_behind_the_hull_stays_on_the_paper_and_a_stray_part_does_not_shrink_her():
    vessel = sample_vessel(datum=Datum("stern", "keel", 0.0, 0.0))
    plain = Drawing(drawing_svg(vessel, sample_result(vessel)))
    screw = item(
        "screw", "solid", 9.0, (-0.03, 0.0, 0.05), shapes.cylinder(0.02, 0.05).moved((-0.03, 0.0, 0.05))
    )
    stray = item(
        "stray", "solid", 9.0, (9.0, 0.0, 0.05), shapes.box(0.02, 0.02, 0.02).moved((9.0, 0.0, 0.05))
    )
    behind = replace(vessel, items=(*vessel.items, screw))
    far = replace(vessel, items=(*vessel.items, stray))
    drawing = Drawing(drawing_svg(behind, sample_result(behind)))
    slope, zero = line_through(drawing.along_ticks())
    assert zero - slope * 40.0 >= 0.0
    assert Drawing(drawing_svg(far, sample_result(far))).mm_per_m >= 0.85 * plain.mm_per_m


def test_the_height_of_a_drawing_is_read_back():
    vessel = sample_vessel()
    text = drawing_svg(vessel, sample_result(vessel))
    box = ElementTree.fromstring(text.encode()).get("viewBox").split()
    assert drawn_height(text) == float(box[3])
    with pytest.raises(ValueError, match="not a drawing"):
        drawn_height("<svg/>")
