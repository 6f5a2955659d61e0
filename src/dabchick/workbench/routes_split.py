"""The break line: what each half of the hull weighs and carries."""

import math
from collections.abc import Sequence
from typing import Final

from fastapi import APIRouter

from dabchick.model.advice import Advice, BoatError
from dabchick.model.break_line import KEY, Line, disorder, house_line
from dabchick.model.units import UnitError, parse, written
from dabchick.model.vessel import Vessel
from dabchick.report.split_words import centre, lift_sentence, summary
from dabchick.studies import split
from dabchick.studies.split import HalfResult, SplitResult
from dabchick.workbench.last_right import last_right
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.split import CrossingOut, HalfOut, SplitAsk, SplitOut
from dabchick.workbench.shapes.tank import Line as FigureLine
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.words import amount, measured

_BOTH: Final = Advice(what="The line is given twice, as typed and as dragged.", todo="Give it once.", key=KEY)


def router(shelf: Shelf) -> APIRouter:
    """Routes over the break lines of a shelf's boats; none of them is long work."""
    routes = APIRouter(prefix="/api/boats/{boat}/split", tags=["split"])

    @routes.post("")
    def post_split(boat: str, ask: SplitAsk) -> SplitOut:
        """The boat parted at a line; nothing is written."""
        now = shelf.bench(boat).now
        vessel = last_right(now).vessel
        line = _asked(vessel, ask)
        result = split.run(vessel, line_m=line)
        return _out(vessel, now.right_revision or 0, result, line is None)

    return routes


def _asked(vessel: Vessel, ask: SplitAsk) -> Line | None:
    """The line asked for, in the house frame. Raises BoatError with all that cannot be read."""
    if ask.points is not None and ask.points_m is not None:
        raise BoatError(_BOTH)
    if ask.points_m is not None:
        points: Sequence[tuple[float, float]] = ask.points_m
        if not all(math.isfinite(value) for point in points for value in point):
            raise BoatError(Advice(what="A point of the line is no place.", todo="Drag it again.", key=KEY))
        faults = list(disorder(points, vessel.units))
        if faults:
            raise BoatError(*faults)
        line = tuple((float(x), float(z)) for x, z in points)
        return line if line[0][0] < line[-1][0] else line[::-1]
    if ask.points is None:
        return None
    typed = [ask.points[0][1:]] if len(ask.points) == 1 else ask.points
    read, unread = [], []
    for row, texts in enumerate(typed, start=1):
        values = []
        for text in texts:
            try:
                values.append(parse(text.strip(), "length"))
            except UnitError as fault:
                advice = Advice(
                    what=fault.what, todo=fault.todo, key=f"{KEY}[{row}]", given=text, allowed=fault.allowed
                )
                unread.append(advice)
        read.append(tuple(values))
    faults = unread or list(disorder(read, vessel.units))
    if faults:
        raise BoatError(*faults)
    return house_line(read, vessel.datum, vessel.length_m)


def _out(vessel: Vessel, revision: int, result: SplitResult, of_itself: bool) -> SplitOut:
    units = vessel.units
    out = result.lift_out
    return SplitOut(
        revision=revision,
        from_file=of_itself and result.from_file,
        proposed=of_itself and not result.from_file,
        points_m=list(result.line_m),
        texts=_texts(vessel, result.line_m),
        sentence=summary(vessel, result),
        upper=_half(vessel, result.upper),
        lower=_half(vessel, result.lower),
        crossings=[
            CrossingOut(
                key=entry.key,
                name=entry.name,
                half=entry.half,
                above=amount(entry.above_m, "length", units),
                below=amount(entry.below_m, "length", units),
            )
            for entry in result.crossings
        ],
        lift=lift_sentence(vessel, out) if out is not None else "",
        lift_fits=out is None or out.fits,
        lines=[
            FigureLine(
                label="Both halves", figure=amount(result.mass_kg, "mass", units), note="without water"
            )
        ],
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=result.method,
        validity=result.validity,
        sources=list(result.sources),
    )


def _texts(vessel: Vessel, line: Line) -> list[tuple[str, str]]:
    """From the builder's zero on, so that x grows from line to line."""
    points = [vessel.datum.to_builder((x, 0.0, z)) for x, z in line]
    points = points if points[0][0] <= points[-1][0] else points[::-1]
    return [
        (written(point[0], "length", vessel.units), written(point[2], "length", vessel.units))
        for point in points
    ]


def _half(vessel: Vessel, half: HalfResult) -> HalfOut:
    return HalfOut(
        half=half.half,
        mass=measured(half.mass_kg, "mass", vessel.units),
        skin=amount(half.skin_mass_kg, "mass", vessel.units),
        centre=centre(vessel, half.centre_m),
        centre_m=half.centre_m if math.isfinite(half.centre_m[0]) else None,
        parts=list(half.parts),
    )
