//! The answer as tables for spreadsheets.

use crate::output::up_to_minute;
use chrono::NaiveDate;
use serde::Serialize;

use super::super::answer::Kind;
use super::super::table;
use crate::planning::plan::Moment;
use crate::service::staffing::{Remedies, Remedy, SessionFigures, Staffing};

/// The sessions, the pens due in them and the technicians at work there; what a limit costs; the largest
/// group that one technician, two, three cover; changes that cover or only lessen what is left; each kind
/// of change that was tried.
pub(super) const TABLES: &[Kind] = &[
    Kind {
        name: "sessions",
        columns: &[
            "session site site_name groups=group date weekday first_cow last_cow_date last_cow",
            "utc_offset_minutes not_before not_after due_head bred_head not_bred_head margin_head",
            "margin_minutes binding what",
        ],
    },
    Kind {
        name: "pens",
        columns: &[
            "session site site_name group pen date weekday first_cow last_cow_date last_cow",
            "utc_offset_minutes not_before not_after due_head bred_head not_bred_head what",
        ],
    },
    Kind {
        name: "technicians",
        columns: &[
            "session site site_name technician technician_name straws_at_once bred_head date weekday",
            "first_cow last_cow_date last_cow utc_offset_minutes",
        ],
    },
    Kind {
        name: "limits",
        columns: &["session site site_name limit=binding largest_head what"],
    },
    Kind {
        name: "largest",
        columns: &[
            "group technicians with=technician head_per_hour largest_head largest_kept_head",
        ],
    },
    Kind {
        name: "remedies",
        columns: &[
            "session groups=group outcome kind what write effort_points not_bred_head",
            "elsewhere_not_bred_head margin_head margin_minutes binding date weekday first_cow",
            "last_cow_date last_cow utc_offset_minutes",
        ],
    },
    Kind {
        name: "tried",
        columns: &["session groups=group kind fewest_not_bred_head=not_bred_head what"],
    },
];

#[derive(Default, Serialize)]
pub(super) struct Row<'a> {
    row: &'static str,
    session: &'a str,
    site: &'a str,
    site_name: &'a str,
    group: String,
    pen: Option<u32>,
    date: Option<NaiveDate>,
    weekday: String,
    first_cow: String,
    last_cow_date: Option<NaiveDate>,
    last_cow: String,
    utc_offset_minutes: Option<i32>,
    not_before: String,
    not_after: String,
    due_head: Option<u32>,
    bred_head: Option<u32>,
    not_bred_head: Option<u32>,
    elsewhere_not_bred_head: Option<u32>,
    margin_head: Option<u32>,
    margin_minutes: Option<i64>,
    binding: &'a str,
    technician: &'a str,
    technician_name: &'a str,
    straws_at_once: Option<u32>,
    technicians: Option<u32>,
    head_per_hour: Option<f64>,
    largest_head: Option<u32>,
    largest_kept_head: Option<u32>,
    outcome: &'static str,
    kind: String,
    what: String,
    write: String,
    effort_points: Option<u32>,
}

pub(super) fn rows(answer: &Staffing) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    for s in &answer.sessions {
        session(s, &mut rows);
    }
    for l in &answer.largest {
        rows.extend(l.rows.iter().map(|r| Row {
            row: "largest",
            group: l.group.clone(),
            technician: &r.with,
            technicians: Some(r.technicians),
            head_per_hour: Some(r.head_per_hour),
            largest_head: r.mixed_head,
            largest_kept_head: r.kept_head,
            ..Row::default()
        }));
    }
    for r in &answer.remedies {
        remedies(r, &mut rows);
    }
    rows
}

/// Days and clock times of the first and the last cow.
fn cows(first: Option<Moment>, last: Option<Moment>, row: Row<'_>) -> Row<'_> {
    let (Some(first), Some(last)) = (first, last) else {
        return row;
    };
    let (first, last) = table::span(first, last);
    let day = first.date_naive();
    Row {
        date: Some(day),
        weekday: table::weekday(day),
        first_cow: table::clock(first),
        last_cow_date: Some(last.date_naive()),
        last_cow: table::clock(last),
        utc_offset_minutes: table::offset(first),
        ..row
    }
}

fn hours(earliest: Moment, latest: Moment, row: Row<'_>) -> Row<'_> {
    Row {
        not_before: table::day_and_clock(up_to_minute(earliest)),
        not_after: table::day_and_clock(latest),
        ..row
    }
}

fn session<'a>(s: &'a SessionFigures, rows: &mut Vec<Row<'a>>) {
    let here = || Row {
        session: &s.id,
        site: &s.site,
        site_name: &s.site_name,
        ..Row::default()
    };
    let row = Row {
        row: "sessions",
        group: table::joined(&s.groups),
        due_head: Some(s.due_head),
        bred_head: Some(s.bred_head),
        not_bred_head: Some(s.due_head - s.bred_head.min(s.due_head)),
        margin_head: Some(s.margin_head),
        margin_minutes: Some(s.margin_minutes),
        binding: &s.binding,
        what: s.binding_words.clone(),
        ..here()
    };
    rows.push(hours(s.open, s.close, cows(s.first_cow, s.last_cow, row)));
    for p in &s.pens {
        let row = Row {
            row: "pens",
            group: p.group.clone(),
            pen: p.pen,
            due_head: Some(p.due_head),
            bred_head: Some(p.bred_head),
            not_bred_head: Some(p.due_head - p.bred_head.min(p.due_head)),
            what: p.what.clone(),
            ..here()
        };
        let (first, last) = (p.first_cow.as_ref(), p.last_cow.as_ref());
        let row = cows(first.map(|c| c.bred), last.map(|c| c.bred), row);
        rows.push(hours(p.earliest, p.latest, row));
    }
    for t in &s.technicians {
        let row = Row {
            row: "technicians",
            bred_head: Some(t.head),
            technician: &t.id,
            technician_name: &t.name,
            straws_at_once: Some(t.straws_at_once),
            ..here()
        };
        rows.push(cows(Some(t.first_cow), Some(t.last_cow), row));
    }
    rows.extend(s.limits.iter().map(|l| Row {
        row: "limits",
        binding: &l.limit,
        largest_head: l.lifted_head,
        what: l.words.clone(),
        ..here()
    }));
}

fn remedies<'a>(r: &'a Remedies, rows: &mut Vec<Row<'a>>) {
    let groups = table::joined(&r.groups);
    let of = |outcome: &'static str, x: &'a Remedy| {
        let row = Row {
            row: "remedies",
            outcome,
            session: &r.session,
            group: groups.clone(),
            not_bred_head: Some(x.uncovered_head),
            elsewhere_not_bred_head: Some(x.elsewhere_uncovered_head),
            margin_head: Some(x.margin_head),
            margin_minutes: Some(x.margin_minutes),
            binding: &x.binding,
            kind: table::joined(&x.kinds),
            what: x.asks.join(" "),
            write: table::joined(&x.write),
            effort_points: Some(x.effort_points),
            ..Row::default()
        };
        cows(x.first_cow, x.last_cow, row)
    };
    rows.extend(r.covering.iter().map(|x| of("covers", x)));
    rows.extend(r.lessening.iter().map(|x| of("lessens", x)));
    rows.extend(r.tried.iter().map(|t| Row {
        row: "tried",
        session: &r.session,
        group: groups.clone(),
        not_bred_head: t.fewest_left_head,
        kind: t.kind.clone(),
        what: t.words.clone(),
        ..Row::default()
    }));
}
