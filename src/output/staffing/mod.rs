//! The answer in words: the verdict, the figures behind it, the largest groups, what would help.

mod csv;
mod remedies;

use self::remedies::remedies;
use super::answer::{Answer, Tables};
use crate::base::error::visible;
use crate::base::time::human_date;
use crate::base::units::{Clock, count, human_minutes};
use crate::output::document::{Bar, Block, Document, Kind, Row, Verdict};
use crate::output::order_words;
use crate::output::times::{OnDay, begins, ends, hours, on_day, short_date};
use crate::planning::plan::LIMIT;
use crate::service::staffing::{
    AtWork, Cow, Largest, LargestRow, Limit, PenFigures, SessionFigures, Staffing,
};

impl Answer for Staffing {
    /// The whole answer.
    fn document(&self) -> Document {
        let season = visible(&self.season);
        let mut blocks = vec![
            Block::heading(1, &season),
            Block::paragraph(format!("Times are local, {}.", self.zone)),
            Block::paragraph(crew(self)),
            verdict(self),
        ];
        if self.sessions.len() > 1 {
            blocks.push(sessions(&self.sessions));
        }
        let closely = self.sessions.iter().filter(|s| s.looked_at_closely);
        let closely = closely.enumerate();
        blocks.extend(closely.map(|(n, s)| session(n + 1, s, self.clock)));
        let all = self.largest.iter().enumerate();
        blocks.extend(all.map(|(n, l)| largest(n + 1, l)));
        let all = self.remedies.iter().enumerate();
        blocks.extend(all.map(|(n, r)| remedies(n + 1, r, self.clock)));
        let mut open = Vec::new();
        if !self.not_tried.is_empty() {
            open.push(Block::paragraph(format!(
                "The search was stopped by hand. Not tried, or not all of it: {}.",
                self.not_tried.join("; ")
            )));
        }
        open.extend(not_looked_at(self).map(Block::paragraph));
        if !open.is_empty() {
            blocks.push(Block::part("open", "Not looked at", open));
        }
        Document::new(format!("{season} – cover"), blocks)
    }

    fn tables(&self) -> Tables<Self> {
        csv::tables()
    }
}

fn crew(answer: &Staffing) -> String {
    let asked = &answer.asked;
    let without = (!asked.left_out.is_empty()).then(|| asked.left_out.join(", "));
    let without = without.map_or(String::new(), |ids| format!(", without {ids}"));
    let margin = Some(asked.least_margin_minutes).filter(|m| *m > 0);
    let margin = margin.map(human_minutes);
    let margin = margin.map_or(String::new(), |m| format!(" You ask for a margin of {m}."));
    let technicians = asked.technicians.join(", ");
    format!(
        "With {} ({technicians}){without}.{margin}",
        asked.crew_words
    )
}

fn verdict(answer: &Staffing) -> Block {
    let v = &answer.verdict;
    let kind = match (v.covered, v.margin_kept) {
        (true, true) => Verdict::Well,
        (true, false) => Verdict::Warned,
        (false, _) => Verdict::Short,
    };
    let mut words = v.words.iter();
    let first = words.next();
    let mut blocks: Vec<Block> = words.map(Block::paragraph).collect();
    if v.elsewhere_uncovered_head > 0 {
        blocks.push(Block::paragraph(format!(
            "{} more head are left unbred in sessions that you did not ask about.",
            v.elsewhere_uncovered_head
        )));
    }
    Block::headed(Kind::Verdict(kind), "verdict", first, blocks)
}

fn sessions(all: &[SessionFigures]) -> Block {
    let rows = all.iter().map(|s| {
        let day = short_date(s.first_cow.unwrap_or(s.open).date_naive());
        let left = s.due_head - s.bred_head.min(s.due_head);
        let heads = [s.due_head, s.bred_head, left].map(|n| n.to_string());
        let margin = s.covered.then(|| {
            let later = human_minutes(s.margin_minutes);
            [later, s.margin_head.to_string()]
        });
        let margin = margin.unwrap_or_else(|| ["-", "-"].map(str::to_owned));
        let cells = [s.id.clone()].into_iter().chain(heads).chain(margin);
        Row::named(day, cells.chain([s.binding.as_str().to_owned()]))
    });
    let columns = [
        "day", "session", "to breed", "bred", "left", "margin", "head", "limit",
    ];
    let table = Block::table("Sessions", &columns, rows);
    let margin = Block::paragraph(
        "The margin is how much later the crew could begin, or how many more head it could breed.",
    );
    Block::part("sessions", "Sessions", vec![table, margin])
}

