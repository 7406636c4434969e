"""Random small seasons in which decisions matter, the same for the same seed. All names are invented.

`sites`: sessions at two or three sites that clash, with too few people. `days`: the same, with days shorter
than sessions. `starts`: pens whose starts are open. `both`: both. `tiny`: so small that every choice can be tried one by one.
"""

import random
from datetime import datetime, timedelta

import yaml

from crew import MOST_STRAWS, safest
from reading import read_season
from season_maker import ALLOW, PEOPLE, SITES, ZONES, clock_changes

KINDS = ["sites", "starts", "sites", "starts", "sites", "starts", "sites", "starts", "both", "sites"]
# Choices of starts of a season, at the most; and in a few, more than the program tries.
MOST_STARTS, MANY_STARTS = 130, 1000


def make(seed, number, protocols, kind=None):
    rng = random.Random(f"{seed} {number} {kind}")
    kind = kind or KINDS[number % len(KINDS)]
    return kind, yaml.safe_dump(_Maker(rng, kind, protocols).season(), sort_keys=False, width=200)


def _suits(p):
    """Bred once at set hours, all work in the chute."""
    breeding = [s for s in p.steps if s.breeds]
    return (
        p.kind == "fixed-time"
        and all(s.in_chute for s in p.steps)
        and len(breeding) == 1
        and 2 * 3600 <= breeding[0].hours[2] - breeding[0].hours[0] <= 8 * 3600
    )


