//! A forecast, read again by plain sums from the season and its plan: `row` follows animals day by
//! day in rows of numbers, `law` has the laws of chance by series, `rates` the percentages, `curve` the
//! calves by day, `money` the costs and `natural` bulls alone and the budget. Of the forecast's
//! maker only the types are known here, and of `tank` which straws a group's sessions take.

mod curve;
mod law;
mod money;
mod natural;
mod rates;
mod row;

use std::collections::BTreeMap;
use std::fmt::{Debug, Display};

use chrono::{NaiveDate, TimeDelta};

use crate::calves::{AiDay, Answer, Expected, FORMAT, GroupCalves, MoneyAnswer, Outcome};
use crate::error::{Code, Finding};
use crate::plan::Plan;
use crate::protocol::{Action, Semen};
use crate::season::{Group, Season};
use crate::units::Percent;
use curve::{Born, Carried, first_parts};
use rates::Known;
use row::{Herd, Rows};

/// Head are told to the ten-thousandth.
const HEAD: f64 = 1e-4;

/// So are percentages.
const PERCENT: f64 = 1e-4;

/// Days after AI of the watch for return heat, and the mean between (TIMED-2010, ANDERSON-RESYNC).
const WATCH: [i64; 3] = [18, 21, 24];

/// Everything in which a forecast disagrees with the season and its plan; empty for a sound one.
#[must_use]
pub fn calves(season: &Season, plan: &Plan, answer: &Answer) -> Vec<Finding> {
    let mut found = Found(Vec::new());
    found.head(season, answer);
    let sexed = rates::sexed_shares(season, plan);
    let mut read = Vec::new();
    let ids: Vec<&str> = plan.groups.iter().map(|g| g.id.as_str()).collect();
    let told: Vec<&str> = answer.groups.iter().map(|g| g.group.as_str()).collect();
    found.exactly("groups", &ids, &told);
    for (told, sexed) in answer.groups.iter().zip(sexed) {
        let id = told.group.as_str();
        let Some(group) = season.groups.iter().find(|g| g.id.as_str() == id) else {
            continue;
        };
        let group = Again::of(group, plan, sexed);
        found.group(&group, plan, told);
        read.extend(group.herd.is_some().then_some(group));
    }
    found.all(&read, answer);
    let mut born = Born::default();
    for group in &read {
        born.add(&group.born(1));
    }
    found.calving("all groups", &born, answer.calving.as_ref());
    let each: Vec<Born> = read.iter().map(|g| g.born(1)).collect();
    found.parts("all groups", first_parts(each.iter()), answer.first_21_days);
    found.money(season, plan, &read, answer);
    found.findings(season, plan, answer);
    found.0
}

struct Found(Vec<Finding>);

/// One of the numbers that animals come to.
type Pick = fn(&Outcome) -> Expected;

/// A group counted again.
struct Again<'a> {
    group: &'a Group,
    /// None where nobody knows on which days it is bred.
    herd: Option<Herd>,
    sexed: f64,
    ai: Known,
    settled: Known,
    carried: [Carried; 2],
    /// Share of pregnancies that end in a calf.
    kept: f64,
}

impl<'a> Again<'a> {
    fn of(group: &'a Group, plan: &Plan, sexed: f64) -> Self {
        let c = &group.calves;
        let bulls = c.clean_up.as_ref();
        let of_bulls = bulls.map_or(&c.gestation, |b| &b.gestation);
        Self {
            group,
            herd: Herd::of(group, plan),
            sexed,
            ai: rates::to_ai(group, sexed),
            settled: rates::settled(bulls.and_then(|b| b.settled.as_ref())),
            carried: [rates::carried(&c.gestation), rates::carried(of_bulls)],
            kept: 1.0 - c.lost.map_or(0.0, |p| p.get() / 100.0),
        }
    }

    /// At low, expected or high (0, 1, 2) of the percentages to AI and to bulls.
    fn rows(&self, ai: usize, settled: usize) -> Rows {
        let at = (self.ai.of_one()[ai], self.settled.of_one()[settled]);
        let herd = self.herd.as_ref();
        herd.map_or_else(Rows::default, |h| h.rows(at.0, at.1))
    }

    /// Calves at low, expected or high percent pregnant to AI.
    fn born(&self, ai: usize) -> Born {
        let rows = self.rows(ai, 1);
        let herd = self.herd.as_ref();
        herd.map_or_else(Born::default, |h| {
            Born::of(h, &rows, self.carried, self.kept)
        })
    }
}

