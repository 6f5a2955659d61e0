"""The last right boat, for questions that need one."""

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.folder import OpenBoat
from dabchick.workbench.bench import Snapshot
from dabchick.workbench.errors import Refused

_NEVER_RIGHT = Advice(
    what="The boat file has not been right yet, so there is nothing to work out.",
    todo="Put right what is marked in it.",
)
_FAULTY = Advice(
    what="The boat file has faults, so this would be written into a boat other than the one it was worked out for.",
    todo="Put the faults right first, then ask again.",
)


def last_right(now: Snapshot) -> OpenBoat:
    """The last right boat. Raises BoatError with what is wrong where there never was one."""
    if now.right is None:
        raise BoatError(*(now.advice or (_NEVER_RIGHT,)))
    return now.right


def right_now(now: Snapshot) -> OpenBoat:
    """The boat of this very text. Raises Refused (409) while the text is faulty."""
    right = last_right(now)
    if now.faulty:
        raise Refused(409, _FAULTY, *(entry for entry in now.advice if entry.severity == "error"))
    return right
