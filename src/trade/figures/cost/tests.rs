use super::*;
use crate::trade::protocol::Library;

fn price(value: f64) -> Option<Price> {
    Price::new(value)
}

fn protocol(id: &str) -> Protocol {
    Library::built_in().get(id).unwrap().clone()
}

/// Every price is another power of two, so that a total tells what was counted.
fn powers() -> Prices {
    Prices {
        currency: None,
        gnrh_per_dose: price(1.0),
        pg_per_dose: price(16.0),
        estradiol_per_dose: price(256.0),
        insert_each: price(512.0),
        mga_per_head_day: price(1024.0),
        patch_each: price(32768.0),
        straw_each: price(65536.0),
        technician_per_head: price(131_072.0),
        labour_per_hour: price(262_144.0),
        road_per_hour: None,
        other_per_head: price(524_288.0),
    }
}

fn work(in_heat: Option<f64>) -> Work {
    Work {
        in_heat: in_heat.map(|p| Percent::new(p).unwrap()),
        labour_hours: Some(0.5),
    }
}

/// At those prices, with this share in heat, in percent.
fn cost_of(id: &str, in_heat: Option<f64>) -> Cost {
    cost_a_head(&protocol(id), &powers(), &work(in_heat))
}

/// What a head takes, such as `GnRH 2`.
fn units(cost: &Cost) -> Vec<String> {
    let lines = cost.lines.iter();
    lines.map(|l| format!("{} {}", l.what, l.units)).collect()
}

fn has(cost: &Cost, what: &str) -> bool {
    units(cost).iter().any(|u| u == what)
}

#[test]
fn doses_are_counted_from_the_steps() {
    let cost = cost_of("cow-5-day-co-synch-insert", None);
    let words = "GnRH 2, PG 2, insert 1, semen 1, technician 1, labor 0.5, other 1";
    assert_eq!(units(&cost).join(", "), words);
    let sum = 2.0 + 32.0 + 512.0 + 65536.0 + 131_072.0 + 131_072.0 + 524_288.0;
    assert_eq!(cost.total, Money(sum));
    assert_eq!(cost.missing, [""; 0]);
    assert_eq!(cost.in_heat, None);
}

#[test]
fn a_double_dose_is_two_and_mga_is_fed_by_the_day() {
    let mut double = protocol("heifer-mga-pg");
    let mut steps = double.steps.iter_mut();
    let pg = steps.find(|s| s.actions == [Action::Pg]).unwrap();
    pg.actions = vec![Action::PgDouble];
    let cost = cost_a_head(&double, &powers(), &work(None));
    assert_eq!(units(&cost)[..3], ["GnRH 1", "PG 2", "MGA 14"]);
}

#[test]
fn at_clean_up_only_the_rest_get_gnrh() {
    let cost = cost_of("cow-7-day-co-synch-insert-split", Some(75.0));
    // One dose at the start for all, one at the second breeding for a quarter.
    assert_eq!(units(&cost)[0], "GnRH 1.25");
    // Everybody is bred once, whoever is in heat.
    assert!(has(&cost, "patch 1") && has(&cost, "semen 1"));
    assert_eq!(cost.in_heat.unwrap().source, "your own figure");
}

#[test]
fn by_heat_alone_only_those_in_heat_are_bred() {
    let cost = cost_of("cow-select-synch-insert", Some(60.0));
    assert!(has(&cost, "semen 0.6") && has(&cost, "technician 0.6"));
    assert!(has(&cost, "GnRH 1"));
    // Without the share neither can be counted; it is named once.
    let unknown = cost_of("cow-select-synch-insert", None);
    assert_eq!(unknown.missing, ["in_heat"]);
}

#[test]
fn a_share_that_changes_nothing_is_not_shown() {
    let timed = cost_of("cow-7-day-co-synch-insert", Some(60.0));
    assert_eq!(timed.in_heat, None);
}

