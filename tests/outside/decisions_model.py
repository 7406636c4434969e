"""The most head that a season's decisions can reach: who goes where, and which way through a day.

The rules are those of `src/guide/crew_rules.md`, less what the search does not look at. Of divided days that leaves:

* Somebody who cannot serve two sessions whole goes to one of them, or to part of one and, after the
  road, to part of another, and so on, no session twice: of routes with more than three visits there may be
  very many, so these are listed only where they are asked for. A visit begins as it would
  were it the only one, or as the road, and the rest if one is due, allow. It is left as a round of
  thawed straws is done.
* A rest is due on arrival where work from the first visit's begin to the end of this visit, as long
  as it could last, is longer than allowed without a rest. Rounds begin anew after each rest.
* Who could be at a session for longer than the longest day is there round its middle, or, with no other
  session that day, from the first moment on, to the last, or from the beginning of a slot: of so many
  slots that of one in so many that no more than 12 are tried.
* Where boxes are fewer than people, those sent to whole sessions may take turns, by stretches with
  the same people on duty; whoever is there on a route has a box for the whole visit.

Either everybody goes to whole sessions, or everybody who cannot serve all takes a route: the better
of the two is what can be reached. Both are solved by HiGHS, with every route a column.
"""

import heapq
import math
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import combinations

import numpy as np
import yaml
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from crew import MOST_STRAWS, free_hours, lots_of, presence, safest

NIGHT = 8 * 3600
MOST_DAYS = 12
VISITS = 3  # of a route, unless more are asked for


