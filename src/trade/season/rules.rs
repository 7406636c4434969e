//! The rules a season must keep beyond its form. One rule, one function; each finding has a code,
//! a cause, a place and a remedy, and all come back together.

use std::collections::BTreeSet;

use super::{raw, roads};
use crate::base::document::Tree;
use crate::base::error::{Code, Finding, did_you_mean, nearest, quoted};
use crate::base::time;
use crate::base::units::{Id, is_plain_line};
use crate::trade::protocol::{Class, Library};

/// A season with hundreds of faults is the wrong file: the first ones say so.
const MOST_FINDINGS: usize = 200;

/// Keys whose text is shown as it is, wherever they stand.
const TEXTS: [&str; 12] = [
    "name",
    "note",
    "herd",
    "scores",
    "tank",
    "cane",
    "semen_file",
    "sire",
    "dam",
    "currency",
    "why",
    "reason",
];

pub(super) struct Rulebook<'a> {
    tree: &'a Tree,
    pub(super) raw: &'a raw::Season,
    pub(super) library: &'a Library,
    pub(super) found: Vec<Finding>,
}

impl<'a> Rulebook<'a> {
    pub(super) fn new(tree: &'a Tree, raw: &'a raw::Season, library: &'a Library) -> Self {
        Self {
            tree,
            raw,
            library,
            found: Vec::new(),
        }
    }

    /// What the building of a season relies on.
    pub(super) fn check_references(&mut self) {
        self.format();
        self.zone();
        self.country();
        self.ids();
        self.texts();
        self.ids_once();
        self.site_references();
        self.roads();
        let raw = self.raw;
        let bulls: BTreeSet<&str> = raw.semen.iter().map(|s| s.bull.as_str()).collect();
        for n in 0..raw.groups.len() {
            self.group_form(n);
            self.group_start(n);
            self.group_protocol(n);
            self.wishes(n);
            self.group_heat(n);
            self.group_pens(n);
            self.pen_starts(n);
            self.days(n);
            self.group_bulls(n, &bulls);
            self.group_calves(n);
        }
        self.law();
        self.bull_facts(&bulls);
        for n in 0..self.raw.crew.len() {
            self.pace_form(n);
            self.shifts(n);
            self.days_off(n);
        }
        self.straws();
        self.tanks();
        self.supplies();
        self.money();
        self.hot_water();
        self.site_places();
        self.slot();
        self.rest();
        self.free_hours();
        self.heat_watch();
    }

    pub(super) fn add(&mut self, field: &str, finding: Finding) {
        if self.found.len() < MOST_FINDINGS {
            self.found.push(finding.at(self.tree.place(field)));
        }
    }

    /// What makes the season unusable: what is wrong at a field, what was expected, what to do.
    pub(super) fn fault(
        &mut self,
        code: Code,
        field: &str,
        what: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let finding = Finding::error(code, what).expected(expected).hint(hint);
        self.add(field, finding);
    }

    fn format(&mut self) {
        if self.raw.format != super::FORMAT {
            let what = format!("this program does not read {}", quoted(&self.raw.format));
            let expected = format!("`{}`", super::FORMAT);
            let hint = "if the file was made for a later version, use that version";
            self.fault(Code::FormatVersion, "format", what, expected, hint);
        }
    }

    fn zone(&mut self) {
        if let Err(finding) = time::read::zone(&self.raw.zone) {
            self.add("zone", finding);
        }
    }

    fn each_id(&self) -> Vec<(String, &'static str, &'a str)> {
        let raw = self.raw;
        let mut all = Vec::new();
        for (n, s) in raw.sites.iter().enumerate() {
            all.push((format!("sites[{n}].id"), "site", s.id.as_str()));
        }
        for (n, g) in raw.groups.iter().enumerate() {
            all.push((format!("groups[{n}].id"), "group", g.id.as_str()));
        }
        for (n, t) in raw.crew.iter().enumerate() {
            all.push((format!("crew[{n}].id"), "technician", t.id.as_str()));
        }
        for (n, t) in raw.tanks.iter().enumerate() {
            all.push((format!("tanks[{n}].id"), "tank", t.id.as_str()));
        }
        all
    }

