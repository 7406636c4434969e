//! Searches: the same on any number of threads; ended by hand they leave a whole plan.

use std::process::Command;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use thawline::choose::{self, Limits};
use thawline::error::Code;
use thawline::output::answer::Answer as _;
use thawline::pipeline::Options;
use thawline::plan::Plan;
use thawline::progress::{NoProgress, Progress, Stage};
use thawline::staffing::{self, Question};
use thawline::{pipeline, season, simulate, verify};

use crate::support::{LIBRARY, Size, territory, wishes};

/// A week of two regions, in which technicians have to be divided among sites.
fn week() -> String {
    territory(
        &Size {
            groups: 24,
            head: 2_200,
            technicians: 12,
            sites: 18,
            days: 6,
        },
        5,
    )
}

fn planned(progress: &dyn Progress) -> (season::Season, Plan) {
    let (season, found) = season::read("week.yaml", week().as_bytes(), &LIBRARY).unwrap();
    let plan = pipeline::plan_with(
        &season,
        &found,
        Options {
            progress,
            ..Options::default()
        },
    )
    .unwrap();
    (season, plan)
}

#[test]
fn a_plan_is_the_same_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("week.yaml");
    std::fs::write(&file, week()).unwrap();
    let on = |threads: &str| {
        let out = folder.path().join(threads);
        let run = Command::new(env!("CARGO_BIN_EXE_thawline"))
            .env("RAYON_NUM_THREADS", threads)
            .env("SOURCE_DATE_EPOCH", "1800000000")
            .current_dir(folder.path())
            .args(["plan", "week.yaml", "--out", threads])
            .output()
            .unwrap();
        assert!(matches!(run.status.code(), Some(0 | 1)), "{run:?}");
        // Not a terminal: no bar.
        let said = String::from_utf8(run.stderr).unwrap();
        assert!(said.starts_with("Written to "), "{said}");
        let mut files: Vec<_> = std::fs::read_dir(out)
            .unwrap()
            .map(|f| f.unwrap().path())
            .collect();
        files.sort();
        let files: Vec<_> = files
            .into_iter()
            .map(|f| (f.file_name().unwrap().to_owned(), std::fs::read(f).unwrap()))
            .collect();
        (run.stdout, files)
    };
    let one = on("1");
    assert!(one.1.len() > 3);
    for threads in ["2", "5"] {
        assert!(on(threads) == one, "{threads} threads");
    }
}

#[test]
fn a_search_stopped_by_hand_leaves_a_whole_plan_that_says_so() {
    let (_, full) = planned(&AtomicBool::new(false));
    let (season, stopped) = planned(&AtomicBool::new(true));
    assert_eq!(verify::verify(&season, &stopped), []);
    let code = Code::StoppedByHand;
    let said: Vec<_> = stopped.findings.iter().filter(|f| f.code == code).collect();
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(!stopped.is_well());
    assert!(full.findings.iter().all(|f| f.code != code));
    // Every animal is bred or named; what a search could add is within the bound that is told.
    let search = &stopped.search;
    assert!(!search.open.is_empty() && search.gap_percent > 0.0);
    assert_eq!(
        search.parts as usize,
        search.proven as usize + search.open.len()
    );
    let more: u32 = search
        .open
        .iter()
        .map(|p| p.bound_head - p.covered_head)
        .sum();
    assert!(said[0].what.contains(&format!("up to {more} more head")));
    assert!(stopped.verdict.covered_head <= full.verdict.covered_head);
    assert!(full.verdict.covered_head <= stopped.verdict.covered_head + more);
}

/// Stops after so many calls.
struct After {
    calls: AtomicUsize,
    most: usize,
    stages: [AtomicUsize; 5],
}

impl Progress for After {
    fn reached(&self, stage: Stage, done: usize, of: usize) {
        assert!(done <= of);
        self.stages[stage as usize].fetch_max(done, Ordering::Relaxed);
    }

    fn stop(&self) -> bool {
        self.calls.fetch_add(1, Ordering::Relaxed) >= self.most
    }
}

#[test]
fn a_search_stopped_on_the_way_keeps_what_is_proven() {
    let progress = After {
        calls: AtomicUsize::new(0),
        most: 12,
        stages: Default::default(),
    };
    let (season, plan) = planned(&progress);
    assert_eq!(verify::verify(&season, &plan), []);
    // Told to the last part and the last session, stopped or not.
    assert_eq!(
        progress.stages[Stage::Crew as usize].load(Ordering::Relaxed),
        plan.search.parts as usize
    );
    assert_eq!(
        progress.stages[Stage::Margins as usize].load(Ordering::Relaxed),
        plan.sessions.len()
    );
}