#[test]
fn a_published_share_is_taken_unless_one_is_given() {
    let split = protocol("heifer-14-day-insert-pg-split");
    let published = cost_a_head(&split, &powers(), &work(None));
    let used = published.in_heat.as_ref().unwrap();
    let given = (used.percent, used.source.as_str());
    assert_eq!(given, (66.0, "STAI-SEXED, THOMAS-STAI2"));
    assert!((published.lines[0].units - 0.34).abs() < 1e-12);
    // A share of those who wait says the same from the other side.
    let mut rest_only = split.clone();
    for step in &mut rest_only.steps {
        if step.actions.contains(&Action::InseminateInHeat) {
            step.share = None;
        }
    }
    assert_eq!(cost_a_head(&rest_only, &powers(), &work(None)), published);
    let own = cost_a_head(&split, &powers(), &work(Some(0.0)));
    assert_eq!(units(&own)[0], "GnRH 1");
}

#[test]
fn what_has_no_price_is_named() {
    let split = protocol("cow-7-day-co-synch-insert-split");
    let cost = cost_a_head(&split, &Prices::default(), &Work::default());
    let keys = "gnrh_per_dose pg_per_dose insert_each patch_each straw_each \
                technician_per_head labour_hours labour_per_hour other_per_head";
    assert_eq!(cost.missing.join(" "), keys);
    assert_eq!((cost.lines.len(), cost.total), (0, Money(0.0)));
}

#[test]
fn without_the_share_what_hangs_on_it_is_not_counted() {
    let cost = cost_of("heifer-mga-pg-split", None);
    assert_eq!(cost.missing, ["in_heat"]);
    assert!(cost.lines.iter().all(|l| l.what != "GnRH"));
    assert!(has(&cost, "semen 1"));
    assert_eq!(cost.in_heat, None);
}

#[test]
fn hours_that_are_no_hours_are_not_given() {
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        let bad = Work {
            labour_hours: Some(bad),
            ..Work::default()
        };
        let cost = cost_a_head(&protocol("cow-co-synch"), &powers(), &bad);
        assert_eq!(cost.missing, ["labour_hours"]);
    }
    let three = chute_hours_a_head(3, HeadPerHour::new(60.0).unwrap(), 4);
    assert!((three - 0.2).abs() < 1e-12);
}

#[test]
fn a_pregnancy_costs_a_head_over_the_rate() {
    let prices = Prices {
        straw_each: price(30.0),
        ..Prices::default()
    };
    let cost = cost_a_head(&protocol("cow-co-synch"), &prices, &Work::default());
    let a_pregnancy = cost.a_pregnancy(Percent::new(50.0).unwrap()).unwrap();
    assert!((a_pregnancy.0 - 60.0).abs() < 1e-9);
    assert_eq!(cost.a_pregnancy(Percent::new(0.0).unwrap()), None);
}

#[test]
fn every_library_protocol_is_counted_with_nothing_missing() {
    for entry in Library::built_in().iter() {
        let cost = cost_a_head(entry, &powers(), &work(Some(50.0)));
        assert_eq!(cost.missing, [""; 0], "{}", entry.id);
        let semen = cost.lines.iter().find(|l| l.what == "semen").unwrap();
        assert!((0.5..=1.0).contains(&semen.units), "{}", entry.id);
    }
}

#[test]
fn the_form_of_prices_refuses_what_it_does_not_know() {
    use crate::base::document::{Tree, shape};
    let schema = serde_json::to_value(schemars::schema_for!(Prices)).unwrap();
    let read = |text: &str| {
        let tree = Tree::parse("prices.yaml", text.as_bytes()).unwrap();
        (shape::check(&tree, &schema), tree)
    };
    let (found, tree) = read("currency: USD\nstraw_each: 20\npg_per_dose: 2.75\n");
    assert_eq!(found, []);
    let prices: Prices = tree.decode().unwrap();
    assert_eq!(prices.straw_each, price(20.0));
    for bad in "straw_each: -1|straw_each: 1000001|straw_each: dear|strw_each: 1".split('|') {
        let (found, tree) = read(bad);
        assert_eq!(found.len(), 1, "{bad}");
        assert!(tree.decode::<Prices>().is_err(), "{bad}");
    }
    let general = "A price that the user gives: finite, 0 or more, in the season's currency.";
    for (key, form) in schema["properties"].as_object().unwrap() {
        assert!(form.get("description").is_some(), "{key}");
        assert!(form["description"] != general, "{key}");
    }
}
