//! Lags that contradict one another.
//!
//! Between the edges of activities every lag is an arc "no earlier than so many minutes after", and so is the length
//! of an activity, in both directions where it is known. A cycle of arcs whose minutes add up to more than nothing
//! asks every moment on it to be later than itself. Bellman's label correction (1958) finds one: labels that still
//! rise after as many rounds as there are moments rise round a cycle, and the arcs that raised them last show it.
//!
//! Unlike windows, which end at the horizon, this needs no bounds: what it finds is a contradiction among the rules
//! alone, and every number in it is one of theirs.

use super::Conflict;
use crate::schedule::problem::{Duration, Edge, Instance, Time};
use crate::schedule::reach::arcs;

/// An arc between two moments: `(from, to, minutes, lag)`.
type Between = (usize, usize, i64, Option<usize>);

/// How many rounds pass between looks for a cycle.
const ROUNDS: usize = 8;

/// Returns a cycle of contradicting lags, if there is one.
pub fn cycle(instance: &Instance) -> Option<Conflict> {
    let moment = |(activity, edge): (usize, Edge)| 2 * activity + usize::from(edge == Edge::End);
    let mut between: Vec<Between> = arcs(instance)
        .into_iter()
        .map(|arc| {
            let gap = i64::from(arc.gap);
            (moment(arc.from), moment(arc.to), gap, arc.lag)
        })
        .collect();
    for (index, activity) in instance.activities.iter().enumerate() {
        let (start, end) = (2 * index, 2 * index + 1);
        let (shortest, longest) = match activity.fixed {
            Some((from, Some(to))) => (to - from, Some(to - from)),
            _ => lengths(activity.modes.iter().map(|mode| mode.duration)),
        };
        between.push((start, end, i64::from(shortest), None));
        if let Some(longest) = longest {
            between.push((end, start, -i64::from(longest), None));
        }
    }
    let count = 2 * instance.activities.len();
    let mut labels = vec![0_i64; count];
    let mut raised_by: Vec<Option<usize>> = vec![None; count];
    for round in 1..=count + 1 {
        let mut rose = false;
        for (at, &(from, to, minutes, _)) in between.iter().enumerate() {
            if labels[from] + minutes > labels[to] {
                labels[to] = labels[from] + minutes;
                raised_by[to] = Some(at);
                rose = true;
            }
        }
        if !rose {
            return None;
        }
        if round % ROUNDS == 0 || round > count {
            let found = on_cycle(&between, &raised_by);
            if let Some(found) = found {
                return Some(told(&between, &raised_by, found));
            }
        }
    }
    None
}

/// Returns the shortest and the longest of several durations; `None` where the longest is not known.
fn lengths(durations: impl Iterator<Item = Duration>) -> (Time, Option<Time>) {
    durations
        .map(|duration| match duration {
            Duration::Fixed(length) => (length, Some(length)),
            Duration::Until { at_least, then, .. } => (at_least.max(1) + then, None),
        })
        .reduce(|one, other| {
            let longest = one.1.zip(other.1).map(|(one, other)| one.max(other));
            (one.0.min(other.0), longest)
        })
        .unwrap_or((0, None))
}

/// Returns a moment on a cycle of the arcs that raised the labels last.
fn on_cycle(between: &[Between], raised_by: &[Option<usize>]) -> Option<usize> {
    // 0 not seen; otherwise by which walk.
    let mut seen = vec![0_usize; raised_by.len()];
    for first in 0..raised_by.len() {
        let mut on = first;
        while seen[on] == 0 {
            seen[on] = first + 1;
            match raised_by[on] {
                Some(at) => on = between[at].0,
                None => break,
            }
        }
        if seen[on] == first + 1 && raised_by[on].is_some() {
            return Some(on);
        }
    }
    None
}

fn told(between: &[Between], raised_by: &[Option<usize>], found: usize) -> Conflict {
    let (mut lags, mut excess, mut on) = (Vec::new(), 0, found);
    while let Some(at) = raised_by[on] {
        let (from, _, minutes, lag) = between[at];
        lags.extend(lag);
        excess += minutes;
        on = from;
        if on == found {
            break;
        }
    }
    lags.reverse();
    // The least and the most of one lag are one rule.
    lags.dedup();
    if lags.len() > 1 && lags.first() == lags.last() {
        lags.pop();
    }
    Conflict::Cycle {
        lags,
        excess: Time::try_from(excess).unwrap_or(Time::MAX),
    }
}
