//! Plans what the search finds, and ranks it by how little it asks.

use std::cell::Cell;
use std::cmp::Reverse;

use super::MANY_GROUPS;
use super::answer::{Remedies, Remedy};
use super::candidate::Candidate;
use super::remedies::{Kind, Neighborhood};
use super::search::{MOST_PAIRS, Search, brought};
use super::words::found_starts;
use crate::base::error::Error;
use crate::trade::season::Season;

/// What is shown, at the most.
const MOST_COVERING: usize = 12;
const MOST_LESSENING: usize = 4;

/// What is shown, planned, each with its season.
#[derive(Default)]
struct Shown {
    covering: Vec<(Remedy, Season)>,
    lessening: Vec<(Remedy, Season)>,
    /// False if there were too many changes to count.
    all_counted: bool,
}

impl Search<'_> {
    /// Plans the whole season with a candidate, and says what it leaves; nothing where it asks for more than an
    /// ordinary day of somebody, or only lessens and asks for a statement too.
    fn planned(&self, candidate: &Candidate) -> Result<Option<(bool, Remedy, Season)>, Error> {
        let whole = self.field.evaluator.whole(&candidate.season)?;
        let Some(whole) = whole.filter(|w| w.good || w.stated.is_empty()) else {
            return Ok(None);
        };
        let (good, outlook) = (whole.good, whole.outlook);
        if !good && !outlook.certain && candidate.hopeful {
            self.doubt.set(self.doubt.get() + 1);
        }
        let mut now = self.base().clone();
        let (mut asks, mut write) = (Vec::new(), Vec::new());
        for change in candidate.changes.iter().chain(&whole.stated) {
            let (ask, key) = change.words(&now);
            asks.push(ask);
            write.push(key);
            if let Some(next) = change.applied(&now) {
                now = next;
            }
        }
        for (g, key) in self.field.pinned {
            write.extend(found_starts(&candidate.season.groups[*g], key));
        }
        let remedy = Remedy {
            kinds: candidate
                .kinds
                .iter()
                .map(|k| k.as_str().to_owned())
                .collect(),
            asks,
            write,
            effort_points: candidate.effort + brought(&outlook.brings),
            ..outlook.remedy
        };
        Ok(Some((good, remedy, whole.season)))
    }

    /// What covers: by one change, or else by two, or else of all that there are. And what only lessens,
    /// by one change.
    fn found(&mut self) -> Result<(Vec<(u32, Candidate)>, Shown), Error> {
        let mut shown = Shown {
            all_counted: true,
            ..Shown::default()
        };
        let (good, some) = self.singles()?;
        // Each is planned with the whole season.
        let many = self.base().groups.len() > MANY_GROUPS;
        let most = if many {
            MOST_COVERING / 2
        } else {
            MOST_COVERING
        };
        self.plan_all(good, most, &mut shown)?;
        if shown.covering.is_empty() && !self.stopped() {
            let (pairs, best) = self.pairs()?;
            self.plan_all(pairs, MOST_PAIRS, &mut shown)?;
            if shown.covering.is_empty() && !self.stopped() {
                let (good, all_counted) = self.enumerate(many)?;
                shown.all_counted = all_counted;
                self.plan_all(good, MOST_PAIRS, &mut shown)?;
            }
            if let Some(candidate) = best.filter(|_| shown.covering.is_empty()) {
                self.plan_one(&candidate, &mut shown)?;
            }
        }
        if self.stopped() && shown.covering.is_empty() {
            self.not_tried.push("any two of these together".into());
        }
        Ok((some, shown))
    }

    /// Plans candidates from the least effort on, until enough of them suffice; those that do not are
    /// kept where they lessen what is left.
    fn plan_all(
        &self,
        mut candidates: Vec<Candidate>,
        most: usize,
        shown: &mut Shown,
    ) -> Result<(), Error> {
        candidates.sort_by_key(|w| w.effort);
        for candidate in candidates {
            let kinds: Vec<&str> = candidate.kinds.iter().map(|k| k.as_str()).collect();
            // Of a kind the one that asks least; of people, each.
            let most_of_it = match candidate.kinds[..] {
                [Kind::LeftOutTechnician] => 4,
                [Kind::Shifts | Kind::Straws | Kind::Helper] => 2,
                _ => 1,
            };
            let covering = &mut shown.covering;
            let same = covering.iter().filter(|(r, _)| r.kinds == kinds).count();
            if same >= most_of_it {
                continue;
            }
            let most = if self.stopped() { most.min(2) } else { most };
            if covering.len() >= most {
                break;
            }
            let Some((good, remedy, season)) = self.planned(&candidate)? else {
                continue;
            };
            if !good {
                self.keep_lessening(remedy, season, shown);
            } else if covering.iter().all(|(_, s)| *s != season) {
                covering.push((remedy, season));
            }
        }
        in_order(&mut shown.covering);
        Ok(())
    }

    /// Plans a candidate of which the count said that it leaves some; the plan has the last word.
    fn plan_one(&self, candidate: &Candidate, shown: &mut Shown) -> Result<(), Error> {
        match self.planned(candidate)? {
            Some((true, remedy, season)) => shown.covering.push((remedy, season)),
            Some((false, remedy, season)) => self.keep_lessening(remedy, season, shown),
            None => {}
        }
        Ok(())
    }

    fn keep_lessening(&self, remedy: Remedy, season: Season, shown: &mut Shown) {
        let evaluator = self.field.evaluator;
        let before = evaluator.left + evaluator.elsewhere();
        if remedy.uncovered_head < evaluator.left
            && remedy.uncovered_head + remedy.elsewhere_uncovered_head < before
        {
            shown.lessening.push((remedy, season));
        }
    }
}

