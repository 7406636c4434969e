//! Reasons and findings for what is not covered, in words.

use std::collections::BTreeSet;

use crate::base::error::{Code, Finding, quoted};
use crate::base::units::human_minutes;
use crate::planning::crew::{Binding, Lifted, Session, Uncovered};
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::{Order, Season, Site};

/// What could be bred with limits lifted.
pub(crate) fn limit(site: &Site, u: &Uncovered, lifted: &Lifted) -> String {
    let all = lifted.head >= u.head.0;
    let some = if all {
        "they".to_owned()
    } else {
        format!("up to {} of them", lifted.head)
    };
    let phrase = |b: &Binding| match b {
        Binding::Straws => "with straws for all".to_owned(),
        Binding::Window => "if they came in the order of the last treatment".to_owned(),
        Binding::Shifts => "with longer shifts and no days off".to_owned(),
        Binding::LongestDay => "without a longest day".to_owned(),
        Binding::Rest => "without the rest".to_owned(),
        Binding::Elsewhere => "if nobody were held by a session at another site".to_owned(),
        Binding::Boxes => match site.thaw_bath.0 {
            n if n < site.stated_boxes => {
                format!("with a thaw bath for more straws than {n}")
            }
            _ => format!("with more breeding boxes than {}", site.stated_boxes),
        },
        Binding::FreeHours => "without the hours kept free".to_owned(),
        Binding::Pace => "with more technicians".to_owned(),
        Binding::Tank => "if the tank were at both sites".to_owned(),
    };
    match &lifted.limits[..] {
        [Binding::Straws] => {
            let some = if all {
                "they are".to_owned()
            } else {
                format!("{} of them are", lifted.head)
            };
            format!("{some} out of straws: every straw of this group's bulls is spoken for")
        }
        [one] => format!("{some} could be bred {}", phrase(one)),
        more => {
            let both: Vec<String> = more.iter().map(phrase).collect();
            format!(
                "more than one limit is in the way: {some} could be bred {}",
                both.join(" and ")
            )
        }
    }
}

/// Why no slot is left between the pass that the hours count from and the window.
pub(crate) fn window(season: &Season, due: &Due) -> String {
    let taken = due.from.end() - due.from.start;
    let width = due.window.latest - due.window.earliest;
    match due.order {
        Order::Mixed => format!(
            "the treatment before AI takes {} and the AI window is {} wide: with cows in any order only {} are left{}",
            human_minutes(taken.num_minutes()),
            human_minutes(width.num_minutes()),
            human_minutes((width - taken).num_minutes().max(0)),
            if width - taken < season.rules.grain() {
                ", less than one slot"
            } else {
                ", and no whole slot"
            }
        ),
        Order::Kept => format!(
            "the AI window is {} wide: counted from the last animal treated, no whole slot of {} is left",
            human_minutes(width.num_minutes()),
            human_minutes(season.rules.grain().num_minutes())
        ),
    }
}

/// What is not covered, as findings.
pub(crate) fn findings(
    season: &Season,
    dated: &DatedSeason,
    session: &Session,
    unproven: &BTreeSet<usize>,
) -> Vec<Finding> {
    session
        .uncovered
        .iter()
        .map(|u| {
            let due = &dated.dues[u.due];
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
            let hints: Vec<&str> = u.hints.iter().map(|h| h.words.as_str()).collect();
            let finding = Finding::warning(
                if straws {
                    Code::StrawsShort
                } else {
                    Code::Uncovered
                },
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
            .expected("every animal bred in her AI window");
            if u.binding == Binding::Tank {
                finding.hint("start one of the groups on another day, or take a part of the straws in a second tank: list it under `tanks` with its straws, or set `places_at_once`")
            } else if hints.is_empty() {
                finding.hint("`thawline cover` looks for changes that cover more, two of them together as well")
            } else {
                finding.hint(hints.join("; "))
            }
        })
        .collect()
}
