"""Random seasons as wide as the schema: every key, tables beside the season, every zone, any year.

A season is a folder of files, the same for the same seed and number. All names are invented.
"""

import random
import zoneinfo
from datetime import date, datetime, timedelta
from functools import cache

import yaml

from crew import MOST_STRAWS, safest
from reading import read_season
from season_maker import clock_changes
from wide_money import Money
from wide_tables import herd_table, scores_table, straw_table

DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
BREEDS = "other angus brahman brown-swiss charolais hereford jersey limousin shorthorn simmental".split()
SITES = ["bench", "creek", "mesa", "draw", "flat", "hollow"]
PEOPLE = ["ana", "burt", "coe", "dell", "eve", "fay", "gus", "hal"]
BULLS = ["Dry Fork 12", "Tumbleweed 7", "Quartz 9", "Little Wren 3", "Ash-1", "b2", "Ñandú 5", "17"]
NAMES = ["Late cows (invented)", "=1+1", "Größe 5", "牧場", "a", "Smith's \"own\"", "x" * 200, "-", "Heifers, first"]
WISHES = ("breed_from breed_to first_calves_from protocols leave_out most_passes most_days heat_watch "
          "bulls_in no_work work_hours").split()
# Half of all seasons lean on one thing.
KINDS = ["any", "any", "any", "clocks", "midnight", "crossroads", "relay", "straws", "heat", "boxes", "starts", "open"]
# A season lies in these years. Its first treatment, and the cows' births, may be years sooner.
YEARS = 2001, 2090
FIRST_DAY = date(2000, 1, 1)


@cache
def zones():
    """Those that name a place: `ROK` or `Zulu` do not."""
    return sorted(z for z in zoneinfo.available_timezones() if "/" in z and not z.startswith("build"))


Dumper = type("Dumper", (getattr(yaml, "CSafeDumper", yaml.SafeDumper),), {"ignore_aliases": lambda *_: True})