def next_minute(at):
    """People come on whole minutes."""
    return -(-at // 60) * 60


@dataclass
class Limits:
    """What the season says of rest and of the longest day, in seconds."""

    rest: tuple | None  # after so much work, so long
    longest: dict  # by technician

    @staticmethod
    def read(text):
        raw = yaml.load(text, yaml.BaseLoader)
        rules = raw.get("rules") or {}
        rest = None
        if "rest_after_hours" in rules:
            rest = (int(Fraction(rules["rest_after_hours"]) * 3600), int(Fraction(rules["rest_minutes"]) * 60))
        longest = {}
        for t in raw["crew"]:
            hours = t.get("longest_day_hours", rules.get("longest_day_hours"))
            if hours is not None:
                longest[t["id"]] = int(Fraction(hours) * 3600)
        return Limits(rest, longest)


@dataclass
class Session:
    site: str
    open: int
    close: int
    lots: list
    after: int = -(10**12)  # when the session before it at the site closes

    @cached_property
    def usable(self):
        return [lot for lot in self.lots if lot.first <= lot.last]

    @cached_property
    def span(self):
        """First and last slot, or none."""
        if not self.usable:
            return None
        return min(lot.first for lot in self.usable), max(lot.last for lot in self.usable)


@dataclass
class Stay:
    """What somebody could do at a session in some of its hours."""

    caps: dict  # cows by slot
    there: frozenset  # slots
    ends: list  # moments at which a round is done
    begin: int
    end: int


@dataclass
class Route:
    visits: list = field(default_factory=list)  # (place of the session, Stay)


class World:
    """A season whose dues may change: stays and lots are worked out once."""

    def __init__(self, season, limits):
        self.season, self.limits = season, limits
        self.known, self.lots, self.pace = {}, {}, {}

    def sessions(self, dues):
        found = []
        for site in self.season.sites:
            here = []
            for due in (d for d in dues if d.site == site):
                key = (due.id, due.start)
                if key not in self.lots:
                    hours = due.pen_hours()
                    both = sorted([int(hours.earliest), int(hours.latest)])
                    self.lots[key] = (*both, lots_of(due, self.season.slot))
                here.append((*self.lots[key], key))
            here.sort(key=lambda x: (x[0], x[3]))
            mine = []
            for begin, end, lots, _ in here:
                if not mine or begin > mine[-1].close:
                    mine.append(Session(site, begin, end, []))
                mine[-1].close = max(mine[-1].close, end)
                mine[-1].lots.extend(lots)
            for a, b in zip(mine, mine[1:]):
                b.after = a.close
            found += mine
        places = list(self.season.sites)
        return sorted(found, key=lambda s: (s.open, places.index(s.site)))

    def rounds(self, t, site):
        """Rounds of a technician at a site, and when its cows are bred after the begin."""
        if (t.id, site) not in self.pace:
            at = self.season.sites[site]
            bath = max(1, at.bath // min(at.boxes, len(self.season.crew)))
            rounds = safest(t, self.season, min(t.straws or MOST_STRAWS, bath))
            cows = list(rounds.breedings(0, 30 * 3600)) if rounds else []
            self.pace[t.id, site] = rounds and (rounds, rounds.ahead, cows)
        return self.pace[t.id, site]

    def home(self, t, site):
        return self.season.sites[t.home].road[site] if t.home else 0

    def stay(self, t, session, start=None, stop=None):
        """What a technician could do there, no sooner than `start` and no later than `stop`."""
        key = (t.id, session.site, session.span, session.after, start, stop)
        if key not in self.known:
            self.known[key] = self._stay(t, session, start, stop)
        return self.known[key]

    def _stay(self, t, session, start, stop):
        paced = self.rounds(t, session.site)
        if session.span is None or not paced:
            return None
        rounds, lead, cows = paced
        slot, (first, last) = self.season.slot, session.span
        opens, closes = first * slot, (last + 1) * slot
        early = max(opens - lead, session.after, -math.inf if start is None else start)
        late = closes if stop is None else min(closes, stop)
        if early >= late:
            return None
        spans = [
            [max(a, early), min(b, late)]
            for a, b in presence(self.season, t, session.site, early, late)
            if max(a, early) < min(b, late)
        ]
        spans = self._short_days(t, session, self._rested(spans), (opens + closes) / 2)
        free = free_hours(self.season, opens - slot, closes) if self.season.free else []
        # Whoever leaves as the hours open has no box in a slot, so a cow then is safe only with a box for each.
        has_box = self.season.sites[session.site].boxes >= len(self.season.crew)
        has_box = has_box or any(a <= opens < b for a, b in spans)
        at_open = has_box and not any(a < opens and opens - slot < b for a, b in free)
        caps, there, ends = {}, set(), []
        ready = spans[0][0] if spans else 0
        for begin, end in spans:
            a = begin
            while a < end:
                # A rest puts nothing in order for the next round.
                a = max(a, ready)
                after, long = self.limits.rest or (max(1, end - a), 0)
                b = min(a + after, end)
                done = [a + c for c in cows if a + c <= b]
                ready = done[-1] + rounds.reset if done else ready
                for at in done:
                    # A cow bred as the hours open counts to the slot that begins then.
                    k = max(-(-at // slot) - 1, first)
                    if k <= last and (at > opens or at_open):
                        caps[k] = caps.get(k, 0) + 1
                ends += done[rounds.straws - 1 :: rounds.straws]
                if done and (not ends or ends[-1] != done[-1]):
                    ends.append(done[-1])
                a = (done[-1] if done and self.limits.rest else a + after) + long
            there.update(range(max(begin // slot, first), min(-(-end // slot) - 1, last) + 1))
        kept = [k for k in there if any(a < (k + 1) * slot and k * slot < b for a, b in free)]
        there.difference_update(kept)
        caps = {k: n for k, n in caps.items() if not any(a < (k + 1) * slot and k * slot < b for a, b in free)}
        if not caps:
            return None
        return Stay(caps, frozenset(there), ends, spans[0][0], spans[-1][1])

    def other_days(self, t, session):
        """From when to when somebody may be there else, where the longest day leaves a part of the hours."""
        paced, longest = self.rounds(t, session.site), self.limits.longest.get(t.id)
        if session.span is None or not paced or longest is None:
            return []
        longest = max(0, longest - 2 * self.home(t, session.site))
        slot, (first, last) = self.season.slot, session.span
        early, late = max(first * slot - paced[1], session.after), (last + 1) * slot
        spans = [s for s in presence(self.season, t, session.site, early, late) if s[0] < late and early < s[1]]
        if not spans or any(b[0] - a[1] >= NIGHT for a, b in zip(spans, spans[1:])):
            return []
        begin, end = max(early, spans[0][0]), min(late, spans[-1][1])
        if end - begin <= longest:
            return []
        latest = next_minute(end - longest)
        between = [next_minute(k * slot) for k in range(first, last + 1)]
        between = [at for at in between if begin < at < latest]
        begins = [begin, *between[:: len(between) // MOST_DAYS + 1], latest]
        return [(at, at + longest) for at in begins]

    def _rested(self, spans):
        """Hours off that are too short for a rest are made up for."""
        if self.limits.rest:
            for before, span in zip(spans, spans[1:]):
                span[0] = max(span[0], before[1] + self.limits.rest[1])
        return [s for s in spans if s[0] < s[1]]

    def _short_days(self, t, session, spans, middle):
        longest = self.limits.longest.get(t.id)
        if longest is None or not spans:
            return spans
        longest = max(0, longest - 2 * self.home(t, session.site))
        days = [[spans[0]]]
        for s in spans[1:]:
            if s[0] - days[-1][-1][1] < NIGHT:
                days[-1].append(s)
            else:
                days.append([s])
        kept = []
        for day in days:
            begin = min(math.floor(middle - longest / 2), day[-1][1] - longest)
            begin = max(day[0][0], begin // 60 * 60)
            kept += [[max(a, begin), min(b, begin + longest)] for a, b in day]
        return [s for s in kept if s[0] < s[1]]

    def clash(self, t, one, two):
        """True if a technician cannot serve both sessions whole; `one` opens first."""
        a, b = self.stay(t, one), self.stay(t, two)
        road = self.season.sites[one.site].road[two.site]
        if one.site != two.site and two.open - self.rounds(t, two.site)[1] < one.close + road:
            return True
        gap, work = b.begin - a.end, b.end - a.begin
        if self.limits.rest and work > self.limits.rest[0] and gap < road + self.limits.rest[1]:
            return True
        longest = self.limits.longest.get(t.id)
        roads = self.home(t, one.site) + self.home(t, two.site)
        return longest is not None and gap < NIGHT and work + roads > longest

    def routes(self, t, sessions, knot, visits=VISITS):
        """Every route of so many visits at the most through the sessions of a knot, given by their places."""
        found = []

        def go(before, n, stay, worked_from):
            """`stay`: as long as it could last. Adds it as the last visit, and every way on."""
            route = [*before, (n, stay)]
            if self._one_day(t, sessions, route):
                found.append(Route(route))
            if len(route) == visits:
                return
            for m in knot:
                if m == n or any(m == v for v, _ in before) or self.stay(t, sessions[m]) is None:
                    continue
                road = self.season.sites[sessions[n].site].road[sessions[m].site]
                seen = None
                for leave in reversed(stay.ends):
                    left = self.stay(t, sessions[n], stay.begin, leave)
                    first = before[0][1] if before else stay
                    then = self._arrive(t, sessions, before[0][0] if before else n, first.begin, m, leave, road)
                    if left is None or then is None:
                        continue
                    # To leave sooner for just the same work at the next session gains nothing.
                    if then == seen:
                        continue
                    seen = then
                    go([*before, (n, left)], m, then, worked_from)

        for n in knot:
            stay = self.stay(t, sessions[n])
            if stay is not None:
                go([], n, stay, stay.begin)
            for start, stop in self.other_days(t, sessions[n]):
                stay = self.stay(t, sessions[n], start, stop)
                if stay is not None:
                    found.append(Route([(n, stay)]))
        return found

    def _arrive(self, t, sessions, first, begun, m, leave, road):
        there = next_minute(leave + road)
        longest = self.limits.longest.get(t.id)
        whole = self.stay(t, sessions[m], there)
        stop = None
        if longest is not None and (whole is None or whole.begin - leave < NIGHT):
            stop = begun + longest - self.home(t, sessions[first].site) - self.home(t, sessions[m].site)
        then = self.stay(t, sessions[m], there, stop)
        if then and self.limits.rest:
            after, long = self.limits.rest
            if then.end - begun > after and then.begin < there + long:
                then = self.stay(t, sessions[m], next_minute(there + long), stop)
        return then

    def _one_day(self, t, sessions, route):
        longest = self.limits.longest.get(t.id)
        if longest is None:
            return True
        first = last = route[0]
        for v in route[1:]:
            if v[1].begin - last[1].end >= NIGHT:
                first = v
            last = v
            roads = self.home(t, sessions[first[0]].site) + self.home(t, sessions[last[0]].site)
            if last[1].end - first[1].begin + roads > longest:
                return False
        return True


def counted(lots, places):
    """Head that can be bred with so many places a slot: whose last slot comes first goes first."""
    waiting, total = [], 0
    lots = sorted((lot for lot in lots if lot.first <= lot.last), key=lambda lot: lot.first)
    n = 0
    for k in sorted(places):
        while n < len(lots) and lots[n].first <= k:
            heapq.heappush(waiting, (lots[n].last, n, lots[n].head))
            n += 1
        room = places[k]
        while room > 0 and waiting:
            last, i, head = heapq.heappop(waiting)
            if last < k:
                continue
            take = min(room, head)
            total, room = total + take, room - take
            if take < head:
                heapq.heappush(waiting, (last, i, head - take))
    return total


def at_most(world, sessions):
    """No decisions reach more: each session for itself, with all who could come."""
    total = 0
    for s in sessions:
        by_slot = {}
        stays = [world.stay(t, s) for t in world.season.crew]
        for stay in filter(None, stays):
            for k, cap in stay.caps.items():
                by_slot.setdefault(k, []).append(cap)
        boxes = world.season.sites[s.site].boxes
        # On a route that skips the hours of the whole visit there may be more to do: only where
        # the longest day shortens that is this no bound.
        total += counted(s.lots, {k: sum(sorted(c)[-boxes:]) for k, c in by_slot.items()})
    return total


def clashes_of(world, sessions):
    found = {}
    for t in world.season.crew:
        able = [n for n, s in enumerate(sessions) if world.stay(t, s)]
        found[t.id] = [(i, j) for i, j in combinations(able, 2) if world.clash(t, sessions[i], sessions[j])]
        found[t.id] += [(i, i) for i in able if world.other_days(t, sessions[i])]
    return found


def knots_of(pairs):
    """Sessions that clash, directly or by others."""
    knots = []
    for a, b in pairs:
        joined = {a, b}
        for k in [k for k in knots if k & {a, b}]:
            joined |= k
            knots.remove(k)
        knots.append(joined)
    return [sorted(k) for k in knots]


@dataclass
class Most:
    whole: int
    routes: int
    columns: int

    @property
    def head(self):
        return max(self.whole, self.routes)


def most(world, sessions, more_than=None):
    """The most head; where a plan has more, with routes of as many visits as there are sessions that clash."""
    clashes = clashes_of(world, sessions)
    longest = max((len(k) for pairs in clashes.values() for k in knots_of(pairs)), default=0)
    found = _most(world, sessions, clashes, VISITS)
    if more_than is not None and more_than > found.head and longest > VISITS:
        found = _most(world, sessions, clashes, longest)
    return found


def _most(world, sessions, clashes, visits):
    whole = _Program(world, sessions).whole(clashes)
    divided = any(clashes.values())
    program = _Program(world, sessions)
    routes = program.routed(clashes, visits) if divided else whole
    return Most(whole, routes, program.whole_numbers)


class _Program:
    """Head by lot and slot, places a slot from yes-or-no decisions."""

    def __init__(self, world, sessions):
        self.world, self.sessions = world, sessions
        self.upper, self.integer, self.rows = [], [], []
        # Places a slot: a number, and decisions with what each adds.
        self.places = [{} for _ in sessions]

    @property
    def whole_numbers(self):
        return sum(self.integer)

    def var(self, upper, whole):
        self.upper.append(upper)
        self.integer.append(whole)
        return len(self.upper) - 1

    def add(self, session, caps, switch):
        for k, cap in caps.items():
            self.places[session].setdefault(k, []).append((cap, switch))

    def boxes(self, n):
        return self.world.season.sites[self.sessions[n].site].boxes

    def whole(self, clashes):
        sent = {}
        for t in self.world.season.crew:
            for pair in clashes[t.id]:
                for n in pair:
                    if (t.id, n) not in sent:
                        sent[t.id, n] = self.var(1, 1)
                if pair[0] == pair[1]:
                    continue
                self.rows.append(([(1, sent[t.id, n]) for n in pair], 1))
        for n in range(len(self.sessions)):
            self.turns(n, {t.id: sent.get((t.id, n)) for t in self.world.season.crew}, {}, set())
        return self.solve()

    def routed(self, clashes, visits):
        on_routes = [{} for _ in self.sessions]  # decisions by slot in which they take a box
        routed, coming = set(), set()  # a route may bring somebody in hours not those of a whole visit
        for t in self.world.season.crew:
            for knot in knots_of(clashes[t.id]):
                mine = []
                for route in self.world.routes(t, self.sessions, knot, visits):
                    switch = self.var(1, 1)
                    mine.append(switch)
                    for n, stay in route.visits:
                        self.add(n, stay.caps, switch)
                        coming.update((t.id, n, k) for k in stay.there)
                        for k in stay.there:
                            on_routes[n].setdefault(k, []).append(switch)
                self.rows.append(([(1, v) for v in mine], 1))
                routed.update((t.id, n) for n in knot)
        for n in range(len(self.sessions)):
            others = {t.id: None for t in self.world.season.crew if (t.id, n) not in routed}
            self.turns(n, others, on_routes[n], {(who, k) for who, m, k in coming if m == n})
        return self.solve()

    def turns(self, n, people, on_routes, coming):
        """Who of these stands at the boxes, by stretches of slots with the same people on duty."""
        session, crew = self.sessions[n], {t.id: t for t in self.world.season.crew}
        stays = {who: self.world.stay(t, session) for who, t in crew.items()}
        stays = {who: stay for who, stay in stays.items() if stay}
        if session.span is None:
            return
        before, at_box, limited = None, {}, set()
        for k in range(session.span[0], session.span[1] + 1):
            duty = frozenset(who for who, stay in stays.items() if k in stay.there or (who, k) in coming)
            few = len(duty) > self.boxes(n)
            if few and duty != before:
                at_box = {}
                for who in sorted(duty & people.keys()):
                    at_box[who] = self.var(1, 1)
                    if people[who] is not None:
                        self.rows.append(([(1, at_box[who]), (-1, people[who])], 0))
            if not few:
                at_box = {}
            before = duty if few else None
            there = [who for who in sorted(duty & people.keys()) if k in stays[who].there]
            visits = on_routes.get(k, [])
            fixed = 0 if few else len(there)
            row = [*at_box.values(), *visits]
            if row and (tuple(row), fixed) not in limited:
                limited.add((tuple(row), fixed))
                self.rows.append(([(1, v) for v in row], self.boxes(n) - fixed))
            for who in people.keys() & stays.keys():
                cap = stays[who].caps.get(k)
                if cap:
                    self.add(n, {k: cap}, at_box.get(who, people[who]))

    def solve(self):
        wanted = []
        for session, places in zip(self.sessions, self.places):
            by_slot = {}
            for lot in session.usable:
                mine = []
                for k in range(lot.first, lot.last + 1):
                    if k in places:
                        v = self.var(lot.head, 0)
                        mine.append(v)
                        by_slot.setdefault(k, []).append(v)
                if mine:
                    self.rows.append(([(1, v) for v in mine], lot.head))
                wanted += mine
            for k, animals in by_slot.items():
                fixed = sum(cap for cap, switch in places[k] if switch is None)
                opened = [(-cap, switch) for cap, switch in places[k] if switch is not None]
                self.rows.append(([(1, v) for v in animals] + opened, fixed))
        if not wanted:
            return 0
        cost = np.zeros(len(self.upper))
        cost[wanted] = -1
        data = [(c, r, v) for r, (terms, _) in enumerate(self.rows) for c, v in terms]
        coefficients, rows, columns = zip(*data)
        matrix = coo_array((coefficients, (rows, columns)), shape=(len(self.rows), len(cost))).tocsr()
        # With the decisions made, the rest is a flow with whole capacities. Whole numbers all over:
        # a gap below one head is a proof.
        most = sum(lot.head for s in self.sessions for lot in s.lots)
        result = milp(
            cost,
            integrality=np.array(self.integer),
            bounds=Bounds(0, np.array(self.upper, dtype=float)),
            constraints=LinearConstraint(matrix, -np.inf, np.array([b for _, b in self.rows], dtype=float)),
            options={"mip_rel_gap": 0.5 / max(1, most), "time_limit": 240},
        )
        if result.status != 0:
            raise RuntimeError(f"the model was not solved: {result.message}")
        if abs(result.fun - round(result.fun)) > 1e-4:
            raise RuntimeError(f"{-result.fun} is not a whole number")
        return round(-result.fun)
