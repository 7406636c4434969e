//! The rules a herd must keep beyond the form of its cells: classes, dates, parents; one herd
//! against another and against its group.

use std::collections::BTreeMap;

use chrono::{Days, Months, NaiveDate};

use super::member::{Member, place};
use super::{Animal, Column, order, same_id};
use crate::base::error::{Code, Finding, quoted};
use crate::base::sheet::Findings;
use crate::trade::protocol::Class;

/// The earliest day on which an animal can be expected to calve: puberty at 12 months (VT-302) and
/// the shortest gestation seen, 269 days (NDSU-AUG).
fn first_calving(born: NaiveDate) -> NaiveDate {
    born.checked_add_months(Months::new(12))
        .and_then(|d| d.checked_add_days(Days::new(269)))
        .unwrap_or(NaiveDate::MAX)
}

/// What is wrong with one animal, by column.
pub(super) fn animal(
    animal: &Animal,
    class: Class,
    first_day: Option<NaiveDate>,
) -> Vec<(Column, Finding)> {
    let mut found = Vec::new();
    classes(animal, class, &mut found);
    dates(animal, first_day, &mut found);
    for (column, parent) in [(Column::Sire, &animal.sire), (Column::Dam, &animal.dam)] {
        if let Some(parent) = parent
            && !animal.id.is_empty()
            && same_id(parent) == same_id(&animal.id)
        {
            let id = quoted(&animal.id);
            let what = format!("{id} is given as her own {}", column.as_str());
            found.push((
                column,
                Finding::error(Code::Parents, what)
                    .expected("another animal, or a blank cell")
                    .hint("correct the id of one of the two"),
            ));
        }
    }
    found
}

fn classes(animal: &Animal, class: Class, found: &mut Vec<(Column, Finding)>) {
    if !class.serves(animal.class) {
        let what = format!(
            "{} is a {}, and the group is of {}s",
            quoted(&animal.id),
            animal.class.as_str(),
            class.as_str()
        );
        found.push((
            Column::Class,
            Finding::error(Code::AnimalClass, what)
                .expected(format!("`{}`, or a blank cell", class.as_str()))
                .hint("move her to the herd of another group, or correct the cell"),
        ));
    }
    if animal.class == Class::Heifer && animal.calved.is_some() {
        let what = format!("{} is a heifer and has a calving date", quoted(&animal.id));
        found.push((
            Column::LastCalvingDate,
            Finding::error(Code::AnimalClass, what)
                .expected("a blank cell for heifers")
                .hint("an animal that has calved is a cow; else take the date out"),
        ));
    }
    if animal.class == Class::Cow && animal.tract_score.is_some() {
        let id = quoted(&animal.id);
        let what = format!("{id} is a cow and has a tract score, which is not used");
        found.push((
            Column::TractScore,
            Finding::warning(Code::AnimalClass, what)
                .expected("tract scores for heifers only")
                .hint("leave the cell blank, or correct the class"),
        ));
    }
}

fn dates(animal: &Animal, first_day: Option<NaiveDate>, found: &mut Vec<(Column, Finding)>) {
    let mut add = |column, finding: Finding, hint: &str| {
        found.push((
            column,
            finding
                .expected("birth, then calving, then the group's first day")
                .hint(hint),
        ));
    };
    let id = quoted(&animal.id);
    let error = |what| Finding::error(Code::DatesOrder, what);
    let warning = |what| Finding::warning(Code::DatesOrder, what);
    if let (Some(born), Some(calved)) = (animal.born, animal.calved) {
        if calved <= born {
            add(
                Column::LastCalvingDate,
                error(format!("{id} calved on {calved} and was born on {born}")),
                "correct one of the two dates",
            );
        } else if calved < first_calving(born) {
            let months = (calved - born).num_days() as f64 / 30.44;
            add(
                Column::LastCalvingDate,
                warning(format!(
                    "{id} would have calved at {months:.0} months of age"
                )),
                "check the years of both dates (puberty from 12 months, VT-302; gestation from 269 days, NDSU-AUG)",
            );
        }
    }
    if let (Some(born), Some(weighed)) = (animal.born, animal.weighed)
        && weighed < born
    {
        add(
            Column::WeighedDate,
            error(format!("{id} was weighed on {weighed} and born on {born}")),
            "correct one of the two dates",
        );
    }
    let Some(first_day) = first_day else { return };
    if let Some(born) = animal.born.filter(|b| *b > first_day) {
        add(
            Column::BirthDate,
            error(format!(
                "{id} is born on {born}, after the group's first day, {first_day}"
            )),
            "correct the year, or the group's start",
        );
    }
    if let Some(calved) = animal.calved.filter(|c| *c > first_day) {
        add(
            Column::LastCalvingDate,
            warning(format!(
                "{id} calves on {calved}, after the group's first day, {first_day}"
            )),
            "correct the date, or move her to a later group",
        );
    }
}

