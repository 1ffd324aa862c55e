"""The rules of the plan, one sentence each."""

from dataclasses import replace
from datetime import date

from builds.engines.planning.plan import Flag, Unplanned
from builds.engines.planning.planner import plan_shop
from builds.engines.planning.problem import Link, NotBefore, Place

from .cast import ANNA, APPRENTICE, BEN, GAS, PLACES, finishes, hands, job, shop, starts, van, when


def test_work_pauses_over_the_break_and_the_night_with_the_same_people():
    plan = plan_shop(shop(job("long", 600, crew=2), fitters=(ANNA, BEN)))

    assert starts(plan) == {"long": "Mon 2 08:00"}
    assert finishes(plan) == {"long": "Tue 3 09:30"}
    assert set(hands(plan)["long"]) == {"anna", "ben"}


def test_work_that_must_finish_in_a_day_waits_for_a_morning():
    plan = plan_shop(shop(job("a", 300), job("b", 300, after=["a"], same_day=True), fitters=(ANNA,)))

    assert starts(plan)["b"] == "Tue 3 08:00"


def test_a_wait_runs_over_night_and_weekend():
    plan = plan_shop(shop(job("coat", 510), job("fit", after=[Link("coat", 15 * 60)])))
    friday = plan_shop(shop(job("coat", 510), job("fit", after=[Link("coat", 60 * 60)]), now=when(6)))

    assert starts(plan)["fit"] == "Tue 3 08:00"
    assert starts(friday)["fit"] == "Mon 9 08:00"


def test_an_apprentice_never_leads_and_never_works_alone():
    plan = plan_shop(shop(job("a", crew=2), fitters=(APPRENTICE, ANNA)))
    alone = plan_shop(shop(job("a", crew=1), fitters=(APPRENTICE,)))

    assert hands(plan) == {"a": ("anna", "col")}
    assert alone.unplanned == (Unplanned("a", "no trade"),)


def test_a_visitor_does_only_their_trade_on_their_day():
    plan = plan_shop(shop(job("test", trade="gas"), job("shelf", crew=2), fitters=(ANNA, GAS)))

    assert starts(plan) == {"test": "Tue 3 08:00"}
    assert plan.unplanned == (Unplanned("shelf", "crew too small"),)


def test_one_person_does_one_thing_at_a_time():
    plan = plan_shop(shop(job("a", 60), job("b", 60), fitters=(ANNA,)))

    assert sorted(starts(plan).values()) == ["Mon 2 08:00", "Mon 2 09:00"]


def test_a_bench_for_one_job_holds_one_job():
    plan = plan_shop(shop(job("a", place="bench"), job("b", place="bench")))

    assert sorted(starts(plan).values()) == ["Mon 2 08:00", "Mon 2 09:00"]


def test_people_inside_are_counted_for_each_van():
    two = (van("v1"), van("v2"))
    crowd = (ANNA, BEN, replace(ANNA, id="dee"))
    one_van = plan_shop(shop(*(job(i, place="inside") for i in "abc"), fitters=crowd))
    both = plan_shop(
        shop(job("a", place="inside"), job("b", place="inside"), job("c", place="inside", van="v2"),
             fitters=crowd, vans=two)
    )  # fmt: skip

    assert sorted(starts(one_van).values()) == ["Mon 2 08:00", "Mon 2 08:00", "Mon 2 09:00"]
    assert set(starts(both).values()) == {"Mon 2 08:00"}


def test_nobody_works_inside_while_somebody_works_underneath():
    plan = plan_shop(shop(job("in", place="inside"), job("under", place="underneath")))

    assert sorted(starts(plan).values()) == ["Mon 2 08:00", "Mon 2 09:00"]


def test_moving_the_van_takes_its_time_and_is_counted():
    problem = shop(job("in", place="inside"), job("under", place="underneath"), move_minutes=45)
    plan = plan_shop(problem)

    assert sorted(starts(plan).values()) == ["Mon 2 08:00", "Mon 2 09:45"]
    assert plan.moves == 1


