//! What one resource has to give: compulsory parts, and what they leave no room for.
//!
//! An activity whose latest start lies before its earliest end runs between the two in every plan that is left:
//! its compulsory part. The parts together are a profile below which every plan stays; where it and an activity
//! would need more than there is, the activity is elsewhere. Explained minute by minute, as in Schutt, Feydy,
//! Stuckey and Wallace, "Explaining the cumulative propagator" (2011, from memory).

use super::literal::{Literal, Side};
use super::trail::{Reason, Trail};

/// An activity that uses a resource.
#[derive(Clone, Copy, Debug)]
pub(super) struct Task {
    /// The variable of its start.
    pub(super) start: u32,
    pub(super) duration: i32,
    pub(super) demand: i32,
}

/// Part of the profile: from `start` up to the next segment's start.
#[derive(Clone, Copy, Debug)]
struct Segment {
    start: i32,
    end: i32,
    used: i32,
}

/// One resource and those who use it.
#[derive(Clone, Debug)]
pub(super) struct Timetable {
    pub(super) capacity: i32,
    /// The largest demand first.
    pub(super) tasks: Vec<Task>,
    changes: Vec<(i32, i32)>,
    profile: Vec<Segment>,
    /// Who runs at a minute that is being explained: the demand, that it began, that it lasts.
    running: Vec<(i32, Literal, Literal)>,
}

/// Why a run ended early.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Clash {
    /// A variable has no value left: the latest entry of the trail saw to that.
    NoValue,
    /// The compulsory parts alone need more than there is at that minute.
    Overload { resource: u32, minute: i32 },
}

impl Timetable {
    pub(super) fn new(capacity: i32, mut tasks: Vec<Task>) -> Self {
        tasks.sort_by_key(|task| (-task.demand, task.start));
        Self {
            capacity,
            changes: Vec::with_capacity(2 * tasks.len()),
            profile: Vec::with_capacity(2 * tasks.len()),
            running: Vec::with_capacity(tasks.len()),
            tasks,
        }
    }

    /// Draws what follows from the profile as it stands.
    pub(super) fn follow(&mut self, resource: u32, trail: &mut Trail) -> Result<(), Clash> {
        let highest = self.rebuild(resource, trail)?;
        for index in 0..self.tasks.len() {
            let task = self.tasks[index];
            if task.demand + highest <= self.capacity {
                break;
            }
            if !trail.is_fixed(task.start as usize) {
                let variable = task.start as usize;
                // Its own compulsory part is in the profile already.
                let own = (trail.most(variable), trail.least(variable) + task.duration);
                self.push_later(resource, task, own, trail)?;
                self.push_earlier(resource, task, own, trail)?;
            }
        }
        Ok(())
    }

    /// Sweeps over the compulsory parts. Returns the most that is used at once.
    fn rebuild(&mut self, resource: u32, trail: &Trail) -> Result<i32, Clash> {
        self.changes.clear();
        for task in &self.tasks {
            let variable = task.start as usize;
            let (from, until) = (trail.most(variable), trail.least(variable) + task.duration);
            if from < until {
                self.changes.push((from, task.demand));
                self.changes.push((until, -task.demand));
            }
        }
        self.changes.sort_unstable();
        self.profile.clear();
        let (mut used, mut highest) = (0, 0);
        for (index, &(minute, change)) in self.changes.iter().enumerate() {
            used += change;
            let Some(&(next, _)) = self.changes.get(index + 1) else {
                break;
            };
            if next > minute && used > 0 {
                self.profile.push(Segment {
                    start: minute,
                    end: next,
                    used,
                });
                highest = highest.max(used);
                if used > self.capacity {
                    return Err(Clash::Overload {
                        resource,
                        minute: minute + (next - minute) / 2,
                    });
                }
            }
        }
        Ok(highest)
    }

