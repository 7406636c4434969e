//! Who breeds how many, for how long, and how long on the road.

use crate::output::document::Block;
use crate::planning::plan::{Plan, Technician};

/// Most technicians listed one by one in a shortened text.
const MOST: usize = 12;

/// The crew's figures; of a large crew, in a shortened text, those who breed most.
pub(super) fn crew(plan: &Plan, in_full: bool) -> Block {
    let mut people: Vec<&Technician> = plan.technicians.iter().collect();
    let all = people.len();
    if !in_full && all > MOST {
        people.sort_by_key(|t| std::cmp::Reverse(t.head));
        people.truncate(MOST);
    }
    let mut lines: Vec<String> = Vec::new();
    for t in &people {
        let road = t.road.as_ref().filter(|_| t.head > 0);
        let road = road.map_or_else(String::new, |road| format!("; {}", plan.road_words(road)));
        lines.push(format!("{}: {}{road}", t.name, t.share_words()));
    }
    if people.len() < all {
        let head: u32 = plan.technicians.iter().map(|t| t.head).sum();
        let listed: u32 = people.iter().map(|t| t.head).sum();
        let (more, head) = (all - people.len(), head - listed);
        lines.push(format!(
            "and {more} more technicians, who breed {head} head"
        ));
    }
    lines.extend(plan.road_total());
    let lines = lines.into_iter().map(Block::paragraph).collect();
    Block::part("crew", "Crew", lines)
}
