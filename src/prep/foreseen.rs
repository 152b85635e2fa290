//! When a running step will be over, from what was measured at it.
//!
//! What cools or warms is fitted by Newton's law, what boils down by a straight line ([`crate::forecast`] says how and
//! how sure). The goal is the one said last with a reading, else the card's. What the plan goes by is the likeliest
//! time, unless a cook has said an end after the last reading: the one who stands beside the pan knows more.
//!
//! # Left out
//! Readings from before the step was started: what stood in the pan then was another thing.

use super::temperatures::SLIP;
use super::{Measured, PrepState, Progress, goal_words, reading_words};
use crate::book::{Goal, Reading};
use crate::forecast::{self, Eta, NoEta};
use crate::menu::{self, Menu};
use crate::plan::StepKey;
use crate::time::{Timestamp, Zone};

/// What the readings of a running step foretell.
#[derive(Clone, Debug, PartialEq)]
pub enum Foreseen {
    /// It is there: the last reading says so, or the test was passed.
    There {
        /// Since when.
        since: Timestamp,
    },
    /// It will be there.
    Will {
        /// What it is on its way to.
        goal: Goal,
        /// The likeliest moment.
        at: Timestamp,
        /// The beginning of the span that holds it on 95 of 100 evenings.
        low: Timestamp,
        /// Its end, where the readings can say that it will be there at all.
        high: Option<Timestamp>,
    },
    /// The readings foretell nothing.
    Unknown {
        /// Why, a sentence without a full stop.
        why: String,
    },
}

impl Foreseen {
    /// Returns it in words for the card: `5 °C at about 16:40, between 16:20 and 17:10`.
    pub fn sentence(&self, zone: Zone) -> String {
        let clock = |at: &Timestamp| at.local(zone).weekday_clock();
        match self {
            Self::There { since } => format!("there since {}", clock(since)),
            Self::Will {
                goal,
                at,
                low,
                high,
            } => {
                let span = match high {
                    Some(high) => format!("between {} and {}", clock(low), clock(high)),
                    None => format!(
                        "no earlier than {}; the readings cannot say for certain",
                        clock(low)
                    ),
                };
                format!("{} at about {}, {span}", goal_words(*goal), clock(at))
            }
            Self::Unknown { why } => why.clone(),
        }
    }
}

/// Returns what was measured at a step and is being followed there: its goal, where there is one.
pub fn goal_of(menu: &Menu, measured: &[Measured], step: &StepKey) -> Option<Goal> {
    let said = measured.iter().rev().find_map(|it| it.goal);
    said.or_else(|| {
        let (_, dish) = menu.dish(&step.dish)?;
        let (_, card) = dish.step(&step.step)?;
        card.goal.map(|goal| match goal {
            menu::Goal::Heat { tenths, around } => Goal {
                reading: Reading::Temperature(tenths),
                around,
            },
            menu::Goal::Volume(millilitres) => Goal {
                reading: Reading::Volume(millilitres),
                around: None,
            },
            menu::Goal::Weight(grams) => Goal {
                reading: Reading::Weight(grams),
                around: None,
            },
        })
    })
}

/// Returns what the readings of a running step foretell; none where nothing was measured since it began.
pub fn foreseen(menu: &Menu, prep: &PrepState, step: &StepKey) -> Option<Foreseen> {
    let Progress::Running { since } = prep.progress(step) else {
        return None;
    };
    let mut measured = prep.measured(step);
    measured.retain(|it| it.at >= since);
    let last = measured.last()?;
    match last.reading {
        Reading::Test(true) => return Some(Foreseen::There { since: last.at }),
        Reading::Test(false) => return Some(not_passed(menu, &measured, step, last.at)),
        Reading::Temperature(_) | Reading::Volume(_) | Reading::Weight(_) => {}
    }
    let Some(goal) = goal_of(menu, &measured, step) else {
        return Some(Foreseen::Unknown {
            why: format!(
                "{}; say what it is on its way to (62 C to 5 C), and the end can be foretold",
                reading_words(last.reading)
            ),
        });
    };
    Some(fitted(&measured, goal))
}

/// Returns what is foretold where a test was not passed at a moment: what was measured beside it still is, unless that had
/// it there by then.
fn not_passed(menu: &Menu, measured: &[Measured], step: &StepKey, at: Timestamp) -> Foreseen {
    let goal = goal_of(menu, measured, step);
    match goal.map(|goal| fitted(measured, goal)) {
        Some(foreseen @ Foreseen::Will { at: will, .. }) if will > at => foreseen,
        _ => Foreseen::Unknown {
            why: "the test was not passed yet".to_owned(),
        },
    }
}

