//! The bridge: the cook's words on one side, the engine's on the other, and nothing else speaks both.
//!
//! [`plan()`] turns a [`Menu`](crate::menu::Menu) and what has already happened into an instance, has the engine
//! place it from service backward, has [`verify`](crate::schedule::verify) check the answer independently, and
//! turns it back into a [`Plan`]: steps with their times, hands, cooks and kit, and a reason for each.
//!
//! When the menu cannot be done, the outcome is [`PlanOutcome::TooLate`] or [`PlanOutcome::Impossible`], never
//! [`PlanOutcome::Planned`]. What can still be then stands beside it, as a [`Plan`] that says which dishes are late.
//!
//! | the cook says | the engine says |
//! |---|---|
//! | step (of a batch, a part, a round) | activity |
//! | after, gap | lag |
//! | overnight, until 06:00 | duration until a gate |
//! | hands, cooks on shift | resource with changing capacity, demand |
//! | hob, oven, mould | resource |
//! | kit kept until another step | hold |
//! | oven temperature | state |
//! | someone about, shift, opening hours | calendar |
//! | keeps at most | maximum lag |
//! | service, course | deadline |
//! | can slip until | slack |

mod answer;
mod assign;
mod better;
mod chance;
mod conflicts;
mod expand;
mod explain;
mod forecast;
mod from_menu;
mod hours;
mod instance;
mod kept;
mod key;
mod late;
mod latest_ends;
mod make;
mod more_hands;
mod order;
mod quality;
mod run_sheet;
mod shared;
mod spread;
mod staying_on;
mod wanted;
mod ways;
mod ways_out;
mod weights;

pub use better::{Better, Work, better};
pub use chance::{Chance, InTime, WANTED, chance};
pub use expand::{Named, named};
pub use from_menu::{Asked, service_of};
pub use instance::{MenuInstance, instance};
pub use key::StepKey;
pub use latest_ends::latest_ends;
pub use make::{counted_from, plan, plan_asked, told_by_menu};
pub use more_hands::{by_day, hours_of, more_hands};
pub use quality::{Gain, Verdict};
pub use run_sheet::{
    Announced, ChosenWay, CookSpan, Course, DishPlan, Done, HandsSpan, Happened, KitSpan, Late,
    Lateness, Plan, PlanOutcome, PlannedStep, Quality, StepIndex, Told,
};
pub use spread::{Spread, spreads};
pub use staying_on::{shift_ends, stays_from, with_staying_on};
pub use ways_out::{Gives, PLANNINGS, Way, WayOut, WaysOut, ways_out, whole_ways_out};
