"""Every command into a pipe that nobody reads ends with the code of its answer."""

from __future__ import annotations

import importlib
import json
import os
import shutil
import sys
from pathlib import Path

import pytest

from fleetcare.cli.app import COMMANDS
from fleetcare.desk import trust
from tests.cli.conftest import READ, Typed, records

UNREAD = "Caution: standard output can't be written: Broken pipe. This was done:"

# Of every command that there is, lines on the sample fleet: the first does its work.
LINES: dict[str, tuple[str, ...]] = {
    "init": ("--db new.db init", "init"),
    "handbook": ("handbook", "handbook yard", "handbook yrd"),
    "demo": (),  # builds the whole sample: once is enough, below
    "van add": ("van add V77 --jurisdiction gb", "van add V01 --jurisdiction gb"),
    "van change": ("van change V01 --belted-seats 4", "van change V99 --seats 5"),
    "van lay-up": ('van lay-up V11 "SORN" --from 2026-11-30',),
    "van gone": ('van gone V12 --on 2026-11-23 "sold"',),
    "van list": ("van list", "--db none.db van list"),
    "van show": ("van show V01", "van show V99"),
    "fit": ("fit V01 fire-blanket kitchen", "fit V01 sail mast"),
    "take-off": ("take-off V01 fire-blanket kitchen",),
    "odometer": ("odometer V01 99000mi --even-so new", "odometer V01 9 --dry-run"),
    "inspector add": ('inspector add "N. Ewer"', 'inspector add "Jory Pellwick"'),
    "record": ('record V01 habitation --pass --by "Jory Pellwick" --dry-run',
               'record V01 habitation --pass --by "Jory Pellwick"', "record V01 nothing --pass"),
    "attach": ("attach 650 scan.png", "attach 650 none.png"),
    "defect report": ("defect report V01 --grade minor Blind", "defect report V01 Blind"),
    "defect repair": ('defect repair 731 --by "Jory Pellwick"',),
    "defect sign-off": ('defect sign-off 731 --by "Jory Pellwick"',),
    "defect recheck": ('defect recheck 731 --by "Jory Pellwick" --next 2026-12-20',),
    "hold set": ("hold V01 --from 2026-12-01 glass", "hold V99 --from 2026-12-01 glass"),
    "hold lift": ('hold lift 99999 --by "Jory Pellwick"',),
    "event": ("event V01 knock gatepost",),
    "recall set": ("recall V01 R-1 --do-by 2027-02-28 belt",),
    "recall done": ("recall done 1 --by F --certificate W",),
    "hire add": ("hire add V12 --from 2027-08-02 --through 2027-08-09 --ref H200",
                 "hire add V12 --from 2027-03-27 --through 2027-04-03 --ref H201"),
    "hire list": ("hire list", "hire list --from 2026-12-02 --through 2026-12-01"),
    "hire change": ('hire change H148 --through 2027-04-05 "two days more"',),
    "hire cancel": ('hire cancel H148 "not coming"', 'hire cancel H148 "not coming" --dry-run'),
    "hire driver": (
        "hire driver H148 --licence B --until 2040-01-01 --shown photocard",
        "hire driver H148 --licence Z --until 2040-01-01 --shown photocard",
    ),
    "hire out": ('hire out H141 --by "Wilf Tansley" --odometer 99000mi --even-so new',),
    "hire back": ("hire back H136 --odometer 69500mi", "hire back H148 --odometer 69500mi"),
    "hire waive": ('hire waive H143 stood "looked at" --by "Odo Thackwray"',),
    "hire swap": (
        'hire swap H136 --to V01 --where "A66" --odometer 69500mi --by "Wilf Tansley" "clutch"',
        'hire swap H148 --to V01 --where "A66" --odometer 69500mi --by "Wilf Tansley" "clutch"',
    ),
    "work book": (
        "work book V12 --from 2026-12-01 --where Fell --for electrical",
        "work book V12 --from 2027-03-28 --where Fell",
    ),
    "work list": ("work list", "--db none.db work list"),
    "expect": ("expect V12 habitation --due 2027-05-30", "expect V12 nothing --due 2027-05-30"),
    "prepare": ("prepare V01 H141 --sheet sheet.txt", "prepare V01 H141"),
    "handover": ("handover V01 H141 --sheet sheet.txt", "handover V01 H141"),
    "return": ("return V05 H135 --sheet sheet.txt", "return V05 H135 --from-file scan.png"),
    "sheet blank": ("sheet blank vans",),
    "sheet draft": ("sheet draft Defects.csv", "sheet draft none.csv"),
    "sheet read": ("sheet read Defects.csv", "sheet read Defects.csv --json", "sheet read a.csv"),
    "withdraw": ("withdraw 731 wrong", "withdraw 99999 wrong"),
    "correct": ('correct 731 "no" --words "bumper cracked"',),
    "erase": ('erase --name "Nobody" "asked for it"',),
    "due": ("due", "due --json", "due -o due.txt", "due -o no/due.txt"),
    "hireable": ("hireable V01 --from 2027-01-02 --through 2027-01-03",
                 "hireable V01 --from 2027-01-02 --through 2027-01-03 --keep",
                 "hireable V07 --from 2027-01-02 --through 2027-01-03",
                 "hireable V07 --from 2027-01-02 --through 2027-01-03 --json",
                 "hireable V99 --from 2027-01-02 --through 2027-01-03"),
    "diary": ("diary", "diary --weeks 99"),
    "who-had": ("who-had V05 --at 2026-11-14T15:20", "who-had V03 --at 2026-11-18T23:59"),
    "missing": ("missing V07", "missing V03", "missing V99"),
    "why": ("why V01 gas-safety", "why V01 gas-saftey"),
    "history": ("history V01",),
    "answers": ("answers V01",),
    "rules list": ("rules list",),
    "rules kinds": ("rules kinds",),
    "rules preview": ("rules preview", "rules preview firm.toml"),
    "rules show": ("rules show gas-safety-check",),
    "rules check": ("rules check", "rules check none.toml"),
    "rules adopt": ("rules adopt firm.toml",),
    "calc tyre-date": ("calc tyre-date 3026", "calc tyre-date 9999"),
    "calc load-index": ("calc load-index 121",),
    "weigh": ("weigh V01 --people 2", "weigh V01 --people 9 --luggage-kg 900 --json"),
    "weighed": ('weighed V01 --front 1600kg --rear 1500kg --by N --as driver',
                'weighed V01 --front 1600 --rear 1500kg --by N --as driver'),
    "calc axle-load": ("calc axle-load --front-kg 1500 --rear-kg 2000 --wheelbase-mm 3000 "
                       "--load-kg 150 --behind-rear-axle-mm 1000",),
    "which": ("which --from 2027-01-02 --through 2027-01-03",
              "which --from 2027-01-02 --through 2027-01-03 --bikes 20 --json",
              "which --from 2027-01-02"),
    "calc vin": ("calc vin 1G4AH59H45G118341",),
    "export insurers": ("export insurers",),
    "export calendar": ("export calendar",),
    "mail due": ("mail due --to owner@example.org --smtp localhost:1", "mail due --to owner"),
    "pack": ("pack V01 --from 2026-08-01 --through 2026-08-14",),
    "picture": ("picture fleet", "picture V99"),
    "completion": ("completion bash", "completion none"),
    "label": ("label V01",),
    "serve": ("serve --check", "--db none.db serve --check", "serve --check --host 0.0.0.0"),
    "person add": ('person add "O. Owner" --role owner', "person add X --role boss"),
    "person list": ("person list",),
    "person link": ('person link "Nobody"',),
    "person roles": ('person roles "Nobody" --role yard',),
    "person remove": ('person remove "Nobody"',),
    "person end-pin": ('person end-pin "Nobody"',),
    "person end-passkeys": ('person end-passkeys "Nobody"',),
    "status": ("status",),
    "verify": ("verify", 'verify --tally "5 0000-0000"'),
    "witness": ("witness --to witness.jsonl", "witness"),
    "prove": ("prove 57", "prove 99999"),
    "backup": ("backup -o second.db", "backup"),
    "backup check": ("backup check copy.db", "backup check scan.png"),
    "restore": ("restore copy.db --into new.db", "restore copy.db --into copy.db"),
    "dump": ("dump -o fleet.jsonl", "dump -o -"),
    "load": ("load facts.jsonl", "load firm.toml"),
}  # fmt: skip


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory, sample_file: Path) -> Path:
    """A folder with the sample's book and what its commands are given."""
    folder = tmp_path_factory.mktemp("desk")
    shutil.copy(sample_file, folder / "fleet.db")
    shutil.copy(Path(__file__).parents[2] / "sample_db" / "firm.toml", folder)
    trust.back_up(str(folder / "fleet.db"), str(folder / "copy.db"))
    (folder / "scan.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(64))
    (folder / "Defects.csv").write_text(
        "Van,Found on,Grade,Words\nV01,2026-11-20,minor,blind sticks\n"
    )
    (folder / "facts.jsonl").write_text(
        '{"kind":"defect","van":"V01","on":"2026-11-20","grade":"minor","words":"lamp"}\n'
    )
    return folder


def _verbs() -> set[str]:
    """Every command and subcommand there is, by its words."""
    found = set()
    for name, (module, *_) in COMMANDS.items():
        command = importlib.import_module(f"fleetcare.cli.{module}").COMMANDS[name]
        verbs = getattr(command, "commands", None)
        found |= {f"{name} {verb}" for verb in verbs} if verbs else {name}
        if verbs and command.invoke_without_command:
            found.add(name)
    return found


def test_no_command_is_left_out() -> None:
    """The lines below are of every command and subcommand."""
    assert set(LINES) == _verbs()


def test_a_closed_pipe_ends_with_the_code_of_the_answer(typed: Typed, desk: Path) -> None:
    """Every command ends as it does where it is read, and quietly; what was written down is there
    all the same, and told on standard error."""
    lines = json.dumps([line for listed in LINES.values() for line in listed])
    script = str(Path(__file__).with_name("sweep.py"))
    swept = typed.run([sys.executable, script, str(desk)], input=lines)
    ended = json.loads(swept.out)
    held = records(desk)
    writes = {line for line, (read, _) in ended.items() if read["records"] > held}
    unread = {line: piped["err"] for line, (_, piped) in ended.items()}

    assert swept.err == ""
    assert {(line, piped["code"], piped["records"]) for line, (_, piped) in ended.items()} == {
        (line, read["code"], read["records"]) for line, (read, _) in ended.items()
    }
    assert {read["code"] for read, _ in ended.values()} == {0, 2, 3, 4, 5}
    assert [line for line, err in unread.items() if "Traceback" in err or "ignored" in err] == []
    assert len(writes) > 20
    for line in writes - {line for line in writes if "--keep" in line or "--json" in line}:
        caution, _, told = unread[line].partition("\n")
        assert (caution, told[:1] in "#L") == (UNREAD, True), line
        assert ended[line][0]["out"].startswith(told), line


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("--help", 0), ("demo", 0), ("due", 0), ("hireable V01 --from 2027-01-02 --through 2027-01-03", 3),
        (READ, 0), ("van show V99", 4), ("--db none.db due", 5), ("van", 0), ("due --on x", 2),
    ],
)  # fmt: skip
def test_a_process_of_its_own_ends_so_too(
    small: Typed, tmp_path: Path, line: str, code: int
) -> None:
    """What the interpreter flushes at its end changes no code and says nothing."""
    reader, writer = os.pipe()
    os.close(reader)
    begun = small.begun(line, writer)
    os.close(writer)
    _, err = begun.communicate()

    assert begun.returncode == code
    assert (b"Traceback" in err, b"ignored" in err) == (False, False)
    assert records(tmp_path) == (3 if line == READ else 2)
