"""A referee of our own: checks a plan minute by minute against the rules, using none of the engine.

It knows the problem and plan as data only and works on clock instants with plain lists, where the
engine works on masks of slots, so that the two can't share a mistake.
"""

from datetime import UTC, date, datetime, time, timedelta
from itertools import combinations, pairwise
from zoneinfo import ZoneInfo


def at(day, minutes, zone):
    local = datetime.combine(day, time()) + timedelta(minutes=minutes)
    return int(local.replace(tzinfo=ZoneInfo(zone) if zone else UTC).timestamp()) // 60


def week_of(monday, zone):
    return at(monday, 0, zone), at(monday + timedelta(days=7), 0, zone)


def local_day(instant, zone):
    return datetime.fromtimestamp(instant * 60, ZoneInfo(zone) if zone else UTC).date()


class Referee:
    def __init__(self, problem, plan):
        self.problem, self.plan = problem, plan
        self.zone, self.step = problem.opening.zone, problem.opening.slot_minutes
        self.tasks = {t.id: t for t in problem.tasks}
        self.vans = {v.id: v for v in problem.vans}
        self.fitters = {f.id: f for f in problem.fitters}
        self.rows = {p.task: p for p in plan.planned}
        self.wrong = []
        ends = [p.finish for p in plan.planned] + [problem.now]
        self.days = self._days(local_day(problem.now, self.zone), local_day(max(ends), self.zone))
        self.work = {f.id: self._work(f) for f in problem.fitters}
        self.open = sorted(s for d in self.days for s in self._slots(self._opening(d), d))
        self.manned = sorted(set(self.open).union(*self.work.values()))

    def _days(self, first, last):
        return [first + timedelta(days=k) for k in range((last - first).days + 2)]

    def _opening(self, day):
        return () if day in self.problem.opening.closed else self.problem.opening.week.get(day.weekday(), ())

    def _slots(self, spans, day):
        found = []
        for a, b in spans:
            since, until = at(day, a, self.zone), at(day, b, self.zone)
            found += [s for s in range(since, until - self.step + 1, self.step) if s >= self.problem.now]
        return found

    def _work(self, fitter):
        slots = set()
        for day in self.days:
            booked = fitter.booked or set()
            if booked and day <= max(booked):
                works = day in booked
            else:
                works = fitter.days is None or day.weekday() in fitter.days
            if not works or day in self.problem.opening.closed:
                continue
            own = (fitter.hours or {}).get(day.weekday(), self._opening(day))
            slots |= {
                s
                for s in self._slots(own, day)
                if not any(s < until and since < s + self.step for since, until in fitter.away)
            }
        return slots

    def say(self, text):
        self.wrong.append(text)

    def check(self):
        left = {u.task for u in self.plan.unplanned}
        for i, t in self.tasks.items():
            if t.state != "done" and (i in self.rows) == (i in left):
                self.say(f"{i}: neither planned nor declared unplanned, or both")
        for row in self.plan.planned:
            self._one(row, self.tasks[row.task])
        self._people()
        self._places()
        self._vans()
        self._bays()
        for i in self._surely_possible() & left:
            self.say(f"{i}: left out though it can be planned")
        return self.wrong

    def _goes_on(self, t):
        return t.state == "under way" and any(f in self.fitters for f in t.fitters)

    def _one(self, row, t):
        shared = set.intersection(*(self.work[f] for f in row.fitters))
        if self._goes_on(t):
            since = self.problem.now
        else:
            since = row.start
            self._crew(row, t)
            self._bounds(row, t)
        slots = sorted(s for s in shared if since <= s < row.finish)
        left = t.left if t.left is not None else t.minutes
        wanted = max(1, -(-left // self.step))
        if len(slots) != wanted or slots[-1] + self.step != row.finish:
            self.say(f"{t.id}: {len(slots)} slots of shared work, wants {wanted}")
        elif not self._goes_on(t):
            if slots[0] != row.start:
                self.say(f"{t.id}: starts outside shared working time")
            if t.same_day and local_day(slots[0], self.zone) != local_day(slots[-1], self.zone):
                self.say(f"{t.id}: runs overnight")

    def _crew(self, row, t):
        able = [f for f in row.fitters if t.trade in self.fitters[f].trades]
        if len(set(row.fitters)) != t.crew or not able or row.fitters[0] not in able:
            self.say(f"{t.id}: crew {row.fitters} for {t.crew} of {t.trade}")
        if not all(self.fitters[f].helps or f in able for f in row.fitters):
            self.say(f"{t.id}: a visitor helps")

    def _bounds(self, row, t):
        bounds = [self.problem.now, *(n.at for n in t.not_before)]
        if t.pin_week:
            bounds.append(week_of(t.pin_week, self.zone)[0])
        if t.told_week and week_of(t.told_week, self.zone)[1] > self.problem.now:
            bounds.append(week_of(t.told_week, self.zone)[0])
        for link in t.after:
            before = self.tasks[link.task]
            if before.state == "done":
                bounds.append(
                    (before.finished if before.finished is not None else self.problem.now) + link.wait
                )
            elif link.task not in self.rows:
                self.say(f"{t.id}: planned though {link.task} is not")
            else:
                bounds.append(self.rows[link.task].finish + link.wait)
        if row.start < max(bounds):
            self.say(f"{t.id}: starts {row.start} before {max(bounds)}")
        stays = self.vans[t.van].here
        if t.needs_van and not any(a <= row.start and (b is None or row.finish <= b) for a, b in stays):
            self.say(f"{t.id}: its van is not here")

    def _people(self):
        for f in self.fitters:
            rows = sorted(
                (max(p.start, self.problem.now), p.finish, p.task)
                for p in self.plan.planned
                if f in p.fitters
            )
            for one, other in pairwise(rows):
                if other[0] < one[1]:
                    self.say(f"{f}: on {one[2]} and {other[2]} at once")

    def _over(self, rows, room, name):
        edges = sorted([(a, 1, q) for a, b, q in rows if b > a] + [(b, 0, -q) for a, b, q in rows if b > a])
        use = 0
        for when, _, q in edges:
            use += q
            if use > room:
                self.say(f"{name}: {use} at {when}, holds {room}")
                return

    def _span(self, t):
        """When work on a task takes room; None when it is not planned. Work done before now counts on."""
        if t.state == "done":
            finished = t.finished if t.finished is not None else self.problem.now
            return finished, finished
        row = self.rows.get(t.id)
        return (max(row.start, self.problem.now), row.finish) if row else None

    def _places(self):
        # Work already under way stands where it stands, so only what the plan starts is held to the room.
        for key, place in self.problem.places.items():
            if place.room is None:
                continue
            for van in self.vans if place.per_van else [None]:
                rows = []
                for t in self.tasks.values():
                    span = self._span(t)
                    if t.place != key or span is None or (van is not None and t.van != van):
                        continue
                    amount = t.crew if place.counts == "people" else 1
                    rows.append((span[0], span[1] + t.dries_here, amount))
                self._over(rows, place.room, f"{key} {van or ''}")
        if self.problem.rack_room is not None:
            spans = [(t, self._span(t)) for t in self.tasks.values() if t.rack]
            rows = [(s[1] + t.dries_here, s[1] + t.dries_here + t.rack, 1) for t, s in spans if s]
            self._over(rows, self.problem.rack_room, "drying rack")

    def _vans(self):
        move = -(-self.problem.move_minutes // self.step)
        on_van = [t for t in self.tasks.values() if t.needs_van and t.id in self.rows and t.state == "to do"]
        for one, other in combinations(on_van, 2):
            if one.van != other.van:
                continue
            a, b = sorted((one, other), key=lambda t: self.rows[t.id].start)
            first, second = self.rows[a.id], self.rows[b.id]
            if (a.claims_van or b.claims_van) and second.start < first.finish:
                self.say(f"{a.id}, {b.id}: on one van though one claims it")
            places = [self.problem.places.get(t.place) for t in (a, b)]
            positions = [p.position if p else None for p in places]
            if None not in positions and positions[0] != positions[1]:
                still = first.finish + a.still
                free = [s for s in self.manned if still <= s < second.start]
                if second.start < still or len(free) < move:
                    self.say(f"{a.id}, {b.id}: no time to move the van between them")

    def _bays(self):
        if self.problem.bays is None:
            return
        rows = []
        for van in self.vans.values():
            mine = [
                self.rows[t.id]
                for t in self.tasks.values()
                if t.van == van.id and t.id in self.rows and self.problem.places[t.place].holds_bay
            ]
            for a, b in van.here:
                stay = [r for r in mine if a <= r.start and (b is None or r.start < b)]
                if stay:
                    since = (
                        self.problem.now
                        if van.in_bay and van.here[0] == (a, b)
                        else min(r.start for r in stay)
                    )
                    rows.append((max(since, self.problem.now), max(r.finish for r in stay), 1))
        self._over(rows, self.problem.bays, "bays")

    def _surely_possible(self):
        """Tasks that some plan can hold for certain, so that leaving them out is wrong.

        With few bays, links across vans may make two vans each need the other out of the way first.
        """
        across = any(self.tasks[k.task].van != t.van for t in self.tasks.values() for k in t.after)
        if across and self.problem.bays is not None:
            return set()
        sure, size = {t.id for t in self.tasks.values() if t.state == "done"}, -1
        while size != len(sure):
            size = len(sure)
            for t in self.tasks.values():
                if t.id not in sure and self._alone(t) and all(k.task in sure for k in t.after):
                    sure.add(t.id)
        return sure

    def _alone(self, t):
        place = self.problem.places.get(t.place)
        amount = t.crew if place and place.counts == "people" else 1
        if place and (
            (place.room is not None and amount > place.room) or (place.holds_bay and self.problem.bays == 0)
        ):
            return False
        if t.waits_for_word or (t.rack and self.problem.rack_room == 0):
            return False
        if t.needs_van and (not self.vans[t.van].here or self.vans[t.van].here[-1][1] is not None):
            return False
        week = self.problem.opening.week
        shortest = min((sum(b - a for a, b in spans) for spans in week.values() if spans), default=0)
        for crew in combinations(self.fitters.values(), t.crew):
            able = [f for f in crew if t.trade in f.trades]
            helpful = all(f.helps or f in able for f in crew)
            plain = all(not f.hours and not f.booked for f in crew)
            days = set.intersection(
                {d for d, spans in week.items() if spans}, *(set(f.days or range(7)) for f in crew)
            )
            if able and helpful and plain and days and (not t.same_day or t.minutes <= shortest):
                return True
        return False


def faults(problem, plan):
    """What is wrong with a plan, one sentence each; empty when it holds."""
    return Referee(problem, plan).check()


MONDAY = date(2026, 11, 2)
