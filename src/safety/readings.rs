//! What the thermometer said, held against the rules for cooling and for time out of the cold.
//!
//! Between two readings nobody looked. So each leg is reckoned twice: as long as it can have taken (from the last
//! reading before the clock can have started, to the first that is there) and as short (the other way about). Only
//! where the longest is within the limit has it *passed*; only where the shortest is beyond it has it surely failed;
//! in between the readings stand too far apart to show it, and what is not shown is not safe.
//!
//! A reading that is the very figure of the rule is that moment itself.
//!
//! A pot that is warmed again on the way is not new food. What was failed before stays failed, and the minutes that were
//! spent are counted on, unless it was read as hot as the rule wants food reheated ([`RuleSet::reheated_at`]). What was
//! read before it was first hot may have been on its way up, and says nothing.

use super::Level;
use super::rules::{Leg, Legs, Out, RuleSet, Weight};
use crate::time::{Minutes, Timestamp, Zone};

/// Temperatures in degrees Celsius, each with its time.
pub type Read<'a> = &'a [(Timestamp, f64)];

/// What readings say of one leg, the heaviest last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shown {
    /// Its clock has not started.
    NotBegun,
    /// It was met.
    Passed,
    /// It runs, and can still be met.
    Running,
    /// Its time is over, and since the last reading, which was too warm, nobody has looked.
    NotRead,
    /// It is over, and the readings stand too far apart to show which.
    NotShown,
    /// It was not, however the temperature ran between readings.
    Failed,
}

/// One leg as the readings show it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegShown {
    /// The leg.
    pub leg: Leg,
    /// What is shown.
    pub shown: Shown,
    /// For one that was never read to have ended and may still be met: the last moment at which it is.
    pub by: Option<Timestamp>,
}

/// Returns what readings of a temperature say of each leg of a rule, as it is known at `now`; they need not be in order,
/// and what is not a number is passed over. No readings show nothing. The set says from what heat on cooling begins anew.
pub fn cooling(
    set: &RuleSet,
    legs: &Legs,
    readings: &[(Timestamp, f64)],
    now: Timestamp,
) -> Vec<LegShown> {
    let mut sorted: Vec<_> = readings
        .iter()
        .copied()
        .filter(|(_, degrees)| degrees.is_finite())
        .collect();
    sorted.sort_by_key(|&(at, _)| at);
    legs.legs
        .iter()
        .map(|&leg| {
            let (shown, by) = of_leg(leg, set.reheated_at(), &sorted, now);
            LegShown { leg, shown, by }
        })
        .collect()
}

/// Returns the same where some readings may be slips: what they say with those and without, whichever is heavier.
pub fn cooling_in_doubt(
    set: &RuleSet,
    legs: &Legs,
    (readings, believed): (Read<'_>, Read<'_>),
    now: Timestamp,
) -> Vec<LegShown> {
    let all = cooling(set, legs, readings, now);
    if believed.len() == readings.len() {
        return all;
    }
    let less = cooling(set, legs, believed, now);
    let either = all.into_iter().zip(less);
    // The heavier of the two, and whichever moment comes first.
    let heavier = |(one, other): (LegShown, LegShown)| LegShown {
        leg: one.leg,
        shown: one.shown.max(other.shown),
        by: one.by.into_iter().chain(other.by).min(),
    };
    either.map(heavier).collect()
}

/// Returns what readings, and those of them that are no slips, say of cooling by a rule of a set, as it is known at `now`: a
/// sentence a leg without a full stop, with how much it weighs; nothing of a leg whose clock has not started. Moments on
/// the clock of `zone`.
pub fn sentences(
    set: &RuleSet,
    legs: &Legs,
    readings: (Read<'_>, Read<'_>),
    (now, zone): (Timestamp, Zone),
) -> Vec<(Level, String)> {
    let said = cooling_in_doubt(set, legs, readings, now)
        .into_iter()
        .filter_map(|one| {
            let Leg { from, to, within } = one.leg;
            let leg = format!("{from} °C to {to} °C within {within:.0} min");
            let by = one.by.map_or_else(String::new, |by| {
                format!(" by {}", by.local(zone).weekday_clock())
            });
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
                Shown::NotRead => (
                    Level::NotKnown,
                    format!("it was to be there{by}, and was not read since to be: read it now"),
                ),
                Shown::Running => (
                    Level::Note,
                    format!("running; to be there{by} at the latest"),
                ),
            };
            Some((level, format!("{leg}: {what}")))
        });
    said.collect()
}

