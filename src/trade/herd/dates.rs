//! Dates as people write them: the order of day and month is read off the whole column, and said.

use chrono::{Days, NaiveDate};

use super::Column;
use super::cells::unreadable;
use super::heading::Header;
use crate::base::error::{Code, Finding, Spot, quoted};
use crate::base::sheet::{DateOrder, Findings, RowStart, Sheet};
use crate::base::time::{human_date, in_range, parse_date};

/// The columns of dates.
const COLUMNS: [Column; 3] = [
    Column::BirthDate,
    Column::LastCalvingDate,
    Column::WeighedDate,
];

/// In which order each column has its dates.
#[derive(Default)]
pub(super) struct Orders {
    orders: [Option<DateOrder>; 3],
    /// True in a workbook, whose dates may be the numbers of days that it keeps.
    day_numbers: bool,
}

/// A cell that settles something, and where it stands.
type Seen = Option<(String, Spot)>;

/// What the cells of a column say of its order.
#[derive(Default)]
struct Tally {
    /// Dates that only fit with the month first, or the day.
    month_first: Seen,
    day_first: Seen,
    /// One that fits both ways, with another day each.
    both: Seen,
    /// One in another form that fits one way.
    other: Seen,
}

impl Orders {
    /// Reads the columns once over: one order must fit all of a column. Where two fit, the order of
    /// the file's other columns holds, or else what is asked.
    pub(super) fn of(
        sheet: &Sheet<'_>,
        header: &Header,
        asked: Option<DateOrder>,
        found: &mut Findings,
    ) -> Self {
        let tallies = COLUMNS.map(|c| tally(sheet, header, c));
        let settled = tallies.each_ref().map(|t| asked.or_else(|| t.settled()));
        let mut known = settled.iter().flatten();
        let first = known.next().copied();
        let common = first.filter(|first| known.all(|order| order == first));
        let orders = settled.map(|order| order.or(common));
        let this = Self {
            orders,
            day_numbers: sheet.workbook,
        };
        let mut open: Vec<(Column, &(String, Spot))> = Vec::new();
        for ((column, tally), order) in COLUMNS.iter().zip(&tallies).zip(orders) {
            let name = column.as_str();
            if let (None, Some((month, spot)), Some((day, other))) =
                (asked, &tally.month_first, &tally.day_first)
            {
                let what = format!(
                    "{name} has dates with the month first ({}, line {}) and with the day first ({}, line {})",
                    quoted(month),
                    spot.line,
                    quoted(day),
                    other.line
                );
                let finding = Finding::error(Code::HerdDateOrder, what)
                    .expected("one order in a column")
                    .hint("write the dates as 2027-05-17, or give the group `dates: mdy` or `dates: dmy` to see which do not fit");
                found.add(finding, || sheet.place(*spot.max(other), name));
            } else if let (None, Some(both)) = (order, &tally.both) {
                open.push((*column, both));
            } else if let Some((text, spot)) = tally.example()
                && let Ok(Some(date)) = this.date(*column, text)
            {
                let how = match order {
                    Some(DateOrder::Mdy) if tally.in_numbers() => " month first",
                    Some(DateOrder::Dmy) if tally.in_numbers() => " day first",
                    _ => "",
                };
                let what = format!(
                    "{name} is read{how}: {} is {}",
                    quoted(text),
                    human_date(date)
                );
                let hint = "if that is wrong, give the group `dates: mdy` (month first) or `dates: dmy` (day first)";
                let note = Finding::note(Code::HerdReading, what).hint(hint);
                found.add(note, || sheet.place(*spot, name));
            }
        }
        if let Some((column, (text, spot))) = open.first() {
            let names: Vec<&str> = open.iter().map(|(c, _)| c.as_str()).collect();
            found.add(question(&names.join(" and "), text), || {
                sheet.place(*spot, column.as_str())
            });
        }
        this
    }

    /// A date in its column's order; none if the order is an open question.
    pub(super) fn date(&self, column: Column, text: &str) -> Result<Option<NaiveDate>, Finding> {
        let n = COLUMNS.iter().position(|c| *c == column);
        if let (true, Written::Serial(date)) = (self.day_numbers, written(text)) {
            return Ok(Some(date));
        }
        read(column, text, n.and_then(|n| self.orders[n]))
    }
}

impl Tally {
    fn settled(&self) -> Option<DateOrder> {
        match (&self.month_first, &self.day_first) {
            (Some(_), None) => Some(DateOrder::Mdy),
            (None, Some(_)) => Some(DateOrder::Dmy),
            _ => None,
        }
    }

    fn in_numbers(&self) -> bool {
        self.month_first.is_some() || self.day_first.is_some() || self.both.is_some()
    }

