//! Can this crew breed this group, and if not, what is the cheapest change that makes it work?
//!
//! [`assess`] reads the question (`question`), plans the season with the crew asked about, and takes
//! the figures from that plan (`figures`). How large a group so many technicians cover is found by
//! counting as the plan counts (`largest`). Where it falls short, every kind of change (`remedies`,
//! each a [`Change`]) is climbed from the least on (`search`; `enumerate` where that finds nothing):
//! counted by `evaluate`, which leaves out what no plan could cover, and planned and verified before it
//! is shown (`rank`).

mod answer;
mod candidate;
mod change;
mod enumerate;
mod evaluate;
mod figures;
mod largest;
mod near;
mod question;
mod rank;
mod remedies;
mod scope;
mod search;
mod verdict;
mod words;
mod workday;

pub use answer::{
    Asked, AtWork, Cow, FORMAT, Largest, LargestRow, Limit, PenFigures, Remedies, Remedy,
    SessionFigures, Staffing, Tried, Verdict,
};
pub use change::{Change, OfGroup};
pub use question::{Crew, Question};
use question::{MANY_GROUPS, left_in};

use crate::base::error::{Error, Finding};
use crate::base::progress::Progress;
use crate::base::units::Head;
use crate::planning::plan::{DuePen, Plan, Session, site_of_session};
use crate::planning::{crew, dating};
use crate::service::pipeline::{self, Options};
use crate::trade::protocol::Library;
use crate::trade::season::{PenStarts, Season, Technician};
use evaluate::{Evaluator, Target};
use remedies::Neighborhood;

/// Sessions that are looked at closely, and those that remedies are looked for.
const MOST_CLOSE: usize = 3;
const MOST_REMEDIED: usize = 2;

/// The answer, and the seasons behind it.
#[derive(Clone, Debug)]
pub struct Assessment {
    /// The answer.
    pub answer: Staffing,
    /// The season with the crew asked about.
    pub season: Season,
    /// For each of [`Staffing::remedies`]: the changed season of each that covers, then of each that
    /// lessens.
    pub changed: Vec<Vec<Season>>,
}

/// Answers a question. Asked to stop, it answers with what it has, and says what it did not try.
///
/// # Errors
/// A finding for an id that names nothing, for more technicians than there are, and for each group
/// that has wishes in place of a protocol and a start. An internal error if a plan fails.
pub fn assess(
    season: &Season,
    library: &Library,
    question: &Question,
    progress: &dyn Progress,
) -> Result<Assessment, Error> {
    let group = question.group.as_deref();
    let group = group.map(|id| question::group(season, id)).transpose()?;
    let open: Vec<Finding> = season.open.iter().map(pipeline::still_open).collect();
    if !open.is_empty() {
        return Err(Error::input(open));
    }
    let site = match (group, &question.session) {
        (Some(group), _) => Some(season.groups[group].site),
        (None, Some(id)) => site_of_session(season, &dating::date(season), id),
        (None, None) => None,
    };
    let (mut season, left_out) = question::with_crew(season, question, site)?;
    let options = Options {
        progress,
        ..Options::default()
    };
    let plan = pipeline::plan_with(&season, &[], options)?;
    let question = &question.in_plan(&plan)?;
    let pinned = pin_pen_starts(&mut season, &plan);
    // Where some are not bred a plan may be made in finer steps, so changes are counted in them.
    let fine = match plan.verdict.uncovered_head {
        0 => None,
        _ => crew::finest(&season, &dating::date(&season).dues),
    };

    let asked: Vec<&Session> = plan.sessions.iter().filter(|s| question.is_of(s)).collect();
    let (close, falls_short) = looked_at(&plan, &asked, question);
    let figures = asked.iter().map(|s| figures::figures(&season, &plan, s));
    let mut sessions: Vec<SessionFigures> = figures.collect();
    let within = Within {
        season: fine.as_ref().unwrap_or(&season),
        plan: &plan,
        library,
        left_out: &left_out,
        pinned: &pinned,
        progress,
    };
    let mut not_tried = Vec::new();
    let largest = within.closely(&close, question, &mut sessions, &mut not_tried)?;
    let short = &close[..falls_short.min(close.len())];
    let (remedies, changed) = within.remedies(short, question, group, &mut not_tried)?;
    let ids = |all: &[Technician]| all.iter().map(|t| t.id.to_string()).collect();
    let asked_for = Asked {
        group: question.group.clone(),
        session: question.session.clone(),
        technicians: ids(&season.crew),
        crew_words: question.crew.words(),
        left_out: ids(&left_out),
        least_margin_minutes: question.least_margin_minutes,
    };
    let answer = Staffing {
        format: FORMAT.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        season: season.name.clone(),
        zone: season.zone.name().to_owned(),
        verdict: verdict::verdict(&season, &plan, &asked, question, group),
        asked: asked_for,
        sessions,
        largest,
        remedies,
        not_tried,
        clock: season.units.clock,
    };
    Ok(Assessment {
        answer,
        season,
        changed,
    })
}

