"""Who could breed how many cows at a session, slot by slot: paces, hours of work, sessions."""

import math
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from fractions import Fraction

MOST_STRAWS = 10
# Far enough round a session that no shift or road is cut short by where we look.
DAYS_AROUND = 4


@dataclass
class Rounds:
    straws: int
    cow: Fraction
    period: Fraction
    lead: Fraction
    last_age: Fraction
    load: Fraction

    @property
    def reset(self):
        """Seconds, rounded up, that whoever works alone needs after a round; none with a helper."""
        return math.ceil(max(0, self.period - self.last_age))

    @property
    def ahead(self):
        """Whole seconds from the first straws to the first cow bred."""
        return math.ceil(self.lead + self.cow)

    def breedings(self, begin, end):
        """Whole seconds at which cows are bred, if the first straws go into the bath at `begin`."""
        n = 0
        while True:
            done, place = divmod(n, self.straws)
            # A cow waits for her gun where the helper is slower than the breeding.
            bred = max((place + 1) * self.cow, place * self.load + self.cow)
            at = math.ceil(begin + self.lead + done * self.period + bred)
            if at > end:
                return
            yield at
            n += 1


def rounds_of(technician, season, k):
    """Rounds of `k` straws, or None if the pace leaves no time at the cow."""
    thaw, load, reset = season.thaw, season.load, season.reset
    if technician.cow is not None:
        cow = technician.cow
    elif technician.helper:
        cow = technician.overall
    else:
        # An overall pace of one who works alone holds thawing, loading and reset.
        cow = technician.overall - load - (thaw + reset) / k
    # As the least `minutes_per_cow`.
    if cow < 6:
        return None
    if technician.helper:
        age = max(thaw + load + k * cow, thaw + k * load + cow)
        return Rounds(k, cow, max(k * cow, thaw + k * load), thaw + load, age, load)
    age = thaw + k * load + k * cow
    return Rounds(k, cow, age + reset, thaw + k * load, age, Fraction(0))


def chance_late(rounds, technician, season):
    spread = rounds.cow / 3 if technician.spread is None else technician.spread
    spread = float(spread) * math.sqrt(rounds.straws)
    room = float(season.bath_to_cow - rounds.last_age)
    if spread == 0:
        return 1.0 if room < 0 else 0.0
    return math.erfc(room / spread / math.sqrt(2)) / 2


def safest(technician, season, most):
    """The most straws a round whose last one is in time, on average and at the season's risk."""
    for k in range(min(most, MOST_STRAWS), 0, -1):
        rounds = rounds_of(technician, season, k)
        if (
            rounds is not None
            and rounds.last_age <= season.bath_to_cow
            and chance_late(rounds, technician, season) <= season.risk
        ):
            return rounds
    return None


@dataclass
class Lot:
    """Animals of a pen whose hours hold the same whole slots."""

    due: object
    head: int
    first: int
    last: int


@dataclass
class Able:
    """What a technician could do at a session."""

    technician: object
    rounds: Rounds
    ticks: dict  # moments at which a cow could be bred, by slot
    there: set  # slots
    duty: set  # the same by the session's hours to the second, whole slots or not


@dataclass
class Session:
    site: str
    open: Fraction
    close: Fraction
    lots: list = field(default_factory=list)
    dues: list = field(default_factory=list)
    able: dict = field(default_factory=dict)  # by technician id
    after: Fraction = Fraction(-(10**12))  # when the session before it at the site closes

    def slots(self):
        usable = [lot for lot in self.lots if lot.first <= lot.last]
        if not usable:
            return range(0)
        return range(min(lot.first for lot in usable), max(lot.last for lot in usable) + 1)

    def duty(self, slot):
        return frozenset(t for t, a in self.able.items() if slot in a.there)


def whole_slots(hours, slot):
    """First and last slot that lie wholly in the hours; last before first if there is none."""
    return math.ceil(hours.earliest / slot), math.floor(hours.latest / slot) - 1


def slot_of(at, slot):
    """The slot a cow counts to: one bred on a boundary counts to the slot that ends there."""
    return math.ceil(Fraction(at) / slot) - 1


def lots_of(due, slot):
    found = []
    for n in range(due.head):
        first, last = whole_slots(due.animal(n), slot)
        if found and (found[-1].first, found[-1].last) == (first, last):
            found[-1].head += 1
        else:
            found.append(Lot(due, 1, first, last))
    return found


def sessions_of(season, dues):
    """Pens at one site whose hours touch are one session. Reversed hours count as a stretch too."""
    found = []
    for site in season.sites:
        here = []
        for due in (d for d in dues if d.site == site):
            hours = due.pen_hours()
            here.append((*sorted([hours.earliest, hours.latest]), due))
        here.sort(key=lambda x: x[0])
        current = None
        for begin, end, due in here:
            if current is None or begin > current.close:
                current = Session(site, begin, end)
                found.append(current)
            current.close = max(current.close, end)
            current.dues.append(due)
            current.lots.extend(lots_of(due, season.slot))
    for before, session in zip(found, found[1:]):
        if before.site == session.site:
            session.after = before.close
    for session in found:
        session.able = _able(season, session)
    return found


