"""Defects, holds and recalls as the workbook for insurers shows them: one row for each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from fleetcare.rules.outcome import Judgement
from fleetcare.words.marks import said
from fleetcare.words.reasons import who


def defect_rows(judged: Judgement, on: dt.date, plate: str | None) -> Iterator[tuple[Any, ...]]:
    """Every defect of a van with its repair and sign-off, as they stood on a day."""
    facts = judged.known.facts
    lines = judged.of_records("defects")
    for defect in facts.defects:
        repairs = [r for r in facts.repairs if r.defect == defect.number]
        lasting = [r for r in repairs if not r.temporary]
        repair = next(reversed(lasting or repairs), None)
        signed = next((s for s in facts.sign_offs if s.defect == defect.number), None)
        line = lines.get(f"#{defect.number}")
        step = line.at(on) if line else None
        moved = step is not None and step.code in ("to recheck", "recheck late", "recheck overdue")
        recheck = step.detail[1] if step and moved else defect.recheck_by
        yield (
            judged.van,
            plate,
            "defect",
            defect.grade,
            defect.on,
            said(defect.words),
            repair.on if repair else None,
            f"{said(repair.by)}{'' if lasting else ', for that hire only'}" if repair else "",
            signed.on if signed else None,
            who(judged, signed.inspector, signed.by) if signed else "",
            recheck,
            "yes" if step and step.code != "not applicable" else "no",
            defect.number,
        )


def hold_rows(judged: Judgement, on: dt.date, plate: str | None) -> Iterator[tuple[Any, ...]]:
    """Every hold of a van, and whether it held on a day."""
    facts = judged.known.facts
    for hold in facts.holds:
        lift = next((one for one in facts.lifts if one.hold == hold.number), None)
        outcome = judged.of_records("holds").get(f"#{hold.number}")
        held = outcome is not None and outcome.at(on).code == "held"
        yield (
            judged.van,
            plate,
            "hold",
            "",
            hold.from_on,
            said(hold.words),
            None,
            "",
            lift.on if lift else hold.through_on,
            said(lift.by) if lift else "",
            None,
            "yes" if held else "no",
            hold.number,
        )


def recall_rows(judged: Judgement, on: dt.date, plate: str | None) -> Iterator[tuple[Any, ...]]:
    """Every recall of a van, and the paper that closed it."""
    facts = judged.known.facts
    for recall in facts.recalls:
        done = next((d for d in facts.recalls_done if d.recall == recall.number), None)
        yield (
            judged.van, plate, "recall", recall.maker_number, recall.on, said(recall.words),
            done.on if done else None, said(done.by) if done else "", done.on if done else None,
            f"paper {done.certificate}" if done else "", recall.do_by,
            "no" if done and done.on <= on else "yes", recall.number,
        )  # fmt: skip
