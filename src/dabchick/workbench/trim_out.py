"""A trim for the page: pieces to draw, both states before and after, totals, small changes, the proof in words."""

import math
from dataclasses import dataclass
from threading import Lock

import numpy as np

from dabchick.model.units import Dimension
from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.report.builder_units import length_unit, short_length, with_unit
from dabchick.report.trim_words import count_words, misses, move_words, proof, small_changes, summary
from dabchick.studies.glance import State, glance
from dabchick.studies.lie import Lie
from dabchick.studies.trim_apply import with_trim
from dabchick.studies.trim_model import bare
from dabchick.studies.trim_result import Move, Piece, TrimResult
from dabchick.workbench.drawn import Forms, outlines
from dabchick.workbench.scene import NO_OUTLINES
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.scene import Outlines
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.shapes.trim import MoveOut, ObstacleOut, PieceOut, StateCompare, TrimOut
from dabchick.workbench.words import amount, glance_out, lie_out

STATES: tuple[State, State] = ("surfaced", "dived")


@dataclass(frozen=True, eq=False)
class TrimAnswer:
    """A trim with the boat that it was worked out for."""

    vessel: Vessel
    result: TrimResult
    revision: int


class TrimPages:
    """Makes the answers for the pages; boxes of the same size are drawn once."""

    def __init__(self) -> None:
        self._forms = Forms()
        self._lock = Lock()
        self._last: tuple[TrimAnswer, TrimOut] | None = None

    def out(self, answer: TrimAnswer, job: str | None) -> TrimOut:
        """The answer for the page."""
        with self._lock:
            if self._last is None or self._last[0] is not answer or self._last[1].job != job:
                self._last = answer, self._made(answer, job)
            return self._last[1]

    def _made(self, answer: TrimAnswer, job: str | None) -> TrimOut:
        vessel, result = answer.vessel, answer.result
        return TrimOut(
            revision=answer.revision,
            job=job,
            verdict="good" if result.feasible else "bad",
            feasible=result.feasible,
            sentence=summary(vessel, result),
            pieces=[self._piece(piece, vessel) for piece in result.pieces],
            moves=[_move(move, vessel) for move in result.moves],
            states=_states(vessel, result),
            totals=_totals(vessel, result),
            sensitivities=_small(vessel, result),
            obstacles=[ObstacleOut(wish=entry.wish, text=entry.text) for entry in result.obstacles],
            gap=f"{misses(vessel, result)} {proof(result)}",
            method=result.method,
            assumptions=list(result.assumptions),
            warnings=[AdviceOut.of(entry) for entry in result.warnings if entry not in vessel.advice],
            sources=list(result.sources),
        )

    def _piece(self, piece: Piece, vessel: Vessel) -> PieceOut:
        units = vessel.units
        mesh, lines = self._drawn(piece)
        size = " × ".join(short_length(side, units) for side in piece.size_m)
        return PieceOut(
            material=piece.material,
            place=piece.place,
            mass=amount(piece.mass_kg, "mass", units),
            volume=amount(piece.volume_m3, "volume", units),
            size=f"{size} {length_unit(units)[0]}",
            pieces=count_words(piece),
            at=[with_unit(value, "length", units) for value in vessel.datum.to_builder(piece.centre_m)],
            centre_m=piece.centre_m,
            mesh=mesh,
            outlines=lines,
        )

    def _drawn(self, piece: Piece) -> tuple[Mesh, Outlines]:
        """Its box; nothing for a piece that the builder has made a point by hand."""
        if min(piece.size_m) <= 0.0:
            return Mesh(positions=[], indices=[]), NO_OUTLINES
        form, anchor = self._forms.of(shapes.box(*piece.size_m).moved(np.array(piece.centre_m)))
        positions = np.round(form.positions.astype(np.float64) + anchor, 6)
        mesh = Mesh(positions=positions.ravel().tolist(), indices=form.indices.ravel().tolist())
        return mesh, outlines(form, anchor)


def _move(move: Move, vessel: Vessel) -> MoveOut:
    item = next(item for item in vessel.items if item.name == move.part)
    x, y, z = (float(step) for step in np.subtract(move.to_m, move.from_m))
    return MoveOut(part=move.part, key=item.key, text=move_words(vessel, move), shift_m=(x, y, z))


def _states(vessel: Vessel, result: TrimResult) -> list[StateCompare]:
    before = bare(vessel)
    # A trim that is fitted already is proven with the pieces as they stand in the file.
    after = with_trim(before, result.pieces, result.moves) if result.rounds else vessel
    pairs: list[tuple[State, Lie, Lie]] = list(zip(STATES, result.before, result.after, strict=True))
    return [
        StateCompare(
            name=state,
            before=lie_out(before, was),
            after=lie_out(after, now),
            before_glance=glance_out(before, glance(before, was, state)),
            after_glance=glance_out(after, glance(after, now, state)),
        )
        for state, was, now in pairs
    ]


def _totals(vessel: Vessel, result: TrimResult) -> list[Line]:
    units = vessel.units
    places = f"{result.place_count} place{'' if result.place_count == 1 else 's'}"
    foam_mass = with_unit(result.added_foam_kg, "mass", units)
    wish = with_unit(vessel.waterline_m, "length", units)
    lift = with_unit(result.wished_lift_kg, "mass", units)
    return [
        Line(label="Lead", figure=amount(result.added_lead_kg, "mass", units)),
        Line(label="Foam", figure=amount(result.added_foam_m3, "volume", units), note=f"weighs {foam_mass}"),
        Line(
            label="Lead and foam go to", figure=Shown(text=places, spread="", value=float(result.place_count))
        ),
        Line(
            label="Off at the bow mark",
            figure=_signed(result.draught_bow_miss_m, "length", vessel),
            note=f"of {wish}",
        ),
        Line(
            label="Off at the stern mark",
            figure=_signed(result.draught_stern_miss_m, "length", vessel),
            note=f"of {wish}",
        ),
        Line(label="Off in lift", figure=_signed(result.lift_miss_kg, "mass", vessel), note=f"of {lift}"),
    ]


def _signed(value: float, dimension: Dimension, vessel: Vessel) -> Shown:
    """A miss, with its sign."""
    if not math.isfinite(value):
        return amount(value, dimension, vessel.units)
    return Shown(text=with_unit(value, dimension, vessel.units, plus=True), spread="", value=value)


def _small(vessel: Vessel, result: TrimResult) -> list[Line]:
    return [
        Line(label=row.change, figure=Shown(text=text, spread="", value=None), note=state)
        for row in small_changes(result.sensitivities, vessel.units)
        for text, state in ((row.surfaced, "surfaced"), (row.dived, "dived"))
        if text
    ]
