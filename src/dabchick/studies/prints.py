"""`prints`: what a pile of print files is as one hull: its size, its walls and their thickness, and its mass.

The pieces come joined (`storage/join.py`). Scaled by a known length, volumes go by the cube of the factor. Whether the
mesh is the material itself is a finding with its reasons, which the builder confirms.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.materials import UnknownMaterialError, material, materials
from dabchick.model.pile import Joint, Piece, Pile
from dabchick.model.prints_ask import PrintsAsk
from dabchick.model.vessel import Vector
from dabchick.physics.surface import faults
from dabchick.physics.thickness import MOST_SAMPLES, OPPOSITE, thickness
from dabchick.studies.prints_mass import ShellMass, check_filling, shell_mass
from dabchick.studies.prints_scale import Scale, scale_advice, scale_of
from dabchick.studies.prints_wall import (
    WallFigures,
    WallFinding,
    band_numbers,
    wall_advice,
    wall_figures,
    wall_finding,
)
from dabchick.studies.result import StudyResult

FORM_SAMPLES = 3000
"""Points at which an outer form is read: only its thinnest ends are of interest, and each reading takes long."""

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class WallMap:
    """The joined mesh after scaling, with a thickness for each triangle."""

    vertices_m: Array
    """(n, 3)"""
    faces: Indices
    """(m, 3)"""
    thickness_m: Array
    """(m,), NaN where none could be read"""
    band: Indices
    """(m,) place among the bands, -1 for none"""


@dataclass(frozen=True, kw_only=True)
class PrintsResult(StudyResult):
    """The pile as one hull; places in the axes of the files, after scaling."""

    pieces: tuple[Piece, ...]
    """As they were before scaling."""
    joints: tuple[Joint, ...]
    scale: Scale
    sides_m: Vector
    volume_m3: float
    """Inside the mesh: of the material where it is walls."""
    area_m2: float
    triangles: int
    finding: WallFinding
    wall: WallFigures
    mass: ShellMass | None
    """None without a material, or where the mesh is an outer form."""
    map: WallMap | None
    """For Python and pictures; left out of the JSON."""


def run(pile: Pile, ask: PrintsAsk | None = None, *, most_samples: int = MOST_SAMPLES) -> PrintsResult:
    """Measure a joined pile. Raises BoatError with all that cannot be in what was asked."""
    ask = PrintsAsk() if ask is None else ask
    _check(ask)
    scale = scale_of(pile, ask.length_m, ask.between_m)
    vertices = pile.vertices_m * scale.factor
    report = faults(vertices, pile.faces, seek_crossings=False)
    if not report.closed:
        raise BoatError(
            Advice("The joined mesh is not closed.", "Join the pieces first.", where=pile.name, key="pieces")
        )
    finding = wall_finding(report, ask.walled)
    samples = most_samples if finding.kind != "surface" else min(most_samples, FORM_SAMPLES)
    read = thickness(vertices, pile.faces, most_samples=samples)
    wall = wall_figures(read)
    mass = None
    if ask.material is not None and finding.is_wall:
        mass = shell_mass(ask.material, report.volume, read, ask.filling, ask.weighed_kg)
    assumptions = [*pile.assumptions]
    assumptions += [] if ask.length_m is not None else ["the pieces have the size that their files say"]
    if ask.walled is None:
        assumptions.append(
            "not confirmed: the mesh is taken as "
            + ("the material itself" if finding.is_wall else "an outer form")
        )
    if len(pile.faces) > samples:
        assumptions.append(
            f"thickness read on {samples} of {len(pile.faces)} triangles, evenly drawn; the others take over the "
            "nearest reading"
        )
    assumptions += mass.assumptions if mass else []
    return PrintsResult(
        boat=pile.name,
        method="union of the pieces; thickness at points of the surface by the largest ball inside that touches there, "
        f"counted where it fills at least {100.0 * OPPOSITE:g} % of the way of a ray inward; at edges the nearest such "
        "ball's",
        sources=(
            "shrinking ball: Ma, Bae, Choi, The Visual Computer 28 (2012), from memory",
            "table of materials: data/materials.toml",
        ),
        validity="closed meshes; walls whose faces meet at less than 35 degrees; thin slits between pieces that lie in "
        "each other are left as they are",
        assumptions=tuple(assumptions),
        warnings=(
            *pile.advice,
            *scale_advice(scale),
            *wall_advice(finding),
            *_mass_advice(ask, finding, mass),
            CAUTION,
        ),
        pieces=pile.pieces,
        joints=pile.joints,
        scale=scale,
        sides_m=_vector(np.subtract(report.high, report.low)),
        volume_m3=report.volume,
        area_m2=report.area,
        triangles=len(pile.faces),
        finding=finding,
        wall=wall,
        mass=mass,
        map=WallMap(vertices, pile.faces, read.of_face, band_numbers(wall.bands, read.of_face)),
    )


CAUTION = Advice(
    what="Sanding prints and casts makes fine dust, and uncured resin and its fumes harm skin and lungs.",
    todo="Wet-sand, wear gloves and a mask that fits, work in fresh air; the maker's data sheet and local rules come "
    "first.",
    key="caution",
    severity="warning",
)


def _check(ask: PrintsAsk) -> None:
    wrong = check_filling(ask.filling, ask.weighed_kg)
    if ask.material is not None:
        try:
            material(ask.material)
        except UnknownMaterialError as unknown:
            near = " or ".join(f'"{name}"' for name in unknown.near)
            wrong.append(
                Advice(
                    what=str(unknown),
                    todo=f"Did you mean {near}?" if near else "Choose a name from the table.",
                    key="material",
                    given=ask.material,
                    allowed=", ".join(entry.name for entry in materials()),
                )
            )
    if wrong:
        raise BoatError(*wrong)


def _mass_advice(ask: PrintsAsk, finding: WallFinding, mass: ShellMass | None) -> tuple[Advice, ...]:
    if mass is not None:
        return mass.advice
    if not finding.is_wall and (ask.material is not None or ask.weighed_kg is not None):
        return (
            Advice(
                what="An outer form has no mass of its own: its volume is not that of the material.",
                todo="Give the skin's thickness or its weighed mass under [hull] skin in the boat file.",
                key="weighed",
                severity="warning",
            ),
        )
    if ask.weighed_kg is not None:
        return (
            Advice(
                what="The weighed mass cannot be compared without a material.",
                todo="Name the material, such as PLA.",
                key="material",
                severity="warning",
            ),
        )
    return ()


def _vector(values: Array) -> Vector:
    x, y, z = (float(value) for value in values)
    return (x, y, z)
