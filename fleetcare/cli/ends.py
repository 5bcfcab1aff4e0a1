"""What a command is joined to: the words it was given, and where it reads and prints.

None of these can break a command, for what it has written down by then would be told wrongly:
words that are no text are refused before anything is done, and output that fails is noted while
the command goes on to its end. What is said then rests on what was done (`errors.Noted`).
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from collections.abc import Iterator
from typing import Any, NoReturn, TextIO, cast

import click

from fleetcare.errors import ExitCode, Noted, UsageFault

_SETTINGS = "FLEETCARE_"


class End:
    """Standard output or error that never raises: letters it lacks are escaped, and from its first
    fault on everything goes nowhere. `fault` says what it was."""

    def __init__(self, stream: TextIO | None, place: int) -> None:
        self.fault: OSError | None = None
        self._place = place
        self._closed = stream is None
        # A number that is closed was given to the device that takes everything: see `_filled`.
        self._stream = stream or cast("TextIO", os.fdopen(place, "w", closefd=False))
        if hasattr(self._stream, "reconfigure"):
            self._stream.reconfigure(errors="backslashreplace")

    def write(self, text: str | bytes) -> int:
        """Write; as if all was well, where it can't be."""
        if text and isinstance(text, bytes):  # what a shell is told; empty ones only try the stream
            text = text.decode("utf-8")
        try:
            self._stream.write(cast("str", text))
        except OSError as fault:
            self._failed(fault)
        if self._closed and text and self.fault is None:
            self.fault = OSError(errno.EBADF, os.strerror(errno.EBADF))
        return len(text)

    def flush(self) -> None:
        """Send what was written; as if all was well, where it can't be."""
        try:
            self._stream.flush()
        except OSError as fault:
            self._failed(fault)

    @property
    def unread(self) -> bool:
        """Whether nobody wants what is printed: the pipe's reader has gone, or it was closed."""
        return self._closed or isinstance(self.fault, BrokenPipeError | ConnectionResetError)

    def _failed(self, fault: OSError) -> None:
        """The stream keeps what it could not send and tries again when the interpreter ends, which
        would turn the exit code into 120: by then its number leads nowhere."""
        self.fault = fault
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, self._place)
        os.close(nowhere)

    def __getattr__(self, name: str) -> Any:
        # Bytes would go past what is escaped and noted here.
        if name == "buffer":
            raise AttributeError(name)
        return getattr(self._stream, name)


class _NoKeyboard:
    """Standard input that was closed: whoever asks is told so, and not that input ended."""

    def readline(self, _size: int = -1) -> NoReturn:
        """Refuse, on a line of its own after what was asked."""
        click.echo(err=True)
        raise UsageFault(
            "standard input is closed, and this asks line by line: run it at a terminal, or give "
            "what it asks for by options or files (see --help)"
        )

    def isatty(self) -> bool:
        """Never."""
        return False


@contextlib.contextmanager
def joined() -> Iterator[End]:
    """Standard input, output and error made safe for one command. Gives standard output."""
    before = sys.stdin, sys.stdout, sys.stderr
    _filled()
    # Each may be None, whatever typeshed says: a closed number has no stream.
    out, err = End(sys.stdout, 1), End(sys.stderr, 2)
    sys.stdout, sys.stderr = cast("TextIO", out), cast("TextIO", err)
    if sys.stdin is None:
        sys.stdin = cast("TextIO", _NoKeyboard())
    elif hasattr(sys.stdin, "reconfigure"):
        # An answer that is no text is then one that can't be taken, and is asked for again.
        sys.stdin.reconfigure(errors="surrogateescape")
    try:
        yield out
    finally:
        out.flush()
        err.flush()
        sys.stdin, sys.stdout, sys.stderr = before


def _filled() -> None:
    """Give each closed standard number to the null device, to be written to only. Otherwise the
    next file opened would get it, and what is printed to that number would go into the book."""
    for place in range(3):
        try:
            os.fstat(place)
        except OSError:
            os.open(os.devnull, os.O_WRONLY)  # takes the lowest that is free


def refuse_no_text(args: list[str]) -> None:
    """Words and settings are text. Raises UsageFault for bytes that are no UTF-8: as surrogates
    they would reach the book, where they can't be kept, and paths that can't be told apart."""
    for word in args:
        if not _is_text(word):
            raise UsageFault(
                f'"{_shown(word)}" is not UTF-8 text: type it again, or rename the file it names'
            )
    for name, value in os.environ.items():
        if name.startswith(_SETTINGS) and not _is_text(value):
            raise UsageFault(f'{name} is "{_shown(value)}", which is not UTF-8 text: set it again')


def _is_text(word: str) -> bool:
    return not any("\ud800" <= letter <= "\udfff" for letter in word)


def _shown(word: str) -> str:
    """A word with the bytes that are no text escaped: the beginning of a long one."""
    plain = word[:60].encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
    return plain if len(word) <= 60 else f"{plain}…"


def told(fault: OSError) -> str:
    """What the machine would not do, in words: a folder that is gone, a name too long."""
    try:
        os.getcwd()
    except OSError:
        return "the folder you are in is gone: change to another one and run it again"
    why = fault.strerror or str(fault)
    return f"{_shown(os.fsdecode(fault.filename))}: {why}" if fault.filename else why


def settled(out: End, code: int, noted: Noted) -> int:
    """The exit code, once it is known what became of the output.

    What was done is told on standard error where nobody could read it, and stays done. An answer
    that was asked for and could not be put where it was to go is a failure, unless nobody reads.
    """
    out.flush()
    if out.fault is None:
        return code
    why = f"standard output can't be written: {out.fault.strerror}"
    if noted.lines:
        if code in (ExitCode.DONE, ExitCode.NO, ExitCode.REFUSED):
            lines = "\n".join(noted.lines)
            click.echo(f"Caution: {why}. This was done:\n{lines}", err=True)
        return code
    if not out.unread:
        click.echo(f"Error: {why}", err=True)
        return code or int(ExitCode.REFUSED)
    return code
