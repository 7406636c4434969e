"""The most animals that can be bred in their hours, by a mixed-integer model of its own.

One yes-or-no for each technician at each session where she cannot be everywhere, and for each
technician at a box in each stretch of slots with more people than boxes. Animals of one pen with
the same slots are one number. Every bred animal takes a straw; an animal that may be bred at
either of two steps takes one straw in all.

A slot does not know that the last cow of one technician may stand in the box that the next one's first
cow needs. So the model is solved twice: as if she did not mind, which no plan beats, and with
nobody's cow in a box in slots in which its technician has none, which a plan reaches at the least.
"""

import math
from collections import Counter
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from crew import clash, stretches
from dates import in_heat_percent


@dataclass
class Cover:
    """Head at set hours that can be covered, at the most."""

    most: int
    # Where boxes change hands, with the box empty as the next one's first cow enters it.
    least: int
    # The most if straws go to the animals bred by detected heat first; below `most` only where
    # both kinds draw on the same short bulls.
    after_heat: int
    # Animals at set hours and by heat together that can have a straw and be bred.
    with_heat: int
    choices: int
    box_choices: int
    short: bool


class Model:
    def __init__(self):
        self.upper, self.rows = [], []

    def var(self, upper):
        self.upper.append(upper)
        return len(self.upper) - 1

    def at_most(self, terms, bound):
        """`terms`: (coefficient, variable) pairs."""
        if terms:
            self.rows.append((terms, bound))

    def solved(self, wanted, seconds):
        """What HiGHS finds in that time."""
        n = len(self.upper)
        cost = np.zeros(n)
        cost[wanted] = -1
        data = [(c, r, v) for r, (terms, _) in enumerate(self.rows) for c, v in terms]
        coefficients, rows, columns = zip(*data)
        matrix = coo_array((coefficients, (rows, columns)), shape=(len(self.rows), n)).tocsr()
        upper = np.array([bound for _, bound in self.rows], dtype=float)
        # Whole numbers all over: a gap below one head is a proof.
        most = max(1, sum(self.upper[v] for v in wanted))
        return milp(
            cost,
            integrality=np.ones(n),
            bounds=Bounds(0, np.array(self.upper, dtype=float)),
            constraints=LinearConstraint(matrix, -np.inf, upper),
            options={"mip_rel_gap": 0.5 / most, "time_limit": seconds},
        )

    def maximize(self, wanted):
        """The largest sum of the wanted variables."""
        if not wanted:
            return 0
        result = self.solved(wanted, 120)
        if result.status != 0:
            raise RuntimeError(f"the model was not solved: {result.message}")
        value = -result.fun
        if abs(value - round(value)) > 1e-5:
            raise RuntimeError(f"{value} is not a whole number")
        return round(value)


def most_covered(season, dues, sessions):
    cover, crossing = _covered(season, dues, sessions, False)
    if crossing:
        cover.least = _covered(season, dues, sessions, True)[0].most
    return cover


def whole_sessions(season, dues, sessions):
    """The model in which nobody minds a box, and its variables of animals bred at set hours."""
    model, bred, *_ = _bred(season, sessions, False)
    _straws(season, dues, bred, model)
    return model, [v for of in bred.values() for v in of]


def _bred(season, sessions, boxes_empty):
    """The model without straws, its variables of each due, whether anybody's cow enters a box in a slot in which
    others may hold it, and how many choices there are of sessions and at boxes."""
    model, crossing = Model(), False
    bred = {}  # variables of each due
    sent = {}
    clashing = [
        (t, i, j)
        for i, j in combinations(range(len(sessions)), 2)
        for t in sorted(sessions[i].able.keys() & sessions[j].able.keys())
        if clash(season, sessions[i], sessions[j], t)
    ]
    for t, i, j in clashing:
        for s in (i, j):
            if (t, s) not in sent:
                sent[t, s] = model.var(1)
        model.at_most([(1, sent[t, i]), (1, sent[t, j])], 1)

    box_choices = 0
    for s, session in enumerate(sessions):
        at_box = {}
        for duty, slots in stretches(season, session):
            box_choices += 1
            people = {t: model.var(1) for t in sorted(duty)}
            model.at_most([(1, v) for v in people.values()], season.sites[session.site].boxes)
            for t, v in people.items():
                if (t, s) in sent:
                    model.at_most([(1, v), (-1, sent[t, s])], 0)
                at_box.update({(t, k): v for k in slots})
        work = {}
        for t, able in session.able.items():
            for k, ticks in able.ticks.items():
                switch = at_box.get((t, k), sent.get((t, s)))
                for boxes, n in _by_boxes(season, able, k, ticks, t, at_box).items():
                    crossing |= bool(boxes)
                    v = model.var(n)
                    if switch is not None:
                        model.at_most([(1, v), (-n, switch)], 0)
                    for box in boxes if boxes_empty else []:
                        model.at_most([(1, v), (-n, box)], 0)
                    work.setdefault(k, []).append(v)
        arriving = {}
        for lot in session.lots:
            mine = []
            for k in range(lot.first, lot.last + 1):
                if k in work:
                    v = model.var(lot.head)
                    mine.append(v)
                    arriving.setdefault(k, []).append(v)
            bred.setdefault(lot.due.id, []).extend(mine)
            model.at_most([(1, v) for v in mine], lot.head)
        for k, animals in arriving.items():
            model.at_most([(1, v) for v in animals] + [(-1, v) for v in work[k]], 0)

    return model, bred, crossing, len(clashing), box_choices


