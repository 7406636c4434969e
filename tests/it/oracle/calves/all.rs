//! All groups together, and what was noticed.

use std::collections::BTreeMap;

use super::row::Herd;
use super::{Again, Found, HEAD};
use thawline::forecast::{Expected, Forecast, MoneyAnswer, Outcome};
use thawline::plan::Plan;
use thawline::protocol::{Action, Semen};
use thawline::season::Season;

/// One of the numbers that animals come to.
type Pick = fn(&Outcome) -> Expected;

impl Found {
    /// Sums of the groups that are counted; their ends as if all came at once.
    pub(super) fn all(&mut self, read: &[Again<'_>], answer: &Forecast) {
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
        let before: f64 = counted.iter().map(|o| o.pregnant_before_head).sum();
        self.same(
            "all groups, pregnant before",
            before,
            all.pregnant_before_head,
            HEAD,
        );
        let due = f64::from(head) - before;
        let picks: [(&str, f64, Pick); 4] = [
            ("to AI", f64::from(bred), |o| o.ai),
            ("to bulls", due, |o| o.bulls),
            ("pregnant", due, |o| o.pregnant),
            ("open", due, |o| o.open),
        ];
        for (name, of, pick) in picks {
            let sum = |x: fn(&Expected) -> f64| counted.iter().map(|o| x(&pick(o))).sum::<f64>();
            let right = [sum(|e| e.low_head), sum(|e| e.head), sum(|e| e.high_head)];
            let who = format!("all groups, {name}");
            self.spread(&who, of, right, &pick(all));
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
    pub(super) fn findings(&mut self, season: &Season, plan: &Plan, answer: &Forecast) {
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
            let last =
                Herd::of(group, plan, season.zone).map(|h| (bulls.first - h.last).num_days());
            add("C101", last.is_some_and(|gap| (1..10).contains(&gap)));
        }
        let lacks = |m: &MoneyAnswer| !m.missing.is_empty();
        add("C106", answer.money.as_ref().is_some_and(lacks));
        let early = plan.findings.iter().filter(|f| f.code.as_str() == "D116");
        *right.entry("D116").or_default() += early.count();
        right.retain(|_, n| *n > 0);
        let mut told: BTreeMap<&str, usize> = BTreeMap::new();
        for f in &answer.findings {
            *told.entry(f.code.as_str()).or_default() += 1;
        }
        self.exactly("findings", &right, &told);
    }
}
