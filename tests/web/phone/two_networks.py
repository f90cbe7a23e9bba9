"""A home of two machines: two network namespaces of the kernel with a cable between them."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from web.opened import CHROMIUM


def ip(*words: str) -> None:
    subprocess.run(["ip", *words], check=True, capture_output=True)


def possible() -> bool:
    """Whether this machine lets us make network namespaces."""
    if shutil.which("ip") is None or os.getuid() != 0:
        return False
    made = subprocess.run(["ip", "netns", "add", name("try")], capture_output=True, check=False).returncode == 0
    if made:
        ip("netns", "del", name("try"))
    return made


def name(role: str) -> str:
    return f"fit-{os.getpid()}-{role}"


class Home:
    """The computer and the phone, each in a network namespace of its own.

    Parameters
    ----------
    block : str
        The first three numbers of their addresses: the computer is 1, the phone 2.
    """

    def __init__(self, block: str, folder: Path) -> None:
        self.block, self.folder = block, folder
        self.computer, self.phone = name("computer"), name("phone")
        self.address = f"{block}.1"

    def make(self) -> None:
        for space in (self.computer, self.phone):
            ip("netns", "add", space)
            ip("-n", space, "link", "set", "lo", "up")
        ip("-n", self.computer, "link", "add", "wire", "type", "veth", "peer", "name", "wire", "netns", self.phone)
        for space, last in ((self.computer, 1), (self.phone, 2)):
            ip("-n", space, "addr", "add", f"{self.block}.{last}/24", "dev", "wire")
            ip("-n", space, "link", "set", "wire", "up")
        ip("-n", self.computer, "route", "add", "default", "via", f"{self.block}.2")

    def unmake(self) -> None:
        for space in (self.computer, self.phone):
            subprocess.run(["ip", "netns", "del", space], capture_output=True, check=False)

    def connection(self, there: bool) -> None:
        """The phone's Wi-Fi, lost or there again."""
        ip("-n", self.phone, "link", "set", "wire", "up" if there else "down")

    def slow(self, rate: str) -> None:
        """As a Wi-Fi of so many bits a second."""
        words = f"tc qdisc replace dev wire root tbf rate {rate} burst 64k latency 1s".split()
        subprocess.run(["ip", "netns", "exec", self.phone, *words], check=True, capture_output=True)

    def sent(self) -> int:
        """Bytes that the phone has sent so far."""
        told = Path("/sys/class/net/wire/statistics/tx_bytes")
        return int(subprocess.run(["ip", "netns", "exec", self.phone, "cat", told], check=True, capture_output=True).stdout)

    def listening(self) -> set[str]:
        """Addresses at which anything listens on the computer, as the kernel tells them (bytes run backwards there)."""
        tables = ("/proc/net/tcp", "/proc/net/tcp6", "/proc/net/udp", "/proc/net/udp6")
        found = set()
        for table in tables:
            text = subprocess.run(["ip", "netns", "exec", self.computer, "cat", table], check=True, capture_output=True, text=True).stdout
            rows = [line.split() for line in text.splitlines()[1:]]
            ours = [row[1].partition(":")[0] for row in rows if row[3] == ("0A" if "tcp" in table else "07")]
            found |= {".".join(str(int(at[i : i + 2], 16)) for i in (6, 4, 2, 0)) if len(at) == 8 else at for at in ours}
        return found

    def browser(self, space: str) -> str:
        """A program that starts chromium in a namespace."""
        script = self.folder / f"chromium-{space}"
        script.write_text(f'#!/bin/sh\nexec ip netns exec {space} {CHROMIUM} "$@"\n')
        script.chmod(0o755)
        return str(script)


@contextmanager
def home(block: str, folder: Path) -> Iterator[Home]:
    made = Home(block, folder)
    made.unmake()
    try:
        made.make()
        yield made
    finally:
        made.unmake()
