//! Whether an instance can be proved impossible before any search.

use super::{Conflict, Verdict, choices, core, cycle, overload, pair};
use crate::schedule::problem::{ActivityId, Instance, ResourceId};
use crate::schedule::reach::{Counted, Reach};

/// How often the windows may be asked for a smallest set that leaves no start.
const QUESTIONS: u32 = 400;

/// Returns a proof that an instance has no schedule, the plainest there is; `None` where none of the cheap ones is.
pub fn prove_infeasible(instance: &Instance) -> Option<Conflict> {
    prove_infeasible_while(instance, &|| true)
}

/// The same for somebody who may find a schedule meanwhile: once it is not `wanted`, nothing more is looked at.
pub fn prove_infeasible_while(instance: &Instance, wanted: &dyn Fn() -> bool) -> Option<Conflict> {
    if let Some(cycle) = cycle(instance) {
        return Some(cycle);
    }
    if let Some(capacity) = too_much_asked(instance) {
        return Some(capacity);
    }
    if !wanted() {
        return None;
    }
    let bare = match Reach::of(instance, Counted::LagsAlone) {
        Ok(bare) => bare,
        Err(stuck) => {
            return Some(Conflict::Window {
                activity: stuck.activity,
                earliest: stuck.earliest,
                latest: stuck.latest,
                moved_by: stuck.lags,
            });
        }
    };
    if !wanted() {
        return None;
    }
    let Ok(reach) = Reach::of(instance, Counted::Capacity) else {
        return no_room(instance, &bare).or_else(|| stuck_together(instance));
    };
    let no_modes = || {
        let none_left = choices::none_left(&reach);
        none_left.then(|| stuck_together(instance)).flatten()
    };
    let proofs: [&dyn Fn() -> Option<Conflict>; 3] =
        [&|| overload(&reach), &|| pair(&reach), &no_modes];
    let mut wanted_proofs = proofs.iter().take_while(|_| wanted());
    wanted_proofs.find_map(|proof| proof())
}

/// Returns a demand that asks for more than its resource ever has, in every mode of its activity.
pub(in crate::schedule) fn too_much_asked(instance: &Instance) -> Option<Conflict> {
    let most: Vec<i32> = instance
        .resources
        .iter()
        .map(|resource| {
            let amounts = resource.capacity.iter().map(|&(_, amount)| amount);
            amounts.max().unwrap_or(0).max(0)
        })
        .collect();
    let to_come = instance
        .activities
        .iter()
        .enumerate()
        .filter(|(_, it)| it.fixed.is_none());
    for (index, activity) in to_come {
        let beyond = |uses: crate::schedule::reach::Uses| {
            let pieces = uses.pieces.into_iter();
            let mut beyond = pieces.filter(|it| it.quantity > most[it.resource.0]);
            beyond.next().map(|it| it.resource)
        };
        let asked: Option<Vec<ResourceId>> = activity
            .modes
            .iter()
            .map(|mode| beyond(crate::schedule::reach::uses(mode)))
            .collect();
        if let Some(&resource) = asked.as_deref().and_then(<[_]>::first) {
            return Some(Conflict::Capacity {
                activity: ActivityId(index),
                resource,
                most: most[resource.0],
            });
        }
    }
    None
}

/// Returns an activity that finds no room in its window even if nothing else is placed.
fn no_room(instance: &Instance, bare: &Reach<'_>) -> Option<Conflict> {
    let mut alone = instance.clone();
    alone.lags.clear();
    let over = |index: usize| instance.activities[index].fixed.is_some();
    alone.holds.retain(|hold| over(hold.from.0.0));
    for (index, activity) in alone.activities.iter_mut().enumerate() {
        if activity.fixed.is_none() {
            let id = ActivityId(index);
            activity.release = Some(bare.edge((id, crate::schedule::Edge::Start)).0);
            activity.deadline = Some(bare.edge((id, crate::schedule::Edge::End)).1);
        }
    }
    let stuck = Reach::of(&alone, Counted::Capacity).err()?;
    let id = stuck.activity;
    // The resource without which it would find room is the one that is missing.
    let demands = alone.activities[id.0]
        .modes
        .iter()
        .flat_map(|mode| &mode.demands);
    let mut resources: Vec<ResourceId> = demands.map(|demand| demand.resource).collect();
    resources.sort_unstable();
    resources.dedup();
    let missing = resources.into_iter().find(|&resource| {
        let mut freed = alone.clone();
        for mode in &mut freed.activities[id.0].modes {
            mode.demands.retain(|it| it.resource != resource);
        }
        Reach::of(&freed, Counted::Capacity)
            .err()
            .is_none_or(|stuck| stuck.activity != id)
    });
    let (earliest, latest) = bare.edge((id, crate::schedule::Edge::Start));
    Some(Conflict::NoPlace {
        activity: id,
        earliest,
        latest,
        resource: missing,
        by: Vec::new(),
    })
}

/// Returns a smallest set of activities whose windows leave one of them no start, or all of them no choice of modes.
fn stuck_together(instance: &Instance) -> Option<Conflict> {
    let core = core(instance, QUESTIONS, &mut |part| {
        let reach = Reach::of(part, Counted::Capacity);
        if reach.is_ok_and(|reach| !choices::none_left(&reach)) {
            Verdict::Feasible
        } else {
            Verdict::Infeasible
        }
    })?;
    Some(Conflict::Core(Box::new(core)))
}
