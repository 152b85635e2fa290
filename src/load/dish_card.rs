//! `Dish(…)` as written → the dish.
//!
//! # Order
//! A cook lists steps in the order they are done. So when no step of a dish has a field `after` or `together`,
//! each step follows the one before it, with no limit on the gap. As soon as one step has either field, all of
//! them stand as written, and a step without `after` follows nothing. `after: []` says so for a step alone.

use super::Reading;
use super::decode::Fields;
use super::fault::Source;
use super::phrases;
use super::syntax::{Node, Value};
use super::units::{self, Measures};
use crate::menu::{
    About, After, Allergen, Amount, Batch, Caution, Conducts, Control, Cooling, Dish, Edge,
    Finding, Freshness, Gap, Hands, Ingredient, Keep, KitUse, Last, Multiple, Part, Per, Repeat,
    Step, StepTime, Subject, Way, Work,
};
use crate::time::Minutes;

pub(super) const EDGES: &[(&str, Edge)] = &[("Start", Edge::Start), ("End", Edge::End)];

pub(super) const PERS: &[(&str, Per)] = &[
    ("Batch", Per::Batch),
    ("Dish", Per::Dish),
    ("Portion", Per::Portion),
];

pub(super) const LASTS: &[(&str, Last)] = &[("Whole", Last::Whole), ("Part", Last::Part)];

pub(super) const ALLERGENS: &[(&str, Allergen)] = &[
    ("Wheat", Allergen::Wheat),
    ("Spelt", Allergen::Spelt),
    ("Khorasan", Allergen::Khorasan),
    ("Rye", Allergen::Rye),
    ("Barley", Allergen::Barley),
    ("Oats", Allergen::Oats),
    ("Crustaceans", Allergen::Crustaceans),
    ("Egg", Allergen::Egg),
    ("Fish", Allergen::Fish),
    ("Peanut", Allergen::Peanut),
    ("Soya", Allergen::Soya),
    ("Milk", Allergen::Milk),
    ("Almond", Allergen::Almond),
    ("Hazelnut", Allergen::Hazelnut),
    ("Walnut", Allergen::Walnut),
    ("Cashew", Allergen::Cashew),
    ("Pecan", Allergen::Pecan),
    ("BrazilNut", Allergen::BrazilNut),
    ("Pistachio", Allergen::Pistachio),
    ("Macadamia", Allergen::Macadamia),
    ("PineNut", Allergen::PineNut),
    ("Celery", Allergen::Celery),
    ("Mustard", Allergen::Mustard),
    ("Sesame", Allergen::Sesame),
    ("Sulphites", Allergen::Sulphites),
    ("Lupin", Allergen::Lupin),
    ("Molluscs", Allergen::Molluscs),
];

pub(super) const CONTROLS: &[(&str, Control)] = &[
    ("Needed", Control::Needed),
    ("NotNeeded", Control::NotNeeded),
];

pub(super) const FOODS: &[(&str, Conducts)] = &[
    ("Water", Conducts::Water),
    ("Stock", Conducts::Stock),
    ("Milk", Conducts::Milk),
    ("Fruit", Conducts::Fruit),
    ("Jelly", Conducts::Jelly),
    ("Puree", Conducts::Puree),
    ("Custard", Conducts::Custard),
    ("Cream", Conducts::Cream),
    ("Syrup", Conducts::Syrup),
    ("Paste", Conducts::Paste),
];

pub(super) const YES: &[(&str, bool)] = &[("Yes", true), ("No", false)];

pub(super) const CAUTIONS: &[(&str, Caution)] = &[
    ("RawEgg", Caution::RawEgg),
    ("RawMilk", Caution::RawMilk),
    ("HotSugar", Caution::HotSugar),
    ("Cooling", Caution::Cooling),
    ("ToxicKernels", Caution::ToxicKernels),
    ("InedibleGarnish", Caution::InedibleGarnish),
    ("OpenFlame", Caution::OpenFlame),
    ("Alcohol", Caution::Alcohol),
    ("NamedColour", Caution::NamedColour),
    ("Honey", Caution::Honey),
    ("Cryogen", Caution::Cryogen),
    ("ChokingSize", Caution::ChokingSize),
];

