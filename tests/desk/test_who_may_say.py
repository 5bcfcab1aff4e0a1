"""Who may say that it is sound: whose signature, whose waiver, whose look after an alarm."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from fleetcare.desk import calls, questions
from fleetcare.rules.party import NO_BIKES
from fleetcare.rules.read import read_book
from fleetcare.shipped import rulebook_files
from tests.typed import refused, typed_all

D = dt.date.fromisoformat
ON = D("2026-08-01")
H1 = "hire add V01 --from 2026-08-01 --through 2026-08-03 --ref H1"
SIGNS_ALONE = "--by: whoever mends it does not sign it alone: "


def _type(place: str, *lines: str, day: str = "2026-08-01") -> str:
    return typed_all(place, list(lines), D(day))


def _hireable(place: str, ref: str | None = None) -> str:
    days = (None, None) if ref else (ON, D("2026-08-03"))
    return questions.hireable(place, "V01", calls.Question(*days, NO_BIKES, ON, ref)).hireable


def test_what_stops_hire_is_signed_once_it_was_mended(good: str) -> None:
    """A signature under nothing releases nothing; that there was no fault is said in words."""
    _type(good, 'defect report V01 --grade dangerous "brake hose bulging"')

    assert refused(good, 'defect sign-off 30 --by "C. Jones"') == (
        "words: #30 is dangerous and no repair of it is recorded. Record it with: fleetcare defect "
        "repair 30 --by NAME. Where there was no fault, say so in words"
    )
    _type(good, 'defect sign-off 30 --by "C. Jones" "no fault: it is the sleeve that bulges"')
    assert _hireable(good) == "yes"
    _type(good, 'defect report V01 --grade minor "blind"', 'defect sign-off 32 --by "C. Jones"')


def test_a_dangerous_defect_is_signed_by_another_than_who_mended_it(
    good: str, tmp_path: Path
) -> None:
    """By name, by the number of an inspector, and where the repair is typed after the signature."""
    (tmp_path / "photo.png").write_bytes(b"\x89PNG\r\n\x1a\n0000")
    _type(
        good, 'defect report V01 --grade dangerous "brake"', 'defect repair 30 --by "A. Fitter"',
        f"attach 30 {tmp_path}/photo.png",
    )  # fmt: skip
    words = f"{SIGNS_ALONE}of a dangerous defect somebody else signs"

    assert refused(good, 'defect sign-off 30 --by "A. Fitter"') == words
    assert refused(good, 'defect sign-off 30 --by "A. Fitter" "tried on the road"') == words
    assert refused(good, 'defect sign-off 30 --by "a.  fitter"') == words
    _type(good, 'defect sign-off 30 --by "C. Jones"')
    assert refused(good, 'defect repair 30 --by "C. Jones"') == words
    assert refused(good, 'correct 31 --by "C. Jones" "wrong name"') == words


def test_a_firm_of_one_mechanic_keeps_a_photo_of_what_is_signed(good: str, tmp_path: Path) -> None:
    """A major defect may be signed by whoever mended it, with a paper or photo."""
    (tmp_path / "photo.png").write_bytes(b"\x89PNG\r\n\x1a\n0000")
    _type(good, 'defect report V01 --grade major "wiper"', 'defect repair 30 --by "C. Jones"')

    assert refused(good, 'defect sign-off 30 --by "C. Jones"') == (
        f"{SIGNS_ALONE}let somebody else sign, or keep a paper or photo of it first with: fleetcare "
        "attach 30 FILE"
    )
    _type(good, f"attach 30 {tmp_path}/photo.png", 'defect sign-off 30 --by "C. Jones"')
    assert _hireable(good) == "yes"


def test_a_file_of_facts_is_held_to_the_same(good: str, tmp_path: Path) -> None:
    """Loaded from another program, one who mended does not sign alone either."""
    lines = [
        '{"kind":"defect","van":"V01","on":"2026-07-01","grade":"dangerous","words":"x","id":"d"}',
        '{"kind":"repair","van":"V01","defect":"d","on":"2026-07-02","by":"C. Jones"}',
        '{"kind":"sign-off","van":"V01","defect":"d","on":"2026-07-03","by":"C. Jones"}',
    ]
    (tmp_path / "facts.jsonl").write_text("\n".join(lines))

    assert refused(good, f"load {tmp_path}/facts.jsonl") == (
        f"{tmp_path}/facts.jsonl:3 by: whoever mends it does not sign it alone: of a dangerous "
        "defect somebody else signs"
    )


def test_a_waiver_is_given_by_whom_the_firm_names(good: str, tmp_path: Path) -> None:
    """By nobody where nobody is named; by no other name; and it holds for that hire."""
    _type(good, H1.replace("08-01", "08-31").replace("08-03", "09-02"), day="2026-08-01")
    waive = 'hire waive H1 stood "looked over, short of staff" --by "C. Jones"'
    named = (
        'Name who answers for it there: may_waive = ["NAME"] under [settings], taken in with: '
        "fleetcare rules adopt FILE"
    )

    assert refused(good, waive) == f"--by: may not waive: the firm names nobody. {named}"
    (tmp_path / "firm.toml").write_text('[settings]\nmay_waive = ["O. Wner"]\n')
    assert "Changed: who may waive, O. Wner." in _type(good, f"rules adopt {tmp_path}/firm.toml")
    assert refused(good, waive) == (f"--by: may not waive: the firm's file names O. Wner. {named}")
    assert "waived for H1" in _type(good, waive.replace("C. Jones", "O. Wner"))


def test_what_can_hurt_is_waived_by_nobody() -> None:
    """Law, gas, CO, fire, 230 V, wheel nuts, tyres over age, racks, papers for another country; what
    is left is comfort, looks and practice without danger."""
    book = read_book(rulebook_files())

    assert {rule.name for rule in book.rules.values() if rule.waivable} == {
        "habitation-service", "open-defects", "first-aid-kit", "first-aid-kit-state", "tread-to-go-out",
        "stood", "tyre-pressure", "handover-sheet",
    }  # fmt: skip
    defects = next(rule for rule in book.rules.values() if rule.name == "open-defects")
    assert defects.waivable == ("recheck overdue",)  # a minor one that waited too long, no other
    graded = [v.source.grade for r in book.rules.values() if r.waivable for v in r.versions]
    assert set(graded) == {"practice"}


def test_a_reading_short_of_the_firms_practice_may_be_waived(good: str, tmp_path: Path) -> None:
    """2.9 mm is lawful and short of the 3 mm to go out: known, and waived by name; 1.5 mm is not."""
    (tmp_path / "firm.toml").write_text('[settings]\nmay_waive = ["O. Wner"]\n')
    low = "record V01 walkaround --pass --by W"
    for place in ("front-left", "front-right", "rear-left", "rear-right"):
        low += f" --reading tread:{place}={'2.9mm' if place == 'front-left' else '6.1mm'}"
    _type(good, f"rules adopt {tmp_path}/firm.toml", H1, low)
    assert _hireable(good, "H1") == "no"
    _type(good, 'hire waive H1 tread-to-go-out "back tomorrow" --place front-left --by "O. Wner"')
    assert _hireable(good, "H1") == "yes"


def test_a_co_alarm_is_nobodys_to_clear_but_the_engineers(good: str) -> None:
    """Anybody's inspection leaves the van where it is; a battery that chirps is no event."""
    _type(
        good, 'event V01 co-alarm --on 2026-08-01 "twice, heater on"',
        'record V01 inspection --pass --by "C. Jones"',
        'record V01 gas-inspection --pass --by "C. Jones"',
    )  # fmt: skip
    assert _hireable(good) == "no"
    _type(good, 'record V01 gas-inspection --pass --by "A. Fitter"', day="2026-08-02")
    assert questions.hireable(
        good, "V01", calls.Question(D("2026-08-02"), D("2026-08-03"), NO_BIKES, D("2026-08-02"))
    ).hireable == "yes"  # fmt: skip


