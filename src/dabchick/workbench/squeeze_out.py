"""The study of air and depth as the page shows it, in the builder's units."""

from dabchick.model.typed import si_all
from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report import squeeze_words as words
from dabchick.studies import squeeze
from dabchick.studies.squeeze import SqueezeResult, Track
from dabchick.workbench.jobs import Tell
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.squeeze import (
    SqueezeAsk,
    SqueezeChart,
    SqueezeFill,
    SqueezeMark,
    SqueezeOut,
    SqueezeTable,
    SqueezeWay,
)
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.words import amount

ROW_HEADINGS = ("air", "trim", "BG", "GM across", "GM along", "or trim")
BLOW_HEADINGS = ("air blown, at the surface", "weighs", "lift just under", "brings her back from")


def asked(vessel: Vessel, ask: SqueezeAsk, *, air: bool, tell: Tell | None = None) -> SqueezeResult:
    """The study as the page asks for it. Raises BoatError."""
    depth, blow = si_all(("depth", ask.depth, "length"), ("blow", ask.blow, "volume"))
    return squeeze.run(
        vessel,
        fills=[] if ask.fills is None else [ask.fills],
        depths=squeeze.depths_to(squeeze.DEPTH_M if depth is None else depth),
        blow_m3=blow or 0.0,
        air=air,
        tell=tell,
    )


def squeeze_out(vessel: Vessel, result: SqueezeResult, revision: int) -> SqueezeOut:
    """All that the page shows."""
    track = result.tracks[0]
    units = vessel.units
    told = words.few(track.rows)
    several = any(len(row.rests) > 1 for row in told)
    columns = 8 + several
    headings = ["over her", "lift", words.loss_heading(units), *ROW_HEADINGS][:columns]
    sentences = (
        words.fill_words(vessel, track),
        words.neutral_sentence(vessel, track),
        words.needed_sentence(vessel, result),
        words.lost_words(vessel, track),
        words.cure_sentence(vessel, result),
    )
    return SqueezeOut(
        revision=revision,
        sentence=words.summary(vessel, result),
        verdict="good" if result.comes_back else "bad",
        notes=[text for text in sentences if text],
        fills=[
            SqueezeFill(name=name, share=share, soft=name in result.soft)
            for name, share in track.fills.items()
        ],
        depth=words.depth_words(result.depth_m, units),
        soft=bool(result.soft) or result.trapped_m3 > 0.0,
        figures=_figures(vessel, result, track),
        chart=_chart(units, result, track),
        table=SqueezeTable(
            headings=headings, rows=[list(words.row_words(vessel, row)[:columns]) for row in told]
        ),
        blows=SqueezeTable(
            headings=list(BLOW_HEADINGS),
            rows=[list(words.blow_words(vessel, point)) for point in words.blows_told(result.blows)],
        ),
        cautions=list(result.cautions),
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=result.method,
        sources=list(result.sources),
    )


def _figures(vessel: Vessel, result: SqueezeResult, track: Track) -> list[Line]:
    units = vessel.units
    deepest = words.depth_words(result.depth_m, units)
    lines = [
        Line(
            label="Lift just under",
            figure=amount(track.lift_under_kg, "mass", units, track.lift_spread_kg),
        ),
        Line(label=f"Lift at {deepest}", figure=amount(result.lift_blown_kg, "mass", units)),
        Line(label="Lost just under", figure=_rate(track.loss_at_surface.kg_m, units)),
        Line(label=f"Lost at {deepest}", figure=_rate(track.loss_at_depth.kg_m, units)),
        Line(label="Neutral depth", figure=_depth(track.neutral, track.neutral_depth_m, units)),
        Line(label="Comes back from", figure=_depth(result.back, result.back_depth_m, units)),
    ]
    if result.soft:
        needed = amount(result.needed_m3, "volume", units)
        lines.append(
            Line(label=f"Air to come back from {deepest}", figure=needed, note="as measured at the surface")
        )
    return lines


def _rate(kg_m: float, units: UnitSet) -> Shown:
    return Shown(text=words.rate_words(kg_m, units).replace(" of lift", ""), spread="", value=kg_m)


def _depth(reach: squeeze.Reach, depth_m: float, units: UnitSet) -> Shown:
    if reach == "down to":
        return Shown(text=words.depth_words(depth_m, units), spread="", value=depth_m)
    return Shown(text="any depth" if reach == "any depth" else "nowhere", spread="", value=None)


def _chart(units: UnitSet, result: SqueezeResult, track: Track) -> SqueezeChart:
    metres, depth_unit = (1.0, "m") if units == "metric" else (words.FOOT_M, "ft")
    kilograms, lift_unit = (0.001, "g") if units == "metric" else (0.0283495231, "oz")

    def deep(depth_m: float) -> float:
        return round(depth_m / metres, 5)

    def light(kg: float) -> float:
        return round(kg / kilograms, 4)

    neutral = track.neutral == "down to" and track.neutral_depth_m <= result.depth_m
    marks = []
    if neutral:
        text = f"neutral at {words.depth_words(track.neutral_depth_m, units)}"
        more = ", no way back below" if result.blown_m3 == 0.0 else ""
        marks.append(SqueezeMark(kind="neutral", depth=deep(track.neutral_depth_m), text=text + more))
    if result.back == "down to" and result.back_depth_m <= result.depth_m and result.blown_m3 > 0.0:
        text = f"blown, no way back below {words.depth_words(result.back_depth_m, units)}"
        marks.append(SqueezeMark(kind="back", depth=deep(result.back_depth_m), text=text))
    marks += [
        SqueezeMark(
            kind="jump",
            depth=deep(jump.depth_m),
            text=f"goes over at {words.depth_words(jump.depth_m, units)}",
        )
        for jump in track.jumps
    ]
    return SqueezeChart(
        depth_unit=depth_unit,
        lift_unit=lift_unit,
        depth=[deep(row.depth_m) for row in track.rows],
        lift=[light(row.lift_kg) for row in track.rows],
        closed=[light(row.lift_kg) for row in track.closed] if result.soft else [],
        trim=[round(row.trim_deg, 3) for row in track.rows],
        others=[
            SqueezeWay(depth=deep(row.depth_m), trim=round(rest.trim_deg, 3))
            for row in track.rows
            for rest in row.rests
            if abs(rest.trim_deg - row.trim_deg) > 0.05
        ],
        marks=marks,
    )