/// Reads a dish. What could not be read is reported and left out; without an id there is no dish.
pub(super) fn dish(reading: &mut Reading<'_>, source: &Source<'_>, node: &Node) -> Option<Dish> {
    let fields = Fields::open(source, node, "Dish")?;
    let id = fields.id("id");
    if let Some(id) = &id {
        reading.places.keep(Subject::Dish(id.clone()), &fields);
    }
    let owner = id.as_deref().unwrap_or_default();
    let measures = fields.phrase("measures", units::measures);
    let mut steps = Vec::new();
    let mut ordered = false;
    let mut unordered = Vec::new();
    for node in fields.required_list("steps").unwrap_or_default() {
        let read = reading.named(
            |reading, source, node| step(reading, source, node, owner),
            source,
            node,
        );
        if let Some((step, says_order)) = read {
            ordered |= says_order;
            if !says_order {
                unordered.push(steps.len());
            }
            steps.push(step);
        }
    }
    if ordered {
        let free = unordered.iter().filter(|&&place| place > 0);
        reading
            .remarks
            .extend(free.map(|&place| waits_for_nothing(&steps, place, owner)));
    }
    if !ordered {
        for place in 1..steps.len() {
            let before: String = Step::clone(&steps[place - 1]).id;
            steps[place].after.push(After {
                step: before,
                gap: Gap::default(),
                from: Edge::End,
                to: Edge::Start,
            });
        }
    }
    let rescues = fields.list("rescues").iter();
    let rescues = rescues
        .filter_map(|node| {
            reading.named(
                |reading, source, node| step(reading, source, node, owner),
                source,
                node,
            )
        })
        .map(|(step, _)| step)
        .collect();
    let dish = Dish {
        id: owner.to_owned(),
        name: fields.required_text("name").unwrap_or_default(),
        note: fields.text("note"),
        course: String::new(),
        covers: None,
        spare: 0,
        batches: None,
        margin: Minutes::ZERO,
        batch: fields
            .optional("batch")
            .and_then(|node| batch(source, node)),
        ingredients: fields
            .list("ingredients")
            .iter()
            .filter_map(|node| ingredient(source, node, measures))
            .collect(),
        steps,
        repeats: fields
            .list("repeats")
            .iter()
            .filter_map(|node| repeat(source, node))
            .collect(),
        rescues,
        fresh: freshness(&fields),
        control: fields.variant("control", CONTROLS),
        waits_at: fields.phrase("waits_at", phrases::degrees),
    };
    fields.finish();
    id.is_some().then_some(dish)
}

fn freshness(fields: &Fields<'_>) -> Freshness {
    Freshness {
        best: fields.phrase("best", phrases::duration),
        keeps: fields.phrase("keeps", phrases::duration),
    }
}

fn batch(source: &Source<'_>, node: &Node) -> Option<Batch> {
    let fields = Fields::open(source, node, "Batch")?;
    let batch = Batch {
        portions: fields.required_count("portions").unwrap_or(1),
        vessel: fields.text("vessel"),
        vessels: fields.count("vessels").unwrap_or(1),
        also: fields.text("also"),
        last: fields.variant("last", LASTS).unwrap_or_default(),
        volume: fields.phrase("volume", units::volume),
    };
    fields.finish();
    Some(batch)
}

fn ingredient(source: &Source<'_>, node: &Node, measures: Option<Measures>) -> Option<Ingredient> {
    let fields = Fields::open(source, node, "Ingredient")?;
    let amount = fields.required("amount").and_then(|node| match node.value {
        // "12" eggs may stand without quotes: nothing but a count can be meant.
        Value::Int(number @ 0..=1_000_000_000) => Some(Amount::Measured {
            number: number as f64,
            unit: crate::menu::Unit::Count(String::new()),
        }),
        _ => fields.phrase_of(node, "amount", |text| units::amount(text, measures)),
    });
    let ingredient = Ingredient {
        name: fields.required_text("name").unwrap_or_default(),
        amount: amount.unwrap_or(Amount::ToTaste),
        per: fields.variant("per", PERS).unwrap_or_default(),
        into: fields.text("into"),
        part: fields.text("part"),
        order_ahead: fields.phrase("order", phrases::order_ahead),
        supplier: fields.text("supplier"),
        goods: fields.text("goods"),
        ahead: fields.phrase("ahead", phrases::ahead),
        density: fields.phrase("density", phrases::density),
        strength: fields.phrase("strength", phrases::strength),
        contains: fields.variants("contains", ALLERGENS),
        may_contain: fields.variants("may_contain", ALLERGENS),
        declared_by: fields.text("declared_by"),
        made_of: fields
            .list("made_of")
            .iter()
            .filter_map(|node| part(source, node))
            .collect(),
        sulphites: fields.phrase("sulphites", phrases::milligrams),
        cautions: fields.variants("cautions", CAUTIONS).unwrap_or_default(),
    };
    fields.finish();
    Some(ingredient)
}

