//! Every finding code is provoked by one small input, and points at the fault.
//!
//! A caret in an input marks where the finding must point; it is taken out before reading.

use std::collections::BTreeSet;

use thawline::document::MOST_BYTES;
use thawline::error::{Code, Error, Finding, Severity};
use thawline::output::calendar;
use thawline::pipeline::Options;
use thawline::plan::Remark;
use thawline::progress::NoProgress;
use thawline::protocol::Library;
use thawline::units::Clock;
use thawline::{choose, herd, matings, pipeline, protocol, season, supplies, tank, thaw};

use crate::bad_input::Folder;

pub(crate) const SEASON: &str = "\
format: thawline.season/1
name: A small invented season
zone: America/Denver
sites:
  - id: yard
    injections_head_per_hour: 60
    breeding_boxes: 2
groups:
  - id: cows
    site: yard
    class: cow
    head: 20
    protocol: cow-7-day-co-synch-insert
    start: 2027-05-03T20:00
    order: kept
    bulls: [Ash 1]
crew:
  - id: ana
    minutes_per_cow: 3
    helper: true
semen:
  - {bull: Ash 1, straws: 40}
";

pub(crate) const PROTOCOL: &str = "\
id: own
name: Our own
class: cow
kind: fixed-time
suits: Anyone.
sources: [{cite: our notes, supports: all}]
steps:
  - {id: gnrh, after: start, days: 0, do: [gnrh, insert-in]}
  - {id: pg, after: gnrh, days: 7, do: [pg, insert-out]}
  - {id: ai, after: pg, hours: {earliest: 60, aim: 63, latest: 66}, do: [inseminate, gnrh]}
";

/// A protocol that breeds by heat, and nobody says when heat comes.
const WATCHED: &str = "\
id: watched
name: Watched
class: cow
kind: estrus-detection
suits: Anyone.
sources: [{cite: our notes, supports: all, unverified: true}]
steps:
  - {id: pg, after: start, days: 0, do: [pg]}
  - {id: watch, after: pg, days: 1, lasts_days: 5, do: [detect-estrus, inseminate-in-heat]}
";

/// Between a season and the herd file that it names, for cases that touch either.
const CUT: &str = "=====\n";

const HERD: &str = "\
animal,birth_date,last_calving_date,body_condition
A1,2023-03-01,2027-02-20,5
A2,2023-03-11,2027-03-01,6
";

/// The small season of two head with a herd file, and the file.
fn herd_season() -> String {
    let season = SEASON.replacen("head: 20", "head: 2", 1).replacen(
        "[Ash 1]\n",
        "[Ash 1]\n    herd: herd.csv\n",
        1,
    );
    [&season, CUT, HERD].concat()
}

const FILE: &str = "file.yaml";
const HERD_FILE: &str = "herd.csv";
const STRAW_FILE: &str = "straws.csv";

/// The small season with a table of straws, and the table.
fn straw_season() -> String {
    let season = SEASON.replacen(
        "semen:\n  - {bull: Ash 1, straws: 40}\n",
        "semen_file: straws.csv\n",
        1,
    );
    let table = "bull,straws,cane\nAsh 1,10,A1\nAsh 1,10,A2\n";
    [&season, CUT, table].concat()
}

/// One text in place of another.
type Edits = &'static [(&'static str, &'static str)];

enum How {
    /// The small season, edited, read and planned.
    Season(Edits),
    /// The small season, edited and planned: the rounds of its session. Their findings have no place.
    Thaw(Edits),
    /// The small season, edited, chosen for, and the choice written.
    Choice(Edits),
    /// Other bytes read as a season.
    Bytes(Vec<u8>),
    /// The small protocol, edited.
    Protocol(Edits),
    /// The small protocol, edited, beside the built-in ones and itself with another id.
    Library(Edits),
    /// The small season with a herd file, either of them edited.
    Herd(Edits),
    /// The small season with a table of straws, either of them edited.
    Straws(Edits),
    /// The small season with a table of straws beside its list.
    StrawsTwice,
    /// The small season, edited, planned, and its tanks looked at.
    Tank(Edits),
    /// The small season, edited, planned, and its order list.
    Order(Edits),
    /// The small season, edited, planned, and what comes of it; with a protocol that nothing is known
    /// of when heat comes.
    Forecast(Edits),
    /// The small season with a herd file and scores, any of them edited, and its matings.
    Mated(Edits),
    /// The same, planned by its matings.
    MatedPlan(Edits),
    /// A herd file that is not there.
    NoHerdFile,
    /// A season of very many bulls, and its matings.
    ManyBulls,
    /// A herd file of many faults.
    LongHerd,
    /// The small protocol, edited, looked over as a file of one's own.
    Own(Edits),
    /// The calendar of the small season, edited, and read as an earlier one.
    Calendar(Edits),
    /// `thawline check` of a file that is not there.
    NoFile,
    /// `thawline herd` of a season without herds.
    NoHerd,
    /// `thawline protocols` with these arguments: its findings have no place.
    Dates(&'static [&'static str]),
}

struct Case {
    code: Code,
    severity: Severity,
    field: &'static str,
    how: How,
}

macro_rules! cases {
    ($how:ident: $($code:ident $severity:ident $field:literal [$($from:literal => $to:literal),*])*) => {
        [$(Case {
            code: Code::$code,
            severity: Severity::$severity,
            field: $field,
            how: How::$how(&[$(($from, $to)),*]),
        }),*]
    };
}

