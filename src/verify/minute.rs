//! The plan walked through minute by minute: where each technician is, how old each straw is, what
//! lies in the bath, who stands at a box.
//!
//! An independent reading: it believes the moments of the cows, the beginning of a technician's
//! work and the straws at once, and works out the rest again, round for round. A round holds cows
//! that follow each other within the time that so many cows take; its straws go into the bath so
//! much before its first cow as thawing, loading and that cow take.
//!
//! A technician's cows are cut into rounds in any way that could be worked: a round may begin in its
//! middle, where its first straws were not wanted. Where there is no road between two sites, the last
//! cow may be bred at one at the instant at which work begins at the other.

use std::collections::BTreeMap;

use chrono::{DateTime, Days, TimeDelta, Utc};

use super::stays::{Seen, Stay, seconds, stays};
use super::{CLOSE, Reading, alley, crew};
use crate::trade::season::{Technician, When, is_weekday};

pub(super) fn check(r: &mut Reading<'_>) {
    let stays = stays(r);
    let moments = || stays.iter().flat_map(|s| &s.cows).map(|c| c.at);
    let begins = stays.iter().map(|s| s.begins).chain(moments()).min();
    let (Some(begins), Some(ends)) = (begins, moments().max()) else {
        return;
    };
    let span = Span {
        first: begins.timestamp().div_euclid(60) - MARGIN,
        minutes: ((ends - begins).num_minutes().max(0) + 2 * MARGIN) as usize,
    };
    let mut seen = Seen::default();
    own_hours(&stays, &mut seen);
    alley::in_order(&stays, &mut seen);
    kept_free(r, &span, &stays, &mut seen);
    for technician in &r.season.crew {
        let mine: Vec<&Stay<'_>> = stays
            .iter()
            .filter(|s| std::ptr::eq(s.technician, technician))
            .collect();
        if !mine.is_empty() {
            one_place(r, &span, &mine, &mut seen);
            on_shift(r, &span, technician, &mine, &mut seen);
            straws(r, &mine, &mut seen);
        }
    }
    for site in 0..r.season.sites.len() {
        let here: Vec<&Stay<'_>> = stays.iter().filter(|s| s.site == site).collect();
        if !here.is_empty() {
            bath(r, &span, site, &here, &mut seen);
            alley::boxes(r, site, &here, &mut seen);
        }
    }
    for ((who, expected), (first, times)) in seen.found {
        let first = r.local(first).format("%Y-%m-%d %H:%M");
        r.wrong(
            &format!("minute by minute: {who}"),
            expected,
            format!("{times} against it, the first at {first}"),
        );
    }
}

/// Minutes before the first and after the last of all, so that roads fit.
const MARGIN: i64 = 2 * 1440;

/// All minutes of the season. Minute `n` stands for its first instant, or for the time after that
/// up to the next: see [`Span::instants`] and [`Span::holding`].
struct Span {
    first: i64,
    minutes: usize,
}

impl Span {
    fn at(&self, minute: usize) -> DateTime<Utc> {
        let seconds = (self.first + minute as i64) * 60;
        DateTime::from_timestamp(seconds, 0).unwrap_or_default()
    }

    fn index(&self, minute: i64) -> usize {
        (minute - self.first).clamp(0, self.minutes as i64) as usize
    }

