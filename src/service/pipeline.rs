//! The one way from a season to a plan: date, assign, assemble, verify.
//!
//! It stands above the plan's types and the verifier, because it calls both.

use std::borrow::Cow;

use uuid::Uuid;

use crate::analysis::forecast;
use crate::analysis::matings::{self, Matings};
use crate::analysis::tank;
use crate::analysis::tank::{stays, turns};
use crate::analysis::{supplies, thaw};
use crate::base::error::{Code, Error, Finding, Place, quoted};
use crate::base::progress::{Budget, Counted, NoProgress, OnlyStop, Progress};
use crate::planning::crew::{self, Draft, Effort, Proof, Reasons, Workload};
use crate::planning::dating;
use crate::planning::dating::DatedSeason;
use crate::planning::plan::{Plan, assemble};
use crate::trade::season::{GroupFacts, Season};
use crate::verify;

/// How a season is planned.
#[derive(Clone, Copy)]
pub struct Options<'a> {
    /// The season's matings, for the straws to be as they have them.
    pub matings: Option<&'a Matings>,
    /// False for a season that is only tried: no reasons are looked for why head are not covered.
    pub reasons: bool,
    /// Who looks on. Asked to stop, planning searches no further, but the plan is whole and verified
    /// all the same, and a finding says what is proven.
    pub progress: &'a dyn Progress,
}

impl Default for Options<'_> {
    fn default() -> Self {
        Self {
            matings: None,
            reasons: true,
            progress: &NoProgress,
        }
    }
}

/// Plans a season. `findings` are those that came with reading it; they go into the plan.
///
/// # Errors
/// A finding for each group that has wishes in place of a protocol and a start. An internal error if the model fails, or if the finished plan does not hold against the
/// season: no plan leaves this function unverified.
pub fn plan(season: &Season, findings: &[Finding]) -> Result<Plan, Error> {
    plan_with(season, findings, Options::default())
}

/// The same, with options.
///
/// # Errors
/// As for [`plan`].
pub fn plan_with(
    season: &Season,
    findings: &[Finding],
    options: Options<'_>,
) -> Result<Plan, Error> {
    let Options {
        matings, progress, ..
    } = options;
    let open: Vec<Finding> = season.open.iter().map(still_open).collect();
    if !open.is_empty() {
        return Err(Error::input(open));
    }
    let mut findings = findings.to_vec();
    findings.extend(season.label_notes());
    let before = Counted::new(progress);
    let (mut settled, said) = settled(season, &before)?;
    findings.extend(said);
    let (fine, first, work) = searched(&settled, matings, progress)?;
    if let Some(fine) = fine {
        settled = Cow::Owned(fine);
    }
    let Drafted {
        dated,
        draft,
        left_anyway,
        turns_by_rule,
    } = first;
    findings.extend(turns_by_rule.then(turns_not_searched));
    // Pens and tanks are settled anew with every change. That takes about as much work as before.
    let replan = |changed: &Season, progress: &dyn Progress| {
        if before.work() + work > progress.left() {
            return None;
        }
        let changed = unsettled(season, changed);
        let progress = OnlyStop(progress);
        let (settled, _) = self::settled(&changed, &progress).ok()?;
        let settled = crew::as_fine(&settled, &dating::date(&settled).dues);
        let again = drafted(&settled, matings, Effort::FULL, &progress).ok()?;
        (!progress.stop()).then(|| again.draft.bred())
    };
    let reasons = if options.reasons {
        Reasons::Told(Some(Proof {
            replan: &replan,
            needed: season.has_open_pens() || stays::may_clash(season),
        }))
    } else {
        Reasons::LeftOut
    };
    let workload = draft.explained(&settled, &dated, reasons, progress);
    findings.extend(share_spread(&settled, left_anyway.iter().sum(), progress)?);
    let half_days = crew::full_half_days(&settled, &dated, progress)?;
    let full = &half_days.full;
    findings.extend(crew::full_findings(&settled, &half_days));
    if let Some(heats) = dated.heats.first().filter(|_| progress.stop()) {
        let place = settled.groups[heats.group].start_place.clone();
        findings.push(not_counted(
            place,
            "whether the crew could breed the most that may be in heat on each half-day",
        ));
    }
    let mut plan = assemble(&settled, &dated, &workload, &findings, full);
    let mut of_tanks = tank::low(&settled, &plan);
    of_tanks.extend(turns::findings(&settled, &dated, &plan));
    if !of_tanks.is_empty() {
        findings.extend(of_tanks);
        plan = assemble(&settled, &dated, &workload, &findings, full);
    }
    let mut plan = held(plan, |plan| {
        let of_matings = matings.map(|m| verify::plan_matings(season, plan, m));
        [verify::verify(season, plan), of_matings.unwrap_or_default()].concat()
    })?;
    name(&mut plan);
    Ok(plan)
}

