"""What is missing, for the screen: a group at a time, what to type under each."""

from __future__ import annotations

from fleetcare.render.which import WIDE, named, wrapped
from fleetcare.reports.missing import GROUPS, Item, VanMissing


def missing(found: list[VanMissing]) -> str:
    """Each van with what is missing of it."""
    return "\n\n".join("\n".join(_van(one)) for one in found)


def _van(found: VanMissing) -> list[str]:
    name = named(found.van, found.plate)
    if not found.items and not found.stops:
        return [f"{name}: nothing is missing."]
    sure = sum(not item.only_if for item in found.items)
    hanging = len(found.items) - sure
    more = f", and {hanging} more that hang on an answer" if hanging else ""
    lines = [f"{name}: {sure} to write down before it may go{more}."] if found.items else []
    lines += [line for stop in found.stops for line in wrapped(f"{name}: {stop}", "")]
    for group, title in GROUPS.items():
        items = [item for item in found.items if item.group == group]
        if items:
            lines += [f"{title}:", *_group(items)]
    if found.items:
        lines.append("Blanks are in capitals. What is read from paper counts from the day on it.")
    return lines


def _group(items: list[Item]) -> list[str]:
    """What is needed anyway, then what hangs on each answer."""
    lines = []
    for only_if in sorted(dict.fromkeys(item.only_if for item in items)):
        indent = "  "
        if only_if:
            lines += wrapped(f"if {only_if}:", "  ")
            indent = "    "
        ours = [item for item in items if item.only_if == only_if]
        if ours[0].group == "say":
            lines += _one_command(ours, indent)
        else:
            for item in ours:
                said = f"{item.title}; {item.expected}" if item.expected else item.title
                lines += [*wrapped(said, indent), f"{indent}  {item.command}"]
    return lines


def _one_command(items: list[Item], indent: str) -> list[str]:
    """Facts are said in one command, over as many lines as it takes."""
    lines = wrapped("; ".join(item.title for item in items), indent)
    head, _, _ = items[0].command.partition(" --")
    line = f"{indent}  {head}"
    for item in items:
        option = item.command.removeprefix(head)
        if len(line) + len(option) + 2 > WIDE:
            lines.append(f"{line} \\")
            line = f"{indent}     "
        line += option
    return [*lines, line]
