//! How sure a planned session is: it is played over and over, each cow taking a time of her own.
//!
//! The plan counts on the mean minutes a cow. Here every technician works through the plan's cows
//! in order, in rounds of straws (`day` says how), from the planned moment on, resting where the
//! plan rests. What is counted: cows bred outside their AI windows, straws too old in the cow, and when the
//! last cow is bred. The same is done for every number of straws at once, under the same luck.
//!
//! Not in it: tired technicians, broken things, cows that do not come, waiting for a box, coming
//! late from another site, shifts that end, and technicians who take over each other's cows.
//!
//! Days are played although `season::pace` has the chance of a late round in closed form. Alone that
//! formula is right but for the law (gamma here, normal there). With a helper it is not: the next
//! straws go in before the last cow is done, and a slow cow keeps loaded guns waiting. For the demo's
//! rounds of two with a helper that is 1.4 % of rounds in place of 0.1 %. And a session has many
//! rounds, so a risk of 5 % a round may be a straw too old on most days.

mod answer;
mod day;
mod law;
mod tally;
pub(crate) mod words;
mod work;

pub(crate) use work::rounds_of_plan;

use chrono::TimeDelta;

pub use answer::{
    ByStraws, Chance, FORMAT, Finish, MeanHead, PenChance, SeasonChance, SessionChance,
    TechnicianChance, Trial,
};
pub use law::Law;

use crate::base::progress::{NoProgress, Progress, Stage};
use crate::base::units::Seconds;
use crate::planning::plan::{Moment, Plan, Session};
use crate::trade::season::Season;
use crate::trade::season::pace::{MOST_STRAWS, rounds_of};
use day::{Day, Rounds};
use tally::{Sums, rounded};
use work::{CLOSE, Work};

/// Tries every session of a plan that breeds any cow. Each is judged on its own: a technician has
/// the same luck in all of them, so chances of several sessions must not be multiplied.
#[must_use]
pub fn of_season(season: &Season, plan: &Plan, trial: Trial) -> SeasonChance {
    let bred = plan.sessions.iter().filter(|s| s.head > 0);
    // Nobody stops it, so none is missing.
    let sessions = bred.filter_map(|s| of_session(season, plan, s, trial, &NoProgress));
    collect(season, trial, sessions.collect())
}

/// Sessions tried one by one, put together.
#[must_use]
pub fn collect(season: &Season, trial: Trial, sessions: Vec<SessionChance>) -> SeasonChance {
    SeasonChance {
        format: FORMAT.to_owned(),
        season: season.name.clone(),
        zone: season.zone.name().to_owned(),
        runs: trial.runs.max(1),
        seed: trial.seed,
        minutes_law: trial.law,
        bath_to_cow_minutes: rounded(season.rules.bath_to_cow.minutes()),
        notes: words::notes(season, trial, &sessions),
        sessions,
        clock: season.units.clock,
    }
}

