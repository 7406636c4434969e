//! How long the slots are where a season states no length.

use std::borrow::Cow;

use chrono::TimeDelta;

use crate::planning::dating::Due;
use crate::trade::season::{Order, Season};

/// Steps of hours, times technicians and lots, that are counted finely, at the most.
const MOST_STEPS: i64 = 60_000;

/// The season counted in finer steps, where its file states none and it is small enough: by the minute; or by
/// five minutes where people take turns at a box, since nobody changes places every minute.
pub(crate) fn finest(season: &Season, dues: &[Due]) -> Option<Season> {
    let people = season.crew.len();
    let has_room = |due: &Due| season.sites[due.site].breeding_boxes as usize >= people;
    let minutes = if dues.iter().all(has_room) { 1 } else { 5 };
    let size = |due: &Due| {
        let hours = due.safe_hours();
        let lots = match due.order {
            Order::Mixed => 1,
            Order::Kept => i64::from(due.head.0),
        };
        (hours.latest - hours.earliest).num_minutes().max(0) / minutes * (lots + people as i64)
    };
    if season.rules.grain.is_some() || dues.iter().map(size).sum::<i64>() > MOST_STEPS {
        return None;
    }
    let mut fine = season.clone();
    fine.rules.grain = Some(TimeDelta::minutes(minutes));
    Some(fine)
}

/// A changed season, counted as a plan of it would be: with other people or hours finer steps may be others, or
/// too many.
pub(crate) fn as_fine<'a>(season: &'a Season, dues: &[Due]) -> Cow<'a, Season> {
    if season
        .rules
        .grain
        .is_none_or(|grain| grain == season.rules.slot)
    {
        return Cow::Borrowed(season);
    }
    let mut coarse = season.clone();
    coarse.rules.grain = None;
    Cow::Owned(finest(&coarse, dues).unwrap_or(coarse))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planning::dating;
    use crate::trade::season;

    /// With a third technician at two boxes people take turns, which is planned by five minutes and not by one: a
    /// hint that counts by the minute would promise more than the plan breeds.
    #[test]
    fn a_change_of_people_changes_the_steps() {
        let text = "format: thawline.season/1
name: Made
zone: America/Denver
sites: [{id: a, injections_head_per_hour: 60, breeding_boxes: 2}]
groups:
  - {id: g, site: a, class: cow, head: 60, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T14:00\", order: mixed, bulls: [Ash 1]}
crew: [{id: t, minutes_per_cow: 4}, {id: u, minutes_per_cow: 4}]
semen: [{bull: Ash 1, straws: 90}]
";
        let library = crate::trade::protocol::Library::built_in();
        let (season, _) = season::read("s.yaml", text.as_bytes(), &library).unwrap();
        let dues = dating::date(&season).dues;
        let minutes = |season: &Season| season.rules.grain.map(|grain| grain.num_minutes());
        let mut fine = finest(&season, &dues).unwrap();
        assert_eq!(minutes(&fine), Some(1));
        fine.crew.push(fine.crew[0].clone());
        assert_eq!(minutes(&as_fine(&fine, &dues)), Some(5));
        fine.crew.extend(vec![fine.crew[0].clone(); 1_000]);
        assert_eq!(minutes(&as_fine(&fine, &dues)), None);
        // What the file states stays, and so does a season that is not counted finely.
        let mut stated = season.clone();
        stated.rules.grain = Some(stated.rules.slot);
        assert_eq!(minutes(&as_fine(&stated, &dues)), Some(15));
        assert_eq!(minutes(&as_fine(&season, &dues)), None);
    }
}
