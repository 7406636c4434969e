//! The one public error, and the finding: one fault or remark about what was read or planned.
//!
//! A finding is data. It says what is wrong, where, what was expected and what to do; the
//! terminal, JSON and the page each show it in their own way.

use std::borrow::Cow;
use std::fmt;

/// How much a finding weighs.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    serde::Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Worth knowing; nothing is broken.
    Note,
    /// The plan is made, but a rule of the season is broken or the plan falls short.
    Warning,
    /// The input cannot be used.
    Error,
}

impl Severity {
    /// The word shown to people and written to JSON.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Where in a file something stands. Lines and columns count from 1.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file as the user named it, or `-` for standard input.
    pub file: String,
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
    /// The field, such as `groups[1].start`. Empty for the whole file.
    pub field: String,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", visible(&self.file), self.line, self.column)?;
        // A field ends in a key of the user's, which may be as long as the file.
        let field: String = self.field.chars().take(120).collect();
        if !field.is_empty() {
            write!(f, " {}", visible(&field))?;
        }
        Ok(())
    }
}

macro_rules! codes {
    ($($(#[$doc:meta])* $name:ident = $text:literal, $summary:literal;)*) => {
        /// The stable code of a finding. F: file, Y: YAML, K: keys and values, P: protocol,
        /// S: season, T: straws and tanks, H: herds, D: dates and passes, W: crew,
        /// O: orders, C: calves and money, E: calendars, V: verification.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs)]
        pub enum Code { $($name,)* }

        impl Code {
            /// Every code, in order.
            pub const ALL: &'static [Code] = &[$(Code::$name,)*];
            /// The code as printed, such as `S203`.
            #[must_use]
            pub const fn as_str(self) -> &'static str {
                match self { $(Code::$name => $text,)* }
            }
            /// What the code stands for, in one line.
            #[must_use]
            pub const fn summary(self) -> &'static str {
                match self { $(Code::$name => $summary,)* }
            }
        }
    };
}

