//! When will it be there? Readings so far, a goal, and the time at which the goal is met, with how sure that is.
//!
//! Two laws are fitted to what a cook has read off: food in a cold place follows Newton's law of cooling
//! ([`cooling()`]), and a pan that boils down loses the same every minute ([`reduction()`]). Both fits are plain
//! least squares, and both answers carry a span that would hold the truth on 95 of 100 such evenings, by
//! Student's *t* (Student, *The Probable Error of a Mean*, Biometrika 6, 1908; any textbook of regression).
//!
//! Few readings say little about how good a thermometer and the hand that holds it are. So what is known of such
//! readings beforehand is counted as [`PRIOR_WORTH`] readings of its own (the conjugate prior of a variance:
//! Gelman and others, *Bayesian Data Analysis*, from memory); two readings then give an honest span and not none.
//!
//! Nothing here knows a rule, a dish or a clock: minutes from any beginning, degrees Celsius, millilitres or grams.
//!
//! Left out on purpose: anything before the first reading. What a pan will do that nobody has measured is the
//! business of the conduction series in `safety::cooling`.

mod band;
mod cooling;
mod reduction;
mod slip;

pub use band::{Eta, NoEta, PRIOR_WORTH};
pub use cooling::{Cooling, THERMOMETER, cooling, fit_cooling};
pub use reduction::{MARK, Reduction, fit_reduction, reduction};
pub use slip::believed;
