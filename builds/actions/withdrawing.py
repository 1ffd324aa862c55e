"""Taking something off the lists to choose from, without touching what names it already."""

from __future__ import annotations

from datetime import datetime

from builds.actions.door import note_in_journal
from builds.models import User


def set_withdrawn(row, withdrawn: bool, noun: str, *, now: datetime, by: User | None) -> None:
    """Withdraws a row or brings it back; twice is once. Call inside a write."""
    if row.withdrawn == withdrawn:
        return
    row.withdrawn = withdrawn
    row.save(update_fields=["withdrawn"])
    verb = "Withdrew" if withdrawn else "Brought back"
    note_in_journal(f"{verb} the {noun} {row.name}", now=now, by=by)
