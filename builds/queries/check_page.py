"""One check that holds, as the person who signs it wants to see it: fields, limits, what was found before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from builds.engines.floor.judging import WORKED_OUT, Judgement, judge, plain
from builds.models import Caution, CheckRecord, HoldPoint, Person, Photo, Shop
from builds.queries.certificates import asked_since, photos_of_check
from builds.queries.readiness import clock_words, in_words, task_hindrances

OUTCOMES = {"passed": "Passed", "failed": "Failed", "overruled": "Overruled", "reopened": "Opened again"}


@dataclass(frozen=True)
class CheckField:
    """One field of a check. `limit` is in words with its basis beside it; `value` what was typed."""

    key: str
    label: str
    kind: str
    unit: str
    choices: tuple[str, ...]
    must: bool
    limit: str
    basis: str
    value: str = ""
    error: str = ""

    @property
    def is_worked_out(self) -> bool:
        return self.kind in WORKED_OUT


@dataclass(frozen=True)
class CheckPast:
    """One earlier signature, with its readings in words."""

    outcome: str
    at: str
    who: str
    note: str
    readings: tuple[str, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class CheckPhotos:
    wanted: bool
    photos: tuple[Photo, ...]
    are_enough: bool


@dataclass(frozen=True)
class CheckPage:
    pk: int
    name: str
    state: str
    van: str
    group: str
    task: str
    place: str
    why_not: tuple[str, ...]
    caution: str
    licensed: bool
    competent_person: str
    certificate_due: bool
    certificate: str
    hours: str
    fields: tuple[CheckField, ...]
    photos: CheckPhotos
    past: tuple[CheckPast, ...]


@dataclass(frozen=True)
class CheckForOwner:
    """One check as the owner sees it: what it asks, what was signed, what the owner may do about it."""

    pk: int
    name: str
    state: str
    caution: str
    licensed: bool
    may_overrule: bool
    is_signed: bool
    certificate_due: bool
    certificate: str
    photo_wanted: bool
    competent_person: str
    fields: tuple[CheckField, ...]
    photos: tuple[Photo, ...]
    past: tuple[CheckPast, ...]


def check_for_owner(check: HoldPoint, now: datetime) -> CheckForOwner:
    """Reads one check with its task and trade; four queries."""
    shop = Shop.objects.get(pk=1)
    return CheckForOwner(
        pk=check.pk,
        name=check.name,
        state=check.state,
        caution=_caution(check),
        licensed=bool(check.licensed_trade) or check.task.trade.licensed,
        may_overrule=check.may_overrule and not check.licensed_trade,
        is_signed=check.lets_followers_start,
        certificate_due=check.certificate_due,
        certificate=check.certificate,
        photo_wanted=check.photo_wanted,
        competent_person=check.competent_person,
        fields=tuple(_field(spec) for spec in check.fields),
        photos=check_photos(check).photos,
        past=_past(check, now, ZoneInfo(shop.zone)),
    )


def check_page(check: HoldPoint, reader: Person, now: datetime) -> CheckPage:
    """Reads the page of one check; `check` comes with its task, build, trade, place, unit."""
    shop = Shop.objects.get(pk=1)
    zone = ZoneInfo(shop.zone)
    task = check.task
    found = task_hindrances(task, now, shop)
    licensed = bool(check.licensed_trade) or task.trade.licensed
    own = f"{reader.name}, {reader.competence}" if reader.competence else ""
    return CheckPage(
        pk=check.pk,
        name=check.name,
        state=check.state,
        van=task.build.name,
        group=task.group_name,
        task=task.name,
        place=task.place.name,
        why_not=tuple(in_words(h, now, zone) for h in found),
        caution=_caution(check),
        licensed=licensed,
        competent_person=(check.competent_person or own) if licensed else "",
        certificate_due=check.certificate_due,
        certificate=check.certificate,
        hours=f"{(task.hours_left or task.hours).normalize():f}",
        fields=tuple(_field(spec) for spec in check.fields),
        photos=check_photos(check),
        past=_past(check, now, zone),
    )


def check_photos(check: HoldPoint) -> CheckPhotos:
    """The photos of the check and of its task, newest first."""
    photos = tuple(photos_of_check(check)[:12])
    since = asked_since(check)
    return CheckPhotos(check.photo_wanted, photos, any(since is None or p.taken_at >= since for p in photos))


def filled(page: CheckPage, typed: Mapping[str, Any], errors: Mapping[str, str]) -> CheckPage:
    """The page with what was typed, and the words at the fields that can't be read."""
    fields = tuple(
        replace(f, value=str(typed.get(f.key, ""))[:400], error=errors.get(f.key, "")) for f in page.fields
    )
    return replace(page, fields=fields)


