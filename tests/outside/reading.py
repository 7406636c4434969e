"""Season and protocol files as plain objects, and local times as instants.

Numbers are read from their text as fractions, so that no rounding of ours can hide or make a
difference. Instants are seconds since the epoch, whole or fractions.
"""

import math
import zoneinfo
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta, timezone
from fractions import Fraction
from pathlib import Path

import yaml

# The zones of the tzdata package, not those of the machine.
zoneinfo.reset_tzpath(to=[])

EPOCH = datetime(1970, 1, 1)
# Every scalar as it is written; the C reader where PyYAML has it.
Loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


class Clock:
    """The clocks of one zone."""

    def __init__(self, name):
        self.zone = zoneinfo.ZoneInfo(name)

    def resolve(self, local):
        """The instant of a local reading, and whether it was in doubt (skipped or repeated).

        The first of two equal readings; a skipped one moves on by as much as the clocks skip.
        Both are what an offset of before the change gives, which `fold=0` asks for.
        """
        before = local.replace(tzinfo=self.zone, fold=0).utcoffset()
        after = local.replace(tzinfo=self.zone, fold=1).utcoffset()
        return _seconds(local - EPOCH - before), before != after

    def local(self, instant):
        """The local reading of an instant, to the whole second below."""
        at = datetime.fromtimestamp(math.floor(instant), timezone.utc)
        return at.astimezone(self.zone).replace(tzinfo=None)

    def offset(self, instant):
        at = datetime.fromtimestamp(math.floor(instant), timezone.utc)
        return at.astimezone(self.zone).utcoffset()

    def date(self, instant):
        return self.local(instant).date()

    def start_of_day(self, day):
        return self.resolve(datetime.combine(day, time()))[0]

    def same_clock(self, instant, days):
        """The same clock time so many days on. No days on is the same moment."""
        local = self.local(instant)
        if days == 0:
            return instant, self.resolve(local)[1]
        at, doubt = self.resolve(local + timedelta(days=days))
        return at + (instant - math.floor(instant)), doubt


def _seconds(delta):
    return delta.days * 86400 + delta.seconds


def moment(text):
    """An instant, and its offset, from `2027-05-18T17:00:00-06:00`."""
    at = datetime.fromisoformat(text)
    instant = Fraction(_seconds(at.replace(microsecond=0) - EPOCH.replace(tzinfo=timezone.utc)))
    return instant + Fraction(at.microsecond, 1_000_000), at.utcoffset()


@dataclass
class Step:
    id: str
    after: str
    days: int | None
    hours: tuple | None  # earliest, aim, latest in seconds
    actions: list
    lasts_days: int | None
    share: Fraction | None  # expected percent
    heat: dict | None = None  # when heat comes, for a watch

    @property
    def in_chute(self):
        return self.lasts_days is None

    @property
    def breeds(self):
        return any(a.startswith("inseminate") for a in self.actions)


@dataclass
class Protocol:
    id: str
    kind: str
    cls: str
    cattle: list
    semen: list
    research: bool
    second_service: bool
    steps: list


@dataclass
class Site:
    id: str
    injections: Fraction
    inserts: Fraction
    boxes: int
    bath: int
    road: dict = field(default_factory=dict)  # seconds by site id


@dataclass
class Group:
    id: str
    site: str
    protocol: Protocol
    start: datetime
    pens: list
    kept: bool
    bulls: list
    in_heat: Fraction | None
    heat_mean: float | None = None
    heat_spread: float | None = None
    pen_starts: list | None = None  # instants, where pens have starts of their own


@dataclass
class Technician:
    id: str
    cow: Fraction | None  # seconds at the cow
    overall: Fraction | None  # seconds a cow over a whole session
    # None: a third of the mean at the cow.
    spread: Fraction | None
    helper: bool
    home: str | None
    straws: int | None
    shifts: list  # (weekdays, from, to)
    days_off: set


@dataclass
class Season:
    clock: Clock
    sites: dict
    groups: list
    crew: list
    straws: dict  # by bull
    slot: int
    bath_to_cow: Fraction
    risk: Fraction
    thaw: Fraction
    load: Fraction
    reset: Fraction
    free: list  # (date, weekday or None for every day; from, to)
    idle: list  # those of them in which nobody works at all
    heat_checks: list  # clock times
    heat_breeding: tuple  # earliest, aim, latest in seconds after a check


def read_protocols(folder):
    found = {}
    for path in sorted(Path(folder).glob("*.yaml")):
        raw = yaml.load(path.read_text(encoding="utf-8"), Loader)
        found[raw["id"]] = Protocol(
            id=raw["id"],
            kind=raw["kind"],
            cls=raw["class"],
            cattle=raw["cattle"],
            semen=raw["semen"],
            research=raw.get("research") == "true",
            second_service=raw.get("second_service") == "true",
            steps=[_step(s) for s in raw["steps"]],
        )
    return found


def _step(raw):
    hours = raw.get("hours")
    share = raw.get("share_percent")
    return Step(
        id=raw["id"],
        after=raw["after"],
        days=int(raw["days"]) if "days" in raw else None,
        hours=hours and tuple(_whole(Fraction(hours[k]) * 3600) for k in ("earliest", "aim", "latest")),
        actions=raw["do"],
        lasts_days=int(raw["lasts_days"]) if "lasts_days" in raw else None,
        share=share and Fraction(share["expected"]),
        heat=_heat(raw.get("heat")),
    )


