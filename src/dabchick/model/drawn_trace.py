"""A trace drawn: its form, its closed meshes, everything that is wrong with it and everything that was assumed."""

from collections.abc import Mapping
from dataclasses import dataclass

from dabchick.model.advice import Advice
from dabchick.model.keys import dotted
from dabchick.model.trace import TraceDoc
from dabchick.model.trace_mistakes import trace_mistakes
from dabchick.model.traced_bodies import TracedBody, traced_bodies
from dabchick.model.traced_checks import form_mistakes
from dabchick.model.traced_hull import HullPlan, HullReading, read_hull
from dabchick.model.traced_plan import plan_hull
from dabchick.model.traced_views import Reader
from dabchick.model.units import shown
from dabchick.physics.loft import Loft
from dabchick.physics.traced_form import form_mesh


@dataclass(frozen=True, eq=False)
class DrawnTrace:
    """What could be drawn, and what is wrong; with errors among the advice the form is for looking at only."""

    plan: HullPlan | None
    reading: HullReading | None
    loft: Loft | None
    """The hull, closed; None where it could not be drawn."""
    bodies: tuple[TracedBody, ...]
    noisy: HullReading | None
    """Readings with the noise of tracing, where they were asked for."""
    advice: tuple[Advice, ...]
    assumptions: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """The whole trace could be drawn, and nothing in it is an error."""
        return self.loft is not None and not any(entry.severity == "error" for entry in self.advice)


def drawn_trace(
    doc: TraceDoc,
    pictures: Mapping[str, tuple[int, int]] | None = None,
    *,
    axial: int = 240,
    around: int = 96,
    noisy: Reader | None = None,
) -> DrawnTrace:
    """Draw a trace as far as it goes. `noisy` reads it many times over for the spread of its figures."""
    advice = trace_mistakes(doc, pictures)
    plan, told = plan_hull(doc, advice)
    advice += told
    if plan is None:
        return DrawnTrace(None, None, None, (), None, tuple(advice), ())
    reading = read_hull(plan)
    told = form_mistakes(plan, reading)
    advice += told
    loft = None
    if (reading.grid.upper >= reading.grid.lower).all():
        try:
            loft = form_mesh(reading.grid, axial, around)
        except ValueError as reason:
            what, _, todo = str(reason).partition(". ")
            if not any(entry.severity == "error" for entry in advice):
                advice.append(
                    Advice(what=f"{what}.", todo=todo or "Check the edges.", key=dotted(("view", plan.side)))
                )
    if loft is None:
        return DrawnTrace(plan, reading, None, (), None, tuple(advice), ())
    readings = None if noisy is None else read_hull(plan, noisy)
    bodies, told = traced_bodies(
        plan, reading, advice, None if noisy is None or readings is None else (readings, noisy)
    )
    advice += told
    said = [*_form_words(plan), *_view_words(plan, reading), *_end_words(plan, reading)]
    said += [sentence for body in bodies for sentence in body.assumptions]
    return DrawnTrace(plan, reading, loft, tuple(bodies), readings, tuple(advice), tuple(said))


def _form_words(plan: HullPlan) -> list[str]:
    form, sections = plan.doc.section.form, len(plan.sections)
    counted = f"{sections} traced section{'' if sections == 1 else 's'}"
    if form == "blended" and sections:
        words = f"sections follow the shape of {counted}, blended along the hull and unchanged beyond the outermost"
    else:
        power = "an ellipse" if form == "ellipse" else "a superellipse with the exponents given"
        where = f"where {counted} has it" if sections else "at mid-height"
        words = f"each section is {power} between upper and lower edge, widest {where}"
    return [words, f"between {len(plan.shares)} stations the form is monotone cubic"]


def _view_words(plan: HullPlan, reading: HullReading) -> list[str]:
    doc = plan.doc
    used = sorted({plan.side, plan.top, *(place.view for place in plan.sections)})
    said = []
    level = [doc.views[row].name for row in used if doc.views[row].level is None and row != plan.top]
    if level:
        said.append(f"no level line in {', '.join(level)}: the picture itself is taken as level")
    if doc.views[plan.top].level is None:
        said.append(
            f"no level line in {doc.views[plan.top].name}: the middle line runs through the ends of the half-breadth"
        )
    square = [doc.views[row].name for row in used if doc.views[row].square is None]
    if square:
        said.append(f"no square line in {', '.join(square)}: taken as drawn at right angles")
    one_scale = [
        doc.views[row].name
        for row in used
        if (mark := doc.views[row].square) is not None and mark.length is None
    ]
    if one_scale:
        said.append(f"one scale along the level and the square line in {', '.join(one_scale)}")
    said.append(
        "starboard is as port"
        if len(plan.halves) == 1
        else "each side is half the breadth between the traces to port and to starboard"
    )
    if doc.length is not None:
        said.append(f"side and top view are scaled to the given length of {shown(doc.length, 'length')}")
    else:
        stretch = 100.0 * (float(reading.stretch[0]) - 1.0)
        said.append(f"lengths of the top view are stretched by {stretch:.2f} % to those of the side view")
    return said


def _end_words(plan: HullPlan, reading: HullReading) -> list[str]:
    said = []
    for number, name in ((0, "stern"), (1, "bow")):
        station = (0, -1)[number]
        tall = float(reading.grid.upper[0, station] - reading.grid.lower[0, station])
        half = float(reading.grid.half[0, station])
        side = "closes from the side" if plan.joined[number] else f"is {shown(tall, 'length')} high"
        top = "closes from above" if plan.closed[number] else f"is {shown(2.0 * half, 'length')} broad"
        said.append(f"the {name} {side} and {top}")
    return said
