//! Matings held against the season, the herds and the scores again: straws, rules, places, and
//! that no other matings could be worth more. Names, kinship, scores and sums are worked out anew;
//! of the makers only the types are used.

use std::collections::BTreeMap;

use crate::analysis::matings::{Input, InputGroup, Mating, Matings, Straw};
use crate::base::error::{Code, Finding};
use crate::trade::herd::Animal;
use crate::trade::protocol::{Class, Semen};
use crate::trade::season::Season;

type Worth = [i64; 4];

/// Everything in which the matings do not hold.
#[must_use]
pub fn matings(input: &Input<'_>, made: &Matings) -> Vec<Finding> {
    let bulls = input.season.bulls.iter();
    let mut check = Check {
        input,
        made,
        ids: bulls.clone().map(|b| plain(b.id.as_str())).collect(),
        names: bulls.clone().map(|b| plain(&b.name)).collect(),
        parents: Vec::new(),
        stores: stores(input.season),
        faults: Vec::new(),
    };
    check.parents = bulls
        .map(|b| [&b.facts.sire, &b.facts.dam].map(|p| check.known(p.as_ref())))
        .collect();
    check.shape();
    if check.faults.is_empty() {
        check.places();
        check.totals();
        check.rules();
        check.proof(false);
        check.proof(true);
    }
    let faults = check.faults.into_iter().take(50);
    faults
        .map(|what| {
            Finding::error(Code::Verify, what)
                .expected("matings that keep the season's own rules")
                .hint("please report this with the season file")
        })
        .collect()
}

struct Check<'a> {
    input: &'a Input<'a>,
    made: &'a Matings,
    ids: Vec<String>,
    names: Vec<String>,
    /// Sire and dam of each bull.
    parents: Vec<[Option<String>; 2]>,
    stores: Vec<Store>,
    faults: Vec<String>,
}

/// A bull's straws of one sort, and how many of them there are.
#[derive(Clone, Copy)]
struct Store {
    bull: usize,
    sexed: bool,
    straws: u32,
}

/// Each bull's conventional straws and his sexed ones, as far as the season lists any.
fn stores(season: &Season) -> Vec<Store> {
    let mut sums: BTreeMap<(usize, bool), u32> = BTreeMap::new();
    for (n, bull) in season.bulls.iter().enumerate() {
        for p in &bull.places {
            let sexed = bull.facts.sexed || p.sort == Semen::Sexed;
            *sums.entry((n, sexed)).or_default() += p.straws.0;
        }
    }
    let stores = sums.into_iter();
    stores
        .map(|((bull, sexed), straws)| Store {
            bull,
            sexed,
            straws,
        })
        .collect()
}

fn plain(name: &str) -> String {
    crate::trade::herd::same_id(name)
}

fn sum(a: Worth, b: Worth, times: i64) -> Worth {
    std::array::from_fn(|n| a[n] + b[n] * times)
}

/// A bull's place in a tank: bull, whether sexed, tank, canister, cane, goblet.
type PlaceOf = (
    String,
    bool,
    Option<String>,
    Option<u32>,
    Option<String>,
    Option<String>,
);

