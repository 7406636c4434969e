//! An earlier export of the same calendar, read back.
//!
//! Lines are unfolded and components are told apart here, with their line numbers and without
//! recursion; each content line is read by the `icalendar` crate's parser.
//!
//! The crate's reader of whole files is not used: it recurses without bound, and its line numbers are
//! those of the unfolded text.

use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Utc};
use icalendar::parser::Property;

use super::component::PRODUCT;
use super::revision::Revision;
use crate::base::error::{Code, Error, Finding, Place, is_hidden, quoted};
use crate::base::time::{Instant, Zone};

/// The most bytes of an earlier calendar: that of thousands of groups is smaller.
pub const MOST_BYTES: u64 = 128 * 1024 * 1024;

/// The most bytes of a content line, unfolded: what is said of a session of thousands of pens is shorter,
/// and reading a line takes many times its length.
const MOST_LINE_BYTES: usize = 2 * 1024 * 1024;

/// The most lines of an event with its reminders, or of a zone: ours have some tens.
const MOST_LINES: usize = 1000;

/// Properties of a calendar that are asked for.
const FRAME: [&str; 3] = ["PRODID", "X-THAWLINE-SEASON", "X-THAWLINE-TECHNICIAN"];

fn asked(line: &Line) -> bool {
    FRAME.contains(&line.name.as_str())
}

/// Components within components that a calendar has at the most.
const MOST_DEPTH: usize = 4;

/// An earlier calendar of this program.
#[derive(Clone, Debug)]
pub struct Previous {
    /// Whose it is, by technician id; of the whole season if absent.
    pub technician: Option<String>,
    /// The name of its season, as far as the file says.
    pub season: Option<String>,
    pub(super) events: BTreeMap<String, Old>,
}

/// An event of an earlier calendar.
#[derive(Clone, Debug)]
pub(super) struct Old {
    pub(super) revision: Revision,
    pub(super) cancelled: bool,
    /// Its own lines, without those of its reminders.
    pub(super) lines: Vec<Line>,
    /// What it says, with its reminders, without its revision.
    says: Vec<String>,
    /// When it is.
    pub(super) from: Instant,
    pub(super) to: Instant,
    /// The zone of its times, if they have one.
    pub(super) zone: Option<Zone>,
}

impl Old {
    /// True if a component, as written, says the same.
    pub(super) fn says_the_same_as(&self, written: &str) -> bool {
        let read: Vec<Line> = unfolded(written).filter_map(|l| read_line(l.1)).collect();
        self.says == says(read.iter())
    }
}

/// A content line.
#[derive(Clone, Debug)]
pub(super) struct Line {
    /// Unfolded.
    pub(super) text: String,
    pub(super) name: String,
    pub(super) value: String,
    parameters: BTreeMap<String, String>,
}

impl Line {
    /// The same for two spellings of one property.
    fn sense(&self) -> String {
        let mut sense = self.name.clone();
        for (key, value) in &self.parameters {
            sense = format!("{sense};{key}={value}");
        }
        format!("{sense}:{}", self.value)
    }
}

/// The sense of lines, sorted, without what says which revision it is.
fn says<'a>(lines: impl Iterator<Item = &'a Line>) -> Vec<String> {
    let of_revision = ["DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "CREATED"];
    let mut found: Vec<String> = lines
        .filter(|l| !of_revision.contains(&l.name.as_str()))
        .map(Line::sense)
        .collect();
    found.sort_unstable();
    found
}

/// The first content line that is longer than any of ours, by number.
fn too_long(text: &str) -> Option<u32> {
    let (mut first, mut length) = (1, 0);
    for (number, line) in (1..).zip(text.split('\n')) {
        if !line.starts_with([' ', '\t']) {
            (first, length) = (number, 0);
        }
        length += line.len();
        if length > MOST_LINE_BYTES {
            return Some(first);
        }
    }
    None
}

/// Content lines with the number of their first line, from 1.
fn unfolded(text: &str) -> impl Iterator<Item = (u32, String)> {
    let bare = |line: &'_ str| line.strip_suffix('\r').map_or(line.len(), str::len);
    let mut lines = (1..).zip(text.split('\n')).peekable();
    std::iter::from_fn(move || {
        let (number, first) = lines.find(|(_, line)| bare(line) > 0)?;
        let mut whole = first[..bare(first)].to_owned();
        while let Some((_, more)) =
            lines.next_if(|(_, l)| l.starts_with([' ', '\t']) || bare(l) == 0)
        {
            whole.push_str(
                more[..bare(more)]
                    .strip_prefix([' ', '\t'])
                    .unwrap_or_default(),
            );
        }
        if whole.contains(is_hidden) {
            whole = whole.replace(is_hidden, " ");
        }
        Some((number, whole))
    })
}

/// `None` unless a name, parameters, a colon and a value are all there is.
fn read_line(text: String) -> Option<Line> {
    let read = Property::try_from(text.as_str()).ok()?;
    // The parser takes a name alone for a property, and leaves the rest of the line.
    let rest = text.strip_prefix(read.name.as_str())?;
    if !rest.starts_with([':', ';']) {
        return None;
    }
    let parameters = read.params.iter().map(|p| {
        let value = p.val.as_ref().map_or("", |v| v.as_str());
        (p.key.as_str().to_uppercase(), value.to_owned())
    });
    let (name, value, parameters) = (
        read.name.as_str().to_uppercase(),
        read.val.as_str().to_owned(),
        parameters.collect(),
    );
    Some(Line {
        text,
        name,
        value,
        parameters,
    })
}

/// Reads an earlier calendar. `file` is its name for people.
///
/// # Errors
/// A finding that says in which line what is wrong; or that the file is not of this program.
pub fn read(file: &str, bytes: &[u8]) -> Result<Previous, Error> {
    Ok(Reading { file }.calendar(bytes)?)
}

struct Reading<'a> {
    file: &'a str,
}

