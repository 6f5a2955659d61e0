"""The text of a new boat file: one function for each kind of table, with the comments that a beginner wants."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import tomlkit

from dabchick.model.units import written
from dabchick.model.vessel import Vector
from dabchick.storage.starter_parts import StarterPart
from dabchick.studies import starter
from dabchick.studies.starter import CylinderRoom, Lying, OutsideGear

if TYPE_CHECKING:
    from dabchick.storage.new_boat import Order


@dataclass(frozen=True)
class Opening:
    """A hole in the skin, house frame."""

    at_m: Vector
    area_m2: float


class BoatText:
    """Writes for one boat, measured from bow and keel, in the builder's units."""

    def __init__(self, order: "Order", skin_m: float, waterline_m: float | None) -> None:
        self.order = order
        self.skin_m = skin_m
        self.waterline_given = waterline_m is not None
        self.length_m = 0.0
        self.openings: list[Opening] = []

    def whole(
        self,
        waterline_m: float,
        *,
        parts: str = "",
        tanks: str = "",
        lift_kg: float = 0.01,
        pieces_g: Sequence[float] = (5, 10, 20),
    ) -> str:
        """The whole file."""
        pieces = ", ".join(f'"{piece:g} g"' for piece in pieces_g)
        how = "as you gave it" if self.waterline_given else "suggested; put your drawing's here"
        return f"""# {_line(self.order.name)}. Made by Dabchick from the hull and a choice of usual gear.
# Sizes and masses are guesses to begin with (common practice, no source). Weigh your own and write them in, with
# known = "weighed".

dabchick = 1
name = {_text(self.order.name)}
measured_from = {{ x = "bow", z = "keel" }}
units = "{self.order.units}"

[water]
kind = "fresh"

[hull]
{self._hull()}waterline = "{self.length(waterline_m)}" # {how}
{self._openings()}{parts}{tanks}
[trim]
lift_dived = "{written(lift_kg, "mass", self.order.units)}" # so much she should want to come up when dived
lead = {{ pieces = [{pieces}], places = "auto" }}
foam = {{ density = "35 kg/m^3", places = "auto" }}
"""

    def length(self, value_m: float) -> str:
        return written(value_m, "length", self.order.units)

    def mass(self, value_kg: float) -> str:
        return written(value_kg, "mass", self.order.units)

    def at(self, point: Vector) -> str:
        """A place from bow and keel."""
        x, y, z = point
        across = "0" if abs(y) < 5e-5 else f'"{self.length(y)}"'
        return f'["{self.length(self.length_m - x)}", {across}, "{self.length(z)}"]'

    def cylinder(self, room: CylinderRoom, mass_kg: float) -> str:
        """The watertight cylinder."""
        return f"""
[[part]]
name = "cylinder"
kind = "dry" # sealed: its outside displaces water
shape = {{ cylinder = {{ length = "{self.length(room.length_m)}", diameter = "{self.length(room.diameter_m)}" }} }}
at = {self.at(room.centre_m)} # its middle
mass = {{ value = "{self.mass(mass_kg)}", known = "guess" }} # with its two caps
"""

    def tank(self, room: CylinderRoom, x_m: float, length_m: float, bore_m: float, mass_kg: float) -> str:
        """The ballast tank in the cylinder."""
        return f"""
[[tank]]
name = "main"
system = "piston"
shape = {{ cylinder = {{ length = "{self.length(length_m)}", diameter = "{self.length(bore_m)}" }} }} # bore and stroke
at = {self.at((x_m, 0.0, room.axis_m))}
inside = "cylinder"
walls = {{ mass = {{ value = "{self.mass(mass_kg)}", known = "guess" }} }} # with its piston and drive
water_end = "bow"
"""

    def inside(self, part: StarterPart, lying: Lying) -> str:
        """A thing in the cylinder."""
        text = self._head(part, "inside") + 'inside = "cylinder"\n'
        if lying.fits and part.size_m is not None:
            text += f"shape = {self._shape(part.size_m, part.is_round)}\n"
        text += f"at = {self.at(lying.centre_m)}\n" + self._mass(part, part.mass_kg or 0.0)
        if not lying.fits:
            text += 'note = "Its size is left out: there was no room for its box. Find it a place."\n'
        elif part.slides:
            ends = [self.length_m - lying.centre_m[0] + sign * starter.SLIDE_M for sign in (-1.0, 1.0)]
            text += f'rail = {{ direction = "x", from = "{self.length(ends[0])}", to = "{self.length(ends[1])}" }}\n'
        return text

    def loose(self, part: StarterPart, centre_m: Vector) -> str:
        """A thing in the cylinder that lies all over the place."""
        return (
            self._head(part, "inside")
            + f'inside = "cylinder"\nat = {self.at(centre_m)}\nplaced = {{ known = "guess" }}\n'
            + self._mass(part, part.mass_kg or 0.0)
        )

    def outside(self, part: StarterPart, gear: OutsideGear) -> str:
        """A thing that stands outside the hull or reaches out of it."""
        return (
            self._head(part, "solid")
            + "outside = true # it stands outside the hull, or reaches out of it\n"
            + f"shape = {self._shape(gear.size_m, gear.is_round)}\nat = {self.at(gear.centre_m)}\n"
            + self._mass(part, gear.mass_kg)
            + f'material = "{gear.material}"\n'
        )

    def _head(self, part: StarterPart, kind: str) -> str:
        return f'\n[[part]]\nname = "{part.name}"\nkind = "{kind}"\n'

    def _mass(self, part: StarterPart, mass_kg: float) -> str:
        return f'mass = {{ value = "{self.mass(mass_kg)}", known = "{part.known}" }}\n'

    def _shape(self, size: Vector, is_round: bool) -> str:
        length, width, height = (self.length(side) for side in size)
        if is_round:
            return f'{{ cylinder = {{ length = "{length}", diameter = "{width}" }} }}'
        return f'{{ box = {{ size = ["{length}", "{width}", "{height}"] }} }}'

    def _hull(self) -> str:
        hull = self.order.hull
        material = self.order.material or "GRP"
        if hull.unit is None:
            lines = [f"stations = {_text(hull.name)}"]
        else:
            lines = [f"mesh = {_text(hull.name)}", f'unit = "{hull.unit}"']
            if (hull.bow, hull.up) != ("+x", "+z"):
                lines += [f'bow = "{hull.bow}"', f'up = "{hull.up}"']
            lines += ["solid_walled = true"] if hull.solid_walled else []
            lines += ["separate_shells = true"] if hull.separate_shells else []
        skin = "" if hull.solid_walled else f'thickness = "{self.length(self.skin_m)}", '
        lines.append(f"skin = {{ {skin}material = {_text(material)} }} # best is the bare hull on the scales")
        return "\n".join(lines) + "\n"

    def _openings(self) -> str:
        if not self.openings:
            return ""
        rows = "".join(
            f'  {{ at = {self.at(entry.at_m)}, area = "{entry.area_m2 * 1e6:.0f} mm^2" }},\n'
            for entry in self.openings
        )
        return f"openings = [ # holes that let the water in and the air out\n{rows}]\n"


def _text(value: str) -> str:
    return tomlkit.string(value).as_string()


def _line(value: str) -> str:
    return " ".join(value.split())
