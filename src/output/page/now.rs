//! What is on today, and what comes next: told by the reader's own clock, in the season's zone.
//!
//! The page says nothing of it until the script has run; without scripts the list of days stands
//! where it stood.

use maud::{Markup, PreEscaped, html};

use crate::planning::plan::Plan;

const SCRIPT: &str = include_str!("now.js");

/// The empty section, and the script that fills it from the list of days.
pub(super) fn now(plan: &Plan) -> Markup {
    html! {
        section id="now" data-zone=(plan.zone) aria-labelledby="now-title" hidden {
            h2 id="now-title" { "Today and next" }
            ul class="days" {}
        }
    }
}

/// At the end of the page, when the days are there.
pub(super) fn script() -> Markup {
    html! { script { (PreEscaped(SCRIPT)) } }
}
