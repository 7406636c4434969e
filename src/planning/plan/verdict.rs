//! The verdict: covered or not, by what margin, and what binds, in figures and in words.

use super::{Session, Tightest, Uncovered, Verdict};
use crate::base::units::{count, human_minutes};
use crate::planning::crew::{Search, gap_percent};
use crate::planning::dating::DatedSeason;
use crate::trade::protocol::Kind;
use crate::trade::season::Season;

/// Pens that are not covered are named in the verdict's words if they are so few; else counted.
pub const PENS_NAMED: usize = 8;

pub(super) fn verdict(
    season: &Season,
    dated: &DatedSeason,
    sessions: &[Session],
    uncovered: &[Uncovered],
    rules_broken: bool,
    search: &Search,
) -> Verdict {
    let due: u32 = dated.dues.iter().map(|d| d.head.0).sum();
    let missed: u32 = uncovered.iter().map(|u| u.head).sum();
    let half_days = dated.dues.iter().filter(|d| d.half_day.is_some());
    let by_heat: u32 = half_days.map(|d| d.head.0).sum();
    // Of groups bred by heat, those that are in no breeding.
    let rest = |planned: bool| -> u32 {
        let kinds = [Kind::EstrusDetection, Kind::EstrusDetectionThenTimed];
        let groups = season.groups.iter().enumerate();
        groups
            .filter(|(n, g)| {
                kinds.contains(&g.protocol.kind)
                    && dated.heats.iter().any(|h| h.group == *n) == planned
            })
            .map(|(n, g)| {
                let mine = dated.dues.iter().filter(|d| d.group == n);
                g.head().0.saturating_sub(mine.map(|d| d.head.0).sum())
            })
            .sum()
    };
    let tightest = sessions.iter().min_by_key(|s| {
        (
            s.pens.iter().all(|p| p.head == p.bred_head),
            s.margin_head,
            s.margin_minutes,
        )
    });
    let mut verdict = Verdict {
        covered: missed == 0,
        rules_broken,
        season_head: season.head().0,
        due_head: due,
        covered_head: due - missed,
        uncovered_head: missed,
        by_heat_head: by_heat,
        unplanned_head: rest(false),
        not_seen_head: rest(true),
        tightest: tightest.map(|s| Tightest {
            session: s.id.clone(),
            margin_head: s.margin_head,
            margin_minutes: s.margin_minutes,
            binding: s.binding,
        }),
        words: Vec::new(),
    };
    verdict.words = words(
        season,
        &verdict,
        tightest,
        uncovered,
        sessions.len(),
        search,
    );
    verdict
}

fn words(
    season: &Season,
    verdict: &Verdict,
    tightest: Option<&Session>,
    uncovered: &[Uncovered],
    sessions: usize,
    search: &Search,
) -> Vec<String> {
    let mut words = Vec::new();
    let sessions = count(sessions as u32, "session", "sessions");
    if verdict.due_head == 0 {
        words.push(
            "No animal is to be bred at a set time, or expected in heat on a half-day.".to_owned(),
        );
    } else if verdict.covered {
        words.push(format!(
            "On time: all {} head are bred in their AI windows, in {sessions}.",
            verdict.due_head
        ));
        words.extend(tightest.map(|s| tightest_words(season, s)));
    } else {
        words.extend(not_covered(season, verdict, uncovered, &sessions, search));
    }
    let heat = verdict.by_heat_head;
    if heat > 0 {
        words.push(format!(
            "{heat} of these are expected in heat, half-day by half-day: the real number will be higher or lower."
        ));
    }
    if verdict.not_seen_head > 0 {
        words.push(format!(
            "{} more head are not expected to show heat: no breeding is planned for them.",
            verdict.not_seen_head
        ));
    }
    if verdict.unplanned_head > 0 {
        words.push(format!(
            "{} head are bred as they come in heat; their daily number is not planned.",
            verdict.unplanned_head
        ));
    }
    if verdict.rules_broken && verdict.covered {
        words.push("There are warnings: read them before you rely on this plan.".to_owned());
    }
    words
}

fn not_covered(
    season: &Season,
    verdict: &Verdict,
    uncovered: &[Uncovered],
    sessions: &str,
    search: &Search,
) -> Vec<String> {
    let mut words = vec![format!(
        "Short: {} of {} head {} in their AI windows.",
        verdict.uncovered_head,
        verdict.due_head,
        if search.proven == search.parts {
            "cannot be bred"
        } else {
            "are not bred"
        }
    )];
    let more = search.at_most_more();
    if more > 0 {
        words.push(format!(
            "A better choice of who goes where could breed at most {more} of them ({} %).",
            gap_percent(verdict.covered_head, verdict.covered_head + more)
        ));
    }
    if uncovered.len() > PENS_NAMED {
        let mut at: Vec<&str> = uncovered.iter().map(|u| u.session.as_str()).collect();
        at.dedup();
        words.push(format!(
            "They are in {} pens, in {} of {sessions}.",
            uncovered.len(),
            at.len()
        ));
        return words;
    }
    for u in uncovered {
        let group = season.groups.iter().find(|g| g.id.as_str() == u.group);
        let pen = match (group, u.pen) {
            (Some(g), Some(pen)) if g.pens.len() > 1 => format!(" pen {pen}"),
            _ => String::new(),
        };
        words.push(u.words(&format!("{}{pen}", u.group)));
    }
    words
}

fn tightest_words(season: &Season, s: &Session) -> String {
    let name = |id: &str| {
        let group = season.groups.iter().find(|g| g.id.as_str() == id);
        group.map_or_else(|| id.to_owned(), |g| g.name.clone())
    };
    let mut groups: Vec<String> = s.pens.iter().map(|p| name(&p.group)).collect();
    groups.dedup();
    let site = season.sites.iter().find(|x| x.id.as_str() == s.site);
    format!(
        "Tightest is {} at {} ({}): room for {} more head in its tightest pen, {}; {}.",
        s.first_cow.unwrap_or(s.open).format("%a %-d %b"),
        site.map_or(s.site.as_str(), |x| x.name.as_str()),
        groups.join(", "),
        s.margin_head,
        if s.margin_minutes > 0 {
            format!("or a start up to {} later", human_minutes(s.margin_minutes))
        } else {
            "and no later start".to_owned()
        },
        s.binding_words
    )
}
