"""What this machine is called on the shop's network."""

from __future__ import annotations

import re
import socket
import subprocess
from ipaddress import ip_address
from pathlib import Path

from .authority import LanError

NAME = re.compile(r"(?=.{1,253}$)[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*")
MDNS_SOCKET = Path("/run/avahi-daemon/socket")


def own_name(given: str = "") -> str:
    """The name tablets type: `given`, else the machine's own with ".local"; LanError if it is none."""
    name = (given.strip() or f"{socket.gethostname().split('.')[0]}.local").lower()
    if not NAME.fullmatch(name) or name.replace(".", "").isdigit():
        raise LanError(
            f"“{given}” is no name on a network. Letters, digits and hyphens, like NAME=shed.local"
        )
    return name


def addresses() -> list[str]:
    """This machine's addresses on its networks, the one that leads outside first; none without a network."""
    found = [*_way_out(), *_listed()]
    usable = [word for word in dict.fromkeys(found) if not _is_unusable(word)]
    return usable[:8]


def says_its_name() -> bool:
    """Whether something here answers for the ".local" name (multicast DNS, RFC 6762)."""
    return MDNS_SOCKET.exists()


def _way_out() -> list[str]:
    """No packet is sent: connecting a datagram socket only asks for the way."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return []
        return [probe.getsockname()[0]]


def _listed() -> list[str]:
    try:
        run = subprocess.run(["hostname", "-I"], capture_output=True, text=True, timeout=5, check=False)
    except (OSError, subprocess.TimeoutExpired):
        return []
    return run.stdout.split()


def _is_unusable(word: str) -> bool:
    try:
        address = ip_address(word)
    except ValueError:
        return True
    return address.is_loopback or address.is_link_local or address.is_unspecified or address.version == 6
