"""The figures of one moment of a dive: how she lies, held under, her righting arms."""

from dataclasses import dataclass
from math import nan

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.physics.arm_range import arms_about, free_surface_m
from dabchick.physics.balance import Array, with_air_held
from dabchick.physics.equilibrium import NotSettledError, SinksError, described, find, heel_and_trim_deg
from dabchick.physics.passage import LostError, let_go
from dabchick.physics.track import Point, Track
from dabchick.studies.dive_path import DivePath
from dabchick.studies.lay import describe
from dabchick.studies.lie import Condition, Lie
from dabchick.studies.loading import Loading, load, under_offset_m
from dabchick.studies.stability_result import Arms, Attitude, Stage, Way

HEELS_DEG = np.arange(-180.0, 180.1, 5.0)

_BALANCED = 1e-10
"""Residual over weight above which a rest is looked for again with the loading as it stands at a leg's end."""


@dataclass(frozen=True, eq=False)
class Dive:
    """The boat, the way and the water, for all moments of it."""

    vessel: Vessel
    path: DivePath
    density_kg_m3: float
    track: Track

    def loading(self, progress: float) -> Loading:
        return load(self.vessel, self.path.fills_at(progress), self.density_kg_m3)

    def lie(self, point: Point, name: str = "as filled") -> Lie:
        """How she lies at a point of the way."""
        return self._lie(point, self.loading(point.progress), name)

    def _lie(self, point: Point, loading: Loading, name: str) -> Lie:
        depth = under_offset_m(loading)
        offset = depth if point.hanging else float(point.state[3]) * loading.balance.radius
        balance = with_air_held(loading.balance, point.normal, offset) if point.hanging else loading.balance
        rest = described(balance, point.normal, offset, point.hanging)
        if max(rest.force_residual, rest.moment_residual) > _BALANCED:
            # at the very end of a leg a tank may stand otherwise than just before it
            try:
                rest = find(loading.balance, point.normal, hanging=point.hanging, depth_m=depth)
            except SinksError:
                rest = find(loading.balance, point.normal, hanging=True, depth_m=depth)
        condition: Condition = "floats"
        if rest.hanging:
            held = loading.balance.density * loading.balance.buoyant_volume - loading.mass_kg
            condition = "hangs" if name == "wholly under" and held >= 0.0 else "sinks"
        return describe(self.vessel, loading, name, rest, condition, loose=True)

    def stage(self, point: Point, way: Way) -> Stage:
        """All figures of one moment. Raises LostError, NotSettledError."""
        loading = self.loading(point.progress)
        lie = self._lie(point, loading, "as filled")
        normal, hanging = np.array(lie.normal), lie.condition != "floats"
        offset = under_offset_m(loading) if hanging else lie.offset_m
        return Stage(
            progress=point.progress,
            way=way,
            lie=lie,
            under=self._under(point, loading),
            free_surface_m=free_surface_m(loading.balance, normal, offset),
            waterplane_m2=0.0 if hanging else point.waterplane,
            arms=self._arms(loading, normal, offset, hanging),
        )

    def _under(self, point: Point, loading: Loading) -> Lie:
        try:
            below = let_go(self.track, point.normal, under_offset_m(loading), point.progress, hanging=True)
        except LostError as fault:
            raise NotSettledError(f"Held wholly under she comes to no rest: {fault}") from fault
        return self._lie(below, loading, "wholly under")

    @staticmethod
    def _arms(loading: Loading, normal: Array, offset: float, hanging: bool) -> Arms:
        curve = arms_about(loading.balance, normal, offset, HEELS_DEG, hanging=hanging)
        weaker = min(curve.starboard, curve.port, key=lambda side: side.greatest_m)
        return Arms(
            heels_deg=tuple(map(float, curve.heels_deg)),
            arms_m=tuple(map(float, curve.arms_m)),
            trims_deg=tuple(map(float, curve.trims_deg)),
            range_starboard_deg=curve.starboard.range_deg,
            range_port_deg=curve.port.range_deg,
            area_starboard_m_rad=curve.starboard.area_m_rad,
            area_port_m_rad=curve.port.area_m_rad,
            greatest_m=weaker.greatest_m,
            greatest_at_deg=weaker.greatest_at_deg,
            loll_deg=nan if curve.upright_holds else heel_and_trim_deg(normal)[0],
            settled=curve.settled,
        )


def attitude(point: Point, radius_m: float) -> Attitude:
    """Where a point of the way lies."""
    heel, trim = heel_and_trim_deg(point.normal)
    x, y, z = (float(value) for value in point.normal)
    return Attitude(heel, trim, (x, y, z), nan if point.hanging else float(point.state[3]) * radius_m)