codes! {
    FileUnreadable = "F101", "a file or directory cannot be read or written";
    FileTooLarge = "F102", "a file is larger than any season needs";
    FileNotText = "F103", "a file is not UTF-8 text";
    YamlSyntax = "Y101", "the text is not well-formed YAML, repeats a key, or expands without end";
    WriteUnsure = "Y102", "a file that cannot be changed in one place without changing more";
    UnknownKey = "K101", "a key that the form does not have";
    MissingKey = "K102", "a key that must be there is missing";
    WrongType = "K103", "a value of the wrong kind";
    OutOfRange = "K104", "a number, text or list outside its limits";
    UnknownWord = "K105", "a word that is not one of the allowed ones";
    BadId = "K106", "an id with characters that ids may not have, or too long";
    BadText = "K107", "a name or note with control characters, or too long";
    ProtocolTwice = "P101", "two protocols of one id or one name";
    StepTwice = "P102", "two steps of one id in a protocol";
    StepAnchorUnknown = "P103", "a step counts from a step that does not exist";
    StepCircle = "P104", "steps that count from each other in a circle";
    StepAnchorForm = "P105", "a step needs either days or hours, counted from its anchor";
    WindowTurned = "P106", "a window whose earliest, aim and latest are out of order";
    StepBeforeStart = "P107", "a step that would fall before what it counts from";
    SpanForm = "P108", "feeding and heat watch last days; other actions do not";
    NoBreeding = "P109", "a protocol that breeds nobody, or whose kind and steps disagree";
    InsertBalance = "P110", "an insert that comes out before it goes in, or never comes out";
    SourceUnknown = "P111", "a source tag that is not in the list, or no source at all";
    ProtocolOverrides = "P112", "a protocol of the user's takes the place of a built-in one";
    NothingOwned = "P113", "a protocol that cites publications alone, with nothing marked or in own words";
    NightByDesign = "P114", "chute work that falls in the night for most usual hours of the start";
    InsertLong = "P115", "an insert that stays in longer than in any built-in protocol";
    HeatForm = "P116", "facts of when heat comes that do not belong together";
    FormatVersion = "S101", "a season file of another format or version";
    BadZone = "S102", "a time zone that does not exist";
    BadTime = "S103", "a date or time that cannot be read, or lies outside 2000 to 2100";
    IdTwice = "S104", "two things of one kind with one id";
    UnknownId = "S105", "an id that names nothing in this season";
    UnknownProtocol = "S106", "a protocol id that is not in the library";
    ClassMismatch = "S107", "a protocol for another class of cattle";
    PensForm = "S108", "pens that do not add up to the group's head";
    PaceForm = "S109", "a technician needs one of cows_per_hour and minutes_per_cow";
    PaceTooSlow = "S110", "a technician who cannot bring one straw into a cow in time";
    StrawsAtOnceUnsafe = "S111", "more straws at once than the technician's pace allows";
    ShiftForm = "S112", "a shift that begins when it ends";
    StrawSizeMixed = "S113", "one bull's straws of two sizes in one place";
    HourForm = "S114", "no-work hours that end before they begin, or name no day";
    GroupNeedsStraws = "S115", "fewer straws of a group's bulls than head to breed";
    BullUnused = "S116", "straws of a bull that no group may use";
    RoadAssumed = "S117", "two sites without the minutes on the road between them";
    GroupForm = "S118", "a group with neither a protocol and a start nor wishes";
    WishForm = "S119", "wishes that contradict each other, or name no date";
    GroupOpen = "S120", "a group whose protocol and start are still to be chosen";
    NoWishes = "S121", "a choice for a group without wishes";
    NothingFits = "S122", "a choice to be written that is not there";
    PenStartForm = "S123", "pens' own starts that do not fit the group";
    HeatNumbers = "S124", "numbers of heat that are out of order, incomplete, or of a group not bred by it";
    CalfNumbers = "S125", "numbers of calves, clean-up bulls or money that contradict each other";
    RoadLength = "S126", "a road between two sites that is given two lengths";
    RoadTooFast = "S127", "a road that would have to be driven faster than anybody does";
    DaysForm = "S128", "days over which a group cannot be spread";
    RoadDetour = "S129", "a road that takes longer than a way over other sites";
    StrawHeader = "T101", "a table of straws whose first line does not name the columns `bull` and `straws`";
    StrawColumn = "T102", "a column that tables of straws do not have, or that stands twice";
    StrawRow = "T103", "a row of a table of straws with more or fewer cells than its header";
    StrawCell = "T104", "a cell of a table of straws that cannot be read as what its column holds";
    CaneOfTwoBulls = "T105", "a cane with straws of two bulls";
    CaneTwice = "T106", "one cane code in two places";
    CaneFull = "T107", "a cane with more straws than two goblets hold";
    GobletFull = "T108", "a goblet with more straws than it holds";
    CanisterUnknown = "T109", "a canister number that the tank does not have";
    CanisterFull = "T110", "a canister with more canes than it holds";
    TankTotal = "T111", "straws of a tank that do not add up to the count";
    TankForm = "T112", "numbers of a tank's nitrogen that do not fit each other";
    StrawsTwice = "T113", "straws listed under `semen` and in the table that `semen_file` names: both count";
    BullByTag = "T114", "rounds that do not name the animals, with straws of several bulls or sorts for a group whose herd is listed";
    LevelRises = "T201", "a level of nitrogen that rises with no filling between";
    LossUnknown = "T202", "a tank whose loss of nitrogen, or limit, is not known";
    TankLow = "T203", "a tank whose nitrogen runs below its limit before its last session";
    TankInTurn = "T204", "a tank that is taken from one site to the next";
    TankTwice = "T205", "straws of one tank thawed at two sites at one time";
    HerdHeader = "H101", "a herd file whose first line does not name the column `animal`";
    HerdColumn = "H102", "a column that herd files do not have";
    HerdColumnTwice = "H103", "a column given twice in a herd file, or a weight in two units";
    HerdRow = "H104", "a row of a herd file with more or fewer cells than its header";
    HerdCell = "H105", "a cell that cannot be read as what its column holds";
    HerdDate = "H106", "a date of a herd file in another form than 2027-05-17, or outside 2000 to 2100";
    ElectronicId = "H107", "an electronic id that does not keep ISO 11784";
    AnimalTwice = "H108", "an animal that stands twice in one herd file";
    AnimalClass = "H109", "an animal of another class than its group, or with a cell of the other class";
    DatesOrder = "H110", "dates of an animal that contradict each other or the group's start";
    AnimalInTwoHerds = "H111", "an animal, or a whole file, in the herds of two groups";
    HerdHead = "H112", "a herd file with more or fewer animals than its group's head";
    Parents = "H113", "a dam or sire that cannot be the one named";
    NoProgestin = "H114", "animals that need a progestin in a group whose protocol has none";
    FewCycling = "H115", "a group of heifers of which fewer than half score 4 or 5";
    NoHerd = "H116", "a herd report of a group or season that names no herd file";
    MoreFindings = "H117", "more findings in a herd file than are listed";
    ChuteOrder = "H118", "a pen, or a place in the order of a pen, that cannot be";
    ChuteOrderPart = "H119", "an order of animals that is not complete";
    BullParents = "M101", "a bull that is named as his own parent";
    ScoreHeader = "M102", "a scores file whose first line names neither animal, bull and score nor bulls";
    ScoreCell = "M103", "a score that cannot be read, or lies outside 0 to 100";
    ScoreTwice = "M104", "two scores of one bull for one animal";
    ScoreUnused = "M105", "scores for an animal of no herd, or for a bull that her group may not use";
    MatingUnknown = "M106", "a mating given with a bull that the season does not have";
    MatingRule = "M107", "a mating given that breaks a rule of matings";
    MatingStraws = "M108", "more matings given with a bull than he has straws";
    HeiferBull = "M109", "heifers that get a bull not marked for calving ease";
    NoBull = "M110", "animals that no straw is left for";
    CountsOnly = "M111", "a group without a herd file, whose bulls are given by number";
    ParentsUnknown = "M112", "animals whose parents are not known, so that kinship cannot be seen";
    TooManyBulls = "M113", "more bulls than matings are found for";
    SupplyForm = "O101", "packages or strengths of supplies that do not fit each other";
    FeedStrength = "O102", "a feed that does not carry the label's dose of MGA";
    DoseUnpublished = "O103", "a volume of a dose that no listed label has";
    SuppliesUnstated = "O104", "what to state so that the order list can name packages";
    SupplyUnused = "O105", "supplies stated that nothing in the season uses";
    ClockGap = "D101", "a local time that the clocks skip";
    ClockFold = "D102", "a local time that comes twice";
    ClockChange = "D103", "clocks change between two steps counted in hours";
    PassOutsideWindow = "D104", "chute work that cannot keep its hours for every animal";
    ChuteBusy = "D105", "two passes that need one chute at one time";
    NoWorkHours = "D106", "chute work in hours the season keeps free";
    PenShifted = "D107", "a pen's pass waits for the pen before it";
    BredByHeat = "D108", "a group bred by detected heat: how many, and where the hours come from";
    NightWork = "D109", "breeding hours that lie in the night";
    ShareAssumed = "D110", "a share of the group that a step is planned for";
    ChuteAndBreeding = "D111", "chute work and breeding at one site at one time";
    NightTreatment = "D112", "chute work dated into the night";
    NoExactStart = "D113", "a moment of breeding that no start leads to exactly";
    HoursOutside = "D114", "hours at which the protocol does not breed";
    PenStartsChosen = "D115", "pens whose starts the plan has picked";
    BullsEarly = "D116", "clean-up bulls that go in before the last AI of their group";
    DaysChosen = "D117", "a group that the plan may spread over days, and how it does";
    Uncovered = "W102", "head that no technician can breed in their hours";
    StrawsShort = "W103", "head that no straw is left for";
    SearchStopped = "W104", "who goes where, or who has a box, was not searched to the end; more might be covered";
    ShareSpread = "W105", "heads that would be left if more, or fewer, are in heat than planned";
    StoppedByHand = "W106", "a search that was stopped by hand before its end";
    HalfDayFull = "W107", "a half-day on which more may be in heat than the crew can breed";
    StrawsForWaste = "W108", "fewer straws left of a bull than are set aside for waste";
    ThawShort = "W109", "straws that come out of the bath before their published time";
    LiftLong = "W110", "a canister lifted longer than its straws may be in the neck";
    GunsWait = "W111", "guns that are ready later than planned, as straws wait for the tank";
    BathCools = "W112", "a bath that a round of straws cools below its range";
    StrawsMisplaced = "W113", "straws whose tank or canister is not given";
    CalendarForm = "E101", "an earlier calendar that cannot be read";
    CalendarOther = "E102", "an earlier calendar of another program or another person";
    BullsSoon = "C101", "clean-up bulls turned out so soon after the last AI that their calves cannot be told from those of AI";
    BullsFew = "C102", "more head for each clean-up bull than is published after AI";
    RateGeneral = "C103", "a percentage pregnant that is not published for the protocol or the semen";
    HeatDaysUnknown = "C104", "animals bred by detected heat on days that nobody knows: their calves are not counted";
    NoCleanUp = "C105", "a turn-out of bulls among the wishes, and no clean-up bulls to count with";
    PriceLacks = "C106", "prices that are not given: what they would pay for is in no sum";
    BeyondMatings = "W114", "animals bred with other straws than the matings give them";
    MatingsUnread = "W115", "a plan without the matings, as a file they need cannot be used";
    Verify = "V101", "the finished plan disagrees with the season: a fault of the program";
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// One fault or remark: code, weight, place, cause, expectation, remedy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Stable code.
    pub code: Code,
    /// How much it weighs.
    pub severity: Severity,
    /// Where, if it stands in a file.
    pub place: Option<Place>,
    /// What is wrong, one sentence.
    pub what: String,
    /// What was expected, if that can be said.
    pub expected: Option<String>,
    /// What to do.
    pub hint: Option<String>,
}

