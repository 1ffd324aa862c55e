"""The standard library as the owner's pages show it: tasks, their links, kinds of unit and installation."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q

from builds.models import InstallationKind, Place, StandardLink, StandardTask, Trade, UnitKind

MOST_NAMED = 3
"""How many kinds are named before "or so many more"."""


@dataclass(frozen=True)
class StandardLine:
    """One standard task in the list. Hours are low, likely, high; `comes` says for what it is done."""

    key: str
    name: str
    phase: str
    comes: str
    trade: str
    place: str
    crew: int
    hours: tuple[str, str, str]
    links_in: int
    withdrawn: bool


@dataclass(frozen=True)
class LinkLine:
    """A link as seen from one of its two tasks: `other` is the task at its far end."""

    pk: int
    other: str
    other_key: str
    wait: str
    latest: str
    every: bool
    why: str


@dataclass(frozen=True)
class StandardPage:
    comes: str
    after: tuple[LinkLine, ...]
    before: tuple[LinkLine, ...]


def standard_lines(words: str = "", *, withdrawn: bool = False) -> list[StandardLine]:
    """Standard tasks whose name, phase, trade or place holds each of the words; four queries.

    Withdrawn ones only where asked for.
    """
    trades = dict(Trade.objects.values_list("key", "name"))
    places = dict(Place.objects.values_list("key", "name"))
    rows = StandardTask.objects.annotate(befores=Count("links_in")).order_by("order", "key")
    if not withdrawn:
        rows = rows.filter(withdrawn=False)
    for word in words.split()[:6]:
        rows = rows.filter(_holding(word, trades, places))
    names = _kind_names()
    return [_line(row, trades, places, names) for row in rows]


def _holding(word: str, trades: dict[str, str], places: dict[str, str]) -> Q:
    def named(names: dict[str, str]) -> list[str]:
        return [key for key, name in names.items() if word.lower() in name.lower()]

    held = Q(name__icontains=word) | Q(phase__icontains=word) | Q(scope__icontains=word)
    return held | Q(trade__in=named(trades)) | Q(place__in=named(places))


def _line(row: StandardTask, trades: dict, places: dict, names: dict) -> StandardLine:
    return StandardLine(
        key=row.key,
        name=row.name,
        phase=row.phase,
        comes=comes_for(row.scope, names),
        trade=trades.get(row.trade, row.trade),
        place=places.get(row.place, row.place),
        crew=row.crew,
        hours=(_plain(row.hours_low), _plain(row.hours_likely), _plain(row.hours_high)),
        links_in=row.befores,
        withdrawn=row.withdrawn,
    )


def _kind_names() -> dict[str, str]:
    units = UnitKind.objects.order_by().values_list("key", "name")
    kinds = units.union(InstallationKind.objects.order_by().values_list("key", "name"))
    return {key: name[:1].lower() + name[1:] for key, name in kinds}


def comes_for(scope: str, names: dict[str, str]) -> str:
    """A task's scope in words: "once a van", "each unit", "each seat box", "with gas"."""
    how, _, rest = scope.partition(":")
    kinds = _either(names.get(key, key.replace("_", " ")) for key in rest.split("|") if key)
    return {
        "van": "once a van",
        "furniture": "once, where there is furniture",
        "any_of": f"once, with {kinds}",
        "installation": f"with {kinds}",
        "made": f"each unit made as {kinds}",
        "unit": "each unit" if rest == "*" else f"each {kinds}",
    }.get(how, scope)


def _either(words: Iterable[str]) -> str:
    found = list(words) or [""]
    if len(found) > MOST_NAMED + 1:
        found = [*found[:MOST_NAMED], f"{len(found) - MOST_NAMED} more"]
    *first, last = found
    return f"{', '.join(first)} or {last}" if first else last


def _plain(number: Decimal) -> str:
    return f"{float(number):g}"


def standard_page(task: StandardTask) -> StandardPage:
    """One standard task with what it comes after and before; three queries."""
    after = StandardLink.objects.filter(after=task).select_related("before").order_by("before__order")
    before = StandardLink.objects.filter(before=task).select_related("after").order_by("after__order")
    return StandardPage(
        comes=comes_for(task.scope, _kind_names()),
        after=tuple(_link(link, link.before) for link in after),
        before=tuple(_link(link, link.after) for link in before),
    )


def _link(link: StandardLink, other: StandardTask) -> LinkLine:
    return LinkLine(
        pk=link.pk,
        other=other.name,
        other_key=other.key,
        wait=_plain(link.wait_hours) if link.wait_hours else "",
        latest="" if link.latest_hours is None else _plain(link.latest_hours),
        every=link.match == "every",
        why=link.why,
    )


def scope_choices() -> list[tuple[str, str]]:
    """For what a new standard task may be done: the scope and its words."""
    units = UnitKind.objects.filter(withdrawn=False).values_list("key", "name")
    installations = InstallationKind.objects.filter(withdrawn=False).values_list("key", "name")
    return [
        ("van", "once a van"),
        ("furniture", "once, where there is furniture"),
        ("unit:*", "each unit"),
        *((f"unit:{key}", f"each {name[:1].lower() + name[1:]}") for key, name in units),
        *((f"installation:{key}", f"with {name[:1].lower() + name[1:]}") for key, name in installations),
    ]
