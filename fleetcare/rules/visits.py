"""What binds a van in any country it visits, written down once and read for each with a file."""

from __future__ import annotations

from typing import Any

from fleetcare.rules.book import VISITING
from fleetcare.rules.formats import Files, home_of

_EVERY = f"{VISITING}any.toml"


def each_visit(files: Files) -> Files:
    """The files of a text with what every country shares laid under each country's own; what a
    country says itself goes before it. Texts of before hold no such file and stay as they are."""
    shared = files.get(_EVERY)
    if not isinstance(shared, dict):
        return files
    return {
        file: _laid_under(file, tables, shared) if file.startswith(VISITING) else tables
        for file, tables in files.items()
        if file != _EVERY
    }


def _laid_under(file: str, tables: Any, shared: dict[str, Any]) -> Any:
    said = tables.get("jurisdiction") if isinstance(tables, dict) else None
    if not isinstance(said, dict) or said.get("own_only") is True:
        return tables
    title = str(said.get("title", "")).partition(",")[0]
    ours = _said_of(shared, home_of(file).removeprefix(VISITING), title)
    sections = dict.fromkeys([*ours, *tables])
    return {
        section: {**ours[section], **tables.get(section, {})}
        if section in ours and isinstance(tables.get(section, {}), dict)
        else tables[section]
        for section in sections
    }


def _said_of(value: Any, code: str, title: str) -> Any:
    """A value with the country's code and name in it."""
    if isinstance(value, str):
        return value.replace("-xx", f"-{code}").replace("{country}", title)
    if isinstance(value, list):
        return [_said_of(one, code, title) for one in value]
    if isinstance(value, dict):
        return {_said_of(k, code, title): _said_of(v, code, title) for k, v in value.items()}
    return value