def verdict_of(check: HoldPoint, typed: Mapping[str, Any]) -> Judgement:
    """What the limits say of the readings typed so far; what is still missing counts for nothing."""
    given = [f for f in check.fields if f.get("kind") in WORKED_OUT or str(typed.get(f["key"]) or "").strip()]
    return judge([{**f, "must": False} for f in given], typed)


def worked_out_words(check: HoldPoint, judged: Judgement) -> tuple[str, ...]:
    """The figures that were worked out, in words: "Pressure lost: 0.1 bar"."""
    found = []
    for spec in check.fields:
        if spec.get("kind") in WORKED_OUT and spec["key"] in judged.readings:
            found.append(_said(spec, judged.readings[spec["key"]]))
    return tuple(found)


def _field(spec: Mapping[str, Any]) -> CheckField:
    kind = str(spec.get("kind", "number"))
    return CheckField(
        key=str(spec["key"]),
        label=str(spec["label"]),
        kind=kind,
        unit=str(spec.get("unit", "")),
        choices=tuple(str(c) for c in spec.get("choices", ())),
        must=bool(spec.get("must", kind not in ("text", "yes"))),
        limit=_limit(spec, kind),
        basis=str(spec.get("basis", "")),
    )


def _limit(spec: Mapping[str, Any], kind: str) -> str:
    unit = f" {spec['unit']}" if spec.get("unit") else ""
    least, most = spec.get("least"), spec.get("most")
    if least is not None and most is not None:
        return f"{_figure(least)} to {_figure(most)}{unit}"
    if least is not None:
        return f"{_figure(least)}{unit} or more"
    if most is not None:
        return f"{_figure(most)}{unit} or less"
    if kind == "yes":
        return "yes is wanted" if spec.get("wanted", True) else "no is wanted"
    return f"“{spec['wanted']}” is wanted" if spec.get("wanted") else ""


def _figure(value: Any) -> str:
    return plain(Decimal(str(value)))


def _said(spec: Mapping[str, Any], reading: str) -> str:
    unit = f" {spec['unit']}" if spec.get("unit") else ""
    return f"{spec['label']}: {reading}{unit}"


def _caution(check: HoldPoint) -> str:
    return Caution.objects.filter(key=check.caution).values_list("text", flat=True).first() or ""


def _past(check: HoldPoint, now: datetime, zone: ZoneInfo) -> tuple[CheckPast, ...]:
    rows = CheckRecord.objects.filter(hold_point=check).select_related("person", "user")[:10]
    return tuple(past_line(check, row, clock_words(row.at, now, zone)) for row in rows)


def past_line(check: HoldPoint, row: CheckRecord, at: str) -> CheckPast:
    """One signature with its readings in words; `at` says when."""
    return CheckPast(
        outcome=OUTCOMES.get(row.outcome, row.outcome),
        at=at,
        who=str(row.competent_person or row.person or row.user or ""),
        note=row.note,
        readings=tuple(
            _said(spec, row.readings[spec["key"]]) for spec in check.fields if row.readings.get(spec["key"])
        ),
        remarks=tuple(row.remarks),
    )
