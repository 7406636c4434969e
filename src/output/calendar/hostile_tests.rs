//! Text from people stays text.

use proptest::prelude::*;

use super::component::MOST_OCTETS;
use super::tests::{DEMO, every_calendar, lines};
use crate::output::demo::texts;

/// Names of content lines, in order: what a reader takes for structure.
fn skeleton(file: &str) -> Vec<String> {
    assert!(!file.replace("\r\n", "").contains(['\r', '\n']));
    for line in file.split("\r\n") {
        assert!(line.len() <= MOST_OCTETS, "{line}");
    }
    let name = |l: &String| match l.split_once([':', ';']) {
        Some(("BEGIN" | "END", _)) | None => l.clone(),
        Some((name, _)) => name.to_owned(),
    };
    lines(file).iter().map(name).collect()
}

fn assert_nothing_breaks_out(text: &str) {
    let mut plan = DEMO.clone();
    let mut harmless = DEMO.clone();
    for t in texts(&mut plan) {
        text.clone_into(t);
    }
    for t in texts(&mut harmless) {
        "x".clone_into(t);
    }
    for (told, wanted) in every_calendar(&plan).iter().zip(every_calendar(&harmless)) {
        assert_eq!(skeleton(told), skeleton(&wanted));
    }
}

#[test]
fn names_cannot_break_out() {
    for text in [
        "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:y",
        "x\rEND:VCALENDAR",
        "x\nATTACH:file:///y",
        "BEGIN:VEVENT",
        "a;b,c:d\\e\\n\"f\" 🐂 \u{2028}g",
        "\\",
        "",
    ] {
        assert_nothing_breaks_out(text);
    }
    assert_nothing_breaks_out(&"牛".repeat(500));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn no_text_breaks_out(text in "(?s)[\r\n:;,\\\\ a🐂]{0,12}.{0,120}") {
        assert_nothing_breaks_out(&text);
    }
}
