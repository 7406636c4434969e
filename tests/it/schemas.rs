//! The published schemas: a general validator agrees with our own reading of them.

use proptest::prelude::*;
use serde_json::Value;
use thawline::document::{Tree, schema_of, shape};
use thawline::output::answer::Answer as _;
use thawline::plan::Plan;
use thawline::progress::NoProgress;
use thawline::simulate::{self, SeasonChance, Trial};
use thawline::staffing::{Crew, Question, Staffing, assess};
use thawline::{protocol, season};

use crate::bad_input::thawline;
use crate::support::{Dice, LIBRARY, demo, plan_of, small};

#[test]
fn schemas_are_valid_and_take_what_we_ship() {
    let schema = season::schema();
    assert!(jsonschema::meta::is_valid(schema));
    let tree = Tree::parse("demo", demo().as_bytes()).unwrap();
    assert!(jsonschema::is_valid(schema, &tree.root().to_json()));
    let schema = protocol::schema();
    assert!(jsonschema::meta::is_valid(schema));
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/protocols")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|x| x == "yaml") {
            let tree = Tree::parse("p", &std::fs::read(&path).unwrap()).unwrap();
            assert!(
                jsonschema::is_valid(schema, &tree.root().to_json()),
                "{path:?}"
            );
        }
    }
    let schema = schema_of::<Plan>();
    assert!(jsonschema::meta::is_valid(&schema));
    let plan = serde_json::to_value(plan_of(&demo()).1).unwrap();
    assert!(jsonschema::is_valid(&schema, &plan));
    let schema = schema_of::<SeasonChance>();
    assert!(jsonschema::meta::is_valid(&schema));
    let (season, made) = plan_of(&demo());
    let told = simulate::of_season(
        &season,
        &made,
        Trial {
            runs: 50,
            ..Trial::default()
        },
    );
    assert!(jsonschema::is_valid(
        &schema,
        &serde_json::to_value(told).unwrap()
    ));
    let schema = schema_of::<thawline::thaw::Thaw>();
    assert!(jsonschema::meta::is_valid(&schema));
    let told = thawline::thaw::of_plan(&season, &made, Some(&made.sessions[0].id));
    assert!(told.session.is_some());
    assert!(jsonschema::is_valid(
        &schema,
        &serde_json::to_value(told).unwrap()
    ));
    let schema = schema_of::<thawline::supplies::OrderList>();
    assert!(jsonschema::meta::is_valid(&schema));
    let told = thawline::supplies::of_plan(&season, &made);
    let value = serde_json::to_value(&told).unwrap();
    assert!(jsonschema::is_valid(&schema, &value));
    let again: thawline::supplies::OrderList = serde_json::from_value(value).unwrap();
    assert_eq!(again, told);
    let schema = schema_of::<thawline::forecast::Forecast>();
    assert!(jsonschema::meta::is_valid(&schema));
    let told = thawline::forecast::forecast(&season, &made);
    let printed: Value = serde_json::from_str(&told.json()).unwrap();
    assert!(jsonschema::is_valid(&schema, &printed));
    let again: thawline::forecast::Forecast = serde_json::from_value(printed).unwrap();
    assert_eq!(again, told);
    let schema = schema_of::<thawline::matings::Matings>();
    assert!(jsonschema::meta::is_valid(&schema));
    let (none, own) = (
        std::collections::BTreeMap::new(),
        std::collections::BTreeMap::new(),
    );
    let input = thawline::matings::Input::of(&season, &none, &own, None);
    let told = thawline::pipeline::matings(&input, &[]).unwrap();
    let told = serde_json::to_value(told).unwrap();
    assert!(jsonschema::is_valid(&schema, &told));
    let golden = include_str!("../golden/matings.json");
    let golden: Value = serde_json::from_str(golden).unwrap();
    assert!(jsonschema::is_valid(&schema, &golden));
    let again: Plan = serde_json::from_value(plan).unwrap();
    assert_eq!(again, plan_of(&demo()).1);
}

