//! One group: its percentages, what its animals come to with the ends of that, returns and bulls.

use chrono::{NaiveDate, TimeDelta};

use super::row::Herd;
use super::{Again, Found, HEAD, PERCENT, law};
use crate::oracle::moments;
use thawline::forecast::{AiDay, Expected, GroupCalves, Outcome};
use thawline::plan::Plan;
use thawline::season::Group;
use thawline::time::Zone;

/// Days after AI of the watch for return heat, and the mean between (TIMED-2010, ANDERSON-RESYNC).
const WATCH: [i64; 3] = [18, 21, 24];

impl Found {
    pub(super) fn group(&mut self, again: &Again<'_>, plan: &Plan, zone: Zone, told: &GroupCalves) {
        let (who, group) = (told.group.as_str(), again.group);
        let right = (group.name.as_str(), group.protocol.id.as_str());
        self.exactly(who, &right, &(told.name.as_str(), told.protocol.as_str()));
        self.exactly(who, &again.herd.is_some(), &told.counted);
        self.exactly(who, &ai_days(plan, zone, who), &told.ai_days);
        self.rate(&format!("{who}, to AI"), &again.ai, &told.ai_rate);
        let percent = format!("{who}, percent sexed");
        self.same(&percent, 100.0 * again.sexed, told.sexed_percent, PERCENT);
        let c = &group.calves;
        self.rate(&format!("{who}, lost"), &again.lost, &told.lost);
        self.rate(
            &format!("{who}, not cycling"),
            &again.not_cycling,
            &told.not_cycling,
        );
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
        let head = herd.head - herd.before;
        let count = |[a, s, n]: [usize; 3]| {
            let rows = again.rows(a, s, n);
            let (ai, bulls) = (rows.to_ai(), rows.to_bulls());
            [ai, bulls, ai + bulls, head - ai - bulls]
        };
        let mean = count([1; 3]);
        let ends = [0, 1, 2, 3, 4, 5, 6, 7].map(|n| count([n & 2, n << 1 & 2, n >> 1 & 2]));
        self.same(
            &format!("{who}, pregnant before"),
            herd.before,
            told.pregnant_before_head,
            HEAD,
        );
        let told_of = [told.ai, told.bulls, told.pregnant, told.open];
        let names = ["to AI", "to bulls", "pregnant", "open"];
        for (n, (name, got)) in names.into_iter().zip(told_of).enumerate() {
            let of = if n == 0 { bred } else { head };
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
    pub(super) fn spread(&mut self, who: &str, of: f64, right: [f64; 3], told: &Expected) {
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
        let head = herd.back(again.ai.of_one()[1], again.not_cycling.of_one()[1]);
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
        let met = again.rows(1, 1, 1).met;
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
}

/// Head bred by local day.
fn ai_days(plan: &Plan, zone: Zone, group: &str) -> Vec<AiDay> {
    let slots = plan.sessions.iter().flat_map(|s| &s.slots);
    let mut days: Vec<(NaiveDate, u32)> = slots
        .filter(|s| s.group == group)
        .flat_map(moments)
        .map(|at| (zone.date(at), 1))
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