    /// Moves an activity's earliest start past where it would overdraw the resource.
    fn push_later(
        &self,
        resource: u32,
        task: Task,
        own: (i32, i32),
        trail: &mut Trail,
    ) -> Result<(), Clash> {
        let variable = task.start as usize;
        let mut at = trail.least(variable);
        let first = self.profile.partition_point(|segment| segment.end <= at);
        for segment in &self.profile[first..] {
            if segment.start >= at + task.duration {
                break;
            }
            let is_own = own.0 <= segment.start && segment.end <= own.1;
            if is_own || segment.used + task.demand <= self.capacity {
                continue;
            }
            while at < segment.end && segment.start < at + task.duration {
                let minute = (segment.end - 1).min(at + task.duration - 1);
                at = minute + 1;
                if !trail.raise(
                    Literal::at_least(variable, at),
                    Reason::Full { resource, minute },
                ) {
                    return Err(Clash::NoValue);
                }
            }
        }
        Ok(())
    }

    /// Moves an activity's latest start before where it would overdraw the resource.
    fn push_earlier(
        &self,
        resource: u32,
        task: Task,
        own: (i32, i32),
        trail: &mut Trail,
    ) -> Result<(), Clash> {
        let variable = task.start as usize;
        let mut at = trail.most(variable);
        let end = self
            .profile
            .partition_point(|segment| segment.start < at + task.duration);
        for segment in self.profile[..end].iter().rev() {
            if segment.end <= at {
                break;
            }
            let is_own = own.0 <= segment.start && segment.end <= own.1;
            if is_own || segment.used + task.demand <= self.capacity {
                continue;
            }
            while at < segment.end && segment.start < at + task.duration {
                let minute = segment.start.max(at);
                at = minute - task.duration;
                if !trail.raise(
                    Literal::at_most(variable, at),
                    Reason::Full { resource, minute },
                ) {
                    return Err(Clash::NoValue);
                }
            }
        }
        Ok(())
    }

    /// Collects why an activity cannot run at a minute, from the state before an entry: that it would run there,
    /// and enough others that do.
    pub(super) fn explain_push(
        &mut self,
        trail: &Trail,
        before: usize,
        side: Side,
        minute: i32,
        why: &mut Vec<Literal>,
    ) {
        let variable = side.variable() as u32;
        let Some(&task) = self.tasks.iter().find(|task| task.start == variable) else {
            return;
        };
        // It runs at the minute unless it starts after it, or ends by it.
        why.push(if side.is_most() {
            Literal::new(side, -minute)
        } else {
            Literal::new(side, minute - task.duration + 1)
        });
        let free = self.capacity - task.demand;
        self.explain_use(trail, before, minute, Some(variable), free, why);
    }

    /// Collects why more than `allowed` is used at a minute by others than one activity.
    pub(super) fn explain_use(
        &mut self,
        trail: &Trail,
        before: usize,
        minute: i32,
        except: Option<u32>,
        allowed: i32,
        why: &mut Vec<Literal>,
    ) {
        let root = trail.root_end();
        let mut excess = -allowed;
        self.running.clear();
        for task in &self.tasks {
            let variable = task.start as usize;
            let began = Literal::at_most(variable, minute);
            let lasts = Literal::at_least(variable, minute - task.duration + 1);
            if !trail.is_true(began)
                || !trail.is_true(lasts)
                || Some(task.start) == except
                || trail.bound_before(began.side, before) < began.bound
                || trail.bound_before(lasts.side, before) < lasts.bound
            {
                continue;
            }
            if trail.position(began) < root && trail.position(lasts) < root {
                // Those who run there in every plan cost nothing.
                excess += task.demand;
            } else {
                self.running.push((task.demand, began, lasts));
            }
        }
        // Of the others as few as will do, the largest first.
        let mut count = 0;
        while excess <= 0 && count < self.running.len() {
            excess += self.running[count].0;
            count += 1;
        }
        debug_assert!(excess > 0, "what is explained is so");
        for &(demand, began, lasts) in self.running[..count].iter().rev() {
            if excess > demand {
                excess -= demand;
            } else {
                why.push(began);
                why.push(lasts);
            }
        }
    }
}