/// The season with the starts of pens chosen where it leaves them open, and what is said of that.
fn settled<'a>(
    season: &'a Season,
    progress: &dyn Progress,
) -> Result<(Cow<'a, Season>, Vec<Finding>), Error> {
    if !season.has_open_pens() {
        return Ok((Cow::Borrowed(season), Vec::new()));
    }
    let (settled, said) = crew::starts::settle(season, progress)?;
    Ok((Cow::Owned(settled), said))
}

/// A changed season with the pens open that this one leaves open.
fn unsettled(season: &Season, changed: &Season) -> Season {
    let mut changed = changed.clone();
    for (open, group) in season.groups.iter().zip(&mut changed.groups) {
        if group.starts_planned {
            let order = group.order;
            group.clone_from(open);
            group.order = order;
        }
    }
    changed
}

/// A season drafted in steps of time as fine as it takes: the season in those steps if they are finer than its
/// own, the draft, and the work of it.
///
/// Where finer steps may come, a quick draft tells whether all are bred anyway. The full search of coarse steps
/// comes last, if the finer are too many to be searched well.
fn searched(
    season: &Season,
    matings: Option<&Matings>,
    progress: &dyn Progress,
) -> Result<(Option<Season>, Drafted, i64), Error> {
    let draft = |season: &Season, effort: Effort, progress: &dyn Progress| {
        let counted = Counted::new(progress);
        let draft = drafted(season, matings, effort, &counted)?;
        Ok::<_, Error>((draft, counted.work()))
    };
    let Some(fine) = crew::finest(season, &dating::date(season).dues) else {
        let (first, work) = draft(season, Effort::FULL, progress)?;
        return Ok((None, first, work));
    };
    let (quick, work) = draft(season, Effort::QUICK, progress)?;
    if missed(&quick.draft.workload) == 0 {
        return Ok((None, quick, work));
    }
    let mut best = (None, quick, work);
    let (by_minute, work) = draft(&fine, Effort::FINE, &Budget::new(progress, FINE_WORK))?;
    let near =
        by_minute.open() == 0 || work > SMALL && by_minute.open() <= by_minute.draft.bred() / NEAR;
    if !best.1.is_as_good_as(&by_minute) {
        best = (Some(fine), by_minute, work);
    }
    if !near {
        let (full, work) = draft(season, Effort::FULL, progress)?;
        if full.is_as_good_as(&best.1) {
            best = (None, full, work);
        }
    }
    Ok(best)
}

/// A season, its crew drafted.
struct Drafted {
    /// Its dues, with the turns of tanks.
    dated: DatedSeason,
    draft: Draft,
    /// Head left of each due if tanks were everywhere.
    left_anyway: Vec<u32>,
    /// True where the work was used up before every turn of a tank was searched.
    turns_by_rule: bool,
}

impl Drafted {
    /// Head that might be bred beside.
    fn open(&self) -> u32 {
        self.draft.workload.search.at_most_more()
    }

    /// True if as many are bred, and no more might be.
    fn is_as_good_as(&self, other: &Self) -> bool {
        let bred = (self.draft.bred(), other.draft.bred());
        bred.0 > bred.1 || bred.0 == bred.1 && self.open() <= other.open()
    }
}

/// Drafts the crew, and again until each tank is at one place at a time.
fn drafted(
    season: &Season,
    matings: Option<&Matings>,
    effort: Effort,
    progress: &dyn Progress,
) -> Result<Drafted, Error> {
    let mut dated = dating::date(season);
    let numbers = matings.map(|m| m.straw_demand(season));
    let drafted = |dated: &DatedSeason, effort: Effort, progress: &dyn Progress| {
        crew::draft(season, dated, numbers.as_deref(), effort, progress)
    };
    let mut draft = drafted(&dated, effort, progress)?;
    let left_anyway = left(&dated, &draft.workload);
    let may_clash = stays::may_clash(season);
    let rounds = Budget::new(progress, ROUNDS_WORK);
    for _ in (0..turns::MOST_ROUNDS).take_while(|_| may_clash) {
        let now = &draft.workload;
        let plan = assemble(season, &dated, now, &[], &[]);
        let narrowed = turns::settle(season, &mut dated, now, &plan, &left_anyway, &rounds);
        if !narrowed? {
            break;
        }
        draft = drafted(&dated, effort.once(), &rounds)?;
    }
    if rounds.used_up() {
        // Searched further, a plan may want a tank at two sites again: then the last of the rounds stands.
        let further = drafted(&dated, effort, progress)?;
        let plan = assemble(season, &dated, &further.workload, &[], &[]);
        let stays = stays::stays(season, &plan);
        if stays::clashes(season, &stays, |tank| season.places_at_once(tank)).is_empty() {
            draft = further;
        }
    }
    Ok(Drafted {
        dated,
        draft,
        left_anyway,
        turns_by_rule: rounds.used_up(),
    })
}

