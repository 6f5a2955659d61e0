"""What `squeeze` assumes, and what it warns of."""

import math
from collections.abc import Sequence
from typing import Final

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vessel
from dabchick.studies.speech import Speech
from dabchick.studies.squeeze_result import SqueezeResult
from dabchick.studies.squeeze_under import soft_tanks

CAUTION: Final = (
    "Gas under pressure can hurt: use parts rated for it with a relief valve, keep gas that burns away from brushes "
    "and switches and out of closed hulls, and fill outdoors. The rules where you live and people qualified for it "
    "come before anything said here."
)
CURE: Final = "Make the tank short and high, divide it, or hang the weight lower."


def assumed(vessel: Vessel, holding: Sequence[str], air: bool) -> list[str]:
    """What stands behind the figures and was not asked for."""
    texts = [
        "depth: water over her highest point as she hangs dived; held there by the centre of all that displaces",
    ]
    if soft_tanks(vessel):
        names = ", ".join(tank.name for tank in soft_tanks(vessel))
        texts += [
            f"{names}: open at the bottom; the fill is that at the surface, its air shut in at 1013.25 hPa and as warm "
            "below as above",
        ]
        if len(soft_tanks(vessel)) > 1:
            texts.append("air blown in: to each tank in proportion to its room")
    if holding:
        texts.append(f"{', '.join(holding)}: pump, bag or piston, so the water in it is held at any depth")
    texts.append(
        "trapped air: the pockets she goes under with, shut in at 1013.25 hPa; it stays in them and they in place"
        if air
        else "no air is caught in the flooded space; `--air` counts it"
    )
    texts.append(
        "foam, hull and water keep their volume; soft open foam loses up to as much as free air does"
    )
    return texts


def findings(vessel: Vessel, result: SqueezeResult) -> list[Advice]:
    """What the builder should know: no way back, a bubble that runs to the other end, more than one way to hang."""
    say = Speech(vessel)
    found = []
    track = result.tracks[0]
    deep = say.depth(result.depth_m)
    if not result.comes_back:
        if math.isnan(result.needed_m3):
            todo = "Take weight out of her: not even tanks blown dry would lift her there."
        else:
            todo = (
                f"Have {say.volume(result.needed_m3)} of air in her tanks, as measured at the surface; or stay higher, "
                "or take weight out, or give her a tank that holds its water (bag or piston)."
            )
        found.append(
            Advice(
                what=(
                    f"Under {deep} of water she lacks {say.mass(-result.lift_blown_kg)} of lift and does not come "
                    "back."
                ),
                todo=todo,
                key="tank",
                severity="warning",
            )
        )
    for jump in track.jumps:
        found.append(
            Advice(
                what=(
                    f"Past {say.depth(round(jump.depth_m, 2))} of water she does not stay at a trim of "
                    f"{jump.trim_before_deg:+.1f} deg: the bubble runs, and she goes over to "
                    f"{jump.trim_after_deg:+.1f} deg."
                ),
                todo=CURE,
                key="tank",
                severity="warning",
            )
        )
    several = [row for row in track.rows if len(row.rests) > 1]
    if several:
        trims = " or ".join(f"{rest.trim_deg:+.1f} deg" for rest in several[0].rests)
        found.append(
            Advice(
                what=(
                    f"Under {say.depth(round(several[0].depth_m, 3))} of water she may hang in more than one way: "
                    f"with a trim of {trims}."
                ),
                todo=f"The air runs to whichever end is up. {CURE}",
                key="tank",
                severity="warning",
            )
        )
    return found
