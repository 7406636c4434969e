"""Is a plan sound? A reading of its JSON against the season file, from the manual's sentences alone.

It holds a plan to: dates and hours of every pass; each animal bred in her own hours; nobody at two
places, nor outside shifts, on days off or in free hours; rests and the longest day; boxes, rounds
and the age of straws by the second; order kept at the alley; straws of the group's bulls, none
twice; a tank at one place at a time; totals. Whether a better plan exists is not asked here.
"""

import csv
import io
from bisect import bisect_right
from collections import Counter, defaultdict
from copy import copy
from datetime import datetime, timedelta
from fractions import Fraction
from functools import cache
from importlib.resources import files
from itertools import zip_longest

import yaml

from cover_model import twice_planned
from crew import chance_late, free_hours, presence, rounds_of
from dates import date_season
from plan_rules import Judge
from readiness import planned_pens
from reading import Loader, moment, read_season

# Moments are written to a hundredth of a minute, and lie on either side of what they round.
OFF = 2
NIGHT = 8 * 3600


@cache
def countries():
    """The country of each zone, by the time zone database."""
    rows = files("tzdata").joinpath("zoneinfo", "zone.tab").read_text(encoding="utf-8").splitlines()
    return {row.split("\t")[2]: row.split("\t")[0] for row in rows if not row.startswith("#")}


class Round:
    """What one technician's cows need: seconds a cow, and from bath to gun."""

    def __init__(self, season, technician, straws):
        rounds = rounds_of(technician, season, straws)
        self.rounds, self.straws = rounds, straws
        self.cow, self.helper = rounds.cow, technician.helper
        self.thaw, self.load, self.reset = season.thaw, season.load, season.reset
        self.limit = season.bath_to_cow

    def bath(self, times):
        """The latest moment at which straws for these cows go into the bath."""
        if not self.helper:
            return times[0] - self.cow - len(times) * self.load - self.thaw
        return min(t - self.cow - (n + 1) * self.load - self.thaw for n, t in enumerate(times))

    def cut(self, times, begin):
        """True if the cows can be bred in rounds, the first straws in the bath no sooner than `begin`."""
        free = {0: (begin, begin)}  # by cows bred: when helper and technician are free
        for n in range(len(times)):
            if n not in free:
                continue
            hands = free[n]
            for m in range(1, min(self.straws, len(times) - n) + 1):
                of = times[n : n + m]
                bath = self.bath(of)
                if of[-1] - bath > self.limit + OFF:
                    break
                last = of[-1]
                if self.helper:
                    ready = hands[0]
                    then = (bath + self.thaw + m * self.load, last)
                else:
                    ready = hands[1] if n == 0 else hands[1] + self.reset
                    then = (last, last)
                if bath < ready - OFF:
                    continue
                if n + m not in free or then < free[n + m]:
                    free[n + m] = then
        return len(times) in free


