//! From dated passes and assigned work to the finished plan.

use std::collections::BTreeSet;

use chrono::NaiveDateTime;

use super::maker::{Maker, actions_words};
use super::{
    AtSession, Bull, BullStraws, FORMAT, Group, InOrder, OpenPart, Pass, Plan, Remark, Search,
    Session, Site, Technician, Uncovered, followed, road, spare, strain, straws, verdict::verdict,
};
use crate::base::error::{Code, Finding, Place, Severity, sort_findings};
use crate::base::time::Doubt;
use crate::base::units::{Clock, hundredths};
use crate::planning::crew::{self, FullHalfDay, Workload, gap_percent};
use crate::planning::dating::{self, DatedSeason};
use crate::trade::protocol::Action;
use crate::trade::protocol::dose::Drug;
use crate::trade::season::{self, PenStarts, Season};

/// Puts a plan together. `findings` are those of reading the season, `full` the half-days on which
/// more may be in heat than the crew could breed.
pub(crate) fn assemble(
    season: &Season,
    dated: &DatedSeason,
    workload: &Workload,
    findings: &[Finding],
    full: &[FullHalfDay],
) -> Plan {
    let maker = Maker {
        season,
        dated,
        full,
    };
    let sessions: Vec<Session> = workload
        .sessions
        .iter()
        .map(|s| maker.session(s, workload))
        .collect();
    let uncovered = maker.uncovered(workload, &sessions);
    let passes: Vec<Pass> = dated.passes.iter().map(|p| maker.pass(p)).collect();
    let follow_up = followed::follow_up(season, &passes, &sessions);
    let mut all: Vec<Finding> = findings
        .iter()
        .chain(&dated.findings)
        .chain(&workload.findings)
        .cloned()
        .chain(followed::findings(season, &follow_up))
        .chain(strain::findings(season, &sessions))
        .collect();
    sort_findings(&mut all);
    all.dedup();
    say_once(season, &mut all);
    let rules_broken = all.iter().any(|f| f.severity >= Severity::Warning);
    let verdict = |sessions: &[Session], uncovered: &[Uncovered], rules_broken| {
        let search = &workload.search;
        verdict(season, dated, sessions, uncovered, rules_broken, search)
    };
    let mut plan = Plan {
        format: FORMAT.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        // The finished plan's.
        id: String::new(),
        season: season.name.clone(),
        zone: season.zone.name().to_owned(),
        zone_data: crate::base::time::data_version().to_owned(),
        country: season.country.clone(),
        verdict: verdict(&sessions, &uncovered, rules_broken),
        sites: season.sites.iter().map(site).collect(),
        groups: maker.groups(workload),
        passes,
        follow_up,
        technicians: maker.technicians(&sessions),
        road: road::of_all(season, &sessions),
        sessions,
        uncovered,
        bulls: maker.bulls(workload),
        findings: all.iter().map(Remark::from).collect(),
        search: search(&maker, workload),
        units: season.units,
    };
    bring_straws(season, &mut plan);
    let lacking = spare::set(season, &mut plan.sessions, &mut plan.bulls);
    if !lacking.is_empty() {
        all.extend(lacking);
        sort_findings(&mut all);
        plan.findings = all.iter().map(Remark::from).collect();
        plan.verdict = verdict(&plan.sessions, &plan.uncovered, true);
    }
    plan
}

fn bring_straws(season: &Season, plan: &mut Plan) {
    let wants = straws::wants(season, plan);
    for (session, wants) in plan.sessions.iter_mut().zip(&wants) {
        session.straws = straws::by_bull(season, wants);
    }
}

/// The site of a session, by the id that it will have in the plan of a dated season.
#[must_use]
pub fn site_of_session(season: &Season, dated: &DatedSeason, id: &str) -> Option<usize> {
    let maker = Maker {
        season,
        dated,
        full: &[],
    };
    let mut firsts = dated.dues.iter();
    let first = firsts.find(|d| maker.session_id(d) == id)?;
    Some(first.site)
}

fn site(s: &season::Site) -> Site {
    Site {
        id: s.id.to_string(),
        name: s.name.clone(),
        latitude: s.position.map(|p| p.0),
        longitude: s.position.map(|p| p.1),
    }
}

