//! Chances of planned sessions in words: the verdict first, then the figures, then what other numbers
//! of straws at once would do.

use super::answer::{Answer, Tables};
use super::document::{Block, Cell, Document, Row, Term, TermsKind};
use super::table::{Table, fields, kinds, nested, to_the_second};
use super::times::{OnDay, on_day};
use crate::analysis::simulate::words::figure;
use crate::analysis::simulate::{
    ByStraws, Chance, Finish, SeasonChance, SessionChance, TechnicianChance,
};
use crate::base::time::human_date;
use crate::base::units::Clock;
use crate::planning::plan::Moment;

impl Answer for SeasonChance {
    /// Sessions by time, then what the figures rest on.
    fn document(&self) -> Document {
        let times = format!(
            "Chances of the planned sessions. Times are local, {}.",
            self.zone
        );
        let mut blocks = vec![Block::heading(1, &self.season), Block::paragraph(times)];
        let sessions = self.sessions.iter().enumerate();
        blocks.extend(sessions.map(|(n, s)| session(n, s, self.clock)));
        blocks.push(if self.sessions.is_empty() {
            Block::paragraph("No session of this plan breeds any cow at set hours.")
        } else {
            let notes = vec![Block::bullets(&self.notes)];
            Block::part("reading", "How to read it", notes)
        });
        Document::new(format!("{} – chances", self.season), blocks)
    }

    /// The sessions, their pens, and what each technician would do with each number of straws at once.
    /// Clock times of ends go up to the second, as in the JSON.
    fn tables(&self) -> Tables<Self> {
        kinds![sessions, pens, straws as "straws-at-once"]
    }
}

fn session(n: usize, s: &SessionChance, told: Clock) -> Block {
    let day = on_day(told, s.planned_last_cow.date_naive());
    let (date, site) = (human_date(day.date), &s.site_name);
    let title = format!("{date}, {site}, {} head (--session {})", s.head, s.session);
    let f = &s.last_cow;
    let bred = [f.by_5_percent, f.by_50_percent, f.by_95_percent].map(|at| clock(at, day));
    let [by_5, by_50, by_95] = bred;
    let bred = format!("by {by_5} on 5 % of days, by {by_50} on 50 %, by {by_95} on 95 %");
    let [any, last] = [s.any_cow_outside, s.last_cow_outside].map(sure);
    let outside = format!("any cow {any}; the last cow {last}");
    let mut facts = vec![
        Term::new("last cow bred", bred),
        Term::new("bred outside AI window", outside),
    ];
    for p in s.pens.iter().filter(|_| s.pens.len() > 1) {
        let (any, mean) = (sure(p.any_cow_outside), figure(p.outside.mean_head));
        let said = format!("any cow {any}; {mean} of {} head on average", p.head);
        facts.push(Term::new(&p.name, said));
    }
    let too_old = format!("any {}", sure(s.any_straw_late));
    facts.push(Term::new("straw past the limit", too_old));
    let mut blocks: Vec<Block> = s.words.iter().map(Block::paragraph).collect();
    blocks.push(Block::Terms(TermsKind::Facts, facts));
    blocks.extend(s.technicians.iter().flat_map(|t| technician(t, day)));
    Block::part(&format!("session-{}", n + 1), title, blocks)
}

fn technician(t: &TechnicianChance, day: OnDay) -> Vec<Block> {
    let [minutes, spread] = [t.minutes_per_cow, t.minutes_spread].map(figure);
    let assumed = if t.spread_assumed { " (assumed)" } else { "" };
    let thaws = if t.helper { "with a helper" } else { "alone" };
    let (name, head) = (&t.name, t.head);
    let title =
        format!("{name}: {head} head, {minutes} min a cow, spread {spread} min{assumed}, {thaws}");
    let mut columns = vec!["straws at once", "head an hour", "last cow by, 5 %"];
    columns.extend(["50 %", "95 %", "rounds too old, %"]);
    columns.extend(t.helper.then_some("by formula"));
    columns.extend(["sessions too old, %", "late cow, % of days"]);
    let mut rows = Vec::new();
    let mut hopeless = None;
    for (n, b) in t.by_straws.iter().enumerate() {
        rows.push(by_straws(b, t.helper, day));
        let rest = t.by_straws.len() - n - 1;
        if b.is_hopeless() && b.straws_at_once > t.straws_at_once && rest > 1 {
            let (from, to) = (b.straws_at_once + 1, b.straws_at_once + rest as u32);
            hopeless = Some(format!(
                "{from} to {to}: some straw past the limit on nearly every day."
            ));
            break;
        }
    }
    let other_day = |b: &ByStraws| {
        [b.last_cow.by_5_percent, b.last_cow.by_95_percent]
            .iter()
            .any(|at| at.date_naive() != day.date)
    };
    let sign = t.by_straws.iter().any(other_day);
    let sign = sign.then_some("+ is on the next day, - on the day before.");
    let table = Block::table("By straws at once", &columns, rows);
    let mut blocks = vec![Block::heading(3, title), table];
    blocks.extend(hopeless.map(Block::paragraph));
    blocks.extend(sign.map(Block::paragraph));
    blocks
}

