//! The short list: by points, and nothing in it beaten in everything by another.
//!
//! What the crew can do takes a moment to count, so it is counted only for what may yet be listed.
//! Before that a choice has points as if everyone were bred with an hour to spare; it can only
//! fall back when counted. So what comes first with its points counted has its true place. What may be spread
//! over days has points as if that took it out of the night and into all wishes for hours.

use std::cmp::{Ordering, Reverse};
use std::collections::{BTreeMap, BinaryHeap};

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use super::candidates::{self, Candidate};
use super::cover::{Cover, Scene};
use super::judge::{self, Criterion, Standing, Values};
use crate::planning::crew::Fault;
use crate::planning::crew::starts::days::{Spread, may_spread};
use crate::planning::wishes::Demands;
use crate::trade::protocol::{Library, Protocol};
use crate::trade::season::{Group, GroupFacts, Season, Weights, Wishes};

/// A candidate whose points are counted.
#[derive(Clone, Debug)]
pub(super) struct Judged {
    pub(super) candidate: Candidate,
    pub(super) values: Values,
    pub(super) cover: Cover,
    /// Over which days, where that breeds more: what all else is counted for.
    pub(super) spread: Option<Spread>,
    pub(super) points: f64,
    /// Other starts, just as good.
    pub(super) equal: Vec<NaiveDateTime>,
}

/// What all candidates of a group have in common.
pub(super) struct Field<'a> {
    pub(super) season: &'a Season,
    pub(super) group: &'a GroupFacts,
    pub(super) wishes: &'a Wishes,
    pub(super) protocols: Vec<&'a Protocol>,
    pub(super) standings: Vec<Standing>,
    pub(super) candidates: Vec<Candidate>,
    pub(super) demands: Demands<'a>,
    /// What counts at all, and how much.
    pub(super) weights: Weights,
}

impl<'a> Field<'a> {
    pub(super) fn new(
        season: &'a Season,
        library: &'a Library,
        group: &'a GroupFacts,
        wishes: &'a Wishes,
        weights: Weights,
    ) -> Self {
        let demands = Demands::new(season, wishes);
        let protocols = candidates::considered(season, library, group, wishes);
        let candidates = candidates::enumerate(season, group, wishes, &protocols, &demands);
        let standing = |p: &&Protocol| judge::standing(season, group, p, wishes.semen);
        let mut standings: Vec<Standing> = protocols.iter().map(standing).collect();
        judge::count_rates(&mut standings);
        Self {
            season,
            group,
            wishes,
            protocols,
            standings,
            candidates,
            demands,
            weights,
        }
    }

    /// The group with what was chosen for it.
    pub(super) fn decided(&self, judged: &Judged) -> Group {
        let group = self.group(&judged.candidate);
        judged.spread.iter().fold(group, |g, spread| spread.of(&g))
    }

    /// The group with a candidate's protocol and start.
    pub(super) fn group(&self, c: &Candidate) -> Group {
        self.group
            .clone()
            .decided(self.protocols[c.protocol].clone(), c.start)
    }

    /// Those that break no wish that must hold.
    pub(super) fn fitting(&self) -> impl Iterator<Item = &Candidate> {
        self.candidates
            .iter()
            .filter(|c| c.broken & self.demands.hard == 0)
    }

    /// The values of each fitting candidate before its cover is counted.
    pub(super) fn hopeful(&self) -> Vec<(Candidate, Values)> {
        let earliest = self.earliest();
        self.fitting()
            .map(|c| {
                let protocol = self.protocols[c.protocol];
                let s = &self.standings[c.protocol];
                let mut v = Values::none(s.rate.published);
                let mut best = *c;
                if self.group.days > 1 && may_spread(protocol) {
                    best.night = TimeDelta::zero();
                    best.broken = self.demands.of_protocol(protocol);
                }
                self.set_dates(&mut v, &best, earliest);
                v.set(Criterion::PercentOpen, 100.0 - s.rate.counted);
                if let (Some(cost), Some(pregnancy)) = (&s.cost, s.cost_a_pregnancy) {
                    v.set(Criterion::CostAHead, cost.total.0);
                    v.set(Criterion::CostAPregnancy, pregnancy.0);
                }
                let passes = s.passes + usize::from(s.breeding_apart);
                v.set(Criterion::Passes, passes as f64);
                v.set(Criterion::Days, s.days as f64);
                v.set(Criterion::WorkHours, s.hours.sum());
                (*c, v)
            })
            .collect()
    }

    /// The first day of a mean breeding.
    fn earliest(&self) -> Option<NaiveDate> {
        let zone = self.season.zone;
        self.fitting().map(|c| zone.date(c.mean)).min()
    }

    /// Values that hang on the dates.
    fn set_dates(&self, v: &mut Values, c: &Candidate, earliest: Option<NaiveDate>) {
        let mean = self.season.zone.date(c.mean);
        let late = earliest.map_or(0, |e| (mean - e).num_days());
        v.set(Criterion::Wishes, f64::from(c.broken.count_ones()));
        v.set(Criterion::NightHours, c.night.num_minutes() as f64 / 60.0);
        v.set(Criterion::CalvingDays, late.max(0) as f64);
    }