/// Tries a session of a plan of this season. With the same trial, every technician meets the same
/// cows' minutes in any plan, so that plans can be compared. `None` if asked to stop before all days
/// were played, since fewer days would give other shares.
#[must_use]
pub fn of_session(
    season: &Season,
    plan: &Plan,
    session: &Session,
    trial: Trial,
    progress: &dyn Progress,
) -> Option<SessionChance> {
    /// Days between one look and the next.
    const LOOK: u32 = 100;
    let people = session.technicians.iter();
    let crew = people.filter_map(|at| Work::new(season, session, at));
    let crew: Vec<Work<'_>> = crew.filter(|w| !w.cows.is_empty()).collect();
    let mut tries: Vec<Try<'_>> = crew.iter().map(|w| Try::new(season, w, trial)).collect();
    let mut whole = Whole::new(session.pens.len(), trial);
    for run in 0..trial.runs.max(1) {
        if run % LOOK == 0 {
            if progress.stop() {
                return None;
            }
            progress.reached(Stage::Days, run as usize, trial.runs as usize);
        }
        let (mut finish, mut last_outside, mut late) = (f64::NEG_INFINITY, false, 0);
        for t in &mut tries {
            let day = t.play(trial.seed, run);
            late += day.late_straws;
            if day.finish > finish {
                finish = day.finish;
                last_outside = t.last_outside();
            }
            t.count_pens(&mut whole.today);
        }
        whole.end_day(finish, last_outside, late);
    }
    let moment = |seconds: f64| at(season, session, seconds);
    let left = plan.uncovered.iter().filter(|u| u.session == session.id);
    let pens = session.pens.iter().zip(&whole.pens);
    let pens = pens.map(|(pen, sums)| PenChance {
        group: pen.group.clone(),
        pen: pen.pen,
        name: plan.group_pen(&pen.group, pen.pen),
        head: pen.bred_head,
        any_cow_outside: sums.chance_of_any(),
        outside: sums.mean_head(),
    });
    let mut found = SessionChance {
        session: session.id.clone(),
        site: session.site.clone(),
        site_name: plan.site_name(&session.site).to_owned(),
        words: Vec::new(),
        head: crew.iter().map(|w| w.cows.len() as u32).sum(),
        not_planned_head: left.map(|u| u.head).sum(),
        planned_last_cow: session.last_cow.unwrap_or(session.close),
        last_cow: Finish::of(&mut whole.finish, moment),
        last_cow_outside: whole.last_outside.chance_of_any(),
        any_cow_outside: whole.outside.chance_of_any(),
        outside: whole.outside.mean_head(),
        any_straw_late: whole.late.chance_of_any(),
        pens: pens.collect(),
        technicians: tries
            .into_iter()
            .map(|t| t.answer(season, moment))
            .collect(),
    };
    found.words = words::session(season, trial, &found);
    Some(found)
}

/// A moment so many seconds after the session's base, rounded up to the second.
fn at(season: &Season, session: &Session, seconds: f64) -> Moment {
    let at = session.open.to_utc() + TimeDelta::seconds(seconds.ceil() as i64);
    season.zone.moment(at)
}

/// What is counted of a session as a whole.
struct Whole {
    finish: Vec<f64>,
    last_outside: Sums,
    outside: Sums,
    late: Sums,
    pens: Vec<Sums>,
    /// Cows bred outside their AI windows today, by pen.
    today: Vec<u32>,
}

impl Whole {
    fn new(pens: usize, trial: Trial) -> Self {
        Self {
            finish: Vec::with_capacity(trial.runs as usize),
            last_outside: Sums::default(),
            outside: Sums::default(),
            late: Sums::default(),
            pens: vec![Sums::default(); pens],
            today: vec![0; pens],
        }
    }

    fn end_day(&mut self, finish: f64, last_outside: bool, late: u32) {
        // A session without cows ends as it begins.
        self.finish
            .push(if finish.is_finite() { finish } else { 0.0 });
        self.last_outside.add(u32::from(last_outside));
        self.outside.add(self.today.iter().sum());
        self.late.add(late);
        for (sums, today) in self.pens.iter_mut().zip(&mut self.today) {
            sums.add(std::mem::take(today));
        }
    }
}

/// A technician's session, tried with every number of straws.
struct Try<'a> {
    work: &'a Work<'a>,
    draw: law::Draw,
    limit: f64,
    by_straws: Vec<Tried>,
    /// Of today: how long each cow takes, and when she is bred by the plan's rounds.
    times: Vec<f64>,
    bred: Vec<f64>,
    other: Vec<f64>,
}

struct Tried {
    rounds: Rounds,
    planned: bool,
    finish: Vec<f64>,
    worked: f64,
    late_rounds: Sums,
    late_straws: Sums,
    outside: Sums,
}