class Check(Judge):
    """Faults of one plan, as (kind, words)."""

    def __init__(self, season, raw, passes, dues, plan, straw_rows=(), given=None):
        super().__init__(season, passes, dues, [], plan, None)
        self.raw, self.straw_rows = raw, straw_rows
        self.given = given or {}  # bulls that herd files give, by group
        self.due = {d.id: d for d in dues}
        self.crew = {t.id: t for t in season.crew}
        self.session = {s["id"]: s for s in plan["sessions"]}
        self.roads = shortest(season)

    def judge(self):
        self.whole_heads(self.plan, "plan")
        self.check_passes()
        self.read_cows()
        self.check_sessions()
        for who, cows in sorted(self.by_person.items()):
            self.check_person(self.crew[who], cows)
        self.check_boxes()
        self.check_order()
        self.check_straws()
        self.check_tanks()
        self.check_totals()
        self.check_heat()
        self.check_law()
        return self.faults

    def check_law(self):
        """The country is the one stated, else that of the zone; what is not permitted there is marked."""
        # Old names of zones are held to the database by `zones_check.py`.
        of_zone = countries().get(self.raw["zone"], self.plan["country"]["code"])
        country = self.raw.get("country", of_zone)
        if self.plan["country"]["code"] != country:
            self.faults.append(("law", f"{self.plan['country']} and not {country}"))
        reasons = {a["reason"] for a in self.raw.get("allow", [])}
        refused = set()
        for p in self.plan["passes"]:
            wanted = country == "US" and "estradiol" in p["actions"]
            if wanted != ("not permitted in US" in p["what"]):
                self.faults.append(("law", f"{p['id']}: {p['what']}"))
            refused |= {p["group"]} if wanted else set()
        for g in self.plan["groups"]:
            told = [a["reason"] for a in g.get("allowed", [])]
            if len(told) != (g["id"] in refused) or not set(told) <= reasons:
                self.faults.append(("law", f"{g['id']}: {told}"))

    # What the plan says of each cow.

    def read_cows(self):
        self.of_group = defaultdict(list)
        self.by_person, self.by_site, self.by_pass = defaultdict(list), defaultdict(list), defaultdict(list)
        self.bred, animals, self.round = Counter(), defaultdict(list), {}
        for s in self.plan["sessions"]:
            for a in s["technicians"]:
                self.round[s["id"], a["id"]] = Round(self.season, self.crew[a["id"]], a["straws_at_once"])
            for w in s["slots"]:
                d = self.due.get(w["pass"])
                what = f"{w['pass']} by {w['technician']} in {w['start']}"
                if d is None:
                    self.fault("sessions", f"{what}: nothing of this name is due")
                    continue
                if (s["id"], w["technician"]) not in self.round:
                    self.fault("sessions", f"{what}: the session does not name {w['technician']}")
                    continue
                pace = self.round[s["id"], w["technician"]]
                begin = self.moment("slots", f"{what} slot", w["start"])
                self.same("slots", f"{what}: moments", w["head"], len(w["bred_minutes"]))
                self.same("slots", f"{what}: animals", w["head"] if d.kept else 0, len(w["animals"]))
                for n, minutes in enumerate(w["bred_minutes"]):
                    at = begin + Fraction(str(minutes)) * 60
                    animal = w["animals"][n] if d.kept and n < len(w["animals"]) else None
                    if animal is not None and not 1 <= animal <= d.head:
                        self.fault("totals", f"{what}: no animal {animal}")
                        continue
                    hours = d.animal(animal - 1) if animal else d.pen_hours()
                    if not hours.earliest - OFF <= at <= hours.latest + OFF:
                        self.fault("hours", f"{what}: bred at {self.local(at)}, outside her hours")
                    self.by_person[w["technician"]].append((at, s["id"]))
                    self.of_group[s["id"], w["group"]].append(at)
                    self.by_site[s["site"]].append((at - pace.cow, at, w["technician"]))
                    if animal:
                        self.by_pass[d.id].append((animal, at - pace.cow, at))
                self.bred[d.id] += w["head"]
                animals[d.id] += w["animals"]
        missed = Counter()
        for u in self.plan["uncovered"]:
            missed[u["pass"]] += u["head"]
            animals[u["pass"]] += u["animals"]
        for d in self.dues:
            self.same("totals", f"{d.id} bred and missed", d.head, self.bred[d.id] + missed[d.id])
            if d.kept:
                self.same("totals", f"{d.id} animals", list(range(1, d.head + 1)), sorted(animals[d.id]))

    def check_sessions(self):
        named = Counter(p["pass"] for s in self.plan["sessions"] for p in s["pens"])
        self.same("sessions", "passes due at sessions", sorted(self.due), sorted(named.elements()))
        for s in self.plan["sessions"]:
            for p in s["pens"]:
                d = self.due.get(p["pass"])
                if d is None:
                    continue
                self.same("sessions", f"{d.id} site", d.site, s["site"])
                self.same("sessions", f"{d.id} head", d.head, p["head"])
                self.moment("dates", f"{d.id} counted from", p["counted_from"], d.start)
                self.moment("dates", f"{d.id} counted to", p["counted_to"], d.end)
                self.check_hours(f"{d.id} in its session", d.pen_hours(), p["hours"])
                self.same("sessions", f"{d.id} bred", self.bred[d.id], p["bred_head"])
            head = Counter()
            for w in s["slots"]:
                head[w["technician"]] += w["head"]
            self.same("sessions", f"{s['id']} head", sum(head.values()), s["head"])
            self.same("sessions", f"{s['id']} technicians", dict(head), {a["id"]: a["head"] for a in s["technicians"]})
            for a in s["technicians"]:
                self.check_pace(s, a)

    def check_pace(self, s, a):
        t, pace = self.crew[a["id"]], self.round[s["id"], a["id"]]
        what = f"{s['id']}: {a['id']}"
        bath = self.season.sites[s["site"]].bath
        if pace.straws > min(t.straws or 10, bath):
            self.fault("straws-at-once", f"{what} has {pace.straws} straws in the bath")
        if pace.rounds.last_age > pace.limit or chance_late(pace.rounds, t, self.season) > self.season.risk:
            self.fault("straw-age", f"{what}: rounds of {pace.straws} are too late too often")
        if abs(float(pace.cow) / 60 - a["minutes_per_cow"]) > 0.006:
            self.fault("pace", f"{what}: {a['minutes_per_cow']} minutes a cow, not {float(pace.cow) / 60:.2f}")
        cows = sorted(at for at, where in self.by_person[a["id"]] if where == s["id"])
        begins = self.moment("sessions", f"{what} begins", a["begins"])
        if cows and begins > pace.bath(cows[:1]) + OFF:
            self.fault("rounds", f"{what}: first straws in the bath {a['begins']}, first cow {self.local(cows[0])}")
        leaves = a["leaves"]
        if leaves:
            by = self.moment("sessions", f"{what} leaves", leaves["by"])
            road = self.roads[leaves["site"], s["site"]]
            if by + road > begins + OFF:
                self.fault("leaves", f"{what} leaves {leaves['site']} by {leaves['by']}, {float(road) / 60:.1f} minutes on the road")
        if cows:
            for name, at in (("first_cow", cows[0]), ("last_cow", cows[-1])):
                if abs(self.moment("sessions", f"{what} {name}", a[name]) - at) > OFF:
                    self.fault("sessions", f"{what} {name}: {a[name]}, not {self.local(at)}")

    # One technician.

    def check_person(self, t, cows):
        cows = sorted(cows)
        for (a, where), (b, _) in zip(cows, cows[1:]):
            if b - a < self.round[where, t.id].cow - OFF:
                self.fault("capacity", f"{t.id} breeds at {self.local(a)} and already at {self.local(b)}")
        stays = self.stays(t, cows)
        self.check_roads(t, stays)
        self.check_hours_of_work(t, cows, stays)
        self.check_rest(t, cows)
        self.check_day(t, stays)
        for at, where in cows:
            for a, b in self.free(at):
                if a + OFF < at < b:
                    self.fault("free-hours", f"{t.id} at {where} breeds at {self.local(at)}, in hours without chute work")

    def free(self, at):
        if self.season.free:
            yield from free_hours(self.season, at, at)

    def stays(self, t, cows):
        """Runs of cows at one session: session, begin of its first round at the latest, last cow, cows."""
        found = []
        for at, where in cows:
            if found and found[-1][0] == where:
                found[-1][3].append(at)
            else:
                found.append([where, None, None, [at]])
        for stay in found:
            pace = self.round[stay[0], t.id]
            # A first round of one straw begins last of all; the plan may say a sooner begin.
            stay[1], stay[2] = pace.bath(stay[3][:1]), stay[3][-1]
        for where in {s[0] for s in found}:
            first = next(s for s in found if s[0] == where)
            said = next(a for a in self.session[where]["technicians"] if a["id"] == t.id)
            first[1] = min(first[1], moment(said["begins"])[0])
        return found

    def site(self, where):
        return self.session[where]["site"]

    def check_roads(self, t, stays):
        for one, two in zip(stays, stays[1:]):
            road = self.roads[self.site(one[0]), self.site(two[0])]
            if two[1] < one[2] + road - OFF:
                self.fault(
                    "two-places",
                    f"{t.id} is at {one[0]} until {self.local(one[2])} and at {two[0]} from {self.local(two[1])}, "
                    f"{road / 60:.1f} minutes on the road",
                )

    def check_hours_of_work(self, t, cows, stays):
        """Cows in each span of work are bred in rounds that begin after the road out and end before the road back."""
        first, last = cows[0][0], cows[-1][0]
        spans = spans_of(self.season, t, first, last)
        begins = [a for a, _ in spans]
        by_span = defaultdict(list)
        for at, where in cows:
            n = bisect_right(begins, at) - 1
            if n < 0 or at > spans[n][1] + OFF:
                self.fault("shifts", f"{t.id} at {where} breeds at {self.local(at)}, outside hours of work")
                return
            by_span[n].append((at, where))
        for n, mine in by_span.items():
            a, b = spans[n]
            out, back = self.site(mine[0][1]), self.site(mine[-1][1])
            begin = a + (self.roads[t.home, out] if t.home else 0)
            end = b - (self.roads[back, t.home] if t.home else 0)
            if mine[-1][0] > end + OFF:
                self.fault("shifts", f"{t.id} at {mine[-1][1]} breeds at {self.local(mine[-1][0])}, and is not back in time")
            runs = []
            for at, where in mine:
                if runs and runs[-1][0] == where:
                    runs[-1][1].append(at)
                else:
                    runs.append((where, [at]))
            for k, (where, times) in enumerate(runs):
                if k > 0:
                    begin = runs[k - 1][1][-1] + self.roads[self.site(runs[k - 1][0]), self.site(where)]
                pace = self.round[where, t.id]
                if pace.bath(times[:1]) < begin - OFF:
                    self.fault("shifts", f"{t.id} at {where}: first straws before {self.local(begin)}, the first cow at {self.local(times[0])}")
                elif not pace.cut(times, begin):
                    self.fault("rounds", f"{t.id} at {where}: no rounds of {pace.straws} from {self.local(begin)} breed these cows in time, the first at {self.local(times[0])}")

    def check_rest(self, t, cows):
        rest = self.raw.get("rules", {}).get("rest_after_hours")
        if rest is None:
            return
        after, long = Fraction(rest) * 3600, Fraction(self.raw["rules"]["rest_minutes"]) * 60
        begin, before = None, None
        for at, where in cows:
            bath = self.round[where, t.id].bath([at])
            if before is not None:
                road = self.roads[self.site(before[1]), self.site(where)]
                if bath - before[0] - road >= long - OFF:
                    begin = None
            if begin is None:
                begin = bath
            if at - begin > after + OFF:
                self.fault("rest", f"{t.id} works from {self.local(begin)} to {self.local(at)} without a rest")
                return
            before = at, where

    def check_day(self, t, stays):
        raw = next(c for c in self.raw["crew"] if c["id"] == t.id)
        longest = raw.get("longest_day_hours", self.raw.get("rules", {}).get("longest_day_hours"))
        if longest is None:
            return
        cows = [(at, stay[0]) for stay in stays for at in stay[3]]
        days = []
        for at, where in cows:
            bath = self.round[where, t.id].bath([at])
            if days and bath - days[-1][-1][0] < NIGHT:
                days[-1].append((at, where, bath))
            else:
                days.append([(at, where, bath)])
        for day in days:
            out = self.roads[t.home, self.site(day[0][1])] if t.home else 0
            back = self.roads[self.site(day[-1][1]), t.home] if t.home else 0
            long = day[-1][0] + back - (day[0][2] - out)
            if long > Fraction(longest) * 3600 + OFF:
                self.fault("longest-day", f"{t.id} is out for {float(long) / 3600:.3f} h from {self.local(day[0][2] - out)}")

    # Places and order.

    def check_boxes(self):
        for site, cows in self.by_site.items():
            boxes = int(next(s["breeding_boxes"] for s in self.raw["sites"] if s["id"] == site))
            # What is written is a second off at either end.
            ends = [(a + 1, 1) for a, b, _ in cows if b - a > OFF] + [(b - 1, -1) for a, b, _ in cows if b - a > OFF]
            there = 0
            for at, change in sorted(ends):
                there += change
                if there > boxes:
                    self.fault("boxes", f"{site}: {there} animals at {boxes} boxes, {self.local(at)}")
                    break

    def check_order(self):
        """At the alley animals begin in their order, whoever breeds them."""
        for name, cows in self.by_pass.items():
            cows.sort()
            latest = None
            for animal, begin, _ in cows:
                if latest is not None and begin < latest[1] - OFF:
                    self.fault("order", f"{name}: animal {animal} goes in {float(latest[1] - begin):.0f} s before animal {latest[0]}, {self.local(begin)}")
                    break
                if latest is None or begin > latest[1]:
                    latest = animal, begin

    # Straws.

    def check_straws(self):
        planned, of_sessions = Counter(), Counter()
        # A group that is planned whole for two breedings takes the same straws twice.
        twice = {d.id for d in self.dues if twice_planned(d.group)}
        groups = {g["id"]: g for g in self.plan["groups"]}
        self.allowed = allowed = {g.id: set(g.bulls) | set(self.given.get(g.id, ())) for g in self.season.groups}
        for g in self.season.groups:
            for b in groups[g.id]["straws"]:
                planned[b["bull"]] += b["straws"]
                if b["bull"] not in allowed[g.id]:
                    self.fault("straws", f"{g.id}: {b['bull']} is not a bull of this group")
        for b in self.plan["bulls"]:
            have = self.season.straws.get(b["id"], 0)
            self.same("straws", f"{b['id']} on hand", have, b["straws"])
            self.same("straws", f"{b['id']} planned", planned[b["id"]], b["planned_straws"])
            self.same("straws", f"{b['id']} left", have - planned[b["id"]], b["left_straws"])
            if planned[b["id"]] > have:
                self.fault("straws", f"{b['id']}: {planned[b['id']]} straws planned of {have}")
        for s in self.plan["sessions"]:
            of = set().union(*(allowed[p["group"]] for p in s["pens"]))
            for b in s["straws"]:
                if not set(p["pass"] for p in s["pens"]) & twice:
                    of_sessions[b["bull"]] += b["straws"]
                if b["bull"] not in of:
                    self.fault("straws", f"{s['id']}: {b['bull']} is a bull of no group here")
            brought = sum(b["straws"] for b in s["straws"])
            if brought != s["head"]:
                self.fault("session-straws", f"{s['id']}: {brought} straws brought for {s['head']} head")
        for bull, n in of_sessions.items():
            if n > self.season.straws.get(bull, 0):
                self.fault("straws", f"{bull}: {n} straws brought of {self.season.straws.get(bull, 0)}")

    def check_tanks(self):
        """A tank that must be at two sites: cows at both can have no straw but from it."""
        tanks = {t["id"] for t in self.raw.get("tanks", [])}
        of = defaultdict(set)
        for row in self.straw_rows:
            if int(row["straws"]):
                of[row["bull"]].add(row.get("tank") or None)
        only = {b: next(iter(t)) for b, t in of.items() if len(t) == 1}
        spans = defaultdict(list)
        for s in self.plan["sessions"]:
            brought = {b["bull"] for b in s["straws"]}
            times = defaultdict(list)
            for g in self.season.groups:
                cows = self.of_group[s["id"], g.id]
                of = {only.get(bull) for bull in brought & self.allowed[g.id]}
                if cows and len(of) == 1:
                    times[of.pop()] += cows
            for tank in times.keys() & tanks:
                spans[tank].append((min(times[tank]), max(times[tank]), s))
        for tank, mine in spans.items():
            places = int(next(t for t in self.raw["tanks"] if t["id"] == tank).get("places_at_once", 1))
            mine.sort(key=lambda x: x[0])
            for n, (begin, _, two) in enumerate(mine):
                # Sites at which it must still be, or from which it cannot have come.
                away = {
                    one["site"]: (end, one) for _, end, one in mine[:n]
                    if one["site"] != two["site"] and begin < end + self.roads[one["site"], two["site"]] - OFF
                }
                if len(away) >= places:
                    end, one = max(away.values(), key=lambda x: x[0])
                    self.fault("tank-two-sites", f"tank {tank} is at {one['id']} until {self.local(end)} and at {two['id']} from {self.local(begin)}")
                    break


