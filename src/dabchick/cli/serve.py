"""`dabchick serve`: the workbench in the browser, on this machine and, when asked for, on a paired phone."""

import logging
import os
import socket
import sys
import threading
import time
import webbrowser
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dabchick.cli.face import Face
from dabchick.model.advice import Advice, BoatError

if TYPE_CHECKING:
    import uvicorn

    from dabchick.workbench.pairing import Pairing
    from dabchick.workbench.settings import Settings

NAME = "serve"
EXAMPLE = "dabchick serve wren"

BOAT_FILE = "boat.toml"


def command(
    boat: Annotated[
        Path | None,
        typer.Argument(
            metavar="BOAT",
            help="The boat whose page opens; her neighbours are there too. Without one: all boats of the shelf.",
        ),
    ] = None,
    shelf: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER", help="The folder that the boats' folders lie in. Without it: where you are."
        ),
    ] = None,
    port: Annotated[
        int | None,
        typer.Option(
            metavar="NUMBER",
            min=0,
            max=65535,
            help="Port to listen on. Without it: 8642, or the next that is free.",
        ),
    ] = None,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let phones of your own network in, each after pairing with a code.")
    ] = False,
    browser: Annotated[bool, typer.Option(help="Open the page in the browser.")] = True,
) -> None:
    """The workbench: your boats live in the browser, on this machine alone unless you say --lan."""
    face = Face()
    folder, first = _shelf(boat, shelf)
    from dabchick.workbench import network
    from dabchick.workbench.bundle import pages as built_pages
    from dabchick.workbench.pairing import Pairing, devices_file
    from dabchick.workbench.settings import USUAL_PORT, Settings
    from dabchick.workbench.site import Site

    addresses = network.lan_addresses() if lan else ()
    if lan and not addresses:
        raise BoatError(_NO_NETWORK)
    sockets = _sockets(port, USUAL_PORT, addresses)
    chosen = int(sockets[0].getsockname()[1])
    settings = Settings(
        shelf=folder,
        port=chosen,
        lan=lan,
        lan_addresses=addresses,
        first_boat=first,
        devices_file=devices_file() if lan else None,
    )
    with face.busy("Making the pages ready"):
        pages = built_pages()
    pairing = Pairing(settings)
    server = _server(Site(settings, pages, pairing=pairing, tell=face.say))
    start = f"{settings.address}#/{first}/boat" if first else settings.address
    if port is None and chosen != USUAL_PORT:
        face.say(f"Port {USUAL_PORT} is taken, so the workbench is on {chosen} this time.")
    face.say(f"The workbench is at {start}")
    if lan:
        _invite(face, settings, pairing.fresh_code().code, pairing)
    face.say("Ctrl-C ends it; every edit is saved as it is made.")
    if browser:
        threading.Thread(target=_open_page, args=(server, start), name="open the page", daemon=True).start()
    try:
        server.run(sockets=sockets)
    except KeyboardInterrupt:
        face.say("The workbench has ended.")
    finally:
        for entry in sockets:
            entry.close()


def _shelf(boat: Path | None, shelf: Path | None) -> tuple[Path, str | None]:
    """The folder of boats, and the folder name of the boat that opens first."""
    here = shelf if shelf is not None else Path()
    if boat is None and shelf is None and (here / BOAT_FILE).is_file():
        boat = here
    if boat is None:
        return _readable(here), None
    folder = (boat.parent if boat.name == BOAT_FILE and not boat.is_dir() else boat).resolve()
    if shelf is not None and not folder.exists():
        folder = (shelf / boat).resolve()
    if not (folder / BOAT_FILE).is_file():
        raise BoatError(
            Advice(
                what=f"{boat} has no {BOAT_FILE}." if folder.exists() else f"{boat} does not exist.",
                todo="Give the boat's folder, or leave it out and begin a new boat in the browser.",
                where=str(boat),
            )
        )
    if shelf is not None and folder.parent != shelf.resolve():
        raise BoatError(
            Advice(
                what="The boat does not lie in the shelf's folder.",
                todo="Leave out --shelf: the boat's neighbours are then the shelf.",
                where=str(boat),
                given=f"--shelf {shelf}",
            )
        )
    return _readable(folder.parent), folder.name


def _readable(folder: Path) -> Path:
    resolved = folder.resolve()
    try:
        for _ in resolved.iterdir():
            break
    except OSError as fault:
        raise BoatError(
            Advice(
                what=f"The folder cannot be read: {fault.strerror}.",
                todo="Give a folder that is yours with --shelf.",
                where=str(folder),
            )
        ) from fault
    return resolved


def _sockets(port: int | None, usual: int, addresses: tuple[str, ...]) -> list[socket.socket]:
    from dabchick.workbench import network

    try:
        return network.listen_near(usual, addresses) if port is None else network.listen(port, addresses)
    except OSError as fault:
        raise BoatError(
            Advice(
                what=f"The workbench may not listen on port {usual if port is None else port}: {fault.strerror}.",
                todo="Leave out --port, or name another one above 1023 that no other program has.",
                where="command line --port",
                given="" if port is None else str(port),
            )
        ) from fault


def _server(app: object) -> "uvicorn.Server":
    import uvicorn

    logging.basicConfig(
        stream=sys.stderr, level=logging.WARNING, format="%(levelname)s %(name)s: %(message)s"
    )
    return uvicorn.Server(
        uvicorn.Config(
            app,  # type: ignore[arg-type]
            loop="asyncio",
            lifespan="on",
            log_level="warning",
            access_log=False,
            proxy_headers=False,
            server_header=False,
            ws_max_size=2**21,
            timeout_graceful_shutdown=2,
        )
    )


def _open_page(server: "uvicorn.Server", address: str) -> None:
    """Open the browser once the server answers; not where only a browser inside the terminal could be opened."""
    if sys.platform.startswith("linux") and not (
        os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    ):
        return
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.02)
    webbrowser.open(address)


def _invite(face: Face, settings: "Settings", code: str, pairing: "Pairing") -> None:
    face.say()
    face.say(f"On your phone, in the same network: {settings.lan_address}")
    face.say(
        f"Code: {code[:4]} {code[4:]}  (good for five minutes, once; the page makes more under Pair a phone)"
    )
    if face.out.is_terminal:
        import segno

        segno.make(pairing.link(code), error="l", micro=False).terminal(compact=True)
    face.say(
        "What a paired phone and this machine say to each other is not encrypted: use --lan at home only."
    )
    face.say()


_NO_NETWORK = Advice(
    what="This machine has no address in a local network.",
    todo="Join the network that your phone is in, or leave out --lan.",
    where="command line --lan",
)
