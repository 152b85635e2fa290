//! Lists of activities that respect the strict precedences.

use super::decode::Direction;
use super::model::Model;
use super::reading::Reading;

/// What turns keys into lists, and lists into schedules, in both directions.
#[derive(Clone, Debug)]
pub(super) struct Lists {
    /// Immediate strict predecessors and successors of each activity.
    before: Vec<Vec<usize>>,
    after: Vec<Vec<usize>>,
    /// All activities by their rank.
    ranked: Vec<usize>,
    pub(super) forward: Reading,
    pub(super) backward: Reading,
}

impl Lists {
    /// Returns the lists of `model`.
    pub(super) fn new(model: &Model) -> Self {
        let size = model.size();
        let mut ranked: Vec<usize> = (0..size).collect();
        ranked.sort_unstable_by_key(|&activity| model.rank[activity]);
        let mut before = vec![Vec::new(); size];
        let mut after = vec![Vec::new(); size];
        let mut implied = vec![usize::MAX; size];
        for (place, &activity) in ranked.iter().enumerate() {
            // From the nearest back: what comes before an immediate predecessor is implied.
            for &other in ranked[..place].iter().rev() {
                if implied[other] != activity && model.precedes(other, activity) {
                    before[activity].push(other);
                    after[other].push(activity);
                    for &earlier in &ranked[..model.rank[other]] {
                        if model.precedes(earlier, other) {
                            implied[earlier] = activity;
                        }
                    }
                }
            }
        }
        Self {
            forward: Reading::new(model, Direction::Forward, &before),
            backward: Reading::new(model, Direction::Backward, &after),
            before,
            after,
            ranked,
        }
    }

    /// Returns the reading of `direction`.
    pub(super) fn reading(&self, direction: Direction) -> &Reading {
        match direction {
            Direction::Forward => &self.forward,
            Direction::Backward => &self.backward,
        }
    }

    /// Writes to `list` all activities by ascending `keys`, each after its strict predecessors in `direction`; raises
    /// the keys where those are larger.
    pub(super) fn sort(
        &self,
        model: &Model,
        keys: &mut [i32],
        direction: Direction,
        list: &mut Vec<usize>,
    ) {
        let raise = |keys: &mut [i32], activity: usize, others: &[usize]| {
            for &other in others {
                keys[activity] = keys[activity].max(keys[other]);
            }
        };
        list.clear();
        match direction {
            Direction::Forward => {
                for &activity in &self.ranked {
                    raise(keys, activity, &self.before[activity]);
                }
                list.extend(&self.ranked);
                list.sort_unstable_by_key(|&activity| (keys[activity], model.rank[activity]));
            }
            Direction::Backward => {
                for &activity in self.ranked.iter().rev() {
                    raise(keys, activity, &self.after[activity]);
                }
                list.extend(self.ranked.iter().rev());
                let size = model.size();
                list.sort_unstable_by_key(|&activity| {
                    (keys[activity], size - model.rank[activity])
                });
            }
        }
    }
}