    /// The minutes whose first instant lies in `[from, to]`.
    fn instants(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> std::ops::Range<usize> {
        let first = (from.timestamp_millis() + 59_999).div_euclid(60_000);
        let last = to.timestamp_millis().div_euclid(60_000);
        self.index(first)..self.index(last + 1).max(self.index(first))
    }

    /// The minute in which something done at `at` counts; a full minute counts to the one it ends.
    fn holding(&self, at: DateTime<Utc>) -> usize {
        self.index((at.timestamp_millis() + 59_999).div_euclid(60_000) - 1)
    }
}

/// No cow is bred in a minute outside her own hours.
fn own_hours(stays: &[Stay<'_>], seen: &mut Seen) {
    for cow in stays.iter().flat_map(|s| &s.cows) {
        if let Some((from, to)) = cow.hours
            && (cow.at < from - CLOSE || cow.at > to + CLOSE)
        {
            seen.wrong(&cow.pass, "each cow bred in her own hours", cow.at);
        }
    }
}

/// Nobody breeds in hours kept free.
fn kept_free(r: &Reading<'_>, span: &Span, stays: &[Stay<'_>], seen: &mut Seen) {
    if r.season.rules.free.is_empty() {
        return;
    }
    let mut free = vec![false; span.minutes];
    for (day, midnight) in days(r, span) {
        for rule in &r.season.rules.free {
            let holds = match rule.when {
                When::On(date) => date == day,
                When::Every(weekday) => is_weekday(weekday, day),
            };
            if holds {
                let from = rule.from.map_or(midnight, |t| r.instant(day.and_time(t)));
                let to = rule.to.map_or_else(
                    || r.instant((day + Days::new(1)).and_time(chrono::NaiveTime::MIN)),
                    |t| r.instant(day.and_time(t)),
                );
                let minute = |at: DateTime<Utc>| span.index(at.timestamp().div_euclid(60));
                let first = minute(from);
                free[first..minute(to).max(first)].fill(true);
            }
        }
    }
    for stay in stays {
        for cow in &stay.cows {
            if free.get(span.holding(cow.at)) == Some(&true) {
                seen.wrong(stay.who(), "no breeding in hours kept free", cow.at);
            }
        }
    }
}

/// Each local day of the span, and its first instant.
fn days(r: &Reading<'_>, span: &Span) -> Vec<(chrono::NaiveDate, DateTime<Utc>)> {
    let first = r.local(span.at(0)).date();
    let last = r.local(span.at(span.minutes)).date();
    let all = first.iter_days().take_while(|day| *day <= last);
    all.map(|day| (day, r.instant(day.and_time(chrono::NaiveTime::MIN))))
        .collect()
}

#[derive(Clone, Copy, PartialEq)]
enum Place {
    Free,
    At(usize),
    OnTheRoad,
}

/// At each minute a technician is at one site, or on the road to the next, or free.
fn one_place(r: &Reading<'_>, span: &Span, mine: &[&Stay<'_>], seen: &mut Seen) {
    let mut place = vec![Place::Free; span.minutes];
    let mut in_order: Vec<&&Stay<'_>> = mine.iter().collect();
    in_order.sort_by_key(|s| (s.begins, s.ends()));
    let mut before: Option<usize> = None;
    for stay in in_order {
        let mut take = |minutes: std::ops::Range<usize>, as_what: Place| {
            for minute in minutes {
                match place[minute] {
                    Place::Free => place[minute] = as_what,
                    same if same == as_what => {}
                    _ => {
                        seen.wrong(stay.who(), "one place at a time", span.at(minute));
                    }
                }
            }
        };
        let mut begins = stay.begins;
        if let Some(from) = before.filter(|from| *from != stay.site) {
            let road = r.season.sites[from].road[stay.site];
            if road.is_zero() {
                // The moment of leaving is that of arriving.
                begins += CLOSE;
            }
            let leaves = stay.begins - road + CLOSE;
            take(span.instants(leaves, stay.begins - CLOSE), Place::OnTheRoad);
        }
        take(span.instants(begins, stay.ends()), Place::At(stay.site));
        before = Some(stay.site);
    }
}

/// Straws that are in the bath together, and the cows they are for.
struct Round {
    bath: DateTime<Utc>,
    cows: Vec<DateTime<Utc>>,
}

/// The rounds of a stay: of all ways to cut its cows into rounds that could be worked, the one
/// with the longest rounds at the end. `Err` has some way that could not: one who works alone would
/// have to thaw while still breeding.
fn rounds(r: &Reading<'_>, stay: &Stay<'_>) -> Result<Vec<Round>, Vec<Round>> {
    let straws = f64::from(stay.straws);
    let (cow, _, _, lead) = crew::rounds(r, stay.technician, straws);
    let helper = stay.technician.helper;
    let between = if helper {
        cow.max(r.season.rules.load.0)
    } else {
        cow
    };
    let reach = seconds(between * (straws - 1.0)) + CLOSE * 2;
    let at: Vec<DateTime<Utc>> = stay.cows.iter().map(|c| c.at).collect();
    let bath = |first: usize| {
        let bath = at[first] - seconds(lead + cow);
        if first == 0 {
            bath.min(stay.begins)
        } else {
            bath
        }
    };
    // For so many cows from the first, where their last round begins, if they can be cut into rounds.
    let cut = |hasty: bool| {
        let mut begins: Vec<Option<usize>> = vec![Some(0)];
        for n in 1..=at.len() {
            let longest = n.saturating_sub(stay.straws as usize);
            let fits = (longest..n).find(|first| {
                let free = helper
                    || hasty
                    || *first == 0
                    || at[*first] - seconds(lead + cow) >= at[*first - 1] - CLOSE * 2;
                begins[*first].is_some() && free && at[n - 1] - at[*first] <= reach
            });
            begins.push(fits);
        }
        let mut found = Vec::new();
        let mut end = at.len();
        while end > 0 {
            let first = begins[end]?;
            found.push(Round {
                bath: bath(first),
                cows: at[first..end].to_vec(),
            });
            end = first;
        }
        found.reverse();
        Some(found)
    };
    cut(false).ok_or_else(|| cut(true).unwrap_or_default())
}

