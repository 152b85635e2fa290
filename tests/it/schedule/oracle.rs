//! What a constraint solver from crates.io proves of the same instances: a judge that shares nothing with the engine.
//!
//! Pumpkin (Delft University of Technology; lazy clause generation) is given what it can model: one mode of fixed
//! length, demands throughout or over a part, stepwise capacities (what is missing from the most there ever is is a
//! task of its own), states, lags, releases, deadlines, and the terms of the cost that are linear: late, wishes,
//! early, moved by. Gates, holds, calendars, modes, overtime and levels are left to brute force.

use super::answer;
use countback::schedule::verify::verify;
use countback::schedule::*;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use pumpkin_conflict_resolvers::resolvers::ResolutionResolver;
use pumpkin_core::Solver;
use pumpkin_core::constraints::Constraint;
use pumpkin_core::optimisation::OptimisationDirection;
use pumpkin_core::optimisation::linear_sat_unsat::LinearSatUnsat;
use pumpkin_core::results::{OptimisationResult, ProblemSolution, Solution};
use pumpkin_core::termination::TerminationCondition;
use pumpkin_core::variables::{AffineView, DomainId, Literal, TransformableVariable};
use std::ops::ControlFlow;

/// What the other solver says.
#[derive(Debug)]
enum Verdict {
    /// The least cost and a plan that has it.
    Optimum(i64, Vec<Placement>),
    Impossible,
    /// Not settled within the polls given.
    Open,
}

/// Ends a run after so many polls: a count of work, the same on every machine.
struct Polls(u32);

impl TerminationCondition for Polls {
    fn should_stop(&mut self) -> bool {
        self.0 = self.0.saturating_sub(1);
        self.0 == 0
    }
}

struct Model<'a> {
    instance: &'a Instance,
    solver: Solver,
    starts: Vec<DomainId>,
    lengths: Vec<Time>,
    /// What the cost is the sum of: a factor, a variable.
    paid: Vec<(i32, DomainId)>,
    /// And what is paid in any case.
    constant: i64,
    /// Whether what it was told contradicts itself before any search; nothing more may be told to it then.
    contradicted: bool,
}

type Term = AffineView<DomainId>;

impl<'a> Model<'a> {
    fn new(instance: &'a Instance) -> Self {
        let mut solver = Solver::default();
        let length = |activity: &Activity| match activity.modes[0].duration {
            Duration::Fixed(length) => length,
            Duration::Until { .. } => unreachable!("no gates are given to it"),
        };
        let lengths: Vec<Time> = instance.activities.iter().map(length).collect();
        let starts = instance.activities.iter().zip(&lengths);
        let starts = starts
            .map(|(it, length)| {
                if let Some((start, _)) = it.fixed {
                    return solver.new_bounded_integer(start, start);
                }
                let earliest = it
                    .release
                    .unwrap_or(instance.earliest)
                    .max(instance.earliest);
                let latest = it.deadline.unwrap_or(instance.latest).min(instance.latest) - length;
                // An empty window is said by a contradiction of its own, below.
                solver.new_bounded_integer(earliest, latest.max(earliest))
            })
            .collect();
        let paid = Vec::new();
        Self {
            instance,
            solver,
            starts,
            lengths,
            paid,
            constant: 0,
            contradicted: false,
        }
    }

    /// Demands that terms add up to no more than this.
    fn at_most(&mut self, terms: Vec<Term>, most: i32) {
        if self.contradicted {
            return;
        }
        let tag = self.solver.new_constraint_tag();
        self.post(pumpkin_constraints::less_than_or_equals(terms, most, tag));
    }

    /// Returns a variable between two numbers; any, where nothing is to be found any more.
    fn variable(&mut self, least: i32, most: i32) -> DomainId {
        if self.contradicted {
            return self.starts[0];
        }
        self.solver.new_bounded_integer(least, most)
    }

    fn post(&mut self, constraint: impl Constraint) {
        self.contradicted = self.contradicted || constraint.post(&mut self.solver).is_err();
    }

    fn at_most_if(&mut self, condition: Literal, terms: Vec<Term>, most: i32) {
        if self.contradicted {
            return;
        }
        let tag = self.solver.new_constraint_tag();
        let constraint = pumpkin_constraints::less_than_or_equals(terms, most, tag);
        self.contradicted =
            self.contradicted || constraint.implied_by(&mut self.solver, condition).is_err();
    }

    /// Returns `to - from` of two edges as terms and what is to be added to them.
    fn between(&self, from: (ActivityId, Edge), to: (ActivityId, Edge)) -> ([Term; 2], Time) {
        let offset = |(id, edge): (ActivityId, Edge)| match edge {
            Edge::Start => 0,
            Edge::End => self.lengths[id.0],
        };
        let terms = [
            self.starts[to.0.0].scaled(1),
            self.starts[from.0.0].scaled(-1),
        ];
        (terms, offset(to) - offset(from))
    }

