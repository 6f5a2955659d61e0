"""How a number is known, and the spread that goes with it when the builder gives none.

A spread is one standard deviation. All defaults here are common practice, no source; the builder's own spread
always wins, and every default used is listed in the result.
"""

from typing import Final

from dabchick.model.vessel import Known

# Absolute [kg] and relative; the larger one counts.
_MASS: Final[dict[Known, tuple[float, float]]] = {
    "weighed": (0.0005, 0.002),
    "measured": (0.001, 0.03),
    "drawing": (0.001, 0.10),
    "catalogue": (0.001, 0.05),
    "guess": (0.002, 0.25),
    "computed": (0.001, 0.07),
}
# Absolute [m] for a place or a length.
_PLACE: Final[dict[Known, float]] = {
    "weighed": 0.001,
    "measured": 0.001,
    "drawing": 0.002,
    "catalogue": 0.002,
    "guess": 0.010,
    "computed": 0.001,
}
# Absolute [m3] and relative; the larger one counts.
_VOLUME: Final[dict[Known, tuple[float, float]]] = {
    "weighed": (0.5e-6, 0.005),
    "measured": (0.5e-6, 0.02),
    "drawing": (1.0e-6, 0.03),
    "catalogue": (1.0e-6, 0.05),
    "guess": (2.0e-6, 0.25),
    "computed": (1.0e-6, 0.03),
}

THICKNESS_SHARE: Final = 0.10
"""Of the skin's thickness, where the builder gives no spread."""
TEMPERATURE_GIVEN_C: Final = 1.0
TEMPERATURE_ASSUMED_C: Final = 5.0
SALINITY_GIVEN_G_KG: Final = 0.1
SALINITY_GIVEN_SHARE: Final = 0.02
SALINITY_ASSUMED_G_KG: Final = {"fresh": 0.3, "sea": 2.0}
DENSITY_GIVEN_KG_M3: Final = 0.5


def mass_spread(mass_kg: float, known: Known) -> float:
    """Spread of a mass [kg]: weighed 0.5 g or 0.2 %, catalogue 5 %, drawing 10 %, guess 25 %, and so on."""
    least, share = _MASS[known]
    return max(least, share * abs(mass_kg))


def place_spread(known: Known) -> float:
    """Spread of a place along each axis [m]: measured 1 mm, drawing and catalogue 2 mm, guess 10 mm."""
    return _PLACE[known]


def volume_spread(volume_m3: float, known: Known) -> float:
    """Spread of a volume [m3]: weighed in water 0.5 %, measured 2 %, drawing 3 %, guess 25 %, and so on."""
    least, share = _VOLUME[known]
    return max(least, share * abs(volume_m3))