impl Finding {
    /// A finding that makes the input unusable.
    #[must_use]
    pub fn error(code: Code, what: impl Into<String>) -> Self {
        Self::new(code, Severity::Error, what)
    }

    /// A finding about a broken rule or a plan that falls short.
    #[must_use]
    pub fn warning(code: Code, what: impl Into<String>) -> Self {
        Self::new(code, Severity::Warning, what)
    }

    /// A remark.
    #[must_use]
    pub fn note(code: Code, what: impl Into<String>) -> Self {
        Self::new(code, Severity::Note, what)
    }

    fn new(code: Code, severity: Severity, what: impl Into<String>) -> Self {
        Self {
            code,
            severity,
            place: None,
            what: what.into(),
            expected: None,
            hint: None,
        }
    }

    /// Adds the place.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// Adds what was expected.
    #[must_use]
    pub fn expected(mut self, text: impl Into<String>) -> Self {
        self.expected = Some(text.into());
        self
    }

    /// Adds what to do.
    #[must_use]
    pub fn hint(mut self, text: impl Into<String>) -> Self {
        self.hint = Some(text.into());
        self
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.severity, self.code)?;
        if let Some(place) = &self.place {
            write!(f, " {place}")?;
        }
        write!(f, "\n  {}", visible(&self.what))?;
        if let Some(expected) = &self.expected {
            write!(f, "\n  expected: {}", visible(expected))?;
        }
        if let Some(hint) = &self.hint {
            write!(f, "\n  hint: {}", visible(hint))?;
        }
        Ok(())
    }
}

