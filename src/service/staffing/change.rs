//! One change to a season: what it does.
//!
//! Groups, sites, technicians and bulls are named by their place in the season; no change moves
//! them, so a change that fits a season fits it after another change too, or says that it does not.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use strum::VariantArray as _;

use crate::base::time::Instant;
use crate::base::units::{Head, HeadPerHour, Seconds, Straws};
use crate::trade::protocol::Protocol;
use crate::trade::season::raw::Weekday;
use crate::trade::season::{
    Group, Order, Pace, PenStarts, Season, Shift, Site, Technician, weekday,
};

/// Technician, place of the shift, and the new clock times.
pub(super) type NewShift = (usize, usize, NaiveTime, NaiveTime);

/// One change.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// To a group.
    Group(usize, OfGroup),
    /// A site's chute goes at another pace, in head an hour: true for passes in which inserts go in or out.
    Pace(usize, bool, f64),
    /// A site has so many breeding boxes.
    Boxes(usize, u32),
    /// So many more straws of a bull.
    Straws(usize, u32),
    /// Shifts that begin on a date begin or end at other clock times, as on all such weekdays.
    Shifts(NaiveDate, Vec<NewShift>),
    /// What the plan assumes of a technician who states no shifts is stated: a shift for every day, and the
    /// longest day from leaving home to being back.
    Hours(usize, Shift, TimeDelta),
    /// A technician gets a helper who thaws and loads: the pace at the cow, with loaded guns at hand.
    Helper(usize, Seconds),
    /// Somebody of the season who was left out comes as well.
    Send(Box<Technician>),
    /// A technician whom the season does not have works a single shift, which begins on a date.
    Hire {
        /// With that shift.
        technician: Box<Technician>,
        /// Whose pace it is.
        like: String,
        /// The date.
        date: NaiveDate,
    },
}

/// One change to a group. Times are local.
#[derive(Clone, Debug, PartialEq)]
pub enum OfGroup {
    /// It comes to breeding in the order of the earlier pass.
    Keep,
    /// It is split into so many pens of about equal size.
    Pens(u32),
    /// Pens begin at times of their own.
    PenStarts(Vec<NaiveDateTime>),
    /// It is spread over days: the head of each lot, and when each begins.
    Days(Vec<u32>, Vec<NaiveDateTime>),
    /// It begins at another time, its pens' own starts moved along.
    Start(NaiveDateTime),
    /// It may use one more of the season's bulls.
    Bull(usize),
    /// It is on another protocol, with a start so that breeding falls as before.
    Protocol(Box<Protocol>, NaiveDateTime),
}

/// Head an hour through a chute, in passes with inserts or in others.
pub(super) fn pace(site: &Site, inserts: bool) -> f64 {
    let pace = if inserts {
        site.inserts
    } else {
        site.injections
    };
    pace.get()
}

/// Pens of about equal size, as a season file's `pens: N` makes them.
pub(super) fn even_pens(head: u32, pens: u32) -> Vec<Head> {
    let (each, more) = (head / pens, head % pens);
    (0..pens)
        .map(|k| Head(each + u32::from(k < more)))
        .collect()
}

/// True if these starts of pens are such as a season file may hold.
pub(super) fn may_begin(group: &Group, starts: &[NaiveDateTime]) -> bool {
    let as_one = group.protocol.steps.iter().any(|s| s.lasts_days.is_some());
    let fits = |at: &NaiveDateTime| {
        let later = *at - group.start;
        later >= TimeDelta::zero()
            && later <= TimeDelta::days(7)
            && (!as_one || at.date() == group.start.date())
    };
    starts.len() == group.pens.len() && starts.iter().all(fits)
}

impl Change {
    /// The season with the change; `None` if it does not fit, or changes nothing.
    #[must_use]
    pub fn applied(&self, season: &Season) -> Option<Season> {
        let mut new = season.clone();
        self.apply(&mut new)?;
        (new != *season).then_some(new)
    }

    /// From when to when somebody more is hired.
    pub(super) fn hired(&self, season: &Season) -> Option<(Instant, Instant)> {
        match self {
            Self::Hire {
                technician, date, ..
            } => Some(technician.shifts.first()?.span(season.zone, *date)),
            _ => None,
        }
    }

