//! The readiness of herds in words: the verdict first, then the counts, the spreads, and the
//! animals that need something.

use schemars::JsonSchema;
use serde::Serialize;

use super::answer::{Answer, Tables};
use super::document::{Bar, Block, Document, Item, ListKind, Row};
use super::table::{Table, fields, kinds, nested};
use crate::base::error::{Finding, visible};
use crate::base::time::human_date;
use crate::base::units::Units;
use crate::trade::herd::readiness::{Readiness, Reason};
use crate::trade::herd::summary::{AnimalReport, AnswerCount, GroupReport, Histogram};

/// Who is ready on the first day of the protocol.
#[derive(Serialize, JsonSchema)]
pub struct Herds<'a> {
    /// `thawline.herd/1`.
    pub format: &'static str,
    /// The season's name.
    pub season: &'a str,
    /// Groups with a herd file.
    pub groups: &'a [GroupReport<'a>],
    /// Findings of the season and of the herd files.
    pub findings: &'a [Finding],
    /// Whether the text lists animals that are ready too.
    #[serde(skip)]
    pub all: bool,
}

impl Answer for Herds<'_> {
    /// Groups in the season's order.
    fn document(&self) -> Document {
        let mut blocks = vec![
            Block::heading(1, self.season),
            Block::paragraph("Which animals are ready on their group's first day."),
        ];
        for (n, g) in self.groups.iter().enumerate() {
            let [from, bred] = [g.first_day, g.breeding_day].map(human_date);
            let (name, group, protocol) = (g.name, g.group, g.protocol);
            let title = format!("{name} ({group}): {protocol} from {from}, breeding about {bred}");
            let words = g.words.iter().map(Block::paragraph).collect();
            blocks.push(Block::part(&format!("group-{}", n + 1), title, words));
        }
        blocks.extend(super::findings(self.findings));
        for (n, g) in self.groups.iter().enumerate() {
            let file = format!("Herd file: {}", visible(g.herd_file));
            let answers = g.answers.iter().filter(|a| a.head > 0).map(count);
            let mut detail = vec![
                Block::paragraph(file),
                Block::List(ListKind::Plain, answers.collect()),
            ];
            detail.extend(g.histograms.iter().flat_map(histogram));
            detail.extend(lists(g, self.all));
            let title = format!("{} in detail", g.name);
            blocks.push(Block::part(&format!("detail-{}", n + 1), title, detail));
        }
        let care = [
            "Your veterinarian and your own eye decide.",
            "Never give PG to a pregnant animal: make sure that she is open (CFR-690).",
        ];
        blocks.push(Block::part("care", "Take care", vec![Block::bullets(care)]));
        Document::new(format!("{} – herds", self.season), blocks)
    }

    fn tables(&self) -> Tables<Self> {
        kinds![animals]
    }
}

fn count(a: &AnswerCount) -> Item {
    let mut item = Item::text(format!("{} head: {}", a.head, a.words));
    let reasons = a.reasons.iter().map(|r| match r.source {
        "" => format!("{}: {}", r.head, r.words),
        source => format!("{}: {} ({source})", r.head, r.words),
    });
    item.blocks.push(Block::bullets(reasons));
    item
}

fn histogram(h: &Histogram) -> [Block; 2] {
    let bar = |name: String, head: usize, long: usize| Bar {
        name,
        parts: vec![long as f64],
        said: vec![head.to_string()],
    };
    let bins = h.bins.iter().map(|b| {
        let name = if h.width < 1.0 {
            b.from.to_string()
        } else {
            format!("{}-{}", b.from, b.from + h.width - 1.0)
        };
        bar(name, b.head, b.head)
    });
    let unknown = (h.unknown_head > 0).then(|| bar("not known".to_owned(), h.unknown_head, 0));
    [
        Block::heading(3, &h.words),
        Block::Bars(bins.chain(unknown).collect()),
    ]
}

fn lists(g: &GroupReport<'_>, all: bool) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut unlisted = 0;
    for answer in [
        Readiness::NotNow,
        Readiness::Wait,
        Readiness::Unknown,
        Readiness::WithProgestin,
        Readiness::Ready,
    ] {
        if g.head_of(answer) == 0 {
            continue;
        }
        // Those whose protocol gives what they need, need nothing more.
        if !all
            && (answer == Readiness::Ready || (answer == Readiness::WithProgestin && g.progestin))
        {
            unlisted += g.head_of(answer);
            continue;
        }
        let mut words = answer.words().to_owned();
        words[..1].make_ascii_uppercase();
        let animals = g.animals.iter().filter(|a| a.answer == answer);
        let rows = animals.map(|a| Row::named(called(a), [facts(a, g.units)]));
        let table = Block::table(&words, &["animal", "facts"], rows);
        blocks.extend([Block::heading(3, &words), table]);
    }
    if unlisted > 0 {
        let said =
            format!("{unlisted} that can start as planned are not listed: --all lists them.");
        blocks.push(Block::heading(3, said));
    }
    blocks
}

