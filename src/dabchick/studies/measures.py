"""`measures`: the hull that hand measures make, how well it is known, and which measures to take once more."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.measures import HandMeasures, assumed, faults, key, measures_of
from dabchick.physics.loft import End
from dabchick.physics.measured_fit import fitted
from dabchick.physics.measured_form import Form, Measure
from dabchick.physics.out_of_line import OutOfLine, out_of_line
from dabchick.physics.superellipse import MOST_EXPONENT, perimeter
from dabchick.studies.result import Figure, StudyResult

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FittedStation:
    """One station, in the order in which it was written down: what was measured, and the faired form there."""

    x_m: float
    """From the builder's end."""
    beam_m: float
    height_m: float
    lowest_m: float
    girth_m: float
    """All the way round."""
    exponent: float
    """n of |y/b|^n + |z/h|^n = 1 in the faired form; NaN at a tip."""
    measured_exponent: float
    """By this station's own girth alone; NaN without one."""


@dataclass(frozen=True)
class Slip:
    """A measure that does not go with the others."""

    station: int
    """Its place in the list, from 0."""
    measure: Measure | None
    """None: the whole section."""
    measured_m: float
    in_line_m: float
    """What would be in line; both as the builder measures, so half a girth for half a girth."""
    spreads: float
    """How many standard deviations it is off."""


@dataclass(frozen=True, kw_only=True)
class MeasuresResult(StudyResult):
    """The hull of the measures; spreads are one standard deviation."""

    length_m: float
    beam_m: float
    height_m: float
    volume_m3: Figure
    area_m2: Figure
    """Of the whole outer form, flat ends and all."""
    lcb_m: Figure
    """Centre of the form's volume, from the aftermost station."""
    stern_end: End
    bow_end: End
    stations: tuple[FittedStation, ...]
    slips: tuple[Slip, ...]
    form: Form
    """The faired form itself, x forward."""


def run(hand: HandMeasures) -> MeasuresResult:
    """Fit, fair and judge the measures. Raises BoatError with everything for which no hull can be made of them."""
    wrong = faults(hand)
    if wrong:
        raise BoatError(*wrong)
    arrays = measures_of(hand)
    found = fitted(arrays)
    slips = tuple(_slip(hand, entry) for entry in out_of_line(arrays))
    stations = _stations(hand, found.form, found.exponent)
    boxy = [k for k, station in enumerate(stations) if station.measured_exponent >= MOST_EXPONENT]
    return MeasuresResult(
        boat=hand.name,
        method="a superellipse through beam and height at each station, its exponent from the girth; half-beam, "
        "half-height, middle and 1/n faired along the length by smoothing splines weighted with the spreads of the "
        "measures; spreads carried through by moving each measure",
        sources=(
            "superellipse: closed form of its area (gamma function), its perimeter by quadrature",
            "smoothing splines with the likeliest stiffness: Wahba 1978 (from memory)",
        ),
        validity=f"sections alike on both sides and above and below their middle; exponent 1 to {MOST_EXPONENT:g}",
        assumptions=assumed(hand),
        warnings=(*(_words(hand, slip) for slip in slips), *(_boxy(hand, k) for k in boxy)),
        length_m=found.form.length,
        beam_m=float(np.max(arrays.beam)),
        height_m=_height(found.form),
        volume_m3=Figure(found.bulk.volume, found.spread.volume),
        area_m2=Figure(found.bulk.surface, found.spread.surface),
        lcb_m=Figure(found.bulk.centre, found.spread.centre),
        stern_end=found.form.stern_end,
        bow_end=found.form.bow_end,
        stations=stations,
        slips=slips,
        form=found.form,
    )


def _height(form: Form) -> float:
    _, tall, middle, _ = form.at(np.linspace(0.0, np.pi, 181))
    return float(np.max(middle + tall) - np.min(middle - tall))


def _stations(hand: HandMeasures, form: Form, own: Array) -> tuple[FittedStation, ...]:
    found = []
    for index, station in enumerate(hand.stations):
        from_stern = hand.index(index)
        x = measures_of(hand).x[from_stern]
        share = min(max(1.0 - 2.0 * (x - form.stern_x) / form.length, -1.0), 1.0)
        half, tall, middle, exponent = (float(value[0]) for value in form.at(np.array([np.arccos(share)])))
        tip = half <= 0.0 or tall <= 0.0
        found.append(
            FittedStation(
                x_m=station.x_m,
                beam_m=2.0 * half,
                height_m=2.0 * tall,
                lowest_m=middle - tall,
                girth_m=perimeter(half, tall, exponent),
                exponent=np.nan if tip else exponent,
                measured_exponent=float(own[from_stern]),
            )
        )
    return tuple(found)


def _slip(hand: HandMeasures, entry: OutOfLine) -> Slip:
    factor = hand.girth_factor() if entry.measure == "girth" else 1.0
    return Slip(
        station=hand.index(entry.station),
        measure=entry.measure,
        measured_m=entry.measured / factor,
        in_line_m=entry.in_line / factor,
        spreads=entry.spreads,
    )


_NAMES: dict[Measure, str] = {"beam": "beam", "height": "height", "keel": "lowest point", "girth": "girth"}


def _words(hand: HandMeasures, slip: Slip) -> Advice:
    where = hand.stations[slip.station].where
    measured, in_line = hand.length(slip.measured_m), hand.length(slip.in_line_m)
    if slip.measure is None:
        return Advice(
            what=f"The whole section at {hand.station(slip.station)} is out of line with its neighbours, "
            "though its measures go with each other.",
            todo="Look at its place first. If the form does change so fast here, measure a station on either side.",
            where=where,
            key=key(slip.station, "x"),
            given=f"beam {measured}",
            allowed=f"about {in_line} would be in line",
            severity="warning",
        )
    return Advice(
        what=f"The {_NAMES[slip.measure]} at {hand.station(slip.station)} is out of line.",
        todo=f"Measure it once more: {in_line} would be in line. Until then the form keeps what you measured.",
        where=where,
        key=key(slip.station, slip.measure),
        given=measured,
        allowed=f"about {in_line}",
        severity="warning",
    )


def _boxy(hand: HandMeasures, index: int) -> Advice:
    girth = hand.stations[index].girth_m
    return Advice(
        what=f"The section at {hand.station(index)} is a box, as far as a tape can tell.",
        todo="Taken with the exponent 10. If the corners are sharp, bring in a station table instead.",
        where=hand.stations[index].where,
        key=key(index, "girth"),
        given="" if girth is None else hand.length(girth),
        severity="warning",
    )
