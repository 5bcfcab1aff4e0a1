"""Whether a VIN is one in form, and whether its ninth place agrees with the other sixteen.

Source: 49 CFR 565.15(b) and (c), letter values, weights and check digit (grade: the regulation's
tables read in two reproductions). The check digit is a duty in North America only; a European VIN
need not carry one (grade: memory of ISO 3779, text not seen). So it is advice: most vans built in
Europe fail it by chance, and a caller must never stop a van for it.
"""

import re
from typing import NamedTuple

LENGTH = 17

# 49 CFR 565.15(c), Table III. I, O and Q are left out: they pass for 1 and 0.
_VALUES = dict(zip("0123456789", range(10), strict=True)) | dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", map(int, "12345678123457923456789"), strict=True)
)
# 49 CFR 565.15(c), Table IV. The ninth place is the check digit and has no weight of its own.
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


class VinReading(NamedTuple):
    """A VIN in capitals without spaces; `check_digit_ok` is None when the form is wrong."""

    vin: str
    format_ok: bool
    check_digit_ok: bool | None
    cautions: tuple[str, ...]


def read_vin(text: str) -> VinReading:
    """Read a VIN as typed. Nothing is refused: what looks wrong is said in `cautions`."""
    vin = "".join(text.split())
    # Some foreign letters grow in capitals ("ß" gives "SS"), which would make 16 typed into 17.
    if vin.isascii():
        vin = vin.upper()
    cautions = _form_cautions(vin)
    if cautions:
        return VinReading(vin, False, None, cautions)
    expected = _check_digit(vin)
    if vin[8] == expected:
        return VinReading(vin, True, True, ())
    caution = (
        f'"{vin}" has "{vin[8]}" in place 9 where 49 CFR 565.15 works out "{expected}": '
        "a European VIN need not carry a check digit, so compare it once with the plate"
    )
    return VinReading(vin, True, False, (caution,))


def _form_cautions(vin: str) -> tuple[str, ...]:
    cautions = []
    if len(vin) != LENGTH:
        cautions.append(
            f'"{vin}" has {len(vin)} characters and a VIN has {LENGTH}: compare it with the plate'
        )
    strangers = "".join(dict.fromkeys(re.sub("[A-HJ-NPR-Z0-9]", "", vin)))
    if strangers:
        cautions.append(
            f'"{vin}" holds "{strangers}", and a VIN has only digits and capital letters without '
            "I, O and Q: compare it with the plate, where what looks like one of them is a 1 or a 0"
        )
    return tuple(cautions)


def _check_digit(vin: str) -> str:
    """Give the remainder by 11 of the weighted sum, "X" standing for ten (49 CFR 565.15(c))."""
    total = sum(_VALUES[sign] * weight for sign, weight in zip(vin, _WEIGHTS, strict=True))
    return "0123456789X"[total % 11]