/// Gives a plan its id: what it plans, hashed. Findings name files as they were called for, and units and
/// the clock are how it is told: none is part of it.
fn name(plan: &mut Plan) {
    /// A version 5 UUID (RFC 9562, section 5.5) wants a namespace: this is of nothing else.
    const NAMESPACE: Uuid = Uuid::from_u128(0x0c5e_9c1a_73d2_4f0e_9a41_6f0b_2d38_e7c4);
    let findings = std::mem::take(&mut plan.findings);
    let units = std::mem::take(&mut plan.units);
    plan.id.clear();
    let text = serde_json::to_string(plan).unwrap_or_default();
    let text = units.clock.on_24h(&text);
    (plan.findings, plan.units) = (findings, units);
    plan.id = Uuid::new_v5(&NAMESPACE, text.as_bytes())
        .simple()
        .to_string();
    plan.id.truncate(8);
}

/// Finds the matings of a season, and holds them against it. `findings` are those that came with
/// reading the files; they go into the matings.
///
/// # Errors
/// More bulls than [`matings::MOST_BULLS`]; matings given with bulls that are none. An internal error if
/// the finished matings do not hold, or are not proven the best.
pub fn matings(input: &matings::Input<'_>, findings: &[Finding]) -> Result<Matings, Error> {
    held(matings::propose(input, findings)?, |made| {
        verify::matings(input, made)
    })
}

/// What comes of a planned season, held against it.
///
/// # Errors
/// An internal error if the forecast does not hold.
pub fn forecast(season: &Season, plan: &Plan) -> Result<forecast::Forecast, Error> {
    held(forecast::forecast(season, plan), |told| {
        verify::calves(season, plan, told)
    })
}

/// What to have at hand for a plan, and when, held against it.
///
/// # Errors
/// An internal error if the list does not hold.
pub fn supplies(season: &Season, plan: &Plan) -> Result<supplies::OrderList, Error> {
    let told = supplies::of_plan(season, plan);
    held(told, |told| verify::supplies(season, plan, told))
}

/// The thaw rounds of a plan, of one session if it is named, held against it.
///
/// # Errors
/// An internal error if the rounds do not hold.
pub fn thaw(season: &Season, plan: &Plan, session: Option<&str>) -> Result<thaw::Thaw, Error> {
    let told = thaw::of_plan(season, plan, session);
    held(told, |told| verify::thaw::check(season, plan, told))
}

/// An answer in which nothing was found wrong.
fn held<T>(told: T, wrong: impl FnOnce(&T) -> Vec<Finding>) -> Result<T, Error> {
    let faults = wrong(&told);
    if faults.is_empty() {
        Ok(told)
    } else {
        Err(Error::internal(faults))
    }
}

/// The thaw rounds of each session of a plan that breeds cows, held against season and plan.
///
/// # Errors
/// An internal error if the rounds do not hold.
pub fn rounds(season: &Season, plan: &Plan) -> Result<Vec<thaw::SessionThaw>, Error> {
    let sessions = plan.sessions.iter();
    let all: Vec<thaw::SessionThaw> = sessions
        .filter_map(|s| thaw::of_session(season, plan, s))
        .collect();
    held(all, |all| {
        verify::thaw::check_all(season, plan, &all.iter().collect::<Vec<_>>())
    })
}

/// The season with bulls that the user gives to animals of a group among that group's bulls: a mating
/// given is kept, and so is its straw.
#[must_use]
pub fn with_given(season: &Season, made: &Matings) -> Season {
    let bulls = season.bulls_by_id();
    let mut season = season.clone();
    for group in &mut season.groups {
        let group = &mut group.facts;
        let mine = made.groups.iter().filter(|m| m.group == group.id.as_str());
        for animal in mine.flat_map(|m| &m.animals) {
            let straw = animal.straw.as_ref().map(|s| &s.bull);
            let given = animal.given.as_ref().filter(|g| straw == Some(*g));
            if let Some(bull) = given.and_then(|g| bulls.get(g.as_str()))
                && !group.bulls.contains(bull)
            {
                group.bulls.push(*bull);
            }
        }
    }
    season
}

