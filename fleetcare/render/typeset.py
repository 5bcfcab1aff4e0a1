"""Pages set by typst: PDF, and pictures as PNG. What is shown is handed over as data, never as
markup, so no name or word of anybody's can be run."""

from __future__ import annotations

import contextlib
import json
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import typst

from fleetcare import shipped

MOST_PAGES = 40  # of one paper: a test sheet has a few, a service folder some thirty


def pdf(template: str, data: Any, files: Mapping[str, bytes]) -> bytes:
    """A tagged PDF from a template of ours and data, with the files the template shows beside it.

    Held to PDF/UA-1, but where something that was typed or scanned cannot be: a scan that is
    itself a PDF has no tags of ours, and a letter that no font of ours has cannot be read out.
    """
    if not any(name.endswith(".pdf") for name in files):
        with contextlib.suppress(typst.TypstError):
            return _set(template, data, files, format="pdf", pdf_standards=["ua-1"])
    return _set(template, data, files, format="pdf", pdf_standards=[])


def png(svg: str) -> bytes:
    """A chart as a picture of dots, 110 to the inch."""
    return _set("picture.typ", {}, {"chart.svg": svg.encode()}, format="png", ppi=110)


def pages_of(name: str, content: bytes) -> tuple[int, bool]:
    """How many pages of a scan can be set, and whether it has or may have more: one that begins
    like a PDF may be none further on.

    The typesetter says of no PDF how many pages it has; the first page it does not find ends it.
    """
    pages, is_pdf = 0, name.endswith(".pdf")
    while pages < (MOST_PAGES if is_pdf else 1):
        try:
            _set("scan.typ", {"file": name, "page": pages + 1}, {name: content}, format="pdf")
        except typst.TypstError as fault:
            return pages, f"page {pages + 1} does not exist" not in str(fault)
        pages += 1
    return pages, is_pdf


def _set(template: str, data: Any, files: Mapping[str, bytes], **how: Any) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        for name, content in files.items():
            (work / name).write_bytes(content)
        (work / "data.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        main = work / template
        main.write_bytes((shipped.folder("render/templates") / template).read_bytes())
        return bytes(typst.compile(main, root=work, **how))