impl Check<'_> {
    fn fault(&mut self, what: String) {
        self.faults.push(what);
    }

    /// Groups and animals are those of the files, in their order.
    fn shape(&mut self) {
        let (input, made) = (self.input, self.made);
        if input.groups.len() != made.groups.len() {
            self.fault("groups are missing".to_owned());
            return;
        }
        for (g, m) in input.groups.iter().zip(&made.groups) {
            let ids = g.herd.map(|h| h.animals.iter().map(|a| a.id.as_str()));
            let same = match ids {
                Some(ids) => ids.eq(m.animals.iter().map(|a| a.animal.as_str())),
                None => m.animals.is_empty() && m.head == g.facts.head().0,
            };
            if !same || g.id() != m.group {
                self.fault(format!(
                    "animals of group {} are not those of its file",
                    g.id()
                ));
            }
        }
    }

    /// No place gives more straws than it has.
    fn places(&mut self) {
        let mut taken: BTreeMap<PlaceOf, i64> = BTreeMap::new();
        let key = |s: &Straw| {
            let (tank, cane, goblet) = (s.tank.clone(), s.cane.clone(), s.goblet.clone());
            (s.bull.clone(), s.sexed, tank, s.canister, cane, goblet)
        };
        let animals = self.made.groups.iter().flat_map(|g| &g.animals);
        for straw in animals.flat_map(|a| a.straw.iter().chain(&a.backup)) {
            *taken.entry(key(straw)).or_default() += 1;
        }
        for bull in &self.input.season.bulls {
            for p in &bull.places {
                let id = bull.id.as_str().to_owned();
                let sexed = bull.facts.sexed || p.sort == Semen::Sexed;
                let goblet = p.goblet.map(|g| g.as_str().to_owned());
                let (tank, cane) = (p.tank.clone(), p.cane.clone());
                let key = (id, sexed, tank, p.canister, cane, goblet);
                *taken.entry(key).or_default() -= i64::from(p.straws.0);
            }
        }
        for (key, over) in taken {
            // A straw that an animal of no herd file takes leaves another without a place: the sums
            // of bulls hold all the same.
            let unknown = (&key.2, &key.3, &key.4) == (&None, &None, &None);
            if over > 0 && !unknown {
                self.fault(format!(
                    "{over} straws too many of {} from one place",
                    key.0
                ));
            }
        }
    }

    /// Heads add up, for each bull and group, and are no more than straws.
    fn totals(&mut self) {
        let made = self.made;
        let told = made.bulls.iter();
        let told = told.map(|b| (self.bull(&b.bull), b.sexed, b.straws));
        let there = self.stores.iter();
        if !told.eq(there.map(|s| (Some(s.bull), s.sexed, s.straws))) {
            self.fault("the straws of the bulls are others in the season".to_owned());
            return;
        }
        for b in &made.bulls {
            let counts = made.groups.iter().flat_map(|g| &g.by_bull);
            let (mut head, mut backup) = (0, 0);
            for c in counts.filter(|c| c.bull == b.bull && c.sexed == b.sexed) {
                head += c.head;
                backup += c.backup_head;
            }
            if head != b.given || backup != b.backup || head + backup + b.left != b.straws {
                self.fault(format!("the straws of {} do not add up", b.bull));
            }
        }
        for g in made.groups.iter().filter(|g| g.herd_file.is_some()) {
            for c in &g.by_bull {
                let of = |s: &Option<Straw>| {
                    s.as_ref()
                        .is_some_and(|s| s.bull == c.bull && s.sexed == c.sexed)
                };
                let head = g.animals.iter().filter(|a| of(&a.straw)).count();
                let backup = g.animals.iter().filter(|a| of(&a.backup)).count();
                if (head, backup) != (c.head as usize, c.backup_head as usize) {
                    self.fault(format!("{} is counted wrongly in {}", c.bull, g.group));
                }
            }
            let counted: u32 = g.by_bull.iter().map(|c| c.head).sum();
            let with = g.animals.iter().filter(|a| a.straw.is_some()).count();
            if counted as usize != with {
                self.fault(format!("a bull is not counted in {}", g.group));
            }
        }
        let with: u32 = made.bulls.iter().map(|b| b.given).sum();
        let first: u32 = made.groups.iter().map(|g| g.first_choice).sum();
        if made.verdict.with_bull != with || made.verdict.first_choice != first {
            self.fault("the verdict does not count what the lists hold".to_owned());
        }
    }

    fn bull(&self, name: &str) -> Option<usize> {
        let name = plain(name);
        let of = |known: &[String]| known.iter().position(|k| *k == name);
        of(&self.ids).or_else(|| of(&self.names))
    }

    /// The straws that one is of, or a count is of.
    fn store(&self, bull: &str, sexed: bool) -> Option<usize> {
        let bull = self.bull(bull)?;
        let mut all = self.stores.iter();
        all.position(|s| s.bull == bull && s.sexed == sexed)
    }

    fn of(&self, straw: Option<&Straw>) -> Option<usize> {
        straw.and_then(|s| self.store(&s.bull, s.sexed))
    }

    /// One writing of an animal's name, whether it is written as id or in full.
    fn known(&self, name: Option<&String>) -> Option<String> {
        let name = name?;
        Some(
            self.bull(name)
                .map_or_else(|| plain(name), |n| self.ids[n].clone()),
        )
    }

    fn scores(&self, group: &InputGroup<'_>, animal: Option<&Animal>) -> Vec<i64> {
        let files = [group.scores, self.input.scores].map(|s| {
            let scored = s?.animals.get(&plain(&animal?.id))?;
            Some(&scored.by_bull)
        });
        let bulls = &group.facts.bulls;
        let n = bulls.len() as i64;
        let of = |bull: usize| {
            let stated = files.iter().flatten().find_map(|by_bull| by_bull[bull]);
            stated.unwrap_or_else(|| {
                let before = bulls.iter().take_while(|b| **b != bull).count() as i64;
                (n - before) * 10_000 / n
            })
        };
        (0..self.ids.len()).map(of).collect()
    }

    /// What each bull's straws of a sort are worth to an animal whose matings are free; none if she
    /// may not have them.
    fn worths(&self, group: &InputGroup<'_>, animal: Option<&Animal>) -> Vec<Option<Worth>> {
        let heifer = animal.map_or(group.facts.class, |a| a.class) == Class::Heifer;
        let scores = self.scores(group, animal);
        let sire = self.known(animal.and_then(|a| a.sire.as_ref()));
        let dam = self.known(animal.and_then(|a| a.dam.as_ref()));
        let own = animal.map(|a| plain(&a.id));
        let same = |a: &Option<String>, b: &Option<String>| a.is_some() && a == b;
        let of = |store: &Store| {
            let bull = store.bull;
            let [his_sire, his_dam] = &self.parents[bull];
            let kin = sire.as_ref() == Some(&self.ids[bull])
                || same(&sire, his_sire)
                || same(&dam, his_dam)
                || same(&own, his_dam);
            // Without a herd file nobody is marked, and the group's bulls are for all of it.
            let sort = store.sexed && animal.is_some_and(|a| !a.sexed);
            (group.facts.bulls.contains(&bull) && !sort && !kin).then(|| {
                let ease = self.input.season.bulls[bull].facts.calving_ease;
                let easy = i64::from(heifer && ease);
                [
                    1,
                    easy,
                    scores[bull],
                    i64::from(store.sexed && animal.is_some()),
                ]
            })
        };
        self.stores.iter().map(of).collect()
    }

    /// Each animal with what was made for her; all of a group without a herd as none.
    fn each(&self) -> Vec<(&InputGroup<'_>, Option<&Animal>, Option<&Mating>)> {
        let mut all = Vec::new();
        for (g, m) in self.input.groups.iter().zip(&self.made.groups) {
            match g.herd {
                Some(h) => {
                    let pairs = h.animals.iter().zip(&m.animals);
                    all.extend(pairs.map(|(a, m)| (g, Some(a), Some(m))));
                }
                None => all.push((g, None, None)),
            }
        }
        all
    }

    /// Straws of each store that go to those to whom the user gives the bull.
    fn as_given(&self, backup: bool) -> Vec<u32> {
        let mut straws = vec![0; self.stores.len()];
        for (_, animal, m) in self.each() {
            let (Some(a), Some(m)) = (animal, m) else {
                continue;
            };
            let (given, straw) = if backup {
                (&a.second_mating, &m.backup)
            } else {
                (&a.mating, &m.straw)
            };
            let given = given.as_ref().and_then(|g| self.bull(g));
            if let Some(n) = self.of(straw.as_ref())
                && given == Some(self.stores[n].bull)
            {
                straws[n] += 1;
            }
        }
        straws
    }

    /// True if all straws of a bull that are for such an animal go to those to whom he is given.
    fn sold_out(&self, bull: Option<usize>, marked: bool, backup: bool, given: &[u32]) -> bool {
        let mine = || {
            let all = self.stores.iter().enumerate();
            all.filter(|(_, s)| Some(s.bull) == bull)
        };
        let plain = mine().any(|(_, s)| !s.sexed && s.straws > 0);
        let mut for_her = mine().filter(|(_, s)| marked || !s.sexed || !plain);
        let before = |n: usize| if backup { self.made.bulls[n].given } else { 0 };
        for_her.all(|(n, s)| given[n] + before(n) >= s.straws)
    }

    /// Nobody has a bull she may not have, unless the user gave him; what is given is kept.
    fn rules(&mut self) {
        let mut faults = Vec::new();
        let as_given = [false, true].map(|backup| self.as_given(backup));
        for (g, animal, m) in self.each() {
            let (Some(a), Some(m)) = (animal, m) else {
                continue;
            };
            let rounds = [
                (&a.mating, &m.straw, false),
                (&a.second_mating, &m.backup, true),
            ];
            for (given, straw, backup) in rounds {
                let Some(straw) = straw else { continue };
                let Some(store) = self.of(Some(straw)) else {
                    faults.push(format!("{} gets a bull that is none", a.id));
                    continue;
                };
                let bull = self.stores[store].bull;
                // Whoever is not marked has sexed straws only by the user's own word, of a bull who
                // has no others.
                let others = self.stores.iter();
                let others = others.filter(|s| s.bull == bull && !s.sexed);
                let sort = straw.sexed && !a.sexed && others.map(|s| s.straws).sum::<u32>() > 0;
                let other = given.as_ref().map(|g| self.bull(g));
                let other = other.filter(|g| *g != Some(bull));
                match given {
                    Some(_)
                        if other.is_some_and(|g| {
                            !self.sold_out(g, a.sexed, backup, &as_given[usize::from(backup)])
                        }) =>
                    {
                        faults.push(format!("{} does not get the bull given", a.id));
                    }
                    Some(_) if other.is_none() && sort => {
                        faults.push(format!("{} does not get the bull given", a.id));
                    }
                    Some(_) if other.is_none() => {}
                    _ if self.worths(g, Some(a))[store].is_none() => {
                        faults.push(format!("{} gets a bull that she may not have", a.id));
                    }
                    _ => {}
                }
            }
            let two = m.straw.as_ref().zip(m.backup.as_ref());
            if two.is_some_and(|(s, b)| s.bull == b.bull) && a.second_mating.is_none() {
                faults.push(format!("{} has one bull twice", a.id));
            }
            let scores = self.scores(g, Some(a));
            let best = g.facts.bulls.iter().map(|b| scores[*b]).max();
            let bull = m.straw.as_ref().and_then(|s| self.bull(&s.bull));
            let has = bull.is_some_and(|b| Some(scores[b]) == best);
            if has != m.has_first_choice {
                faults.push(format!("whether {} has her first choice is wrong", a.id));
            }
        }
        self.faults.append(&mut faults);
    }

    /// The matings are worth what is said, and at the prices said no matings are worth more: each
    /// animal at the most what a bull is worth to her less his price, and all straws their prices.
    fn proof(&mut self, backup: bool) {
        let made = self.made;
        let said = if backup {
            made.backup_proof
        } else {
            made.proof
        };
        let mut left: Vec<i64> = Vec::new();
        let mut prices: Vec<Worth> = Vec::new();
        for b in &made.bulls {
            left.push(i64::from(b.straws) - if backup { i64::from(b.given) } else { 0 });
            prices.push(if backup { b.backup_price } else { b.price });
        }
        let mut faults = Vec::new();
        let (mut worth, mut bound) = (Worth::default(), Worth::default());
        for (g, animal, m) in self.each() {
            let worths = self.worths(g, animal);
            // One animal, or so many of a group without a herd that have each bull already.
            let mut asks: Vec<(i64, Option<usize>)> = Vec::new();
            if let (Some(a), Some(m)) = (animal, m) {
                let given = if backup { &a.second_mating } else { &a.mating };
                let straw = if backup { &m.backup } else { &m.straw };
                let store = self.of(straw.as_ref());
                let is_given = |s: &usize| {
                    let given = given.as_ref().and_then(|g| self.bull(g));
                    given == Some(self.stores[*s].bull)
                };
                // Who is given a bull and has another is as free as those to whom none is given.
                if let Some(store) = store.filter(is_given) {
                    left[store] -= 1;
                    continue;
                }
                let each = store.and_then(|s| worths[s]);
                worth = sum(worth, each.unwrap_or_default(), 1);
                let first = m.straw.as_ref().map(|s| &s.bull).or(a.mating.as_ref());
                asks.push((1, first.filter(|_| backup).and_then(|b| self.bull(b))));
            } else if let Some(counts) = made.groups.iter().find(|m| m.group == g.id()) {
                let mut rest = i64::from(g.facts.head().0);
                for c in &counts.by_bull {
                    let Some(store) = self.store(&c.bull, c.sexed) else {
                        continue;
                    };
                    let head = i64::from(if backup { c.backup_head } else { c.head });
                    let each = worths[store];
                    if each.is_none() && head > 0 {
                        faults.push(format!("{} may not have {}", g.id(), c.bull));
                    }
                    worth = sum(worth, each.unwrap_or_default(), head);
                    if backup {
                        asks.push((i64::from(c.head), Some(self.stores[store].bull)));
                        rest -= i64::from(c.head);
                    }
                }
                asks.push((rest, None));
            }
            for (head, not) in asks {
                let nets = (0..worths.len())
                    .filter(|s| Some(self.stores[*s].bull) != not)
                    .filter_map(|s| Some(sum(worths[s]?, prices[s], -1)));
                let most = nets.max().unwrap_or_default().max(Worth::default());
                bound = sum(bound, most, head);
            }
        }
        self.faults.append(&mut faults);
        for (price, left) in prices.iter().zip(&left) {
            if *price < Worth::default() || *left < 0 {
                self.fault("a price or what is left is less than nothing".to_owned());
            }
            bound = sum(bound, *price, *left);
        }
        if worth != said.worth || bound != said.bound {
            self.fault(format!(
                "the matings are worth {worth:?} of {bound:?}, not {:?} of {:?}",
                said.worth, said.bound
            ));
        }
        if worth != bound {
            self.fault("other matings may be worth more".to_owned());
        }
    }
}