/// What `cover` prints keeps its schema, covered or not.
#[test]
fn answers_of_cover_keep_their_schema() {
    let schema = schema_of::<Staffing>();
    assert!(jsonschema::meta::is_valid(&schema));
    let judge = jsonschema::validator_for(&schema).unwrap();
    let texts = (0..5).map(small).chain([demo()]);
    for (n, text) in texts.enumerate() {
        let (season, _) = season::read("s", text.as_bytes(), &LIBRARY).unwrap();
        for crew in [Crew::All, Crew::Fastest(1)] {
            let question = Question {
                crew,
                least_margin_minutes: 15 * (n as i64 % 3),
                ..Question::default()
            };
            let answer = assess(&season, &LIBRARY, &question, &NoProgress);
            let answer = answer.unwrap().answer;
            let printed = answer.json();
            let value: Value = serde_json::from_str(&printed).unwrap();
            assert!(judge.is_valid(&value), "{printed}");
            let again: Staffing = serde_json::from_value(value).unwrap();
            assert_eq!(again, answer);
            let text = answer.text();
            let narrow = text.lines().all(|l| l.len() <= 80);
            assert!(text.is_ascii() && narrow, "{text}");
        }
    }
}

#[test]
fn every_key_of_a_season_is_documented() {
    let schemas = [
        ("season", season::schema().clone()),
        ("protocol", protocol::schema().clone()),
        ("plan", schema_of::<Plan>()),
        ("chance", schema_of::<SeasonChance>()),
        ("cover", schema_of::<Staffing>()),
        ("tank", schema_of::<thawline::tank::TankReport>()),
        ("supplies", schema_of::<thawline::supplies::OrderList>()),
        ("forecast", schema_of::<thawline::forecast::Forecast>()),
        ("thaw", schema_of::<thawline::thaw::Thaw>()),
        ("matings", schema_of::<thawline::matings::Matings>()),
    ];
    let mut found = Vec::new();
    for (form, schema) in &schemas {
        undocumented(schema, form, &mut found);
    }
    let plain = [
        "Site.id",
        "Site.name",
        "BullStraws.bull",
        "BullStraws.straws",
    ];
    found.retain(|f| !plain.iter().any(|p| f.ends_with(&format!(".{p}"))));
    assert_eq!(found, [""; 0]);
}

/// Spoils one value somewhere in the tree.
fn spoil(value: &mut Value, dice: &mut Dice) {
    match value {
        Value::Object(map) if !map.is_empty() => {
            let keys: Vec<String> = map.keys().cloned().collect();
            let key = dice.pick(&keys).clone();
            match dice.below(6) {
                0 => {
                    map.remove(&key);
                }
                1 => {
                    let old = map.remove(&key).unwrap();
                    map.insert(format!("{key}x"), old);
                }
                _ => spoil(map.get_mut(&key).unwrap(), dice),
            }
        }
        Value::Array(items) if !items.is_empty() && dice.below(5) > 0 => {
            let n = dice.below(items.len() as u64) as usize;
            spoil(&mut items[n], dice);
        }
        _ => {
            *value = match dice.below(9) {
                0 => Value::from(-1),
                1 => Value::from(0),
                2 => Value::from(1e12),
                3 => Value::from(0.5),
                4 => Value::from("word"),
                5 => Value::from(true),
                6 => serde_json::json!([]),
                7 => serde_json::json!({}),
                _ => Value::from(7),
            };
        }
    }
}

/// The form of a season in which nothing is left out.
fn schema_of_raw() -> &'static Value {
    static SCHEMA: std::sync::LazyLock<Value> =
        std::sync::LazyLock::new(schema_of::<season::raw::Season>);
    &SCHEMA
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn our_reading_agrees_with_a_general_validator(seed in any::<u64>(), season_file in any::<bool>()) {
        let mut dice = Dice(seed);
        let (text, schema) = if season_file {
            (demo(), schema_of_raw())
        } else {
            let path = concat!(env!("CARGO_MANIFEST_DIR"), "/protocols/heifer-14-day-insert-pg-split.yaml");
            (std::fs::read_to_string(path).unwrap(), protocol::schema())
        };
        let mut value = Tree::parse("t", text.as_bytes()).unwrap().root().to_json();
        spoil(&mut value, &mut dice);
        // JSON is YAML.
        let spoiled = serde_json::to_string(&value).unwrap();
        let tree = Tree::parse("t", spoiled.as_bytes()).unwrap();
        let fit = shape::fit(&tree, schema);
        let ours = fit.found.is_empty();
        // We read more than a validator takes: a word in capitals, one entry in place of its list. What we make
        // of it fits. A whole number with a fraction point we ask to be written as one; all else must agree.
        let read = if ours { fit.value } else { tree.root().to_json() };
        prop_assert_eq!(ours, jsonschema::is_valid(schema, &read), "{}", spoiled);
        if ours {
            if season_file {
                prop_assert!(tree.decode_value::<season::raw::Season>(read).is_ok());
            } else {
                prop_assert!(tree.decode_value::<protocol::raw::Protocol>(read).is_ok());
            }
        }
    }
}

