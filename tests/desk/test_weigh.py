"""What a van carries, as typed: the ticket, each figure, what to leave behind, the booking."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal

import pytest

from fleetcare.desk import questions
from fleetcare.desk import weigh as desk
from fleetcare.desk.calls import Question
from fleetcare.errors import Declined
from fleetcare.rules.party import Party
from tests.typed import refused, typed, typed_all

PLACES = (
    'van change V01 --rear-overhang 2070mm --gas-mass 29kg --front-seats-at "3100mm ahead" '
    '--rear-seats-at "1500mm ahead" --water-tank-at "300mm ahead" --luggage-at "1100mm behind" '
    "--belted-seats 4"
)
TICKET = (
    'weighed V01 --on 2026-07-01 --front 1569kg --rear 1520kg --by "C. Jones" '
    '--as "driver, full fuel, no water, full gas"'
)


ON = dt.date(2026, 8, 1)
DAYS = "--from 2026-08-05 --through 2026-08-08"


@pytest.fixture
def weighed(good: str) -> str:
    """The good van with its loads placed and its ticket written down."""
    typed_all(good, [PLACES, TICKET])
    return good


def test_a_ticket_is_a_weighing(good: str) -> None:
    """It is written down as the check it is, and counts from its day."""
    said = typed(good, TICKET)

    assert said.splitlines()[0] == "#30 V01: weighing recorded Wed 1 Jul 2026."


def test_every_fault_of_a_ticket_is_told_at_once(good: str) -> None:
    """Words that say nothing, twice said, and masses without a unit."""
    found = refused(
        good,
        'weighed V01 --front 1600kg --rear 1500kg --by X --as "driver, driver, half full"',
    )

    assert found.splitlines() == [
        '--as "driver": is said twice',
        '--as "half full": say of each: driver, no driver, full fuel, part fuel, no fuel, no water, '
        "full gas, part gas, no gas, or water with its litres, like water 40l",
    ]
    figures = refused(good, 'weighed V01 --front 1600 --rear 99kg --by X --as "driver, water 5"')
    assert figures.splitlines() == [
        '--as: "5" has no unit: type it as in 20l, 20000cm3 or 20000ml',
        '--front: "1600" has no unit: type it as in 3500kg, 3.5t or 7716lb',
    ]


def test_a_party_that_must_leave_an_e_bike_behind_is_told_so(weighed: str) -> None:
    """60 kg of e-bikes and 110 kg of luggage: one e-bike, or so much else, is too much."""
    party = Party(0, 2, people=4, luggage_kg=_kg(110), water_l=_kg(40))
    report = desk.weigh(weighed, "V01", party, None)

    assert report.fits == "no"
    assert [
        (one.what, str(one.value), str(one.limit), str(one.margin)) for one in report.figures
    ] == [
        # 3,089 weighed + 3 × 75 + 110 + 40 + 60
        ("in all", "3524", "3500", "-24"),
        ("front axle", "1627.117", "1850", "222.883"),
        ("rear axle", "1926.624", "2000", "73.376"),
        ("tyres of the front axle", "1627.117", "2240", "612.883"),
        ("tyres of the rear axle", "1926.624", "2240", "313.376"),
        ("rack rear", "60", "60", "0"),
        ("rear overhang", "2070", "2421", "351"),
    ]
    assert report.leave_behind == (
        (("e-bikes", 1, 30),),
        (("luggage", 24, 24),),
        (("water", 24, 24),),
    )


def _kg(figure: int) -> Decimal:
    return Decimal(figure)


def test_what_is_left_behind_together_is_no_more_than_is_needed(weighed: str) -> None:
    """Where no single thing is enough: all the water, then as much luggage as it takes."""
    party = Party(0, 0, people=4, luggage_kg=_kg(200), water_l=_kg(60))
    report = desk.weigh(weighed, "V01", party, None)

    assert report.fits == "no"
    assert report.leave_behind == ((("luggage", 74, 74),),)

    more = party._replace(water_l=_kg(100), luggage_kg=_kg(120))
    assert desk.weigh(weighed, "V01", more, None).leave_behind == (
        (("luggage", 34, 34),), (("water", 34, 34),),
    )  # fmt: skip
    both = party._replace(water_l=_kg(300), luggage_kg=_kg(250))
    assert desk.weigh(weighed, "V01", both, None).leave_behind == (
        (("water", 300, 300), ("luggage", 64, 64)),
    )


def test_by_the_plate_alone_nobody_can_say(good: str) -> None:
    """The whole is told with the five per cent it may be out by, the axles are not."""
    typed(good, "van change V01 --running-order-mass 2950kg")

    report = desk.weigh(good, "V01", Party(people=2, luggage_kg=_kg(100)), None)

    assert report.fits == "cannot say"
    assert [(f.what, f.value, f.says) for f in report.figures[:2]] == [
        ("in all", 3125, ""),
        (
            "front axle",
            None,
            "cannot say: what stands on each axle is not known: weigh the van axle by axle and "
            "write it down: fleetcare weighed V01 --front KG --rear KG --by NAME "
            '--as "driver, full fuel, no water, full gas"',
        ),
    ]
    assert report.cautions == (
        "a plated mass may be 5 % out: the van may be 148 kg heavier, with 228 kg left; weigh it",
        "Weights are checked on a weighbridge, the maker's limits win, and the driver answers for "
        "the load.",
    )


def test_a_booking_keeps_its_load_and_is_held_to_it(weighed: str) -> None:
    """A load that is too much stops the booking; a lighter one goes, and its change is heard."""
    booking = f"hire add V01 {DAYS} --ref H1 --people 4"
    with pytest.raises(Declined) as no:
        typed(weighed, f"{booking} --luggage-kg 200 --water-l 60", ON)
    assert (
        "laden mass in all: failed. 3,574 kg, 74 kg more than the 3,500 kg it may weigh "
        "(weighed, #31)" in str(no.value)
    )
    assert "What would go: the same without 74 kg of luggage." in str(no.value)

    said = typed(weighed, f"{booking} --luggage-kg 100 --water-l 40", ON)
    assert said.splitlines()[0] == (
        "#32 V01: hire H1 from Wed 5 Aug 2026 through Sat 8 Aug 2026, 4 people, luggage 100kg, "
        "water 40l."
    )
    with pytest.raises(Declined, match="laden mass in all: failed"):
        typed(weighed, "hire change H1 --luggage-kg 250", ON)


def test_people_alone_stop_a_van_that_they_overload(good: str) -> None:
    """Nobody asked about the load; four people are too many for this plate all the same."""
    typed(good, "van change V01 --running-order-mass 3290kg --belted-seats 5")

    def asked(people: int) -> list[tuple[str, str]]:
        question = Question(dt.date(2026, 8, 5), dt.date(2026, 8, 8), Party(people=people), ON)
        return [(b.title, b.reason) for b in questions.hireable(good, "V01", question).blocking]

    assert asked(4) == [
        (
            "laden mass in all",
            "3,515 kg, 15 kg more than the 3,500 kg it may weigh (by the plated mass in running "
            "order)",
        )
    ]
    assert asked(3) == []


def test_the_keys_programs_rely_on(weighed: str) -> None:
    """As JSON, with exit 0 where it fits."""
    found = json.loads(
        typed(weighed, "weigh V01 --on 2026-08-01 --people 2 --luggage-kg 50 --json")
    )

    assert list(found) == ["van", "fits", "figures", "leave_behind", "base", "cautions"]
    assert (found["van"], found["fits"], found["leave_behind"]) == ("V01", "yes", [])
    assert found["figures"][0] == {
        "what": "in all", "value": 3214.0, "limit": 3500.0, "margin": 286.0, "unit": "kg",
        "says": "",
    }  # fmt: skip


def test_a_front_axle_that_bears_little_is_told(good: str) -> None:
    """Under thirty per cent on the wheels that steer: a caution, and the maker's figure wins."""
    light = TICKET.replace("1569kg", "760kg").replace("1520kg", "1800kg")
    typed_all(good, [PLACES, light])

    report = desk.weigh(good, "V01", Party(people=1, luggage_kg=_kg(60)), None)

    assert report.fits == "yes"
    # 760 - 60 × 1,100/4,035 = 744 of 2,620
    assert report.cautions[0] == (
        "only 28 % stands on the front axle, which steers: 30 % is common practice, its maker's "
        "figure wins"
    )


