//! The search for short schedules: two islands that breed one population, in step.
//!
//! The work is cut into epochs of so many schedules. In an epoch each island makes half of them, from the same
//! parents, with random numbers of its own that follow from the seed, the island and the epoch; at the end they
//! exchange what they made and select alike. So the answer is the same on one thread as on two, and follows from
//! the seed and the number of schedules alone; the clock (or whoever else holds `stop`) only chooses the number.
//!
//! A population that has nothing new to say is given up for a new one, four times as large, which is handed the
//! best of the old ones once it has come to something by itself. So nobody has to say in advance how long the
//! search may last, and at most a fraction of it was spent on populations that were too small. Where the number
//! of schedules is known in advance, the first population is made for it.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use super::super::problem::Time;
use super::breeding::{Breeder, Direction, Ground, Individual, best_of};
use super::random::Random;
use super::room::{Minutes, Room, Steps};
use super::{Limits, Project};

/// There are always two, on however many threads.
const ISLANDS: usize = 2;

/// The best schedule found, and how many were built.
pub(crate) struct Found {
    pub(crate) starts: Vec<Time>,
    pub(crate) makespan: Time,
    pub(crate) schedules: u64,
}

/// What one island tells the other at the end of an epoch.
#[derive(Clone)]
struct Letter {
    made: Vec<Arc<Individual>>,
    /// Whether the search is to end.
    stop: bool,
}

/// Searches for a short schedule of a project whose arcs, in this order, all lead onward and whose demands are met
/// one by one, until it is as short as `bound` or the limits are reached. At least one schedule is built.
pub(crate) fn search(project: &Project, order: &[usize], bound: Time, limits: &Limits) -> Found {
    if Minutes::can_hold(project) {
        search_in::<Minutes>(project, order, bound, limits)
    } else {
        search_in::<Steps>(project, order, bound, limits)
    }
}

fn search_in<R: Room>(project: &Project, order: &[usize], bound: Time, limits: &Limits) -> Found {
    let ground = Ground::new(project, order);
    let run = |islands: std::ops::Range<usize>,
               post: Option<(Sender<Letter>, Receiver<Letter>)>| {
        let mut breeder = Breeder::<R>::new(project, &ground);
        let mut colony = Colony::new(project.len(), bound, limits);
        while let Some(epoch) = colony.next_epoch() {
            let mut letter = Letter {
                made: Vec::with_capacity(epoch.count),
                stop: islands.contains(&0) && (limits.stop)(),
            };
            for island in islands.clone() {
                colony.breed(&epoch, island, &mut breeder, &mut letter.made);
            }
            if let Some((to, from)) = &post {
                let sent = to.send(letter.clone());
                let Ok(mut other) = from.recv() else { break };
                if sent.is_err() {
                    break;
                }
                letter.stop |= other.stop;
                // The first island's come first, whoever is reading.
                if islands.contains(&0) {
                    letter.made.append(&mut other.made);
                } else {
                    other.made.append(&mut letter.made);
                    letter.made = other.made;
                }
            }
            colony.settle(letter.made);
            if letter.stop {
                break;
            }
        }
        colony
    };
    let colony = if limits.threads < ISLANDS {
        run(0..ISLANDS, None)
    } else {
        let (to_second, from_first) = channel();
        let (to_first, from_second) = channel();
        std::thread::scope(|scope| {
            scope.spawn(|| run(1..2, Some((to_first, from_first))));
            run(0..1, Some((to_second, from_second)))
        })
    };
    let (best, built) = colony.best;
    Found {
        starts: best.starts(project, built),
        makespan: best.span,
        schedules: colony.schedules,
    }
}

/// What is done in an epoch.
#[derive(Clone, Copy)]
struct Epoch {
    number: u64,
    kind: Kind,
    /// How many schedules are built, by all islands together.
    count: usize,
}

#[derive(Clone, Copy)]
enum Kind {
    /// First schedules.
    Newcomers,
    /// Each of the population is justified.
    Justified,
    /// Children.
    Children,
}

/// The populations, alike on both islands.
struct Colony {
    /// Those from whom schedules are built forward, and backward.
    lists: [Vec<Arc<Individual>>; 2],
    /// Where the next schedules are built.
    direction: Direction,
    /// How large the population may be.
    size: usize,
    /// Generations since it was new.
    age: usize,
    /// Generations since its best was found, and the best.
    idle: usize,
    leader: Time,
    /// The best of former populations, from whom schedules are built backward.
    elders: Vec<Arc<Individual>>,
    best: (Arc<Individual>, Direction),
    bound: Time,
    number: u64,
    schedules: u64,
    limit: u64,
    seed: u64,
}

