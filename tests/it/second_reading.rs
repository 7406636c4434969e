//! The second readings of the order list and of the forecast: every value of either, changed by one,
//! left out, or doubled, is found.

use std::collections::BTreeMap;

use serde::{Serialize, de::DeserializeOwned};
use serde_json::Value;
use thawline::error::Finding;
use thawline::forecast::forecast;
use thawline::supplies::of_plan;

use crate::oracle;
use crate::support::{demo, plan_of};

/// A way down into a JSON value.
type Way = Vec<Step>;

#[derive(Clone, Debug)]
enum Step {
    Key(String),
    At(usize),
}

/// Every place below, with its way as words: places of a list have one name.
fn places(value: &Value, way: &mut Way, name: &str, found: &mut BTreeMap<String, Vec<Way>>) {
    found.entry(name.to_owned()).or_default().push(way.clone());
    match value {
        Value::Object(keys) => {
            for (key, inner) in keys {
                way.push(Step::Key(key.clone()));
                places(inner, way, &format!("{name}.{key}"), found);
                way.pop();
            }
        }
        Value::Array(all) => {
            for (n, inner) in all.iter().enumerate() {
                way.push(Step::At(n));
                places(inner, way, &format!("{name}[]"), found);
                way.pop();
            }
        }
        _ => {}
    }
}

fn at<'a>(value: &'a mut Value, way: &[Step]) -> &'a mut Value {
    way.iter().fold(value, |v, step| match step {
        Step::Key(key) => &mut v[key.as_str()],
        Step::At(n) => &mut v[*n],
    })
}

/// What a value may wrongly be: one more, one less, a day later, another word, absent, one of a list
/// left out or told twice.
fn wrongs(value: &Value) -> Vec<Value> {
    let mut all = match value {
        Value::Bool(b) => vec![Value::from(!b)],
        Value::Number(n) => match (n.as_u64(), n.as_f64()) {
            (Some(n), _) => [Some(n + 1), n.checked_sub(1)]
                .into_iter()
                .flatten()
                .map(Value::from)
                .collect(),
            (None, Some(x)) => vec![Value::from(x + 1.0), Value::from(x - 1.0)],
            _ => Vec::new(),
        },
        Value::String(s) => match s.parse::<chrono::NaiveDate>() {
            Ok(day) => vec![
                Value::from(day.succ_opt().unwrap().to_string()),
                Value::from(day.pred_opt().unwrap().to_string()),
            ],
            Err(_) => vec![Value::from(format!("{s}x"))],
        },
        Value::Array(all) if !all.is_empty() => {
            let (mut less, mut more) = (all.clone(), all.clone());
            less.pop();
            more.push(all[0].clone());
            vec![Value::from(less), Value::from(more)]
        }
        _ => Vec::new(),
    };
    if !value.is_null() {
        all.push(Value::Null);
    }
    all
}

/// Sentences of every answer.
const FINDINGS: &str = ".findings[].what .findings[].place .findings[].expected .findings[].hint \
                        .findings[].severity";

/// Does each harm at up to five places of each name, but of these sentences: each is noticed.
fn all_noticed<T: Serialize + DeserializeOwned + PartialEq>(
    good: &T,
    sentences: &str,
    check: impl Fn(&T) -> Vec<Finding>,
) {
    let sentences: Vec<&str> = [sentences, FINDINGS]
        .iter()
        .flat_map(|s| s.split(' '))
        .collect();
    let whole = serde_json::to_value(good).unwrap();
    let mut named = BTreeMap::new();
    places(&whole, &mut Vec::new(), "", &mut named);
    let (mut harms, mut quiet) = (0, Vec::new());
    for (name, ways) in &named {
        if sentences.iter().any(|s| name.ends_with(s)) {
            continue;
        }
        // The first, the last, and some between.
        let few = ways.len().min(5);
        for n in 0..few {
            let way = &ways[n * (ways.len() - 1) / (few - 1).max(1)];
            let mut copy = whole.clone();
            for wrong in wrongs(at(&mut copy, way)) {
                let mut copy = whole.clone();
                *at(&mut copy, way) = wrong.clone();
                // Some values cannot be: words of a list, numbers that must be there.
                let Ok(bad) = serde_json::from_value::<T>(copy) else {
                    continue;
                };
                if bad == *good {
                    continue;
                }
                harms += 1;
                if check(&bad).is_empty() {
                    let wrong: String = wrong.to_string().chars().take(60).collect();
                    quiet.push(format!("{name}, {way:?}: {wrong}"));
                }
            }
        }
    }
    assert!(harms > 500, "{harms}");
    assert!(quiet.is_empty(), "of {harms}: {quiet:#?}");
}

/// Sentences are not read twice; that a choice is not called the best, which it is, harms nobody.
#[test]
fn every_value_of_the_order_list_is_read_twice() {
    // Straws to buy, straws that a group lacks, and a size without a price.
    let kept = |l: &&str| !l.contains("cane: Q9-") || l.contains("Q9-1");
    let demo_text = demo();
    let short: Vec<&str> = demo_text.lines().filter(kept).collect();
    let wasted = "slot_minutes: 15\n  straws_wasted_percent: 8";
    let short = short.join("\n").replacen("slot_minutes: 15", wasted, 1);
    let short = short.replacen("{count: 100, price: 17}", "{count: 100}", 1);
    for text in [demo(), short] {
        let (season, plan) = plan_of(&text);
        let good = of_plan(&season, &plan);
        let check = |told: &_| oracle::supplies::check(&season, &plan, told);
        assert_eq!(check(&good), []);
        let sentences = ".words .words[] .basis .basis[] .on_hand[].amount .proven";
        all_noticed(&good, sentences, check);
    }
}

#[test]
fn every_value_of_the_forecast_is_read_twice() {
    let (season, plan) = plan_of(&demo());
    let good = forecast(&season, &plan);
    let check = |told: &_| oracle::calves::calves(&season, &plan, told);
    assert_eq!(check(&good), []);
    let sentences = ".notes .notes[] .disagreement gestation.source gestation.sd_source";
    all_noticed(&good, sentences, check);
}

/// Numbers in the list by date are read, though its sentences are not.
#[test]
fn numbers_of_the_list_by_date_are_read_twice() {
    let (season, plan) = plan_of(&demo());
    let good = of_plan(&season, &plan);
    for n in 0..good.on_hand.len() {
        let mut bad = good.clone();
        let amount = &mut bad.on_hand[n].amount;
        let digit = amount.find(|c: char| c.is_ascii_digit()).unwrap();
        amount.insert(digit, '3');
        let found = oracle::supplies::check(&season, &plan, &bad);
        assert!(!found.is_empty(), "{}", bad.on_hand[n].amount);
    }
}
