"""Does the soak ask everything, and can it fail? Every key of the schema must be in some made season, and a
sound plan held against a season that it was not made for must be found unsound, for the right reason."""

import json
import subprocess
import tempfile
from copy import deepcopy
from pathlib import Path

from plan_check import check_plan
from wide_maker import Wide, dump

# Two groups at one time at two sites 40 minutes apart; somebody breeds at both.
SEASON = {
    "format": "thawline.season/1",
    "name": "Two sites on one day",
    "zone": "America/Denver",
    "sites": [
        {"id": "bench", "injections_head_per_hour": 60, "breeding_boxes": 2, "minutes_to": {"creek": 40}},
        {"id": "creek", "injections_head_per_hour": 60, "breeding_boxes": 2},
    ],
    "groups": [
        {"id": "early", "site": "bench", "class": "cow", "head": 30, "protocol": "cow-7-day-co-synch-insert",
         "start": "2027-05-03T14:00", "order": "kept", "bulls": ["Quartz 9"]},
        {"id": "late", "site": "creek", "class": "cow", "head": 80, "protocol": "cow-7-day-co-synch-insert",
         "start": "2027-05-03T16:00", "order": "mixed", "bulls": ["Tumbleweed 7"]},
    ],
    "crew": [
        {"id": "ana", "minutes_per_cow": 4, "minutes_spread": 0.5, "helper": True, "home_site": "bench",
         "shifts": [{"from": "05:00", "to": "16:00"}]},
        {"id": "burt", "minutes_per_cow": 5, "minutes_spread": 0.5, "helper": True, "home_site": "creek",
         "shifts": [{"from": "04:00", "to": "12:30"}]},
    ],
    "tanks": [{"id": "big", "canisters": 6}, {"id": "small", "canisters": 6}],
    "semen": [{"bull": "Quartz 9", "straws": 40, "tank": "big"}, {"bull": "Tumbleweed 7", "straws": 140, "tank": "small"}],
}


def _crew(**keys):
    return lambda season, plan: [c.update(keys) for c in season["crew"]]


def _rules(**keys):
    return lambda season, plan: season.setdefault("rules", {}).update(keys)


def _group(n, **keys):
    return lambda season, plan: season["groups"][n].update(keys)


def _site(**keys):
    return lambda season, plan: [s.update(keys) for s in season["sites"]]


def _road(season, plan):
    season["sites"][0]["minutes_to"]["creek"] = 400


def _fewer_straws(season, plan):
    season["semen"][0]["straws"] = 20


def _one_tank(season, plan):
    season["semen"][1]["tank"] = "big"


def _swap(season, plan):
    slots = [w for w in plan["sessions"][0]["slots"] if len(w["animals"]) > 1]
    slots[0]["animals"].reverse()


def _sooner(season, plan):
    plan["sessions"][0]["slots"][0]["bred_minutes"][0] -= 600


def _lose(season, plan):
    slot = plan["sessions"][0]["slots"][0]
    slot["head"] -= 1
    slot["bred_minutes"].pop()
    slot["animals"].pop()


def _late_begin(season, plan):
    a = plan["sessions"][0]["technicians"][0]
    a["begins"] = a["first_cow"]


def _leave_late(season, plan):
    for s in plan["sessions"]:
        for a in s["technicians"]:
            if a["leaves"]:
                a["leaves"]["by"] = a["first_cow"]


SPOILED = [
    ("dates", _group(0, start="2027-05-03T15:00")),
    ("hours", _group(0, start="2027-05-02T14:00")),
    ("hours", _sooner),
    ("shifts", _crew(shifts=[{"from": "04:00", "to": "06:00"}])),
    ("shifts", _crew(days_off=["2027-05-13"])),
    ("free-hours", _rules(no_chute_work=[{"weekday": "thu"}])),
    ("shifts", _rules(no_work_before="11:00")),
    ("rest", _rules(rest_after_hours=0.5, rest_minutes=60)),
    ("longest-day", _rules(longest_day_hours=1)),
    ("boxes", _site(breeding_boxes=1)),
    ("straw-age", _rules(bath_to_cow_minutes=4)),
    ("straws-at-once", _crew(straws_at_once=1)),
    ("straws-at-once", _site(thaw_bath_straws=1)),
    ("pace", _crew(minutes_per_cow=2)),
    ("capacity", _crew(minutes_per_cow=7)),
    ("rounds", _late_begin),
    ("leaves", _leave_late),
    ("two-places", _road),
    ("order", _swap),
    ("straws", _group(0, bulls=["Tumbleweed 7"])),
    ("straws", _fewer_straws),
    ("tank-two-sites", _one_tank),
    ("totals", _lose),
    ("sessions", _lose),
]


def can_fail(thawline, protocols):
    """What the checker does not see, in words."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "season.yaml").write_text(dump(SEASON), encoding="utf-8")
        done = subprocess.run([thawline, "plan", "season.yaml", "--json"], cwd=folder, capture_output=True, check=False)
    plan = json.loads(done.stdout)
    missed = []
    if not any(t["sessions"] > 1 for t in plan["technicians"]):
        missed.append("the plan of two sites has nobody at both")
    faults = check_plan({"season.yaml": dump(SEASON)}, plan, protocols)
    missed += [f"a sound plan is called unsound: {kind}: {words}" for kind, words in faults]
    for kind, spoil in SPOILED:
        season, spoiled = deepcopy(SEASON), deepcopy(plan)
        spoil(season, spoiled)
        found = {k for k, _ in check_plan({"season.yaml": dump(season)}, spoiled, protocols)}
        if kind not in found:
            missed.append(f"not seen: {kind}, by {spoil.__qualname__.split('.')[0]}; seen: {sorted(found)}")
    return missed


def forms(schema, of):
    """A part of the schema with its references followed: each form that it may have."""
    if "$ref" in of:
        return forms(schema, schema["$defs"][of["$ref"].split("/")[-1]])
    return [f for kind in ("anyOf", "oneOf") for x in of.get(kind, []) for f in forms(schema, x)] + [of]


def paths_of(schema, of, path=""):
    """Every path of properties, such as `groups.wishes.no_work.why`."""
    for form in forms(schema, of):
        for key, value in form.get("properties", {}).items():
            yield f"{path}{key}"
            yield from paths_of(schema, value, f"{path}{key}.")
        yield from paths_of(schema, form["items"], path) if "items" in form else ()


def paths_in(node, path=""):
    if isinstance(node, dict):
        for key, value in node.items():
            yield f"{path}{key}"
            yield from paths_in(value, f"{path}{key}.")
    elif isinstance(node, list):
        for value in node:
            yield from paths_in(value, path)


def keys_of(thawline):
    schema = json.loads(subprocess.run([thawline, "schema", "season"], capture_output=True, check=True).stdout)
    return set(paths_of(schema, schema))


def self_test(thawline, protocols, seasons):
    used, on = set(), set()
    for n in range(seasons):
        season = Wide(1, n, protocols)
        used.update(paths_in(season.raw))
        on |= {g.get("protocol") for g in season.raw["groups"]}
    paths = keys_of(thawline)
    missing = [f"in no season: key {p}" for p in sorted(paths - used)]
    missing += [f"in no season: protocol {p}" for p in sorted(set(protocols) - on)]
    missing += can_fail(thawline, protocols)
    for words in missing:
        print(words)
    print(
        f"{len(paths & used)} keys, {len(on - {None})} protocols in {seasons} seasons; "
        f"{len(SPOILED)} spoiled plans; {len(missing)} failed"
    )
    return not missing
