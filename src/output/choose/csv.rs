//! What was found for wishes as tables for spreadsheets.

use chrono::NaiveDate;
use serde::Serialize;

use super::super::answer::Kind;
use super::super::table;
use crate::base::time::Zone;
use crate::base::units::hundredths;
use crate::planning::choose::{Chosen, Criterion, GroupChoice, Row as Candidate};
use crate::trade::season::Season;

const CANDIDATE: &str = "protocol protocol_name start_date start_weekday start start_utc_offset_minutes start_days \
    breeding_date breeding_weekday breeding breeding_utc_offset_minutes first_calves \
    mean_calving days chute_passes breeding_apart chute_hours technician_hours \
    heat_watch_hours feeding_hours night_hours pregnant_counted_percent \
    pregnant_low_percent pregnant_high_percent published_for_the_protocol currency \
    cost_a_head cost_a_pregnancy head_not_bred other_head_not_bred chute_quarters \
    spare_minutes broken_wishes equal_starts points";

/// The candidates of each group's list, and for several groups what is chosen for them together.
pub(super) const TABLES: &[Kind] = &[
    Kind {
        name: "candidates",
        columns: &["group group_name head rank", CANDIDATE],
    },
    Kind {
        name: "choice",
        columns: &["group group_name head", CANDIDATE],
    },
];

#[derive(Default, Serialize)]
pub(super) struct Row<'a> {
    row: &'static str,
    group: &'a str,
    group_name: &'a str,
    head: u32,
    rank: Option<usize>,
    protocol: &'a str,
    protocol_name: &'a str,
    start_date: Option<NaiveDate>,
    start_weekday: String,
    start: String,
    start_utc_offset_minutes: Option<i32>,
    start_days: usize,
    breeding_date: Option<NaiveDate>,
    breeding_weekday: String,
    breeding: String,
    breeding_utc_offset_minutes: Option<i32>,
    first_calves: Option<NaiveDate>,
    mean_calving: Option<NaiveDate>,
    days: i64,
    chute_passes: usize,
    breeding_apart: bool,
    chute_hours: f64,
    technician_hours: f64,
    heat_watch_hours: f64,
    feeding_hours: f64,
    night_hours: f64,
    pregnant_counted_percent: f64,
    pregnant_low_percent: f64,
    pregnant_high_percent: f64,
    published_for_the_protocol: bool,
    currency: &'a str,
    cost_a_head: Option<f64>,
    cost_a_pregnancy: Option<f64>,
    head_not_bred: u32,
    other_head_not_bred: u32,
    chute_quarters: u32,
    spare_minutes: i64,
    broken_wishes: String,
    equal_starts: String,
    points: f64,
}

pub(super) fn rows<'a>(chosen: &'a Chosen, season: &'a Season) -> Vec<Row<'a>> {
    let mut rows = Vec::new();
    if let Some(t) = &chosen.together {
        let picked = chosen.groups.iter().zip(t.rows());
        rows.extend(picked.map(|(g, r)| row("choice", g, None, r, season)));
    }
    for g in &chosen.groups {
        let listed = g.rows.iter().enumerate();
        rows.extend(listed.map(|(n, r)| row("candidates", g, Some(n + 1), r, season)));
    }
    rows
}

fn row<'a>(
    kind: &'static str,
    g: &'a GroupChoice,
    rank: Option<usize>,
    r: &'a Candidate,
    season: &'a Season,
) -> Row<'a> {
    let (s, zone): (_, Zone) = (&r.standing, season.zone);
    let start = table::read_in(zone, zone.resolve(r.start).at);
    let breeding = table::read_in(zone, r.breeding);
    let equal = r.equal.iter().map(|e| {
        let at = zone.resolve(*e).at;
        table::day_and_clock(table::read_in(zone, at))
    });
    Row {
        row: kind,
        group: g.id.as_str(),
        group_name: &g.name,
        head: g.head.0,
        rank,
        protocol: r.protocol.id.as_str(),
        protocol_name: &r.protocol.name,
        start_date: Some(start.date_naive()),
        start_weekday: table::weekday(start.date_naive()),
        start: table::clock(start),
        start_utc_offset_minutes: table::offset(start),
        start_days: r.spread.as_ref().map_or(1, |s| s.lots().len()),
        breeding_date: Some(breeding.date_naive()),
        breeding_weekday: table::weekday(breeding.date_naive()),
        breeding: table::clock(breeding),
        breeding_utc_offset_minutes: table::offset(breeding),
        first_calves: Some(r.first_calves),
        mean_calving: Some(r.mean_calving),
        days: s.days,
        chute_passes: s.passes,
        breeding_apart: s.breeding_apart,
        chute_hours: hundredths(s.hours.chute),
        technician_hours: hundredths(s.hours.technicians),
        heat_watch_hours: hundredths(s.hours.heat_watch),
        feeding_hours: hundredths(s.hours.feeding),
        night_hours: r.values.get(Criterion::NightHours),
        pregnant_counted_percent: hundredths(s.counted_percent),
        pregnant_low_percent: s.rate.low,
        pregnant_high_percent: s.rate.high,
        published_for_the_protocol: !s.rate_general,
        currency: season
            .prices
            .as_ref()
            .and_then(|p| p.currency.as_deref())
            .unwrap_or(""),
        cost_a_head: s.cost.as_ref().map(|c| hundredths(c.total.0)),
        cost_a_pregnancy: s.cost_a_pregnancy().map(|m| hundredths(m.0)),
        head_not_bred: r.cover.not_bred,
        other_head_not_bred: r.cover.other_head,
        chute_quarters: r.cover.chute_quarters,
        spare_minutes: r.cover.spare.num_minutes(),
        broken_wishes: table::joined(&r.broken),
        equal_starts: table::joined(&equal.collect::<Vec<_>>()),
        points: hundredths(r.points),
    }
}
