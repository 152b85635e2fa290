//! Rules of one dish by itself.

use std::collections::{BTreeMap, BTreeSet};

use super::{Finding, Subject, instead_of, twice, unnamed, work};
use crate::menu::{
    Dish, Freshness, Hands, Ingredient, Multiple, Step, StepTime, Sugar, Temperature, words,
};
use crate::time::Minutes;

/// Returns what is wrong with a dish by itself, the order of its steps apart.
pub(super) fn check(dish: &Dish) -> Vec<Finding> {
    let mut findings = Vec::new();
    let subject = || Subject::Dish(dish.id.clone());
    findings.extend(unnamed(&dish.name, subject()));
    if dish.steps.is_empty() {
        findings.push(
            Finding::limit(subject(), "the dish has no steps")
                .at("steps")
                .instead("[Step(id: \"plate\", name: \"Plate it\", time: \"20 min\")]"),
        );
    }
    if let Some(batch) = &dish.batch {
        let nothing = [
            (batch.portions == 0, "a batch makes no portions"),
            (batch.vessels == 0, "a batch fills no vessels"),
            (batch.volume == Some(0.0), "a batch has no volume"),
        ];
        for (_, what) in nothing.into_iter().filter(|(nothing, _)| *nothing) {
            findings.push(
                Finding::limit(subject(), what)
                    .at("batch")
                    .instead("Batch(portions: 24, vessel: \"tray\", vessels: 2, volume: \"3 l\")"),
            );
        }
    }
    findings.extend(freshness(dish.fresh, &subject()));
    let steps = || dish.steps.iter().chain(&dish.rescues);
    let ids = steps().map(|step| step.id.as_str());
    findings.extend(twice(ids, "step of this dish", |id| {
        Subject::Step(dish.id.clone(), id)
    }));
    for ingredient in &dish.ingredients {
        if ingredient.name.trim().is_empty() {
            findings
                .push(Finding::limit(subject(), "an ingredient without a name").at("ingredients"));
        }
        if ingredient
            .made_of
            .iter()
            .any(|part| part.name.trim().is_empty())
        {
            let what = format!("a part of \"{}\" without a name", ingredient.name);
            findings.push(Finding::limit(subject(), what).at("ingredients"));
        }
        if let Some(into) = &ingredient.into
            && steps().all(|step| step.id != *into)
        {
            let what = format!(
                "\"{}\" goes into \"{into}\", and no step is called that",
                ingredient.name
            );
            let known = steps().map(|step| step.id.as_str());
            findings.push(
                Finding::name(subject(), what)
                    .at("ingredients")
                    .instead(instead_of(into, known, "the id of a step")),
            );
        }
        findings.extend(unknown_part(dish, ingredient).map(|it| it.at("ingredients")));
    }
    findings.extend(repeats(dish));
    let places: BTreeMap<_, _> = dish
        .steps
        .iter()
        .map(|step| (step.id.as_str(), step))
        .collect();
    for step in steps() {
        findings.extend(check_step(dish, step, &places));
    }
    findings
}

fn freshness(fresh: Freshness, subject: &Subject) -> Option<Finding> {
    let (best, keeps) = (fresh.best?, fresh.keeps?);
    (best > keeps).then(|| {
        Finding::limit(
            subject.clone(),
            format!("it is at its best for {best}, but keeps only {keeps}"),
        )
        .at("best")
        .instead(format!("best: \"{keeps}\" or less"))
    })
}

fn repeats(dish: &Dish) -> Vec<Finding> {
    let mut findings = Vec::new();
    let subject = || Subject::Dish(dish.id.clone());
    let mut push = |finding: Finding| findings.push(finding.at("repeats"));
    let mut taken = BTreeSet::new();
    let ids = dish.steps.iter().enumerate();
    let ids: BTreeMap<_, _> = ids.map(|(place, step)| (step.id.as_str(), place)).collect();
    for repeat in &dish.repeats {
        if repeat.times < 2 {
            push(
                Finding::limit(
                    subject(),
                    format!("a repeat of {} times is none", repeat.times),
                )
                .instead("times: 2 or more, or leave the repeat out"),
            );
        }
        if repeat.steps.is_empty() {
            push(Finding::limit(subject(), "a repeat of no steps").instead("steps: [\"boil\"]"));
        }
        let mut places = Vec::new();
        for id in &repeat.steps {
            if !taken.insert(id.as_str()) {
                push(
                    Finding::limit(subject(), format!("\"{id}\" is repeated twice over"))
                        .instead("name each step in one repeat only, once"),
                );
            }
            if let Some(&place) = ids.get(id.as_str()) {
                places.push(place);
            } else {
                let known = dish.steps.iter().map(|step| step.id.as_str());
                push(
                    Finding::name(
                        subject(),
                        format!("the repeat names \"{id}\", and no step is called that"),
                    )
                    .instead(instead_of(id, known, "the id of a step")),
                );
            }
        }
        let whole = places.len() == repeat.steps.len();
        if whole && places.windows(2).any(|pair| pair[1] != pair[0] + 1) {
            push(
                Finding::limit(
                    subject(),
                    format!(
                        "the repeated steps \"{}\" do not stand one after another on the card",
                        repeat.steps.join("\", \"")
                    ),
                )
                .instead("list the steps of a round together, in their order"),
            );
        }
    }
    findings
}