def _able(season, session):
    slots = session.slots()
    if not slots:
        return {}
    first, last = slots[0], slots[-1]
    begin, end = first * season.slot, (last + 1) * season.slot
    free = free_hours(season, min(begin, session.open), max(end, session.close))

    def blocked(k):
        return any(a < (k + 1) * season.slot and k * season.slot < b for a, b in free)

    found = {}
    for technician in season.crew:
        # Everyone at a box may have straws in the bath at the same moment.
        site = season.sites[session.site]
        bath = max(1, site.bath // min(site.boxes, len(season.crew)))
        rounds = safest(technician, season, min(technician.straws or MOST_STRAWS, bath))
        if rounds is None:
            continue
        # Straws may thaw before the hours open.
        early = max(begin - rounds.ahead, session.after)
        able = Able(technician, rounds, {}, set(), set())
        # Whoever leaves as the hours open has no box in a slot, so a cow then is safe only with a box for each.
        a_box_each = site.boxes >= len(season.crew)
        ready = early
        for a, b in presence(season, technician, session.site, early, end):
            a, b = max(a, early), min(b, end)
            if a >= b:
                continue
            for at in rounds.breedings(max(a, ready), b):
                ready = at + rounds.reset
                # A cow bred as the hours open counts to the slot that begins then.
                k = max(slot_of(at, season.slot), first)
                if at == begin == b and not a_box_each:
                    continue
                if k in slots and not blocked(k) and not blocked(slot_of(at, season.slot)):
                    able.ticks.setdefault(k, []).append(at)
            span = range(max(slot_of(a + 1, season.slot), first), min(slot_of(b, season.slot), last) + 1)
            able.there.update(k for k in span if not blocked(k))
        opens = max(session.open - rounds.ahead, session.after)
        for a, b in presence(season, technician, session.site, opens, session.close):
            a, b = max(a, opens), min(b, session.close)
            if a < b:
                span = range(slot_of(a + 1, season.slot), slot_of(b, season.slot) + 1)
                able.duty.update(k for k in span if not blocked(k))
        if able.ticks:
            found[technician.id] = able
    return found


def presence(season, technician, site, begin, end):
    """Stretches at a site: hours of work that touch are one, less hours in which nobody works; the road home is taken off both ends."""
    clock = season.clock
    road = season.sites[technician.home].road[site] if technician.home else 0
    spans = []
    day = clock.date(begin) - timedelta(days=DAYS_AROUND)
    while day <= clock.date(end) + timedelta(days=DAYS_AROUND):
        if day not in technician.days_off:
            if not technician.shifts:
                spans.append((clock.start_of_day(day), clock.start_of_day(day + timedelta(days=1))))
            for weekdays, a, b in technician.shifts:
                if day.weekday() in weekdays:
                    over = day + timedelta(days=1) if b <= a else day
                    spans.append((
                        clock.resolve(datetime.combine(day, a))[0],
                        clock.resolve(datetime.combine(over, b))[0],
                    ))
        day += timedelta(days=1)
    joined = []
    for a, b in sorted(spans):
        if joined and a <= joined[-1][1]:
            joined[-1][1] = max(joined[-1][1], b)
        else:
            joined.append([a, b])
    if season.idle:
        around = (DAYS_AROUND + 1) * 86400
        for a, b in free_hours(season, begin - around, end + around, season.idle):
            joined = [(x, y) for p, q in joined for x, y in ((p, min(q, a)), (max(p, b), q)) if x < y]
    return [(a + road, b - road) for a, b in joined if a + road < b - road and a + road < end and begin < b - road]


def free_hours(season, begin, end, rules=None):
    clock, found = season.clock, []
    day = clock.date(begin) - timedelta(days=1)
    while day <= clock.date(end) + timedelta(days=1):
        for when, a, b in season.free if rules is None else rules:
            if when in (None, day, day.weekday()):
                found.append((
                    clock.resolve(datetime.combine(day, a or time()))[0],
                    clock.resolve(datetime.combine(day, b))[0]
                    if b is not None
                    else clock.start_of_day(day + timedelta(days=1)),
                ))
        day += timedelta(days=1)
    return found


def clash(season, one, two, technician):
    """True if a technician cannot serve both sessions, one after the other."""
    if one.site == two.site:
        return False
    early, late = (one, two) if one.open <= two.open else (two, one)
    return late.open - late.able[technician].rounds.ahead < early.close + season.sites[early.site].road[late.site]


def stretches(season, session):
    """Runs of slots with the same people on duty, more than there are boxes."""
    boxes = season.sites[session.site].boxes
    found, before = [], None
    for k in session.slots():
        duty = session.duty(k)
        if len(duty) > boxes:
            if duty == before:
                found[-1][1].append(k)
            else:
                found.append((duty, [k]))
            before = duty
        else:
            before = None
    return found