/// Returns how many whole minutes food has surely been between the limits of a set, by readings of its temperature in any
/// order: from each that was between them to the next, where that was too. Of other minutes nobody knows.
pub fn minutes_out(set: &RuleSet, readings: &[(Timestamp, f64)]) -> i32 {
    let mut sorted = readings.to_vec();
    sorted.sort_by_key(|&(at, _)| at);
    let both_out = sorted
        .iter()
        .zip(sorted.iter().skip(1))
        .filter(|((_, one), (_, other))| set.is_out(*one) && set.is_out(*other));
    let seconds: i64 = both_out.map(|(one, other)| other.0.0 - one.0.0).sum();
    i32::try_from(seconds / 60).unwrap_or(i32::MAX)
}

/// Returns that food which was to be held is out of the cold, or below the hot limit, for longer than a set allows, by
/// readings of its temperature, as a sentence without a full stop; none where they do not show it.
pub fn out_too_long(set: &RuleSet, readings: &[(Timestamp, f64)]) -> Option<String> {
    let out = minutes_out(set, readings);
    let degrees = readings.iter().map(|&(_, degrees)| degrees);
    let warmest = degrees.fold(f64::NEG_INFINITY, f64::max);
    // Nobody has said how it came: what is too long of what came cold is too long of any.
    let allowed = set.out.allowed(false, Some(warmest));
    set.out.is_over(out, allowed).then(|| {
        format!(
            "between {} °C and {} °C for {}, by the readings; {} is {}",
            set.cold.degrees,
            set.hot.degrees,
            Minutes(out),
            Minutes(allowed),
            match set.out {
                Out::Single { .. } => "too long",
                Out::Written { .. } | Out::Added { .. } => "the most",
            }
        )
    })
}

/// What a leg brings with it from before the pot was warmed again.
#[derive(Default)]
struct Before {
    /// Minutes its clock has shown already, at the least and at the most.
    least: f64,
    most: f64,
    /// What cannot be mended by going on.
    worst: Option<Shown>,
}

fn minutes(from: Timestamp, to: Timestamp) -> f64 {
    (to.0 - from.0) as f64 / 60.0
}

fn of_leg(
    leg: Leg,
    reheated_at: Option<f64>,
    readings: &[(Timestamp, f64)],
    now: Timestamp,
) -> (Shown, Option<Timestamp>) {
    let is_hot = |&(_, degrees): &(Timestamp, f64)| degrees >= leg.from;
    let Some(first) = readings.iter().position(is_hot) else {
        return colder_from_the_start(leg, readings, now);
    };
    let mut before = Before::default();
    let mut rest = &readings[first..];
    loop {
        // Hot for so many readings, then below for so many.
        let hot = rest.iter().take_while(|it| is_hot(it)).count();
        let (above, below) = rest.split_at(hot);
        if above
            .iter()
            .any(|&(_, degrees)| reheated_at.is_some_and(|point| degrees >= point))
        {
            before = Before::default();
        }
        let (Some(&(earliest, degrees)), Some(&(cooler, _))) = (above.last(), below.first()) else {
            return (before.worst.unwrap_or(Shown::NotBegun), None);
        };
        // As late as it can have begun: the first reading below, or this one where it was the very figure.
        let latest = if is(degrees, leg.from) {
            earliest
        } else {
            cooler
        };
        let cool = below.iter().take_while(|it| !is_hot(it)).count();
        let (below, warmed) = below.split_at(cool);
        let until = warmed.first().map_or(now, |&(at, _)| at);
        let (shown, by) = ended(leg, (earliest, latest), &before, below, until);
        if warmed.is_empty() {
            let shown = before.worst.map_or(shown, |worst| worst.max(shown));
            return (shown, by.filter(|_| shown != Shown::Failed));
        }
        match shown {
            Shown::Failed | Shown::NotShown => before.worst = before.worst.max(Some(shown)),
            Shown::Passed | Shown::NotBegun => (before.least, before.most) = (0.0, 0.0),
            Shown::Running | Shown::NotRead => {
                let last = below.last().map_or(latest, |&(at, _)| at);
                before.least += minutes(latest, last);
                before.most += minutes(earliest, until);
            }
        }
        rest = warmed;
    }
}

/// Food that was never seen at the beginning of a leg: its clock runs from the first reading, which is all that is
/// known; it may have run before, and so it is never more than running or not shown, unless it was colder from the
/// start than the leg goes.
fn colder_from_the_start(
    leg: Leg,
    readings: &[(Timestamp, f64)],
    now: Timestamp,
) -> (Shown, Option<Timestamp>) {
    let Some(&(first, _)) = readings.first() else {
        return (Shown::NotBegun, None);
    };
    match ended(leg, (first, first), &Before::default(), readings, now) {
        (Shown::Passed, _) => (Shown::NotShown, None),
        other => other,
    }
}

