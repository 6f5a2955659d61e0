"""What small changes do, in the amounts a builder handles."""

import math

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.physics.cut import cut
from dabchick.physics.equilibrium import find, sinks
from dabchick.physics.response import Response, response
from dabchick.physics.water import density_kg_m3
from dabchick.studies.loading import load
from dabchick.studies.trim_result import Sensitivities

_TEN_GRAMS = 0.01


def sensitivities(vessel: Vessel) -> Sensitivities:
    """Degrees per 10 g at the ends and per 10 g moved, mm of draught per 10 g, g per degree C and per g/kg of salt.

    Taken at the surfaced equilibrium (tanks empty) and wholly under with tanks full; NaN for the surfaced ones
    where she sinks. The ends are the draught marks, at the height of the keel.
    """
    empty, full = load(vessel, 0.0), load(vessel, 1.0)
    hung = response(full.balance, find(full.balance, hanging=True))
    afloat = None if sinks(empty.balance) else response(empty.balance, find(empty.balance))

    def pitch_at(moved: Response | None, x: float) -> float:
        return _pitch(moved, moved.of_mass(np.array([[x, 0.0, 0.0]]))) if moved else math.nan

    def pitch_moved(moved: Response | None) -> float:
        return _pitch(moved, moved.of_shift(1.0, np.array([[0.1, 0.0, 0.0]]))) if moved else math.nan

    def heel_moved(moved: Response | None) -> float:
        if moved is None:
            return math.nan
        load_row = moved.of_shift(_TEN_GRAMS, np.array([[0.0, -0.01, 0.0]]))
        return math.degrees(float(moved.moves(load_row)[0, 2]))

    draught = math.nan
    if afloat:
        floatation = np.array([_floatation(afloat)])
        draught = 1000.0 * float(afloat.moves(afloat.of_mass(floatation) * _TEN_GRAMS)[0, 0])
    net_volume = full.balance.buoyant_volume - sum(
        full.fills[tank.name] * tank.capacity_m3 for tank in vessel.tanks
    )
    warmth, salt = _density_slopes(vessel)
    return Sensitivities(
        pitch_surfaced_deg_per_10g_at_bow=pitch_at(afloat, vessel.mark_bow_m),
        pitch_surfaced_deg_per_10g_at_stern=pitch_at(afloat, vessel.mark_stern_m),
        pitch_dived_deg_per_10g_at_bow=pitch_at(hung, vessel.mark_bow_m),
        pitch_dived_deg_per_10g_at_stern=pitch_at(hung, vessel.mark_stern_m),
        pitch_dived_deg_per_10g_moved_100mm=pitch_moved(hung),
        pitch_surfaced_deg_per_10g_moved_100mm=pitch_moved(afloat),
        heel_surfaced_deg_per_10g_moved_10mm=heel_moved(afloat),
        heel_dived_deg_per_10g_moved_10mm=heel_moved(hung),
        draught_mm_per_10g=draught,
        lift_g_per_degc=1000.0 * net_volume * warmth,
        lift_g_per_g_kg_salt=1000.0 * net_volume * salt,
    )


def _pitch(moved: Response, load_row: np.ndarray) -> float:
    return math.degrees(float(moved.moves(load_row * _TEN_GRAMS)[0, 1]))


def _floatation(afloat: Response) -> np.ndarray:
    """A point over which added mass sinks her without turning: the centre of floatation."""
    part = cut(afloat.balance.forest, afloat.normal, afloat.offset_m, 0, afloat.balance.last_displacer)
    return np.asarray(part.waterplane_moment) / part.waterplane_area


def _density_slopes(vessel: Vessel) -> tuple[float, float]:
    """Change of density [kg/m3] per degree C and per g/kg, central or one-sided within the equation's range."""
    at, salinity = vessel.water_temperature_c, vessel.water_salinity_g_kg
    low = max(salinity - 0.05, 0.0)
    warm = float(density_kg_m3(at + 0.5, salinity)) - float(density_kg_m3(at - 0.5, salinity))
    salty = float(density_kg_m3(at, salinity + 0.05)) - float(density_kg_m3(at, low))
    return warm, salty / (salinity + 0.05 - low)