/// How large a population is at first and at most, whether or not the number of schedules is known.
const SIZES: (usize, usize) = (64, 4096);
/// How much larger the next one is.
const GROWTH: usize = 4;
/// First schedules are blurred by up to so many halves of the critical path.
const BLURS: usize = 4;
/// How old a population is when elders join it.
const ELDERS_JOIN: usize = 21;
/// How many elders join, as a fraction of the population.
const ELDERS: usize = 16;

impl Colony {
    fn new(activities: usize, bound: Time, limits: &Limits) -> Self {
        let size = match limits.schedules {
            // Longer lists need more generations to come to something.
            Some(schedules) => {
                let generations = 30 + activities as u64 / 2;
                (schedules / generations).clamp(8, SIZES.1 as u64) as usize
            }
            None => SIZES.0,
        };
        let nobody = Individual {
            span: Time::MAX,
            mark: 0,
            genes: Box::default(),
        };
        Self {
            lists: [Vec::new(), Vec::new()],
            direction: Direction::Forward,
            size,
            age: 0,
            idle: 0,
            leader: Time::MAX,
            elders: Vec::new(),
            best: (Arc::new(nobody), Direction::Forward),
            bound,
            number: 0,
            schedules: 0,
            limit: limits.schedules.unwrap_or(u64::MAX).max(1),
            seed: limits.seed,
        }
    }

    /// Returns what is to be done next, or `None` at the end.
    fn next_epoch(&self) -> Option<Epoch> {
        if self.best.0.span <= self.bound || self.schedules >= self.limit {
            return None;
        }
        let kind = match self.age {
            0 => Kind::Newcomers,
            1 => Kind::Justified,
            _ => Kind::Children,
        };
        let left = usize::try_from(self.limit - self.schedules).unwrap_or(usize::MAX);
        Some(Epoch {
            number: self.number,
            kind,
            count: self.size.min(left),
        })
    }

    /// Makes an island's part of an epoch; ends early with a schedule that cannot be bettered.
    fn breed<R: Room>(
        &self,
        epoch: &Epoch,
        island: usize,
        breeder: &mut Breeder<R>,
        made: &mut Vec<Arc<Individual>>,
    ) {
        let mut random = Random::of(self.seed, island as u64, epoch.number);
        let parents = &self.lists[self.direction as usize];
        for place in (island..epoch.count).step_by(ISLANDS) {
            let individual = match epoch.kind {
                Kind::Newcomers => breeder.newcomer(1 + place % BLURS, &mut random),
                Kind::Justified => {
                    breeder.justified(&parents[place % parents.len()], self.direction)
                }
                Kind::Children => {
                    let one = &parents[place % parents.len()];
                    let other = &parents[random.below(parents.len())];
                    let (father, mother) = if random.below(2) == 0 {
                        (one, other)
                    } else {
                        (other, one)
                    };
                    breeder.child(father, mother, self.direction, &mut random)
                }
            };
            let perfect = individual.span <= self.bound;
            made.push(individual);
            if perfect {
                break;
            }
        }
    }

    /// Takes in what both islands made.
    fn settle(&mut self, made: Vec<Arc<Individual>>) {
        self.number += 1;
        self.schedules += made.len() as u64;
        self.age += 1;
        self.idle += 1;
        let built = self.direction;
        self.direction = built.other();
        let lists = &mut self.lists[self.direction as usize];
        lists.extend(made);
        if self.age == ELDERS_JOIN && built == Direction::Forward {
            lists.append(&mut self.elders);
        }
        *lists = best_of(std::mem::take(lists), self.size);
        let (Some(first), Some(last)) = (lists.first(), lists.last()) else {
            return;
        };
        if first.span < self.leader {
            self.leader = first.span;
            self.idle = 0;
        }
        if first.span < self.best.0.span {
            self.best = (Arc::clone(first), built);
        }
        let alike = first.span == last.span || lists.len() < self.size / 2;
        if self.age > 2 && built == Direction::Forward && (alike || self.idle > 40) {
            self.renew();
        }
    }

    /// Begins a new population.
    fn renew(&mut self) {
        let [_, backward] = std::mem::take(&mut self.lists);
        self.elders
            .extend(backward.into_iter().take(self.size / ELDERS + 1));
        self.size = (self.size * GROWTH).min(SIZES.1);
        self.age = 0;
        self.idle = 0;
        self.leader = Time::MAX;
        self.direction = Direction::Forward;
    }
}
