"""`fit`: what touches what, and how near everything else comes: parts, tanks, the hull and the dry parts."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.nearest import Nearest, TriangleTree, nearest
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.fit_bodies import TURN_STEP_DEG, Thing, Things, Turn, point, things_of
from dabchick.studies.result import StudyResult
from dabchick.studies.shared_room import SEGMENTS, Body, Shared
from dabchick.studies.speech import Speech

Array = NDArray[np.float64]
Tell = Callable[[str, float], None]
Kind = Literal["overlap", "touch", "close"]

USUAL_CLEARANCE_M: Final = 0.002
"""Room wished between any two things: common practice, no source."""
CONTACT_M: Final = 1e-5
"""Nearer than this is touching: what a circle and its polygon differ by."""
WAY_STEPS: Final = 16
"""Places along a rail at which the room shared is measured, once it is known that something meets there."""
LOOK_SHARE: Final = 5.0
"""Things farther apart than so many clearances are not measured."""


@dataclass(frozen=True)
class Pair:
    """Two things that are in one place, touch, or come nearer to each other than wished."""

    first: str
    second: str
    """Name of a part or tank; `hull`, or the dry part that holds the first."""
    first_key: str
    second_key: str
    """Where it stands in the boat file; `hull` for the hull."""
    held: bool
    """The second holds the first: hull or dry part, measured to its inside."""
    kind: Kind
    overlap_m3: float
    """Room that both take up; for one that is held, its room outside what holds it."""
    clearance_m: float
    """Least distance; 0 when they share room, below 0 for one that stands in a wall of known thickness."""
    first_point_m: Vector
    second_point_m: Vector
    """Where they come nearest, house frame; the middle of the shared room when they share some."""
    moved_m: float
    """How far the first has then moved along its rail; 0 for things that stay."""


@dataclass(frozen=True)
class Contents:
    """How near the contents of a dry part come to its outside, from which its wall is still to be taken."""

    holder: str
    key: str
    nearest: str
    """The thing that comes nearest."""
    distance_m: float
    """To the outer face; 0 where something stands out of it."""


@dataclass(frozen=True, kw_only=True)
class FitResult(StudyResult):
    """All pairs that do not keep the clearance wished, the worst first, and a count of the others."""

    clearance_m: float
    wall_m: float
    """Taken off the inside of each dry part."""
    pairs: tuple[Pair, ...]
    overlap_count: int
    touch_count: int
    close_count: int
    tried_count: int
    """Pairs looked at."""
    next_clearance_m: float
    """Least clearance of the pairs that keep it; NaN where nothing else is within reach."""
    next_pair: tuple[str, str]
    contents: tuple[Contents, ...]


def run(
    vessel: Vessel,
    *,
    clearance_m: float = USUAL_CLEARANCE_M,
    wall_m: float = 0.0,
    turns: Sequence[Turn] = (),
    tell: Tell = lambda text, share: None,
) -> FitResult:
    """Every two things that could meet: parts and tanks in one room, and each against what holds it.

    `clearance_m` is the room wished between any two; `wall_m` the thickness of the dry parts' walls, which the
    boat file does not say; `turns` says which parts turn, and how far. Raises BoatError for figures below zero and
    for a hull that encloses nothing.
    """
    _at_least_zero(clearance_m, "clearance", "The clearance")
    _at_least_zero(wall_m, "wall", "The wall")
    tell("Making bodies of the parts", 0.02)
    things = things_of(vessel, turns)
    look = max(LOOK_SHARE * clearance_m, 5 * USUAL_CLEARANCE_M)
    tries = list(_tries(things, wall_m))
    found: list[Pair] = []
    for row, one in enumerate(tries):
        tell(f"{one.first.name} and {one.second_name}", 0.1 + 0.9 * row / len(tries))
        pair = _held(things, one, look) if one.second is None or one.held else _side_by_side(one, look)
        if pair is not None:
            found.append(pair)
    contents = tuple(_contents(found, things))
    worst = sorted((pair for pair in found if _fails(pair, clearance_m)), key=_badness)
    rest = sorted((pair for pair in found if not _fails(pair, clearance_m)), key=_badness)
    tell("Done", 1.0)
    return FitResult(
        boat=vessel.name,
        method=(
            "least distance between all triangles of two bodies by trees of boxes; shared room by boolean "
            "operations on closed polyhedra; things on rails over the whole of their way"
        ),
        sources=("clearance of 2 mm unless another is given: common practice, no source",),
        validity=(
            f"Round bodies are polyhedra of {SEGMENTS} sides inside the true ones, so distances to them come out "
            "too large by up to 0.00009 of their radius, 0.004 mm on a tube of 90 mm. Boat level and rigid; of two "
            "things on rails one moves at a time; tanks are as large as their room for water."
        ),
        assumptions=assumptions(vessel, *_assumed(things, clearance_m, wall_m)),
        warnings=warnings(vessel, *things.unusable, *_untried(vessel)),
        clearance_m=clearance_m,
        wall_m=wall_m,
        pairs=tuple(worst),
        overlap_count=sum(pair.kind == "overlap" for pair in worst),
        touch_count=sum(pair.kind == "touch" for pair in worst),
        close_count=sum(pair.kind == "close" for pair in worst),
        tried_count=len(tries),
        next_clearance_m=rest[0].clearance_m if rest else math.nan,
        next_pair=(rest[0].first, rest[0].second) if rest else ("", ""),
        contents=contents,
    )


def _at_least_zero(value: float, key: str, what: str) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise BoatError(
            Advice(
                what=f"{what} is not a length of 0 or more.",
                todo='Give it with its unit, such as "2 mm".',
                key=key,
                given=f"{value} m",
                allowed="0 or more",
            )
        )


@dataclass(frozen=True, eq=False)
class _Try:
    """Two things to hold against each other; no second one: the hull."""

    first: Thing
    second: Thing | None
    held: bool
    wall_m: float

    @property
    def second_name(self) -> str:
        return "hull" if self.second is None else self.second.name

    def pair(
        self, kind: Kind, overlap: float, clearance: float, a: Vector, b: Vector, moved: float = 0.0
    ) -> Pair:
        return Pair(
            first=self.first.name,
            second=self.second_name,
            first_key=self.first.key,
            second_key="hull" if self.second is None else self.second.key,
            held=self.held,
            kind=kind,
            overlap_m3=overlap,
            clearance_m=clearance,
            first_point_m=a,
            second_point_m=b,
            moved_m=moved,
        )


def _tries(things: Things, wall_m: float) -> Iterator[_Try]:
    holders = {thing.name: thing for thing in things.holders()}
    for name in ("", *holders):
        room = things.room(name)
        for thing in room:
            if name:
                yield _Try(thing, holders[name], True, wall_m)
            elif not thing.outside:
                yield _Try(thing, None, True, 0.0)
        for first, second in combinations(room, 2):
            # the one that moves is the first, so that its way is drawn
            one, other = (second, first) if second.moves and not first.moves else (first, second)
            yield _Try(one, other, False, 0.0)


def _side_by_side(one: _Try, look: float) -> Pair | None:
    first, second = one.first, one.second
    assert second is not None
    spare = first.turned_short_m + second.turned_short_m
    near = _nearest_of(first, second.tree, look + spare)
    if near is None:
        # farther apart than is looked at, or one wholly within the other
        shared = _one_in_the_other(first.body, second.body)
        return _overlapping(one, shared, 0.0) if shared is not None else None
    if near.distance_m > spare:
        shared = _one_in_the_other(first.body, second.body)
        if shared is not None:
            return _overlapping(one, shared, 0.0)
        return _apart(one, near, near.distance_m - spare)
    return _meeting(one, near, lambda body: body.shared_with(second.body))


def _held(things: Things, one: _Try, look: float) -> Pair | None:
    first = one.first
    hull = one.second is None
    wall = one.second.body if one.second is not None else things.inner
    tree = wall.tree
    near = _nearest_of(first, tree, look + one.wall_m + first.turned_short_m)
    of_material = hull and things.is_one_shell
    if near is not None and near.distance_m <= first.turned_short_m:
        if of_material:
            return _meeting(one, near, lambda body: body.shared_with(wall))
        return _meeting(one, near, lambda body: body.outside(wall))
    within = [wall.holds(corner) for corner in first.body.shell_points]
    if of_material:
        if any(within):
            return _overlapping(one, first.body.shared_with(wall), 0.0)
    elif not all(within):
        return _overlapping(one, first.body.outside(wall), 0.0)
    if near is None:
        return None
    return _apart(one, near, near.distance_m - one.wall_m - first.turned_short_m)


def _nearest_of(first: Thing, tree: TriangleTree, most: float) -> Nearest | None:
    return nearest(first.tree, tree, shift=first.start, sweep=first.way, most=most)


def _apart(one: _Try, near: Nearest, clearance: float) -> Pair:
    kind: Kind = "overlap" if clearance < -CONTACT_M else "touch" if clearance <= CONTACT_M else "close"
    return one.pair(
        kind, 0.0, clearance, point(near.first), point(near.second), _moved(one.first, near.share)
    )


def _moved(thing: Thing, share: float) -> float:
    """How far along its rail from where it stands a share of its way is."""
    rail = getattr(thing.entry, "rail", None)
    return 0.0 if rail is None else float(rail.low_m + share * (rail.high_m - rail.low_m))


def _meeting(one: _Try, near: Nearest, measure: Callable[[Body], Shared]) -> Pair:
    """Two surfaces that meet, where they stand or somewhere along the way: the most that they share."""
    thing = one.first
    most, moved = measure(thing.body), 0.0
    if thing.moves:
        for share in (near.share, *np.linspace(0.0, 1.0, WAY_STEPS + 1)):
            shared = measure(thing.body.moved(thing.start + share * thing.way))
            if shared.volume_m3 > most.volume_m3:
                most, moved = shared, _moved(thing, float(share))
    if most.counts:
        return _overlapping(one, most, moved)
    return one.pair("touch", 0.0, 0.0, point(near.first), point(near.second), _moved(thing, near.share))


def _overlapping(one: _Try, shared: Shared, moved: float) -> Pair:
    return one.pair("overlap", shared.volume_m3, 0.0, shared.centre_m, shared.centre_m, moved)


def _one_in_the_other(first: Body, second: Body) -> Shared | None:
    """The room shared by two bodies whose surfaces do not meet, if one has the other within."""
    if not first.may_meet(second):
        return None
    for outer, inner in ((first, second), (second, first)):
        if any(outer.holds(corner) for corner in inner.shell_points):
            shared = outer.shared_with(inner)
            return shared if shared.counts else None
    return None


def _fails(pair: Pair, clearance: float) -> bool:
    return pair.kind == "overlap" or (clearance > 0.0 and pair.clearance_m < clearance - 1e-12)


def _badness(pair: Pair) -> tuple[int, float, float, str, str]:
    """Shared room first, the most of it first; then by how near."""
    order = {"overlap": 0, "touch": 1, "close": 2}[pair.kind]
    return order, -pair.overlap_m3, pair.clearance_m, pair.first, pair.second


def _contents(found: Sequence[Pair], things: Things) -> Iterator[Contents]:
    for holder in things.holders():
        mine = [pair for pair in found if pair.held and pair.second_key == holder.key]
        if not mine:
            continue
        away = {
            pair.first: 0.0 if pair.overlap_m3 > 0.0 else math.dist(pair.first_point_m, pair.second_point_m)
            for pair in mine
        }
        least = min(away, key=lambda name: (away[name], name))
        yield Contents(holder.name, holder.key, least, away[least])


def _assumed(things: Things, clearance_m: float, wall_m: float) -> list[str]:
    say = Speech(things.vessel)
    texts = []
    if clearance_m == USUAL_CLEARANCE_M:
        texts.append(f"clearance wished: {say.length(clearance_m)} (common practice, no source)")
    holders = [thing.name for thing in things.holders()]
    if holders and wall_m == 0.0:
        names = ", ".join(holders)
        texts.append(f"{names}: the wall's thickness is not said, so contents are measured to the outside")
    outside = [thing.name for thing in things.all if thing.outside]
    if outside:
        texts.append(f"not held against the hull, since they belong outside: {', '.join(outside)}")
    if things.shapeless:
        texts.append(f"not tried, since they have no shape: {', '.join(things.shapeless)}")
    for turn in things.turned:
        texts.append(
            f"{turn.name} turns {turn.each_way_deg:g} deg each way about {turn.axis} through its middle, tried "
            f"every {TURN_STEP_DEG:g} deg with what lies between taken off the clearance"
        )
    return texts


def _untried(vessel: Vessel) -> Iterator[Advice]:
    if vessel.unweighed:
        yield Advice(
            what=f"Not tried for fit, since they have no mass yet: {', '.join(vessel.unweighed)}.",
            todo='Weigh them, or give a guess with `known = "guess"`.',
            key="part",
            severity="warning",
        )
