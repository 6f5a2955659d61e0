"""Equilibrium against scipy's minimisation of a potential energy that shares no code with ours.

The other route: manifold3d cuts the body by the surface and each tank by its water level, volumes and
centroids are summed over the triangles by trimesh, tank levels come from scipy's root finder, and
scipy.optimize minimises the energy over attitude and sinkage with its own numerical gradients.
"""

from dataclasses import dataclass

import manifold3d
import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize

from dabchick.physics import shapes
from dabchick.physics.balance import Balance, TankWater, balance
from dabchick.physics.equilibrium import all_equilibria, find, up_vector

Array = NDArray[np.float64]
DENSITY = 1000.0


def manifold_of(mesh: trimesh.Trimesh) -> manifold3d.Manifold:
    whole = manifold3d.Manifold(
        manifold3d.Mesh64(np.asarray(mesh.vertices, np.float64), np.asarray(mesh.faces, np.uint64))
    )
    assert whole.status() == manifold3d.Error.NoError
    return whole


def arrays_of(body: manifold3d.Manifold) -> tuple[Array, NDArray[np.int64]]:
    mesh = body.to_mesh64()
    return np.array(mesh.vert_properties[:, :3], np.float64), np.array(mesh.tri_verts, np.int64)


def bulk(body: manifold3d.Manifold) -> tuple[float, Array]:
    """Volume and first moment about the origin, by trimesh."""
    vertices, faces = arrays_of(body)
    if len(faces) == 0:
        return 0.0, np.zeros(3)
    found = trimesh.triangles.mass_properties(vertices[faces], skip_inertia=True)
    volume = float(found["volume"])
    return volume, volume * np.asarray(found["center_mass"])


def below(body: manifold3d.Manifold, up: Array, offset: float) -> tuple[float, Array]:
    """What of a body has up.x < offset."""
    return bulk(body.trim_by_plane(tuple(-up), -offset))


def ugly_body(seed: int) -> manifold3d.Manifold:
    """Boxes and lumpy balls joined, a hole bored through: concave, many-cornered, not symmetric."""
    chance = np.random.default_rng(seed)
    body = manifold3d.Manifold()
    for index in range(4):
        if index % 2:
            part = trimesh.creation.icosphere(subdivisions=1, radius=0.06)
            part.vertices *= 1.0 + 0.15 * chance.uniform(-1.0, 1.0, (len(part.vertices), 1))
        else:
            part = trimesh.creation.box(chance.uniform(0.08, 0.22, 3))
        part.apply_transform(trimesh.transformations.random_rotation_matrix(chance.uniform(size=3)))
        part.apply_translation(chance.uniform(-1.0, 1.0, 3) * [0.16, 0.05, 0.04])
        body = body + manifold_of(part)
    rod = trimesh.creation.cylinder(radius=0.02, height=1.0, sections=11)
    rod.apply_transform(trimesh.transformations.random_rotation_matrix(chance.uniform(size=3)))
    body = body - manifold_of(rod)
    return max(body.decompose(), key=lambda piece: float(piece.volume()))


@dataclass(frozen=True)
class Boat:
    """One boat, told to both routes."""

    body: manifold3d.Manifold
    rooms: tuple[manifold3d.Manifold, ...]
    held: tuple[float, ...]
    mass: float
    centre: Array

    def ours(self) -> Balance:
        tanks = [
            TankWater(shapes.mesh(*arrays_of(room)), volume)
            for room, volume in zip(self.rooms, self.held, strict=True)
        ]
        return balance([shapes.mesh(*arrays_of(self.body))], self.mass, self.centre, DENSITY, tanks)

    def water_in(self, room: manifold3d.Manifold, held: float, up: Array) -> tuple[float, Array]:
        """Volume and first moment of a tank's water at its own level."""
        heights = arrays_of(room)[0] @ up
        level = brentq(
            lambda d: below(room, up, d)[0] - held, heights.min(), heights.max(), xtol=1e-14, rtol=1e-14
        )
        return below(room, up, level)

    def energy(self, up: Array, offset: float) -> float:
        """Potential energy over g [kg m] of boat, displaced water and tank water."""
        volume, moment = below(self.body, up, offset)
        energy = self.mass * (float(up @ self.centre) - offset) - DENSITY * (
            float(up @ moment) - offset * volume
        )
        for room, held in zip(self.rooms, self.held, strict=True):
            water, water_moment = self.water_in(room, held, up)
            energy += DENSITY * (float(up @ water_moment) - offset * water)
        return energy

    def lowest(self, up: Array) -> tuple[Array, float, float]:
        """(up, offset, energy) of the minimum that scipy comes to from an attitude, chart after chart."""
        offset, size = 0.0, 0.1
        weight = self.mass * size
        for method, options in (
            ("BFGS", {"gtol": 1e-6}),
            ("BFGS", {"gtol": 1e-8}),
            ("Nelder-Mead", {"xatol": 1e-9, "fatol": 1e-15, "initial_simplex": 1e-5 * np.eye(4, 3)}),
        ):
            side = np.cross(up, [0.31, -0.52, 0.79])
            side /= np.linalg.norm(side)
            chart = (up, side, np.cross(up, side), offset)

            def place(x: Array, chart: tuple[Array, Array, Array, float] = chart) -> tuple[Array, float]:
                """Attitude by a turn of any size about a level axis, and the surface's height."""
                turn = float(np.hypot(x[0], x[1]))
                tangent = x[0] * chart[1] + x[1] * chart[2]
                return np.cos(turn) * chart[0] + np.sinc(turn / np.pi) * tangent, chart[3] + size * x[2]

            found = minimize(
                lambda x: self.energy(*place(x)) / weight, np.zeros(3), method=method, options=options
            )
            up, offset = place(found.x)
            up = up / np.linalg.norm(up)
        return up, offset, self.energy(up, offset)


