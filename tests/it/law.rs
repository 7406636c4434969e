//! What is legal where: refused with its source, left out of a choice, marked on every sheet where a season
//! file allows it; label doses and withdrawal of one country.

use thawline::aftercare::Kind;
use thawline::choose::{Limits, choose};
use thawline::output::answer::Answer as _;
use thawline::output::protocols::One;
use thawline::plan::Plan;
use thawline::progress::NoProgress;
use thawline::protocol::{Cattle, Delay, Library};
use thawline::season;
use thawline::units::Units;

use crate::bad_input::{Folder, thawline};
use crate::codes::SEASON;
use crate::support::{LIBRARY, plan_of};

const ESTRADIOL: &str = "cow-estradiol-insert-pg7";
const ALLOW: &str = "allow: [{drug: estradiol, reason: \"A permit (invented)\"}]\n";

/// The small season with another protocol, and this before its zone.
fn with(protocol: &str, more: &str) -> String {
    let text = SEASON.replace("cow-7-day-co-synch-insert", protocol);
    text.replace("zone:", &format!("{more}zone:"))
}

fn faults(text: &str) -> String {
    let read = season::read("season.yaml", text.as_bytes(), &LIBRARY);
    read.map_or_else(|e| e.to_string(), |_| String::new())
}

/// What `check` says of a season that can be planned.
fn notes(text: &str) -> String {
    let (season, mut found) = season::read("season.yaml", text.as_bytes(), &LIBRARY).unwrap();
    found.extend(season.label_notes());
    let found: Vec<String> = found.iter().map(ToString::to_string).collect();
    found.join("\n")
}

/// FDA-ECP, AVMA-ECP, AABP-E2: estradiol is not permitted in the United States; of Brazil, where it is used
/// (MENEG), no source speaks.
#[test]
fn estradiol_is_refused_in_the_united_states_alone() {
    let text = with(ESTRADIOL, "");
    let folder = Folder::with("season.yaml", &text);
    for command in ["check", "plan", "supplies"] {
        let mut run = thawline();
        let run = run
            .current_dir(folder.path())
            .args([command, "season.yaml"]);
        let done = run.assert().code(2);
        let done = done.get_output();
        let said = [&done.stdout, &done.stderr].map(|t| String::from_utf8_lossy(t).into_owned());
        let said = said.concat();
        for words in [
            "S130 season.yaml:13:15 groups[0].protocol",
            "US, from the zone",
            "FDA-ECP, AVMA-ECP",
            "AABP-E2",
            "allow: [{drug: estradiol",
        ] {
            let one_line = said.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(one_line.contains(words), "{command}: {words}: {said}");
        }
    }
    assert!(faults(&with(ESTRADIOL, "country: US\n")).contains("S130"));
    for elsewhere in ["BR", "AR", "CA", "GB"] {
        let text = with(ESTRADIOL, &format!("country: {elsewhere}\n"));
        let told = notes(&text);
        assert!(told.contains("ask your veterinarian"), "{told}");
        assert!(
            !told.contains("S131") && !told.contains("not permitted"),
            "{told}"
        );
    }
    // Nothing is known of where UTC is.
    let nowhere = text.replace("America/Denver", "UTC");
    assert!(notes(&nowhere).contains("state `country`"));
}

/// MU-ELDU, CFR-342: MGA in cows is not permitted; in heifers it is a matter for the veterinarian.
#[test]
fn mga_is_refused_in_cows_and_told_of_in_heifers() {
    let own = |class: &str| {
        let text = include_str!("../../protocols/heifer-mga-pg.yaml");
        let text = text.replace("id: heifer-mga-pg", "id: own");
        let text = text.replace("class: heifer", &format!("class: {class}"));
        text.replace("name: MGA-PG (fixed-time AI)", "name: Our own")
    };
    let read = |class: &str, country: &str| {
        let own = own("both");
        let (library, _) = Library::with_files([("own.yaml", own.as_bytes())]).unwrap();
        let text = with("own", country).replace("class: cow", &format!("class: {class}"));
        let found = season::read("season.yaml", text.as_bytes(), &library);
        match found {
            Ok((season, _)) => {
                let found = season.label_notes();
                found.iter().map(ToString::to_string).collect()
            }
            Err(e) => format!("refused: {e}"),
        }
    };
    let cows = read("cow", "");
    assert!(
        cows.starts_with("refused") && cows.contains("MU-ELDU"),
        "{cows}"
    );
    let heifers = read("heifer", "");
    assert!(
        heifers.contains("ask your veterinarian: feed by the label"),
        "{heifers}"
    );
    assert!(!read("cow", "country: CA\n").starts_with("refused"));
}

