//! Plans proved best, and projects proved impossible: lazy clause generation.
//!
//! # What it does
//! A search that learns: each conflict is traced back to what it was drawn from and becomes a clause that forbids
//! its like everywhere. The variables are the starts, with nothing but a least and a most; the literals of
//! clauses are bounds on them, made as they are needed.
//!
//! Before it begins, the longest distances between all starts order the pairs that no resource has room for at
//! once, where the lags leave one order only; each order makes distances longer, until nothing more follows. Many
//! projects with maximum lags that cannot be done are refuted by that alone.
//!
//! Plans come with falling makespans. While they come easily, one halfway to the bound below is asked for; now and
//! then one as short as that bound, so that it rises; and otherwise any that is better than the last.
//!
//! Work is counted in conflicts, never in time: the same calls have the same answers everywhere.
//!
//! # Parts
//! `literal` and `trail` keep what is known and since when; `model` turns the project into windows, lags
//! and orders of pairs that cannot run side by side; `timetable` is the rule of a resource; `clauses` is what
//! was learned; `engine` draws consequences and explains them; `learning` is the lesson of a conflict;
//! `branching` says what is tried; `check` distrusts all of them.
//!
//! # Left out on purpose
//! Energy reasoning and edge finding, which pay where resources are scarce and windows wide; calendars, demands
//! that change, states and holds, which belong to the general search. Heuristics find good plans of large projects
//! sooner: this is for the proof, and for any plan at all where lags are tight.
//!
//! # Sources (from memory)
//! A. Schutt, T. Feydy, P. Stuckey and M. Wallace, "Explaining the cumulative propagator", Constraints (2011), and
//! "Solving RCPSP/max by lazy clause generation", Journal of Scheduling (2013): starts as bounds, explained
//! timetables, shared orders of pairs, activity-based search with restarts. P. Vilím, P. Laborie and P. Shaw,
//! "Failure-directed search for constraint-based scheduling" (2015): conflicts lead, not the objective. That the
//! last plan's values are tried first is common practice.

mod branching;
#[cfg(debug_assertions)]
mod check;
mod clauses;
mod engine;
mod learning;
mod literal;
mod model;
mod timetable;
mod trail;

#[cfg(test)]
mod tests;

use super::Project;
use engine::Engine;
use literal::{Literal, Side};
use model::Model;
use trail::Reason;

/// What a run came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Progress {
    /// A plan better than the upper bound: the start of each activity. From now on only better ones are wanted.
    Better(Vec<i32>),
    /// No plan is better than the upper bound.
    Proved,
    /// No plan ends by the horizon.
    Infeasible,
    /// The work allowed is done; the next run goes on from here.
    Paused,
}

/// A search for the shortest plan of a project that can be interrupted, and fed with what others find.
#[derive(Clone, Debug)]
pub struct Solver {
    project: Project,
    /// None once nothing is left to look for.
    engine: Option<Engine>,
    /// The makespan that a plan must be shorter than.
    upper: i32,
    /// Whether the bound came from a plan or from the caller rather than the horizon.
    is_bounded: bool,
    lower: i32,
    /// The starts that are tried first.
    phase: Option<Vec<i32>>,
    /// Conflicts until the next restart, and how many there were.
    until_restart: u64,
    restarts: u64,
    /// Whether a plan was found since: then much shorter ones are asked for at once.
    is_easy: bool,
    /// Conflicts and steps, once there is nothing left to look for.
    spent: (u64, u64),
}

/// Conflicts before the first restart; further ones follow Luby's sequence.
const RESTART: u64 = 100;
/// Of so many restarts one asks for the shortest makespan that is not ruled out.
const PROBES: u64 = 8;
/// So many rises weigh as much as a conflict where the allowed work is counted.
const STEPS: u64 = 1 << 14;

impl Solver {
    /// Starts with every plan wanted that ends by the horizon, a makespan in minutes.
    pub fn new(project: &Project, horizon: i32) -> Self {
        let engine = Model::new(project, horizon).map(Engine::new);
        let mut solver = Self {
            project: project.clone(),
            lower: 0,
            engine,
            upper: horizon.saturating_add(1),
            is_bounded: false,
            phase: None,
            until_restart: RESTART,
            restarts: 0,
            is_easy: false,
            spent: (0, 0),
        };
        if let Some(engine) = &mut solver.engine
            && engine.propagate().is_err()
        {
            solver.engine = None;
        }
        solver.note_lower();
        solver
    }

    /// From now on only plans with a smaller makespan are wanted. A larger bound than known changes nothing.
    pub fn set_upper_bound(&mut self, makespan: i32) {
        if makespan < self.upper {
            self.upper = makespan;
            self.is_bounded = true;
            self.tighten();
        }
    }

    /// Tries the starts of a plan first, wherever they are open: what is good tends to lie near what is known.
    pub fn suggest(&mut self, starts: &[i32]) {
        if starts.len() == self.project.durations.len() {
            self.phase = Some(starts.to_vec());
        }
    }

    /// The makespan below which no plan is.
    pub fn lower_bound(&self) -> i32 {
        if self.engine.is_some() {
            self.lower
        } else {
            self.upper
        }
    }