fn by_straws(b: &ByStraws, helper: bool, day: OnDay) -> Row {
    let planned = if b.planned { "> " } else { "" };
    let f = &b.last_cow;
    let mut cells = vec![
        format!("{planned}{}", b.straws_at_once),
        format!("{:.1}", b.head_per_hour),
    ];
    let finish = [f.by_5_percent, f.by_50_percent, f.by_95_percent];
    cells.extend(finish.map(|at| narrow_clock(at, day)));
    cells.push(b.late_round.map_or("-".to_owned(), |c| short(c.percent)));
    cells.extend(helper.then(|| format!("({})", short(b.late_round_formula_percent))));
    cells.push(short(b.late_session.percent));
    cells.push(short(b.any_cow_outside.percent));
    Row::of(cells.into_iter().map(Cell::text).collect())
}

/// `2.4 % (2.1 to 2.7)`.
fn sure(c: Chance) -> String {
    let [percent, low, high] = [c.percent, c.low_percent, c.high_percent].map(short);
    format!("{percent} % ({low} to {high})")
}

/// One decimal; what is not none is not shown as none, and what is not all not as all.
fn short(percent: f64) -> String {
    if percent > 0.0 && percent < 0.05 {
        "<0.1".to_owned()
    } else if (99.95..100.0).contains(&percent) {
        ">99.9".to_owned()
    } else if percent <= 0.0 || percent >= 100.0 {
        format!("{percent:.0}")
    } else {
        format!("{percent:.1}")
    }
}

/// The clock time, with the day where it is another.
fn clock(at: Moment, day: OnDay) -> String {
    let other = at.date_naive() != day.date;
    let weekday = at.format(if other { "%a " } else { "" });
    format!("{weekday}{}", day.clock.time(at))
}

/// The clock time in a column: with a sign for the day before or after.
fn narrow_clock(at: Moment, day: OnDay) -> String {
    let sign = match at.date_naive().cmp(&day.date) {
        std::cmp::Ordering::Less => "-",
        std::cmp::Ordering::Equal => "",
        std::cmp::Ordering::Greater => "+",
    };
    format!("{}{sign}", day.clock.time(at))
}

fn session_columns<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a SessionChance) {
    fields!(t, |r| of(r) => session, site, site_name);
}

fn day<R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> Finish) {
    let day = |r| Some(of(r).by_50_percent.date_naive());
    t.day(["date", "weekday"], day);
}

fn ends<R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> Finish) {
    let clock = to_the_second;
    t.column("last_cow_by_5_percent", |r| clock(of(r).by_5_percent));
    t.column("last_cow_by_50_percent", |r| clock(of(r).by_50_percent));
    t.column("last_cow_by_95_percent", |r| clock(of(r).by_95_percent));
    t.offset("utc_offset_minutes", |r| Some(of(r).by_50_percent));
}

fn outside<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a Chance) {
    fields!(t, |r| of(r) =>
        any_cow_outside_percent = percent, any_cow_outside_low_percent = low_percent,
        any_cow_outside_high_percent = high_percent);
}

fn sessions(chance: &SeasonChance) -> String {
    let mut t = Table::of(&chance.sessions);
    session_columns(&mut t, |s| s);
    fields!(t, |s| s => head, not_planned_head);
    day(&mut t, |s| s.last_cow);
    t.column("planned_last_cow", |s| to_the_second(s.planned_last_cow));
    ends(&mut t, |s| s.last_cow);
    outside(&mut t, |s| &s.any_cow_outside);
    fields!(t, |s| s =>
        mean_outside_head = outside.mean_head, any_straw_late_percent = any_straw_late.percent);
    t.csv()
}

fn pens(chance: &SeasonChance) -> String {
    let mut t = Table::of(nested(&chance.sessions, |s| &s.pens));
    session_columns(&mut t, |(s, _)| s);
    fields!(t, |(_, p)| p => group, pen, head);
    outside(&mut t, |(_, p)| &p.any_cow_outside);
    t.column("mean_outside_head", |(_, p)| p.outside.mean_head);
    t.csv()
}

fn straws(chance: &SeasonChance) -> String {
    let technicians = nested(&chance.sessions, |s| &s.technicians);
    let mut t = Table::of(nested(technicians, |(_, t)| &t.by_straws));
    session_columns(&mut t, |((s, _), _)| s);
    fields!(t, |((_, t), _)| t => technician = id, technician_name = name, helper, head);
    fields!(t, |(_, b)| b => straws_at_once, planned, head_per_hour);
    fields!(t, |((_, t), _)| t => minutes_per_cow, minutes_spread);
    day(&mut t, |(_, b)| b.last_cow);
    ends(&mut t, |(_, b)| b.last_cow);
    outside(&mut t, |(_, b)| &b.any_cow_outside);
    t.column("any_straw_late_percent", |(_, b)| b.late_session.percent);
    t.column("late_round_percent", |(_, b)| {
        b.late_round.map(|c| c.percent)
    });
    fields!(t, |(_, b)| b => late_round_formula_percent, mean_late_straws = late_straws.mean_head);
    t.csv()
}
