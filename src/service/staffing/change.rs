//! One change to a season: what it does, what it asks, and what to write in the season file.
//!
//! Groups, sites, technicians and bulls are named by their place in the season; no change moves
//! them, so a change that fits a season fits it after another change too, or says that it does not.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

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
    /// A group comes to breeding in the order of the earlier pass.
    Keep {
        /// Group.
        group: usize,
    },
    /// A chute goes at another pace.
    Pace {
        /// Site.
        site: usize,
        /// True for passes in which inserts go in or out.
        inserts: bool,
        /// The new pace.
        head_per_hour: f64,
    },
    /// A group is split into so many pens of about equal size.
    Pens {
        /// Group.
        group: usize,
        /// How many.
        pens: u32,
    },
    /// Pens begin at local times of their own.
    PenStarts {
        /// Group.
        group: usize,
        /// One for each pen.
        starts: Vec<NaiveDateTime>,
    },
    /// A group begins at another local time, its pens' own starts moved along.
    Start {
        /// Group.
        group: usize,
        /// The new start.
        start: NaiveDateTime,
    },
    /// Shifts that begin on a date begin or end at other clock times, as on all such weekdays.
    Shifts {
        /// The date; its weekday is what is changed.
        date: NaiveDate,
        /// Technician, place of the shift, and the new clock times.
        new: Vec<NewShift>,
    },
    /// A group is spread over days: lots, and when each begins.
    Days {
        /// Group.
        group: usize,
        /// Head in each pen.
        pens: Vec<u32>,
        /// When each begins.
        starts: Vec<NaiveDateTime>,
    },
    /// What the plan assumes of somebody who states no shifts is stated.
    Hours {
        /// Technician.
        technician: usize,
        /// From this clock time.
        from: NaiveTime,
        /// To this; of the next day if not later.
        to: NaiveTime,
        /// From leaving home to being back at the most.
        longest: TimeDelta,
    },
    /// A technician gets a helper who thaws and loads.
    Helper {
        /// Technician.
        technician: usize,
        /// The pace at the cow, with loaded guns at hand.
        cow: Seconds,
    },
    /// A site has more breeding boxes.
    Boxes {
        /// Site.
        site: usize,
        /// How many.
        boxes: u32,
    },
    /// A group may use one more of the season's bulls.
    Bull {
        /// Group.
        group: usize,
        /// Bull.
        bull: usize,
    },
    /// More straws of a bull.
    Straws {
        /// Bull.
        bull: usize,
        /// How many more.
        more: u32,
    },
    /// A group is on another protocol.
    Protocol {
        /// Group.
        group: usize,
        /// The protocol.
        protocol: Box<Protocol>,
        /// Its local start, so that breeding falls as before.
        start: NaiveDateTime,
    },
    /// Somebody of the season who was left out comes as well.
    Send {
        /// Who.
        technician: Box<Technician>,
    },
    /// A technician whom the season does not have works from one moment to another.
    Hire {
        /// With a single shift.
        technician: Box<Technician>,
        /// Whose pace it is.
        like: String,
        /// The date on which the shift begins.
        date: NaiveDate,
    },
}

const WEEK: [Weekday; 7] = [
    Weekday::Mon,
    Weekday::Tue,
    Weekday::Wed,
    Weekday::Thu,
    Weekday::Fri,
    Weekday::Sat,
    Weekday::Sun,
];

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
            Self::Keep { group } => season.groups.get_mut(*group)?.order = Order::Kept,
            Self::Pace {
                site,
                inserts,
                head_per_hour,
            } => {
                let site = season.sites.get_mut(*site)?;
                let now = if *inserts {
                    &mut site.inserts
                } else {
                    &mut site.injections
                };
                *now = HeadPerHour::new(*head_per_hour)?;
            }
            Self::Pens { group, pens } => split(season.groups.get_mut(*group)?, *pens)?,
            Self::PenStarts { group, starts } => {
                begin_pens(season.groups.get_mut(*group)?, starts)?;
            }
            Self::Days {
                group,
                pens,
                starts,
            } => spread_over(season.groups.get_mut(*group)?, pens, starts)?,
            Self::Hours {
                technician,
                from,
                to,
                longest,
            } => {
                let technician = season.crew.get_mut(*technician)?;
                technician.shifts = vec![Shift {
                    days: Vec::new(),
                    from: *from,
                    to: *to,
                }];
                technician.longest_day = Some(*longest);
            }
            Self::Start { group, start } => move_start(season.groups.get_mut(*group)?, *start),
            Self::Shifts { date, new } => {
                for (t, nth, from, to) in new {
                    let technician = season.crew.get_mut(*t)?;
                    change_shift(technician, *nth, *date, *from, *to)?;
                }
            }
            Self::Helper { technician, cow } => {
                let technician = season.crew.get_mut(*technician)?;
                technician.helper = true;
                technician.pace = Pace::AtTheCow(*cow);
            }
            Self::Boxes { site, boxes } => season.sites.get_mut(*site)?.set_boxes(*boxes),
            Self::Bull { group, bull } => {
                season.bulls.get(*bull)?;
                let bulls = &mut season.groups.get_mut(*group)?.bulls;
                if !bulls.contains(bull) {
                    bulls.push(*bull);
                }
            }
            Self::Straws { bull, more } => {
                let bull = season.bulls.get_mut(*bull)?;
                bull.places.push(bull.bought(Straws(*more)));
            }
            Self::Protocol {
                group,
                protocol,
                start,
            } => {
                put_on(season.groups.get_mut(*group)?, protocol, *start)?;
            }
            Self::Send { technician } | Self::Hire { technician, .. } => {
                if season.crew.iter().any(|t| t.id == technician.id) {
                    return None;
                }
                season.crew.push((**technician).clone());
            }
        }
        Some(())
    }
}

fn split(group: &mut Group, pens: u32) -> Option<()> {
    let head = group.head().0;
    if pens == 0 || pens > head {
        return None;
    }
    group.pens = even_pens(head, pens);
    group.pens_stated = true;
    group.pen_starts = PenStarts::InTurn;
    Some(())
}

fn begin_pens(group: &mut Group, starts: &[NaiveDateTime]) -> Option<()> {
    if !may_begin(group, starts) {
        return None;
    }
    group.pen_starts = PenStarts::Given(starts.to_vec());
    group.days = 1;
    Some(())
}

fn spread_over(group: &mut Group, pens: &[u32], starts: &[NaiveDateTime]) -> Option<()> {
    if pens.iter().sum::<u32>() != group.head().0 || pens.contains(&0) {
        return None;
    }
    group.pens = pens.iter().map(|h| Head(*h)).collect();
    group.pens_stated = true;
    begin_pens(group, starts)
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

fn put_on(group: &mut Group, protocol: &Protocol, start: NaiveDateTime) -> Option<()> {
    group.protocol = protocol.clone();
    move_start(group, start);
    match &group.pen_starts {
        PenStarts::Given(starts) if !may_begin(group, starts) => None,
        _ => Some(()),
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
        WEEK.to_vec()
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
