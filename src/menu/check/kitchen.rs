//! Rules of the kitchen, and of what dishes need from it.

use std::collections::BTreeMap;

use super::{Finding, Subject, instead_of, twice, unnamed};
use crate::menu::{
    Cook, Days, Dish, Hands, Hours, Keep, Kit, KitUse, Kitchen, Multiple, Step, words,
};

/// Returns what is wrong with a kitchen by itself.
pub(super) fn check(kitchen: &Kitchen) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(unnamed(&kitchen.name, Subject::Kitchen));
    if kitchen.open.is_empty() {
        findings.push(
            Finding::limit(Subject::Kitchen, "the kitchen never opens")
                .at("open")
                .instead("[Open(days: \"every day\", at: \"07:00..22:00\")]"),
        );
    }
    if kitchen.cooks.is_empty() {
        findings.push(
            Finding::limit(Subject::Kitchen, "nobody cooks here")
                .at("cooks")
                .instead("[Cook(name: \"first pair of hands\")]"),
        );
    }
    findings.extend(hours(&kitchen.open, &Subject::Kitchen, "open"));
    findings.extend(hours(&kitchen.watched, &Subject::Kitchen, "watched"));
    let cooks = kitchen.cooks.iter().map(|cook| cook.name.as_str());
    findings.extend(twice(cooks, "cook", Subject::Cook));
    for cook in &kitchen.cooks {
        let subject = Subject::Cook(cook.name.clone());
        findings.extend(hours(&cook.shifts, &subject, "shifts"));
        findings.extend(overtime(cook, &subject));
        findings.extend(unnamed(&cook.name, subject));
    }
    let stations = kitchen.stations.iter().map(|(id, _)| id.as_str());
    findings.extend(twice(stations, "station", Subject::Station));
    for (id, name) in &kitchen.stations {
        findings.extend(unnamed(name, Subject::Station(id.clone())));
    }
    let kit = kitchen.kit.iter().map(|kit| kit.id.as_str());
    findings.extend(twice(kit, "kind of kit", Subject::Kit));
    for kit in &kitchen.kit {
        findings.extend(check_kit(kit));
    }
    findings
}

/// Returns what is wrong with the hours a cook can be asked to stay.
fn overtime(cook: &Cook, subject: &Subject) -> Vec<Finding> {
    if cook.shifts.is_empty() && !cook.overtime.is_empty() {
        return vec![
            Finding::limit(
                subject.clone(),
                "a cook without shifts works whenever the kitchen is open, and can stay no longer",
            )
            .at("overtime")
            .instead("give the cook `shifts`, or leave `overtime` out"),
        ];
    }
    let mut findings = hours(&cook.overtime, subject, "overtime");
    if findings.is_empty() && hours(&cook.shifts, subject, "shifts").is_empty() {
        let all: Vec<Hours> = cook.shifts.iter().chain(&cook.overtime).cloned().collect();
        findings = hours(&all, subject, "overtime");
    }
    findings
}

fn check_kit(kit: &Kit) -> Vec<Finding> {
    let mut findings = Vec::new();
    let subject = || Subject::Kit(kit.id.clone());
    findings.extend(unnamed(&kit.name, subject()));
    if kit.count == 0 {
        findings.push(
            Finding::limit(subject(), "there is none of it")
                .at("count")
                .instead("how many there are, or leave it out"),
        );
    }
    if kit.holds == Some(0) {
        findings.push(
            Finding::limit(subject(), "it holds nothing")
                .at("holds")
                .instead("how many portions one holds, or leave it out"),
        );
    }
    if kit.oven.is_some_and(|oven| oven.shelves == 0) {
        findings.push(
            Finding::limit(subject(), "an oven without shelves")
                .at("oven")
                .instead("Oven(change: \"20 min\", shelves: 3)"),
        );
    }
    for taken in &kit.taken {
        findings.extend(hours(
            std::slice::from_ref(&taken.hours),
            &subject(),
            "taken",
        ));
        if let Some(count) = taken.count.filter(|&count| count == 0 || count > kit.count) {
            findings.push(
                Finding::limit(
                    subject(),
                    format!("others take {count} of it, and there are {}", kit.count),
                )
                .at("taken")
                .instead("a count from 1 to what there is, or leave it out for all"),
            );
        }
    }
    findings
}

