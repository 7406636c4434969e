//! How sure a planned session is: it is played over and over, each cow taking a time of her own.
//!
//! The plan counts on the mean minutes a cow. Here every technician works through the plan's cows
//! in order, in rounds of straws (`day` says how), from the planned moment on, resting where the
//! plan rests. What is counted: cows outside their hours, straws too old in the cow, and when the
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

mod day;
mod law;
mod tally;
pub(crate) mod words;
mod work;

pub(crate) use work::rounds_of_plan;

use chrono::TimeDelta;
use serde::Serialize;

pub use law::Law;

use crate::base::units::Seconds;
use crate::base::watch::{Stage, Unwatched, Watch};
use crate::planning::plan::{Moment, Plan, Session};
use crate::trade::season::Season;
use crate::trade::season::pace::{MOST_STRAWS, rounds_of};
use day::{Day, Rounds};
use tally::{Sums, quantiles, rounded};
use work::{CLOSE, Work};

/// Form and version of the JSON.
pub const FORMAT: &str = "thawline.chance/1";

/// How a session is tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trial {
    /// Days tried; none counts as one.
    pub runs: u32,
    /// The same seed gives the same days.
    pub seed: u64,
    /// The law of the minutes a cow.
    pub law: Law,
}

impl Default for Trial {
    fn default() -> Self {
        Self {
            runs: 10_000,
            seed: 1,
            law: Law::Gamma,
        }
    }
}

/// The sessions of a season, tried.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline chances of planned sessions")]
pub struct SeasonChance {
    /// `thawline.chance/1`.
    pub format: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local readings.
    pub zone: String,
    /// Days tried for each session.
    pub runs: u32,
    /// Seed of the draws.
    pub seed: u64,
    /// Law of the minutes a cow: gamma or lognormal.
    pub minutes_law: String,
    /// Most minutes from bath to cow, by the season's rules.
    pub bath_to_cow_minutes: f64,
    /// Sessions with cows to breed, by time.
    pub sessions: Vec<SessionChance>,
    /// What the figures rest on, in sentences, with sources.
    pub notes: Vec<String>,
}

/// One session, tried.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionChance {
    /// Id of the session.
    pub session: String,
    /// Site id.
    pub site: String,
    /// Name of the site.
    pub site_name: String,
    /// The answer, in sentences.
    pub words: Vec<String>,
    /// Head that the plan breeds here.
    pub head: u32,
    /// Head that the plan leaves out; in none of the figures.
    pub not_planned_head: u32,
    /// When the plan has the last cow bred.
    pub planned_last_cow: Moment,
    /// When the last cow is bred.
    pub last_cow: Finish,
    /// That the last cow of the day is outside her hours.
    pub last_cow_outside: Chance,
    /// That any cow is outside her hours.
    pub any_cow_outside: Chance,
    /// Cows outside their hours.
    pub outside: MeanHead,
    /// That any straw is older in the cow than the season allows.
    pub any_straw_late: Chance,
    /// Pens due here.
    pub pens: Vec<PenChance>,
    /// Technicians here.
    pub technicians: Vec<TechnicianChance>,
}

/// A pen of a session.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PenChance {
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group bred by heat.
    pub pen: Option<u32>,
    /// The pen in words.
    pub name: String,
    /// Head that the plan breeds.
    pub head: u32,
    /// That any of its cows is outside her hours.
    pub any_cow_outside: Chance,
    /// Cows outside their hours.
    pub outside: MeanHead,
}

/// A technician of a session.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TechnicianChance {
    /// Technician id.
    pub id: String,
    /// Name.
    pub name: String,
    /// True if a helper thaws and loads.
    pub helper: bool,
    /// Head that the plan gives to this technician.
    pub head: u32,
    /// Straws at once in the plan.
    pub straws_at_once: u32,
    /// Mean minutes a cow with loaded guns at hand.
    pub minutes_per_cow: f64,
    /// Standard deviation of the minutes a cow.
    pub minutes_spread: f64,
    /// True if the deviation is not from the season file: a third of the mean (common practice,
    /// no source).
    pub spread_assumed: bool,
    /// True if the minutes a cow were worked out from cows an hour, at the plan's straws at once.
    pub from_cows_per_hour: bool,
    /// The session with 1 to 10 straws at once, under the same luck.
    pub by_straws: Vec<ByStraws>,
}

/// A technician's session with a number of straws at once.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ByStraws {
    /// Straws at once.
    pub straws_at_once: u32,
    /// True if it is the plan's number.
    pub planned: bool,
    /// Head an hour at work: breaks of the plan and waits until hours open are left out.
    pub head_per_hour: f64,
    /// When this technician's last cow is bred.
    pub last_cow: Finish,
    /// That a full round's last straw is too old; none if no round is full.
    pub late_round: Option<Chance>,
    /// The same by the planner's formula: a normal law, and with a helper a technician who is
    /// always there when the first gun is ready.
    pub late_round_formula_percent: f64,
    /// That any straw of the session is too old.
    pub late_session: Chance,
    /// Straws of the session that are too old.
    pub late_straws: MeanHead,
    /// That any of this technician's cows is outside her hours.
    pub any_cow_outside: Chance,
}

/// A chance in percent, with the error of having tried only so many days.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Chance {
    /// Share of the days, or rounds, tried.
    pub percent: f64,
    /// Low end of its 95 % interval.
    pub low_percent: f64,
    /// High end of its 95 % interval.
    pub high_percent: f64,
}

