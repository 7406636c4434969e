//! Protocol x group x start: dated passes with their hours, and who is due to be bred when.
//! Pure arithmetic; knows no crew.
//!
//! Pens of a group are worked one after the other. Each pen keeps its own timeline: its first
//! pass begins when the pen before it is through, or at a start of its own, and its later passes
//! count from its own.
//! Where a pen would have to enter the chute while the pen before it is still in it, it waits,
//! and a finding says so.

mod due;
mod half;
mod heat;
mod pass;
mod rules;

use chrono::{NaiveDate, TimeDelta};

pub use due::{Due, Hours, Synchronizing, Turn};
pub use half::{Half, HalfOfDay};
pub use heat::{Band, HalfDay, Heats};
pub use pass::{Pass, Work};

use due::{begin_hours, instant_pace};

use crate::base::error::Finding;
use crate::base::time::Instant;
use crate::base::units::Head;
use crate::trade::protocol::{Action, Anchor, Caution, Delay, Kind, Step, Window};
use crate::trade::season::{Group, Order, PenStarts, Season, Site};

/// The dated season before anyone is assigned.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DatedSeason {
    /// Passes, ordered by start, then group, pen and step.
    pub passes: Vec<Pass>,
    /// Pens due at set hours, in the same order.
    pub dues: Vec<Due>,
    /// Groups bred by detected heat of whom somebody says when heat comes, by their place.
    pub heats: Vec<Heats>,
    /// What was noticed.
    pub findings: Vec<Finding>,
}

impl DatedSeason {
    /// Dues alone, in the order of their hours: to count what can be bred of them.
    pub(crate) fn of(mut dues: Vec<Due>) -> Self {
        dues.sort_by_key(Due::place);
        Self {
            dues,
            ..Self::default()
        }
    }
}

/// Dates every pass of every group, and says what was noticed.
#[must_use]
pub fn date(season: &Season) -> DatedSeason {
    let mut dated = date_groups(season, &season.groups);
    let passes = &dated.passes;
    let mut findings = std::mem::take(&mut dated.findings);
    for (n, group) in season.groups.iter().enumerate() {
        let heats = dated.heats.iter().find(|h| h.group == n);
        findings.extend(rules::bred_by_heat(season, group, heats));
    }
    findings.extend(rules::chute_busy(season, passes));
    findings.extend(rules::free_hours(season, passes));
    findings.extend(rules::clock_changes(season, passes));
    findings.extend(passes.iter().filter_map(|p| rules::night_hours(season, p)));
    dated.findings = findings;
    dated
}

/// Dates every pass of these groups; of what can be noticed, only what each group shows alone.
/// Groups are numbered by their place in the list.
#[must_use]
pub fn date_groups(season: &Season, groups: &[Group]) -> DatedSeason {
    let mut dated = DatedSeason::default();
    for (g, group) in groups.iter().enumerate() {
        let mut timeline = Timeline {
            season,
            group: g,
            of: group,
            own: dated.passes.len(),
            out: &mut dated,
            heats: None,
            heats_asked: false,
        };
        timeline.run();
        let heats = timeline.heats.take();
        dated.heats.extend(heats);
    }
    let passes = &mut dated.passes;
    passes.sort_by_key(|p| (p.start, p.group, p.pen, p.step, p.half_day));
    dated.dues.sort_by_key(Due::place);
    dated
}

struct Timeline<'a> {
    season: &'a Season,
    group: usize,
    of: &'a Group,
    out: &'a mut DatedSeason,
    /// Where the passes of this group begin.
    own: usize,
    heats: Option<Heats>,
    /// True once heats were planned, or found not to be known.
    heats_asked: bool,
}

