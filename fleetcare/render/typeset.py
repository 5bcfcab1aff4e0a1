"""Pages set by typst: PDF, and pictures as PNG. What is shown is handed over as data, never as
markup, so no name or word of anybody's can be run."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import typst

from fleetcare import shipped


def pdf(template: str, data: Any, files: Mapping[str, bytes]) -> bytes:
    """A tagged PDF from a template of ours and data, with the files the template shows beside it.

    Held to PDF/UA-1, but where a scan shown is itself a PDF: its pages have no tags of ours.
    """
    standards = [] if any(name.endswith(".pdf") for name in files) else ["ua-1"]
    return _set(template, data, files, format="pdf", pdf_standards=standards)


def png(svg: str) -> bytes:
    """A chart as a picture of dots, 110 to the inch."""
    return _set("picture.typ", {}, {"chart.svg": svg.encode()}, format="png", ppi=110)


def can_show(name: str, content: bytes) -> bool:
    """Whether a scan can be set on a page: one that begins like a PDF may be none further on."""
    try:
        _set("scan.typ", {"file": name}, {name: content}, format="pdf")
    except typst.TypstError:
        return False
    return True


def _set(template: str, data: Any, files: Mapping[str, bytes], **how: Any) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        for name, content in files.items():
            (work / name).write_bytes(content)
        (work / "data.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        main = work / template
        main.write_bytes((shipped.folder("render/templates") / template).read_bytes())
        return bytes(typst.compile(main, root=work, **how))
