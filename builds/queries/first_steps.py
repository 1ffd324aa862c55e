"""What an owner looks at before the first build: each step with what is there now."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Q

from builds.models import Person, Place, Tablet, Trade
from builds.queries.opening import OpeningTimes
from builds.templatetags.words import count, hours, listed


@dataclass(frozen=True, slots=True)
class FirstStep:
    """One step: what to do, what is there now, and the url name of the page where it is done."""

    title: str
    words: str
    url: str
    is_done: bool


def first_steps(times: OpeningTimes) -> tuple[FirstStep, ...]:
    """The steps in the order that makes the first plan believable; four queries."""
    return _opening(times), _people(), _places(), _tablet(), _build()


def _opening(times: OpeningTimes) -> FirstStep:
    week = sum(b - a for spans in times.week.values() for a, b in spans) / 60
    words = f"{hours(week)} a week are set." if week else "None are set: nothing can be planned."
    return FirstStep("Opening hours and closed days", words, "shop-opening", week > 0)


def _people() -> FirstStep:
    people = Person.objects.filter(left_on=None).count()
    led = Count("people", filter=Q(people__left_on=None))
    missing = list(Trade.objects.annotate(led=led).filter(led=0).values_list("name", flat=True))
    words = f"{count(people, 'person,people')} so far." if people else "Nobody yet."
    if people and missing:
        words += f" Nobody leads {listed([m.lower() for m in missing])} yet: such work can’t be planned."
    return FirstStep("People, what each can lead, and visitors", words, "person-list", people > 1)


def _places() -> FirstStep:
    room = dict(Place.objects.filter(key__in=("bay", "bench", "spray")).values_list("name", "room"))
    held = [f"{name} {many}" for name, many in room.items() if many]
    words = f"{', '.join(held)}. Put in what you have." if held else "None yet."
    return FirstStep("Bays, benches, spray area", words, "place-list", bool(held))


def _tablet() -> FirstStep:
    paired = Tablet.objects.filter(withdrawn_at=None, paired_at__isnull=False).count()
    words = (
        f"{count(paired, 'tablet,tablets')} paired." if paired else "Can wait until the first van is here."
    )
    return FirstStep("A tablet for the floor", words, "tablet-list", paired > 0)


def _build() -> FirstStep:
    return FirstStep(
        "The first build",
        "The van, what goes into it and when it comes; about ten minutes.",
        "build-new",
        False,
    )
