"""Water at the surface: density and viscosity of fresh, brackish and sea water.

Density is the TEOS-10 equation at sea pressure 0, the pressure derivative of the Gibbs function of seawater:

    1 / rho = 1e-8 * [ sum a_j y^j + x^2 sum p_j y^j + x^3 sum q_j y^j + x^4 sum r_j y^j + x^5 s ]
    x^2 = SA / (40 * 35.16504 / 35) with SA in g/kg,  y = t / 40 with t in degrees Celsius (ITS-90)

The first sum is pure water (IAPWS-09), the rest sea salt (IAPWS-08).

Sources: IOC, SCOR and IAPSO (2010), The international thermodynamic equation of seawater - 2010, Manuals and
Guides 56, appendices G and H; IAPWS R13-08 (2008) and SR7-09 (2009). The coefficients were read in public
implementations of the standard, not in the printed tables, and agree with two independent libraries (see
`tests/reference/test_water.py`).

Validity: 0 to 40 degC, 0 to 42 g/kg. Accuracy there (from memory of the releases): 0.001 kg/m3 for air-free
pure water, 0.005 kg/m3 for sea salt of reference composition. Other water is outside the equation's reach:
the salts of a hard pond or a salted pool add about as much per gram dissolved, to some 10 % of what they add
(common practice, no source); dissolved air takes off up to 0.003 kg/m3 (from memory); mud, bubbles and weed
are not counted.
"""

from typing import overload

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ScalarOrArray = float | Array

LEAST_TEMPERATURE_C, MOST_TEMPERATURE_C = 0.0, 40.0
LEAST_SALINITY_G_KG, MOST_SALINITY_G_KG = 0.0, 42.0

REFERENCE_SALINITY_RATIO = 35.16504 / 35.0
"""Absolute Salinity [g/kg] over Practical Salinity, for sea salt of reference composition (1.004715...)."""

_PURE = (
    100015.695367145,
    -270.983805184062,
    1455.0364540468,
    -672.50778314507,
    397.968445406972,
    -194.618310617595,
    63.5113936641785,
    -9.63108119393062,
)
_SALT = (
    (2, (-3310.49154044839, 729.116529735046, -860.764303783977, 694.244814133268, -297.728741987187)),
    (3, (199.459603073901, -175.292041186547, 383.058066002476, -460.319931801257, 234.565187611355)),
    (4, (-54.7919133532887, -22.6683558512829)),
    (5, (36.0284195611086,)),
)
_SCALE = 1e-8
_TEMPERATURE_SCALE_C = 40.0
_SALINITY_SCALE_G_KG = 40.0 * REFERENCE_SALINITY_RATIO

_VISCOSITY_TERMS = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))


@overload
def density_kg_m3(temperature_c: float, salinity_g_kg: float = 0.0) -> float: ...
@overload
def density_kg_m3(temperature_c: Array, salinity_g_kg: ScalarOrArray = 0.0) -> Array: ...
@overload
def density_kg_m3(temperature_c: float, salinity_g_kg: Array) -> Array: ...
def density_kg_m3(temperature_c: ScalarOrArray, salinity_g_kg: ScalarOrArray = 0.0) -> ScalarOrArray:
    """Density [kg/m3] of water at the surface, from temperature [degC] and Absolute Salinity [g/kg].

    Scalars or arrays that broadcast. Range, accuracy and source: see the module. Raises ValueError outside
    the range. A reading in practical salinity goes through `absolute_salinity_g_kg` first.

    >>> round(density_kg_m3(12.0), 3), round(density_kg_m3(15.0, 35.16504), 3)
    (999.5, 1025.976)
    """
    t, salinity = _checked(temperature_c, salinity_g_kg)
    return _plain(1.0 / _specific_volume(t, salinity)[0])


@overload
def d_density_d_temperature(temperature_c: float, salinity_g_kg: float = 0.0) -> float: ...
@overload
def d_density_d_temperature(temperature_c: Array, salinity_g_kg: ScalarOrArray = 0.0) -> Array: ...
@overload
def d_density_d_temperature(temperature_c: float, salinity_g_kg: Array) -> Array: ...
def d_density_d_temperature(
    temperature_c: float | Array, salinity_g_kg: float | Array = 0.0
) -> float | Array:
    """Change of density per degree [kg/m3/K], of the same equation and range as `density_kg_m3`.

    Negative: warmer is lighter; positive only in fresh and brackish water colder than 4 degC or less.
    """
    t, salinity = _checked(temperature_c, salinity_g_kg)
    volume, slope, _ = _specific_volume(t, salinity)
    return _plain(-slope / (volume * volume))


@overload
def d_density_d_salinity(temperature_c: float, salinity_g_kg: float = 0.0) -> float: ...
@overload
def d_density_d_salinity(temperature_c: Array, salinity_g_kg: ScalarOrArray = 0.0) -> Array: ...
@overload
def d_density_d_salinity(temperature_c: float, salinity_g_kg: Array) -> Array: ...
def d_density_d_salinity(temperature_c: ScalarOrArray, salinity_g_kg: ScalarOrArray = 0.0) -> ScalarOrArray:
    """Change of density per g/kg of salt [kg/m3 per g/kg], of the same equation and range."""
    t, salinity = _checked(temperature_c, salinity_g_kg)
    volume, _, slope = _specific_volume(t, salinity)
    return _plain(-slope / (volume * volume))


