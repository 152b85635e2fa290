//! A list of activities becomes a schedule: serial schedule generation, forward and backward.
//!
//! Each activity in turn starts at the first minute that lags and resources allow (R. Kolisch, "Serial and
//! parallel resource-constrained project scheduling methods revisited", 1996; from memory). A project read
//! backward is a project, too, so there is one decoder and there are two [`Side`]s. A schedule built forward,
//! listed by its ends from the last to the first and built backward, is never longer: that is justification
//! (V. Valls, F. Ballestín, S. Quintanilla, "Justification and RCPSP", 2005; from memory).

use std::collections::BTreeSet;

use super::super::problem::Time;
use super::Project;
use super::room::Room;

/// A project laid out for decoding in one direction.
#[derive(Clone, Debug)]
pub(crate) struct Side {
    /// The activities; an activity has the same number in both directions.
    tasks: Vec<Task>,
    /// Predecessors of all activities, one after the other: who, and the least time from start to start.
    before: Vec<(u32, Time)>,
    /// The activity that ends everything.
    last: usize,
    /// Whether a list by time never puts an activity before its predecessor, so that nothing is to mend.
    in_order: bool,
}

#[derive(Clone, Debug)]
struct Task {
    length: Time,
    /// Where its predecessors stand in `before`.
    before: std::ops::Range<u32>,
}

impl Side {
    /// Returns the project as decoded from its beginning.
    pub(crate) fn forward(project: &Project) -> Self {
        let length = &project.durations;
        let in_order = |&(from, to, lag): &(usize, usize, Time)| lag + length[to] >= length[from];
        Self {
            in_order: project.arcs.iter().all(in_order),
            ..Self::new(project, &project.arcs, project.len() - 1)
        }
    }

    /// Returns the project as decoded from its end.
    pub(crate) fn backward(project: &Project) -> Self {
        let length = &project.durations;
        let mirrored =
            |&(from, to, lag): &(usize, usize, Time)| (to, from, lag + length[to] - length[from]);
        let arcs: Vec<_> = project.arcs.iter().map(mirrored).collect();
        Self {
            in_order: project.arcs.iter().all(|arc| arc.2 >= 0),
            ..Self::new(project, &arcs, 0)
        }
    }

    fn new(project: &Project, arcs: &[(usize, usize, Time)], last: usize) -> Self {
        let mut by_end: Vec<Vec<(u32, Time)>> = vec![Vec::new(); project.len()];
        for &(from, to, lag) in arcs {
            by_end[to].push((from as u32, lag));
        }
        let mut before = Vec::with_capacity(arcs.len());
        let mut tasks = Vec::with_capacity(project.len());
        for (mut predecessors, &length) in by_end.into_iter().zip(&project.durations) {
            let first = before.len() as u32;
            before.append(&mut predecessors);
            tasks.push(Task {
                length,
                before: first..before.len() as u32,
            });
        }
        Self {
            tasks,
            before,
            last,
            in_order: false,
        }
    }

    /// Returns whether an arc leads from one to the other.
    pub(crate) fn precedes(&self, from: u32, to: u32) -> bool {
        self.before_of(&self.tasks[to as usize])
            .iter()
            .any(|arc| arc.0 == from)
    }

    /// Puts into order what was listed for the other side by time alone: of those whose turn it can be, the one
    /// that was listed first.
    pub(crate) fn mend(&self, genes: &mut [Gene]) {
        let listed = genes.to_vec();
        let mut place = vec![0; genes.len()];
        for (at, gene) in listed.iter().enumerate() {
            place[gene.activity as usize] = at;
        }
        // Who comes after on this side comes before on the other.
        let mut missing = vec![0_u32; genes.len()];
        for &(before, _) in &self.before {
            missing[before as usize] += 1;
        }
        let mut ready: BTreeSet<usize> = (0..genes.len())
            .filter(|&at| missing[listed[at].activity as usize] == 0)
            .collect();
        for gene in genes {
            let Some(next) = ready.pop_first() else {
                return;
            };
            *gene = listed[next];
            for &(before, _) in self.before_of(&self.tasks[gene.activity as usize]) {
                missing[before as usize] -= 1;
                if missing[before as usize] == 0 {
                    ready.insert(place[before as usize]);
                }
            }
        }
    }

    fn before_of(&self, task: &Task) -> &[(u32, Time)] {
        &self.before[task.before.start as usize..task.before.end as usize]
    }
}

/// An activity in a list, and its moment in the schedule the list was read from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Gene {
    pub(crate) activity: u32,
    /// Minutes from the end of that schedule back to the end of the activity.
    pub(crate) time: Time,
}

/// Builds schedules from lists, and lists from schedules.
#[derive(Clone, Debug)]
pub(crate) struct Decoder<R: Room> {
    room: R,
    /// What each activity needs, as the room counts it.
    needs: Vec<R::Need>,
    /// The starts of the last schedule.
    starts: Vec<Time>,
    /// How many end at each moment, while a schedule is listed.
    counts: Vec<u32>,
}

impl<R: Room> Decoder<R> {
    pub(crate) fn new(project: &Project) -> Self {
        let (room, needs) = R::of(project);
        Self {
            room,
            needs,
            starts: vec![0; project.len()],
            counts: Vec::new(),
        }
    }

    /// Builds the schedule of a list, in which nobody stands before a predecessor, and returns its length.
    pub(crate) fn decode(&mut self, side: &Side, list: &[u32]) -> Time {
        self.room.clear();
        for &at in list {
            let task = &side.tasks[at as usize];
            let mut start = 0;
            for &(before, lag) in side.before_of(task) {
                start = start.max(self.starts[before as usize] + lag);
            }
            self.starts[at as usize] =
                self.room
                    .place(start, task.length, &self.needs[at as usize]);
        }
        self.starts[side.last]
    }

    /// Lists the last schedule, which was built on this side from `list`, for building on the other: who ends
    /// last comes first, and of those who end together the one further on in `list`. Returns their [`mark`].
    pub(crate) fn turn(&mut self, side: &Side, list: &[u32], genes: &mut [Gene]) -> u64 {
        let span = self.starts[side.last];
        let starts = &self.starts;
        let gene = |&activity: &u32| Gene {
            activity,
            time: span - starts[activity as usize] - side.tasks[activity as usize].length,
        };
        if span as usize <= 16 * list.len() {
            // Sorting by counting is as quick as the schedule is short.
            self.counts.clear();
            self.counts.resize(span as usize + 2, 0);
            for it in list {
                self.counts[gene(it).time as usize + 1] += 1;
            }
            let mut sum = 0;
            for count in &mut self.counts {
                sum += *count;
                *count = sum;
            }
            for it in list.iter().rev() {
                let gene = gene(it);
                let place = &mut self.counts[gene.time as usize];
                genes[*place as usize] = gene;
                *place += 1;
            }
        } else {
            for (place, it) in genes.iter_mut().zip(list.iter().rev()) {
                *place = gene(it);
            }
            genes.sort_by_key(|gene| gene.time);
        }
        if !side.in_order {
            side.mend(genes);
        }
        mark(genes)
    }
}

/// Returns a number that tells schedules apart, though two may share one by chance.
pub(crate) fn mark(genes: &[Gene]) -> u64 {
    let mark = |gene: &Gene| {
        let both = u64::from(gene.activity) << 32 | u64::from(gene.time as u32);
        let mixed = both.wrapping_mul(0x9E37_79B9_7F4A_7C15);
        mixed ^ (mixed >> 29)
    };
    genes.iter().map(mark).fold(0, u64::wrapping_add)
}
