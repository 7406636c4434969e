"""Who of a herd file is ready, read a second time by the thresholds that the guide names with their sources."""

from datetime import date, timedelta

LB_PER_KG = 1 / 0.45359237


def _day(text):
    return date.fromisoformat(text) if text else None


def _months_after(day, months):
    year, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + year, month + 1
    for last in (day.day, 30, 29, 28):
        try:
            return date(year, month, last)
        except ValueError:
            continue
    raise ValueError(day)


def _days(protocol, start):
    """First day, first breeding by the aim, and when inserts go in."""
    at = {"start": start}
    for s in protocol.steps:
        long = timedelta(days=s.days) if s.hours is None else timedelta(seconds=float(s.hours[1]))
        at[s.id] = at[s.after] + long
    first = lambda which: min((at[s.id].date() for s in protocol.steps if which(s)), default=None)  # noqa: E731
    return start.date(), first(lambda s: s.breeds), first(lambda s: "insert-in" in s.actions)


def waits(row, heifer, days, rules):
    """True if she should wait, or is not for breeding now."""
    first, bred, insert = days
    number = lambda *keys: next((float(row[k]) for k in keys if row.get(k)), None)  # noqa: E731
    if not heifer:
        calved = _day(row.get("last_calving_date"))
        if calved is None:
            return False
        # 50 days as advised (COWS-2015), 45 in a trial (SEXED-CALV); the insert's label, 20 days (CFR-1940).
        least = min(45, int(rules.get("calving_to_breeding_days", 50)))
        label = insert is not None and (insert - calved).days < 20
        return calved > first or (bred - calved).days < least or label
    born = _day(row.get("birth_date"))
    # Puberty from 12 months (VT-302); tract scores of 1 and 2 (RTS-COX, BIF-RTS).
    if born and bred < _months_after(born, 12):
        return True
    if row.get("tract_score") in ("1", "2"):
        return True
    weight, mature = number("weight_lb"), number("mature_weight_lb")
    if row.get("weight_kg"):
        weight = number("weight_kg") * LB_PER_KG
    if row.get("mature_weight_kg"):
        mature = number("mature_weight_kg") * LB_PER_KG
    if mature is None and row.get("frame_score"):
        mature = number("frame_score") * 75 + 800  # NDSU-01
    if weight is None or mature is None:
        return False
    weighed = _day(row.get("weighed_date")) or first
    gain = float(rules.get("heifer_gain_lb_per_day", 0)) * max(0, (bred - weighed).days)
    # 60 % of mature weight at the least (PATT12).
    return (weight + gain) / mature * 100 < min(60, float(rules.get("heifer_mature_weight_percent", 65)))


def planned_pens(raw, rows, group, rules):
    """Head of each pen without the animals that wait."""
    days = _days(group.protocol, group.start)
    words = {str(k).lower(): v for k, v in raw.get("overrule", {}).items()}
    pens = list(group.pens)
    for row in rows:
        word = words.get(row["animal"].lower())
        if not (waits(row, raw["class"] == "heifer", days, rules) if word is None else word == "wait"):
            continue
        own = int(row["pen"]) - 1 if row.get("pen") else None
        if own is None or not 0 <= own < len(pens) or pens[own] < 2:
            own = pens.index(max(pens))
        if pens[own] < 2:
            return group.pens
        pens[own] -= 1
    return pens
