//! The choice as JSON: `thawline.choice/1`.

use std::collections::BTreeMap;

use serde::Serialize;

use super::super::json::text;
use crate::base::units::hundredths;
use crate::planning::choose::{Chosen, Criterion, GroupChoice, Row, Together};
use crate::trade::forecast::Cost;
use crate::trade::season::Season;

#[derive(Serialize)]
struct Choice<'a> {
    format: &'static str,
    season: &'a str,
    zone: &'a str,
    currency: Option<&'a str>,
    points_for_each: BTreeMap<Criterion, f64>,
    without_price: &'a [&'static str],
    straws_lacking: u32,
    together: Option<TogetherView<'a>>,
    groups: Vec<GroupView<'a>>,
}

#[derive(Serialize)]
struct TogetherView<'a> {
    points: f64,
    least_points: f64,
    gap: f64,
    points_one_by_one: f64,
    proposals: usize,
    stopped_by_hand: bool,
    head_not_bred: u32,
    chute_quarters: u32,
    groups: Vec<Picked<'a>>,
}

#[derive(Serialize)]
struct Picked<'a> {
    group: &'a str,
    #[serde(flatten)]
    row: RowView<'a>,
}

#[derive(Serialize)]
struct GroupView<'a> {
    id: &'a str,
    name: &'a str,
    class: &'static str,
    head: u32,
    protocols: usize,
    starts_looked_at: usize,
    starts_fitting: usize,
    wishes: Vec<WishView<'a>>,
    kept_out: Vec<KeptOut<'a>>,
    give_up: Vec<GiveUp<'a>>,
    rows: Vec<RowView<'a>>,
}

#[derive(Serialize)]
struct WishView<'a> {
    wish: &'a str,
    must_hold: bool,
    starts_breaking: usize,
    starts_breaking_it_alone: usize,
}

#[derive(Serialize)]
struct KeptOut<'a> {
    protocol: &'a str,
    wishes: &'a [String],
}

#[derive(Serialize)]
struct GiveUp<'a> {
    wishes: &'a [String],
    starts: usize,
    protocol: &'a str,
    start: String,
    first_breeding: String,
}

#[derive(Serialize)]
struct RowView<'a> {
    protocol: &'a str,
    start: String,
    equal_starts: Vec<String>,
    first_breeding: String,
    first_calves: String,
    mean_calving: String,
    days: i64,
    chute_passes: usize,
    breeding_apart: bool,
    work_hours: WorkView,
    pregnant_percent: RateView<'a>,
    cost_a_head: Option<&'a Cost>,
    cost_a_pregnancy: Option<f64>,
    head_not_bred: u32,
    why_not_bred: Option<&'a str>,
    other_head_not_bred: u32,
    chute_quarters: u32,
    spare_minutes: i64,
    broken_wishes: &'a [String],
    units: BTreeMap<Criterion, f64>,
    points: f64,
}

#[derive(Serialize)]
struct WorkView {
    chute: f64,
    technicians: f64,
    heat_watch: f64,
    feeding: f64,
    night: f64,
}

#[derive(Serialize)]
struct RateView<'a> {
    counted: f64,
    low: f64,
    mean: f64,
    high: f64,
    tags: &'a [String],
    published_for_the_protocol: bool,
}

/// The whole choice.
#[must_use]
pub fn json(chosen: &Chosen, season: &Season) -> String {
    let choice = Choice {
        format: "thawline.choice/1",
        season: &season.name,
        zone: season.zone.name(),
        currency: season.prices.as_ref().and_then(|p| p.currency.as_deref()),
        points_for_each: Criterion::ALL
            .into_iter()
            .map(|c| (c, c.weight(&chosen.weights)))
            .collect(),
        without_price: &chosen.unpriced,
        straws_lacking: chosen.straws_lacking,
        together: chosen.together.as_ref().map(|t| of_all(chosen, t, season)),
        groups: chosen.groups.iter().map(|g| group(g, season)).collect(),
    };
    text(&choice)
}

