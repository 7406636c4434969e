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
from season_maker import ALLOW, COUNTRIES, clock_changes
from wide_goods import Goods
from wide_groups import Groups
from wide_tables import herd_table, scores_table

DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
SITES = ["bench", "creek", "mesa", "draw", "flat", "hollow"]
PEOPLE = ["ana", "burt", "coe", "dell", "eve", "fay", "gus", "hal"]
BULLS = ["Dry Fork 12", "Tumbleweed 7", "Quartz 9", "Little Wren 3", "Ash-1", "b2", "Ñandú 5", "17"]
NAMES = ["Late cows (invented)", "=1+1", "Größe 5", "牧場", "a", "Smith's \"own\"", "x" * 200, "-", "Heifers, first"]
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


class Wide(Groups, Goods):
    """One season: `files` by name, and whether every group has a protocol and a start."""

    names, known_bulls = NAMES, BULLS

    def __init__(self, seed, number, protocols, left_out=()):
        """`left_out`: keys that the program at hand does not know, as `list.key`."""
        self.rng = random.Random(seed * 1_000_003 + number)
        self.kind = self.rng.choice(KINDS)
        self.protocols = protocols
        self.files = {}
        self.raw = self.season()
        clock = random.Random(f"{seed}/{number}/clock").choice([None, None, "12h", "24h"])
        if clock:
            self.raw.setdefault("units", {})["clock"] = clock
        self.law(random.Random(f"{seed}/{number}/law"))
        for path in left_out:
            of, _, key = path.rpartition(".")
            things = self.raw.get(of, []) if of else self.raw
            for thing in things if isinstance(things, list) else [things]:
                thing.pop(key, None)
        self.files["season.yaml"] = dump(self.raw)
        self.planned = all("protocol" in g for g in self.raw["groups"])

    def law(self, rng):
        """A country, and what is refused in the United States allowed."""
        country = rng.choice([None, None, rng.choice(COUNTRIES)])
        if country:
            self.raw["country"] = country
        groups = self.raw["groups"]
        ids = [g.get("protocol") for g in groups] + [p for g in groups for p in g.get("wishes", {}).get("protocols", [])]
        ids = sorted({p for p in ids if p and "estradiol" in p})
        if ids or rng.randrange(5) == 0:
            by_protocol = [{"protocol": p, "reason": f"Why {p} is allowed (invented)"} for p in ids]
            self.raw["allow"] = rng.choice([ALLOW, by_protocol or ALLOW])

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
                own = random.Random(f"{g['id']} {g['head']} {len(ids)}")  # the same seasons otherwise
                if own.random() < 0.3:
                    g["overrule"] = {i: own.choice(["ready", "wait"]) for i in own.sample(ids, min(3, len(ids)))}
                if own.random() < 0.2:
                    g["dates"] = own.choice(["dmy", "mdy"])
                if own.random() < 0.2:
                    g["columns"] = {"animal": "animal"}
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
            "crossroads": [2, 3, 3, 4, 5, 8],
            "relay": [3, 4, 5],
            "open": [1, 1, 2, 2, 3],
            "heat": [1, 1, 2],
        }.get(self.kind, [1, 1, 1, 1, 2, 2, 2, 3, 3, 4, 5, 8, 12]))

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

    # Rules and people.

    def make_rules(self):
        rng = self.rng
        rules = {}
        for key, of, n in [
            ("slot_minutes", (5, 10, 15, 20, 30), 2),
            ("bath_to_cow_minutes", (10, 12, 15, 18.5, 60, self.real(8, 20)), 4),
            ("late_straw_risk_percent", (0.5, 2, 10, 25, 50, self.real(1, 30)), 4),
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
            # Some time between, or the file is refused; and no more than 36 hours.
            a, c = (a, c) if a < c else (a, a + 1) if a < 36 else (a - 1, a)
            rules["heat_breeding_hours"] = {"earliest": a, "aim": b, "latest": c}
        if self.one_in(3):
            rules["no_chute_work"] = [self.free_hours() for _ in range(self.pick(0, 1, 1, 2, 5))]
        if self.one_in(5):
            hour = max(0, min(22, self.aim.hour + rng.randint(-4, 1)))
            rules["no_work_before"] = f"{hour:02}:{self.pick(0, 0, 7, 30):02}"
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


def dump(raw):
    return yaml.dump(raw, Dumper=Dumper, sort_keys=False, allow_unicode=True, width=1000)