def test_a_release_days_before_its_hire_is_asked_back(good: str) -> None:
    """The wrong reference is an easy slip: a van let go twelve days early says so first."""
    _type(good, H1.replace("08-01", "08-08").replace("08-03", "08-10"))

    assert refused(good, "hire out H1 --by W --odometer 1000mi") == (
        'ref: H1 begins 2026-08-08: it would go 7 days early\nIf it is true, add: --even-so "why"'
    )


def test_what_is_not_known_is_not_told_as_broken(good: str) -> None:
    """A van out of which a fact was taken back: the hirer is asked to read it, and not to unload."""
    _type(good, H1)
    shown = _type(good, 'correct 8 --clear load-index "read wrong"', day="2026-08-02")

    assert "tell the hirer: Not known: " in shown
    assert "unload" not in shown.lower()


def test_a_failed_electrical_inspection_is_closed_by_a_card(good: str) -> None:
    """Neither a pass nor the items signed by a name without one close what failed."""
    _type(
        good, "van change V01 --mains --on 2026-01-01",
        'record V01 electrical --on 2026-07-01 --fail --by "E. Spark" --major "socket loose"',
        'defect repair 32 --by "C. Jones" --on 2026-07-01',
        'defect sign-off 32 --by "E. Spark" --on 2026-07-02',
    )  # fmt: skip
    assert "on Sat 1 Aug 2026: failed" in _type(good, "why V01 electrical-inspection")
    assert "Kept, and does not count for electrical inspection: no inspector" in _type(
        good, 'record V01 electrical --on 2026-07-03 --pass --by "E. Spark"'
    )
    assert "on Sat 1 Aug 2026: failed" in _type(good, "why V01 electrical-inspection")
    _type(good, 'inspector add "E. Volt" --scope electrical --from 2020-01-01')
    _type(good, 'record V01 electrical --on 2026-07-04 --pass --by "E. Volt"')
    assert "on Sat 1 Aug 2026: in date" in _type(good, "why V01 electrical-inspection")


