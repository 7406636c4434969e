//! The choice as JSON: `thawline.choice/1`.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::super::json::{schema_of, text};
use crate::base::units::hundredths;
use crate::planning::choose::{Chosen, Criterion, GroupChoice, Row, Together};
use crate::trade::figures::Cost;
use crate::trade::season::Season;

/// The answer of `thawline choose`.
#[derive(Serialize, JsonSchema)]
struct Choice<'a> {
    /// `thawline.choice/1`.
    format: &'static str,
    /// The season's name.
    season: &'a str,
    /// IANA time zone.
    zone: &'a str,
    /// Currency of all costs, as the season has it.
    currency: Option<&'a str>,
    /// Points that one unit of each criterion costs. Fewer points are better.
    points_for_each: BTreeMap<Criterion, f64>,
    /// What has no price and is left out of the costs.
    without_price: &'a [&'static str],
    /// Straws that are short in all.
    straws_lacking: u32,
    /// The choice for all groups at once; null for a single group.
    together: Option<TogetherView<'a>>,
    /// Each group by itself.
    groups: Vec<GroupView<'a>>,
}

/// A start for each group, chosen together.
#[derive(Serialize, JsonSchema)]
struct TogetherView<'a> {
    /// Points of the choice.
    points: f64,
    /// No choice has fewer points.
    least_points: f64,
    /// How far the points may be above the least, as a share of them.
    gap: f64,
    /// Points if each group took its own best row.
    points_one_by_one: f64,
    /// Choices that were counted.
    proposals: usize,
    /// True if the search was stopped by hand.
    stopped_by_hand: bool,
    /// Head of all groups that the crew cannot breed in their AI windows.
    head_not_bred: u32,
    /// Quarter hours in which two groups need one chute.
    chute_quarters: u32,
    /// The row chosen for each group.
    groups: Vec<Picked<'a>>,
}

/// The row chosen for a group.
#[derive(Serialize, JsonSchema)]
struct Picked<'a> {
    /// The group's id.
    group: &'a str,
    #[serde(flatten)]
    row: RowView<'a>,
}

/// What suits a group.
#[derive(Serialize, JsonSchema)]
struct GroupView<'a> {
    /// The group's id.
    id: &'a str,
    /// Its name.
    name: &'a str,
    /// `cow` or `heifer`.
    class: &'static str,
    /// Head.
    head: u32,
    /// Protocols looked at.
    protocols: usize,
    /// Starts looked at, over all protocols.
    starts_looked_at: usize,
    /// Of these, those that keep every wish that must hold.
    starts_fitting: usize,
    /// Each wish, and what it costs.
    wishes: Vec<WishView<'a>>,
    /// Protocols that a wish rules out, whatever the start.
    kept_out: Vec<KeptOut<'a>>,
    /// Where nothing fits: which wishes to give up, and what would then fit.
    give_up: Vec<GiveUp<'a>>,
    /// The best protocols and starts, the best first.
    rows: Vec<RowView<'a>>,
}

/// A wish.
#[derive(Serialize, JsonSchema)]
struct WishView<'a> {
    /// In words.
    wish: &'a str,
    /// True if nothing may break it.
    must_hold: bool,
    /// Starts that break it.
    starts_breaking: usize,
    /// Starts that break it and no other wish.
    starts_breaking_it_alone: usize,
}

/// A protocol that is ruled out.
#[derive(Serialize, JsonSchema)]
struct KeptOut<'a> {
    /// The protocol's id.
    protocol: &'a str,
    /// Wishes that rule it out, in words.
    wishes: &'a [String],
}

/// Wishes to give up.
#[derive(Serialize, JsonSchema)]
struct GiveUp<'a> {
    /// The wishes, in words.
    wishes: &'a [String],
    /// Starts that then fit.
    starts: usize,
    /// One that then fits.
    protocol: &'a str,
    /// Its start, with the offset.
    start: String,
    /// Its first breeding, with the offset.
    first_breeding: String,
}

/// A protocol with a start.
#[derive(Serialize, JsonSchema)]
struct RowView<'a> {
    /// The protocol's id.
    protocol: &'a str,
    /// The start, with the offset.
    start: String,
    /// What begins on each day, where the group is spread over days as the plan would spread it; null where
    /// all begin on one.
    lots: Option<Vec<LotView>>,
    /// Other starts that are just as good, with the offset.
    equal_starts: Vec<String>,
    /// The first breeding, with the offset.
    first_breeding: String,
    /// Day of the first calves by AI.
    first_calves: String,
    /// Day on which half of the AI calves are expected.
    mean_calving: String,
    /// Days from the start to the last breeding.
    days: i64,
    /// Times that the group goes through the chute, breeding among them.
    chute_passes: usize,
    /// True if breeding needs a trip through the chute of its own.
    breeding_apart: bool,
    /// Hours of work.
    work_hours: WorkView,
    /// Pregnancy rate, percent of the head due.
    pregnant_percent: RateView<'a>,
    /// Cost a head; null without prices.
    cost_a_head: Option<&'a Cost>,
    /// Cost a pregnancy; null without prices.
    cost_a_pregnancy: Option<f64>,
    /// Head of the group that the crew cannot breed in its hours.
    head_not_bred: u32,
    /// Why, in words; null where all are bred.
    why_not_bred: Option<&'a str>,
    /// Head of other groups that can then not be bred.
    other_head_not_bred: u32,
    /// Quarter hours in which another group needs the same chute.
    chute_quarters: u32,
    /// Minutes that the crew could begin later and still breed all.
    spare_minutes: i64,
    /// Wishes that it breaks, in words.
    broken_wishes: &'a [String],
    /// How much it has of each criterion.
    units: BTreeMap<Criterion, f64>,
    /// Points in all; fewer are better.
    points: f64,
}

/// What begins on one day.
#[derive(Serialize, JsonSchema)]
struct LotView {
    /// When it begins, with the offset.
    start: String,
    /// Head.
    head: u32,
}

/// Hours of work.
#[derive(Serialize, JsonSchema)]
struct WorkView {
    /// At the chute, drugs and breeding.
    chute: f64,
    /// Of the technicians.
    technicians: f64,
    /// Of watching for heat.
    heat_watch: f64,
    /// Of feeding MGA.
    feeding: f64,
    /// Of all these, at night.
    night: f64,
}

/// A pregnancy rate in percent.
#[derive(Serialize, JsonSchema)]
struct RateView<'a> {
    /// The rate that counts in the points.
    counted: f64,
    /// Lowest published.
    low: f64,
    /// Mean of those published.
    mean: f64,
    /// Highest published.
    high: f64,
    /// Tags of the sources.
    tags: &'a [String],
    /// False if it is a general rate, as none is published for the protocol.
    published_for_the_protocol: bool,
}

/// The schema of the JSON of a choice.
#[must_use]
pub fn schema() -> serde_json::Value {
    schema_of::<Choice<'_>>()
}

/// The whole choice.
pub(super) fn json(chosen: &Chosen, season: &Season) -> String {
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
    let told = |local| season.zone.rfc3339(season.zone.resolve(local).at);
    let lot = |(start, head)| LotView {
        start: told(start),
        head,
    };
    let spread = r.spread.as_ref();
    RowView {
        protocol: r.protocol.id.as_str(),
        start: told(r.start),
        lots: spread.map(|s| s.lots().into_iter().map(lot).collect()),
        equal_starts: r.equal.iter().map(|e| told(*e)).collect(),
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
