//! What the thermometer said, held against the rule for cooling.
//!
//! Between two readings nobody looked. So each leg is reckoned twice: as long as it can have taken (from the last
//! reading before the clock can have started, to the first that is there) and as short (the other way about). Only
//! where the longest is within the limit has it *passed*; only where the shortest is beyond it has it surely failed;
//! in between the readings stand too far apart to show it, and what is not shown is not safe.
//!
//! A reading that is the very figure of the rule is that moment itself.

use super::Level;
use super::rules::{Leg, Legs, Weight};
use crate::time::{Timestamp, Zone};

/// What readings say of one leg.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// It was met.
    Passed,
    /// It was not, however the temperature ran between readings.
    Failed,
    /// It is over, and the readings stand too far apart to show which.
    NotShown,
    /// It runs, and can still be met.
    Running,
    /// Its clock has not started.
    NotBegun,
}

/// One leg as the readings show it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegShown {
    /// The leg.
    pub leg: Leg,
    /// What is shown.
    pub shown: Shown,
    /// For one that runs: the last moment at which it is met.
    pub by: Option<Timestamp>,
}

/// Returns what readings of a temperature say of each leg of a rule; they need not be in order, and what is not a
/// number is passed over. No readings show nothing.
pub fn cooling(legs: &Legs, readings: &[(Timestamp, f64)]) -> Vec<LegShown> {
    let mut sorted: Vec<_> = readings
        .iter()
        .copied()
        .filter(|(_, degrees)| degrees.is_finite())
        .collect();
    sorted.sort_by_key(|&(at, _)| at);
    legs.legs
        .iter()
        .map(|&leg| {
            let (shown, by) = of_leg(leg, &sorted);
            LegShown { leg, shown, by }
        })
        .collect()
}

/// Returns what readings say of cooling by a rule, a sentence a leg without a full stop, with how much it
/// weighs; nothing of a leg whose clock has not started. Moments on the clock of `zone`.
pub fn sentences(legs: &Legs, readings: &[(Timestamp, f64)], zone: Zone) -> Vec<(Level, String)> {
    let said = cooling(legs, readings).into_iter().filter_map(|one| {
        let Leg { from, to, within } = one.leg;
        let leg = format!("{from} °C to {to} °C within {within:.0} min");
        let (level, what) = match one.shown {
            Shown::NotBegun => return None,
            Shown::Passed => (Level::Note, "met, by the readings".to_owned()),
            Shown::Failed if legs.weight == Weight::Law => {
                (Level::Breaks, "not met, by the readings".to_owned())
            }
            Shown::Failed => (Level::Advice, "not met, by the readings".to_owned()),
            Shown::NotShown => (
                Level::NotKnown,
                "the readings stand too far apart to show whether it was met".to_owned(),
            ),
            Shown::Running => {
                let by = one.by.map_or_else(String::new, |by| {
                    format!(" by {} at the latest", by.local(zone).weekday_clock())
                });
                (Level::Note, format!("running; to be there{by}"))
            }
        };
        Some((level, format!("{leg}: {what}")))
    });
    said.collect()
}

fn of_leg(leg: Leg, readings: &[(Timestamp, f64)]) -> (Shown, Option<Timestamp>) {
    // Where a pot is heated again the clock starts anew: what counts is the last stretch below the beginning.
    let Some(begun) = readings
        .iter()
        .rposition(|&(_, degrees)| degrees >= leg.from)
    else {
        return colder_from_the_start(leg, readings);
    };
    let (earliest, degrees) = readings[begun];
    let after = &readings[begun + 1..];
    if after.is_empty() {
        return (Shown::NotBegun, None);
    }
    // As late as it can have begun: the first reading below, or this one where it was the very figure.
    let latest = if is(degrees, leg.from) {
        earliest
    } else {
        after[0].0
    };
    ended(leg, earliest, latest, after)
}

/// Food that was never seen at the beginning of a leg: its clock runs from the first reading, which is all that is
/// known; it may have run before, and so it is never more than running or not shown, unless it was colder from the
/// start than the leg goes.
fn colder_from_the_start(leg: Leg, readings: &[(Timestamp, f64)]) -> (Shown, Option<Timestamp>) {
    let Some(&(first, _)) = readings.first() else {
        return (Shown::NotBegun, None);
    };
    match ended(leg, first, first, readings) {
        (Shown::Passed, _) => (Shown::NotShown, None),
        other => other,
    }
}

fn ended(
    leg: Leg,
    earliest: Timestamp,
    latest: Timestamp,
    after: &[(Timestamp, f64)],
) -> (Shown, Option<Timestamp>) {
    let minutes = |from: Timestamp, to: Timestamp| (to.0 - from.0) as f64 / 60.0;
    let by = Timestamp(earliest.0 + (leg.within * 60.0) as i64);
    let Some(there) = after.iter().position(|&(_, degrees)| degrees <= leg.to) else {
        let last = after.last().map_or(latest, |&(at, _)| at);
        return if minutes(latest, last) >= leg.within {
            (Shown::Failed, None)
        } else if minutes(earliest, last) >= leg.within {
            (Shown::NotShown, None)
        } else {
            (Shown::Running, Some(by))
        };
    };
    let (end, degrees) = after[there];
    // As early as it can have been there: the reading before, unless this one is the very figure.
    let soonest = if is(degrees, leg.to) {
        end
    } else if there == 0 {
        latest
    } else {
        after[there - 1].0
    };
    if minutes(earliest, end) <= leg.within {
        (Shown::Passed, None)
    } else if minutes(latest, soonest) > leg.within {
        (Shown::Failed, None)
    } else {
        (Shown::NotShown, None)
    }
}