/// A mean number of head, or of their straws, a day, with the error of having tried only so many
/// days.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeanHead {
    /// Mean of the days tried.
    pub mean_head: f64,
    /// Low end of its 95 % interval.
    pub low_head: f64,
    /// High end of its 95 % interval.
    pub high_head: f64,
}

/// When work ends: on so many percent of the days, not later than this. Rounded up to the second.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finish {
    /// On 5 % of the days.
    pub by_5_percent: Moment,
    /// On half of the days.
    pub by_50_percent: Moment,
    /// On 95 % of the days.
    pub by_95_percent: Moment,
}

impl ByStraws {
    /// True where nearly every round, and nearly every session, has a straw too old: more straws
    /// cannot be better.
    #[must_use]
    pub fn is_hopeless(&self) -> bool {
        self.late_round.is_none_or(|c| c.percent >= 99.0) && self.late_session.percent >= 99.0
    }
}

impl SeasonChance {
    /// The JSON Schema.
    #[must_use]
    pub fn schema() -> serde_json::Value {
        schemars::schema_for!(Self).to_value()
    }
}

/// Tries every session of a plan that breeds any cow. Each is judged on its own: a technician has
/// the same luck in all of them, so chances of several sessions must not be multiplied.
#[must_use]
pub fn of_season(season: &Season, plan: &Plan, trial: Trial) -> SeasonChance {
    let bred = plan.sessions.iter().filter(|s| s.head > 0);
    let sessions = bred.map(|s| of_session(season, plan, s, trial)).collect();
    collect(season, trial, sessions)
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
        minutes_law: trial.law.as_str().to_owned(),
        bath_to_cow_minutes: rounded(season.rules.bath_to_cow.minutes()),
        notes: words::notes(season, trial, &sessions),
        sessions,
    }
}

/// Tries a session of a plan of this season. With the same trial, every technician meets the same
/// cows' minutes in any plan, so that plans can be compared.
///
/// # Panics
/// Never: nobody asks it to stop.
#[must_use]
pub fn of_session(season: &Season, plan: &Plan, session: &Session, trial: Trial) -> SessionChance {
    of_session_watched(season, plan, session, trial, &Unwatched).expect("nobody stops it")
}

/// The same, with somebody looking on: `None` if asked to stop before all days were played, since fewer
/// days would give other shares.
#[must_use]
pub fn of_session_watched(
    season: &Season,
    plan: &Plan,
    session: &Session,
    trial: Trial,
    watch: &dyn Watch,
) -> Option<SessionChance> {
    /// Days between one look and the next.
    const LOOK: u32 = 100;
    let crew: Vec<Work<'_>> = session
        .technicians
        .iter()
        .filter_map(|at| Work::new(season, session, at))
        .filter(|w| !w.cows.is_empty())
        .collect();
    let mut tries: Vec<Try<'_>> = crew.iter().map(|w| Try::new(season, w, trial)).collect();
    let mut whole = Whole::new(session.pens.len(), trial);
    for run in 0..trial.runs.max(1) {
        if run % LOOK == 0 {
            if watch.stop() {
                return None;
            }
            watch.reached(Stage::Days, run as usize, trial.runs as usize);
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
    let mut found = SessionChance {
        session: session.id.clone(),
        site: session.site.clone(),
        site_name: plan.site_name(&session.site).to_owned(),
        words: Vec::new(),
        head: crew.iter().map(|w| w.cows.len() as u32).sum(),
        not_planned_head: plan
            .uncovered
            .iter()
            .filter(|u| u.session == session.id)
            .map(|u| u.head)
            .sum(),
        planned_last_cow: session.last_cow.unwrap_or(session.close),
        last_cow: Finish::of(&mut whole.finish, moment),
        last_cow_outside: whole.last_outside.chance_of_any(),
        any_cow_outside: whole.outside.chance_of_any(),
        outside: whole.outside.mean_head(),
        any_straw_late: whole.late.chance_of_any(),
        pens: session
            .pens
            .iter()
            .zip(&whole.pens)
            .map(|(pen, sums)| PenChance {
                group: pen.group.clone(),
                pen: pen.pen,
                name: plan.group_pen(&pen.group, pen.pen),
                head: pen.bred_head,
                any_cow_outside: sums.chance_of_any(),
                outside: sums.mean_head(),
            })
            .collect(),
        technicians: tries.into_iter().map(|t| t.told(season, moment)).collect(),
    };
    found.words = words::session(season, trial, &found);
    Some(found)
}

/// A moment so many seconds after the session's base, rounded up to the second.
fn at(season: &Season, session: &Session, seconds: f64) -> Moment {
    let at = work::base(session).to_utc() + TimeDelta::seconds(seconds.ceil() as i64);
    let offset = chrono::FixedOffset::east_opt(season.zone.offset_seconds(at));
    at.with_timezone(&offset.expect("zone offsets are below a day"))
}

impl Finish {
    fn of(values: &mut [f64], moment: impl Fn(f64) -> Moment) -> Self {
        let [low, middle, high] = quantiles(values).map(moment);
        Self {
            by_5_percent: low,
            by_50_percent: middle,
            by_95_percent: high,
        }
    }
}

/// What is counted of a session as a whole.
struct Whole {
    finish: Vec<f64>,
    last_outside: Sums,
    outside: Sums,
    late: Sums,
    pens: Vec<Sums>,
    /// Cows outside their hours today, by pen.
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

    fn told(self, season: &Season, moment: impl Fn(f64) -> Moment) -> TechnicianChance {
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

/// Bred after her hours. Before them nobody is.
fn is_late(bred: f64, cow: &day::Cow) -> bool {
    bred > cow.closes + CLOSE
}
