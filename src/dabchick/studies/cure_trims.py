"""Both trims of a vessel by full equilibria, and whether a change keeps them."""

from dabchick.model.vessel import Vessel
from dabchick.studies.cure_result import BothTrims
from dabchick.studies.lay import lay
from dabchick.studies.loading import load
from dabchick.studies.trim import ANGLE_RIGHT_DEG, DRAUGHT_RIGHT_M, LIFT_RIGHT_KG


def both_trims(vessel: Vessel) -> BothTrims:
    """Both trims by full equilibrium."""
    empty = lay(vessel, load(vessel, 0.0), "surfaced")
    full = lay(vessel, load(vessel, 1.0), "dived", hanging=True)
    return BothTrims(
        draught_bow_m=empty.draught_bow_m.value,
        draught_stern_m=empty.draught_stern_m.value,
        heel_deg=empty.heel_deg.value,
        trim_deg=empty.trim_deg.value,
        lift_kg=full.lift_kg.value,
        dived_heel_deg=full.heel_deg.value,
        dived_trim_deg=full.trim_deg.value,
    )


def keeps(vessel: Vessel, before: BothTrims, after: BothTrims) -> bool:
    """Right in the bath; what was not right before is no further off than by as much again."""
    wished = vessel.waterline_m
    lift = vessel.wishes.lift_dived_kg
    pairs = (
        (before.draught_bow_m - wished, after.draught_bow_m - wished, DRAUGHT_RIGHT_M),
        (before.draught_stern_m - wished, after.draught_stern_m - wished, DRAUGHT_RIGHT_M),
        (before.heel_deg, after.heel_deg, ANGLE_RIGHT_DEG),
        (before.trim_deg, after.trim_deg, ANGLE_RIGHT_DEG),
        (before.lift_kg - lift, after.lift_kg - lift, LIFT_RIGHT_KG),
        (before.dived_heel_deg, after.dived_heel_deg, ANGLE_RIGHT_DEG),
        (before.dived_trim_deg, after.dived_trim_deg, ANGLE_RIGHT_DEG),
    )
    return all(abs(now) <= (right if abs(was) <= right else abs(was) + right) for was, now, right in pairs)


def untrimmed(vessel: Vessel, trims: BothTrims) -> bool:
    """She is not right in the bath as she stands, whatever her stability."""
    level = BothTrims(vessel.waterline_m, vessel.waterline_m, 0.0, 0.0, vessel.wishes.lift_dived_kg, 0.0, 0.0)
    return not keeps(vessel, level, trims)
