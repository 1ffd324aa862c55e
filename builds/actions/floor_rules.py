"""The rules of starting, asked by every action of the floor whatever route it came by."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from builds.actions.door import Gone, Refused
from builds.actions.floor_events import By, fresh_task, when
from builds.models import FloorEvent, PlanRow, Shop, Task
from builds.queries.opening import opening_times
from builds.queries.readiness import Missing, in_words, missing_for, task_hindrances


class NeedsWord(Refused):
    """Something is missing; the fitter may confirm to have it, or stop the task for it."""

    def __init__(self, missing: tuple[Missing, ...]) -> None:
        super().__init__("; ".join(m.words for m in missing) + ".", field="found_anyway")
        self.missing = missing


class NeedsName(Refused):
    """Licensed work: the competent person has to be named first."""

    def __init__(self, trade: str) -> None:
        super().__init__(
            f"{trade} work needs a competent person's name before it starts.", field="competent_person"
        )


class NeedsPhoto(Refused):
    """Work that closes up what is behind it: photos first, or a word that none are needed."""

    def __init__(self, task: str) -> None:
        super().__init__(
            f"“{task}” closes up what is behind. Take photos first, or say that none are needed.",
            field="without_photos",
        )


def task_for(task: Task, by: By) -> Task:
    """The task as it is now; one that was taken out is only met by what comes late from a queue."""
    found = fresh_task(task)
    if found.removed_at is not None and not by.is_late:
        raise Gone(f"“{found.name}” was taken out of the plan.")
    return found


def refuse_done(task: Task, by: By) -> None:
    if task.state == "done" and not by.is_late:
        raise Refused(f"“{task.name}” is ticked already. Undo the tick first.")


def refuse_open_check(task: Task) -> None:
    check = getattr(task, "hold_point", None)
    if check is not None and not check.lets_followers_start:
        raise Refused(f"This ends with a check. Sign “{check.name}” and it is ticked with it.", field="check")


def may_start(
    task: Task,
    by: By,
    now: datetime,
    shop: Shop,
    found_anyway: bool,
    competent_person: str,
    without_photos: bool = False,
) -> dict:
    """Asks every rule of starting; gives what has to be kept with the event."""
    if task.state in ("under way", "done") and task.started_at is not None:
        return {}
    at = when(by, now)
    refuse_early(task, at, shop)
    payload = name_competent(task, by, competent_person)
    if task.closes_up and not task.photos.exists():
        if not without_photos:
            raise NeedsPhoto(task.name)
        payload |= {"without_photos": True}
    missing = missing_for(task, opening_times(shop).day_of(at)) if task.state != "done" else ()
    if missing and not found_anyway:
        raise NeedsWord(missing)
    return payload | ({"missing": [m.what for m in missing]} if missing else {})


def refuse_early(task: Task, at: datetime, shop: Shop) -> None:
    """Refuses when something before the task is not done, not dry or not passed; says what."""
    found = task_hindrances(task, at, shop)
    if not found:
        return
    zone = ZoneInfo(shop.zone)
    words = [in_words(h, at, zone) for h in found[:3]]
    more = f"; and {len(found) - 3} more" if len(found) > 3 else ""
    raise Refused(f"“{task.name}” can't start yet. {'; '.join(words)}{more}.")


def name_competent(task: Task, by: By, competent_person: str) -> dict:
    """Licensed work: the name given, or that of a person who has the trade and a competence on record."""
    if not task.trade.licensed:
        return {}
    given = competent_person.replace("\x00", "").strip()[:120]
    if not given and by.person is not None and by.person.competence:
        has_trade = by.person.trades.filter(pk=task.trade.pk).exists()
        given = f"{by.person.name}, {by.person.competence}"[:120] if has_trade else ""
    if not given:
        given = competent_person_of(task)
    if not given:
        raise NeedsName(task.trade.name)
    return {"competent_person": given}


def competent_person_of(task: Task) -> str:
    """The competent person named at this task before, or ""."""
    kept = FloorEvent.objects.filter(task=task, outcome="kept").order_by("-pk")
    payloads = kept.values_list("payload", flat=True)
    return next((p["competent_person"] for p in payloads if p.get("competent_person")), "")


def crew_with(task: Task, by: By) -> list[int]:
    """Who is on it: the planned crew if the person belongs to it, else the person in a planned place."""
    row = PlanRow.objects.filter(task=task).values_list("fitters", flat=True).first()
    planned = [int(p) for p in row or ()]
    if by.person is None:
        return planned if task.state == "to do" else []
    if by.person.pk in planned:
        return planned
    if task.crew_on_it or not planned:
        return [by.person.pk]
    leads = not by.person.is_apprentice and by.person.trades.filter(pk=task.trade.pk).exists()
    if leads:
        return [by.person.pk, *planned[1:]]
    return [*planned[:-1], by.person.pk] if task.crew > 1 else [by.person.pk]
