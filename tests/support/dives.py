"""Ways down and up put together by hand, for tests of what is said and drawn of them; no study is run."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.studies.dive_path import DivePath, in_order, together
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure
from dabchick.studies.stability_result import (
    Arms,
    Attitude,
    DiveEvent,
    LeastMoment,
    StabilityResult,
    Stage,
    Way,
)
from tests.support.sample_results import sample_vessel

NAN = math.nan
HEELS = np.arange(-180.0, 180.1, 5.0)


def normal(heel_deg: float, trim_deg: float) -> tuple[float, float, float]:
    """Up in the boat's axes, as docs/frame.md has it."""
    heel, trim = math.radians(heel_deg), math.radians(trim_deg)
    return math.sin(trim), math.cos(trim) * math.sin(heel), math.cos(trim) * math.cos(heel)


def lie(
    vessel: Vessel,
    fills: dict[str, float],
    *,
    heel: float = 0.0,
    trim: float = 0.0,
    draught: float = 0.08,
    gm: float = 0.006,
    bg: float = 0.004,
    lift: float = 0.2,
    condition: str = "floats",
    stable: bool = True,
) -> Lie:
    """One state with the figures given; wholly under there is no draught."""
    up = normal(heel, trim)
    afloat = condition == "floats"
    middle = 0.5 * vessel.length_m
    offset = draught * up[2] + up[0] * middle if afloat else NAN

    def at(mark: float) -> Figure:
        return Figure((offset - up[0] * mark) / up[2], 0.0012) if afloat else Figure(NAN, NAN)

    centre = 0.05
    return Lie(
        name="as filled", condition=condition, fills=fills, draught_bow_m=at(vessel.mark_bow_m),
        draught_stern_m=at(vessel.mark_stern_m), freeboard_m=Figure(0.168 - draught if afloat else NAN, 0.001),
        heel_deg=Figure(heel, 0.6), trim_deg=Figure(trim, 0.3), lift_kg=Figure(lift, 0.006),
        mass_kg=Figure(3.2, 0.005), displaced_m3=0.0032, cg_m=(middle, 0.0, centre - bg if bg == bg else 0.04),
        cb_m=(middle, 0.0, centre), gm_transverse_m=Figure(gm, 0.0007), gm_longitudinal_m=Figure(0.3, 0.01),
        bg_m=Figure(bg, 0.0006), stable=stable, force_residual=1e-9, moment_residual=1e-10, normal=up,
        offset_m=offset,
    )  # fmt: skip


def arms(greatest: float, *, lost_deg: float = 120.0, loll: float = NAN, lean: float = 0.0) -> Arms:
    """A curve that rises and is lost at `lost_deg`; `lean` makes one side weaker."""
    shape = np.sin(np.radians(HEELS) * 180.0 / lost_deg)
    shape = np.where(
        np.abs(HEELS) > lost_deg, -0.3 * np.abs(np.sin(np.radians(HEELS))) * np.sign(HEELS), shape
    )
    curve = greatest * (shape + lean * np.sin(np.radians(HEELS)) ** 2)
    rest = abs(loll) if math.isfinite(loll) else 0.0
    return Arms(
        heels_deg=tuple(float(value) for value in HEELS), arms_m=tuple(float(value) for value in curve),
        trims_deg=tuple(float(-0.02 * abs(value)) for value in HEELS), range_starboard_deg=lost_deg - rest,
        range_port_deg=lost_deg, area_starboard_m_rad=1.2 * greatest, area_port_m_rad=1.3 * greatest,
        greatest_m=greatest, greatest_at_deg=0.5 * lost_deg, loll_deg=loll, settled=True,
    )  # fmt: skip


Shape = Callable[[float, Way], dict[str, object]]


