"""Random seasons, the same for the same seed. All names are invented."""

import random
from copy import deepcopy
from datetime import date, datetime, timedelta
from functools import cache

import yaml

from crew import MOST_STRAWS, safest
from reading import Clock, read_season

# Zones whose rules have stood for years: the releases of zone data need not be the same.
ZONES = [
    "America/Denver",
    "America/Chicago",
    "America/Phoenix",
    "America/Santiago",
    "America/Los_Angeles",
    "America/St_Johns",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Europe/Dublin",
    "Asia/Kathmandu",
]
# Estradiol is refused in the United States; a season may allow it.
ALLOW = [{"drug": "estradiol", "reason": "A permit (invented)"}]
COUNTRIES = ["US", "US", "CA", "BR", "AR", "GB", "AU", "NZ"]
SITES = ["bench", "creek", "mesa"]
PEOPLE = ["ana", "burt", "coe", "dell", "eve"]
BULLS = ["Dry Fork 12", "Tumbleweed 7", "Quartz 9", "Little Wren 3"]
DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
# Each kind of season leans on one thing that can go wrong.
KINDS = ["plain", "crossroads", "boxes", "straws", "clocks", "relay", "any"]


@cache
def clock_changes(zone, year):
    """Local dates on which the clocks change."""
    clock, found = Clock(zone), []
    day = date(year, 1, 1)
    while day.year == year:
        a, b = clock.start_of_day(day), clock.start_of_day(day + timedelta(days=1))
        if b - a != 86400:
            found.append(day)
        day += timedelta(days=1)
    return found


def make(seed, number, protocols):
    """The kind and the YAML text of a season."""
    rng = random.Random(seed * 1_000_003 + number)
    kind = KINDS[number % len(KINDS)]
    return kind, yaml.safe_dump(_Maker(rng, kind, protocols).season(), sort_keys=False)


