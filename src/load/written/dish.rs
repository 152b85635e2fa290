//! A dish as text.

use serde::{Serialize, Serializer};

use super::{Bare, allergens, bare, cautions, length, plain, unless};
use crate::load::dish_card::{CONTROLS, EDGES, FOODS, LASTS, PERS, YES};
use crate::menu::{self, words};

#[derive(Serialize)]
pub(super) struct Dish {
    id: String,
    name: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    note: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    batch: Option<Batch>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    ingredients: Vec<Ingredient>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    keeps: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    best: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    control: Option<Bare>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    waits_at: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    repeats: Vec<Repeat>,
    steps: Vec<Step>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    rescues: Vec<Step>,
}

impl Dish {
    pub(super) fn of(dish: &menu::Dish) -> Self {
        Self {
            id: dish.id.clone(),
            name: dish.name.clone(),
            note: dish.note.clone(),
            batch: dish.batch.as_ref().map(Batch::of),
            ingredients: dish.ingredients.iter().map(Ingredient::of).collect(),
            keeps: length(dish.fresh.keeps),
            best: length(dish.fresh.best),
            control: control(dish.control),
            waits_at: dish.waits_at.map(words::heat),
            repeats: dish.repeats.iter().map(Repeat::of).collect(),
            steps: dish.steps.iter().map(Step::of).collect(),
            rescues: dish.rescues.iter().map(Step::of).collect(),
        }
    }
}

#[derive(Serialize)]
struct Batch {
    portions: u32,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    vessel: Option<String>,
    vessels: u32,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    also: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    last: Option<Bare>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    volume: Option<String>,
}

impl Batch {
    fn of(batch: &menu::Batch) -> Self {
        Self {
            portions: batch.portions,
            vessel: batch.vessel.clone(),
            vessels: batch.vessels,
            also: batch.also.clone(),
            last: unless(batch.last, &menu::Last::default()).map(|last| bare(LASTS, &last)),
            volume: batch.volume.map(words::volume),
        }
    }
}

#[derive(Serialize)]
struct Ingredient {
    name: String,
    amount: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    per: Option<Bare>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    into: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    part: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    order: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    supplier: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    goods: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    ahead: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    density: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    strength: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    contains: Option<Vec<Bare>>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    may_contain: Option<Vec<Bare>>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    declared_by: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    made_of: Vec<Part>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    sulphites: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    cautions: Vec<Bare>,
}

impl Ingredient {
    fn of(ingredient: &menu::Ingredient) -> Self {
        Self {
            name: ingredient.name.clone(),
            amount: words::amount(&ingredient.amount),
            per: unless(ingredient.per, &menu::Per::default()).map(|per| bare(PERS, &per)),
            into: ingredient.into.clone(),
            part: ingredient.part.clone(),
            order: ingredient.order_ahead.map(words::order_ahead),
            supplier: ingredient.supplier.clone(),
            contains: ingredient.contains.as_deref().map(allergens),
            goods: ingredient.goods.clone(),
            ahead: ingredient.ahead.as_ref().map(words::ahead),
            density: ingredient.density.as_ref().map(words::density),
            strength: ingredient.strength.map(words::strength),
            may_contain: ingredient.may_contain.as_deref().map(allergens),
            declared_by: ingredient.declared_by.clone(),
            made_of: ingredient.made_of.iter().map(Part::of).collect(),
            sulphites: ingredient.sulphites.map(|it| format!("{it} mg/kg")),
            cautions: cautions(&ingredient.cautions),
        }
    }
}

#[derive(Serialize)]
struct Part {
    name: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    contains: Option<Vec<Bare>>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    may_contain: Option<Vec<Bare>>,
}

impl Part {
    fn of(part: &menu::Part) -> Self {
        Self {
            name: part.name.clone(),
            contains: part.contains.as_deref().map(allergens),
            may_contain: part.may_contain.as_deref().map(allergens),
        }
    }
}

fn control(control: Option<menu::Control>) -> Option<Bare> {
    control.map(|control| bare(CONTROLS, &control))
}

#[derive(Serialize)]
struct Repeat {
    steps: Vec<String>,
    times: u32,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    gap: Option<String>,
}

impl Repeat {
    fn of(repeat: &menu::Repeat) -> Self {
        Self {
            steps: repeat.steps.clone(),
            times: repeat.times,
            gap: gap(repeat.gap),
        }
    }
}

fn gap(gap: menu::Gap) -> Option<String> {
    unless(gap, &menu::Gap::default()).map(|gap| words::gap(&gap))
}