def _fits(place: str, luggage: int, water: int = 0, people: int = 1) -> str:
    party = Party(people=people, luggage_kg=_kg(luggage), water_l=_kg(water))
    return desk.weigh(place, "V01", party, None).fits


def test_a_heavier_ticket_counts_passed_or_failed_named_or_not(weighed: str) -> None:
    """What it weighs it weighs; one by nobody named makes for doubt, never for a yes."""
    assert _fits(weighed, 20) == "yes"
    typed(weighed, "record V01 weighing --on 2026-07-05 --reading weighed-front=1500kg "
          "--reading weighed-rear=1500kg --reading weighed-gas=full --reading weighed-fuel=full "
          '--reading weighed-driver=aboard --by "C. Jones" --fail')  # fmt: skip
    assert _fits(weighed, 20) == "yes"
    typed(weighed, "record V01 weighing --on 2026-07-06 --reading weighed-front=1900kg "
          "--reading weighed-rear=2300kg --reading weighed-gas=full --reading weighed-fuel=full "
          '--reading weighed-driver=aboard --by "C. Jones" --fail --even-so wet')  # fmt: skip

    assert _fits(weighed, 20) == "no"


def test_a_van_over_its_plate_goes_with_nobody(weighed: str) -> None:
    """Of a party that says nothing it is still known that the van is too heavy."""
    typed(weighed, TICKET.replace("1520kg", "1990kg").replace("07-01", "07-09"))

    question = Question(dt.date(2026, 8, 5), dt.date(2026, 8, 8), Party(), ON)
    found = questions.hireable(weighed, "V01", question)
    assert [b.title for b in found.blocking] == ["laden mass in all"]


