"""Writing files whole: a file bears its name only once all of it is on the disk."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from fleetcare.errors import Problem, Refused


@contextlib.contextmanager
def new_file(name: str, *, private: bool = False) -> Iterator[Path]:
    """A file made under another name, that takes its own when it is whole and on the disk.

    It may be read by whom the user's own files may be read, or by nobody else when `private`.
    Refused where one is there or it cannot be written; nothing is left behind when it fails.
    """
    path = Path(name)
    if os.path.lexists(path):  # a name too long is no fault yet
        raise Refused([Problem(name, "is there already: name another file")])
    try:
        handle, made = tempfile.mkstemp(dir=path.parent, prefix=".fleetcare-")
        os.close(handle)
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be written: {fault.strerror}")]) from None
    part = Path(made)
    try:
        yield part
        if not private:
            part.chmod(0o666 & ~_umask())
        with part.open("rb") as file:
            os.fsync(file.fileno())
        os.link(part, path)  # never over a file somebody made meanwhile
        folder = os.open(path.parent, os.O_RDONLY)
        os.fsync(folder)
        os.close(folder)
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be written: {fault.strerror}")]) from None
    finally:
        part.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def read_text(name: str, most: int) -> str:
    """A text file from another's hand. Refused where it can't be read, is no text, or holds more
    than so many octets, of which no more are read."""
    try:
        with Path(name).open("rb") as file:
            data = file.read(most + 1)
        if len(data) > most:
            raise Refused([Problem(name, f"is larger than {most:,} octets: look what it is")])
        return data.decode()
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be read: {fault.strerror}")]) from None
    except UnicodeDecodeError:
        raise Refused([Problem(name, "is not UTF-8 text")]) from None


def put_over(path: Path, text: str) -> None:
    """Put a text in the place of the last one, whole or not at all. Raises OSError."""
    part = path.with_name(f".{path.name}.part")
    with part.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())  # or a stick pulled out too soon holds neither
    part.replace(path)
