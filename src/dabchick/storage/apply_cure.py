"""A cure written into the boat file: lead, foam and moved parts, with every other letter kept."""

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.apply_trim import trim_text
from dabchick.storage.folder import OpenBoat, save
from dabchick.studies.cure_result import Cure


def apply_cure(boat: OpenBoat, cure: Cure) -> bool:
    """Write a cure and save; False when the file says all of it already.

    Lead and foam of the trim before are replaced. Raises BoatError, with the old file kept, when it cannot be saved
    or is one that only the builder can make.
    """
    boat.text = cure_text(boat, cure)
    return save(boat)


def cure_text(boat: OpenBoat, cure: Cure) -> str:
    """The boat's text with a cure's pieces and moves; the boat itself stays as it is. Raises BoatError."""
    if cure.by_hand:
        raise BoatError(
            Advice(
                what="Whether this part may be lowered is for you to see, so nothing was written.",
                todo="Look whether there is room, then change its place in the boat file.",
            )
        )
    return trim_text(boat, cure)
