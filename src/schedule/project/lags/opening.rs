//! The first plan: component by component.
//!
//! Activities that maximum lags tie to one another form the strongly connected components of the network. Between
//! components there are only minimum lags, so any plans of the components alone, one after another late enough, are a
//! plan of the whole; and if one component alone has no plan, the whole has none (Neumann and Zhan, "Heuristics for the
//! minimum project-duration problem with minimal and maximal time lags under fixed resource constraints", J. Intelligent
//! Manufacturing 6, 1995, from memory). Lists of the whole fail where this never does: what one component needs is not
//! disturbed by another.
//!
//! Each component is first decoded from random lists, and when that fails, decided by [branching](super::branch), with
//! growing effort by turns. Then the components are placed as rigid blocks, in topological order, each as early as it
//! fits.

use super::branch::{Decided, decide};
use super::decode::{Decoder, Direction};
use super::lists::Lists;
use super::model::Model;
use super::network::NO_PATH;
use super::profile::Profile;
use crate::schedule::project::random::Random;

/// Lists tried on a component in the first round.
const FIRST_TRIES: u64 = 16;

/// Plans of a component that suffice; the shortest is taken.
const ENOUGH: usize = 4;

/// One strongly connected component.
#[derive(Clone, Debug)]
struct Component {
    members: Vec<usize>,
    /// The component as a project of its own, unless it is a single activity.
    alone: Option<(Model, Lists)>,
    /// The start of each member in a plan of the component alone.
    plan: Option<Vec<i32>>,
}

/// The search for a first plan.
#[derive(Clone, Debug)]
pub(super) struct Opening {
    components: Vec<Component>,
    round: u32,
    next: usize,
    decoder: Decoder,
}

/// How far the opening is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Opened {
    /// A plan of the whole.
    Plan(Vec<i32>),
    /// There is none.
    Infeasible,
    /// Not yet known.
    Open,
}

impl Opening {
    /// Returns the opening of `model`.
    pub(super) fn new(model: &Model) -> Self {
        let components = model.network.components().into_iter().map(|members| {
            let alone = (members.len() > 1).then(|| {
                let alone = model.of(&members);
                let lists = Lists::new(&alone);
                (alone, lists)
            });
            Component {
                plan: alone.is_none().then(|| vec![0]),
                members,
                alone,
            }
        });
        Self {
            components: components.collect(),
            round: 0,
            next: 0,
            decoder: Decoder::default(),
        }
    }

    /// Goes on at the cost of at most `work` schedules, which are counted down.
    pub(super) fn run(&mut self, model: &Model, random: &mut Random, work: &mut u64) -> Opened {
        loop {
            let left = |component: &Component| component.plan.is_none();
            let Some(at) =
                (self.next..self.components.len()).find(|&at| left(&self.components[at]))
            else {
                if !self.components.iter().any(left) {
                    return Opened::Plan(self.blocks(model));
                }
                self.next = 0;
                self.round += 1;
                continue;
            };
            if *work == 0 {
                return Opened::Open;
            }
            self.next = at + 1;
            let component = &mut self.components[at];
            let Some((alone, lists)) = &component.alone else {
                continue;
            };
            let granted = |work: u64| (FIRST_TRIES << self.round.min(20)).min(work);
            let mut tries = granted(*work);
            *work -= tries;
            component.plan = sample(alone, lists, &mut self.decoder, random, &mut tries);
            *work += tries;
            if component.plan.is_none() {
                let mut nodes = granted(*work);
                *work -= nodes;
                let decided = decide(alone, &mut nodes);
                *work += nodes;
                match decided {
                    Decided::Plan(starts) => component.plan = Some(inner(&starts)),
                    Decided::Infeasible => return Opened::Infeasible,
                    Decided::Open => {}
                }
            }
        }
    }

    /// Returns the plans of the components as rigid blocks, one by one as early as each fits.
    fn blocks(&self, model: &Model) -> Vec<i32> {
        let mut profile = Profile::default();
        profile.clear(&model.amounts);
        let mut starts = vec![0; model.size()];
        let mut placed: Vec<usize> = Vec::with_capacity(model.size());
        for component in &self.components {
            let Some(plan) = &component.plan else {
                continue;
            };
            let block = || component.members.iter().copied().zip(plan.iter().copied());
            let mut origin = 0;
            for (member, offset) in block() {
                for &other in &placed {
                    let length = model.network.path(other, member);
                    if length > NO_PATH / 2 {
                        origin = origin.max(starts[other] + length - offset);
                    }
                }
            }
            // One member without room moves the whole block on; all are taken out again until then.
            let mut fitted = 0;
            while let Some((member, offset)) = block().nth(fitted) {
                let duration = model.durations[member];
                let start = profile.earliest(&model.amounts, member, duration, origin + offset);
                if start == origin + offset {
                    profile.take(&model.amounts, member, start, duration);
                    fitted += 1;
                } else {
                    for (member, offset) in block().take(fitted) {
                        let duration = model.durations[member];
                        profile.give(&model.amounts, member, origin + offset, duration);
                    }
                    origin = start - offset;
                    fitted = 0;
                }
            }
            for (member, offset) in block() {
                starts[member] = origin + offset;
                placed.push(member);
            }
        }
        let origin = starts[0];
        for start in &mut starts {
            *start -= origin;
        }
        starts
    }
}

/// Returns the shortest of the first few plans that random lists decode to, members only; `tries` are counted down.
fn sample(
    model: &Model,
    lists: &Lists,
    decoder: &mut Decoder,
    random: &mut Random,
    tries: &mut u64,
) -> Option<Vec<i32>> {
    let mut best: Option<Vec<i32>> = None;
    let mut found = 0;
    let mut list = Vec::new();
    for attempt in 0..*tries {
        *tries -= 1;
        let direction = match attempt % 2 {
            0 => Direction::Forward,
            _ => Direction::Backward,
        };
        let noise = (1 + 4 * attempt as usize).min(64);
        let mut keys: Vec<i32> = (0..model.size())
            .map(|it| latest_start(model, it, direction) + random.below(noise) as i32)
            .collect();
        lists.sort(model, &mut keys, direction, &mut list);
        let reading = lists.reading(direction);
        if let Some(starts) = decoder.decode(model, reading, &list, model.size()) {
            let end = model.end();
            if best.as_ref().is_none_or(|best| starts[end] < best[end]) {
                best = Some(starts);
            }
            found += 1;
            if found == ENOUGH {
                break;
            }
        }
    }
    best.map(|starts| inner(&starts))
}

/// Returns the latest start of `activity` before the end, in the time of `direction`, as a priority.
fn latest_start(model: &Model, activity: usize, direction: Direction) -> i32 {
    match direction {
        Direction::Forward => -model.network.path(activity, model.end()),
        Direction::Backward => -model.network.path(0, activity) - model.durations[activity],
    }
}

/// Returns the starts without beginning and end.
fn inner(starts: &[i32]) -> Vec<i32> {
    starts[1..starts.len() - 1].to_vec()
}
