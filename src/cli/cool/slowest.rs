//! Food of which nobody has said what it is: at each point of the question the food counts that is slowest there.
//!
//! Which that is changes on the way: water stores the most heat and is last where the air is what holds it up, paste
//! conducts the least and is last where the food itself does. So no one of them can stand for all.

use crate::safety::cooling::card::Said;
use crate::safety::cooling::{Asked, Body, FOODS, LegForecast, Material, Passes, setting_minutes};
use crate::safety::rules::Legs;

/// The same question of every food that it may be; of one where somebody has said which.
pub(super) struct Foods {
    /// One of them: all stand alike in the same place.
    pub(super) one: Asked,
    others: Vec<Asked>,
}

impl Foods {
    /// Returns the question of food that is so warm; else what nobody has said.
    pub(super) fn of(said: &Said, from: f64) -> Result<Self, Vec<&'static str>> {
        let as_food = |material| {
            let said = Said {
                material: Some(material),
                ..said.clone()
            };
            said.asked(from)
        };
        let mut may_be = match said.material {
            Some(material) => vec![as_food(material)?],
            None => FOODS
                .iter()
                .map(|(_, share)| as_food(Material::of_water(*share)))
                .collect::<Result<_, _>>()?,
        };
        let one = may_be.pop().ok_or(vec!["what it is to heat"])?;
        Ok(Self {
            one,
            others: may_be,
        })
    }

    fn all(&self) -> impl Iterator<Item = &Asked> {
        std::iter::once(&self.one).chain(&self.others)
    }

    /// Returns when the slowest is at a temperature, in minutes; an end that is `None` is never.
    pub(super) fn minutes(&self, goal: f64) -> (Option<f64>, Option<f64>) {
        let all = self.all().map(|asked| asked.minutes(goal));
        let slowest = all.reduce(|one, other| (later(one.0, other.0), later(one.1, other.1)));
        slowest.unwrap_or_default()
    }

    /// Returns every leg that it comes into, each forecast for the food that is slowest in it.
    pub(super) fn legs(&self, legs: &Legs) -> Vec<LegForecast> {
        let all = self.all().map(|asked| asked.legs(legs));
        // Which legs those are follows from how warm it is, so they stand beside each other.
        let slowest = all.reduce(|one, other| {
            let pairs = one.into_iter().zip(other);
            pairs
                .map(|(one, other)| LegForecast {
                    leg: one.leg,
                    early: later(one.early, other.early),
                    late: later(one.late, other.late),
                    passes: one.passes.max(other.passes),
                })
                .collect()
        });
        slowest.unwrap_or_default()
    }

    /// Returns whether all legs are kept, whichever it is.
    pub(super) fn passes(&self, legs: &Legs) -> Passes {
        let all = self.all().map(|asked| asked.passes(legs));
        all.max().unwrap_or(Passes::No)
    }

    /// Returns the greatest depth at which all legs are kept for sure, whichever it is, as [`Asked::deepest`] does.
    pub(super) fn deepest(&self, legs: &Legs) -> Option<f64> {
        let mut all = self.all().map(|asked| asked.deepest(legs));
        all.try_fold(f64::INFINITY, |least, depth| Some(least.min(depth?)))
    }

    /// Returns how long a jelly takes, in whole minutes, as [`setting_minutes`] does.
    pub(super) fn sets(&self, at: f64, own: f64) -> Option<u32> {
        let mut all = self.all().map(|asked| {
            let body = Body {
                covered: !asked.open,
                ..asked.body
            };
            setting_minutes(&body, asked.medium, at, own)
        });
        all.try_fold(0, |longest, minutes| Some(longest.max(minutes?)))
    }
}

/// The later of two times, of which `None` is never.
fn later(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    Some(one?.max(other?))
}