def _heat(raw):
    if raw is None:
        return None
    every = raw.get("every_days")

    def expected(key):
        return float(raw[key]["expected"]) if key in raw else None

    return {
        "every_days": float(every["days"]) if every else None,
        "after": raw.get("after"),
        "shows": expected("shows_percent"),
        # Figures without a number of animals count as a small trial's.
        "by_hours": [(float(p["hours"]), float(p["expected"]), int(p.get("head", 100))) for p in raw.get("by_hours", [])],
        "mean": expected("mean_hours"),
        "spread": expected("spread_hours"),
    }


def _whole(x):
    return math.floor(x + Fraction(1, 2))


def _clock_time(text):
    return time() if text == "24:00" else time.fromisoformat(text)


def read_season(text, protocols, table=None):
    """`table`: rows of straws from a table beside the season."""
    raw = yaml.load(text, Loader)
    rules = raw.get("rules") or {}

    def rule(key, default, scale=1):
        return Fraction(rules.get(key, default)) * scale

    breeding = rules.get("heat_breeding_hours", {"earliest": 9, "aim": 12, "latest": 15})
    first = _clock_time(rules.get("no_work_before", "00:00"))
    idle = [(None, None, first)] if first > time() else []
    straws = {}
    for s in [*raw.get("semen", []), *(table or [])]:
        straws[s["bull"]] = straws.get(s["bull"], 0) + int(s["straws"])
    return Season(
        clock=Clock(raw["zone"]),
        sites=_sites(raw["sites"], rule("road_minutes", 60)),
        groups=[_group(g, protocols) for g in raw["groups"]],
        crew=[_technician(t) for t in raw["crew"]],
        straws=straws,
        slot=int(rules.get("slot_minutes", 15)) * 60,
        bath_to_cow=rule("bath_to_cow_minutes", 15, 60),
        risk=rule("late_straw_risk_percent", 5, Fraction(1, 100)),
        thaw=rule("thaw_seconds", 45),
        load=rule("load_seconds", 30),
        reset=rule("reset_seconds", 60),
        free=[_free(f) for f in rules.get("no_chute_work", [])] + idle,
        idle=idle,
        heat_checks=sorted({_clock_time(t) for t in rules.get("heat_checks", ["06:00", "18:00"])}),
        heat_breeding=tuple(_whole(Fraction(breeding[k]) * 3600) for k in ("earliest", "aim", "latest")),
    )


def _free(raw):
    day = date.fromisoformat(raw["date"]) if "date" in raw else WEEKDAYS.index(raw["weekday"])
    begin = _clock_time(raw["from"]) if "from" in raw else None
    end = _clock_time(raw["to"]) if raw.get("to", "24:00") != "24:00" else None
    return day, begin, end


def _sites(raw, usual_road):
    found = {}
    for s in raw:
        injections = Fraction(s["injections_head_per_hour"])
        found[s["id"]] = Site(
            id=s["id"],
            injections=injections,
            inserts=Fraction(s.get("inserts_head_per_hour", injections)),
            # Nobody breeds without a place in the bath.
            boxes=min(int(s["breeding_boxes"]), int(s.get("thaw_bath_straws", 10))),
            bath=int(s.get("thaw_bath_straws", 10)),
        )
    ids = list(found)
    stated = {}
    for s in raw:
        for other, minutes in s.get("minutes_to", {}).items():
            stated[s["id"], other] = stated[other, s["id"]] = _whole(Fraction(minutes) * 60)
    # The shortest ways over stated roads (Floyd and Warshall); a time that nobody gave is used where
    # they are longer, and shortens none of them.
    stated.update({(a, a): 0 for a in ids})
    ways = dict(stated)
    for over in ids:
        for a in ids:
            for b in ids:
                if (a, over) in ways and (over, b) in ways:
                    way = ways[a, over] + ways[over, b]
                    ways[a, b] = min(ways.get((a, b), way), way)
    for a in ids:
        for b in ids:
            known = [ways[a, b]] if (a, b) in ways else []
            usual = [] if (a, b) in stated else [_whole(usual_road * 60)]
            found[a].road[b] = min(known + usual)
    return found


def _group(raw, protocols):
    head = int(raw["head"])
    if "pen_head" in raw:
        pens = [int(n) for n in raw["pen_head"]]
    else:
        n = int(raw.get("pens", 1))
        pens = [head // n + (1 if k < head % n else 0) for k in range(n)]
    share = raw.get("in_heat_percent")
    return Group(
        id=raw["id"],
        site=raw["site"],
        protocol=protocols[raw["protocol"]],
        start=datetime.fromisoformat(raw["start"]),
        pens=pens,
        kept=raw.get("order", "mixed") == "kept",
        bulls=raw["bulls"],
        in_heat=None if share is None else Fraction(share),
        heat_mean=float(raw["heat_mean_hours"]) if "heat_mean_hours" in raw else None,
        heat_spread=float(raw["heat_spread_hours"]) if "heat_spread_hours" in raw else None,
    )


def _technician(raw):
    cow = Fraction(raw["minutes_per_cow"]) * 60 if "minutes_per_cow" in raw else None
    overall = 3600 / Fraction(raw["cows_per_hour"]) if "cows_per_hour" in raw else None
    spread = Fraction(raw["minutes_spread"]) * 60 if "minutes_spread" in raw else None
    return Technician(
        id=raw["id"],
        cow=cow,
        overall=overall,
        spread=spread,
        helper=raw.get("helper", "false") == "true",
        home=raw.get("home_site"),
        straws=int(raw["straws_at_once"]) if "straws_at_once" in raw else None,
        shifts=[
            (
                [WEEKDAYS.index(d) for d in s.get("days", WEEKDAYS)],
                _clock_time(s["from"]),
                _clock_time(s["to"]),
            )
            for s in raw.get("shifts", [])
        ],
        days_off={date.fromisoformat(d) for d in raw.get("days_off", [])},
    )
