"""The dive as pictures for the page: poses as numbers, and the tank water's meshes packed into one answer."""

from dataclasses import dataclass

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import heel_and_trim_deg
from dabchick.report.builder_units import with_unit
from dabchick.report.stability_words import LEAPS
from dabchick.studies.dive_frames import DiveFrames, Frame
from dabchick.studies.leap import leap
from dabchick.studies.stability_result import Attitude
from dabchick.studies.tank_water import TankWater
from dabchick.workbench.pose import pose_at
from dabchick.workbench.shapes.scene import MeshPlace
from dabchick.workbench.shapes.stability import DiveOut, FrameOut, WaterPlace
from dabchick.workbench.stability_out import place

WHOLLY_UNDER = "Wholly under, and sinking"


@dataclass(frozen=True, eq=False)
class Dive:
    """The pictures and the bytes that they point into."""

    out: DiveOut
    waters: bytes


def dive_out(vessel: Vessel, frames: DiveFrames, revision: int) -> Dive:
    """Every frame in the order she passes them; water that lies as it did before is sent once."""
    packed: list[bytes] = []
    places: dict[int, MeshPlace | None] = {}
    length = 0
    drawn = []
    before = None
    for frame in (*frames.down, *frames.up):
        waters = []
        for water in frame.waters:
            if id(water) not in places:
                piece = _packed(water)
                places[id(water)] = (
                    MeshPlace(offset=length, vertices=len(water.vertices), triangles=len(water.faces))
                    if piece
                    else None
                )
                packed.append(piece)
                length += len(piece)
            waters.append(
                WaterPlace(
                    key=water.key,
                    share=water.share,
                    amount=with_unit(water.volume_m3, "volume", vessel.units),
                    mesh=places[id(water)],
                )
            )
        drawn.append(_frame(vessel, frame, before, waters))
        before = frame
    return Dive(DiveOut(revision=revision, frames=drawn), b"".join(packed))


def _frame(vessel: Vessel, frame: Frame, before: Frame | None, waters: list[WaterPlace]) -> FrameOut:
    note = WHOLLY_UNDER if frame.under else ""
    if frame.went_over and before is not None:
        note = f"She {LEAPS[leap(_attitude(before), _attitude(frame))]}"
    return FrameOut(
        at=place(frame.way, frame.progress),
        progress=frame.progress,
        pose=[round(entry, 7) for entry in pose_at(vessel, np.array(frame.normal), frame.offset_m)],
        went_over=frame.went_over,
        under=frame.under,
        note=note,
        waters=waters,
    )


def _attitude(frame: Frame) -> Attitude:
    heel, trim = heel_and_trim_deg(np.array(frame.normal))
    return Attitude(heel, trim, frame.normal, frame.offset_m)


def _packed(water: TankWater) -> bytes:
    if not len(water.faces):
        return b""
    return water.vertices.astype("<f4").tobytes() + water.faces.astype("<u4").tobytes()
