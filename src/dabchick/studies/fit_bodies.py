"""What has to fit: every part and tank with its body, the rooms that they share, and how some of them move."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Item, Tank, Vector, Vessel
from dabchick.physics.nearest import STILL, TriangleTree, triangle_tree
from dabchick.physics.solid import Solid
from dabchick.studies.room import is_one_shell
from dabchick.studies.shared_room import Body, UnusableMeshError, corners_of

Array = NDArray[np.float64]

TURN_STEP_DEG = 2.5
"""A turning part is tried at angles that lie so far apart at most."""


@dataclass(frozen=True)
class Turn:
    """A part that turns about its own middle: planes about y, a rudder about z, a propeller about x."""

    name: str
    axis: Literal["x", "y", "z"]
    each_way_deg: float

    @property
    def steps(self) -> int:
        return max(1, math.ceil(self.each_way_deg / TURN_STEP_DEG))


@dataclass(frozen=True, eq=False)
class Thing:
    """A part or tank with its body where it stands; a turning one takes all the room it turns in."""

    entry: Item | Tank
    body: Body
    tree: TriangleTree
    turned_short_m: float = 0.0
    """How far a turning part may reach beyond the angles it was tried at."""

    @property
    def name(self) -> str:
        return self.entry.name

    @property
    def key(self) -> str:
        return self.entry.key

    @property
    def outside(self) -> bool:
        return isinstance(self.entry, Item) and self.entry.outside

    @property
    def start(self) -> Array:
        """Where its way begins, as a shift (3,) from where it stands [m]."""
        rail = self.entry.rail if isinstance(self.entry, Item) else None
        return STILL if rail is None else rail.low_m * np.array(rail.direction)

    @property
    def way(self) -> Array:
        """The straight way (3,) along which it may be fixed, from `start` [m]; zeros for most."""
        rail = self.entry.rail if isinstance(self.entry, Item) else None
        return STILL if rail is None else (rail.high_m - rail.low_m) * np.array(rail.direction)

    @property
    def moves(self) -> bool:
        return bool(np.any(self.way))


@dataclass(frozen=True, eq=False)
class Things:
    """Everything in the boat that has a shape."""

    vessel: Vessel
    all: tuple[Thing, ...]
    shapeless: tuple[str, ...]
    """Names of points without a shape."""
    unusable: tuple[Advice, ...]
    turned: tuple[Turn, ...] = ()

    @cached_property
    def is_one_shell(self) -> bool:
        return is_one_shell(self.vessel)

    @cached_property
    def inner(self) -> Body:
        """The inner face of the skin; of a hull in one shell the material itself."""
        if self.is_one_shell:
            return self.material
        return _hull_body(self.vessel.hull_inside, "The inner face of the skin", "hull.skin")

    @cached_property
    def material(self) -> Body:
        """The hull's own material."""
        if self.is_one_shell:
            skins = [item for item in self.vessel.items if item.kind == "skin" and item.solid is not None]
            return _hull_body(skins[0].solid or self.vessel.hull, "The hull", "hull")
        outer = _hull_body(self.vessel.hull, "The hull", "hull")
        return Body.of(outer.whole - self.inner.whole)

    def named(self, name: str) -> Thing:
        """The part or tank of this name. Raises BoatError."""
        for thing in self.all:
            if thing.name == name:
                return thing
        flat = name in self.shapeless
        raise BoatError(
            Advice(
                what=f"'{name}' has no shape." if flat else f"The boat has no part or tank '{name}'.",
                todo="Give it a shape in the boat file." if flat else "Name one of those allowed.",
                key="part",
                given=name,
                allowed=", ".join(thing.name for thing in self.all),
            )
        )

    def room(self, holder: str) -> tuple[Thing, ...]:
        """What stands in the flooded space (holder empty), or in a dry part."""
        return tuple(thing for thing in self.all if thing.entry.inside == holder)

    def holders(self) -> Iterator[Thing]:
        """The dry parts that hold something."""
        held = {thing.entry.inside for thing in self.all}
        for thing in self.all:
            if isinstance(thing.entry, Item) and thing.entry.kind == "dry" and thing.name in held:
                yield thing

    def group(self, thing: Thing) -> tuple[Thing, ...]:
        """A part and all that is inside it, which goes where it goes."""
        return (thing, *(one for one in self.all if one.entry.inside == thing.name))


def things_of(vessel: Vessel, turns: Sequence[Turn] = ()) -> Things:
    """Every part and tank with a shape. Raises BoatError for a turn of something that is not there."""
    found, shapeless, unusable = [], [], []
    wanted = {turn.name: turn for turn in turns}
    entries: list[Item | Tank] = [*vessel.items, *vessel.tanks]
    for entry in entries:
        if isinstance(entry, Item) and entry.kind == "skin":
            continue
        solid = entry.solid if isinstance(entry, Tank) else entry.envelope
        if solid is None:
            shapeless.append(entry.name)
            continue
        try:
            found.append(_thing(entry, solid, wanted.get(entry.name)))
        except UnusableMeshError as mistake:
            unusable.append(
                Advice(
                    what=f"'{entry.name}' could not be tried for fit. {mistake}",
                    todo="Give it a closed mesh whose faces point outward.",
                    key=entry.key,
                    severity="warning",
                )
            )
    things = Things(vessel, tuple(found), tuple(shapeless), tuple(unusable), tuple(turns))
    for turn in turns:
        things.named(turn.name)
        if not 0.0 < turn.each_way_deg <= 180.0:
            raise BoatError(
                Advice(
                    what=f"'{turn.name}' cannot turn by {turn.each_way_deg:g} deg each way.",
                    todo="Give the angle from the middle to one end; 180 deg for one that goes right round.",
                    key="turn",
                    given=f"{turn.each_way_deg:g} deg",
                    allowed="above 0, up to 180 deg",
                )
            )
    return things


def _thing(entry: Item | Tank, solid: Solid, turn: Turn | None) -> Thing:
    if turn is None or not 0.0 < turn.each_way_deg <= 180.0:
        body = Body(solid)
        return Thing(entry, body, body.tree)
    middle = solid.centre
    angles = np.deg2rad(np.linspace(-turn.each_way_deg, turn.each_way_deg, 2 * turn.steps + 1))
    bodies = [
        Body(solid.moved(-middle).moved(np.zeros(3), _about(turn.axis, angle)).moved(middle))
        for angle in angles
    ]
    corners = np.concatenate([corners_of(body.whole) for body in bodies])
    reach = float(np.linalg.norm(corners - middle, axis=2).max())
    half = 0.5 * float(angles[1] - angles[0])
    return Thing(entry, Body.union(bodies), triangle_tree(corners), reach * (1.0 - math.cos(half)))


def _about(axis: Literal["x", "y", "z"], angle: float) -> Array:
    place = "xyz".index(axis)
    first, second = (place + 1) % 3, (place + 2) % 3
    turned = np.eye(3)
    turned[first, first] = turned[second, second] = math.cos(angle)
    turned[first, second], turned[second, first] = -math.sin(angle), math.sin(angle)
    return turned


def point(values: Array) -> Vector:
    """Three plain floats."""
    return (float(values[0]), float(values[1]), float(values[2]))


def _hull_body(solid: Solid, what: str, key: str) -> Body:
    try:
        return Body(solid)
    except UnusableMeshError as mistake:
        raise BoatError(
            Advice(
                what=f"{what} encloses no room. {mistake}",
                todo="Mend the hull with `dabchick check --repair`, then ask again.",
                key=key,
            )
        ) from mistake
