//! A dish: its batches, its ingredients, its steps, how long it keeps.

use super::{Ahead, Amount, Control, Density, KitId, Step, Strength};
use crate::time::Minutes;

/// A dish as it stands on this menu: the card, and what the menu says of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Dish {
    /// The name the book and other files know it by; letters, digits and hyphens.
    pub id: String,
    /// The name on the sheet.
    pub name: String,
    /// Anything a cook should read first.
    pub note: Option<String>,
    /// The id of the course it is served in.
    pub course: String,
    /// Covers for this dish where they differ from the menu's.
    pub covers: Option<u32>,
    /// Portions made beyond the covers.
    pub spare: u32,
    /// How many batches are made, where the cook has decided it; else as many as the portions need.
    pub batches: Option<u32>,
    /// How long before its course the dish should stand ready; the plan keeps this in hand.
    pub margin: Minutes,
    /// What one batch makes; none given: all of it in one.
    pub batch: Option<Batch>,
    /// What goes into it.
    pub ingredients: Vec<Ingredient>,
    /// The work, in the order the card lists it.
    pub steps: Vec<Step>,
    /// Groups of steps done several times over.
    pub repeats: Vec<Repeat>,
    /// Steps kept ready for when something goes wrong; never scheduled.
    pub rescues: Vec<Step>,
    /// How long the finished dish may wait before its course, counted from the end of its last step.
    pub fresh: Freshness,
    /// Whether it needs temperature control to stay safe; `None` when nobody has said, which is not "no".
    pub control: Option<Control>,
    /// At which temperature, in tenths of a degree Celsius, the finished dish waits for its course.
    pub waits_at: Option<i32>,
}

/// What one batch of a dish makes, and in what.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    /// Portions a batch makes.
    pub portions: u32,
    /// The vessel or mould it is made in.
    pub vessel: Option<KitId>,
    /// How many of that vessel one batch fills.
    pub vessels: u32,
    /// A vessel or mould of another size that it may be divided among as well. How many of each are filled is then
    /// not written on the card but chosen, batch by batch ([`super::mix`]).
    pub also: Option<KitId>,
    /// Whether the last batch may be a part of one.
    pub last: Last,
    /// The volume of a batch in millilitres, for work that grows with it.
    pub volume: Option<f64>,
}

/// Whether the last batch of a dish may be a part of one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Last {
    /// Whole batches only: what is beyond the portions wanted is left over.
    #[default]
    Whole,
    /// The last makes what is still wanted, in whole moulds. Where the cook has decided how many batches there are,
    /// the portions are divided among them as evenly as they go.
    Part,
}

/// How long food is at its best and how long it may be kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Freshness {
    /// Best within this time: the sheet warns past it.
    pub best: Option<Minutes>,
    /// Keeps at most this long: no plan goes past it.
    pub keeps: Option<Minutes>,
}

/// Steps of a dish done several times over: strain three times, re-boil each day, lay one layer on another.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeat {
    /// The ids of the steps of one round, in order.
    pub steps: Vec<String>,
    /// How many rounds; at least two.
    pub times: u32,
    /// The gap from the end of one round to the start of the next.
    pub gap: super::Gap,
}

