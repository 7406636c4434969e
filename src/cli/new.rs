//! A first season file from five questions, each asked at the terminal or answered by an option.

use std::io::{self, BufRead as _, Write as _};
use std::path::{Path, PathBuf};

use chrono::{Local, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Timelike as _};
use clap::Args;
use thawline::error::{Code, Error, Finding, did_you_mean, quoted, visible_text};
use thawline::pipeline;
use thawline::protocol::backwards::start_for_breeding;
use thawline::protocol::law;
use thawline::protocol::{Class, Library, Protocol, Semen};
use thawline::season::{self, first};
use thawline::time::{Zone, human_date, read};
use thawline::units::Id;

use super::asked::{Outcome, Run};
use super::writing::{self, Over};

/// Write a first season file from five questions: animals, where, when, who breeds, and how.
///
/// Enter takes the answer in brackets. All else is assumed and marked in the file, which can be planned at
/// once. Questions that an option answers are not asked.
#[derive(Args)]
pub(super) struct New {
    /// The season file to write.
    file: PathBuf,
    /// How many, and of which class: "60 cows", "40 heifers".
    #[arg(long, value_name = "TEXT")]
    animals: Option<String>,
    /// Where: the time zone, such as America/Denver, or a city of it.
    #[arg(long, value_name = "ZONE")]
    zone: Option<String>,
    /// The day on which they are to be bred.
    #[arg(long, value_name = "DATE")]
    breed_on: Option<String>,
    /// Who breeds: names, with commas between.
    #[arg(long, value_name = "NAMES")]
    crew: Option<String>,
    /// How: the id of a protocol.
    #[arg(long, value_name = "ID")]
    protocol: Option<String>,
    #[command(flatten)]
    over: Over,
}

/// Hours of the day at which breeding is aimed, the best first: the first treatment is to fall by day as well.
const BREEDING: [i64; 10] = [8, 7, 9, 10, 11, 6, 12, 13, 14, 15];

/// Protocols that are offered by number.
const OFFERED: usize = 5;

impl Run for New {
    fn run(&self) -> Result<Outcome, Error> {
        writing::may_be_written(&self.file, self.over)?;
        let library = Library::built_in();
        let animals = ask(
            "How many animals, and are they cows or heifers?",
            self.animals.as_deref(),
            Some("60 cows"),
            animals,
        )?;
        let (head, class) = animals;
        let here = iana_time_zone::get_timezone().ok();
        let here = here.filter(|name| !name.starts_with("Etc/") && read::zone(name).is_ok());
        let where_ = "Where do they stand? The time zone, such as America/Denver, or a city of it";
        let zone = ask(where_, self.zone.as_deref(), here.as_deref(), zone)?;
        let today = Local::now().date_naive();
        let usual = (today + TimeDelta::days(42)).to_string();
        let when = "On which day shall they be bred?";
        let day = ask(when, self.breed_on.as_deref(), Some(&usual), |text| {
            later(text, today)
        })?;
        let who = "Who breeds? Names, with commas between";
        let people = ask(who, self.crew.as_deref(), Some("technician"), people)?;
        let country = law::of_zone(zone.name())
            .first()
            .copied()
            .unwrap_or_default();
        let offered = first::offered(&library, class, country);
        let offered = &offered[..offered.len().min(OFFERED)];
        if self.protocol.is_none() {
            eprint!("{}", list(offered));
        }
        let how = "How? The number or the id of a protocol";
        let (protocol, start) = ask(how, self.protocol.as_deref(), Some("1"), |text| {
            let protocol = protocol(&library, offered, text)?;
            Ok((protocol, start(protocol, zone, day, today)?))
        })?;
        let first = first::First {
            head,
            class,
            zone,
            start,
            people,
            protocol,
        };
        let text = first.text();
        let (season, found) = season::read("", text.as_bytes(), &library)?;
        let plan = pipeline::plan(&season, &found)?;
        writing::write_all(&[(self.file.clone(), text)], self.over)?;
        Ok(Outcome::printed(said(
            &self.file,
            &first,
            &plan.verdict.words.join("\n"),
        )))
    }
}

/// What was written, and what to do next.
fn said(file: &Path, first: &first::First<'_>, verdict: &str) -> String {
    let class = first.class.as_str();
    let (head, name) = (first.head, &first.protocol.name);
    let file = file.display();
    let start = first.start;
    let (day, clock) = (human_date(start.date()), start.format("%H:%M"));
    format!(
        "{head} {class}s on {name}, first treatment on {day} at {clock}.
{verdict}

Written to {file}. Correct the lines marked `assumed`: paces, boxes, shifts, bulls and straws.
Then: thawline plan {file}
"
    )
}

