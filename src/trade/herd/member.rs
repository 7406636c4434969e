//! A group's herd beside what the season says of the group.

use super::{Column, Herd, Spot};
use crate::base::error::Place;
use crate::base::units::Head;

/// A group and its herd.
#[derive(Clone, Copy, Debug)]
pub struct Member<'a> {
    /// The group's id.
    pub group: &'a str,
    /// The group's head.
    pub head: u32,
    /// Head of each of its pens.
    pub pens: &'a [Head],
    /// Where the season names the file.
    pub place: &'a Place,
    /// The herd.
    pub herd: &'a Herd,
}

pub(super) fn place(m: &Member<'_>, spot: Spot, column: Column) -> Place {
    spot.in_file(&m.herd.file, column.as_str())
}
