//! Makes seasons for tests and benchmarks. Every name is invented; the same numbers give the same
//! season.

#![allow(dead_code)]

use std::fmt::Write as _;

/// A small seeded generator, so that a season does not depend on any crate's version.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    /// A number below `n`.
    pub(crate) fn below(&mut self, n: u64) -> u64 {
        // splitmix64
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % n.max(1)
    }

    /// A number from `low` to `high`.
    pub(crate) fn from(&mut self, low: u64, high: u64) -> u64 {
        low + self.below(high - low + 1)
    }

    /// One of several.
    pub(crate) fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len() as u64) as usize]
    }
}

/// How many cases a large property is tried with: `few` as a rule, `all` where `THAWLINE_CASES` is
/// `all`, and so many times as many as `all` where it is a number.
pub(crate) fn cases(few: u32, all: u32) -> u32 {
    match std::env::var("THAWLINE_CASES").as_deref() {
        Err(_) => few,
        Ok("all") => all,
        Ok(times) => {
            let times: u32 = times.parse().expect("THAWLINE_CASES: `all`, or a number");
            all * times
        }
    }
}

/// The same for a property of proptest. Cases that fail are printed, and kept as tests of their own.
pub(crate) fn config(few: u32, all: u32) -> proptest::test_runner::Config {
    proptest::test_runner::Config {
        cases: cases(few, all),
        failure_persistence: None,
        ..proptest::test_runner::Config::default()
    }
}

/// What a large season is made of.
pub(crate) struct Size {
    pub(crate) groups: u64,
    pub(crate) head: u64,
    pub(crate) technicians: u64,
    pub(crate) sites: u64,
    pub(crate) days: u64,
}

/// A season of many groups over many days: starts fall at working hours, so that most can be
/// covered and some cannot.
pub(crate) fn large(size: &Size, seed: u64) -> String {
    let mut dice = Dice(seed);
    let mut y = String::from(
        "format: thawline.season/1\nname: A large invented season\nzone: America/Chicago\nsites:\n",
    );
    for s in 0..size.sites {
        let _ = writeln!(
            y,
            "  - {{id: site {s}, injections_head_per_hour: 80, inserts_head_per_hour: 60, breeding_boxes: 2}}"
        );
    }
    y.push_str("groups:\n");
    let protocols = [
        ("cow-7-day-co-synch-insert", "cow", 14),
        ("cow-5-day-co-synch-insert", "cow", 7),
        ("cow-7-and-7-synch", "cow", 12),
        ("heifer-mga-pg", "heifer", 8),
        ("heifer-14-day-insert-pg", "heifer", 12),
    ];
    for g in 0..size.groups {
        let (protocol, class, hour) = *dice.pick(&protocols);
        let day = 1 + g * size.days / size.groups;
        let each = size.head / size.groups;
        let head = dice.from(each / 2, each * 3 / 2).max(1);
        let order = dice.pick(&["kept", "mixed"]);
        let _ = writeln!(
            y,
            "  - {{id: group {g}, site: site {}, class: {class}, head: {head}, protocol: {protocol}, start: \"2027-{:02}-{:02}T{hour:02}:00\", pens: {}, order: {order}, bulls: [bull {}, bull {}]}}",
            g % size.sites,
            4 + (day - 1) / 30,
            1 + (day - 1) % 30,
            1 + head / 90,
            g % 5,
            (g + 1) % 5,
        );
    }
    y.push_str("crew:\n");
    for t in 0..size.technicians {
        let _ = writeln!(
            y,
            "  - {{id: technician {t}, minutes_per_cow: {}, minutes_spread: 0.8, helper: {}, home_site: site {}, shifts: [{{from: \"{:02}:00\", to: \"18:00\"}}]}}",
            [3.0, 3.5, 4.0][(t % 3) as usize],
            t % 2 == 0,
            t % size.sites,
            4 + t % 2,
        );
    }
    y.push_str("semen:\n");
    for b in 0..5 {
        let _ = writeln!(y, "  - {{bull: bull {b}, straws: {}}}", size.head);
    }
    y.push_str("rules: {road_minutes: 40}\n");
    y
}

