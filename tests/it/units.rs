//! Units by choice in every form, distances of drives, and what they must not change.

use thawline::plan::Plan;
use thawline::verify::verify;

use crate::bad_input::{Folder, flat, printed};
use crate::support::{LIBRARY, demo, plan_of};

fn out(args: &str) -> String {
    // Lines are broken anywhere: a figure and its unit may stand on two.
    flat(&printed(args))
}

/// True if a number with this unit stands in the text.
fn shows(text: &str, unit: &str) -> bool {
    let words: Vec<&str> = text.split([' ', '(', ')', '>', '<']).collect();
    let plain = |w: &str| w.trim_end_matches(['.', ',', ';', ':']).to_owned();
    words.windows(2).any(|w| {
        let number = w[0].ends_with(|c: char| c.is_ascii_digit());
        number && plain(w[1]) == unit
    })
}

#[test]
fn each_form_shows_the_chosen_units_alone() {
    let folder = Folder::new();
    let wall = folder.path().join("wall.html");
    let plan = folder.path().join("plan");
    for (units, yes, no) in [
        ("us", ["F", "miles"], ["C", "km"]),
        ("metric", ["C", "km"], ["F", "miles"]),
    ] {
        let args = format!(
            "thaw demo/season.yaml --session late/1/ai@creek --units {units} --page {}",
            wall.display()
        );
        let page = || std::fs::read_to_string(&wall).unwrap();
        let rounds = out(&args);
        for text in [
            rounds,
            page(),
            out(&format!("explain tank --units {units}")),
        ] {
            assert!(shows(&text, yes[0]) && !shows(&text, no[0]), "{text}");
        }
        let args = format!(
            "plan demo/season.yaml --units {units} --out {}",
            plan.display()
        );
        let text = out(&args);
        let read = |name: &str| std::fs::read_to_string(plan.join(name)).unwrap();
        let calendar = read("technician-ana.ics").replace("\r\n ", "");
        for text in [text, read("season.html"), calendar] {
            assert!(shows(&text, yes[1]) && !shows(&text, no[1]), "{text}");
        }
    }
    let weights = [("us", "lb", "kg"), ("metric", "kg", "lb")];
    for (units, yes, no) in weights {
        let doses = out(&format!("protocols heifer-mga-pg --units {units}"));
        let doses = doses.split("Sources").next().unwrap();
        let money = out(&format!("--units {units} forecast demo/season.yaml"));
        let herd = out(&format!(
            "--units {units} herd demo/season.yaml --group heifers --all"
        ));
        assert!(shows(doses, yes) && !shows(doses, no), "{doses}");
        assert!(money.contains(&format!("per {yes} ")), "{money}");
        assert!(!money.contains(&format!("per {no} ")), "{money}");
        assert!(!shows(&herd, no), "{herd}");
    }
    // Nothing chosen: both, as ever.
    let both = out("thaw demo/season.yaml --session late/1/ai@creek");
    assert!(both.contains("95 F (35.0 C)"), "{both}");
}

/// A pound sold is 0.45359237 kg (NIST SP 811); the amount of money does not hang on it.
#[test]
fn money_is_the_same_in_either_unit() {
    let amounts = |units: &str| -> Vec<String> {
        let text = out(&format!("forecast demo/season.yaml --units {units}"));
        let budget = text.split("Added returns").nth(1).unwrap().to_owned();
        budget
            .split_whitespace()
            .filter(|w| w.contains('.'))
            .map(str::to_owned)
            .collect()
    };
    let (us, metric) = (amounts("us"), amounts("metric"));
    assert_eq!(us.len(), metric.len());
    // Of the first entry: pounds, price, amount; 1.95 a pound is 4.299 a kilogram, told to as many digits as
    // the amount needs.
    let number = |s: &String| s.parse::<f64>().unwrap();
    assert_eq!(us[0], metric[0]);
    assert!((number(&us[1]) * 0.453_592_37 - number(&metric[1])).abs() < 0.01);
    assert_eq!(us[2], "1.95");
    assert!((number(&metric[2]) - 1.95 / 0.453_592_37).abs() < 1e-4);
    let product = number(&metric[1]) * number(&metric[2]);
    assert!((product - number(&metric[3])).abs() < 0.0051, "{metric:?}");
    assert_eq!(us[3], metric[3]);
}