fn session(n: usize, s: &SessionFigures, clock: Clock) -> Block {
    let day = on_day(clock, s.first_cow.unwrap_or(s.open).date_naive());
    let mut facts = vec![
        ("Session", s.id.clone()),
        if s.covered {
            let limit = s.binding_words.trim_start_matches(LIMIT);
            ("Limit", limit.to_owned())
        } else {
            ("Why", s.binding_words.clone())
        },
    ];
    if let (Some(oldest), Some(late)) = (s.oldest_straw_minutes, s.late_percent) {
        let straws = format!(
            "The slowest straw of a round takes {oldest:.1} min from bath to cow on average. {:.0} min is allowed; {} of full rounds should take longer. `thawline chance` shows whole days.",
            s.most_straw_minutes,
            share(late)
        );
        facts.push(("Straws", straws));
    }
    facts.push(("Work", format!("{:.1} hours", s.work_hours)));
    let mut blocks = vec![Block::facts(facts)];
    for p in &s.pens {
        let alike = s.pens.iter().filter(|o| o.group == p.group).count();
        blocks.extend(pen(p, day, alike));
    }
    if !s.technicians.is_empty() {
        let title = "Who breeds";
        let columns = [
            "technician",
            "head",
            "from",
            "to",
            "straws at once",
            "hours",
        ];
        let rows = s.technicians.iter().map(|t| technician(t, day));
        blocks.push(Block::heading(3, title));
        blocks.push(Block::table(title, &columns, rows));
    }
    blocks.extend(limits(&s.limits).into_iter().flatten());
    let title = format!("{}, {}", human_date(day.date), s.site_name);
    Block::part(&format!("session-{n}"), title, blocks)
}

fn pen(p: &PenFigures, day: OnDay, of_group: usize) -> [Block; 2] {
    let who = match p.pen {
        Some(pen) if of_group > 1 => format!("{} pen {pen}", p.group),
        _ => p.group.clone(),
    };
    let bred = if p.bred_head == p.due_head {
        format!("{} head", p.due_head)
    } else {
        format!("{} of {} head", p.bred_head, p.due_head)
    };

    let (from, to) = (ends(p.counted_from, day), day.clock.time(p.counted_to));
    let window = format!(
        "{} after {} ({from} to {to})",
        p.window, p.counted_from_what
    );
    let mut facts = vec![
        ("AI window", hours(p.earliest, p.latest, day)),
        ("Counted", window),
        ("Order", order_words(p.order).to_owned()),
    ];
    if let (Some(first), Some(last)) = (&p.first_cow, &p.last_cow) {
        facts.push(("First cow", cow(first, p, day)));
        facts.push(("Last cow", cow(last, p, day)));
        if let (Some(a), Some(b)) = (p.fewest_hours, p.most_hours) {
            facts.push(("All cows", format!("from {a:.1} to {b:.1} h")));
        }
    }
    [
        Block::heading(3, format!("{who}: {bred}, {}", p.what)),
        Block::facts(facts),
    ]
}

fn cow(c: &Cow, p: &PenFigures, day: OnDay) -> String {
    let hours = if c.animal.is_some() {
        format!("{:.1} h after her own", c.most_hours)
    } else {
        format!("{:.1} to {:.1} h after", c.fewest_hours, c.most_hours)
    };
    let from = &p.counted_from_what;
    format!("{} ({hours} {from})", begins(c.bred, day))
}

/// `2.4 %`; what is not none is not shown as none.
fn share(percent: f64) -> String {
    if percent > 0.0 && percent < 0.05 {
        "less than 0.1 %".to_owned()
    } else {
        format!("{percent:.1} %")
    }
}

