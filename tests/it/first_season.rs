//! A season of which little is said yet: it is planned, what is assumed is told, and writing it out changes nothing.

use thawline::error::Code;
use thawline::season;

use crate::bad_input::{Folder, thawline};
use crate::support::{LIBRARY, plan_of};

const FOUR: &str = "zone: America/Denver
groups:
  - {head: 60, protocol: cow-7-day-co-synch-insert, start: 2027-05-03}
";

/// The same, with all that is assumed.
const WRITTEN: &str = "format: thawline.season/1
name: Breeding season
zone: America/Denver
sites: [{id: home, breeding_boxes: 1, injections_head_per_hour: 60, inserts_head_per_hour: 40}]
groups:
  - {id: group-1, site: home, class: cow, head: 60, protocol: cow-7-day-co-synch-insert, start: 2027-05-03T17:00, bulls: [bull]}
crew: [{id: technician, cows_per_hour: 20, shifts: [{from: \"05:00\", to: \"19:00\"}]}]
semen: [{bull: bull, straws: 120}]
";

fn assumed(text: &str) -> Vec<String> {
    let (_, found) = season::read("s.yaml", text.as_bytes(), &LIBRARY).unwrap();
    let notes = found.into_iter().filter(|f| f.code == Code::Assumed);
    notes.map(|f| f.what).collect()
}

#[test]
fn what_is_assumed_is_told_and_writing_it_out_changes_nothing() {
    let (_, plan) = plan_of(FOUR);
    let (_, written) = plan_of(WRITTEN);
    assert_eq!(assumed(WRITTEN), [""; 0]);
    let told = assumed(FOUR).concat();
    let numbers = WRITTEN
        .split(['[', ']', '{', '}', '\n'])
        .flat_map(|l| l.split(", "));
    for line in [
        "breeding_boxes: 1",
        "injections_head_per_hour: 60",
        "cows_per_hour: 20",
        "straws: 120",
    ] {
        assert!(
            told.contains(line) && numbers.clone().any(|n| n == line),
            "{line}: {told}"
        );
    }
    assert_eq!(plan.sessions, written.sessions);
    assert_eq!(plan.passes, written.passes);
    assert_eq!(plan.verdict.uncovered_head, 0);
}

/// Straws that nobody has counted are to be bought.
#[test]
fn no_straw_is_on_hand_that_nobody_has_counted() {
    let need = |text: &str| {
        let (season, plan) = plan_of(text);
        let order = thawline::supplies::of_plan(&season, &plan);
        (order.straws[0].on_hand, order.straws[0].to_buy)
    };
    assert_eq!(need(FOUR), (0, 60));
    assert_eq!(need(WRITTEN), (120, 0));
}

/// Each key by itself.
#[test]
fn any_one_of_them_may_be_left_out() {
    for key in [
        "breeding_boxes: 1, ",
        ", injections_head_per_hour: 60",
        "id: home, ",
        "id: group-1, ",
        "site: home, ",
        "class: cow, ",
        ", bulls: [bull]",
        ", cows_per_hour: 20",
        ", straws: 120",
        "format: thawline.season/1\n",
        "name: Breeding season\n",
        "T17:00",
    ] {
        assert!(WRITTEN.contains(key), "{key}");
        let (_, plan) = plan_of(&WRITTEN.replacen(key, "", 1));
        assert_eq!(plan.verdict.uncovered_head, 0, "{key}");
    }
    // Where cattle of both classes may have the protocol, nobody but the user knows.
    let both = FOUR.replace("cow-7-day-co-synch-insert", "both-insert-pg-label-56h");
    let error = season::read("s.yaml", both.as_bytes(), &LIBRARY).unwrap_err();
    assert_eq!(
        error.findings()[0].place.as_ref().unwrap().field,
        "groups[0].class"
    );
}

#[test]
fn people_write_dates_words_and_lists_in_their_own_way() {
    let own = WRITTEN
        .replace("2027-05-03T17:00", "May 3, 2027 5 pm")
        .replace("start: May 3, 2027 5 pm", "start: \"May 3, 2027 5 pm\"")
        .replace("class: cow", "class: Cows")
        .replace("bulls: [bull]", "bulls: bull")
        .replace(
            "from: \"05:00\", to: \"19:00\"",
            "days: [Monday, tues, WED, thursday, fri, sat, Sunday], from: 5am, to: 7:00 p.m.",
        );
    let (_, plan) = plan_of(&own);
    assert_eq!(plan.sessions, plan_of(WRITTEN).1.sessions);
}

/// What cannot be understood gets a line to write.
#[test]
fn the_right_form_is_shown() {
    for (wrong, right) in [
        ("head: ~60", "write only the number: 60"),
        ("head: 60 head", "write only the number: 60"),
        ("start: 3/4/2027", "Write 2027-03-04 or 2027-04-03"),
        ("start: 14/5/2027", "write 2027-05-14"),
    ] {
        let key = wrong.split(':').next().unwrap();
        let from = WRITTEN.find(&format!(" {key}: ")).unwrap() + 1;
        let to = from + WRITTEN[from..].find(',').unwrap();
        let text = [&WRITTEN[..from], wrong, &WRITTEN[to..]].concat();
        let error = season::read("s.yaml", text.as_bytes(), &LIBRARY).unwrap_err();
        let hints: Vec<_> = error
            .findings()
            .iter()
            .filter_map(|f| f.hint.clone())
            .collect();
        assert!(
            hints.iter().any(|h| h.contains(right)),
            "{wrong}: {hints:?}"
        );
    }
    let shifts = WRITTEN.replace("[{from: \"05:00\", to: \"19:00\"}]", "6am-5pm");
    let error = season::read("s.yaml", shifts.as_bytes(), &LIBRARY).unwrap_err();
    let hint = error.findings()[0].hint.clone().unwrap();
    assert!(
        hint.contains("- {from: \"05:00\", to: \"19:00\"}"),
        "{hint}"
    );
}

/// Days that do not pass while these tests are in use.
const ANSWERS: &str = "180 heifers\nDenver\n15 May 2097\nAna, Burt\n1\n";

#[test]
fn five_questions_make_a_season_that_plans() {
    let folder = Folder::with("other.yaml", "");
    let run = |args: &[&str], typed: &str| {
        let mut command = thawline();
        let command = command.current_dir(folder.path()).args(args);
        let done = command.write_stdin(typed).output().unwrap();
        (
            done.status.code(),
            String::from_utf8(done.stdout).unwrap(),
            String::from_utf8(done.stderr).unwrap(),
        )
    };
    let (code, out, _) = run(&["new", "typed.yaml"], ANSWERS);
    assert!(
        code == Some(0) && out.starts_with("180 heifers on") && out.contains("On time"),
        "{out}"
    );
    // As options, and with what is asked again after a slip.
    let options = [
        "new",
        "given.yaml",
        "--animals",
        "180 heifers",
        "--zone",
        "Denver",
        "--breed-on",
        "2097-05-15",
    ];
    let (code, _, _) = run(
        &[&options[..], &["--crew", "Ana, Burt", "--protocol", "1"]].concat(),
        "",
    );
    assert_eq!(code, Some(0));
    let slips = ANSWERS
        .replace("180 heifers", "many\n180\n180 heifers")
        .replace("\n15 May", "\n15/5/2097\n15 May");
    let (code, _, err) = run(&["new", "slips.yaml"], &slips);
    assert!(code == Some(0) && err.contains("write 2097-05-15"), "{err}");
    let read = |name: &str| std::fs::read_to_string(folder.path().join(name)).unwrap();
    assert_eq!(read("typed.yaml"), read("given.yaml"));
    assert_eq!(read("typed.yaml"), read("slips.yaml"));
    let (code, _, err) = run(&["plan", "typed.yaml"], "");
    assert_eq!(code, Some(0), "{err}");
    // What is there is not written over, and nothing is asked in vain.
    let (code, _, err) = run(&["new", "typed.yaml"], ANSWERS);
    assert!(code == Some(2) && !err.contains("How many"), "{err}");
    // Without answers there is no season, and no file.
    for args in [
        &["new", "none.yaml", "--animals", "lots"][..],
        &["new", "none.yaml", "--animals", "0 cows"],
        &["new", "none.yaml", "--zone", "Mars"],
        &[
            "new",
            "none.yaml",
            "--zone",
            "America/Denver",
            "--breed-on",
            "2020-05-15",
        ],
        &[
            "new",
            "none.yaml",
            "--zone",
            "America/Denver",
            "--protocol",
            "99",
        ],
        &[
            "new",
            "none.yaml",
            "--zone",
            "America/Denver",
            "--crew",
            ",",
        ],
    ] {
        let (code, out, err) = run(args, "");
        assert!(
            code == Some(2) && out.is_empty() && err.contains("hint:"),
            "{args:?}: {err}"
        );
        assert!(!folder.path().join("none.yaml").exists());
    }
}
