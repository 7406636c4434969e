//! What is not covered: why, what would cover more, and the same as findings.
//!
//! A limit is named only where the season, planned again without it, breeds more.
//!
//! Two limits together are named where none does alone. "At most" needs a bound by the minute, with no
//! shift, rest or slot in it; what the plan's slots alone limit is "about". Straws are short where
//! plenty of them would breed more: plan, order list and tank read that one number.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use chrono::TimeDelta;

use super::hints::{Helps, hints};
use super::lift::{self, Again, Bench, Gain, Key, LIMITS, key};
use super::near::{Near, Runs};
use super::words;
use crate::base::progress::{Budget, Progress};
use crate::planning::crew::bounds::by_slot;
use crate::planning::crew::sessions::unstaffed::{Slots, Unstaffed, lots};
use crate::planning::crew::straws::allot;
use crate::planning::crew::{
    Allotted, Binding, Lifted, Margin, Proof, Reasons, Session, Uncovered,
};
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::Season;

/// Work of planning again for all sessions that fall short together, in about microseconds; of one at
/// the most, and at the least.
const MOST_WORK: i64 = 4_000_000;
const MOST_OF_ONE: i64 = 1_500_000;
const LEAST_OF_ONE: i64 = 50_000;

/// Who breeds at another session less than this from here is not asked to come here, where the others
/// are taken as planned.
const NEAR: TimeDelta = TimeDelta::days(2);

/// What is known of a plan when reasons are looked for.
pub(crate) struct Why<'a> {
    season: &'a Season,
    dated: &'a DatedSeason,
    straws: &'a [Allotted],
    reasons: Reasons<'a>,
    progress: &'a dyn Progress,
    bred: BTreeMap<Key, u32>,
    /// Head that lack a straw, by due; none where nobody does, or where it is not known.
    short: Option<BTreeMap<Key, u32>>,
    /// Who breeds from when to when, by session.
    at_work: Vec<(
        usize,
        crate::base::time::Instant,
        crate::base::time::Instant,
        BTreeSet<usize>,
    )>,
    /// Work for each session.
    work: i64,
    /// What hangs together in time, in a large season.
    runs: Option<Runs>,
    /// The season in which everybody may work at all hours.
    all_hours: OnceLock<Season>,
}

impl<'a> Why<'a> {
    pub(crate) fn new(
        season: &'a Season,
        dated: &'a DatedSeason,
        straws: &'a [Allotted],
        sessions: &[Session],
        (reasons, progress): (Reasons<'a>, &'a dyn Progress),
    ) -> Self {
        let falls_short = sessions.iter().filter(|s| !s.uncovered.is_empty()).count();
        let bred = lift::bred_of(dated, sessions);
        let with_reasons = matches!(reasons, Reasons::Told(_));
        let short = (with_reasons && falls_short > 0)
            .then(|| lift::short_of(season, dated, straws, &bred, progress))
            .flatten();
        let busy = |s: &Session| {
            let who = s.crew.iter().filter(|p| p.head.0 > 0);
            (
                s.dues[0],
                s.open,
                s.close,
                who.map(|p| p.technician).collect(),
            )
        };
        Self {
            season,
            dated,
            straws,
            reasons,
            progress,
            bred,
            short,
            at_work: sessions.iter().map(busy).collect(),
            work: (MOST_WORK / falls_short.max(1) as i64).clamp(LEAST_OF_ONE, MOST_OF_ONE),
            runs: with_reasons.then(|| Runs::of(season, dated)).flatten(),
            all_hours: OnceLock::new(),
        }
    }

    /// Straws that groups are short of for animals that people could breed.
    pub(crate) fn straws_short(&self) -> BTreeMap<usize, u32> {
        let mut by_group = BTreeMap::new();
        for (key, head) in self.short.iter().flatten() {
            *by_group.entry(key.0).or_default() += head;
        }
        by_group
    }