class _Maker:
    def __init__(self, rng, kind, protocols):
        self.rng, self.kind = rng, "sites" if kind == "days" else kind
        self.short_days = kind == "days"
        self.protocols = [p for p in protocols.values() if _suits(p)]
        self.choices = 1
        self.most_starts = MANY_STARTS if kind == "starts" and self.one_in(10) else MOST_STARTS

    def one_in(self, n):
        return self.rng.randrange(n) == 0

    def season(self):
        rng = self.rng
        self.zone = rng.choice(ZONES)
        self.slot = 15 if self.one_in(2) and self.kind in ("sites", "starts") else 30
        day = datetime(rng.randint(2026, 2030), 1, 1) + timedelta(days=rng.randrange(365))
        changes = clock_changes(self.zone, day.year)
        if changes and self.one_in(10):
            day = datetime.combine(rng.choice(changes), datetime.min.time())
        self.aim = day + timedelta(hours=rng.randint(7, 15))
        sites = {"starts": [1, 1, 1, 2], "both": [2], "tiny": [1, 2, 2], "sites": [2, 2, 3]}[self.kind]
        self.sites = SITES[: rng.choice(sites)]
        season = {
            "format": "thawline.season/1",
            "name": "A made season with decisions",
            "zone": self.zone,
            "allow": ALLOW,
            "sites": self.make_sites(),
            "groups": self.make_groups(),
            "crew": [self.technician(who) for who in PEOPLE[: self.people()]],
            "semen": [{"bull": "Dry Fork 12", "straws": 9999}],
            "rules": self.rules(),
        }
        read = read_season(yaml.safe_dump(season), {p.id: p for p in self.protocols})
        for one, technician in zip(season["crew"], read.crew):
            if safest(technician, read, MOST_STRAWS) is None:
                one.update(minutes_per_cow=3.5, minutes_spread=0, helper=True)
        return season

    def people(self):
        if self.kind == "tiny":
            return self.rng.choice([1, 1, 2])
        return self.rng.choice([1, 1, 2] if self.kind == "starts" else [1, 1, 2, 2, 3])

    def make_sites(self):
        rng, sites = self.rng, []
        for s in self.sites:
            site = {
                "id": s,
                # Slow enough that pens wait for the chute, where starts are open.
                "injections_head_per_hour": rng.choice([45, 60, 80] if self.kind == "sites" else [28, 36, 50, 64]),
                "breeding_boxes": 2 if self.kind == "tiny" else rng.choice([1, 2, 2, 3]),
            }
            if self.one_in(3):
                site["inserts_head_per_hour"] = rng.choice([25, 40, 55])
            sites.append(site)
        for n, a in enumerate(sites):
            for b in self.sites[n + 1 :]:
                a.setdefault("minutes_to", {})[b] = rng.choice([10, 20, 30, 45, 60, 75, 90])
        self.made_sites = sites
        return sites

    def make_groups(self):
        n = 1 if self.kind == "starts" and not self.one_in(4) else max(2, len(self.sites))
        if self.kind == "sites" and self.one_in(5):
            n += 1
        if self.kind == "tiny":
            n = len(self.sites)
        return [self.make_group(g, n) for g in range(n)]

    def make_group(self, n, of):
        rng = self.rng
        protocol = rng.choice(self.protocols)
        opens = self.kind == "starts" or self.kind != "sites" and (n == 0 or self.one_in(4))
        pens = rng.choice([2, 2, 3]) if opens else rng.choice([1, 1, 2])
        head = {"sites": [rng.randint(8, 30), rng.randint(15, 60)], "starts": [rng.randint(20, 60), rng.randint(40, 110)]}
        head = rng.choice(head.get(self.kind, [rng.randint(12, 50)]))
        if self.kind == "tiny":
            head, pens = rng.randint(6, 14), 2 if opens else 1
        if self.most_starts == MANY_STARTS:
            pens = 3
        group = {
            "id": f"g{n + 1}",
            "site": self.sites[n % len(self.sites)],
            "class": "cow" if protocol.cls == "both" else protocol.cls,
            "head": head,
            "protocol": protocol.id,
            "bulls": ["Dry Fork 12"],
            "order": rng.choice(["kept", "mixed"]),
        }
        if pens > 1:
            cuts = sorted(rng.sample(range(3, head - 2), pens - 1))
            group["pen_head"] = [b - a for a, b in zip([0, *cuts], [*cuts, head])]
        start = self.start_of(protocol)
        group["start"] = start.isoformat(timespec="minutes")
        if opens:
            # Mostly as many as pens in turn need in the chute, or a few more.
            site = next(x for x in self.made_sites if x["id"] == group["site"])
            pace = min(site["injections_head_per_hour"], site.get("inserts_head_per_hour", 999))
            need = 60 * (head - max(group["pen_head"])) / pace / self.slot
            slots = max(2, min(8, int(need) + rng.choice([0, 1, 1, 2, 3])))
            if self.most_starts == MANY_STARTS:
                slots = 8
            while (slots + 1) ** pens * self.choices > self.most_starts and slots > 2:
                slots -= 1
            if (slots + 1) ** pens * self.choices <= self.most_starts:
                self.choices *= (slots + 1) ** pens
                group["latest_start"] = (start + timedelta(minutes=self.slot * slots)).isoformat(timespec="minutes")
        return group

    def start_of(self, protocol):
        """A start that brings the breeding about to the aim."""
        offsets = {"start": timedelta()}
        for step in protocol.steps:
            after = timedelta(days=step.days) if step.hours is None else timedelta(seconds=step.hours[1])
            offsets[step.id] = offsets[step.after] + after
        breeding = next(s for s in protocol.steps if s.breeds)
        apart = self.rng.choice([0, 0, 30, 60, 90, 120, 180, 240, 360])
        return self.aim - offsets[breeding.id] + timedelta(minutes=apart)

    def technician(self, who):
        rng = self.rng
        one = {"id": who, "minutes_per_cow": rng.randint(30, 65) / 10}
        if self.kind == "starts":
            one["minutes_per_cow"] = rng.randint(30, 90) / 10
        if self.kind == "tiny":
            one["minutes_per_cow"] = rng.randint(80, 120) / 10
        one["minutes_spread"] = rng.choice([0, 0, 0.5])
        if not self.one_in(3):
            one["helper"] = True
        if len(self.sites) > 1 and not self.one_in(3):
            one["home_site"] = rng.choice(self.sites)
        if self.one_in(4):
            one["straws_at_once"] = rng.randint(2, 6)
        if self.one_in(4):
            begin, long = self.aim.hour + rng.randint(-5, 0), rng.randint(5, 11)
            one["shifts"] = [{"from": f"{begin % 24:02}:00", "to": f"{(begin + long) % 24:02}:30"}]
        if self.kind != "starts" and self.one_in(8):
            one["longest_day_hours"] = rng.choice([4, 5.5, 7, 9])
        return one

    def rules(self):
        rng = self.rng
        rules = {"slot_minutes": self.slot, "late_straw_risk_percent": 50, "road_minutes": 60}
        if self.kind != "tiny" and self.one_in(4):
            rules.update(rest_after_hours=rng.choice([1, 1.5, 2, 3, 4]), rest_minutes=rng.choice([10, 15, 30, 60]))
        if self.kind != "starts" and self.one_in(5):
            rules["longest_day_hours"] = rng.choice([5, 6, 7.5, 9, 11])
        if self.short_days:
            rules["longest_day_hours"] = rng.choice([2, 2.5, 3, 3.5, 4, 5])
        return rules
