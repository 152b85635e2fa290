//! One island of the search: first plan, bound, then annealing over lists.
//!
//! A step takes the plan at hand as keys (starts forward, ends backward), disturbs them, decodes, and decodes the result
//! once more the other way (forward-backward improvement adapted to maximum lags: a pass that is given up or gets longer
//! is dropped). What comes out replaces the plan at hand if it is not longer, or by chance a little longer, the less
//! the further the cycle is. Each cycle is twice as long as the one before and begins from the best plan.
//!
//! Source: forward-backward improvement after K. Y. Li and R. J. Willis (1992); annealing over lists after K. Bouleimen
//! and H. Lecocq, EJOR 149 (2003); both from memory. The disturbances were chosen by measuring.

use std::sync::Arc;

use super::bound::{energy, refutes};
use super::decode::{Decoder, Direction};
use super::infer::Pairs;
use super::lists::Lists;
use super::model::{Model, Refused};
use super::moves::{disturb, exponential, makespan, write_keys};
use super::opening::{Opened, Opening};
use crate::schedule::Time;
use crate::schedule::project::random::Random;
use crate::schedule::project::{Project, Status};

/// Suppositions made of the makespan before the search begins to improve.
const MOST_SUPPOSITIONS: u32 = 12;

/// A disturbed list whose schedule is longer by more than this part is not worth a second pass.
const HOPELESS: Time = 20;

/// Mean grace at the beginning of a cycle, in 1/1024 of the makespan.
const HEAT: i64 = 4;

/// The longest cycle, in schedules.
const LONGEST_CYCLE: u64 = 1 << 16;

/// What all islands share: the project, and what never changes about it.
#[derive(Debug)]
pub struct Ground {
    project: Project,
    prepared: Result<Prepared, Refused>,
}

#[derive(Debug)]
struct Prepared {
    model: Model,
    lists: Lists,
    pairs: Pairs,
    components: Vec<Vec<usize>>,
}

impl Ground {
    /// Returns the project made ready: its longest paths, and what demands and lags imply together.
    pub fn new(project: &Project) -> Self {
        Self {
            project: project.clone(),
            prepared: Prepared::new(project),
        }
    }

    /// Returns whether the project is known to have no plan before any search.
    pub fn is_refuted(&self) -> bool {
        matches!(self.prepared, Err(Refused::Infeasible))
    }

    /// Returns the number of schedules of one epoch: a few milliseconds of work, whatever the size.
    pub fn epoch(&self) -> u64 {
        let size = self.project.durations.len().max(1) as u64;
        (20_000 / size).max(8)
    }
}

impl Prepared {
    fn new(project: &Project) -> Result<Self, Refused> {
        let mut model = Model::new(project)?;
        let mut pairs = Pairs::new(&model);
        let mut network = model.network.clone();
        pairs.settle(&model, &mut network)?;
        model.adopt(network);
        Ok(Self {
            lists: Lists::new(&model),
            components: model.network.components(),
            pairs,
            model,
        })
    }
}

/// What an island does at present.
#[derive(Debug)]
enum Phase {
    Opening(Box<Opening>),
    Bounding { step: Time, suppositions: u32 },
    Annealing,
}

/// One island: a seeded search that can be run by portions, be asked for its best plan, and be offered others'.
///
/// The same portions and offers in the same order give the same plans, wherever and whenever it runs.
#[derive(Debug)]
pub struct Island {
    ground: Arc<Ground>,
    seed: u64,
    index: u64,
    epoch: u64,
    schedules: u64,
    phase: Phase,
    status: Status,
    best: Option<Vec<Time>>,
    bound: Time,
    /// The plan at hand, and where its cycle stands.
    current: Vec<Time>,
    step: u64,
    cycle: u64,
    decoder: Decoder,
    keys: Vec<i32>,
    list: Vec<usize>,
}

