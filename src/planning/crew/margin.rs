//! What margin a session has, what binds it, and reasons in words.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::base::progress::Progress;
use crate::trade::season::Season;

/// Before the words of a session that breeds all.
pub const LIMIT: &str = "limit: ";

/// What is left over in a session, and what binds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Margin {
    /// More head that could be bred in the tightest pen with the same crew.
    pub head: u32,
    /// Minutes that the crew could start later than planned and still breed everyone in time.
    pub minutes: i64,
    /// What binds.
    pub binding: Option<Binding>,
    /// That in words, with figures: behind [`LIMIT`] where all are bred, else why they are not.
    pub words: String,
}

/// The limit that is met first.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Deserialize,
    Serialize,
    JsonSchema,
    strum::IntoStaticStr,
)]
#[serde(rename_all = "kebab-case")]
#[strum(serialize_all = "kebab-case")]
pub enum Binding {
    /// Straws of the group's bulls.
    Straws,
    /// The protocol's window, for cows in any order.
    Window,
    /// Hours of work and days off.
    Shifts,
    /// The longest day.
    LongestDay,
    /// Rest after so many hours.
    Rest,
    /// Technicians who are at another site.
    Elsewhere,
    /// Breeding boxes.
    Boxes,
    /// Hours kept free.
    FreeHours,
    /// The pace of the technicians who are there.
    Pace,
    /// A tank that serves another site as well.
    Tank,
}

impl Binding {
    /// The word in JSON.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        self.into()
    }
}

/// Head bred by a season, planned with all that a plan settles besides the crew; none where the search is
/// asked to stop.
pub type Replan<'a> = dyn Fn(&Season, &dyn Progress) -> Option<u32> + Sync + 'a;

/// How a season is planned again.
#[derive(Clone, Copy)]
pub struct Proof<'a> {
    /// Plans it.
    pub replan: &'a Replan<'a>,
    /// True where more is settled than the crew, such as turns of a tank: what is too much work to be planned again
    /// is not told.
    pub needed: bool,
}

/// How far the reasons for what is not covered are looked for.
#[derive(Clone, Copy)]
pub enum Reasons<'a> {
    /// Every limit is lifted and the crew counted again; what that breeds more, the whole season planned again bears
    /// out.
    Told(Option<Proof<'a>>),
    /// Left out, where nobody reads them.
    LeftOut,
}