class _Maker:
    def __init__(self, rng, kind, protocols):
        self.rng, self.kind, self.protocols = rng, kind, protocols

    def one_in(self, n):
        return self.rng.randrange(n) == 0

    def tenths(self, low, high):
        return self.rng.randint(round(low * 10), round(high * 10)) / 10

    def season(self):
        rng = self.rng
        self.zone = rng.choice(ZONES)
        self.aim_day()
        sites = {"plain": [1], "boxes": [1], "crossroads": [2, 3, 3], "relay": [3]}
        self.sites = SITES[: rng.choice(sites.get(self.kind, [1, 2, 2, 3]))]
        self.bulls = BULLS[: rng.randint(1, 4)]
        season = {
            "format": "thawline.season/1",
            "name": "A made season",
            "zone": self.zone,
            "sites": self.make_sites(),
            "groups": self.make_groups(),
        }
        rules = self.make_rules()
        season["crew"] = self.make_crew()
        season["semen"] = self.make_semen(season["groups"])
        if any("tank" in lot for lot in season["semen"]):
            # The most head that can be covered is counted without the roads of a tank: it may be everywhere.
            season["tanks"] = [{"id": "big", "canisters": 6, "places_at_once": len(self.sites)}]
        if rules:
            season["rules"] = rules
        self.drop_too_slow(season)
        if any("estradiol" in g["protocol"] for g in season["groups"]) or self.one_in(8):
            season["allow"] = ALLOW
        if self.one_in(3):
            season["country"] = rng.choice(COUNTRIES)
        return season

    def aim_day(self):
        """The local time about which the groups are bred."""
        rng = self.rng
        year = rng.randint(2026, 2030)
        day = date(year, 1, 1) + timedelta(days=rng.randrange(365))
        changes = clock_changes(self.zone, year)
        if changes and (self.kind == "clocks" or self.one_in(4)):
            day = rng.choice(changes) + timedelta(days=rng.randint(-1, 3))
        hour = rng.choice([6, 7, 8, 9, 10, 12, 14, 17, 20, 22] if not self.one_in(6) else list(range(24)))
        self.aim = datetime(day.year, day.month, day.day, hour)

    def make_sites(self):
        rng = self.rng
        sites = []
        for s in self.sites:
            site = {
                "id": s,
                "injections_head_per_hour": rng.choice([45, 60, 72.5, 80, 110]),
                "breeding_boxes": rng.choice([1, 2] if self.kind == "boxes" else [1, 2, 2, 3]),
            }
            if not self.one_in(4):
                site["inserts_head_per_hour"] = rng.choice([28, 35, 40, 47.5, 60])
            if self.one_in(5):
                site["thaw_bath_straws"] = rng.randint(1, 6)
            sites.append(site)
        for n, a in enumerate(sites):
            for b in self.sites[n + 1 :]:
                if not self.one_in(4):
                    a.setdefault("minutes_to", {})[b] = rng.choice([10, 25, 40, 62.5, 90, 150])
        return sites

    def make_groups(self):
        return [self.make_group(n) for n in range(self.rng.choice({
            "plain": [1, 2],
            "crossroads": [2, 3, 4, 5],
            "relay": [4, 5],
            "boxes": [1, 2, 3],
        }.get(self.kind, [1, 2, 3, 4])))]

    def make_group(self, n):
        rng = self.rng
        protocol = self.pick_protocol()
        head = rng.choice([rng.randint(3, 25), rng.randint(20, 60), rng.randint(40, 110)])
        if self.kind == "relay":
            head = rng.randint(3, 30)
        group = {
            "id": f"g{n + 1}",
            "site": self.sites[n % len(self.sites)] if self.kind in ("crossroads", "relay") else rng.choice(self.sites),
            "class": "cow" if protocol.cls == "both" else protocol.cls,
            "head": head,
            "protocol": protocol.id,
            "start": self.start_of(protocol).isoformat(timespec="minutes"),
            "bulls": rng.sample(self.bulls, rng.randint(1, len(self.bulls))),
        }
        pens = rng.choice([1, 1, 2, 3])
        if pens > 1 and self.one_in(2):
            cuts = sorted(rng.sample(range(1, head), pens - 1))
            group["pen_head"] = [b - a for a, b in zip([0, *cuts], [*cuts, head])]
        elif pens > 1:
            group["pens"] = pens
        if not self.one_in(5):
            group["order"] = rng.choice(["kept", "mixed"])
        if "estrus" in protocol.kind and self.one_in(4):
            group["heat_mean_hours"] = rng.choice([48, 56.5, 64])
            group["heat_spread_hours"] = rng.choice([8, 12.5, 18])
        if protocol.kind in ("split-time", "estrus-detection-then-timed") and not self.one_in(3):
            group["in_heat_percent"] = rng.choice([0, 40, 55.5, 66, 71, 100])
        return group

    def pick_protocol(self):
        if self.kind == "straws" and self.one_in(2):
            kinds = ["estrus-detection", "estrus-detection-then-timed", "split-time"]
        elif self.one_in(8):
            kinds = ["estrus-detection", "estrus-detection-then-timed"]
        else:
            kinds = ["fixed-time", "fixed-time", "fixed-time", "split-time"]
        kind = self.rng.choice(kinds)
        return self.rng.choice([p for p in self.protocols.values() if p.kind == kind])

    def start_of(self, protocol):
        """A start that brings the first breeding about to the aim."""
        rng = self.rng
        offsets = {"start": timedelta()}
        first = None
        for step in protocol.steps:
            after = timedelta(days=step.days) if step.hours is None else timedelta(seconds=step.hours[1])
            offsets[step.id] = offsets[step.after] + after
            if step.breeds and first is None:
                first = offsets[step.id]
        start = self.aim - first + timedelta(minutes=rng.choice([-150, -60, -30, 0, 0, 15, 45, 60, 120, 300]))
        if self.kind == "relay":
            start += timedelta(hours=rng.choice([-8, -6, -4, 0, 0, 4, 6, 8]))
        changes = clock_changes(self.zone, start.year)
        if changes and self.kind == "clocks" and self.one_in(4):
            # In the hour that the clocks skip or repeat, or next to it.
            day = rng.choice(changes)
            start = datetime(day.year, day.month, day.day, rng.choice([0, 1, 1, 2, 2, 3]), rng.choice([0, 15, 30, 50]))
        elif self.one_in(10):
            start += timedelta(days=rng.randint(-20, 20))
        return start

    def make_rules(self):
        rng = self.rng
        rules = {}
        # Fine slots make large models: fewer of them.
        slot = rng.choice([5, 10, 10, 15, 15, 15, 20, 30, 30, None])
        # Always stated: what leaves it open may be counted more finely, and is no match for the model.
        rules["slot_minutes"] = slot or 15
        if self.one_in(3):
            rules["bath_to_cow_minutes"] = rng.choice([10, 12, 15, 18.5])
        if self.one_in(3):
            rules["late_straw_risk_percent"] = rng.choice([0.5, 2, 10, 25])
        if self.one_in(3):
            rules["thaw_seconds"] = rng.choice([40, 45, 60])
            rules["load_seconds"] = rng.choice([20, 30, 45.5])
            rules["reset_seconds"] = rng.choice([0, 60, 90])
        if self.one_in(4):
            rules["road_minutes"] = rng.choice([0, 20, 75])
        if self.one_in(4):
            checks = ["05:30", "06:00", "12:00", "13:15", "18:00", "20:30"]
            rules["heat_checks"] = rng.sample(checks, rng.randint(1, 4))
        if self.one_in(5):
            rules["heat_breeding_hours"] = rng.choice(
                [{"earliest": 8, "aim": 10, "latest": 14.5}, {"earliest": 10, "aim": 12, "latest": 13}]
            )
        free = []
        for _ in range(rng.choice([0, 0, 1, 2])):
            day = self.aim.date() + timedelta(days=rng.choice([-1, 0, 0, 0, 1]))
            hours = {"date": day.isoformat()} if self.one_in(2) else {"weekday": DAYS[day.weekday()]}
            hour = max(1, min(22, self.aim.hour + rng.randint(-3, 3)))
            if not self.one_in(6):
                hours["from"] = f"{hour:02}:{rng.choice([0, 20, 30]):02}"
            if not self.one_in(6):
                hours["to"] = "24:00" if self.one_in(8) else f"{hour + 1:02}:{rng.choice([0, 10, 45]):02}"
            if "from" in hours or "to" in hours:
                free.append(hours)
        if free:
            rules["no_chute_work"] = free
        if self.one_in(5):
            hour = max(1, min(22, self.aim.hour + rng.randint(-4, 1)))
            rules["no_work_before"] = f"{hour:02}:{rng.choice([0, 0, 10, 30]):02}"
        return rules

    def make_crew(self):
        rng = self.rng
        n = rng.choice({"boxes": [3, 4, 5], "crossroads": [2, 3, 4], "relay": [2, 2, 3]}.get(self.kind, [1, 2, 2, 3]))
        crew = []
        for who in PEOPLE[:n]:
            if crew and (self.kind == "relay" or self.one_in(3)):
                crew.append({**deepcopy(crew[-1]), "id": who})  # somebody just alike
                continue
            crew.append(self.make_technician(who))
        return crew

    def make_technician(self, who):
        rng = self.rng
        one = {"id": who}
        if self.one_in(2):
            one["minutes_per_cow"] = self.tenths(1.8, 6)
        else:
            one["cows_per_hour"] = rng.choice([7, 9, 11.5, 13, 16, 20])
        if self.one_in(2):
            one["minutes_spread"] = rng.choice([0, 0.3, 0.8, 1.2])
        if self.one_in(2):
            one["helper"] = True
        if len(self.sites) > 1 and self.one_in(2):
            one["home_site"] = rng.choice(self.sites)
        if self.one_in(3):
            one["straws_at_once"] = rng.randint(1, 6)
        if not self.one_in(3):
            one["shifts"] = self.make_shifts()
        if self.one_in(5):
            one["days_off"] = [
                (self.aim.date() + timedelta(days=d)).isoformat() for d in rng.sample([-1, 0, 1, 2], rng.randint(1, 2))
            ]
        return one

    def make_shifts(self):
        rng = self.rng
        hour = self.aim.hour

        def at(h, minutes=(0, 0, 30)):
            return f"{h % 24:02}:{rng.choice(minutes):02}"

        form = rng.randrange(5)
        if form == 0:
            shifts = [{"from": "18:00", "to": "06:30"}]
        elif form == 1:
            shifts = [{"from": at(hour - 5), "to": at(hour)}, {"from": at(hour + 1), "to": at(hour + 6)}]
        elif form == 2:
            shifts = [{"from": "00:00", "to": "24:00"}]
        else:
            shifts = [{"from": at(hour - rng.randint(1, 6)), "to": at(hour + rng.randint(2, 8))}]
        if self.one_in(4):
            shifts[0]["days"] = sorted(rng.sample(DAYS, 5), key=DAYS.index)
        return shifts

    def make_semen(self, groups):
        rng = self.rng
        wanted = {b: 0 for b in self.bulls}
        for g in groups:
            for b in g["bulls"]:
                wanted[b] += g["head"]
        semen = []
        for b, n in wanted.items():
            scale = rng.choice([0.2, 0.4, 0.6, 0.8, 1]) if self.kind == "straws" or self.one_in(8) else 1.5
            straws = round(n * scale)
            if straws > 4 and self.one_in(3):
                semen.append({"bull": b, "straws": straws // 3, "tank": "big", "canister": 1})
                semen.append({"bull": b, "straws": straws - straws // 3, "tank": "big", "canister": 2})
            else:
                semen.append({"bull": b, "straws": straws})
        return semen

    def drop_too_slow(self, season):
        """A technician who can bring no straw into a cow in time is an input error: slow paces go."""
        read = read_season(yaml.safe_dump(season), self.protocols)
        for one, technician in zip(season["crew"], read.crew):
            if safest(technician, read, MOST_STRAWS) is None:
                one.pop("cows_per_hour", None)
                one.update(minutes_per_cow=2.3, minutes_spread=0, helper=True)
