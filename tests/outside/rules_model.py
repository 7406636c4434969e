"""The most head of a small season, by the rules of `src/guide/crew_rules.md` and nothing else: two exact models.

`by_time`: a yes or no for each technician, pen and moment, and each technician's day as a path through a
time-expanded network; for HiGHS and for CP-SAT. `by_order`: each technician's cows in order, as intervals, for CP-SAT;
it grows faster, so it is for the smallest seasons. All times of a season are multiples of one unit. With the choices
made, every rule bounds a difference of two moments, so some best schedule has all its moments on that unit.

Not modeled: tanks that go from site to site, a bath with fewer than ten straws a person, pens with open starts,
groups spread over days, and groups planned twice over.
"""

from collections import defaultdict
from copy import deepcopy
from dataclasses import dataclass, field
from fractions import Fraction
from functools import reduce
from math import ceil, floor, gcd, inf

import numpy as np
import yaml
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, vstack

from crew import MOST_STRAWS, free_hours, presence, safest
from dates import date_season

NIGHT = 8 * 3600


@dataclass
class Pen:
    """A due: animals in order, each with her hours."""

    id: str
    group: str
    kept: bool
    hours: list  # (earliest, latest) of each animal

    @property
    def first(self):
        return min(a for a, _ in self.hours)

    @property
    def last(self):
        return max(b for _, b in self.hours)


@dataclass
class Session:
    site: str
    pens: list
    open: int
    close: int


@dataclass
class Pace:
    """Rounds of a technician at a site: straws, a cow, from the bath to the first gun, age of the last straw, from one
    round to the next, and the reset of one who works alone."""

    straws: int
    cow: int
    lead: int
    age: int
    period: int
    reset: int


@dataclass
class Person:
    id: str
    alone: bool
    pace: dict  # by site
    home: dict  # road by site
    work: list  # by session: stretches
    longest: int | None


@dataclass
class Instance:
    """A season in whole units."""

    unit: int
    sessions: list
    people: list
    road: dict
    boxes: dict
    rest: tuple | None
    free: list
    bulls: dict  # straws
    groups: dict  # bulls by group
    night: int
    # Only to tell what the search leaves out: a box held for whole rounds.
    whole_rounds: bool = False

    @property
    def due(self):
        return sum(len(p.hours) for s in self.sessions for p in s.pens)

    def holds(self, pace):
        """How long a cow holds a box."""
        return pace.period // pace.straws if self.whole_rounds else pace.cow

    def may(self, person, n, at):
        """True if a technician could breed a cow at a moment of a session, as far as shifts and hours kept free go."""
        pace = person.pace[self.sessions[n].site]
        if any(a < at <= b for a, b in self.free):
            return False
        return any(a <= at - pace.lead - pace.cow and at <= b for a, b in person.work[n])


def read(text, season):
    """The instance of a season, or nothing where its times have no unit of 15 seconds or more."""
    raw = yaml.load(text, yaml.BaseLoader)
    rules = raw.get("rules") or {}
    dues = date_season(season)[1]
    sessions = _sessions(season, dues)
    rest = None
    if "rest_after_hours" in rules:
        rest = (Fraction(rules["rest_after_hours"]) * 3600, Fraction(rules["rest_minutes"]) * 60)
    people = []
    for t, own in zip(season.crew, raw["crew"]):
        hours = own.get("longest_day_hours", rules.get("longest_day_hours"))
        longest = None if hours is None else Fraction(hours) * 3600
        people.append(_person(season, t, sessions, longest))
    begin = min(s.open for s in sessions) - 86400
    end = max(s.close for s in sessions) + 86400
    instance = Instance(
        1,
        sessions,
        people,
        {a: dict(site.road) for a, site in season.sites.items()},
        {a: site.boxes for a, site in season.sites.items()},
        rest,
        free_hours(season, begin, end),
        dict(season.straws),
        {g.id: g.bulls for g in season.groups},
        NIGHT,
    )
    return _in_units(instance)


