"""Fit: parts and tanks against the hull, against what holds them, and against each other."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from dabchick.model.advice import Advice, Severity
from dabchick.model.vessel import Item, Tank, Vector, Vessel
from dabchick.physics.solid import Solid
from dabchick.studies.room import is_one_shell
from dabchick.studies.shared_room import Body, Shared, UnusableMeshError
from dabchick.studies.speech import Speech

FAR_SHARE = 0.05
"""A part further from the hull than this share of her length is not an outboard fitting but a slip."""
FAR_OUTSIDE_SHARE = 0.3
"""The same for a part that is said to belong outside, such as a mast."""


@dataclass(frozen=True)
class Clash:
    """Two things in one place."""

    a: str
    b: str
    volume_m3: float
    centre_m: Vector
    """Middle of the shared room, in the house frame."""


def fit_findings(vessel: Vessel) -> tuple[list[Advice], tuple[Clash, ...]]:
    """Everything that is outside what should hold it, and every two things that share room."""
    fitting = _Fitting(vessel)
    findings = [*fitting.outside_hull(), *fitting.outside_holder()]
    clashes, clash_findings = fitting.clashes()
    findings += clash_findings
    findings += fitting.rail_ends({frozenset((clash.a, clash.b)) for clash in clashes})
    return [*fitting.unusable, *findings], clashes


@dataclass(frozen=True, eq=False)
class _Thing:
    """A part or a tank with the room it takes up; no body for a point mass."""

    entry: Item | Tank
    label: str
    body: Body | None

    @property
    def name(self) -> str:
        return self.entry.name

    @property
    def point(self) -> Vector:
        return self.entry.centre_m


class _Fitting:
    def __init__(self, vessel: Vessel) -> None:
        self.vessel = vessel
        self.say = Speech(vessel)
        self.unusable: list[Advice] = []
        same = is_one_shell(vessel)
        self.inner = (
            None if same else self._body(vessel.hull_inside, "The inner face of the skin", "hull.skin")
        )
        skins = [
            body
            for item in vessel.items
            if item.kind == "skin" and item.solid is not None and same
            if (body := self._body(item.solid, f"The skin '{item.name}'", item.key)) is not None
        ]
        self.material = Body.union(skins) if skins else None
        self.holders = {
            item.name: (item, self._body(item.solid, f"Part '{item.name}'", item.key))
            for item in vessel.items
            if item.kind == "dry" and item.solid is not None
        }
        entries: list[Item | Tank] = [*vessel.items, *vessel.tanks]
        self.things = [self._thing(entry) for entry in entries if not _is_skin(entry)]

    @cached_property
    def outer(self) -> Body | None:
        """The outer form; made only when something does not lie within the inner face."""
        return self._body(self.vessel.hull, "The hull", "hull")

    def _thing(self, entry: Item | Tank) -> _Thing:
        label = f"Tank '{entry.name}'" if isinstance(entry, Tank) else f"Part '{entry.name}'"
        solid = entry.solid if isinstance(entry, Tank) else entry.envelope
        if solid is None:
            return _Thing(entry, label, None)
        return _Thing(entry, label, self._body(solid, label, entry.key))

    def _body(self, solid: Solid, label: str, key: str) -> Body | None:
        try:
            return Body(solid)
        except UnusableMeshError as mistake:
            self.unusable.append(
                Advice(
                    what=f"{label} could not be checked for fit. {mistake}",
                    todo="Give it a closed mesh whose faces point outward.",
                    key=key,
                    severity="warning",
                )
            )
            return None

    def outside_hull(self) -> Iterator[Advice]:
        """Things in the flooded space that stand outside the hull or cut into its skin."""
        for thing in self.things:
            if thing.entry.inside:
                continue
            away = self._away(thing)
            outside = isinstance(thing.entry, Item) and thing.entry.outside
            most = (FAR_OUTSIDE_SHARE if outside else FAR_SHARE) * self.vessel.length_m
            if away > most:
                yield self._far_off(thing, away, most)
                continue
            if thing.body is None or outside:
                continue
            if self.material is not None:
                yield from self._cuts(thing, self.material.shared_with(thing.body))
            if self.inner is None:
                continue
            out = thing.body.outside(self.inner)
            if not out.counts or self.outer is None:
                continue
            beyond = thing.body.outside(self.outer)
            if beyond.counts:
                yield self._stands_outside(thing, thing.body, beyond)
                continue
            yield from self._cuts(thing, out)

    def _cuts(self, thing: _Thing, cut: Shared) -> Iterator[Advice]:
        if cut.counts:
            yield Advice(
                what=f"{thing.label} cuts {self.say.volume(cut.volume_m3)} into the skin.",
                todo="Move it inward, make it smaller, or leave it if the skin is cut away there.",
                where=self.say.at(cut.centre_m),
                key=thing.entry.key,
                given=self.say.volume(cut.volume_m3),
                allowed="contact with the inner face",
                severity="warning",
            )

    def _away(self, thing: _Thing) -> float:
        """How far [m] a thing's box is off the hull's box, along the axis where it is most; negative: not."""
        low, high = (
            (thing.body.low, thing.body.high) if thing.body is not None else (np.array(thing.point),) * 2
        )
        return float(
            np.max(np.maximum(np.array(self.vessel.low_m) - high, low - np.array(self.vessel.high_m)))
        )

    def _far_off(self, thing: _Thing, away: float, most: float) -> Advice:
        return Advice(
            what=f"{thing.label} lies {self.say.length(away)} away from the hull.",
            todo="Check where it is measured from, and the unit of its place.",
            where=self.say.at(thing.point),
            key=thing.entry.key,
            given=self.say.at(thing.point),
            allowed=f"up to {self.say.length(most)} off the hull",
        )

    def _stands_outside(self, thing: _Thing, body: Body, beyond: Shared) -> Advice:
        share = beyond.volume_m3 / body.all.volume_m3
        whole = share > 1.0 - 1e-6
        given = f"{self.say.volume(beyond.volume_m3)} outside ({share:.0%} of it)"
        inboard = isinstance(thing.entry, Tank) or thing.entry.kind in ("dry", "lead", "foam")
        severity: Severity = "error" if inboard else "warning"
        return Advice(
            what=f"{thing.label} stands {'wholly' if whole else 'partly'} outside the hull.",
            todo="Move it inside or make it smaller."
            if inboard
            else "Say outside = true if it belongs there (sail, mast, planes); move it inside if not.",
            where=self.say.at(beyond.centre_m),
            key=thing.entry.key,
            given=given,
            allowed="inside the hull",
            severity=severity,
        )

    def outside_holder(self) -> Iterator[Advice]:
        """Contents and tanks of dry parts that do not lie inside them."""
        for thing in self.things:
            if not thing.entry.inside:
                continue
            if thing.entry.inside not in self.holders:
                yield Advice(
                    what=f"{thing.label} is inside '{thing.entry.inside}', which is no dry part with shape.",
                    todo="Name a part of kind dry, or leave `inside` out for the flooded space.",
                    key=f"{thing.entry.key}.inside" if thing.entry.key else "",
                    given=thing.entry.inside,
                    allowed=", ".join(self.holders) or "this boat has no dry part",
                )
                continue
            item, holder = self.holders[thing.entry.inside]
            if holder is None:
                continue
            if isinstance(thing.entry, Tank) and thing.entry.capacity_m3 >= item.volume_m3:
                yield Advice(
                    what=f"{thing.label} holds more water than '{item.name}' has room.",
                    todo="Make the tank smaller or the part that holds it larger.",
                    where=self.say.at(thing.point),
                    key=thing.entry.key,
                    given=self.say.volume(thing.entry.capacity_m3),
                    allowed=f"less than {self.say.volume(item.volume_m3)}",
                )
            yield from self._not_held(thing, item, holder)

    def _not_held(self, thing: _Thing, item: Item, holder: Body) -> Iterator[Advice]:
        if thing.body is None:
            if not holder.holds(thing.point):
                yield Advice(
                    what=f"{thing.label} has its centre outside '{item.name}', which is to hold it.",
                    todo=f"Move it into '{item.name}', or say that it stands in the flooded space.",
                    where=self.say.at(thing.point),
                    key=thing.entry.key,
                    given=self.say.at(thing.point),
                    allowed=self._extent(holder),
                )
            return
        out = thing.body.outside(holder)
        if out.counts:
            share = out.volume_m3 / thing.body.all.volume_m3
            yield Advice(
                what=f"{thing.label} does not lie wholly inside '{item.name}', which is to hold it.",
                todo=f"Move it, make it smaller, or make '{item.name}' larger.",
                where=self.say.at(out.centre_m),
                key=thing.entry.key,
                given=f"{self.say.volume(out.volume_m3)} outside ({share:.0%} of it)",
                allowed=self._extent(holder),
            )

    def _extent(self, holder: Body) -> str:
        """The box round a holder in the builder's own coordinates, low values first."""
        ends = [
            self.vessel.datum.to_builder((float(corner[0]), float(corner[1]), float(corner[2])))
            for corner in (holder.low, holder.high)
        ]
        ranges = (
            f"{axis} {self.say.length(min(first, second))} to {self.say.length(max(first, second))}"
            for axis, first, second in zip("xyz", *ends, strict=True)
        )
        return ", ".join(ranges)

    def _groups(self) -> Iterator[list[_Thing]]:
        """Things that share one room: the flooded space, and the inside of each dry part."""
        for room in ("", *self.holders):
            yield [thing for thing in self.things if thing.entry.inside == room and thing.body is not None]

    def clashes(self) -> tuple[tuple[Clash, ...], list[Advice]]:
        """Every two things in one room that share more than contact, the largest first."""
        found: list[tuple[Clash, _Thing, _Thing]] = []
        for group in self._groups():
            for first, second in combinations(group, 2):
                if first.body is None or second.body is None:
                    continue
                both = first.body.shared_with(second.body)
                if both.counts:
                    clash = Clash(first.name, second.name, both.volume_m3, both.centre_m)
                    found.append((clash, first, second))
        found.sort(key=lambda entry: -entry[0].volume_m3)
        findings = [
            Advice(
                what=f"{first.label} and {_lower(second.label)} are in one place.",
                todo="Move one of them, or check their sizes.",
                where=self.say.at(clash.centre_m),
                key=second.entry.key,
                given=f"{self.say.volume(clash.volume_m3)} shared",
                allowed="contact",
                severity="warning",
            )
            for clash, first, second in found
        ]
        return tuple(clash for clash, _, _ in found), findings

    def rail_ends(self, known: set[frozenset[str]]) -> Iterator[Advice]:
        """Movable things that run into something, or out of what holds them, at an end of their way."""
        for group in self._groups():
            for thing in group:
                if not isinstance(thing.entry, Item) or thing.entry.rail is None or thing.body is None:
                    continue
                rail = thing.entry.rail
                for shift in (rail.low_m, rail.high_m):
                    moved = thing.body.moved(shift * np.array(rail.direction))
                    mates = [mate for mate in group if mate is not thing]
                    yield from self._runs_into(thing, moved, mates, known, shift)
                    yield from self._leaves_room(thing, thing.body, moved, shift)

    def _runs_into(
        self, thing: _Thing, moved: Body, mates: list[_Thing], known: set[frozenset[str]], shift: float
    ) -> Iterator[Advice]:
        for mate in mates:
            if mate.body is None or frozenset((thing.name, mate.name)) in known:
                continue
            both = moved.shared_with(mate.body)
            if both.counts:
                yield self._rail_advice(thing, shift, f"runs into {_lower(mate.label)}", both)

    def _leaves_room(self, thing: _Thing, home: Body, moved: Body, shift: float) -> Iterator[Advice]:
        room = self.holders[thing.entry.inside][1] if thing.entry.inside else self.inner
        if room is None or home.outside(room).counts:
            return
        out = moved.outside(room)
        if out.counts:
            name = f"'{thing.entry.inside}'" if thing.entry.inside else "the hull"
            yield self._rail_advice(thing, shift, f"comes out of {name}", out)

    def _rail_advice(self, thing: _Thing, shift: float, what: str, room: Shared) -> Advice:
        return Advice(
            what=f"{thing.label} {what} at an end of its way.",
            todo="Shorten the way along which it may be fixed, or clear that place.",
            where=self.say.at(room.centre_m),
            key=thing.entry.key,
            given=f"{self.say.volume(room.volume_m3)} when moved by {self.say.length(shift)} along its way",
            allowed="clear at both ends",
            severity="warning",
        )


def _is_skin(entry: Item | Tank) -> bool:
    return isinstance(entry, Item) and entry.kind == "skin"


def _lower(label: str) -> str:
    return label[0].lower() + label[1:]