fn part(source: &Source<'_>, node: &Node) -> Option<Part> {
    let fields = Fields::open(source, node, "Part")?;
    let part = Part {
        name: fields.required_text("name").unwrap_or_default(),
        contains: fields.variants("contains", ALLERGENS),
        may_contain: fields.variants("may_contain", ALLERGENS),
    };
    fields.finish();
    Some(part)
}

fn cooling(source: &Source<'_>, node: &Node) -> Option<Cooling> {
    let fields = Fields::open(source, node, "Cooling")?;
    let cooling = Cooling {
        kit: fields.text("in"),
        depth: fields.phrase("depth", phrases::breadth),
        across: fields.phrase("across", phrases::across),
        covered: fields.variant("covered", YES),
        stirred: fields.variant("stirred", YES).unwrap_or(false),
        food: fields.variant("food", FOODS),
    };
    fields.finish();
    Some(cooling)
}

fn repeat(source: &Source<'_>, node: &Node) -> Option<Repeat> {
    let fields = Fields::open(source, node, "Repeat")?;
    fields.required("steps");
    let repeat = Repeat {
        steps: fields.texts("steps"),
        times: fields.required_count("times").unwrap_or(2),
        gap: fields.phrase("gap", phrases::gap).unwrap_or_default(),
    };
    fields.finish();
    Some(repeat)
}

/// Reads a step; also returns whether it says what it follows.
fn step(
    reading: &mut Reading<'_>,
    source: &Source<'_>,
    node: &Node,
    dish: &str,
) -> Option<(Step, bool)> {
    let fields = Fields::open(source, node, "Step")?;
    let id = fields.id("id");
    if let Some(id) = &id {
        let subject = Subject::Step(dish.to_owned(), id.clone());
        reading.places.keep(subject, &fields);
    }
    let ordered = [fields.written("after"), fields.written("together")];
    let step = Step {
        id: id.clone().unwrap_or_default(),
        name: fields.required_text("name").unwrap_or_default(),
        method: fields.text("method"),
        each: fields
            .optional("each")
            .and_then(|node| multiple(&fields, node))
            .unwrap_or_default(),
        station: fields.text("station"),
        skill: fields.text("skill"),
        time: time(&fields),
        until: fields.text("until"),
        goal: fields.phrase("goal", phrases::goal),
        hands: hands(&fields),
        uses: uses(&fields),
        keeps_kit: fields
            .list("keeps_kit")
            .iter()
            .filter_map(|node| keep(source, node))
            .collect(),
        after: fields
            .list("after")
            .iter()
            .filter_map(|node| after(source, node))
            .collect(),
        together: fields.texts("together"),
        not_before: fields.phrase("not_before", phrases::moment),
        done_by: fields.phrase("done_by", phrases::moment),
        within: fields.phrase("within", phrases::span),
        fresh: freshness(&fields),
        ways: fields
            .list("ways")
            .iter()
            .filter_map(|node| way(source, node))
            .collect(),
        temperature: fields.phrase("temperature", phrases::temperature),
        cooling: fields
            .optional("cooling")
            .and_then(|node| cooling(source, node)),
        control: fields.variant("control", CONTROLS),
        sugar: fields.phrase("sugar", phrases::sugar),
        cautions: fields.variants("cautions", CAUTIONS).unwrap_or_default(),
    };
    fields.finish();
    id.is_some()
        .then_some((step, ordered.iter().any(Option::is_some)))
}