/// A VEVENT as its lines stand.
#[derive(Default)]
struct Raw {
    number: u32,
    own: Vec<(u32, Line)>,
    of_alarms: Vec<Line>,
}

impl Reading<'_> {
    fn place(&self, line: u32) -> Place {
        Place {
            file: self.file.to_owned(),
            line,
            column: 1,
            field: String::new(),
        }
    }

    fn broken(&self, line: u32, what: impl Into<String>) -> Finding {
        Finding::error(Code::CalendarForm, what)
            .at(self.place(line))
            .expected("a calendar as this program wrote it, whole")
            .hint(
                "take the file as it was exported last; or move it away, and a new calendar begins",
            )
    }

    /// The file's text, if that is not too large to be read.
    fn text<'b>(&self, bytes: &'b [u8]) -> Result<&'b str, Finding> {
        if bytes.len() as u64 > MOST_BYTES {
            return Err(Finding::error(
                Code::FileTooLarge,
                format!("this calendar is larger than {MOST_BYTES} bytes"),
            )
            .at(self.place(1))
            .expected("a calendar as this program wrote it")
            .hint("check that the right file is named"));
        }
        let text = std::str::from_utf8(bytes).map_err(|e| {
            let before = String::from_utf8_lossy(&bytes[..e.valid_up_to()]);
            let line = before.matches('\n').count() as u32 + 1;
            self.broken(line, "this calendar is not UTF-8 text")
        })?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        if let Some(line) = too_long(text) {
            let what = format!("this line is longer than {MOST_LINE_BYTES} bytes");
            return Err(self.broken(line, what));
        }
        Ok(text)
    }

    fn calendar(&self, bytes: &[u8]) -> Result<Previous, Finding> {
        let lines = unfolded(self.text(bytes)?);
        let mut open: Vec<String> = Vec::new();
        let mut frame: Vec<(u32, Line)> = Vec::new();
        let mut found = BTreeMap::new();
        let mut event = Raw::default();
        let mut ended = false;
        let mut in_part = 0;
        let mut last = 1;
        for (number, text) in lines {
            last = number;
            let line = read_part(&text);
            if ended || (open.is_empty() && line != Part::Begin("VCALENDAR".to_owned())) {
                return Err(self.broken(number, "this is not one calendar from BEGIN to END"));
            }
            match line {
                Part::Begin(_) if open.len() == MOST_DEPTH => {
                    return Err(self.broken(number, "a part within a part within a part"));
                }
                Part::Begin(name) => {
                    if open.len() == 1 {
                        in_part = 0;
                        event = Raw {
                            number,
                            ..Raw::default()
                        };
                    }
                    open.push(name);
                }
                Part::End(name) => {
                    if open.pop().as_ref() != Some(&name) {
                        let what = format!("{} ends what did not begin", quoted(&text));
                        return Err(self.broken(number, what));
                    }
                    if open.len() == 1 {
                        in_part = 0;
                    }
                    if open.len() == 1 && name == "VEVENT" {
                        self.event(std::mem::take(&mut event), &mut found)?;
                    }
                    ended = open.is_empty();
                }
                Part::Other => {
                    let line = read_line(text.clone()).ok_or_else(|| {
                        self.broken(number, format!("{} is no property", quoted(&text)))
                    })?;
                    in_part += 1;
                    if in_part > MOST_LINES {
                        let what = format!("a part of more than {MOST_LINES} lines");
                        return Err(self.broken(number, what));
                    }
                    match open.get(1).map(String::as_str) {
                        None if asked(&line) && frame.iter().all(|(_, l)| l.name != line.name) => {
                            frame.push((number, line));
                        }
                        Some("VEVENT") if open.len() == 2 => event.own.push((number, line)),
                        Some("VEVENT") => event.of_alarms.push(line),
                        _ => {}
                    }
                }
            }
        }
        if !ended {
            return Err(self.broken(last, "this calendar ends in the middle"));
        }
        self.framed(&frame, found)
    }

    fn framed(
        &self,
        frame: &[(u32, Line)],
        events: BTreeMap<String, Old>,
    ) -> Result<Previous, Finding> {
        let value = |name: &str| frame.iter().find(|(_, l)| l.name == name);
        let text = |name: &str| value(name).map(|(_, l)| l.value.clone());
        let product = value("PRODID");
        if product.is_none_or(|(_, l)| !l.value.starts_with(PRODUCT)) {
            return Err(Finding::error(
                Code::CalendarOther,
                product.map_or("this calendar does not say who made it".to_owned(), |(_, l)| {
                    format!("this calendar is made by {}", quoted(&l.value))
                }),
            )
            .at(self.place(product.map_or(1, |(n, _)| *n)))
            .expected("a calendar that `thawline calendar` or `thawline plan` wrote")
            .hint("name the file that was exported last, not one that a phone or another program saved"));
        }
        Ok(Previous {
            technician: text("X-THAWLINE-TECHNICIAN"),
            season: text("X-THAWLINE-SEASON"),
            events,
        })
    }

    fn event(&self, raw: Raw, found: &mut BTreeMap<String, Old>) -> Result<(), Finding> {
        let get = |name: &str| raw.own.iter().find(|(_, l)| l.name == name);
        let need = |name: &str| {
            get(name).ok_or_else(|| {
                self.broken(raw.number, format!("an event without {name} begins here"))
            })
        };
        let (_, uid) = need("UID")?;
        let (stamp_at, stamp) = need("DTSTAMP")?;
        let (start_at, start) = need("DTSTART")?;
        let unread = |at: u32, line: &Line| {
            self.broken(at, format!("{} cannot be read", quoted(&line.text)))
        };
        let stamp = moment(stamp).ok_or_else(|| unread(*stamp_at, stamp))?;
        let (from, zone) = moment(start).ok_or_else(|| unread(*start_at, start))?;
        let to = match get("DTEND") {
            Some((at, end)) => moment(end).ok_or_else(|| unread(*at, end))?.0,
            None => from,
        };
        let sequence = match get("SEQUENCE") {
            Some((at, l)) => l.value.parse().map_err(|_| unread(*at, l))?,
            None => 0,
        };
        let cancelled = get("STATUS").is_some_and(|(_, l)| l.value == "CANCELLED");
        let uid = uid.value.clone();
        let own: Vec<Line> = raw.own.into_iter().map(|(_, l)| l).collect();
        let old = Old {
            revision: Revision {
                sequence,
                stamp: stamp.0,
            },
            cancelled,
            says: says(own.iter().chain(&raw.of_alarms)),
            lines: own,
            from,
            to: to.max(from),
            zone,
        };
        // Of two with one UID the later revision counts.
        match found.get(&uid) {
            Some(known) if known.revision.sequence > old.revision.sequence => {}
            _ => {
                found.insert(uid, old);
            }
        }
        Ok(())
    }
}