fn search(maker: &Maker<'_>, workload: &Workload) -> Search {
    let of = &workload.search;
    let covered: u32 = workload.sessions.iter().map(crew::Session::head_bred).sum();
    Search {
        parts: of.parts as u32,
        proven: of.proven as u32,
        with_choices: of.with_choices as u32,
        gap_percent: gap_percent(covered, covered + of.at_most_more()),
        open: of
            .open
            .iter()
            .map(|part| OpenPart {
                sessions: workload
                    .sessions
                    .iter()
                    .filter(|s| part.dues.contains(&s.dues[0]))
                    .map(|s| maker.session_id(&maker.dated.dues[s.dues[0]]))
                    .collect(),
                covered_head: part.covered.0,
                bound_head: part.bound.0,
                gap_percent: gap_percent(part.covered.0, part.bound.0),
            })
            .collect(),
    }
}

/// Straws that are short for a group are said by the plan with figures; the remark of the reading
/// on the same group then says nothing new. Nor does it where bulls given to single animals bring enough.
fn say_once(season: &Season, all: &mut Vec<Finding>) {
    let short = all.iter().filter(|f| f.code == Code::StrawsShort);
    let short: BTreeSet<Place> = short.filter_map(|f| f.place.clone()).collect();
    let enough = |g: &season::Group| season.straws_of_bulls(&g.bulls) >= u64::from(g.head().0);
    let groups = season.groups.iter();
    let said = groups.filter(|g| short.contains(&g.start_place) || enough(g));
    let said: BTreeSet<Option<&Place>> = said.map(|g| Some(&g.bulls_place)).collect();
    all.retain(|f| f.code != Code::GroupNeedsStraws || !said.contains(&f.place.as_ref()));
}

