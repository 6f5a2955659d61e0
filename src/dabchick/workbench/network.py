"""The sockets that the workbench listens on, and this machine's addresses in the local network."""

import contextlib
import ipaddress
import socket
from typing import Final

MOST_TRIED: Final = 20
"""Ports after the usual one that are tried when it is taken."""
_NO_HOST: Final = "192.0.2.1"
"""An address that is nobody's (RFC 5737): asking for the way there sends nothing."""


def lan_addresses() -> tuple[str, ...]:
    """This machine's own private IPv4 addresses, the one towards the router first."""
    found: list[str] = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect((_NO_HOST, 9))
        found.append(str(probe.getsockname()[0]))
    with contextlib.suppress(OSError):
        found += [
            str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        ]
    return tuple(dict.fromkeys(address for address in found if _is_local(address)))


def _is_local(address: str) -> bool:
    number = ipaddress.ip_address(address)
    return number.is_private and not number.is_loopback and not number.is_unspecified


def listen(port: int, lan: tuple[str, ...] = ()) -> list[socket.socket]:
    """Sockets on loopback and on each of `lan`, all on one port; 0 takes a free one. Raises OSError."""
    sockets = [_bound(socket.AF_INET, "127.0.0.1", port)]
    try:
        chosen = int(sockets[0].getsockname()[1])
        # Browsers may try `localhost` by the newer protocol first; where the machine has none, nobody will.
        with contextlib.suppress(OSError):
            sockets.append(_bound(socket.AF_INET6, "::1", chosen))
        sockets += [_bound(socket.AF_INET, address, chosen) for address in lan]
    except BaseException:
        for entry in sockets:
            entry.close()
        raise
    return sockets


def listen_near(port: int, lan: tuple[str, ...] = ()) -> list[socket.socket]:
    """As `listen`, but on the next free port when this one is taken."""
    for choice in (*range(port, port + MOST_TRIED), 0):
        try:
            return listen(choice, lan)
        except OSError:
            if choice == 0:
                raise
    raise AssertionError("The last choice either listens or raises.")


def _bound(family: socket.AddressFamily, address: str, port: int) -> socket.socket:
    # With the protocol by name: only then does asyncio send small answers at once, without 40 ms of waiting for more.
    entry = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        if family == socket.AF_INET6:
            entry.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        _own_alone(entry)
        entry.bind((address, port))
        entry.listen(128)
    except BaseException:
        entry.close()
        raise
    return entry


def _own_alone(entry: socket.socket) -> None:
    """Take the port again right after a stop, but never share it with another program."""
    exclusive = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)
    if exclusive is not None:  # Windows, where SO_REUSEADDR would let two programs have one port
        entry.setsockopt(socket.SOL_SOCKET, exclusive, 1)
    else:
        entry.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
