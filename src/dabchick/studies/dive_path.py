"""The way along which the tanks fill: together, one after the other, at rates of their own, or through given fills."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.studies.loading import fills_for


@dataclass(frozen=True)
class DivePath:
    """Straight from one set of fills to the next; progress runs from 0 to 1 with the water moved."""

    tanks: tuple[str, ...]
    knots: tuple[float, ...]
    """(k,) progress at each set of fills, rising from 0 to 1."""
    shares: tuple[tuple[float, ...], ...]
    """(k, tanks) filled share of each tank, 0 to 1."""

    def fills_at(self, progress: float) -> dict[str, float]:
        """The filled share of each tank at a progress (kept within 0 to 1)."""
        rows = np.array(self.shares)
        return {
            name: float(np.interp(progress, self.knots, rows[:, column]))
            for column, name in enumerate(self.tanks)
        }


def together(vessel: Vessel) -> DivePath:
    """All tanks from empty to full at the same share."""
    return through(vessel, [0.0, 1.0])


def in_order(vessel: Vessel, names: Sequence[str]) -> DivePath:
    """One tank after the other; those that are not named fill together at the end. Raises BoatError."""
    left = [tank.name for tank in vessel.tanks if tank.name not in names]
    fills: dict[str, float] = fills_for(vessel, {})
    rows = [dict(fills)]
    for group in [*([name] for name in names), *([left] if left else [])]:
        fills_for(vessel, dict.fromkeys(group, 1.0))
        fills.update(dict.fromkeys(group, 1.0))
        rows.append(dict(fills))
    return through(vessel, rows)


def at_rates(vessel: Vessel, rates_m3_s: Mapping[str, float]) -> DivePath:
    """Each tank at a rate of its own until it is full; a tank without a rate stays empty. Raises BoatError."""
    fills_for(vessel, dict.fromkeys(rates_m3_s, 0.0))
    wrong = [name for name, rate in rates_m3_s.items() if not (np.isfinite(rate) and rate > 0.0)]
    if wrong or not rates_m3_s:
        raise BoatError(
            Advice(
                what="A tank fills at a rate above zero.",
                todo="Give each tank that fills its rate, such as main=20ml/s.",
                key="rate",
                given=", ".join(f"{name}={rates_m3_s[name]:g}" for name in wrong) or "none",
                allowed="above 0",
            )
        )
    capacity = {tank.name: tank.capacity_m3 for tank in vessel.tanks}
    times = {name: capacity[name] / rate for name, rate in rates_m3_s.items()}
    # times that differ by rounding alone are one, the last of them
    later = sorted(times.values())
    ends = [a for a, b in itertools.pairwise([*later, np.inf]) if b > a * (1.0 + 1e-12)]
    moments = [0.0, *ends]
    return through(
        vessel,
        [{name: _share(moment / times[name]) for name in rates_m3_s} for moment in moments],
    )


def _share(value: float) -> float:
    """Full where only rounding is left."""
    return 1.0 if value > 1.0 - 1e-12 else value


def through(vessel: Vessel, rows: Sequence[float | Mapping[str, float]]) -> DivePath:
    """Straight through these fills, one share for all tanks or by name. Raises BoatError."""
    fills = [fills_for(vessel, row) for row in rows]
    names = tuple(tank.name for tank in vessel.tanks)
    capacities = np.array([tank.capacity_m3 for tank in vessel.tanks])
    shares = [tuple(row[name] for name in names) for row in fills]
    kept = [shares[0]] if shares else []
    kept += [row for before, row in itertools.pairwise(shares) if row != before]
    moved = np.array([np.sum(np.abs(np.subtract(b, a)) * capacities) for a, b in itertools.pairwise(kept)])
    if not moved.size:
        raise BoatError(
            Advice(
                what="Along this way no tank takes any water."
                if names
                else "This boat has no tank, so nothing fills on the way down.",
                todo="Give two different fills at least." if names else "Add a tank on the tank page.",
                key="tank",
            )
        )
    knots = np.concatenate([[0.0], np.cumsum(moved)]) / np.sum(moved)
    knots[-1] = 1.0
    return DivePath(names, tuple(float(knot) for knot in knots), tuple(kept))
