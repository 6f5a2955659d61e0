"""The prints study as the page reads it."""

import math
from dataclasses import replace
from typing import Literal, cast

import numpy as np

from dabchick.model.advice import Advice
from dabchick.model.pile import Joint, Piece
from dabchick.model.prints_ask import PrintsAsk
from dabchick.model.units import UnitSet, written
from dabchick.report.builder_units import with_unit
from dabchick.report.prints_words import band_words, fine_length, percent, place, rows, summary
from dabchick.studies.prints import PrintsResult
from dabchick.workbench.prints_work import Joining
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.hull import SkinFound
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.prints import BandOut, JoinedPiece, JointOut, PrintsOut, ThinOut
from dabchick.workbench.shapes.tank import Line

TOUCH_M = 1e-6
"""Nearer than this, two faces touch."""


def prints_out(done: Joining, ask: PrintsAsk, upload: str, weighed: str, units: UnitSet) -> PrintsOut:
    """The whole answer; `weighed` as it was typed, which is what the boat file will hold."""
    result = done.result
    longest = "xyz"[int(np.argmax(result.sides_m))]
    shown = len(done.faces)
    return PrintsOut(
        upload=upload,
        unit="mm",
        sentence=summary(result, units),
        pieces=[_piece(piece, units) for piece in result.pieces],
        joints=[_joint(joint, units) for joint in result.joints],
        kind=result.finding.kind,
        reasons=list(result.finding.reasons),
        walled=result.finding.confirmed,
        lines=[
            Line(
                label=row.label,
                figure=Shown(
                    text=row.text, spread=row.spread, value=row.value if math.isfinite(row.value) else None
                ),
                note=row.note,
            )
            for row in rows(result, units)
        ],
        bands=[
            BandOut(
                number=number, text=band_words(band, units), share=band.share, share_text=percent(band.share)
            )
            for number, band in enumerate(result.wall.bands, 1)
        ],
        thin=[
            ThinOut(
                number=number,
                text=fine_length(thin.thickness_m, units),
                at=place(thin.at_m, units),
                at_m=thin.at_m,
            )
            for number, thin in enumerate(result.wall.thinnest, 1)
        ],
        longest=cast(Literal["x", "y", "z"], longest),
        preview=Mesh(
            positions=np.round(done.vertices_m, 6).reshape(-1).tolist(),
            indices=done.faces.reshape(-1).tolist(),
        ),
        band_of=(done.bands + 1).tolist(),
        preview_note=""
        if shown == result.triangles
        else f"Drawn with {shown} of {result.triangles} triangles; all is worked out with all of them.",
        skin=_skin(result, ask, weighed),
        warnings=[AdviceOut.of(_for_page(entry)) for entry in result.warnings],
        assumptions=list(result.assumptions),
        method=result.method,
        sources=list(result.sources),
    )


def _for_page(entry: Advice) -> Advice:
    """The same advice for one who has buttons instead of a command line."""
    if entry.key == "caution":
        return replace(entry, key="")
    if "--walled" not in entry.todo:
        return entry
    return replace(entry, todo="Look at the reasons and at the map, then choose what the mesh is.")


def _skin(result: PrintsResult, ask: PrintsAsk, weighed: str) -> SkinFound | None:
    """The mass of the walls as the boat file should know it; None where nothing is known of it."""
    name = result.mass.material if result.mass else (ask.material or None)
    if ask.weighed_kg is not None:
        return SkinFound(mass=weighed.strip(), known="weighed", spread=None, material=name)
    if result.mass is None:
        return None
    expected = result.mass.expected_kg
    return SkinFound(
        mass=written(expected.value, "mass"),
        known="guess",
        spread=written(max(expected.spread, 1e-4), "mass"),
        material=name,
    )


def _piece(piece: Piece, units: UnitSet) -> JoinedPiece:
    sides = np.subtract(piece.high_m, piece.low_m)
    moved = float(np.linalg.norm(piece.moved_m))
    return JoinedPiece(
        name=piece.name,
        size=" × ".join(with_unit(float(side), "length", units) for side in sides),
        volume=with_unit(piece.volume_m3, "volume", units),
        moved=f"moved by {fine_length(moved, units)}" if moved > TOUCH_M else "",
    )


def _joint(joint: Joint, units: UnitSet) -> JointOut:
    if joint.overlap_m3 > 0.0:
        how = f"share {with_unit(joint.overlap_m3, 'volume', units)}"
    elif joint.gap_m > TOUCH_M:
        how = f"{fine_length(joint.gap_m, units)} apart, closed"
    else:
        how = "touch"
    if math.isfinite(joint.contact_m2):
        how += f", on {with_unit(joint.contact_m2, 'area', units)}"
    return JointOut(first=joint.first, second=joint.second, how=how)
