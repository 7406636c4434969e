//! The finished plan, as it is written to JSON and read by every report.
//!
//! Times carry their offset; the local reading is the zone's at that moment. Pens, and animals
//! within a pen, count from 1. Quantities carry their unit in the key.
//!
//! Each file of a plan carries the plan's id, because no system replaces several files at one moment.
//! Two ids in one folder show that a run was ended between two renames. Findings are no part of the id:
//! they name files as they were called for.

mod assemble;
mod followed;
mod form;
mod heats;
mod maker;
mod road;
mod sessions;
mod spare;
mod strain;
pub(crate) mod straws;
mod verdict;

pub(crate) use assemble::assemble;
pub use assemble::site_of_session;
pub use form::*;
pub(crate) use spare::{lacking, spares, wasted_straws};
pub use verdict::PENS_NAMED;

pub use crate::base::error::Remark;
pub use crate::base::time::Moment;
pub use crate::planning::aftercare::{FollowUp, GroupFollowUp, Kind as FollowKind};
pub use crate::planning::crew::{Binding, Hint, LIMIT, Set};
pub use crate::planning::dating::{HalfOfDay, Work};