fn check_step(dish: &Dish, step: &Step, known: &BTreeMap<&str, &Step>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let subject = || Subject::Step(dish.id.clone(), step.id.clone());
    findings.extend(unnamed(&step.name, subject()));
    findings.extend(freshness(step.fresh, &subject()));
    if let Multiple::Parts(parts) = &step.each {
        findings.extend(check_parts(parts, &subject()));
    }
    let no_step = |id: &str, field| {
        let rescue = dish.rescues.iter().any(|rescue| rescue.id == id);
        let what = if rescue {
            format!("\"{id}\" is a rescue, so it is never on the plan")
        } else {
            format!("no step of this dish is called \"{id}\"")
        };
        let ids = known.keys().copied().filter(|&id| id != step.id);
        Finding::name(subject(), what).at(field).instead(instead_of(
            id,
            ids,
            "the id of a step of this dish",
        ))
    };
    for after in &step.after {
        // A step of another dish is looked for across the menu.
        if !after.step.contains('/') && !known.contains_key(after.step.as_str()) {
            findings.push(no_step(&after.step, "after"));
        }
    }
    for other in &step.together {
        if *other == step.id {
            findings.push(
                Finding::limit(subject(), "a step always ends together with itself")
                    .at("together")
                    .instead("the id of another step of this dish"),
            );
        } else if !known.contains_key(other.as_str()) {
            findings.push(no_step(other, "together"));
        }
    }
    for keep in &step.keeps_kit {
        if keep.count == 0 {
            findings.push(
                Finding::limit(subject(), format!("it keeps no {}", keep.kit))
                    .at("keeps_kit")
                    .instead("count: 1 or more"),
            );
        }
        if keep.until == step.id {
            findings.push(
                Finding::limit(
                    subject(),
                    format!("\"{}\" is kept until this very step", keep.kit),
                )
                .at("keeps_kit")
                .instead("kit used only while a step lasts stands in `uses`"),
            );
        } else if !known.contains_key(keep.until.as_str()) {
            findings.push(no_step(&keep.until, "keeps_kit"));
        }
    }
    findings.extend(boiled(dish, step, &subject()));
    if step.uses.iter().any(|used| used.count == 0) {
        findings.push(
            Finding::limit(subject(), "it uses none of a piece of kit")
                .at("uses")
                .instead("count: 1 or more"),
        );
    }
    if step.cooling.is_some() && !matches!(step.temperature, Some(Temperature::Cooled { .. })) {
        findings.push(
            Finding::limit(
                subject(),
                "it says how it is cooled, and not from what to what",
            )
            .at("cooling")
            .instead("temperature: \"cooled from 82 C to 5 C\" beside it"),
        );
    }
    findings.extend(attention(&subject(), &step.time, &step.hands, "hands"));
    findings.extend(check_ways(step, &subject()));
    if let Some(within) = step.within {
        let room = Minutes((within.to - within.from) as i32);
        let shortest = work::shortest(step);
        if shortest > room {
            findings.push(
                Finding::limit(
                    subject(),
                    format!(
                        "it takes at least {shortest}, and within {} there are only {room}",
                        words::span(&within)
                    ),
                )
                .at("within")
                .instead("longer hours, or leave them out"),
            );
        }
    }
    findings
}

/// Returns that an ingredient goes into a part that its step is not done for.
fn unknown_part(dish: &Dish, ingredient: &Ingredient) -> Option<Finding> {
    let part = ingredient.part.as_ref()?;
    let step = match &ingredient.into {
        Some(into) => dish.step(into).map(|(_, step)| step),
        None => dish.steps.first(),
    };
    let parts: &[String] = match step.map(|step| &step.each) {
        Some(Multiple::Parts(parts)) => parts,
        _ => &[],
    };
    if parts.contains(part) {
        return None;
    }
    let what = format!(
        "\"{}\" goes into the part \"{part}\", which its step is not done for",
        ingredient.name
    );
    let known = parts.iter().map(String::as_str);
    let instead = instead_of(part, known, "a part of that step, or no part");
    Some(Finding::name(Subject::Dish(dish.id.clone()), what).instead(instead))
}

