"""Pairing a phone: who asks, the code on the laptop, the devices."""

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from dabchick.model.advice import Advice
from dabchick.workbench.errors import NotThere, Refused
from dabchick.workbench.guard import COOKIE, DEVICE, LAPTOP, STRANGER
from dabchick.workbench.pairing import PairedDevice, Pairing
from dabchick.workbench.settings import Settings
from dabchick.workbench.shapes.pairing import Code, Device, MeOut, PairingOut

COOKIE_SECONDS = 400 * 86400
"""As long as browsers keep a cookie at most; taking the device off the list ends it sooner."""


def router(settings: Settings, pairing: Pairing) -> APIRouter:
    """The routes about pairing; what only the laptop may do, the guard has already kept from all others."""
    routes = APIRouter(prefix="/api", tags=["pairing"])

    @routes.get("/me")
    def me(asking: Asking) -> MeOut:
        """Who asks, and whether it may come in."""
        device = pairing.named(asking)
        return MeOut(
            laptop=asking == LAPTOP,
            paired=device is not None,
            device=device.name if device else "",
            lan=settings.lan,
        )

    @routes.get("/pairing")
    def fresh_code(laptop: OnLaptop) -> PairingOut:
        """A fresh code, which is good once and for five minutes."""
        _need_lan(settings)
        code = pairing.fresh_code()
        return PairingOut(
            address=settings.lan_address,
            code=code.code,
            qr_svg=qr_svg(pairing.link(code.code)),
            expires=_time(code.expires),
        )

    @routes.post("/pair")
    def pair(code: Code, request: Request, response: Response) -> MeOut:
        """Let this device in for the code that the laptop shows."""
        _need_lan(settings)
        device, token = pairing.pair(code.code, code.device)
        response.set_cookie(
            COOKIE, token, max_age=COOKIE_SECONDS, path="/", httponly=True, samesite="strict", secure=False
        )
        laptop = request.scope.get(DEVICE) == LAPTOP
        return MeOut(laptop=laptop, paired=True, device=device.name, lan=settings.lan)

    @routes.get("/devices")
    def devices(laptop: OnLaptop) -> list[Device]:
        """Every device that was let in."""
        return [_device(device) for device in pairing.devices()]

    @routes.delete("/devices/{device}")
    def revoke(device: str, laptop: OnLaptop) -> list[Device]:
        """Let a device in no longer."""
        if not pairing.revoke(device):
            raise NotThere("There is no such device.", "Load the list again.")
        return [_device(entry) for entry in pairing.devices()]

    return routes


def _asking(request: Request) -> str:
    """The device as the guard found it; nobody is trusted where no guard has looked."""
    found = request.scope.get(DEVICE, STRANGER)
    return str(found)


Asking = Annotated[str, Depends(_asking)]


def _on_laptop(asking: Asking) -> None:
    if asking != LAPTOP:
        raise Refused(
            403,
            Advice(
                what="Pairing is looked after on the laptop alone.",
                todo="Do this on the machine that runs `dabchick serve`.",
            ),
        )


OnLaptop = Annotated[None, Depends(_on_laptop)]


def _need_lan(settings: Settings) -> None:
    if not settings.lan_address:
        raise Refused(
            409,
            Advice(
                what="The workbench listens on this machine alone, so no phone can reach it.",
                todo="End it with Ctrl-C and start it with `dabchick serve --lan`.",
            ),
        )


def qr_svg(link: str) -> str:
    """The link as a QR code: dark on light whatever the page's colours, since cameras want it so."""
    import segno

    return str(
        segno.make(link, error="m", micro=False).svg_inline(scale=1, border=4, omitsize=True, light="#fff")
    )


def _device(device: PairedDevice) -> Device:
    return Device(
        device=device.device, name=device.name, paired=_time(device.paired), seen=_time(device.seen)
    )


def _time(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).isoformat(timespec="seconds")
