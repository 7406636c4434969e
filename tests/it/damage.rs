//! The verifier catches damage of many kinds done to a good plan.

use chrono::TimeDelta;
use thawline::plan::Plan;
use thawline::season::Season;
use thawline::verify::verify;

use crate::support::{demo, plan_of};

type Damage = (&'static str, fn(&mut Plan));

/// Each does one thing wrong, as a faulty program might.
const DAMAGE: &[Damage] = &[
    ("a pass goes missing", |p| {
        let at = p.passes.iter().position(|x| x.step == "pg").unwrap();
        p.passes.remove(at);
    }),
    ("a pass stands twice", |p| {
        p.passes.push(p.passes[0].clone());
    }),
    ("a pass an hour late", |p| {
        let pass = p.passes.iter_mut().find(|x| x.step == "pg").unwrap();
        pass.start += TimeDelta::hours(1);
        pass.end += TimeDelta::hours(1);
    }),
    ("a pass ends too soon", |p| {
        let pass = p
            .passes
            .iter_mut()
            .find(|x| x.work == thawline::plan::Work::Chute);
        pass.unwrap().end -= TimeDelta::minutes(5);
    }),
    ("a moment with another zone's offset", |p| {
        let start = p.passes[0].start;
        let east = chrono::FixedOffset::east_opt(3600).unwrap();
        p.passes[0].start = start.with_timezone(&east);
    }),
    ("breeding hours an hour wide of the window", |p| {
        let pass = p.passes.iter_mut().find(|x| x.hours.is_some()).unwrap();
        pass.hours.as_mut().unwrap().latest += TimeDelta::hours(1);
    }),
    ("a feeding a day short", |p| {
        let pass = p.passes.iter_mut().find(|x| x.last_day.is_some()).unwrap();
        pass.last_day = pass.last_day.unwrap().pred_opt();
    }),
    ("a caution left out", |p| {
        let pass = p
            .passes
            .iter_mut()
            .find(|x| x.actions.contains(&thawline::protocol::Action::Pg))
            .unwrap();
        pass.cautions.clear();
    }),
    ("a cow bred hours too late", |p| {
        let slot = p.sessions[1].slots.last_mut().unwrap();
        slot.start += TimeDelta::hours(5);
    }),
    ("a cow bred twice", |p| {
        let slot = p.sessions[1].slots[0].clone();
        p.sessions[1].slots.push(slot);
    }),
    ("a cow forgotten", |p| {
        let slot = &mut p.sessions[1].slots[0];
        slot.head -= 1;
        slot.animals.pop();
        slot.bred_minutes.pop();
    }),
    ("two animals change places across the session", |p| {
        let slots = &mut p.sessions[1].slots;
        let last = slots.len() - 1;
        let (a, b) = (slots[0].animals[0], slots[last].animals[0]);
        slots[0].animals[0] = b;
        slots[last].animals[0] = a;
    }),
    ("a technician faster than the pace", |p| {
        let slots = &mut p.sessions[1].slots;
        let slot = slots.iter_mut().find(|s| s.head > 1).unwrap();
        slot.bred_minutes[1] -= 1.5;
    }),
    ("a technician who is off shift", |p| {
        for slot in &mut p.sessions[2].slots {
            if slot.technician == "ana" {
                slot.technician = "coe".into();
            }
        }
        let coe = p.sessions[2]
            .technicians
            .iter()
            .position(|t| t.id == "coe")
            .unwrap();
        let ana = p.sessions[2]
            .technicians
            .iter()
            .position(|t| t.id == "ana")
            .unwrap();
        p.sessions[2].technicians[coe].begins =
            p.sessions[2].technicians[ana].begins - TimeDelta::hours(3);
        p.sessions[2].technicians.remove(ana);
    }),
    ("a technician nobody knows", |p| {
        p.sessions[1].slots[0].technician = "zed".into();
    }),
    ("more straws at once than are safe", |p| {
        p.sessions[1].technicians[0].straws_at_once += 4;
    }),
    ("straws that are older than said", |p| {
        p.sessions[1].technicians[0].last_straw_minutes -= 1.0;
    }),
    ("straws nobody has", |p| {
        p.groups[0].straws[0].straws += 500;
    }),
    ("a bull the group may not use", |p| {
        p.groups[0].straws[0].bull = "Quartz 9".into();
    }),
    ("too few straws brought", |p| {
        p.sessions[1].straws[0].straws -= 1;
    }),
    ("return heats a day late", |p| {
        let event = follow(p, 2, "mature/return-heat");
        event.first_day += chrono::TimeDelta::days(1);
    }),
    ("a pregnancy check that ends too late", |p| {
        let event = follow(p, 2, "mature/ultrasound");
        event.last_day = None;
    }),
    ("a withdrawal that is too short", |p| {
        let event = follow(p, 0, "heifers/withdrawal");
        event.first_day -= chrono::TimeDelta::days(1);
        event.last_day = Some(event.first_day);
    }),
    ("the law of another country", |p| {
        p.country.code = Some("BR".into());
    }),
    ("a country that the file does not state", |p| {
        p.country.stated = !p.country.stated;
    }),
    ("a mark of law on a group without such a drug", |p| {
        p.groups[0].allowed.push(thawline::season::Allowed {
            drug: thawline::protocol::dose::Drug::Estradiol,
            country: "US".into(),
            why: "invented".into(),
            reason: "invented".into(),
        });
    }),
    ("calves of another breed", |p| {
        let event = follow(p, 2, "mature/mean-calving");
        event.first_day += chrono::TimeDelta::days(2);
        event.last_day = Some(event.first_day);
    }),
    ("bulls that are not taken out", |p| {
        p.follow_up[2].events.retain(|e| e.id != "mature/bulls-out");
    }),
    ("a follow-up of fewer head", |p| {
        follow(p, 2, "mature/palpation").head -= 1;
    }),
    ("a follow-up twice", |p| {
        let again = p.follow_up[0].events[0].clone();
        p.follow_up[0].events.insert(0, again);
    }),
    ("a group that nothing follows for", |p| {
        p.follow_up.remove(3);
    }),
    ("other days of breeding", |p| {
        let last = p.follow_up[0].last_bred.as_mut().unwrap();
        *last += chrono::TimeDelta::days(1);
    }),
    ("a site somewhere else", |p| {
        p.sites[0].latitude = Some(41.0);
    }),
    ("a verdict that counts wrong", |p| {
        p.verdict.covered_head += 1;
    }),
    ("a verdict that says covered", |p| {
        p.verdict.covered = !p.verdict.covered;
    }),
    ("a warning kept quiet", |p| {
        p.verdict.rules_broken = !p.verdict.rules_broken;
    }),
    ("a technician's total too small", |p| {
        p.technicians[0].head -= 1;
    }),
    ("a pen moved to another site", |p| {
        p.sessions[1].site = "bench".into();
    }),
    ("three at two boxes", crowd),
    ("a session without its cautions", |p| {
        p.sessions[1].cautions.clear();
    }),
    ("a session's hours wider than its pens'", |p| {
        p.sessions[1].close += TimeDelta::hours(12);
    }),
    ("a pen told other hours than its pass", |p| {
        p.sessions[1].pens[0].hours.earliest -= TimeDelta::hours(1);
    }),
    ("straws of a bull that is not the group's", |p| {
        p.sessions[1].straws[0].bull = "Quartz 9".into();
    }),
    ("leaving too late for the road", |p| {
        let mut on_the_road = p.sessions.iter_mut().flat_map(|s| &mut s.technicians);
        let leaves = on_the_road.find_map(|t| t.leaves.as_mut()).unwrap();
        leaves.by += TimeDelta::minutes(20);
    }),
    ("a part of the search that is not told", |p| {
        p.search.parts += 1;
    }),
    ("a gap where all is proven", |p| {
        p.search.gap_percent = 1.5;
    }),
    ("a road that is longer than it is", |p| {
        p.technicians[0].road.as_mut().unwrap().hours += 0.1;
    }),
    ("a road home that is counted twice", |p| {
        let road = p.technicians[0].road.as_mut().unwrap();
        road.outings.push(road.outings[0].clone());
    }),
    ("a day's road that is too cheap", |p| {
        let road = p.technicians[0].road.as_mut().unwrap();
        road.outings[0].cost.as_mut().unwrap().0 -= 1.0;
    }),
    ("a road that costs nothing", |p| {
        p.technicians[2].road.as_mut().unwrap().cost = None;
    }),
    ("a road on another day", |p| {
        let road = p.technicians[0].road.as_mut().unwrap();
        road.outings[0].day = road.outings[0].day.succ_opt().unwrap();
    }),
    ("a road of other miles", |p| {
        *p.technicians[0].road.as_mut().unwrap().km.as_mut().unwrap() += 0.02;
    }),
    ("a technician's road left out", |p| {
        p.technicians[1].road = None;
    }),
    ("a road of all that costs too much", |p| {
        p.road.as_mut().unwrap().cost.as_mut().unwrap().0 += 10.0;
    }),
    ("another price of the road", |p| {
        p.road.as_mut().unwrap().price_per_hour = thawline::figures::Price::new(41.0);
    }),
    ("somebody said to have no home", |p| {
        p.road.as_mut().unwrap().without_home.push("ana".into());
    }),
    ("a session in two places at once", |p| {
        let (a, b) = (0, p.sessions.len() - 1);
        let begins = p.sessions[a].technicians[0].begins;
        let last = p.sessions[a].technicians[0].last_cow;
        p.sessions[b].site = "bench".into();
        p.sessions[b].technicians[0].begins = begins;
        p.sessions[b].technicians[0].last_cow = last;
    }),
];

/// The same for groups bred by detected heat.
const BY_HEAT: &[Damage] = &[
    ("a head more on one half-day and less on another", |p| {
        let days = &mut p.groups[0].heat.as_mut().unwrap().half_days;
        days[0].head += 1;
        days[1].head -= 1;
    }),
    ("a band too narrow", |p| {
        let days = &mut p.groups[0].heat.as_mut().unwrap().half_days;
        days.iter_mut().max_by_key(|d| d.head).unwrap().high_head -= 1;
    }),
    ("a band too wide", |p| {
        p.groups[0].heat.as_mut().unwrap().left_high_head += 1;
    }),
    ("another mean of the hours to heat", |p| {
        *p.groups[1]
            .heat
            .as_mut()
            .unwrap()
            .mean_hours
            .as_mut()
            .unwrap() += 0.5;
    }),
    ("a half-day left out", |p| {
        p.groups[1].heat.as_mut().unwrap().half_days.remove(2);
    }),
    ("a half-day told for another day", |p| {
        let day = &mut p.groups[1].heat.as_mut().unwrap().half_days[2];
        day.seen_day = day.seen_day.succ_opt().unwrap();
    }),
    ("a half-day bred 12 hours late", |p| {
        let pass = p.passes.iter_mut().find(|x| x.id.ends_with("-am")).unwrap();
        pass.start += TimeDelta::hours(12);
        pass.end += TimeDelta::hours(12);
    }),
    ("hours of a half-day wider than the season's", |p| {
        let pass = p.passes.iter_mut().find(|x| x.id.ends_with("-pm")).unwrap();
        pass.hours.as_mut().unwrap().latest += TimeDelta::hours(1);
    }),
    ("a half-day's pass of fewer head", |p| {
        let pass = p.passes.iter_mut().find(|x| x.id.ends_with("-pm")).unwrap();
        pass.head -= 1;
    }),
    ("a half-day's pass gone", |p| {
        let at = p.passes.iter().position(|x| x.id.ends_with("-pm")).unwrap();
        p.passes.remove(at);
    }),
    ("a session that tells another band", |p| {
        let mut pens = p.sessions.iter_mut().flat_map(|s| &mut s.pens);
        let by_heat = pens.find_map(|x| x.by_heat.as_mut()).unwrap();
        by_heat.high_head += 3;
    }),
    ("an animal bred by heat and again at the clean-up", |p| {
        let pass = p.passes.iter_mut().find(|x| x.step == "clean-up").unwrap();
        pass.head += 1;
    }),
    ("head beyond the crew that nobody mentions", |p| {
        p.findings.retain(|f| f.code.as_str() != "W107");
    }),
    ("head beyond the crew that is told of no group", |p| {
        p.findings.iter_mut().for_each(|f| f.place = None);
    }),
    ("heat that is planned for nobody", |p| {
        p.groups[1].heat = None;
    }),
    ("a verdict that counts heats wrong", |p| {
        p.verdict.by_heat_head += 1;
    }),
    ("a verdict that forgets those not seen", |p| {
        p.verdict.not_seen_head = 0;
    }),
];

fn follow<'a>(plan: &'a mut Plan, group: usize, id: &str) -> &'a mut thawline::plan::FollowUp {
    let events = &mut plan.follow_up[group].events;
    events.iter_mut().find(|e| e.id == id).expect(id)
}

