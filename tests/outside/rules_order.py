"""The same rules once more, for the smallest seasons: each technician's cows in their order, as intervals, for CP-SAT.

Nothing but the instance and the rules' numbers is shared with `rules_model.by_time`: a schedule here is a list of
moments and animals for each technician, with a yes or no for where a round, a rest or a day begins.
"""

from collections import defaultdict

from ortools.sat.python import cp_model

from rules_model import solved


class _Jobs:
    """Animals: those of a pen whose order is kept one by one, others as many at once."""

    def __init__(self, i):
        self.all, self.pens = [], []
        for n, session in enumerate(i.sessions):
            for pen in session.pens:
                hours = pen.hours if pen.kept else pen.hours[:1]
                mine = []
                for e, l in hours:
                    if e <= l:
                        mine.append(len(self.all))
                        self.all.append((n, pen.group, e, l, 1 if pen.kept else len(pen.hours)))
                if pen.kept:
                    self.pens.append(mine)


def by_order(i, seconds, least=0):
    """Head, and the most there can be; no head where not even so many are found."""
    model, jobs = cp_model.CpModel(), _Jobs(i)
    if not jobs.all:
        return 0, 0
    end = max(l for *_, l, _ in jobs.all)
    enters = {j: model.new_int_var(0, end, "") for mine in jobs.pens for j in mine}
    taken, standing, bred = defaultdict(list), defaultdict(list), []
    for person in i.people:
        _row(model, i, person, jobs, (enters, taken, standing, bred), end)
    for j, (_, _, _, _, head) in enumerate(jobs.all):
        model.add(sum(taken[j]) <= head)
    for mine in jobs.pens:
        for a, b in zip(mine, mine[1:]):
            model.add(enters[a] <= enters[b])
    for site, boxes in i.boxes.items():
        if standing[site]:
            model.add_cumulative(standing[site], [1] * len(standing[site]), boxes)
    used = defaultdict(list)
    for group, bulls in i.groups.items():
        straws = {b: model.new_int_var(0, i.bulls.get(b, 0), "") for b in bulls}
        mine = [v for j, job in enumerate(jobs.all) if job[1] == group for v in taken[j]]
        model.add(sum(mine) <= sum(straws.values()))
        for b, v in straws.items():
            used[b].append(v)
    for b, straws in used.items():
        model.add(sum(straws) <= i.bulls.get(b, 0))
    model.add(sum(bred) >= least)
    model.maximize(sum(bred))
    return solved(model, seconds, least)


def _row(model, i, person, jobs, shared, end):
    """The cows of one technician, one after the other."""
    enters, taken, standing, bred = shared
    here = [n for n, s in enumerate(i.sessions) if s.site in person.pace]
    mine = [j for j, job in enumerate(jobs.all) if job[0] in here]
    may = {}
    for n in here:
        moments = [at for at in range(end + 1) if i.may(person, n, at)]
        may[n] = cp_model.Domain.from_values(moments)
    size = min(sum(jobs.all[j][4] for j in mine), sum(len(p.hours) for s in i.sessions for p in s.pens))
    row = []
    for _ in range(size):
        at = model.new_int_var(0, end, "")
        animal = {j: model.new_bool_var("") for j in mine}
        session = {n: model.new_bool_var("") for n in here}
        used = model.new_bool_var("")
        model.add(sum(animal.values()) == used)
        for n in here:
            pace, site = person.pace[i.sessions[n].site], i.sessions[n].site
            model.add(sum(v for j, v in animal.items() if jobs.all[j][0] == n) == session[n])
            model.add_linear_expression_in_domain(at, may[n]).only_enforce_if(session[n])
            long = i.holds(pace)
            standing[site].append(model.new_optional_interval_var(at - long, long, at, session[n], ""))
        for j, v in animal.items():
            n, _, e, l, _ = jobs.all[j]
            model.add(at >= e).only_enforce_if(v)
            model.add(at <= l).only_enforce_if(v)
            if j in enters:
                model.add(enters[j] == at - person.pace[i.sessions[n].site].cow).only_enforce_if(v)
            taken[j].append(v)
        bred.append(used)
        row.append((at, session, used))
    for (_, _, a), (_, _, b) in zip(row, row[1:]):
        model.add(b <= a)
    _follow(model, i, person, row, here)
    _begin(model, i, person, row, here, end)


def _follow(model, i, person, row, here):
    """Pace, road, and each session once."""
    for u in range(1, len(row)):
        (before, was, _), (at, now, _) = row[u - 1], row[u]
        for n in here:
            pace = person.pace[i.sessions[n].site]
            for m in here:
                road = i.road[i.sessions[m].site][i.sessions[n].site]
                long = pace.cow if m == n else road + pace.lead + pace.cow
                model.add(at - before >= long).only_enforce_if(was[m], now[n])
            if not person.alone and u >= pace.straws:
                first, then, _ = row[u - pace.straws]
                model.add(at - first >= pace.period).only_enforce_if(then[n], now[n])
            for sooner in range(u - 1):
                model.add_bool_or(~row[sooner][1][n], was[n], ~now[n])


def _begin(model, i, person, row, here, end):
    """Where rounds, pieces of work without a rest, and days begin."""
    begins = {"round": person.alone, "work": i.rest is not None, "day": person.longest is not None}
    for kind in (k for k, on in begins.items() if on):
        since = None
        for u, (at, now, used) in enumerate(row):
            anew = model.new_bool_var("")
            from_ = model.new_int_var(-end, end, "")
            if u == 0:
                model.add(anew == 1)
            for n in here:
                site = i.sessions[n].site
                pace, home = person.pace[site], person.home[site]
                work = at - pace.lead - pace.cow
                first = {"round": at, "work": work, "day": work - home}[kind]
                model.add(from_ == first).only_enforce_if(anew, now[n])
                if kind == "round":
                    model.add(at - from_ <= pace.age - pace.lead - pace.cow).only_enforce_if(now[n])
                elif kind == "work":
                    model.add(at - from_ <= i.rest[0]).only_enforce_if(now[n])
                else:
                    model.add(at + home - from_ <= person.longest).only_enforce_if(now[n])
                for m in here if u else ():
                    was = row[u - 1][1][m]
                    road = i.road[i.sessions[m].site][site]
                    rest = i.rest[1] if i.rest else 0
                    gap = {"round": pace.reset if m == n else road, "work": road + rest, "day": i.night}
                    model.add(work - row[u - 1][0] >= gap[kind]).only_enforce_if(anew, was, now[n])
                    if kind == "round" and m != n:
                        model.add(anew == 1).only_enforce_if(was, now[n])
            if u:
                model.add(from_ == since).only_enforce_if(~anew, used)
            since = from_