#[derive(PartialEq, Eq)]
enum Part {
    Begin(String),
    End(String),
    Other,
}

fn read_part(text: &str) -> Part {
    let name = |n: &str| n.trim_end().to_uppercase();
    match text.split_once(':') {
        Some((key, n)) if key.eq_ignore_ascii_case("BEGIN") => Part::Begin(name(n)),
        Some((key, n)) if key.eq_ignore_ascii_case("END") => Part::End(name(n)),
        _ => Part::Other,
    }
}

/// A DATE or DATE-TIME as an instant, with its zone if it has one; days count in UTC.
fn moment(line: &Line) -> Option<(Instant, Option<Zone>)> {
    let text = line.value.as_str();
    let at = |text: &str| NaiveDateTime::parse_from_str(text, "%Y%m%dT%H%M%S").ok();
    let found = if line.parameters.get("VALUE").is_some_and(|v| v == "DATE") {
        let day = NaiveDate::parse_from_str(text, "%Y%m%d").ok()?;
        (
            Utc.from_utc_datetime(&day.and_time(chrono::NaiveTime::MIN)),
            None,
        )
    } else if let Some(utc) = text.strip_suffix('Z') {
        (Utc.from_utc_datetime(&at(utc)?), None)
    } else {
        let zone = Zone::parse(line.parameters.get("TZID")?).ok()?;
        (zone.resolve(at(text)?).at, Some(zone))
    };
    // A calendar has room for four digits of the year, and looks a year back for its clocks.
    let room = TimeDelta::days(1000);
    let (least, most) = (
        Utc.with_ymd_and_hms(1, 1, 1, 0, 0, 0),
        Utc.with_ymd_and_hms(9999, 1, 1, 0, 0, 0),
    );
    let fits = found.0 > least.single()? + room && found.0 < most.single()? - room;
    fits.then_some(found)
}