/// Asks one question until its answer can be read. An option answers it once.
fn ask<T>(
    question: &str,
    given: Option<&str>,
    usual: Option<&str>,
    read: impl Fn(&str) -> Result<T, Finding>,
) -> Result<T, Finding> {
    if let Some(given) = given {
        return read(given);
    }
    let shown = usual.map(|u| format!(" [{u}]")).unwrap_or_default();
    loop {
        eprint!("{question}{shown} ");
        // A terminal that does not show the question asks all the same.
        let _ = io::stderr().flush();
        let mut line = String::new();
        let bytes = io::stdin().lock().read_line(&mut line);
        let ended = !matches!(bytes, Ok(n) if n > 0);
        let answer = match (line.trim(), usual) {
            ("", Some(usual)) => usual,
            (answer, _) => answer,
        };
        match read(answer) {
            Ok(answer) => {
                if ended {
                    eprintln!();
                }
                return Ok(answer);
            }
            Err(finding) if ended => return Err(finding),
            Err(finding) => eprintln!("{}", visible_text(&finding.to_string())),
        }
    }
}

fn fault(what: String, expected: &str, hint: &str) -> Finding {
    Finding::error(Code::WrongType, what)
        .expected(expected)
        .hint(hint)
}

fn animals(text: &str) -> Result<(u32, Class), Finding> {
    let number = text
        .split(|c: char| !c.is_ascii_digit())
        .find(|t| !t.is_empty());
    let head = number.and_then(|n| n.parse().ok());
    let head = head.filter(|n| (1..=100_000).contains(n));
    let lower = text.to_lowercase();
    let class = match (lower.contains("cow"), lower.contains("heifer")) {
        (true, false) => Some(Class::Cow),
        (false, true) => Some(Class::Heifer),
        _ => None,
    };
    head.zip(class).ok_or_else(|| {
        let what = format!("{} does not say how many and which", quoted(text));
        let hint = "write for instance `60 cows`; heifers are a group of their own, later";
        fault(
            what,
            "a number from 1 to 100000, and `cows` or `heifers`",
            hint,
        )
    })
}

fn zone(text: &str) -> Result<Zone, Finding> {
    read::zone(text)
        .or_else(|finding| Zone::parse(Zone::meant_by(text).unwrap_or(text)).map_err(|_| finding))
}

fn later(text: &str, today: NaiveDate) -> Result<NaiveDate, Finding> {
    let day = read::date(text)?;
    if day <= today {
        let what = format!("{} is not in the future", quoted(text));
        return Err(fault(
            what,
            "a day to come",
            "treatments begin days or weeks before breeding",
        ));
    }
    Ok(day)
}

fn people(text: &str) -> Result<Vec<Id>, Finding> {
    let mut all: Vec<Id> = Vec::new();
    for name in text.split(',').map(str::trim).filter(|n| !n.is_empty()) {
        let id = Id::new(name)
            .filter(|id| !all.contains(id))
            .ok_or_else(|| {
                let what = format!("{} cannot be the name of a technician here", quoted(name));
                fault(
                    what,
                    Id::FORM,
                    "a short name, each once; the full name can go under `name`",
                )
            })?;
        all.push(id);
    }
    if all.is_empty() {
        let what = "nobody is named".to_owned();
        return Err(fault(what, "one name or more", "such as `ana, burt`"));
    }
    Ok(all)
}

/// Protocols to choose from, one a line.
fn list(offered: &[&Protocol]) -> String {
    let lines = offered.iter().enumerate().map(|(n, p)| {
        let rate = p.rate(Semen::Conventional);
        let rate = rate.map_or("no figure is published".to_owned(), |r| {
            format!("{:.0} % pregnant in what is published", r.mean)
        });
        let (days, trips) = (p.days_to_breeding(), p.chute_passes());
        format!(
            "  {}  {} ({}): {days} days, {trips} trips through the chute, {rate}\n",
            n + 1,
            p.name,
            p.id
        )
    });
    lines.collect()
}

fn protocol<'a>(
    library: &'a Library,
    offered: &[&'a Protocol],
    text: &str,
) -> Result<&'a Protocol, Finding> {
    let number = text.parse::<usize>().ok();
    if let Some(one) = number.and_then(|n| offered.get(n.checked_sub(1)?)) {
        return Ok(one);
    }
    library
        .iter()
        .find(|p| p.id.as_str() == text)
        .ok_or_else(|| {
            let near = thawline::error::nearest(text, library.iter().map(|p| p.id.as_str()));
            let hint = did_you_mean(near, "`thawline protocols` lists all of them");
            let what = format!("there is no protocol {}", quoted(text));
            fault(what, "a number of the list, or the id of a protocol", &hint)
        })
}

/// The first treatment, which must be to come.
fn start(
    protocol: &Protocol,
    zone: Zone,
    day: NaiveDate,
    today: NaiveDate,
) -> Result<NaiveDateTime, Finding> {
    let mut start = None;
    for hour in BREEDING {
        let breeding = zone
            .resolve(day.and_time(NaiveTime::MIN) + TimeDelta::hours(hour))
            .at;
        let found = start_for_breeding(protocol, zone, breeding, None)?.start();
        let by_day = (6..=18).contains(&found.hour());
        if by_day || start.is_none() {
            start = Some(found);
        }
        if by_day {
            break;
        }
    }
    let start = start.unwrap_or_default();
    if start.date() < today {
        let what = format!(
            "with {} the first treatment would be on {}, which is past",
            protocol.name,
            human_date(start.date())
        );
        let hint = "take a protocol with fewer days, or run this again with a later day";
        return Err(fault(what, "a first treatment today or later", hint));
    }
    Ok(start)
}
