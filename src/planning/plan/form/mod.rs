//! The forms of a plan, as in JSON. Here are types and what reads them off; what is made of them and said
//! of them stands beside this folder.

mod group;
mod heat;
mod pass;
mod road;
mod session;
mod uncovered;
mod whole;

pub use group::{BullStraws, Group, InOrder};
pub use heat::{ByHeat, GroupHeat, HalfDay};
pub use pass::{Hours, Pass};
pub use road::{Leave, Outing, OwnRoad, Road};
pub use session::{AtSession, DuePen, Session, Slot};
pub use uncovered::{Limit, Uncovered};
pub use whole::{Bull, FORMAT, OpenPart, Plan, Search, Site, Technician, Tightest, Verdict};
