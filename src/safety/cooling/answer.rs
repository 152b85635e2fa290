//! A forecast held against a rule: will it pass, and if not, how shallow and in how many pans.

use super::{Body, Medium, Span, deepest, minutes_at, minutes_to};
use crate::safety::rules::{Leg, Legs};

/// Shallower than this no kitchen spreads food to cool it.
const SHALLOWEST: f64 = 0.004;

/// What is to be cooled, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// The food, as early as it can be cold: covered only where something is known to lie on it.
    pub body: Body,
    /// The place.
    pub medium: Medium,
    /// Whether it is known that nothing lies on it. Where nobody has said, the later end has a lid.
    pub open: bool,
}

/// Whether a rule is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Passes {
    /// For sure.
    Yes,
    /// At the better end of what is known and not at the worse.
    Perhaps,
    /// Not even at the better end.
    No,
}

/// One leg of a rule, forecast.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegForecast {
    /// The leg.
    pub leg: Leg,
    /// How long its clock shows; `None` at the late end is never.
    pub early: Option<f64>,
    /// At the late end.
    pub late: Option<f64>,
    /// Whether it is kept.
    pub passes: Passes,
}

impl Asked {
    /// The food at the worse end of what is known.
    fn careful(&self) -> Body {
        Body {
            covered: !self.open,
            ..self.body
        }
    }

    /// Returns when it is at a temperature, in minutes; an end that is `None` is never.
    pub fn minutes(&self, goal: f64) -> (Option<f64>, Option<f64>) {
        let early = minutes_to(&self.body, self.medium, goal);
        let late = minutes_to(&self.careful(), self.medium, goal);
        (early.map(|span| span.early), late.map(|span| span.late))
    }

    /// Returns when it is at a temperature, where it ever is.
    pub fn span(&self, goal: f64) -> Option<Span> {
        let (early, late) = self.minutes(goal);
        Some(Span {
            early: early?,
            late: late?,
        })
    }

    /// Returns every leg that this food comes into, forecast.
    pub fn legs(&self, legs: &Legs) -> Vec<LegForecast> {
        let from = self.body.from;
        let early = legs.failed(from, |goal| self.minutes(goal).0);
        let late = legs.failed(from, |goal| self.minutes(goal).1);
        legs.legs
            .iter()
            .filter(|leg| from > leg.to)
            .map(|&leg| {
                let fails = |failed: &[(Leg, Option<f64>)]| failed.iter().any(|(it, _)| *it == leg);
                let took = |late: bool| {
                    let at = |goal| {
                        let (one, other) = self.minutes(goal);
                        if late { other } else { one }
                    };
                    let began = if from <= leg.from {
                        Some(0.0)
                    } else {
                        at(leg.from)
                    };
                    Some(at(leg.to)? - began?)
                };
                LegForecast {
                    leg,
                    early: took(false),
                    late: took(true),
                    passes: match (fails(&early), fails(&late)) {
                        (true, _) => Passes::No,
                        (false, true) => Passes::Perhaps,
                        (false, false) => Passes::Yes,
                    },
                }
            })
            .collect()
    }

    /// Returns whether all legs are kept.
    pub fn passes(&self, legs: &Legs) -> Passes {
        let worst = self.legs(legs).into_iter().map(|leg| leg.passes).max();
        worst.unwrap_or(Passes::Yes)
    }

    /// Returns whether all legs are kept for sure at another depth.
    fn keeps_at(&self, legs: &Legs, depth: f64) -> bool {
        let careful = self.careful();
        let body = Body {
            shape: careful.shape.at_depth(depth),
            ..careful
        };
        let film = self.medium.place.film().0;
        let failed = legs.failed(body.from, |goal| {
            let left = (goal - self.medium.at) / (body.from - self.medium.at);
            (left > 0.0).then(|| minutes_at(&body, self.medium.place, film, left.min(1.0)))
        });
        failed.is_empty()
    }

    /// Returns the greatest depth, in metres and no deeper than it stands, at which all legs are kept for sure;
    /// `None` for a ball, and where no depth that a kitchen spreads keeps them.
    pub fn deepest(&self, legs: &Legs) -> Option<f64> {
        if matches!(self.body.shape, super::Shape::Ball { .. }) {
            return None;
        }
        let found = deepest(self.body.shape.depth(), |depth| self.keeps_at(legs, depth))?;
        (found >= SHALLOWEST).then_some(found)
    }

    /// Returns how many pans as wide as this one so much food fills at a depth, in cubic metres and metres; `None`
    /// where nobody has said how wide it is.
    pub fn pans(&self, volume: f64, depth: f64) -> Option<u32> {
        let pans = (volume / (self.body.shape.area()? * depth) - 1e-9).ceil();
        (pans < 1e6).then_some(pans.max(1.0) as u32)
    }
}
