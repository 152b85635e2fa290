//! A forecast held against a rule: will it pass, and if not, how shallow and in how many pans.

use super::{Body, Fall, Medium, Span, deepest};
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

    /// Whether every number is one that a kitchen has.
    fn is_real(&self) -> bool {
        let numbers = [self.body.from, self.medium.at];
        self.body.shape.is_real() && numbers.iter().all(|it| it.is_finite())
    }

    /// The fall at the worse end of what is known; none where a length is none a kitchen has.
    fn late(&self) -> Option<Fall> {
        let (least, _) = self.medium.place.film();
        let place = self.medium.place;
        self.is_real()
            .then(|| Fall::new(&self.careful(), place, least))
    }

    /// The falls at the better and the worse end of what is known.
    fn falls(&self) -> Option<(Fall, Fall)> {
        let (_, most) = self.medium.place.film();
        let late = self.late()?;
        Some((Fall::new(&self.body, self.medium.place, most), late))
    }

    /// Returns whether all legs are kept for sure: what [`Asked::passes`] says, at half the work.
    pub fn surely_passes(&self, legs: &Legs) -> bool {
        let Some(late) = self.late() else {
            return self.passes(legs) == Passes::Yes;
        };
        let failed = legs.failed(self.body.from, |goal| self.of_fall(&late, goal));
        failed.is_empty()
    }

    /// Returns whether a fall keeps all legs. How warm it is when the clock of a leg runs out says so: one look,
    /// where [`Legs::failed`] has to search for the minute at which it gets there.
    fn is_kept_by(&self, fall: &Fall, legs: &Legs) -> bool {
        let from = self.body.from;
        legs.legs.iter().filter(|leg| from > leg.to).all(|leg| {
            let left = (leg.to - self.medium.at) / (from - self.medium.at);
            // What is as warm as the place itself is never reached.
            left > 0.0
                && self
                    .of_fall(fall, leg.from)
                    .is_some_and(|began| fall.left(began + leg.allowed()) <= left)
        })
    }

    /// Returns the minutes of a fall to a temperature; `None` is never.
    fn of_fall(&self, fall: &Fall, goal: f64) -> Option<f64> {
        if self.body.from <= goal {
            return Some(0.0);
        }
        let left = (goal - self.medium.at) / (self.body.from - self.medium.at);
        (left > 0.0).then(|| fall.minutes(left))
    }

    /// Returns when it is at a temperature, in minutes; an end that is `None` is never.
    pub fn minutes(&self, goal: f64) -> (Option<f64>, Option<f64>) {
        self.falls().map_or((None, None), |(early, late)| {
            (self.of_fall(&early, goal), self.of_fall(&late, goal))
        })
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
        let falls = self.falls();
        let at = |late: bool, goal| {
            let (one, other) = falls.as_ref()?;
            self.of_fall(if late { other } else { one }, goal)
        };
        let took = |late: bool, leg: &Leg| {
            let began = if from <= leg.from {
                Some(0.0)
            } else {
                at(late, leg.from)
            };
            Some(at(late, leg.to)? - began?)
        };
        let keeps = |took: Option<f64>, leg: &Leg| took.is_some_and(|took| leg.is_kept(took));
        legs.legs
            .iter()
            .filter(|leg| from > leg.to)
            .map(|&leg| {
                let (early, late) = (took(false, &leg), took(true, &leg));
                LegForecast {
                    leg,
                    early,
                    late,
                    passes: match (keeps(early, &leg), keeps(late, &leg)) {
                        (_, true) => Passes::Yes,
                        (true, false) => Passes::Perhaps,
                        (false, false) => Passes::No,
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

    /// Returns the greatest depth, in metres and no deeper than it stands, at which all legs are kept for sure;
    /// `None` for a ball, and where no depth that a kitchen spreads keeps them.
    pub fn deepest(&self, legs: &Legs) -> Option<f64> {
        if matches!(self.body.shape, super::Shape::Ball { .. }) {
            return None;
        }
        let late = self.late()?;
        let (careful, place) = (self.careful(), self.medium.place);
        let film = place.film().0;
        let keeps = |depth| self.is_kept_by(&late.at_depth(&careful, place, film, depth), legs);
        let found = deepest(self.body.shape.depth(), keeps)?;
        (found >= SHALLOWEST).then_some(found)
    }

    /// Returns how many pans as wide as this one so much food fills at a depth, in cubic metres and metres; `None`
    /// where nobody has said how wide it is.
    pub fn pans(&self, volume: f64, depth: f64) -> Option<u32> {
        let pans = (volume / (self.body.shape.area()? * depth) - 1e-9).ceil();
        (pans < 1e6).then_some(pans.max(1.0) as u32)
    }
}