fn in_order(covering: &mut [(Remedy, Season)]) {
    covering.sort_by_key(|(r, _)| (r.effort_points, Reverse(r.margin_minutes)));
}

/// Looks for what covers a session, and plans it.
pub(super) fn remedies(
    field: &Neighborhood<'_>,
    session: &str,
    not_tried: &mut Vec<String>,
) -> Result<(Remedies, Vec<Season>), Error> {
    let coarse = Neighborhood {
        fine: false,
        beside: Vec::new(),
        ..*field
    };
    let mut search = Search {
        field,
        coarse: &coarse,
        tried: Vec::new(),
        trials: Cell::new(0),
        doubt: Cell::new(0),
        not_tried: Vec::new(),
    };
    let (some, mut found) = search.found()?;
    for (_, candidate) in some {
        let kind = candidate.kinds[0].as_str();
        let covers = found.covering.iter().any(|(r, _)| r.kinds == [kind]);
        if !covers && found.lessening.len() < MOST_LESSENING {
            search.plan_one(&candidate, &mut found)?;
        }
    }
    let Shown {
        mut covering,
        mut lessening,
        all_counted,
    } = found;
    let stopped = search.stopped();
    if stopped && search.not_tried.is_empty() {
        search.not_tried.push("a plan for each change found".into());
    }
    in_order(&mut covering);
    lessening.sort_by_key(|(r, _)| (r.uncovered_head, r.effort_points));
    let mut seen: Vec<Vec<String>> = Vec::new();
    lessening.retain(|(r, _)| {
        let first = !seen.contains(&r.kinds);
        seen.push(r.kinds.clone());
        first
    });
    lessening.truncate(MOST_LESSENING);
    let nothing_covers = covering.is_empty();
    let (covering, mut seasons): (Vec<Remedy>, Vec<Season>) = covering.into_iter().unzip();
    let (lessening, more): (Vec<Remedy>, Vec<Season>) = lessening.into_iter().unzip();
    seasons.extend(more);
    let groups = field.groups().iter();
    let found = Remedies {
        session: session.to_owned(),
        groups: groups
            .map(|g| search.base().groups[*g].id.to_string())
            .collect(),
        uncovered_head: field.evaluator.left,
        elsewhere_uncovered_head: field.evaluator.elsewhere(),
        covering,
        lessening,
        tried: search.tried,
        proven: (all_counted || !nothing_covers) && search.doubt.get() == 0 && !stopped,
        every_pair_counted: (all_counted || !nothing_covers) && !stopped,
        undecided: search.doubt.get(),
        nothing_covers,
        not_tried: search.not_tried,
    };
    let what = found.not_tried.iter();
    not_tried.extend(what.map(|w| format!("for {session}: {w}")));
    Ok((found, seasons))
}
