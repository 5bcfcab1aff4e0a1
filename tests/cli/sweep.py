"""Run lines into a file and into a pipe nobody reads, and print how each ended.

Each runs in a process of its own that is begun from this one, where every module is loaded
already: a hundred commands take as long as ten begun one by one.
"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import shlex
import shutil
import sys
from pathlib import Path
from typing import Any

from fleetcare import desk
from fleetcare.cli.app import COMMANDS, main
from fleetcare.desk import trust
from fleetcare.desk.asking import asking


def ended(line: str, desk: Path, piped: bool) -> dict[str, Any]:
    """How a line ends in a copy of a folder, what it says, and how many records the book holds."""
    folder = desk.with_name("copy")
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(desk, folder)
    said = [desk.with_name(name) for name in ("out", "err")]
    pid = os.fork()
    if pid == 0:
        out, err = (os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC) for file in said)
        if piped:
            reader, out = os.pipe()
            os.close(reader)
        os.dup2(out, 1)
        os.dup2(err, 2)
        os.chdir(folder)
        main(shlex.split(line))
    _, status = os.waitpid(pid, 0)
    texts = [file.read_text("utf-8") for file in said]
    held = trust.status(str(folder / "fleet.db")).records
    code = os.waitstatus_to_exitcode(status)
    return {"code": code, "records": held, "out": texts[0], "err": texts[1]}


if __name__ == "__main__":
    for module, *_ in COMMANDS.values():
        importlib.import_module(f"fleetcare.cli.{module}")
    for found in pkgutil.iter_modules(desk.__path__, "fleetcare.desk."):
        importlib.import_module(found.name)
    here = Path(sys.argv[1])
    with asking(str(here / "fleet.db")) as asked:  # the rules are read once
        list(asked.fleet())
    lines = json.loads(sys.stdin.read())
    print(
        json.dumps({line: [ended(line, here, piped) for piped in (False, True)] for line in lines})
    )