impl Timeline<'_> {
    fn run(&mut self) {
        let steps = &self.of.protocol.steps;
        let pens = self.of.pens.len();
        // starts[pen][step]
        let mut starts: Vec<Vec<Instant>> = vec![Vec::with_capacity(steps.len()); pens];
        let first = self.season.zone.resolve(self.of.start);
        if let Some(doubt) = first.doubt {
            self.out
                .findings
                .push(rules::clock_doubt(self.season, self.of, doubt));
        }
        let pen_start = self.pen_starts(first.at);
        let mut in_order: Vec<usize> = (0..pens).collect();
        in_order.sort_by_key(|pen| pen_start[*pen]);
        for (n, step) in steps.iter().enumerate() {
            let mut chute_free: Option<Instant> = None;
            // The whole group is fed and watched as one, from its start or its first pen's.
            let as_one = step.lasts_days.is_some();
            let first_pen = match step.anchor {
                Anchor::Step(a) => starts.iter().filter_map(|s| s.get(a)).min().copied(),
                Anchor::Start => None,
            };
            let own_starts = matches!(self.of.pen_starts, PenStarts::Given(_));
            let own_base = |pen: usize, starts: &[Vec<Instant>]| match step.anchor {
                Anchor::Start => pen_start[pen],
                Anchor::Step(a) if steps[a].lasts_days.is_some() => {
                    let later = if own_starts {
                        pen_start[pen] - first.at
                    } else {
                        TimeDelta::zero()
                    };
                    starts[0][a] + later
                }
                Anchor::Step(a) => starts[pen][a],
            };
            let base_of = |pen: usize, starts: &[Vec<Instant>]| match first_pen {
                _ if !as_one => own_base(pen, starts),
                Some(base) => base,
                None => first.at,
            };
            let days = as_one.then(|| self.days(step, pens, &|pen| own_base(pen, &starts)));
            if step.actions.contains(&Action::InseminateRest) {
                let bases: Vec<Instant> = (0..pens).map(|p| base_of(p, &starts)).collect();
                self.by_heat(&pen_start, &starts, Some((step, &bases)));
            }
            for pen in in_order.iter().copied() {
                let base = base_of(pen, &starts);
                let start = self.place(n, step, pen, base, days.flatten(), &mut chute_free);
                starts[pen].push(start);
            }
        }
        self.by_heat(&pen_start, &starts, None);
        self.remarks();
    }

    /// The days of a watch that counts from the first pen on: until the last pen has been watched for
    /// its days, too, though its turn came after midnight. A group is fed as one: more days would be
    /// more than its protocol.
    fn days(
        &self,
        step: &Step,
        pens: usize,
        base: &dyn Fn(usize) -> Instant,
    ) -> Option<(NaiveDate, NaiveDate)> {
        let zone = self.season.zone;
        let of = |pen: usize| step.days_of(zone, step.due(zone, base(pen)).at);
        let fed = step.actions.contains(&Action::FeedMga);
        let own = (0..pens).filter(|_| !fed).filter_map(of);
        own.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }

    /// Plans those bred by detected heat, once: before the rest of them is bred, or at the end.
    fn by_heat(
        &mut self,
        pen_start: &[Instant],
        starts: &[Vec<Instant>],
        rest: Option<(&Step, &[Instant])>,
    ) {
        let watched = [Kind::EstrusDetection, Kind::EstrusDetectionThenTimed];
        if self.heats_asked || !watched.contains(&self.of.protocol.kind) {
            return;
        }
        self.heats_asked = true;
        let zone = self.season.zone;
        let pens: Vec<heat::Pen<'_>> = (0..self.of.pens.len())
            .map(|p| heat::Pen {
                head: self.of.pens[p],
                start: pen_start[p],
                steps: &starts[p],
                clean_up: rest.map(|(step, bases)| step.due(zone, bases[p]).at),
            })
            .collect();
        let in_heat = self.planned_in_heat();
        let breeds = |n: usize| self.of.protocol.steps[n].is_heat_breeding();
        let watches = self.out.passes[self.own..]
            .iter()
            .filter(|p| breeds(p.step));
        let watches = watches.filter_map(|p| p.days.map(|(first, last)| (p.step, first, last)));
        let watches: Vec<_> = watches.collect();
        let heats = heat::forecast(self.season, self.group, self.of, &pens, &watches, in_heat);
        let Some(heats) = heats else { return };
        for half_day in &heats.half_days {
            let head = half_day.head;
            if head == 0 {
                continue;
            }
            let due = heats.due(self.season, self.of.site, half_day, head);
            let start = half_day.check + due.window.aim;
            self.out.passes.push(Pass {
                group: self.group,
                pen: 0,
                step: half_day.step,
                half_day: Some(half_day.half),
                work: Work::Breeding,
                days: None,
                start,
                end: start,
                head: due.head,
                hours: Some(due.safe_hours()),
                cautions: cautions(&[Action::InseminateInHeat]),
                doubt: None,
            });
            self.out.dues.push(due);
        }
        self.heats = Some(heats);
    }

    /// Each pen's own start: as given, or when the pens before it are through the first step's
    /// chute work.
    fn pen_starts(&mut self, group: Instant) -> Vec<Instant> {
        if let PenStarts::Given(starts) = &self.of.pen_starts {
            return starts
                .iter()
                .map(|local| {
                    let start = self.season.zone.resolve(*local);
                    if let Some(doubt) = start.doubt {
                        let finding = rules::clock_doubt(self.season, self.of, doubt);
                        self.out.findings.push(finding);
                    }
                    start.at
                })
                .collect();
        }
        let at_start = |s: &&Step| s.is_chute_work() && s.anchor == Anchor::Start;
        let first_step = self.of.protocol.steps.iter().find(at_start);
        let mut free_from = group;
        let mut starts = Vec::with_capacity(self.of.pens.len());
        for head in &self.of.pens {
            starts.push(free_from);
            if let Some(step) = first_step {
                free_from += TimeDelta::seconds(self.site().pace(step).seconds_for(*head));
            }
        }
        starts
    }

    /// Adds the pass of one pen for one step, and says when it starts.
    fn place(
        &mut self,
        n: usize,
        step: &Step,
        pen: usize,
        base: Instant,
        watch: Option<(NaiveDate, NaiveDate)>,
        chute_free: &mut Option<Instant>,
    ) -> Instant {
        let zone = self.season.zone;
        let head = self.of.pens[pen];
        let at = step.due(zone, base);
        let mut pass = Pass {
            group: self.group,
            pen,
            step: n,
            half_day: None,
            work: Work::Chute,
            days: None,
            start: at.at,
            end: at.at,
            head,
            hours: None,
            cautions: cautions(&step.actions),
            doubt: at.doubt,
        };
        if let Some(doubt) = pass.doubt {
            self.out
                .findings
                .push(rules::clock_doubt(self.season, self.of, doubt));
        }
        if let Some((first, last)) = step.days_of(zone, pass.start) {
            let last = watch.map_or(last, |w| w.1.max(last));
            pass.work = if step.actions.contains(&Action::FeedMga) {
                Work::Feeding
            } else {
                Work::HeatWatch
            };
            pass.days = Some((first, last));
            pass.end = zone
                .same_clock(pass.start, (last - first).num_days() as u32)
                .at;
        } else if let (true, Delay::Elapsed(window)) = (step.is_timed_breeding(), step.delay) {
            let due = self.due(n, step, pen, base, window);
            pass.work = Work::Breeding;
            pass.hours = Some(due.safe_hours());
            pass.head = due.head;
            if due.head > Head(0) {
                self.out.dues.push(due);
            }
        } else {
            self.in_chute(step, base, &mut pass, chute_free);
        }
        let start = pass.start;
        if step.lasts_days.is_none() {
            self.out.passes.push(pass);
        } else if pen == 0 {
            pass.head = self.of.head();
            self.out.passes.push(pass);
        }
        start
    }

    /// Sets a pass's hours in the chute, which is free from a moment on.
    fn in_chute(
        &mut self,
        step: &Step,
        base: Instant,
        pass: &mut Pass,
        chute_free: &mut Option<Instant>,
    ) {
        let (n, pen) = (pass.step, pass.pen);
        let long = TimeDelta::seconds(self.site().pace(step).seconds_for(pass.head));
        let counted = match step.delay {
            Delay::Elapsed(window) => Some((window, self.anchor_pass(step, pen, base))),
            Delay::Days(_) => None,
        };
        if let Some((window, anchor)) = &counted {
            let taken = anchor.end() - anchor.start;
            // From middle to middle, so that a slower chute is early and late by as much.
            // To the minute: nobody starts a pass by the second.
            let half = TimeDelta::minutes((taken - long).num_minutes() / 2);
            let middle = pass.start + half;
            let hours = begin_hours(self.of.order, anchor, window, long, middle);
            pass.start = hours.aim;
            pass.hours = Some(hours);
        }
        if let Some(free) = *chute_free
            && pass.start < free
        {
            let start = pass.start;
            let shifted = rules::pen_shifted(self.season, self.of, pen, n, start, free);
            self.out.findings.push(shifted);
            pass.start = free;
        }
        pass.end = pass.start + long;
        *chute_free = Some(pass.end);
        if let Some((window, anchor)) = &counted {
            let late = rules::outside_window(self.season, self.of, n, anchor, window, pass);
            self.out.findings.extend(late);
        }
    }

    fn due(&self, n: usize, step: &Step, pen: usize, base: Instant, window: Window) -> Due {
        let share = self.share_of(step, pen);
        Due {
            group: self.group,
            pen,
            step: n,
            half_day: None,
            site: self.of.site,
            head: share,
            // Which animals of a pen a share will be is not known: the hours must suit any of them.
            order: if share == self.of.pens[pen] {
                self.of.order
            } else {
                Order::Mixed
            },
            from: self.anchor_pass(step, pen, base),
            window,
            turn: None,
        }
    }

    /// How many of a pen are planned to be bred in a step.
    fn share_of(&self, step: &Step, pen: usize) -> Head {
        let head = self.of.pens[pen];
        if let (Some(heats), true) = (&self.heats, step.actions.contains(&Action::InseminateRest)) {
            return Head(head.0 - heats.by_pen[pen]);
        }
        let in_heat = self.planned_in_heat();
        let bred_in_heat = |share: f64| Head((f64::from(head.0) * share / 100.0).round() as u32);
        match (in_heat, &step.actions) {
            (Some(share), actions) if actions.contains(&Action::InseminateInHeat) => {
                bred_in_heat(share)
            }
            (Some(share), actions) if actions.contains(&Action::InseminateRest) => {
                Head(head.0 - bred_in_heat(share).0)
            }
            _ => head,
        }
    }

    /// Percent of the group planned to be seen in heat, if anybody says.
    fn planned_in_heat(&self) -> Option<f64> {
        let published = || self.of.published_in_heat().map(|[_, expected, _]| expected);
        self.of.in_heat_percent.or_else(published)
    }

    /// The pass a step's hours count from. Feeding and the start have no chute: everyone at once.
    fn anchor_pass(&self, step: &Step, pen: usize, base: Instant) -> Synchronizing {
        let head = self.of.pens[pen];
        let anchor = match step.anchor {
            Anchor::Start => None,
            Anchor::Step(a) => Some(&self.of.protocol.steps[a]),
        };
        let pace = anchor
            .filter(|s| s.is_chute_work())
            .map_or_else(|| instant_pace(head), |s| self.site().pace(s));
        Synchronizing {
            start: base,
            head,
            pace,
        }
    }

    fn site(&self) -> &Site {
        &self.season.sites[self.of.site]
    }

    fn remarks(&mut self) {
        if matches!(
            self.of.protocol.kind,
            Kind::SplitTime | Kind::EstrusDetectionThenTimed
        ) && self.heats.is_none()
        {
            let share = self.planned_in_heat();
            self.out.findings.push(rules::share_assumed(self.of, share));
        }
    }
}

fn cautions(actions: &[Action]) -> Vec<Caution> {
    Caution::ALL
        .into_iter()
        .filter(|c| actions.iter().any(|a| a.cautions().contains(c)))
        .collect()
}