impl Maker<'_> {
    fn groups(&self, workload: &Workload) -> Vec<Group> {
        self.season
            .groups
            .iter()
            .enumerate()
            .map(|(n, g)| Group {
                id: g.id.to_string(),
                name: g.name.clone(),
                site: self.season.sites[g.site].id.to_string(),
                class: g.class,
                protocol: g.protocol.id.to_string(),
                protocol_name: g.protocol.name.clone(),
                kind: g.protocol.kind,
                pen_head: g.pens.iter().map(|p| p.0).collect(),
                order: g.order,
                straws: self.set_aside(workload, n),
                straws_short: workload.straws_short.get(&n).copied().unwrap_or(0),
                start: self.at(self.season.zone.resolve(g.start).at),
                heat: self.heat(n),
                pen_starts: match &g.pen_starts {
                    PenStarts::Given(starts) => {
                        let at = |s: &NaiveDateTime| self.at(self.season.zone.resolve(*s).at);
                        Some(starts.iter().map(at).collect())
                    }
                    _ => None,
                },
                animals_in_order: workload.in_order.get(&n).map(|pens| self.in_order(pens)),
                note: g.note.clone(),
                allowed: self.season.allowed(&g.protocol, g.class),
                unverified: g.protocol.has_unverified(),
            })
            .collect()
    }

    fn set_aside(&self, workload: &Workload, group: usize) -> Vec<BullStraws> {
        let mut all: Vec<BullStraws> = Vec::new();
        for a in workload.straws.iter().filter(|a| a.group == group) {
            let bull = self.season.bulls[a.bull].id.as_str();
            let known = all.iter().position(|b| b.bull == bull);
            let n = known.unwrap_or_else(|| {
                all.push(BullStraws {
                    bull: bull.to_owned(),
                    straws: 0,
                    sexed_straws: a.sexed.map(|_| 0),
                });
                all.len() - 1
            });
            all[n].straws += a.straws;
            if let (Some(sexed), Some(true)) = (&mut all[n].sexed_straws, a.sexed) {
                *sexed += a.straws;
            }
        }
        all
    }

    fn in_order(&self, pens: &[Vec<crew::Ordered>]) -> Vec<Vec<InOrder>> {
        let in_order = |a: &crew::Ordered| InOrder {
            animal: a.animal.clone(),
            bull: a.straw.map(|(b, _)| self.season.bulls[b].id.to_string()),
            sexed: a.straw.is_some_and(|(_, sexed)| sexed),
        };
        let pens = pens.iter();
        pens.map(|p| p.iter().map(in_order).collect()).collect()
    }

    fn pass(&self, p: &dating::Pass) -> Pass {
        let group = &self.season.groups[p.group];
        let step = &group.protocol.steps[p.step];
        let of_half_day = [Action::InseminateInHeat];
        let actions = match p.half_day {
            Some(_) => of_half_day.as_slice(),
            None => step.actions.as_slice(),
        };
        Pass {
            id: match p.half_day {
                Some(half) => self.half_id(p.group, p.step, half),
                None if p.days.is_some() => format!("{}/all/{}", group.id, step.id),
                None => self.pass_id(p.group, p.pen, p.step),
            },
            group: group.id.to_string(),
            pen: (p.days.is_none() && p.half_day.is_none()).then_some(p.pen as u32 + 1),
            step: step.id.to_string(),
            site: self.season.sites[group.site].id.to_string(),
            work: p.work,
            what: actions_words(actions) + &self.mark(group, actions),
            actions: actions.to_vec(),
            start: self.at(p.start),
            end: self.at(p.end),
            first_day: p.days.map(|d| d.0),
            last_day: p.days.map(|d| d.1),
            head: p.head.0,
            hours: p.hours.as_ref().map(|h| {
                let window = match (p.half_day, step.delay) {
                    (Some(_), _) => self.season.rules.heat.breeding.words(),
                    (None, crate::trade::protocol::Delay::Elapsed(w)) => w.words(),
                    (None, crate::trade::protocol::Delay::Days(d)) => format!("{d} days"),
                };
                self.hours(h, window)
            }),
            cautions: p.cautions.clone(),
            note: step.note.clone(),
            clock: p.doubt.map(|d| doubt(self.season.zone.told(), d)),
        }
    }

    /// Behind the words of what is done: that a drug given is not permitted, and planned all the same.
    fn mark(&self, group: &season::Group, actions: &[Action]) -> String {
        let given = actions.iter().filter_map(|a| Drug::given_by(*a));
        let given: Vec<Drug> = given.map(|(drug, _)| drug).collect();
        let allowed = self.season.allowed(&group.protocol, group.class);
        let mut marked = allowed.iter().filter(|a| given.contains(&a.drug));
        marked.next().map_or(String::new(), |a| {
            format!(
                " (not permitted in {}, allowed by the season file)",
                a.country
            )
        })
    }

    fn technicians(&self, sessions: &[Session]) -> Vec<Technician> {
        self.season
            .crew
            .iter()
            .map(|t| {
                let mine: Vec<&AtSession> = sessions
                    .iter()
                    .flat_map(|s| &s.technicians)
                    .filter(|a| a.id == t.id.as_str())
                    .collect();
                let seconds: i64 = mine
                    .iter()
                    .map(|a| (a.last_cow - a.begins).num_seconds())
                    .sum();
                Technician {
                    id: t.id.to_string(),
                    name: t.name.clone(),
                    helper: t.helper,
                    sessions: mine.len() as u32,
                    head: mine.iter().map(|a| a.head).sum(),
                    hours: hundredths(seconds as f64 / 3600.0),
                    road: road::own(self.season, sessions, t),
                }
            })
            .collect()
    }

    fn bulls(&self, workload: &Workload) -> Vec<Bull> {
        self.season
            .bulls
            .iter()
            .enumerate()
            .map(|(n, b)| {
                let planned = workload
                    .straws
                    .iter()
                    .filter(|a| a.bull == n)
                    .map(|a| a.straws)
                    .sum();
                Bull {
                    id: b.id.to_string(),
                    name: b.name.clone(),
                    straws: b.straws().0,
                    planned_straws: planned,
                    left_straws: b.straws().0.saturating_sub(planned),
                    spare_straws: 0,
                }
            })
            .collect()
    }
}

fn doubt(told: Clock, doubt: Doubt) -> String {
    match doubt {
        Doubt::Gap { asked, used } => format!(
            "{} does not exist on this day; {} is meant",
            told.time(asked),
            told.time(used)
        ),
        Doubt::Fold { asked } => format!(
            "{} comes twice on this day; the first is meant",
            told.time(asked)
        ),
    }
}