#[allow(clippy::too_many_lines)] // A table.
fn cases() -> Vec<Case> {
    let plain = |code, how| Case {
        code,
        severity: Severity::Error,
        field: "",
        how,
    };
    let large = [b"^".to_vec(), vec![b'#'; MOST_BYTES as usize + 1]].concat();
    let mut all = vec![
        plain(Code::FileUnreadable, How::NoFile),
        plain(Code::FileTooLarge, How::Bytes(large)),
        plain(
            Code::FileNotText,
            How::Bytes(b"name: a\nzone: ^\xff\n".to_vec()),
        ),
    ];
    all.extend(cases! { Straws:
        StrawHeader Error "" ["bull,straws,cane" => "^a,b,c"]
        StrawColumn Error "" ["cane" => "^type"]
        StrawReading Note "" ["bull,straws,cane" => "^Sire,straws,cane"]
        StrawRow Error "" ["Ash 1,10,A2" => "^Ash 1,10"]
        StrawCell Error "straws" ["10,A2" => "^ten,A2"]
    });
    all.push(Case {
        code: Code::StrawsTwice,
        severity: Severity::Note,
        field: "semen_file",
        how: How::StrawsTwice,
    });
    all.extend(cases! { Tank:
        LevelRises Warning "tanks[0].id" ["semen:" => "tanks: [{id: ^big, canisters: 6, full_inches: 18, readings: [{date: 2027-03-01, inches: 12}, {date: 2027-03-20, inches: 16}]}]\nsemen:"]
        LossUnknown Note "tanks[0].id" ["semen:" => "tanks: [{id: ^big, canisters: 6, full_inches: 18, readings: [{date: 2027-03-01, inches: 12}]}]\nsemen:"]
        TankLow Warning "tanks[0].id" ["semen:" => "tanks: [{id: ^big, canisters: 6, full_inches: 18, readings: [{date: 2027-03-01, inches: 13}, {date: 2027-03-11, inches: 12}]}]\nsemen:"]
    });
    all.extend(cases! { Order:
        SuppliesUnstated Note "supplies" ["semen:" => "supplies: ^{lead_days: 3}\nsemen:"]
        SupplyUnused Note "supplies.estradiol" ["semen:" => "supplies: {estradiol: ^{ml_a_dose: 1}}\nsemen:"]
    });
    all.extend(cases! { Season:
        SupplyForm Error "supplies.gnrh.packages" ["semen:" => "supplies: {gnrh: {packages: ^[{ml: 20}]}}\nsemen:"]
        FeedStrength Error "supplies.mga_feed" ["semen:" => "supplies: {mga_feed: ^{mg_per_lb: 1, lb_a_head: 2}}\nsemen:"]
        DoseUnpublished Note "supplies.gnrh.ml_a_dose" ["semen:" => "supplies: {gnrh: {ml_a_dose: ^3}}\nsemen:"]
    });
    all.extend(cases! { Forecast:
        BullsSoon Warning "groups[0].calves.clean_up.in" ["order: kept" => "calves: {clean_up: {in: ^2027-05-15, out: 2027-07-10, head: 1}}"]
        BullsFew Note "groups[0].calves.clean_up.in"
            ["head: 20" => "head: 51\n    calves: {clean_up: {in: ^2027-05-25, out: 2027-07-10, head: 1}}", "straws: 40" => "straws: 60"]
        RateGeneral Note "groups[0].id" ["id: cows" => "id: ^cows", "cow-7-day" => "cow-5-day"]
        HeatDaysUnknown Note "groups[0].start" ["cow-7-day-co-synch-insert" => "watched", "2027" => "^2027"]
        NoCleanUp Note "groups[0].id" ["id: cows" => "id: ^cows", "order: kept" => "wishes: {breed_from: 2027-05-10, bulls_in: 2027-06-01}"]
        PriceLacks Note "" ["format:" => "^format:", "semen:" => "prices: {gnrh_per_dose: 2}\nsemen:"]
    });
    all.extend(cases! { Season:
        CalfNumbers Error "groups[0].calves.clean_up.out"
            ["order: kept" => "calves: {clean_up: {in: 2027-05-24, out: ^2027-05-20, head: 1}}"]
        CaneOfTwoBulls Note "semen[1].bull" ["straws: 40}" => "straws: 40, cane: a}\n  - {bull: ^Elm 2, straws: 0, cane: a}"]
        CaneTwice Warning "semen[1].cane" ["straws: 40}" => "straws: 20, tank: big, canister: 1, cane: a}\n  - {bull: Ash 1, straws: 20, tank: big, canister: 2, cane: ^a}\ntanks: [{id: big, canisters: 6}]"]
        CaneFull Note "semen[0].straws" ["straws: 40" => "straws: ^40, cane: a"]
        GobletFull Note "semen[0].goblet" ["straws: 40" => "straws: 40, cane: a, goblet: ^top"]
        CanisterUnknown Error "semen[0].canister" ["straws: 40}" => "straws: 40, tank: big, canister: ^7}\ntanks: [{id: big, canisters: 6}]"]
        CanisterFull Warning "semen[1].cane" ["straws: 40}" => "straws: 20, tank: big, canister: 1, cane: a}\n  - {bull: Ash 1, straws: 20, tank: big, canister: 1, cane: ^b}\ntanks: [{id: big, canisters: 6, canes_a_canister: 1}]"]
        TankTotal Warning "tanks[0].straws" ["straws: 40}" => "straws: 40, tank: big}\ntanks: [{id: big, canisters: 6, straws: ^41}]"]
        TankForm Error "tanks[0].full_cm" ["semen:" => "tanks: [{id: big, canisters: 6, full_inches: 18, full_cm: ^46}]\nsemen:"]
        YamlSyntax Error "" ["zone:" => "name: again\nzone:", "name: again" => "^name: again"]
        UnknownKey Error "groups[0].haed" ["head: 20" => "head: 20\n    ^haed: 20"]
        MissingKey Error "groups[0].head" ["id: cows" => "^id: cows", "    head: 20\n" => ""]
        WrongType Error "groups[0].head" ["head: 20" => "head: ^twenty"]
        OutOfRange Error "groups[0].head" ["head: 20" => "head: ^1000000000"]
        UnknownWord Error "groups[0].class" ["class: cow" => "class: ^bison"]
        BadId Error "groups[0].id" ["id: cows" => "id: ^\"<cows>\""]
        BadText Error "name" ["name: A small invented" => "name: ^\"A\\u202Esmall\" #"]
        FormatVersion Error "format" ["thawline.season/1" => "^thawline.season/2"]
        BadZone Error "zone" ["America/Denver" => "^America/Devner"]
        BadTime Error "groups[0].start" ["2027-05-03" => "^2027-02-30"]
        IdTwice Error "crew[1].id" ["semen:" => "  - {id: ^Ana, minutes_per_cow: 3}\nsemen:"]
        UnknownId Error "groups[0].bulls[0]" ["[Ash 1]" => "[^Ash 2]"]
        UnknownProtocol Error "groups[0].protocol" ["cow-7-day" => "^cow-8-day"]
        ClassMismatch Error "groups[0].protocol" ["cow-7-day-co-synch-insert" => "^heifer-mga-pg"]
        PensForm Error "groups[0].pen_head" ["head: 20" => "head: 20\n    pen_head: ^[10, 11]"]
        PenStartForm Error "groups[0].pen_starts[0]"
            ["head: 20" => "head: 20\n    pens: 2\n    pen_starts: [^\"2027-05-03T08:00\"]"]
        DaysForm Error "groups[0].days" ["head: 20" => "head: 20\n    days: ^3"]
        Assumed Note "sites" ["id: yard" => "^id: yard", "    breeding_boxes: 2\n" => ""]
        PaceForm Error "crew[0]" ["id: ana" => "^id: ana\n    cows_per_hour: 12"]
        PaceTooSlow Error "crew[0]" ["id: ana" => "^id: ana", "per_cow: 3" => "per_cow: 30"]
        StrawsAtOnceUnsafe Warning "crew[0].straws_at_once"
            ["helper: true" => "helper: true\n    straws_at_once: ^9"]
        ShiftForm Error "crew[0].shifts[0]"
            ["helper: true" => "shifts: [^{from: \"05:00\", to: \"05:00\"}]"]
        StrawSizeMixed Error "semen[1].straw_ml"
            ["straws: 40}" => "straws: 40}\n  - {bull: Ash 1, straws: 9, straw_ml: ^0.25}"]
        HourForm Error "rules.no_chute_work[0]"
            ["semen:" => "rules: {no_chute_work: [^{from: \"05:00\"}]}\nsemen:"]
        GroupNeedsStraws Warning "groups[0].bulls"
            ["bulls: [Ash 1]" => "bulls: ^[Ash 1]", "straws: 40" => "straws: 4"]
        BullUnused Note "semen[1].bull"
            ["straws: 40}" => "straws: 40}\n  - {bull: ^Elm 2, straws: 5}"]
        RoadAssumed Note "sites"
            ["- id: yard" => "^- {id: far, injections_head_per_hour: 60, breeding_boxes: 1}\n  - id: yard",
             "helper: true" => "home_site: far"]
        RoadLength Error "sites[0].km_to"
            ["- id: yard" => "- {id: far, injections_head_per_hour: 60, breeding_boxes: 1, miles_to: {yard: 10}, km_to: ^{yard: 16}}\n  - id: yard"]
        RoadTooFast Warning "sites[0].minutes_to.yard"
            ["- id: yard" => "- {id: far, injections_head_per_hour: 60, breeding_boxes: 1, minutes_to: {yard: ^5}, miles_to: {yard: 50}}\n  - id: yard"]
        RoadDetour Warning "sites[0].minutes_to.yard"
            ["- id: yard" => "- {id: far, injections_head_per_hour: 60, breeding_boxes: 1, minutes_to: {yard: ^50, mid: 10}}\n  - {id: mid, injections_head_per_hour: 60, breeding_boxes: 1, minutes_to: {yard: 20}}\n  - id: yard"]
        GroupForm Error "groups[0]" ["id: cows" => "^id: cows", "    start: 2027-05-03T20:00\n" => ""]
        WishForm Error "groups[0].wishes"
            ["order: kept" => "wishes: ^{most_passes: 3}", "    start: 2027-05-03T20:00\n" => "", "    protocol: cow-7-day-co-synch-insert\n" => ""]
        GroupOpen Error "groups[0]"
            ["id: cows" => "^id: cows", "order: kept" => "wishes: {breed_from: 2027-05-10, breed_to: 2027-05-20}",
             "    start: 2027-05-03T20:00\n" => "", "    protocol: cow-7-day-co-synch-insert\n" => ""]
        NotPermitted Error "groups[0].protocol" ["cow-7-day-co-synch-insert" => "^cow-estradiol-insert-pg7"]
        Allowed Note "allow[0]"
            ["cow-7-day-co-synch-insert" => "cow-estradiol-insert-pg7",
             "semen:" => "allow: [^{drug: estradiol, reason: a permit}]\nsemen:"]
        AllowForm Error "allow[0]" ["semen:" => "allow: [^{reason: a permit}]\nsemen:"]
        CountryForm Error "country" ["zone:" => "country: ^USA\nzone:"]
        ClockGap Warning "groups[0].start" ["2027-05-03T20:00" => "^2027-03-14T02:30"]
        ClockFold Warning "groups[0].start" ["2027-05-03T20:00" => "^2027-11-07T01:30"]
        ClockChange Note "groups[0].start" ["2027-05-03T20:00" => "^2027-03-06T20:00"]
        PassOutsideWindow Warning "groups[0].start"
            ["cow-7-day" => "cow-5-day", "2027" => "^2027", "kept" => "mixed", "head: 20" => "head: 300",
             "straws: 40" => "straws: 400"]
        ChuteBusy Warning "groups[1].start"
            ["crew:" => "  - {id: more, site: yard, class: cow, head: 5, protocol: cow-co-synch, start: ^2027-05-03T20:10, bulls: [Ash 1]}\ncrew:"]
        NoWorkHours Warning "groups[0].start"
            ["2027" => "^2027", "semen:" => "rules: {no_chute_work: [{weekday: mon, why: market}]}\nsemen:"]
        PenShifted Note "groups[0].start"
            ["cow-7-day" => "cow-5-day", "2027" => "^2027", "head: 20" => "head: 20\n    pens: 2",
             "breeding_boxes: 2" => "inserts_head_per_hour: 120\n    breeding_boxes: 2"]
        PenStartsChosen Note "groups[0].start"
            ["2027" => "^2027", "head: 20" => "head: 20\n    pens: 2\n    latest_start: 2027-05-03T21:00"]
        DaysChosen Note "groups[0].start"
            ["2027" => "^2027", "head: 20" => "head: 150\n    days: up to 3", "order: kept" => "order: mixed"]
        BredByHeat Note "groups[0].start"
            ["cow-7-day-co-synch-insert" => "cow-select-synch-insert", "2027" => "^2027"]
        HeatNumbers Error "rules.heat_breeding_hours"
            ["semen:" => "rules: {heat_breeding_hours: ^{earliest: 13, aim: 12, latest: 15}}\nsemen:"]
        HalfDayFull Note "groups[0].start"
            ["cow-7-day-co-synch-insert" => "cow-select-synch-insert", "2027" => "^2027", "head: 20" => "head: 60",
             "straws: 40" => "straws: 60", "helper: true" => "shifts: [{from: \"05:00\", to: \"06:30\"}, {from: \"17:00\", to: \"18:30\"}]"]
        BullsEarly Warning "groups[0].calves.clean_up.in"
            ["order: kept" => "calves: {clean_up: {in: ^2027-05-13, out: 2027-07-10, head: 1}}"]
        NightWork Note "groups[0].start" ["2027-05-03T20:00" => "^2027-05-03T10:00"]
        ShareAssumed Note "groups[0].start"
            ["synch-insert" => "synch-insert-split", "2027" => "^2027"]
        ChuteAndBreeding Note "groups[1].start"
            ["crew:" => "  - {id: more, site: yard, class: cow, head: 5, protocol: cow-co-synch, start: ^2027-05-13T11:00, bulls: [Ash 1]}\ncrew:"]
        ShareSpread Note "groups[0].start"
            ["cow\n" => "heifer\n", "cow-7-day-co-synch-insert" => "heifer-14-day-insert-pg-split", "2027" => "^2027",
             "head: 20" => "head: 60", "straws: 40" => "straws: 400", "per_cow: 3" => "per_cow: 4.3"]
        Uncovered Warning "groups[0].start"
            ["2027" => "^2027", "helper: true" => "shifts: [{from: \"19:00\", to: \"21:00\"}]"]
        StrawsShort Warning "groups[0].start" ["2027" => "^2027", "straws: 40" => "straws: 4"]
        TankInTurn Note "groups[0].start" ["2027" => "^2027",
            "crew:" => "  - {id: more, site: far, class: cow, head: 5, protocol: cow-7-day-co-synch-insert, start: 2027-05-03T20:00, bulls: [Ash 1]}\ncrew:\n  - {id: bo, minutes_per_cow: 3, home_site: far}",
            "- id: yard" => "- {id: far, injections_head_per_hour: 60, breeding_boxes: 1}\n  - id: yard",
            "straws: 40" => "straws: 40, tank: big"]
        TankTwice Note "groups[1].start" [
            "crew:" => "  - {id: more, site: far, class: cow, head: 5, protocol: cow-7-day-co-synch-insert, start: ^2027-05-03T20:00, bulls: [Ash 1]}\ncrew:\n  - {id: bo, minutes_per_cow: 3, home_site: far}",
            "- id: yard" => "- {id: far, injections_head_per_hour: 60, breeding_boxes: 1}\n  - id: yard",
            "semen:" => "tanks: [{id: big, canisters: 6, places_at_once: 2}]\nsemen:",
            "straws: 40" => "straws: 40, tank: big"]
    });
    all.extend(cases! { Calendar:
        CalendarForm Error "" ["SEQUENCE:0" => "^SEQUENCE:x"]
        CalendarOther Error "" ["PRODID:-//Thawline" => "^PRODID:-//Other"]
    });
    all.extend(cases! { Thaw:
        StrawsForWaste Warning "" ["straws: 40}" => "straws: 21}\nrules: {straws_wasted_percent: 20}"]
        ThawShort Warning "" ["straws: 40}" => "straws: 40}\nrules: {thaw_seconds: 40}"]
        LiftLong Warning "" ["straws: 40}" => "straws: 40}\nrules: {lift_seconds: 12, straws_a_lift: 10}"]
        Tiring Note "" ["head: 20" => "head: 60", "straws: 40}" => "straws: 60}"]
        Dark Note "" ["breeding_boxes: 2" => "breeding_boxes: 2\n    latitude: 40.25\n    longitude: -108.75",
                      "2027-05-03T20:00" => "2027-05-03T10:00"]
        GunsWait Note "" ["straws: 40}" => "straws: 40}\nrules: {load_seconds: 0}"]
        BathCools Warning "" ["breeding_boxes: 2" => "breeding_boxes: 2\n    bath_liters: 0.1"]
        StrawsMisplaced Note "" ["straws: 40}" => "straws: 41}"]
        BullByTag Note "" ["order: kept\n    bulls: [Ash 1]" => "bulls: [Ash 1, Elm 2]\n    herd: h.csv", "straws: 40}" => "straws: 10}\n  - {bull: Elm 2, straws: 10}"]
    });
    all.extend(cases! { Choice:
        NoWishes Error "groups[0].start" ["2027" => "^2027"]
        NothingFits Error "groups[0].start"
            ["2027" => "^2027", "order: kept" => "wishes: {breed_from: 2027-05-10, breed_to: 2027-05-12, most_days: 2}"]
        WriteUnsure Error "groups[0]"
            ["- id: cows" => "- ^id: cows", "start: 2027-05-03T20:00" => "start: 2027-05-03\n      20:00",
             "order: kept" => "wishes: {breed_from: 2027-05-10, breed_to: 2027-05-20}"]
    });
    all.extend(cases! { Protocol:
        StepTwice Error "steps[2].id" ["{id: ai" => "{id: ^pg"]
        StepAnchorUnknown Error "steps[1].after" ["after: gnrh" => "after: ^grnh"]
        StepCircle Error "steps[0].after" ["after: start" => "after: ^pg"]
        StepAnchorForm Error "steps[1]" ["{id: pg, after: gnrh, days: 7," => "^{id: pg, after: gnrh,"]
        WindowTurned Error "steps[2].hours" ["{earliest: 60" => "^{earliest: 64"]
        StepBeforeStart Error "steps[1].days" ["days: 7" => "days: ^-7"]
        SpanForm Error "steps[1]" ["{id: pg, after: gnrh," => "^{id: pg, after: gnrh, lasts_days: 2,"]
        NoBreeding Error "kind" ["kind: fixed-time" => "kind: ^split-time"]
        InsertBalance Error "steps" ["- {id: gnrh" => "^- {id: gnrh", "gnrh, insert-in" => "gnrh"]
        HeatForm Error "steps[2].heat" ["do: [inseminate, gnrh]" => "do: [inseminate, gnrh], heat: ^{after: pg}"]
        SourceUnknown Error "sources[0].tag" ["cite: our notes" => "tag: ^NO-SUCH-TAG"]
    });
    all.extend(herd_cases());
    all.extend(cases! { Library:
        ProtocolTwice Error "name" ["name: Our" => "name: ^Our"]
        ProtocolOverrides Note "id" ["id: own" => "id: ^cow-co-synch", "Our own" => "Our other"]
    });
    all.extend(of_own_and_dated_protocols());
    all.extend(mating_cases());
    all
}

