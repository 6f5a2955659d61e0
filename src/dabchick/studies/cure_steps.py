"""What to do to get from one fitting of lead and foam to another, what that costs, and the order of cures."""

import math
from collections.abc import Sequence

from dabchick.model.vessel import Vessel
from dabchick.studies.cure_result import Cure, Step
from dabchick.studies.cure_solve import MOVED_SHARE, TOUCH_G
from dabchick.studies.trim_apply import piece_of
from dabchick.studies.trim_result import Move, Piece


def steps_of(vessel: Vessel, pieces: tuple[Piece, ...], moves: tuple[Move, ...]) -> tuple[Step, ...]:
    """What to do to get from the trim that is fitted to this one."""
    steps: list[Step] = []
    fitted = {item.name: piece_of(item, vessel.wishes) for item in vessel.items if item.from_trim}
    left = list(fitted.items())
    fresh: list[Piece] = []
    for piece in pieces:
        same = next((entry for entry in left if _same(entry[1], piece)), None)
        if same is not None:
            left.remove(same)
        else:
            fresh.append(piece)
    for piece in fresh:
        twin = next(
            (
                entry
                for entry in left
                if entry[1].material == piece.material and abs(entry[1].mass_kg - piece.mass_kg) < 1e-7
            ),
            None,
        )
        if twin is not None:
            left.remove(twin)
            steps.append(_step("move", twin[0], piece, twin[1]))
        else:
            steps.append(_step("add", piece.place, piece, None))
    for name, piece in left:
        steps.append(
            Step(
                "take out", name, piece.material, piece.mass_kg, piece.centre_m, None, piece.size_m, piece.place,
                piece.counts,
            )
        )  # fmt: skip
    items = {item.name: item for item in vessel.items}
    for move in moves:
        item = items[move.part]
        loose = item.kind in ("lead", "foam")
        steps.append(
            Step(
                kind="move" if loose else "shift",
                part=move.part,
                material="lead" if item.kind == "lead" else "foam" if item.kind == "foam" else "",
                mass_kg=item.mass_kg,
                from_m=move.from_m,
                to_m=move.to_m,
                size_m=None,
                place="",
                counts={},
            )
        )
    return tuple(steps)


def _same(first: Piece, second: Piece) -> bool:
    return (
        first.material == second.material
        and abs(first.mass_kg - second.mass_kg) < 1e-7
        and math.dist(first.centre_m, second.centre_m) < 1e-5
    )


def _step(kind: str, part: str, piece: Piece, old: Piece | None) -> Step:
    return Step(
        kind="move" if kind == "move" else "add",
        part=part,
        material=piece.material,
        mass_kg=piece.mass_kg,
        from_m=old.centre_m if old is not None else None,
        to_m=piece.centre_m,
        size_m=piece.size_m,
        place=piece.place,
        counts=piece.counts,
    )


def cost_g(cure: Cure) -> float:
    """What a cure costs in grams: added weight, and so much for each thing touched."""
    added = max(cure.added_lead_kg, 0.0) + max(cure.added_foam_kg, 0.0)
    moved = sum(step.mass_kg for step in cure.steps if step.kind in ("move", "take out", "add"))
    return 1e3 * (added + MOVED_SHARE * moved) + TOUCH_G * len(cure.steps)


def ranked(cures: Sequence[Cure]) -> tuple[Cure, ...]:
    """Those that keep limits and trims first, the cheapest of them first; then those that come nearest."""

    def nearest(cure: Cure) -> float:
        return -min((entry.margin for entry in cure.criteria if entry.unit == "m"), default=-math.inf)

    def order(cure: Cure) -> tuple[bool, bool, bool, float]:
        return (
            not cure.kept,
            not cure.keeps_trims,
            cure.by_hand,
            cost_g(cure) if cure.kept else nearest(cure),
        )

    kept: list[Cure] = []
    for cure in sorted(cures, key=order):
        if not any(cure.steps == other.steps for other in kept):
            kept.append(cure)
    return tuple(kept)