    fn apply(&self, season: &mut Season) -> Option<()> {
        match self {
            Self::Group(g, change) => {
                if let OfGroup::Bull(bull) = change {
                    season.bulls.get(*bull)?;
                }
                change.apply(season.groups.get_mut(*g)?)?;
            }
            Self::Pace(site, inserts, head_per_hour) => {
                let site = season.sites.get_mut(*site)?;
                let now = if *inserts {
                    &mut site.inserts
                } else {
                    &mut site.injections
                };
                *now = HeadPerHour::new(*head_per_hour)?;
            }
            Self::Boxes(site, boxes) => season.sites.get_mut(*site)?.set_boxes(*boxes),
            Self::Straws(bull, more) => {
                let bull = season.bulls.get_mut(*bull)?;
                bull.places.push(bull.bought(Straws(*more)));
            }
            Self::Shifts(date, new) => {
                for (t, nth, from, to) in new {
                    let technician = season.crew.get_mut(*t)?;
                    change_shift(technician, *nth, *date, *from, *to)?;
                }
            }
            Self::Hours(technician, shift, longest) => {
                let technician = season.crew.get_mut(*technician)?;
                technician.shifts = vec![shift.clone()];
                technician.longest_day = Some(*longest);
            }
            Self::Helper(technician, cow) => {
                let technician = season.crew.get_mut(*technician)?;
                technician.helper = true;
                technician.pace = Pace::AtTheCow(*cow);
            }
            Self::Send(technician) | Self::Hire { technician, .. } => {
                if season.crew.iter().any(|t| t.id == technician.id) {
                    return None;
                }
                season.crew.push((**technician).clone());
            }
        }
        Some(())
    }
}

impl OfGroup {
    fn apply(&self, group: &mut Group) -> Option<()> {
        match self {
            Self::Keep => group.order = Order::Kept,
            Self::Pens(pens) => {
                let head = group.head().0;
                if *pens == 0 || *pens > head {
                    return None;
                }
                group.pens = even_pens(head, *pens);
                group.pens_stated = true;
                group.pen_starts = PenStarts::InTurn;
            }
            Self::PenStarts(starts) => begin_pens(group, starts)?,
            Self::Days(pens, starts) => {
                if pens.iter().sum::<u32>() != group.head().0 || pens.contains(&0) {
                    return None;
                }
                group.pens = pens.iter().map(|h| Head(*h)).collect();
                group.pens_stated = true;
                begin_pens(group, starts)?;
            }
            Self::Start(start) => move_start(group, *start),
            Self::Bull(bull) if group.bulls.contains(bull) => {}
            Self::Bull(bull) => group.bulls.push(*bull),
            Self::Protocol(protocol, start) => {
                group.protocol = (**protocol).clone();
                move_start(group, *start);
                if let PenStarts::Given(starts) = &group.pen_starts
                    && !may_begin(group, starts)
                {
                    return None;
                }
            }
        }
        Some(())
    }
}

fn begin_pens(group: &mut Group, starts: &[NaiveDateTime]) -> Option<()> {
    if !may_begin(group, starts) {
        return None;
    }
    group.pen_starts = PenStarts::Given(starts.to_vec());
    group.days = 1;
    Some(())
}

fn move_start(group: &mut Group, start: NaiveDateTime) {
    let by = start - group.start;
    group.start = start;
    match &mut group.pen_starts {
        PenStarts::InTurn => {}
        PenStarts::Given(starts) => starts.iter_mut().for_each(|s| *s += by),
        PenStarts::Until(latest) => *latest += by,
    }
}

/// The shift that begins on a weekday, with other clock times; on all other weekdays as before.
fn change_shift(
    technician: &mut Technician,
    nth: usize,
    date: NaiveDate,
    from: NaiveTime,
    to: NaiveTime,
) -> Option<()> {
    let shift = technician.shifts.get_mut(nth)?;
    if !shift.begins_on(date) || from == to {
        return None;
    }
    let day = weekday(date);
    let before = if shift.days.is_empty() {
        Weekday::VARIANTS.to_vec()
    } else {
        shift.days.clone()
    };
    let others: Vec<Weekday> = before.into_iter().filter(|d| *d != day).collect();
    if others.is_empty() {
        (shift.from, shift.to) = (from, to);
    } else {
        shift.days = others;
        technician.shifts.push(Shift {
            days: vec![day],
            from,
            to,
        });
    }
    Some(())
}