def dive(
    vessel: Vessel,
    shape: Shape,
    *,
    path: DivePath | None = None,
    events: tuple[DiveEvent, ...] = (),
    least: tuple[Way, float] | None = None,
    stages: int = 21,
    warnings: tuple[Advice, ...] = (),
) -> StabilityResult:
    """A whole way; `shape` says for each progress and way what differs from a plain floating state."""
    way = path or together(vessel)

    def one(progress: float, on: Way) -> Stage:
        told = dict(shape(progress, on))
        curve = told.pop("arms", None) or arms(0.006 - 0.002 * progress)
        lost = told.pop("lost", 0.0002)
        state = lie(vessel, way.fills_at(progress), **told)
        under = lie(
            vessel, way.fills_at(progress), condition="hangs", gm=state.bg_m.value, bg=state.bg_m.value
        )
        return Stage(progress, on, state, under, lost, 0.03 * (1.0 - progress), curve)

    progress = [float(at) for at in np.linspace(0.0, 1.0, stages)]
    down = tuple(one(at, "down") for at in progress)
    up = tuple(one(at, "up") for at in reversed(progress))
    if least is None:
        known = [stage for stage in (*down, *up) if math.isfinite(stage.lie.gm_transverse_m.value)]
        weakest = min(known or down, key=lambda stage: stage.lie.gm_transverse_m.value)
    else:
        weakest = one(least[1], least[0])
    return StabilityResult(
        boat=vessel.name, method="by hand", sources=(), validity="none",
        assumptions=("The tanks' water lies level.", *vessel.assumptions), warnings=warnings, path=way,
        water_density_kg_m3=vessel.water_density_kg_m3, down=down, up=up, events=events,
        least=LeastMoment(weakest.way, weakest.progress, weakest.lie.fills, weakest.lie), branches=(),
        complete=False,
    )  # fmt: skip


def attitude(heel: float, trim: float, offset: float = 0.09) -> Attitude:
    return Attitude(heel, trim, normal(heel, trim), offset)


def event(
    result_path: DivePath, kind: str, way: Way, at: float, before: Attitude, after: Attitude
) -> DiveEvent:
    return DiveEvent(kind, way, at, result_path.fills_at(at), before, after)  # type: ignore[arg-type]


def two_tanks(name: str = "Grebe", **more: object) -> Vessel:
    """The sample boat with a second tank far aft, not a piston, so that its water lies level."""
    vessel = sample_vessel(name, **more)  # type: ignore[arg-type]
    main = vessel.tanks[0]
    centre = (0.3 * vessel.length_m, 0.0, main.centre_m[2])
    solid = shapes.box(0.06, 0.05, 0.05).moved(centre)
    aft = replace(
        main, name="aft trim", system="vented pump", solid=solid, capacity_m3=solid.volume, centre_m=centre,
        inside="", piston_direction=(0.0, 0.0, 0.0), bore_area_m2=0.0,
    )  # fmt: skip
    return replace(vessel, tanks=(main, aft))


def steady(progress: float, way: Way) -> dict[str, object]:
    """Upright all the way; hangs at the end."""
    gm = 0.004 + 0.008 * (progress - 0.6) ** 2
    if progress > 0.97:
        return {"condition": "hangs", "gm": 0.0055, "bg": 0.0055, "lift": 0.012, "trim": -0.2}
    return {"draught": 0.08 + 0.05 * progress**2, "trim": -1.2 * progress, "gm": gm, "bg": 0.001 + 0.004 * progress,
            "lift": 0.5 * (1.0 - progress) + 0.012}  # fmt: skip


def goes_over(progress: float, way: Way) -> dict[str, object]:
    """Leans from 40 %, goes over at 57 % going down, back at 37 % coming up."""
    base = {"draught": 0.08 + 0.05 * progress, "bg": 0.003 - 0.001 * progress, "trim": -2.0 * progress}
    if (way == "down" and progress > 0.57) or (way == "up" and progress > 0.37):
        return base | {"heel": 38.2 + 20.0 * (progress - 0.55), "gm": 0.003, "trim": 1.4,
                       "arms": arms(0.0012, lost_deg=140.0, loll=38.0, lean=0.3)}  # fmt: skip
    if way == "down" and progress > 0.4:
        return base | {"heel": 30.0 * (progress - 0.4), "gm": 0.0009, "arms": arms(0.0008, loll=8.0)}
    return base | {"gm": 0.004 - 0.0075 * progress}


