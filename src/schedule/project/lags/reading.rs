//! The closure as one direction of decoding reads it, without what is implied.

use super::decode::Direction;
use super::model::Model;
use super::network::NO_PATH;

/// A placed activity, and the length by which it bounds another.
pub(super) type Bound = (u32, i32);

/// For each activity, the others that can bound its start.
///
/// When an activity is placed, all its strict predecessors are (successors, backward). A bound that a path through one
/// of them gives is already in that one's start, and is left out: of the bounds from below a tenth remain. Bounds from
/// above by strict successors stand apart, because those are not placed yet unless something was taken out.
#[derive(Clone, Debug)]
pub(super) struct Reading {
    pub(super) direction: Direction,
    /// By how much the value by which an activity bounds others lies after its start.
    pub(super) own: Vec<i32>,
    below: Vec<Bound>,
    above: Vec<Bound>,
    /// Where the bounds of each activity begin: from below; from above; from above by strict successors.
    begins: Vec<(usize, usize, usize)>,
}

impl Reading {
    /// Returns the reading of `model` in `direction`; `before` holds some strict predecessors of each activity in that
    /// direction.
    pub(super) fn new(model: &Model, direction: Direction, before: &[Vec<usize>]) -> Self {
        let size = model.size();
        let mut reading = Self {
            direction,
            own: match direction {
                Direction::Forward => vec![0; size],
                Direction::Backward => model.durations.clone(),
            },
            below: Vec::new(),
            above: Vec::new(),
            begins: Vec::with_capacity(size + 1),
        };
        let mut later = Vec::new();
        for (activity, before) in before.iter().enumerate() {
            reading
                .begins
                .push((reading.below.len(), reading.above.len(), 0));
            let (into, from) = rows(model, activity, direction);
            let is_implied = |other: usize, length: i32, pick: fn(Rows) -> Rows| {
                before.iter().any(|&between| {
                    let (leg, _) = pick((into, from));
                    let (rest, _) = pick(rows(model, between, direction));
                    between != other
                        && !is_shadow(model, between, other)
                        && leg[between] > NO_PATH / 2
                        && rest[other] > NO_PATH / 2
                        && leg[between] + rest[other] >= length
                })
            };
            for other in (0..size).filter(|&other| other != activity) {
                let length = into[other];
                if length > NO_PATH / 2 && !is_implied(other, length, |rows| rows) {
                    reading.below.push((other as u32, length));
                }
                let length = from[other];
                if length > NO_PATH / 2 && !is_implied(other, length, |(into, from)| (from, into)) {
                    let strict = match direction {
                        Direction::Forward => model.precedes(activity, other),
                        Direction::Backward => model.precedes(other, activity),
                    };
                    if strict {
                        later.push((other as u32, length));
                    } else {
                        reading.above.push((other as u32, length));
                    }
                }
            }
            reading.begins[activity].2 = reading.above.len();
            reading.above.append(&mut later);
        }
        let ends = (reading.below.len(), reading.above.len(), 0);
        reading.begins.push(ends);
        reading
    }

    /// Returns what bounds the start of `activity` from below.
    #[inline]
    pub(super) fn below(&self, activity: usize) -> &[Bound] {
        &self.below[self.begins[activity].0..self.begins[activity + 1].0]
    }

    /// Returns what bounds the start of `activity` from above: `all`, or all but its strict successors.
    #[inline]
    pub(super) fn above(&self, activity: usize, all: bool) -> &[Bound] {
        let (_, begin, split) = self.begins[activity];
        let end = if all {
            self.begins[activity + 1].1
        } else {
            split
        };
        &self.above[begin..end]
    }
}

/// Returns whether `between` moves with `other` and comes after it: of activities that lags tie rigidly together, each
/// would imply the other, and one has to stay.
fn is_shadow(model: &Model, between: usize, other: usize) -> bool {
    let forth = model.network.path(between, other);
    let back = model.network.path(other, between);
    forth > NO_PATH / 2
        && back > NO_PATH / 2
        && forth + back == 0
        && model.rank[between] > model.rank[other]
}

type Rows<'a> = (&'a [i32], &'a [i32]);

/// Returns paths into `activity` and paths from it, as `direction` reads them.
#[inline]
pub(super) fn rows(model: &Model, activity: usize, direction: Direction) -> Rows<'_> {
    let network = &model.network;
    match direction {
        Direction::Forward => (network.reaching(activity), network.leaving(activity)),
        Direction::Backward => (network.leaving(activity), network.reaching(activity)),
    }
}
