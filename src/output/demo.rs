//! What tests of the forms share: the demo's plan, and animals of it that are not bred.

use std::sync::LazyLock;

use crate::base::error::Finding;
use crate::planning::plan::{Binding, DuePen, Plan, Session, Uncovered};
use crate::service::pipeline;
use crate::trade::protocol::Library;
use crate::trade::season::{self, Season};

pub(super) fn season() -> (Season, Vec<Finding>) {
    let demo = include_bytes!("../../demo/season.yaml");
    season::read("season.yaml", demo, &Library::built_in()).expect("a good season")
}

pub(super) static PLAN: LazyLock<Plan> = LazyLock::new(|| {
    let (season, findings) = season();
    pipeline::plan(&season, &findings).expect("a plan")
});

/// Animals of a pen that cannot be bred.
pub(super) fn not_bred(s: &Session, pen: &DuePen, animals: &[u32], why: &str) -> Uncovered {
    Uncovered {
        session: s.id.clone(),
        pass: pen.pass.clone(),
        group: pen.group.clone(),
        pen: pen.pen,
        head: pen.head,
        animals: animals.to_vec(),
        hours: pen.hours.clone(),
        why: vec![why.to_owned()],
        binding: Some(Binding::Shifts),
        limits: Vec::new(),
        at_most_head: None,
        hints: Vec::new(),
    }
}

/// Every free text of a plan.
pub(super) fn texts(plan: &mut Plan) -> Vec<&mut String> {
    let mut found = vec![&mut plan.season];
    for g in &mut plan.groups {
        found.push(&mut g.name);
        found.push(&mut g.protocol_name);
        found.push(g.note.get_or_insert_default());
    }
    found.extend(plan.sites.iter_mut().map(|s| &mut s.name));
    found.extend(plan.technicians.iter_mut().map(|t| &mut t.name));
    found.extend(plan.bulls.iter_mut().map(|b| &mut b.name));
    for p in &mut plan.passes {
        found.extend([
            &mut p.what,
            p.note.get_or_insert_default(),
            p.clock.get_or_insert_default(),
        ]);
    }
    for f in plan.follow_up.iter_mut().flat_map(|g| &mut g.events) {
        found.push(&mut f.what);
        found.extend(&mut f.words);
    }
    found.extend(plan.sessions.iter_mut().map(|s| &mut s.binding_words));
    found
}
