"""Pieces of stated masses as sums: which totals they can make, and the fewest pieces for one."""

from dataclasses import dataclass
from functools import reduce
from math import gcd

MILLIGRAM_KG = 1e-6


@dataclass(frozen=True)
class PieceStep:
    """Totals in whole steps of `step_kg`, from `least_kg` up, can all be made of the pieces."""

    step_kg: float
    least_kg: float


def _milligrams(pieces_kg: tuple[float, ...]) -> list[int]:
    return [round(piece / MILLIGRAM_KG) for piece in pieces_kg]


def piece_step(pieces_kg: tuple[float, ...], most_least_kg: float = 0.010) -> PieceStep | None:
    """The common step of the pieces and the total from which every step can be made.

    For 2 g and 5 g that is 1 g from 4 g up (Frobenius' coin problem). None where that total is above
    `most_least_kg`: the pieces must then be counted one by one.
    """
    pieces = _milligrams(pieces_kg)
    step = reduce(gcd, pieces)
    coins = sorted(piece // step for piece in pieces)
    makeable = [True]
    run = 0
    while run < coins[0]:
        total = len(makeable)
        made = any(total >= coin and makeable[total - coin] for coin in coins)
        makeable.append(made)
        run = run + 1 if made else 0
        if total * step * MILLIGRAM_KG > most_least_kg + coins[0] * step * MILLIGRAM_KG:
            return None
    return PieceStep(step * MILLIGRAM_KG, max(len(makeable) - run, 1) * step * MILLIGRAM_KG)


def fewest_pieces(pieces_kg: tuple[float, ...], mass_kg: float) -> dict[str, int]:
    """The fewest pieces that make up a mass, heaviest first, such as {"20 g": 2, "5 g": 1}.

    Raises ValueError where they cannot.
    """
    pieces = sorted(_milligrams(pieces_kg), reverse=True)
    step = reduce(gcd, pieces)
    total, left_over = divmod(round(mass_kg / MILLIGRAM_KG), step)
    best: list[int] = [0]
    last: list[int] = [0]
    unreachable = total + 1
    for amount in range(1, total + 1):
        options = [(best[amount - piece // step] + 1, piece) for piece in pieces if piece // step <= amount]
        count, piece = min(options, default=(unreachable, 0), key=lambda option: option[0])
        best.append(min(count, unreachable))
        last.append(piece)
    if left_over or best[total] >= unreachable:
        raise ValueError(f"{mass_kg * 1000:g} g cannot be made of the pieces at hand.")
    counts = dict.fromkeys(pieces, 0)
    while total:
        counts[last[total]] += 1
        total -= last[total] // step
    return {f"{piece / 1000:g} g": count for piece, count in counts.items() if count}
