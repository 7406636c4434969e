//! The protocol library as a page of tables, in Markdown.

use std::fmt::Write as _;

use super::protocol_facts::{cattle, refused_in, semen, shows};
use crate::base::units::tenths;
use crate::trade::protocol::heat::Heats;
use crate::trade::protocol::{Cattle, Class, Kind, Library, Protocol, Semen};

/// A heading and the protocols under it.
type Part = (&'static str, fn(&Protocol) -> bool);

/// Every protocol falls under exactly one: beef cattle by class, then cattle of other kinds only.
const PARTS: [Part; 5] = [
    ("Beef cows", |p| beef(p) && p.class == Class::Cow),
    ("Beef heifers", |p| beef(p) && p.class == Class::Heifer),
    ("Cows and heifers", |p| beef(p) && p.class == Class::Both),
    ("Bos indicus influenced cattle only", |p| {
        !beef(p) && p.cattle.contains(&Cattle::BosIndicus)
    }),
    ("Dairy cattle only", |p| {
        !beef(p) && !p.cattle.contains(&Cattle::BosIndicus)
    }),
];

fn beef(protocol: &Protocol) -> bool {
    protocol.cattle.contains(&Cattle::Beef)
}

/// The page.
#[must_use]
pub fn markdown(library: &Library) -> String {
    let mut text = String::from(
        "# The protocol library\n\n\
         Made from the files in this folder; the tests rewrite it with `THAWLINE_BLESS=1`. One \
         protocol with its steps, hours, doses and sources: `thawline protocols ID`.\n\n\
         Days: from the first treatment to the first breeding. Trips: through the chute, \
         breeding included; where all are bred by heat, breeding is not counted. Pregnant: percent pregnant to AI in trials of this very protocol, pooled, with what 95 of 100 herds and seasons lie within, \
         lowest to highest, and its source; empty where none is published. In the last column, \
         `*` says that some of its times were not checked against the published sheet: check them with it \
         and your veterinarian; `research` says that it was tried in trials only, `not in US` that the law there does not permit it.\n",
    );
    let _ = writeln!(text, "\n{} protocols.", library.iter().count());
    for (heading, holds) in PARTS {
        let mut part = library.iter().filter(|p| holds(p)).peekable();
        if part.peek().is_none() {
            continue;
        }
        let _ = write!(
            text,
            "\n## {heading}\n\n\
             | id | name | class | cattle | semen | breeds by | days | trips | pregnant | |\n\
             |---|---|---|---|---|---|---:|---:|---|---|\n"
        );
        for protocol in part {
            text.push_str(&row(protocol));
        }
    }
    text.push_str(&heats(library));
    text
}

/// When heat comes, for protocols that breed by it.
fn heats(library: &Library) -> String {
    let mut text = String::from(
        "\n## When heat comes\n\n\
         For planning how many are bred on each half-day of a heat watch. Hours are elapsed, and \
         normally distributed among those that show heat: mean and one standard deviation are \
         fitted to published percentages in heat by so many hours, or as stated. `borrowed` says \
         that figures are those of another protocol or other animals: `thawline protocols ID` \
         tells which. A season file may set others for a group.\n\n\
         | id | watch | counted from | mean h | SD h | percent that show heat | sources | |\n\
         |---|---|---|---:|---:|---:|---|---|\n",
    );
    for p in library.iter() {
        for step in &p.steps {
            let Some(heat) = &step.heat else { continue };
            let (from, mean, sd) = match (&heat.heats, heat.spread()) {
                (Heats::After { step, .. }, Some(s)) => (
                    format!("`{step}`"),
                    tenths(s.mean).to_string(),
                    tenths(s.sd).to_string(),
                ),
                (Heats::Cycling { days, .. }, _) => {
                    (format!("once in {days} days"), String::new(), String::new())
                }
                (Heats::After { .. }, None) => continue,
            };
            let borrowed = heat.borrowed.as_ref().map_or("", |_| "borrowed");
            let (shows, sources) = (shows(heat), heat.sources());
            let (id, step) = (&p.id, &step.id);
            let _ = writeln!(
                text,
                "| `{id}` | `{step}` | {from} | {mean} | {sd} | {shows} | {sources} | {borrowed} |"
            );
        }
    }
    text
}

fn row(p: &Protocol) -> String {
    let semens: Vec<&str> = p.semen.iter().map(|s| semen(*s)).collect();
    let marks = [(p.has_unverified(), "\\*"), (p.research, "research")];
    let marks = marks
        .iter()
        .filter(|(m, _)| *m)
        .map(|(_, w)| (*w).to_owned());
    let refused = refused_in(p).into_iter().map(|c| format!("not in {c}"));
    let marks: Vec<String> = marks.chain(refused).collect();
    let cells = [
        format!("`{}`", p.id),
        p.name.replace('|', "\\|"),
        p.class.as_str().to_owned(),
        cattle(p),
        semens.join(", "),
        breeds_by(p.kind).to_owned(),
        p.days_to_breeding().to_string(),
        p.chute_passes().to_string(),
        pregnant(p),
        marks.join(" "),
    ];
    format!("| {} |\n", cells.join(" | "))
}

const fn breeds_by(kind: Kind) -> &'static str {
    match kind {
        Kind::FixedTime => "time",
        Kind::EstrusDetection => "heat",
        Kind::EstrusDetectionThenTimed => "heat, then time",
        Kind::SplitTime => "split time",
    }
}

fn pregnant(p: &Protocol) -> String {
    let figures = [(Semen::Conventional, ""), (Semen::Sexed, "sex-sorted ")];
    let figures = figures.into_iter().filter_map(|(semen, sort)| {
        let rate = p.rate(semen)?;
        let (low, mean, high) = (rate.low, rate.mean, rate.high);
        let tags = rate.tags.join(", ");
        Some(format!("{sort}{mean:.0} ({low:.0} to {high:.0}; {tags})"))
    });
    figures.collect::<Vec<_>>().join("; ")
}
