"""A QR code (ISO/IEC 18004), drawn by segno."""

from __future__ import annotations

import io

import segno


def qr_svg(text: str) -> bytes:
    """A text as a QR code in SVG, with a quarter of it spare against scratches."""
    out = io.BytesIO()
    segno.make(text, error="q", micro=False).save(out, kind="svg", border=2, scale=4)
    return out.getvalue()
