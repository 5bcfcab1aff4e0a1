"""Starting the server: where it listens, how it is reached, and that nobody reads along."""

from __future__ import annotations

import ipaddress
import json
import os
import socket
from typing import NamedTuple

from fleetcare.errors import DatabaseFault, UsageFault, needs
from fleetcare.web.settings import PORT, SETTINGS, Served

_LOOPBACK = ("localhost", "127.0.0.1", "::1")


class Listening(NamedTuple):
    """Where and how it listens, as typed."""

    host: str = "127.0.0.1"
    port: int = PORT
    processes: int = 1
    tls_cert: str | None = None
    tls_key: str | None = None
    behind_proxy: str | None = None  # the name that people type, TLS being the proxy's
    names: tuple[str, ...] = ()


def served(place: str, said: Listening, *, demo: bool = False) -> Served:
    """What is served, and under which names. UsageFault where others could read along."""
    tls = said.tls_cert is not None
    if tls is not (said.tls_key is not None):
        raise UsageFault("--tls-cert and --tls-key go together")
    if not (tls or said.behind_proxy or _is_here(said.host)):
        raise UsageFault(
            f"passwords would cross the network in plain text on {said.host}: add --tls-cert and "
            "--tls-key, or --behind-proxy NAME where a proxy of yours has TLS, or leave --host out"
        )
    named = [*said.names, *([said.behind_proxy] if said.behind_proxy else [])]
    hosts = dict.fromkeys(one.casefold() for one in [*_LOOPBACK, said.host, *named])
    return Served(place, tuple(hosts), secure=tls or said.behind_proxy is not None, demo=demo)


def _is_here(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def address(what: Served, said: Listening) -> str:
    """What to type into a browser."""
    if said.behind_proxy:
        return f"https://{said.behind_proxy}/"
    name = said.names[0] if said.names else said.host
    name = f"[{name}]" if ":" in name else name
    return f"{'https' if what.secure else 'http'}://{name}:{said.port}/"


def free_port(said: Listening) -> None:
    """DatabaseFault where somebody listens there already."""
    family = socket.AF_INET6 if ":" in said.host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind((said.host, said.port))
        except OSError as fault:
            raise DatabaseFault(
                f"nothing can listen on {said.host}, port {said.port}: {fault.strerror}. Name "
                "another with --port"
            ) from None


def run(what: Served, said: Listening) -> None:
    """Serve until somebody ends it."""
    with needs("uvicorn", "web"):
        import uvicorn

    os.environ[SETTINGS] = json.dumps(what._asdict())
    uvicorn.run(
        "fleetcare.web.app:from_environment", factory=True, host=said.host, port=said.port,
        workers=said.processes, ssl_certfile=said.tls_cert, ssl_keyfile=said.tls_key,
        proxy_headers=said.behind_proxy is not None, server_header=False, access_log=False,
        log_level="warning", timeout_graceful_shutdown=10,
    )  # fmt: skip
