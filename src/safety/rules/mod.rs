//! The rules of countries as data: limits, cooling, time out of the cold, keeping days, reheating.
//!
//! Each set is dated and each rule has its source. They are summaries for planning; [`super::DEFERENCE`] goes with
//! all of them. A figure that is advice and not law is marked so ([`Weight::Advice`]), and where a country sets no
//! figure there is none here either: the house's own plan does.
//!
//! What a rule is stands here, the countries themselves in `sets.rs`, where they can be read beside each other.
//!
//! Read from copies of the laws: US model code (FDA Food Code 2017, as adopted by Delaware, 16 Del. Admin. Code §3),
//! England (SI 2013/2996 Schedule 4 and its parallel texts in Wales, W.S.I. 2006/31, and Northern Ireland, S.R.
//! 2006/3), Australia (Food Standards Code, Standard 3.2.2, and guidance of FSANZ on the 2-hour/4-hour rule, 2019).
//! From memory: all of Scotland (S.S.I. 2006/3), New Zealand's template plans, and what is marked so at its figure.

mod sets;

use crate::menu::Rules;
use crate::time::Date;

pub use sets::{AUSTRALIA, ENGLAND, NORTHERN_IRELAND, SCOTLAND, SETS, US, WALES, set_of, unnamed};

/// Whether a figure is law or advice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// The law, or the model of one.
    Law,
    /// Advice of an authority, or common practice.
    Advice,
}

/// A temperature that food is kept at or below, or at or above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// °C.
    pub degrees: f64,
    /// Where it stands.
    pub source: &'static str,
    /// Law or advice.
    pub weight: Weight,
}

/// One stretch of cooling with a clock of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// The clock starts when the food passes this, or at once where it begins colder, in °C.
    pub from: f64,
    /// It stops here.
    pub to: f64,
    /// The most it may show, in minutes.
    pub within: f64,
}

/// How food must be cooled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Legs {
    /// Every one of them holds.
    pub legs: &'static [Leg],
    /// Where it stands.
    pub source: &'static str,
    /// Law or advice.
    pub weight: Weight,
}

/// How long food may be between the cold and the hot limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Out {
    /// So many minutes, then it is thrown away; longer where it began cold and stayed below a temperature.
    Written {
        /// The most.
        most: i32,
        /// The most where it began cold and stayed cool.
        cool: i32,
        /// Cool: at or below this, in °C.
        below: f64,
    },
    /// One single period of less than so many minutes, from the cold or from the hot side.
    Single {
        /// Out of the cold: less than this.
        cold: i32,
        /// Below the hot limit: less than this.
        hot: i32,
    },
    /// All periods added up.
    Added {
        /// From here on it may not go back into the cold.
        use_now: i32,
        /// Beyond this it is thrown away.
        discard: i32,
    },
}

/// How many days food is kept in the cold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Keeping {
    /// Calendar days, the day of preparation being the first.
    pub days: i64,
    /// Where it stands.
    pub source: &'static str,
}

/// How food that was cold is made hot again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reheating {
    /// Any of these will do: °C, for so many seconds.
    pub points: &'static [(f64, u32)],
    /// In at most so many minutes.
    pub within: Option<i32>,
    /// Where it stands.
    pub source: &'static str,
    /// Law or advice.
    pub weight: Weight,
}

/// The rules of one country.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RuleSet {
    /// Which.
    pub rules: Rules,
    /// As the command line takes it.
    pub key: &'static str,
    /// As the sheet says it.
    pub name: &'static str,
    /// Which edition.
    pub dated: &'static str,
    /// Cold holding: at or below.
    pub cold: Limit,
    /// Hot holding: at or above.
    pub hot: Limit,
    /// Cooling of what was cooked.
    pub cooling: Legs,
    /// Cooling of what nobody knows to have been hot, where what is made from things at the temperature of the room has
    /// another rule: of the two the stricter legs. Which holds is what [`RuleSet::cooling_of`] returns.
    pub not_known_hot: Option<Legs>,
    /// Time between the limits.
    pub out: Out,
    /// Where that stands.
    pub out_source: &'static str,
    /// Keeping days, where there is a figure.
    pub keeping: Option<Keeping>,
    /// Reheating.
    pub reheating: Option<Reheating>,
    /// Raw egg, in a sentence.
    pub raw_egg: &'static str,
    /// What else to know of this set.
    pub remark: &'static str,
}

impl RuleSet {
    /// Returns whether food at this temperature is held cold.
    pub fn holds_cold(&self, degrees: f64) -> bool {
        degrees <= self.cold.degrees
    }