/// The rounds, whether they could be worked or not.
fn all_rounds(r: &Reading<'_>, stay: &Stay<'_>) -> Vec<Round> {
    rounds(r, stay).unwrap_or_else(|hasty| hasty)
}

/// At the mean pace no straw is older than allowed at the minute of its cow.
fn straws(r: &Reading<'_>, mine: &[&Stay<'_>], seen: &mut Seen) {
    let limit = r.season.rules.bath_to_cow.0;
    let limit = TimeDelta::milliseconds((limit * 1000.0) as i64) + CLOSE * 2;
    for stay in mine {
        if rounds(r, stay).is_err() {
            seen.wrong(
                stay.who(),
                "straws thawed between two rounds",
                stay.cows.first().map_or(stay.begins, |c| c.at),
            );
        }
        for round in all_rounds(r, stay) {
            for at in round.cows.iter().filter(|at| **at - round.bath > limit) {
                seen.wrong(stay.who(), "no straw older than its limit", *at);
            }
        }
    }
}

/// From the bath to the last cow of each round the technician is on shift.
fn on_shift(
    r: &Reading<'_>,
    span: &Span,
    technician: &Technician,
    mine: &[&Stay<'_>],
    seen: &mut Seen,
) {
    let mut on = vec![false; span.minutes];
    let midnight = chrono::NaiveTime::MIN;
    for (day, _) in days(r, span) {
        if technician.days_off.contains(&day) {
            continue;
        }
        let mut fill = |from: chrono::NaiveTime, to: chrono::NaiveTime| {
            let last = if to <= from { day + Days::new(1) } else { day };
            let (from, to) = (r.instant(day.and_time(from)), r.instant(last.and_time(to)));
            on[span.instants(from, to)].fill(true);
        };
        if technician.shifts.is_empty() {
            fill(midnight, midnight);
        }
        for shift in &technician.shifts {
            if shift.days.is_empty() || shift.days.iter().any(|d| is_weekday(*d, day)) {
                fill(shift.from, shift.to);
            }
        }
    }
    for stay in mine {
        for round in all_rounds(r, stay) {
            let last = round.cows.last().copied().unwrap_or(round.bath);
            // A round that lies inside one minute has no first instant of a minute in it.
            let minutes = span.instants(round.bath + CLOSE, last - CLOSE);
            let off = minutes.into_iter().find(|m| !on[*m]);
            if let Some(minute) = off {
                seen.wrong(stay.who(), "work within shifts", span.at(minute));
            }
        }
    }
}

/// At each minute the bath of a site holds no more straws than it can.
fn bath(r: &Reading<'_>, span: &Span, site: usize, here: &[&Stay<'_>], seen: &mut Seen) {
    let rules = &r.season.rules;
    let mut all = vec![0u32; span.minutes];
    for technician in &r.season.crew {
        let mine = here
            .iter()
            .filter(|s| std::ptr::eq(s.technician, technician));
        // One lot of straws a person at a time: the next goes in as the last of them comes out.
        let mut own: BTreeMap<usize, u32> = BTreeMap::new();
        for round in mine.flat_map(|s| all_rounds(r, s)) {
            // One straw after the other comes out to be loaded.
            for nth in 0..round.cows.len() {
                let in_bath = rules.thaw.0 + rules.load.0 * nth as f64;
                let out = round.bath + TimeDelta::milliseconds((in_bath * 1000.0) as i64);
                let left = (round.cows.len() - nth) as u32;
                for minute in span.instants(round.bath, out - CLOSE) {
                    let straws = own.entry(minute).or_default();
                    *straws = (*straws).max(left);
                }
            }
        }
        for (minute, straws) in own {
            all[minute] += straws;
        }
    }
    let most = r.season.sites[site].thaw_bath.0;
    for (minute, straws) in all.iter().enumerate() {
        if *straws > most {
            seen.wrong(
                format!("the bath of {}", r.season.sites[site].id),
                format!("at most {most} straws in it"),
                span.at(minute),
            );
        }
    }
}
