"""Where a phone in the same home can reach this computer: asked of the system alone, nothing is sent for it."""

import socket
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network

from fitcheck.core.errors import UsageError

# RFC 1918: what a home's router gives out. Others are open to the whole internet, or to a carrier's other customers.
PRIVATE = tuple(IPv4Network(block) for block in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16"))


@dataclass(frozen=True, slots=True)
class Interface:
    """A way out of this computer.

    Attributes
    ----------
    leads_out : bool
        Whether what goes to the internet goes this way.
    shared : bool
        Whether several machines hang on it; not so this computer's own loop, nor a tunnel.
    """

    name: str
    address: IPv4Address
    leads_out: bool
    shared: bool


def is_private(address: str) -> bool:
    """Whether an address is one of a home's own network."""
    try:
        given = IPv4Address(address)
    except ValueError:
        return False
    return any(given in block for block in PRIVATE)


def home_addresses() -> tuple[str, ...]:
    """This computer's addresses in the home network, the likeliest first.

    Raises
    ------
    UsageError
        It is in none, or the network is a public one.
    """
    return at_home(_interfaces())


def at_home(interfaces: Sequence[Interface]) -> tuple[str, ...]:
    """Of all interfaces the addresses in the home network.

    Those that lead out count, as there the router is; where none does (a network without internet), all that are shared.

    Raises
    ------
    UsageError
        There is none, or the network is a public one.
    """
    shared = [one for one in interfaces if one.shared]
    nearest = [one for one in shared if one.leads_out] or shared
    found = tuple(dict.fromkeys(str(one.address) for one in nearest if is_private(str(one.address))))
    if found:
        return found
    by_cable = "Copy the photos from the phone by cable, and drop them here."
    if nearest:
        raise UsageError("This computer is in a public network, not in one of a home's own, so a phone is not let in.", by_cable)
    raise UsageError(
        "This computer is in no home network, so a phone cannot reach it.", f"Connect it to your Wi-Fi or router. Or: {by_cable}"
    )


if sys.platform == "linux":
    import fcntl
    import struct
    from contextlib import suppress
    from pathlib import Path

    _FLAGS, _ADDRESS = 0x8913, 0x8915  # SIOCGIFFLAGS and SIOCGIFADDR of linux/sockios.h
    _UP, _LOOPBACK, _POINT_TO_POINT, _RUNNING = 0x1, 0x8, 0x10, 0x40  # of linux/if.h
    _ROUTES = Path("/proc/net/route")

    def _interfaces() -> list[Interface]:
        ways = [line.split() for line in _ROUTES.read_text().splitlines()[1:]]
        out = {way[0] for way in ways if way[1] == "00000000" and way[7] == "00000000"}
        found = []
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:
            for _, name in socket.if_nameindex():
                with suppress(OSError):  # it has no IPv4 address
                    asked = struct.pack("256s", name.encode()[:15])
                    flags = struct.unpack_from("H", fcntl.ioctl(any_socket, _FLAGS, asked), 16)[0]
                    address = IPv4Address(fcntl.ioctl(any_socket, _ADDRESS, asked)[20:24])
                    shared = flags & _UP and flags & _RUNNING and not flags & (_LOOPBACK | _POINT_TO_POINT)
                    found.append(Interface(name, address, name in out, bool(shared)))
        return found

else:
    _ELSEWHERE = ("192.0.2.1", 9)  # an address that nobody has (RFC 5737); a datagram socket sends nothing when it is connected

    def _interfaces() -> list[Interface]:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:
            try:
                any_socket.connect(_ELSEWHERE)
            except OSError:
                return []
            return [Interface("", IPv4Address(any_socket.getsockname()[0]), True, True)]