def spans_of(season, t, begin, end):
    """Hours of work, those that touch as one."""
    homeless = copy(t)
    homeless.home = None
    return presence(season, homeless, None, begin - 86400, end + 86400)


def shortest(season):
    """The shortest drive between any two sites, over other sites where that is sooner."""
    road = {(a, b): season.sites[a].road[b] for a in season.sites for b in season.sites}
    for k in season.sites:
        for a in season.sites:
            for b in season.sites:
                road[a, b] = min(road[a, b], road[a, k] + road[k, b])
    return road


def pen_starts(season, raw, plan):
    """Starts of pens, stated or picked, put into the season; what is wrong with those picked."""
    faults = []
    groups = {g["id"]: g for g in plan["groups"]}
    for group, said in zip(season.groups, raw["groups"]):
        if said.get("days", "1") != "1":
            faults += spread_over_days(season, group, said, groups[group.id])
        elif "pen_starts" in said:
            group.pen_starts = [season.clock.resolve(_local(x))[0] for x in said["pen_starts"]]
        elif "latest_start" in said:
            got = groups[group.id]["pen_starts"]
            if got is None:
                continue
            group.pen_starts = [moment(x)[0] for x in got]
            first, last = season.clock.resolve(group.start)[0], season.clock.resolve(_local(said["latest_start"]))[0]
            last = max(first, last)  # a start that the clocks skip is later than it is written
            for n, at in enumerate(group.pen_starts):
                if not first <= at <= last:
                    faults.append(("pen-starts", f"{group.id} pen {n + 1} begins at {got[n]}"))
    return faults


