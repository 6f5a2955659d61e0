"""Hand measures of a hull: taken with tape and calliper at stations, in SI, from the builder's own end."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from dabchick.model.advice import Advice
from dabchick.model.units import UnitSet, shown
from dabchick.physics.loft import End
from dabchick.physics.measured_form import IMPOSSIBLE, LEAST_STATIONS, Measures, girth_limits
from dabchick.physics.smoothing import LEAST_POINTS

GirthOf = Literal["whole", "half", "half shell"]
"""All round the closed section; from the middle of the keel to the middle of the top on one side; or from edge to edge
over one open half shell, whose other half is alike.
"""
GIRTHS: Final[tuple[GirthOf, ...]] = ("whole", "half", "half shell")

CALLIPER_M: Final = 0.0005
TAPE_M: Final = 0.001
RULER_M: Final = 0.0005
"""Spreads (one standard deviation) where the builder gives none: common practice, no source."""


@dataclass(frozen=True)
class MeasuredStation:
    """What was measured at one station; None: not measured."""

    x_m: float
    beam_m: float
    height_m: float
    keel_m: float | None = None
    """Height of the lowest point over the base line."""
    girth_m: float | None = None
    """As it was measured: whole, half, or of a half shell."""
    where: str = ""
    """`file:line` for advice."""


@dataclass(frozen=True)
class HandMeasures:
    """The stations in the order in which they were written down, and how they were measured."""

    name: str
    """Of the file."""
    stations: tuple[MeasuredStation, ...]
    measured_from: Literal["bow", "stern"]
    girth: GirthOf | None = None
    calliper_m: float | None = None
    """Spread of beams, heights and keels."""
    tape_m: float | None = None
    """Spread of a girth as it was measured."""
    ruler_m: float | None = None
    """Spread of the stations' places."""
    bow: End | None = None
    """How a closed end is shaped; None: as the stations next to it run."""
    stern: End | None = None
    bow_radius_m: float | None = None
    """Of the ball that a round end ends in."""
    stern_radius_m: float | None = None
    units: UnitSet = "metric"
    """What advice is given in."""

    def length(self, value_m: float) -> str:
        """A length in the builder's units."""
        return shown(value_m, "length", self.units)

    def station(self, index: int) -> str:
        """What a station is called: `station 3 (120.0 mm from the bow)`."""
        return f"station {index + 1} ({self.length(self.stations[index].x_m)} from the {self.measured_from})"

    @property
    def from_bow(self) -> bool:
        return self.measured_from == "bow"

    def index(self, from_stern: int) -> int:
        """Place in this list of the station that stands at `from_stern` when counted from the aftermost."""
        return len(self.stations) - 1 - from_stern if self.from_bow else from_stern

    def girth_factor(self) -> float:
        """From a girth as measured to a whole one."""
        return 1.0 if self.girth in (None, "whole") else 2.0


def key(index: int, measure: str = "") -> str:
    """Key of a station in advice, counted from 1: `station[3].girth`."""
    return f"station[{index + 1}]{f'.{measure}' if measure else ''}"