fn good() -> (Season, Plan) {
    let (season, plan) = plan_of(&demo());
    assert_eq!(verify(&season, &plan), []);
    (season, plan)
}

#[test]
fn every_kind_of_damage_is_caught() {
    let (season, plan) = good();
    assert!(DAMAGE.len() >= 15);
    for (what, damage) in DAMAGE {
        let mut broken = plan.clone();
        damage(&mut broken);
        let text = |p: &Plan| thawline::output::json::plan(p);
        assert!(text(&broken) != text(&plan), "{what}: nothing was damaged");
        assert!(!verify(&season, &broken).is_empty(), "{what}: not caught");
    }
}

#[test]
fn every_kind_of_damage_to_half_days_is_caught() {
    let (season, plan) = plan_of(crate::by_heat::SEASON);
    assert_eq!(verify(&season, &plan), []);
    for (what, damage) in BY_HEAT {
        let mut broken = plan.clone();
        damage(&mut broken);
        assert!(broken != plan, "{what}: nothing was damaged");
        assert!(!verify(&season, &broken).is_empty(), "{what}: not caught");
    }
}

#[test]
fn head_left_uncovered_without_a_word_is_caught() {
    let text = demo()
        .replace("head: 88", "head: 400")
        .replace("breeding_boxes: 2", "breeding_boxes: 1");
    let (season, plan) = plan_of(&text);
    assert!(!plan.verdict.covered);
    assert_eq!(verify(&season, &plan), []);
    let mut quiet = plan.clone();
    quiet.uncovered[0].why.clear();
    assert!(!verify(&season, &quiet).is_empty());
    let mut hidden = plan.clone();
    hidden.uncovered.clear();
    assert!(!verify(&season, &hidden).is_empty());
    let mut no_finding = plan;
    no_finding
        .findings
        .retain(|f| !f.code.as_str().starts_with('W'));
    assert!(!verify(&season, &no_finding).is_empty());
}