def spread_over_days(season, group, said, got):
    """Pens that the plan made or kept, on days of their own."""
    most, faults = int(said["days"].split()[-1]), []
    if sum(got["pen_head"]) != sum(group.pens) or (("pens" in said or "pen_head" in said) and got["pen_head"] != group.pens):
        faults.append(("days", f"{group.id}: pens of {got['pen_head']}, not {group.pens}"))
    group.pens = got["pen_head"]
    if got["pen_starts"] is None:
        return faults
    group.pen_starts = [moment(x)[0] for x in got["pen_starts"]]
    first = season.clock.resolve(group.start)[0]
    # By the clock of the start: a pen that waits past midnight is of the day before.
    days = {(_local(x[:16]) - group.start).days for x in got["pen_starts"]}
    if min(group.pen_starts) < first or len(days) > most:
        faults.append(("days", f"{group.id} is spread over {len(days)} days, from {got['pen_starts'][0]}"))
    return faults


def _local(text):
    return datetime.fromisoformat(text)


def check_wishes(raw, chosen, plan):
    """What the plan of a choice breaks of the wishes that had to hold."""
    faults, told = [], {g["id"]: g for g in plan["groups"]}
    for group, now in zip(raw["groups"], chosen["groups"]):
        if "protocol" in group or "protocol" not in now:
            continue
        name, wishes = group["id"], group["wishes"]
        hold = {k: v for k, v in wishes.items() if k not in wishes.get("may_break", [])}
        for s in plan["sessions"]:
            for w in s["slots"]:
                for minutes in w["bred_minutes"]:
                    day = (datetime.fromisoformat(w["start"]) + timedelta(minutes=float(minutes))).date().isoformat()
                    if w["group"] == name and not hold.get("breed_from", "") <= day <= hold.get("breed_to", "9"):
                        faults.append(("wishes", f"{name} is bred on {day}: {wishes}"))
        if "work_hours" in hold:
            for p in plan["passes"]:
                span = [p[k][11:16] for k in ("start", "end")]
                inside = hold["work_hours"]["from"] <= span[0] and span[1] <= hold["work_hours"]["to"]
                if p["group"] == name and p["work"] == "chute" and not (inside and p["start"][:10] == p["end"][:10]):
                    faults.append(("wishes", f"{p['id']} from {p['start']} to {p['end']}: {wishes}"))
        if told[name]["protocol"] in hold.get("leave_out", []) or told[name]["protocol"] not in hold.get("protocols", [told[name]["protocol"]]):
            faults.append(("wishes", f"{name} on {told[name]['protocol']}: {wishes}"))
    return faults


