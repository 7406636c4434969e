//! From YAML text to a [`Season`]: form first, then the rules, then the building.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use chrono::TimeDelta;

use super::calves::{self, Calves};
use super::rules::Rulebook;
use super::{
    After, Bath, Bull, BullFacts, Group, GroupFacts, HeatHours, HeatRules, HerdFile, Load, Order,
    Pace, PenStarts, ReadyRules, Rest, Rules, Season, Shift, Site, StrawPlace, StrawRules, Tank,
    Technician, Weights, raw, roads, semen, straw_table, supplies, wishes,
};
use super::{assume, built_rules};
use crate::base::document::{Tree, shape};
use crate::base::error::{Code, Error, Finding, Severity, has_errors, sort_findings};
use crate::base::sheet::Asked;
use crate::base::time::{Zone, hours, parse_clock, parse_date, parse_local};
use crate::base::units::{Head, HeadPerHour, Id, Seconds, StrawSize, Straws, Weight};
use crate::trade::protocol::law::Country;
use crate::trade::protocol::{Library, Window};

/// The form of a file in which nothing is left out.
static WHOLE: LazyLock<serde_json::Value> =
    LazyLock::new(|| schemars::schema_for!(raw::Season).to_value());

static SCHEMA: LazyLock<serde_json::Value> = LazyLock::new(|| assume::published(WHOLE.clone()));

/// The JSON Schema of a season file.
#[must_use]
pub fn schema() -> &'static serde_json::Value {
    &SCHEMA
}

/// Reads and checks a season. With it come the findings that do not stop it.
///
/// # Errors
/// Every finding of the file, at least one of them an error.
pub fn read(file: &str, bytes: &[u8], library: &Library) -> Result<(Season, Vec<Finding>), Error> {
    read_with(file, bytes, library, &|named| {
        let what = "the table of straws is not at hand: this season was given as a text of its own";
        Err(Finding::error(Code::FileUnreadable, what)
            .at(named.place.clone())
            .expected("a season file whose folder holds the table")
            .hint("name the season file itself, or list the straws under `semen`"))
    })
}

/// The same, for a season that may name a table of straws: `load` finds its name for people and
/// its bytes.
///
/// # Errors
/// Every finding of both files, at least one of them an error.
pub fn read_with(
    file: &str,
    bytes: &[u8],
    library: &Library,
    load: &Load<'_>,
) -> Result<(Season, Vec<Finding>), Error> {
    let mut tree = Tree::parse(file, bytes)?;
    let assumed = assume::assume(&mut tree, &WHOLE, library);
    let fit = shape::fit(&tree, &WHOLE);
    if !fit.found.is_empty() {
        return Err(Error::input(with_rules(&tree, fit, library)));
    }
    let mut raw: raw::Season = tree.decode_value(fit.value)?;
    let of_table = straw_table::add(&mut tree, &mut raw, load);
    let mut book = Rulebook::new(&tree, &raw, library);
    book.check_references();
    let mut found = book.found;
    if has_errors(&of_table) {
        // A bull may stand in the rows that could not be read.
        found.retain(|f| f.code != Code::UnknownId);
    }
    found.extend(of_table);
    if has_errors(&found) {
        return Err(Error::input(found));
    }
    let mut season = build(&tree, &raw, library);
    for bull in &mut season.bulls {
        bull.assumed = assumed.bulls.contains(bull.id.as_str());
    }
    found.extend(assumed.notes);
    found.extend(built_rules::check_built(&tree, &raw, &season));
    if has_errors(&found) {
        return Err(Error::input(found));
    }
    sort_findings(&mut found);
    Ok((season, found))
}

/// The misfits, and what the rules find wrong in the parts that fit: nobody should have to mend
/// a file twice. What a rule says of a misfit, of what holds it, or of an id that a misfit may
/// have had, is left out.
fn with_rules(tree: &Tree, fit: shape::Fit, library: &Library) -> Vec<Finding> {
    let mut found = fit.found;
    let Ok(raw) = tree.decode_value::<raw::Season>(fit.value) else {
        return found;
    };
    let field = |f: &Finding| f.place.as_ref().map_or(String::new(), |p| p.field.clone());
    let misfits: Vec<String> = found.iter().map(field).collect();
    let mut book = Rulebook::new(tree, &raw, library);
    book.check_references();
    let rules = book.found.into_iter().filter(|f| {
        let of = field(f);
        let touched = |m: &String| m.starts_with(&of) || of.starts_with(m.as_str());
        f.severity == Severity::Error
            && f.code != Code::UnknownId
            && tree.has(&of)
            && !misfits.iter().any(touched)
    });
    found.extend(rules);
    found
}

