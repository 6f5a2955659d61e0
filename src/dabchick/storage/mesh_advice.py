"""The faults of a mesh in words, with coordinates in the file's own unit and in millimetres."""

from collections.abc import Sequence

from dabchick.model.advice import Advice
from dabchick.physics.surface import OpenLoop, Shell, SurfaceReport, Vector
from dabchick.storage.mesh_size import METRES

MEND = (
    "Mend it in your drawing program, or run `dabchick check BOAT --repair OUT`: it writes a mended copy and "
    "tells "
    "what it changed."
)
NAMED = 5
"""Places named for each kind of fault."""


def fault_advice(
    report: SurfaceReport, file: str, unit: str, separate_shells: bool = False
) -> tuple[Advice, ...]:
    """One advice for each kind of fault; empty when the mesh can be used."""
    words = _Words(file, unit)
    if report.not_finite:
        return (
            Advice(
                what=f"{counted(report.not_finite, 'corner')} of the mesh with coordinates that are no "
                f"numbers.",
                todo=MEND,
                where=file,
                allowed="finite numbers",
            ),
        )
    if report.faces == 0:
        return (Advice("The file holds no triangles.", "Export the hull again as a mesh.", where=file),)
    found: list[Advice] = []
    if report.open_edges:
        rims = len(report.open_loops)
        found.append(
            Advice(
                what=f"The surface is open: {counted(report.open_edges, 'edge')} with a face on one side "
                f"only.",
                todo=MEND,
                where=words.at(report.open_loops[0].centre),
                given=f"{_listed([words.rim(loop) for loop in report.open_loops], rims)}",
                allowed="a closed surface, without holes",
            )
        )
    if report.crowded_edge_count:
        found.append(
            Advice(
                what=f"{counted(report.crowded_edge_count, 'edge')} with more than two faces: the surface "
                f"touches "
                "itself there.",
                todo=MEND,
                where=words.at(report.crowded_edges[0].start),
                given=_listed(
                    [
                        f"{edge.faces} faces at {words.line(edge.start, edge.end)}"
                        for edge in report.crowded_edges
                    ],
                    report.crowded_edge_count,
                ),
                allowed="two faces on each edge",
            )
        )
    if report.turned_edge_count:
        found.append(
            Advice(
                what=f"Faces disagree about which side is outside, along "
                f"{counted(report.turned_edge_count, 'edge')}.",
                todo=MEND,
                where=words.at(report.turned_edges[0].start),
                given=_listed(
                    [words.line(edge.start, edge.end) for edge in report.turned_edges],
                    report.turned_edge_count,
                ),
                allowed="all faces counter-clockwise seen from outside",
            )
        )
    if report.degenerate_count:
        found.append(
            Advice(
                what=f"{counted(report.degenerate_count, 'triangle')} without area.",
                todo=MEND,
                where=words.at(report.degenerate_faces[0].centre),
                given=_listed(
                    [
                        f"triangle {face.face} at {words.point(face.centre)}"
                        for face in report.degenerate_faces
                    ],
                    report.degenerate_count,
                ),
            )
        )
    if report.duplicate_count:
        found.append(
            Advice(
                what=f"{counted(report.duplicate_count, 'triangle')} too many: a copy of another on the same "
                f"corners.",
                todo=MEND,
                where=words.at(report.duplicate_faces[0].centre),
                given=_listed(
                    [
                        f"triangle {face.face} at {words.point(face.centre)}"
                        for face in report.duplicate_faces
                    ],
                    report.duplicate_count,
                ),
            )
        )
    found += _crossing_advice(report, words)
    found += _shell_advice(report, words, separate_shells)
    return tuple(found)


def _crossing_advice(report: SurfaceReport, words: "_Words") -> list[Advice]:
    count = report.crossing_count + report.touching_count
    if count == 0:
        return []
    how = " and ".join(
        text
        for number, text in (
            (
                report.crossing_count,
                f"runs through itself ({counted(report.crossing_count, 'pair')} of triangles)",
            ),
            (
                report.touching_count,
                f"lies against itself ({counted(report.touching_count, 'pair')} of triangles)",
            ),
        )
        if number
    )
    between = ", ".join(f"{a + 1} and {b + 1}" for a, b in report.meeting_shells)
    return [
        Advice(
            what=f"The surface {how}{f', between its shells {between}' if between else ''}.",
            todo=MEND,
            where=words.at(report.crossings[0].start),
            given=_listed([f"{p.kind} at {words.line(p.start, p.end)}" for p in report.crossings], count),
            allowed="a surface that meets itself nowhere",
        )
    ]


