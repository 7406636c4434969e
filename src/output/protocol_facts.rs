//! What is shown of a protocol beside its steps: for which animals and semen it is published,
//! what is published of pregnancy with it, and the label doses of the drugs it uses.

use crate::base::units::{KG_PER_LB, Units, tenths};
use crate::trade::protocol::dose::{Drug, Form, Label, Micrograms, Product};
use crate::trade::protocol::heat::{Heat, Heats};
use crate::trade::protocol::law::{ASK, RULES, Rule, Standing};
use crate::trade::protocol::{Cattle, Pregnant, Protocol, Semen};

/// Cattle in words.
pub(super) fn cattle(protocol: &Protocol) -> String {
    let words = protocol.cattle.iter().map(|c| match c {
        Cattle::Beef => "beef",
        Cattle::BosIndicus => "Bos indicus influenced",
        Cattle::Dairy => "dairy",
    });
    words.collect::<Vec<_>>().join(", ")
}

/// Semen in words.
pub(super) const fn semen(semen: Semen) -> &'static str {
    match semen {
        Semen::Conventional => "conventional",
        Semen::Sexed => "sex-sorted",
    }
}

/// Cattle, semen, and whether it is a research version.
pub(super) fn published_for(protocol: &Protocol) -> String {
    let semens: Vec<&str> = protocol.semen.iter().map(|s| semen(*s)).collect();
    let research = " A research version: tried in trials, on no list of recommended protocols.";
    let research = if protocol.research { research } else { "" };
    let (cattle, semens) = (cattle(protocol), semens.join(", "));
    format!("Cattle: {cattle}. Semen: {semens}.{research}")
}

/// `54 to 56`, or `54` where both are the same.
pub(super) fn span(low: f64, high: f64) -> String {
    if low.total_cmp(&high).is_eq() {
        low.to_string()
    } else {
        format!("{low} to {high}")
    }
}

/// What is published of pregnancy, a line a figure.
pub(super) fn pregnant(protocol: &Protocol) -> Vec<String> {
    let line = |p: &Pregnant| {
        let (percent, semen) = (span(p.low, p.high), semen(p.semen));
        let head = p.head.map_or(String::new(), |h| format!(" of {h} head"));
        let year = p.year.map(|y| y.to_string());
        let known: Vec<&str> = p.place.iter().chain(&year).map(String::as_str).collect();
        let known = known.iter().flat_map(|k| ["; ", k]).collect::<String>();
        format!(
            "{percent} %{head}: {}; {semen} semen{known} ({})",
            p.of, p.tag
        )
    };
    if protocol.pregnant.is_empty() {
        return vec!["no published figure".to_owned()];
    }
    let pooled = [Semen::Conventional, Semen::Sexed].into_iter().filter_map(|sort| {
        let rate = protocol.rate(sort)?;
        let (low, mean, high) = (rate.low, rate.mean, rate.high);
        let semen = semen(sort);
        Some(format!(
            "together, {semen} semen: {mean:.0} %, and {low:.0} to {high:.0} % from herd to herd (random effects on the logit scale)"
        ))
    });
    protocol.pregnant.iter().map(line).chain(pooled).collect()
}

/// When heat comes in a watch, a line a watch.
pub(super) fn heats(protocol: &Protocol) -> Vec<String> {
    let watches = protocol.steps.iter().filter_map(|step| {
            let heat = step.heat.as_ref()?;
            let line = match &heat.heats {
                Heats::Cycling { days, .. } => {
                    format!("`{}`: each animal once in {days} days", step.id)
                }
                Heats::After { step: from, .. } => {
                    let spread = heat.spread()?;
                    let (step, shows) = (&step.id, shows(heat));
                let [mean, sd] = [spread.mean, spread.sd].map(tenths);
                format!(
                    "`{step}`: {mean} h after `{from}` on average, one standard deviation {sd} h, in {shows} % of the group"
                )
                }
            };
            let borrowed = heat.borrowed.as_ref();
            let borrowed = borrowed.map_or(String::new(), |b| format!(". Borrowed: {b}"));
            Some(format!("{line} ({}){borrowed}", heat.sources()))
        });
    watches.collect()
}

/// Percent of a group that show heat: `88.5, 85 to 92`.
pub(super) fn shows(heat: &Heat) -> String {
    match &heat.heats {
        Heats::Cycling { .. } => String::new(),
        Heats::After { shows, .. } if shows.low < shows.high => {
            format!("{} ({} to {})", shows.expected, shows.low, shows.high)
        }
        Heats::After { shows, .. } => shows.expected.to_string(),
    }
}

/// The label doses of the drugs that a protocol uses, a line a dose.
pub(super) fn doses(protocol: &Protocol, units: Units) -> Vec<String> {
    let mut lines = Vec::new();
    for (drug, times) in Drug::used_by(protocol) {
        let before = lines.len();
        lines.extend(drug.labels().map(|l| dose(l, units)));
        if lines.len() == before {
            lines.push(format!(
                "{}: no label dose is listed; a dose in the steps is its source's own",
                drug.words()
            ));
        }
        if times > 1 {
            lines.push(format!(
                "{}, double dose: {times} of these at once. No label that was read has that: it is the protocol's own",
                drug.words()
            ));
        }
    }
    lines
}

/// What law and labels say of its drugs, a line a country and drug.
pub(super) fn law(protocol: &Protocol) -> Vec<String> {
    let rules = RULES.iter().filter(|r| r.is_of(protocol, protocol.class));
    rules
        .map(Rule::words)
        .chain([format!("other countries: {ASK}")])
        .collect()
}

/// Countries in which it is not permitted.
pub(super) fn refused_in(protocol: &Protocol) -> Vec<&'static str> {
    let rules = RULES.iter().filter(|r| r.is_of(protocol, protocol.class));
    let refused = rules.filter(|r| r.standing == Standing::NotPermitted);
    refused.map(|r| r.country).collect()
}

fn dose(label: &Label, units: Units) -> String {
    let once = label.unit.words(label.dose);
    let what = format!("{}, {}", label.drug.words(), label.substance);
    match label.form {
        Form::Injected(products) => {
            let volumes: Vec<String> = products.iter().map(|p| volume(p, label.dose)).collect();
            let (source, volumes) = (label.source, volumes.join(", or "));
            format!("{what}: {once} ({source}) is {volumes}")
        }
        Form::Insert => format!("{what}: {once}, one insert, used once ({})", label.source),
        Form::Fed { pounds, most_days } => {
            let ((least, unit), (most, _)) = (units.pounds(pounds.0), units.pounds(pounds.1));
            let (each, one) = if unit == "kg" {
                (KG_PER_LB, "kilogram")
            } else {
                (1.0, "pound")
            };
            format!(
                "{what}: {once} a head a day in {least} to {most} {unit} of feed, which is {} to {} in a {one}, \
                 for at most {most_days} days ({})",
                label.unit.words(label.in_each_pound(pounds.0 * each)),
                label.unit.words(label.in_each_pound(pounds.1 * each)),
                label.source
            )
        }
    }
}

fn volume(product: &Product, dose: Micrograms) -> String {
    let ml = product.strength.volume(dose).0;
    let strength = product.unit.words(product.strength.in_each_ml());
    let route = product.route.map_or(String::new(), |r| format!(" {r}"));
    let source = product.source;
    let source = source.unwrap_or("strength not checked against a label");
    format!("{ml} mL at {strength}/mL{route} ({source})")
}
