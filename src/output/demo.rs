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