/// What is said of matings.
fn mating_cases() -> Vec<Case> {
    let mut all = Vec::from(cases! { Mated:
        BullParents Error "bulls[0].sire" ["crew:" => "bulls: [{id: Ash 1, sire: ^Ash 1}]\ncrew:"]
        ScoreHeader Error "" ["animal,bull,score" => "^cow,bull,score"]
        ScoreCell Error "score" ["1,90" => "1,^good"]
        ScoreTwice Error "score" ["A2,Ash 1,90" => "A1,Ash 1,^90"]
        ScoreUnused Warning "animal" ["A2,Ash" => "^A3,Ash"]
        MatingUnknown Error "mating" ["body_condition" => "mating", ",5" => ",", ",6" => ",^Oak 9"]
        MatingRule Warning "mating" ["body_condition" => "sire,mating", ",5" => ",,", ",6" => ",Ash 1,^Ash 1"]
        MatingStraws Warning "groups[0].herd"
            ["herd.csv" => "^herd.csv", "straws: 40" => "straws: 0", "body_condition" => "mating", ",5" => ",", ",6" => ",Ash 1"]
        HeiferBull Warning "groups[0].herd"
            ["class: cow" => "class: heifer", "cow-7-day-co-synch-insert" => "heifer-mga-pg", "herd.csv" => "^herd.csv",
             "last_calving_date,body_condition" => "weight_lb,tract_score", "2027-02-20,5" => "700,3", "2027-03-01,6" => "700,3",
             "semen:\n" => "bulls: [{id: Elm 2, calving_ease: true}]\nsemen:\n  - {bull: Elm 2, straws: 0}\n"]
        NoBull Warning "groups[0].herd" ["herd.csv" => "^herd.csv", "straws: 40" => "straws: 1"]
        CountsOnly Note "groups[0].start" ["    herd: herd.csv\n" => "", "start: 2027" => "start: ^2027"]
        ParentsUnknown Note "groups[0].herd" ["herd.csv" => "^herd.csv"]
    });
    all.push(Case {
        code: Code::TooManyBulls,
        severity: Severity::Error,
        field: "groups[0].herd",
        how: How::ManyBulls,
    });
    all
}

