//! Cuts the season into parts that share nobody and nothing, so that each model is small.
//!
//! Two sessions belong together if a technician could be wanted at both at once, if a visit to one
//! may decide how long one to the other may last, or if both draw on bulls whose straws do not suffice. Bulls with straws for everyone tie nothing together.
//!
//! Roads bind neighbors in time alone: whoever can do two sessions one after the other, and the next
//! after that, can do all three. Rests and the longest day do not: two sessions may be a night apart,
//! and a third between them leaves no night. Such sessions clash (`clashes`, `chain`), and routes then
//! settle which of them one technician serves. Under these rules a route holds all sessions near each
//! other, so that a visit that is cut short touches none that is planned apart.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use super::place::{NIGHT, is_cut_by_day};
use super::unstaffed::{Able, Unstaffed};
use crate::base::time::Instant;
use crate::planning::dating::DatedSeason;
use crate::trade::season::Season;

/// Bulls without straws for everyone. Sessions that draw on them are planned together; the
/// straws of all other bulls suffice.
#[derive(Debug, Default)]
pub(crate) struct Short {
    /// Straws of each such bull for groups that are not in `reserved`.
    pub(crate) bulls: BTreeMap<usize, u32>,
    /// Straws of groups planned twice over, since nobody knows who of them will be in heat: no
    /// animal takes two, so each of their sessions may use all of these.
    pub(crate) reserved: BTreeMap<usize, u32>,
}

/// Breeding further apart than this shares no technician: no road takes more than a day, no
/// breeding window more than two.
pub(crate) const NEAR: TimeDelta = TimeDelta::days(3);

/// Sessions to be planned together, by their place among all of the season.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Part {
    pub(crate) sessions: Vec<usize>,
}

/// What keeps a technician from serving all sessions, each by its place among those given.
#[derive(Clone, Default)]
pub(crate) struct Clashes {
    /// Sessions that cannot both be served whole, the earlier one first; and with itself one that cannot be
    /// served whole at all, for the longest day.
    pub(crate) pairs: Vec<(usize, usize)>,
    /// Sessions that clash, directly or by others. Where a rule bounds days or work without a rest,
    /// also those so near them that one visit may decide how long another may last: so visits of
    /// different components never touch each other.
    pub(crate) components: Vec<Vec<usize>>,
    /// True if two sessions are kept apart only for what may lie between them.
    pub(crate) wary: bool,
}

/// A rule that counts work up to a break.
struct Rule {
    /// Work from the first moment to the last, with the road from and to the home site if that counts.
    most: TimeDelta,
    home: bool,
    /// A break is at least as long;
    pause: TimeDelta,
    /// with the road beside it, if that is no break.
    road: bool,
}

/// A session where a technician can be, by its place among those given.
#[derive(Clone, Copy)]
struct At<'a> {
    n: usize,
    unstaffed: &'a Unstaffed,
    able: &'a Able,
}

/// The longest day and the rest, where they hold for a technician.
fn rules_of(season: &Season, technician: usize) -> Vec<Rule> {
    let longest = season.crew[technician].longest_day;
    let day = longest.or(season.rules.longest_day).map(|most| Rule {
        most,
        home: true,
        pause: NIGHT,
        road: false,
    });
    let rest = season.rules.rest.map(|rest| Rule {
        most: rest.after,
        home: false,
        pause: rest.long,
        road: true,
    });
    day.into_iter().chain(rest).collect()
}

/// What keeps a technician from serving all of these sessions, which come by opening time.
pub(crate) fn clashes(season: &Season, here: &[&Unstaffed], technician: usize) -> Clashes {
    let who = &season.crew[technician];
    let all: Vec<At<'_>> = here
        .iter()
        .enumerate()
        .filter_map(|(n, unstaffed)| {
            let able = unstaffed.able.iter().find(|a| a.technician == technician)?;
            Some(At { n, unstaffed, able })
        })
        .collect();
    let rules = rules_of(season, technician);
    let pause = |rule: &Rule, a: &At<'_>, b: &At<'_>| {
        let road = season.sites[a.unstaffed.site].road[b.unstaffed.site];
        rule.pause + if rule.road { road } else { TimeDelta::zero() }
    };
    let longest_pause = rules.iter().map(|r| r.pause).max().unwrap_or_default();
    let mut found = Clashes::default();
    let mut near = Vec::new();
    for (i, a) in all.iter().enumerate() {
        if rules.iter().any(|rule| rule.home) && is_cut_by_day(a.able) {
            found.pairs.push((i, i));
        }
        for (j, b) in all.iter().enumerate().skip(i + 1) {
            // Sessions come by opening time; no road takes more than a day.
            if b.unstaffed.open > a.unstaffed.close + TimeDelta::days(2) + longest_pause {
                break;
            }
            if conflict(season, (a.unstaffed, a.able), (b.unstaffed, b.able)) {
                found.pairs.push((i, j));
            }
            let (x, y) = (a.able.presence(), b.able.presence());
            let apart = (y.0 - x.1).max(x.0 - y.1);
            if rules.iter().any(|rule| apart < pause(rule, a, b)) {
                near.push((i, j));
            }
        }
    }
    for rule in &rules {
        let goes_on = |a: &At<'_>, b: &At<'_>| b.able.span.0 - a.able.span.1 < pause(rule, a, b);
        let too_long = |a: &At<'_>, b: &At<'_>| {
            let home = |at: &At<'_>| season.road_home(who, at.unstaffed.site);
            let road = if rule.home {
                home(a) + home(b)
            } else {
                TimeDelta::zero()
            };
            b.able.span.1 - a.able.span.0 + road > rule.most
        };
        found.between(&all, goes_on, too_long);
    }
    let mut union = Union::new(all.len());
    for (i, j) in found.pairs.iter().chain(&near) {
        union.join(*i, *j);
    }
    let mut clash = vec![false; all.len()];
    for (i, _) in &found.pairs {
        clash[union.root(*i)] = true;
    }
    let groups = union.groups().into_iter();
    let components = groups.filter(|g| g.iter().any(|n| clash[*n]));
    let place = |n: usize| all[n].n;
    found.components = components
        .map(|g| g.into_iter().map(place).collect())
        .collect();
    for pair in &mut found.pairs {
        *pair = (place(pair.0), place(pair.1));
    }
    found.pairs.sort_unstable();
    found
}

