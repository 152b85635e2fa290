//! Schedules from schedules: what a population is made of, and how its children come about.
//!
//! There are two populations that beget each other: schedules built forward are listed from the end and combined,
//! and the lists are built backward, and so on in turn. Each child is so recombined and justified at the price of
//! one schedule (D. Debels, M. Vanhoucke, "A decomposition-based genetic algorithm for the resource-constrained
//! project-scheduling problem", Operations Research 55, 2007; from memory). Two parents are crossed at two points
//! (S. Hartmann, "A competitive genetic algorithm for resource-constrained project scheduling", 1998); of a few
//! middle parts chosen by chance, the father gives the one in which most of the resources is used, as in V. Valls,
//! F. Ballestín, S. Quintanilla, "A hybrid genetic algorithm for the resource-constrained project scheduling
//! problem", EJOR 185 (2008). Neighbours then change places here and there.
//!
//! What was measured differs from those papers in three points: first schedules are better as random as they can
//! be, mothers are better chosen blindly, and it is better to keep the best of parents and children and never two
//! of the same.

use std::sync::Arc;

use super::super::problem::Time;
use super::Project;
use super::random::Random;
use super::room::Room;
use super::serial::{Decoder, Gene, Side, mark};

/// A schedule, listed for building it on the other side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Individual {
    /// Its length.
    pub(crate) span: Time,
    /// Tells it apart from others of its length.
    pub(crate) mark: u64,
    /// Its activities.
    pub(crate) genes: Box<[Gene]>,
}

/// The side on which something is built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Direction {
    /// From the beginning.
    Forward,
    /// From the end.
    Backward,
}

impl Direction {
    pub(crate) fn other(self) -> Self {
        match self {
            Self::Forward => Self::Backward,
            Self::Backward => Self::Forward,
        }
    }
}

impl Individual {
    /// Returns the starts of the schedule, which was built in this direction.
    pub(crate) fn starts(&self, project: &Project, built: Direction) -> Vec<Time> {
        let mut starts = vec![0; project.len()];
        for gene in &self.genes {
            let at = gene.activity as usize;
            starts[at] = match built {
                Direction::Forward => self.span - gene.time - project.durations[at],
                Direction::Backward => gene.time,
            };
        }
        starts
    }
}

/// What is known of a project before the first schedule.
pub(crate) struct Ground {
    forward: Side,
    backward: Side,
    /// How late each activity ends at the latest, counted back from the end of everything.
    latest: Vec<Time>,
    /// The length of the critical path.
    path: Time,
    /// What each activity uses over its time, in thousandths of what there is of each resource in a minute.
    work: Vec<i64>,
    /// How many predecessors each activity has, and who follows it.
    before: Vec<u32>,
    after: Vec<Vec<u32>>,
}

impl Ground {
    /// Returns what is known of a project whose arcs, in this order, all lead onward.
    pub(crate) fn new(project: &Project, order: &[usize]) -> Self {
        let mut before = vec![0; project.len()];
        let mut after = vec![Vec::new(); project.len()];
        for &(from, to, _) in &project.arcs {
            before[to] += 1;
            after[from].push(to as u32);
        }
        let mut arcs = project.arcs.clone();
        let mut place = vec![0; project.len()];
        for (at, &activity) in order.iter().enumerate() {
            place[activity] = at;
        }
        arcs.sort_unstable_by_key(|arc| std::cmp::Reverse(place[arc.0]));
        let mut tails = project.durations.clone();
        for (from, to, lag) in arcs {
            tails[from] = tails[from].max(tails[to] + lag);
        }
        let work = |at: usize| {
            let demands = project.demands[at].iter().zip(&project.capacities);
            let share =
                demands.map(|(&need, &have)| 1_000 * i64::from(need) / i64::from(have.max(1)));
            i64::from(project.durations[at]) * share.sum::<i64>()
        };
        Self {
            forward: Side::forward(project),
            backward: Side::backward(project),
            latest: (0..project.len())
                .map(|at| project.durations[at] - tails[at])
                .collect(),
            path: tails.iter().copied().max().unwrap_or(0),
            work: (0..project.len()).map(work).collect(),
            before,
            after,
        }
    }

    /// Returns a schedule as if it had been built in this direction.
    pub(crate) fn individual(
        &self,
        project: &Project,
        starts: &[Time],
        built: Direction,
    ) -> Individual {
        let span = starts.last().copied().unwrap_or(0);
        let gene = |(at, &start): (usize, &Time)| Gene {
            activity: at as u32,
            time: match built {
                Direction::Forward => span - start - project.durations[at],
                Direction::Backward => start,
            },
        };
        let mut genes: Box<[Gene]> = starts.iter().enumerate().map(gene).collect();
        genes.sort_unstable_by_key(|gene| (gene.time, gene.activity));
        let side = self.side(built);
        side.mend(&mut genes);
        Individual {
            span,
            mark: mark(&genes),
            genes,
        }
    }

    fn side(&self, direction: Direction) -> &Side {
        match direction {
            Direction::Forward => &self.forward,
            Direction::Backward => &self.backward,
        }
    }
}