/// The sessions that are looked at closely, and how many fall short: those with most head left first;
/// or the tightest, where none does.
fn looked_at<'a>(
    plan: &Plan,
    asked: &[&'a Session],
    question: &Question,
) -> (Vec<&'a Session>, usize) {
    let left = |s: &Session| left_in(plan, s, question);
    let thin = |s: &Session| s.margin_minutes < question.least_margin_minutes;
    let mut close: Vec<&Session> = asked
        .iter()
        .copied()
        .filter(|s| left(s) > 0 || thin(s))
        .collect();
    close.sort_by_key(|s| (std::cmp::Reverse(left(s)), s.margin_minutes, s.open));
    let falls_short = close.len();
    if close.is_empty() {
        let tightest = asked.iter().copied();
        close.extend(tightest.min_by_key(|s| (s.margin_minutes, s.margin_head)));
    }
    close.truncate(MOST_CLOSE);
    (close, falls_short)
}

/// The season with the crew asked about, its plan, and all that changes are made of.
struct Within<'a> {
    season: &'a Season,
    plan: &'a Plan,
    library: &'a Library,
    left_out: &'a [Technician],
    pinned: &'a [(usize, &'static str)],
    progress: &'a dyn Progress,
}

impl Within<'_> {
    /// What limits cost in the sessions looked at closely, and the largest group of each.
    fn closely(
        &self,
        close: &[&Session],
        question: &Question,
        sessions: &mut [SessionFigures],
        not_tried: &mut Vec<String>,
    ) -> Result<Vec<Largest>, Error> {
        let mut all: Vec<Largest> = Vec::new();
        for s in close {
            let Some(g) = first_group(self.season, s, question) else {
                continue;
            };
            if let Some(mine) = sessions.iter_mut().find(|f| f.id == s.id) {
                mine.looked_at_closely = true;
                if self.progress.stop() {
                    not_tried.push(format!("what limits {} cost", s.id));
                } else {
                    mine.limits = figures::limits(self.season, g)?;
                }
            }
            let id = self.season.groups[g].id.as_str();
            if all.iter().all(|l| l.group != id) {
                all.push(largest::largest(
                    self.season,
                    self.left_out,
                    g,
                    self.progress,
                )?);
                if self.progress.stop() {
                    not_tried.push(format!("every size of the group {id}"));
                }
            }
        }
        Ok(all)
    }

    fn remedies(
        &self,
        short: &[&Session],
        question: &Question,
        group: Option<usize>,
        not_tried: &mut Vec<String>,
    ) -> Result<(Vec<Remedies>, Vec<Vec<Season>>), Error> {
        let mut remedies = Vec::new();
        let mut changed = Vec::new();
        let most = if self.season.groups.len() > MANY_GROUPS {
            1
        } else {
            MOST_REMEDIED
        };
        for s in short.iter().take(most) {
            if self.progress.stop() {
                not_tried.push(format!("what would cover {}", s.id));
                continue;
            }
            let mut target = Target::of(self.season, self.plan, s);
            if let Some(g) = group {
                target.keep(g);
            }
            let evaluator = Evaluator::new(
                self.season,
                self.plan,
                target,
                question.least_margin_minutes,
                self.progress,
            );
            let field = Neighborhood {
                evaluator: &evaluator,
                library: self.library,
                left_out: self.left_out,
                pinned: self.pinned,
                beside: evaluator.beside(),
                fine: true,
            };
            let (found, seasons) = rank::remedies(&field, &s.id, not_tried)?;
            remedies.push(found);
            changed.push(seasons);
        }
        Ok((remedies, changed))
    }
}

/// The group of a session that is looked at: the one asked about, or the one with most head left.
fn first_group(season: &Season, session: &Session, question: &Question) -> Option<usize> {
    let left = |id: &str| -> u32 {
        let mine = session.pens.iter().filter(|p| p.group == id);
        mine.map(|p| p.head - p.bred_head).sum()
    };
    let asked = |p: &&DuePen| question.group.as_ref().is_none_or(|g| *g == p.group);
    let pens = session.pens.iter().filter(asked).map(|p| p.group.as_str());
    // The first of equals.
    let id = pens.rev().max_by_key(|id| left(id))?;
    season.groups.iter().position(|g| g.id.as_str() == id)
}

/// Starts that the plan found for pens are taken as given: a change is a change to these. Says which
/// groups have such, by which key.
fn pin_pen_starts(season: &mut Season, plan: &Plan) -> Vec<(usize, &'static str)> {
    let mut pinned = Vec::new();
    for (n, group) in season.groups.iter_mut().enumerate() {
        let key = match group.pen_starts {
            PenStarts::Until(_) => "latest_start",
            _ if group.days > 1 => "days",
            _ => continue,
        };
        let planned = plan.group(group.id.as_str());
        match planned.and_then(|g| Some((g, g.pen_starts.as_ref()?))) {
            Some((planned, starts)) => {
                pinned.push((n, key));
                group.pens = planned.pen_head.iter().map(|h| Head(*h)).collect();
                group.days = 1;
                group.pen_starts =
                    PenStarts::Given(starts.iter().map(chrono::DateTime::naive_local).collect());
            }
            None if key == "latest_start" => group.pen_starts = PenStarts::InTurn,
            None => {}
        }
    }
    pinned
}