    fn less(terms: &[Term; 2]) -> [Term; 2] {
        terms.map(|term| term.scaled(-1))
    }

    fn windows(&mut self) {
        for (index, it) in self.instance.activities.iter().enumerate() {
            if it.fixed.is_none() {
                let latest = it
                    .deadline
                    .unwrap_or(self.instance.latest)
                    .min(self.instance.latest);
                self.at_most(
                    vec![self.starts[index].scaled(1)],
                    latest - self.lengths[index],
                );
            }
        }
    }

    fn lags(&mut self) {
        for lag in &self.instance.lags {
            let (terms, add) = self.between(lag.from, lag.to);
            self.at_most(Self::less(&terms).to_vec(), add - lag.least);
            if let Some(most) = lag.most {
                self.at_most(terms.to_vec(), most - add);
            }
        }
    }

    fn resources(&mut self) {
        for (resource, it) in self.instance.resources.iter().enumerate() {
            let most = it.capacity.iter().map(|step| step.1).max().unwrap_or(0);
            let (mut starts, mut lengths, mut quantities) = (Vec::new(), Vec::new(), Vec::new());
            for (index, activity) in self.instance.activities.iter().enumerate() {
                for demand in &activity.modes[0].demands {
                    let length = self.lengths[index];
                    let (from, to) = match demand.when {
                        Use::Whole => (0, length),
                        Use::Part {
                            anchor: Anchor::Start,
                            from,
                            to,
                        } => (from, to),
                        Use::Part {
                            anchor: Anchor::End,
                            from,
                            to,
                        } => (length + from, length + to),
                        Use::Every { .. } => unreachable!("no looks are given to it"),
                    };
                    let (from, to) = (from.max(0), to.min(length));
                    if demand.resource.0 == resource && from < to {
                        starts.push(self.starts[index].offset(from));
                        lengths.push(to - from);
                        quantities.push(demand.quantity);
                    }
                }
            }
            // What is missing at a time is in use by nobody. Nothing lies before the first step.
            let ends = it.capacity.iter().skip(1).map(|step| step.0);
            let ends = ends.chain([self.instance.latest]);
            for (&(from, capacity), to) in it.capacity.iter().zip(ends) {
                if capacity < most && from < to {
                    starts.push(self.variable(from, from).offset(0));
                    lengths.push(to - from);
                    quantities.push(most - capacity);
                }
            }
            if self.contradicted {
                return;
            }
            let tag = self.solver.new_constraint_tag();
            self.post(pumpkin_constraints::cumulative(
                starts, lengths, quantities, most, tag,
            ));
        }
    }

    fn states(&mut self) {
        for (resource, it) in self.instance.states.iter().enumerate() {
            let activities = self.instance.activities.iter().enumerate();
            let needs: Vec<(usize, i32)> = activities
                .flat_map(|(index, activity)| {
                    activity.modes[0].states.iter().map(move |it| (index, *it))
                })
                .filter(|(_, (state, _))| state.0 == resource)
                .map(|(index, (_, value))| (index, value))
                .collect();
            for (at, &(one, value)) in needs.iter().enumerate() {
                for &(other, another) in &needs[at + 1..] {
                    if value == another {
                        continue;
                    }
                    if self.contradicted {
                        return;
                    }
                    let first = self.solver.new_literal();
                    for (sooner, later, condition) in [(one, other, first), (other, one, !first)] {
                        let terms =
                            vec![self.starts[sooner].scaled(1), self.starts[later].scaled(-1)];
                        self.at_most_if(condition, terms, -self.lengths[sooner] - it.change);
                    }
                }
            }
        }
    }

    /// Returns a variable that is no less than terms and a number, and no less than zero; the cost keeps it small.
    fn excess(&mut self, terms: [Term; 2], add: i32) -> DomainId {
        let most = 4 * (self.instance.latest - self.instance.earliest) + add.abs();
        let excess = self.variable(0, most);
        let mut terms = terms.to_vec();
        terms.push(excess.scaled(-1));
        self.at_most(terms, -add);
        excess
    }

