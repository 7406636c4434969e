//! What to change in the season file so that more is bred: each change is planned before it is named, and
//! named with the head that it breeds more.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use serde_json::{Value, json};

use super::Binding;
use super::lift::{Bench, Changed, Gain, Key, add_straws};
use crate::error::quoted;
use crate::season::pace::rounds_at;
use crate::season::{Order, Pace, PenStarts, Season, Shift, Technician, Weekday};
use crate::time::Instant;
use crate::units::{HeadPerHour, Id, human_minutes};

/// A change of the season file that breeds more.
#[derive(Clone, Debug, PartialEq)]
pub struct Hint {
    /// The limit that it lifts or eases.
    pub limit: Binding,
    /// What to do, in words with figures.
    pub words: String,
    /// Head bred more, in all that hangs together.
    pub head: u32,
    /// The same as values of the season file.
    pub set: Vec<Set>,
}

/// A value of the season file.
#[derive(Clone, Debug, PartialEq)]
pub struct Set {
    /// Where, as a JSON Pointer (RFC 6901); `-` at its end is one more of a list. What is missing on the
    /// way is made.
    pub at: String,
    /// What stands there.
    pub to: Value,
}

/// A hint with the dues that it helps.
#[derive(Clone, Debug)]
pub(super) struct Helps {
    pub(super) hint: Hint,
    pub(super) of: Vec<Key>,
}

/// Hints told of a session, at the most.
const MOST: usize = 3;

/// Technicians whose shifts are tried, at the most.
const MOST_PEOPLE: usize = 4;

/// People added, at the most.
const MOST_MORE: u32 = 3;

/// The grain of what is asked of people, in seconds.
const QUARTER: i64 = 900;

fn set(at: String, to: impl Into<Value>) -> Set {
    Set { at, to: to.into() }
}

fn clock(t: NaiveTime) -> String {
    t.format("%H:%M").to_string()
}

/// A change, tried.
struct Tried {
    limit: Binding,
    what: String,
    set: Vec<Set>,
    gain: Gain,
    /// How much it asks of people, among changes of a kind.
    effort: i64,
}

/// A change to try: the season with it, the words, the values, and how much it asks.
struct Change {
    season: Season,
    what: String,
    set: Vec<Set>,
    effort: i64,
}

struct Bag<'a> {
    bench: &'a Bench<'a>,
    found: Vec<Tried>,
}

/// Hints for a session that falls short, the most helpful first.
pub(super) fn hints(bench: &Bench<'_>, limits: &[(Vec<Binding>, Gain)]) -> Vec<Helps> {
    let mut bag = Bag {
        bench,
        found: Vec::new(),
    };
    let alone = |l: Binding| {
        let of = limits.iter().find(|(all, _)| all[..] == [l]);
        of.map(|(_, gain)| gain)
    };
    if let Some(gain) = alone(Binding::Straws) {
        bag.straws(gain);
    }
    if alone(Binding::Window).is_some() {
        bag.keep_order();
    }
    if alone(Binding::Shifts).is_some() {
        bag.shifts();
    }
    if alone(Binding::LongestDay).is_some() {
        bag.longest_day();
    }
    if alone(Binding::Boxes).is_some() {
        bag.boxes();
    }
    if !bag.covers_all() {
        bag.more_people();
        bag.helper();
    }
    if !bag.covers_all() {
        bag.start();
    }
    if bag.found.is_empty() {
        bag.chute();
        bag.grain();
    }
    bag.told()
}