/// Makes individuals; holds what is used again for each.
pub(crate) struct Breeder<'a, R: Room> {
    ground: &'a Ground,
    decoder: Decoder<R>,
    /// The list being made.
    list: Vec<u32>,
    /// Who is in the list already: whoever bears the current number.
    taken: Vec<u32>,
    number: u32,
    genes: Vec<Gene>,
    missing: Vec<u32>,
    /// Whose turn it can be in a first schedule, by urgency.
    ready: Vec<(Time, u32)>,
}

/// The middle part has from so many to so many hundredths of the activities.
const PART: (usize, usize) = (25, 75);
/// So many middle parts are compared.
const PARTS: usize = 3;
/// Neighbours change places once in so many places.
const SWAPS: usize = 33;

impl<'a, R: Room> Breeder<'a, R> {
    pub(crate) fn new(project: &Project, ground: &'a Ground) -> Self {
        Self {
            ground,
            decoder: Decoder::new(project),
            list: Vec::with_capacity(project.len()),
            taken: vec![0; project.len()],
            number: 0,
            genes: vec![Gene::default(); project.len()],
            missing: Vec::new(),
            ready: Vec::new(),
        }
    }

    /// Returns a first schedule, built forward: the most urgent first, where urgency is blurred by
    /// chance: by up to so many halves of the critical path.
    pub(crate) fn newcomer(&mut self, blur: usize, random: &mut Random) -> Arc<Individual> {
        let ground = self.ground;
        let reach = (ground.path as usize * blur / 2).min(1 << 30) + 1;
        let mut urgency = |at: u32| (ground.latest[at as usize] + random.below(reach) as Time, at);
        self.missing.clone_from(&ground.before);
        self.list.clear();
        self.ready.clear();
        for (at, &before) in ground.before.iter().enumerate() {
            if before == 0 {
                self.ready.push(urgency(at as u32));
            }
        }
        while let Some(first) = (0..self.ready.len()).min_by_key(|&place| self.ready[place]) {
            let (_, activity) = self.ready.swap_remove(first);
            self.list.push(activity);
            for &after in &ground.after[activity as usize] {
                self.missing[after as usize] -= 1;
                if self.missing[after as usize] == 0 {
                    self.ready.push(urgency(after));
                }
            }
        }
        self.build(Direction::Forward)
    }

    /// Returns a schedule in this direction, justified and nothing else.
    pub(crate) fn justified(
        &mut self,
        individual: &Individual,
        direction: Direction,
    ) -> Arc<Individual> {
        self.list.clear();
        self.list
            .extend(individual.genes.iter().map(|gene| gene.activity));
        self.build(direction)
    }

    /// Returns a child of two, built in this direction.
    pub(crate) fn child(
        &mut self,
        father: &Individual,
        mother: &Individual,
        direction: Direction,
        random: &mut Random,
    ) -> Arc<Individual> {
        let (from, until) = self.part(father, random);
        self.number += 1;
        let (taken, number) = (&mut self.taken, self.number);
        let mut new = |gene: &&Gene| {
            let place = &mut taken[gene.activity as usize];
            std::mem::replace(place, number) != number
        };
        self.list.clear();
        let activity = |gene: &Gene| gene.activity;
        self.list
            .extend(mother.genes[..from].iter().filter(&mut new).map(activity));
        let middle = father.genes.iter().filter(&mut new).take(until - from);
        self.list.extend(middle.map(activity));
        self.list
            .extend(mother.genes.iter().filter(&mut new).map(activity));
        self.swap(direction, random);
        self.build(direction)
    }

    /// Returns the middle part that the father gives.
    fn part(&self, father: &Individual, random: &mut Random) -> (usize, usize) {
        let genes = &father.genes;
        let (least, most) = (genes.len() * PART.0 / 100, genes.len() * PART.1 / 100);
        let mut best = (i64::MIN, 0, 0);
        for _ in 0..PARTS {
            let length = (least + random.below(most - least + 1)).max(1);
            let from = random.below(genes.len() - length + 1);
            let part = &genes[from..from + length];
            let work: i64 = part
                .iter()
                .map(|gene| self.ground.work[gene.activity as usize])
                .sum();
            let span = part[length - 1].time - part[0].time;
            let density = work / (i64::from(span).abs() + 1);
            if density > best.0 {
                best = (density, from, from + length);
            }
        }
        (best.1, best.2)
    }

    /// Lets neighbours change places, unless one has to follow the other.
    fn swap(&mut self, direction: Direction, random: &mut Random) {
        let side = self.ground.side(direction);
        let mut place = 1 + random.below(2 * SWAPS);
        while place < self.list.len() {
            if !side.precedes(self.list[place - 1], self.list[place]) {
                self.list.swap(place - 1, place);
            }
            place += 1 + random.below(2 * SWAPS);
        }
    }

    fn build(&mut self, direction: Direction) -> Arc<Individual> {
        let side = self.ground.side(direction);
        let span = self.decoder.decode(side, &self.list);
        let mark = self.decoder.turn(side, &self.list, &mut self.genes);
        Arc::new(Individual {
            span,
            mark,
            genes: self.genes.as_slice().into(),
        })
    }
}

/// Returns the best of these, the best first, and never two of the same.
pub(crate) fn best_of(mut all: Vec<Arc<Individual>>, size: usize) -> Vec<Arc<Individual>> {
    all.sort_by_key(|it| (it.span, it.mark));
    all.dedup_by_key(|it| (it.span, it.mark));
    all.truncate(size);
    all
}
