"""Finds what is shipped beside the code: rulebooks, migrations, the sample fleet."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

_PACKAGE = Path(__file__).parent


def folder(name: str) -> Path:
    """A shipped folder: inside the package in a wheel, beside it in a checkout.

    Raises FileNotFoundError when the installation is not whole.
    """
    for place in (_PACKAGE / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f'the folder "{name}" is missing: install fleetcare again')


@cache
def rulebook_files() -> dict[str, Any]:
    """The package's rulebook as tables, by file; read once, never to be written to."""
    root = folder("rulebook")
    return {
        path.relative_to(root).as_posix(): tomllib.loads(path.read_text(encoding="utf-8"))
        for path in sorted(root.glob("*/*.toml"))
    }


@cache
def drawn_places() -> dict[str, list[int]]:
    """Where each place lies on the drawing of a van: per cent from its front, and from its left."""
    found: dict[str, list[int]] = tomllib.loads(
        (folder("rulebook") / "places.toml").read_text(encoding="utf-8")
    )["place"]
    return found