@overload
def kinematic_viscosity_m2_s(temperature_c: float, salinity_g_kg: float = 0.0) -> float: ...
@overload
def kinematic_viscosity_m2_s(temperature_c: Array, salinity_g_kg: ScalarOrArray = 0.0) -> Array: ...
@overload
def kinematic_viscosity_m2_s(temperature_c: float, salinity_g_kg: Array) -> Array: ...
def kinematic_viscosity_m2_s(
    temperature_c: float | Array, salinity_g_kg: float | Array = 0.0
) -> float | Array:
    """Kinematic viscosity [m2/s] at the surface; range as `density_kg_m3`.

    Pure water by IAPWS SR6-08 (2008), liquid at 0.1 MPa: mu = 1e-6 Pa s * sum a (T / 300 K)^b, within 1 %;
    salt by the ratio 1 + A S + B S^2 of Sharqawy, Lienhard and Zubair, Desalination and Water Treatment 16
    (2010) 354-380, eq. 22, S in kg/kg, within 1.5 % (both limits from memory). The first coefficients are
    from memory and agree with a full IAPWS library to 6e-5; the second were read in public code.
    """
    t, salinity = _checked(temperature_c, salinity_g_kg)
    ratio = (t + 273.15) / 300.0
    pure = 1e-6 * sum(factor * ratio**power for factor, power in _VISCOSITY_TERMS)
    share = 1e-3 * salinity
    linear = 1.541 + 1.998e-2 * t - 9.52e-5 * t**2
    square = 7.974 - 7.561e-2 * t + 4.724e-4 * t**2
    return _plain(pure * (1.0 + linear * share + square * share**2) * _specific_volume(t, salinity)[0])


@overload
def absolute_salinity_g_kg(practical_salinity: float) -> float: ...
@overload
def absolute_salinity_g_kg(practical_salinity: Array) -> Array: ...
def absolute_salinity_g_kg(practical_salinity: ScalarOrArray) -> ScalarOrArray:
    """Absolute Salinity [g/kg] of sea water from Practical Salinity (PSS-78, what a salinity meter shows).

    SA = (35.16504 / 35) * SP, which is exact for sea salt of reference composition. Real seas hold up to
    0.03 g/kg more (open ocean) or 0.09 g/kg more (Baltic): below 0.07 kg/m3, or 7 g in 100 kg (from memory).
    """
    return _plain(REFERENCE_SALINITY_RATIO * np.asarray(practical_salinity, dtype=np.float64))


@overload
def practical_salinity(salinity_g_kg: float) -> float: ...
@overload
def practical_salinity(salinity_g_kg: Array) -> Array: ...
def practical_salinity(salinity_g_kg: ScalarOrArray) -> ScalarOrArray:
    """Practical Salinity from Absolute Salinity [g/kg]: the inverse of `absolute_salinity_g_kg`."""
    return _plain(np.asarray(salinity_g_kg, dtype=np.float64) / REFERENCE_SALINITY_RATIO)


def _specific_volume(t: Array, salinity: Array) -> tuple[Array, Array, Array]:
    """Specific volume [m3/kg], its change per degree and its change per g/kg of salt."""
    y = t / _TEMPERATURE_SCALE_C
    root = np.sqrt(salinity / _SALINITY_SCALE_G_KG)
    value, by_y = _polynomial(_PURE, y)
    by_square = np.zeros_like(root)
    for power, coefficients in _SALT:
        factor, slope = _polynomial(coefficients, y)
        value = value + root**power * factor
        by_y = by_y + root**power * slope
        # d(x^k) / d(x^2) = k/2 x^(k-2), which stays finite in fresh water
        by_square = by_square + 0.5 * power * root ** (power - 2) * factor
    return (
        _SCALE * value,
        _SCALE * by_y / _TEMPERATURE_SCALE_C,
        _SCALE * by_square / _SALINITY_SCALE_G_KG,
    )


def _polynomial(coefficients: tuple[float, ...], y: Array) -> tuple[Array, Array]:
    value, slope = np.zeros_like(y), np.zeros_like(y)
    for coefficient in reversed(coefficients):
        slope = slope * y + value
        value = value * y + coefficient
    return value, slope


def _checked(temperature_c: ScalarOrArray, salinity_g_kg: ScalarOrArray) -> tuple[Array, Array]:
    t, salinity = np.broadcast_arrays(
        np.asarray(temperature_c, dtype=np.float64), np.asarray(salinity_g_kg, dtype=np.float64)
    )
    mistakes = []
    outside = ~((t >= LEAST_TEMPERATURE_C) & (t <= MOST_TEMPERATURE_C))
    if np.any(outside):
        mistakes.append(
            f"The water's temperature is {t[outside].flat[0]:g} degC. The density equation holds from "
            f"{LEAST_TEMPERATURE_C:g} to {MOST_TEMPERATURE_C:g} degC. Give it in degrees Celsius "
            "within that range, or weigh a known volume and give the density itself."
        )
    outside = ~((salinity >= LEAST_SALINITY_G_KG) & (salinity <= MOST_SALINITY_G_KG))
    if np.any(outside):
        mistakes.append(
            f"The water's salinity is {salinity[outside].flat[0]:g} g/kg. The density equation holds from "
            f"{LEAST_SALINITY_G_KG:g} to {MOST_SALINITY_G_KG:g} g/kg (fresh to the saltiest seas). Give "
            "grams of salt per kilogram of water within that range, or weigh a known volume and give the "
            "density itself."
        )
    if mistakes:
        raise ValueError(" ".join(mistakes))
    return t, salinity


def _plain(value: Array) -> ScalarOrArray:
    return float(value) if np.ndim(value) == 0 else value
