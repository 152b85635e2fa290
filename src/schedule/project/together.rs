//! The search for schedules and the search for a proof, side by side.
//!
//! In rounds: so many schedules on one side, so many steps of [`exact`](super::exact) on the other, on two threads or one after
//! the other; then each is told what the other found. Work is counted on both sides, so the answer does not depend
//! on who was quicker. The proof has a share that falls with the number of activities, because what it costs to
//! prove rises steeply with it, and the schedules get what is left.

use super::super::problem::Time;
use super::exact::{Progress, Solver};
use super::islands::Colony;
use super::lags::{Ground, Island};
use super::{Answer, Limits, Project, Status, bound};
use std::sync::Arc;

/// A search for schedules that can be run by portions.
pub(crate) trait Heuristic: Send {
    /// How much more than its share the proof gets beside it.
    const PROOF: u64;

    /// Goes on for about so much work, counted in activities placed.
    fn run(&mut self, project: &Project, work: u64, limits: &Limits);

    /// Goes on until the limits are reached, on as many threads as there are.
    fn finish(&mut self, project: &Project, limits: &Limits);

    /// Takes in a schedule found elsewhere.
    fn offer(&mut self, project: &Project, starts: &[Time]);

    /// No schedule is shorter, as was proved elsewhere.
    fn offer_bound(&mut self, bound: Time);

    /// Returns what was found and proved so far.
    fn answer(&self, project: &Project) -> Answer;
}

/// Work of the heuristic in a round, in activities placed: some milliseconds.
const ROUND: u64 = 150_000;
/// Steps of the proof in a round, which take about as long.
const STEPS: u64 = 20_000;
/// The share of the proof: so many steps, divided by the cube of the number of activities.
const SHARE: u64 = 800_000_000_000;
/// Work that goes into refuting makespans, in activities looked at.
const REFUTING: u64 = 4_000_000;

/// Returns the best of all within the limits.
pub(crate) fn solve<H: Heuristic>(project: &Project, mut heuristic: H, limits: &Limits) -> Answer {
    if limits.schedules.is_some() {
        heuristic.finish(project, limits);
        return heuristic.answer(project);
    }
    heuristic.run(project, ROUND / 16, limits);
    let first = heuristic.answer(project);
    if is_closed(&first) || (limits.stop)() {
        return first;
    }
    let refuted = bound::refuted(project, first.bound, first.makespan, REFUTING);
    heuristic.offer_bound(refuted);
    let mut prover = Prover::new(project);
    let share = H::PROOF * SHARE / (project.len() as u64).pow(3).max(1);
    loop {
        let answer = heuristic.answer(project);
        if is_closed(&answer) || (limits.stop)() {
            return answer;
        }
        // Without a schedule there is nothing better to do.
        if prover.solver.steps() >= share && answer.starts.is_some() {
            break;
        }
        prover.learn(&answer);
        if limits.threads > 1 {
            std::thread::scope(|scope| {
                scope.spawn(|| prover.run());
                heuristic.run(project, ROUND, limits);
            });
        } else {
            prover.run();
            heuristic.run(project, ROUND, limits);
        }
        if let Some(starts) = prover.better.take() {
            heuristic.offer(project, &starts);
        }
        match prover.verdict {
            None => heuristic.offer_bound(prover.solver.lower_bound()),
            Some(Status::Infeasible) => {
                let schedules = heuristic.answer(project).schedules;
                return Answer::none(Status::Infeasible, Time::MAX, schedules);
            }
            // Nothing is shorter than the last bound it was given, or found itself.
            Some(_) => heuristic.offer_bound(prover.upper),
        }
    }
    heuristic.finish(project, limits);
    heuristic.answer(project)
}

fn is_closed(answer: &Answer) -> bool {
    matches!(answer.status, Status::Optimal | Status::Infeasible)
}

/// The search for a proof, and what it found in its last round.
struct Prover {
    solver: Solver,
    better: Option<Vec<Time>>,
    verdict: Option<Status>,
    /// The shortest makespan it knows of.
    upper: Time,
}

impl Prover {
    fn new(project: &Project) -> Self {
        let longest: i64 = project
            .durations
            .iter()
            .copied()
            .map(i64::from)
            .sum::<i64>()
            + project
                .arcs
                .iter()
                .map(|arc| i64::from(arc.2).abs())
                .sum::<i64>();
        let horizon = Time::try_from(longest).unwrap_or(Time::MAX / 4);
        Self {
            solver: Solver::new(project, horizon),
            better: None,
            verdict: None,
            upper: Time::MAX,
        }
    }

