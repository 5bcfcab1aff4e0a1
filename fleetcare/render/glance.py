"""A van at a glance, in a few sentences: may it go, until when, and what comes first."""

from __future__ import annotations

from fleetcare.render.text import day
from fleetcare.reports.fleet import FleetRow


def answer(row: FleetRow) -> str:
    """The answer by the records of the van alone: a hirer brings more to be asked."""
    if row.hireable == "cannot say":
        return "Nobody can say whether it may go: do not hire."
    if row.hireable != "yes":
        return "May not go."
    until = f"until {day(row.hireable_through)}" if row.hireable_through else "with no end known"
    if row.out_as:
        return f"Out as {row.out_as}; by its records it may go {until}."
    return f"May go {until}."


def beside(row: FleetRow) -> list[str]:
    """What stands in the way or lapses first, where it is, and its open defects."""
    head = "First to lapse" if row.hireable == "yes" else "In the way"
    first = [f"{head}: {row.first_to_lapse}."] if row.first_to_lapse else []
    defects = {0: "No defect stands", 1: "1 defect stands"}
    return [
        *first, f"Where it is: {row.where}.",
        f"{defects.get(row.open_defects, f'{row.open_defects} defects stand')} open.",
    ]  # fmt: skip
