"""What rules would change is said before they are adopted, and it is what is said afterwards."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

from fleetcare.desk import trust
from tests.typed import typed
from tests.vans import WAIVES

ON = dt.date(2026, 8, 1)
STRICT = """
[[change]]
rule = "gas-hose-age"
from = 2026-01-01
old_checks = "cut"
why = "we change them every two years"
months = 24
"""


def test_a_preview_says_what_an_adoption_then_says(good: str, tmp_path: Path) -> None:
    """Van by van and hire by hire, with nothing written; and afterwards there is nothing to tell."""
    (tmp_path / "firm.toml").write_text(WAIVES + STRICT)
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-05 --ref H1", ON)
    held = trust.status(good).records
    shown = typed(good, f"rules preview {tmp_path}/firm.toml", ON).splitlines()
    listed = json.loads(typed(good, f"rules preview {tmp_path}/firm.toml --json", ON))
    same = trust.status(good).records
    adopted = typed(good, f"rules adopt {tmp_path}/firm.toml", ON).splitlines()

    assert (held, same, trust.status(good).records) == (31, 31, 32)
    assert [line for line in shown[1:] if not line.startswith("V01 (")] == adopted[1:]
    assert shown[-2:] == [
        "V01 (QI24 QIQ): not hireable today, was Mon 10 Aug 2026. In the way: gas hose locker.",
        "V01: Now stopped by gas hose locker: H1 from Mon 3 Aug 2026.",
    ]
    assert listed["vans"] == {"V01": shown[-2:]}
    assert typed(good, f"rules preview {tmp_path}/firm.toml", ON) == (
        "These rules are in use: nothing would change.\n"
    )


def test_rules_that_touch_no_van_are_said_to(good: str, tmp_path: Path) -> None:
    """A new kind of event alone stops nobody."""
    (tmp_path / "firm.toml").write_text('[event.scrape]\ntitle = "scrape"\n')
    shown = typed(good, f"rules preview {tmp_path}/firm.toml", ON).splitlines()

    assert shown[1:] == ["New event: scrape.", "No van and no hire is touched."]
