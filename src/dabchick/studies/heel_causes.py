"""What heels her, as a lever over heel: the propeller's torque, a turn, wind from abeam, a weight put aside.

A lever is a moment about her long axis over her weight, positive to starboard, in metres.
"""

import math
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from itertools import repeat
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Item, Tank, Vector, Vessel
from dabchick.physics.balance import GRAVITY_M_S2, Balance, tanks_into, with_air_held
from dabchick.physics.cut import CUT_SIZE, Forest, cut_into, forest
from dabchick.physics.heeling import Lever, RightingCurve
from dabchick.physics.lateral_plane import LateralPlane, heading, lateral_plane
from dabchick.studies.loading import ROUND_SIDES, Loading

Array = NDArray[np.float64]
Faces = NDArray[np.int64]

AIR_KG_M3: Final = 1.225
"""Dry air at 15 degC and one atmosphere: ISO 2533:1975 (from memory), and the gas law with R = 287.053 J/(kg K)."""
DRAG: Final = (0.7, 1.1, 1.4)
"""Low, likely, high; see `Wind`."""
TRAIN: Final = (0.45, 0.65, 0.85)
"""Share of the motor's power that reaches the shaft: low, likely, high; see `Torque`."""
TAKEN_DEG: Final = np.concatenate(
    [np.arange(-180.0, -60.0, 15.0), np.arange(-60.0, 60.1, 5.0), np.arange(75.0, 180.1, 15.0)]
)
"""Heels from her rest at which the silhouette is taken."""


@dataclass(frozen=True)
class Torque:
    """The propeller's torque on the boat, Q = share of power x P / (2 pi n)."""

    power_w: float
    """What the motor takes in, or the shaft's own power with a share of 1."""
    rotation_per_s: float
    """Of the propeller."""
    train_share: float | None = None
    """Share of the power that reaches the propeller; None: 0.65, from 0.45 to 0.85 (common practice, no source)."""
    left_handed: bool = False
    """A right-handed propeller turns clockwise, seen from astern, when she goes ahead."""


@dataclass(frozen=True)
class Turn:
    """A steady turn."""

    speed_m_s: float
    radius_m: float


@dataclass(frozen=True)
class Wind:
    """Wind from abeam, at the height of what stands out of the water."""

    speed_m_s: float
    gust_m_s: float | None = None
    """A gust that comes at once while she lies still in the steady wind."""
    drag: float | None = None
    """Of the lateral area; None: 1.1, from 0.7 to 1.4."""


@dataclass(frozen=True)
class Side:
    """A weight that is moved across her, or hung on her at a place."""

    mass_kg: float
    moved_m: float | None = None
    """Across, level decks taken: what is aboard already moves so far."""
    at_m: Vector | None = None
    """House frame: this much more hangs there, with no volume of its own."""


def checked(
    torque: Torque | None = None, turn: Turn | None = None, wind: Wind | None = None, side: Side | None = None
) -> None:
    """BoatError with all that cannot be, at once."""
    faults: list[Advice] = []

    def above_zero(name: str, value: float | None, unit: str, *, zero: bool = False) -> None:
        if value is not None and not (math.isfinite(value) and (value > 0.0 or (zero and value == 0.0))):
            faults.append(
                Advice(
                    what=f"The {name.replace('_', ' ')} is {value:g} {unit}.".replace(" .", "."),
                    todo="Give a figure of 0 or more." if zero else "Give a figure above 0.",
                    key=name,
                    given=f"{value:g} {unit}".strip(),
                    allowed="0 or more" if zero else "above 0",
                )
            )

    if torque is not None:
        above_zero("power", torque.power_w, "W")
        above_zero("rpm", torque.rotation_per_s * 60.0, "rpm")
        if torque.train_share is not None and not 0.0 < torque.train_share <= 1.0:
            faults.append(
                Advice(
                    what=f"A train that passes on {100.0 * torque.train_share:g} % of the power cannot be.",
                    todo="Give a share above 0 and up to 100 %.",
                    key="efficiency",
                    given=f"{100.0 * torque.train_share:g} %",
                    allowed="above 0 to 100 %",
                )
            )
    if turn is not None:
        above_zero("speed", turn.speed_m_s, "m/s")
        above_zero("turn", turn.radius_m, "m")
    if wind is not None:
        above_zero("wind", wind.speed_m_s, "m/s", zero=wind.gust_m_s is not None)
        above_zero("gust", wind.gust_m_s, "m/s")
        above_zero("drag", wind.drag, "")
        if wind.gust_m_s is not None and wind.gust_m_s < wind.speed_m_s:
            faults.append(
                Advice(
                    what=f"The gust of {wind.gust_m_s:g} m/s is weaker than the steady wind.",
                    todo="Give a gust that blows harder than the wind.",
                    key="gust",
                    given=f"{wind.gust_m_s:g} m/s",
                    allowed=f"{wind.speed_m_s:g} m/s or more",
                )
            )
    if side is not None:
        above_zero("side", side.mass_kg * 1000.0, "g")
        if (side.moved_m is None) == (side.at_m is None) or (
            side.moved_m is not None and side.moved_m <= 0.0
        ):
            faults.append(
                Advice(
                    what="A side weight needs either how far it is moved across, or the place where it hangs.",
                    todo="Give a distance above 0, such as 20 mm, or a place.",
                    key="side",
                    given="" if side.moved_m is None else f"{side.moved_m * 1000.0:g} mm",
                    allowed="above 0",
                )
            )
    if faults:
        raise BoatError(*faults)


