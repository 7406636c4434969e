//! Straws: another bull of the season for the group, or more straws of one of its own.

use super::{Ladder, Neighborhood};
use crate::planning::plan::{Binding, Uncovered};
use crate::service::staffing::change::{Change, OfGroup};
use crate::trade::season::Season;

/// Only where the plan says that straws are short: no other change brings any.
pub(super) fn ladders(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let evaluator = field.evaluator;
    let mut found = Vec::new();
    for g in field.groups() {
        let group = &season.groups[*g];
        let mine = |u: &&Uncovered| u.group == group.id.as_str();
        let left: u32 = evaluator
            .plan
            .uncovered
            .iter()
            .filter(mine)
            .map(|u| u.head)
            .sum();
        let short = evaluator
            .plan
            .sessions
            .iter()
            .filter(|s| s.pens.iter().any(|p| p.group == group.id.as_str()))
            .any(|s| s.binding == Binding::Straws);
        if left == 0 || !short {
            continue;
        }
        let spare = |b: usize| {
            let id = season.bulls[b].id.as_str();
            let bull = evaluator.plan.bulls.iter().find(|x| x.id == id);
            bull.map_or(0, |x| x.left_straws)
        };
        let others = (0..season.bulls.len()).filter(|b| !group.bulls.contains(b) && spare(*b) > 0);
        found.extend(others.map(|bull| vec![Change::Group(*g, OfGroup::Bull(bull))]));
        if let Some(bull) = group.bulls.first() {
            found.push(vec![Change::Straws(*bull, left)]);
        }
    }
    found
}
