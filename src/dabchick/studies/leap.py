"""What a jump from one rest into another is to somebody who looks on."""

import math
from typing import Final, Literal

from dabchick.studies.stability_result import Attitude

Leap = Literal["over", "back", "down", "up"]

UNMOVED_DEG: Final = 2.0
"""Heel and trim that change by less are not seen: what is seen then is that she drops or rises."""


def leap(before: Attitude, after: Attitude) -> Leap:
    """over or back: she heels or trims all at once, away from upright or towards it. down or up: she drops or rises."""
    heeled = abs(after.heel_deg - before.heel_deg)
    turned = max(min(heeled, 360.0 - heeled), abs(after.trim_deg - before.trim_deg))
    if turned >= UNMOVED_DEG:
        return "back" if abs(after.heel_deg) < abs(before.heel_deg) else "over"
    if math.isnan(after.offset_m):
        return "down"
    return "up" if math.isnan(before.offset_m) or after.offset_m < before.offset_m else "down"