def torque_n_m(torque: Torque, share: float) -> float:
    """Torque [N m] that the propeller takes when `share` of the power reaches it."""
    return share * torque.power_w / (2.0 * math.pi * torque.rotation_per_s)


def constant(moment_n_m: float, mass_kg: float) -> Lever:
    """The lever of a moment about the boat's own x-axis, the same at every heel."""
    lever = moment_n_m / (mass_kg * GRAVITY_M_S2)
    return lambda heel: lever


def moved(curve: RightingCurve, moment_kg_m: float, mass_kg: float) -> Lever:
    """The lever of mass times way across; positive moved to starboard."""
    lever = moment_kg_m / mass_kg

    def at(heel: float) -> float:
        return lever * math.cos(math.radians(heel)) * math.cos(math.radians(curve.trim_deg(heel)))

    return at


def hung(curve: RightingCurve, mass_kg: float, from_g_m: Array, all_kg: float) -> Lever:
    """The lever of a weight hung `from_g_m` (3,) off her centre of gravity, her displacement taken as it was."""

    def at(heel: float) -> float:
        turned, trim = math.radians(heel), math.radians(curve.trim_deg(heel))
        across = from_g_m[1] * math.cos(turned) - from_g_m[2] * math.sin(turned)
        return float(-mass_kg * across * math.cos(trim) / all_kg)

    return at