fn time(fields: &Fields<'_>) -> StepTime {
    fields
        .required_phrase("time", phrases::step_time)
        .unwrap_or(StepTime::Elapsed(Work::default()))
}

fn hands(fields: &Fields<'_>) -> Hands {
    // A step that says nothing of hands is work: the safe reading, because nobody is promised away.
    fields.phrase("hands", phrases::hands).unwrap_or(Hands {
        throughout: 1,
        ..Hands::default()
    })
}

fn multiple(fields: &Fields<'_>, node: &Node) -> Option<Multiple> {
    if let Value::Tuple(Some(name), items) = &node.value
        && name == "Parts"
    {
        let parts = match items.as_slice() {
            [
                Node {
                    value: Value::List(parts),
                    ..
                },
            ] => parts,
            _ => items,
        };
        let names = parts.iter();
        let names = names.filter_map(|part| fields.text_of(part, "each"));
        return Some(Multiple::Parts(names.map(str::to_owned).collect()));
    }
    match fields.variant_of(
        node,
        "each",
        &[("Batch", 'b'), ("Dish", 'd'), ("Parts", 'p')],
    )? {
        'b' => Some(Multiple::Batch),
        'd' => Some(Multiple::Dish),
        _ => {
            fields.source.fault_try(
                node.span,
                "`Parts` needs the names of the parts",
                "each: Parts([\"rose\", \"plain\"])",
            );
            None
        }
    }
}

fn uses(fields: &Fields<'_>) -> Vec<KitUse> {
    let items = fields.list("uses").iter();
    items
        .filter_map(|node| {
            let fields = Fields::open(fields.source, node, "Use")?;
            let used = KitUse {
                kit: fields.required_text("kit").unwrap_or_default(),
                count: fields.count("count").unwrap_or(1),
                heat: fields.phrase("heat", phrases::heat),
            };
            fields.finish();
            Some(used)
        })
        .collect()
}

fn keep(source: &Source<'_>, node: &Node) -> Option<Keep> {
    let fields = Fields::open(source, node, "Keep")?;
    let keep = Keep {
        kit: fields.required_text("kit").unwrap_or_default(),
        count: fields.count("count").unwrap_or(1),
        from: fields.variant("from", EDGES).unwrap_or(Edge::Start),
        until: fields.required_text("until").unwrap_or_default(),
        to: fields.variant("to", EDGES).unwrap_or(Edge::End),
    };
    fields.finish();
    Some(keep)
}

/// Returns that a step waits for nothing because others of its dish say what they wait for: was it meant?
fn waits_for_nothing(steps: &[Step], place: usize, dish: &str) -> Finding {
    let (before, step) = (&steps[place - 1], &steps[place]);
    Finding {
        subject: Subject::Step(dish.to_owned(), step.id.clone()),
        which: 0,
        field: None,
        about: About::Unwise,
        what: format!(
            "\"{}\" waits for nothing: other steps of the dish say what they wait for, and it does not",
            step.id
        ),
        instead: Some(format!(
            "after: [\"{}\"], or after: [] where nothing is meant",
            before.id
        )),
    }
}

fn after(source: &Source<'_>, node: &Node) -> Option<After> {
    if let Value::Text(step) = &node.value {
        return Some(After {
            step: step.clone(),
            gap: Gap::default(),
            from: Edge::End,
            to: Edge::Start,
        });
    }
    let fields = Fields::open(source, node, "After")?;
    let after = After {
        step: fields.required_text("step").unwrap_or_default(),
        gap: fields.phrase("gap", phrases::gap).unwrap_or_default(),
        from: fields.variant("from", EDGES).unwrap_or(Edge::End),
        to: fields.variant("to", EDGES).unwrap_or(Edge::Start),
    };
    fields.finish();
    Some(after)
}

fn way(source: &Source<'_>, node: &Node) -> Option<Way> {
    let fields = Fields::open(source, node, "Way")?;
    let way = Way {
        name: fields.required_text("name").unwrap_or_default(),
        time: time(&fields),
        hands: hands(&fields),
        uses: uses(&fields),
    };
    fields.finish();
    Some(way)
}
