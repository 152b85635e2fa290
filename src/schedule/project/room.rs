//! What is left of the resources over time, while a schedule is built.
//!
//! Nearly all the time of a search goes here, so the shape is chosen for it. In [`Minutes`] what is free in a
//! minute is one word with a lane for each resource, and whether a demand fits is one subtraction: every lane has
//! a guard bit above it, always set; a lane that has too little borrows it and nothing from its neighbour. Where
//! the lanes do not fit into a word, or the minutes into the cache, [`Steps`] keeps the moments at which anything
//! changes.

use super::super::problem::Time;
use super::Project;

/// The resources over time; what is placed is placed for good, until all is cleared.
pub(crate) trait Room: Sized {
    /// What an activity needs, as this room counts it.
    type Need;

    /// Returns an empty room and what each activity needs in it.
    fn of(project: &Project) -> (Self, Vec<Self::Need>);

    /// Takes everything out again.
    fn clear(&mut self);

    /// Places an activity as early as it fits from `earliest` on, and returns its start. It fits somewhere: no
    /// demand is larger than the capacity.
    fn place(&mut self, earliest: Time, length: Time, need: &Self::Need) -> Time;
}

/// A word for each minute.
#[derive(Clone, Debug)]
pub(crate) struct Minutes {
    free: Vec<u64>,
    /// A minute in which nothing is placed.
    empty: u64,
    /// The guard bits.
    guards: u64,
    /// From here on every minute is empty.
    used: usize,
}

/// Longer schedules are not kept minute by minute.
const MINUTES: i64 = 1 << 18;

/// Returns how long a schedule built from a list can become, whatever the list.
fn horizon(project: &Project) -> i64 {
    // Forward an activity holds up others for its length or its longest lag; backward, for its length or the
    // longest lag to it, counted from end to end.
    let mut longest = project.durations.clone();
    let mut mirrored = project.durations.clone();
    for &(from, to, lag) in &project.arcs {
        longest[from] = longest[from].max(lag);
        let length = &project.durations;
        mirrored[to] = mirrored[to].max(lag + length[to] - length[from]);
    }
    let sum = |lengths: &[Time]| lengths.iter().copied().map(i64::from).sum::<i64>();
    sum(&longest).max(sum(&mirrored))
}

/// Returns the resources that can run short at all.
fn scarce(project: &Project) -> Vec<usize> {
    let wanted = |resource: usize| -> i64 {
        let demands = project.demands.iter();
        demands.map(|demands| i64::from(demands[resource])).sum()
    };
    (0..project.capacities.len())
        .filter(|&resource| wanted(resource) > i64::from(project.capacities[resource]))
        .collect()
}

/// Returns how many bits a lane and its guard take.
fn lane(capacity: i32) -> u32 {
    i32::BITS + 1 - capacity.leading_zeros()
}

impl Minutes {
    /// Returns whether the resources fit into a word, and a schedule into memory that is quick.
    pub(crate) fn can_hold(project: &Project) -> bool {
        let lanes = scarce(project)
            .into_iter()
            .map(|resource| lane(project.capacities[resource]));
        lanes.sum::<u32>() <= u64::BITS && horizon(project) <= MINUTES
    }
}

impl Room for Minutes {
    type Need = u64;

    fn of(project: &Project) -> (Self, Vec<u64>) {
        let (mut empty, mut guards, mut shift) = (0, 0, 0);
        let mut needs = vec![0; project.len()];
        for resource in scarce(project) {
            let capacity = project.capacities[resource];
            empty |= (capacity as u64) << shift;
            for (need, demands) in needs.iter_mut().zip(&project.demands) {
                *need |= (demands[resource] as u64) << shift;
            }
            shift += lane(capacity);
            guards |= 1 << (shift - 1);
        }
        // Who takes no time needs nothing.
        for (need, &length) in needs.iter_mut().zip(&project.durations) {
            if length == 0 {
                *need = 0;
            }
        }
        let empty = empty | guards;
        let room = Self {
            free: vec![empty; horizon(project) as usize + 1],
            empty,
            guards,
            used: 0,
        };
        (room, needs)
    }

    fn clear(&mut self) {
        self.free[..self.used].fill(self.empty);
        self.used = 0;
    }

    #[inline]
    fn place(&mut self, earliest: Time, length: Time, need: &u64) -> Time {
        let need = *need;
        if need == 0 {
            return earliest;
        }
        let (guards, length) = (self.guards, length as usize);
        let full = |&free: &u64| free.wrapping_sub(need) & guards != guards;
        let mut start = earliest as usize;
        // From the last minute to the first: one that is full rules out every start up to it. What lies between
        // it and the end of the try has room and is not looked at again.
        let mut checked = start;
        while let Some(at) = self.free[checked..start + length].iter().rposition(full) {
            let next = checked + at + 1;
            checked = start + length;
            start = next;
        }
        for free in &mut self.free[start..start + length] {
            *free = free.wrapping_sub(need);
        }
        self.used = self.used.max(start + length);
        start as Time
    }
}