    fn cost(&mut self) {
        let weights = self.instance.weights;
        let factor = |weight: i64| i32::try_from(weight).expect("weights are small");
        let zero = self.variable(0, 0).scaled(1);
        for (index, it) in self.instance.activities.iter().enumerate() {
            if it.fixed.is_some() {
                continue;
            }
            let start = self.starts[index];
            let early = factor(weights.early) * it.weight;
            self.paid.push((-early, start));
            self.constant += i64::from(early) * i64::from(self.instance.latest);
            if let Some(due) = it.due {
                let late = self.excess([start.scaled(1), zero], self.lengths[index] - due);
                self.paid.push((factor(weights.late), late));
            }
            if let Some(announced) = it.announced {
                let later = self.excess([start.scaled(1), zero], -announced);
                let earlier = self.excess([start.scaled(-1), zero], announced);
                self.paid.push((factor(weights.moved_by), later));
                self.paid.push((factor(weights.moved_by), earlier));
            }
        }
        for wish in &self.instance.wishes {
            let (terms, add) = self.between(wish.from, wish.to);
            let weight = factor(weights.wish) * wish.weight;
            if let Some(least) = wish.least {
                let short = self.excess(Self::less(&terms), least - add);
                self.paid.push((weight, short));
            }
            if let Some(most) = wish.most {
                let past = self.excess(terms, add - most);
                self.paid.push((weight, past));
            }
        }
    }
}

fn judge(instance: &Instance) -> Verdict {
    let mut model = Model::new(instance);
    model.windows();
    model.lags();
    model.resources();
    model.states();
    model.cost();
    let objective = model.variable(-1_000_000, 1_000_000);
    let paid = model.paid.iter().filter(|(factor, _)| *factor != 0);
    let paid = paid.map(|&(factor, variable)| variable.scaled(factor));
    let terms = paid.chain([objective.scaled(-1)]).collect();
    model.at_most(terms, 0);
    if model.contradicted {
        return Verdict::Impossible;
    }
    let Model {
        mut solver,
        starts,
        lengths,
        constant,
        ..
    } = model;
    let placements = |solution: &Solution| {
        let starts = starts
            .iter()
            .map(|&start| solution.get_integer_value(start));
        let placed = starts.zip(&lengths).map(|(start, length)| Placement {
            mode: 0,
            start,
            end: start + length,
        });
        placed.collect()
    };
    let mut brancher = solver.default_brancher();
    let answer = solver.optimise(
        &mut brancher,
        &mut Polls(200_000),
        &mut ResolutionResolver::default(),
        LinearSatUnsat::new(
            OptimisationDirection::Minimise,
            objective,
            |_: &Solver,
             _: pumpkin_core::results::SolutionReference,
             _: &_,
             _: &_|
             -> ControlFlow<()> { ControlFlow::Continue(()) },
        ),
    );
    match answer {
        OptimisationResult::Optimal(solution) => {
            let least = i64::from(solution.get_integer_value(objective)) + constant;
            Verdict::Optimum(least, placements(&solution))
        }
        OptimisationResult::Unsatisfiable => Verdict::Impossible,
        _ => Verdict::Open,
    }
}

const HORIZON: Time = 40;

fn activity() -> impl Strategy<Value = Activity> {
    let when = prop_oneof![
        4 => Just(Use::Whole),
        1 => Just(Use::Part { anchor: Anchor::Start, from: 0, to: 2 }),
        1 => Just(Use::Part { anchor: Anchor::End, from: -1, to: 0 }),
    ];
    // Of each resource at most one demand: where two overlap the larger would hold, and not their sum.
    let demands = prop::collection::vec(prop::option::weighted(0.5, (1..3_i32, when)), 2);
    let state = prop::option::weighted(0.2, (0..2_i32).prop_map(|value| (StateId(0), value)));
    let limits = (
        prop::option::weighted(0.1, 0..10_i32),
        prop::option::weighted(0.1, 25..HORIZON),
        prop::option::weighted(0.2, 5..HORIZON),
        prop::option::weighted(0.2, 0..HORIZON),
    );
    (0..8_i32, demands, state, limits, 0..3_i32).prop_map(
        |(length, demands, state, (release, deadline, due, announced), weight)| {
            let demands = demands.into_iter().enumerate();
            Activity {
                modes: vec![Mode {
                    duration: Duration::Fixed(length),
                    demands: demands
                        .filter_map(|(resource, demand)| {
                            let (quantity, when) = demand?;
                            Some(Demand {
                                resource: ResourceId(resource),
                                quantity,
                                when,
                            })
                        })
                        .collect(),
                    states: state.into_iter().collect(),
                    cost: 0,
                }],
                release,
                deadline,
                due,
                weight,
                announced,
                ..Activity::default()
            }
        },
    )
}