/// Returns what is wrong with how long something is boiled for how much of it, and how far.
fn boiled(dish: &Dish, step: &Step, subject: &Subject) -> Vec<Finding> {
    let mut findings = Vec::new();
    let own = std::iter::once((&step.time, "time"));
    let times = own.chain(step.ways.iter().map(|way| (&way.time, "ways")));
    let volume = dish.batch.as_ref().and_then(|batch| batch.volume);
    for (time, field) in times {
        if let StepTime::Elapsed(work) = time
            && let (Some(measured), None) = (work.for_volume, volume)
        {
            let what = format!(
                "it takes its time for {}, and the card does not say how much a batch is",
                words::volume(measured)
            );
            findings.push(
                Finding::limit(subject.clone(), what)
                    .at(field)
                    .instead("give the dish batch: Batch(portions: 24, volume: \"3 l\")"),
            );
        }
    }
    if let Some(mark) = step.sugar
        && let (Some(from), Sugar::Brix(to)) = (mark.from, mark.to)
        && from >= to
    {
        findings.push(
            Finding::limit(
                subject.clone(),
                format!("a syrup of {from} Brix is not boiled down to {to}"),
            )
            .at("sugar")
            .instead("\"20 to 65 Brix\": from the thinner to the thicker"),
        );
    }
    findings
}

/// Returns what is wrong with the other ways of a step.
fn check_ways(step: &Step, subject: &Subject) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (place, way) in step.ways.iter().enumerate() {
        if step.ways[..place]
            .iter()
            .any(|other| other.name == way.name)
        {
            findings.push(
                Finding::name(
                    subject.clone(),
                    format!("a second way is called \"{}\"", way.name),
                )
                .at("ways")
                .instead("a name of its own: the sheet says which way by its name"),
            );
        }
        if way.uses.iter().any(|used| used.count == 0) {
            findings.push(
                Finding::limit(
                    subject.clone(),
                    format!("\"{}\" uses none of a piece of kit", way.name),
                )
                .at("ways")
                .instead("count: 1 or more"),
            );
        }
        findings.extend(attention(subject, &way.time, &way.hands, "ways"));
        if way.name.trim().is_empty() {
            findings.push(Finding::limit(subject.clone(), "a way without a name").at("ways"));
        }
    }
    findings
}

fn check_parts(parts: &[String], subject: &Subject) -> Vec<Finding> {
    let mut findings = Vec::new();
    if parts.is_empty() {
        findings.push(Finding::limit(
            subject.clone(),
            "a divided batch without parts",
        ));
    }
    let mut seen = BTreeSet::new();
    for part in parts {
        if part.trim().is_empty() {
            findings.push(Finding::limit(subject.clone(), "a part without a name"));
        } else if !seen.insert(part) {
            findings.push(Finding::name(
                subject.clone(),
                format!("a second part is called \"{part}\""),
            ));
        } else if part.contains(['/', ':', '~', '#']) {
            findings.push(Finding::limit(
                subject.clone(),
                format!("the part \"{part}\" has one of / : ~ # in its name, which the book uses to tell steps apart"),
            ));
        }
    }
    let fix = "each: Parts([\"rose\", \"plain\"])";
    let findings = findings.into_iter();
    findings
        .map(|finding| finding.at("each").instead(fix))
        .collect()
}

/// Returns where hands and time contradict each other.
fn attention(
    subject: &Subject,
    time: &StepTime,
    hands: &Hands,
    field: &'static str,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    let ends = [hands.put_on, hands.take_off];
    let ends = ends.into_iter().flatten().map(|touch| touch.time);
    let ends = ends.fold(Minutes::ZERO, |sum, time| sum + time);
    if let Some(look) = hands.look
        && look.time > look.every
    {
        findings.push(
            Finding::limit(
                subject.clone(),
                format!(
                    "a look of {} every {} never ends before the next",
                    look.time, look.every
                ),
            )
            .at(field)
            .instead("a shorter look, or \"throughout\""),
        );
    }
    let Some(longest) = work::longest_of(time) else {
        return findings;
    };
    if longest == Minutes::ZERO {
        if *hands != Hands::default() {
            findings.push(
                Finding::limit(subject.clone(), "it needs hands, but takes no time at all")
                    .at(if field == "ways" { field } else { "time" })
                    .instead("time: \"5 min\", or hands: \"left alone\""),
            );
        }
        return findings;
    }
    if ends > longest {
        findings.push(
            Finding::limit(
                subject.clone(),
                format!(
                    "putting on and taking off take {ends}, and the whole step takes {longest}"
                ),
            )
            .at(field)
            .instead("shorter hands, or a longer time"),
        );
    }
    if let Some(look) = hands.look
        && look.every >= longest
    {
        findings.push(
            Finding::unwise(
                subject.clone(),
                format!(
                    "a look every {}, but the step is over after {longest}: nobody ever looks",
                    look.every
                ),
            )
            .at(field)
            .instead("look more often, or leave the look out"),
        );
    }
    findings
}