/// A season of a breeding service whose people each work from home in one of several regions:
/// sites of a region are 20 to 60 minutes apart, regions five hours. Groups are bred on days that
/// crowd towards the middle of the season, at hours that fall into the forenoon; each technician
/// works five days of the week. With `days` from the first breeding to the last, 20 head for each
/// technician and day of the season fill the crew on the fullest days, and some fall short.
pub(crate) fn territory(size: &Size, seed: u64) -> String {
    let mut dice = Dice(seed);
    let regions = size.sites.div_ceil(12);
    let region = |n: u64| n % regions;
    let mut y = String::from(
        "format: thawline.season/1\nname: A territory (invented)\nzone: America/Chicago\nsites:\n",
    );
    for s in 0..size.sites {
        let near: Vec<String> = (s + 1..size.sites)
            .filter(|o| region(*o) == region(s))
            .map(|o| format!("site {o}: {}", 5 * dice.from(4, 12)))
            .collect();
        let _ = writeln!(
            y,
            "  - {{id: site {s}, injections_head_per_hour: {}, inserts_head_per_hour: 60, breeding_boxes: {}, thaw_bath_straws: 20, minutes_to: {{{}}}}}",
            dice.from(7, 10) * 10,
            dice.from(2, 3),
            near.join(", ")
        );
    }
    y.push_str("groups:\n");
    // Days from the start to breeding, and an hour of the start that leads to about 9 o'clock.
    let protocols = [
        ("cow-7-day-co-synch-insert", "cow", 10, 18),
        ("cow-7-day-co-synch-insert", "cow", 10, 18),
        ("cow-5-day-co-synch-insert", "cow", 8, 8),
        ("cow-7-and-7-synch", "cow", 17, 14),
        ("heifer-mga-pg", "heifer", 35, 8),
        ("heifer-14-day-insert-pg", "heifer", 33, 14),
    ];
    let first = chrono::NaiveDate::from_ymd_opt(2027, 4, 12).expect("a date");
    for g in 0..size.groups {
        let (protocol, class, before, hour) = *dice.pick(&protocols);
        let day = u64::midpoint(dice.below(size.days), dice.below(size.days + 1));
        let start = first + chrono::Days::new(day) - chrono::Days::new(before);
        let each = size.head / size.groups;
        let head = dice.from(each / 2, each * 3 / 2).max(1);
        let bull = dice.below(40);
        let _ = writeln!(
            y,
            "  - {{id: group {g}, site: site {}, class: {class}, head: {head}, protocol: {protocol}, start: \"{start}T{:02}:{:02}\", pens: {}, order: {}, bulls: [bull {bull}, bull {}]}}",
            dice.below(size.sites),
            hour + dice.below(2),
            dice.below(4) * 15,
            1 + head / 90,
            dice.pick(&["kept", "kept", "mixed"]),
            (bull + 1) % 40,
        );
    }
    y.push_str("crew:\n");
    let week = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
    for t in 0..size.technicians {
        let days: Vec<&str> = (0..5).map(|d| week[((t + 3 * d) % 7) as usize]).collect();
        let begins = dice.from(4, 6);
        let _ = writeln!(
            y,
            "  - {{id: technician {t}, cows_per_hour: {}, minutes_spread: 0.{}, helper: {}, home_site: site {}, shifts: [{{days: [{}], from: \"{begins:02}:00\", to: \"{:02}:00\"}}]}}",
            dice.from(9, 15),
            dice.from(5, 9),
            dice.below(2) == 0,
            t % size.sites,
            days.join(", "),
            begins + 9,
        );
    }
    y.push_str("semen:\n");
    for b in 0..40 {
        let _ = writeln!(y, "  - {{bull: bull {b}, straws: {}}}", size.head / 10);
    }
    y.push_str("rules: {road_minutes: 300}\n");
    y
}

/// Read once: it is the same for every test.
pub(crate) static LIBRARY: std::sync::LazyLock<thawline::Library> =
    std::sync::LazyLock::new(thawline::Library::built_in);

/// The head of a herd file of cows as [`herd_row`] makes them.
pub(crate) const HERD_HEAD: &str = "animal,class,birth_date,last_calving_date,breed,body_condition,weight_lb,weighed_date,frame_score,sire,dam,notes\n";

