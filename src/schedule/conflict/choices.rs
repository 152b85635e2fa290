//! Whether everybody can choose a mode at all, when all that is asked is that no two of them clash.
//!
//! Two chambers, and three that want three temperatures within the same half hour: no two of them are in each other's
//! way, because there is another chamber; all three are. A choice is a mode that some start is left for, and two choices
//! clash where they need a state resource in different states and neither can wait for the other. Choices are made one
//! after another, the fewest first, and what clashes with them falls away (forward checking with the smallest domain
//! first, Haralick and Elliott, *Increasing tree search efficiency for constraint satisfaction problems*, 1980; from
//! memory).

use crate::schedule::problem::{ActivityId, Edge, Time};
use crate::schedule::reach::Reach;

/// After so many choices made nothing is said.
const MOST: u32 = 2_000;

/// An activity with the modes that some start is left for.
#[derive(Clone, Debug)]
struct Choice {
    id: ActivityId,
    modes: Vec<usize>,
}

/// Returns whether it is proved that not everybody can choose a mode.
pub(super) fn none_left(reach: &Reach<'_>) -> bool {
    let instance = reach.instance();
    let mut choices: Vec<Choice> = Vec::new();
    for (index, activity) in instance.activities.iter().enumerate() {
        let id = ActivityId(index);
        let starts = reach.modes(id).iter().enumerate();
        let modes: Vec<usize> = starts
            .filter(|(_, (first, last))| first <= last)
            .map(|(mode, _)| mode)
            .collect();
        // Who can do without any state is in nobody's way.
        let bound = |&mode: &usize| !activity.modes[mode].states.is_empty();
        if activity.fixed.is_none() && modes.iter().all(bound) {
            choices.push(Choice { id, modes });
        }
    }
    let mut search = Search {
        reach,
        left: MOST,
        given_up: false,
    };
    !search.run(choices) && !search.given_up
}

struct Search<'r, 'a> {
    reach: &'r Reach<'a>,
    left: u32,
    given_up: bool,
}

impl Search<'_, '_> {
    /// Returns whether all these can choose without a clash, as far as that was followed.
    fn run(&mut self, mut choices: Vec<Choice>) -> bool {
        while let Some(at) = (0..choices.len()).min_by_key(|&at| (choices[at].modes.len(), at)) {
            let chosen = choices.swap_remove(at);
            if let [only] = chosen.modes[..] {
                choices = self.without_clashes(chosen.id, only, choices);
                continue;
            }
            return chosen.modes.iter().any(|&mode| {
                let others = self.without_clashes(chosen.id, mode, choices.clone());
                self.run(others)
            }) || self.given_up;
        }
        true
    }

    /// Returns what is left for the others once one has chosen.
    fn without_clashes(&mut self, id: ActivityId, mode: usize, others: Vec<Choice>) -> Vec<Choice> {
        self.left = self.left.saturating_sub(1);
        self.given_up |= self.left == 0;
        let mut others = others;
        for other in &mut others {
            let reach = self.reach;
            other
                .modes
                .retain(|&its| !clash(reach, (id, mode), (other.id, its)));
        }
        others
    }
}

/// Returns whether two activities cannot both be done in these modes.
fn clash(reach: &Reach<'_>, one: (ActivityId, usize), other: (ActivityId, usize)) -> bool {
    let instance = reach.instance();
    let states = |(id, mode): (ActivityId, usize)| {
        let activity = &instance.activities[id.0];
        activity.modes[mode].states.iter()
    };
    states(one).any(|&(state, value)| {
        let change = instance.states[state.0].change;
        states(other).any(|&(its, another)| {
            its == state
                && another != value
                && !waits(reach, one, other, change)
                && !waits(reach, other, one, change)
        })
    })
}

/// Returns whether the second may start so long after the first has ended.
fn waits(
    reach: &Reach<'_>,
    first: (ActivityId, usize),
    second: (ActivityId, usize),
    change: Time,
) -> bool {
    let instance = reach.instance();
    let (soonest, _) = reach.modes(first.0)[first.1];
    let (_, latest) = reach.modes(second.0)[second.1];
    let mode = &instance.activities[first.0.0].modes[first.1];
    let over = instance.end_of(mode, soonest);
    let by_windows = over.is_some_and(|over| over.saturating_add(change) <= latest);
    by_windows && {
        let (_, most) = reach.between((first.0, Edge::End), (second.0, Edge::Start));
        i64::from(change) <= most
    }
}