fn of_own_and_dated_protocols() -> Vec<Case> {
    let mut all: Vec<Case> = cases! { Own:
        NothingOwned Note "sources" ["[{cite: our notes" => "^[{tag: CFR-690"]
        NightByDesign Note "steps" ["- {id: gnrh" => "^- {id: gnrh"]
        InsertLong Warning "steps[1]" ["{id: pg, after: gnrh, days: 7" => "^{id: pg, after: gnrh, days: 15"]
    }
    .into();
    let dates = |code, severity, args| Case {
        code,
        severity,
        field: "",
        how: How::Dates(args),
    };
    all.extend([
        dates(
            Code::NightTreatment,
            Severity::Note,
            &[
                "cow-co-synch",
                "--start",
                "2027-05-18T03:00",
                "--zone",
                "America/Denver",
            ],
        ),
        dates(
            Code::NoExactStart,
            Severity::Warning,
            &[
                "cow-select-synch-insert",
                "--breed-at",
                "2027-03-21T02:30",
                "--zone",
                "America/Denver",
            ],
        ),
        dates(
            Code::HoursOutside,
            Severity::Error,
            &[
                "cow-co-synch",
                "--breed-at",
                "2027-06-01T08:00",
                "--hours",
                "60",
                "--zone",
                "America/Denver",
            ],
        ),
    ]);
    all
}