impl Found {
    fn wrong(&mut self, who: &str, expected: impl Display, got: impl Display) {
        self.0.push(
            Finding::error(Code::Verify, format!("{who}: the forecast has {got}"))
                .expected(expected.to_string())
                .hint("please report this with the season file"),
        );
    }

    fn same(&mut self, who: &str, expected: f64, got: f64, within: f64) {
        // A value that is no number is wrong, too; large sums carry their own rounding.
        let near = (expected - got).abs() <= within + 1e-9 * expected.abs().max(1.0);
        if !near {
            self.wrong(who, expected, got);
        }
    }

    fn exactly<T: PartialEq + Debug>(&mut self, who: &str, expected: &T, got: &T) {
        if expected != got {
            self.wrong(who, format!("{expected:?}"), format!("{got:?}"));
        }
    }

    fn head(&mut self, season: &Season, answer: &Answer) {
        let right = [
            FORMAT,
            env!("CARGO_PKG_VERSION"),
            &season.name,
            season.zone.name(),
        ];
        let told = [
            &*answer.format,
            &*answer.program,
            &*answer.season,
            &*answer.zone,
        ];
        self.exactly("the forecast's head", &right, &told);
    }

    fn group(&mut self, again: &Again<'_>, plan: &Plan, told: &GroupCalves) {
        let (who, group) = (told.group.as_str(), again.group);
        let right = (group.name.as_str(), group.protocol.id.as_str());
        self.exactly(who, &right, &(told.name.as_str(), told.protocol.as_str()));
        self.exactly(who, &again.herd.is_some(), &told.counted);
        self.exactly(who, &ai_days(plan, who), &told.ai_days);
        self.rate(&format!("{who}, to AI"), &again.ai, &told.ai_rate);
        let percent = format!("{who}, percent sexed");
        self.same(&percent, 100.0 * again.sexed, told.sexed_percent, PERCENT);
        let c = &group.calves;
        self.exactly(who, &c.lost.map(Percent::get), &told.lost_percent);
        self.gestation(who, &c.gestation, &told.gestation);
        if let Some(theirs) = &told.bulls_gestation {
            let own = c.clean_up.as_ref().map_or(&c.gestation, |b| &b.gestation);
            self.gestation(&format!("{who}, bulls"), own, theirs);
        }
        let own = c.clean_up.as_ref().map(|b| b.gestation);
        let other = own.is_some_and(|g| g != c.gestation);
        // Breeds may have the same figures.
        if other && again.carried[0] != again.carried[1] && told.bulls_gestation.is_none() {
            self.wrong(who, "a gestation of the bulls' calves", "none");
        }
        if own.is_none() && told.bulls_gestation.is_some() {
            self.wrong(who, "no gestation of bulls' calves", "one");
        }
        let Some(herd) = &again.herd else {
            self.uncounted(group, told);
            return;
        };
        self.outcome(again, herd, &told.outcome, who);
        self.returns(again, herd, told);
        self.clean_up(again, herd, told);
        self.calving(who, &again.born(1), told.calving.as_ref());
    }

    /// Nothing of it is told but its head.
    fn uncounted(&mut self, group: &Group, told: &GroupCalves) {
        let nothing = Outcome {
            head: group.head().0,
            ..Outcome::default()
        };
        self.exactly(&told.group, &nothing, &told.outcome);
        let none = told.returns.is_none() && told.clean_up.is_none() && told.calving.is_none();
        self.exactly(&told.group, &true, &none);
    }

    fn outcome(&mut self, again: &Again<'_>, herd: &Herd, told: &Outcome, who: &str) {
        let bred = herd.bred_head();
        let count = |a: usize, s: usize| {
            let rows = again.rows(a, s);
            let (ai, bulls) = (rows.to_ai(), rows.to_bulls());
            [ai, bulls, ai + bulls, herd.head - ai - bulls]
        };
        let mean = count(1, 1);
        let ends = [count(0, 0), count(0, 2), count(2, 0), count(2, 2)];
        let told_of = [told.ai, told.bulls, told.pregnant, told.open];
        let names = ["to AI", "to bulls", "pregnant", "open"];
        for (n, (name, got)) in names.into_iter().zip(told_of).enumerate() {
            let of = if n == 0 { bred } else { herd.head };
            let all = || ends.iter().map(|e| e[n]).chain([mean[n]]);
            let low = all().fold(f64::INFINITY, f64::min);
            let high = all().fold(f64::NEG_INFINITY, f64::max);
            self.spread(&format!("{who}, {name}"), of, [low, mean[n], high], &got);
        }
        self.exactly(
            who,
            &(herd.head as u32, bred.round() as u32),
            &(told.head, told.bred_head),
        );
        let kept = [mean[0] * again.kept, mean[1] * again.kept];
        let calves = format!("{who}, calves");
        self.same(&calves, kept[0], told.ai_calves_head, HEAD);
        self.same(&calves, kept[1], told.bull_calves_head, HEAD);
    }

