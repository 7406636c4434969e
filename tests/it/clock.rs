//! The 12-hour clock by choice: every time that people read is on it, and data keep theirs.

use thawline::units::Clock;

use crate::bad_input::{Folder, printed as out};
use crate::support::demo;

const SESSION: &str = "--session late/1/ai@creek";

/// Times with neither am nor pm behind them. Places in a file are none, nor what is quoted from one.
fn without_half(text: &str) -> Vec<&str> {
    let is_time = |word: &str| {
        let digit = |n: usize| word.as_bytes().get(n).is_some_and(u8::is_ascii_digit);
        let mut colons = word.match_indices(':').filter(|(n, _)| *n > 0);
        let file = word.contains(".yaml:") || word.contains(['"', '`']);
        !file && colons.any(|(n, _)| digit(n - 1) && digit(n + 1) && digit(n + 2))
    };
    let words: Vec<&str> = text.split_whitespace().chain([""]).collect();
    let halves = ["am", "pm"];
    let pairs = words.windows(2);
    let bare = pairs.filter(|w| is_time(w[0]) && !halves.iter().any(|h| w[1].starts_with(h)));
    bare.map(|w| w[0]).collect()
}

/// On either clock the same words are said, and on the 12-hour clock each time has its half. Names of
/// columns stand in as many lines as the columns are narrow, so the words' order is left aside.
fn told_alike(what: &str, on_12h: &str, on_24h: &str) {
    assert_eq!(without_half(on_12h), [""; 0], "{what}: {on_12h}");
    assert_ne!(without_half(on_24h), [""; 0], "{what}: {on_24h}");
    let line: Vec<&str> = on_12h.split_whitespace().collect();
    let same = Clock::H12
        .on_24h(&line.join(" "))
        .replace("12-hour", "24-hour");
    let words = |text: &str| {
        let mut all: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
        all.sort();
        all
    };
    assert_eq!(words(&same), words(on_24h), "{what}");
}

#[test]
fn every_text_is_told_on_the_clock_asked_for() {
    for args in [
        "plan demo/season.yaml --full",
        "plan demo/season.yaml",
        "thaw demo/season.yaml",
        &format!("thaw demo/season.yaml {SESSION}"),
        "tank demo/season.yaml",
        "chance demo/season.yaml --runs 20",
        "cover demo/season.yaml",
        "choose demo/wishes.yaml",
        "protocols cow-co-synch --zone America/Denver --start 2027-03-12T14:00",
        "protocols cow-co-synch --zone America/Denver --breed-at 2027-05-20T12:00",
        "protocols --cattle beef --zone America/Denver --breed-at 2027-05-20T00:30",
    ] {
        let on_12h = out(&format!("{args} --units 12h"));
        assert!(on_12h.lines().all(|l| l.len() < 120), "{args}: {on_12h}");
        told_alike(args, &on_12h, &out(args));
    }
    // What to write into the file is told as it is written there.
    let args = "cover demo/season.yaml --technicians 1";
    let [on_12h, on_24h] = ["12h", "24h"].map(|c| out(&format!("{args} --units us,{c}")));
    for said in [
        "in place of 4:30 am to 2:00 pm.",
        "in place of 04:30 to 14:00",
    ] {
        let words = on_12h.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains(said), "{on_12h}");
    }
    assert!(on_24h.contains("04:30 to 14:00"), "{on_24h}");
}

/// Text of a page: what is in no tag, style or script.
fn of_page(html: &str) -> String {
    let mut text = String::new();
    let mut rest = html;
    while let Some((before, tag)) = rest.split_once('<') {
        text += before;
        // Seconds stand small beside their minutes; cells and lines stand apart.
        if !tag.trim_start_matches('/').starts_with("small") {
            text.push(' ');
        }
        let end = ["style", "script"].iter().find(|t| tag.starts_with(**t));
        let close = end.map_or_else(|| ">".to_owned(), |t| format!("</{t}>"));
        rest = tag.split_once(&close).unwrap().1;
    }
    text + rest
}