/// Everything here was checked: what is looked up is there.
fn build(tree: &Tree, raw: &raw::Season, library: &Library) -> Season {
    let bulls = build_bulls(raw);
    let rules = build_rules(raw);
    let sites = build_sites(&raw.sites, rules.road);
    let site_at = |id: &str| raw.sites.iter().position(|s| s.id == id).unwrap_or(0);
    let (mut groups, mut open) = (Vec::new(), Vec::new());
    for (nth, g) in raw.groups.iter().enumerate() {
        let field = if g.start.is_some() { ".start" } else { "" };
        let calves = build_calves(tree, nth, g);
        let group = GroupFacts {
            nth,
            id: id(&g.id),
            name: g.name.clone().unwrap_or_else(|| g.id.clone()),
            site: site_at(&g.site),
            class: g.class.into(),
            pens: pens(g),
            days: g.days.as_ref().and_then(raw::Days::most).unwrap_or(1),
            pens_stated: g.pens.is_some() || g.pen_head.is_some(),
            order: match g.order {
                Some(raw::OrderWord::Kept) => Order::Kept,
                _ => Order::Mixed,
            },
            bulls: g
                .bulls
                .iter()
                .filter_map(|b| bulls.iter().position(|k| k.id.as_str() == b))
                .collect(),
            in_heat_percent: g.in_heat_percent,
            heat_hours: heat_hours(g),
            note: g.note.clone(),
            start_place: tree.place(&format!("groups[{nth}]{field}")),
            bulls_place: tree.place(&format!("groups[{nth}].bulls")),
            wishes: g.wishes.as_ref().map(wishes::build),
            after: After::build(g, &calves, &|field| {
                tree.place(&format!("groups[{nth}].{field}"))
            }),
            herd: herd_file(tree, raw, nth),
            waiting: Vec::new(),
            scores: named(tree, g.scores.as_ref(), &format!("groups[{nth}].scores")),
            calves,
        };
        match (&g.protocol, &g.start) {
            (Some(protocol), Some(start)) => groups.push(Group {
                pen_starts: pen_starts(g),
                ..group.decided(
                    library
                        .get(protocol)
                        .cloned()
                        .expect("protocols were checked"),
                    parse_local(start).expect("times were checked"),
                )
            }),
            _ => open.push(group),
        }
    }
    let zone = Zone::parse(&raw.zone).expect("the zone was checked");
    let units = raw.units.unwrap_or_default();
    Season {
        name: raw.name.clone(),
        zone: zone.on(units.clock),
        country: Country::of(raw.country.as_deref(), &raw.zone),
        allow: raw.allow.clone(),
        sites,
        groups,
        open,
        crew: build_crew(raw, site_at),
        bulls,
        tanks: build_tanks(tree, &raw.tanks),
        scores: named(tree, raw.scores.as_ref(), "scores"),
        rules,
        weights: Weights::build(raw.weights.as_ref()),
        prices: raw.prices.clone(),
        supplies: supplies::build(tree, raw.supplies.as_ref()),
        money: raw.money.as_ref().map(calves::build_money),
        units,
    }
}

/// Times were checked.
fn build_crew(raw: &raw::Season, site_at: impl Fn(&str) -> usize) -> Vec<Technician> {
    let crew = raw.crew.iter().map(|t| {
        let pace = match (t.minutes_per_cow, t.cows_per_hour) {
            (Some(m), _) => Pace::AtTheCow(Seconds::from_minutes(m)),
            (None, Some(c)) => {
                Pace::Overall(HeadPerHour::new(c).expect("the shape check keeps it above zero"))
            }
            (None, None) => unreachable!("paces were checked"),
        };
        let shifts = t.shifts.iter().map(|s| Shift {
            days: s.days.clone(),
            from: parse_clock(&s.from).expect("times were checked"),
            to: parse_clock(&s.to).expect("times were checked"),
        });
        Technician {
            id: id(&t.id),
            name: t.name.clone().unwrap_or_else(|| t.id.clone()),
            pace,
            spread: t.minutes_spread.map(Seconds::from_minutes),
            helper: t.helper,
            home: t.home_site.as_deref().map(&site_at),
            straws_at_once: t.straws_at_once.map(Straws),
            longest_day: t.longest_day_hours.map(hours),
            shifts: shifts.collect(),
            days_off: t.days_off.iter().filter_map(|d| parse_date(d)).collect(),
        }
    });
    crew.collect()
}