/// Orders findings for people: worst first, then by place, then by code.
pub fn sort_findings(findings: &mut [Finding]) {
    findings.sort_by(|a, b| {
        b.severity
            .cmp(&a.severity)
            .then_with(|| a.place.cmp(&b.place))
            .then_with(|| a.code.cmp(&b.code))
            .then_with(|| a.what.cmp(&b.what))
    });
}

/// True if any finding is an error.
#[must_use]
pub fn has_errors(findings: &[Finding]) -> bool {
    findings.iter().any(|f| f.severity == Severity::Error)
}

/// The public error. Opaque: ask it what kind it is, read its findings, print it.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{}", render(.findings))]
pub struct Error {
    kind: Kind,
    findings: Vec<Finding>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Input,
    Internal,
}

impl Error {
    /// The input is wrong; the findings say how.
    #[must_use]
    pub fn input(mut findings: Vec<Finding>) -> Self {
        sort_findings(&mut findings);
        Self {
            kind: Kind::Input,
            findings,
        }
    }

    /// The program itself is at fault.
    #[must_use]
    pub fn internal(findings: Vec<Finding>) -> Self {
        Self {
            kind: Kind::Internal,
            findings,
        }
    }

    /// True if the user can mend it by changing the input.
    #[must_use]
    pub fn is_input(&self) -> bool {
        self.kind == Kind::Input
    }