/// What is said of herd files.
fn herd_cases() -> Vec<Case> {
    let mut all = Vec::from(cases! { Herd:
        HerdHeader Error "" ["animal,birth_date,last_calving_date,body_condition" => "^17,a,b,c"]
        HerdColumn Error "body_conditon" ["body_condition" => "^body_conditon"]
        HerdColumnTwice Error "animal" ["body_condition" => "^animal"]
        HerdRow Error "" [",6" => ",6,^x"]
        HerdCell Error "body_condition" [",6" => ",^good"]
        HerdDate Error "last_calving_date" ["2027-03-01" => "^soon"]
        HerdReading Note "last_calving_date" ["2027-03-01" => "^1 Mar 27"]
        HerdDateOrder Error "last_calving_date" ["2027-03-01" => "^3/1/2027"]
        ElectronicId Error "animal" ["A2" => "^899000000000001"]
        AnimalTwice Error "animal" ["A2" => "^a1"]
        ChuteOrder Error "chute_order" ["body_condition" => "chute_order", ",5" => ",1", ",6" => ",^1"]
        ChuteOrderPart Warning "groups[0].herd"
            ["herd.csv" => "^herd.csv", "body_condition" => "chute_order", ",5" => ",1", ",6" => ","]
        AnimalClass Warning "tract_score" ["body_condition" => "tract_score", ",5" => ",^5", ",6" => ","]
        DatesOrder Error "last_calving_date" ["2027-03-01" => "^2021-03-01"]
        AnimalsWait Note "groups[0].herd" ["herd.csv" => "^herd.csv", "2027-03-01" => "2027-04-20"]
        OverruleUnknown Warning "groups[0].herd" ["herd.csv" => "^herd.csv\n    overrule: {A3: ready}"]
        AnimalInTwoHerds Warning "groups[1].herd"
            ["crew:" => "  - {id: more, site: yard, class: cow, head: 2, protocol: cow-co-synch, start: 2027-06-03T20:10, bulls: [Ash 1], herd: ^herd.csv}\ncrew:"]
        HerdHead Warning "groups[0].herd" ["head: 2" => "head: 3", "herd.csv" => "^herd.csv"]
        Parents Warning "dam" ["body_condition" => "dam", ",5" => ",", ",6" => ",^A1"]
        NoProgestin Warning "groups[0].herd"
            ["cow-7-day-co-synch-insert" => "cow-co-synch", "herd.csv" => "^herd.csv", ",5" => ",4"]
        FewCycling Warning "groups[0].herd"
            ["class: cow" => "class: heifer", "cow-7-day-co-synch-insert" => "heifer-mga-pg", "herd.csv" => "^herd.csv",
             "last_calving_date,body_condition" => "weight_lb,tract_score", "2027-02-20,5" => "700,3", "2027-03-01,6" => "700,3"]
    });
    all.push(Case {
        code: Code::MoreFindings,
        severity: Severity::Note,
        field: "",
        how: How::LongHerd,
    });
    all.push(Case {
        code: Code::BeyondMatings,
        severity: Severity::Warning,
        field: "groups[0].start",
        how: How::MatedPlan(&[("head: 2", "head: 3"), ("2027-05-03", "^2027-05-03")]),
    });
    all.push(Case {
        code: Code::MatingsUnread,
        severity: Severity::Warning,
        field: "groups[0].herd",
        how: How::NoHerdFile,
    });
    all.push(Case {
        code: Code::NoHerd,
        severity: Severity::Error,
        field: "groups",
        how: How::NoHerd,
    });
    all
}