class Wide(Money):
    """One season: `files` by name, and whether every group has a protocol and a start."""

    def __init__(self, seed, number, protocols, large=True):
        self.rng = random.Random(seed * 1_000_003 + number)
        self.kind = self.rng.choice(KINDS)
        self.protocols, self.large = protocols, large
        self.files = {}
        self.raw = self.season()
        self.files["season.yaml"] = dump(self.raw)
        self.planned = all("protocol" in g for g in self.raw["groups"])

    # Chance.

    def one_in(self, n):
        return self.rng.randrange(n) == 0

    def pick(self, *of):
        return self.rng.choice(of)

    def real(self, low, high, digits=None):
        """A number of any grain between the two."""
        x = self.rng.uniform(low, high)
        return round(x, self.pick(0, 1, 1, 2, 3) if digits is None else digits)

    def some(self, of, low=0):
        return self.rng.sample(of, self.rng.randint(min(low, len(of)), len(of)))

    def price(self):
        return self.pick(0, 1, 2.5, 0.01, 19, 1e6, 999999.99, self.real(0, 100), self.real(0, 5000))

    def share(self, low=0, high=100):
        a, b, c = sorted(self.rng.randint(low, high) for _ in range(3))
        found = {"expected": b}
        if self.one_in(2):
            found["low"] = a
        if self.one_in(2):
            found["high"] = c
        return found

    def named(self, thing, n=4):
        if self.one_in(n):
            thing["name"] = self.pick(*NAMES)
        return thing

    # Time.

    def aim_day(self):
        rng = self.rng
        self.zone = rng.choice(zones())
        year = self.pick(rng.randint(*YEARS), rng.randint(2024, 2032))
        day = date(year, 1, 1) + timedelta(days=rng.randrange(365))
        changes = clock_changes(self.zone, year)
        if changes and (self.kind == "clocks" or self.one_in(4)):
            day = rng.choice(changes) + timedelta(days=rng.randint(-1, 3))
        hour = self.pick(6, 7, 8, 9, 12, 17) if not self.one_in(4) else rng.randrange(24)
        if self.kind == "midnight":
            hour = self.pick(22, 23, 23, 0, 0, 1)
        self.aim = datetime(day.year, day.month, day.day, hour)
        self.changes = changes

    def day(self, low, high):
        return max(FIRST_DAY, self.aim.date() + timedelta(days=self.rng.randint(low, high))).isoformat()

    def clock(self, hour=None, minutes=(0, 0, 15, 30, 7, 59)):
        hour = self.rng.randrange(24) if hour is None else hour % 24
        return f"{hour:02}:{self.rng.choice(minutes):02}"

    def span(self):
        """Two clock times of one day, the second later."""
        a = self.rng.randrange(0, 1438)
        b = self.pick(1439, self.rng.randrange(a + 1, 1440), min(1439, a + 60))
        return f"{a // 60:02}:{a % 60:02}", f"{b // 60:02}:{b % 60:02}"

    def free_hours(self):
        day = self.aim.date() + timedelta(days=self.pick(-10, -7, -3, -1, 0, 0, 0, 1, 2))
        hours = {"date": day.isoformat()} if self.one_in(2) else {"weekday": DAYS[day.weekday()]}
        form = self.rng.randrange(5)
        if form > 0:
            hour = self.aim.hour + self.rng.randint(-3, 3)
            a = max(0, min(22, hour)) * 60 + self.pick(0, 20, 30)
            hours["from"] = f"{a // 60:02}:{a % 60:02}"
            if form > 1:
                b = min(1440, a + self.pick(10, 45, 60, 120, 600))
                hours["to"] = f"{b // 60:02}:{b % 60:02}"
            if form > 3:
                del hours["from"]
        if self.one_in(3):
            hours["why"] = self.pick("church", "sale", *NAMES)
        return hours

    # The season.

    def season(self):
        rng = self.rng
        self.aim_day()
        sites = {"boxes": [1], "crossroads": [2, 3, 4], "relay": [3, 4], "heat": [1, 1, 2]}
        self.sites = SITES[: rng.choice(sites.get(self.kind, [1, 1, 2, 2, 3, 5]))]
        self.bulls = self.some(BULLS, 1)[: rng.randint(1, 6)]
        season = {
            "format": "thawline.season/1",
            "name": self.pick("A made season", *NAMES),
            "zone": self.zone,
            "sites": self.make_sites(),
        }
        self.rules = self.make_rules()
        season["groups"] = [self.make_group(n) for n in range(self.how_many_groups())]
        season["crew"] = self.make_crew()
        if self.rules:
            season["rules"] = self.rules
        if self.one_in(2):
            season["tanks"] = self.make_tanks()
        self.tanks = season.get("tanks", [])
        self.make_semen(season)
        if self.one_in(2):
            season["bulls"] = [self.bull_facts(b) for b in self.some(self.bulls)]
        for n, g in enumerate(season["groups"]):
            if g["head"] <= 400 and self.one_in(3):
                g["herd"] = f"herd-{n + 1}.csv"
                self.files[g["herd"]], ids = herd_table(self, g)
                if self.one_in(3):
                    g["scores"] = f"scores-{n + 1}.csv"
                    self.files[g["scores"]] = scores_table(self, ids)
                elif self.one_in(3) and "scores" not in season:
                    season["scores"] = "scores.csv"
                    self.files["scores.csv"] = scores_table(self, ids)
        self.more(season)
        self.drop_too_slow(season)
        return season

    def more(self, season):
        """What planning does not need."""
        if self.one_in(3):
            season["prices"] = self.make_prices()
        if self.one_in(4):
            season["money"] = self.make_money()
        if self.one_in(4):
            season["supplies"] = self.make_supplies()
        if self.one_in(4):
            season["units"] = {
                k: self.pick(*v)
                for k, v in {"temperature": "FC", "distance": ["miles", "km"], "weight": ["lb", "kg"]}.items()
                if self.one_in(2)
            }
        if self.one_in(8):
            names = ("calving_day chute_quarter cost_a_head cost_a_pregnancy day head_not_bred night_hour other_head "
                     "pass percent_open short_minute wish work_hour").split()
            season["weights"] = {k: self.pick(0, 1, 5, 1000, self.real(0, 20)) for k in self.some(names)}

    def how_many_groups(self):
        return self.rng.choice({
            "crossroads": [2, 3, 4, 5, 8],
            "relay": [3, 4, 5],
            "open": [1, 1, 2, 2, 3],
            "heat": [1, 1, 2],
        }.get(self.kind, [1, 1, 1, 2, 2, 3, 4, 6, 12]))

    def make_sites(self):
        rng = self.rng
        self.road_form = self.pick("closed", "any", "any", "zero", "unstated")
        at = {s: (rng.uniform(0, 120), rng.uniform(0, 120)) for s in self.sites}
        sites = []
        for s in self.sites:
            site = self.named({
                "id": s,
                "injections_head_per_hour": self.pick(45, 60, 72.5, 80, 110, 1, 1000) if self.one_in(4) else self.real(30, 140),
                "breeding_boxes": self.pick(1, 2) if self.kind == "boxes" else self.pick(1, 1, 2, 2, 3, 50),
            })
            if not self.one_in(3):
                site["inserts_head_per_hour"] = self.pick(28, 35, 47.5, 60, self.real(20, 100))
            if self.one_in(4):
                site["thaw_bath_straws"] = self.pick(1, 2, 3, 4, 6, 8, 20, 100)
            if self.one_in(4):
                site["bath_liters"] = self.pick(1, 2.5, 4, 100, self.real(0.5, 12))
            if self.one_in(5):
                site["bath_heater_watts"] = self.pick(0, 150, 5000, self.real(10, 400))
            if self.one_in(4):
                site.update({"hot_water_f": self.real(100, 212)} if self.one_in(2) else {"hot_water_c": self.real(38, 100)})
            if self.one_in(3):
                site["latitude"], site["longitude"] = self.real(-90, 90, 4), self.real(-180, 180, 4)
            sites.append(site)
        for n, a in enumerate(sites):
            for b in sites[n + 1 :]:
                self.road(a, b, at)
        return sites

    def road(self, a, b, at):
        """What is said of the road between two sites, at either of them."""
        one, other = (a, b) if self.one_in(2) else (b, a)
        form = self.road_form
        if form == "unstated" and not self.one_in(4):
            return
        minutes = self.pick(5, 10, 25, 40, 62.5, 90, 150, 700)
        if form == "closed":
            (x, y), (u, v) = at[a["id"]], at[b["id"]]
            minutes = round(((x - u) ** 2 + (y - v) ** 2) ** 0.5 + 1, 1)
        elif form == "zero" and self.one_in(2):
            minutes = 0
        if form == "closed" or not self.one_in(4):
            one.setdefault("minutes_to", {})[other["id"]] = minutes
        if self.one_in(3):
            key = self.pick("miles_to", "km_to")
            one.setdefault(key, {})[other["id"]] = self.pick(0, 1, 12.5, 300, 2000, round(minutes * 0.7, 1))

    # Groups.

    def make_group(self, n):
        rng = self.rng
        protocol = self.pick_protocol()
        most = {"relay": 25, "open": 60}.get(self.kind, 110)
        head = self.pick(rng.randint(1, 12), rng.randint(3, 40), rng.randint(10, most), rng.randint(1, 20))
        if self.large and self.one_in(40):
            head = self.pick(400, 700, 2000)
        classes = ["cow", "heifer"] if protocol.cls == "both" else [protocol.cls]
        group = self.named({
            "id": self.pick(f"g{n + 1}", f"G-{n + 1}", f"group_{n + 1}"),
            "site": self.sites[n % len(self.sites)] if self.kind in ("crossroads", "relay") else rng.choice(self.sites),
            "class": rng.choice(classes),
            "head": head,
            "bulls": self.some(self.bulls, 1),
        })
        if self.kind != "open" or self.one_in(3):
            group["protocol"] = protocol.id
            group["start"] = self.start_of(protocol).isoformat(timespec="minutes")
            self.split(group, head)
        elif self.one_in(3) and head > 1:
            group["pens"] = rng.randint(1, min(4, head))
        if not self.one_in(3):
            group["order"] = self.pick("kept", "kept", "mixed")
        if self.one_in(6):
            group["note"] = self.pick(*NAMES)
        if "protocol" in group and "estrus" in protocol.kind and self.one_in(3):
            group["heat_mean_hours"] = self.pick(48, 56.5, 64, 1, 400, self.real(20, 120))
            if not self.one_in(6):
                group["heat_spread_hours"] = self.pick(8, 12.5, 18, 1, 100, self.real(2, 40))
        if "protocol" in group and protocol.kind != "fixed-time" and self.one_in(2):
            group["in_heat_percent"] = self.pick(0, 40, 55.5, 66, 100, self.real(0, 100))
        if "protocol" not in group or self.one_in(10):
            group["wishes"] = self.make_wishes(protocol)
        if self.one_in(3):
            group["calves"] = self.make_calves(group.get("wishes", {}), protocol)
        return group

    def pick_protocol(self):
        of = list(self.protocols.values())
        if self.kind == "heat":
            of = [p for p in of if p.kind != "fixed-time"]
        return self.rng.choice(of)

    def split(self, group, head):
        """Pens, and when each begins."""
        rng = self.rng
        pens = min(head, self.pick(1, 1, 1, 2, 2, 3, 4 if self.one_in(3) else 1))
        if pens > 1 and self.one_in(2):
            cuts = sorted(rng.sample(range(1, head), pens - 1))
            group["pen_head"] = [b - a for a, b in zip([0, *cuts], [*cuts, head])]
        elif pens > 1 or self.one_in(8):
            group["pens"] = pens
        start = datetime.fromisoformat(group["start"])
        form = rng.randrange(3 if self.kind == "starts" else 8)
        # What is fed or watched as one group begins on one day.
        one_day = any(not s.in_chute for s in self.protocols[group["protocol"]].steps)
        till_night = 1439 - start.hour * 60 - start.minute
        if form == 0 and pens > 1:
            at, found = start, []
            for _ in range(pens):
                found.append(at.isoformat(timespec="minutes"))
                at += timedelta(minutes=self.pick(0, 30, 45, 60, 90, 150, 300, 1440))
                if one_day:
                    at = min(at, start + timedelta(minutes=till_night))
            if not self.one_in(3):
                rng.shuffle(found)
            group["pen_starts"] = found
        elif form == 1 and head <= 120:
            minutes = self.pick(0, 30, 60, 120, 240, 480, 1500)
            late = start + timedelta(minutes=min(minutes, till_night) if one_day else minutes)
            group["latest_start"] = late.isoformat(timespec="minutes")

    def start_of(self, protocol):
        """A start that brings the first breeding about to the aim."""
        rng = self.rng
        offsets, first = {"start": timedelta()}, None
        for step in protocol.steps:
            after = timedelta(days=step.days) if step.hours is None else timedelta(seconds=step.hours[1])
            offsets[step.id] = offsets[step.after] + after
            if step.breeds and first is None:
                first = offsets[step.id]
        start = self.aim - first + timedelta(minutes=self.pick(-150, -60, -30, 0, 0, 7, 15, 45, 60, 120, 300))
        if self.kind == "relay":
            start += timedelta(hours=self.pick(-8, -6, -4, 0, 0, 4, 6, 8))
        if self.changes and self.kind == "clocks" and self.one_in(3):
            day = rng.choice(self.changes)
            start = datetime(day.year, day.month, day.day, self.pick(0, 1, 1, 2, 2, 3, 23), self.pick(0, 15, 30, 59))
        elif self.kind == "midnight" and self.one_in(3):
            start = start.replace(hour=self.pick(0, 23), minute=self.pick(0, 59, 30))
        elif self.one_in(8):
            start += timedelta(days=rng.randint(-20, 20))
        return start

    def make_wishes(self, protocol):
        rng = self.rng
        low = rng.randint(0, 12)
        wishes = {"breed_from": self.day(low, low)}
        if self.one_in(4):
            wishes = {"first_calves_from": self.day(265 + low, 265 + low)}
        if self.one_in(2):
            days = rng.randint(1, 14) + low + (20 if "first_calves_from" in wishes else 0)
            wishes["breed_to"] = self.day(days, days)
        else:
            days = rng.randint(18, 40) + low + (20 if "first_calves_from" in wishes else 0)
            wishes["bulls_in"] = self.day(days, days)
        if "bulls_in" in wishes and self.one_in(2):
            wishes["bulls_gap_days"] = self.pick(0, 5, 10, 14)
        if self.one_in(2):
            wishes["breed"] = self.pick(*BREEDS)
        elif self.one_in(3):
            wishes["gestation_days"] = rng.randint(270, 295)
        for key, value, n in [
            ("early_days", rng.randint(0, 30), 6),
            ("heat_watch", self.pick("wanted", "unwanted"), 3),
            ("most_days", self.pick(8, 12, 40, 400), 4),
            ("most_passes", self.pick(3, 4, 5, 20), 3),
            ("start_every_minutes", self.pick(30, 60, 60, 15), 6),
            ("no_work", [self.free_hours() for _ in range(rng.randint(0, 2))], 3),
            ("may_break", self.some(WISHES), 4),
        ]:
            if self.one_in(n):
                wishes[key] = value
        self.wished_protocols(wishes, protocol)
        if self.one_in(3):
            a, b = self.pick(("06:00", "18:00"), ("05:00", "23:59"), ("00:00", "12:00"), self.span())
            wishes["work_hours"] = {"from": a, "to": b}
        return wishes

    def wished_protocols(self, wishes, protocol):
        """For which cattle and semen, and protocols by name: these must be published for both."""
        cattle, semen = protocol.cattle[0], self.rng.choice(protocol.semen)
        if self.one_in(4):
            cattle, semen = self.pick("beef", "bos-indicus", "dairy"), self.pick("conventional", "sexed")
        if cattle != "beef" or self.one_in(5):
            wishes["cattle"] = cattle
        if semen != "conventional" or self.one_in(5):
            wishes["semen"] = semen
        if protocol.research or self.one_in(6):
            wishes["research"] = protocol.research or self.one_in(2)
        fit = [
            p.id for p in self.protocols.values()
            if p.cls == protocol.cls and cattle in p.cattle and semen in p.semen
            and (wishes.get("research") or not p.research) and not p.second_service
        ]
        key = self.pick("protocols", "leave_out", "", "", "", "")
        if key and fit:
            wishes[key] = self.some(fit, 1)[:10]

    def make_calves(self, wishes, protocol):
        calves = {}
        if self.one_in(2) and "gestation_days" not in wishes:
            calves["breed"] = self.pick(*BREEDS)
        elif self.one_in(3):
            calves["gestation_days"] = self.pick(250, 283, 310, self.real(270, 295))
        if self.one_in(4):
            calves["gestation_spread_days"] = self.pick(1, 15, self.real(2, 8))
        if self.one_in(3):
            calves["lost_percent"] = self.pick(0, 2, 50, self.real(0, 12))
        if self.one_in(3):
            calves["pregnancy_percent"] = self.share()
        if self.one_in(2):
            low = self.rng.randint(12, 40)
            high = self.rng.randint(0, 80)
            low += 20 if protocol.kind != "fixed-time" else 0
            high += low
            bulls = {"in": self.day(low, low), "out": self.day(high, high), "head": self.pick(1, 2, 4, 10000)}
            if self.one_in(3):
                bulls["breed"] = self.pick(*BREEDS)
            elif self.one_in(4):
                bulls["gestation_days"] = self.real(270, 295)
            if self.one_in(3):
                bulls["settled_percent"] = self.share()
            calves["clean_up"] = bulls
        return calves

    # Rules and people.

    def make_rules(self):
        rng = self.rng
        rules = {}
        for key, of, n in [
            ("slot_minutes", (5, 10, 15, 20, 30), 2),
            ("bath_to_cow_minutes", (10, 12, 15, 18.5, 60, self.real(8, 20)), 4),
            ("late_straw_risk_percent", (0.5, 2, 10, 25, 50, self.real(0.1, 30)), 4),
            ("thaw_seconds", (40, 45, 60, 300, self.real(10, 90)), 5),
            ("load_seconds", (0, 20, 45.5, self.real(0, 90)), 5),
            ("reset_seconds", (0, 60, 90, 1800, self.real(0, 200)), 5),
            ("lift_seconds", (1, 5, 60, self.real(1, 20)), 6),
            ("straws_a_lift", (1, 2, 3, 10), 6),
            ("straws_wasted_percent", (0, 2, 5, 50, self.real(0, 20)), 5),
            ("road_minutes", (0, 20, 75, 1440, self.real(0, 120)), 4),
            ("road_minutes_per_head", (0, 5, 10, 60, 1440, self.real(0, 40)), 5),
            ("longest_day_hours", (1, 6, 10, 14, 24, self.real(4, 16)), 5),
            ("calving_to_breeding_days", (20, 45, 60, 200), 8),
            ("least_body_condition", (1, 4.5, 5, 9), 8),
            ("heifer_gain_lb_per_day", (0, 1.5, 6, self.real(0, 3)), 8),
            ("heifer_mature_weight_percent", (40, 55, 60, 100), 8),
        ]:
            if self.one_in(n):
                rules[key] = self.pick(*of)
        if self.one_in(5):
            rules["rest_after_hours"] = self.pick(0.5, 2, 3, 4.5, 24, self.real(1, 8))
            rules["rest_minutes"] = self.pick(5, 20, 30, 60, 600, self.real(5, 90))
        if self.one_in(3 if self.kind == "heat" else 6):
            checks = ["05:30", "06:00", "11:59", "12:00", "13:15", "18:00", "20:30", "00:00", "23:59"]
            rules["heat_checks"] = rng.sample(checks, rng.randint(1, 4))
        if self.one_in(3 if self.kind == "heat" else 8):
            a, b, c = sorted(self.pick(0, 6, 8, 9, 10, 11.5, 12, 14, 16, 24, 36) for _ in range(3))
            rules["heat_breeding_hours"] = {"earliest": a, "aim": b, "latest": c}
        if self.one_in(3):
            rules["no_chute_work"] = [self.free_hours() for _ in range(self.pick(0, 1, 1, 2, 5))]
        return rules

    def make_crew(self):
        n = self.rng.choice({"boxes": [3, 4, 5], "crossroads": [2, 3, 4], "relay": [2, 2, 3]}.get(self.kind, [1, 1, 2, 2, 3, 6]))
        crew = []
        for who in PEOPLE[:n]:
            if crew and (self.kind == "relay" or self.one_in(4)):
                crew.append({**crew[-1], "id": who})
            else:
                crew.append(self.make_technician(who))
        return crew

    def make_technician(self, who):
        one = self.named({"id": who})
        if self.one_in(2):
            one["minutes_per_cow"] = self.pick(3, 1, 0.5, self.real(1.5, 7), self.real(1.5, 7), self.real(1, 15))
        else:
            one["cows_per_hour"] = self.pick(7, 11.5, 16, 120, self.real(4, 24), self.real(4, 24))
        if self.one_in(2):
            one["minutes_spread"] = self.pick(0, 0.3, 0.8, 1.2, self.real(0, 2))
        if self.one_in(2):
            one["helper"] = not self.one_in(6)
        if self.one_in(2):
            one["home_site"] = self.pick(*self.sites)
        if self.one_in(3):
            one["straws_at_once"] = self.rng.randint(1, 10)
        if self.one_in(6):
            one["longest_day_hours"] = self.pick(1, 6, 10, 24, self.real(3, 16))
        if not self.one_in(3):
            one["shifts"] = self.make_shifts()
        if self.one_in(5):
            one["days_off"] = sorted({self.day(-2, 3) for _ in range(self.pick(1, 2, 3))})
        return one

    def make_shifts(self):
        hour, form = self.aim.hour, self.rng.randrange(7)
        if self.kind == "midnight":
            form = self.pick(1, 2, 3, 4)
        if form == 0:
            shifts = [{"from": self.clock(hour - 5), "to": self.clock(hour)}, {"from": self.clock(hour + 1), "to": self.clock(hour + 6)}]
        elif form == 1:
            shifts = [{"from": "18:00", "to": self.pick("00:00", "24:00", "06:30", "01:59")}]
        elif form == 2:
            shifts = [{"from": "00:00", "to": self.pick("24:00", "23:59")}]
        elif form == 3:
            shifts = [{"from": "12:00", "to": "24:00"}, {"from": "00:00", "to": "06:00"}]
        else:
            shifts = [{"from": self.clock(hour - self.rng.randint(1, 6)), "to": self.clock(hour + self.rng.randint(2, 8))}]
        shifts = [s for s in shifts if s["from"] != s["to"]]
        if shifts and self.one_in(4):
            shifts[0]["days"] = sorted(self.some(DAYS, 1), key=DAYS.index)
        return shifts

    def drop_too_slow(self, season):
        """A technician who can bring no straw into a cow in time is an input error: slow paces go."""
        read = read_season(dump({**season, "semen": [], "groups": []}), self.protocols)
        for one, technician in zip(season["crew"], read.crew):
            if safest(technician, read, MOST_STRAWS) is None:
                one.pop("cows_per_hour", None)
                one.update(minutes_per_cow=2.3, minutes_spread=0, helper=True)
        read = read_season(dump({**season, "semen": [], "groups": []}), self.protocols)
        if any(safest(t, read, MOST_STRAWS) is None for t in read.crew):
            for key in ("bath_to_cow_minutes", "thaw_seconds", "load_seconds", "late_straw_risk_percent"):
                season.get("rules", {}).pop(key, None)

    # Semen and tanks.

    def make_tanks(self):
        return [self.make_tank(t) for t in ["big", "small", "old"][: self.pick(1, 1, 2, 3)]]

    def make_tank(self, name):
        rng = self.rng
        tank = self.named({"id": name, "canisters": self.pick(1, 4, 6, 10, 50)})
        unit, full = self.pick(("inches", self.real(12, 40)), ("cm", self.real(30, 90)), ("liters", self.real(5, 60)))
        if unit != "liters":
            tank[f"full_{unit}"] = full
        if unit == "liters" or self.one_in(2):
            tank["liters"] = full if unit == "liters" else self.real(5, 60)
        if self.one_in(3):
            tank["canes_a_canister"] = self.pick(1, 9, 10, 1000)
        if "liters" in tank and self.one_in(3):
            tank["liters_lost_an_opening"] = self.pick(0, 0.1, 1, self.real(0, 3))
        if self.one_in(3):
            tank["refill_margin_days"] = self.pick(0, 3, 14, 365)
        if self.one_in(2):
            tank[f"refill_below_{unit}"] = round(full * rng.uniform(0.05, 0.6), 2)
        if self.one_in(3):
            tank["straws"] = self.pick(0, 100, 250, 1000000)
        first = rng.randint(-160, -20)
        filled = sorted({first, *(rng.randint(-150, 60) for _ in range(self.pick(0, 0, 1, 2, 3)))})
        tank["filled"] = [self.day(d, d) for d in filled]
        loss, days = full / rng.uniform(25, 200), set()
        readings = []
        for _ in range(self.pick(0, 1, 2, 3, 4, 8)):
            d = rng.randint(first, 0)
            if d in days:
                continue
            days.add(d)
            since = d - max([f for f in filled if f <= d])
            level = max(0, full - loss * since + rng.gauss(0, full / 80))
            readings.append((d, {"date": self.day(d, d), unit: round(min(level, full), 2)}))
        if readings:
            tank["readings"] = [r for _, r in sorted(readings, key=lambda x: x[0])]
        return tank

    def make_semen(self, season):
        rows = self.straw_rows(season["groups"])
        form = self.rng.randrange(4)
        cut = {0: 0, 1: len(rows) // 2}.get(form, len(rows))
        if rows[:cut]:
            season["semen"] = rows[:cut]
        if rows[cut:]:
            season["semen_file"] = "straws.csv"
            self.files["straws.csv"] = straw_table(self, rows[cut:])

    def straw_rows(self, groups):
        wanted = {b: 0 for b in self.bulls}
        for g in groups:
            for b in g["bulls"]:
                wanted[b] += g["head"]
        rows = []
        for b, n in wanted.items():
            scale = self.pick(0.2, 0.4, 0.6, 0.8, 1) if self.kind == "straws" or self.one_in(8) else self.pick(1, 1.5)
            straws = round(n * scale) if not self.one_in(15) else 0
            size, parts = self.pick(0.5, 0.25, None), []
            for _ in range(self.pick(0, 0, 1, 2, 4)):
                part = self.rng.randint(0, straws)
                parts.append(part)
                straws -= part
            full_name = self.pick(*NAMES) if self.one_in(5) else None
            for part in [*parts, straws]:
                row = {"bull": b, "straws": part}
                if full_name:
                    row["name"] = full_name
                if size:
                    row["straw_ml"] = size
                if self.tanks and not self.one_in(5):
                    tank = self.pick(*self.tanks)
                    row["tank"] = tank["id"]
                    if not self.one_in(4):
                        row["canister"] = self.rng.randint(1, tank["canisters"])
                        if not self.one_in(3):
                            row["cane"] = self.pick("A-1", "B-2", f"{b[:3]}-{len(rows)}")
                            if self.one_in(2):
                                row["goblet"] = self.pick("top", "bottom")
                if self.one_in(5):
                    row["sort"] = self.pick("sexed", "sexed", "conventional")
                rows.append(row)
        return rows

    def bull_facts(self, bull):
        facts = {"id": bull}
        if self.one_in(2):
            facts["calving_ease"] = not self.one_in(5)
        if self.one_in(5):
            facts["sexed"] = self.one_in(2)
        if self.one_in(3):
            facts["sire"] = self.pick("Old Ridge 2", *BULLS)
        if self.one_in(3):
            facts["dam"] = self.pick("C-17", "A1", "A2")
        if facts.get("sire") == bull:
            del facts["sire"]
        return facts


def dump(raw):
    return yaml.dump(raw, Dumper=Dumper, sort_keys=False, allow_unicode=True, width=1000)