fn technician(t: &AtWork, day: OnDay) -> Row {
    let cells = [
        t.head.to_string(),
        ends(t.begins, day),
        ends(t.last_cow, day),
        t.straws_at_once.to_string(),
        format!("{:.1}", t.work_hours),
    ];
    Row::named(&t.name, cells)
}

fn limits(limits: &[Limit]) -> Option<[Block; 2]> {
    let first = limits.first()?;
    let rows = limits.iter().map(|l| {
        let head = l.lifted_head.map_or("any".to_owned(), |h| h.to_string());
        Row::named(&l.words, [head])
    });
    let now = Row::named("with nothing changed", [first.largest_head.to_string()]);
    let title = "Most head this crew can breed that day if it does no other work";
    let rows = [now].into_iter().chain(rows);
    let table = Block::table(title, &["", "head"], rows);
    Some([Block::heading(3, title), table])
}

fn largest(n: usize, l: &Largest) -> Block {
    let head = |head: Option<u32>| {
        head.map_or_else(|| format!("{}+", l.most_looked_at_head), |h| h.to_string())
    };
    let rows = l.rows.iter().map(|r| {
        let cells = [
            with(r),
            format!("{:.1}", r.head_per_hour),
            head(r.mixed_head),
            head(r.kept_head),
        ];
        Row::named(r.technicians.to_string(), cells)
    });
    let title = format!("Most head like `{}` each crew can breed", l.group);
    let columns = [
        "crew",
        "with",
        "head an hour",
        "any order",
        "treatment order",
    ];
    let (pens, order) = (count(l.pens, "pen", "pens"), order_words(l.order));
    let counted = format!(
        "Counted in {pens}, with no other work that day: in any order, and in treatment order. `{}` has {} head now, in {order}.",
        l.group, l.head
    );
    let short = l.rows.iter().any(|r| r.boxes_short);
    let turns =
        "Where there are more technicians than breeding boxes at the site, they take turns.";
    let mut blocks = vec![Block::paragraph(counted)];
    blocks.extend(short.then(|| Block::paragraph(turns)));
    blocks.push(Block::table(&title, &columns, rows));
    blocks.push(Block::heading(3, "Head, by technicians and order"));
    blocks.push(Block::Bars(bars(l)));
    Block::part(&format!("largest-{n}"), title, blocks)
}

/// A bar for the group now, and two for each number of technicians; any number is as long as the longest.
fn bars(l: &Largest) -> Vec<Bar> {
    let figures = l.rows.iter().flat_map(|r| [r.mixed_head, r.kept_head]);
    let most = figures.flatten().max().unwrap_or(0).max(l.head);
    let bar = |name: String, head: Option<u32>| Bar {
        name,
        parts: vec![f64::from(head.unwrap_or(most))],
        said: vec![head.map_or_else(|| "any".to_owned(), |h| h.to_string())],
    };
    let rows = l.rows.iter().flat_map(|r| {
        [
            bar(format!("{} any order", r.technicians), r.mixed_head),
            bar(format!("{} treatment order", r.technicians), r.kept_head),
        ]
    });
    let now = bar("now".to_owned(), Some(l.head));
    [now].into_iter().chain(rows).collect()
}

fn with(r: &LargestRow) -> String {
    if r.hired {
        format!("+ one like {}", r.with)
    } else if r.technicians == 1 {
        r.with.clone()
    } else {
        format!("+ {}", r.with)
    }
}

/// Sessions that fall short and were only counted.
fn not_looked_at(answer: &Staffing) -> Option<String> {
    let others = answer.sessions.iter().filter(|s| !s.covered);
    let others = others.filter(|s| answer.remedies.iter().all(|r| r.session != s.id));
    let others: Vec<&str> = others.map(|s| s.id.as_str()).collect();
    let falls = if others.len() == 1 { "falls" } else { "fall" };
    others.first().map(|first| {
        format!(
            "{} {falls} short too. For what would help one, ask about it: --session '{first}'.",
            count(others.len() as u32, "other session", "other sessions")
        )
    })
}