impl Bag<'_> {
    fn covers_all(&self) -> bool {
        let missing = self.bench.missing();
        self.found.iter().any(|t| t.gain.here >= missing)
    }

    fn gain(&self, season: &Season) -> Option<Gain> {
        self.bench.gain(&Changed::dated(season.clone()))
    }

    fn try_one(&mut self, limit: Binding, change: Change) -> u32 {
        let Some(gain) = self.gain(&change.season) else {
            return 0;
        };
        let all = gain.all;
        self.found.push(Tried {
            limit,
            what: change.what,
            set: change.set,
            gain,
            effort: change.effort,
        });
        all
    }

    /// Keeps of those found since `from` the one that breeds most, and of these the one that asks least.
    fn best_since(&mut self, from: usize) {
        let mut mine = self.found.split_off(from);
        mine.sort_by_key(|t| (std::cmp::Reverse(t.gain.all), t.effort));
        self.found.extend(mine.into_iter().take(1));
    }

    fn straws(&mut self, gain: &Gain) {
        let from = self.found.len();
        for group in self.bench.groups() {
            let group = &self.bench.season.groups[group];
            let Some(bull) = group.bulls.first() else {
                continue;
            };
            let mut season = self.bench.season.clone();
            add_straws(&mut season, *bull, gain.all);
            let id = &season.bulls[*bull].id;
            let what = match gain.all {
                1 => format!("1 straw more of {}", quoted(id.as_str())),
                n => format!("{n} straws more of {}", quoted(id.as_str())),
            };
            let to = json!({"bull": id.as_str(), "straws": gain.all});
            let set = vec![set("/semen/-".into(), to)];
            let effort = 0;
            self.try_one(
                Binding::Straws,
                Change {
                    season,
                    what,
                    set,
                    effort,
                },
            );
        }
        self.best_since(from);
    }

    fn keep_order(&mut self) {
        let mut season = self.bench.season.clone();
        let mut sets = Vec::new();
        let mut names = Vec::new();
        for n in self.bench.groups() {
            let group = &mut season.groups[n];
            if group.order == Order::Mixed {
                group.order = Order::Kept;
                sets.push(set(format!("/groups/{}/order", group.nth), "kept"));
                names.push(quoted(group.id.as_str()));
            }
        }
        let what = format!(
            "keeping the order of the earlier pass in {} (`order: kept`)",
            names.join(" and ")
        );
        self.try_one(
            Binding::Window,
            Change {
                season,
                what,
                set: sets,
                effort: 0,
            },
        );
    }

    /// When to be there for the whole of the session, by the local clock of its day.
    fn wanted(&self, who: &Technician) -> (NaiveDateTime, NaiveDateTime) {
        let (season, session) = (self.bench.season, self.bench.session);
        let site = &season.sites[session.site];
        let lead = rounds_at(season, who, site).map_or(0, |r| r.lead.0.ceil() as i64);
        let road = season.road_home(who, session.site);
        let round = |t: Instant, up: i64| {
            let s = (t.timestamp() + up).div_euclid(QUARTER) * QUARTER;
            let at = Instant::from_timestamp(s, 0).unwrap_or_default();
            season.zone.local(at)
        };
        let open = session.open - TimeDelta::seconds(lead) - road;
        (round(open, 0), round(session.close + road, QUARTER - 1))
    }

    fn shifts(&mut self) {
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
            let what = format!("{} at work on {}", who.name, crate::time::human_date(day));
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
                        clock(new),
                        clock(shift.from)
                    );
                    (season, what, vec![set(at(k, "from"), clock(new))])
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
                        clock(new),
                        clock(shift.to)
                    );
                    (season, what, vec![set(at(k, "to"), clock(new))])
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
            crate::time::human_date(day),
            clock(from.time()),
            clock(to.time())
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
    fn least(
        &mut self,
        t: usize,
        all: i64,
        with: &dyn Fn(&Season, i64) -> (Season, String, Vec<Set>),
    ) {
        let season = self.bench.season;
        let quarter = QUARTER / 60;
        let most = (all + quarter - 1) / quarter;
        let minutes = |n: i64| if n == most { all } else { n * quarter };
        let tried = |n: i64| {
            let (changed, what, set) = with(season, minutes(n));
            self.gain(&changed).map(|gain| Tried {
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

    fn longest_day(&mut self) {
        let from = self.found.len();
        for more in [1, 2, 3, 4, 6] {
            let mut season = self.bench.season.clone();
            let mut sets = Vec::new();
            let mut told = Vec::new();
            let mut grow = |longest: &mut Option<TimeDelta>, at: String| {
                let new = longest.map(|l| (l + TimeDelta::hours(more)).min(TimeDelta::hours(24)));
                if let Some(new) = new.filter(|n| Some(*n) != *longest) {
                    *longest = Some(new);
                    let hours = new.num_seconds() as f64 / 3600.0;
                    told.push(human_minutes(new.num_minutes()));
                    sets.push(set(at, hours));
                }
            };
            grow(
                &mut season.rules.longest_day,
                "/rules/longest_day_hours".into(),
            );
            for (t, who) in season.crew.iter_mut().enumerate() {
                grow(&mut who.longest_day, format!("/crew/{t}/longest_day_hours"));
            }
            told.dedup();
            let what = format!("a longest day of {}", told.join(" and "));
            let change = Change {
                season,
                what,
                set: sets,
                effort: more,
            };
            self.try_one(Binding::LongestDay, change);
            if self.covers_all() {
                break;
            }
        }
        self.best_since(from);
    }

    fn boxes(&mut self) {
        let from = self.found.len();
        let at = self.bench.session.site;
        let now = self.bench.season.sites[at].breeding_boxes;
        let most = self.bench.season.crew.len() as u32;
        for boxes in now + 1..=most.min(now + MOST_MORE) {
            let mut season = self.bench.season.clone();
            season.sites[at].breeding_boxes = boxes;
            let change = Change {
                season,
                what: format!("{boxes} breeding boxes in place of {now}"),
                set: vec![set(format!("/sites/{at}/breeding_boxes"), boxes)],
                effort: i64::from(boxes),
            };
            self.try_one(Binding::Boxes, change);
        }
        self.best_since(from);
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
    fn more_people(&mut self) {
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

    fn helper(&mut self) {
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

    /// Another start of a group that falls short. One with wishes keeps to them.
    fn start(&mut self) {
        let from = self.found.len();
        let short = self.bench.session.uncovered.first();
        let Some(n) = short.map(|u| self.bench.expanded.dues[u.due].group) else {
            return;
        };
        let group = &self.bench.season.groups[n];
        if group.wishes.is_some() || matches!(group.pen_starts, PenStarts::Until(_)) {
            return;
        }
        let noticed = self.bench.expanded.findings.len();
        for hours in [1, -1, 2, -2, 4, -4, 24, -24, 48, -48] {
            let by = TimeDelta::hours(hours);
            let start = group.start + by;
            // Nobody is sent into the chute at night for it.
            let day = |t: NaiveDateTime| (6..20).contains(&chrono::Timelike::hour(&t));
            if day(group.start) && !day(start) {
                continue;
            }
            let mut season = self.bench.season.clone();
            let stamp = |t: &NaiveDateTime| t.format("%Y-%m-%dT%H:%M").to_string();
            let mut sets = vec![set(format!("/groups/{}/start", group.nth), stamp(&start))];
            season.groups[n].start = start;
            if let PenStarts::Given(starts) = &mut season.groups[n].pen_starts {
                starts.iter_mut().for_each(|s| *s += by);
                let all: Vec<String> = starts.iter().map(stamp).collect();
                sets.push(set(format!("/groups/{}/pen_starts", group.nth), all));
            }
            let changed = Changed::dated(season);
            if changed.expanded.findings.len() > noticed {
                continue;
            }
            let Some(gain) = self.bench.gain(&changed) else {
                continue;
            };
            self.found.push(Tried {
                limit: Binding::Elsewhere,
                what: format!(
                    "a start of {} at {} on {}",
                    quoted(group.id.as_str()),
                    clock(start.time()),
                    crate::time::human_date(start.date())
                ),
                set: sets,
                gain,
                effort: hours.abs(),
            });
            if self.covers_all() {
                break;
            }
        }
        self.best_since(from);
    }

    /// A faster chute: fewer minutes lie between the first and the last animal of a pen.
    fn chute(&mut self) {
        let from = self.found.len();
        let at = self.bench.session.site;
        let now = &self.bench.season.sites[at];
        for factor in [1.25, 1.5, 2.0] {
            let faster = |p: HeadPerHour| {
                let new = (p.get() * factor).ceil();
                HeadPerHour::new(new).filter(|_| new <= 1000.0)
            };
            let (Some(injections), Some(inserts)) = (faster(now.injections), faster(now.inserts))
            else {
                break;
            };
            let mut season = self.bench.season.clone();
            season.sites[at].injections = injections;
            season.sites[at].inserts = inserts;
            let change = Change {
                season,
                what: format!(
                    "a chute pace of {} head an hour for injections and {} for inserts",
                    injections.get(),
                    inserts.get()
                ),
                set: vec![
                    set(
                        format!("/sites/{at}/injections_head_per_hour"),
                        injections.get(),
                    ),
                    set(format!("/sites/{at}/inserts_head_per_hour"), inserts.get()),
                ],
                effort: (factor * 100.0) as i64,
            };
            self.try_one(Binding::Window, change);
            if self.covers_all() {
                break;
            }
        }
        self.best_since(from);
    }

    /// A finer grain of the plan.
    fn grain(&mut self) {
        let fine = TimeDelta::minutes(5);
        if self.bench.season.rules.slot <= fine {
            return;
        }
        let mut season = self.bench.season.clone();
        season.rules.slot = fine;
        let change = Change {
            season,
            what: "planning by 5 minutes (`slot_minutes: 5`)".to_owned(),
            set: vec![set("/rules/slot_minutes".into(), 5)],
            effort: 0,
        };
        self.try_one(Binding::Window, change);
    }

    fn told(mut self) -> Vec<Helps> {
        let missing = self.bench.missing();
        // What is short first, what covers all before what does not, then the most head.
        self.found.sort_by_key(|t| {
            let more = t.gain.all.min(missing);
            (t.limit != Binding::Straws, std::cmp::Reverse(more), t.limit)
        });
        let told = self.found.into_iter().take(MOST);
        told.map(|t| Helps {
            of: t.gain.of.keys().copied().collect(),
            hint: Hint {
                limit: t.limit,
                words: format!("{} breeds {} more", t.what, t.gain.all),
                head: t.gain.all,
                set: t.set,
            },
        })
        .collect()
    }
}

fn weekday(date: NaiveDate) -> Weekday {
    match chrono::Datelike::weekday(&date) {
        chrono::Weekday::Mon => Weekday::Mon,
        chrono::Weekday::Tue => Weekday::Tue,
        chrono::Weekday::Wed => Weekday::Wed,
        chrono::Weekday::Thu => Weekday::Thu,
        chrono::Weekday::Fri => Weekday::Fri,
        chrono::Weekday::Sat => Weekday::Sat,
        chrono::Weekday::Sun => Weekday::Sun,
    }
}

fn shift_value(shift: &Shift) -> Value {
    let days: Vec<String> = shift
        .days
        .iter()
        .map(|d| format!("{d:?}").to_lowercase())
        .collect();
    json!({"days": days, "from": clock(shift.from), "to": clock(shift.to)})
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