/// Data keep their units: but for the choice itself, and sentences, nothing differs.
#[test]
fn data_keep_their_units() {
    for args in [
        "plan demo/season.yaml --csv",
        "plan demo/season.yaml --csv=sessions",
        "plan demo/season.yaml --csv=breeding",
        "plan demo/season.yaml --csv=straws",
        "plan demo/season.yaml --csv=follow-up",
        "thaw demo/season.yaml --session late/1/ai@creek --csv",
        "herd demo/season.yaml --csv",
        "forecast demo/season.yaml --csv=money",
        "forecast demo/season.yaml --csv=budget",
        "forecast demo/season.yaml --csv=money-sums",
        "explain tank --json",
        "protocols heifer-mga-pg --json",
    ] {
        let plain = out(args);
        assert_eq!(out(&format!("{args} --units us")), plain, "{args}");
        assert_eq!(out(&format!("{args} --units metric")), plain, "{args}");
    }
    let of = |units: &str| -> serde_json::Value {
        let text = out(&format!("plan demo/season.yaml --json{units}"));
        serde_json::from_str(&text).unwrap()
    };
    let (plain, mut metric) = (of(""), of(" --units metric"));
    assert_eq!(plain.get("units"), None);
    let chosen = metric.as_object_mut().unwrap().remove("units").unwrap();
    assert_eq!(chosen["distance"], "km");
    assert_eq!(plain, metric);
}

#[test]
fn the_seasons_own_units_hold_unless_others_are_asked_for() {
    let folder = Folder::new();
    let own = demo().replace("sites:\n", "units: {temperature: C, weight: kg}\nsites:\n");
    let bare: Vec<&str> = own
        .lines()
        .filter(|l| !l.trim_start().starts_with("herd:") && !l.starts_with("scores:"))
        .collect();
    let bare = bare.join("\n") + "\n";
    let file = folder.path().join("s.yaml");
    std::fs::write(&file, bare).unwrap();
    let args = format!("thaw {} --session late/1/ai@creek", file.display());
    assert!(!shows(&out(&args), "F") && shows(&out(&args), "C"));
    let us = out(&format!("{args} --units us"));
    assert!(shows(&us, "F") && !shows(&us, "C"));
    // Of distances nothing is chosen: both.
    let plan = out(&format!("plan {}", file.display()));
    assert!(shows(&plan, "miles") && shows(&plan, "km"), "{plan}");
}

const SITES: &str = "sites:
  - {id: town, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {north: 20, south: 40}TOWN}
  - {id: north, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {south: 30}NORTH}
  - {id: south, injections_head_per_hour: 80, breeding_boxes: 1SOUTH}
";

fn season(town: &str, north: &str, south: &str) -> String {
    let group = |id: &str, site: &str, start: &str| {
        format!(
            "  - {{id: {id}, site: {site}, class: cow, head: 30, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T{start}\", order: kept, bulls: [Ash 1]}}\n"
        )
    };
    let sites = SITES
        .replace("TOWN", town)
        .replace("NORTH", north)
        .replace("SOUTH", south);
    format!(
        "format: thawline.season/1\nname: Two corrals (invented)\nzone: America/Denver\n{sites}groups:\n{}{}crew:\n  - {{id: ana, minutes_per_cow: 3, minutes_spread: 0.5, helper: true, home_site: town}}\nsemen:\n  - {{bull: Ash 1, straws: 200}}\n",
        group("a", "north", "14:00"),
        group("b", "south", "15:00")
    )
}

fn road(plan: &Plan) -> (Option<f64>, bool) {
    let all = plan.road.as_ref().unwrap();
    (all.km, all.straight_line)
}