/// Returns hours that are said twice. Days that only the date of service can tell apart are not compared.
fn hours(hours: &[Hours], subject: &Subject, field: &'static str) -> Vec<Finding> {
    let spans = |hours: &'_ Hours| hours.spans.clone();
    let all: Vec<_> = hours
        .iter()
        .flat_map(|hours| {
            spans(hours)
                .into_iter()
                .map(move |span| (span, &hours.days))
        })
        .collect();
    let mut findings = Vec::new();
    // A kitchen has a handful of hours; a file of nothing else is cut short rather than compared in pairs.
    let all = &all[..all.len().min(500)];
    for (place, (span, days)) in all.iter().enumerate() {
        let clash = all[..place].iter().find(|(other, other_days)| {
            other.from < span.to && span.from < other.to && share(days, other_days)
        });
        if let Some((other, _)) = clash {
            findings.push(
                Finding::limit(
                    subject.clone(),
                    format!(
                        "{} and {} overlap on the same days",
                        words::span(other),
                        words::span(span)
                    ),
                )
                .at(field)
                .instead("hours that follow one another"),
            );
        }
    }
    if all.is_empty() && !hours.is_empty() {
        findings.push(Finding::limit(subject.clone(), "hours without a time").at(field));
    }
    findings
}

/// Returns whether two sets of days certainly have one in common.
fn share(one: &Days, other: &Days) -> bool {
    match (one, other) {
        (Days::Every, _) | (_, Days::Every) => true,
        (Days::Weekdays(one), Days::Weekdays(other)) => one.iter().any(|day| other.contains(day)),
        (Days::Dates(one), Days::Dates(other)) => one.iter().any(|day| other.contains(day)),
        (Days::BeforeService(one), Days::BeforeService(other)) => {
            one.iter().any(|day| other.contains(day))
        }
        _ => false,
    }
}

/// Returns what a dish needs that the kitchen does not have.
pub(super) fn needs(kitchen: &Kitchen, dish: &Dish) -> Vec<Finding> {
    let mut findings: Vec<_> = vessel(kitchen, dish).into_iter().collect();
    if findings.is_empty() {
        findings.extend(mixed(kitchen, dish));
    }
    for step in dish.steps.iter().chain(&dish.rescues) {
        findings.extend(step_needs(kitchen, dish, step));
    }
    findings
}

fn no_kit(kitchen: &Kitchen, subject: Subject, id: &str, field: &'static str) -> Finding {
    let known = kitchen.kit.iter().map(|kit| kit.id.as_str());
    Finding::name(subject, format!("the kitchen has no kit called \"{id}\""))
        .at(field)
        .instead(instead_of(id, known, "add it to the kitchen's `kit`"))
}

fn vessel(kitchen: &Kitchen, dish: &Dish) -> Option<Finding> {
    let batch = dish.batch.as_ref()?;
    let vessel = batch.vessel.as_deref()?;
    let subject = Subject::Dish(dish.id.clone());
    let Some((_, kit)) = kitchen.kit(vessel) else {
        return Some(no_kit(kitchen, subject, vessel, "batch"));
    };
    if batch.also.is_some() {
        return None;
    }
    if batch.vessels > kit.places() {
        let what = format!(
            "a batch fills {} of \"{vessel}\", and there are {}",
            batch.vessels,
            there_are(kit)
        );
        return Some(
            Finding::limit(subject, what)
                .at("batch")
                .instead("a smaller batch in fewer vessels"),
        );
    }
    let holds = kit.holds?;
    if u64::from(holds) * u64::from(batch.vessels) >= u64::from(batch.portions) {
        return None;
    }
    let what = format!(
        "a batch of {} portions does not go into {} of \"{vessel}\": each holds {holds}",
        batch.portions, batch.vessels
    );
    let needed = batch.portions.div_ceil(holds.max(1));
    let instead = if needed <= kit.places() {
        format!("vessels: {needed}")
    } else {
        format!("portions: {}", holds.saturating_mul(batch.vessels))
    };
    Some(Finding::limit(subject, what).at("batch").instead(instead))
}

