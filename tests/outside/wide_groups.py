"""Groups of a wide season: protocols, pens and starts, wishes, calves."""

import random
from datetime import datetime, timedelta

BREEDS = "other angus brahman brown-swiss charolais hereford jersey limousin shorthorn simmental".split()
WISHES = ("breed_from breed_to first_calves_from protocols leave_out most_passes most_days heat_watch "
          "bulls_in no_work work_hours").split()


class Groups:
    """Mixed into the maker of wide seasons."""

    def make_group(self, n):
        rng = self.rng
        protocol = self.pick_protocol()
        most = {"relay": 25, "open": 60}.get(self.kind, 110)
        head = self.pick(rng.randint(1, 12), rng.randint(3, 40), rng.randint(10, most), rng.randint(1, 20))
        if self.one_in(60):
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
            group["note"] = self.pick(*self.names)
        if "protocol" in group and "estrus" in protocol.kind and self.one_in(3):
            group["heat_mean_hours"] = self.pick(48, 56.5, 64, 1, 400, self.real(20, 120))
            if not self.one_in(6):
                group["heat_spread_hours"] = self.pick(8, 12.5, 18, 1, 100, self.real(2, 40))
        if "protocol" in group and protocol.kind != "fixed-time" and self.one_in(2):
            group["in_heat_percent"] = self.pick(0, 40, 55.5, 66, 100, self.real(0, 100))
        if "protocol" not in group or self.one_in(10):
            group["wishes"] = self.make_wishes(protocol)
        if self.one_in(3):
            group["calves"] = self.make_calves(group, protocol)
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
        elif form in (2, 3) and not one_day and self.one_in(2):
            # Other pens, later: as many days as suit the crew.
            group["days"] = self.pick(f"up to {rng.randint(2, 7)}", "up to 2", "up to 3", 1)
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

    def make_calves(self, group, protocol):
        calves, wishes = {}, group.get("wishes", {})
        if self.one_in(2) and "gestation_days" not in wishes:
            calves["breed"] = self.pick(*BREEDS)
        elif self.one_in(3):
            calves["gestation_days"] = self.pick(250, 283, 310, self.real(270, 295))
        if self.one_in(4):
            calves["gestation_spread_days"] = self.pick(1, 15, self.real(2, 8))
        if self.one_in(3):
            calves["lost_percent"] = self.pick(0, 2, 50, self.real(0, 12))
        own = random.Random(f"{group['id']} {group['head']}")  # the same seasons otherwise
        if own.random() < 0.3:
            low, expected, high = sorted(own.randint(0, 100) for _ in range(3))
            calves["not_cycling_percent"] = {"low": low, "expected": expected, "high": high}
        if self.one_in(3):
            calves["pregnancy_percent"] = self.share()
        if self.one_in(2):
            low = self.rng.randint(12, 40)
            high = self.rng.randint(0, 80)
            low += 20 if protocol.kind != "fixed-time" else 0
            high += low
            bulls = {"in": self.day(low, low), "out": self.day(high, high)}
            if "start" in group:  # bulls that are in before the first treatment are refused
                start = datetime.fromisoformat(group["start"]).date()
                bulls = {"in": str(start + timedelta(days=low)), "out": str(start + timedelta(days=high))}
            bulls |= {"head": self.pick(1, 2, 4, 10000)}
            if self.one_in(3):
                bulls["breed"] = self.pick(*BREEDS)
            elif self.one_in(4):
                bulls["gestation_days"] = self.real(270, 295)
            if self.one_in(3):
                bulls["settled_percent"] = self.share()
            calves["clean_up"] = bulls
        return calves
