//! A group that the plan may spread over days: what its lots may be, and the season with them.

use std::borrow::Cow;
use std::collections::BTreeSet;

use chrono::{DateTime, TimeDelta, Utc};

use super::Reading;
use crate::base::error::Finding;
use crate::base::units::Head;
use crate::planning::plan::{self, Plan};
use crate::trade::protocol::Anchor;
use crate::trade::season::{Group, PenStarts, Season};

/// A week after the first lot the next treatment of that lot is due.
const MOST_LATER: i64 = 6;

/// The season with the pens and starts that the plan gives to groups that it may spread.
///
/// # Errors
/// What of them the season does not allow.
pub fn as_spread<'a>(season: &'a Season, plan: &Plan) -> Result<Cow<'a, Season>, Vec<Finding>> {
    if season.groups.iter().all(|g| g.days < 2) {
        return Ok(Cow::Borrowed(season));
    }
    let mut r = Reading::new(season, plan);
    let mut spread = season.clone();
    for group in &mut spread.groups {
        let given = plan.group(group.id.as_str());
        let Some((given, starts)) = given.and_then(|g| Some((g, g.pen_starts.as_ref()?))) else {
            continue;
        };
        if group.days < 2 {
            continue;
        }
        let starts: Vec<DateTime<Utc>> = starts.iter().map(DateTime::to_utc).collect();
        lots(&mut r, group, given, &starts);
        group.pens = given.pen_head.iter().map(|h| Head(*h)).collect();
        group.pen_starts = PenStarts::Given(starts.iter().map(|s| r.local(*s)).collect());
    }
    if r.found.is_empty() {
        Ok(Cow::Owned(spread))
    } else {
        Err(r.found)
    }
}

/// Pens that are stated are kept whole, in their order. The first of each day begins within
/// three hours of the group's clock time, on a quarter of an hour from it; the others of the day as soon as the pen before is through, on the minute.
fn lots(r: &mut Reading<'_>, group: &Group, given: &plan::Group, starts: &[DateTime<Utc>]) {
    let who = format!("group {}", group.id);
    let stated: Vec<u32> = group.pens.iter().map(|p| p.0).collect();
    if group.pens_stated {
        r.same(&who, &stated, &given.pen_head);
    }
    let found = given.pen_head.iter().copied().sum::<u32>();
    r.same(&who, &group.head().0, &found);
    r.same(&who, &given.pen_head.len(), &starts.len());
    if group.protocol.steps.iter().any(|s| s.lasts_days.is_some()) {
        r.wrong(&who, "a group that begins on one day", "several");
    }
    let mut steps = group.protocol.steps.iter();
    let first_step = steps.find(|s| s.lasts_days.is_none() && s.anchor == Anchor::Start);
    let mut days: BTreeSet<i64> = BTreeSet::new();
    let mut through: Option<DateTime<Utc>> = None;
    for (at, head) in starts.iter().zip(&given.pen_head) {
        let later = (r.local(*at).date() - group.start.date()).num_days();
        let in_turn = days.last().copied().is_none_or(|last| last <= later);
        let own = r.instant(group.start + TimeDelta::days(later));
        // Where clocks change between, by either count of the hours.
        let by_clock = r.local(*at) - group.start - TimeDelta::days(later);
        let apart = (*at - own).abs().min(by_clock.abs()).num_seconds();
        let begins_a_day = !days.contains(&later)
            && apart <= 3 * 3600
            && apart % 900 == 0
            && (later > 0 || *at >= own);
        // It may follow past midnight, and is of the day before then.
        let follows = through.is_some_and(|free| {
            let whole_minute = at.timestamp() % 60 == 0;
            group.pens_stated && whole_minute && (free..free + TimeDelta::minutes(1)).contains(at)
        });
        if begins_a_day {
            days.insert(later);
        }
        let fits = if begins_a_day {
            (0..=MOST_LATER).contains(&later)
        } else {
            follows
        };
        if !fits || !in_turn || *head == 0 {
            r.wrong(&who, "lots that begin about the group's clock time", at);
        }
        let long = first_step.map(|s| r.seconds_in_chute(group, s, Head(*head)));
        through = Some(*at + long.unwrap_or_default());
    }
    let allowed = 2..=group.days as usize;
    if !allowed.contains(&days.len()) || !days.contains(&0) {
        let wanted = format!("the first day and up to {} in all", group.days);
        r.wrong(&who, wanted, format!("{days:?} days later"));
    }
}