/// One line of what goes into a dish.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ingredient {
    /// What it is.
    pub name: String,
    /// How much.
    pub amount: Amount,
    /// For how much of the dish that is.
    pub per: Per,
    /// The id of the step that takes it.
    pub into: Option<String>,
    /// The part that takes all of it, where that step is done for each part of a divided batch; none where it is shared
    /// out among them.
    pub part: Option<String>,
    /// How many days ahead it must be ordered.
    pub order_ahead: Option<Minutes>,
    /// Who supplies it.
    pub supplier: Option<String>,
    /// The goods of the larder it is bought as, where they bear another name.
    pub goods: Option<String>,
    /// What has to be done with it some time before the step that takes it, without anybody's hands to speak of.
    pub ahead: Option<Ahead>,
    /// What a volume of it weighs, where the card knows better than the tables.
    pub density: Option<Density>,
    /// The strength of the gelatine the card was written for.
    pub strength: Option<Strength>,
    /// Declared allergens it contains; `None` when nobody has declared anything, which is not "free".
    pub contains: Option<Vec<Allergen>>,
    /// Declared allergens it may contain by contact; `None` when nobody has declared anything of that, which is not
    /// "free" either.
    pub may_contain: Option<Vec<Allergen>>,
    /// Who has declared them: a label, a supplier's sheet, a cook; `None` is the card itself.
    pub declared_by: Option<String>,
    /// What a bought good is made of, as its label lists it.
    pub made_of: Vec<Part>,
    /// Sulphites in it, in mg/kg as sulphur dioxide, where that is known.
    pub sulphites: Option<u32>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// One line of what a bought good is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// What it is.
    pub name: String,
    /// Declared allergens it contains; `None` when nobody has declared anything, which is not "free".
    pub contains: Option<Vec<Allergen>>,
    /// Declared allergens it may contain by contact; `None` when nobody has declared anything of that, which is not
    /// "free" either.
    pub may_contain: Option<Vec<Allergen>>,
}

/// What an amount on a card is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Per {
    /// One batch.
    #[default]
    Batch,
    /// The whole dish, however many covers.
    Dish,
    /// One portion.
    Portion,
}

/// How a step's work or an amount grows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scale {
    /// Done once for the dish.
    #[default]
    Dish,
    /// Done again for each batch.
    Batch,
}

/// A declared allergen: the union of the EU/UK, US and AU/NZ lists, as published (Reg. (EU) 1169/2011 Annex
/// II; FD&C Act 201(qq) with the FASTER Act 2021; FSC Standard 1.2.3 Schedule 9). Cereals and nuts are named
/// one by one because some lists require it; which list has which stands in [`crate::safety`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "each variant is its own name")]
pub enum Allergen {
    Wheat,
    /// A wheat.
    Spelt,
    /// A wheat.
    Khorasan,
    Rye,
    Barley,
    Oats,
    Crustaceans,
    Egg,
    Fish,
    Peanut,
    Soya,
    Milk,
    Almond,
    Hazelnut,
    Walnut,
    Cashew,
    Pecan,
    BrazilNut,
    Pistachio,
    Macadamia,
    PineNut,
    Celery,
    Mustard,
    Sesame,
    Sulphites,
    Lupin,
    Molluscs,
}

/// What can hurt someone; the usual caution is shown, and the person responsible decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Caution {
    /// Egg that is not cooked through.
    RawEgg,
    /// Unpasteurised milk or cream.
    RawMilk,
    /// Sugar above boiling water's heat sticks and burns.
    HotSugar,
    /// Must pass the danger zone quickly when cooling.
    Cooling,
    /// Kernels or leaves that are poisonous raw.
    ToxicKernels,
    /// On the plate but not to be eaten.
    InedibleGarnish,
    /// A flame or heat that must not be left alone.
    OpenFlame,
    /// Alcohol remains.
    Alcohol,
    /// A colouring that must be named.
    NamedColour,
    /// Not for infants under one year.
    Honey,
    /// Dry ice or liquid nitrogen.
    Cryogen,
    /// A jelly of a size that can choke.
    ChokingSize,
}

impl Dish {
    /// Returns the step with this id and its place in [`Dish::steps`].
    pub fn step(&self, id: &str) -> Option<(usize, &Step)> {
        self.steps
            .iter()
            .enumerate()
            .find(|(_, step)| step.id == id)
    }

    /// Returns what goes into a step, or into this part of it. What goes into none by name is there from the first.
    pub fn taken_by(&self, step: &str, part: Option<&str>) -> impl Iterator<Item = &Ingredient> {
        let is_first = self.steps.first().is_some_and(|first| first.id == step);
        self.ingredients.iter().filter(move |ingredient| {
            let into = ingredient.into.as_deref();
            let of_part = ingredient.part.as_deref();
            into.map_or(is_first, |into| into == step)
                && (part.is_none() || of_part.is_none() || of_part == part)
        })
    }
}
