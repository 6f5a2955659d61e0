"""What `trim` prints: the answer in a sentence, pieces, moves, the proof, and what small changes do."""

from rich.table import Table

from dabchick.cli.face import Face
from dabchick.cli.lies import table
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import figure, length_unit, place_words
from dabchick.report.lie_words import sentence
from dabchick.report.trim_words import (
    amount_words,
    misses,
    move_words,
    piece_name,
    proof,
    small_changes,
    summary,
)
from dabchick.studies.trim_result import Sensitivities, TrimResult


def print_trim(face: Face, vessel: Vessel, result: TrimResult, *, short: bool = False) -> None:
    """The answer, most important first; `short` leaves out what the states and small changes are."""
    face.say(summary(vessel, result))
    for obstacle in result.obstacles:
        face.say(f"- {obstacle.text}")
    face.say(f"Before: {sentence(vessel, result.before[0])} Dived: {sentence(vessel, result.before[1])}")
    for move in result.moves:
        face.say(move_words(vessel, move))
    if result.pieces:
        face.show(pieces_table(vessel, result))
    if not short:
        face.show(table(result.after, vessel.units))
    face.say()
    face.say(f"{misses(vessel, result)} {proof(result)}")
    if not short:
        face.show(sensitivity_table(vessel, result.sensitivities))
        face.close(result, vessel)


def pieces_table(vessel: Vessel, result: TrimResult) -> Table:
    """One row for each piece of lead or foam."""
    unit = length_unit(vessel.units)[0]
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("piece", overflow="fold")
    shown.add_column("how much", justify="right", no_wrap=True)
    shown.add_column(f"size, {unit}", justify="right", no_wrap=True)
    for head in (vessel.datum.x_from, "across", vessel.datum.z_from):
        shown.add_column(head, justify="right", no_wrap=True)
    for piece in result.pieces:
        counted = [f"{count} × {mass}" for mass, count in piece.counts.items()]
        shown.add_row(
            piece_name(piece),
            "\n".join([amount_words(piece, vessel.units), *counted]),
            " × ".join(figure(edge, "length", vessel.units) for edge in piece.size_m),
            *place_words(piece.centre_m, vessel.datum, vessel.units),
        )
    return shown


def sensitivity_table(vessel: Vessel, small: Sensitivities) -> Table:
    """What 10 g or a degree do to her."""
    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column("what small changes do")
    shown.add_column("surfaced", justify="right")
    shown.add_column("dived", justify="right")
    for row in small_changes(small, vessel.units):
        shown.add_row(*row)
    return shown