fn fitted(measured: &[Measured], goal: Goal) -> Foreseen {
    // Minutes from the first of the readings that are of the goal's kind.
    let of_kind: Vec<(Timestamp, f64)> = measured
        .iter()
        .filter_map(|it| Some((it.at, value(it.reading, goal.reading)?)))
        .collect();
    let Some(&(zero, _)) = of_kind.first() else {
        return Foreseen::Unknown {
            why: format!(
                "nothing was measured that could become {}",
                goal_words(goal)
            ),
        };
    };
    let minutes = |at: Timestamp| (at.0 - zero.0) as f64 / 60.0;
    let points: Vec<(f64, f64)> = of_kind
        .iter()
        .map(|(at, value)| (minutes(*at), *value))
        .collect();
    let least = match goal.reading {
        Reading::Temperature(_) => SLIP,
        Reading::Volume(_) | Reading::Weight(_) | Reading::Test(_) => of_kind[0].1 / 10.0,
    };
    let believed = forecast::believed(&points, least);
    if believed.last() == Some(&false) {
        let mut read = measured.iter().rev().map(|it| it.reading);
        let mut of_goal = read
            .by_ref()
            .filter(|it| value(*it, goal.reading).is_some());
        let words = |reading: Option<Reading>| reading.map(reading_words).unwrap_or_default();
        let (last, before) = (words(of_goal.next()), words(of_goal.next()));
        let why = format!(
            "{last} cannot well be so soon after {before}: a slip? take it back, or read it again"
        );
        return Foreseen::Unknown { why };
    }
    let points: Vec<(f64, f64)> = points
        .into_iter()
        .zip(believed)
        .filter_map(|(point, believed)| believed.then_some(point))
        .collect();
    let eta = match goal.reading {
        Reading::Temperature(tenths) => {
            let around = goal.around.map(|around| f64::from(around) / 10.0);
            forecast::cooling(&points, around, f64::from(tenths) / 10.0)
        }
        Reading::Volume(whole) | Reading::Weight(whole) => {
            forecast::reduction(&points, whole as f64)
        }
        Reading::Test(_) => Err(NoEta::NotANumber),
    };
    // A moment beyond a month is no forecast, and must not overflow on its way to one.
    let moment = |minutes: f64| Timestamp(zero.0 + (minutes.min(43_200.0) * 60.0).round() as i64);
    match eta {
        Ok(Eta { at, low, high }) => Foreseen::Will {
            goal,
            at: moment(at),
            low: moment(low),
            high: high.map(moment),
        },
        Err(NoEta::Reached) => Foreseen::There {
            since: of_kind.last().map_or(zero, |(at, _)| *at),
        },
        Err(NoEta::TooFew(needed)) => Foreseen::Unknown {
            why: format!(
                "{needed} readings at different times foretell when it is {}",
                goal_words(goal)
            ),
        },
        Err(NoEta::NotMoving) => Foreseen::Unknown {
            why: format!("the readings do not move towards {}", goal_words(goal)),
        },
        Err(NoEta::LevelsOff(at)) => Foreseen::Unknown {
            why: format!(
                "it levels off at about {at:.1} and will not reach {} where it stands",
                goal_words(goal)
            ),
        },
        Err(NoEta::NotANumber) => Foreseen::Unknown {
            why: "the readings cannot be read as numbers".to_owned(),
        },
    }
}

/// Returns a reading as a number, where it is of the same kind as another.
fn value(reading: Reading, kind: Reading) -> Option<f64> {
    match (reading, kind) {
        (Reading::Temperature(tenths), Reading::Temperature(_)) => Some(f64::from(tenths) / 10.0),
        (Reading::Volume(whole), Reading::Volume(_))
        | (Reading::Weight(whole), Reading::Weight(_)) => Some(whole as f64),
        _ => None,
    }
}

/// Returns when a running step is expected to end, by the cook's word or by its readings, whichever is newer; none
/// where neither says so.
pub fn expected_end(menu: &Menu, prep: &PrepState, step: &StepKey) -> Option<Timestamp> {
    let by_readings = match foreseen(menu, prep, step) {
        Some(Foreseen::Will { at, .. }) => Some(at),
        Some(Foreseen::There { since }) => Some(since),
        Some(Foreseen::Unknown { .. }) | None => None,
    };
    match (prep.expected(step), by_readings) {
        (Some((said, end)), Some(read)) => {
            // A test that was not passed foretells nothing by itself.
            let read_at = prep.measured(step).into_iter();
            let mut read_at = read_at.filter(|it| it.reading != Reading::Test(false));
            let last = read_at.next_back().map(|it| it.at);
            Some(if last.is_some_and(|last| last > said) {
                read
            } else {
                end
            })
        }
        (said, read) => said.map(|(_, end)| end).or(read),
    }
}
