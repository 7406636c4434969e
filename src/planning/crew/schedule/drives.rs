//! No long drive for a few cows: whoever would drive further for each cow than the season allows
//! stays away, unless fewer animals would then be bred.

use super::readback;
use crate::base::progress::{Budget, Progress};
use crate::planning::crew::assign::best::{self, Task, Way};
use crate::planning::crew::sessions::parts::{Part, Short};
use crate::planning::crew::sessions::unstaffed::Unstaffed;
use crate::planning::crew::{Session, unstaffed_of};
use crate::planning::dating::DatedSeason;
use crate::trade::season::Season;

/// Drives of a part that are tried to be left out, one by one.
const MOST_TRIED: usize = 12;

/// Work of these tries, in about microseconds.
const WORK: i64 = 4_000_000;

/// A part's way without drives that nobody needs, and its sessions.
pub(crate) fn without_idle(
    season: &Season,
    dated: &DatedSeason,
    all_unstaffed: &[Unstaffed],
    part: &Part,
    short: &Short,
    anew: i64,
    progress: &dyn Progress,
) -> Result<(Way, Vec<Session>), String> {
    // The part's own sessions alone: they are copied with people left out.
    let all_unstaffed: &[Unstaffed] = &unstaffed_of(part, all_unstaffed)
        .into_iter()
        .cloned()
        .collect::<Vec<_>>();
    let part = &Part {
        sessions: (0..all_unstaffed.len()).collect(),
    };
    let task = Task {
        season,
        dated,
        all_unstaffed,
        part,
        short,
        only_head: false,
        anew,
    };
    let budget = Budget::apart(progress, WORK);
    let read = |all_unstaffed: &[Unstaffed], way: &Way| {
        readback::sessions(season, dated, all_unstaffed, part, way, &budget)
    };
    let mut way = best::best(task, progress)?;
    let mut sessions = read(all_unstaffed, &way);
    let mut idle = drives(season, part, all_unstaffed, &sessions);
    if idle.is_empty() || progress.stop() {
        return Ok((way, sessions));
    }
    let mut now: Vec<Unstaffed> = all_unstaffed.to_vec();
    // All at once, if that costs no cow; else one by one.
    let mut tries: Vec<Vec<(usize, usize)>> = vec![idle.clone()];
    let mut tried = 0;
    while let Some(out) = tries.pop().filter(|_| !budget.stop()) {
        let mut fewer = now.clone();
        for (unstaffed, technician) in &out {
            fewer[*unstaffed]
                .able
                .retain(|a| a.technician != *technician);
        }
        let all_unstaffed = &fewer;
        let other = best::again(
            Task {
                all_unstaffed,
                ..task
            },
            &way,
            progress,
        )?;
        tried += 1;
        let other = other.filter(|o| o.solved.head >= way.solved.head);
        if let Some(other) = other {
            sessions = read(&fewer, &other);
            (way, now) = (other, fewer);
            // Others may now drive for a few cows.
            idle = drives(season, part, &now, &sessions);
            if idle.is_empty() || tried > MOST_TRIED {
                break;
            }
            if tries.is_empty() {
                tries.push(idle.clone());
            }
        } else if out.len() > 1 {
            tries = out.iter().take(MOST_TRIED).map(|one| vec![*one]).collect();
        }
    }
    Ok((way, sessions))
}

/// Technicians who drive too far for what they breed, with the session as it was unstaffed.
fn drives(
    season: &Season,
    part: &Part,
    all_unstaffed: &[Unstaffed],
    sessions: &[Session],
) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    for (n, unstaffed) in part.sessions.iter().zip(unstaffed_of(part, all_unstaffed)) {
        for session in sessions.iter().filter(|s| s.dues == unstaffed.dues) {
            for present in &session.crew {
                let who = &season.crew[present.technician];
                let there_and_back = season.road_home(who, unstaffed.site) * 2;
                let most = season.rules.road_a_head * present.head.0 as i32;
                if there_and_back > most {
                    found.push((*n, present.technician));
                }
            }
        }
    }
    found
}
