"""Fields of records in the words of the command line: an option, or what is typed in a place."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator

import click

from fleetcare.errors import Problem, Refused
from fleetcare.records.fields import spoken

# What a field is typed as where its option or place bears another name.
_NAMES = {
    "by": ("name",),
    "what": ("check", "what", "event", "component"),
    "place": ("where",),
    "shown": ("reading",),
    "variety": ("type",),
    "licence_seen_on": ("licence_seen",),
    "children": ("children_under_135",),
    "last_day": ("until",),
    "outcome": ("pass",),
}
_SHOWN = {"van": "fleet number", "where": "place", "what": "component"}


def option_of(field: str) -> str:
    """How a field is typed as an option: from_on is --from, last_day is --last-day."""
    return f"--{spoken(field)}"


def in_words_of(command: click.Command, fault: Refused) -> Refused:
    """The same faults, each where it was typed."""
    return Refused([_typed(command.params, problem) for problem in fault.problems])


@contextlib.contextmanager
def as_typed() -> Iterator[None]:
    """Around a call to the desk: what it refuses is said where it was typed."""
    try:
        yield
    except Refused as fault:
        raise in_words_of(click.get_current_context().command, fault) from None


def _typed(params: Iterable[click.Parameter], problem: Problem) -> Problem:
    if not problem.field:
        return problem
    names = (problem.field, *_NAMES.get(problem.field, ()))
    param = next((p for name in names for p in params if p.name == name), None)
    word = option_of(problem.field)
    if isinstance(param, click.Argument):
        word = _SHOWN.get(str(param.name), str(param.name))
    elif param is not None:
        word = max(param.opts, key=len)
    return Problem(f"{word} {problem.where}".strip(), problem.message)
