//! What a group meets after AI: clean-up bulls and calving.

use chrono::NaiveDate;

use super::raw;
use super::rules::Rulebook;
use crate::error::{Code, Finding, Place, quoted};
use crate::forecast::Gestation;
use crate::time::parse_date;

/// Bulls that run with a group after AI.
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
    /// Dates were checked. `place` tells where a field stands.
    pub(super) fn build(g: &raw::Group, place: &dyn Fn(&str) -> Place) -> Self {
        let date = |text: &String| parse_date(text);
        let (said, wished) = (g.calves.as_ref(), g.wishes.as_ref());
        let of_days = |days: Option<f64>| days.and_then(|d| Gestation::of_days(d.round() as u32));
        let gestation = of_days(said.and_then(|c| c.gestation_days))
            .or_else(|| said.and_then(|c| c.breed).map(Gestation::of))
            .or_else(|| wished.map(super::wishes::gestation))
            .unwrap_or_default();
        let bulls = match said.and_then(|c| c.clean_up.as_ref()) {
            Some(b) => date(&b.turned_in).map(|turned_out| CleanupBulls {
                turned_out,
                out: date(&b.taken_out),
                head: Some(b.head),
                gestation: of_days(b.gestation_days)
                    .or_else(|| b.breed.map(Gestation::of))
                    .unwrap_or_else(|| gestation.clone()),
                place: place("calves.clean_up.in"),
            }),
            None => wished
                .and_then(|w| w.bulls_in.as_ref())
                .and_then(date)
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
            self.add(
                &format!("sites[{n}].{given}"),
                Finding::error(
                    Code::OutOfRange,
                    format!("{} has a `{given}` and no `{missing}`", quoted(&s.id)),
                )
                .expected("both, in degrees, or neither")
                .hint(format!("add `{missing}`: south and west are below zero")),
            );
        }
    }
}