/// A cow of a large herd: now and then thin, late or with blank cells.
pub(crate) fn herd_row(n: u64, dice: &mut Dice) -> String {
    let electronic = dice.below(2) == 0;
    let id = if electronic {
        format!("999{n:012}")
    } else {
        format!("T-{n}")
    };
    let condition = match dice.below(20) {
        0 => String::new(),
        _ => format!("{}.{}", dice.from(4, 6), dice.pick(&["0", "5"])),
    };
    format!(
        "{id},cow,{}-{:02}-{:02},2027-{:02}-{:02},crossbred,{condition},{},2027-04-{:02},{}.{},Dry Fork {},D-{},{}\n",
        dice.from(2016, 2023),
        dice.from(1, 12),
        dice.from(1, 28),
        dice.from(1, 4),
        dice.from(1, 28),
        dice.from(950, 1500),
        dice.from(1, 28),
        dice.from(4, 6),
        dice.below(10),
        dice.below(30),
        dice.below(n + 1) + 1_000_000,
        if dice.below(10) == 0 {
            "\"calm, \"\"old\"\"\""
        } else {
            ""
        }
    )
}

/// A season of one group of cows, with a herd file.
pub(crate) fn herd_season(head: u64, herd: &str) -> String {
    format!(
        "format: thawline.season/1\nname: A herd (invented)\nzone: America/Denver\nsites: [{{id: yard, injections_head_per_hour: 80, breeding_boxes: 2}}]\ngroups:\n  - {{id: cows, site: yard, class: cow, head: {head}, protocol: cow-7-day-co-synch-insert, start: 2027-05-03T20:00, bulls: [Ash 1], herd: {herd}}}\ncrew: [{{id: ana, minutes_per_cow: 3, helper: true}}]\nsemen: [{{bull: Ash 1, straws: {head}}}]\n"
    )
}