fn of_all<'a>(chosen: &'a Chosen, together: &'a Together, season: &Season) -> TogetherView<'a> {
    let p = &together.picked;
    TogetherView {
        points: hundredths(p.points),
        least_points: hundredths(p.bound),
        gap: p.gap(),
        points_one_by_one: hundredths(p.one_by_one),
        proposals: p.rounds,
        stopped_by_hand: p.stopped,
        head_not_bred: p.head_not_bred,
        chute_quarters: p.chute_quarters,
        groups: chosen
            .groups
            .iter()
            .zip(together.rows())
            .map(|(g, r)| Picked {
                group: g.id.as_str(),
                row: row(r, season),
            })
            .collect(),
    }
}

fn group<'a>(g: &'a GroupChoice, season: &Season) -> GroupView<'a> {
    GroupView {
        id: g.id.as_str(),
        name: &g.name,
        class: g.class.as_str(),
        head: g.head.0,
        protocols: g.protocols,
        starts_looked_at: g.looked_at,
        starts_fitting: g.fitting,
        wishes: g
            .wishes
            .iter()
            .map(|w| WishView {
                wish: &w.words,
                must_hold: w.hard,
                starts_breaking: w.breaks,
                starts_breaking_it_alone: w.alone,
            })
            .collect(),
        kept_out: g
            .kept_out
            .iter()
            .map(|k| KeptOut {
                protocol: k.protocol.as_str(),
                wishes: &k.wishes,
            })
            .collect(),
        give_up: g
            .give_up
            .iter()
            .map(|w| GiveUp {
                wishes: &w.wishes,
                starts: w.candidates,
                protocol: w.example.0.as_str(),
                start: season.zone.rfc3339(season.zone.resolve(w.example.1).at),
                first_breeding: season.zone.rfc3339(w.example.2),
            })
            .collect(),
        rows: g.rows.iter().map(|r| row(r, season)).collect(),
    }
}

fn row<'a>(r: &'a Row, season: &Season) -> RowView<'a> {
    let s = &r.standing;
    RowView {
        protocol: r.protocol.id.as_str(),
        start: season.zone.rfc3339(season.zone.resolve(r.start).at),
        equal_starts: r
            .equal
            .iter()
            .map(|e| season.zone.rfc3339(season.zone.resolve(*e).at))
            .collect(),
        first_breeding: season.zone.rfc3339(r.breeding),
        first_calves: r.first_calves.to_string(),
        mean_calving: r.mean_calving.to_string(),
        days: s.days,
        chute_passes: s.passes,
        breeding_apart: s.breeding_apart,
        work_hours: WorkView {
            chute: hundredths(s.hours.chute),
            technicians: hundredths(s.hours.technicians),
            heat_watch: hundredths(s.hours.heat_watch),
            feeding: hundredths(s.hours.feeding),
            night: r.values.get(Criterion::NightHours),
        },
        pregnant_percent: RateView {
            counted: hundredths(s.counted_percent),
            low: s.rate.low,
            mean: hundredths(s.rate.mean),
            high: s.rate.high,
            tags: &s.rate.tags,
            published_for_the_protocol: !s.rate_general,
        },
        cost_a_head: s.cost.as_ref(),
        cost_a_pregnancy: s.cost_a_pregnancy().map(|m| hundredths(m.0)),
        head_not_bred: r.cover.not_bred,
        why_not_bred: r.why.as_deref(),
        other_head_not_bred: r.cover.other_head,
        chute_quarters: r.cover.chute_quarters,
        spare_minutes: r.cover.spare.num_minutes(),
        broken_wishes: &r.broken,
        units: Criterion::ALL
            .into_iter()
            .map(|c| (c, r.values.get(c)))
            .collect(),
        points: hundredths(r.points),
    }
}