/// Pens whose starts are open, at two sites with one technician.
fn open_pens() -> String {
    "format: thawline.season/1
name: Open pens (invented)
zone: America/Denver
sites:
  - {id: north, injections_head_per_hour: 60, breeding_boxes: 1, minutes_to: {south: 40}}
  - {id: south, injections_head_per_hour: 60, breeding_boxes: 1}
groups:
  - {id: a, site: north, class: cow, head: 80, pens: 2, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T06:00\", latest_start: \"2027-05-17T09:00\", order: mixed, bulls: [b]}
  - {id: c, site: south, class: cow, head: 60, pens: 2, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T06:00\", latest_start: \"2027-05-17T09:00\", order: mixed, bulls: [b]}
crew:
  - {id: ana, minutes_per_cow: 4, minutes_spread: 0.5, helper: true}
semen:
  - {bull: b, straws: 400}
"
    .to_owned()
}

/// Stopped at any moment, also while pens' starts are tried: a whole plan, told as stopped.
#[test]
fn starts_of_pens_stopped_on_the_way_leave_a_whole_plan() {
    let (season, found) = season::read("pens.yaml", open_pens().as_bytes(), &LIBRARY).unwrap();
    let mut most_left = 0;
    for most in [0, 1, 2, 5, 20, 60, 200] {
        let progress = After {
            calls: AtomicUsize::new(0),
            most,
            stages: Default::default(),
        };
        let plan = pipeline::plan_with(
            &season,
            &found,
            Options {
                progress: &progress,
                ..Options::default()
            },
        )
        .unwrap();
        assert_eq!(verify::verify(&season, &plan), [], "{most}");
        let code = Code::StoppedByHand;
        let said = plan.findings.iter().filter(|f| f.code == code);
        let starts = said.filter(|f| f.what.contains("starts of pens")).count();
        assert_eq!(starts, 1, "{most}: {:?}", plan.findings);
        // Asked often, but each time it ends soon: nothing more is counted.
        assert!(progress.calls.load(Ordering::Relaxed) < most + 2_000);
        most_left = most_left.max(plan.verdict.uncovered_head);
    }
    let full = pipeline::plan(&season, &found).unwrap();
    assert!(full.findings.iter().all(|f| f.code != Code::StoppedByHand));
    assert!(full.verdict.uncovered_head <= most_left);
}

#[test]
fn a_choice_stopped_by_hand_gives_the_best_so_far_and_the_gap() {
    let text = wishes(4, 3);
    let (season, _) = season::read("wishes.yaml", text.as_bytes(), &LIBRARY).unwrap();
    let limits = Limits::default();
    let choose = |stop: bool| {
        let progress = AtomicBool::new(stop);
        choose::choose(&season, &LIBRARY, None, limits, &progress).unwrap()
    };
    let (full, stopped) = (choose(false), choose(true));
    let (full_pick, pick) = (
        full.together.unwrap().picked,
        stopped.together.as_ref().unwrap(),
    );
    let pick = &pick.picked;
    assert!(!full_pick.stopped);
    assert!(pick.bound <= full_pick.points + 1e-6 && full_pick.points <= pick.points + 1e-6);
    assert!(pick.gap.is_finite());
    // Where one after the other was the best at once, nothing was left to stop.
    if pick.gap > 1e-9 {
        assert!(pick.stopped && !stopped.is_well());
        let text = stopped.text();
        assert!(text.contains("stopped by hand"), "{text}");
    }
}

/// Too many head for one technician.
const SHORT: &str = "format: thawline.season/1
name: Short (invented)
zone: America/Denver
sites: [{id: s, injections_head_per_hour: 60, breeding_boxes: 1}]
groups: [{id: g, site: s, class: cow, head: 150, protocol: cow-7-day-co-synch-insert, start: 2027-05-17T06:00, order: kept, bulls: [b]}]
crew: [{id: ana, minutes_per_cow: 5}]
semen: [{bull: b, straws: 400}]
";

/// Stopped at any moment, `cover` answers with what it has and names what it did not try.
#[test]
fn cover_stopped_on_the_way_says_what_it_did_not_try() {
    let season = season::read("season.yaml", SHORT.as_bytes(), &LIBRARY)
        .unwrap()
        .0;
    let ask = |progress: &dyn Progress| {
        staffing::assess(&season, &LIBRARY, &Question::default(), progress).unwrap()
    };
    let full = ask(&AtomicBool::new(false)).answer;
    assert!(full.not_tried.is_empty() && !full.remedies[0].covering.is_empty());
    let at_once = ask(&AtomicBool::new(true)).answer;
    assert_eq!(at_once.verdict, full.verdict);
    assert!(at_once.remedies.is_empty());
    let text = at_once.text();
    assert!(
        text.contains("The search was stopped by hand. Not tried"),
        "{text}"
    );
    let mut remedied = 0;
    for most in [1, 5, 20, 40, 60, 80, 120, 200, 400, 1600, 1_000_000] {
        let progress = After {
            calls: AtomicUsize::new(0),
            most,
            stages: Default::default(),
        };
        let found = ask(&progress);
        let asked = progress.calls.load(Ordering::Relaxed);
        let answer = &found.answer;
        assert_eq!(answer.not_tried.is_empty(), asked <= most, "{most}");
        assert!(!answer.is_well());
        if asked <= most {
            assert_eq!(answer, &full);
        }
        // It does not go on for long.
        assert!(asked < most + 200, "{most}: asked {asked} times");
        for (r, changed) in answer.remedies.iter().zip(&found.changed) {
            assert!(r.not_tried.is_empty() || !r.proven);
            remedied += r.covering.len();
            for (remedy, season) in r.covering.iter().zip(changed) {
                let plan = pipeline::plan(season, &[]).unwrap();
                let left: u32 = plan.uncovered.iter().map(|u| u.head).sum();
                assert_eq!((left, remedy.uncovered_head), (0, 0), "{:?}", remedy.asks);
            }
        }
    }
    assert!(remedied > 0);
}

/// A session is told whole or not at all.
#[test]
fn chances_stopped_on_the_way_are_of_whole_sessions() {
    let season = season::read("season.yaml", SHORT.as_bytes(), &LIBRARY)
        .unwrap()
        .0;
    let plan = pipeline::plan(&season, &[]).unwrap();
    let session = plan.sessions.iter().find(|s| s.head > 0).unwrap();
    let trial = simulate::Trial {
        runs: 1000,
        ..simulate::Trial::default()
    };
    let tried =
        |stop: bool| simulate::of_session(&season, &plan, session, trial, &AtomicBool::new(stop));
    assert!(tried(true).is_none());
    let whole = serde_json::to_value(tried(false).unwrap()).unwrap();
    let unwatched = simulate::of_session(&season, &plan, session, trial, &NoProgress);
    assert_eq!(whole, serde_json::to_value(unwatched).unwrap());
}

/// Straws of some groups are set aside beforehand, so only a bound that knows of no straws holds; and that
/// is no more than is due.
#[test]
fn a_bound_is_no_more_than_is_due() {
    let text = "
format: thawline.season/1
name: Straws set aside (invented)
zone: America/Denver
sites: [{id: home, injections_head_per_hour: 59.713, breeding_boxes: 2}]
groups:
  - {id: heifers, site: home, class: heifer, head: 5, bulls: [A, B, C], protocol: heifer-1-shot-pg,
     start: 2082-10-28T11:00}
  - {id: cows, site: home, class: cow, head: 14, bulls: [D], protocol: cow-7-and-7-synch-70h,
     start: 2082-10-11T15:00}
  - {id: one, site: home, class: cow, head: 1, bulls: [C, D, E, B, A],
     protocol: cow-7-day-co-synch-insert-split, start: 2082-10-18T18:15}
crew: [{id: ann, minutes_per_cow: 1}]
rules: {longest_day_hours: 10, rest_after_hours: 4.5, rest_minutes: 60}
semen:
  - {bull: A, straws: 177}
  - {bull: B, straws: 296}
  - {bull: C, straws: 66}
  - {bull: D, straws: 10}
  - {bull: E, straws: 40}
";
    let (season, _) = season::read("s.yaml", text.as_bytes(), &LIBRARY).unwrap();
    let plan = pipeline::plan(&season, &[]).unwrap();
    assert_eq!(
        plan.search.open.len(),
        1,
        "straws are set aside in one part"
    );
}
