"""Dates every pass of a season, and says which animals are due to be bred in which hours.

* Steps in days keep the clock time of the pass they count from; steps in hours are elapsed.
* Pens are worked one after the other: a pen starts when those before it are through the first
  chute work that counts from the start, and waits where the pen before it is in the chute still.
* A pen's hours follow from the pass they count from, which takes head over pace.
* A group is fed or watched as one. Its watch ends when the last pen has been watched for the step's days,
  counted from the pen's own turn; feeding days are the step's own.
* An aim lies inside its hours, where there are any: a pass begins at the nearest whole minute in them.
"""

import math
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction

from heat import half_days


@dataclass
class Hours:
    earliest: Fraction
    aim: Fraction
    latest: Fraction

    def aimed_inside(self):
        if self.earliest <= self.latest:
            self.aim = min(max(self.aim, self.earliest), self.latest)
        return self

    def to_the_minute(self):
        """Aimed inside, at a whole minute if that is inside too and the aim was moved."""
        middle = self.aim
        aim = self.aimed_inside().aim
        if aim != middle:
            minute = (math.ceil if aim > middle else math.floor)(Fraction(aim) / 60) * 60
            if self.earliest <= minute <= self.latest:
                self.aim = minute
        return self


@dataclass
class Pass:
    id: str
    work: str
    start: Fraction
    end: Fraction
    head: int
    hours: Hours | None = None
    first_day: object = None
    last_day: object = None
    doubt: bool = False


@dataclass
class Due:
    """A pen due to be bred at set hours."""

    id: str
    group: object
    step: str
    site: str
    head: int
    kept: bool
    start: Fraction  # the pass the hours count from
    whole: int  # its animals
    pace: Fraction  # its head an hour
    window: tuple

    @property
    def end(self):
        return self.start + seconds_for(self.whole, self.pace)

    def treated(self, n, of):
        each = Fraction(3600 * self.whole, max(of, 1)) / self.pace
        return self.start + math.floor(n * each), self.start + math.ceil((n + 1) * each)

    def animal(self, n):
        """Hours of the animal in place `n`, from 0."""
        if not self.kept:
            return self.pen_hours()
        first, last = self.treated(n, self.head)
        earliest, aim, latest = self.window
        return Hours(last + earliest, first + Fraction(last - first) / 2 + aim, first + latest).aimed_inside()

    def pen_hours(self):
        earliest, aim, latest = self.window
        middle = self.start + Fraction(self.end - self.start) / 2 + aim
        if not self.kept:
            return Hours(self.end + earliest, middle, self.start + latest).aimed_inside()
        n = max(self.head, 1)
        return Hours(self.treated(0, n)[1] + earliest, middle, self.treated(n - 1, n)[0] + latest).aimed_inside()


def seconds_for(head, pace):
    return math.ceil(Fraction(head * 3600) / pace)


def in_heat_percent(group):
    """Percent planned to be seen in heat: the season's word, else what the protocol publishes."""
    if group.in_heat is not None:
        return group.in_heat
    for step in group.protocol.steps:
        if step.share is not None:
            return step.share if "inseminate-in-heat" in step.actions else 100 - step.share
    return None


def share_of(group, step, head):
    percent = in_heat_percent(group)
    if percent is None:
        return head
    early = math.floor(head * percent / 100 + Fraction(1, 2))
    if "inseminate-in-heat" in step.actions:
        return early
    return head - early if "inseminate-rest" in step.actions else head


def date_season(season):
    """Passes by id, and dues. Each group is told what is planned of its heats."""
    passes, dues = {}, []
    for group in season.groups:
        group.half_days = None
        for p, d in _date_group(season, group):
            passes[p.id] = p
            if d is not None and d.head > 0:
                dues.append(d)
    return passes, dues


