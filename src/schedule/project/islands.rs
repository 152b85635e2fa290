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

use std::ops::Range;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use super::super::problem::Time;
use super::breeding::{Breeder, Direction, Ground, Individual, best_of};
use super::random::Random;
use super::room::{Minutes, Room, Steps};
use super::{Limits, Project};

/// Whether to stop.
type Stop<'a> = &'a (dyn Fn() -> bool + Sync);

/// There are always two, on however many threads.
const ISLANDS: usize = 2;

/// What one island tells the other at the end of an epoch.
#[derive(Clone)]
struct Letter {
    made: Vec<Arc<Individual>>,
    /// Whether the search is to end.
    stop: bool,
}

type Post = (Sender<Letter>, Receiver<Letter>);

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
#[derive(Clone)]
pub(crate) struct Colony {
    ground: Arc<Ground>,
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
    /// Returns the search for a schedule of a project whose arcs, in this order, all lead onward and whose demands
    /// are met one by one; it ends with one that is as short as `bound`.
    pub(crate) fn new(project: &Project, order: &[usize], bound: Time, limits: &Limits) -> Self {
        let size = match limits.schedules {
            // Longer lists need more generations to come to something, and so do larger populations: measured,
            // about as the fourth root of the number of schedules.
            Some(schedules) => {
                let generations = (30 + project.len() as u64 / 2) * schedules.isqrt().isqrt() / 8;
                (schedules / generations.max(1)).clamp(8, SIZES.1 as u64) as usize
            }
            None => SIZES.0,
        };
        let nobody = Individual {
            span: Time::MAX,
            mark: 0,
            genes: Box::default(),
        };
        Self {
            ground: Arc::new(Ground::new(project, order)),
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

    /// Goes on until so many schedules have been built in all, nothing is left to better, or `stop`.
    pub(crate) fn run(&mut self, project: &Project, until: u64, threads: usize, stop: Stop) {
        if Minutes::can_hold(project) {
            self.run_in::<Minutes>(project, until, threads, stop);
        } else {
            self.run_in::<Steps>(project, until, threads, stop);
        }
    }

    fn run_in<R: Room>(&mut self, project: &Project, until: u64, threads: usize, stop: Stop) {
        if threads < ISLANDS {
            self.live::<R>(project, until, 0..ISLANDS, None, stop);
            return;
        }
        let (to_second, from_first) = channel();
        let (to_first, from_second) = channel();
        let (of_first, of_second) = ((to_second, from_second), (to_first, from_first));
        let mut second = self.clone();
        std::thread::scope(|scope| {
            // Each end of the post goes with its owner: whoever is left alone learns it.
            scope.spawn(move || second.live::<R>(project, until, 1..2, Some(&of_second), stop));
            self.live::<R>(project, until, 0..1, Some(&of_first), stop);
        });
    }

    /// Lives through epoch after epoch on some of the islands, or all; the others are written to.
    fn live<R: Room>(
        &mut self,
        project: &Project,
        until: u64,
        islands: Range<usize>,
        post: Option<&Post>,
        stop: Stop,
    ) {
        let ground = Arc::clone(&self.ground);
        let mut breeder = Breeder::<R>::new(project, &ground);
        while let Some(epoch) = self.next_epoch().filter(|_| self.schedules < until) {
            let mut letter = Letter {
                made: Vec::with_capacity(epoch.count),
                stop: islands.contains(&0) && stop(),
            };
            for island in islands.clone() {
                self.breed(&epoch, island, &mut breeder, &mut letter.made);
            }
            if let Some((to, from)) = post {
                // Whoever has gone had no more to do, or came to grief; alone there is nothing to go on with.
                let sent = to.send(letter.clone());
                let Ok(mut other) = from.recv() else { return };
                if sent.is_err() {
                    return;
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
            self.settle(letter.made);
            if letter.stop {
                return;
            }
        }
    }

    /// Returns the starts of the best schedule so far.
    pub(crate) fn best(&self, project: &Project) -> Option<Vec<Time>> {
        let (best, built) = &self.best;
        (best.span < Time::MAX).then(|| best.starts(project, *built))
    }

    /// Returns the length of the best schedule so far.
    pub(crate) fn makespan(&self) -> Time {
        self.best.0.span
    }

    /// Returns a length no schedule is below.
    pub(crate) fn bound(&self) -> Time {
        self.bound
    }

    /// Returns how many schedules were built.
    pub(crate) fn schedules(&self) -> u64 {
        self.schedules
    }

    /// No schedule is shorter than `bound`, as was proved elsewhere.
    pub(crate) fn offer_bound(&mut self, bound: Time) {
        self.bound = self.bound.max(bound);
    }

    /// Takes in a schedule found elsewhere.
    pub(crate) fn offer(&mut self, project: &Project, starts: &[Time]) {
        let newcomer = Arc::new(
            self.ground
                .individual(project, starts, self.direction.other()),
        );
        if newcomer.span < self.best.0.span {
            self.best = (Arc::clone(&newcomer), self.direction.other());
        }
        if self.age > 1 {
            self.lists[self.direction as usize].push(newcomer);
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