/// Town, north, south, town: 10 + 15 miles and 40 km are 25 x 1.609344 + 40 = 80.2336 km, 49.9 miles.
#[test]
fn miles_of_an_outing_by_hand() {
    let (season_read, plan) = plan_of(&season(
        ", miles_to: {north: 10}, km_to: {south: 40}",
        ", miles_to: {south: 15}",
        "",
    ));
    // 25 miles are 40.2336 km.
    assert_eq!(road(&plan), (Some(80.234), false));
    assert_eq!(verify(&season_read, &plan), []);
    let own = plan.technicians[0].road.as_ref().unwrap();
    assert_eq!((own.km, own.outings[0].km), (Some(80.234), Some(80.234)));
    let mut leaves = plan.sessions.iter().flat_map(|s| &s.technicians);
    assert!(leaves.any(|t| t.leaves.as_ref().is_some_and(|l| l.km == Some(16.093))));
    let text = thawline::output::text::plan(&plan);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("1.5 h on the road, 49.9 miles / 80.2 km"),
        "{text}"
    );
    assert!(text.contains("(10.0 miles / 16.1 km)"), "{text}");
    // One stretch that nobody knows: no sum is made up.
    let (_, plan) = plan_of(&season(
        ", miles_to: {north: 10}",
        ", miles_to: {south: 15}",
        "",
    ));
    assert_eq!(road(&plan), (None, false));
}

/// 5 miles are 8.05 km: as people round them, one road from either end. Twice as far is another road.
#[test]
fn rounded_lengths_of_one_road_agree() {
    let read = |km: u32| {
        let text = season(
            ", miles_to: {north: 5}, km_to: {south: 40}",
            &format!(", miles_to: {{south: 15}}, km_to: {{town: {km}}}"),
            "",
        );
        thawline::season::read("s.yaml", text.as_bytes(), &LIBRARY)
    };
    assert!(read(8).is_ok());
    let faults = read(16).unwrap_err();
    assert!(faults.findings().iter().any(|f| f.code.as_str() == "S126"));
}

/// Along a meridian, a degree is 6371.0088 x pi / 180 = 111.195 km: a tenth of it north, and back.
#[test]
fn a_straight_line_is_said_to_be_one() {
    let (season_read, plan) = plan_of(&season(
        ", latitude: 40, longitude: -108",
        ", latitude: 40.1, longitude: -108, miles_to: {south: 10}",
        ", latitude: 40.2, longitude: -108",
    ));
    let (km, straight) = road(&plan);
    assert!(straight);
    assert!(
        (km.unwrap() - (11.1195 + 16.0934 + 22.2390)).abs() < 0.006,
        "{km:?}"
    );
    assert_eq!(verify(&season_read, &plan), []);
    assert!(thawline::output::text::plan(&plan).contains("straight line"));
}

/// A distance in the plan that is another is seen by the second reading.
#[test]
fn a_wrong_distance_is_seen() {
    let (season_read, plan) = plan_of(&demo());
    let damage: [fn(&mut Plan); 5] = [
        |p| p.road.as_mut().unwrap().km = Some(1.0),
        |p| p.road.as_mut().unwrap().straight_line = false,
        |p| p.technicians[0].road.as_mut().unwrap().km = None,
        |p| {
            *p.technicians[0].road.as_mut().unwrap().outings[0]
                .km
                .as_mut()
                .unwrap() += 0.02;
        },
        |p| {
            let mut at = p.sessions.iter_mut().flat_map(|s| &mut s.technicians);
            at.find_map(|t| t.leaves.as_mut()).unwrap().km = Some(5.0);
        },
    ];
    for (n, damage) in damage.iter().enumerate() {
        let mut wrong = plan.clone();
        damage(&mut wrong);
        assert_ne!(wrong, plan, "{n}");
        assert_ne!(verify(&season_read, &wrong), [], "{n}");
    }
}
