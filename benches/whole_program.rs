//! Times the whole program, from starting the process to its end, and its peak memory.
//!
//! `cargo bench` prints the best and the middle of several runs for the demo season; for a
//! season of 100 groups, 12,000 head and 40 technicians over 30 days at 20 sites; for four seasons of
//! one breeding service that grows from 3 groups to 2,000 (`support::territory`), with what is proven
//! and how full the fullest days are; for the readiness of a herd of 100,000, as text, with every
//! animal listed, and as JSON; for matings of 5,000 animals
//! with 40 bulls and of 20,000 with 80, a score for each pair; for a choice for one group and for ten; and, without the process, for
//! trying a session of 300 cows and two technicians on 10,000 days, with each of ten numbers of
//! straws. Memory is read
//! from GNU time, where it is installed. Nothing here passes or fails.

#[path = "../tests/support/mod.rs"]
mod support;

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

fn main() {
    let folder = std::env::temp_dir().join("thawline-bench");
    std::fs::create_dir_all(&folder).expect("a folder for the season");
    let large = folder.join("large.yaml");
    let size = support::Size {
        groups: 100,
        head: 12_000,
        technicians: 40,
        sites: 20,
        days: 30,
    };
    std::fs::write(&large, support::large(&size, 1)).expect("the season is written");
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/season.yaml");
    for (name, season, runs) in [("demo", demo.as_path(), 21), ("large", large.as_path(), 5)] {
        let out = folder.join(name);
        let [season, out] = [season, &out].map(|p| p.display().to_string());
        time(name, &["plan", &season, "--out", &out], runs);
    }
    for (name, runs, size) in GROWING {
        let file = folder.join(format!("{name}.yaml"));
        std::fs::write(&file, support::territory(&size, 1)).expect("the season is written");
        let out = folder.join(name);
        let [season, out] = [&file, &out].map(|p| p.display().to_string());
        time(name, &["plan", &season, "--out", &out], runs);
        planned(Path::new(&out));
    }
    let [demo, large] = [&demo, &large].map(|p| p.display().to_string());
    time("cover", &["cover", &demo, "--technicians", "1"], 5);
    time("  large", &["cover", &large], 1);
    let herd = folder.join("herd.yaml");
    let head = 100_000;
    std::fs::write(&herd, support::herd_season(head, "herd.csv")).expect("the season is written");
    let mut dice = support::Dice(1);
    let rows: String = (0..head).map(|n| support::herd_row(n, &mut dice)).collect();
    std::fs::write(
        folder.join("herd.csv"),
        support::HERD_HEAD.to_owned() + &rows,
    )
    .expect("the herd is written");
    let herd = herd.display().to_string();
    time("herd", &["herd", &herd], 7);
    time("  all", &["herd", &herd, "--all"], 7);
    time("  json", &["herd", &herd, "--json"], 7);
    for (name, head, bulls) in [("matings", 5_000, 40), ("  larger", 20_000, 80)] {
        for (file, text) in support::matings(head, bulls) {
            std::fs::write(folder.join(file), text).expect("the matings' files are written");
        }
        let season = folder.join("matings.yaml").display().to_string();
        time(name, &["matings", &season], 7);
    }
    tried();
    let crowded = folder.join("crowded.yaml");
    std::fs::write(&crowded, support::wishes(10, 1)).expect("the season is written");
    let crowded = crowded.display().to_string();
    for (name, args) in [
        ("choose one", &["choose", &crowded, "--group", "g0"][..]),
        ("choose ten", &["choose", &crowded][..]),
    ] {
        time(name, args, 5);
        chosen(args);
    }
}

/// A session of 300 cows, tried on 10,000 days: the library alone.
fn tried() {
    let crew = "[{id: ana, minutes_per_cow: 3, minutes_spread: 1, helper: true}, {id: burt, minutes_per_cow: 3.5, minutes_spread: 1}]";
    let (season, plan) = support::plan_of(&support::crew_season(300, crew, "{}"));
    let trial = thawline::simulate::Trial::default();
    let mut times: Vec<Duration> = (0..11)
        .map(|_| {
            let start = Instant::now();
            let told = thawline::simulate::of_season(&season, &plan, trial);
            assert_eq!(told.sessions[0].head, 300);
            start.elapsed()
        })
        .collect();
    times.sort();
    println!(
        "chance     best {:>7.1} ms  middle {:>7.1} ms  of {} runs",
        times[0].as_secs_f64() * 1e3,
        times[times.len() / 2].as_secs_f64() * 1e3,
        times.len()
    );
}