/// The words of each sheet of a plan.
fn sheets(text: &str) -> Vec<(String, String)> {
    let folder = Folder::with("season.yaml", text);
    let run = |args: &[&str]| {
        let done = thawline()
            .current_dir(folder.path())
            .args(args)
            .output()
            .unwrap();
        assert!(done.status.code().unwrap() < 2, "{args:?}: {done:?}");
        String::from_utf8(done.stdout).unwrap()
    };
    let mut all = vec![
        (
            "plan".to_owned(),
            run(&["plan", "season.yaml", "--out", "out"]),
        ),
        (
            "plan --full".to_owned(),
            run(&["plan", "season.yaml", "--full"]),
        ),
        (
            "plan --json".to_owned(),
            run(&["plan", "season.yaml", "--json"]),
        ),
        (
            "plan --csv".to_owned(),
            run(&["plan", "season.yaml", "--csv=passes"]),
        ),
        ("supplies".to_owned(), run(&["supplies", "season.yaml"])),
        (
            "supplies --json".to_owned(),
            run(&["supplies", "season.yaml", "--json"]),
        ),
        ("check".to_owned(), run(&["check", "season.yaml"])),
    ];
    for entry in std::fs::read_dir(folder.path().join("out")).unwrap() {
        let path = entry.unwrap().path();
        let bytes = std::fs::read(&path).unwrap();
        all.push((
            path.display().to_string(),
            String::from_utf8_lossy(&bytes).into_owned(),
        ));
    }
    all
}

/// A calendar folds lines at 75 bytes and escapes commas; a terminal breaks them.
fn one_line(text: &str) -> String {
    let text = text.replace("\r\n ", "").replace("\\,", ",");
    text.split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase()
}

#[test]
fn what_is_allowed_is_marked_on_every_sheet() {
    let text = with(ESTRADIOL, ALLOW);
    let mut seen = Vec::new();
    for (name, sheet) in sheets(&text) {
        let sheet = one_line(&sheet);
        // `check` and the terminal tell it once, with the law; the others with the reason.
        assert!(sheet.contains("not permitted"), "{name}: {sheet}");
        let is = |end: &str| name.ends_with(end);
        if is("html") || is("ics") || is("json") || is("supplies") {
            assert!(sheet.contains("a permit (invented)"), "{name}: {sheet}");
        }
        seen.push(name);
    }
    let some = |end: &str| seen.iter().any(|n| n.ends_with(end));
    assert!(some("html") && some("ics"));
    // By the protocol, too; and nothing is marked where nothing is refused.
    let named = ALLOW.replace("drug: estradiol", &format!("protocol: {ESTRADIOL}"));
    let (_, plan) = plan_of(&with(ESTRADIOL, &named));
    let allowed = &plan.groups[0].allowed;
    assert_eq!(allowed.len(), 1);
    assert_eq!(allowed[0].reason, "A permit (invented)");
    let marked = plan
        .passes
        .iter()
        .filter(|p| p.what.contains("not permitted in US"));
    assert_eq!(marked.count(), 2);
    let (_, brazil) = plan_of(&with(ESTRADIOL, "country: BR\n"));
    assert!(brazil.groups[0].allowed.is_empty());
    assert!(brazil.passes.iter().all(|p| !p.what.contains("permitted")));
}

