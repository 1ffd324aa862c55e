"""What needs the owner now: the short list at the side of the week, the late first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from builds.models import Build, PlanState
from builds.queries.build_page import why_left_out
from builds.queries.fitters import Somebody
from builds.queries.forecast import Forecast
from builds.queries.opening import OpeningTimes, monday_of
from builds.queries.planned_work import Work
from builds.templatetags.words import count, listed
from builds.templatetags.words import day as day_words
from builds.templatetags.words import hours as hours_words

WEEK = timedelta(days=7)
BOOK_AHEAD = timedelta(days=21)
SNAGS_AHEAD = timedelta(days=7)
LONGEST_LIST = 12
MOST_OF_A_KIND = 3


@dataclass(frozen=True, slots=True)
class NeedsYou:
    """One thing only the owner can do, with where to do it: a url name and its arguments."""

    tone: str
    words: str
    url: str
    args: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class OpenEnd:
    """What is still to come: a delivery, one to be put on its shelf, or a question to the customer."""

    kind: str
    what: str
    on: date
    build: int | None
    supplier: str = ""


@dataclass(frozen=True, slots=True)
class Expected:
    """What comes, or came, of one supplier on one day; anything else stands alone."""

    words: str
    on: date
    builds: tuple[int, ...]
    is_one: bool


def together(ends: Iterable[OpenEnd]) -> list[Expected]:
    """Deliveries of one kind as they come: all of a supplier's of a day in one, the soonest first."""
    found: dict[tuple, list[OpenEnd]] = defaultdict(list)
    for n, end in enumerate(ends):
        found[end.on, end.supplier or n].append(end)
    return [
        Expected(
            words=rows[0].what if len(rows) == 1 else f"{len(rows)} things from {rows[0].supplier}",
            on=rows[0].on,
            builds=tuple(dict.fromkeys(row.build or 0 for row in rows)),
            is_one=len(rows) == 1,
        )
        for rows in found.values()
    ]


@dataclass(frozen=True, slots=True)
class Matters:
    """All that the list is drawn from. `builds` carry `sent_this`, `sent_last`, `a_snag`, `a_paper`,
    `not_agreed`;
    `over` is (trade, when, hours too many).
    """

    builds: Sequence[Build]
    forecasts: Mapping[int, Forecast]
    work: Sequence[Work]
    ends: Sequence[OpenEnd]
    people: Sequence[Somebody]
    state: PlanState | None
    over: Sequence[tuple[str, str, float]]
    times: OpeningTimes
    today: date

    @property
    def vans(self) -> dict[int, str]:
        return {b.pk: b.name for b in self.builds}


def needs_of(matters: Matters) -> tuple[NeedsYou, ...]:
    """At most a dozen things, what is late before what needs care."""
    found = [
        *_vans(matters),
        *_left_out(matters),
        *_checks(matters),
        *_ends(matters),
        *_visitors(matters),
        *_stopped(matters),
        *_flags(matters),
        *_sheets(matters),
        *_too_many_hours(matters),
    ]
    return tuple(sorted(found, key=lambda n: n.tone != "late"))[:LONGEST_LIST]


def _vans(m: Matters) -> Iterator[NeedsYou]:
    unfinished = {w.build for w in m.work}
    for build in m.builds:
        forecast, here = m.forecasts[build.pk], bool(build.arrives_on and build.arrives_on <= m.today)
        where = ("build-page", (build.pk,))
        if forecast.is_late:
            yield NeedsYou("late", f"{build.name} is forecast {forecast.words}", *where)
        if here and build.pk not in unfinished:
            yield NeedsYou("care", f"{build.name}: the work is done, the van can be handed over", *where)
        elif here and build.promised_on is None:
            yield NeedsYou("care", f"{build.name} has no promised date yet", *where)
        near = forecast.handover is not None and forecast.handover <= m.today + SNAGS_AHEAD
        if build.a_snag and near:
            words = f"{build.name} has snags to put right before {day_words(forecast.handover)}"
            yield NeedsYou("care", words, *where)
        if build.a_paper:
            words = f"{build.name}: the certificate reference of “{build.a_paper}” is missing"
            yield NeedsYou("care", words, *where)
        if build.not_agreed is not None:
            words = f"{build.name}: the floor does not agree about “{build.not_agreed}”"
            yield NeedsYou("care", words, "settle-list")