/// Where a group says nothing of calves, they stand where it does.
fn build_calves(tree: &Tree, nth: usize, group: &raw::Group) -> Calves {
    calves::build(group, &|field| {
        let own = format!("groups[{nth}].calves.{field}");
        let own = own.trim_end_matches('.');
        if tree.has(own) {
            tree.place(own)
        } else {
            tree.place(&format!("groups[{nth}].id"))
        }
    })
}

fn build_tanks(tree: &Tree, raw: &[raw::Tank]) -> Vec<Tank> {
    let place = |n: usize| tree.place(&format!("tanks[{n}].id"));
    let tanks = raw.iter().enumerate();
    tanks.map(|(n, t)| semen::build_tank(t, place(n))).collect()
}

fn named(tree: &Tree, name: Option<&String>, field: &str) -> Option<HerdFile> {
    name.map(|name| HerdFile {
        name: name.clone(),
        place: tree.place(field),
        asked: Asked::default(),
        overrule: BTreeMap::new(),
    })
}

/// A group's herd file, and how it is to be read.
fn herd_file(tree: &Tree, raw: &raw::Season, nth: usize) -> Option<HerdFile> {
    let g = &raw.groups[nth];
    let file = named(tree, g.herd.as_ref(), &format!("groups[{nth}].herd"))?;
    let asked = Asked {
        dates: g.dates,
        columns: g.columns.clone(),
        kilograms: raw.units.unwrap_or_default().weight == Some(Weight::Kg),
    };
    let overrule = g.overrule.clone();
    Some(HerdFile {
        asked,
        overrule,
        ..file
    })
}

fn id(text: &str) -> Id {
    Id::new(text).expect("ids were checked")
}

fn build_sites(raw: &[raw::Site], road: TimeDelta) -> Vec<Site> {
    let pace = |x: f64| HeadPerHour::new(x).expect("the shape check keeps it above zero");
    let ways = roads::roads(raw, road);
    let sites = raw.iter().zip(ways).enumerate().map(|(n, (s, ways))| {
        let injections = s.injections_head_per_hour;
        let stated = raw.iter().map(|other| roads::stated_time(s, other));
        let far = (0..raw.len()).map(|m| roads::far(raw, n, &ways[m].1, m));
        Site {
            id: id(&s.id),
            name: s.name.clone().unwrap_or_else(|| s.id.clone()),
            injections: pace(injections),
            inserts: pace(s.inserts_head_per_hour.unwrap_or(injections)),
            // Nobody breeds without a place in the bath.
            breeding_boxes: s.breeding_boxes.min(bath(s)),
            stated_boxes: s.breeding_boxes,
            thaw_bath: Straws(bath(s)),
            bath: bath_water(s),
            position: s.latitude.zip(s.longitude),
            road: ways.iter().map(|(long, _)| *long).collect(),
            stated: stated.collect(),
            far: far.collect(),
            over: ways.into_iter().map(|(_, over)| over).collect(),
        }
    });
    sites.collect()
}

/// Ten straws at once at the most (SUMMER-AI).
fn bath(site: &raw::Site) -> u32 {
    site.thaw_bath_straws.unwrap_or(10)
}

fn bath_water(site: &raw::Site) -> Bath {
    let usual = Bath::default();
    let fahrenheit = site.hot_water_f.map(|f| (f - 32.0) / 1.8);
    Bath {
        liters: site.bath_liters,
        heater_watts: site.bath_heater_watts.unwrap_or(usual.heater_watts),
        hot_water_c: site.hot_water_c.or(fahrenheit).unwrap_or(usual.hot_water_c),
    }
}

fn straw_rules(r: &raw::Rules) -> StrawRules {
    let usual = StrawRules::default();
    StrawRules {
        wasted: r.straws_wasted_percent.map_or(usual.wasted, |p| p / 100.0),
        lift: r.lift_seconds.map_or(usual.lift, Seconds),
        a_lift: r.straws_a_lift.map_or(usual.a_lift, Straws),
    }
}

fn build_bulls(raw: &raw::Season) -> Vec<Bull> {
    let mut order: Vec<&str> = Vec::new();
    let mut by_id: BTreeMap<&str, Bull> = BTreeMap::new();
    for s in &raw.semen {
        let bull = by_id.entry(&s.bull).or_insert_with(|| {
            order.push(&s.bull);
            Bull {
                id: id(&s.bull),
                name: s.name.clone().unwrap_or_else(|| s.bull.clone()),
                places: Vec::new(),
                assumed: false,
                facts: bull_facts(raw, &s.bull),
            }
        });
        if let Some(name) = &s.name {
            bull.name.clone_from(name);
        }
        bull.places.push(StrawPlace {
            straws: Straws(s.straws),
            size: if s.straw_ml.is_some_and(|m| m < 0.4) {
                StrawSize::Quarter
            } else {
                StrawSize::Half
            },
            sort: s.sort.unwrap_or_default(),
            tank: s.tank.clone(),
            canister: s.canister,
            cane: s.cane.clone(),
            goblet: s.goblet,
        });
    }
    order.iter().filter_map(|b| by_id.remove(b)).collect()
}

