//! What a crew breeds with nothing to choose: everybody at every session of one site, by counting.

use super::coverage::{covered, places};
use crate::planning::crew::sessions::gather;
use crate::planning::crew::sessions::unstaffed::Slots;
use crate::planning::dating::DatedSeason;
use crate::trade::season::Season;

/// Head due, and how many of them the whole crew breeds with everybody sent to each session, the
/// fastest at the boxes. For groups of one site that nobody has to leave this is what can be bred,
/// where boxes do not bind; else it is never less.
#[must_use]
pub fn bound_by_session(season: &Season, dated: &DatedSeason) -> (u32, u32) {
    let mut due = 0;
    let mut bred = 0;
    for unstaffed in gather::sessions(season, dated, Slots::new(season)) {
        let lots = unstaffed.all_lots();
        let all = unstaffed.able.iter().map(|a| &a.ticks);
        due += lots.iter().map(|l| l.head).sum::<u32>();
        bred += covered(
            &lots,
            &places(all, season.sites[unstaffed.site].breeding_boxes),
        );
    }
    (due, bred)
}