def test_a_tag_axle_that_is_not_said_is_never_left_out(weighed: str) -> None:
    """A figure for it on the ticket counts, and the van that is said to have none is doubted."""
    typed(weighed, TICKET.replace("1520kg", "900kg --tag 900kg").replace("07-01", "07-09"))

    report = desk.weigh(weighed, "V01", Party(people=1, luggage_kg=_kg(20)), None)
    assert report.fits == "cannot say"
    assert str(report.figures[0].value) == "3389"
    assert report.figures[0].says == (
        "cannot say: a tag axle was weighed (#32) and the van is said to have none: put one right"
    )


def test_each_axle_of_two_behind_is_held_to_its_own_plate(weighed: str) -> None:
    """Together they bear it; one of them alone does not, or nobody knows."""
    typed(weighed, "van change V01 --axles tag --rear-axle-mass 1500kg --tag-axle-mass 1500kg "
          "--max-mass 4500kg --even-so plate")  # fmt: skip
    heavy = TICKET.replace("1520kg", "600kg --tag 1600kg").replace("07-01", "07-09")
    typed(weighed, heavy)
    assert _fits(weighed, 20) == "no"

    near = TICKET.replace("1520kg", "600kg --tag 1490kg").replace("07-01", "07-10")
    typed(weighed, near)
    assert _fits(weighed, 20) == "cannot say"


def test_a_front_axle_lifted_off_is_a_no(weighed: str) -> None:
    """It would stand on its tail, however little the rear axle bears."""
    typed(weighed, 'van change V01 --luggage-at "6m behind" --rear-axle-mass 3000kg --even-so x')
    typed(weighed, TICKET.replace("1569kg", "700kg").replace("1520kg", "1200kg"))

    report = desk.weigh(weighed, "V01", Party(people=1, luggage_kg=_kg(480)), None)
    assert (report.fits, str(report.figures[1].limit)) == ("no", "0")


def test_a_gram_between_two_roundings_is_no_bug(weighed: str) -> None:
    """Every place known, the axle at its limit to the gram: an answer, not a fall."""
    typed(weighed, 'van change V01 --on 2026-06-20 --luggage-at "1103mm behind"')
    typed(weighed, TICKET.replace("1569kg", "1469kg").replace("1520kg", "1632kg"))

    assert _fits(weighed, 289) == "no"


def test_water_that_nobody_spoke_of_is_not_taken_for_none(weighed: str) -> None:
    """Who asks with luggage is asked for water as well; `weigh` itself takes none where none is
    said, and prints it."""
    party = Party(people=1, luggage_kg=_kg(50))
    question = Question(dt.date(2026, 8, 5), dt.date(2026, 8, 8), party, ON)
    found = questions.hireable(weighed, "V01", question)

    assert found.hireable == "cannot say"
    assert found.blocking[0].reason == "what water goes is not said: --water-l, 0 for none"
    assert desk.weigh(weighed, "V01", party, None).asked == "1 person, luggage 50kg, water 0l"


def test_a_rack_whose_place_nobody_said_hangs_behind_the_tail(good: str) -> None:
    """A bound by the body would flatter the rear axle."""
    typed_all(good, [PLACES, "fit V01 bike-rack --rating 60kg --own-mass 15kg --on 2026-06-01",
                     'record V01 rack --on 2026-06-02 --pass --by "B. Smith"',
                     TICKET.replace("1569kg", "1400kg").replace("1520kg", "1890kg")])  # fmt: skip
    party = Party(0, 2, people=1, luggage_kg=_kg(10), water_l=_kg(0))

    report = desk.weigh(good, "V01", party, None)
    assert report.fits == "cannot say"
    assert report.figures[2].says.startswith("cannot say: how far behind the rear axle the rack")


def test_slips_of_a_ticket_and_of_places_are_asked_back(good: str) -> None:
    """A digit out of place, seats on the wrong side; each is written down where it is true."""
    swapped = TICKET.replace("1520kg", "5120kg")
    assert refused(good, swapped).splitlines() == [
        '--readings "weighed-rear=5120kg": 5120kg is over a quarter more than the 2000kg plated',
        'If it is true, add: --even-so "why"',
    ]
    assert refused(good, 'van change V01 --front-seats-at "3000mm behind"').splitlines()[0] == (
        "--front-seats-at: 3000mm behind the rear axle is no place for the front seats"
    )
    assert refused(good, 'van change V01 --front-seats-at "6m ahead"').splitlines()[0] == (
        "--front-seats-at: 6m ahead is ahead of the cab: the wheelbase is 4035mm"
    )
    assert refused(good, 'van change V01 --luggage-at "7100mm behind"').splitlines()[0] == (
        '--luggage-at: "7100mm behind" is no place on a motorhome: measure from the rear axle'
    )


def test_more_people_than_seats_do_not_fit(weighed: str) -> None:
    """However little they weigh."""
    report = desk.weigh(weighed, "V01", Party(people=5), None)

    assert report.fits == "no"
    assert (report.figures[-1].what, report.figures[-1].says) == (
        "seats with belts",
        "5 people, 4 seats with belts",
    )
