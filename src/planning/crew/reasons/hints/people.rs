//! Longer shifts, and more people.

use chrono::{NaiveDateTime, TimeDelta};
use serde_json::{Value, json};

use super::{Bag, Change, MOST_MORE, Tried, set, written};
use crate::base::time::Instant;
use crate::base::units::Id;
use crate::planning::crew::{Binding, Set};
use crate::trade::season::pace::rounds_at;
use crate::trade::season::{Pace, Season, Shift, Technician, weekday};

/// Technicians whose shifts are tried, at the most.
const MOST_PEOPLE: usize = 4;

/// The grain of what is asked of people, in seconds.
const QUARTER: i64 = 900;

/// A season with a change of so many minutes, in words and as values to set.
type Later<'a> = dyn Fn(&Season, i64) -> (Season, String, Vec<Set>) + 'a;

impl Bag<'_> {
    /// When to be there for the whole of the session, by the local clock of its day.
    fn wanted(&self, who: &Technician) -> (NaiveDateTime, NaiveDateTime) {
        let (season, session) = (self.bench.season, self.bench.session);
        let site = &season.sites[session.site];
        let ahead = rounds_at(season, who, site).map_or(TimeDelta::zero(), |r| r.to_first_cow());
        let road = season.road_home(who, session.site);
        let round = |t: Instant, up: i64| {
            let s = (t.timestamp() + up).div_euclid(QUARTER) * QUARTER;
            let at = Instant::from_timestamp(s, 0).unwrap_or_default();
            season.zone.local(at)
        };
        let open = session.open - ahead - road;
        (round(open, 0), round(session.close + road, QUARTER - 1))
    }

    pub(crate) fn shifts(&mut self) {
        let from = self.found.len();
        let people = self.bench.season.crew.len().min(MOST_PEOPLE);
        for t in 0..people {
            self.shifts_of(t);
        }
        if self.found.len() == from {
            self.all_shifts();
        }
        self.best_since(from);
    }

    /// Longer shifts of one technician, one end after the other, or a shift on that day.
    fn shifts_of(&mut self, t: usize) {
        let who = &self.bench.season.crew[t];
        let (from, to) = self.wanted(who);
        let day = from.date();
        let at = |k: usize, end: &str| format!("/crew/{t}/shifts/{k}/{end}");
        if who.days_off.contains(&day) {
            let mut season = self.bench.season.clone();
            season.crew[t].days_off.retain(|d| *d != day);
            let left: Vec<String> = season.crew[t]
                .days_off
                .iter()
                .map(ToString::to_string)
                .collect();
            let what = format!(
                "{} at work on {}",
                who.name,
                crate::base::time::human_date(day)
            );
            let set = vec![set(format!("/crew/{t}/days_off"), left)];
            let effort = 600;
            self.try_one(
                Binding::Shifts,
                Change {
                    season,
                    what,
                    set,
                    effort,
                },
            );
            return;
        }
        let told = self.bench.season.zone.told();
        let mut any = false;
        for (k, shift) in who.shifts.iter().enumerate() {
            if !shift.begins_on(day) {
                continue;
            }
            any = true;
            // Earlier, in as many quarters of an hour as it takes; then later.
            let early = (shift.from - from.time()).num_minutes();
            if from.date() == day && early > 0 {
                self.least(t, early, &|season, less| {
                    let mut season = season.clone();
                    let new = shift.from - TimeDelta::minutes(less);
                    season.crew[t].shifts[k].from = new;
                    let what = format!(
                        "a shift of {} from {} in place of {}",
                        who.name,
                        told.time(new),
                        told.time(shift.from)
                    );
                    (season, what, vec![set(at(k, "from"), written(new))])
                });
            }
            let ends = if shift.to <= shift.from {
                day.succ_opt().unwrap_or(day).and_time(shift.to)
            } else {
                day.and_time(shift.to)
            };
            let late = (to - ends).num_minutes();
            if late > 0 && to < day.and_time(shift.from) + TimeDelta::days(1) {
                self.least(t, late, &|season, more| {
                    let mut season = season.clone();
                    let new = shift.to + TimeDelta::minutes(more);
                    season.crew[t].shifts[k].to = new;
                    let what = format!(
                        "a shift of {} to {} in place of {}",
                        who.name,
                        told.time(new),
                        told.time(shift.to)
                    );
                    (season, what, vec![set(at(k, "to"), written(new))])
                });
            }
        }
        if !any && !who.shifts.is_empty() {
            self.shift_on(t, from, to);
        }
    }

    /// One shift more, on that weekday.
    fn shift_on(&mut self, t: usize, from: NaiveDateTime, to: NaiveDateTime) {
        let who = &self.bench.season.crew[t];
        let day = from.date();
        let week = weekday(day);
        let mut season = self.bench.season.clone();
        let shift = Shift {
            days: vec![week],
            from: from.time(),
            to: to.time(),
        };
        let what = format!(
            "a shift of {} on {}, {} to {},",
            who.name,
            crate::base::time::human_date(day),
            season.zone.told().time(from),
            season.zone.told().time(to)
        );
        let to = shift_value(&shift);
        season.crew[t].shifts.push(shift);
        let set = vec![set(format!("/crew/{t}/shifts/-"), to)];
        let effort = 700;
        self.try_one(
            Binding::Shifts,
            Change {
                season,
                what,
                set,
                effort,
            },
        );
    }

    /// Shifts of everybody that last for the whole session, where nobody's alone breeds more.
    fn all_shifts(&mut self) {
        let mut season = self.bench.season.clone();
        let mut sets = Vec::new();
        for (t, who) in self.bench.season.crew.iter().enumerate() {
            if !who.shifts.is_empty() {
                season.crew[t].shifts.clear();
                sets.push(set(format!("/crew/{t}/shifts"), json!([])));
            }
            if !who.days_off.is_empty() {
                season.crew[t].days_off.clear();
                sets.push(set(format!("/crew/{t}/days_off"), json!([])));
            }
        }
        let what = "all of the crew at work for all of these hours".to_owned();
        self.try_one(
            Binding::Shifts,
            Change {
                season,
                what,
                set: sets,
                effort: 10_000,
            },
        );
    }

    /// The fewest minutes, in quarters of an hour, that breed as many more as all of them.
    fn least(&mut self, t: usize, all: i64, with: &Later<'_>) {
        let season = self.bench.season;
        let quarter = QUARTER / 60;
        let most = (all + quarter - 1) / quarter;
        let minutes = |n: i64| if n == most { all } else { n * quarter };
        let tried = |n: i64| {
            let (changed, what, set) = with(season, minutes(n));
            self.gain(&changed).map(|gain| Tried {
                season: changed,
                limit: Binding::Shifts,
                what,
                set,
                gain,
                effort: minutes(n) * 10 + t as i64,
            })
        };
        let Some(mut best) = tried(most) else { return };
        let (mut low, mut high) = (0, most);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            match tried(middle).filter(|b| b.gain.all >= best.gain.all) {
                Some(as_good) => (best, high) = (as_good, middle),
                None => low = middle,
            }
        }
        self.found.push(best);
    }

    /// Those who breed most cows an hour here, the fastest first.
    fn fastest(&self) -> Option<usize> {
        let (season, session) = (self.bench.season, self.bench.session);
        let site = &season.sites[session.site];
        let pace = |t: &usize| rounds_at(season, &season.crew[*t], site).map(|r| r.cows_per_hour());
        let here: Vec<usize> = session.crew.iter().map(|p| p.technician).collect();
        let all = (0..season.crew.len()).filter(|t| here.is_empty() || here.contains(t));
        // The first in the file of those who are alike.
        all.filter_map(|t| Some((t, pace(&t)?)))
            .min_by(|a, b| b.1.total_cmp(&a.1))
            .map(|(t, _)| t)
    }

    /// Somebody more, there for all of the hours.
    pub(crate) fn more_people(&mut self) {
        let from = self.found.len();
        let Some(like) = self.fastest() else { return };
        let who = &self.bench.season.crew[like];
        let mut season = self.bench.season.clone();
        let mut sets = Vec::new();
        for more in 1..=MOST_MORE {
            let id = (2..).find_map(|n: u32| {
                let id = Id::new(&format!("technician-{n}"))?;
                (!season.crew.iter().any(|t| t.id == id)).then_some(id)
            });
            let Some(id) = id else { break };
            sets.push(set("/crew/-".into(), person_value(who, &id)));
            season.crew.push(Technician {
                name: id.to_string(),
                id,
                home: None,
                longest_day: None,
                shifts: Vec::new(),
                days_off: Vec::new(),
                ..who.clone()
            });
            let people = match more {
                1 => "one technician more".to_owned(),
                n => format!("{n} technicians more"),
            };
            let what = format!(
                "{people} at the pace of {}, there all these hours,",
                who.name
            );
            let change = Change {
                season: season.clone(),
                what,
                set: sets.clone(),
                effort: i64::from(more),
            };
            self.try_one(Binding::Pace, change);
            if self.covers_all() {
                break;
            }
        }
        self.best_since(from);
    }

    pub(crate) fn helper(&mut self) {
        let from = self.found.len();
        for present in &self.bench.session.crew {
            let t = present.technician;
            let who = &self.bench.season.crew[t];
            // An overall pace without a helper says nothing of the pace with one.
            if who.helper || !matches!(who.pace, Pace::AtTheCow(_)) {
                continue;
            }
            let mut season = self.bench.season.clone();
            season.crew[t].helper = true;
            let change = Change {
                season,
                what: format!("a helper for {}", who.name),
                set: vec![set(format!("/crew/{t}/helper"), true)],
                effort: 0,
            };
            self.try_one(Binding::Pace, change);
        }
        self.best_since(from);
    }
}

fn shift_value(shift: &Shift) -> Value {
    let days: Vec<String> = shift
        .days
        .iter()
        .map(|d| format!("{d:?}").to_lowercase())
        .collect();
    json!({"days": days, "from": written(shift.from), "to": written(shift.to)})
}

/// Somebody at the pace of another, at work at any time.
fn person_value(like: &Technician, id: &Id) -> Value {
    let mut person = json!({"id": id.as_str(), "helper": like.helper});
    match like.pace {
        Pace::AtTheCow(cow) => person["minutes_per_cow"] = json!(cow.minutes()),
        Pace::Overall(pace) => person["cows_per_hour"] = json!(pace.get()),
    }
    if let Some(spread) = like.spread {
        person["minutes_spread"] = json!(spread.minutes());
    }
    if let Some(straws) = like.straws_at_once {
        person["straws_at_once"] = json!(straws.0);
    }
    person
}