    /// Fills in why a session falls short.
    pub(crate) fn fill(
        &self,
        session: &mut Session,
        unstaffed: &Unstaffed,
        busy: &BTreeSet<usize>,
    ) {
        let at_hand: BTreeSet<usize> = unstaffed
            .able
            .iter()
            .map(|a| a.technician)
            .filter(|t| !busy.contains(t) || session.crew.iter().any(|p| p.technician == *t))
            .collect();
        let found = match self.reasons {
            Reasons::Told(_) if !self.progress.stop() => self.found(session),
            _ => Found::default(),
        };
        let about = About {
            why: self,
            session,
            at_hand: &at_hand,
            found: &found,
        };
        let filled: Vec<Uncovered> = session.uncovered.iter().map(|u| about.filled(u)).collect();
        let margin = filled.first().map_or_else(Margin::default, |u| Margin {
            head: 0,
            minutes: 0,
            binding: Some(u.binding),
            words: u.why.join("; "),
        });
        session.uncovered = filled;
        session.margin = margin;
    }

    fn bench<'s>(&'s self, session: &'s Session, near: Option<&'s Near>) -> Bench<'s> {
        let others = self.at_work.iter().filter(|(due, open, close, _)| {
            *due != session.dues[0] && *open < session.close + NEAR && session.open < *close + NEAR
        });
        let whole = Bench {
            season: self.season,
            dated: self.dated,
            session,
            bred: &self.bred,
            straws: self.straws,
            crowded: false,
            away: others.flat_map(|(.., who)| who.iter().copied()).collect(),
            proof: None,
            progress: Budget::whole(self.progress, self.work),
            left_out: Cell::new(false),
        };
        let whole = match self.reasons {
            Reasons::Told(Some(proof)) => Bench {
                proof: Some(self.again(proof, near)),
                ..whole
            },
            _ => whole,
        };
        let Some(near) = near else { return whole };
        Bench {
            season: &near.season,
            dated: &near.dated,
            session: &near.session,
            bred: &near.bred,
            straws: &near.straws,
            crowded: near.crowded,
            ..whole
        }
    }

    fn again<'s>(&'s self, proof: Proof<'s>, near: Option<&'s Near>) -> Again<'s> {
        let whole = move |changed: &Season| match near {
            Some(near) => near.onto(self.season, changed),
            None => changed.clone(),
        };
        Again {
            proof,
            whole: Box::new(whole),
            before: self.bred.values().sum(),
            progress: Budget::whole(self.progress, self.work),
        }
    }

    /// What each limit costs; and what to change.
    fn found(&self, session: &Session) -> Found {
        let near = self.runs.as_ref().map(|runs| {
            let whole = (self.season, self.dated);
            Near::new(runs, whole, session, &self.bred, self.straws)
        });
        let near = near.as_ref();
        let bench = self.bench(session, near);
        let now = bench.as_it_is();
        let mut limits: Vec<(Vec<Binding>, Gain)> = Vec::new();
        limits.extend(
            self.straws_gain(&bench, near)
                .map(|g| (vec![Binding::Straws], g)),
        );
        let lifted: Vec<(Binding, lift::Changed)> = LIMITS
            .into_iter()
            .filter_map(|l| Some((l, bench.lifted(&now, l)?)))
            .collect();
        let proven = |limits: &[Binding], changed: &lift::Changed, gain: Gain| {
            // Nobody can write these into a season.
            let only_here = [Binding::Elsewhere, Binding::Straws];
            if limits.iter().any(|l| only_here.contains(l)) {
                return Some(gain);
            }
            bench.proven(&changed.season, gain)
        };
        for (limit, changed) in &lifted {
            let gain = bench.gain(changed);
            let gain = gain.and_then(|g| proven(&[*limit], changed, g));
            limits.extend(gain.map(|g| (vec![*limit], g)));
        }
        if limits.is_empty() {
            let mut from: Vec<(Binding, lift::Changed)> = Vec::new();
            from.extend(
                bench
                    .lifted(&now, Binding::Straws)
                    .map(|c| (Binding::Straws, c)),
            );
            from.extend(lifted);
            let mut best: Option<(Vec<Binding>, Gain, lift::Changed)> = None;
            for (n, (second, _)) in from.iter().enumerate() {
                for (first, changed) in &from[..n] {
                    let Some(both) = bench.lifted(changed, *second) else {
                        continue;
                    };
                    let Some(gain) = bench.gain(&both) else {
                        continue;
                    };
                    if best.as_ref().is_none_or(|(_, g, _)| g.here < gain.here) {
                        best = Some((vec![*first, *second], gain, both));
                    }
                }
            }
            limits.extend(best.and_then(|(limits, gain, both)| {
                let gain = proven(&limits, &both, gain)?;
                Some((limits, gain))
            }));
        }
        limits.sort_by_key(|(l, g)| (std::cmp::Reverse(g.here), l[0]));
        let mut hints = hints(&bench, &limits);
        if let Some(near) = near {
            for (_, gain) in &mut limits {
                let of = std::mem::take(&mut gain.of).into_iter();
                gain.of = of.map(|(k, n)| (near.in_whole(k), n)).collect();
            }
            let helped = hints.iter_mut().flat_map(|h| &mut h.of);
            helped.for_each(|k| *k = near.in_whole(*k));
        }
        Found {
            limits,
            hints,
            // Nothing is said of what was not looked for.
            whole: !bench.left_out.get() && !bench.progress.stop(),
            looked: true,
        }
    }

    fn straws_gain(&self, bench: &Bench<'_>, near: Option<&Near>) -> Option<Gain> {
        let short = self.short.as_ref()?;
        let whole = |k: Key| near.map_or(k, |near| near.in_whole(k));
        let of: BTreeMap<Key, u32> = bench
            .keys()
            .into_iter()
            .filter_map(|k| Some((k, *short.get(&whole(k))?)))
            .collect();
        let here: u32 = of.values().sum();
        (here > 0).then_some(Gain {
            all: here,
            here,
            of,
        })
    }
}

