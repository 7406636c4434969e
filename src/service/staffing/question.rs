//! What is asked: which sessions, by whom. Ids become what they name, or an error with the nearest.

use std::cmp::Reverse;

use crate::base::error::{Code, Error, Finding, unknown_id};
use crate::planning::plan::{Plan, Session};
use crate::trade::season::pace::rounds_at;
use crate::trade::season::{Season, Technician};

/// Who is counted on.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Crew {
    /// Everyone.
    #[default]
    All,
    /// So many, the fastest by whole rounds at the site asked about, thawing and loading counted.
    Fastest(u32),
    /// These, by id.
    Named(Vec<String>),
}

impl Crew {
    /// As written on the command line: a number, or ids with commas between. A number that is
    /// somebody's id names that person.
    #[must_use]
    pub fn parse(text: &str, season: &Season) -> Self {
        let is_id = |id: &str| season.crew.iter().any(|t| t.id.as_str() == id);
        if !is_id(text.trim())
            && let Ok(number) = text.trim().parse()
        {
            return Self::Fastest(number);
        }
        Self::Named(text.split(',').map(|id| id.trim().to_owned()).collect())
    }

    pub(super) fn words(&self) -> String {
        match self {
            Self::All => "the whole crew".to_owned(),
            Self::Fastest(1) => {
                "the fastest technician by whole rounds, thawing and loading counted".to_owned()
            }
            Self::Fastest(n) => {
                format!("the {n} fastest by whole rounds, thawing and loading counted")
            }
            Self::Named(ids) if ids.len() == 1 => "one technician".to_owned(),
            Self::Named(ids) => format!("{} technicians", ids.len()),
        }
    }
}

/// A finding for an id that names nothing: the nearest, and what there is.
fn unknown<'a>(what: &str, id: &str, known: impl Iterator<Item = &'a str> + Clone) -> Finding {
    let none = format!("a season with a {what}");
    let see = "see the season file, or `thawline cover` without it, which lists all";
    unknown_id(what, id, known, &none, see)
}

/// The group asked about, by its place in the season; open groups are for `choose`.
pub(super) fn group(season: &Season, id: &str) -> Result<usize, Error> {
    if let Some(n) = season.groups.iter().position(|g| g.id.as_str() == id) {
        return Ok(n);
    }
    if let Some(open) = season.open.iter().find(|g| g.id.as_str() == id) {
        return Err(crate::service::pipeline::still_open(open).into());
    }
    let ids = season.groups.iter().map(|g| g.id.as_str());
    let open = season.open.iter().map(|g| g.id.as_str());
    Err(unknown("group", id, ids.chain(open)).into())
}

/// Technicians of a season, the fastest first: whole rounds, thawing and loading counted, at a
/// site, or at the site where each is fastest.
pub(super) fn fastest_first(season: &Season, site: Option<usize>) -> Vec<usize> {
    let pace = |t: &Technician| -> i64 {
        let sites = season.sites.iter().enumerate();
        let rates = sites
            .filter(|(n, _)| site.is_none_or(|s| s == *n))
            .filter_map(|(_, s)| Some(rounds_at(season, t, s)?.cows_per_hour()));
        (rates.fold(0.0, f64::max) * 1e6) as i64
    };
    let mut order: Vec<usize> = (0..season.crew.len()).collect();
    order.sort_by_key(|n| (Reverse(pace(&season.crew[*n])), *n));
    order
}

/// The season with the crew asked about, and who is left out.
pub(super) fn with_crew(
    season: &Season,
    question: &Question,
    site: Option<usize>,
) -> Result<(Season, Vec<Technician>), Error> {
    let keep: Vec<usize> = match &question.crew {
        Crew::All => (0..season.crew.len()).collect(),
        Crew::Fastest(number) => {
            let all = season.crew.len();
            let number = *number as usize;
            if number == 0 || number > all {
                let what = format!("{number} technicians are asked about; the season has {all}");
                return Err(Finding::error(Code::OutOfRange, what)
                    .expected(format!("a number from 1 to {all}, or ids of technicians"))
                    .hint("for people the season does not have yet, see the table of the largest groups")
                    .into());
            }
            let mut first = fastest_first(season, site);
            first.truncate(number);
            first
        }
        Crew::Named(ids) => {
            let known = season.crew.iter().map(|t| t.id.as_str());
            let place = |id: &String| known.clone().position(|k| k == id);
            let wrong: Vec<Finding> = ids
                .iter()
                .filter(|id| place(id).is_none())
                .map(|id| unknown("technician", id, known.clone()))
                .collect();
            if !wrong.is_empty() {
                return Err(Error::input(wrong));
            }
            ids.iter().filter_map(place).collect()
        }
    };
    let mut asked = season.clone();
    let mut left_out = Vec::new();
    asked.crew.clear();
    for (n, technician) in season.crew.iter().enumerate() {
        if keep.contains(&n) {
            asked.crew.push(technician.clone());
        } else {
            left_out.push(technician.clone());
        }
    }
    Ok((asked, left_out))
}

/// With more groups than these, remedies are looked for in one session at a time: each is planned
/// with the whole season.
pub(super) const MANY_GROUPS: usize = 20;

/// What is asked: unless more is said, all sessions with everyone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Question {
    /// One group's sessions only.
    pub group: Option<String>,
    /// One session only, by its id in the plan.
    pub session: Option<String>,
    /// Who is counted on.
    pub crew: Crew,
    /// Minutes by which the crew must be able to start later.
    pub least_margin_minutes: i64,
}

impl Question {
    /// The same with the id that the session asked about has in this plan. With other people a session may
    /// begin with another pen, and so go by another id: then it is the one with the pen that the id names.
    pub(super) fn in_plan(&self, plan: &Plan) -> Result<Self, Error> {
        let Some(id) = &self.session else {
            return Ok(self.clone());
        };
        let has_pen = |s: &&Session| {
            let mut pens = s.pens.iter();
            pens.any(|p| format!("{}@{}", p.pass, s.site) == *id)
        };
        let mut all = plan.sessions.iter();
        let begins = all.clone().find(|s| s.id == *id);
        let found = begins.or_else(|| all.find(has_pen)).ok_or_else(|| {
            let ids = plan.sessions.iter().map(|s| s.id.as_str());
            unknown("session", id, ids)
        })?;
        Ok(Self {
            session: Some(found.id.clone()),
            ..self.clone()
        })
    }

    pub(super) fn is_of(&self, session: &Session) -> bool {
        let group = |id: &String| session.pens.iter().any(|p| p.group == *id);
        self.session.as_ref().is_none_or(|id| session.id == *id)
            && self.group.as_ref().is_none_or(group)
    }
}

/// Head of a session left, of those asked about.
pub(super) fn left_in(plan: &Plan, session: &Session, question: &Question) -> u32 {
    let mine = |group: &String| question.group.as_ref().is_none_or(|g| g == group);
    let here = plan.uncovered.iter().filter(|u| u.session == session.id);
    here.filter(|u| mine(&u.group)).map(|u| u.head).sum()
}
