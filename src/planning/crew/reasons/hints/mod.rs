//! What to change in the season file so that more is bred: each change is planned before it is named, and
//! named with the head that it breeds more.

mod people;

use chrono::{NaiveDateTime, NaiveTime, TimeDelta};
use serde_json::Value;

use crate::base::error::quoted;
use crate::base::units::{Clock, HeadPerHour, Straws, human_minutes};
use crate::planning::crew::reasons::lift::{Bench, Changed, Gain, Key, add_straws};
use crate::planning::crew::{Binding, Hint, Set};
use crate::trade::season::{Order, PenStarts, Season};

/// A hint with the dues that it helps.
#[derive(Clone, Debug)]
pub(crate) struct Helps {
    pub(crate) hint: Hint,
    pub(crate) of: Vec<Key>,
}

/// Hints told of a session, at the most.
const MOST: usize = 3;

/// People added, at the most.
const MOST_MORE: u32 = 3;

fn set(at: String, to: impl Into<Value>) -> Set {
    Set { at, to: to.into() }
}

/// A time as the season file has it.
fn written(t: NaiveTime) -> String {
    Clock::H24.time(t)
}

/// A change, tried.
struct Tried {
    season: Season,
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
pub(crate) fn hints(bench: &Bench<'_>, limits: &[(Vec<Binding>, Gain)]) -> Vec<Helps> {
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
    bag.best()
}

impl Bag<'_> {
    fn covers_all(&self) -> bool {
        let missing = self.bench.missing();
        self.found.iter().any(|t| t.gain.here >= missing)
    }

    fn gain(&self, season: &Season) -> Option<Gain> {
        self.bench.gain(&Changed::dated(season))
    }

    fn try_one(&mut self, limit: Binding, change: Change) -> u32 {
        let Some(gain) = self.gain(&change.season) else {
            return 0;
        };
        let all = gain.all;
        self.found.push(Tried {
            season: change.season,
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
            let keys = self.bench.season.bulls[*bull].bought_keys(Straws(gain.all));
            let to: Value = keys.into_iter().collect();
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

    fn longest_day(&mut self) {
        let from = self.found.len();
        for more in [1, 2, 3, 4, 6] {
            let mut season = self.bench.season.clone();
            let mut sets = Vec::new();
            let mut lengths = Vec::new();
            let mut grow = |longest: &mut Option<TimeDelta>, at: String| {
                let new = longest.map(|l| (l + TimeDelta::hours(more)).min(TimeDelta::hours(24)));
                if let Some(new) = new.filter(|n| Some(*n) != *longest) {
                    *longest = Some(new);
                    let hours = new.num_seconds() as f64 / 3600.0;
                    lengths.push(human_minutes(new.num_minutes()));
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
            lengths.dedup();
            let what = format!("a longest day of {}", lengths.join(" and "));
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
            season.sites[at].set_boxes(boxes);
            let needs = self.bench.season.sites[at].for_boxes(boxes);
            let words: Vec<&str> = needs.iter().map(|n| n.2.as_str()).collect();
            let sets = needs
                .iter()
                .map(|n| set(format!("/sites/{at}/{}", n.0), n.1));
            let change = Change {
                season,
                what: words.join(" and "),
                set: sets.collect(),
                effort: i64::from(boxes),
            };
            self.try_one(Binding::Boxes, change);
        }
        self.best_since(from);
    }

    /// Another start of a group that falls short. One with wishes keeps to them, and one whose pens the
    /// plan starts has been asked already.
    fn start(&mut self) {
        let from = self.found.len();
        let short = self.bench.session.uncovered.first();
        let Some(n) = short.map(|u| self.bench.dated.dues[u.due].group) else {
            return;
        };
        let group = &self.bench.season.groups[n];
        if group.wishes.is_some() || group.starts_planned {
            return;
        }
        let noticed = self.bench.dated.findings.len();
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
                for s in starts.iter_mut() {
                    *s += by;
                }
                let all: Vec<String> = starts.iter().map(stamp).collect();
                sets.push(set(format!("/groups/{}/pen_starts", group.nth), all));
            }
            let changed = Changed::dated(&season);
            if changed.dated.findings.len() > noticed {
                continue;
            }
            let Some(gain) = self.bench.gain(&changed) else {
                continue;
            };
            self.found.push(Tried {
                season: changed.season,
                limit: Binding::Elsewhere,
                what: format!(
                    "a start of {} at {} on {}",
                    quoted(group.id.as_str()),
                    self.bench.season.zone.told().time(start),
                    crate::base::time::human_date(start.date())
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
        if self.bench.season.rules.grain() <= fine {
            return;
        }
        let mut season = self.bench.season.clone();
        (season.rules.slot, season.rules.grain) = (fine, Some(fine));
        let change = Change {
            season,
            what: "planning by 5 minutes (`slot_minutes: 5`)".to_owned(),
            set: vec![set("/rules/slot_minutes".into(), 5)],
            effort: 0,
        };
        self.try_one(Binding::Window, change);
    }

    fn best(mut self) -> Vec<Helps> {
        let missing = self.bench.missing();
        // What is short first, what covers all before what does not, then the most head.
        let first = |t: &Tried| {
            let more = t.gain.all.min(missing);
            (t.limit != Binding::Straws, std::cmp::Reverse(more), t.limit)
        };
        self.found.sort_by_key(first);
        let tried = self.found.into_iter();
        self.found = tried
            .filter_map(|t| {
                let gain = self.bench.proven(&t.season, t.gain)?;
                Some(Tried { gain, ..t })
            })
            .collect();
        self.found.sort_by_key(first);
        let best = self.found.into_iter().take(MOST);
        best.map(|t| Helps {
            of: t.gain.of.keys().copied().collect(),
            hint: Hint {
                words: format!("{} breeds {} more", t.what, t.gain.all),
                head: t.gain.all,
                set: t.set,
            },
        })
        .collect()
    }
}
