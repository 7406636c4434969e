//! Straws for cows that never come: brought beside those of the cows, as far as there are any.

use super::{Bull, BullStraws, Session};
use crate::base::error::{Code, Finding, quoted};
use crate::base::units::count;
use crate::trade::season::Season;

/// Straws of one bull that a session thaws for nobody, by the season's share.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Spare {
    pub(crate) bull: String,
    /// How many the share asks for.
    pub(crate) straws: u32,
    /// How many of them are there, once all cows have theirs.
    pub(crate) there: u32,
}

/// What each session brings to spare. Of all straws thawed the share is wasted, the others are used;
/// it is rounded up over the season, not each time. Straws that are short go to the first sessions.
pub(crate) fn spares(season: &Season, sessions: &[Session], bulls: &[Bull]) -> Vec<Vec<Spare>> {
    let share = season.rules.straws.wasted;
    let mut found = vec![Vec::new(); sessions.len()];
    if share <= 0.0 {
        return found;
    }
    for bull in bulls {
        let (mut used, mut wasted, mut left) = (0, 0, bull.left_straws);
        for (s, found) in sessions.iter().zip(&mut found) {
            let mine = s.straws.iter().filter(|x| x.bull == bull.id);
            used += mine.map(|x| x.straws).sum::<u32>();
            // A group planned whole for two breedings takes the same straws again.
            let so_far = wasted_straws(used.min(bull.planned_straws), share);
            let straws = so_far - wasted;
            wasted = so_far;
            if straws > 0 {
                let there = straws.min(left);
                left -= there;
                let bull = bull.id.clone();
                found.push(Spare {
                    bull,
                    straws,
                    there,
                });
            }
        }
    }
    found
}

/// Straws for cows that never come beside those used: of all straws thawed this share, 0 to below 1,
/// is wasted, and the others are used. Rounded up.
pub(crate) fn wasted_straws(used: u32, share: f64) -> u32 {
    let exact = f64::from(used) * share / (1.0 - share);
    (exact - 1e-9).ceil().max(0.0) as u32
}

/// Sets them in the sessions and for the bulls; what is said of those that are lacking.
pub(super) fn set(season: &Season, sessions: &mut [Session], bulls: &mut [Bull]) -> Vec<Finding> {
    let spares = spares(season, sessions, bulls);
    let mut found = Vec::new();
    for bull in bulls {
        let mine = spares.iter().flatten().filter(|s| s.bull == bull.id);
        let (asked, there) = mine.fold((0, 0), |(a, t), s| (a + s.straws, t + s.there));
        bull.spare_straws = there;
        if asked > there {
            found.push(lacking(&bull.id, asked - there));
        }
    }
    for (session, spares) in sessions.iter_mut().zip(spares) {
        let there = spares.into_iter().filter(|s| s.there > 0);
        let brought = there.map(|s| BullStraws {
            bull: s.bull,
            straws: s.there,
            sexed_straws: None,
        });
        session.spare_straws = brought.collect();
    }
    found
}

/// Straws of a bull for waste that are not there.
pub(crate) fn lacking(bull: &str, straws: u32) -> Finding {
    Finding::warning(
        Code::StrawsForWaste,
        format!(
            "{} of {} for cows that never come cannot be set aside: the plan needs the others",
            count(straws, "straw", "straws"),
            quoted(bull)
        ),
    )
    .expected("straws for the share in `straws_wasted_percent`")
    .hint("order straws, or name another bull for the groups")
}