/// How often a step is done.
enum Each {
    Batch,
    Parts(Vec<String>),
}

impl Serialize for Each {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Batch => serializer.serialize_unit_struct("Batch"),
            Self::Parts(parts) => serializer.serialize_newtype_struct("Parts", parts),
        }
    }
}

#[derive(Serialize)]
struct Step {
    id: String,
    name: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    method: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    each: Option<Each>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    station: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    skill: Option<String>,
    time: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    until: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    goal: Option<String>,
    hands: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    uses: Vec<Use>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    keeps_kit: Vec<Keep>,
    after: Vec<After>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    together: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    not_before: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    done_by: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    within: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    keeps: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    best: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    ways: Vec<Way>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    temperature: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    cooling: Option<Cooling>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    control: Option<Bare>,
    sugar: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    cautions: Vec<Bare>,
}

impl Step {
    fn of(step: &menu::Step) -> Self {
        Self {
            id: step.id.clone(),
            name: step.name.clone(),
            method: step.method.clone(),
            each: match &step.each {
                menu::Multiple::Dish => None,
                menu::Multiple::Batch => Some(Each::Batch),
                menu::Multiple::Parts(parts) => Some(Each::Parts(parts.clone())),
            },
            station: step.station.clone(),
            skill: step.skill.clone(),
            time: words::time(&step.time),
            until: step.until.clone(),
            goal: step.goal.map(words::goal),
            hands: words::hands(&step.hands),
            uses: step.uses.iter().map(Use::of).collect(),
            keeps_kit: step.keeps_kit.iter().map(Keep::of).collect(),
            after: step.after.iter().map(After::of).collect(),
            together: step.together.clone(),
            not_before: step.not_before.as_ref().map(words::moment),
            done_by: step.done_by.as_ref().map(words::moment),
            within: step.within.as_ref().map(words::span),
            keeps: length(step.fresh.keeps),
            best: length(step.fresh.best),
            ways: step.ways.iter().map(Way::of).collect(),
            temperature: step.temperature.as_ref().map(words::temperature),
            cooling: step.cooling.as_ref().map(Cooling::of),
            control: control(step.control),
            sugar: step.sugar.as_ref().map(words::sugar),
            cautions: cautions(&step.cautions),
        }
    }
}

#[derive(Serialize)]
struct Cooling {
    #[serde(rename = "in")]
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    kit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    depth: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    across: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    food: Option<Bare>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    covered: Option<Bare>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    stirred: Option<Bare>,
}

impl Cooling {
    fn of(cooling: &menu::Cooling) -> Self {
        Self {
            kit: cooling.kit.clone(),
            depth: cooling.depth.map(words::breadth),
            across: cooling.across.map(words::across),
            food: cooling.food.map(|food| bare(FOODS, &food)),
            covered: cooling.covered.map(|covered| bare(YES, &covered)),
            stirred: unless(cooling.stirred, &false).map(|stirred| bare(YES, &stirred)),
        }
    }
}

#[derive(Serialize)]
struct Use {
    kit: String,
    count: u32,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    heat: Option<String>,
}

impl Use {
    fn of(used: &menu::KitUse) -> Self {
        Self {
            kit: used.kit.clone(),
            count: used.count,
            heat: used.heat.map(words::heat),
        }
    }
}

#[derive(Serialize)]
struct Keep {
    kit: String,
    count: u32,
    from: Bare,
    until: String,
    to: Bare,
}

impl Keep {
    fn of(keep: &menu::Keep) -> Self {
        Self {
            kit: keep.kit.clone(),
            count: keep.count,
            from: bare(EDGES, &keep.from),
            until: keep.until.clone(),
            to: bare(EDGES, &keep.to),
        }
    }
}

#[derive(Serialize)]
struct After {
    step: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    gap: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    from: Option<Bare>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    to: Option<Bare>,
}

impl After {
    fn of(after: &menu::After) -> Self {
        Self {
            step: after.step.clone(),
            gap: gap(after.gap),
            from: unless(after.from, &menu::Edge::End).map(|edge| bare(EDGES, &edge)),
            to: unless(after.to, &menu::Edge::Start).map(|edge| bare(EDGES, &edge)),
        }
    }
}

#[derive(Serialize)]
struct Way {
    name: String,
    time: String,
    hands: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    uses: Vec<Use>,
}

impl Way {
    fn of(way: &menu::Way) -> Self {
        Self {
            name: way.name.clone(),
            time: words::time(&way.time),
            hands: words::hands(&way.hands),
            uses: way.uses.iter().map(Use::of).collect(),
        }
    }
}