    fn ids(&mut self) {
        let mut all = self.each_id();
        let raw = self.raw;
        for (n, s) in raw.semen.iter().enumerate() {
            all.push((format!("semen[{n}].bull"), "bull", &s.bull));
        }
        for (field, kind, id) in all {
            if Id::new(id).is_none() {
                let what = format!("{} cannot be the id of a {kind}", quoted(id));
                let hint = "keep the id short and plain; the full name goes under `name`";
                self.fault(Code::BadId, &field, what, Id::FORM, hint);
            }
        }
    }

    fn texts(&mut self) {
        let mut all = self.tree.root().texts_under(&TEXTS);
        // Straws of the table that the season names stand in no tree.
        for (n, s) in self.raw.semen.iter().enumerate() {
            if !self.tree.has(&format!("semen[{n}]")) {
                let cells = [("name", &s.name), ("tank", &s.tank), ("cane", &s.cane)];
                all.extend(cells.into_iter().filter_map(|(key, text)| {
                    Some((format!("semen[{n}].{key}"), text.as_deref()?))
                }));
            }
        }
        for (field, text) in all {
            if !is_plain_line(text) || text.trim().is_empty() {
                let what = format!("{} is not a line of plain text", quoted(text));
                let expected = "one line of at most 200 characters, without control characters";
                let hint = "shorten it, and remove line breaks and invisible characters";
                self.fault(Code::BadText, &field, what, expected, hint);
            }
        }
    }

    fn ids_once(&mut self) {
        let mut seen = std::collections::BTreeMap::new();
        for (field, kind, id) in self.each_id() {
            if let Some(first) = seen.insert((kind, id.to_lowercase()), field.clone()) {
                let id = quoted(id);
                let what = format!("the {kind} id {id} is given twice, first at {first}");
                let expected = "an id of its own; upper and lower case count as the same";
                let hint = "rename one of them, and what refers to it";
                self.fault(Code::IdTwice, &field, what, expected, hint);
            }
        }
    }

    pub(super) fn refer(&mut self, field: &str, kind: &str, id: &str, known: &BTreeSet<&str>) {
        if !known.contains(id) && self.found.len() < MOST_FINDINGS {
            let near = nearest(id, known.iter().copied());
            // There is no list of bulls: one is known by his straws.
            let (what, wants, add) = if kind == "bull" {
                (
                    format!("{} has no straws in this season", quoted(id)),
                    "a bull whose straws are listed".to_owned(),
                    "list his straws under `semen`".to_owned(),
                )
            } else {
                (
                    format!("there is no {kind} {}", quoted(id)),
                    format!("the id of a {kind} of this season"),
                    format!("add that {kind}"),
                )
            };
            let add = did_you_mean(near, format!("{add}, or name another"));
            self.fault(Code::UnknownId, field, what, wants, add);
        }
    }

    fn site_references(&mut self) {
        let raw = self.raw;
        let sites: BTreeSet<&str> = raw.sites.iter().map(|s| s.id.as_str()).collect();
        for (n, g) in raw.groups.iter().enumerate() {
            self.refer(&format!("groups[{n}].site"), "site", &g.site, &sites);
        }
        for (n, t) in raw.crew.iter().enumerate() {
            if let Some(home) = &t.home_site {
                self.refer(&format!("crew[{n}].home_site"), "site", home, &sites);
            }
        }
        for (n, s) in raw.sites.iter().enumerate() {
            for (key, to) in [
                ("minutes_to", &s.minutes_to),
                ("miles_to", &s.miles_to),
                ("km_to", &s.km_to),
            ] {
                for other in to.keys() {
                    self.refer(&format!("sites[{n}].{key}.{other}"), "site", other, &sites);
                }
            }
        }
    }

