//! Makes seasons for tests and benchmarks. Every name is invented; the same numbers give the same
//! season.

#![allow(dead_code)]

use std::fmt::Write as _;

/// A small seeded generator, so that a season does not depend on any crate's version.
pub struct Dice(pub u64);

impl Dice {
    /// A number below `n`.
    pub fn below(&mut self, n: u64) -> u64 {
        // splitmix64
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % n.max(1)
    }

    /// A number from `low` to `high`.
    pub fn from(&mut self, low: u64, high: u64) -> u64 {
        low + self.below(high - low + 1)
    }

    /// One of several.
    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len() as u64) as usize]
    }
}

/// What a large season is made of.
pub struct Size {
    pub groups: u64,
    pub head: u64,
    pub technicians: u64,
    pub sites: u64,
    pub days: u64,
}

/// A season of many groups over many days: starts fall at working hours, so that most can be
/// covered and some cannot.
pub fn large(size: &Size, seed: u64) -> String {
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