/// Damage to a plan, or a season that is read otherwise than the plan was made for.
type Twisted = (&'static str, fn(&mut Season, &mut Plan));

/// Three technicians with a cow each where there are two boxes.
fn crowd(p: &mut Plan) {
    let session = p.sessions.iter_mut().find(|s| s.site == "bench").unwrap();
    let slot = session.slots[0].clone();
    for who in ["ana", "burt", "coe"] {
        let mut more = slot.clone();
        more.technician = who.into();
        session.slots.push(more);
    }
}

fn day_of(plan: &Plan) -> chrono::NaiveDate {
    plan.sessions[1].slots[0].start.date_naive()
}

/// What each check of people, straws and boxes expects, and something that breaks that.
const TWISTED: &[Twisted] = &[
    ("time for the road from creek to bench", |_, p| {
        // With somebody who stays at the creek.
        let burt = |s: &&thawline::plan::Session| s.technicians.iter().any(|t| t.id == "burt");
        let first = p.sessions.iter().find(burt).unwrap().clone();
        let other = p.sessions.iter_mut().find(|s| s.site != first.site);
        let other = other.unwrap();
        let away =
            |s: &&thawline::plan::Slot| other.technicians.iter().all(|t| t.id != s.technician);
        let slot = first.slots.iter().find(away).unwrap().clone();
        other.slots.push(slot);
    }),
    ("no straw older than its limit", |_, p| {
        for at in &mut p.sessions[1].technicians {
            at.begins -= TimeDelta::minutes(20);
        }
    }),
    ("straws thawed between two rounds", |s, p| {
        // The last cow of a slot waits: nobody who works alone thaws another straw meanwhile.
        let alone: Vec<&str> = s
            .crew
            .iter()
            .filter(|t| !t.helper)
            .map(|t| t.id.as_str())
            .collect();
        for slot in p.sessions.iter_mut().flat_map(|s| &mut s.slots) {
            if alone.contains(&slot.technician.as_str())
                && let Some(last) = slot.bred_minutes.last_mut()
            {
                *last += 2.0;
            }
        }
    }),
    ("at most 1 straws in it", |s, _| {
        for site in &mut s.sites {
            site.thaw_bath = thawline::units::Straws(1);
        }
    }),
    ("animals in the order of the earlier pass", |_, p| {
        let slots = p.sessions.iter_mut().flat_map(|s| &mut s.slots);
        for slot in slots {
            slot.animals.reverse();
        }
    }),
    ("at most 2 animals in them", |_, p| crowd(p)),
    ("after her own treatment", |_, p| {
        let slot = p.sessions[1].slots.last_mut().unwrap();
        slot.start += TimeDelta::hours(5);
    }),
    ("no breeding in hours kept free", |s, p| {
        s.rules.free.push(thawline::season::FreeHours {
            when: thawline::season::When::On(day_of(p)),
            from: None,
            to: None,
            stops: thawline::season::Stops::ChuteWork,
            why: None,
        });
    }),
    ("not in hours kept free", |s, p| {
        // The first cow is bred as work may begin: her straw thaws too soon.
        let first = p.sessions.iter().flat_map(|s| &s.technicians);
        let first = first.map(|t| t.first_cow.naive_local().time()).min();
        s.rules.free.push(thawline::season::FreeHours {
            when: thawline::season::When::Daily,
            from: None,
            to: first,
            stops: thawline::season::Stops::AllWork,
            why: None,
        });
    }),
    ("work within shifts", |s, p| {
        for t in &mut s.crew {
            t.days_off.push(day_of(p));
        }
    }),
];

#[test]
fn people_straws_and_boxes_are_followed_cow_by_cow() {
    let (season, plan) = good();
    for (expected, twist) in TWISTED {
        let (mut season, mut plan) = (season.clone(), plan.clone());
        twist(&mut season, &mut plan);
        let found = verify(&season, &plan);
        let mut told = found.iter().filter_map(|f| f.expected.as_deref());
        let seen = told.any(|e| e.contains(expected));
        assert!(seen, "{expected}: {found:#?}");
    }
}
