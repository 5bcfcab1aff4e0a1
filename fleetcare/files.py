"""Writing files whole: a file bears its name only once all of it is on the disk.

Until then it is a part under a name of ours, held by a lock for as long as its writer lives: what a
killed run left can be told from what is being made, and is removed.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from fleetcare.errors import Problem, Refused

try:
    import fcntl
except ImportError:  # Windows has none: there a part is told by its age alone
    fcntl = None  # type: ignore[assignment]

# No name that a person would give: a file such as ".fleetcare-completion" is theirs and stays.
_PART = ".fleetcare-part-"
_YOUNG = 60  # seconds: one just made may not be held yet
_OLD = 86_400  # seconds: where no lock can tell; nothing takes a day to make
_BESIDE = ("-wal", "-shm", "-journal")  # what SQLite puts beside a part that is a book


class Given(NamedTuple):
    """A file that somebody sent: what it is called there, which says nothing of what it is, its
    bytes, and the field it was sent in."""

    name: str
    data: bytes
    field: str = ""


@contextlib.contextmanager
def new_folder_beside(name: str) -> Iterator[Path]:
    """A folder of ours beside a name, to make something in; gone afterwards. Raises OSError."""
    with tempfile.TemporaryDirectory(dir=Path(name).parent, prefix=_PART) as made:
        held = os.open(made, os.O_RDONLY)
        try:
            _lock(held)
            yield Path(made)
        finally:
            os.close(held)


def _lock(handle: int) -> bool:
    """Hold a part; whether nobody else holds it. Raises OSError where that can't be told."""
    if fcntl is None:
        raise OSError("no locks here")
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def tidy(folder: Path) -> list[Path]:
    """Remove the parts in a folder whose writers were killed; gives what they were."""
    parts, removed = sorted(folder.glob(f"{_PART}*")), []
    now = _moment_in(folder) if parts else 0
    for part in parts:
        with contextlib.suppress(OSError):  # somebody else's, or gone meanwhile
            if _left(part, now):
                shutil.rmtree(part) if part.is_dir() else part.unlink()
                removed.append(part)
    return removed


def _moment_in(folder: Path) -> float:
    """The moment by the clock that gives a folder's files theirs, which on a share is another's."""
    try:
        with tempfile.TemporaryFile(dir=folder) as probe:
            return os.fstat(probe.fileno()).st_mtime
    except OSError:
        return 0  # nothing can be made here, nor removed


def _left(part: Path, now: float) -> bool:
    """Whether nobody makes a part any more. What lies beside another is told by that one."""
    of = next((part.with_name(part.name.removesuffix(end)) for end in _BESIDE
               if part.name.endswith(end)), None)  # fmt: skip
    if of is not None and of.exists():
        return False
    age = now - part.lstat().st_mtime
    if age < _YOUNG or part.is_symlink():
        return False
    handle = os.open(part, os.O_RDONLY)
    try:
        return _lock(handle)
    except OSError:
        return age > _OLD
    finally:
        os.close(handle)


@contextlib.contextmanager
def new_file(name: str, *, private: bool = False) -> Iterator[Path]:
    """A file made under another name, that takes its own when it is whole and on the disk.

    It may be read by whom the user's own files may be read, or by nobody else when `private`.
    Refused where one is there or it cannot be written; nothing is left behind when it fails.
    """
    path = Path(name)
    if os.path.lexists(path):  # a name too long is no fault yet
        raise Refused([Problem(name, "is there already: name another file")])
    tidy(path.parent)
    try:
        handle, made = tempfile.mkstemp(dir=path.parent, prefix=_PART)
    except OSError as fault:
        os.getcwd()  # raises where the folder we are in is gone: that is then what is told
        raise Refused([Problem(name, f"cannot be written: {fault.strerror}")]) from None
    part = Path(made)
    try:
        with contextlib.suppress(OSError):  # a disk that knows no locks: its age tells
            _lock(handle)
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
        os.close(handle)  # not before: SQLite's own locks on the part would go with it
        for one in (part, *(Path(f"{part}{end}") for end in _BESIDE)):
            one.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def real(place: str) -> str:
    """Where a book really lies: what a link to it points to, so that its papers, its log and its
    notes are those beside it and not beside the link. An address, or no link, is as it is."""
    return os.path.realpath(place) if os.path.islink(place) else place


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
