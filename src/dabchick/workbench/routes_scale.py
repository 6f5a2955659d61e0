"""Which scale: the scale table for the page of that name."""

from typing import Annotated, Any, cast

from fastapi import APIRouter, Query

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import Dimension, UnitError, UnitSet, parse, written
from dabchick.report.scale_words import lines
from dabchick.studies.scale import FullSize, ScaleResult, run
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.scale import ScaleOut, ScaleRowOut, ScaleSizes

Text = Annotated[str, Query(max_length=40)]


def router() -> APIRouter:
    """The route of the scale table."""
    routes = APIRouter(prefix="/api", tags=["scale"])

    @routes.get("/scale")
    def table(
        length: Text,
        beam: Text,
        draught: Text,
        displacement: Text,
        dived: Text = "",
        speed: Text = "",
        height: Text = "",
        scales: Annotated[str, Query(max_length=200)] = "24,32,48,60,72,96",
        units: UnitSet = "metric",
    ) -> ScaleOut:
        """A full-size boat at a row of scales."""
        try:
            full = _full(
                length=length,
                beam=beam,
                draught=draught,
                displacement=displacement,
                dived=dived,
                speed=speed,
                height=height,
            )
            return _out(run(full, _scales(scales), units=units), units)
        except BoatError as fault:
            # asked while the builder types, so a figure that is not whole yet is an answer like any other
            advice = [AdviceOut.of(entry) for entry in fault.advice]
            return ScaleOut(rows=[], advice=advice, warnings=[], assumptions=[], sources=[], method="")

    return routes


def _full(**texts: str) -> FullSize:
    dimensions: dict[str, Dimension] = {"displacement": "mass", "dived": "mass", "speed": "speed"}
    must = ("length", "beam", "draught", "displacement")
    values: dict[str, float | None] = {}
    faults = []
    for name, text in texts.items():
        if not text.strip() and name not in must:
            values[name] = None
            continue
        try:
            values[name] = parse(text, dimensions.get(name, "length"))
        except UnitError as fault:
            faults.append(Advice(fault.what, fault.todo, key=name, given=text, allowed=fault.allowed))
    if faults:
        raise BoatError(*faults)
    length, beam, draught, displacement = (values[name] or 0.0 for name in must)
    return FullSize(length, beam, draught, displacement, values["dived"], values["speed"], values["height"])


def _scales(text: str) -> tuple[float, ...]:
    try:
        return tuple(float(part.strip().removeprefix("1:")) for part in text.split(",") if part.strip())
    except ValueError as fault:
        raise BoatError(
            Advice(
                what="A scale is not a number.",
                todo="Write them like 48, 60, 72.",
                key="scales",
                given=text,
                allowed="numbers with commas between",
            )
        ) from fault


def _out(result: ScaleResult, units: UnitSet) -> ScaleOut:
    rows = []
    for row, line in zip(result.rows, lines(result, units), strict=True):
        sizes = {
            "length": row.length_m,
            "beam": row.beam_m,
            "height": row.height_m,
            "waterline": row.draught_m,
        }
        rows.append(
            ScaleRowOut(
                **cast(Any, line._asdict()),
                hands=row.hands,
                sizes=ScaleSizes(**{name: written(value, "length", units) for name, value in sizes.items()}),
            )
        )
    return ScaleOut(
        rows=rows,
        advice=[],
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        assumptions=list(result.assumptions),
        sources=list(result.sources),
        method=result.method,
    )