impl Clashes {
    /// Two sessions may be far enough apart for a break, and yet a third one between them leaves
    /// none, though it goes with each. All such pairs clash.
    fn between(
        &mut self,
        all: &[At<'_>],
        goes_on: impl Fn(&At<'_>, &At<'_>) -> bool,
        too_long: impl Fn(&At<'_>, &At<'_>) -> bool,
    ) {
        let clash: BTreeSet<(usize, usize)> = self.pairs.iter().copied().collect();
        let mut next = vec![Vec::new(); all.len()];
        for (i, a) in all.iter().enumerate() {
            for (j, b) in all.iter().enumerate() {
                let later = (a.able.span.0, i) < (b.able.span.0, j);
                let apart = clash.contains(&(i.min(j), i.max(j)));
                if later && !apart && goes_on(a, b) {
                    next[i].push(j);
                }
            }
        }
        for (i, a) in all.iter().enumerate() {
            let mut reached = BTreeSet::from([i]);
            let mut open = vec![i];
            while let Some(at) = open.pop() {
                for j in next[at].iter().copied() {
                    if !reached.insert(j) {
                        continue;
                    }
                    let pair = (i.min(j), i.max(j));
                    if !too_long(a, &all[j]) {
                        open.push(j);
                    } else if !clash.contains(&pair) {
                        self.pairs.push(pair);
                        self.wary = true;
                    }
                }
            }
        }
    }
}

/// True if a technician cannot serve both sessions, one after the other.
pub(crate) fn conflict(season: &Season, a: (&Unstaffed, &Able), b: (&Unstaffed, &Able)) -> bool {
    let opens = |s: (&Unstaffed, &Able)| s.0.with_straws.0;
    let (early, late) = if opens(a) <= opens(b) { (a, b) } else { (b, a) };
    let road = season.sites[early.0.site].road[late.0.site];
    let in_time = opens(late) - late.1.rounds.to_first_cow() >= early.0.with_straws.1 + road;
    // Sessions of one site follow each other.
    let one_site = early.0.site == late.0.site;
    let chained = a.1.chain.is_some() && a.1.chain == b.1.chain;
    chained || !(one_site || in_time) || !is_one_day(season, early, late, road)
}

/// Marks a technician's sessions that hang together, one by one, where all of them would break the
/// rules of rest or of the longest day: two with a night between are one day if a third fills it.
pub(crate) fn chain(season: &Season, all_unstaffed: &mut [Unstaffed], technician: usize) {
    let who = &season.crew[technician];
    let rest = season.rules.rest;
    let longest = who.longest_day.or(season.rules.longest_day);
    if rest.is_none() && longest.is_none() {
        return;
    }
    let able = |s: &Unstaffed| s.able.iter().position(|a| a.technician == technician);
    let mut stays: Vec<(usize, usize)> = Vec::new();
    stays.extend(
        all_unstaffed
            .iter()
            .enumerate()
            .filter_map(|(n, s)| Some((n, able(s)?))),
    );
    stays.sort_by_key(|(n, a)| (all_unstaffed[*n].able[*a].span, *n));
    let of = |n: usize| {
        (
            &all_unstaffed[stays[n].0],
            &all_unstaffed[stays[n].0].able[stays[n].1],
        )
    };
    let mut chains: Vec<Option<Instant>> = vec![None; stays.len()];
    for first in 0..stays.len() {
        for by_day in [true, false] {
            let (from, begins) = (of(first).0.site, of(first).1.span.0);
            // What may be served one after the other, from the first on.
            let mut reached = vec![first];
            for next in first + 1..stays.len() {
                let (unstaffed, able) = of(next);
                let hangs = |n: usize| {
                    let (before, then) = of(n);
                    let road = season.sites[before.site].road[unstaffed.site];
                    let apart = match rest {
                        _ if by_day => NIGHT,
                        Some(rest) => rest.long + road,
                        None => TimeDelta::zero(),
                    };
                    able.span.0 - then.span.1 < apart
                };
                if !reached.iter().any(|n| hangs(*n)) {
                    break;
                }
                let both = |n: usize| !conflict(season, of(n), of(next));
                if !both(first) || !reached.iter().any(|n| hangs(*n) && both(*n)) {
                    continue;
                }
                reached.push(next);
                let home = season.road_home(who, from) + season.road_home(who, unstaffed.site);
                let long = able.span.1 - begins;
                let broken = if by_day {
                    longest.is_some_and(|longest| long + home > longest)
                } else {
                    rest.is_some_and(|rest| long > rest.after)
                };
                if broken {
                    let known: Vec<Instant> = reached.iter().filter_map(|n| chains[*n]).collect();
                    for n in reached {
                        chains[n] = Some(begins);
                    }
                    for chain in chains.iter_mut().flatten() {
                        if known.contains(chain) {
                            *chain = begins;
                        }
                    }
                    break;
                }
            }
        }
    }
    for ((n, able), chain) in stays.into_iter().zip(chains) {
        all_unstaffed[n].able[able].chain = chain;
    }
}

/// True if the rules of rest and of the longest day let a technician serve both sessions whole.
fn is_one_day(
    season: &Season,
    early: (&Unstaffed, &Able),
    late: (&Unstaffed, &Able),
    road: TimeDelta,
) -> bool {
    let who = &season.crew[early.1.technician];
    let (a, b) = (early.1.span, late.1.span);
    let gap = b.0 - a.1;
    let rested = season
        .rules
        .rest
        .is_none_or(|r| b.1 - a.0 <= r.after || gap >= road + r.long);
    let longest = who.longest_day.or(season.rules.longest_day);
    let short = longest.is_none_or(|longest| {
        let home = season.road_home(who, early.0.site) + season.road_home(who, late.0.site);
        gap >= NIGHT || b.1 - a.0 + home <= longest
    });
    rested && short
}

pub(crate) fn cut(
    season: &Season,
    dated: &DatedSeason,
    all_unstaffed: &[Unstaffed],
    short: &Short,
) -> Vec<Part> {
    let mut union = Union::new(all_unstaffed.len());
    let here: Vec<&Unstaffed> = all_unstaffed.iter().collect();
    for technician in 0..season.crew.len() {
        for component in clashes(season, &here, technician).components {
            for n in &component {
                union.join(component[0], *n);
            }
        }
    }
    let mut with_short: Option<usize> = None;
    for (i, unstaffed) in all_unstaffed.iter().enumerate() {
        let draws = unstaffed.dues.iter().any(|d| {
            let group = &season.groups[dated.dues[*d].group];
            group.bulls.iter().any(|b| short.bulls.contains_key(b))
        });
        if draws {
            if let Some(first) = with_short {
                union.join(first, i);
            }
            with_short.get_or_insert(i);
        }
    }
    union
        .groups()
        .into_iter()
        .map(|sessions| Part { sessions })
        .collect()
}

/// Work that each part may take of all `work`, whichever is planned first: shared out by people times slots, and
/// something for each. Where a part is a single session there is next to nothing to search.
pub(crate) fn works(parts: &[Part], all_unstaffed: &[Unstaffed], work: i64) -> Vec<i64> {
    let size = |part: &Part| -> i64 {
        if part.sessions.len() < 2 {
            return 0;
        }
        let all_unstaffed = part.sessions.iter().map(|s| &all_unstaffed[*s]);
        all_unstaffed.map(|s| s.people_slots() as i64).sum()
    };
    let sizes: Vec<i64> = parts.iter().map(size).collect();
    let all: i64 = sizes.iter().sum();
    let most = work.max(0) as f64 / all.max(1) as f64;
    let least = (2 * work / (parts.len().max(1) as i64)).clamp(100_000, 1_000_000);
    let share = |size: &i64| ((*size as f64 * most) as i64).max(least);
    sizes.iter().map(share).collect()
}

struct Union {
    parent: Vec<usize>,
}

impl Union {
    fn new(n: usize) -> Self {
        Self {
            parent: (0..n).collect(),
        }
    }

    fn root(&mut self, mut n: usize) -> usize {
        while self.parent[n] != n {
            self.parent[n] = self.parent[self.parent[n]];
            n = self.parent[n];
        }
        n
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b)] = a.min(b);
    }

    fn groups(mut self) -> Vec<Vec<usize>> {
        let mut by_root = std::collections::BTreeMap::<usize, Vec<usize>>::new();
        for n in 0..self.parent.len() {
            by_root.entry(self.root(n)).or_default().push(n);
        }
        by_root.into_values().collect()
    }
}