#[test]
fn every_file_is_told_on_the_clock_asked_for() {
    let folder = Folder::new();
    let files = ["12h", "24h"].map(|clock| {
        let dir = folder.path().join(clock);
        let (into, wall) = (dir.display(), folder.path().join("wall.html"));
        out(&format!(
            "plan demo/season.yaml --units {clock} --out {into}"
        ));
        let args = format!("thaw demo/season.yaml {SESSION} --units {clock} --page");
        out(&format!("{args} {}", wall.display()));
        let read = |name: &str| std::fs::read_to_string(dir.join(name)).unwrap();
        [
            of_page(&read("season.html")),
            of_page(&std::fs::read_to_string(wall).unwrap()),
            read("season.ics").replace("\r\n ", ""),
            read("technician-ana.ics").replace("\r\n ", ""),
        ]
    });
    let names = ["page", "wall", "calendar", "technician"];
    for (name, (on_12h, on_24h)) in names.iter().zip(files[0].iter().zip(&files[1])) {
        // When a calendar was made differs.
        let made = |text: &str| -> String {
            let lines = text.lines().filter(|l| !l.starts_with("DTSTAMP"));
            let lines = lines.filter(|l| !l.starts_with("LAST-MODIFIED"));
            lines.collect::<Vec<_>>().join("\n")
        };
        told_alike(name, &made(on_12h), &made(on_24h));
    }
}

/// Moments, tables and the plan's id are the same on either clock; sentences follow it.
#[test]
fn data_keep_the_24_hour_clock() {
    for args in [
        "plan demo/season.yaml --csv",
        "plan demo/season.yaml --csv=sessions",
        "plan demo/season.yaml --csv=breeding",
        &format!("thaw demo/season.yaml {SESSION} --csv"),
        "thaw demo/season.yaml --csv",
        "tank demo/season.yaml --csv",
        "chance demo/season.yaml --runs 20 --csv",
        "cover demo/season.yaml --csv",
        "choose demo/wishes.yaml --csv",
        "protocols cow-co-synch --zone America/Denver --start 2027-03-12T14:00 --csv",
    ] {
        assert_eq!(out(&format!("{args} --units 12h")), out(args), "{args}");
    }
    for (args, told) in [
        ("plan demo/season.yaml", true),
        ("thaw demo/season.yaml", true),
        ("tank demo/season.yaml", true),
        ("chance demo/season.yaml --runs 20", true),
        ("cover demo/season.yaml --technicians 1", true),
        ("choose demo/wishes.yaml", false),
        (
            "protocols cow-co-synch --zone America/Denver --start 2027-03-12T14:00",
            false,
        ),
    ] {
        let read = |clock: &str| -> serde_json::Value {
            let text = out(&format!("{args} --json --units {clock}"));
            serde_json::from_str(&Clock::H12.on_24h(&text)).unwrap()
        };
        let (mut on_12h, on_24h) = (read("12h"), read("24h"));
        let all = on_12h.as_object_mut().unwrap();
        let units = all.remove("units").map(|u| u["clock"].clone());
        let clock = units.or_else(|| all.remove("clock"));
        assert_eq!(clock.is_some_and(|c| c == "12h"), told, "{args}");
        assert_eq!(on_12h, on_24h, "{args}");
    }
}

#[test]
fn the_seasons_own_clock_holds_unless_another_is_asked_for() {
    let folder = Folder::new();
    let bare = demo().replace("sites:\n", "units: {clock: 12h}\nsites:\n");
    let bare = bare
        .lines()
        .filter(|l| !l.trim_start().starts_with("herd:"));
    let bare: Vec<&str> = bare.filter(|l| !l.starts_with("scores:")).collect();
    let file = folder.path().join("s.yaml");
    std::fs::write(&file, bare.join("\n")).unwrap();
    let args = format!("plan {} --full", file.display());
    let own = out(&args);
    // Other units leave the clock alone.
    let metric = out(&format!("{args} --units metric"));
    for text in [&own, &metric] {
        assert_eq!(without_half(text), [""; 0], "{text}");
    }
    told_alike("own", &own, &out(&format!("{args} --units 24h")));
}