    fn learn(&mut self, answer: &Answer) {
        if let Some(starts) = &answer.starts
            && answer.makespan < self.upper
        {
            self.upper = answer.makespan;
            self.solver.set_upper_bound(self.upper);
            self.solver.suggest(starts);
        }
    }

    fn run(&mut self) {
        let until = self.solver.steps() + STEPS;
        while self.solver.steps() < until {
            match self.solver.run(1) {
                Progress::Paused => {}
                Progress::Better(starts) => {
                    self.upper = starts.last().copied().unwrap_or(0);
                    self.better = Some(starts);
                }
                Progress::Proved => {
                    self.verdict = Some(Status::Optimal);
                    return;
                }
                Progress::Infeasible => {
                    self.verdict = Some(Status::Infeasible);
                    return;
                }
            }
        }
    }
}

impl Heuristic for Colony {
    const PROOF: u64 = 1;

    fn run(&mut self, project: &Project, work: u64, limits: &Limits) {
        let until = self.schedules() + work / project.len() as u64 + 1;
        Colony::run(self, project, until, 1, limits.stop);
    }

    fn finish(&mut self, project: &Project, limits: &Limits) {
        Colony::run(self, project, u64::MAX, limits.threads, limits.stop);
    }

    fn offer(&mut self, project: &Project, starts: &[Time]) {
        Colony::offer(self, project, starts);
    }

    fn offer_bound(&mut self, bound: Time) {
        Colony::offer_bound(self, bound);
    }

    fn answer(&self, project: &Project) -> Answer {
        match self.best(project) {
            Some(starts) => Answer::of(starts, self.makespan(), self.bound(), self.schedules()),
            None => Answer::none(Status::Unknown, self.bound(), 0),
        }
    }
}

/// The islands of the kernel for maximum lags.
pub(crate) struct Lags {
    ground: Arc<Ground>,
    islands: [Island; 2],
}

impl Lags {
    pub(crate) fn new(project: &Project, limits: &Limits) -> Self {
        let ground = Arc::new(Ground::new(project));
        let islands = [0, 1].map(|index| Island::new(&ground, limits.seed, index));
        Self { ground, islands }
    }

    fn epoch(&mut self, threads: usize) {
        let work = self.ground.epoch();
        let [one, other] = &mut self.islands;
        if threads > 1 {
            std::thread::scope(|scope| {
                scope.spawn(|| one.run(work));
                other.run(work);
            });
        } else {
            one.run(work);
            other.run(work);
        }
        self.exchange();
    }

    fn exchange(&mut self) {
        let bound = self.islands.iter().map(Island::bound).max().unwrap_or(0);
        let best = self.best().map(|(starts, _)| starts.to_vec());
        for island in &mut self.islands {
            if let Some(best) = &best {
                island.offer(best);
            }
            island.offer_bound(bound);
        }
    }

    fn best(&self) -> Option<(&[Time], Time)> {
        let found = self.islands.iter().filter_map(Island::best);
        found.min_by_key(|&(starts, makespan)| (makespan, starts))
    }
}

impl Heuristic for Lags {
    /// Maximum lags cut off much of what would have to be looked through, and schedules are harder to find.
    const PROOF: u64 = 4;

    fn run(&mut self, _: &Project, _: u64, _: &Limits) {
        if !self.islands.iter().any(Island::is_done) {
            self.epoch(1);
        }
    }

    fn finish(&mut self, _: &Project, limits: &Limits) {
        while !(limits.stop)() && !self.islands.iter().any(Island::is_done) {
            self.epoch(limits.threads);
        }
    }

    fn offer(&mut self, _: &Project, starts: &[Time]) {
        for island in &mut self.islands {
            island.offer(starts);
        }
    }

    fn offer_bound(&mut self, bound: Time) {
        for island in &mut self.islands {
            island.offer_bound(bound);
        }
    }

    fn answer(&self, _: &Project) -> Answer {
        let schedules = self.islands.iter().map(Island::schedules).sum();
        let bound = self.islands.iter().map(Island::bound).max().unwrap_or(0);
        let refuted = |island: &Island| island.status() == Status::Infeasible;
        if self.islands.iter().any(refuted) {
            return Answer::none(Status::Infeasible, Time::MAX, schedules);
        }
        match self.best() {
            Some((starts, makespan)) => Answer::of(starts.to_vec(), makespan, bound, schedules),
            None => Answer::none(Status::Unknown, bound, schedules),
        }
    }
}