def _date_group(season, group):
    clock, site = season.clock, season.sites[group.site]

    def pace(step):
        return site.inserts if {"insert-in", "insert-out"} & set(step.actions) else site.injections

    steps = {s.id: s for s in group.protocol.steps}
    opening = next((s for s in group.protocol.steps if s.in_chute and s.after == "start"), None)
    begin, watched = {}, {}
    at = clock.resolve(group.start)[0]
    for pen, head in enumerate(group.pens):
        begin[pen, "start"] = at
        if opening is not None:
            at += seconds_for(head, pace(opening))
    own = group.pen_starts or []
    for pen, own_start in enumerate(own):
        begin[pen, "start"] = own_start
    group_start = clock.resolve(group.start)[0]
    # Pens with starts of their own are worked in the order of these.
    in_order = sorted(range(len(group.pens)), key=lambda pen: begin[pen, "start"])

    for step in group.protocol.steps:
        chute_free = None
        if "inseminate-rest" in step.actions:
            rest = [begin[pen, step.after] + step.hours[1] for pen in range(len(group.pens))]
            yield from _by_heat(season, group, begin, pace, watched, rest)
        # What each pen would count from were it alone.
        alone = [
            begin[0, step.after] + (begin[pen, "start"] - group_start if own else 0)
            if step.after in steps and not steps[step.after].in_chute else begin[pen, step.after]
            for pen in range(len(group.pens))
        ]
        for pen in in_order:
            head, base = group.pens[pen], begin[pen, step.after]
            if own and not step.in_chute:
                # Fed or watched as one: from the group's start, or its first pen's.
                base = group_start if step.after == "start" else min(begin[p, step.after] for p in in_order)
            elif own and step.after in steps and not steps[step.after].in_chute:
                base = begin[0, step.after] + begin[pen, "start"] - group_start
            name = f"{group.id}/{pen + 1}/{step.id}"
            p = Pass(name, "chute", base, base, head)
            due = None
            if step.days is not None:
                p.start, p.doubt = clock.same_clock(base, step.days)
            if not step.in_chute:
                if step.hours is not None:
                    p.start = base + step.hours[0]
                p.work = "feeding" if "feed-mga" in step.actions else "heat-watch"
                p.first_day = clock.date(p.start)
                lasts = step.lasts_days - 1
                p.last_day = p.first_day + timedelta(days=lasts)
                if p.work == "heat-watch":
                    ends = [clock.date(_begin(clock, step, one)) + timedelta(days=lasts) for one in alone]
                    p.last_day = max([p.last_day, *ends])
                p.end = clock.same_clock(p.start, (p.last_day - p.first_day).days)[0]
                watched.setdefault(step.id, (p.first_day, p.last_day))
            elif step.breeds:
                counted = steps[step.after]
                due = Due(
                    id=name,
                    group=group,
                    step=step.id,
                    site=group.site,
                    head=_share_of(group, step, pen, head),
                    # Which animals a share will be is not known.
                    kept=group.kept and _share_of(group, step, pen, head) == head,
                    start=base,
                    whole=head,
                    pace=pace(counted),
                    window=step.hours,
                )
                p.work, p.head, p.hours = "breeding", due.head, due.pen_hours()
                p.start = p.end = base + step.hours[1]
            else:
                long = seconds_for(head, pace(step))
                if step.hours is not None:
                    before = seconds_for(head, pace(steps[step.after]))
                    earliest, aim, latest = step.hours
                    # From the middle of one pass to the middle of the other.
                    # From the middle of one to the middle of the other, in whole minutes.
                    p.start = base + aim + 60 * int(int(Fraction(before - long) / 60) / 2)
                    # Hours to begin in, so that the window holds for every animal.
                    first, last = base, base + before
                    if group.kept:
                        begin_from = max(first + earliest, last + earliest - long)
                        begin_to = min(first + latest, last + latest - long)
                    else:
                        begin_from, begin_to = last + earliest, first + latest - long
                    p.hours = Hours(begin_from, p.start, begin_to).to_the_minute()
                    p.start = p.hours.aim
                if chute_free is not None:
                    p.start = max(p.start, chute_free)
                p.end = chute_free = p.start + long
            begin[pen, step.id] = p.start
            if step.in_chute:
                yield p, due
            elif pen == 0:
                # The whole group is fed or watched together.
                p.id, p.head = f"{group.id}/all/{step.id}", sum(group.pens)
                yield p, due
    yield from _by_heat(season, group, begin, pace, watched, None)


def _begin(clock, step, base):
    return clock.same_clock(base, step.days)[0] if step.days is not None else base + step.hours[0]


def _share_of(group, step, pen, head):
    """How many of a pen are planned for a breeding: where half-days are planned, the rest of them."""
    if group.half_days is not None and "inseminate-rest" in step.actions:
        return head - group.half_days[1][pen]
    return share_of(group, step, head)


def _by_heat(season, group, begin, pace, watched, rest):
    """Passes and dues of those first seen in heat on each half-day, once a group."""
    if group.half_days is not None or "estrus" not in group.protocol.kind:
        return
    group.half_days = half_days(season, group, begin, pace, in_heat_percent(group), watched, rest)
    if group.half_days is None:
        return
    earliest, aim, latest = season.heat_breeding
    for day in group.half_days[0]:
        if day.head == 0:
            continue
        name = f"{group.id}/all/{day.name}"
        hours = Hours(day.check + earliest, day.check + aim, day.check + latest)
        start = day.check + aim
        due = Due(
            id=name,
            group=group,
            step=day.step,
            site=group.site,
            head=day.head,
            kept=False,
            start=day.check,
            whole=0,
            pace=Fraction(1),
            window=season.heat_breeding,
        )
        yield Pass(name, "breeding", start, start, day.head, hours), due
