//! What the law of the country does not permit: allowed by the season file, and marked in the words of what is
//! done.

use super::Reading;
use crate::trade::protocol::{Action, Class};

/// What is not permitted: the country, the action, and the cattle where it is not all.
const NOT_PERMITTED: [(&str, Action, Option<Class>); 2] = [
    ("US", Action::Estradiol, None),
    ("US", Action::FeedMga, Some(Class::Cow)),
];

pub(super) fn check(r: &mut Reading<'_>) {
    let (season, plan) = (r.season, r.plan);
    r.same("country", &season.country, &plan.country);
    let country = season.country.code();
    for (group, given) in season.groups.iter().zip(&plan.groups) {
        let refused = |action: &Action| {
            NOT_PERMITTED.iter().any(|(of, what, class)| {
                *of == country && what == action && class.is_none_or(|c| c == group.class)
            })
        };
        let mut marked: Vec<Action> = Vec::new();
        for pass in plan.passes.iter().filter(|p| p.group == given.id) {
            let mut words: Vec<&str> = pass.actions.iter().map(|a| a.words()).collect();
            let mine = pass.actions.iter().filter(|a| refused(a));
            let before = marked.len();
            marked.extend(mine);
            let mark = format!(" (not permitted in {country}, allowed by the season file)");
            let mark = if marked.len() > before {
                mark
            } else {
                String::new()
            };
            let last = words.pop().unwrap_or_default().to_owned() + &mark;
            words.push(&last);
            r.same(
                &format!("{}: what", pass.id),
                &words.join(" + "),
                &pass.what,
            );
        }
        marked.sort();
        marked.dedup();
        let reasons = given.allowed.iter().map(|a| &a.reason);
        let stated = reasons.filter(|r| season.allow.iter().any(|a| a.reason == **r));
        let (who, stated) = (format!("{}: marks of law", group.id), stated.count());
        r.same(
            &who,
            &(marked.len(), marked.len()),
            &(given.allowed.len(), stated),
        );
    }
}