impl<'a> Try<'a> {
    fn new(season: &Season, work: &'a Work<'a>, trial: Trial) -> Self {
        let by_straws = (1..=MOST_STRAWS).map(|k| {
            let planned = k == work.at.straws_at_once;
            Tried {
                rounds: Rounds::new(&work.pace, &work.cows, k, planned),
                planned,
                finish: Vec::with_capacity(trial.runs as usize),
                worked: 0.0,
                late_rounds: Sums::default(),
                late_straws: Sums::default(),
                outside: Sums::default(),
            }
        });
        let none = vec![0.0; work.cows.len()];
        Self {
            work,
            draw: law::Draw::new(
                trial.law,
                work.pace.cow,
                work.of.spread_at(Seconds(work.pace.cow)).0,
            ),
            limit: season.rules.bath_to_cow.0,
            by_straws: by_straws.collect(),
            times: none.clone(),
            bred: none.clone(),
            other: none,
        }
    }

    /// Plays a day with every number of straws; says how it goes with the plan's.
    fn play(&mut self, seed: u64, run: u32) -> Day {
        let work = self.work;
        let mut rng = law::stream(seed, work.nth, run);
        self.draw.fill(&mut rng, &mut self.times);
        let mut by_plan = Day::default();
        for tried in &mut self.by_straws {
            let bred = if tried.planned {
                &mut self.bred
            } else {
                &mut self.other
            };
            let day = day::play(
                &work.pace,
                &tried.rounds,
                &work.cows,
                work.begins,
                &self.times,
                self.limit,
                bred,
            );
            let outside = bred.iter().zip(&work.cows).filter(|(b, c)| is_late(**b, c));
            tried.outside.add(outside.count() as u32);
            tried.finish.push(day.finish);
            tried.worked += day.finish - work.begins - day.idle;
            tried.late_rounds.add(day.late_full_rounds);
            tried.late_straws.add(day.late_straws);
            if tried.planned {
                by_plan = day;
            }
        }
        by_plan
    }

    fn last_outside(&self) -> bool {
        let last = self.bred.last().zip(self.work.cows.last());
        last.is_some_and(|(b, c)| is_late(*b, c))
    }

    fn count_pens(&self, today: &mut [u32]) {
        for (bred, cow) in self.bred.iter().zip(&self.work.cows) {
            today[cow.pen] += u32::from(is_late(*bred, cow));
        }
    }

    fn answer(self, season: &Season, moment: impl Fn(f64) -> Moment) -> TechnicianChance {
        let work = self.work;
        let steady = work.by_cow();
        TechnicianChance {
            id: work.at.id.clone(),
            name: work.of.name.clone(),
            helper: work.of.helper,
            head: work.cows.len() as u32,
            straws_at_once: work.at.straws_at_once,
            minutes_per_cow: rounded(work.pace.cow / 60.0),
            minutes_spread: rounded(work.of.spread_at(Seconds(work.pace.cow)).minutes()),
            spread_assumed: work.of.spread.is_none(),
            from_cows_per_hour: matches!(work.of.pace, crate::trade::season::Pace::Overall(_)),
            by_straws: self
                .by_straws
                .into_iter()
                .map(|mut tried| {
                    let k = tried.rounds.k;
                    let head = work.cows.len() as f64 * tried.finish.len() as f64;
                    ByStraws {
                        straws_at_once: k,
                        planned: tried.planned,
                        head_per_hour: rounded(head * 3600.0 / tried.worked.max(1e-9)),
                        last_cow: Finish::of(&mut tried.finish, &moment),
                        late_round: tried.late_rounds.chance_of_each(tried.rounds.full),
                        late_round_formula_percent: rounded(
                            rounds_of(&steady, &season.rules, k).map_or(100.0, |r| r.late * 100.0),
                        ),
                        late_session: tried.late_straws.chance_of_any(),
                        late_straws: tried.late_straws.mean_head(),
                        any_cow_outside: tried.outside.chance_of_any(),
                    }
                })
                .collect(),
        }
    }
}

/// Bred after her AI window. Before it nobody is.
fn is_late(bred: f64, cow: &day::Cow) -> bool {
    bred > cow.closes + CLOSE
}