def check_plan(files, plan, protocols, name="season.yaml"):
    """What is wrong with a plan, by the files of its season."""
    raw = yaml.load(files[name], Loader)
    table = rows_of(files.get(raw.get("semen_file"), ""))
    season = read_season(files[name], protocols, table)
    given = {}
    for g in raw["groups"]:
        if "herd" in g:
            rows = rows_of(files[g["herd"]])
            given[g["id"]] = {r[k] for r in rows for k in ("mating", "second_mating") if r.get(k)}
            for group in (x for x in season.groups if x.id == g["id"]):
                group.pens = planned_pens(g, rows, group, raw.get("rules", {}))
    faults = pen_starts(season, raw, plan)
    passes, dues = date_season(season)
    rows = [*raw.get("semen", []), *table]
    if name != "season.yaml":
        faults += check_wishes(yaml.load(files["season.yaml"], Loader), raw, plan)
    return faults + Check(season, raw, passes, dues, plan, rows, given).judge()


def rows_of(text):
    """Rows of a table, whatever separates its cells."""
    heading = text.lstrip("\ufeff").split("\n", 1)[0]
    mark = max(",;\t", key=heading.count)
    rows = csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=mark)
    heading = [c.strip() for c in next(rows, [])]
    return [dict(zip_longest(heading, (c.strip() for c in r))) for r in rows if r]
