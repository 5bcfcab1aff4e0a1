"""What is served, and how it is reached; no library is needed to say it."""

from __future__ import annotations

from typing import NamedTuple

PORT = 8080  # where nobody says another
SETTINGS = "FLEETCARE_SERVED"  # what a process that a server starts is told it by


class Served(NamedTuple):
    """What is served, and how it is reached."""

    place: str
    hosts: tuple[str, ...]
    secure: bool = False  # by TLS, ours or a proxy's
    demo: bool = False
    ports: tuple[int, ...] = ()  # that people type; none named: any

    def answers(self, name: str, port: str | None) -> bool:
        """Whether the pages are reached by a name, and at the port typed after it."""
        usual = 443 if self.secure else 80  # a browser leaves it out
        at = int(port) if port else usual
        return name in self.hosts and (not self.ports or at in self.ports)

    @property
    def cookie(self) -> str:
        """The cookie's name; over TLS browsers then let no other site set it."""
        return "__Host-fleetcare" if self.secure else "fleetcare"

    @property
    def tablet_cookie(self) -> str:
        """The name of the cookie by which a tablet of the yard is known."""
        return f"{self.cookie}-tablet"

    @property
    def asked_cookie(self) -> str:
        """The name of the cookie by which it is known what a browser was asked to sign."""
        return f"{self.cookie}-asked"
