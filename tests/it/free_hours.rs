//! Hours kept free, said in another way.

use serde_json::{Value, json};
use thawline::season::read;

use crate::reasons::{clock, made, plan};
use crate::support::{Dice, LIBRARY, cases};

/// Nobody works before an hour: the same as hours without chute work until then on each weekday, with
/// shifts that begin then at the soonest. People come, thaw and breed at the same moments.
#[test]
fn nobody_works_before_an_hour() {
    let mut changed = 0;
    let seeds = cases(12, 60);
    for seed in 0..u64::from(seeds) {
        let mut season = made(seed);
        let rules = season["rules"].as_object_mut().unwrap();
        rules.remove("no_work_before");
        let first = clock(Dice(seed).from(12, 40) * 15);
        if read("made", season.to_string().as_bytes(), &LIBRARY).is_err() {
            continue;
        }
        let mut said = season.clone();
        season["rules"]["no_work_before"] = json!(first);
        let days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
        let free = days.map(|d| json!({"weekday": d, "to": first}));
        let all = said["rules"].as_object_mut().unwrap();
        let all = all.entry("no_chute_work").or_insert(json!([]));
        all.as_array_mut().unwrap().extend(free);
        for who in said["crew"].as_array_mut().unwrap() {
            if who["shifts"].is_null() {
                who["shifts"] = json!([{"from": first, "to": "24:00"}]);
            } else if who["shifts"][0]["from"].as_str() < Some(&first) {
                who["shifts"][0]["from"] = json!(first);
            }
        }
        let ends_after = |who: &Value| who["shifts"][0]["to"].as_str() > Some(&first);
        if !said["crew"].as_array().unwrap().iter().all(ends_after) {
            continue;
        }
        let sessions = |season: &Value| {
            let plan = plan(season).unwrap();
            let each = plan.sessions.into_iter();
            each.map(|s| (s.technicians, s.slots)).collect::<Vec<_>>()
        };
        let of_rule = sessions(&season);
        assert_eq!(of_rule, sessions(&said), "seed {seed}");
        season["rules"]
            .as_object_mut()
            .unwrap()
            .remove("no_work_before");
        changed += u32::from(of_rule != sessions(&season));
    }
    assert!(changed >= seeds / 12, "{changed}");
}
