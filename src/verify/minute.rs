//! Straws and boxes walked through by the cows' own moments: how old each straw is, what lies in the
//! bath, who stands at a box.
//!
//! An independent reading: it believes the moments of the cows, the beginning of a technician's
//! work and the straws at once, and works out the rest again, round for round. A round holds cows
//! that follow each other within the time that so many cows take; its straws go into the bath so
//! much before its first cow as thawing, loading and that cow take.
//!
//! A technician's cows are cut into rounds in any way that could be worked: a round may begin in its
//! middle, where its first straws were not wanted.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use super::stays::{self, Seen, Stay, seconds};
use super::{CLOSE, Reading, alley};

pub(super) fn check(r: &mut Reading<'_>, stays: &[Stay<'_>]) {
    let mut seen = Seen::default();
    alley::in_order(stays, &mut seen);
    for stay in stays {
        straws(r, stay, &mut seen);
    }
    for site in 0..r.season.sites.len() {
        let here: Vec<&Stay<'_>> = stays.iter().filter(|s| s.site == site).collect();
        bath(r, site, &here, &mut seen);
        alley::boxes(r, site, &here, &mut seen);
    }
    for ((who, expected), (first, times)) in seen.found {
        let first = r.local(first).format("%Y-%m-%d %H:%M");
        let got = format!("{times} against it, the first at {first}");
        r.wrong(&format!("minute by minute: {who}"), expected, got);
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
    let (cow, ..) = stays::rounds(r, stay.technician, straws);
    let helper = stay.technician.helper;
    let between = if helper {
        cow.max(r.season.rules.load.0)
    } else {
        cow
    };
    let reach = seconds(between * (straws - 1.0)) + CLOSE * 2;
    let at: Vec<DateTime<Utc>> = stay.cows.iter().map(|c| c.at).collect();
    let bath = |first: usize| {
        let bath = stay.cows[first].busy;
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
                    || stay.cows[*first].busy >= at[*first - 1] - CLOSE * 2;
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
fn straws(r: &Reading<'_>, stay: &Stay<'_>, seen: &mut Seen) {
    let limit = seconds(r.season.rules.bath_to_cow.0) + CLOSE * 2;
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

/// The full minutes from one moment to another.
fn minutes(from: DateTime<Utc>, to: DateTime<Utc>) -> std::ops::RangeInclusive<i64> {
    let first = (from.timestamp_millis() + 59_999).div_euclid(60_000);
    first..=to.timestamp_millis().div_euclid(60_000)
}

/// At each full minute the bath of a site holds no more straws than it can.
fn bath(r: &Reading<'_>, site: usize, here: &[&Stay<'_>], seen: &mut Seen) {
    let rules = &r.season.rules;
    let mut all: BTreeMap<i64, u32> = BTreeMap::new();
    for technician in &r.season.crew {
        let mine = here
            .iter()
            .filter(|s| std::ptr::eq(s.technician, technician));
        // One lot of straws a person at a time: the next goes in as the last of them comes out.
        let mut own: BTreeMap<i64, u32> = BTreeMap::new();
        for round in mine.flat_map(|s| all_rounds(r, s)) {
            // One straw after the other comes out to be loaded.
            for nth in 0..round.cows.len() {
                let out = round.bath + seconds(rules.thaw.0 + rules.load.0 * nth as f64);
                let left = (round.cows.len() - nth) as u32;
                for minute in minutes(round.bath, out - CLOSE) {
                    let straws = own.entry(minute).or_default();
                    *straws = (*straws).max(left);
                }
            }
        }
        for (minute, straws) in own {
            *all.entry(minute).or_default() += straws;
        }
    }
    let most = r.season.sites[site].thaw_bath.0;
    for (minute, _) in all.into_iter().filter(|(_, straws)| *straws > most) {
        seen.wrong(
            format!("the bath of {}", r.season.sites[site].id),
            format!("at most {most} straws in it"),
            DateTime::from_timestamp(minute * 60, 0).unwrap_or_default(),
        );
    }
}