def _shell_advice(report: SurfaceReport, words: "_Words", separate_shells: bool) -> list[Advice]:
    if not report.closed:
        # Which shell is inside which, and which way it faces, shows only once the holes are closed.
        return []
    found = []
    shells = report.shells
    swallowed = [k for k, shell in enumerate(shells) if shell.inverted and len(shell.inside) % 2 == 1]
    inside_out = [k for k, shell in enumerate(shells) if shell.inverted and len(shell.inside) % 2 == 0]
    if inside_out:
        whole = len(inside_out) == len(shells)
        found.append(
            Advice(
                what="The mesh is inside out: its volume comes out negative."
                if whole
                else f"Inside out: {len(inside_out)} of {counted(len(shells), 'shell')}.",
                todo=MEND,
                where=words.at(shells[inside_out[0]].low),
                given=_listed([words.shell(k, shells[k]) for k in inside_out], len(inside_out)),
                allowed="faces counter-clockwise seen from outside",
            )
        )
    if swallowed:
        found.append(
            Advice(
                what="A shell lies inside another and faces outward too, so that its volume would count "
                "twice.",
                todo="If it is the inner side of a wall, turn its faces round in your drawing program; "
                "if it is a separate part inside the hull, take it out of this file and give it as a part.",
                where=words.at(shells[swallowed[0]].low),
                given=_listed([words.shell(k, shells[k]) for k in swallowed], len(swallowed)),
                allowed="an inner shell that faces inward: a cavity",
            )
        )
    meeting = {number for pair in report.meeting_shells for number in pair}
    if len(report.bodies) > 1 and not separate_shells and not meeting.issuperset(report.bodies):
        found.append(
            Advice(
                what=f"The mesh is {len(report.bodies)} separate bodies, not one.",
                todo="If they all belong to the hull and do not touch (a fin on its own, say), write "
                "separate_shells = true under [hull]; if they should be one body, run "
                "`dabchick check BOAT --repair OUT`, which joins those that overlap.",
                where=words.at(shells[report.bodies[1]].low),
                given=_listed([words.shell(k, shells[k]) for k in report.bodies], len(report.bodies)),
                allowed="one body, with or without cavities",
            )
        )
    return found


class _Words:
    """Coordinates of one file as text."""

    def __init__(self, file: str, unit: str) -> None:
        self.file = file
        self.unit = unit
        self.to_mm = METRES[unit] / 0.001

    def at(self, point: Vector) -> str:
        return f"{self.file} at {self.point(point)}"

    def point(self, point: Vector) -> str:
        own = f"({', '.join(_number(value) for value in point)}) {self.unit}"
        return (
            own if self.unit == "mm" else f"{own} = ({', '.join(_number(v * self.to_mm) for v in point)}) mm"
        )

    def line(self, start: Vector, end: Vector) -> str:
        return self.point(start) if start == end else f"{self.point(start)} to {self.point(end)}"

    def length(self, length: float) -> str:
        own = f"{_number(length)} {self.unit}"
        return own if self.unit == "mm" else f"{own} = {_number(length * self.to_mm)} mm"

    def rim(self, loop: OpenLoop) -> str:
        return (
            f"a rim of {loop.edges} edges, {self.length(loop.length)} round, between {self.point(loop.low)} "
            f"and {self.point(loop.high)}"
        )

    def shell(self, number: int, shell: Shell) -> str:
        inside = f", inside shell {', '.join(str(k + 1) for k in shell.inside)}" if shell.inside else ""
        return (
            f"shell {number + 1}: {shell.faces} triangles between {self.point(shell.low)} and "
            f"{self.point(shell.high)}{inside}"
        )


def counted(number: int, noun: str) -> str:
    """`1 edge`, `3 edges`."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _number(value: float) -> str:
    """Four decimals at most, without idle zeros or a minus before 0."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _listed(places: Sequence[str], count: int) -> str:
    rest = count - min(len(places), NAMED)
    return "; ".join(places[:NAMED]) + (f"; and {rest} more" if rest > 0 else "")