fn instance() -> impl Strategy<Value = Instance> {
    let link = || {
        let edge = || prop_oneof![Just(Edge::Start), Just(Edge::End)];
        let distance = (-6..10_i32, prop::option::weighted(0.4, 0..8_i32));
        (0..12_usize, 1..12_usize, edge(), edge(), distance, 1..4_i32)
    };
    let resource =
        (2..4_i32, 5..30_i32, 1..10_i32, 0..3_i32).prop_map(|(most, from, length, then)| {
            Resource {
                capacity: vec![(0, most), (from, then.min(most)), (from + length, most)],
                regular: None,
            }
        });
    let weights = (0..20_i64, 0..5_i64, 1..4_i64, 0..3_i64);
    (
        prop::collection::vec(activity(), 8..13),
        prop::collection::vec(resource, 2),
        0..4_i32,
        prop::collection::vec(link(), 4..12),
        prop::collection::vec(link(), 0..3),
        weights,
    )
        .prop_map(
            |(activities, resources, change, lags, wishes, (late, wish, early, moved_by))| {
                let count = activities.len();
                let mut instance = Instance {
                    earliest: 0,
                    latest: HORIZON,
                    activities,
                    resources,
                    states: vec![StateResource { change }],
                    weights: Weights {
                        late,
                        wish,
                        early,
                        moved_by,
                        ..Weights::default()
                    },
                    ..Instance::default()
                };
                let ends = |one: usize, by: usize| {
                    let (one, other) = (one % count, (one + by) % count);
                    (one != other).then_some((ActivityId(one), ActivityId(other)))
                };
                for (one, by, a, b, (least, extra), _) in lags {
                    if let Some((one, other)) = ends(one, by) {
                        let most = extra.map(|extra| least + extra);
                        // Most lead onward, so that most fit together; now and then one leads back.
                        let onward = one < other || least < 0;
                        let (from, to) = if onward { (one, other) } else { (other, one) };
                        instance.lags.push(Lag {
                            from: (from, a),
                            to: (to, b),
                            least,
                            most,
                        });
                    }
                }
                for (one, by, a, b, (least, extra), weight) in wishes {
                    if let Some((one, other)) = ends(one, by) {
                        let most = extra.map(|extra| least + extra);
                        instance.wishes.push(Wish {
                            from: (one, a),
                            to: (other, b),
                            least: Some(least),
                            most,
                            weight,
                        });
                    }
                }
                instance
            },
        )
}

/// Returns the same instances each time.
fn instances(count: usize) -> impl Iterator<Item = Instance> {
    let mut runner = TestRunner::deterministic();
    let strategy = instance();
    (0..count).map(move |_| strategy.new_tree(&mut runner).unwrap().current())
}

/// What the engine says and what the other solver proves never contradict one another; and how often the engine finds
/// a plan, and a best one, are figures kept from slipping.
#[test]
fn nothing_the_engine_says_is_refuted_by_another_solver() {
    let (mut possible, mut found, mut best, mut impossible, mut said) = (0, 0, 0, 0, 0);
    for instance in instances(150) {
        let answered = answer(&instance, 2);
        match (judge(&instance), &answered) {
            (Verdict::Open, _) => {}
            (Verdict::Impossible, answered) => {
                impossible += 1;
                said += usize::from(matches!(answered, Outcome::Infeasible(_)));
                let plan = matches!(answered, Outcome::Optimal(_) | Outcome::Feasible(_));
                assert!(!plan, "a plan of what cannot be: {instance:?}");
            }
            (Verdict::Optimum(least, _), Outcome::Optimal(schedule)) => {
                assert_eq!(verify(&instance, schedule), [], "{instance:?}");
                assert_eq!(schedule.cost, least, "{instance:?}");
                (possible, found, best) = (possible + 1, found + 1, best + 1);
            }
            (Verdict::Optimum(least, _), Outcome::Feasible(schedule)) => {
                assert_eq!(verify(&instance, schedule), [], "{instance:?}");
                assert!(
                    schedule.bound <= least && least <= schedule.cost,
                    "{instance:?}"
                );
                (possible, found) = (possible + 1, found + 1);
                best += usize::from(schedule.cost == least);
            }
            (Verdict::Optimum(..), Outcome::Unknown(_)) => possible += 1,
            (Verdict::Optimum(..), Outcome::Infeasible(conflict)) => {
                panic!("called impossible because of {conflict:?}: {instance:?}")
            }
        }
    }
    println!(
        "of {possible}: {found} found, {best} best; of {impossible} impossible: {said} said to be"
    );
    assert!(found * 100 >= possible * 97, "{found} of {possible}");
    assert!(best * 100 >= possible * 90, "{best} of {possible}");
}

/// The check and the other solver agree on what a right plan is, and on what it costs.
#[test]
fn a_plan_that_another_solver_proves_best_is_accepted_at_its_cost() {
    let (mut best, mut impossible) = (0, 0);
    for instance in instances(100) {
        match judge(&instance) {
            Verdict::Optimum(cost, placements) => {
                let schedule = Schedule {
                    placements,
                    cost,
                    bound: cost,
                    ..Schedule::default()
                };
                assert_eq!(verify(&instance, &schedule), [], "{instance:?}");
                best += 1;
            }
            Verdict::Impossible => impossible += 1,
            Verdict::Open => {}
        }
    }
    assert!(
        best >= 30 && impossible >= 10 && best + impossible >= 95,
        "{best} and {impossible}"
    );
}