#[test]
fn a_choice_leaves_out_what_is_refused_and_says_so() {
    let wishes = |more: &str| {
        let text = SEASON.replace(
            "    protocol: cow-7-day-co-synch-insert\n    start: 2027-05-03T20:00\n",
            "",
        );
        let text = text.replace(
            "order: kept",
            "wishes: {breed_from: 2027-05-20, breed_to: 2027-05-22, cattle: bos-indicus}",
        );
        text.replace("zone:", &format!("{more}zone:"))
    };
    let chosen = |text: &str| {
        let (season, _) = season::read("season.yaml", text.as_bytes(), &LIBRARY).unwrap();
        choose(&season, &LIBRARY, None, Limits::default(), &NoProgress).unwrap()
    };
    let estradiol = |c: &thawline::choose::Chosen| {
        let rows = c.groups[0].rows.iter();
        rows.filter(|r| r.protocol.id.as_str().contains("estradiol"))
            .count()
    };
    let us = chosen(&wishes(""));
    assert_eq!(estradiol(&us), 0);
    let left_out: Vec<&str> = us.groups[0]
        .not_permitted
        .iter()
        .map(|r| r.protocol.as_str())
        .collect();
    assert_eq!(left_out, [ESTRADIOL, "cow-estradiol-insert-pg9"]);
    let text = us.text();
    assert!(
        text.contains("not permitted in the season's country"),
        "{text}"
    );
    assert!(text.contains("AABP-E2"), "{text}");
    let only = |more: &str| {
        let only = format!("protocols: [{ESTRADIOL}], cattle: bos");
        wishes(more).replace("cattle: bos", &only)
    };
    let brazil = chosen(&only("country: BR\n"));
    assert!(estradiol(&brazil) > 0 && brazil.groups[0].not_permitted.is_empty());
    let allowed = chosen(&only(ALLOW));
    assert!(estradiol(&allowed) > 0);
    assert!(one_line(&allowed.text()).contains("a permit (invented)"));
    // Nor may a wish name one.
    let named = only("");
    assert!(
        faults(&named).contains("groups[0].wishes.protocols[0]"),
        "{}",
        faults(&named)
    );
}

fn withdrawal(plan: &Plan) -> (String, Vec<String>) {
    let mut events = plan.follow_up[0].events.iter();
    let event = events.find(|e| e.kind == Kind::Withdrawal).unwrap();
    (event.first_day.to_string(), event.words.clone())
}

/// NOAH-PG, NOAH-CLO2 and NOAH-CLOPROSTENOL are of the United Kingdom, and hold nowhere else. The last drug
/// of the small season is `GnRH` at breeding on Thu 13 May, PG came on Mon 10 May.
#[test]
fn withdrawal_is_of_one_country() {
    let of = |country: &str| withdrawal(&plan_of(&with("cow-7-day-co-synch-insert", country)).1);
    let (_, words) = of("country: GB\n");
    let text = words.join(" ");
    assert!(text.contains("in GB 2 days (dinoprost, NOAH-PG)"), "{text}");
    for country in ["", "country: US\n", "country: IE\n"] {
        let text = of(country).1.join(" ");
        assert!(
            text.contains("see the label") && !text.contains("NOAH"),
            "{text}"
        );
    }
    let heifers = |country: &str| {
        let text = with("heifer-mga-pg", country).replace("class: cow", "class: heifer");
        withdrawal(&plan_of(&text).1).1.join(" ")
    };
    assert!(heifers("").contains("0 days") && !heifers("").contains("CFIA"));
    assert!(heifers("country: CA\n").contains("1 day (in feedlots, CFIA)"));
}

#[test]
fn a_country_is_checked_against_the_zone() {
    let told = notes(&with("cow-7-day-co-synch-insert", "country: BR\n"));
    assert!(told.contains("S133") && told.contains("is of US"), "{told}");
    for (wrong, meant) in [("us", "US"), ("UK", "GB"), ("Brazil", "")] {
        let told = faults(&with(
            "cow-7-day-co-synch-insert",
            &format!("country: {wrong}\n"),
        ));
        assert!(told.contains("S133") && told.contains(meant), "{told}");
    }
    assert!(!notes(SEASON).contains("S133"));
}

