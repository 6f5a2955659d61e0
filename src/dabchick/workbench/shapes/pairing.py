"""Pairing a phone.

GET    /api/me                   -> MeOut
GET    /api/pairing              -> PairingOut   (only on the laptop; makes a fresh code)
POST   /api/pair  Code           -> MeOut        (sets the cookie)
GET    /api/devices              -> list[Device] (only on the laptop)
DELETE /api/devices/{device}     -> list[Device]
"""

from pydantic import Field

from dabchick.workbench.shapes.advice import Shape


class MeOut(Shape):
    """Who asks."""

    laptop: bool
    """On the machine that serves."""
    paired: bool
    device: str
    lan: bool


class PairingOut(Shape):
    """A one-time code for a phone."""

    address: str
    code: str
    qr_svg: str
    expires: str
    """ISO 8601, UTC."""


class Code(Shape):
    """The code as typed or scanned."""

    code: str = Field(max_length=20)
    device: str = Field(default="phone", max_length=40)


class Device(Shape):
    """A paired device."""

    device: str
    name: str
    paired: str
    seen: str