/// Holds herds against their groups and each other: counts, animals in two herds, dams that are
/// too young. The first 200 findings, and a count of the rest.
#[must_use]
pub fn compare(members: &[Member<'_>]) -> Vec<Finding> {
    let mut found = Findings::default();
    let mut whole: Vec<Member<'_>> = Vec::new();
    for m in members {
        counts(m, &mut found);
        order::check(m, &mut found);
        let same = whole.iter().find(|w| w.herd.file == m.herd.file);
        if let Some(first) = same {
            let what = format!(
                "the groups {} and {} name one herd file",
                quoted(first.group),
                quoted(m.group)
            );
            let finding = Finding::warning(Code::AnimalInTwoHerds, what)
                .expected("a file of its own for each group")
                .hint("split the file, or take `herd` out of one group");
            found.add(finding, || m.place.clone());
        } else {
            whole.push(*m);
        }
    }
    let animals = || {
        whole
            .iter()
            .flat_map(|m| m.herd.animals.iter().map(move |a| (m, a)))
    };
    if whole.len() > 1 || animals().any(|(_, a)| a.dam.is_some()) {
        across(animals(), &mut found);
    }
    found.listed(members.first().map_or("", |m| &m.herd.file))
}

fn counts(m: &Member<'_>, found: &mut Findings) {
    let count = m.herd.animals.len();
    if count != m.head as usize {
        let what = format!(
            "the herd file of {} has {count} animals, the group {} head",
            quoted(m.group),
            m.head
        );
        let finding = Finding::warning(Code::HerdHead, what)
            .expected("as many animals as the group's `head`")
            .hint("correct `head`, or bring the herd file up to date");
        found.add(finding, || m.place.clone());
    }
}

fn across<'a>(
    animals: impl Iterator<Item = (&'a Member<'a>, &'a Animal)> + Clone,
    found: &mut Findings,
) {
    let mut known: BTreeMap<String, (&Member<'_>, &Animal)> = BTreeMap::new();
    for (m, a) in animals.clone() {
        let Some((first, there)) = known.insert(same_id(&a.id), (m, a)) else {
            continue;
        };
        let (id, group) = (quoted(&a.id), quoted(first.group));
        let what = format!(
            "{id} is in the herd of {group} too: {} line {}",
            crate::base::error::visible(&first.herd.file),
            there.spot.line
        );
        let finding = Finding::warning(Code::AnimalInTwoHerds, what)
            .expected("each animal in one group of the season")
            .hint("take her out of one of the two files, or correct the id");
        found.add(finding, || place(m, a.spot, Column::Animal));
    }
    for (m, a) in animals {
        if let Some(dam) = &a.dam
            && let Some((_, dam)) = known.get(&same_id(dam))
            && let Some(finding) = dam_fault(a, dam)
        {
            found.add(finding, || place(m, a.dam_spot, Column::Dam));
        }
    }
}

fn dam_fault(a: &Animal, dam: &Animal) -> Option<Finding> {
    let (id, of) = (quoted(&a.id), quoted(&dam.id));
    let finding = if dam.class == Class::Heifer {
        let what = format!("{of}, the dam of {id}, is a heifer in this season");
        Finding::warning(Code::Parents, what)
    } else {
        let (born, dam_born) = (a.born?, dam.born?);
        if dam_born >= born {
            let what = format!("{of}, the dam of {id}, was born on {dam_born}, not before her");
            Finding::error(Code::Parents, what)
        } else if first_calving(dam_born) > born {
            let months = (born - dam_born).num_days() as f64 / 30.44;
            let what = format!("{of} would have been {months:.0} months old at the birth of {id}");
            Finding::warning(Code::Parents, what)
        } else {
            return None;
        }
    };
    Some(
        finding
            .expected("a cow old enough to have calved then (puberty from 12 months, VT-302; gestation from 269 days, NDSU-AUG)")
            .hint("correct the dam or a birth date; a blank dam is not known"),
    )
}
