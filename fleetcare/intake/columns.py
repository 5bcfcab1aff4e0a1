"""The columns of the workbooks a firm fills in: which field each is, in which unit, with what
choices. One table; the blank workbook, its notes and its reading come from it."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.records.kinds import GRADES, Check, Defect, Expectation, Fit, Hire, VanFacts


class Column(NamedTuple):
    """One column: its heading, the field it fills, and what to tell who fills it."""

    heading: str
    field: str
    note: str = ""
    unit: str = ""  # of a figure typed as a bare number
    example: str | int = ""
    choices: tuple[str, ...] = ()  # or the name of a list of the rules: "*checks"
    needed: bool = False
    bare: str = ""  # the unit a bare figure is taken in; set where a sheet's headings are read
    # A bare figure outside it is refused: common practice, no source; any motorhome is within.
    span: tuple[int, int] = (0, 10_000_000)


# Of the units of the columns.
DIMENSIONS = {"kg": "mass", "mm": "length", "psi": "pressure", "mi": "distance"}


class Table(NamedTuple):
    """One sheet to fill: its name, the kind of record a row is, its columns."""

    sheet: str
    kind: str
    record: type
    columns: tuple[Column, ...]
    asked: frozenset[str] = frozenset()  # the fields that only say what a row is to be of


_OF_WHAT = frozenset({"van", "what", "place"})
_VAN = Column("Van", "van", "Fleet number, like V01", example="V99", needed=True)
_YES = ("yes", "no")

TABLES: dict[str, Table] = {
    "vans": Table(
        "Vans", "van", VanFacts,
        (
            _VAN,
            Column("Reg", "plate", example="QI99 QQQ"),
            Column("VIN", "vin"),
            Column("Rules", "jurisdiction", "Whose rules it is under", example="gb",
                   choices=("*homes",)),
            Column("Test class", "test_class", example="motor-caravan", choices=("*test_class",)),
            Column("First registered", "first_registered_on", example="2024-05-01"),
            Column("On fleet from", "in_service_from", example="2024-05-10"),
            Column("Max mass (kg)", "max_mass", "MAM, weight plate", "kg", 3500, span=(1500, 7500)),
            Column("Front axle (kg)", "front_axle_mass", "Plate", "kg", 1850, span=(500, 5000)),
            Column("Rear axle (kg)", "rear_axle_mass", "Plate", "kg", 2000, span=(500, 5000)),
            Column("Running order (kg)", "running_order_mass", "MIRO", "kg", span=(1000, 7500)),
            Column("Height (mm)", "height", "Travelling height", "mm", 2900, span=(1500, 4500)),
            Column("Wheelbase (mm)", "wheelbase", "", "mm", span=(2000, 6000)),
            Column("Rear overhang (mm)", "rear_overhang", "", "mm", span=(300, 4500)),
            Column("Overall length (mm)", "overall_length", "", "mm", span=(4000, 12000)),
            Column("Gas (kg)", "gas_mass", "All bottles or tank, full", "kg", span=(3, 200)),
            Column("Front seats at", "front_seats_at", 'From the rear axle, like "2900mm ahead"'),
            Column("Rear seats at", "rear_seats_at"),
            Column("Water tank at", "water_tank_at"),
            Column("Luggage at", "luggage_at", 'Like "1200mm behind"'),
            Column("Service every (mi)", "service_distance", "", "mi", span=(2000, 50000)),
            Column("Oil every (mi)", "oil_distance", "", "mi", span=(2000, 50000)),
            Column("Timing belt every (mi)", "belt_distance", "", "mi", span=(20000, 200000)),
            Column("Seats", "seats"),
            Column("Seats with belts", "belted_seats"),
            Column("Berths", "berths"),
            Column("Axles", "axles", example="single", choices=("*axles",)),
            Column("Spare", "spare", example="kit", choices=("*spare",)),
            Column("LPG", "lpg", example="yes", choices=_YES),
            Column("Mains", "mains", example="no", choices=_YES),
            Column("Bike rack", "rack", example="no", choices=_YES),
            Column("Gas alarm", "gas_alarm", example="no", choices=_YES),
            Column("Gas hoses at", "places:gas-hose", 'Places, or "none"', example="locker"),
            Column("Gas appliances", "places:appliance", 'Like "hob, heater", or "none"',
                   example="hob, heater"),
            Column("Even so", "even_so", "Why, where a likely slip is true"),
        ),
        frozenset({"van"}),
    ),
    "components": Table(
        "Components", "fit", Fit,
        (
            _VAN,
            Column("Component", "what", example="tyre", choices=("*components",), needed=True),
            Column("Place", "place", "Like front-left", example="front-left", needed=True),
            Column("Fitted on", "on", example="2024-05-01", needed=True),
            Column("Made as marked", "made", "Week code of a tyre, else year, month or day",
                   example="0524"),
            Column("Replace by as marked", "replace_by"),
            Column("Type", "variety"),
            Column("Load index", "load_index", example="112"),
            Column("Speed symbol", "speed_symbol", example="R"),
            Column("Cold pressure (psi)", "cold_pressure", "", "psi", 65, span=(20, 120)),
            Column("Rating (kg)", "rating", "Of a bike rack", "kg", span=(10, 300)),
            Column("Own mass (kg)", "own_mass", "Of a bike rack", "kg", span=(1, 100)),
            Column("Even so", "even_so", "Why, where a likely slip is true"),
        ),
        _OF_WHAT,
    ),
    "checks": Table(
        "Checks", "check", Check,
        (
            _VAN,
            Column("Check", "what", example="habitation", choices=("*checks",), needed=True),
            Column("Done on", "on", example="2026-03-02", needed=True),
            Column("Ended", "outcome", "Seen: a stamp in the service book", example="pass",
                   choices=("pass", "fail", "seen")),
            Column("By", "by", example="A. Fitter"),
            Column("Place", "place", "Of a check of one component"),
            Column("Certificate", "certificate"),
            Column("First day as printed", "from_on", "Of a paper that covers days"),
            Column("Last day as printed", "last_day"),
            Column("Odometer (mi)", "odometer", "", "mi"),
            Column("Readings", "readings", "Like tread:front-left=5.2mm; damp:rooflight=12",
                   example="damp:rooflight=12"),
            Column("Even so", "even_so", "Why, where a likely slip is true"),
        ),
        _OF_WHAT,
    ),
    "due": Table(
        "Due days", "expectation", Expectation,
        (
            _VAN,
            Column("Check", "what", "Of which you have no paper yet", example="habitation",
                   choices=("*checks",), needed=True),
            Column("Due on", "due_on", "As your own list says; it is evidence of nothing",
                   example="2027-03-02", needed=True),
            Column("Place", "place", "Of a check of one component"),
        ),
        _OF_WHAT,
    ),
    "defects": Table(
        "Defects", "defect", Defect,
        (
            _VAN,
            Column("Found on", "on", example="2026-03-02", needed=True),
            Column("Grade", "grade", example="minor", needed=True,
                   choices=GRADES),
            Column("Words", "words", example="blind sticks", needed=True),
            Column("By", "by"),
            Column("Recheck by", "recheck_by"),
        ),
    ),
    "hires": Table(
        "Hires", "hire", Hire,
        (
            _VAN,
            Column("Reference", "ref", "No names of hirers", example="H999", needed=True),
            Column("From", "from_on", example="2027-05-01", needed=True),
            Column("Through", "through_on", "The day it comes back", example="2027-05-08",
                   needed=True),
            Column("Bikes", "bikes", example=2),
            Column("E-bikes", "electric_bikes"),
            Column("People", "people"),
            Column("Children under 135 cm", "children"),
            Column("Luggage (kg)", "luggage", "", "kg", span=(1, 1500)),
            Column("Water (l)", "water", "", "l", span=(0, 400)),
            Column("Fuel (l)", "fuel", "", "l", span=(0, 200)),
            Column("Even so", "even_so", "Why, where a likely slip is true"),
        ),
    ),
}  # fmt: skip


def table_of(sheet: str) -> Table | None:
    """The table a sheet of this name is, in whatever case."""
    return next((t for t in TABLES.values() if t.sheet.casefold() == sheet.casefold()), None)
