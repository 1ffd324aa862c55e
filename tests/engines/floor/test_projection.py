"""What a task is, from what people did to it: the seven rules, one by one."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from builds.engines.floor.projection import Event, TaskState, crossings, last_word, project

EIGHT = datetime(2027, 3, 1, 8, 0, tzinfo=UTC)


def event(number: int, verb: str, at: float = 0, **more) -> Event:
    return Event(id=number, verb=verb, at=EIGHT + timedelta(hours=at or number), **more)


def test_no_events_leave_it_to_do():
    assert project([]) == TaskState()


def test_a_tick_without_a_start_begins_and_ends_it():
    state = project([event(1, "tick", 2, person=7, payload={"hours": "3"})])

    assert state.state == "done"
    assert state.started_at == state.finished_at == EIGHT + timedelta(hours=2)
    assert (state.hours_taken, state.crew) == (Decimal(3), (7,))


def test_a_late_event_takes_its_place_in_the_order_it_happened():
    tick = event(1, "tick", 5, payload={"hours": "3"})
    stop_before_it = event(2, "stop", 4, payload={"reason": "place is taken"})

    assert project([tick, stop_before_it]).state == "done"
    assert crossings([tick, stop_before_it]) == ()


def test_a_stop_after_a_tick_changes_nothing_and_is_for_the_owner_to_settle():
    events = [event(1, "tick", payload={"hours": "3"}), event(2, "stop", payload={"reason": "broken"})]

    assert project(events).state == "done"
    assert [c.event for c in crossings(events)] == [2]


def test_two_ticks_are_one_and_disagree_only_over_hours():
    first = event(1, "tick", person=1, payload={"hours": "3"})
    same = event(2, "tick", person=2, payload={"hours": "3"})
    other = event(3, "tick", person=3, payload={"hours": "5"})

    state = project([first, same, other])

    assert (state.hours_taken, state.crew) == (Decimal(3), (1, 2, 3))
    assert [c.event for c in crossings([first, same, other])] == [3]


def test_an_undone_event_counts_for_nothing():
    events = [event(1, "start"), event(2, "tick", payload={"hours": "1"}), event(3, "undo", undoes=2)]

    assert project(events).state == "under way"


def test_a_refused_event_never_touched_the_state():
    assert project([event(1, "start", was_refused=True)]) == TaskState()


def test_reopened_work_adds_its_hours_to_the_first_round():
    events = [
        event(1, "tick", payload={"hours": "3"}),
        event(2, "reopen", payload={"hours_left": "1"}),
        event(3, "tick", payload={"hours": "2"}),
    ]

    assert project(events[:2]).state == "to do"
    assert project(events).hours_taken == Decimal(5)


def test_a_new_coat_dries_anew_whatever_was_said_of_the_one_before():
    dry = event(1, "dry", 1, payload={"dry_at": (EIGHT + timedelta(hours=1)).isoformat()})

    assert last_word([dry], EIGHT) == EIGHT + timedelta(hours=1)
    assert last_word([dry], EIGHT + timedelta(hours=3)) is None
    assert last_word([dry], None) is None


VERBS = ("start", "tick", "half a day left", "stop", "go on", "reopen", "undo", "note")


@st.composite
def histories(draw) -> list[Event]:
    found = []
    for number in range(1, draw(st.integers(0, 12)) + 1):
        verb = draw(st.sampled_from(VERBS))
        found.append(
            Event(
                id=number,
                verb=verb,
                at=EIGHT + timedelta(hours=draw(st.integers(0, 9))),
                person=draw(st.integers(1, 3)),
                payload={"hours": "2", "hours_left": "1", "reason": "parts"},
                undoes=draw(st.integers(1, number)) if verb == "undo" and number > 1 else None,
            )
        )
    return found


@given(histories(), st.randoms())
def test_the_order_in_which_events_are_read_changes_nothing(events, chance):
    shuffled = list(events)
    chance.shuffle(shuffled)

    assert project(shuffled) == project(events)
    assert crossings(shuffled) == crossings(events)


@given(histories())
def test_every_state_is_whole(events):
    state = project(events)

    assert (state.finished_at is not None) == (state.state == "done")
    assert state.state != "under way" or state.started_at is not None
    assert state.state != "stopped" or state.stop_reason


def settled(number: int, this: int, over: int, keep: int) -> Event:
    return event(number, "settle", payload={"event": this, "over": over, "keep": keep})


def test_the_owner_settles_two_ticks_and_the_last_word_counts():
    ticks = [event(1, "tick", payload={"hours": "3"}), event(2, "tick", payload={"hours": "5"})]

    later = [*ticks, settled(3, 2, 1, keep=2)]
    back = [*later, settled(4, 2, 1, keep=1)]

    assert (project(later).hours_taken, crossings(later)) == (Decimal(5), ())
    assert (project(back).hours_taken, crossings(back)) == (Decimal(3), ())


def test_a_settled_stop_sets_the_tick_before_it_and_its_hours_aside():
    events = [
        event(1, "start"),
        event(2, "tick", payload={"hours": "3"}),
        event(3, "stop", payload={"reason": "broken"}),
        settled(4, 3, 2, keep=3),
    ]

    state = project(events)

    assert (state.state, state.hours_taken, state.started_at) == ("stopped", None, EIGHT + timedelta(hours=1))


def test_a_second_tick_gives_the_hours_that_the_first_one_lacks():
    events = [event(1, "bulk tick"), event(2, "tick", person=4, payload={"hours": "5"})]

    assert (project(events).hours_taken, crossings(events)) == (Decimal(5), ())


def test_hours_and_crew_of_a_tick_are_corrected_and_the_last_correction_counts():
    events = [
        event(1, "start", person=1, payload={"crew": [1, 2]}),
        event(2, "tick", person=1, payload={"hours": "3", "crew": [1, 2]}),
        event(3, "hours", payload={"of": 2, "hours": "4.5"}),
        event(4, "hours", payload={"of": 2, "hours": "2", "crew": [2]}),
    ]

    assert project(events[:3]).rounds[0].crew == (1, 2)
    assert project(events[:3]).hours_taken == Decimal("4.5")
    assert (project(events).rounds[0].crew, project(events).hours_taken) == ((2,), Decimal(2))