/// Codes that no input of a test can bring out.
const EXCEPTIONS: [(Code, &str); 4] = [
    (
        Code::Verify,
        "a fault of the program: no known input has one",
    ),
    (
        Code::SearchStopped,
        "it is of a day and points at no line: `alley.rs` brings it out",
    ),
    (
        Code::LabelUse,
        "it is of the country and points at no line: `law.rs` brings it out",
    ),
    (
        Code::StoppedByHand,
        "no file brings it out, but a hand: `search.rs` sets the flag",
    ),
];

fn edited(base: &str, edits: Edits) -> Vec<u8> {
    let mut text = base.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "{from} is not in {text}");
        text = text.replacen(from, to, 1);
    }
    text.into_bytes()
}

/// Takes the caret out, and says on which line and in which column it stood.
fn unmarked(bytes: Vec<u8>) -> (Vec<u8>, String) {
    unmarked_in(FILE, bytes)
}

fn unmarked_in(file: &str, mut bytes: Vec<u8>) -> (Vec<u8>, String) {
    let at = bytes.iter().position(|b| *b == b'^').expect("a caret");
    bytes.remove(at);
    let before = std::str::from_utf8(&bytes[..at]).unwrap();
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap().chars().count() + 1;
    (bytes, format!("{file}:{line}:{column}"))
}

fn remarks(found: &[Finding]) -> Vec<Remark> {
    found.iter().map(Remark::from).collect()
}

fn planned(bytes: &[u8]) -> Result<Vec<Remark>, Error> {
    let (season, found) = season::read(FILE, bytes, &Library::built_in())?;
    let plan = pipeline::plan(&season, &found)?;
    Ok([remarks(&found), plan.findings].concat())
}

fn chosen(bytes: &[u8]) -> Result<String, Error> {
    let library = Library::built_in();
    let (season, _) = season::read(FILE, bytes, &library)?;
    let chosen = choose::choose(
        &season,
        &library,
        None,
        choose::Limits::default(),
        &NoProgress,
    )?;
    Ok(choose::write(FILE, bytes, &chosen.picked(None)?)?.0)
}

/// All that is said of a season and its herds; every group's herd file has these bytes.
fn herded(season: &[u8], herd: &[u8]) -> Result<Vec<Finding>, Error> {
    let (season, _) = season::read(FILE, season, &Library::built_in())?;
    let mut found = Vec::new();
    let mut herds = Vec::new();
    for g in &season.groups {
        let first_day = Some(g.start.date());
        let (herd, more) = herd::read(HERD_FILE, herd, g.class, first_day)?;
        found.extend(more);
        found.extend(herd::unknown(g.herd.as_ref().unwrap(), &herd));
        let (mut left, rules) = (g.clone(), &season.rules.ready);
        found.extend(herd::leave_out(&mut left, &herd, rules, &[], true));
        herds.push((g, herd));
    }
    let members: Vec<herd::Member<'_>> = herds
        .iter()
        .map(|(g, herd)| herd::Member {
            group: g.id.as_str(),
            head: g.head().0,
            pens: &g.pens,
            place: &g.herd.as_ref().unwrap().place,
            herd,
        })
        .collect();
    found.extend(herd::compare(&members));
    for (m, (g, herd)) in members.iter().zip(&herds) {
        let names = (g.id.as_str(), g.name.as_str());
        let ready = &season.rules.ready;
        let report = herd::summary::report(
            names,
            herd,
            g.class,
            &g.protocol,
            g.start,
            ready,
            season.units,
        );
        found.extend(report.findings(m.place));
    }
    Ok(found)
}

/// A season and its herd file from one marked text.
fn provoke_herd(text: &str) -> (Vec<Remark>, String) {
    let (season, herd) = text.split_once(CUT).expect("two files");
    let (season, herd) = (season.as_bytes().to_vec(), herd.as_bytes().to_vec());
    let (season, herd, place) = if season.contains(&b'^') {
        let (season, place) = unmarked(season);
        (season, herd, place)
    } else {
        let (herd, place) = unmarked_in(HERD_FILE, herd);
        (season, herd, place)
    };
    let found = match herded(&season, &herd) {
        Ok(found) => remarks(&found),
        Err(e) => remarks(e.findings()),
    };
    (found, place)
}