/// Seasons of a territory as it grows: name, runs, size.
const GROWING: [(&str, usize, support::Size); 4] = [
    (
        "3 groups",
        21,
        support::Size {
            groups: 3,
            head: 200,
            technicians: 2,
            sites: 2,
            days: 6,
        },
    ),
    (
        "12 groups",
        11,
        support::Size {
            groups: 12,
            head: 700,
            technicians: 6,
            sites: 8,
            days: 3,
        },
    ),
    (
        "100 groups",
        5,
        support::Size {
            groups: 100,
            head: 12_500,
            technicians: 40,
            sites: 40,
            days: 30,
        },
    ),
    (
        "2000 group",
        3,
        support::Size {
            groups: 2_000,
            head: 250_000,
            technicians: 150,
            sites: 180,
            days: 90,
        },
    ),
];

/// What a plan covers, what of it is proven, and how much the crew does on the five fullest days:
/// hours from the first straws in the bath to the last cow, of the hours of all who are at work.
fn planned(out: &Path) {
    let text = std::fs::read(out.join("plan.json")).expect("a plan");
    let plan: thawline::Plan = serde_json::from_slice(&text).expect("a plan");
    let mut days: std::collections::BTreeMap<_, (u32, f64, std::collections::BTreeSet<&str>)> =
        std::collections::BTreeMap::new();
    for session in &plan.sessions {
        for at in &session.technicians {
            let day = days.entry(at.begins.date_naive()).or_default();
            day.0 += at.head;
            day.1 += (at.last_cow - at.begins).num_minutes() as f64 / 60.0;
            day.2.insert(&at.id);
        }
    }
    let mut fullest: Vec<_> = days.into_values().collect();
    fullest.sort_by_key(|d| std::cmp::Reverse(d.0));
    fullest.truncate(5);
    let each = |sum: f64| sum / fullest.len().max(1) as f64;
    println!(
        "       {} of {} head bred, {} of {} parts proven, gap {} %, {} KB of JSON; fullest days: {:.0} head by {:.0} of {} technicians, {:.1} h each",
        plan.verdict.covered_head,
        plan.verdict.due_head,
        plan.search.proven,
        plan.search.parts,
        plan.search.gap_percent,
        text.len() / 1024,
        each(fullest.iter().map(|d| f64::from(d.0)).sum()),
        each(fullest.iter().map(|d| d.2.len() as f64).sum()),
        plan.technicians.len(),
        each(fullest.iter().map(|d| d.1 / d.2.len().max(1) as f64).sum()),
    );
}

/// What a choice looked at, and how good it is.
fn chosen(args: &[&str]) {
    let out = Command::new(env!("CARGO_BIN_EXE_thawline"))
        .args(args)
        .arg("--json")
        .output()
        .expect("the program starts");
    let json: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let groups = json["groups"].as_array().expect("groups");
    let sum = |key: &str| groups.iter().filter_map(|g| g[key].as_u64()).sum::<u64>();
    println!(
        "       {} starts looked at, {} fit; together {}",
        sum("starts_looked_at"),
        sum("starts_fitting"),
        json["together"]["gap"].as_f64().map_or_else(
            || "no".to_owned(),
            |gap| format!(
                "{} points, one by one {}, gap {gap}, {} proposals",
                json["together"]["points"],
                json["together"]["points_one_by_one"],
                json["together"]["proposals"]
            )
        )
    );
}

fn time(name: &str, args: &[&str], runs: usize) {
    let mut times: Vec<Duration> = (0..runs).map(|_| once(args)).collect();
    times.sort();
    println!(
        "{name:10} best {:>7.1} ms  middle {:>7.1} ms  of {runs} runs  peak memory {}",
        times[0].as_secs_f64() * 1e3,
        times[runs / 2].as_secs_f64() * 1e3,
        memory(args)
    );
}

fn once(args: &[&str]) -> Duration {
    let start = Instant::now();
    let status = Command::new(env!("CARGO_BIN_EXE_thawline"))
        .args(args)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .expect("the program starts");
    let took = start.elapsed();
    // 1 is a season that falls short, as a large one may.
    assert!(matches!(status.code(), Some(0 | 1)), "{status}");
    took
}

fn memory(args: &[&str]) -> String {
    let run = Command::new("/usr/bin/time")
        .args(["-f", "%M", env!("CARGO_BIN_EXE_thawline")])
        .args(args)
        .stdout(Stdio::null())
        .output();
    run.ok()
        .and_then(|o| {
            let text = String::from_utf8_lossy(&o.stderr).into_owned();
            text.lines().last()?.trim().parse::<f64>().ok()
        })
        .map_or_else(|| "unknown".to_owned(), |k| format!("{:.1} MB", k / 1024.0))
}