def _sessions(season, dues):
    found = []
    for site in season.sites:
        here = []
        for due in (d for d in dues if d.site == site):
            hours = [due.animal(n) for n in range(due.head)]
            pen = Pen(due.id, due.group.id, due.kept, [(h.earliest, h.latest) for h in hours])
            whole = due.pen_hours()
            here.append((*sorted([whole.earliest, whole.latest]), pen))
        here.sort(key=lambda x: x[0])
        mine = []
        for a, b, pen in here:
            if not mine or a > mine[-1].close:
                mine.append(Session(site, [], a, b))
            mine[-1].close = max(mine[-1].close, b)
            mine[-1].pens.append(pen)
        found += mine
    return sorted(found, key=lambda s: s.open)


def _person(season, t, sessions, longest):
    pace, home, work = {}, {}, []
    for name, site in season.sites.items():
        share = max(1, site.bath // min(site.boxes, len(season.crew)))
        r = safest(t, season, min(t.straws or MOST_STRAWS, share))
        if r is not None:
            reset = 0 if t.helper else r.period - r.last_age
            pace[name] = Pace(r.straws, r.cow, r.lead, r.last_age, r.period, reset)
        home[name] = site.road[t.home] if t.home else 0
    for s in sessions:
        p = pace.get(s.site)
        work.append(presence(season, t, s.site, s.open - p.lead - p.cow, s.close) if p else [])
    return Person(t.id, not t.helper, pace, home, work, longest)


def _in_units(i):
    """All times divided by the longest unit that divides them, counted from the first."""
    begin = floor(min(s.open for s in i.sessions) / 1800) * 1800 - 2 * 86400
    times = [x - begin for s in i.sessions for p in s.pens for h in p.hours for x in h]
    times += [x - begin for a in i.free for x in a] + [i.night]
    times += [x - begin for p in i.people for w in p.work for a in w for x in a]
    for p in i.people:
        times += [x for r in p.pace.values() for x in (r.cow, r.lead, r.age, r.period, r.reset)]
        times += [x for x in (*p.home.values(), p.longest) if x is not None]
    times += [x for roads in i.road.values() for x in roads.values()] + list(i.rest or ())
    if any(Fraction(x).denominator != 1 for x in times):
        return None
    unit = reduce(gcd, map(int, times))
    if unit < 15:
        return None

    def long(x):
        return None if x is None else int(x) // unit

    def at(x):
        return (int(x) - begin) // unit

    for s in i.sessions:
        s.open, s.close = floor(Fraction(s.open - begin) / unit), ceil(Fraction(s.close - begin) / unit)
        for p in s.pens:
            p.hours = [(at(a), at(b)) for a, b in p.hours]
    for p in i.people:
        p.pace = {
            s: Pace(r.straws, *(long(x) for x in (r.cow, r.lead, r.age, r.period, r.reset))) for s, r in p.pace.items()
        }
        p.home = {s: long(x) for s, x in p.home.items()}
        p.work = [[(at(a), at(b)) for a, b in w] for w in p.work]
        p.longest = long(p.longest)
    i.road = {a: {b: long(x) for b, x in roads.items()} for a, roads in i.road.items()}
    i.rest = i.rest and tuple(map(long, i.rest))
    i.free = [(at(a), at(b)) for a, b in i.free]
    i.unit, i.night = unit, long(i.night)
    return i


@dataclass
class Program:
    """Whole variables with bounds, and rows `low <= sum <= high`."""

    lower: list = field(default_factory=list)
    upper: list = field(default_factory=list)
    rows: list = field(default_factory=list)
    wanted: list = field(default_factory=list)

    def var(self, upper=1, lower=0):
        self.lower.append(lower)
        self.upper.append(upper)
        return len(self.upper) - 1

    def row(self, terms, high, low=-inf):
        if terms:
            self.rows.append((terms, low, high))

    def highs(self, seconds, least=0):
        """Head, and the most there can be; no head where not even so many are found."""
        cost = np.zeros(len(self.upper))
        cost[self.wanted] = -1
        data = [(c, r, v) for r, (terms, *_) in enumerate(self.rows) for c, v in terms]
        c, r, v = zip(*data)
        matrix = coo_array((c, (r, v)), shape=(len(self.rows), len(cost))).tocsr()
        if least:
            more = coo_array(([1] * len(self.wanted), ([0] * len(self.wanted), self.wanted)), shape=(1, len(cost)))
            matrix = vstack([matrix, more]).tocsr()
        low, high = (np.array([row[k] for row in self.rows], dtype=float) for k in (1, 2))
        if least:
            low, high = np.append(low, least), np.append(high, inf)
        result = milp(
            cost,
            integrality=np.ones(len(cost)),
            bounds=Bounds(np.array(self.lower, float), np.array(self.upper, float)),
            constraints=LinearConstraint(matrix, low, high),
            options={"mip_rel_gap": 0.9 / max(1, len(self.wanted)), "time_limit": seconds},
        )
        if result.status == 2:
            return 0, least - 1
        head = 0 if result.x is None else round(-result.fun)
        bound = result.mip_dual_bound
        return head, len(self.wanted) if bound is None or not np.isfinite(bound) else floor(-bound + 1e-6)


def solved(model, seconds, least):
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return 0, least - 1
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        # Stopped before it knew anything: its bound is none.
        return 0, inf
    return round(solver.objective_value), round(solver.best_objective_bound)


def as_searched(i, grain, what):
    """The season with some of what the search does not look at left out: `hours` that are no whole slots, and `boxes`
    handed over within a round."""
    i = deepcopy(i)
    for s in i.sessions if "hours" in what else ():
        opens = -(-min(a for p in s.pens for a, _ in p.hours) // grain) * grain
        for pen in s.pens:
            # A cow bred on a boundary counts to the slot that ends there, but for the session's first moment.
            slots = [(-(-a // grain) * grain, b // grain * grain) for a, b in pen.hours]
            pen.hours = [(a + (a > opens), b) for a, b in slots]
    i.whole_rounds = "boxes" in what
    return i


def by_time(i):
    """The program by moments."""
    program = Program()
    bred = defaultdict(list)  # by person and session: (moment, variable)
    of_pen = defaultdict(list)  # by pen: (person, moment, variable)
    for person in i.people:
        for n, s in enumerate(i.sessions):
            if s.site not in person.pace:
                continue
            for pen in s.pens:
                for at in range(pen.first, pen.last + 1) if pen.hours else ():
                    if any(a <= at <= b for a, b in pen.hours) and i.may(person, n, at):
                        v = program.var()
                        bred[person.id, n].append((at, v))
                        of_pen[pen.id].append((person, s.site, at, v))
    program.wanted = [v for found in bred.values() for _, v in found]
    at_moment = {}
    for key, found in bred.items():
        at_moment[key] = defaultdict(list)
        for at, v in found:
            at_moment[key][at].append((1, v))
    for person in i.people:
        _pace(program, i, person, at_moment)
        _Day(program, i, person, at_moment).add()
    for s in i.sessions:
        for pen in s.pens:
            (_kept if pen.kept else _mixed)(program, pen, of_pen[pen.id])
    _boxes(program, i, at_moment)
    _straws(program, i, of_pen)
    return program


def _within(moments, first, last):
    """Terms of cows bred from one moment to another, both included."""
    return [x for at in range(first, last + 1) for x in moments.get(at, ())]


def _pace(program, i, person, at_moment):
    """Cows follow each other no faster than the pace, nor than the helper's rounds."""
    for n, s in enumerate(i.sessions):
        moments = at_moment.get((person.id, n), {})
        p = person.pace.get(s.site)
        for at in moments:
            program.row(_within(moments, at, at + p.cow - 1), 1)
            if not person.alone:
                program.row(_within(moments, at, at + p.period - 1), p.straws)


class _Net:
    """A technician's path: flow in minus flow out of each node is zero."""

    def __init__(self, program):
        self.program, self.nodes = program, defaultdict(list)

    def arc(self, a, b):
        v = self.program.var()
        self.nodes[a].append((-1, v))
        self.nodes[b].append((1, v))
        return v

    def close(self, source, sink):
        for node, terms in self.nodes.items():
            if node == source:
                self.program.row(terms, 0, -1)
            elif node != sink:
                self.program.row(terms, 0, 0)


class _Day:
    """Where somebody is when: one place at a time, one visit a session, rests, the longest day, and the rounds of one
    who works alone. Nodes of a session: `idle` (rested, or just come), `free` (at work), `round` (straws thawed, with
    the time that they have left), `done` (a cow is bred), `bed` (a night within the session)."""

    def __init__(self, program, i, person, at_moment):
        self.program, self.i, self.person = program, i, person
        self.moments = {n: at_moment.get((person.id, n)) for n in range(len(i.sessions))}
        self.mine = [n for n, moments in self.moments.items() if moments]
        self.net, self.span = _Net(program), {}
        self.work = defaultdict(list)  # by session and unit of time
        self.spells, self.days = defaultdict(list), []

    def pace(self, n):
        return self.person.pace[self.i.sessions[n].site]

    def add(self):
        i, person = self.i, self.person
        bound = i.rest or person.longest is not None
        if not self.mine or (len(self.mine) == 1 and not bound and not person.alone):
            return
        for n in self.mine:
            self.span[n] = (min(self.moments[n]) - self.pace(n).lead - self.pace(n).cow, max(self.moments[n]))
        begin, end = min(a for a, _ in self.span.values()), max(b for _, b in self.span.values())
        for at in range(begin, end):
            self.net.arc(("night", at), ("night", at + 1))
        for n in self.mine:
            comes = [*self.hours(n, end), *(v for m in self.mine if m != n for v in self.roads(m, n))]
            self.program.row([(1, v) for v in comes], 1)
            if person.alone:
                self.rounds(n)
        self.net.close(("night", begin), "sink")
        for n in self.mine:
            if not person.alone:
                self.there(n)
            if bound:
                self.limits(n)

    @property
    def leaves(self):
        """From where one may go elsewhere, or to rest."""
        return "done" if self.person.alone else "free"

    @property
    def anew(self):
        return "idle" if self.i.rest else "free"

    def working(self, n, a, b, kinds):
        v = self.net.arc((kinds[0], n, a), (kinds[1], n, b))
        for at in range(a, b):
            self.work[n, at].append((1, v))

    def hours(self, n, end):
        """Time at a session. Gives the ways to come to it from home."""
        net, i, (a, b) = self.net, self.i, self.span[n]
        for at in range(a, b + 1):
            here, anew, bed = (self.leaves, n, at), (self.anew, n, at), ("bed", n, at)
            v = net.arc(("night", at), anew)
            self.days.append((n, at, v))
            yield v
            # Home to sleep, and back to this session or to any other.
            wakes = at + i.night
            net.arc(here, ("night", wakes) if wakes < end else "sink")
            if wakes <= b:
                net.arc(here, ("bed", n, wakes))
            if a + i.night <= at:
                self.days.append((n, at, net.arc(bed, anew)))
                if at < b:
                    net.arc(bed, ("bed", n, at + 1))
            if i.rest:
                self.spells[at].append((1, net.arc(("idle", n, at), ("free", n, at))))
            if at == b:
                continue
            self.working(n, at, at + 1, ("free", "free"))
            if i.rest:
                net.arc(("idle", n, at), ("idle", n, at + 1))
                long = max(i.rest[1], self.pace(n).reset)
                if at + long <= b:
                    net.arc(here, ("idle", n, at + long))

    def roads(self, m, n):
        """Ways from session `m` to session `n`: straight to work, or with a rest beside the road."""
        i, (a, b), (c, d) = self.i, self.span[n], self.span[m]
        road = i.road[i.sessions[m].site][i.sessions[n].site]
        for at in range(c, d + 1):
            for kind, long in [("free", road)] + ([("idle", road + i.rest[1])] if i.rest else []):
                if at + long <= b:
                    yield self.net.arc((self.leaves, m, at), (kind, n, max(at + long, a)))

    def rounds(self, n):
        """Rounds of one who works alone; the cow at the end of an arc is bred there."""
        p, (a, b) = self.pace(n), self.span[n]
        bred = defaultdict(list)
        most = p.age - p.lead - p.cow
        for at in range(a, b + 1):
            if at + p.lead + p.cow <= b:
                self.cow(n, at, at + p.lead + p.cow, ("free",), ("round", most), bred)
            for left in range(most + 1):
                if at - a < p.lead + p.cow:
                    continue
                self.net.arc(("round", left, n, at), ("done", n, at))
                if left >= 1 and at < b:
                    self.cow(n, at, at + 1, ("round", left), ("round", left - 1), None)
                if left >= p.cow and at + p.cow <= b:
                    self.cow(n, at, at + p.cow, ("round", left), ("round", left - p.cow), bred)
            if at + p.reset <= b:
                self.working(n, at, at + p.reset, ("done", "free"))
        for at in range(a, b + 1):
            arcs = bred.get(at, []) + [(-c, v) for c, v in self.moments[n].get(at, [])]
            self.program.row(arcs, 0, 0)

    def cow(self, n, a, b, one, two, bred):
        v = self.net.arc((*one, n, a), (*two, n, b))
        for at in range(a, b):
            self.work[n, at].append((1, v))
        if bred is not None:
            bred[b].append((1, v))

    def there(self, n):
        """Somebody is there from the straws for each cow on until she is bred."""
        p, (a, b) = self.pace(n), self.span[n]
        for at in range(a, b):
            for since in {*range(0, p.lead, p.cow), p.lead}:
                cows = _within(self.moments[n], at + since + 1, at + since + p.cow)
                self.program.row(cows + [(-1, v) for _, v in self.work[n, at]], 0)

    def limits(self, n):
        """Work without a rest, and the longest day."""
        i, person, (a, b) = self.i, self.person, self.span[n]
        home = person.home[i.sessions[n].site]
        for at in range(a, b):
            here = self.work[n, at]
            if i.rest:
                begun = [(-1, v) for c in range(at + 1 - i.rest[0], at + 1) for _, v in self.spells.get(c, ())]
                self.program.row(here + begun, 0)
            if person.longest is None:
                continue
            left = [
                (-1, v)
                for m, c, v in self.days
                if at + 1 + home + person.home[i.sessions[m].site] - person.longest <= c <= at
            ]
            self.program.row(here + left, 0)


def _mixed(program, pen, found):
    program.row([(1, v) for *_, v in found], len(pen.hours))


def _kept(program, pen, found):
    """Animals enter in their order. `passed[e]`: those that have entered by `e`, or never will."""
    hours = pen.hours
    entering = defaultdict(list)
    for person, site, at, v in found:
        cow = person.pace[site].cow
        first = next((n for n, (_, b) in enumerate(hours, 1) if b >= at), len(hours) + 1)
        last = max((n for n, (a, _) in enumerate(hours, 1) if a <= at), default=0)
        entering[at - cow].append((cow, first, last, v))
    if not entering:
        return
    before = None
    for at in range(min(entering), max(entering) + 1):
        here = entering.get(at, [])
        passed = program.var(len(hours))
        steps = [(1, v) for *_, v in here] + [(-1, passed)]
        program.row(steps + ([(1, before)] if before is not None else []), 0)
        for cow, first, last, v in here:
            # Of those who enter together the fastest takes the one in front.
            slower = [w for other, _, _, w in here if other > cow]
            beside = [w for other, _, _, w in here if other == cow and w != v]
            most = len(hours) - last + 1
            program.row([(1, passed), *((-1, w) for w in slower), (most, v)], last + most)
            program.row([(first, v), *((1, w) for w in slower + beside), (-1, passed)], 0)
        before = passed


def _boxes(program, i, at_moment):
    for site, boxes in i.boxes.items():
        here = [
            (p, at_moment[p.id, n]) for p in i.people for n, s in enumerate(i.sessions)
            if s.site == site and at_moment.get((p.id, n))
        ]
        if len({p.id for p, _ in here}) <= boxes:
            continue

        moments = sorted({at for _, moments in here for at in moments})
        for at in range(moments[0] - max(i.holds(p.pace[site]) for p, _ in here), moments[-1]):
            standing = [x for p, moments in here for x in _within(moments, at + 1, at + i.holds(p.pace[site]))]
            if len(standing) > boxes:
                program.row(standing, boxes)


def _straws(program, i, of_pen):
    bred, taken = defaultdict(list), defaultdict(list)
    for s in i.sessions:
        for pen in s.pens:
            bred[pen.group] += [(1, v) for *_, v in of_pen[pen.id]]
    for group, terms in bred.items():
        straws = []
        for bull in i.groups[group]:
            straws.append(program.var(i.bulls.get(bull, 0)))
            taken[bull].append((1, straws[-1]))
        program.row(terms + [(-1, v) for v in straws], 0)
    for bull, terms in taken.items():
        program.row(terms, i.bulls.get(bull, 0))