    /// What was found, worst first.
    #[must_use]
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }
}

impl From<Finding> for Error {
    fn from(finding: Finding) -> Self {
        Self::input(vec![finding])
    }
}

fn render(findings: &[Finding]) -> String {
    findings
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join("\n")
}

/// Shows a piece of the user's text safely: one line, no control characters, not too long.
#[must_use]
pub fn quoted(text: &str) -> String {
    const MOST: usize = 60;
    let mut out = String::from("`");
    for (n, c) in text.chars().enumerate() {
        if n == MOST {
            out.push('…');
            break;
        }
        if is_hidden(c) || c == '`' {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out.push('`');
    out
}

/// The text with every hidden character written as its number: names of files and keys may hold
/// what would take hold of a terminal.
#[must_use]
pub fn visible(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if is_hidden(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

/// The same for text of many lines: their ends stay, and tabs.
#[must_use]
pub fn visible_text(text: &str) -> Cow<'_, str> {
    let stays = |c: char| matches!(c, '\n' | '\t');
    if !text.contains(|c| is_hidden(c) && !stays(c)) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let (line, end) = match line.strip_suffix("\r\n") {
            Some(line) => (line, "\r\n"),
            None => (line, ""),
        };
        for c in line.chars() {
            if is_hidden(c) && !stays(c) {
                out.extend(c.escape_unicode());
            } else {
                out.push(c);
            }
        }
        out.push_str(end);
    }
    Cow::Owned(out)
}

/// Control and invisible formatting characters: they could break a line, a calendar property or
/// the reading direction, so no id, name or note may hold them.
#[must_use]
pub fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// The known word nearest to `word`, if one is near enough to be what was meant.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word: String = word.chars().take(80).collect::<String>().to_lowercase();
    known
        .into_iter()
        .map(|k| (strsim::damerau_levenshtein(&word, &k.to_lowercase()), k))
        .filter(|(d, k)| *d <= (k.chars().count().max(word.chars().count()) / 4).max(1))
        .min_by_key(|(d, _)| *d)
        .map(|(_, k)| k)
}

/// A finding for an id that names nothing: what there is, `none` where there is nothing; and the one
/// nearest to it, else where to look.
#[must_use]
pub fn unknown_id<'a>(
    kind: &str,
    id: &str,
    known: impl Iterator<Item = &'a str> + Clone,
    none: &str,
    see: &str,
) -> Finding {
    let some: Vec<String> = known.clone().take(20).map(quoted).collect();
    let what = format!("there is no {kind} {}", quoted(id));
    Finding::error(Code::UnknownId, what)
        .expected(if some.is_empty() {
            none.to_owned()
        } else {
            let more = known.clone().count() - some.len();
            let rest = if more > 0 {
                format!(" and {more} more")
            } else {
                String::new()
            };
            format!("one of {}{rest}", some.join(", "))
        })
        .hint(nearest(id, known).map_or_else(
            || see.to_owned(),
            |n| format!("did you mean {}?", quoted(n)),
        ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quoted_text_stays_on_one_line() {
        assert_eq!(quoted("a\nb"), "`a\\u{a}b`");
        assert_eq!(quoted(&"x".repeat(500)).chars().count(), 63);
        assert_eq!(quoted("\u{202e}x"), "`\\u{202e}x`");
    }

    #[test]
    fn nearest_word_is_near() {
        assert_eq!(nearest("hed", ["head", "herd2"]), Some("head"));
        assert_eq!(nearest("zzz", ["head", "site"]), None);
    }

    #[test]
    fn worst_findings_come_first() {
        let mut all = vec![
            Finding::note(Code::ClockFold, "n"),
            Finding::error(Code::BadId, "e"),
            Finding::warning(Code::ChuteBusy, "w"),
        ];
        sort_findings(&mut all);
        assert_eq!(all[0].severity, Severity::Error);
        assert_eq!(all[2].severity, Severity::Note);
    }

    #[test]
    fn codes_are_unique() {
        let set: std::collections::BTreeSet<_> = Code::ALL.iter().map(|c| c.as_str()).collect();
        assert_eq!(set.len(), Code::ALL.len());
    }
}
