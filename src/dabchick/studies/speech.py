"""Figures as the builder says them: from their own datum, in their own units."""

from dataclasses import dataclass

from dabchick.model.units import shown
from dabchick.model.vessel import Vector, Vessel


@dataclass(frozen=True)
class Speech:
    """Speaks for one vessel."""

    vessel: Vessel

    def at(self, point: Vector) -> str:
        """A point of the house frame [m], as `x 120.0 mm from the bow, y ..., z ... from the keel`."""
        x, y, z = (self.length(value) for value in self.vessel.datum.to_builder(point))
        datum = self.vessel.datum
        return f"x {x} from the {datum.x_from}, y {y}, z {z} from the {datum.z_from}"

    def along(self, x_m: float) -> str:
        """A station of the house frame [m], as `x 120.0 mm from the bow`."""
        x = self.vessel.datum.to_builder((x_m, 0.0, 0.0))[0]
        return f"x {self.length(x)} from the {self.vessel.datum.x_from}"

    def height(self, z_m: float) -> str:
        """A height of the house frame [m], as `z 71.0 mm from the keel`."""
        z = self.vessel.datum.to_builder((0.0, 0.0, z_m))[2]
        return f"z {self.length(z)} from the {self.vessel.datum.z_from}"

    def length(self, value_m: float) -> str:
        return shown(value_m, "length", self.vessel.units)

    def depth(self, value_m: float) -> str:
        """A depth of water, as round as it was asked for."""
        return f"{value_m:g} m" if self.vessel.units == "metric" else f"{value_m / 0.3048:.1f} ft"

    def volume(self, value_m3: float) -> str:
        """A volume; small ones keep two digits."""
        if self.vessel.units == "metric" and abs(value_m3) < 1e-6:
            return f"{value_m3 * 1e6:.2g} ml"
        return shown(value_m3, "volume", self.vessel.units)

    def mass(self, value_kg: float) -> str:
        return shown(value_kg, "mass", self.vessel.units)

    def density(self, value_kg_m3: float) -> str:
        return shown(value_kg_m3, "density", self.vessel.units)