    /// An expected number, its ends, and what chance leaves at them.
    fn spread(&mut self, who: &str, of: f64, right: [f64; 3], told: &Expected) {
        let got = [told.low_head, told.head, told.high_head];
        for (right, got) in right.into_iter().zip(got) {
            self.same(who, right, got, HEAD);
        }
        let chance = |x: f64| if of > 0.0 { x / of } else { 0.0 };
        let chances = [chance(right[0]), chance(right[2])];
        let (least, most) = (told.least_head, told.most_head);
        if !law::ends(of.round() as u32, chances, least, most) {
            let wanted = format!("5 and 95 percent ends at {chances:?} of {of}");
            self.wrong(who, wanted, format!("{least} to {most}"));
        }
    }

    fn returns(&mut self, again: &Again<'_>, herd: &Herd, told: &GroupCalves) {
        let who = format!("{}, back in heat", told.group);
        let head = herd.bred_head() * (1.0 - again.ai.of_one()[1]);
        let days = || herd.bred.iter().map(|d| d.0);
        let (Some(first), Some(last)) = (days().min(), days().max()) else {
            self.exactly(&who, &None, &told.returns);
            return;
        };
        let Some(r) = told.returns else {
            self.same(&who, head, 0.0, 1e-12);
            return;
        };
        self.same(&who, head, r.head, HEAD);
        let after = |d: NaiveDate, n: i64| d + TimeDelta::days(n);
        let right = (after(first, WATCH[0]), after(last, WATCH[2]));
        self.exactly(&who, &right, &(r.from, r.to));
        let mean = (herd.from - first).num_days() as f64 + herd.mean_bred();
        let got = (r.mean - after(first, WATCH[1])).num_days() as f64;
        self.same(&who, mean, got, 0.5);
    }

    fn clean_up(&mut self, again: &Again<'_>, herd: &Herd, told: &GroupCalves) {
        let who = format!("{}, clean-up bulls", told.group);
        let (Some(b), Some(c)) = (&again.group.calves.clean_up, &told.clean_up) else {
            let both = (
                again.group.calves.clean_up.is_some(),
                told.clean_up.is_some(),
            );
            self.exactly(&who, &both.0, &both.1);
            return;
        };
        let stay = (b.last - b.first).num_days() + 1;
        self.exactly(
            &who,
            &(b.first, b.last, stay, b.head.0),
            &(c.turned_in, c.taken_out, c.days, c.bulls_head),
        );
        let each = herd.head / f64::from(b.head.0.max(1));
        self.same(&who, each, c.head_a_bull, HEAD);
        self.rate(&who, &again.settled, &c.settled);
        let met = again.rows(1, 1).met;
        // A heat of nobody may be told or not.
        let rest = c.heats.iter().skip(met.len());
        let rest: f64 = rest.map(|h| h.in_heat_head + h.settled_head).sum();
        let left: f64 = met.iter().skip(c.heats.len()).map(|m| m.in_heat).sum();
        self.same(&format!("{who}, other heats"), left, rest, HEAD);
        for (n, (right, heat)) in met.iter().zip(&c.heats).enumerate() {
            let who = format!("{who}, heat {}", n + 1);
            self.same(&who, right.in_heat, heat.in_heat_head, HEAD);
            self.same(&who, right.settled, heat.settled_head, HEAD);
            let mean = (heat.mean - b.first).num_days() as f64;
            self.same(&who, right.days / right.in_heat, mean, 0.5 + 1e-6);
        }
    }

