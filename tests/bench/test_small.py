"""The benchmark's fleet gives the answers it should; its speed is printed, never asserted."""

from __future__ import annotations

from pathlib import Path

from tests.bench import fleet, run


def test_a_small_fleet_is_read_whole(tmp_path: Path) -> None:
    """Fifty-three records a van, the same rows both ways, and the same list twice."""
    place = str(tmp_path / "small.db")
    records = fleet.build(place, 20)

    assert records == 20 * 53 + 5
    assert run.bare_read(place) == 20 * 55
    assert run.due(place) == run.due(place) > 0
    assert run.every_days(place) > 0
