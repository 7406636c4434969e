//! Who breeds how many, for how long, and how long on the road.

use std::fmt::Write as _;

use super::super::wrapped;
use crate::planning::plan::{Plan, Technician};

/// Most technicians listed one by one in a shortened text.
const MOST: usize = 12;

/// The crew's figures; of a large crew, in a shortened text, those who breed most.
pub(super) fn crew(plan: &Plan, in_full: bool, text: &mut String) {
    let mut people: Vec<&Technician> = plan.technicians.iter().collect();
    text.push_str("\nCrew\n");
    let all = people.len();
    if !in_full && all > MOST {
        people.sort_by_key(|t| std::cmp::Reverse(t.head));
        people.truncate(MOST);
    }
    for t in &people {
        let mut line = format!("{}: {}", t.name, t.share_words());
        if let Some(road) = t.road.as_ref().filter(|_| t.head > 0) {
            let _ = write!(line, "; {}", plan.road_words(road));
        }
        let _ = writeln!(text, "{}", wrapped(&line, "  ", "    "));
    }
    if people.len() < all {
        let head: u32 = plan.technicians.iter().map(|t| t.head).sum();
        let listed: u32 = people.iter().map(|t| t.head).sum();
        let line = format!(
            "and {} technicians more, who breed {} head",
            all - people.len(),
            head - listed
        );
        let _ = writeln!(text, "{}", wrapped(&line, "  ", "    "));
    }
    for sentence in plan.road_total() {
        let _ = writeln!(text, "{}", wrapped(&sentence, "  ", "    "));
    }
}
