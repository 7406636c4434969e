"""Makes a season small while its fault stays."""

import re
import time
from copy import deepcopy

from wide_maker import dump

MOST_TRIES = 600
MOST_SECONDS = 300
KEPT = {"format", "name", "zone", "sites", "groups", "crew", "id", "site", "class", "head", "bulls", "protocol", "start",
        "injections_head_per_hour", "breeding_boxes", "bull", "straws"}


def shrink(raw, files, holds):
    """The files of the smallest season found for which `holds(files)` is true."""
    best, tables = deepcopy(raw), dict(files)
    tries, until = 0, time.monotonic() + MOST_SECONDS

    def files_of(season, tables):
        text = dump(season)
        return {"season.yaml": text, **{n: t for n, t in tables.items() if n != "season.yaml" and n in text}}

    def attempt(change):
        nonlocal best, tries
        if tries >= MOST_TRIES or time.monotonic() > until:
            return False
        season = deepcopy(best)
        if change(season) is False:
            return False
        tries += 1
        if not holds(files_of(season, tables)):
            return False
        best = season
        return True

    moved = True
    while moved and time.monotonic() < until:
        moved = False
        for name in ("groups", "crew", "semen", "tanks", "bulls", "sites"):
            n = len(best.get(name, [])) - 1
            while n >= 0:
                moved |= attempt(lambda s: _drop_entry(s, name, n))
                n -= 1
        for path in sorted(_keys(best), key=len):
            moved |= attempt(lambda s: _drop_key(s, path))
        for n in range(len(best["groups"])):
            for cut in (2, 1.3):
                while attempt(lambda s: _fewer(s["groups"][n], cut)):
                    moved = True
    for name in list(tables):
        rows = re.split(r"(?<=\n)", tables[name])
        if name != "season.yaml" and name in dump(best):
            for n in range(len(rows) - 1, 0, -1):
                fewer = {**tables, name: "".join(rows[:n] + rows[n + 1 :])}
                if tries < MOST_TRIES and time.monotonic() < until and holds(files_of(best, fewer)):
                    tables, rows = fewer, rows[:n] + rows[n + 1 :]
                tries += 1
    return files_of(best, tables)


def _drop_entry(season, name, n):
    if n >= len(season.get(name, [])):
        return False
    gone = season[name].pop(n)
    if name == "sites":
        where = gone["id"]
        if any(g["site"] == where for g in season["groups"]):
            return False
        for s in season["sites"]:
            for key in ("minutes_to", "miles_to", "km_to"):
                s.get(key, {}).pop(where, None)
        for c in season["crew"]:
            if c.get("home_site") == where:
                del c["home_site"]
    return bool(season[name]) or season.pop(name, None) is not None and name not in ("groups", "crew", "sites")


def _keys(node, path=()):
    if isinstance(node, dict):
        for key, value in node.items():
            if key not in KEPT or path[:1] == ("bulls",):
                yield (*path, key)
            yield from _keys(value, (*path, key))
    elif isinstance(node, list):
        for n, value in enumerate(node):
            if isinstance(value, (dict, list)):
                yield from _keys(value, (*path, n))


def _drop_key(season, path):
    node = season
    try:
        for step in path[:-1]:
            node = node[step]
        del node[path[-1]]
    except (KeyError, IndexError, TypeError):
        return False


def _fewer(group, cut):
    head = group["head"]
    if head <= 1:
        return False
    fewer = max(1, int(head / cut))
    if "pen_head" in group:
        group["pen_head"] = [max(1, int(n / cut)) for n in group["pen_head"]]
        fewer = sum(group["pen_head"])
    if fewer >= head or fewer < group.get("pens", 1):
        return False
    group["head"] = fewer