    pub(super) fn judge(
        &self,
        scene: &mut Scene<'_>,
        mut candidate: Candidate,
        hopeful: &Values,
    ) -> Result<Judged, Fault> {
        let group = self.group(&candidate);
        let (cover, spread) = scene.cover(&group)?;
        let dated = spread.as_ref().and_then(|spread| {
            let group = spread.of(&group);
            Candidate::of(self.season, &self.demands, candidate.protocol, &group)
        });
        candidate = dated.unwrap_or(candidate);
        let mut values = *hopeful;
        if group.days > 1 {
            self.set_dates(&mut values, &candidate, self.earliest());
        }
        values.set(Criterion::HeadNotBred, f64::from(cover.not_bred));
        values.set(Criterion::OtherHead, f64::from(cover.other_head));
        values.set(Criterion::ChuteQuarters, f64::from(cover.chute_quarters));
        values.set(Criterion::ShortMinutes, cover.short_minutes());
        Ok(Judged {
            candidate,
            values,
            cover,
            spread,
            points: values.points(&self.weights),
            equal: Vec::new(),
        })
    }
}

struct Queued {
    points: f64,
    values: Values,
    judged: Option<Judged>,
    candidate: Candidate,
}

impl PartialEq for Queued {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for Queued {}
impl PartialOrd for Queued {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Queued {
    /// By points; of equals the one that beats the other; then the one whose points are counted; then the
    /// earliest day, and on it the start nearest to eight in the morning.
    fn cmp(&self, other: &Self) -> Ordering {
        let place = |q: &Self| {
            let start = q.candidate.start;
            let eight = NaiveTime::MIN + TimeDelta::hours(8);
            let from_eight = (start.time() - eight).num_minutes().abs();
            (start.date(), from_eight, start, q.candidate.protocol)
        };
        let points = self.points.total_cmp(&other.points);
        points
            .then_with(|| self.values.order(&other.values))
            .then_with(|| self.judged.is_none().cmp(&other.judged.is_none()))
            .then_with(|| place(self).cmp(&place(other)))
    }
}

/// A candidate whose protocol has its rows.
struct PassedOver {
    candidate: Candidate,
    /// As good as hoped for, until counted.
    values: Values,
    counted: bool,
}

impl PassedOver {
    /// True if it beats another; counted once, and only if it might.
    fn beats(
        &mut self,
        other: &Values,
        field: &Field<'_>,
        scene: &mut Scene<'_>,
    ) -> Result<bool, Fault> {
        let beats = |values: &Values| values.beats(other, &field.weights);
        if !self.counted && beats(&self.values) {
            self.values = field.judge(scene, self.candidate, &self.values)?.values;
            self.counted = true;
        }
        Ok(beats(&self.values))
    }
}

/// The list, by points: at most `most` rows, and at most `each` of one protocol.
pub(super) fn shortlist(
    field: &Field<'_>,
    scene: &mut Scene<'_>,
    most: usize,
    each: usize,
) -> Result<Vec<Judged>, Fault> {
    let weights = &field.weights;
    let queued = |points, values, judged, candidate| {
        Reverse(Queued {
            points,
            values,
            judged,
            candidate,
        })
    };
    let hopeful = field.hopeful().into_iter();
    let mut queue: BinaryHeap<Reverse<Queued>> = hopeful
        .map(|(c, values)| queued(values.points(weights), values, None, c))
        .collect();
    let mut rows: Vec<Judged> = Vec::new();
    let mut of_protocol: BTreeMap<usize, usize> = BTreeMap::new();
    // Not listed, as its protocol has its rows; but what it beats is not listed either.
    let mut passed_over: Vec<PassedOver> = Vec::new();
    while let Some(Reverse(next)) = queue.pop() {
        let full = of_protocol
            .get(&next.candidate.protocol)
            .copied()
            .unwrap_or(0)
            >= each;
        let listed = rows.iter().position(|r| {
            r.candidate.protocol == next.candidate.protocol && r.values == next.values
        });
        let beaten = || rows.iter().any(|r| r.values.beats(&next.values, weights));
        if beaten() {
            continue;
        }
        if full && listed.is_none() {
            passed_over.push(PassedOver {
                counted: next.judged.is_some(),
                candidate: next.candidate,
                values: next.values,
            });
            continue;
        }
        match next.judged {
            None => {
                let judged = field.judge(scene, next.candidate, &next.values)?;
                let (points, values) = (judged.points, judged.values);
                queue.push(queued(points, values, Some(judged), next.candidate));
            }
            Some(judged) => match listed {
                Some(row) => rows[row].equal.push(judged.candidate.start),
                None if rows.len() < most => {
                    let mut beaten = false;
                    for other in &mut passed_over {
                        beaten = beaten || other.beats(&judged.values, field, scene)?;
                    }
                    if beaten {
                        continue;
                    }
                    *of_protocol.entry(next.candidate.protocol).or_default() += 1;
                    rows.push(judged);
                }
                None => break,
            },
        }
    }
    Ok(rows)
}
