//! Instances that may be impossible, made of those that are not.

use super::Random;
use crate::schedule::problem::Instance;

/// Tightens an instance in one to three places: a maximum lag, a deadline, a capacity, a change time. Whether
/// anything still fits is not known.
pub fn squeeze(seed: u64, instance: &mut Instance) {
    let mut random = Random::new(seed);
    for _ in 0..random.between(1, 3) {
        match random.between(0, 3) {
            0 => {
                let activity = random.below(instance.activities.len());
                let latest = instance.latest;
                let length = latest - instance.earliest;
                if let Some(activity) = instance.activities.get_mut(activity) {
                    let deadline = activity.deadline.unwrap_or(latest);
                    activity.deadline = Some(deadline - random.between(1, length / 2));
                }
            }
            1 => {
                let resource = random.below(instance.resources.len());
                if let Some(resource) = instance.resources.get_mut(resource) {
                    for (_, amount) in &mut resource.capacity {
                        *amount = (*amount - 1).max(0);
                    }
                }
            }
            2 => {
                let lag = random.below(instance.lags.len());
                if let Some(lag) = instance.lags.get_mut(lag) {
                    let most = lag.most.unwrap_or(lag.least + 10);
                    lag.least = (lag.least + random.between(0, 4)).min(most);
                    lag.most = Some(lag.least.max(most - random.between(0, 4)));
                }
            }
            _ => {
                for state in &mut instance.states {
                    state.change += random.between(1, 10);
                }
            }
        }
    }
}