    fn roads(&mut self) {
        let raw = self.raw;
        for (n, a) in raw.sites.iter().enumerate() {
            for b in &raw.sites[n + 1..] {
                if let (Some(x), Some(y)) = (a.minutes_to.get(&b.id), b.minutes_to.get(&a.id))
                    && (x - y).abs() > f64::EPSILON
                {
                    let field = format!("sites[{n}].minutes_to.{}", b.id);
                    let what = format!(
                        "the road between {} and {} takes {x} minutes here and {y} there",
                        quoted(&a.id),
                        quoted(&b.id)
                    );
                    let expected = "one time for each pair of sites";
                    let hint = "give it at one of the two sites only";
                    self.fault(Code::OutOfRange, &field, what, expected, hint);
                }
            }
        }
        let ways = roads::stated_ways(&raw.sites);
        let found = roads::twice(raw).into_iter();
        for (field, finding) in found.chain(roads::detours(&raw.sites, &ways)) {
            self.add(&field, finding);
        }
        let assumed = raw.rules.as_ref().is_none_or(|r| r.road_minutes.is_none());
        let crew = raw.crew.iter();
        let homes: Vec<&str> = crew.filter_map(|t| t.home_site.as_deref()).collect();
        let mut used: Vec<(usize, &raw::Site)> = raw.sites.iter().enumerate().collect();
        used.retain(|(_, s)| {
            homes.contains(&s.id.as_str()) || raw.groups.iter().any(|g| g.site == s.id)
        });
        let missing = used.iter().enumerate().find_map(|(n, (i, a))| {
            let unknown = |j: usize| {
                let hour = ways[*i][j].as_ref().is_none_or(|w| w.seconds >= 3600);
                hour && roads::road_between(a, &raw.sites[j]).is_none()
            };
            let (_, b) = used[n + 1..].iter().find(|(j, _)| unknown(*j))?;
            Some((a.id.clone(), b.id.clone()))
        });
        if let (true, Some((a, b))) = (assumed, missing) {
            let finding = Finding::note(
                    Code::RoadAssumed,
                    format!("no minutes on the road are given between {} and {}; 60 are planned wherever none are given and no way through another site is known to be shorter", quoted(&a), quoted(&b)),
                )
                .hint("add `minutes_to` to a site, or `road_minutes` to the rules");
            self.add("sites", finding);
        }
    }

    pub(super) fn class_of(&self, n: usize) -> Class {
        self.raw.groups[n].class.into()
    }

    fn group_protocol(&mut self, n: usize) {
        let Some(id) = &self.raw.groups[n].protocol else {
            return;
        };
        let field = format!("groups[{n}].protocol");
        let class = self.class_of(n);
        match self.library.get(id) {
            None => self.add(&field, self.library.unknown(id, class)),
            Some(protocol) if !protocol.class.serves(class) => {
                let other = protocol.class.as_str();
                self.fault(Code::ClassMismatch, &field, format!("`{}` is published for {other}s, and this group is of {}s", protocol.id, class.as_str()), format!("a protocol for {}s", class.as_str()), "cows and heifers differ in the hours to AI: `thawline protocols` shows the class of each");
            }
            Some(_) => {}
        }
    }

    fn group_pens(&mut self, n: usize) {
        let g = &self.raw.groups[n];
        let fault = match (g.pens, &g.pen_head) {
            (Some(_), Some(_)) => Some(("pens", "both `pens` and `pen_head` are given".to_owned())),
            (Some(p), None) if p > g.head => Some((
                "pens",
                format!("{p} pens cannot be made of {} head", g.head),
            )),
            (None, Some(heads)) => {
                let sum: u64 = heads.iter().map(|h| u64::from(*h)).sum();
                (sum != u64::from(g.head)).then(|| {
                    (
                        "pen_head",
                        format!("the pens hold {sum} head, the group {}", g.head),
                    )
                })
            }
            _ => None,
        };
        if let Some((key, what)) = fault {
            let field = format!("groups[{n}].{key}");
            let expected = "`pens: N`, or `pen_head` whose numbers add up to `head`";
            let hint = "correct the pens or the group's head";
            self.fault(Code::PensForm, &field, what, expected, hint);
        }
    }

