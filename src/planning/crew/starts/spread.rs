//! Groups spread over days: one after the other beside all others, or each as a choice for it counts it.

use crate::base::error::{Code, Finding, quoted};
use crate::base::progress::{Budget, Progress};
use crate::planning::crew::Fault;
use crate::planning::crew::starts::days::{self, Spread};
use crate::trade::season::{Group, PenStarts, Season};

/// Work for one group of a choice, in about microseconds: in the choice and in a plan alike.
const CHOSEN_WORK: i64 = 300_000;

/// How a group is spread that is chosen for, beside those without wishes: by the same search in a choice and in
/// a plan of it.
///
/// # Errors
/// A [`Fault`] if the crew cannot be counted.
pub fn chosen(
    others: &[Group],
    group: &Group,
    season: &mut Season,
    progress: &dyn Progress,
) -> Result<Option<Spread>, Fault> {
    season.groups.clear();
    season
        .groups
        .extend(others.iter().filter(|g| g.wishes.is_none()).cloned());
    let nth = season.groups.partition_point(|g| g.nth < group.nth);
    season.groups.insert(nth, group.clone());
    days::spread(season, nth, &Budget::apart(progress, CHOSEN_WORK))
}

/// The season with each group spread over days that may be.
pub(super) fn in_turn(season: &Season, progress: &dyn Progress) -> Result<Season, Fault> {
    let mut settled = season.clone();
    for g in 0..season.groups.len() {
        let spread = days::spread(&settled, g, progress)?;
        settled.groups[g] = given(&settled.groups[g], spread);
    }
    Ok(settled)
}

/// A group on one day, or spread.
pub(super) fn given(group: &Group, spread: Option<Spread>) -> Group {
    let mut group = spread.map_or_else(|| group.clone(), |s| s.of(group));
    group.days = 1;
    group
}

/// What to say of each group that is spread.
pub(super) fn findings(season: &Season, settled: &Season) -> Vec<Finding> {
    let both = season.groups.iter().zip(&settled.groups);
    let spread = both.filter_map(|(before, group)| match &group.pen_starts {
        PenStarts::Given(starts) if before.days > 1 => {
            let (pens, starts) = (group.pens.clone(), starts.clone());
            Some((group, Spread { pens, starts }))
        }
        _ => None,
    });
    spread
        .map(|(group, spread)| {
            Finding::note(
                Code::DaysChosen,
                format!(
                    "{} is spread {} begin; each lot keeps the protocol's own hours",
                    quoted(group.id.as_str()),
                    spread.words()
                ),
            )
            .at(group.start_place.clone())
            .expected("the fewest days found that breed most")
            .hint("give `pens` or `pen_head` and `pen_starts` to fix them")
        })
        .collect()
}
