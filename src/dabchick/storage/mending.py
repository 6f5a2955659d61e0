"""The steps of mending a mesh, one function each: arrays in, mended arrays and what was done out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from dabchick.physics.crossing import NO_AREA
from dabchick.physics.groups import groups
from dabchick.physics.surface import EdgeTable, SurfaceReport, Vector, edge_table

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

FLAT = 1e-3
"""A rim is flat when its corners lie within this part of its width of one plane."""


@dataclass(frozen=True)
class Hole:
    """A hole that was filled, or was too large to fill; lengths in the unit of the mesh."""

    centre: Vector
    edges: int
    length: float
    """Round the rim."""
    width: float
    """Longest side of the box round the rim."""
    flat: bool
    triangles: int
    """0 when it was left open."""


def without_endless(vertices: Array, faces: Indices) -> tuple[Indices, int]:
    """Faces whose corners are all finite, and how many were taken out."""
    good = np.isfinite(vertices[faces]).all(axis=(1, 2))
    return faces[good], int((~good).sum())


def rims_joined(vertices: Array, faces: Indices, within: float) -> tuple[Indices, int]:
    """Faces with corners on open edges that lie within a distance of each other made one; how many went."""
    edges = edge_table(faces)
    rim = np.unique(edges.ends[edges.count == 1])
    if len(rim) < 2:
        return faces, 0
    pairs = cKDTree(vertices[rim]).query_pairs(within, output_type="ndarray")
    if len(pairs) == 0:
        return faces, 0
    number, label = groups(pairs[:, 0], pairs[:, 1], len(rim))
    keeper = np.full(number, len(vertices), np.int64)
    np.minimum.at(keeper, label, rim)
    to = np.arange(len(vertices))
    to[rim] = keeper[label]
    return to[faces], len(rim) - number


def without_repeats(faces: Indices) -> tuple[Indices, int, int]:
    """Faces without those that have a corner twice and without doubled ones; how many of each went.

    Of several faces on the same three corners one stays; two that lie back to back both go, since they
    enclose nothing.
    """
    real = faces[(faces != np.roll(faces, 1, axis=1)).all(axis=1)]
    if len(real) == 0:
        return real, len(faces), 0
    low = real.argmin(axis=1)
    turned = np.stack(
        [np.take_along_axis(real, ((low + k) % 3)[:, None], axis=1)[:, 0] for k in range(3)], axis=1
    )
    hand = np.where(turned[:, 1] < turned[:, 2], 1, -1)
    _, first, number = np.unique(np.sort(real, axis=1), axis=0, return_index=True, return_inverse=True)
    number = number.reshape(-1)
    net = np.bincount(number, weights=hand, minlength=len(first))
    # The first face of each set that has the sense of the majority.
    best = np.full(len(first), len(real), np.int64)
    fits = np.flatnonzero(hand * net[number] > 0)
    np.minimum.at(best, number[fits], fits)
    kept = np.sort(best[best < len(real)])
    return real[kept], len(faces) - len(real), len(real) - len(kept)


def slivers_flipped(vertices: Array, faces: Indices) -> tuple[Indices, int]:
    """Triangles without area whose middle corner lies on their longest side, traded for a split of the
    neighbour.

    The neighbour across the longest side is cut in two at that corner, which leaves the surface where it is.
    """
    faces = faces.copy()
    flipped = 0
    for _ in range(8):
        flat = _flat_faces(vertices, faces)
        if len(flat) == 0:
            break
        edges = edge_table(faces)
        edge_of = np.full(faces.size, -1, np.int64)
        edge_of[edges.half_edges] = np.repeat(np.arange(len(edges.count)), edges.count)
        touched: set[int] = set()
        before = flipped
        for face in flat:
            corners = vertices[faces[face]]
            side = int(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1).argmax())
            edge = edge_of[3 * face + side]
            if edge < 0 or edges.count[edge] != 2:
                continue
            both = edges.half_edges[edges.start[edge] : edges.start[edge] + 2]
            other = int(both[both != 3 * face + side][0])
            neighbour = other // 3
            if neighbour in touched or int(face) in touched:
                continue
            a, b, middle = faces[face, side], faces[face, (side + 1) % 3], faces[face, (side + 2) % 3]
            if edges.tail[other] != b:
                continue
            far = faces[neighbour, (other + 2) % 3]
            if far == middle:
                continue
            faces[face] = (a, far, middle)
            faces[neighbour] = (far, b, middle)
            touched.update((int(face), neighbour))
            flipped += 1
        if flipped == before:
            break
    return faces, flipped


def parted(vertices: Array, faces: Indices) -> tuple[Array, Indices, int]:
    """Bodies that share edges given corners of their own, where that leaves each of them closed.

    Round an edge with more than two faces, each face goes with the one across the material next to it.
    Returns the mesh and the number of edges that were parted; 0 leaves it as it was.
    """
    edges = edge_table(faces)
    crowded = np.flatnonzero(edges.count > 2)
    if len(crowded) == 0:
        return vertices, faces, 0
    plain = edges.start[np.flatnonzero(edges.count == 2)]
    pairs = [np.stack([edges.half_edges[plain], edges.half_edges[plain + 1]], axis=1)]
    for edge in crowded:
        pairs.append(_across_material(vertices, faces, edges, int(edge)))
    one, other = np.concatenate(pairs).T
    first = np.concatenate([one, _head_corner(one)])
    same_way = edges.tail[one] == edges.tail[other]
    second = np.concatenate(
        [np.where(same_way, other, _head_corner(other)), np.where(same_way, _head_corner(other), other)]
    )
    number, label = groups(first, second, faces.size)
    old = np.empty(number, np.int64)
    old[label] = faces.ravel()
    apart = label.reshape(-1, 3).astype(np.int64)
    after = edge_table(apart).count
    if (after > 2).any() or int((after == 1).sum()) > int((edges.count == 1).sum()):
        return vertices, faces, 0
    return vertices[old], apart, len(crowded)


def _head_corner(half_edges: Indices) -> Indices:
    """The corner, 3 face + side, at which a half-edge ends; it begins at the corner of its own number."""
    corner: Indices = half_edges - half_edges % 3 + (half_edges % 3 + 1) % 3
    return corner


def _across_material(vertices: Array, faces: Indices, edges: EdgeTable, edge: int) -> Indices:
    """Pairs of half-edges on one edge with the material of one body between them."""
    ends = edges.ends[edge]
    along = vertices[ends[1]] - vertices[ends[0]]
    along = along / np.linalg.norm(along)
    here = edges.half_edges[edges.start[edge] : edges.start[edge + 1]]
    far = vertices[faces[here // 3, (here + 2) % 3]] - vertices[ends[0]]
    level = far - np.outer(far @ along, along)
    across = np.cross(along, level[0])
    angle = np.arctan2(level @ across / np.linalg.norm(across), level @ level[0] / np.linalg.norm(level[0]))
    with_edge = edges.tail[here] == ends[0]
    pairs = []
    free = list(np.flatnonzero(~with_edge))
    for k in np.flatnonzero(with_edge):
        if not free:
            break
        # The wedge of material below this face; a face lying against it bounds another body.
        wedge = [(angle[k] - angle[j] - 1e-9) % (2.0 * np.pi) for j in free]
        pairs.append((here[k], here[free.pop(int(np.argmin(wedge)))]))
    return np.array(pairs, np.int64).reshape(-1, 2)


def turned_alike(faces: Indices) -> tuple[Indices, int, int]:
    """Faces turned so that neighbours agree on the outside, each piece by its majority.

    Returns the faces, how many were turned, and the number of pieces that have one side only and cannot
    agree.
    """
    edges = edge_table(faces)
    count = len(faces)
    pair = np.flatnonzero(edges.count == 2)
    one, other = edges.half_edges[edges.start[pair]] // 3, edges.half_edges[edges.start[pair] + 1] // 3
    cross = edges.turned[pair].astype(np.int64)
    # Each face stands twice, as it is and turned; what hangs together is one consistent choice.
    first = np.concatenate([one, one + count])
    second = np.concatenate([other + count * cross, other + count * (1 - cross)])
    _, choice = groups(first, second, 2 * count)
    one_sided = choice[:count] == choice[count:]
    pieces = np.minimum(choice[:count], choice[count:])
    turn = (choice[:count] != pieces) & ~one_sided
    votes = np.bincount(pieces, weights=np.where(turn, 1.0, -1.0), minlength=2 * count)
    turn = np.where(votes[pieces] > 0.0, ~turn, turn) & ~one_sided
    faces = faces.copy()
    faces[turn] = faces[turn][:, ::-1]
    return faces, int(turn.sum()), len(np.unique(pieces[one_sided]))


def holes_filled(vertices: Array, faces: Indices, largest: float) -> tuple[Indices, list[Hole]]:
    """Faces with every hole filled that is flat or no wider than `largest`, and all holes with what became of
    them.

    Flat rims in one plane are filled together, so that the open end of a wall becomes a ring and not a disc.
    """
    import manifold3d

    loops = _loops(faces)
    flat_groups: list[tuple[Array, float, list[Indices]]] = []
    holes: list[Hole] = []
    added = [faces]

    def fill(rims: list[Indices], normal: Array, flat: bool) -> None:
        across = np.linalg.svd(normal.reshape(1, 3))[2][1:]
        if np.dot(np.cross(across[0], across[1]), normal) < 0.0:
            across = across[::-1]
        new = manifold3d.triangulate([np.ascontiguousarray(vertices[rim] @ across.T) for rim in rims])
        added.append(np.concatenate(rims)[np.asarray(new, np.int64)].reshape(-1, 3))
        for rim in rims:
            share = len(new) if len(rims) == 1 else round(len(new) * len(rim) / sum(map(len, rims)))
            holes.append(_hole(vertices[rim], flat, share))

    for rim in loops:
        points = vertices[rim]
        normal = _area_vector(points)
        size = float(np.linalg.norm(normal))
        width = float(np.ptp(points, axis=0).max())
        normal = normal / size if size > 0.0 else np.array([0.0, 0.0, 1.0])
        flat = bool(np.abs((points - points.mean(axis=0)) @ normal).max() <= FLAT * width)
        if flat:
            level = float(points.mean(axis=0) @ normal)
            for plane, height, rims in flat_groups:
                if (
                    abs(plane @ normal) > 1.0 - 1e-6
                    and abs(points.mean(axis=0) @ plane - height) <= FLAT * width
                ):
                    rims.append(rim)
                    break
            else:
                flat_groups.append((normal, level, [rim]))
        elif width <= largest:
            fill([rim], normal, flat=False)
        else:
            holes.append(_hole(points, False, 0))
    for _, _, rims in flat_groups:
        total = np.sum([_area_vector(vertices[rim]) for rim in rims], axis=0)
        fill(rims, total / max(float(np.linalg.norm(total)), 1e-300), flat=True)
    return np.concatenate(added), holes


def turned_outward(faces: Indices, report: SurfaceReport) -> tuple[Indices, int]:
    """Faces with every body that is inside out turned, together with the cavities in it; the number of shells
    turned.
    """
    turn = set()
    for number, shell in enumerate(report.shells):
        if shell.closed and not shell.inside and shell.volume < 0.0:
            turn.add(number)
            turn.update(k for k, other in enumerate(report.shells) if number in other.inside)
    faces = faces.copy()
    which = np.isin(report.shell_of_face, list(turn))
    faces[which] = faces[which][:, ::-1]
    return faces, len(turn)


def bodies_united(vertices: Array, faces: Indices, report: SurfaceReport) -> tuple[Array, Indices, int]:
    """The mesh with outward shells that cross or touch each other made one; the number of shells united."""
    import manifold3d

    meeting = {number for pair in report.meeting_shells for number in pair}
    if not meeting or any(report.shells[k].inside or report.shells[k].inverted for k in meeting):
        return vertices, faces, 0
    bodies = []
    for number in sorted(meeting):
        used, own = np.unique(faces[report.shell_of_face == number], return_inverse=True)
        mesh = manifold3d.Mesh64(
            vert_properties=np.ascontiguousarray(vertices[used]),
            tri_verts=np.ascontiguousarray(own.reshape(-1, 3).astype(np.uint64)),
        )
        body = manifold3d.Manifold(mesh)
        if body.status() != manifold3d.Error.NoError:
            return vertices, faces, 0
        bodies.append(body)
    united = manifold3d.Manifold.batch_boolean(bodies, manifold3d.OpType.Add).to_mesh64()
    rest = faces[~np.isin(report.shell_of_face, list(meeting))]
    new = np.asarray(united.tri_verts, np.int64) + len(vertices)
    points = np.asarray(united.vert_properties, np.float64)[:, :3]
    return np.concatenate([vertices, points]), np.concatenate([rest, new]), len(meeting)


def _flat_faces(vertices: Array, faces: Indices) -> Indices:
    corners = vertices[faces]
    sides = np.roll(corners, -1, axis=1) - corners
    longest = np.sqrt((sides**2).sum(axis=2).max(axis=1))
    double_area = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    diagonal = float(np.linalg.norm(np.ptp(corners.reshape(-1, 3), axis=0)))
    return np.flatnonzero(double_area <= NO_AREA * diagonal * longest)


def _loops(faces: Indices) -> list[Indices]:
    """Rims of holes as corner numbers, in the order in which the faces that fill them run."""
    edges = edge_table(faces)
    single = edges.half_edges[edges.start[:-1][edges.count == 1]]
    ahead: dict[int, list[int]] = {}
    for tail, head in zip(edges.tail[single].tolist(), edges.head[single].tolist(), strict=True):
        ahead.setdefault(head, []).append(tail)
    loops = []
    while ahead:
        start = next(iter(ahead))
        path, place = [start], {start: 0}
        while True:
            here = path[-1]
            if here not in ahead:
                # A chain without end: faces that disagree about the outside; left open.
                break
            there = ahead[here].pop()
            if not ahead[here]:
                del ahead[here]
            if there in place:
                # Back at a corner already passed: this stretch is a loop by itself.
                loop = path[place[there] :]
                if len(loop) > 2:
                    loops.append(np.array(loop, np.int64))
                for corner in loop:
                    del place[corner]
                path = path[: len(path) - len(loop)]
                if not path:
                    break
                continue
            place[there] = len(path)
            path.append(there)
    return loops


def _area_vector(points: Array) -> Array:
    moved = points - points.mean(axis=0)
    area: Array = 0.5 * np.cross(moved, np.roll(moved, -1, axis=0)).sum(axis=0)
    return area


def _hole(points: Array, flat: bool, triangles: int) -> Hole:
    centre = points.mean(axis=0)
    return Hole(
        (float(centre[0]), float(centre[1]), float(centre[2])),
        len(points),
        float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum()),
        float(np.ptp(points, axis=0).max()),
        flat,
        triangles,
    )