def test_a_van_is_moved_in_the_shops_opening_time_only():
    through_the_break = replace(ANNA, hours={0: ((480, 900),)})
    problem = shop(
        job("under", 240, place="underneath"),
        job("in", place="inside", after=["under"]),
        fitters=(through_the_break,),
        move_minutes=30,
    )

    plan = plan_shop(problem)

    assert starts(plan) == {"under": "Mon 2 08:00", "in": "Mon 2 13:00"}


def test_a_van_kept_still_is_not_moved_before_its_bond_holds():
    plan = plan_shop(
        shop(job("glass", place="inside", still=600), job("under", place="underneath", after=["glass"]),
             job("wire", place="inside", after=["glass"]))
    )  # fmt: skip

    assert starts(plan) == {"glass": "Mon 2 08:00", "wire": "Mon 2 09:00", "under": "Tue 3 08:00"}


def test_work_that_claims_the_van_has_it_to_itself():
    plan = plan_shop(shop(job("hose", place="inside", claims_van=True), job("wire", place="inside")))

    assert sorted(starts(plan).values()) == ["Mon 2 08:00", "Mon 2 09:00"]


def test_a_coated_part_keeps_the_spray_area_until_it_can_be_handled():
    plan = plan_shop(shop(*(job(i, place="spray", dries_here=240) for i in "ab")))

    assert sorted(starts(plan).values()) == ["Mon 2 08:00", "Mon 2 13:00"]


def test_a_full_drying_rack_holds_up_the_next_coat():
    coats = (job(i, place="spray", dries_here=60, rack=1440) for i in "ab")
    plan = plan_shop(shop(*coats, rack_room=1))

    assert sorted(starts(plan).values()) == ["Mon 2 08:00", "Tue 3 08:00"]


def test_a_van_keeps_its_bay_from_its_first_bay_work_to_its_last():
    vans = (van("v1", date(2026, 11, 3)), van("v2"))
    first = [
        job("a", place="inside"),
        job("desk", 840, after=["a"]),
        job("b", place="inside", after=["desk"]),
    ]
    plan = plan_shop(shop(*first, job("c", place="inside", van="v2"), vans=vans, bays=1))

    assert starts(plan)["b"] == "Tue 3 15:00"
    assert starts(plan)["c"] == "Tue 3 16:00"


def test_nothing_starts_before_its_van_or_its_delivery_is_here():
    late = NotBefore(when(4, "10:00"), "delivery", "x")
    here = van(here=((when(3, "09:10"), None),))
    plan = plan_shop(shop(job("in", place="inside"), job("desk", not_before=(late,)), vans=(here,)))

    assert starts(plan) == {"in": "Tue 3 09:15", "desk": "Wed 4 10:00"}


def test_a_van_that_goes_home_after_the_survey_is_worked_on_when_it_is_back():
    stays = ((when(2), when(2, "10:00")), (when(9), None))
    plan = plan_shop(shop(job("look", place="inside"), job("strip", 240, place="inside", after=["look"]),
                          vans=(van(here=stays),), bays=1))  # fmt: skip

    assert starts(plan) == {"look": "Mon 2 08:00", "strip": "Mon 9 08:00"}


def test_a_pinned_task_waits_for_its_week_and_goes_first_in_it():
    others = [job(f"o{k}", 510, van="v2") for k in range(6)]
    pinned = job("p", 60, pin_week=date(2026, 11, 9))
    vans = (van("v1", date(2027, 3, 1)), van("v2", date(2026, 11, 4), weight=3))
    plan = plan_shop(shop(pinned, *others, vans=vans, fitters=(ANNA,)))

    assert starts(plan)["p"][:5] >= "Mon 9"
    assert plan.flags == ()


def test_a_pin_that_cannot_be_kept_stays_and_is_flagged():
    plan = plan_shop(
        shop(job("before", 510 * 6), job("p", after=["before"], pin_week=date(2026, 11, 2)), fitters=(ANNA,))
    )

    assert starts(plan)["p"] == "Tue 10 08:00"
    assert plan.flags == (Flag("p", "pin broken"),)


def test_a_told_week_is_kept_though_the_task_could_start_now():
    plan = plan_shop(shop(job("t", told_week=date(2026, 11, 9))))

    assert starts(plan) == {"t": "Mon 9 08:00"}


