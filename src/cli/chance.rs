//! How sure the planned sessions are.

use clap::Args;
use thawline::error::{Code, Error, Finding, quoted};
use thawline::plan::{Plan, Session};
use thawline::simulate::{self, SessionChance, Trial};

use super::asked::{Outcome, Printing, Run, SeasonFile};
use super::progress::Shown;
use super::reading::{planned, read};
use super::words::{beside, known, stopped};

/// Show how likely each session is to finish on time when cows take more or less time.
///
/// Each session is tried on thousands of days, every cow taking a time of her own: when the
/// last cow is bred, how often a cow is outside her AI window or a straw too late, and what other
/// numbers of straws at once would do. The same seed gives the same figures.
#[derive(Args)]
pub(super) struct Chances {
    #[command(flatten)]
    season: SeasonFile,
    /// Only this session, by id, as `thawline chance SEASON` shows it.
    #[arg(long, value_name = "ID")]
    session: Option<String>,
    /// Only the sessions of this technician, by id, and no tables of others.
    #[arg(long, value_name = "ID")]
    technician: Option<String>,
    /// Days tried for each session.
    #[arg(long, value_name = "N", default_value_t = Trial::default().runs, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    runs: u32,
    /// Another seed tries other days; the same one the same days.
    #[arg(long, value_name = "N", default_value_t = Trial::default().seed, allow_negative_numbers = true)]
    seed: u64,
    #[command(flatten)]
    printing: Printing,
}

impl Run for Chances {
    fn run(&self) -> Result<Outcome, Error> {
        let (mut season, found) = read(&self.season)?;
        if let Some(id) = &self.technician {
            let crew = season.crew.iter().map(|t| t.id.as_str());
            known("technician", id, crew, "see `crew` in the season file")?;
        }
        let watching = Shown::new();
        let plan = planned(&mut season, &self.season, &found, &watching)?;
        if let Some(id) = &self.session {
            let all = plan.sessions.iter().map(|s| s.id.as_str());
            known("session", id, all, "`thawline chance SEASON` shows the ids")?;
        }
        let trial = Trial {
            runs: self.runs,
            seed: self.seed,
            ..Trial::default()
        };
        let asked = |s: &&Session| self.session.as_ref().is_none_or(|id| *id == s.id);
        let asked = self.with_cows(&plan).filter(asked);
        let (mut sessions, mut not_tried): (Vec<SessionChance>, Vec<&str>) = Default::default();
        for s in asked {
            match simulate::of_session(&season, &plan, s, trial, &watching) {
                Some(tried) => sessions.push(only(tried, self.technician.as_deref())),
                None => not_tried.push(&s.id),
            }
        }
        drop(watching);
        let mut err = beside(&plan, &found);
        if !not_tried.is_empty() {
            err += &stopped(&not_tried.join(", "));
        }
        let nobody_asked = sessions.is_empty() && not_tried.is_empty();
        if nobody_asked && (self.session.is_some() || self.technician.is_some()) {
            return Err(nobody(self, &plan).into());
        }
        let told = simulate::collect(&season, trial, sessions);
        let well = plan.is_well() || !not_tried.is_empty();
        self.printing.answer(&told, err, well)
    }
}

impl Chances {
    /// The sessions that breed cows, with the technician that was asked for.
    fn with_cows<'a>(&self, plan: &'a Plan) -> impl Iterator<Item = &'a Session> {
        plan.sessions.iter().filter(|s| {
            let here = |id: &String| s.technicians.iter().any(|t| t.id == *id);
            s.head > 0 && self.technician.as_ref().is_none_or(here)
        })
    }
}

fn only(mut session: SessionChance, technician: Option<&str>) -> SessionChance {
    let asked = |id: &str| technician.is_none_or(|asked| asked == id);
    session.technicians.retain(|t| asked(&t.id));
    session
}

/// What was asked for is there, but breeds nobody.
fn nobody(args: &Chances, plan: &Plan) -> Finding {
    let named = |kind, id: &Option<String>| Some(format!("{kind} {}", quoted(id.as_ref()?)));
    let asked = [
        named("technician", &args.technician),
        named("session", &args.session),
    ];
    let asked: Vec<String> = asked.into_iter().flatten().collect();
    let with_cows = args.with_cows(plan).take(20).map(|s| format!("`{}`", s.id));
    let with_cows: Vec<String> = with_cows.collect();
    let what = format!("the plan breeds no cow for {}", asked.join(" at "));
    Finding::error(Code::UnknownId, what)
        .expected(if with_cows.is_empty() {
            "a technician who breeds in this plan".to_owned()
        } else {
            format!("one of the sessions {}", with_cows.join(", "))
        })
        .hint("`thawline plan SEASON` shows who breeds where")
}