    fn group_bulls(&mut self, n: usize, known: &BTreeSet<&str>) {
        let raw = self.raw;
        for (k, bull) in raw.groups[n].bulls.iter().enumerate() {
            let field = format!("groups[{n}].bulls[{k}]");
            self.refer(&field, "bull", bull, known);
            if raw.groups[n].bulls[..k].contains(bull) {
                let what = format!("the bull {} is named twice", quoted(bull));
                self.fault(Code::IdTwice, &field, what, "each bull once", "remove one");
            }
        }
    }

    fn bull_facts(&mut self, known: &BTreeSet<&str>) {
        let raw = self.raw;
        let mut seen = BTreeSet::new();
        for (n, bull) in raw.bulls.iter().enumerate() {
            let field = format!("bulls[{n}].id");
            self.refer(&field, "bull", &bull.id, known);
            if !seen.insert(bull.id.as_str()) {
                let what = format!("the bull {} is described twice", quoted(&bull.id));
                let hint = "put what is known of him under one entry";
                self.fault(Code::IdTwice, &field, what, "each bull once", hint);
            }
            for (key, parent) in [("sire", &bull.sire), ("dam", &bull.dam)] {
                if parent.as_ref().is_some_and(|p| p.trim() == bull.id) {
                    let field = format!("bulls[{n}].{key}");
                    let what = format!("{} is given as his own {key}", quoted(&bull.id));
                    let expected = "another animal, or no such key";
                    let hint = "correct the name, or take the line out";
                    self.fault(Code::BullParents, &field, what, expected, hint);
                }
            }
        }
    }

    fn pace_form(&mut self, n: usize) {
        let t = &self.raw.crew[n];
        if t.cows_per_hour.is_some() && t.minutes_per_cow.is_some() {
            let expected = "either `cows_per_hour` (a whole session as counted) or `minutes_per_cow` (at the cow, guns loaded)";
            self.fault(
                Code::PaceForm,
                &format!("crew[{n}]"),
                "a technician has two paces here",
                expected,
                "remove the one you trust less",
            );
        }
    }

    fn hot_water(&mut self) {
        for (n, s) in self.raw.sites.iter().enumerate() {
            if s.hot_water_f.is_some() && s.hot_water_c.is_some() {
                let field = format!("sites[{n}].hot_water_c");
                let what = format!("{} has hot water of two temperatures", quoted(&s.id));
                let expected = "either `hot_water_f` or `hot_water_c`";
                let hint = "remove one of them";
                self.fault(Code::OutOfRange, &field, what, expected, hint);
            }
        }
    }

    fn rest(&mut self) {
        let Some(rules) = &self.raw.rules else { return };
        let (given, missing) = match (rules.rest_after_hours, rules.rest_minutes) {
            (Some(_), None) => ("rest_after_hours", "rest_minutes"),
            (None, Some(_)) => ("rest_minutes", "rest_after_hours"),
            _ => return,
        };
        let field = format!("rules.{given}");
        let what = format!("`{given}` is given without `{missing}`");
        let expected = "both, or neither: after how many hours of work, and how long";
        let hint = format!("add `{missing}`");
        self.fault(Code::HourForm, &field, what, expected, hint);
    }

    fn slot(&mut self) {
        if let Some(slot) = self.raw.rules.as_ref().and_then(|r| r.slot_minutes)
            && ![5, 10, 15, 20, 30].contains(&slot)
        {
            let what = format!("breeding cannot be planned in steps of {slot} minutes");
            let expected = "5, 10, 15, 20 or 30";
            let hint = "15 suits most seasons";
            self.fault(Code::OutOfRange, "rules.slot_minutes", what, expected, hint);
        }
    }
}
