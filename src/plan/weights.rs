//! What counts for how much: the one place that puts numbers to a banquet.
//!
//! The formula is the engine's, at [`Weights`]. A minute of earliness of one step is the unit, and everything
//! else is said in it. The order is the cook's: served late, then past its best, then somebody's evening, then
//! the style; and once times have been announced, moving them comes before the style. The figures are far
//! enough apart that the order holds in a banquet of a few hundred steps, and near enough that a minute of a
//! higher kind is not bought with a week of a lower:
//!
//! | what | counts as | why |
//! |---|---|---|
//! | a minute late | 1,000,000,000 | nothing else is worth it |
//! | a minute that a dish is late, on a forecast | 1,000,000,000 | below |
//! | a minute of a wish | 100,000 × its weight | below |
//! | – of a dish's margin, gone | 5 | time in hand is a promise about lateness, so it comes before taste |
//! | – of food past its best | 1 | a minute of it is worth ten of overtime |
//! | – that a step begins later which was told for the next two hours, or for before | 1 | as much as one other step that moves: who is late does that next, and the rest goes along |
//! | a minute of one cook's overtime | 10,000 | a step that starts a week (10,080 min) earlier |
//! | a way other than the card's own | 10,000 for each place down the list | as much as a minute of overtime: the card's order decides unless something above it is at stake, or steps would start a week earlier in all |
//! | a minute earlier | 1, and 20 for what is only so long at its best | food that is fresh only so long comes before steps that keep |
//!
//! *Late* is nothing but that. *Even* spreads the hands: the square of the minutes worked in each hour counts
//! as 1, and a minute earlier as 5. An hour in which two work (120² = 14,400), made into two hours in which one
//! does (2 × 60² = 7,200), is then worth 7,200, a step that starts a day earlier (5 × 1,440 = 7,200).
//!
//! Where times have been announced, a step that moves counts as 100,000 and 10 more for each minute it moves by:
//! ten minutes of overtime, and more than a step can gain by standing anywhere else in a week at the style
//! *Late*. A step that was announced to be done another way, or in another of several like ovens, counts the same
//! way: 50,000 and 100.
//!
//! On a forecast, where a course that cannot be kept is missed by as little as possible, lateness is a wish of the
//! weight [`LATE`], so that a minute of it counts what a minute past a `due` does. What is summed is the lateness of
//! dishes, each counting the same however many covers it is for: a cook tells a table that a dish is late, not how
//! many spoons of it. A dish that ends in several batches or parts is late by their mean. A time on a card that is
//! missed, and a longest gap that is stretched, count like a dish.

use crate::menu::Style;
use crate::schedule::{Time, Weights};
use crate::time::Minutes;

/// The weight of the wish that food is not past its best.
pub(super) const BEST: i32 = 1;

/// The weight of the wish that what is next begins when it was told.
pub(super) const NEXT: i32 = 1;

/// How soon a step is to begin to be next.
pub(super) const NEAR: Minutes = Minutes::hours(2);

/// The weight of the wish that a dish's margin is in hand.
pub(super) const MARGIN: i32 = 5;

/// The weight of the wish that a dish is at its course, where that may be missed: as much as a minute late.
pub(super) const LATE: i32 = 10_000;

/// How much a minute counts that something is early which is only for so long at its best.
pub(super) const FRESH: i32 = 20;

/// How much a minute counts that anything else is early.
pub(super) const PLAIN: i32 = 1;

/// What the first of the other ways on a card costs, and each further one more.
pub(super) const OTHER_WAY: i32 = 10_000;

/// What it costs to do a step another way than announced.
pub(super) const WAY_CHANGED: i32 = 50_000;

/// What it costs to use another of several like ovens than announced.
pub(super) const OVEN_CHANGED: i32 = 100;

/// How many minutes later steps must start, for each that moves, for a plan to be worth offering for its style
/// alone: nobody moves a step for less than half an hour.
pub(super) const WORTH_MOVING: i64 = 30;

/// How far before the end *Even* looks: nobody moves an hour's work by two weeks to have a calmer one, which counts
/// 5 × 20,160 = 100,800 against the 7,200 of the hour.
pub(super) const REACH: Time = 14 * 1440;

/// How long the stretches are whose work *Even* evens out.
pub(super) const HOUR: Time = 60;

/// Returns the weights of a style, for a first plan or for one after times have been announced.
pub(super) fn weights(style: Style, announced: bool) -> Weights {
    let (uneven, early) = match style {
        Style::Late => (0, 1),
        Style::Even => (1, 5),
    };
    let (moved, moved_by) = if announced { (100_000, 10) } else { (0, 0) };
    Weights {
        late: 1_000_000_000,
        wish: 100_000,
        overtime: 10_000,
        uneven,
        early,
        mode: 1,
        moved,
        moved_by,
    }
}