/// Extra-label use as the labels have it: CFR-1077 and CFR-1073 of `GnRH`, CFR-1940 of a second service.
#[test]
fn extra_label_use_is_told() {
    assert!(notes(SEASON).contains("with dinoprost it names lactating dairy cows only (CFR-1077)"));
    let again = notes(&with("cow-resynch-insert", ""));
    assert!(
        again.contains("extra-label") && again.contains("CFR-1940"),
        "{again}"
    );
    let heifers = with("heifer-7-day-co-synch-insert", "").replace("class: cow", "class: heifer");
    assert!(notes(&heifers).contains("needs a veterinarian's prescription"));
    let dairy = notes(&with("cow-ovsynch-48", ""));
    assert!(!dairy.contains("S134"), "{dairy}");
}

fn protocol(id: &str) -> &'static thawline::protocol::Protocol {
    LIBRARY.get(id).unwrap()
}

fn sheet(id: &str) -> String {
    let units = Units::default();
    one_line(
        &One {
            protocol: protocol(id),
            units,
        }
        .text(),
    )
}

/// CFR-1073 and DM-GNRH43: the label of `GnRH`, PG and `GnRH` is for lactating dairy cows and for beef cows. The
/// law gives no hours from `GnRH` to breeding.
#[test]
fn the_label_protocol_is_for_beef_and_dairy_cows() {
    let p = protocol("cow-gnrh-pg-label");
    assert_eq!(p.cattle, [Cattle::Beef, Cattle::Dairy]);
    let hours = p
        .sources
        .iter()
        .find(|s| s.supports.contains("8 to 24 h"))
        .unwrap();
    assert!(hours.tag.is_none() && hours.unverified);
}

/// CFR-690 and CFR-1073 have one dose: two at once (BEESYNCH) stand under no label.
#[test]
fn a_double_dose_is_no_label_dose() {
    let text = sheet("cow-bee-synch-1");
    assert!(
        !text.contains("50 mg") && text.contains("no label that was read has that"),
        "{text}"
    );
    assert!(!sheet("cow-bee-synch-2").contains("double dose:"));
    let json = serde_json::to_value(protocol("cow-bee-synch-1")).unwrap();
    let dose = |d: &serde_json::Value| d["drug"] == "pg" && d["dose_micrograms"] == 25_000;
    assert_eq!(
        json["label_doses"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|d| dose(d))
            .count(),
        1
    );
}

/// Nobody can keep to the last minute of a window: the aim lies before it, as published.
#[test]
fn no_aim_is_the_last_minute_of_a_window() {
    for p in LIBRARY.iter() {
        for step in &p.steps {
            if let Delay::Elapsed(w) = step.delay {
                assert!(
                    w.earliest <= w.aim && w.aim < w.latest,
                    "{} {}",
                    p.id,
                    step.id
                );
            }
        }
    }
}

/// THOMAS-STAI2: only heifers still not in heat get `GnRH`. It is counted for all, and the sheets say so.
#[test]
fn gnrh_of_late_heifers_is_counted_for_all_and_said_to_be() {
    for p in LIBRARY.iter() {
        let mut notes = p.steps.iter().filter_map(|s| s.note.as_ref());
        if notes.any(|n| n.contains("those still not in heat")) {
            let said = p
                .notes
                .iter()
                .any(|n| n.starts_with("GnRH is counted for every"));
            assert!(said, "{}", p.id);
        }
    }
}

/// The law of a protocol stands on its sheet and in its JSON, and the list marks what is refused.
#[test]
fn a_protocol_says_where_it_is_not_permitted() {
    assert!(sheet(ESTRADIOL).contains("in us, estradiol: not permitted"));
    let json = serde_json::to_value(protocol(ESTRADIOL)).unwrap();
    assert_eq!(json["law"][0]["standing"], "not-permitted");
    let list = thawline().arg("protocols").output().unwrap();
    let list = one_line(&String::from_utf8(list.stdout).unwrap());
    assert_eq!(list.matches("(not permitted in us)").count(), 2, "{list}");
}