/// Names in the matings of a season the very straws that the sessions of its plan take.
///
/// # Errors
/// An internal error if tank and matings then name different straws.
pub fn locate_straws(
    made: &mut Matings,
    input: &matings::Input<'_>,
    plan: &Plan,
) -> Result<(), Error> {
    matings::locate_straws(made, input.season, Some(plan));
    let mut faults = verify::matings(input, made);
    faults.extend(verify::straw_places(input.season, plan, made));
    held((), |()| faults)
}

/// A group whose protocol and start are still to be chosen.
pub fn still_open(group: &GroupFacts) -> Finding {
    Finding::error(
        Code::GroupOpen,
        format!(
            "{} has wishes, but no protocol and start yet",
            quoted(group.id.as_str())
        ),
    )
    .at(group.start_place.clone())
    .expected("`protocol` and `start`")
    .hint("`thawline choose` finds them, and writes them into a copy of the season file with `--write`")
}

/// Work of counting in finer steps, in about microseconds.
const FINE_WORK: i64 = 30_000_000;

/// Where more than one of so many might be bred beside, finer steps are too many to be searched well;
const NEAR: u32 = 100;

/// and coarse ones are searched in any case where finer ones take no more work than this, in about microseconds.
const SMALL: i64 = 4_000_000;

/// Work of settling tanks in turn and planning again, all rounds together, and with other shares in heat, each, in
/// about microseconds. Beyond it plain rules plan.
const ROUNDS_WORK: i64 = 4_000_000;
const SPREAD_WORK: i64 = 2_000_000;

const OTHER_SHARES: &str = "what other published shares in heat would leave unbred";

fn not_counted(place: Place, what: &str) -> Finding {
    Finding::warning(
        Code::StoppedByHand,
        format!("the search was stopped by hand: {what} was not counted"),
    )
    .at(place)
    .expected("a search that runs to its end")
    .hint("the plan holds as it is; let the search run to its end to know")
}

fn turns_not_searched() -> Finding {
    let what =
        "which site a tank goes to first was not searched to the end: other turns might breed more";
    Finding::note(Code::SearchStopped, what)
        .expected("few sessions at other sites that want a tank at the same time")
        .hint("the plan holds as it is; list a second tank with a part of the straws, or start groups on other days")
}

/// Head left of each due.
fn left(dated: &DatedSeason, workload: &Workload) -> Vec<u32> {
    let mut left = vec![0; dated.dues.len()];
    for u in workload.sessions.iter().flat_map(|s| &s.uncovered) {
        left[u.due] += u.head.0;
    }
    left
}

fn missed(workload: &Workload) -> u32 {
    let uncovered = workload.sessions.iter().flat_map(|s| &s.uncovered);
    uncovered.map(|u| u.head.0).sum()
}

/// Groups planned with a published share in heat are planned again with the lowest and the
/// highest published: more animals left then than `now` is worth knowing before the day. Tanks are
/// everywhere in all of this.
fn share_spread(season: &Season, now: u32, progress: &dyn Progress) -> Result<Vec<Finding>, Error> {
    let mut found = Vec::new();
    for high in [false, true] {
        let mut other = season.clone();
        let mut named = Vec::new();
        let mut place = None;
        for group in &mut other.groups {
            if let Some([low, _, most]) = group
                .published_in_heat()
                .filter(|_| group.in_heat_percent.is_none())
            {
                let share = if high { most } else { low };
                group.in_heat_percent = Some(share);
                named.push(format!("{share} % of {}", quoted(group.id.as_str())));
                place.get_or_insert_with(|| group.start_place.clone());
            }
        }
        let Some(place) = place else {
            continue;
        };
        if progress.stop() {
            found.push(not_counted(place, OTHER_SHARES));
            break;
        }
        let spread = Budget::new(progress, SPREAD_WORK);
        let other = crew::draft(&other, &dating::date(&other), None, Effort::FULL, &spread);
        let other = other?.workload;
        if spread.used_up() {
            let what = format!("{OTHER_SHARES} was not counted: too many sessions fall together");
            let finding = Finding::note(Code::SearchStopped, what).at(place);
            found.push(
                finding
                    .expected("fewer sessions on the same days")
                    .hint("the plan holds as it is; set `in_heat_percent` from your own counts"),
            );
            continue;
        }
        if progress.stop() {
            found.push(not_counted(place, OTHER_SHARES));
            break;
        }
        let then = missed(&other);
        if then > now {
            found.push(
                Finding::note(
                    Code::ShareSpread,
                    format!(
                        "with {} in heat, {} head more would be left",
                        named.join(" and "),
                        then - now
                    ),
                )
                .at(place)
                .expected("a plan that holds over the published spread")
                .hint(
                    "keep a technician in reserve, or set `in_heat_percent` from your own counts",
                ),
            );
        }
    }
    Ok(found)
}