/// How a leg ends whose clock began between two moments, as it is known at `now`.
fn ended(
    leg: Leg,
    (earliest, latest): (Timestamp, Timestamp),
    before: &Before,
    after: &[(Timestamp, f64)],
    now: Timestamp,
) -> (Shown, Option<Timestamp>) {
    let by = Timestamp(earliest.0 + ((leg.within - before.most) * 60.0) as i64);
    let Some(there) = after.iter().position(|&(_, degrees)| degrees <= leg.to) else {
        let last = after.last().map_or(latest, |&(at, _)| at);
        return if minutes(latest, last) + before.least >= leg.within {
            (Shown::Failed, None)
        } else if minutes(earliest, last) + before.most >= leg.within {
            (Shown::NotShown, None)
        } else if now > by {
            (Shown::NotRead, Some(by))
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
    if minutes(earliest, end) + before.most <= leg.within {
        (Shown::Passed, None)
    } else if minutes(latest, soonest) + before.least > leg.within {
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
    use super::super::rules::{AUSTRALIA, ENGLAND, US};
    use super::*;

    fn at(minute: i64) -> Timestamp {
        Timestamp(1_800_000_000 + minute * 60)
    }

    /// What is known at the last reading.
    fn shown(set: &RuleSet, readings: &[(i64, f64)]) -> Vec<Shown> {
        let last = readings.last().map_or(0, |&(minute, _)| minute);
        shown_at(set, readings, last)
    }

    fn shown_at(set: &RuleSet, readings: &[(i64, f64)], now: i64) -> Vec<Shown> {
        let read: Vec<_> = readings
            .iter()
            .map(|&(minute, degrees)| (at(minute), degrees))
            .collect();
        cooling(set, &set.cooling, &read, at(now))
            .into_iter()
            .map(|leg| leg.shown)
            .collect()
    }

    #[test]
    fn two_hours_to_the_minute() {
        use Shown::{Failed, Passed, Running};
        // FDA Food Code §3-501.14(A).
        assert_eq!(shown(&US, &[(0, 57.0), (120, 21.0)]), [Passed, Running]);
        assert_eq!(shown(&US, &[(0, 57.0), (121, 21.0)]), [Failed, Running]);
        let slow = [(0, 57.0), (30, 21.0), (360, 5.0)];
        assert_eq!(shown(&US, &slow), [Passed, Passed]);
        // Standard 3.2.2 cl. 7(3): five and a half hours from 21 to 5 °C; the pot began below 60 and unseen there.
        assert_eq!(shown(&AUSTRALIA, &slow), [Shown::NotShown, Failed]);
    }

    #[test]
    fn what_nobody_saw_is_not_shown() {
        use Shown::{Failed, NotBegun, NotShown, Passed, Running};
        // 60 at 0:00, 20 at 2:30: it may have been at 57 late and at 21 early.
        assert_eq!(shown(&US, &[(0, 60.0), (150, 20.0)])[0], NotShown);
        // Looked at in between, it is plain either way.
        assert_eq!(shown(&US, &[(0, 60.0), (10, 56.0), (119, 20.0)])[0], Passed);
        assert_eq!(
            shown(&US, &[(0, 60.0), (5, 56.0), (140, 22.0), (150, 20.0)])[0],
            Failed
        );
        // Too late although it is not there yet.
        assert_eq!(shown(&US, &[(0, 60.0), (5, 56.0), (130, 30.0)])[0], Failed);
        assert_eq!(shown(&US, &[(0, 60.0), (5, 56.0), (60, 30.0)])[0], Running);
        assert_eq!(shown(&US, &[(0, 80.0)]), [NotBegun, NotBegun]);
        assert_eq!(shown(&US, &[]), [NotBegun, NotBegun]);
        // First seen at 40 °C: how long it had stood before, nobody knows.
        assert_eq!(
            shown(&US, &[(0, 40.0), (30, 20.0), (90, 4.0)]),
            [NotShown, NotShown]
        );
    }

    #[test]
    fn a_pot_warmed_again_on_the_way_is_no_new_food() {
        use Shown::{Failed, NotBegun, NotShown, Passed, Running};
        let first = |set, readings: &[_]| shown(set, readings)[0];
        // Failed, warmed to 58 °C, and quickly cold: it was failed all the same, and still is while it is hot.
        let failed = [(0, 57.0), (150, 40.0), (160, 58.0), (270, 21.0)];
        assert_eq!(first(&US, &failed), Failed);
        assert_eq!(first(&US, &failed[..3]), Failed);
        assert_eq!(
            first(
                &AUSTRALIA,
                &[
                    (0, 60.0),
                    (150, 40.0),
                    (160, 75.0),
                    (161, 60.0),
                    (260, 21.0)
                ]
            ),
            Failed
        );
        // Reheated to 74 °C (FDA Food Code §3-403.11), in England to 80, it begins anew.
        let reheated = [
            (0, 57.0),
            (150, 40.0),
            (160, 74.0),
            (170, 57.0),
            (290, 21.0),
        ];
        assert_eq!(first(&US, &reheated), Passed);
        assert_eq!(first(&US, &reheated[..3]), NotBegun);
        let england = |hot| {
            first(
                &ENGLAND,
                &[(0, 63.0), (100, 40.0), (110, hot), (115, 63.0), (200, 8.0)],
            )
        };
        assert_eq!((england(80.0), england(79.0)), (Passed, Failed));
        // In time when it was warmed again: its minutes count on. 20 and 100 are 120; 20 and 101 are not.
        let warmed = |end: i64| [(0, 57.0), (10, 50.0), (20, 57.0), (20 + end, 21.0)];
        assert_eq!(first(&US, &warmed(100)), Passed);
        assert_eq!(first(&US, &warmed(101)), NotShown);
        assert_eq!(first(&US, &warmed(112)), Failed);
        // Nobody saw how it ended before, and it is running now: that stays not shown.
        let unseen = [(0, 60.0), (150, 20.0), (160, 57.0), (170, 50.0)];
        assert_eq!(first(&US, &unseen), NotShown);
        // Met, and cooled once more: a clock of its own.
        let again = [(0, 57.0), (100, 21.0), (900, 57.0), (960, 30.0)];
        assert_eq!(first(&US, &again), Running);
        // On its way up: nothing.
        assert_eq!(
            first(&US, &[(0, 20.0), (150, 40.0), (160, 57.0), (200, 30.0)]),
            Running
        );
    }

    #[test]
    fn what_was_not_read_when_its_time_was_over_is_not_known() {
        use Shown::{NotRead, Running};
        let readings = [(0, 57.0), (60, 40.0)];
        assert_eq!(shown_at(&US, &readings, 120), [Running, Running]);
        assert_eq!(shown_at(&US, &readings, 121), [NotRead, Running]);
        assert_eq!(shown_at(&US, &readings, 1440), [NotRead, NotRead]);
        // First seen below: the same.
        assert_eq!(shown_at(&US, &[(0, 40.0), (60, 30.0)], 121)[0], NotRead);
    }

    #[test]
    fn the_last_moment_is_told_while_it_runs() {
        let begun = Timestamp(1_800_000_000);
        let readings = [(begun, 58.0), (Timestamp(begun.0 + 600), 50.0)];
        let legs = cooling(&US, &US.cooling, &readings, begun);
        assert_eq!(legs[0].by, Some(Timestamp(begun.0 + 7200)));
        assert_eq!(legs[1].by, Some(Timestamp(begun.0 + 21_600)));
    }

    /// FDA Food Code §3-501.14(A): from 57 °C to 21 °C within two hours, and to 5 °C within six in all.
    #[test]
    fn it_is_said_which_leg_was_met_and_until_when_another_can_be() {
        let noon = Timestamp::from_rfc3339("2026-04-01T12:00:00Z").expect("a moment");
        let at = |minutes: i64| Timestamp(noon.0 + 60 * minutes);
        let sentences_at = |readings: &[_], now| {
            sentences(&US, &US.cooling, (readings, readings), (now, Zone::UTC))
        };
        let said = sentences_at(&[(at(0), 57.0), (at(110), 20.0)], at(110));
        let words: Vec<_> = said.iter().map(|(_, what)| what.as_str()).collect();
        assert_eq!(
            words,
            [
                "57 °C to 21 °C within 120 min: met, by the readings",
                "57 °C to 5 °C within 360 min: running; to be there by Wed 18:00 at the latest",
            ]
        );
        let said = sentences_at(&[(at(0), 57.0), (at(130), 30.0)], at(130));
        assert_eq!(said[0].0, Level::Breaks, "{said:?}");
        // Nobody has looked since 40 °C at one, and it is the next day.
        let said = sentences_at(&[(at(0), 57.0), (at(60), 40.0)], at(1440));
        assert_eq!(said[0].0, Level::NotKnown, "{said:?}");
        assert_eq!(
            said[0].1,
            "57 °C to 21 °C within 120 min: it was to be there by Wed 14:00, and was not read since to be: read it now"
        );
        assert!(
            sentences_at(&[], at(0)).is_empty(),
            "nothing read says nothing"
        );
    }
}