/// Returns what is wrong with a batch that is divided among vessels of two sizes.
fn mixed(kitchen: &Kitchen, dish: &Dish) -> Vec<Finding> {
    let Some(batch) = &dish.batch else {
        return Vec::new();
    };
    let Some(also) = batch.also.as_deref() else {
        return Vec::new();
    };
    let subject = || Subject::Dish(dish.id.clone());
    let limit = |what: String| Finding::limit(subject(), what).at("batch");
    let Some(vessel) = batch.vessel.as_deref() else {
        return vec![
            limit(format!(
                "a batch goes into \"{also}\" as well, but into what else?"
            ))
            .instead(format!("vessel: \"{also}\", or both `vessel` and `also`")),
        ];
    };
    if vessel == also {
        return vec![
            limit(format!("\"{also}\" is named as both sizes of vessel"))
                .instead("another size, or leave `also` out"),
        ];
    }
    let Some((_, other)) = kitchen.kit(also) else {
        return vec![no_kit(kitchen, subject(), also, "batch")];
    };
    let Some((_, kit)) = kitchen.kit(vessel) else {
        return Vec::new();
    };
    let mut findings = Vec::new();
    for of in [kit, other] {
        if of.holds.is_none() {
            let what = format!(
                "a batch is divided between \"{vessel}\" and \"{also}\", and the kitchen does not say how many portions a \"{}\" holds",
                of.id
            );
            findings.push(limit(what).instead("give that kit `holds`"));
        }
    }
    if let (Some(holds), Some(other_holds)) = (kit.holds, other.holds) {
        let room = u64::from(holds) * u64::from(kit.places())
            + u64::from(other_holds) * u64::from(other.places());
        if u64::from(batch.portions) > room {
            let what = format!(
                "a batch of {} portions does not go into all of \"{vessel}\" and \"{also}\": they hold {room}",
                batch.portions
            );
            findings.push(limit(what).instead(format!("portions: {room}, or fewer")));
        }
    }
    // How many of each are filled is chosen batch by batch, so only a step done per batch can know.
    let per_batch = |step: &&Step| step.each == Multiple::Batch;
    if dish.steps.iter().all(|step| !per_batch(&step)) {
        findings.push(
            limit(format!(
                "a batch is divided between \"{vessel}\" and \"{also}\", and no step is done batch by batch"
            ))
            .instead("each: Batch, in the steps from filling to turning out"),
        );
    }
    for step in &dish.steps {
        let ways = step.ways.iter().flat_map(|way| &way.uses);
        let used = step.uses.iter().chain(ways);
        let used = used.map(|used| (used.kit.as_str(), used.count, "uses"));
        let kept = step.keeps_kit.iter();
        let kept = kept.map(|keep| (keep.kit.as_str(), keep.count, "keeps_kit"));
        for (id, count, field) in used.chain(kept) {
            let stands_for_both = id == vessel && count == batch.vessels && per_batch(&step);
            if (id == vessel || id == also) && !stands_for_both {
                let what = format!(
                    "it takes {count} of \"{id}\", and how many of it a batch fills is chosen with those of the other size"
                );
                let subject = Subject::Step(dish.id.clone(), step.id.clone());
                findings.push(Finding::limit(subject, what).at(field).instead(format!(
                    "each: Batch with {} of \"{vessel}\", which stands for what a batch fills; or leave it out, and the moulds are taken from the first to the last of the steps done per batch",
                    batch.vessels
                )));
            }
        }
    }
    findings
}

fn step_needs(kitchen: &Kitchen, dish: &Dish, step: &Step) -> Vec<Finding> {
    let mut findings = Vec::new();
    let subject = || Subject::Step(dish.id.clone(), step.id.clone());
    if let Some(id) = step.cooling.as_ref().and_then(|it| it.kit.as_deref()) {
        match kitchen.kit(id) {
            None => findings.push(no_kit(kitchen, subject(), id, "cooling")),
            Some((_, kit)) if kit.cold.is_none() => findings.push(
                Finding::limit(subject(), format!("nobody has said how cold \"{id}\" is"))
                    .at("cooling")
                    .instead("give the kit `cold: Cold(at: \"3 C\", by: Still)`"),
            ),
            Some(_) => {}
        }
    }
    if let Some(station) = &step.station {
        let known = || kitchen.stations.iter().map(|(id, _)| id.as_str());
        if known().all(|id| id != station) {
            findings.push(
                Finding::name(subject(), format!("no station is called \"{station}\""))
                    .at("station")
                    .instead(instead_of(
                        station,
                        known(),
                        "add it to the kitchen's `stations`",
                    )),
            );
        }
    }
    if let Some(skill) = &step.skill {
        let known = || kitchen.cooks.iter().flat_map(|cook| &cook.skills);
        if known().all(|known| known != skill) {
            let known = known().map(String::as_str);
            findings.push(
                Finding::name(subject(), format!("no cook has the skill \"{skill}\""))
                    .at("skill")
                    .instead(instead_of(skill, known, "give it to a cook in `skills`")),
            );
        }
    }
    findings.extend(enough_kit(
        kitchen,
        &subject(),
        &step.uses,
        &step.keeps_kit,
        "uses",
    ));
    let skill = step.skill.as_deref();
    findings.extend(enough_hands(
        kitchen,
        &subject(),
        &step.hands,
        skill,
        "hands",
    ));
    for way in &step.ways {
        findings.extend(enough_kit(
            kitchen,
            &subject(),
            &way.uses,
            &step.keeps_kit,
            "ways",
        ));
        findings.extend(enough_hands(kitchen, &subject(), &way.hands, skill, "ways"));
    }
    findings
}