/// What was found of a session.
#[derive(Default)]
struct Found {
    limits: Vec<(Vec<Binding>, Gain)>,
    hints: Vec<Helps>,
    whole: bool,
    looked: bool,
}

/// A session, to say why each of its dues falls short.
struct About<'a> {
    why: &'a Why<'a>,
    session: &'a Session,
    at_hand: &'a BTreeSet<usize>,
    found: &'a Found,
}

impl About<'_> {
    fn due(&self, u: &Uncovered) -> &Due {
        &self.why.dated.dues[u.due]
    }

    /// Animals of a due in whose hours no whole slot lies.
    fn without_slot(&self, due: &Due) -> u32 {
        let lots = lots(due, Slots::new(self.why.season));
        let none = lots.iter().filter(|l| l.first > l.last);
        none.map(|l| l.head).sum()
    }

    /// Head of a due that limits lifted would breed, at the most.
    fn head_of(&self, u: &Uncovered, limits: &[Binding], gain: &Gain) -> u32 {
        let due = self.due(u);
        let own = gain.of.get(&key(due)).copied().unwrap_or(0);
        // Another pen of the session has them in one plan; in another as good this one might.
        let others = limits != [Binding::Straws]
            && limits != [Binding::Window]
            && self.without_slot(due) == 0
            && !self.straws_are_out(due.group);
        // No more than are bred more in all: others may be bred less.
        let head = if others {
            gain.here
        } else {
            own.min(gain.here)
        };
        head.min(u.head.0)
    }

    fn straws_are_out(&self, group: usize) -> bool {
        allot::room(self.why.season, self.why.straws, group, 1) == 0
    }

    fn filled(&self, u: &Uncovered) -> Uncovered {
        let due = self.due(u);
        let lifted: Vec<Lifted> = self
            .found
            .limits
            .iter()
            .map(|(limits, gain)| Lifted {
                limits: limits.clone(),
                head: self.head_of(u, limits, gain),
            })
            .filter(|l| l.head > 0)
            .collect();
        let k = key(due);
        let hints = self.found.hints.iter();
        let mut hints: Vec<_> = hints.filter(|h| h.of.contains(&k)).collect();
        if hints.is_empty() && !self.straws_are_out(due.group) && self.without_slot(due) == 0 {
            hints = self.found.hints.iter().collect();
        }
        let hints: Vec<_> = hints.into_iter().map(|h| h.hint.clone()).collect();
        let no_slot = self.without_slot(due) > 0;
        let binding = match lifted.first() {
            Some(l) if l.limits.len() == 1 => l.limits[0],
            Some(l) => *l
                .limits
                .iter()
                .find(|b| **b != Binding::Straws)
                .unwrap_or(&l.limits[0]),
            None if no_slot => Binding::Window,
            None if !self.found.looked && self.straws_are_out(due.group) => Binding::Straws,
            None => Binding::Pace,
        };
        let at_most = self.at_most(&hints);
        let mut why: Vec<String> = lifted
            .iter()
            .map(|l| words::limit(&self.why.season.sites[self.session.site], u, l))
            .collect();
        if no_slot && lifted.iter().all(|l| l.limits != [Binding::Window]) {
            why.push(words::window(self.why.season, due));
        }
        if !self.found.looked && binding == Binding::Straws {
            why.push("out of straws: every straw of this group's bulls is spoken for".to_owned());
        }
        let best = lifted.iter().filter(|l| l.limits.len() == 1);
        if best.map(|l| l.head).max().unwrap_or(0) < u.head.0 && (why.is_empty() || !no_slot) {
            why.push(self.pace(at_most));
            if self.found.limits.is_empty() && self.found.whole && !self.at_hand.is_empty() {
                why.push(
                    "nothing else, alone or two together, keeps more from being bred".to_owned(),
                );
            }
        }
        Uncovered {
            binding,
            lifted,
            hints,
            at_most,
            why,
            ..u.clone()
        }
    }

    /// Head that the technicians at hand breed in these hours at the most, whatever their shifts and the
    /// plan's slots; none where they might breed more.
    fn at_most(&self, hints: &[crate::planning::crew::Hint]) -> Option<u32> {
        let bred = self.session.head_bred();
        let more_people = |h: &crate::planning::crew::Hint| h.set.iter().all(|s| s.at == "/crew/-");
        if !self.found.whole || !self.found.limits.is_empty() || !hints.iter().all(more_people) {
            return None;
        }
        let dues: Vec<Due> = self
            .session
            .dues
            .iter()
            .map(|d| self.why.dated.dues[*d].clone())
            .collect();
        let all_hours = self
            .why
            .all_hours
            .get_or_init(|| at_all_hours(self.why.season));
        let (_, most) = by_slot::by_the_minute(all_hours, &dues, &|t| self.at_hand.contains(&t));
        (most <= bred).then_some(most)
    }

    fn pace(&self, at_most: Option<u32>) -> String {
        let bred = self.session.head_bred();
        let head = match at_most {
            Some(most) => format!("at most {most} head"),
            None => format!("about {bred} head"),
        };
        match self.at_hand.len() {
            0 => "no technician is there in the AI window".to_owned(),
            1 => format!("the one technician at hand breeds {head} in the AI window"),
            n => format!("the {n} technicians at hand breed {head} in the AI window"),
        }
    }
}

fn at_all_hours(season: &Season) -> Season {
    let season = season.clone();
    lift::SEASON_LIMITS
        .into_iter()
        .fold(season, |season, limit| {
            lift::without(&season, limit).unwrap_or(season)
        })
}
