//! What is done at the chute: its pace, and how many boxes to breed in.

use super::{Ladder, Neighborhood, Scene};
use crate::service::staffing::change::Change;
use crate::trade::protocol::{Action, Anchor, Delay};
use crate::trade::season::{Order, Season};

/// Percent of the present pace, slower and faster.
const SLOWER: [u32; 14] = [95, 90, 85, 80, 75, 70, 65, 60, 55, 50, 45, 40, 35, 30];
const FASTER: [u32; 10] = [110, 120, 130, 140, 150, 160, 170, 180, 190, 200];

/// The pace of the pass that the breeding hours count from: slower where the order is kept, as that
/// spreads the hours; faster where it is not, as the hours must suit all at once.
pub(super) fn pace(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let mut found: Vec<Ladder> = Vec::new();
    for (g, n) in &field.evaluator.target.steps {
        let group = &season.groups[*g];
        let steps = &group.protocol.steps;
        let Some(step) = steps.get(*n) else { continue };
        let (Anchor::Step(a), Delay::Elapsed(_)) = (step.anchor, step.delay) else {
            continue;
        };
        if !steps[a].is_chute_work() {
            continue;
        }
        let inserts = steps[a]
            .actions
            .iter()
            .any(|x| matches!(x, Action::InsertIn | Action::InsertOut));
        let now = season.sites[group.site].pace(&steps[a]).get();
        let percents: &[u32] = match group.order {
            Order::Kept => &SLOWER,
            Order::Mixed => &FASTER,
        };
        // Whole numbers of head, as one would say them.
        let paces = percents
            .iter()
            .map(|p| (now * f64::from(*p) / 100.0).round().max(1.0));
        let rungs = paces.map(|pace| Change::Pace(group.site, inserts, pace));
        let ladder: Ladder = rungs.collect();
        if !found.contains(&ladder) {
            found.push(ladder);
        }
    }
    found
}

pub(super) fn boxes(season: &Season, scene: &Scene) -> Vec<Ladder> {
    let now = season.sites[scene.site].breeding_boxes;
    let most = (season.crew.len() as u32).min(now + 3);
    let rungs = (now + 1)..=most;
    vec![rungs.map(|n| Change::Boxes(scene.site, n)).collect()]
}
