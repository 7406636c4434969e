"""Groups bred by detected heat: how many are first seen on each half-day, and when they are bred.

* Heat is checked at the season's clock times on each day of a watch. A heat lasts 12 hours and is
  first seen at the next check.
* Seen before noon: bred that evening, counted from the first check of the morning. Seen later:
  bred next morning, counted from the day's last check.
* Hours from a treatment to heat are normal among those that show heat: mean and standard deviation
  as given, or fitted to published percentages by weighted least squares on the normal scale.
* Whole head by the largest remainders; the band is the 5 and 95 percent quantiles of the binomial.
"""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import NormalDist

UNIT = NormalDist()
LASTS = 12 * 3600
USUALLY_SHOW = 88.5
# Sums of one season in another order may differ by this much.
SAME = 1e9


@dataclass
class HalfDay:
    """Animals first seen in heat on one half of a day."""

    step: str
    day: object
    late: bool
    check: int
    expected: float = 0.0
    head: int = 0
    low: int = 0
    high: int = 0

    @property
    def name(self):
        return f"{self.step}/{self.day.isoformat()}-{'pm' if self.late else 'am'}"


def spread_of(group, step):
    """Mean and standard deviation in hours, and percent that show heat; None if nobody says."""
    heat = step.heat
    mean = spread = None
    shows = USUALLY_SHOW
    if heat is not None:
        shows = heat["shows"]
        if heat["by_hours"]:
            mean, spread = _fit(heat["by_hours"], shows, heat["spread"])
        else:
            mean, spread = heat["mean"], heat["spread"]
    mean = group.heat_mean if group.heat_mean is not None else mean
    spread = group.heat_spread if group.heat_spread is not None else spread
    return None if mean is None or spread is None else (mean, spread, shows)


def _fit(points, shows, spread):
    rows = []
    for hours, percent, head in points:
        share = min(percent / shows, 0.995)
        z = UNIT.inv_cdf(share)
        rows.append((hours, z, head * UNIT.pdf(z) ** 2 / (share * (1 - share))))
    weight = math.fsum(w for _, _, w in rows)
    t = math.fsum(t * w for t, _, w in rows) / weight
    z = math.fsum(z * w for _, z, w in rows) / weight
    if spread is None:
        spread = math.fsum((a - t) ** 2 * w for a, _, w in rows) / math.fsum(
            (a - t) * (b - z) * w for a, b, w in rows
        )
    return t - spread * z, spread


def _by(mean, spread, hours, long):
    """Share in heat by so many hours after the first of a pen that took `long` hours."""
    z = (hours - mean) / spread
    if long < 1e-6:
        return UNIT.cdf(z)

    def integral(x):
        return x * UNIT.cdf(x) + UNIT.pdf(x)

    return (integral(z) - integral(z - long / spread)) * spread / long


def whole_of(expected, total):
    floor = [math.floor(x + 1 / SAME) for x in expected]
    order = sorted(range(len(expected)), key=lambda n: (-round((expected[n] - floor[n]) * SAME), n))
    for n in order[: max(0, total - sum(floor))]:
        floor[n] += 1
    return floor


def band(head, all_head, chance):
    """Least numbers not exceeded in 5 and 95 of 100, widened to hold the head planned for."""
    chance = min(max(chance, 0.0), 1.0)
    ends, sum_so_far = [], 0.0
    wanted = [0.05, 0.95]
    for k in range(all_head + 1):
        if 0 < chance < 1:
            log = (
                math.lgamma(all_head + 1) - math.lgamma(k + 1) - math.lgamma(all_head - k + 1)
                + k * math.log(chance) + (all_head - k) * math.log1p(-chance)
            )
            sum_so_far += math.exp(log)
        elif k == (all_head if chance >= 1 else 0):
            sum_so_far = 1.0
        while wanted and sum_so_far >= wanted[0] - 1e-12:
            ends.append(k)
            wanted.pop(0)
    ends += [all_head] * len(wanted)
    return min(ends[0], head), max(ends[1], head)


def half_days(season, group, begin, pace, in_heat, watched, rest):
    """Half-days with their whole head, and the head of each pen bred by heat; None if nobody says.

    `begin`: the start of each pen's steps so far, `watched`: first and last day of each watch,
    `rest`: when the rest of each pen is bred.
    """
    clock = season.clock
    steps = [s for s in group.protocol.steps if (0, s.id) in begin]
    watches = [s for s in steps if s.lasts_days is not None and s.breeds]
    if not watches:
        return None
    looks = []
    for n, step in enumerate(watches):
        first, last = watched[step.id]
        for k in range((last - first).days + 1):
            day = first + timedelta(days=k)
            for at in season.heat_checks:
                looks.append((clock.resolve(datetime.combine(day, at))[0], n, day, at.hour >= 12))
    looks.sort()
    found, before, checks = {}, None, []
    for at, n, day, late in looks:
        if at == before:
            continue
        start = at - LASTS if before is None else max(before, at - LASTS)
        before = at
        mine = [c for c in season.heat_checks if (c.hour >= 12) == late]
        base = clock.resolve(datetime.combine(day, mine[-1] if late else mine[0]))[0]
        key = (n, day, late)
        found.setdefault(key, HalfDay(watches[n].id, day, late, base))
        checks.append((key, start, at))
    of_pens = []
    for pen, head in enumerate(group.pens):
        chances, left = {}, 1.0
        for n, step in enumerate(watches):
            share = _share(group, step, pen, head, begin, pace)
            if share is None:
                return None
            for key, start, at in checks:
                if key[0] != n or (rest is not None and found[key].check + season.heat_breeding[1] > rest[pen]):
                    continue
                chances[key] = chances.get(key, 0.0) + left * share(start, at)
            left = max(0.0, 1 - sum(chances.values()))
        seen = sum(chances.values())
        scale = float(in_heat) / 100 / seen if in_heat is not None and seen > 1e-9 else 1.0
        for key, chance in chances.items():
            found[key].expected += head * chance * scale
        of_pens.append(head * seen * scale)
    days = list(found.values())
    total = sum(d.expected for d in days)
    all_head = sum(group.pens)
    bred = math.floor(total + 1 / SAME + 0.5)
    for d, head in zip(days, whole_of([d.expected for d in days], bred)):
        d.head = head
        d.low, d.high = band(head, all_head, d.expected / all_head)
    return days, whole_of(of_pens, bred), total


def _share(group, step, pen, head, begin, pace):
    """The chance of a heat between two moments, for an animal of a pen."""
    if step.heat is not None and step.heat["every_days"] is not None:
        every = step.heat["every_days"] * 86400
        return lambda a, b: min(1.0, float(b - a) / every)
    numbers = spread_of(group, step)
    if numbers is None:
        return None
    mean, spread, shows = numbers
    by_id = {s.id: s for s in group.protocol.steps}
    if step.heat is not None:
        name = step.heat["after"]
    else:
        brings = {"pg", "pg-double", "insert-out"}
        treated = [s.id for s in group.protocol.steps if s.in_chute and brings & set(s.actions)]
        name = treated[-1] if treated else step.after
    if (pen, name) not in begin:
        return None
    counted = by_id.get(name)
    long = float(head / pace(counted)) if counted is not None and counted.in_chute else 0.0
    start = begin[pen, name]

    def between(a, b):
        x, y = float(a - start) / 3600, float(b - start) / 3600
        return shows / 100 * min(1.0, max(0.0, _by(mean, spread, y, long) - _by(mean, spread, x, long)))

    return between
