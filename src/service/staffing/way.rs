//! One change to a season, or two: together, with what they ask.

use super::change::Change;
use super::remedies::{Kind, Ladder};
use crate::trade::season::Season;

/// One change, or two.
#[derive(Clone)]
pub(super) struct Way {
    pub(super) kinds: Vec<Kind>,
    pub(super) changes: Vec<Change>,
    /// The season with all of them.
    pub(super) season: Season,
    pub(super) effort: u32,
    /// True if by counting it suffices.
    pub(super) hopeful: bool,
}

impl Way {
    pub(super) fn only_lessens(self) -> Self {
        Self {
            hopeful: false,
            ..self
        }
    }
}

/// The changes one after the other; `None` if one does not fit.
pub(super) fn all_applied(season: &Season, changes: &[Change]) -> Option<Season> {
    let mut now = season.clone();
    for change in changes {
        now = change.applied(&now)?;
    }
    Some(now)
}

/// True if somebody is hired, in the last change for all hours of all the others: where the hours are
/// more than a day's, no one shift holds them.
pub(super) fn last_holds_all(season: &Season, ladder: &Ladder) -> bool {
    let spans: Option<Vec<_>> = ladder.iter().map(|c| c.hired(season)).collect();
    let Some((last, all)) = spans.as_ref().and_then(|s| s.split_last()) else {
        return false;
    };
    all.iter().all(|s| last.0 <= s.0 && s.1 <= last.1)
}