    /// How many conflicts it has learned from: the work done so far.
    pub fn conflicts(&self) -> u64 {
        self.engine
            .as_ref()
            .map_or(self.spent.0, |engine| engine.conflicts)
    }

    /// How many rises of bounds it has followed up.
    pub fn steps(&self) -> u64 {
        self.engine
            .as_ref()
            .map_or(self.spent.1, |engine| engine.steps)
    }

    fn last(&self) -> usize {
        self.project.durations.len() - 1
    }

    fn tighten(&mut self) {
        let (last, most) = (self.last(), self.upper - 1);
        let Some(engine) = &mut self.engine else {
            return;
        };
        engine.back_to(0);
        let literal = Literal::at_most(last, most);
        if !engine.trail.is_true(literal) && !engine.trail.raise(literal, Reason::Root) {
            self.spent = (engine.conflicts, engine.steps);
            self.engine = None;
        }
    }

    /// Keeps what level 0 says of the makespan.
    fn note_lower(&mut self) {
        let last = self.project.durations.len().saturating_sub(1);
        if let Some(engine) = &self.engine {
            let side = Side::least(last);
            self.lower = engine
                .trail
                .bound_before(side, engine.trail.root_end())
                .max(self.lower);
        }
    }

    /// Searches until there is something to say, or so many conflicts have been met.
    pub fn run(&mut self, conflicts: u64) -> Progress {
        let done = |solver: &Self| {
            if solver.is_bounded {
                Progress::Proved
            } else {
                Progress::Infeasible
            }
        };
        let Some(mut engine) = self.engine.take() else {
            return done(self);
        };
        let enough = engine.conflicts + conflicts;
        let tired = engine.steps + conflicts.saturating_mul(STEPS);
        loop {
            if let Err(clash) = engine.propagate() {
                if !engine.learn(clash) {
                    self.spent = (engine.conflicts, engine.steps);
                    return done(self);
                }
                self.until_restart = self.until_restart.saturating_sub(1);
                continue;
            }
            if engine.conflicts >= enough || engine.steps >= tired {
                self.engine = Some(engine);
                self.note_lower();
                return Progress::Paused;
            }
            if self.until_restart == 0 {
                self.restarts += 1;
                self.is_easy = false;
                self.until_restart = RESTART * luby(self.restarts);
                engine.back_to(0);
                continue;
            }
            if engine.trail.level() == 0 {
                engine.trail.settle();
                if engine.clauses.is_full() {
                    engine.clauses.thin(&engine.trail);
                }
            }
            if let Some(literal) = self.choose(&mut engine) {
                engine.decide(literal);
                continue;
            }
            let starts: Vec<i32> = (0..engine.model.starts)
                .map(|it| engine.trail.least(it))
                .collect();
            self.engine = Some(engine);
            let fault = self.project.verify(&starts);
            debug_assert_eq!(fault, None, "what no rule refuses is a plan");
            if fault.is_some() {
                return Progress::Paused;
            }
            self.note_lower();
            self.upper = starts[self.last()];
            self.is_easy = true;
            self.is_bounded = true;
            self.phase = Some(starts.clone());
            self.tighten();
            return Progress::Better(starts);
        }
    }

    /// What is tried next; None where every start is decided.
    fn choose(&self, engine: &mut Engine) -> Option<Literal> {
        let trail = &engine.trail;
        let last = self.last();
        if trail.level() == 0 && !trail.is_fixed(last) {
            let (least, most) = (trail.least(last), trail.most(last));
            if self.restarts % PROBES == PROBES - 1 {
                // Now and then the shortest makespan that is not ruled out: where it cannot be, that is learned.
                return Some(Literal::at_most(last, least));
            }
            if self.is_easy {
                return Some(Literal::at_most(last, least + (most - least) / 2));
            }
        }
        if (self.restarts > 0 || self.phase.is_some())
            && let Some((variable, value)) = engine.branching.next(trail)
        {
            return Some(if self.is_reached(engine, variable, value) {
                Literal::at_least(variable, value)
            } else {
                Literal::at_most(variable, value - 1)
            });
        }
        (0..engine.model.starts)
            .filter(|&it| !trail.is_fixed(it))
            .min_by_key(|&it| (trail.least(it), trail.most(it)))
            .map(|it| Literal::at_most(it, trail.least(it)))
    }

    /// Whether a variable reaches a value in the plan that is tried first.
    fn is_reached(&self, engine: &Engine, variable: usize, value: i32) -> bool {
        let Some(starts) = &self.phase else {
            return false;
        };
        match variable.checked_sub(engine.model.starts) {
            None => starts[variable] >= value,
            Some(number) => {
                let pair = engine.model.pairs[number];
                starts[pair.first] < starts[pair.second]
            }
        }
    }
}

/// The sequence 1 1 2 1 1 2 4 1 1 2 1 1 2 4 8 … (Luby, Sinclair and Zuckerman, 1993, from memory), from 0.
fn luby(index: u64) -> u64 {
    let (mut at, mut size, mut power) = (index, 1, 0);
    while size < at + 1 {
        size = 2 * size + 1;
        power += 1;
    }
    while size - 1 != at {
        size = (size - 1) / 2;
        power -= 1;
        at %= size;
    }
    1 << power
}
