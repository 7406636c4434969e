//! Volumes by the label doses, and feed by the head and day.

use super::{close, close_if, who};
use crate::oracle::Reading;
use thawline::protocol::dose::{Drug, Form, LABELS, Label, Product, Unit};
use thawline::season::{Kind, PackUnit};
use thawline::supplies::{DayUse, Item};
use thawline::units::{LB_PER_KG, Weight};

/// Milligrams of MGA a head a day, and the pounds of feed that carry them (CFR-342).
const MGA_MG: f64 = 0.5;
const MGA_LB: [f64; 2] = [0.5, 2.0];

fn drug(kind: Kind) -> Option<Drug> {
    match kind {
        Kind::Gnrh => Some(Drug::Gnrh),
        Kind::Pg => Some(Drug::Pg),
        Kind::Estradiol => Some(Drug::Estradiol),
        Kind::Insert => Some(Drug::Insert),
        Kind::Mga => Some(Drug::Mga),
        _ => None,
    }
}

/// `25 mg`.
fn mass(micrograms: u32, unit: Unit) -> String {
    let x = f64::from(micrograms);
    match unit {
        Unit::Microgram => format!("{x} ug"),
        Unit::Milligram => format!("{} mg", x * 0.001),
        Unit::Gram => format!("{} g", x * 0.000_001),
    }
}

fn products(label: &Label) -> &'static [Product] {
    match label.form {
        Form::Injected(products) => products,
        _ => &[],
    }
}

pub(super) fn check(r: &mut Reading<'_>, kind: Kind, item: &Item) {
    let who = who(item);
    let all = item.amount.unwrap_or(0.0);
    let labels: Vec<&Label> = LABELS
        .iter()
        .filter(|l| Some(l.drug) == drug(kind))
        .collect();
    r.same(&who, &labels.len(), &item.labels.len());
    // Published volumes of a dose, each once, the least first.
    let mut published: Vec<f64> = Vec::new();
    for (label, told) in labels.iter().zip(&item.labels) {
        let right = (
            label.substance,
            mass(label.dose.0, label.unit),
            label.source,
        );
        let got = (
            told.substance.as_str(),
            told.dose.clone(),
            told.source.as_str(),
        );
        r.same(&who, &right, &got);
        let products = products(label);
        r.same(&who, &products.len(), &told.strengths.len());
        for (product, s) in products.iter().zip(&told.strengths) {
            let in_each = product.strength.in_each_ml().0;
            let each = f64::from(label.dose.0) / f64::from(in_each);
            if published.iter().all(|p| (p - each).abs() > 1e-12) {
                published.push(each);
            }
            r.same(&who, &mass(in_each, product.unit), &s.in_each_ml);
            r.same(&who, &product.source, &s.source.as_deref());
            close(r, &who, each, s.ml_a_dose);
            close(r, &who, each * all, s.ml);
        }
    }
    published.sort_by(f64::total_cmp);
    let stated = r.season.supplies.stated.get(&kind);
    let own = stated.and_then(|s| s.ml_a_dose);
    r.same(&who, &own, &item.own_ml_a_dose);
    let volumes = own.map_or(published, |ml| vec![ml]);
    for day in &item.days {
        let told: Vec<f64> = day.volumes.iter().map(|v| v.ml_a_dose).collect();
        r.same(&who, &volumes, &told);
        for v in &day.volumes {
            close(r, &who, v.ml_a_dose * day.amount, v.ml);
        }
    }
    feed(r, kind, item);
}

/// What a head gets of MGA feed a day, in the unit of the feed: least and most; and milligrams in
/// each of it, where that is known.
pub(super) fn daily(r: &Reading<'_>) -> (&'static str, [f64; 2], Option<f64>) {
    let stated = r.season.supplies.stated.get(&Kind::Mga);
    let (name, pounds) = match feed_unit(r) {
        PackUnit::Kg => ("kg", LB_PER_KG),
        _ => ("lb", 1.0),
    };
    let told = stated.map(|s| s.feed).unwrap_or_default();
    let (lb, mg) = match (told.lb_a_head, told.mg_per_lb) {
        (Some(lb), Some(mg)) => (lb, mg),
        (Some(lb), None) => (lb, MGA_MG / lb),
        (None, Some(mg)) => (MGA_MG / mg, mg),
        (None, None) => return (name, MGA_LB.map(|x| x / pounds), None),
    };
    (name, [lb / pounds; 2], Some(mg * pounds))
}

/// Feed in packages is weighed as they are; other feed as people choose to read weights, or as the
/// feed itself is stated.
pub(super) fn feed_unit(r: &Reading<'_>) -> PackUnit {
    let stated = r.season.supplies.stated.get(&Kind::Mga);
    let own = stated.map_or(PackUnit::Lb, |s| s.unit);
    match r.season.units.weight {
        Some(weight) if stated.is_none_or(|s| s.packages.is_empty()) => match weight {
            Weight::Lb => PackUnit::Lb,
            Weight::Kg => PackUnit::Kg,
        },
        _ => own,
    }
}

fn feed(r: &mut Reading<'_>, kind: Kind, item: &Item) {
    let who = who(item);
    if kind != Kind::Mga {
        r.same(&who, &None, &item.feed);
        let none = |d: &DayUse| d.feed.is_none() && d.mga_mg.is_none();
        r.same(&who, &true, &item.days.iter().all(none));
        return;
    }
    let (unit, [least, most], strength) = daily(r);
    let Some(f) = &item.feed else {
        r.wrong(&who, "what a head gets of feed", "nothing");
        return;
    };
    r.same(&who, &(unit, "CFR-342"), &(&*f.unit, &*f.source));
    for (right, told) in [
        (MGA_MG, f.mg_a_head),
        (least, f.a_head_least),
        (most, f.a_head_most),
    ] {
        if (right - told).abs() > 1e-9 {
            r.wrong(&who, right, told);
        }
    }
    close_if(r, &who, strength, f.mg_in_each);
    for day in &item.days {
        let [a, b] = [least, most].map(|x| x * day.amount);
        close_if(r, &who, Some(MGA_MG * day.amount), day.mga_mg);
        close_if(r, &who, Some(a), day.feed.map(|f| f.0));
        close_if(r, &who, Some(b), day.feed.map(|f| f.1));
    }
}