def test_a_told_week_that_passed_holds_nothing_up():
    plan = plan_shop(shop(job("t", told_week=date(2026, 10, 26))))

    assert starts(plan) == {"t": "Mon 2 08:00"}
    assert plan.flags == (Flag("t", "told broken"),)


def test_a_missed_recoat_window_is_flagged_and_not_forbidden():
    coat = job(
        "second", after=[Link("first", 60, latest=120)], not_before=(NotBefore(when(3), "agreed", "x"),)
    )
    plan = plan_shop(shop(job("first"), coat))

    assert starts(plan)["second"] == "Tue 3 08:00"
    assert plan.flags == (Flag("second", "window missed", "first"),)


def test_work_under_way_goes_on_with_its_crew_and_what_is_left():
    going = job("a", 600, state="under way", started=when(2, "08:00") - 3 * 1440, left=90, fitters=("ben",))
    plan = plan_shop(shop(going, job("b", after=["a"])))

    assert plan.planned[0].start == when(2) - 3 * 1440
    assert finishes(plan) == {"a": "Mon 2 09:30", "b": "Mon 2 10:30"}
    assert hands(plan)["a"] == ("ben",)


def test_waits_after_work_that_is_done_run_from_when_it_was():
    done = job("a", state="done", finished=when(1, "20:00"))
    plan = plan_shop(shop(done, job("b", after=[Link("a", 14 * 60)])))

    assert starts(plan) == {"b": "Mon 2 10:00"}


def test_a_stopped_task_and_its_followers_wait_for_word_while_the_rest_goes_on():
    plan = plan_shop(shop(job("a", waits_for_word="leak at the sink"), job("b", after=["a"]), job("c")))

    assert starts(plan) == {"c": "Mon 2 08:00"}
    assert plan.unplanned == (Unplanned("a", "word"), Unplanned("b", "follows", "a"))
    assert plan.handovers == {"v1": None}


def test_what_is_impossible_is_named_and_the_rest_is_planned():
    plan = plan_shop(
        shop(
            job("trade", trade="upholstery"),
            job("after", after=["trade"]),
            job("day", 540, same_day=True),
            job("crew", crew=4),
            job("room", crew=3, place="inside"),
            job("loop1", after=["loop2"]),
            job("loop2", after=["loop1"]),
            job("behind", after=["loop1"]),
            job("gone", place="inside", van="nobody"),
            job("fine"),
        )
    )

    assert starts(plan) == {"fine": "Mon 2 08:00"}
    assert {u.task: (u.code, u.ref) for u in plan.unplanned} == {
        "trade": ("no trade", None),
        "after": ("follows", "trade"),
        "day": ("too long for a day", None),
        "crew": ("crew too small", None),
        "room": ("no room", None),
        "loop1": ("loop", None),
        "loop2": ("loop", None),
        "behind": ("follows", "loop1"),
        "gone": ("no van", None),
    }


def test_hours_that_never_meet_are_no_time():
    early = replace(ANNA, hours=dict.fromkeys(range(5), ((480, 600),)))
    late = replace(BEN, hours=dict.fromkeys(range(5), ((600, 720),)))

    assert plan_shop(shop(job("a", crew=2), fitters=(early, late))).unplanned == (Unplanned("a", "no time"),)


def test_a_van_that_leaves_too_soon_is_no_van():
    plan = plan_shop(shop(job("a", 900, place="inside"), vans=(van(here=((when(2), when(3)),)),)))

    assert plan.unplanned == (Unplanned("a", "no van"),)


def test_work_reaches_as_far_as_it_must():
    plan = plan_shop(shop(*(job(f"t{k}", 510 * 60, after=[f"t{k - 1}"] if k else []) for k in range(12)),
                          fitters=(ANNA,)))  # fmt: skip

    assert len(plan.planned) == 12


def test_the_same_input_gives_the_same_plan():
    problem = shop(*(job(f"t{k}", 60 + 15 * k, place="inside", crew=1 + k % 2) for k in range(20)))

    assert plan_shop(problem) == plan_shop(problem)


def test_a_place_without_a_limit_holds_everything():
    places = {**PLACES, "bench": Place("bench")}
    plan = plan_shop(shop(job("a", place="bench"), job("b", place="bench"), places=places))

    assert set(starts(plan).values()) == {"Mon 2 08:00"}
