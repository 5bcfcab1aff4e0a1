"""What books at work cost: `python -m tests.bench.working [FOLDER] [VANS]`.

Each fleet of `busy` against the sleeping fleet it is a copy of, asked by turns in one run. Of one
van: a pack with a hundred answers kept, and a plan of ten things to do against judging the van.
"""

from __future__ import annotations

import datetime as dt
import functools
import sys
import tempfile
from pathlib import Path

from fleetcare.errors import Refused
from tests.bench.busy import WORKING, answers_kept, distances_said, odometers_read, worked
from tests.bench.fleet import TODAY, ready
from tests.bench.run import (
    TIMES,
    VANS,
    Row,
    Spent,
    bare_read,
    due,
    judging,
    measured,
    middle,
    processes,
    rounds,
    spent,
    timed,
)
from tests.typed import typed

PLANNED = "V00005"
# The same van on a day by which nothing is to be done, and on one by which ten things are.
ASKED = [f"{PLANNED} --from {day} --through {day}" for day in ("2027-02-01", "2028-05-20")]


def by_turns(places: dict[str, str], times: int = TIMES) -> dict[str, Spent]:
    """The medians of due on each book, one after the other in every round, so that what else the
    machine does falls on all of them. A book whose rules can't be read is said and left out."""
    taken: dict[str, list[Spent]] = {}
    for name, place in places.items():
        try:
            taken[name] = [spent(functools.partial(due, place))]
        except Refused as refused:
            print(f"  left out, {name}: {refused.problems[0]}")
    most = {name: rounds(first.cpu, times) for name, (first,) in taken.items()}
    for turn in range(1, max(most.values())):
        for name, each in taken.items():
            if turn < most[name]:
                each.append(spent(functools.partial(due, places[name])))
    return {name: middle(each) for name, each in taken.items()}


def weeks(folder: Path, vans: int = VANS, times: int = TIMES) -> list[Row]:
    """The working fleets against the sleeping one."""
    books = {name: worked(folder, vans, builder) for name, builder in WORKING.items()}
    took = by_turns({"": ready(folder, vans)} | books, times)
    sleeping = took.pop("")
    rows = [(f"due, {vans:,} vans asleep", f"{sleeping.wall:.2f} s", "")]
    for name, one in took.items():
        wall, cpu = one.wall / sleeping.wall, one.cpu / sleeping.cpu
        figure = f"{wall:.2f} × a sleeping book (processors {cpu:.2f} ×, {one.wall:.1f} s)"
        rows.append((name, figure, "1.3"))
    return rows


def forecasts(folder: Path, vans: int = VANS, times: int = TIMES) -> list[Row]:
    """Three forecasts of every van on top of the same book without a distance said."""
    without, said = (worked(folder, vans, one) for one in (odometers_read, distances_said))
    took = by_turns({"without": without, "said": said}, times)
    bare = timed(lambda: bare_read(without), 1)
    more = (took["said"].cpu - took["without"].cpu) / bare
    return [(f"three forecasts each of {vans:,} vans, beyond due", f"{more:.2f} R", "1")]


def callers(folder: Path) -> list[Row]:
    """The caller's question over fifty vans against one hire check, each as a process."""
    place, days = ready(folder, 50), ["--from", "2027-02-01", "--through", "2027-02-08"]
    head = ["-m", "fleetcare", "--db", place]
    one, fifty = processes([*head, "hireable", "V00000", *days], [*head, "which", *days])
    return [("which of 50 vans, against hireable of one", f"{fifty / one:.2f} ×", "2")]


def questions(folder: Path) -> list[Row]:
    """A pack with answers kept, and a plan."""
    from fleetcare.desk import pack

    kept, place = worked(folder, 10, answers_kept), ready(folder, 10)
    packed = timed(lambda: pack.evidence(kept, "V00000", TODAY - dt.timedelta(weeks=26), TODAY), 1)
    nothing, ten = (
        measured(lambda line=line: typed(place, f"hireable {line} --on {TODAY}")).wall
        for line in ASKED
    )
    one = judging(place, PLANNED, 50)
    return [
        ("pack with 100 answers kept", f"{packed:.1f} s", "3 s"),
        (
            "plan of ten things to do, beyond a plain yes",
            f"{(ten - nothing) / one:.1f} × judging the van ({ten - nothing:.3f} s)",
            "5",
        ),
    ]


def main() -> None:
    """Print the table."""
    given = sys.argv[1:] + [""] * 2
    folder = Path(given[0] or tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    vans = int(given[1] or VANS)
    rows = [*weeks(folder, vans), *forecasts(folder, vans)]
    rows += [*callers(folder), *questions(folder)]
    width = max(len(name) for name, _, _ in rows)
    for name, figure, goal in rows:
        print(f"{name:{width}}  {figure}" + (f"; goal ≤ {goal}" if goal else ""))


if __name__ == "__main__":
    main()
