"""The unit and the container of the handbook: every command in them is one of ours and would serve,
what confines the service is there, and the copies that are told of can be put back."""

from __future__ import annotations

import configparser
import json
import re
import shlex
import shutil
import sqlite3
import subprocess
from pathlib import Path

import pytest

from fleetcare.desk import gate, handbook
from fleetcare.web.serving import Listening
from tests.typed import typed
from tests.web.conftest import PASSWORD, Opened

_SECTION = "Service"
MOST_EXPOSED = 20  # of 100, as systemd counts what a service could reach (it says "OK" to 4.9)
_TOLD = {"FROM", "COPY", "RUN", "USER", "WORKDIR", "VOLUME", "EXPOSE", "STOPSIGNAL", "ENV",
         "ENTRYPOINT", "CMD"}  # fmt: skip


def _block(kind: str) -> str:
    """The one block of its kind on the page."""
    (found,) = re.findall(
        rf"^```{kind}\n(.*?)^```$", handbook.page("serving").text, re.DOTALL | re.MULTILINE
    )
    return str(found)


def _unit() -> dict[str, str]:
    # What stands twice is the same setting added to: the last one is enough here.
    read = configparser.ConfigParser(strict=False, interpolation=None, delimiters="=")
    read.optionxform = str  # type: ignore[assignment,method-assign]
    read.read_string(_block("ini"))
    assert read.sections() == ["Unit", "Service", "Install"]
    return dict(read[_SECTION])


def _checked(line: list[str], place: str) -> str:
    """What our own command says of a line that serves: whether it could."""
    words = line[line.index("--db") + 2 :]
    assert words[0] == "serve"
    more = [] if "--check" in words else ["--check"]
    return typed(place, shlex.join([*words, *more]))


def test_the_service_is_ours(ready: str) -> None:
    """Both lines are read by our own command, on one book, and would serve; what is said first is
    said of the same address."""
    unit = _unit()
    before, line = (shlex.split(unit[name]) for name in ("ExecStartPre", "ExecStart"))

    assert before[0] == line[0] == "/opt/fleetcare/bin/fleetcare"
    assert before[1:3] == line[1:3] == ["--db", f"{unit['WorkingDirectory']}/fleet.db"]
    assert unit["WorkingDirectory"] == f"/var/lib/{unit['StateDirectory']}"
    for one in (before, line):
        assert "Ready to serve at https://fleet.example/\n" in _checked(one, ready)
    assert int(unit["TimeoutStopSec"]) > 10  # seconds that the server waits for what it answers


def test_the_service_is_confined() -> None:
    """It may write where the book lies and nowhere else, is nobody's root, and takes no more on."""
    unit = _unit()

    assert unit["User"] == "fleetcare"
    assert (unit["ProtectSystem"], unit["UMask"]) == ("strict", "0077")
    assert "ReadWritePaths" not in unit
    for name in ("NoNewPrivileges", "PrivateTmp", "PrivateDevices", "ProtectHome",
                 "ProtectKernelModules", "RestrictSUIDSGID", "MemoryDenyWriteExecute"):  # fmt: skip
        assert unit[name] == "yes", name
    assert unit["CapabilityBoundingSet"] == ""


def test_systemd_takes_the_service(tmp_path: Path) -> None:
    """Every setting is one that it knows, and by its own count little is left to reach."""
    if shutil.which("systemd-analyze") is None:
        pytest.skip("systemd-analyze is not installed")
    file = tmp_path / "fleetcare.service"
    here = _block("ini").replace("/opt/fleetcare/bin/fleetcare", str(shutil.which("true")))
    file.write_text(here.replace("=fleetcare\nGroup", "=daemon\nGroup").replace(
        "Group=fleetcare", "Group=daemon"))  # fmt: skip

    def said(*words: str) -> subprocess.CompletedProcess[str]:
        line = ["systemd-analyze", *words, str(file)]
        return subprocess.run(line, capture_output=True, text=True, check=False)

    held = said("verify", "--man=no")
    assert [one for one in held.stderr.splitlines() if str(file) in one] == []
    assert held.returncode == 0
    most = f"--threshold={MOST_EXPOSED}"
    assert said("security", "--offline=yes", most).returncode == 0
    file.write_text(re.sub(r"^(Protect|Restrict|System|Private|Cap).*\n", "",
                           file.read_text(), flags=re.MULTILINE))  # fmt: skip
    assert said("security", "--offline=yes", most).returncode == 1


def test_the_container_is_ours(ready: str) -> None:
    """Each instruction is one there is, it runs as nobody's root, and its command would serve at
    the port that it opens."""
    lines = _block("dockerfile").replace("\\\n", " ").splitlines()
    told = [line.split(" ", 1) for line in lines]
    by_name = dict(told)

    assert {name for name, _ in told} == _TOLD
    assert told[0][0] == "FROM"
    assert by_name["USER"] not in ("0", "root")
    line = json.loads(by_name["ENTRYPOINT"]) + json.loads(by_name["CMD"])
    assert line[2] == f"{by_name['VOLUME']}/fleet.db"
    assert by_name["VOLUME"] == by_name["WORKDIR"]
    assert "Ready to serve at https://fleet.example/\n" in _checked(line, ready)
    assert by_name["EXPOSE"] == str(Listening().port)
    stops = re.findall(r"^KillSignal=(\w+)$", _block("ini"), re.MULTILINE)
    assert [by_name["STOPSIGNAL"]] == stops


def test_a_copy_of_the_people_lets_them_in(opened: Opened, tmp_path: Path) -> None:
    """Made while the pages are served as the handbook says it, put back after a loss: the same
    people come in, with what they were signed in by."""
    clerk = opened("clerk", name="A. Clerk")
    file, copy = Path(f"{clerk.place}.people"), tmp_path / "people-copy.db"
    assert "s.connect('fleet.db.people').backup(s.connect(" in handbook.page("serving").text
    with sqlite3.connect(file) as one, sqlite3.connect(copy) as other:
        one.backup(other)
    one.close()
    other.close()
    for end in ("", "-wal", "-shm"):
        Path(f"{file}{end}").unlink(missing_ok=True)
    assert clerk.get("/vans").status_code == 503
    shutil.copy(copy, file)
    assert clerk.get("/vans").status_code == 200
    sent = clerk.client.post("/enter", data={"name": "A. Clerk", "password": PASSWORD})
    assert sent.status_code == 303
    assert file.read_bytes()[18] == 2  # SQLite's format, 1.3: kept with a log, as before


def test_every_event_of_the_log_is_told() -> None:
    """The table of the handbook has each word that the log uses, and no other."""
    table = handbook.page("serving").text.partition("| event |")[2].partition("\n\n")[0]
    told = {word.strip() for row in table.splitlines()[2:] for word in row.split("|")[1].split(",")}
    folder = Path(gate.__file__).parent.parent / "web"
    used = set()
    for path in folder.glob("*.py"):
        text = path.read_text("utf-8")
        for call in re.findall(r"\blog\((.*?)[,)]", text):
            used |= set(re.findall(r'"([^"]+)"', call))
    assert told == used
