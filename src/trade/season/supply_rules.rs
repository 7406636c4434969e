//! The rules for what is bought: packages in one unit, doses as published, feed that carries the
//! label's dose.

use std::collections::BTreeSet;

use super::raw;
use super::rules::Rulebook;
use crate::base::error::{Code, Finding};
use crate::base::units::hundredths;
use crate::trade::protocol::dose::{Drug, Form};

/// Volumes of a dose of this class that are published, in millilitres, each once, the least first.
#[must_use]
pub fn published_ml(drug: Drug) -> Vec<f64> {
    let mut all: Vec<f64> = drug
        .labels()
        .filter_map(|l| match l.form {
            Form::Injected(products) => Some((l, products)),
            _ => None,
        })
        .flat_map(|(l, products)| products.iter().map(|p| p.strength.volume(l.dose).0))
        .collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

impl Rulebook<'_> {
    pub(super) fn supplies(&mut self) {
        let Some(s) = &self.raw.supplies else { return };
        for (key, drug, given) in [
            ("gnrh", Drug::Gnrh, &s.gnrh),
            ("pg", Drug::Pg, &s.pg),
            ("estradiol", Drug::Estradiol, &s.estradiol),
        ] {
            if let Some(given) = given {
                self.bottles(&format!("supplies.{key}"), given);
                self.dose_volume(&format!("supplies.{key}.ml_a_dose"), drug, given);
            }
        }
        if let Some(feed) = &s.mga_feed {
            self.feed(feed);
        }
        for (key, packs) in [
            ("inserts", s.inserts.as_ref().map(|c| &c.packages)),
            ("applicators", s.applicators.as_ref().map(|c| &c.packages)),
            ("disinfectant", s.disinfectant.as_ref().map(|c| &c.packages)),
            ("patches", s.patches.as_ref().map(|c| &c.packages)),
            ("needles", s.needles.as_ref().map(|c| &c.packages)),
            ("syringes", s.syringes.as_ref().map(|c| &c.packages)),
            ("sheaths", s.sheaths.as_ref().map(|c| &c.packages)),
            ("gloves", s.gloves.as_ref().map(|c| &c.packages)),
            ("towels", s.towels.as_ref().map(|c| &c.packages)),
        ] {
            let sizes = packs.into_iter().flatten().map(|p| Some(p.count)).collect();
            self.sizes_once(&format!("supplies.{key}"), sizes);
        }
    }

    fn supply_fault(&mut self, field: &str, what: &str, expected: &str, hint: &str) {
        self.fault(Code::SupplyForm, field, what, expected, hint);
    }

    /// Every package in one unit, the first one's.
    fn one_unit(&mut self, field: &str, names: [&str; 2], given: &[[Option<u32>; 2]]) {
        let (a, b) = (names[0], names[1]);
        let one = |sizes: &&[Option<u32>; 2]| sizes.iter().flatten().count() == 1;
        // A package without a size, or with two, says nothing of the unit.
        let first = given.iter().find(one).map(|g| g[0].is_some());
        for (n, sizes) in given.iter().enumerate() {
            let at = format!("{field}.packages[{n}]");
            if sizes.iter().all(Option::is_none) {
                let expected = format!("`{a}` or `{b}`");
                let hint =
                    format!("add `{a}` or `{b}` with how much is in it, or take the package out");
                self.supply_fault(&at, "this package has no size", &expected, &hint);
            } else if !one(&sizes) {
                let what = "this package has two sizes";
                let expected = format!("one of `{a}` and `{b}`");
                self.supply_fault(&at, what, &expected, "leave the other one out");
            } else if first != Some(sizes[0].is_some()) {
                let what = "packages of one thing are counted in two units";
                let expected = format!("all packages in `{a}`, or all in `{b}`");
                let hint = "write this one in the unit of the first";
                self.supply_fault(&at, what, &expected, hint);
            }
        }
        let whole = given.iter().map(|g| g[0].or(g[1]).filter(|_| one(&g)));
        self.sizes_once(field, whole.collect());
    }

    fn sizes_once(&mut self, field: &str, sizes: Vec<Option<u32>>) {
        let mut seen = BTreeSet::new();
        for (n, size) in sizes.into_iter().enumerate() {
            if size.is_some_and(|s| !seen.insert(s)) {
                let field = format!("{field}.packages[{n}]");
                let hint = "keep the one with the price that you pay";
                self.supply_fault(&field, "this size is there twice", "each size once", hint);
            }
        }
    }

    fn bottles(&mut self, field: &str, given: &raw::Injectable) {
        let sizes: Vec<[Option<u32>; 2]> = given.packages.iter().map(|p| [p.ml, p.doses]).collect();
        self.one_unit(field, ["ml", "doses"], &sizes);
        if given.ml_a_dose.is_none() && given.packages.iter().any(|p| p.ml.is_some()) {
            let field = format!("{field}.packages");
            let what = "packages in mL cannot be counted without the mL of a dose";
            let hint = "add `ml_a_dose` as the label of your product has it, or give the packages in `doses`";
            self.supply_fault(&field, what, "`ml_a_dose` beside them", hint);
        }
    }

    /// A volume that no label of the list has is worth a second look.
    fn dose_volume(&mut self, field: &str, drug: Drug, given: &raw::Injectable) {
        let published = published_ml(drug);
        let Some(ml) = given.ml_a_dose else { return };
        if published.is_empty() || published.iter().any(|p| (p - ml).abs() < 0.005) {
            return;
        }
        let all: Vec<String> = published.iter().map(|p| format!("{p}")).collect();
        let drug = drug.words();
        let what =
            format!("{ml} mL is not the volume of a {drug} dose on any label that is listed");
        let finding = Finding::note(Code::DoseUnpublished, what)
            .expected(format!("{} mL, by strength", all.join(", ")))
            .hint("read the label of your product again; what it says holds, and is counted as you give it");
        self.add(field, finding);
    }

    fn feed(&mut self, feed: &raw::Feed) {
        let field = "supplies.mga_feed";
        let sizes: Vec<[Option<u32>; 2]> = feed.packages.iter().map(|p| [p.lb, p.kg]).collect();
        self.one_unit(field, ["lb", "kg"], &sizes);
        let (strengths, daily) = (feed.strengths(), feed.daily());
        if strengths.len() > 1 {
            let what = "the strength of the feed is given more than once";
            let expected = "one of `mg_per_lb`, `mg_per_kg` and `g_per_ton`";
            self.supply_fault(field, what, expected, "keep the one on the feed's label");
        }
        if daily.len() > 1 {
            let what = "what a head gets a day is given in pounds and in kilograms";
            let expected = "one of `lb_a_head` and `kg_a_head`";
            self.supply_fault(field, what, expected, "keep the one that you weigh with");
        }
        self.feed_dose(field, strengths.first().copied(), daily.first().copied());
    }

    /// The label's dose, in the pounds that the label has (CFR-342).
    fn feed_dose(&mut self, field: &str, strength: Option<f64>, daily: Option<f64>) {
        let Some(label) = Drug::Mga.labels().next() else {
            return;
        };
        let Form::Fed { pounds, .. } = label.form else {
            return;
        };
        let dose = f64::from(label.dose.0) / 1000.0;
        let expected = format!(
            "{dose} mg a head a day in {} to {} lb of feed ({})",
            pounds.0, pounds.1, label.source
        );
        let Some(lb) = daily.or(strength.map(|s| dose / s)) else {
            return;
        };
        let mg = strength.map(|s| s * lb);
        // Feed is weighed to a hundredth or so.
        let what = if mg.is_some_and(|mg| (mg / dose - 1.0).abs() > 0.02) {
            format!(
                "this feed gives a head {} mg of MGA a day",
                hundredths(mg.unwrap_or_default())
            )
        } else if !(pounds.0 * 0.98..=pounds.1 * 1.02).contains(&lb) {
            format!("a head would get {} lb of this feed a day", hundredths(lb))
        } else {
            return;
        };
        let hint = "read the feed's label again: strength and daily amount belong together";
        self.fault(Code::FeedStrength, field, what, expected, hint);
    }
}
