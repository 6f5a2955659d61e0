"""What the workbench is started with."""

from dataclasses import dataclass, field
from pathlib import Path

USUAL_PORT = 8642
LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
"""The names under which the machine's own browser may ask."""


@dataclass(frozen=True)
class Settings:
    """One server: its shelf of boats, where it listens, and whom it lets in."""

    shelf: Path
    port: int = USUAL_PORT
    lan: bool = False
    """Let paired devices of the local network in; without it the server listens on loopback alone."""
    lan_addresses: tuple[str, ...] = ()
    """This machine's own addresses in the local network that it listens on."""
    first_boat: str | None = None
    """Folder name of the boat whose page opens first."""
    devices_file: Path | None = field(default=None)
    """Where paired devices are kept; None: they are forgotten when the server ends."""

    @property
    def hosts(self) -> frozenset[str]:
        """Every `Host` under which this server may be asked for."""
        names = (*LOOPBACK, *(self.lan_addresses if self.lan else ()))
        plain = names if self.port == 80 else ()
        return frozenset({*plain, *(f"{name}:{self.port}" for name in names)})

    @property
    def address(self) -> str:
        """Where this machine's own browser finds the pages."""
        return f"http://127.0.0.1:{self.port}/"

    @property
    def lan_address(self) -> str:
        """Where a phone in the same network finds them; empty without one."""
        if not (self.lan and self.lan_addresses):
            return ""
        return f"http://{self.lan_addresses[0]}:{self.port}/"