const SCORES: &str = "animal,bull,score\nA1,Ash 1,80\nA2,Ash 1,90\n";
const SCORES_FILE: &str = "x.csv";

/// What is said of the matings of a season, its herd and its scores, from one marked text.
fn provoke_mated(text: &str, planned: bool) -> (Vec<Remark>, String) {
    let mut place = None;
    let files: Vec<Vec<u8>> = [FILE, HERD_FILE, SCORES_FILE]
        .into_iter()
        .zip(text.split(CUT))
        .map(|(name, text)| {
            let bytes = text.as_bytes().to_vec();
            if !bytes.contains(&b'^') {
                return bytes;
            }
            let (bytes, at) = unmarked_in(name, bytes);
            place = Some(at);
            bytes
        })
        .collect();
    let found = match mated(&files, planned) {
        Ok(found) => found,
        Err(e) => remarks(e.findings()),
    };
    (found, place.expect("a caret"))
}

fn mated(files: &[Vec<u8>], planned: bool) -> Result<Vec<Remark>, Error> {
    let (season, _) = season::read(FILE, &files[0], &Library::built_in())?;
    let mut herds = std::collections::BTreeMap::new();
    for g in season.groups.iter().filter(|g| g.herd.is_some()) {
        herds.insert(g.nth, herd::read(HERD_FILE, &files[1], g.class, None)?.0);
    }
    let scores = match &season.scores {
        Some(_) => Some(herd::scores::read(SCORES_FILE, &files[2], &season.bulls)?.0),
        None => None,
    };
    let own = std::collections::BTreeMap::new();
    let input = matings::Input::of(&season, &herds, &own, scores.as_ref());
    let made = pipeline::matings(&input, &[])?;
    if planned {
        return Ok(pipeline::plan_with(
            &season,
            &[],
            Options {
                matings: Some(&made),
                ..Options::default()
            },
        )?
        .findings);
    }
    Ok(made.findings)
}

/// The findings that a command prints as JSON, in a folder that holds this season or nothing.
fn printed(args: &[&str], season: Option<&str>) -> Vec<Remark> {
    let folder = Folder::new();
    if let Some(season) = season {
        folder.write(FILE, season);
    }
    let json = folder.run(args).json();
    serde_json::from_value(json["findings"].clone()).unwrap()
}

/// What an input brings out, and the place it is marked with.
#[allow(clippy::too_many_lines)] // An arm for each way to a finding.
fn provoke(how: How) -> (Vec<Remark>, Option<String>) {
    let (found, place) = match how {
        How::Dates(args) => {
            let args = [&["protocols"], args, &["--json"]].concat();
            return (printed(&args, None), None);
        }
        How::Own(edits) => {
            let (bytes, place) = unmarked(edited(PROTOCOL, edits));
            let checked = protocol::advice::check([(FILE, &bytes[..])], Clock::H24);
            (remarks(&checked.found), place)
        }
        How::Season(edits) => {
            let (bytes, place) = unmarked(edited(SEASON, edits));
            let found = planned(&bytes).unwrap_or_else(|e| remarks(e.findings()));
            (found, place)
        }
        How::Thaw(edits) => {
            let bytes = edited(SEASON, edits);
            let (season, found) = season::read(FILE, &bytes, &Library::built_in()).unwrap();
            let plan = pipeline::plan(&season, &found).unwrap();
            let told = thaw::of_session(&season, &plan, &plan.sessions[0]).unwrap();
            return ([plan.findings, told.findings].concat(), None);
        }
        How::Calendar(edits) => {
            let read = season::read(FILE, SEASON.as_bytes(), &Library::built_in());
            let (season, found) = read.unwrap();
            let plan = pipeline::plan(&season, &found).unwrap();
            let stamp = "2027-01-15T12:00:00Z".parse().unwrap();
            let file = calendar::calendar(&plan, None, stamp);
            let (bytes, place) = unmarked(edited(&file, edits));
            let fault = calendar::read_previous(FILE, &bytes).unwrap_err();
            (remarks(fault.findings()), place)
        }
        How::Choice(edits) => {
            let (bytes, place) = unmarked(edited(SEASON, edits));
            (remarks(chosen(&bytes).unwrap_err().findings()), place)
        }
        How::Bytes(bytes) => {
            let (bytes, place) = unmarked(bytes);
            (remarks(planned(&bytes).unwrap_err().findings()), place)
        }
        How::Protocol(edits) => {
            let (bytes, place) = unmarked(edited(PROTOCOL, edits));
            (remarks(&protocol::read(FILE, &bytes).unwrap_err()), place)
        }
        How::Library(edits) => {
            let (bytes, place) = unmarked(edited(PROTOCOL, edits));
            let first = PROTOCOL.replacen("id: own", "id: first", 1);
            let files = [("first.yaml", first.as_bytes()), (FILE, &bytes[..])];
            let found = match Library::with_files(files) {
                Ok((_, found)) => found,
                Err(e) => e.findings().to_vec(),
            };
            (remarks(&found), place)
        }
        How::Herd(edits) => {
            let text = String::from_utf8(edited(&herd_season(), edits)).unwrap();
            provoke_herd(&text)
        }
        How::Straws(edits) => {
            let text = String::from_utf8(edited(&straw_season(), edits)).unwrap();
            let (season, table) = text.split_once(CUT).expect("two files");
            let (table, place) = unmarked_in(STRAW_FILE, table.as_bytes().to_vec());
            let load = |_: &season::StrawFile| Ok((STRAW_FILE.to_owned(), table.clone()));
            let read = season::read_with(FILE, season.as_bytes(), &Library::built_in(), &load);
            let found = read.map_or_else(|e| e.findings().to_vec(), |(_, found)| found);
            (remarks(&found), place)
        }
        How::StrawsTwice => {
            let text = format!("{SEASON}semen_file: ^{STRAW_FILE}\n");
            let (bytes, place) = unmarked(text.into_bytes());
            let table = b"bull,straws\nAsh 1,7\nAsh 1,1\n".to_vec();
            let load = |_: &season::StrawFile| Ok((STRAW_FILE.to_owned(), table.clone()));
            let (_, found) = season::read_with(FILE, &bytes, &Library::built_in(), &load).unwrap();
            let twice = "40 straws listed under `semen`, 8 straws in `straws.csv`";
            assert!(found.iter().any(|f| f.what.contains(twice)), "{found:?}");
            (remarks(&found), place)
        }
        How::Tank(edits) => {
            let (bytes, place) = unmarked(edited(SEASON, edits));
            let (season, found) = season::read(FILE, &bytes, &Library::built_in()).unwrap();
            let plan = pipeline::plan(&season, &found).unwrap();
            (tank::look(&season, &plan).findings, place)
        }
        How::Order(edits) => {
            let (bytes, place) = unmarked(edited(SEASON, edits));
            let (season, found) = season::read(FILE, &bytes, &Library::built_in()).unwrap();
            let plan = pipeline::plan(&season, &found).unwrap();
            (supplies::of_plan(&season, &plan).findings, place)
        }
        How::Forecast(edits) => {
            let (bytes, place) = unmarked(edited(SEASON, edits));
            let (library, _) = Library::with_files([("watched.yaml", WATCHED.as_bytes())]).unwrap();
            let (season, found) = season::read(FILE, &bytes, &library).unwrap();
            let plan = pipeline::plan(&season, &found).unwrap();
            (pipeline::forecast(&season, &plan).unwrap().findings, place)
        }
        How::Mated(edits) => {
            let text = [&herd_season(), CUT, SCORES].concat();
            let text = text.replacen("crew:", "scores: x.csv\ncrew:", 1);
            provoke_mated(&String::from_utf8(edited(&text, edits)).unwrap(), false)
        }
        How::MatedPlan(edits) => {
            let text = [&herd_season(), CUT, SCORES].concat();
            provoke_mated(&String::from_utf8(edited(&text, edits)).unwrap(), true)
        }
        How::NoHerdFile => {
            let text = herd_season().replacen("herd.csv", "^herd.csv", 1);
            let (season, _) = text.split_once(CUT).unwrap();
            let (season, place) = unmarked(season.as_bytes().to_vec());
            let season = String::from_utf8(season).unwrap();
            (printed(&["plan", FILE, "--json"], Some(&season)), place)
        }
        How::ManyBulls => {
            let more: Vec<String> = (0..500)
                .map(|n| format!("  - {{bull: B{n}, straws: 1}}\n"))
                .collect();
            let text = herd_season().replacen("herd.csv", "^herd.csv", 1);
            let text = text.replacen("semen:\n", &format!("semen:\n{}", more.concat()), 1);
            provoke_mated(&[&text, CUT, SCORES].concat(), false)
        }
        How::LongHerd => {
            let rows: Vec<String> = (0..300).map(|n| format!("B{n},4\n")).collect();
            let rows = rows.concat();
            let text = herd_season();
            let (season, _) = text.split_once(CUT).unwrap();
            provoke_herd(&format!("{season}{CUT}^animal,tract_score\n{rows}"))
        }
        How::NoFile => (
            printed(&["check", FILE, "--json"], None),
            format!("{FILE}:1:1"),
        ),
        How::NoHerd => (
            printed(&["herd", FILE, "--json"], Some(SEASON)),
            format!("{FILE}:1:1"),
        ),
    };
    (found, Some(place))
}

