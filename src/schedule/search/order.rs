//! The orders in which a schedule is tried from nothing.

use super::mix;
use super::prepared::Prepared;
use super::structure::{Structure, reach};
use crate::schedule::problem::{ActivityId, Time};

/// The keys that orders are made from, one for each block.
#[derive(Debug)]
pub(super) struct Keys {
    announced: Option<Vec<i64>>,
    bases: [Vec<i64>; 3],
    urged: Vec<i64>,
    step: i64,
    noise: i64,
}

/// One order of all blocks.
#[derive(Debug)]
pub(super) struct Tried {
    pub(super) number: u32,
    pub(super) keys: Vec<i64>,
}

impl Keys {
    pub(super) fn new(prepared: &Prepared<'_>) -> Self {
        let (structure, windows) = (&prepared.structure, &prepared.first);
        let largest = |of: &dyn Fn(ActivityId) -> Time| -> Vec<i64> {
            let blocks = structure.blocks.iter();
            blocks
                .map(|block| {
                    let members = block.members.iter();
                    members.map(|&(id, _)| i64::from(of(id))).max().unwrap_or(0)
                })
                .collect()
        };
        let earliest = largest(&|id| windows.earliest[id.0]);
        let ends = largest(&|id| prepared.network.end_of(id, windows.latest[id.0]));
        // Windows without a start lie outside all time; noise need not follow them there.
        let spread = ends.iter().max().unwrap_or(&0) - earliest.iter().min().unwrap_or(&0);
        let spread = spread.clamp(0, 1_000_000);
        let between = earliest
            .iter()
            .zip(&ends)
            .map(|(start, end)| (start + end) / 2)
            .collect();
        let activities = &prepared.instance.activities;
        // What had no announced start keeps the place its window gives it.
        let announced = activities
            .iter()
            .any(|it| it.announced.is_some())
            .then(|| largest(&|id| activities[id.0].announced.unwrap_or(windows.earliest[id.0])));
        Self {
            announced,
            urged: vec![0; ends.len()],
            // Largest earliest start first is the latest-finish rule read backward, the best simple rule
            // there is; it also puts what has a narrow window before what can still go anywhere.
            bases: [earliest, between, ends],
            step: spread / 8 + 1,
            noise: spread / 40 + 2,
        }
    }

    /// Moves an activity that found no place toward the front of every order to come, and with it everything
    /// that must stand before it can be placed.
    pub(super) fn urge(&mut self, structure: &Structure, activity: ActivityId) {
        let reached = reach(structure.block_of[activity.0], &structure.after);
        for (urged, _) in self
            .urged
            .iter_mut()
            .zip(reached)
            .filter(|(_, reached)| *reached)
        {
            *urged += self.step;
        }
    }

    /// Returns one order; of the blocks that can be placed, the one with the largest key is.
    pub(super) fn order(&self, number: u32) -> Tried {
        let base = match &self.announced {
            Some(announced) if number == 0 => announced,
            _ => &self.bases[number as usize % self.bases.len()],
        };
        let amplitude = self.noise * i64::from(number / 3);
        let noise = |block: usize| {
            if amplitude == 0 {
                return 0;
            }
            let drawn = mix(u64::from(number) << 32 | block as u64);
            (drawn % (2 * amplitude as u64 + 1)) as i64 - amplitude
        };
        let keys = (0..base.len())
            .map(|block| base[block] + noise(block) + self.urged[block])
            .collect();
        Tried { number, keys }
    }
}