impl Island {
    /// Returns island number `index` of the search that `seed` stands for.
    pub fn new(ground: &Arc<Ground>, seed: u64, index: u64) -> Self {
        let (status, phase, bound, size) = match &ground.prepared {
            Ok(prepared) => (
                Status::Unknown,
                Phase::Opening(Box::new(Opening::new(&prepared.model))),
                energy(&prepared.model, &prepared.model.network),
                prepared.model.size() as u64,
            ),
            Err(Refused::Infeasible) => (Status::Infeasible, Phase::Annealing, 0, 0),
            Err(Refused::TooLarge) => (Status::Unknown, Phase::Annealing, 0, 0),
        };
        Self {
            ground: Arc::clone(ground),
            seed,
            index,
            epoch: 0,
            schedules: 0,
            phase,
            status,
            best: None,
            bound,
            current: Vec::new(),
            step: 0,
            // Islands cool at different times.
            cycle: 64 * size + 32 * size * (index % 2),
            decoder: Decoder::default(),
            keys: Vec::new(),
            list: Vec::new(),
        }
    }

    /// Returns the best plan known here, and its makespan.
    pub fn best(&self) -> Option<(&[Time], Time)> {
        let best = self.best.as_deref()?;
        Some((best, best.last().copied().unwrap_or(0)))
    }

    /// Returns a makespan that no plan is below.
    pub fn bound(&self) -> Time {
        self.bound
    }

    /// Returns what is proved.
    pub fn status(&self) -> Status {
        self.status
    }

    /// Returns how many schedules were built here.
    pub fn schedules(&self) -> u64 {
        self.schedules
    }

    /// Returns whether there is nothing left to find here.
    pub fn is_done(&self) -> bool {
        matches!(self.status, Status::Optimal | Status::Infeasible) || self.ground.prepared.is_err()
    }

    /// Takes over a plan found elsewhere, if it is better and keeps every rule. Returns whether it was taken.
    pub fn offer(&mut self, starts: &[Time]) -> bool {
        let Ok(prepared) = &self.ground.prepared else {
            return false;
        };
        let better = |known: &[Time]| {
            let end = known.len() - 1;
            (starts[end], starts) < (known[end], known)
        };
        if starts.len() != prepared.model.size()
            || !self.best.as_deref().is_none_or(better)
            || !prepared.model.is_within(starts)
            || self.ground.project.verify(starts).is_some()
        {
            return false;
        }
        if matches!(self.phase, Phase::Opening(_)) {
            self.phase = self.bounding();
        }
        if self.current.is_empty() || makespan(starts) < makespan(&self.current) {
            self.current = starts.to_vec();
        }
        self.keep(starts.to_vec());
        true
    }

    /// No plan is below `bound`, as was proved elsewhere.
    pub fn offer_bound(&mut self, bound: Time) {
        self.bound = self.bound.max(bound);
        self.settle();
    }

    /// Goes on for at most `work` schedules, as one epoch.
    pub fn run(&mut self, work: u64) {
        let ground = Arc::clone(&self.ground);
        let Ok(prepared) = &ground.prepared else {
            return;
        };
        let mut random = Random::of(self.seed, self.index, self.epoch);
        self.epoch += 1;
        let mut left = work;
        while left > 0 && !self.is_done() {
            let before = left;
            match &mut self.phase {
                Phase::Opening(opening) => {
                    match opening.run(&prepared.model, &mut random, &mut left) {
                        Opened::Plan(starts) => {
                            self.current.clone_from(&starts);
                            self.keep(starts);
                            self.phase = self.bounding();
                        }
                        Opened::Infeasible => self.status = Status::Infeasible,
                        Opened::Open => {}
                    }
                }
                Phase::Bounding { .. } => self.suppose(prepared, &mut left),
                Phase::Annealing => self.anneal(prepared, &mut random, &mut left),
            }
            self.schedules += before - left;
        }
    }