def boat(seed: int, tanks: int) -> Boat:
    chance = np.random.default_rng(1000 + seed)
    body = ugly_body(seed)
    volume, moment = bulk(body)
    rooms, held = [], []
    for index in range(tanks):
        sides = 6 if index % 2 else 4
        room = trimesh.creation.cylinder(radius=0.03, height=0.06, sections=sides)
        room.apply_transform(trimesh.transformations.random_rotation_matrix(chance.uniform(size=3)))
        room.apply_translation(moment / volume + chance.uniform(-0.03, 0.03, 3))
        rooms.append(manifold_of(room))
        held.append(chance.uniform(0.2, 0.8) * bulk(rooms[-1])[0])
    mass = chance.uniform(0.45, 0.85) * DENSITY * volume - DENSITY * sum(held)
    return Boat(body, tuple(rooms), tuple(held), mass, moment / volume + chance.uniform(-0.015, 0.015, 3))


CASES = [(1, 0), (2, 0), (3, 1), (4, 1), (5, 2)]


@pytest.mark.parametrize(("seed", "tanks"), CASES)
def test_each_minimum_of_the_other_energy_is_a_stable_rest_of_ours(seed: int, tanks: int) -> None:
    case = boat(seed, tanks)
    everything = all_equilibria(case.ours())
    stable = [rest for rest in everything.found if rest.stable]
    assert stable
    for heel, trim in [(0.0, 0.0), (150.0, -20.0)]:
        up, offset, energy = case.lowest(up_vector(heel, trim))
        nearest = min(stable, key=lambda rest: float(np.linalg.norm(rest.normal - up)))
        # energy is flat at its minimum: 1e-14 of it leaves the attitude open by some 1e-6
        assert nearest.normal == pytest.approx(up, abs=2e-5)
        assert nearest.offset_m == pytest.approx(offset, abs=2e-6)
        assert nearest.energy_kg_m == pytest.approx(energy, abs=1e-10 * case.mass)
        assert energy >= stable[0].energy_kg_m - 1e-12 * case.mass


@pytest.mark.parametrize(("seed", "tanks"), CASES)
def test_every_rest_of_ours_balances_by_the_other_route(seed: int, tanks: int) -> None:
    """Force and moment by manifold3d, every rest found: under 1e-6 of weight and 1e-8 of weight x length."""
    case = boat(seed, tanks)
    afloat = case.ours()
    total = case.mass + DENSITY * sum(case.held)
    everything = all_equilibria(afloat)
    assert everything.complete
    for rest in everything.found:
        volume, lift = below(case.body, rest.normal, rest.offset_m)
        weight = case.mass * case.centre
        for room, held in zip(case.rooms, case.held, strict=True):
            weight = weight + DENSITY * case.water_in(room, held, rest.normal)[1]
        assert abs(DENSITY * volume - total) < 1e-6 * total
        left = float(np.linalg.norm(np.cross(DENSITY * lift - weight, rest.normal)))
        assert left < 1e-8 * total * 2.0 * afloat.radius
        assert rest.displaced_m3 == pytest.approx(volume, rel=1e-9)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_curvature_of_the_other_energy_is_the_metacentric_height(seed: int) -> None:
    """GM from second differences of the other energy, immersion let free; they leave 1e-5."""
    case = boat(seed, 1)
    rest = find(case.ours(), up_vector(10.0, 5.0))
    trim, heel = np.radians([rest.trim_deg, rest.heel_deg])
    roll = np.array([0.0, np.cos(heel), -np.sin(heel)])
    pitch = np.array([np.cos(trim), -np.sin(trim) * np.sin(heel), -np.sin(trim) * np.cos(heel)])
    total = case.mass + DENSITY * sum(case.held)
    for tangent, expected in ((roll, rest.gm_transverse_m), (pitch, rest.gm_longitudinal_m)):
        small = 2e-3

        def lowest_energy(angle: float, tangent: Array = tangent) -> float:
            up = np.cos(angle) * rest.normal + np.sin(angle) * tangent
            volume = total / DENSITY
            offset = brentq(
                lambda d: below(case.body, up, d)[0] - volume,
                rest.offset_m - 0.05,
                rest.offset_m + 0.05,
                xtol=1e-15,
            )
            return case.energy(up, offset)

        middle = lowest_energy(0.0)
        curvature = (lowest_energy(small) + lowest_energy(-small) - 2.0 * middle) / small**2
        assert curvature / total == pytest.approx(expected, rel=1e-4)