    /// A cell that shows how the column is read, the one in most doubt first.
    fn example(&self) -> Option<&(String, Spot)> {
        let settling = self.month_first.as_ref().or(self.day_first.as_ref());
        self.both.as_ref().or(settling).or(self.other.as_ref())
    }
}

fn question(columns: &str, text: &str) -> Finding {
    let [month, day] = match written(text) {
        Written::Numbers(month, day) => [month, day].map(|d| d.map_or(String::new(), human_date)),
        _ => Default::default(),
    };
    let what = format!(
        "the dates of {columns} can be read in two ways: is {} {month} or {day}?",
        quoted(text)
    );
    Finding::error(Code::HerdDateOrder, what)
        .expected("dates as 2027-05-17, or the order of day and month")
        .hint(format!(
            "give the group `dates: mdy` for {month}, or `dates: dmy` for {day}"
        ))
}

fn tally(sheet: &Sheet<'_>, header: &Header, column: Column) -> Tally {
    let mut tally = Tally::default();
    let Some(cell) = header.position(column) else {
        return tally;
    };
    let mut reader = sheet.reader();
    let mut record = csv::StringRecord::new();
    let mut row = RowStart::default();
    let mut headed = false;
    while matches!(reader.read_record(&mut record), Ok(true)) {
        row = sheet.row_start(&record, row);
        let text = record.get(cell).unwrap_or_default().trim();
        if !std::mem::replace(&mut headed, true) || text.is_empty() || parse_date(text).is_some() {
            continue;
        }
        let seen = match written(text) {
            Written::Numbers(Some(month), Some(day)) if month != day => &mut tally.both,
            Written::Numbers(Some(_), None) => &mut tally.month_first,
            Written::Numbers(None, Some(_)) => &mut tally.day_first,
            Written::Serial(_) if sheet.workbook => &mut tally.other,
            Written::Day(_) | Written::Numbers(Some(_), _) => &mut tally.other,
            _ => continue,
        };
        if seen.is_none() {
            *seen = Some((text.to_owned(), sheet.spot(row, cell)));
        }
    }
    tally
}

/// A date between 2000 and 2100.
fn read(
    column: Column,
    text: &str,
    order: Option<DateOrder>,
) -> Result<Option<NaiveDate>, Finding> {
    let fault = |what: String, expected: &str, hint: String| {
        Err(Finding::error(Code::HerdDate, what)
            .expected(expected)
            .hint(hint))
    };
    let name = column.as_str();
    if let Some(date) = parse_date(text) {
        if in_range(date) {
            return Ok(Some(date));
        }
        return fault(
            format!("{name} has the date {date}, far from any season"),
            "a date between 2000 and 2100",
            "check the year, or leave the cell blank if it is not known".to_owned(),
        );
    }
    match (written(text), order) {
        (Written::Day(date), _) | (Written::Numbers(Some(date), _), Some(DateOrder::Mdy)) => {
            Ok(Some(date))
        }
        (Written::Numbers(_, Some(date)), Some(DateOrder::Dmy)) => Ok(Some(date)),
        (Written::Numbers(month, day), None) => Ok(month.filter(|_| month == day)),
        (Written::Numbers(month, day), Some(order)) => {
            let other = month.or(day).map_or(String::new(), |d| d.to_string());
            let order = match order {
                DateOrder::Mdy => "month",
                DateOrder::Dmy => "day",
            };
            fault(
                format!(
                    "{name} has {}, which does not fit with the {order} first",
                    quoted(text)
                ),
                "the order of the whole column",
                format!("write `{other}` if that is meant"),
            )
        }
        (Written::Serial(date), _) => fault(
            format!("{name} has a number in place of a date: {}", quoted(text)),
            "a date as 2027-05-17, year, month, day",
            format!(
                "write `{date}` if it is a spreadsheet's day number; in the spreadsheet set the column's format to yyyy-mm-dd before saving as CSV"
            ),
        ),
        (Written::Nothing, _) => {
            let mut fault = unreadable(column, text, "a date as 2027-05-17, year, month, day");
            fault.code = Code::HerdDate;
            Err(fault)
        }
    }
}

/// What a date in another form than ours may stand for.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Written {
    /// One day, whichever order holds.
    Day(NaiveDate),
    /// Numbers: the day if the month stands first, and if the day does; one of them at least.
    Numbers(Option<NaiveDate>, Option<NaiveDate>),
    /// The number of days since the end of 1899 by which spreadsheets keep dates.
    Serial(NaiveDate),
    Nothing,
}

