//! What is not covered, as findings with a remedy.

use std::collections::BTreeSet;

use super::{Binding, Session};
use crate::error::{Code, Finding, quoted};
use crate::expand::Expanded;
use crate::season::{Order, Season};

/// What is not covered, as findings.
pub(super) fn findings(
    season: &Season,
    expanded: &Expanded,
    session: &Session,
    unproven: &BTreeSet<usize>,
) -> Vec<Finding> {
    session
        .uncovered
        .iter()
        .map(|u| {
            let due = &expanded.dues[u.due];
            let group = &season.groups[due.group];
            let hours = due.safe_hours();
            let straws = u.binding == Binding::Straws;
            let cannot = if unproven.contains(&u.due) {
                "are not bred in this plan"
            } else {
                "cannot be bred in their hours"
            };
            let when = if hours.earliest <= hours.latest {
                season.zone.human_range(hours.earliest, hours.latest)
            } else {
                format!("around {}", season.zone.human_short(hours.aim))
            };
            Finding::warning(
                if straws { Code::StrawsShort } else { Code::Uncovered },
                format!(
                    "{} of {}{} {cannot}, {when}: {}",
                    u.head,
                    quoted(group.id.as_str()),
                    if group.pens.len() > 1 && due.half_day.is_none() {
                        format!(" pen {}", due.pen + 1)
                    } else {
                        String::new()
                    },
                    u.why.join("; ")
                ),
            )
            .at(group.start_place.clone())
            .expected("every animal bred inside her own hours")
            .hint(match u.binding {
                Binding::Straws => "order straws, or name another bull for the group",
                Binding::Window => "keep the order of the PG pass (`order: kept`), make pens, or speed up the pass",
                Binding::Shifts => "lengthen a shift, or start the group so that its hours fall into the shifts",
                Binding::Elsewhere => "start one of the groups on another day, or add a technician",
                Binding::Boxes => "add a breeding box, or a faster technician",
                Binding::Tank => "start one of the groups on another day, or take a part of the straws in a second tank: list it under `tanks` with its straws, or set `places_at_once`",
                Binding::FreeHours => "start the group so that its hours miss the hours kept free",
                Binding::Pace if due.half_day.is_some() => "ask another technician or a helper to come, or widen `heat_breeding_hours`",
                Binding::Pace if due.order == Order::Mixed => "keep the order of the PG pass (`order: kept`), add a technician or a helper, or make the group smaller",
                Binding::Pace => "add a technician or a helper, make pens that start on different days, or make the group smaller",
            })
        })
        .collect()
}
