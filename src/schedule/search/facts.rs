//! What is looked up about an instance over and over, laid out once.

use crate::schedule::problem::{Activity, ActivityId, Duration, Instance, Time};
use crate::schedule::segments::{Segment, segments};
use crate::schedule::solution::Placement;

/// Lookups by activity and by resource.
#[derive(Debug)]
pub(super) struct Facts<'a> {
    pub(super) instance: &'a Instance,
    /// The holds that begin or end at each activity.
    pub(super) holds_of: Vec<Vec<u32>>,
    /// The wishes from or to each activity, but for those between two that have happened.
    pub(super) wishes_of: Vec<Vec<u32>>,
    /// The levels of each resource.
    pub(super) levels_of: Vec<Vec<u32>>,
    /// Whether an activity costs anything but earliness and its mode, so that its latest place may not be its
    /// best.
    pub(super) is_choosy: Vec<bool>,
    /// Whether what an activity keeps counts as somebody's hours: that depends on who else stands where.
    pub(super) keeps_counted: Vec<bool>,
    /// Whether any mode of an activity uses what has levels.
    pub(super) is_levelled: Vec<bool>,
    /// What the cheapest mode of each activity costs.
    pub(super) cheapest: Vec<i64>,
    /// What each mode of fixed length uses, placed at zero.
    shapes: Vec<Vec<Option<Vec<Segment>>>>,
}

impl<'a> Facts<'a> {
    pub(super) fn new(instance: &'a Instance) -> Self {
        let count = instance.activities.len();
        let mut holds_of = vec![Vec::new(); count];
        for (index, hold) in instance.holds.iter().enumerate() {
            holds_of[hold.from.0.0].push(index as u32);
            if hold.to.0 != hold.from.0 {
                holds_of[hold.to.0.0].push(index as u32);
            }
        }
        let mut wishes_of = vec![Vec::new(); count];
        for (index, wish) in instance.wishes.iter().enumerate() {
            let happened = |id: ActivityId| instance.activities[id.0].fixed.is_some();
            if happened(wish.from.0) && happened(wish.to.0) {
                continue;
            }
            wishes_of[wish.from.0.0].push(index as u32);
            if wish.to.0 != wish.from.0 {
                wishes_of[wish.to.0.0].push(index as u32);
            }
        }
        let mut levels_of = vec![Vec::new(); instance.resources.len()];
        for (index, level) in instance.levels.iter().enumerate() {
            levels_of[level.resource.0].push(index as u32);
        }
        let counted = |resource: usize| {
            instance.resources[resource].regular.is_some() || !levels_of[resource].is_empty()
        };
        let uses = |activity: &Activity, which: &dyn Fn(usize) -> bool| {
            let mut demands = activity.modes.iter().flat_map(|mode| &mode.demands);
            demands.any(|demand| which(demand.resource.0))
        };
        let keeps_counted: Vec<bool> = holds_of
            .iter()
            .map(|holds: &Vec<u32>| {
                let mut holds = holds.iter();
                holds.any(|&hold| counted(instance.holds[hold as usize].resource.0))
            })
            .collect();
        let choosy = |(index, activity): (usize, &Activity)| {
            activity.due.is_some()
                || activity.announced.is_some()
                || !wishes_of[index].is_empty()
                || uses(activity, &counted)
                || keeps_counted[index]
        };
        let cheapest = |activity: &Activity| {
            let costs = activity.modes.iter().map(|mode| i64::from(mode.cost));
            costs.min().unwrap_or(0)
        };
        let levelled = |activity: &Activity| uses(activity, &|it| !levels_of[it].is_empty());
        let is_choosy = instance.activities.iter().enumerate().map(choosy).collect();
        Self {
            instance,
            is_choosy,
            keeps_counted,
            is_levelled: instance.activities.iter().map(levelled).collect(),
            cheapest: instance.activities.iter().map(cheapest).collect(),
            holds_of,
            wishes_of,
            levels_of,
            shapes: instance.activities.iter().map(shapes).collect(),
        }
    }

    /// Calls `each` with every stretch in which an activity uses something; stops at the first `false`.
    pub(super) fn each_segment(
        &self,
        activity: ActivityId,
        placed: Placement,
        mut each: impl FnMut(Segment) -> bool,
    ) -> bool {
        let Placement { mode, start, end } = placed;
        let item = &self.instance.activities[activity.0];
        match &self.shapes[activity.0][mode] {
            Some(shape) if item.fixed.is_none() => shape.iter().all(|segment| {
                each(Segment {
                    from: segment.from + start,
                    to: segment.to + start,
                    ..*segment
                })
            }),
            _ => segments(&item.modes[mode].demands, start, end)
                .into_iter()
                .all(each),
        }
    }
}

fn shapes(activity: &Activity) -> Vec<Option<Vec<Segment>>> {
    let shape = |length: Time, mode: usize| segments(&activity.modes[mode].demands, 0, length);
    activity
        .modes
        .iter()
        .enumerate()
        .map(|(at, mode)| match mode.duration {
            Duration::Fixed(length) => Some(shape(length, at)),
            Duration::Until { .. } if mode.demands.is_empty() => Some(Vec::new()),
            Duration::Until { .. } => None,
        })
        .collect()
}