def measures_of(hand: HandMeasures) -> Measures:
    """The same as arrays in SI, aftermost station first, x rising forward, girths all the way round."""
    ordered = hand.stations[::-1] if hand.from_bow else hand.stations
    factor = hand.girth_factor()

    def column(name: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        values = [getattr(station, name) for station in ordered]
        return np.array([np.nan if value is None else value for value in values], np.float64)

    return Measures(
        x=column("x_m") * (-1.0 if hand.from_bow else 1.0),
        beam=column("beam_m"),
        height=column("height_m"),
        keel=column("keel_m"),
        girth=np.where(np.minimum(column("beam_m"), column("height_m")) > 0.0, column("girth_m"), np.nan)
        * factor,
        calliper=CALLIPER_M if hand.calliper_m is None else hand.calliper_m,
        tape=factor * (TAPE_M if hand.tape_m is None else hand.tape_m),
        ruler=RULER_M if hand.ruler_m is None else hand.ruler_m,
        stern=hand.stern,
        bow=hand.bow,
        stern_radius=np.nan if hand.stern_radius_m is None else hand.stern_radius_m,
        bow_radius=np.nan if hand.bow_radius_m is None else hand.bow_radius_m,
    )


def assumed(hand: HandMeasures) -> tuple[str, ...]:
    """Every value that the builder did not measure or say, in sentences."""
    found = []
    for what, given, usual in (
        ("the calliper", hand.calliper_m, CALLIPER_M),
        ("the tape", hand.tape_m, TAPE_M),
        ("the stations' places", hand.ruler_m, RULER_M),
    ):
        if given is None:
            found.append(f"{hand.length(usual)} of spread in {what} (common practice, no source)")
    closed = [min(station.beam_m, station.height_m) <= 0.0 for station in hand.stations]
    bare = [
        hand.length(station.x_m)
        for station, tip in zip(hand.stations, closed, strict=True)
        if station.girth_m is None and not tip
    ]
    if bare:
        every = len(bare) == len(hand.stations) - sum(closed)
        place = "at every station" if every else f"at {', '.join(bare)} from the {hand.measured_from}"
        found.append(f"an ellipse {place}, where there is no girth (exponent 1.7 to 2.4 for the spread)")
    lowest = [hand.length(station.x_m) for station in hand.stations if station.keel_m is None]
    if len(lowest) == len(hand.stations):
        found.append("the middles of all sections on one level line, since no lowest point was measured")
    elif lowest:
        found.append(
            f"the lowest point at {', '.join(lowest)} as its neighbours run, since it was not measured"
        )
    if hand.girth == "half shell":
        found.append("the half shell that was not measured like the one that was")
    return tuple(found)


def faults(hand: HandMeasures) -> tuple[Advice, ...]:
    """Everything for which no hull can be made of these measures."""
    return tuple(_faults(hand))


def _faults(hand: HandMeasures) -> Iterator[Advice]:
    count = len(hand.stations)
    if count < LEAST_STATIONS:
        yield Advice(
            what=f"A hull cannot be made of {count} station{'' if count == 1 else 's'}.",
            todo="Measure one at each end and more between, closer together towards the ends.",
            where=hand.name,
            given=f"{count}",
            allowed=f"{LEAST_STATIONS} or more; eleven make a good hull",
        )
    yield from _order(hand)
    yield from _sizes(hand)
    keels = sum(station.keel_m is not None for station in hand.stations)
    if 0 < keels < LEAST_POINTS and count >= LEAST_STATIONS:
        yield Advice(
            what=f"The lowest point was measured at {keels} stations, too few to run a keel through.",
            todo="Measure it everywhere, or take the column out if the hull is alike above and below one line.",
            where=hand.name,
            given=f"{keels}",
            allowed=f"none, or {LEAST_POINTS} and more",
        )
    girths = [k for k, station in enumerate(hand.stations) if station.girth_m is not None]
    if girths and hand.girth is None:
        yield Advice(
            what="There are girths, but nothing says what the tape went round.",
            todo="Say `girth, whole` for all round the closed section, `girth, half` for keel to top on one side, or "
            "`girth, half shell` for edge to edge over one open half shell.",
            where=hand.name,
            key="girth",
            allowed=", ".join(GIRTHS),
        )
    elif count >= 2:
        yield from _girths(hand, girths)
    yield from _ends(hand)


def _order(hand: HandMeasures) -> Iterator[Advice]:
    for index, (before, station) in enumerate(itertools.pairwise(hand.stations), start=1):
        if station.x_m == before.x_m:
            yield Advice(
                what=f"Station {hand.length(station.x_m)} stands twice.",
                todo="Keep one of them, or correct its place.",
                where=station.where,
                key=key(index, "x"),
                given=hand.length(station.x_m),
            )
        elif station.x_m < before.x_m:
            yield Advice(
                what=f"Station {hand.length(station.x_m)} comes after {hand.length(before.x_m)}: out of order.",
                todo=f"Put them in rising order from the {hand.measured_from}, or correct the place.",
                where=station.where,
                key=key(index, "x"),
                given=hand.length(station.x_m),
                allowed=f"more than {hand.length(before.x_m)}",
            )


def _sizes(hand: HandMeasures) -> Iterator[Advice]:
    last = len(hand.stations) - 1
    for index, station in enumerate(hand.stations):
        for name, value in (("beam", station.beam_m), ("height", station.height_m)):
            if value < 0.0 or (value == 0.0 and 0 < index < last):
                yield Advice(
                    what=f"The {name} is below 0."
                    if value < 0.0
                    else f"The {name} is 0 between the ends of the hull.",
                    todo="Correct it, or take the station out.",
                    where=station.where,
                    key=key(index, name),
                    given=hand.length(value),
                    allowed="above 0 between the ends; 0 where the hull ends in a point",
                )


def _girths(hand: HandMeasures, girths: list[int]) -> Iterator[Advice]:
    arrays = measures_of(hand)
    factor = hand.girth_factor()
    for index in girths:
        station = hand.stations[index]
        if min(station.beam_m, station.height_m) <= 0.0 or station.girth_m is None:
            continue
        from_stern = len(hand.stations) - 1 - index if hand.from_bow else index
        low, high, spread = girth_limits(arrays, from_stern)
        girth = factor * station.girth_m
        if low - IMPOSSIBLE * spread <= girth <= high + IMPOSSIBLE * spread:
            continue
        short = girth < low
        other = _other_girth(hand.girth, girth / factor, low, high)
        yield Advice(
            what=f"No section of this beam and height has so {'short' if short else 'long'} a girth: "
            f"{'a diamond, the least there is, has more' if short else 'a box, the most there is, has less'}.",
            todo=other or "Measure girth, beam and height of this station once more.",
            where=station.where,
            key=key(index, "girth"),
            given=hand.length(station.girth_m),
            allowed=f"{hand.length(low / factor)} (diamond) to {hand.length(high / factor)} (box)",
        )


def _other_girth(stated: GirthOf | None, measured: float, low: float, high: float) -> str:
    """What the builder may have meant, where the same figure would do with the tape taken another way."""
    if stated == "whole" and low <= 2.0 * measured <= high:
        return "It would do for half the way round: is it `girth, half`?"
    if stated != "whole" and low <= measured <= high:
        return "It would do for the whole way round: is it `girth, whole`?"
    return ""


def _ends(hand: HandMeasures) -> Iterator[Advice]:
    if len(hand.stations) < LEAST_STATIONS:
        return
    by_name = {"bow": 0, "stern": -1} if hand.from_bow else {"bow": -1, "stern": 0}
    for name, radius in (("bow", hand.bow_radius_m), ("stern", hand.stern_radius_m)):
        if radius is None:
            continue
        station = hand.stations[by_name[name]]
        beside = hand.stations[1 if by_name[name] == 0 else -2]
        gap = abs(beside.x_m - station.x_m)
        if station.beam_m > 0.0 or station.height_m > 0.0:
            yield Advice(
                what=f"The {name} has a radius, but its last station is not a point.",
                todo="Add a station at the very tip with beam and height 0, or take the radius out.",
                where=station.where or hand.name,
                key=name,
                given=hand.length(radius),
            )
        elif not 0.0 < radius < gap:
            yield Advice(
                what=f"The radius of the {name} reaches past the station next to it.",
                todo="Give the radius of the rounding at the very tip, or measure another station close to it.",
                where=station.where or hand.name,
                key=name,
                given=hand.length(radius),
                allowed=f"above 0, below {hand.length(gap)}",
            )
