//! How long each doing may take, for whoever asks what may go wrong.
//!
//! The plan books one length for each doing; a card may say more: a range, or three points. Work that grows with
//! what is made ("40 s a piece") is certain and moves all of them alike.
//!
//! Left out on purpose: what kind of distribution lies between the points. The cards do not say.

use super::run_sheet::Plan;
use crate::menu::{Menu, StepTime};

/// How long one doing may take, in seconds, work that grows included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spread {
    /// The shortest it ever takes.
    pub shortest: i64,
    /// What it usually takes; `None` where the card gives only a range.
    pub usual: Option<i64>,
    /// The longest it takes; never less than the shortest.
    pub longest: i64,
}

impl Spread {
    /// Returns whether it always takes the same time.
    pub fn is_certain(&self) -> bool {
        self.shortest == self.longest
    }
}

/// Returns how long each step of a plan may take, done the way it is planned, in the order of [`Plan::steps`];
/// `None` for a wait that the clock ends, which nothing lengthens.
pub fn spreads(menu: &Menu, plan: &Plan) -> Vec<Option<Spread>> {
    let made: Vec<_> = menu.dishes.iter().map(|dish| menu.made(dish)).collect();
    let spread = |planned: &super::PlannedStep| {
        let dish = menu.dishes.get(planned.dish)?;
        let step = dish.steps.get(planned.step)?;
        let way = planned
            .way
            .as_ref()
            .and_then(|way| step.ways.get(way.place));
        let StepTime::Elapsed(work) = way.map_or(&step.time, |way| &way.time) else {
            return None;
        };
        let batch = planned.key.batch;
        let makes = menu.makes(dish, made.get(planned.dish)?, &step.each, batch);
        // The plan books nothing over more than a year either.
        let seconds = |fixed: i64| work.seconds(fixed, makes).clamp(0, 400 * 86_400) as i64;
        Some(Spread {
            shortest: seconds(work.shortest),
            usual: work.usual.map(seconds),
            longest: seconds(work.longest),
        })
    };
    plan.steps.iter().map(spread).collect()
}
