//! The banquet as plain data: what a menu, a dish and a kitchen *are*, whatever file they came from.
//!
//! Nothing here reads files, knows a file format or plans anything. [`crate::load`] builds these values from
//! what a cook wrote; [`crate::plan`] turns them into something the engine can place in time.
//! [`check()`] holds the rules that need the whole menu in view.
//!
//! Every wait is in [`Minutes`]; every rate of work is in seconds, because "40 s a glass" is how work is
//! measured at the bench, and it is rounded up to whole minutes only once it has been multiplied.

mod check;
mod dish;
mod guest;
mod kitchen;
mod larder;
mod made;
mod measure;
mod step;
mod temperature;
pub mod words;

pub(crate) use check::nearest;
pub use check::{About, Finding, Subject, check, check_dish, check_kitchen, check_larder};
pub use dish::{
    Allergen, Batch, Caution, Dish, Freshness, Ingredient, Last, Part, Per, Repeat, Scale,
};
pub use guest::{Guest, GuestKind};
pub use kitchen::{Cook, Days, Hours, Kit, KitId, Kitchen, Oven, Shift, Span, Taken};
pub use larder::{Ahead, Density, Gelling, Goods, Larder, Leaf, Pack, Strength, Supplier};
pub use made::{Batches, Made, Makes, mix};
pub use measure::{Amount, Dimension, Unit};
pub use step::{
    After, ClockWait, Edge, Gap, GapLeast, Goal, Hands, Keep, KitUse, Look, Moment, Multiple,
    Stage, Step, StepTime, Sugar, SugarMark, Touch, Way, Work,
};
pub use temperature::{Across, Cold, ColdBy, Conducts, Control, Cooling, Rules, Temperature};

use crate::time::{Date, Minutes, TimeOfDay};

/// A whole banquet: who eats when, what they eat, and the kitchen it is made in.
#[derive(Clone, Debug, PartialEq)]
pub struct Menu {
    /// The name the book knows this banquet by; letters, digits and hyphens.
    pub id: String,
    /// The name on the sheet.
    pub name: String,
    /// The date and time of service on the kitchen's clock.
    pub service: Service,
    /// Guests to be served.
    pub covers: u32,
    /// How early work may begin, where the menu says so.
    pub prep_from: Option<Date>,
    /// How the planner chooses among plans that keep every limit.
    pub style: Style,
    /// The rules that temperatures are held against, where the menu names some.
    pub rules: Option<Rules>,
    /// Guests with needs.
    pub guests: Vec<Guest>,
    /// Where it is cooked.
    pub kitchen: Kitchen,
    /// What is bought, from whom, in which packs, and what of it is in stock.
    pub larder: Larder,
    /// By which law gelatine of one strength stands in for another's.
    pub gelling: Gelling,
    /// The courses, in the order they are served; never empty (a menu that names none has one, at service).
    pub courses: Vec<Course>,
    /// The dishes, in the order the menu lists them.
    pub dishes: Vec<Dish>,
    /// The ids of dishes that were dropped since the menu was written; guests may still be said to go without them.
    pub dropped: Vec<String>,
}

/// When the banquet is served.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Service {
    /// The day.
    pub day: ServiceDay,
    /// The time of day on the kitchen's clock.
    pub time: TimeOfDay,
}

/// The day of a service: a date, or (for demonstrations) so many days after the day it is opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ServiceDay {
    /// A calendar date.
    On(Date),
    /// This many days after today; written "in 2 days".
    InDays(u32),
}

/// How the planner chooses among plans that keep every limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Style {
    /// Everything as late as its limits allow.
    #[default]
    Late,
    /// The same limits, the work spread to the calmest days and hours.
    Even,
}

/// A course: dishes that go to the pass at the same time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    /// The name menus refer to it by.
    pub id: String,
    /// The name on the sheet.
    pub name: String,
    /// Minutes after the service time of the menu at which it is at the pass; negative when before.
    pub offset: Minutes,
}

impl Menu {
    /// Returns the dish with this id and its place in [`Menu::dishes`].
    pub fn dish(&self, id: &str) -> Option<(usize, &Dish)> {
        self.dishes
            .iter()
            .enumerate()
            .find(|(_, dish)| dish.id == id)
    }

    /// Returns the course a dish is served in; the first where the dish names one that does not exist.
    pub fn course_of(&self, dish: &Dish) -> &Course {
        self.courses
            .iter()
            .find(|course| course.id == dish.course)
            .unwrap_or(&self.courses[0])
    }

    /// Returns the covers a dish is made for: its own where it says so, else the menu's.
    pub fn covers_of(&self, dish: &Dish) -> u32 {
        dish.covers.unwrap_or(self.covers)
    }

    /// Returns how many times the steps of a dish are done in all: for each batch, part and round.
    pub fn doings_of(&self, dish: &Dish) -> u64 {
        let batches = u64::from(self.batches_of(dish));
        dish.steps
            .iter()
            .map(|step| {
                let each = match &step.each {
                    Multiple::Dish => 1,
                    Multiple::Batch => batches,
                    Multiple::Parts(parts) => parts.len().max(1) as u64,
                };
                let repeat = dish.repeats.iter().find(|it| it.steps.contains(&step.id));
                each.saturating_mul(repeat.map_or(1, |repeat| u64::from(repeat.times.max(1))))
            })
            .fold(0, u64::saturating_add)
    }

    /// Returns the portions wanted of a dish: a portion a cover, and the spare ones.
    pub fn portions_of(&self, dish: &Dish) -> u32 {
        self.covers_of(dish).saturating_add(dish.spare)
    }
}