/// Her id, with her tag or electronic id behind it if she has both.
fn called(a: &AnimalReport<'_>) -> String {
    match a.other_id {
        Some(other) => format!("{} ({other})", a.animal),
        None => a.animal.to_owned(),
    }
}

/// What speaks for or against an animal, with the numbers.
fn facts(a: &AnimalReport<'_>, units: Units) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut add = |text: Option<String>| {
        parts.extend(text.filter(|text| !parts.contains(text)));
    };
    if a.reasons.is_empty() {
        [days(a), condition(a), tract(a), percent(a)]
            .into_iter()
            .for_each(&mut add);
    }
    for reason in &a.reasons {
        add(match reason {
            Reason::CalvesAfterStart => Some("calves after the first day".to_owned()),
            Reason::CalvedTooLate | Reason::CalvedLate => days(a),
            Reason::InsertTooSoon => Some("too soon for an insert".to_owned()),
            Reason::Thin => condition(a),
            Reason::FirstCalf | Reason::TooYoung => {
                a.months_at_breeding.map(|m| format!("{m} months old"))
            }
            Reason::InfantileTract | Reason::PrepubertalTract | Reason::PeripubertalTract => {
                tract(a)
            }
            Reason::Light | Reason::TooLight => percent(a),
            Reason::CellsBlank => Some(format!("blank: {}", a.blank.join(", "))),
        });
    }
    let gain = a.gain_needed_lb_per_day;
    let gain = gain.filter(|_| a.answer != Readiness::Ready);
    parts.extend(gain.map(|gain| {
        let (gain, unit) = units.pounds(gain);
        format!("needs {gain} {unit} a day")
    }));
    parts.join(", ") + &later(a)
}

/// From when on she can start.
fn later(a: &AnimalReport<'_>) -> String {
    if !matches!(a.answer, Readiness::Wait | Readiness::NotNow) {
        return String::new();
    }
    match a.ready_from {
        Some(day) => {
            let with = match a.answer_then {
                Some(Readiness::WithProgestin) => " with a progestin",
                _ => "",
            };
            format!("; can start on {} or later{with}", human_date(day))
        }
        None if a.tract_score.is_some_and(|t| t < 3) => "; score her again later".to_owned(),
        None => String::new(),
    }
}

fn days(a: &AnimalReport<'_>) -> Option<String> {
    let (first, then) = a
        .days_since_calving_at_first_day
        .zip(a.days_since_calving_at_breeding)?;
    Some(format!(
        "{then} days from calving at breeding ({first} at start)"
    ))
}

fn condition(a: &AnimalReport<'_>) -> Option<String> {
    a.body_condition.map(|c| format!("body condition {c}"))
}

fn tract(a: &AnimalReport<'_>) -> Option<String> {
    a.tract_score.map(|t| format!("tract score {t}"))
}

fn percent(a: &AnimalReport<'_>) -> Option<String> {
    a.mature_weight_percent
        .map(|p| format!("{p} % of mature weight"))
}

/// The words of an animal's reasons. Reasons that lead to another answer are counted under none: their
/// words stay with the code.
fn reason_words<'a>(g: &'a GroupReport<'_>, a: &AnimalReport<'_>) -> Vec<&'a str> {
    let counted = g.answers.iter().flat_map(|x| &x.reasons);
    let words = a.reasons.iter().filter_map(|reason| {
        let of = counted.clone().find(|x| x.reason == *reason);
        of.map(|x| x.words.as_str())
    });
    words.collect()
}

/// A row for each animal, in the order of groups and files.
fn animals(herds: &Herds<'_>) -> String {
    let mut t = Table::of(nested(herds.groups, |g| &g.animals));
    fields!(t, |(g, _)| g => group, group_name = name, class, protocol);
    t.day(["first_day", "first_day_weekday"], |(g, _)| {
        Some(g.first_day)
    });
    t.day(["breeding_day", "breeding_day_weekday"], |(g, _)| {
        Some(g.breeding_day)
    });
    fields!(t, |(_, a)| a => animal, electronic_id = electronic, other_id, herd_file_line = line, answer);
    t.column("answer_words", |(_, a)| a.answer.words());
    t.column("reasons", |(_, a)| &a.reasons);
    t.column("reason_words", |(g, a)| reason_words(g, a));
    t.day(["ready_from", "ready_from_weekday"], |(_, a)| a.ready_from);
    fields!(t, |(_, a)| a =>
        days_since_calving_at_first_day, days_since_calving_at_breeding, months_at_breeding,
        body_condition, mature_weight_percent, tract_score, gain_needed_lb_per_day,
        blank_columns = blank);
    t.csv()
}
