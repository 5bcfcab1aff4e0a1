"""Starting the server: where it listens, how it is reached, and that nobody reads along."""

from __future__ import annotations

import ipaddress
import json
import os
import re
import socket
from typing import NamedTuple

from fleetcare.errors import DatabaseFault, UsageFault, needs
from fleetcare.web.settings import PORT, SETTINGS, Served

_HERE = "127.0.0.1"
_LOOPBACK = ("localhost", _HERE, "::1")
_TLS = 443  # the port that browsers leave out
_NAME = re.compile(r"([a-z0-9._-]+)(?::([0-9]{1,5}))?")


class Listening(NamedTuple):
    """Where and how it listens, as typed."""

    host: str = _HERE
    port: int = PORT
    processes: int = 1
    tls_cert: str | None = None
    tls_key: str | None = None
    behind_proxy: str | None = None  # the name that people type, TLS being the proxy's
    names: tuple[str, ...] = ()  # each with a port where people type another than it listens on
    proxy_address: str = _HERE  # the one that is believed who asks


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
    proxied = said.behind_proxy is not None
    _hold_to_one(said.proxy_address)
    if said.proxy_address != _HERE and not proxied:
        raise UsageFault("--proxy-address goes with --behind-proxy")
    named = [_parted(one, said.port) for one in said.names]
    named += [_parted(said.behind_proxy, _TLS)] if said.behind_proxy else []
    hosts = dict.fromkeys([*_LOOPBACK, said.host.casefold(), *(name for name, _ in named)])
    ports = tuple(dict.fromkeys([said.port, *(port for _, port in named)]))
    return Served(place, tuple(hosts), tls or proxied, demo, ports)


def _hold_to_one(proxy: str) -> None:
    """Whoever is believed who asks could be anybody where more than one is."""
    try:
        ipaddress.ip_address(proxy)
    except ValueError:
        raise UsageFault(f'--proxy-address: "{proxy}" is not one address, like 10.0.0.9') from None


def _parted(text: str, port: int) -> tuple[str, int]:
    """A name that people type, and the port: the one typed after it, else the one given."""
    found = _NAME.fullmatch(text.casefold())
    if found is None:
        raise UsageFault(f'"{text}" is no name to be reached by: give it like fleet.example')
    return found[1], int(found[2] or port)


def _is_here(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def address(what: Served, said: Listening) -> str:
    """What to type into a browser."""
    if said.behind_proxy:
        return f"https://{said.behind_proxy}/"
    if said.names:
        name, port = _parted(said.names[0], said.port)
    else:
        name, port = f"[{said.host}]" if ":" in said.host else said.host, said.port
    return f"{'https' if what.secure else 'http'}://{name}:{port}/"


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
        proxy_headers=said.behind_proxy is not None, forwarded_allow_ips=said.proxy_address,
        server_header=False, access_log=False,
        log_level="warning", timeout_graceful_shutdown=10,
    )  # fmt: skip