def cases() -> dict[str, tuple[Vessel, StabilityResult]]:
    """Every kind of way down."""
    boat, two = sample_vessel(), two_tanks()
    way, order = together(boat), in_order(two, ["main", "aft trim"])
    over = (
        event(way, "fork", "down", 0.4, attitude(0.0, -0.8), attitude(0.0, -0.8)),
        event(way, "jump", "down", 0.57, attitude(4.5, -1.1), attitude(38.2, 1.4)),
        event(way, "jump", "up", 0.37, attitude(34.2, 1.4), attitude(0.0, -0.7)),
    )
    under = (
        event(way, "under", "down", 0.96, attitude(0.0, -1.1, 0.16), attitude(0.0, -0.2, NAN)),
        event(way, "out", "up", 0.96, attitude(0.0, -0.2, NAN), attitude(0.0, -1.1, 0.16)),
    )

    def sinking(progress: float, on: Way) -> dict[str, object]:
        if progress > 0.7:
            return {"condition": "sinks", "lift": 0.2 - 0.29 * progress, "gm": 0.003, "bg": 0.003}
        return {"draught": 0.09 + 0.06 * progress, "lift": 0.2 - 0.29 * progress}

    def unknown(progress: float, on: Way) -> dict[str, object]:
        return {"gm": NAN, "bg": NAN} if 0.3 < progress < 0.6 else {}

    def last(progress: float, on: Way) -> dict[str, object]:
        if progress > 0.5:
            return {
                "gm": -0.003,
                "bg": -0.002,
                "heel": 172.0,
                "arms": arms(-0.002, lean=0.2),
                "stable": False,
            }
        return {
            "gm": 0.004 - 0.01 * progress,
            "stable": progress < 0.4,
            "arms": arms(0.003, lost_deg=60.0, lean=0.5),
        }

    long_name = "Her Whole Long Name " * 8
    inch = replace(sample_vessel(long_name, units="inch"), name=long_name)
    inch_two = two_tanks(long_name, units="inch")
    inch_two = replace(
        inch_two,
        tanks=tuple(replace(tank, name=f"the very long {tank.name} tank") for tank in inch_two.tanks),
    )
    crossed = in_order(inch_two, [inch_two.tanks[1].name])
    many = tuple(
        event(crossed, kind, on, at, attitude(2.0 * i, -1.0), attitude(10.0 * i, 0.5))
        for i, (kind, on, at) in enumerate(
            (kind, on, at)
            for on, at in (("down", 0.5), ("down", 0.52), ("up", 0.51), ("down", 0.98), ("up", 0.02))
            for kind in ("fork", "jump", "fold")
        )
    )  # fmt: skip
    warned = tuple(
        Advice(f"Warning {at} " + "of many words " * 12, "Mind it.", severity="warning") for at in range(30)
    )
    return {
        "steady": (boat, dive(boat, steady, events=under)),
        "over": (boat, dive(boat, goes_over, events=over, least=("down", 0.53))),
        "never under": (boat, dive(boat, lambda at, on: {"draught": 0.08 + 0.03 * at, "lift": 0.316})),
        "sinks": (boat, dive(boat, sinking)),
        "not a number": (boat, dive(boat, unknown)),
        "keel up": (boat, dive(boat, last)),
        "two tanks": (two, dive(two, steady, path=order)),
        "inch": (inch, dive(inch, goes_over, events=over, least=("down", 0.53))),
        "everything at once": (
            inch_two,
            dive(inch_two, goes_over, path=crossed, events=many, warnings=warned),
        ),
        "two stages": (boat, dive(boat, steady, stages=2)),
    }
