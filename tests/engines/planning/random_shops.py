"""Small random shops, tight on purpose, that touch every rule the planner keeps."""

from datetime import date, timedelta

from hypothesis import strategies as st

from builds.engines.planning.problem import (
    Fitter,
    Link,
    NotBefore,
    Opening,
    Place,
    Problem,
    Task,
    Van,
)

from .referee import at

TRADES = ("joinery", "electrical", "gas")
CHANGE = date(2026, 10, 19)  # the week in which summer time ends
WEEKS = (
    dict.fromkeys(range(5), ((480, 720), (750, 1020))),
    dict.fromkeys(range(4), ((480, 600), (630, 720))),
    {0: ((540, 780),), 2: ((540, 1020),), 6: ((0, 300),)},
)


@st.composite
def shops(draw):
    zone = draw(st.sampled_from([None, "Europe/London"]))
    week = draw(st.sampled_from(WEEKS))
    closed = frozenset(CHANGE + timedelta(days=d) for d in draw(st.sets(st.integers(0, 10), max_size=2)))
    opening = Opening(week, closed, zone)
    now = at(CHANGE, draw(st.sampled_from([0, 487, 600, 1300])), zone)
    vans = tuple(draw(van(k, zone)) for k in range(draw(st.integers(1, 3))))
    fitters = tuple(draw(fitter(k, zone)) for k in range(draw(st.integers(1, 4))))
    count = draw(st.integers(1, 12))
    usual = ["inside", "inside", "underneath", "outside", "bench", "spray", "office"]
    places = draw(st.sampled_from([usual, usual, ["spray", "spray", "bench"], ["inside", "underneath"]]))
    tasks = tuple(draw(task(k, vans, places, now)) for k in range(count))
    return Problem(
        opening=opening,
        places={
            "inside": Place(
                "inside",
                draw(st.integers(1, 3)),
                "people",
                per_van=True,
                holds_bay=True,
                position="in the bay",
            ),
            "underneath": Place("underneath", holds_bay=True, position="raised"),
            "outside": Place("outside", position="outside"),
            "bench": Place("bench", draw(st.integers(1, 2))),
            "spray": Place("spray", 1),
            "office": Place("office"),
        },
        fitters=fitters,
        vans=vans,
        tasks=tasks,
        now=now,
        bays=draw(st.sampled_from([None, 1, 1, 2])),
        rack_room=draw(st.sampled_from([None, 1, 2])),
        move_minutes=draw(st.sampled_from([0, 30])),
    )


@st.composite
def van(draw, k, zone):
    arrives = at(CHANGE + timedelta(days=draw(st.integers(-3, 6))), 480, zone)
    here = ((arrives, None),)
    if draw(st.integers(0, 4)) == 0:
        here = ((arrives, arrives + 1440), (arrives + 5 * 1440, None))
    promised = CHANGE + timedelta(days=draw(st.integers(0, 30)))
    return Van(f"v{k}", here, promised, draw(st.integers(1, 3)))


@st.composite
def fitter(draw, k, zone):
    trades = frozenset(draw(st.sets(st.sampled_from(TRADES[:2]), max_size=2)))
    away = ()
    if draw(st.integers(0, 3)) == 0:
        since = at(
            CHANGE + timedelta(days=draw(st.integers(0, 6))), draw(st.sampled_from([0, 490, 660])), zone
        )
        away = ((since, since + draw(st.sampled_from([90, 1440, 4000]))),)
    kind = draw(st.integers(0, 7))
    if kind == 0:
        return Fitter(f"f{k}", frozenset({"gas"}), helps=False, days=frozenset({1, 2}), away=away)
    if kind == 1:
        booked = frozenset({CHANGE + timedelta(days=draw(st.integers(0, 8)))})
        return Fitter(f"f{k}", frozenset({"gas"}), helps=False, booked=booked)
    if kind == 2:
        return Fitter(f"f{k}", trades, hours={0: ((480, 700),), 2: ((600, 900),)}, away=away)
    days = frozenset({0, 1, 2}) if kind == 3 else None
    return Fitter(f"f{k}", trades, days=days, away=away)


@st.composite
def task(draw, k, vans, places, now):
    place = draw(st.sampled_from(places))
    after = tuple(
        Link(f"t{p}", draw(st.sampled_from([0, 0, 120, 1440])))
        for p in draw(st.sets(st.integers(0, max(0, k - 1)), max_size=2))
        if p < k
    )
    states = ["to do"] * 8 + (["done"] * 4 if k == 0 else [])
    state = draw(st.sampled_from(states))
    whole = draw(st.integers(0, 9)) == 0
    return Task(
        id=f"t{k}",
        van=draw(st.sampled_from(vans)).id,
        minutes=draw(st.sampled_from([15, 50, 60, 120, 180, 240, 600])),
        trade=draw(st.sampled_from(("joinery", *TRADES))),
        place=place,
        crew=draw(st.sampled_from([1, 1, 1, 2, 2, 3])),
        needs_van=place in ("inside", "underneath", "outside"),
        after=after,
        same_day=draw(st.integers(0, 3)) == 0,
        not_before=(NotBefore(now + 2000, "delivery", "parts"),) if draw(st.integers(0, 6)) == 0 else (),
        pin_week=CHANGE + timedelta(days=7) if draw(st.integers(0, 8)) == 0 else None,
        told_week=CHANGE + timedelta(days=7) if draw(st.integers(0, 8)) == 0 else None,
        dries_here=240 if place == "spray" and draw(st.booleans()) else 0,
        rack=draw(st.sampled_from([300, 1000])) if place == "spray" and draw(st.booleans()) else 0,
        claims_van=place in ("inside", "outside") and draw(st.integers(0, 4)) == 0,
        still=600 if place == "inside" and draw(st.integers(0, 5)) == 0 else 0,
        state=state,
        finished=now - 60 if state == "done" else None,
        waits_for_word="a failed check" if whole and state == "to do" else None,
    )