    /// Sums of the groups that are counted; their ends as if all came at once.
    fn all(&mut self, read: &[Again<'_>], answer: &Answer) {
        let counted: Vec<&Outcome> = answer
            .groups
            .iter()
            .filter(|g| g.counted)
            .map(|g| &g.outcome)
            .collect();
        let (head, bred): (u32, u32) = counted
            .iter()
            .fold((0, 0), |(h, b), o| (h + o.head, b + o.bred_head));
        let all = &answer.all;
        self.exactly("all groups", &(head, bred), &(all.head, all.bred_head));
        self.exactly("all groups, counted", &read.len(), &counted.len());
        let picks: [(&str, u32, Pick); 4] = [
            ("to AI", bred, |o| o.ai),
            ("to bulls", head, |o| o.bulls),
            ("pregnant", head, |o| o.pregnant),
            ("open", head, |o| o.open),
        ];
        for (name, of, pick) in picks {
            let sum = |x: fn(&Expected) -> f64| counted.iter().map(|o| x(&pick(o))).sum::<f64>();
            let right = [sum(|e| e.low_head), sum(|e| e.head), sum(|e| e.high_head)];
            let who = format!("all groups, {name}");
            self.spread(&who, f64::from(of), right, &pick(all));
        }
        let calves = |x: fn(&Outcome) -> f64| counted.iter().map(|o| x(o)).sum::<f64>();
        let (ai, bulls) = (calves(|o| o.ai_calves_head), calves(|o| o.bull_calves_head));
        self.same("all groups, calves of AI", ai, all.ai_calves_head, HEAD);
        self.same(
            "all groups, calves of bulls",
            bulls,
            all.bull_calves_head,
            HEAD,
        );
    }

    /// As many findings of each code as there are reasons for them.
    fn findings(&mut self, season: &Season, plan: &Plan, answer: &Answer) {
        let mut right: BTreeMap<&str, usize> = BTreeMap::new();
        let mut add = |code: &'static str, reason: bool| {
            *right.entry(code).or_default() += usize::from(reason);
        };
        for told in &answer.groups {
            let id = told.group.as_str();
            let Some(group) = season.groups.iter().find(|g| g.id.as_str() == id) else {
                continue;
            };
            let published = |sort: Semen| group.protocol.pregnant.iter().any(|p| p.semen == sort);
            let (own, sexed) = (group.calves.pregnant.is_some(), told.sexed_percent);
            add(
                "C103",
                !own && sexed < 100.0 && !published(Semen::Conventional),
            );
            add("C103", !own && sexed > 0.0 && !published(Semen::Sexed));
            let breeds = |a: &Action| matches!(a, Action::Inseminate | Action::InseminateInHeat);
            let watched = group
                .protocol
                .steps
                .iter()
                .any(|s| s.lasts_days.is_some() && s.actions.iter().any(breeds));
            let planned = plan.groups.iter().find(|g| g.id == id);
            let open = watched && planned.is_some_and(|g| g.heat.is_none());
            add("C104", !told.counted || open);
            if !told.counted {
                continue;
            }
            let Some(bulls) = &group.calves.clean_up else {
                let wished = group.wishes.as_ref().and_then(|w| w.bulls_in);
                add("C105", wished.is_some());
                continue;
            };
            // A bull for 50 head, and ten days after AI (ANDERSON).
            add("C102", group.head().0 > 50 * bulls.head.0);
            let last = Herd::of(group, plan).map(|h| (bulls.first - h.last).num_days());
            add("C101", last.is_some_and(|gap| (1..10).contains(&gap)));
        }
        let lacks = |m: &MoneyAnswer| !m.missing.is_empty();
        add("C106", answer.money.as_ref().is_some_and(lacks));
        let early = plan.findings.iter().filter(|f| f.code == "D116");
        *right.entry("D116").or_default() += early.count();
        right.retain(|_, n| *n > 0);
        let mut told: BTreeMap<&str, usize> = BTreeMap::new();
        for f in &answer.findings {
            *told.entry(&f.code).or_default() += 1;
        }
        self.exactly("findings", &right, &told);
    }
}

/// Head bred by local day.
fn ai_days(plan: &Plan, group: &str) -> Vec<AiDay> {
    let slots = plan.sessions.iter().flat_map(|s| &s.slots);
    let mut days: Vec<(NaiveDate, u32)> = slots
        .filter(|s| s.group == group)
        .map(|s| (s.start.date_naive(), s.head))
        .collect();
    days.sort_by_key(|d| d.0);
    let mut all: Vec<AiDay> = Vec::new();
    for (date, head) in days {
        match all.last_mut() {
            Some(last) if last.date == date => last.head += head,
            _ => all.push(AiDay { date, head }),
        }
    }
    all
}