def test_a_gas_check_says_what_it_left_out(good: str) -> None:
    """One that names the hob alone says that the heater is unchecked, and how to name it."""
    shown = _type(
        good, 'record V01 gas-safety --pass --by "A. Fitter" --certificate G9 --result hob=pass'
    )

    assert (
        "It names no result for heater (last Sun 10 Aug 2025, #21): what it leaves out it does not "
        "check. Add it with: fleetcare correct 30 --reading result:heater=pass WHY"
    ) in shown
    _type(good, 'correct 30 --reading result:heater=pass "it was on the sheet"')
    assert "in date, last day Tue 10 Aug 2027" in _type(good, "why V01 gas-safety-check")


def test_what_is_of_brakes_or_gas_is_closed_by_somebody_with_a_card(good: str) -> None:
    """Said to be of brakes, a defect is released by a mechanic of the book alone; words that name
    one are asked back; what was found before topics were asked for is anybody's, as it was."""
    day = "2026-11-23"
    _type(good, 'defect report V01 --grade major "brake hose perished"', day="2026-11-19")
    _type(good, 'defect repair 30 --by "A. Smith"', 'defect sign-off 30 --by "C. Jones"', day=day)
    assert _open(good, "#30") == ["not applicable"]

    assert refused(good, 'defect report V01 --grade major "Brake pulls"', D(day)) == (
        '--about: "brake" sounds like brakes: say so with about brakes; of something else, with '
        "about other"
    )
    _type(good, 'defect report V01 --grade major --about brakes "Brake pulls"', day=day)
    said = _type(
        good, 'defect repair 33 --by "A. Smith"', 'defect sign-off 33 --by "C. Jones"', day=day
    )
    assert (
        "Kept, and does not release it: no inspector of the book is named. What is of brakes is "
        'signed off by somebody with a card for "vehicle": fleetcare inspector add NAME --scope '
        "vehicle --from DAY" in said
    )
    assert _open(good, "#33") == ["failed"]
    _type(good, 'inspector add "M. Echanic" --scope vehicle --from 2026-01-01', day=day)
    _type(good, 'defect sign-off 33 --by "M. Echanic"', day=day)
    assert _open(good, "#33") == ["not applicable"]


def test_what_a_check_found_is_of_the_topic_its_words_name(good: str) -> None:
    """Brakes found bad on a walkaround are no yard hand's to pass, nor a clerk's to sign."""
    day = "2026-11-23"
    said = _type(
        good,
        'record V01 walkaround --fail --by W --at 09:00 --dangerous "brake pipe burst"',
        day=day,
    )
    assert '#31 dangerous: "brake pipe burst" (taken to be of brakes).' in said
    _type(good, "record V01 walkaround --pass --by W --at 10:00", day=day)
    _type(good, 'defect sign-off 31 "no fault found" --by "C. Jones"', day=day)
    assert _open(good, "#31") == ["failed"]
    assert refused(good, 'correct 31 --about other "slip"', D(day)) == (
        "--about: #31 was signed off as being of brakes: withdraw that signature first (#33)"
    )
    assert refused(good, 'correct 31 --grade advisory "slip"', D(day)) == (
        "--about: #31 was signed off as being of brakes: withdraw that signature first (#33)"
    )
    assert refused(good, 'defect report V01 --grade major --about lights "brake gone"', D(day)) == (
        '--about: "brake" sounds like brakes: say so with about brakes; of something else, with '
        "about other"
    )


def test_an_advisory_may_be_of_brakes_too(good: str) -> None:
    """It is anybody's to close, and said to be of brakes it is not asked back again."""
    day = "2026-11-23"
    _type(good, 'defect report V01 --grade advisory --about brakes "brake squeals"', day=day)
    _type(good, 'defect sign-off 30 --by "C. Jones"', day=day)

    assert _open(good, "#30") == ["not applicable"]


def _open(place: str, which: str) -> list[str]:
    found = questions.why_rule(place, "V01", "open-defects", D("2026-11-23"))
    return [why.standing for why in found if why.place == which]


def test_a_blocked_flue_is_cleared_by_the_engineer_alone(good: str) -> None:
    """Anybody's "sound" is kept and said not to clear it, which `why` says too; what a van without
    a blocked one reads is anybody's."""
    day = "2026-11-22"
    flue = "record V01 habitation --pass --by"
    assert "clear" not in _type(good, f'{flue} "C. Jones" --reading flue:heater=sound', day=day)
    _type(good, f'{flue} "C. Jones" --reading flue:heater=blocked', day="2026-11-23")

    assert (
        "Kept, and does not clear what was read before (#31): whoever clears that shows a card for "
        '"lpg-leisure-vehicle".'
    ) in _type(good, f'{flue} "C. Jones" --reading flue:heater=sound', day="2026-11-24")
    shown = " ".join(_type(good, "why V01 flue", day="2026-11-24").split())
    assert (
        "flue of each appliance read blocked, must be sound; Mon 23 Nov 2026 (#31, C. Jones); only "
        'somebody with a card for "lpg-leisure-vehicle" clears it'
    ) in shown
    cleared = 'record V01 gas-inspection --pass --by "A. Fitter" --reading flue:heater=sound'
    assert "clear" not in _type(good, cleared, day="2026-11-24")
    assert "in date" in _type(good, "why V01 flue", day="2026-11-24")