/// Probes read to a tenth of a degree; nearer than half of that is the same reading.
fn is(degrees: f64, figure: f64) -> bool {
    (degrees - figure).abs() < 0.05
}

#[cfg(test)]
mod tests {
    use super::super::rules::{AUSTRALIA, US};
    use super::*;

    fn shown(legs: &Legs, readings: &[(i64, f64)]) -> Vec<Shown> {
        let at: Vec<_> = readings
            .iter()
            .map(|&(minute, degrees)| (Timestamp(1_800_000_000 + minute * 60), degrees))
            .collect();
        cooling(legs, &at)
            .into_iter()
            .map(|leg| leg.shown)
            .collect()
    }

    #[test]
    fn two_hours_to_the_minute() {
        use Shown::{Failed, Passed, Running};
        // FDA Food Code §3-501.14(A).
        assert_eq!(
            shown(&US.cooling, &[(0, 57.0), (120, 21.0)]),
            [Passed, Running]
        );
        assert_eq!(
            shown(&US.cooling, &[(0, 57.0), (121, 21.0)]),
            [Failed, Running]
        );
        let slow = [(0, 57.0), (30, 21.0), (360, 5.0)];
        assert_eq!(shown(&US.cooling, &slow), [Passed, Passed]);
        // Standard 3.2.2 cl. 7(3): five and a half hours from 21 to 5 °C; the pot began below 60 and unseen there.
        assert_eq!(shown(&AUSTRALIA.cooling, &slow), [Shown::NotShown, Failed]);
    }

    #[test]
    fn what_nobody_saw_is_not_shown() {
        use Shown::{Failed, NotBegun, NotShown, Passed, Running};
        // 60 at 0:00, 20 at 2:30: it may have been at 57 late and at 21 early.
        assert_eq!(shown(&US.cooling, &[(0, 60.0), (150, 20.0)])[0], NotShown);
        // Looked at in between, it is plain either way.
        assert_eq!(
            shown(&US.cooling, &[(0, 60.0), (10, 56.0), (119, 20.0)])[0],
            Passed
        );
        assert_eq!(
            shown(
                &US.cooling,
                &[(0, 60.0), (5, 56.0), (140, 22.0), (150, 20.0)]
            )[0],
            Failed
        );
        // Too late although it is not there yet.
        assert_eq!(
            shown(&US.cooling, &[(0, 60.0), (5, 56.0), (130, 30.0)])[0],
            Failed
        );
        assert_eq!(
            shown(&US.cooling, &[(0, 60.0), (5, 56.0), (60, 30.0)])[0],
            Running
        );
        assert_eq!(shown(&US.cooling, &[(0, 80.0)]), [NotBegun, NotBegun]);
        assert_eq!(shown(&US.cooling, &[]), [NotBegun, NotBegun]);
        // First seen at 40 °C: how long it had stood before, nobody knows.
        assert_eq!(
            shown(&US.cooling, &[(0, 40.0), (30, 20.0), (90, 4.0)]),
            [NotShown, NotShown]
        );
    }

    #[test]
    fn the_last_moment_is_told_while_it_runs() {
        let begun = Timestamp(1_800_000_000);
        let readings = [(begun, 58.0), (Timestamp(begun.0 + 600), 50.0)];
        let legs = cooling(&US.cooling, &readings);
        assert_eq!(legs[0].by, Some(Timestamp(begun.0 + 7200)));
        assert_eq!(legs[1].by, Some(Timestamp(begun.0 + 21_600)));
    }

    /// FDA Food Code §3-501.14(A): from 57 °C to 21 °C within two hours, and to 5 °C within six in all.
    #[test]
    fn it_is_said_which_leg_was_met_and_until_when_another_can_be() {
        let noon = Timestamp::from_rfc3339("2026-04-01T12:00:00Z").expect("a moment");
        let at = |minutes: i64| Timestamp(noon.0 + 60 * minutes);
        let said = sentences(&US.cooling, &[(at(0), 57.0), (at(110), 20.0)], Zone::UTC);
        let words: Vec<_> = said.iter().map(|(_, what)| what.as_str()).collect();
        assert_eq!(
            words,
            [
                "57 °C to 21 °C within 120 min: met, by the readings",
                "57 °C to 5 °C within 360 min: running; to be there by Wed 18:00 at the latest",
            ]
        );
        let said = sentences(&US.cooling, &[(at(0), 57.0), (at(130), 30.0)], Zone::UTC);
        assert_eq!(said[0].0, Level::Breaks, "{said:?}");
        assert!(
            sentences(&US.cooling, &[], Zone::UTC).is_empty(),
            "nothing read says nothing"
        );
    }
}