def _covered(season, dues, sessions, boxes_empty):
    """The head, and whether anybody's cow enters a box in a slot in which others may hold it."""
    model, bred, crossing, choices, box_choices = _bred(season, sessions, boxes_empty)
    heat = _straws(season, dues, bred, model)
    timed = [v for of in bred.values() for v in of]
    most = model.maximize(timed)
    with_heat, after_heat = most, most
    all_heat = sum(model.upper[v] for v in heat)
    if heat:
        with_heat = model.maximize(timed + heat)
        after_heat = with_heat - model.maximize(heat)
    wants = sum(sum(g.pens) for g in season.groups)
    cover = Cover(
        most=most,
        least=most,
        after_heat=after_heat,
        with_heat=with_heat,
        choices=choices,
        box_choices=box_choices,
        short=_can_have_straws(season) < wants or with_heat < most + all_heat,
    )
    return cover, crossing


def _by_boxes(season, able, k, ticks, technician, at_box):
    """How many of a slot's cows enter a box in earlier slots for which it must be their technician's."""
    found = Counter()
    for at in ticks:
        enters = math.floor((at - able.rounds.cow) / season.slot)
        earlier = {at_box.get((technician, j)) for j in range(enters, k)}
        found[frozenset(earlier - {None, at_box.get((technician, k))})] += 1
    return found


def heat_head(group, dues):
    """Animals of a group bred as they come in heat, at no set hours."""
    mine = [d.head for d in dues if d.group is group]
    if twice_planned(group):
        return 0
    return max(0, sum(group.pens) - sum(mine))


def twice_planned(group):
    """Nobody says how many are bred at the first of two steps: the whole group is planned for both."""
    return group.protocol.kind == "split-time" and in_heat_percent(group) is None


def _straws(season, dues, bred, model):
    """Straws by bull and group. Gives the variables of animals bred by heat."""
    heat, by_bull = [], {b: [] for b in season.straws}
    for group in season.groups:
        head = sum(group.pens)
        straws = []
        for b in group.bulls:
            v = model.var(min(head, season.straws[b]))
            straws.append(v)
            by_bull[b].append(v)
        mine = [d for d in dues if d.group is group]
        by_step = {}
        for d in mine:
            by_step.setdefault(d.step if twice_planned(group) else "", []).extend(bred.get(d.id, []))
        rest = heat_head(group, dues)
        if rest:
            v = model.var(rest)
            heat.append(v)
            by_step.setdefault("", []).append(v)
        for animals in by_step.values():
            model.at_most([(1, v) for v in animals] + [(-1, v) for v in straws], 0)
    for b, straws in by_bull.items():
        model.at_most([(1, v) for v in straws], season.straws[b])
    return heat


def _can_have_straws(season):
    """Animals of all groups that could have a straw, were there crew for all."""
    model = Model()
    animals = []
    by_bull = {b: [] for b in season.straws}
    for group in season.groups:
        straws = [model.var(sum(group.pens)) for _ in group.bulls]
        for b, v in zip(group.bulls, straws):
            by_bull[b].append(v)
        model.at_most([(1, v) for v in straws], sum(group.pens))
        animals += straws
    for b, straws in by_bull.items():
        model.at_most([(1, v) for v in straws], season.straws[b])
    return model.maximize(animals)