#[test]
fn the_small_season_and_protocol_have_no_faults() {
    // What labels say of GnRH is told of every season that gives it, and is no fault.
    let mut found = planned(SEASON.as_bytes()).unwrap();
    found.retain(|r| r.code != Code::LabelUse);
    assert_eq!(found, []);
    assert!(protocol::read(FILE, PROTOCOL.as_bytes()).is_ok());
    let text = herd_season();
    let (season, herd) = text.split_once(CUT).unwrap();
    assert_eq!(herded(season.as_bytes(), herd.as_bytes()).unwrap(), []);
}

#[test]
fn each_code_comes_from_its_input_at_the_marked_place() {
    for case in cases() {
        let (found, place) = provoke(case.how);
        let code = case.code.as_str();
        let Some(got) = found.iter().find(|r| r.code.as_str() == code) else {
            panic!("no {code} among {found:#?}");
        };
        assert_eq!(got.severity, case.severity, "{code}");
        let place = place.map(|p| format!("{p} {}", case.field).trim_end().to_owned());
        assert_eq!(got.place, place, "{code}");
        let unexpected: Vec<_> = found
            .iter()
            .filter(|r| r.severity == thawline::error::Severity::Error && r.code.as_str() != code)
            .collect();
        assert!(unexpected.is_empty(), "{code} and {unexpected:#?}");
    }
}

#[test]
fn errors_and_warnings_say_what_was_expected_and_what_to_do() {
    for case in cases() {
        let (found, _) = provoke(case.how);
        for r in found {
            let told = r.expected.is_some() && r.hint.is_some();
            assert!(
                told || r.severity == thawline::error::Severity::Note,
                "{r:#?}"
            );
            for text in [Some(r.what), r.expected].into_iter().flatten() {
                assert!(!text.starts_with(char::is_uppercase), "{text}");
                assert!(!text.ends_with('.'), "{text}");
                assert!(!text.contains('\n'), "{text}");
            }
        }
    }
}

#[test]
fn every_code_is_provoked_but_for_named_exceptions() {
    let mut seen: BTreeSet<Code> = cases().iter().map(|c| c.code).collect();
    for (code, why) in EXCEPTIONS {
        assert!(seen.insert(code), "{code} is provoked, although {why}");
    }
    let all: BTreeSet<Code> = Code::ALL.iter().copied().collect();
    assert_eq!(seen, all);
}

#[test]
fn each_code_and_each_summary_stands_for_one_thing() {
    let codes: BTreeSet<&str> = Code::ALL.iter().map(|c| c.as_str()).collect();
    let summaries: BTreeSet<&str> = Code::ALL.iter().map(|c| c.summary()).collect();
    assert_eq!(codes.len(), Code::ALL.len());
    assert_eq!(summaries.len(), Code::ALL.len());
}