    /// The first island looks for a bound before it improves; one is enough.
    fn bounding(&self) -> Phase {
        match self.index {
            0 => Phase::Bounding {
                step: 1,
                suppositions: 0,
            },
            _ => Phase::Annealing,
        }
    }

    /// Keeps a better plan. It is checked plainly first, whatever made it.
    fn keep(&mut self, starts: Vec<Time>) {
        let fault = self.ground.project.verify(&starts);
        debug_assert_eq!(fault, None, "the search broke a rule");
        if fault.is_some() {
            return;
        }
        self.best = Some(starts);
        self.status = Status::Feasible;
        self.settle();
    }

    fn settle(&mut self) {
        if let Some((_, makespan)) = self.best()
            && makespan <= self.bound
        {
            self.status = Status::Optimal;
        }
    }
}

/// Bounds.
impl Island {
    /// Supposes a makespan not yet refuted. Whoever refutes one tries a larger step next; whoever does not goes back to
    /// the smallest, and stops there.
    fn suppose(&mut self, prepared: &Prepared, left: &mut u64) {
        let (Phase::Bounding { step, suppositions }, Some(known)) =
            (&mut self.phase, self.best.as_deref().map(makespan))
        else {
            return;
        };
        if *suppositions == MOST_SUPPOSITIONS {
            self.phase = Phase::Annealing;
            return;
        }
        *suppositions += 1;
        let supposed = (self.bound + *step - 1).min(known - 1);
        let (refuted, cost) = refutes(&prepared.model, &prepared.pairs, supposed);
        *left = left.saturating_sub(cost);
        if refuted {
            *step *= 2;
            self.offer_bound(supposed + 1);
        } else if *step > 1 {
            *step = 1;
        } else {
            self.phase = Phase::Annealing;
        }
    }
}

/// Improvement.
impl Island {
    /// Takes one step.
    fn anneal(&mut self, prepared: &Prepared, random: &mut Random, left: &mut u64) {
        if self.step >= self.cycle {
            self.step = 0;
            self.cycle = (self.cycle * 2).min(LONGEST_CYCLE);
            if let Some(best) = &self.best {
                self.current.clone_from(best);
            }
        }
        let before = *left;
        let direction = match random.below(2) {
            0 => Direction::Forward,
            _ => Direction::Backward,
        };
        let model = &prepared.model;
        let known = makespan(&self.current);
        write_keys(model, &self.current, direction, &mut self.keys);
        disturb(&prepared.components, known, random, &mut self.keys);
        if let Some(starts) = self.pass(prepared, direction, left)
            && makespan(&starts) <= known + known / HOPELESS
        {
            let opposite = direction.opposite();
            let mut starts = starts;
            write_keys(model, &starts, opposite, &mut self.keys);
            if let Some(again) = self.pass(prepared, opposite, left)
                && makespan(&again) <= makespan(&starts)
            {
                starts = again;
            }
            // In 1/1024 minutes.
            let cold = (self.cycle - self.step) as i64;
            let mean = i64::from(known) * HEAT * cold / self.cycle as i64;
            let grace = (exponential(random, mean) / 1024) as Time;
            if makespan(&starts) <= known.saturating_add(grace) {
                self.current = starts;
                if self
                    .best()
                    .is_none_or(|(_, best)| makespan(&self.current) < best)
                {
                    self.keep(self.current.clone());
                }
            }
        }
        self.step += before - *left;
    }

    /// Decodes the keys, if there is work left.
    fn pass(
        &mut self,
        prepared: &Prepared,
        direction: Direction,
        left: &mut u64,
    ) -> Option<Vec<Time>> {
        *left = left.checked_sub(1)?;
        let Prepared { model, lists, .. } = prepared;
        lists.sort(model, &mut self.keys, direction, &mut self.list);
        let patience = model.size() / 2;
        self.decoder
            .decode(model, lists.reading(direction), &self.list, patience)
    }
}
