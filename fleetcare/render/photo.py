"""A photo or scan made small to be looked at: its dots and nothing else, neither where and when it
was taken, nor by what, nor a preview of what was cut away."""

from __future__ import annotations

import io
import threading

from PIL import Image, ImageOps

_SIDE = 1200  # dots of its longer side
_MOST_DOTS = 60_000_000  # unpacked they take about 300 MB; what has more is looked at as it came
_FORMATS = {"jpeg": "JPEG", "png": "PNG"}
_one_at_a_time = threading.Lock()  # or a page of large ones would take all the memory there is


def small(data: bytes, sort: str) -> bytes | None:
    """A copy as JPEG, the right way up; None of what cannot be read as a picture."""
    if sort not in _FORMATS:
        return None
    try:
        with _one_at_a_time:
            return _drawn(data, _FORMATS[sort])
    except Exception:  # whatever a broken file makes its reader raise
        return None


def _drawn(data: bytes, form: str) -> bytes | None:
    with Image.open(io.BytesIO(data), formats=(form,)) as opened:
        wide, high = opened.size
        if wide * high > _MOST_DOTS:
            return None
        opened.thumbnail((_SIDE, _SIDE))
        shown = ImageOps.exif_transpose(opened).convert("RGBA")
    bare = Image.new("RGB", shown.size, "white")  # bears nothing of what came with the file
    bare.paste(shown, mask=shown)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=80)
    return out.getvalue()


def shows_nothing(data: bytes, sort: str) -> bool:
    """Whether a picture is all of one colour, or none that can be read."""
    copy = small(data, sort)
    if copy is None:
        return True
    with Image.open(io.BytesIO(copy), formats=("JPEG",)) as opened:
        darkest, lightest = opened.convert("L").getextrema()
    return bool(darkest == lightest)