fn enough_kit(
    kitchen: &Kitchen,
    subject: &Subject,
    uses: &[KitUse],
    keeps: &[Keep],
    field: &'static str,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut wanted: BTreeMap<&str, (u64, &'static str)> = BTreeMap::new();
    for used in uses {
        wanted.entry(&used.kit).or_insert((0, field)).0 += u64::from(used.count);
        let oven = kitchen
            .kit(&used.kit)
            .is_none_or(|(_, kit)| kit.oven.is_some());
        if used.heat.is_some() && !oven {
            findings.push(
                Finding::limit(
                    subject.clone(),
                    format!("\"{}\" has no heat to set: it is not an oven", used.kit),
                )
                .at(field)
                .instead("give the kit `oven: Oven(change: \"20 min\")`, or leave `heat` out"),
            );
        }
    }
    if field == "uses" {
        for keep in keeps {
            wanted.entry(&keep.kit).or_insert((0, "keeps_kit")).0 += u64::from(keep.count);
        }
    }
    for (id, (count, field)) in wanted {
        match kitchen.kit(id) {
            None => findings.push(no_kit(kitchen, subject.clone(), id, field)),
            Some((_, kit)) if count > u64::from(kit.places()) => findings.push(
                Finding::limit(
                    subject.clone(),
                    format!(
                        "it takes {count} of \"{id}\", and there are {}",
                        there_are(kit)
                    ),
                )
                .at(field)
                .instead("take fewer, or correct the kitchen's `count`"),
            ),
            Some((_, kit)) => findings.extend(enough_ovens(kit, subject, uses, field)),
        }
    }
    findings
}

/// Returns how many of a piece of kit there are, in words: `4`, or `6, 3 in each of 2`.
fn there_are(kit: &Kit) -> String {
    match kit.shelves() {
        1 => kit.count.to_string(),
        shelves => format!("{}, {shelves} in each of {}", kit.places(), kit.count),
    }
}

/// Returns a finding where a step wants an oven at more heats at once than there are ovens for.
fn enough_ovens(
    kit: &Kit,
    subject: &Subject,
    uses: &[KitUse],
    field: &'static str,
) -> Option<Finding> {
    let mut heats: BTreeMap<i32, u32> = BTreeMap::new();
    for used in uses.iter().filter(|used| used.kit == kit.id) {
        if let Some(heat) = used.heat {
            let shelves = heats.entry(heat).or_default();
            *shelves = shelves.saturating_add(used.count);
        }
    }
    let ovens = |shelves: &u32| u64::from(shelves.div_ceil(kit.shelves()));
    let needed: u64 = heats.values().map(ovens).sum();
    (needed > u64::from(kit.count)).then(|| {
        let at: Vec<String> = heats.keys().map(|&heat| words::heat(heat)).collect();
        Finding::limit(
            subject.clone(),
            format!(
                "it needs {needed} of \"{}\" at once, at {}, and there are {}",
                kit.id,
                at.join(" and "),
                kit.count
            ),
        )
        .at(field)
        .instead("one heat, fewer shelves, or two steps")
    })
}

fn enough_hands(
    kitchen: &Kitchen,
    subject: &Subject,
    hands: &Hands,
    skill: Option<&str>,
    field: &'static str,
) -> Option<Finding> {
    let most = [
        hands.throughout,
        hands.put_on.map_or(0, |touch| touch.hands),
        hands.take_off.map_or(0, |touch| touch.hands),
        hands.look.map_or(0, |look| look.hands),
    ];
    let most = most.into_iter().max().unwrap_or(0);
    if let Some(skill) = skill {
        let able = |cook: &&Cook| cook.skills.iter().any(|known| known == skill);
        let able = kitchen.cooks.iter().filter(able).count();
        // A skill that nobody has has been told of once.
        if most as usize > able && able > 0 {
            return Some(
                Finding::limit(
                    subject.clone(),
                    format!(
                        "it needs {most} pairs of hands with the skill \"{skill}\", and {able} of the cooks {} it",
                        if able == 1 { "has" } else { "have" }
                    ),
                )
                .at(field)
                .instead("fewer hands, a step of its own for those who need no skill, or the skill for another cook"),
            );
        }
    }
    let cooks = kitchen.cooks.len();
    // A kitchen without cooks has been told so once.
    (most as usize > cooks && cooks > 0).then(|| {
        Finding::limit(
            subject.clone(),
            format!("it needs {most} pairs of hands, and there are {cooks} cooks"),
        )
        .at(field)
        .instead("fewer hands, or another cook in the kitchen")
    })
}
