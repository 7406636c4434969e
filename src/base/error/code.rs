//! Every code of a finding, with what it stands for.

use std::fmt;

use serde::{Deserialize, Serialize};

macro_rules! codes {
    ($($(#[$doc:meta])* $name:ident = $text:literal, $summary:literal;)*) => {
        /// The stable code of a finding. F: file, Y: YAML, K: keys and values, P: protocol,
        /// S: season, T: straws and tanks, H: herds, D: dates and chute work, W: crew,
        /// O: orders, C: calves and money, E: calendars, V: verification.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[allow(missing_docs)]
        pub enum Code { $(#[serde(rename = $text)] $name,)* }

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
    FileNotText = "F103", "a file is neither plain text (UTF-8) nor a workbook that can be read";
    YamlSyntax = "Y101", "a file that cannot be read at a line, repeats a key, or expands without end";
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
    NoBreeding = "P109", "a protocol that breeds no animal, or whose kind and steps disagree";
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
    PaceForm = "S109", "a technician with both cows_per_hour and minutes_per_cow";
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
    RoadDetour = "S129", "a road that takes longer than the way through another site";
    NotPermitted = "S130", "a drug that is not permitted in the season's country";
    Allowed = "S131", "a drug that is not permitted in the country, planned as the season file allows it";
    AllowForm = "S132", "an `allow` that names neither or both of drug and protocol, or that nothing needs";
    CountryForm = "S133", "a country that is no ISO 3166 code, or is not that of the zone";
    LabelUse = "S134", "what labels and law say of a drug beside, or that the veterinarian is to be asked";
    Assumed = "S135", "what a season file leaves out, and what is planned with in its place";
    StrawHeader = "T101", "a table of straws whose first line does not name the columns `bull` and `straws`";
    StrawColumn = "T102", "a column that tables of straws do not have, or that is there twice";
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
    StrawReading = "T115", "how a table of straws is read where it is written in another way";
    StrawsTwice = "T113", "straws listed under `semen` and in the table that `semen_file` names: both count";
    BullByTag = "T114", "rounds that do not name the animals, with straws of several bulls or sorts for a group whose herd is listed";
    LevelRises = "T201", "a level of nitrogen that rises with no filling between";
    LossUnknown = "T202", "a tank whose loss of nitrogen, or limit, is not known";
    TankLow = "T203", "a tank whose nitrogen runs below its limit before its last session";
    TankInTurn = "T204", "a tank that is taken from one site to the next";
    TankTwice = "T205", "straws of one tank thawed at two sites at one time";
    HerdHeader = "H101", "a herd file whose first line does not name the column `animal`";
    HerdColumn = "H102", "a column that herd files do not have, or that leaves doubt";
    HerdColumnTwice = "H103", "a column given twice in a herd file, or a weight in two units";
    HerdRow = "H104", "a row of a herd file with more or fewer cells than its header";
    HerdCell = "H105", "a cell that cannot be read as what its column holds";
    HerdDate = "H106", "a date of a herd file that cannot be read, or outside 2000 to 2100";
    ElectronicId = "H107", "an electronic id that does not keep ISO 11784";
    AnimalTwice = "H108", "an animal that is twice in one herd file";
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
    HerdReading = "H120", "how a herd file is read where its columns or dates are written in another way";
    HerdDateOrder = "H121", "dates of a herd file that can be read with the day or the month first";
    AnimalsWait = "H122", "animals that are not ready at the start, and that the plan leaves out";
    OverruleUnknown = "H123", "a word on an animal that the herd file does not have";
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
    CountsOnly = "M111", "a group without a herd file, whose straws are split by head count";
    ParentsUnknown = "M112", "animals whose parents are not known, so that inbreeding cannot be checked";
    TooManyBulls = "M113", "more bulls than matings are found for";
    SupplyForm = "O101", "packages or strengths of supplies that do not fit each other";
    FeedStrength = "O102", "a feed that does not carry the label's dose of MGA";
    DoseUnpublished = "O103", "a volume of a dose that no listed label has";
    SuppliesUnstated = "O104", "what to state so that the order list can name packages";
    SupplyUnused = "O105", "supplies stated that nothing in the season uses";
    ClockGap = "D101", "a local time that the clocks skip";
    ClockFold = "D102", "a local time that comes twice";
    ClockChange = "D103", "the clocks change between two steps counted in hours";
    PassOutsideWindow = "D104", "chute work that comes too early or too late for some animals";
    ChuteBusy = "D105", "chute work that needs one chute twice at one time";
    NoWorkHours = "D106", "chute work in hours the season keeps free";
    PenShifted = "D107", "a pen that waits for the pen before it";
    BredByHeat = "D108", "a group bred by detected heat: how many, and where the hours come from";
    NightWork = "D109", "breeding hours that lie in the night";
    ShareAssumed = "D110", "a share of the group that a step is planned for";
    ChuteAndBreeding = "D111", "chute work and breeding at one site at one time";
    NightTreatment = "D112", "chute work dated into the night";
    NoExactStart = "D113", "a moment of breeding that no start leads to exactly";
    HoursOutside = "D114", "hours at which the protocol does not breed";
    PenStartsChosen = "D115", "pens whose starts the plan has picked, or a choice has left out";
    BullsEarly = "D116", "clean-up bulls that go in before the last AI of their group";
    DaysChosen = "D117", "a group that the plan may spread over days, and how it does";
    Uncovered = "W102", "head that no technician can breed in time";
    StrawsShort = "W103", "head that no straw is left for";
    SearchStopped = "W104", "who goes where, or who has a box, was not searched to the end; more might be bred";
    ShareSpread = "W105", "head that would be left if more, or fewer, are in heat than planned";
    StoppedByHand = "W106", "a search that was stopped by hand before its end";
    HalfDayFull = "W107", "a half-day on which more may be in heat than the crew can breed";
    StrawsForWaste = "W108", "fewer straws left of a bull than are set aside for waste";
    ThawShort = "W109", "straws that come out of the bath before their published time";
    LiftLong = "W110", "a canister lifted longer than its straws may be in the neck";
    GunsWait = "W111", "guns that are ready later than planned, as the tank is in use";
    BathCools = "W112", "a bath that a round of straws cools below its range";
    StrawsMisplaced = "W113", "straws whose tank or canister is not given";
    CalendarForm = "E101", "an earlier calendar that cannot be read";
    CalendarOther = "E102", "an earlier calendar of another program or another person";
    BullsSoon = "C101", "clean-up bulls turned out so soon after the last AI that their calves cannot be told from AI calves";
    BullsFew = "C102", "more head for each clean-up bull than is published after AI";
    RateGeneral = "C103", "a pregnancy rate that is not published for the protocol or the semen";
    HeatDaysUnknown = "C104", "animals bred by detected heat on days that are not known: their calves are not counted";
    NoCleanUp = "C105", "a turn-out of bulls among the wishes, and no clean-up bulls to count with";
    PriceLacks = "C106", "prices that are not given: what they would pay for is left out of totals";
    BeyondMatings = "W114", "animals bred with other straws than the matings give them";
    MatingsUnread = "W115", "a plan without the matings, as a file they need cannot be used";
    Tiring = "W116", "many head for one person in one session";
    Dark = "W117", "cows bred before sunrise or after sunset";
    Verify = "V101", "the finished plan disagrees with the season: a fault of the program";
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique() {
        let set: std::collections::BTreeSet<_> = Code::ALL.iter().map(|c| c.as_str()).collect();
        assert_eq!(set.len(), Code::ALL.len());
    }
}