def _left_out(m: Matters) -> Iterator[NeedsYou]:
    """Work in no week, save what only follows from it; one line a van and reason."""
    known = {w.pk: w for w in m.work}
    found: dict[tuple[int, str, str], list[Work]] = defaultdict(list)
    for left_out in m.state.unplanned if m.state else []:
        row = known.get(int(left_out["task"]))
        if row is not None and left_out["code"] != "follows":
            why = why_left_out(left_out["code"], row.trade_name)
            found[row.build, left_out["code"], why].append(row)
    for (build, code, why), rows in found.items():
        what = f"“{rows[0].name}”" if len(rows) == 1 else count(len(rows), "task,tasks")
        words = f"{m.vans.get(build, '')}: {why}, so {what} can’t be planned"
        if code == "no trade":
            yield NeedsYou("late", f"{words}. Add somebody or book a visitor", "person-list")
        elif len(rows) == 1:
            yield NeedsYou("late", words, "task", (build, rows[0].pk))
        else:
            yield NeedsYou("late", words, "build-page", (build,))


def _checks(m: Matters) -> Iterator[NeedsYou]:
    for row in m.work:
        if row.check and row.check_state == "failed":
            words = f"{m.vans.get(row.build, '')}: “{row.check}” did not pass, a recheck is due"
            yield NeedsYou("late", words, "task", (row.build, row.pk))


def _ends(m: Matters) -> Iterator[NeedsYou]:
    ends = [end for end in m.ends if end.build in m.vans]
    for one in together(end for end in ends if end.kind == "delivery" and end.on < m.today):
        was = "was" if one.is_one else "were"
        vans = listed([m.vans[build] for build in one.builds])
        yield NeedsYou("late", f"{one.words} for {vans} {was} to come {day_words(one.on)}", "delivery-list")
    for end in ends:
        if end.kind == "decision" and end.on <= m.today + WEEK:
            words = (
                f"{m.vans[end.build]}: ask about {end.what[:1].lower()}{end.what[1:]}, by {day_words(end.on)}"
            )
            yield NeedsYou("late" if end.on < m.today else "care", words, "decision-list")
    for build, van in m.vans.items():
        for one in together(end for end in ends if end.kind == "shelf" and end.build == build):
            words = f"{one.words} came, but {'is' if one.is_one else 'are'} not on {van}’s kit shelf"
            yield NeedsYou("care", words, "delivery-list")


def _visitors(m: Matters) -> Iterator[NeedsYou]:
    """Visiting people that the plan counts on, on days nobody has booked them for."""
    visitors = {p.pk: p for p in m.people if p.is_visitor}
    wanted: dict[tuple[int, date], list[Work]] = {}
    for row in sorted(m.work, key=lambda w: (w.start is None, w.start)):
        if row.start is None or row.state != "to do":
            continue
        on = m.times.day_of(row.start)
        for pk in row.fitters:
            person = visitors.get(pk)
            if person and on <= m.today + BOOK_AHEAD and on not in (person.fitter.booked or ()):
                wanted.setdefault((pk, on), []).append(row)
    for (pk, on), rows in list(wanted.items())[:MOST_OF_A_KIND]:
        more = f" and {len(rows) - 1} more" if len(rows) > 1 else ""
        van = m.vans.get(rows[0].build, "")
        words = f"Book {visitors[pk].name} for {day_words(on)}: {van}, “{rows[0].name}”{more}"
        yield NeedsYou("care", words, "person", (pk,))


def _stopped(m: Matters) -> Iterator[NeedsYou]:
    for row in m.work:
        if row.state == "stopped":
            words = f"{m.vans.get(row.build, '')}: “{row.name}” is stopped, {row.stop_reason}"
            yield NeedsYou("care", words, "task", (row.build, row.pk))


def _flags(m: Matters) -> Iterator[NeedsYou]:
    """Weeks and windows that the plan could not keep."""
    for code, words in (
        ("pin broken", "can’t keep the week it is pinned to"),
        ("window missed", "is planned later than it should be after what comes before it"),
    ):
        for row in [w for w in m.work if code in w.flags][:MOST_OF_A_KIND]:
            told = f"{m.vans.get(row.build, '')}: “{row.name}” {words}"
            yield NeedsYou("care", told, "task", (row.build, row.pk))


def _sheets(m: Matters) -> Iterator[NeedsYou]:
    this = monday_of(m.today)
    for build in m.builds:
        here = build.arrives_on is not None and build.arrives_on <= m.today
        if here and build.arrives_on < this and not build.sent_last and m.times.open_days(this - WEEK):
            words = f"{build.name}: last week’s progress sheet is not sent"
            yield NeedsYou("care", words, "build-papers", (build.pk,))
        elif here and m.today.weekday() >= 4 and not build.sent_this:
            words = f"{build.name}: Friday, the progress sheet"
            yield NeedsYou("care", words, "build-papers", (build.pk,))


def _too_many_hours(m: Matters) -> Iterator[NeedsYou]:
    """Trades that lack half a day or more."""
    for trade, when, over in m.over:
        if over >= 4:
            yield NeedsYou("care", f"{trade}: {hours_words(over)} more needed {when} than there are", "wall")