/// Properties of a schema without a word of what they are.
fn undocumented(schema: &Value, path: &str, found: &mut Vec<String>) {
    if let Some(properties) = schema.get("properties").and_then(Value::as_object) {
        for (key, property) in properties {
            if property.get("description").is_none() {
                found.push(format!("{path}.{key}"));
            }
        }
    }
    match schema {
        Value::Object(all) => all
            .iter()
            .for_each(|(key, of)| undocumented(of, &format!("{path}.{key}"), found)),
        Value::Array(all) => all.iter().for_each(|of| undocumented(of, path, found)),
        _ => {}
    }
}

/// What a command prints as JSON keeps the schema that the program prints for it; an answer with a key
/// left out would not. Each key is documented.
#[test]
fn every_answer_keeps_the_schema_that_is_published_for_it() {
    let printed = |args: &[&str]| -> Value {
        let root = env!("CARGO_MANIFEST_DIR");
        let made = thawline().current_dir(root).args(args).output().unwrap();
        serde_json::from_slice(&made.stdout).unwrap_or_else(|e| panic!("{args:?}: {e}"))
    };
    let one = "cow-7-day-co-synch-insert";
    for (form, args) in [
        ("check", "check demo/season.yaml"),
        ("check", "check demo/none.yaml"),
        ("check", "protocols --check protocols"),
        ("choose", "choose demo/wishes.yaml"),
        ("choose", "choose demo/wishes.yaml --group mature"),
        ("herd", "herd demo/season.yaml"),
        ("protocols", "protocols --class cow"),
        ("protocols", "protocols --class cow --most-days 1"),
        ("dates", "protocols ID --start 2027-03-05T14:00 ZONE"),
        ("dates", "protocols ID --breed-at 2027-03-15T14:00 ZONE"),
        ("starts", "protocols --first-calf 2028-02-01 ZONE"),
        ("explain", "explain straw"),
    ] {
        let args = args
            .replace("ID", one)
            .replace("ZONE", "--zone=America/Denver");
        let args: Vec<&str> = args.split(' ').collect();
        let schema = printed(&["schema", form]);
        assert!(jsonschema::meta::is_valid(&schema), "{form}");
        let mut bare = Vec::new();
        undocumented(&schema, form, &mut bare);
        assert_eq!(bare, [""; 0]);
        let judge = jsonschema::validator_for(&schema).unwrap();
        let answer = printed(&[&args[..], &["--json"]].concat());
        let faults: Vec<String> = judge.iter_errors(&answer).map(|e| e.to_string()).collect();
        assert_eq!(faults, [""; 0], "{args:?}");
        // The first of a list stands for it.
        let keyed = answer.get(0).unwrap_or(&answer);
        for key in keyed.as_object().unwrap().keys() {
            if ["target", "counted_back_from"].contains(&&**key)
                || (form, &**key) == ("check", "protocols")
            {
                continue;
            }
            let mut less = answer.clone();
            let keyed = match &mut less {
                Value::Array(all) => &mut all[0],
                one => one,
            };
            keyed.as_object_mut().unwrap().remove(key);
            assert!(!judge.is_valid(&less), "{args:?} without {key}");
        }
    }
    let list = printed(&["schema", "protocols"]);
    let mut one_of_it = list["$defs"]["Protocol"].clone();
    one_of_it["$defs"] = list["$defs"].clone();
    let judge = jsonschema::validator_for(&one_of_it).unwrap();
    assert!(judge.is_valid(&printed(&["protocols", one, "--json"])));
}