    /// Returns whether food at this temperature is held hot.
    pub fn holds_hot(&self, degrees: f64) -> bool {
        degrees >= self.hot.degrees
    }

    /// Returns whether food at this temperature is between the limits.
    pub fn is_out(&self, degrees: f64) -> bool {
        !self.holds_cold(degrees) && !self.holds_hot(degrees)
    }

    /// Returns from which temperature on, in °C, food that was read so warm has been reheated for sure, so that its cooling
    /// begins anew: the hottest of the points of the rule, which asks for the fewest seconds. Nothing where that is no
    /// hotter than hot food is held at anyway.
    pub fn reheated_at(&self) -> Option<f64> {
        let points = self.reheating?.points.iter();
        let hottest = points.map(|&(degrees, _)| degrees).reduce(f64::max);
        hottest.filter(|degrees| *degrees > self.hot.degrees)
    }

    /// Returns how food must be cooled that is known to have been as warm as this, in °C, and no warmer: as what was
    /// cooked where that is hot, else as what may have been made cold.
    pub fn cooling_of(&self, warmest: f64) -> Legs {
        match self.not_known_hot {
            Some(stricter) if !self.holds_hot(warmest) => stricter,
            _ => self.cooling,
        }
    }
}

impl Out {
    /// Returns how many minutes are allowed: of what came hot, or of what began cold and never was warmer than that.
    pub fn allowed(self, came_hot: bool, began_cold: Option<f64>) -> i32 {
        match self {
            Self::Written { cool, below, .. } if began_cold.is_some_and(|it| it <= below) => cool,
            Self::Written { most, .. } => most,
            Self::Single { hot, .. } if came_hot => hot,
            Self::Single { cold, .. } => cold,
            Self::Added { discard, .. } => discard,
        }
    }

    /// Returns whether so many minutes are more than are allowed.
    pub fn is_over(self, minutes: i32, allowed: i32) -> bool {
        match self {
            Self::Single { .. } => minutes >= allowed,
            Self::Written { .. } | Self::Added { .. } => minutes > allowed,
        }
    }
}

impl Leg {
    /// Returns whether a clock that shows so many minutes keeps it.
    pub fn is_kept(&self, minutes: f64) -> bool {
        minutes <= self.allowed()
    }

    /// Returns the most its clock may show, in minutes: a second is allowed for the arithmetic, none for the cook.
    pub fn allowed(&self) -> f64 {
        self.within + 1.0 / 60.0
    }
}

impl Legs {
    /// Returns every leg that food does not meet which begins at `from` °C and is at a temperature after so many
    /// minutes, with how long it took; `None` as a time is never.
    pub fn failed(
        &self,
        from: f64,
        minutes_to: impl Fn(f64) -> Option<f64>,
    ) -> Vec<(Leg, Option<f64>)> {
        let mut failed = Vec::new();
        for leg in self.legs {
            if from <= leg.to {
                continue;
            }
            let began = if from <= leg.from {
                Some(0.0)
            } else {
                minutes_to(leg.from)
            };
            let took = minutes_to(leg.to).zip(began).map(|(to, began)| to - began);
            if took.is_none_or(|took| !leg.is_kept(took)) {
                failed.push((*leg, took));
            }
        }
        failed
    }
}

impl Reheating {
    /// Returns whether it was hot enough for long enough; `None` where nobody has said how long.
    pub fn is_met(&self, to: f64, lasting: Option<u32>) -> Option<bool> {
        let hot = self.points.iter().filter(|(degrees, _)| to >= *degrees);
        let needed = hot.map(|&(_, seconds)| seconds).min();
        match (needed, lasting) {
            (None, _) => Some(false),
            (Some(0), _) => Some(true),
            (Some(_), None) => None,
            (Some(needed), Some(lasting)) => Some(lasting >= needed),
        }
    }
}
/// Returns which day of its keeping a day is, the day of preparation being the first, less the whole days frozen.
///
/// By the calendar, whatever the hour of preparation (FDA Food Code §3-501.17; days before freezing count after
/// thawing: Minn. R. 4626.0400).
pub fn day_of_keeping(made: Date, day: Date, frozen: i64) -> i64 {
    (day - made).num_days() + 1 - frozen.max(0)
}

/// Returns the last day on which food may be used, by the same count.
pub fn last_day(keeping: Keeping, made: Date, frozen: i64) -> Option<Date> {
    let days = u64::try_from(keeping.days - 1 + frozen.max(0)).ok()?;
    made.iter_days().nth(usize::try_from(days).ok()?)
}
#[cfg(test)]
mod tests;