@dataclass(frozen=True, eq=False)
class Abeam:
    """What wind and water meet when they come from abeam, over heel."""

    curve: RightingCurve
    heels_deg: Array
    normals: Array
    """(k, 3)"""
    offsets_m: Array
    """(k,) of the surface; when hanging, of a level above her, for which `planes` then have nothing above."""
    planes: tuple[LateralPlane, ...]

    def smooth(self, values: Array) -> Lever:
        """Values at `heels_deg` as a lever at any heel; a flat side gives it a corner where she is upright."""
        line = PchipInterpolator(self.heels_deg, values)
        return lambda heel: float(line(heel))

    def at_rest(self) -> LateralPlane:
        """As she lies."""
        return self.planes[len(self.planes) // 2]


@lru_cache(maxsize=4)
def _outside(vessel: Vessel) -> tuple[Array, Faces]:
    """Corners and triangles of the hull and of all that displaces, in one heap."""
    solids = [vessel.hull]
    solids += [item.solid for item in vessel.items if item.solid is not None and item.kind != "skin"]
    solids += [tank.solid for tank in vessel.tanks if not tank.inside]
    corners, triangles, count = [], [], 0
    for solid in solids:
        for vertices, faces, weight in solid.meshes(ROUND_SIDES):
            if weight > 0.0:
                corners.append(np.asarray(vertices))
                triangles.append(np.asarray(faces) + count)
                count += len(vertices)
    return np.vstack(corners), np.vstack(triangles)


@lru_cache(maxsize=8)
def abeam(vessel: Vessel, curve: RightingCurve) -> Abeam:
    """Silhouettes from abeam at every fifth degree of heel, further apart past 60, half a turn to either side.

    Kept for the curves last asked for: a boat that lies as she lay is seen as she was seen.
    """
    vertices, faces = _outside(vessel)
    heels = curve.rest_deg + TAKEN_DEG
    normals = np.array([curve.normal(float(heel)) for heel in heels])
    top = float(np.max(np.linalg.norm(vertices, axis=1))) + 1.0
    offsets = np.array([top if curve.hanging else curve.offset_m(float(heel)) for heel in heels])
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        # the kernel lets go of the interpreter
        planes = tuple(pool.map(lateral_plane, repeat(vertices), repeat(faces), normals, offsets))
    return Abeam(curve, heels, normals, offsets, planes)


def wind_force_n(area_m2: float, speed_m_s: float, drag: float) -> float:
    """F = 1/2 rho V^2 C A [N]."""
    return 0.5 * AIR_KG_M3 * speed_m_s**2 * drag * area_m2


def wind(seen: Abeam, mass_kg: float, speed_m_s: float, drag: float, way: int) -> Lever:
    """Wind that blows towards starboard (`way` +1) or port: taken up at the centre of the area under water."""
    values = []
    for plane, normal in zip(seen.planes, seen.normals, strict=True):
        lever = 0.0
        if plane.above_m2 > 0.0 and plane.under_m2 > 0.0:
            force = wind_force_n(plane.above_m2, speed_m_s, drag)
            lever = force * (plane.above_height_m - plane.under_height_m) / (mass_kg * GRAVITY_M_S2)
        values.append(way * lever * math.sqrt(1.0 - normal[0] ** 2))
    return seen.smooth(np.array(values))


@lru_cache(maxsize=4)
def _form_and_displacing(vessel: Vessel, displacing: tuple[Item | Tank, ...]) -> tuple[Forest, Forest]:
    within = [
        entry.solid
        for entry in displacing
        if entry.solid is not None and not (isinstance(entry, Item) and entry.outside)
    ]
    return forest([vessel.hull])[0], forest(within)[0]


def _wet(trees: Forest, normal: Array, offset: float) -> Array:
    out = np.zeros(CUT_SIZE)
    cut_into(trees, 0, len(trees.kinds), normal[0], normal[1], normal[2], offset, out)
    return out[:4]


@dataclass(frozen=True)
class TurnLevers:
    """A turn to port: levers by two guesses of where the water's side force acts, and what turns with her."""

    likely: Lever
    """At the centre of the lateral plane under water."""
    other: Lever
    """At half the draught; when hanging, at the middle of the hull's form."""
    flooded_kg: float
    """Water inside the hull that is taken round, as she lies."""


def turning(
    vessel: Vessel, loading: Loading, seen: Abeam, turn: Turn, mass_kg: float, way: int
) -> TurnLevers:
    """Centrifugal force on her, on the water inside her and on that in her tanks, against the water's side force.

    `way` +1 turns to port, which throws all towards starboard; -1 to starboard. Water in a tank lies across the
    apparent plumb line, so it runs outwards.
    """
    pull = turn.speed_m_s**2 / turn.radius_m / GRAVITY_M_S2
    form, within = _form_and_displacing(vessel, loading.displacing)
    rho = loading.balance.density
    likely: list[float] = []
    other: list[float] = []
    flooded_now = 0.0
    for index, (plane, normal) in enumerate(zip(seen.planes, seen.normals, strict=True)):
        offset = float(seen.offsets_m[index])
        outward = way * np.cross(heading(normal), normal)
        whole = _wet(form, normal, offset)
        flooded = rho * (whole - _wet(within, normal, offset))
        if flooded[0] < 0.0:
            flooded = np.zeros(4)
        level_water, tilted_water = _tank_moments(loading.balance, normal, outward, pull, offset)
        own = loading.balance.moment + tilted_water
        thrown_kg = mass_kg + float(flooded[0])
        height = float((own + flooded[1:]) @ normal) - thrown_kg * offset
        runs_out = float((tilted_water - level_water) @ outward)
        level = math.sqrt(1.0 - normal[0] ** 2)
        middle = 0.5 * plane.low_m
        if seen.curve.hanging:
            middle = float(whole[1:] @ normal / whole[0]) - offset
        for values, acts_at in (
            (likely, plane.under_height_m),
            (other, middle),
        ):
            values.append(way * level * (pull * (height - thrown_kg * acts_at) + runs_out) / mass_kg)
        if index == len(seen.planes) // 2:
            flooded_now = float(flooded[0])
    return TurnLevers(seen.smooth(np.array(likely)), seen.smooth(np.array(other)), flooded_now)


def _tank_moments(
    balance: Balance, normal: Array, outward: Array, pull: float, offset: float
) -> tuple[Array, Array]:
    """First moments (3,) [kg m] of the tanks' water lying level, and lying across the apparent plumb line."""
    held = with_air_held(balance, normal, offset)
    found = []
    for plumb in (normal, normal - pull * outward):
        up = plumb / np.linalg.norm(plumb)
        gradient, hessian = np.zeros(4), np.zeros((4, 4))
        tanks_into(held, up[0], up[1], up[2], offset, gradient, hessian)
        found.append(gradient[:3].copy())
    return found[0], found[1]