/// The moments at which anything changes.
#[derive(Clone, Debug)]
pub(crate) struct Steps {
    /// Rising, the first of them before everything.
    moments: Vec<Time>,
    /// What is free from each moment to the next, one row of resources for each.
    free: Vec<i32>,
    capacities: Vec<i32>,
}

impl Steps {
    /// Returns the place of the step that begins at this moment, made if need be.
    fn split(&mut self, moment: Time) -> usize {
        let place = self.moments.partition_point(|&it| it < moment);
        if self.moments.get(place) != Some(&moment) {
            let resources = self.capacities.len();
            self.moments.insert(place, moment);
            let before = (place - 1) * resources..place * resources;
            let row = self.free[before].to_vec();
            self.free.splice(place * resources..place * resources, row);
        }
        place
    }
}

impl Room for Steps {
    type Need = Vec<(usize, i32)>;

    fn of(project: &Project) -> (Self, Vec<Self::Need>) {
        let scarce = scarce(project);
        let capacities: Vec<i32> = scarce.iter().map(|&it| project.capacities[it]).collect();
        let needs = (0..project.len()).map(|at| {
            let demands = scarce.iter().map(|&it| project.demands[at][it]).enumerate();
            demands
                .filter(|demand| demand.1 > 0 && project.durations[at] > 0)
                .collect()
        });
        let needs = needs.collect();
        let mut room = Self {
            moments: Vec::new(),
            free: Vec::new(),
            capacities,
        };
        room.clear();
        (room, needs)
    }

    fn clear(&mut self) {
        self.moments.clear();
        self.moments.push(Time::MIN);
        self.free.clear();
        self.free.extend_from_slice(&self.capacities);
    }

    fn place(&mut self, earliest: Time, length: Time, need: &Self::Need) -> Time {
        if need.is_empty() {
            return earliest;
        }
        let resources = self.capacities.len();
        let mut start = earliest;
        let mut step = self.moments.partition_point(|&it| it <= start) - 1;
        while step < self.moments.len() && self.moments[step] < start + length {
            let row = &self.free[step * resources..(step + 1) * resources];
            if need
                .iter()
                .any(|&(resource, amount)| row[resource] < amount)
            {
                // The last step is empty, so there is one after a full one.
                start = self.moments[step + 1];
            }
            step += 1;
        }
        let from = self.split(start);
        let until = self.split(start + length);
        for row in self.free[from * resources..until * resources].chunks_exact_mut(resources) {
            for &(resource, amount) in need {
                row[resource] -= amount;
            }
        }
        start
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Both rooms, and a count minute by minute, agree where everything goes.
        #[test]
        fn rooms_agree(
            capacities in prop::collection::vec(1..40_i32, 1..5),
            tasks in prop::collection::vec((0..30_i32, 0..9_i32, prop::collection::vec(0..40_i32, 4)), 1..20),
        ) {
            let demands = |wanted: &[i32]| -> Vec<i32> {
                capacities.iter().zip(wanted).map(|(&have, &want)| want % (have + 1)).collect()
            };
            let project = Project {
                durations: tasks.iter().map(|task| task.1).collect(),
                demands: tasks.iter().map(|task| demands(&task.2)).collect(),
                capacities: capacities.clone(),
                arcs: vec![(0, 0, 1_000)],
            };
            prop_assert!(Minutes::can_hold(&project));
            let (mut minutes, words) = Minutes::of(&project);
            let (mut steps, rows) = Steps::of(&project);
            let mut plain: Vec<Vec<i32>> = vec![capacities.clone(); 2_000];
            for _ in 0..2 {
                minutes.clear();
                steps.clear();
                plain.fill(capacities.clone());
                for (at, &(earliest, length, _)) in tasks.iter().enumerate() {
                    let need = &project.demands[at];
                    let fits = |minute: usize| plain[minute].iter().zip(need).all(|(have, want)| want <= have);
                    let start = (earliest..2_000)
                        .find(|&start| (start..start + length).all(|minute| fits(minute as usize)))
                        .expect("it fits after all others");
                    for minute in start..start + length {
                        for (have, want) in plain[minute as usize].iter_mut().zip(need) {
                            *have -= want;
                        }
                    }
                    prop_assert_eq!(minutes.place(earliest, length, &words[at]), start);
                    prop_assert_eq!(steps.place(earliest, length, &rows[at]), start);
                }
            }
        }
    }
}