fn bull_facts(raw: &raw::Season, bull: &str) -> BullFacts {
    let facts = raw.bulls.iter().find(|b| b.id == bull);
    facts.map_or_else(BullFacts::default, |b| BullFacts {
        calving_ease: b.calving_ease,
        sexed: b.sexed,
        sire: b.sire.clone(),
        dam: b.dam.clone(),
    })
}

fn pens(g: &raw::Group) -> Vec<Head> {
    if let Some(heads) = &g.pen_head {
        return heads.iter().map(|h| Head(*h)).collect();
    }
    let n = g.pens.unwrap_or(1);
    (0..n)
        .map(|i| Head(g.head / n + u32::from(i < g.head % n)))
        .collect()
}

fn pen_starts(g: &raw::Group) -> PenStarts {
    let local = |text: &String| parse_local(text).expect("times were checked");
    match (&g.pen_starts, &g.latest_start) {
        (Some(all), _) => PenStarts::Given(all.iter().map(local).collect()),
        (None, Some(latest)) => PenStarts::Until(local(latest)),
        (None, None) => PenStarts::InTurn,
    }
}

fn ready_rules(r: &raw::Rules) -> ReadyRules {
    let usual = ReadyRules::default();
    ReadyRules {
        days_since_calving: r
            .calving_to_breeding_days
            .map_or(usual.days_since_calving, i64::from),
        body_condition: r.least_body_condition.unwrap_or(usual.body_condition),
        mature_percent: r
            .heifer_mature_weight_percent
            .unwrap_or(usual.mature_percent),
        gain_lb_per_day: r.heifer_gain_lb_per_day,
    }
}

const fn heat_hours(g: &raw::Group) -> HeatHours {
    HeatHours {
        mean: g.heat_mean_hours,
        spread: g.heat_spread_hours,
    }
}

fn heat_rules(r: &raw::Rules) -> HeatRules {
    let mut rules = HeatRules::default();
    if let Some(texts) = &r.heat_checks {
        rules.checks = texts.iter().filter_map(|t| parse_clock(t)).collect();
        rules.checks.sort_unstable();
        rules.checks.dedup();
    }
    if let Some(h) = r.heat_breeding_hours {
        rules.breeding = Window {
            earliest: hours(h.earliest),
            aim: hours(h.aim),
            latest: hours(h.latest),
        };
    }
    rules
}

fn build_rules(raw: &raw::Season) -> Rules {
    let empty = raw::Rules::default();
    let r = raw.rules.as_ref().unwrap_or(&empty);
    let slot = TimeDelta::minutes(i64::from(r.slot_minutes.unwrap_or(15)));
    let rest = r.rest_after_hours.zip(r.rest_minutes);
    Rules {
        slot,
        grain: r.slot_minutes.map(|_| slot),
        // 15 minutes is the longest published limit that is still common (SUMMER-AI).
        bath_to_cow: Seconds::from_minutes(r.bath_to_cow_minutes.unwrap_or(15.0)),
        late_straw_risk: r.late_straw_risk_percent.unwrap_or(5.0) / 100.0,
        // 45 seconds at the least (SUMMER-AI).
        thaw: Seconds(r.thaw_seconds.unwrap_or(45.0)),
        // Common practice, no source.
        load: Seconds(r.load_seconds.unwrap_or(30.0)),
        reset: Seconds(r.reset_seconds.unwrap_or(60.0)),
        straws: straw_rules(r),
        road: TimeDelta::seconds((r.road_minutes.unwrap_or(60.0) * 60.0).round() as i64),
        rest: rest.map(|(after, long)| Rest {
            after: hours(after),
            long: hours(long / 60.0),
        }),
        longest_day: r.longest_day_hours.map(hours),
        // Common practice, no source.
        road_a_head: hours(r.road_minutes_per_head.unwrap_or(10.0) / 60.0),
        free: raw.free_rules().flat_map(|(_, r)| r.free()).collect(),
        heat: heat_rules(r),
        ready: ready_rules(r),
    }
}
