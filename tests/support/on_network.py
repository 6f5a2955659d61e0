"""`dabchick serve --lan` with a second loopback address in place of the network: `--shelf FOLDER --port N`."""

import argparse
import contextlib
from pathlib import Path

from dabchick.cli.serve import _server
from dabchick.workbench import network
from dabchick.workbench.bundle import pages
from dabchick.workbench.pairing import Pairing, devices_file
from dabchick.workbench.settings import Settings
from dabchick.workbench.site import Site
from tests.support.serving import SECOND_LOOPBACK


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--shelf", type=Path, required=True)
    options.add_argument("--port", type=int, required=True)
    said = options.parse_args()
    settings = Settings(
        shelf=said.shelf,
        port=said.port,
        lan=True,
        lan_addresses=(SECOND_LOOPBACK,),
        devices_file=devices_file(),
    )
    server = _server(Site(settings, pages(), pairing=Pairing(settings)))
    with contextlib.suppress(KeyboardInterrupt):
        server.run(sockets=network.listen(said.port, settings.lan_addresses))


if __name__ == "__main__":
    main()
