//! What a group meets after AI: clean-up bulls and calving.

use chrono::NaiveDate;

use super::calves::{Calves, OwnGestation};
use super::raw;
use super::rules::Rulebook;
use crate::base::error::{Code, Place, quoted};
use crate::base::time::parse_date;
use crate::trade::figures::Gestation;

/// Bulls that run with a group after AI: those of its `clean_up` ([`super::CleanUp`]), from which they
/// are made, or those whose turn-out its wishes name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CleanupBulls {
    /// The day on which they are turned out.
    pub turned_out: NaiveDate,
    /// The day on which they are taken out.
    pub out: Option<NaiveDate>,
    /// How many.
    pub head: Option<u32>,
    /// How long their calves are carried.
    pub gestation: Gestation,
    /// Where their turn-out stands in the file.
    pub place: Place,
}

/// What a group meets after AI.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct After {
    /// Its clean-up bulls. Those of `wishes.bulls_in` too, unless the group says more.
    pub bulls: Option<CleanupBulls>,
    /// How long the calves are carried.
    pub gestation: Gestation,
}

impl After {
    /// From what the group says of its calves, with what only its wishes say: the turn-out of bulls,
    /// and on which days before the mean calves are looked for. `place` tells where a field stands.
    pub(super) fn build(g: &raw::Group, calves: &Calves, place: &dyn Fn(&str) -> Place) -> Self {
        let (said, wished) = (g.calves.as_ref(), g.wishes.as_ref());
        let own = said.is_some_and(|c| c.breed.is_some() || c.gestation_days.is_some());
        let early_days = wished.and_then(|w| w.early_days).filter(|_| !own);
        let whole = |of: &OwnGestation| {
            let mut gestation = of.whole();
            if let Some(days) = early_days.filter(|_| *of == calves.gestation) {
                gestation.early_days = days;
            }
            gestation
        };
        let gestation = whole(&calves.gestation);
        let bulls_in = wished.and_then(|w| w.bulls_in.as_deref());
        let bulls = match &calves.clean_up {
            Some(b) => Some(CleanupBulls {
                turned_out: b.first,
                out: Some(b.last),
                head: Some(b.head.0),
                gestation: whole(&b.gestation),
                place: b.place.clone(),
            }),
            None => bulls_in
                .and_then(parse_date)
                .map(|turned_out| CleanupBulls {
                    turned_out,
                    out: None,
                    head: None,
                    gestation: gestation.clone(),
                    place: place("wishes.bulls_in"),
                }),
        };
        Self { bulls, gestation }
    }
}

impl Rulebook<'_> {
    /// A place on the earth is two numbers.
    pub(super) fn site_places(&mut self) {
        for (n, s) in self.raw.sites.iter().enumerate() {
            let (given, missing) = match (s.latitude, s.longitude) {
                (Some(_), None) => ("latitude", "longitude"),
                (None, Some(_)) => ("longitude", "latitude"),
                _ => continue,
            };
            let field = format!("sites[{n}].{given}");
            let what = format!("{} has a `{given}` and no `{missing}`", quoted(&s.id));
            let expected = "both, in degrees, or neither";
            let hint = format!("add `{missing}`: south and west are below zero");
            self.fault(Code::OutOfRange, &field, what, expected, hint);
        }
    }
}