/// Files of matings: a season of cows and heifers with bulls of which half are too few, a herd of
/// each, and a score for each animal and bull.
pub(crate) fn matings(head: u64, bulls: u64) -> [(&'static str, String); 4] {
    use std::fmt::Write as _;
    let mut dice = Dice(1);
    let names: Vec<String> = (0..bulls).map(|n| format!("Bull {n}")).collect();
    let mut season = String::from(
        "format: thawline.season/1\nname: Matings (invented)\nzone: America/Denver\nsites: [{id: yard, injections_head_per_hour: 80, breeding_boxes: 2}]\ncrew: [{id: ana, minutes_per_cow: 3, helper: true}]\nscores: scores.csv\ngroups:\n",
    );
    let mut scores = format!("animal,{}\n", names.join(","));
    let mut files = Vec::new();
    for class in ["cow", "heifer"] {
        let _ = writeln!(
            season,
            "  - {{id: {class}s, site: yard, class: {class}, head: {}, protocol: {class}-7-day-co-synch-insert, start: 2027-05-03T20:00, bulls: [{}], herd: {class}s.csv}}",
            head / 2,
            names.join(", ")
        );
        let mut herd = "animal,sire,dam,sexed\n".to_owned();
        for n in 0..head / 2 {
            let sire = dice.below(2 * bulls);
            let sexed = dice.pick(&["yes", "", ""]);
            let _ = writeln!(herd, "{class}-{n},Bull {sire},D-{n},{sexed}");
            let _ = write!(scores, "{class}-{n}");
            for _ in 0..bulls {
                let _ = write!(scores, ",{}", dice.below(101));
            }
            scores.push('\n');
        }
        files.push(herd);
    }
    season.push_str("semen:\n");
    let each = head * 5 / 4 / bulls.max(1);
    for n in 0..bulls {
        let straws = if n % 2 == 0 { each / 2 } else { each * 3 / 2 };
        let _ = writeln!(
            season,
            "  - {{bull: Bull {n}, straws: {straws}, tank: T, canister: 1, cane: c{n}}}"
        );
    }
    season.push_str("bulls:\n");
    for n in 0..bulls {
        let _ = writeln!(
            season,
            "  - {{id: Bull {n}, calving_ease: {}, sexed: {}, sire: Bull {}}}",
            n % 3 == 0,
            n % 5 == 4,
            2 * bulls - 1 - n
        );
    }
    let heifers = files.pop().unwrap_or_default();
    let cows = files.pop().unwrap_or_default();
    [
        ("matings.yaml", season),
        ("cows.csv", cows),
        ("heifers.csv", heifers),
        ("scores.csv", scores),
    ]
}

/// A season of one group of cows in kept order, bred by one crew.
pub(crate) fn crew_season(head: u64, crew: &str, rules: &str) -> String {
    format!(
        "format: thawline.season/1\nname: A crew (invented)\nzone: America/Denver\nsites: [{{id: yard, injections_head_per_hour: 60, inserts_head_per_hour: 40, breeding_boxes: 2}}]\ngroups:\n  - {{id: cows, site: yard, class: cow, head: {head}, protocol: cow-7-day-co-synch-insert, start: 2027-05-03T14:00, order: kept, bulls: [Ash 1]}}\ncrew: {crew}\nsemen: [{{bull: Ash 1, straws: {head}}}]\nrules: {rules}\n"
    )
}

/// Reads and plans a season given as text.
pub(crate) fn plan_of(text: &str) -> (thawline::season::Season, thawline::plan::Plan) {
    let (season, found) = thawline::season::read("season.yaml", text.as_bytes(), &LIBRARY)
        .unwrap_or_else(|e| panic!("{e}\n{text}"));
    let plan = thawline::pipeline::plan(&season, &found).unwrap_or_else(|e| panic!("{e}\n{text}"));
    (season, plan)
}

/// The demo season.
pub(crate) fn demo() -> String {
    std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/demo/season.yaml")).unwrap()
}

/// For some groups, pens that begin at hours of their own.
fn own_starts(seed: u64, date: &str, from: (u64, u64), pens: u64) -> String {
    let mut dice = Dice(seed);
    if pens < 2 || dice.below(3) > 0 || from.0 > 18 {
        return String::new();
    }
    let starts: Vec<String> = (0..pens)
        .map(|_| {
            let at = from.0 * 60 + from.1 + 15 * dice.below(20);
            format!("\"{date}T{:02}:{:02}\"", at / 60, at % 60)
        })
        .collect();
    format!(", pen_starts: [{}]", starts.join(", "))
}

/// A small random season: one to three sites, mixed classes and orders, short crews.
pub(crate) fn small(seed: u64) -> String {
    let mut dice = Dice(seed);
    let zone = *dice.pick(&[
        "America/Denver",
        "America/New_York",
        "Australia/Sydney",
        "Europe/Dublin",
        "America/Phoenix",
    ]);
    let sites = dice.from(1, 3);
    let slot = *dice.pick(&[5, 10, 15, 30]);
    let mut y = format!(
        "format: thawline.season/1\nname: Season {seed} (invented)\nzone: {zone}\nsites:\n"
    );
    for s in 0..sites {
        let _ = writeln!(
            y,
            "  - {{id: s{s}, injections_head_per_hour: {}, inserts_head_per_hour: {}, breeding_boxes: {}}}",
            dice.from(40, 100),
            dice.from(25, 60),
            dice.from(1, 3)
        );
    }
    let protocols = [
        ("cow-7-day-co-synch-insert", "cow", 14),
        ("cow-5-day-co-synch-insert", "cow", 6),
        ("cow-co-synch", "cow", 10),
        ("cow-7-and-7-synch", "cow", 13),
        ("cow-7-day-co-synch-insert-split", "cow", 13),
        ("cow-select-synch-insert-timed", "cow", 9),
        ("heifer-7-day-co-synch-insert", "heifer", 8),
        ("heifer-5-day-co-synch-insert", "heifer", 5),
        ("heifer-mga-pg", "heifer", 7),
        ("heifer-mga-pg-detect", "heifer", 7),
        ("heifer-14-day-insert-pg", "heifer", 12),
        ("heifer-14-day-insert-pg-split", "heifer", 13),
    ];
    y.push_str("groups:\n");
    let day = dice.from(1, 20);
    // Around both changes of the clocks, north and south, and in between.
    let month = *dice.pick(&[2, 3, 4, 9, 10, 11]);
    for g in 0..dice.from(1, 4) {
        let (protocol, class, hour) = *dice.pick(&protocols);
        let head = dice.from(1, 110);
        let pens = dice.from(1, 3).min(head);
        let order = *dice.pick(&["kept", "mixed"]);
        let (site, day) = (dice.below(sites), day + dice.below(4));
        let (hour, minute) = ((hour + dice.below(4)) % 24, dice.below(4) * 15);
        let date = format!("2027-{month:02}-{day:02}");
        let _ = writeln!(
            y,
            "  - {{id: g{g}, site: s{site}, class: {class}, head: {head}, protocol: {protocol}, start: \"{date}T{hour:02}:{minute:02}\", pens: {pens}, order: {order}, bulls: [b{}, b{}]{}}}",
            g % 2,
            2,
            own_starts(seed ^ (g << 32), &date, (hour, minute), pens),
        );
    }
    y.push_str("crew:\n");
    for t in 0..dice.from(1, 4) {
        let pace = if dice.below(2) == 0 {
            format!("minutes_per_cow: {}.{}", dice.from(2, 5), dice.below(10))
        } else {
            format!("cows_per_hour: {}", dice.from(9, 20))
        };
        let shifts = match dice.below(3) {
            0 => String::new(),
            1 => format!(
                ", shifts: [{{from: \"{:02}:00\", to: \"{:02}:30\"}}]",
                dice.from(3, 8),
                dice.from(12, 22)
            ),
            _ => ", shifts: [{from: \"20:00\", to: \"08:00\"}, {from: \"09:00\", to: \"13:00\"}]"
                .to_owned(),
        };
        let home = if dice.below(2) == 0 {
            format!(", home_site: s{}", dice.below(sites))
        } else {
            String::new()
        };
        let _ = writeln!(
            y,
            "  - {{id: t{t}, {pace}, minutes_spread: 0.{}, helper: {}{home}{shifts}}}",
            dice.below(9),
            dice.below(2) == 0
        );
    }
    y.push_str("semen:\n");
    for b in 0..3 {
        let straws = if dice.below(4) == 0 {
            dice.from(0, 60)
        } else {
            400
        };
        let _ = writeln!(y, "  - {{bull: b{b}, straws: {straws}}}");
    }
    let _ = writeln!(
        y,
        "rules: {{slot_minutes: {slot}, road_minutes: {}, no_chute_work: [{{weekday: sun, from: \"08:00\", to: \"10:00\"}}]}}",
        dice.from(10, 90)
    );
    y
}

/// Groups with wishes for the same three weeks, at three sites with three technicians: more than
/// two on a day collide.
pub(crate) fn wishes(groups: u64, seed: u64) -> String {
    let mut dice = Dice(seed);
    let mut y = String::from(
        "format: thawline.season/1\nname: A crowded invented season\nzone: America/Denver\nsites:\n",
    );
    y.push_str("  - {id: a, injections_head_per_hour: 80, inserts_head_per_hour: 50, breeding_boxes: 2, minutes_to: {b: 35, c: 50}}\n");
    y.push_str("  - {id: b, injections_head_per_hour: 60, inserts_head_per_hour: 40, breeding_boxes: 2, minutes_to: {c: 20}}\n");
    y.push_str("  - {id: c, injections_head_per_hour: 60, inserts_head_per_hour: 40, breeding_boxes: 1}\ngroups:\n");
    for g in 0..groups {
        let _ = writeln!(
            y,
            "  - {{id: g{g}, site: {}, class: {}, head: {}, order: {}, bulls: [bull], wishes: {{breed_from: 2027-05-{}, breed_to: 2027-06-{:02}, heat_watch: unwanted, work_hours: {{from: \"06:00\", to: \"19:00\"}}}}}}",
            dice.pick(&["a", "a", "b", "c"]),
            dice.pick(&["cow", "cow", "heifer"]),
            dice.from(40, 140),
            dice.pick(&["kept", "mixed"]),
            dice.from(18, 24),
            dice.from(1, 8),
        );
    }
    y.push_str("crew:\n");
    for (id, pace, home, from, to) in [
        ("t0", "minutes_per_cow: 3, helper: true", "a", 5, 15),
        ("t1", "cows_per_hour: 13", "b", 5, 18),
        ("t2", "minutes_per_cow: 4, helper: true", "a", 6, 16),
    ] {
        let _ = writeln!(
            y,
            "  - {{id: {id}, {pace}, minutes_spread: 0.8, home_site: {home}, shifts: [{{from: \"{from:02}:00\", to: \"{to:02}:00\"}}]}}"
        );
    }
    y.push_str("semen: [{bull: bull, straws: 9000}]\nrules: {no_chute_work: [{weekday: sun}]}\n");
    y
}
