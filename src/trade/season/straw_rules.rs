//! The rules for straws: their size, and what stands on a cane and in a canister.

use std::collections::{BTreeMap, BTreeSet};

use super::raw;
use super::rules::Rulebook;
use crate::base::error::{Code, Finding, Severity, quoted};
use crate::base::units::same_id;

/// Half-millilitre straws in a goblet, and on a cane of two: common practice, no source for the
/// goblet; ten on a cane (NAL). Quarter-millilitre straws are packed in other numbers (COWSMO: 20
/// to a container), so they are not held against this.
const GOBLET: u32 = 5;
const CANE: u32 = 10;

/// Canes in a small canister (NAL).
const CANISTER: u32 = 9;

/// Tank, canister and code of a cane.
type At<'a> = (Option<&'a str>, Option<u32>, &'a str);

fn cane(s: &raw::Semen) -> Option<At<'_>> {
    Some((s.tank.as_deref(), s.canister, s.cane.as_deref()?))
}

const fn is_half(s: &raw::Semen) -> bool {
    match s.straw_ml {
        Some(ml) => ml > 0.4,
        None => true,
    }
}

impl Rulebook<'_> {
    pub(super) fn straws(&mut self) {
        self.semen_given();
        self.bull_in_two_writings();
        self.straw_sizes();
        self.one_bull_a_cane();
        self.cane_in_one_place();
        self.straws_of_a_cane();
        self.straws_of_a_goblet();
        self.canister_known();
        self.canes_of_a_canister();
        self.straws_of_a_tank();
    }

    /// A season that lists its tanks asks to be held to its canes; others are told, no more.
    fn cane_finding(&self, code: Code, what: String) -> Finding {
        Finding {
            severity: if self.raw.tanks.is_empty() {
                Severity::Note
            } else {
                Severity::Warning
            },
            ..Finding::note(code, what)
        }
    }

    fn semen_given(&mut self) {
        if self.raw.semen.is_empty() && self.raw.semen_file.is_none() {
            let what = "the key `semen` is missing here";
            let expected = "`semen` with an entry for each bull, or `semen_file`";
            let hint = "list the straws on hand, such as `semen: [{bull: Ash 1, straws: 40}]`";
            self.fault(Code::MissingKey, "", what, expected, hint);
        }
    }

    /// A herd file and a scores file name a bull in any writing, so two bulls must differ by more.
    fn bull_in_two_writings(&mut self) {
        let mut writings: BTreeMap<String, &str> = BTreeMap::new();
        let mut said = BTreeSet::new();
        for (n, s) in self.raw.semen.iter().enumerate() {
            let first = writings.entry(same_id(&s.bull)).or_insert(&s.bull);
            if *first != s.bull && said.insert(&s.bull) {
                let field = format!("semen[{n}].bull");
                let (bull, first) = (quoted(&s.bull), quoted(first));
                let what = format!("the bull {bull} is written {first} before");
                let expected = "each bull written one way; upper and lower case count as the same";
                let hint = "write him as before, or give another bull another id";
                self.fault(Code::IdTwice, &field, what, expected, hint);
            }
        }
    }

    fn straw_sizes(&mut self) {
        let mut sizes = BTreeMap::new();
        for (n, s) in self.raw.semen.iter().enumerate() {
            if let Some(ml) = s.straw_ml
                && (ml - 0.5).abs() > 1e-9
                && (ml - 0.25).abs() > 1e-9
            {
                let field = format!("semen[{n}].straw_ml");
                let what = format!("there is no straw of {ml} mL");
                let hint = "read the size off the straw or the invoice";
                self.fault(Code::OutOfRange, &field, what, "0.5 or 0.25", hint);
            }
            let size = (s.straw_ml.unwrap_or(0.5) * 100.0) as i64;
            let first = sizes
                .entry((&s.bull, &s.tank, s.canister, &s.cane))
                .or_insert(size);
            if *first != size {
                let field = format!("semen[{n}].straw_ml");
                let what = format!("{} has straws of two sizes in one place", quoted(&s.bull));
                let expected = "one size for each bull and place";
                let hint = "give them canes of their own: guns and thaw times differ by size";
                self.fault(Code::StrawSizeMixed, &field, what, expected, hint);
            }
        }
    }

    /// One bull a cane (common practice, no source).
    fn one_bull_a_cane(&mut self) {
        let mut bulls = BTreeMap::new();
        for (n, s) in self.raw.semen.iter().enumerate() {
            let Some(at) = cane(s) else { continue };
            let first: &mut &str = bulls.entry(at).or_insert(&s.bull);
            if *first != s.bull {
                let (at, first, bull) = (quoted(at.2), quoted(first), quoted(&s.bull));
                let finding = self.cane_finding(
                    Code::CaneOfTwoBulls,
                    format!("the cane {at} holds straws of {first} and of {bull}"),
                );
                self.add(
                    &format!("semen[{n}].bull"),
                    finding
                        .expected("one bull a cane (common practice, no source)")
                        .hint("give each bull canes of his own, or correct the code"),
                );
            }
        }
    }

    fn cane_in_one_place(&mut self) {
        let mut places: BTreeMap<&str, At<'_>> = BTreeMap::new();
        for (n, s) in self.raw.semen.iter().enumerate() {
            let Some(at) = cane(s) else { continue };
            let first = places.entry(at.2).or_insert(at);
            if *first != at {
                let (before, now) = (place_words(*first), place_words(at));
                let finding = self.cane_finding(
                    Code::CaneTwice,
                    format!("the cane {} stands {before}, and {now}", quoted(at.2)),
                );
                self.add(
                    &format!("semen[{n}].cane"),
                    finding
                        .expected("each cane code in one place")
                        .hint("find out which is right; two canes need two codes"),
                );
            }
        }
    }

    fn straws_of_a_cane(&mut self) {
        let raw = self.raw;
        for (n, (_, _, code), sum) in over(&raw.semen, CANE, |s| cane(s).filter(|_| is_half(s))) {
            let what = format!("the cane {} holds {sum} straws of 0.5 mL", quoted(code));
            let finding = Finding::note(Code::CaneFull, what)
                .expected(format!("at most {CANE}: two goblets of {GOBLET} (NAL)"))
                .hint("give each cane a line and a code of its own, so that it can be found");
            self.add(&format!("semen[{n}].straws"), finding);
        }
    }

    fn straws_of_a_goblet(&mut self) {
        let raw = self.raw;
        let goblet = |s| Some((cane(s).filter(|_| is_half(s))?, s.goblet?));
        for (n, ((_, _, code), goblet), sum) in over(&raw.semen, GOBLET, goblet) {
            let (goblet, code) = (goblet.as_str(), quoted(code));
            let what =
                format!("the {goblet} goblet of the cane {code} holds {sum} straws of 0.5 mL");
            let finding = Finding::note(Code::GobletFull, what)
                .expected(format!("at most {GOBLET} (common practice, no source)"))
                .hint("count again; or is it the other goblet?");
            self.add(&format!("semen[{n}].goblet"), finding);
        }
    }

    /// The tank is one of those listed, and has the canister.
    fn canister_known(&mut self) {
        let raw = self.raw;
        if raw.tanks.is_empty() {
            return;
        }
        let ids: BTreeSet<&str> = raw.tanks.iter().map(|t| t.id.as_str()).collect();
        for (n, s) in raw.semen.iter().enumerate() {
            let Some(named) = &s.tank else { continue };
            self.refer(&format!("semen[{n}].tank"), "tank", named, &ids);
            let tank = raw.tanks.iter().find(|t| t.id == *named);
            if let (Some(tank), Some(canister)) = (tank, s.canister)
                && canister > tank.canisters
            {
                let field = format!("semen[{n}].canister");
                let what = format!("the tank {} has no canister {canister}", quoted(named));
                let expected = format!("a canister from 1 to {}", tank.canisters);
                let hint = "correct the number, or `canisters` of the tank";
                self.fault(Code::CanisterUnknown, &field, what, expected, hint);
            }
        }
    }

    fn canes_of_a_canister(&mut self) {
        let raw = self.raw;
        let mut canes: BTreeMap<(&str, u32), BTreeSet<&str>> = BTreeMap::new();
        for (n, s) in raw.semen.iter().enumerate() {
            let (Some(tank), Some(canister), Some(code)) = (&s.tank, s.canister, &s.cane) else {
                continue;
            };
            let tanks = raw.tanks.iter().find(|t| t.id == *tank);
            let stated = tanks.and_then(|t| t.canes_a_canister);
            let most = stated.unwrap_or(CANISTER) as usize;
            let inside = canes.entry((tank, canister)).or_default();
            // Said once, of the first that is too many.
            if inside.insert(code) && inside.len() == most + 1 {
                let tank = quoted(tank);
                let what =
                    format!("canister {canister} of the tank {tank} holds more than {most} canes");
                let (finding, expected) = if stated.is_some() {
                    let finding = Finding::warning(Code::CanisterFull, what);
                    (finding, format!("at most {most}, as stated for the tank"))
                } else {
                    let finding = Finding::note(Code::CanisterFull, what);
                    let about = format!("about {most} in a small canister (NAL)");
                    (finding, about)
                };
                self.add(
                    &format!("semen[{n}].cane"),
                    finding
                        .expected(expected)
                        .hint("a larger canister holds more: say how many under `tanks` as `canes_a_canister`"),
                );
            }
        }
    }

    /// The list adds up to the count, where there is one.
    fn straws_of_a_tank(&mut self) {
        let raw = self.raw;
        for (n, tank) in raw.tanks.iter().enumerate() {
            let Some(count) = tank.straws else { continue };
            let semen = raw.semen.iter();
            let inside = semen.filter(|s| s.tank.as_deref() == Some(&tank.id));
            let sum: u64 = inside.map(|s| u64::from(s.straws)).sum();
            if sum != u64::from(count) {
                let what = format!(
                    "the tank {} holds {count} straws by your count, and {sum} by the list",
                    quoted(&tank.id)
                );
                let finding = Finding::warning(Code::TankTotal, what)
                    .expected("the same number")
                    .hint("count once more, and correct the one that is wrong");
                self.add(&format!("tanks[{n}].straws"), finding);
            }
        }
    }
}

/// Sums of straws by a key: where one goes over, and to what it comes in the end.
fn over<'a, K: Ord + Copy>(
    semen: &'a [raw::Semen],
    most: u32,
    key: impl Fn(&'a raw::Semen) -> Option<K>,
) -> Vec<(usize, K, u32)> {
    let mut sums: BTreeMap<K, u32> = BTreeMap::new();
    let mut over: Vec<(usize, K, u32)> = Vec::new();
    for (n, s) in semen.iter().enumerate() {
        let Some(key) = key(s) else { continue };
        let sum = sums.entry(key).or_default();
        let before = *sum;
        *sum = sum.saturating_add(s.straws);
        if before <= most && *sum > most {
            over.push((n, key, 0));
        }
    }
    for (_, key, sum) in &mut over {
        *sum = sums[key];
    }
    over
}

fn place_words((tank, canister, _): At<'_>) -> String {
    match (tank, canister) {
        (Some(tank), Some(n)) => format!("in canister {n} of {}", quoted(tank)),
        (Some(tank), None) => format!("in {}", quoted(tank)),
        (None, Some(n)) => format!("in canister {n}"),
        (None, None) => "in no place".to_owned(),
    }
}