fn written(text: &str) -> Written {
    let date = |y: i32, m: u32, d: u32| NaiveDate::from_ymd_opt(y, m, d).filter(|d| in_range(*d));
    let one = |found: Option<NaiveDate>| found.map_or(Written::Nothing, Written::Day);
    let text = without_clock(text.trim());
    if let Some(day) = parse_date(text) {
        return one(Some(day).filter(|d| in_range(*d)));
    }
    if text.bytes().all(|b| b.is_ascii_digit()) {
        return digits_alone(text, date);
    }
    let parts: Vec<&str> = text
        .split([' ', '/', '-', '.', ',', '\u{a0}'])
        .filter(|p| !p.is_empty())
        .collect();
    let [a, b, c] = parts[..] else {
        return Written::Nothing;
    };
    let number = |t: &str| {
        t.parse::<u32>()
            .ok()
            .filter(|_| t.len() <= 4 && t.bytes().all(|b| b.is_ascii_digit()))
    };
    let year = |t: &str| {
        let n = number(t)? as i32;
        match t.len() {
            4 => Some(n),
            2 => Some(2000 + n),
            _ => None,
        }
    };
    if let Some(m) = month(b) {
        // 17-May-27
        return one(year(c).and_then(|y| date(y, m, number(a)?)));
    }
    if let Some(m) = month(a) {
        // May 17, 2027
        return one(year(c).and_then(|y| date(y, m, number(b)?)));
    }
    if a.len() == 4 {
        // 2027/5/17
        return one(year(a).and_then(|y| date(y, number(b)?, number(c)?)));
    }
    // 5/17/2027 or 17.05.2027
    let month_first = year(c).and_then(|y| date(y, number(a)?, number(b)?));
    let day_first = year(c).and_then(|y| date(y, number(b)?, number(a)?));
    match month_first.or(day_first) {
        Some(_) => Written::Numbers(month_first, day_first),
        None => Written::Nothing,
    }
}

/// The date of a date with a clock time behind it.
fn without_clock(text: &str) -> &str {
    match text.split_once([' ', 'T']) {
        Some((day, clock)) if clock.contains(':') && !day.is_empty() => day,
        _ => text,
    }
}

fn digits_alone(text: &str, date: impl Fn(i32, u32, u32) -> Option<NaiveDate>) -> Written {
    match (text.len(), text.parse::<u32>()) {
        (8, Ok(n)) => {
            date((n / 10_000) as i32, n / 100 % 100, n % 100).map_or(Written::Nothing, Written::Day)
        }
        (5, Ok(n)) => NaiveDate::from_ymd_opt(1899, 12, 30)
            .and_then(|d| d.checked_add_days(Days::new(n.into())))
            .filter(|d| in_range(*d))
            .map_or(Written::Nothing, Written::Serial),
        _ => Written::Nothing,
    }
}

/// A month by its English name or the first three letters of it.
fn month(word: &str) -> Option<u32> {
    let word = word.to_lowercase();
    let named = |n: &u8| {
        let month = chrono::Month::try_from(*n);
        month.is_ok_and(|m| m.name().to_lowercase().starts_with(&word) || word == "sept" && *n == 9)
    };
    let found = (1..=12).find(named).filter(|_| word.len() >= 3);
    found.map(u32::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str, order: Option<DateOrder>) -> String {
        match read(Column::BirthDate, text, order) {
            Ok(date) => date.map_or("open".to_owned(), |d| d.to_string()),
            Err(f) => f.hint.unwrap(),
        }
    }

    #[test]
    fn other_forms_are_one_day() {
        let forms = "17-May-27|May 17 2027|17 MAY 2027|2027/5/17|20270517|\
                     2027-05-17 00:00:00|2027-05-17T08:00";
        for text in forms.split('|') {
            assert_eq!(day(text, None), "2027-05-17", "{text}");
        }
        assert_eq!(day("4/4/2027", None), "2027-04-04");
        assert_eq!(day("3/4/2027", None), "open");
    }

    #[test]
    fn numbers_go_by_the_order_of_their_column() {
        let [dmy, mdy] = [DateOrder::Dmy, DateOrder::Mdy].map(Some);
        for (text, order, said) in [
            ("3/4/2027", mdy, "2027-03-04"),
            ("3/4/27", dmy, "2027-04-03"),
            ("5/17/2027 0:00", mdy, "2027-05-17"),
            ("17.05.2027", dmy, "2027-05-17"),
        ] {
            assert_eq!(day(text, order), said, "{text}");
        }
        assert!(day("17.05.2027", mdy).starts_with("write `2027-05-17`"));
    }

    #[test]
    fn what_is_no_date_is_none() {
        for text in "soon|32/13/2027|1|99999|2027-13-40|1/2|é/ü/ß|T:| :|5/5/5".split('|') {
            assert!(read(Column::BirthDate, text, None).is_err(), "{text}");
        }
        assert!(day("46524", None).starts_with("write `2027-05-17` if"));
        assert!(day("n/a", None).contains("blank"));
        assert!(read(Column::BirthDate, "1899-05-17", None).is_err());
    }
}
