//! How short a schedule can be at most: lower bounds on the makespan.
//!
//! Three, from cheap to dear. The critical path forgets the resources. Head–tail energy asks of each resource how
//! long it is busy with what cannot begin before some moment, and what must still follow. Destructive
//! improvement (R. Klein, A. Scholl, "Computing lower bounds by destructive improvement", 1999) supposes a
//! makespan, narrows the windows of all activities by every rule it has, and when a window vanishes the makespan
//! is refuted. The rules: lags; pairs that cannot run side by side; and energy in intervals, the least work that
//! must fall into one against what there is (P. Baptiste, C. Le Pape, W. Nuijten, "Satisfiability tests and time-bound
//! adjustments for cumulative scheduling problems", 1999). All from memory.
//!
//! Left out on purpose: bounds that need linear programs, and learning from refutations, which
//! [`exact`](super::exact) does.

use super::super::problem::Time;
use super::Project;

/// Returns a makespan no schedule is shorter than, at once: by critical path and head–tail energy. `None` where
/// there is proved to be no schedule at all.
pub fn quick(project: &Project) -> Option<Time> {
    // Who takes no time needs nothing, whatever is written.
    let fits = |(&length, demands): (&Time, &Vec<i32>)| {
        let mut each = demands.iter().zip(&project.capacities);
        length == 0 || each.all(|(need, have)| need <= have)
    };
    if !project.durations.iter().zip(&project.demands).all(fits) {
        return None;
    }
    let heads = project.critical_path()?;
    let tails = tails(project, &heads)?;
    let path = heads.last().copied().unwrap_or(0);
    Some(path.max(head_tail_energy(project, &heads, &tails)))
}

/// Returns a makespan no schedule is shorter than, raised from `bound`, which is one, by refuting one after
/// another below `best`, the makespan of a known schedule. The work is counted in activities looked at.
pub fn refuted(project: &Project, bound: Time, best: Time, work: u64) -> Time {
    let windows = project.critical_path().and_then(|heads| {
        let tails = tails(project, &heads)?;
        Some((heads, tails))
    });
    let Some((heads, tails)) = windows else {
        return bound;
    };
    let mut bound = bound;
    let mut refuter = Refuter::new(project, work);
    // Twice as far with each refutation, and half as far once a makespan stands.
    let (mut step, mut stands) = (1, best);
    while bound < stands {
        let target = bound.saturating_add(step - 1).min(stands - 1);
        match refuter.refutes(&heads, &tails, target) {
            Some(true) => {
                bound = target + 1;
                step *= 2;
            }
            Some(false) => {
                stands = target;
                step = ((target - bound + 1) / 2).max(1);
            }
            None => break,
        }
    }
    bound
}

/// Returns the least time from the start of each activity to the end of everything.
fn tails(project: &Project, heads: &[Time]) -> Option<Vec<Time>> {
    let reversed = Project {
        durations: vec![0; heads.len()],
        arcs: project
            .arcs
            .iter()
            .map(|&(from, to, lag)| (to, from, lag))
            .collect(),
        ..Project::default()
    };
    let mut tails = reversed.critical_path()?;
    for (tail, length) in tails.iter_mut().zip(&project.durations) {
        *tail = (*tail).max(*length);
    }
    Some(tails)
}

fn head_tail_energy(project: &Project, heads: &[Time], tails: &[Time]) -> Time {
    let mut best = 0;
    for (resource, &capacity) in project.capacities.iter().enumerate() {
        // Who needs it, by falling time from the end to the end of everything.
        let mut users: Vec<(i64, i64, i64)> = (0..project.len())
            .filter(|&at| project.demands[at][resource] > 0 && project.durations[at] > 0)
            .map(|at| {
                let energy =
                    i64::from(project.demands[at][resource]) * i64::from(project.durations[at]);
                (
                    i64::from(tails[at] - project.durations[at]),
                    i64::from(heads[at]),
                    energy,
                )
            })
            .collect();
        users.sort_unstable_by_key(|user| std::cmp::Reverse(user.0));
        let mut thresholds: Vec<i64> = users.iter().map(|user| user.1).collect();
        thresholds.sort_unstable();
        thresholds.dedup();
        for from in thresholds {
            let mut energy = 0;
            for &(rest, head, more) in &users {
                if head >= from {
                    energy += more;
                    let busy = (energy + i64::from(capacity) - 1) / i64::from(capacity);
                    best = best.max(from + busy + rest);
                }
            }
        }
    }
    Time::try_from(best).unwrap_or(Time::MAX)
}

/// Which pairs cannot run side by side, and how much work is left.
struct Refuter<'a> {
    project: &'a Project,
    /// For each resource, who uses it.
    users: Vec<Vec<usize>>,
    /// Pairs that share a resource with too little for both.
    pairs: Vec<(usize, usize)>,
    work: u64,
}

/// A window in which an activity starts.
#[derive(Clone)]
struct Windows {
    earliest: Vec<Time>,
    latest: Vec<Time>,
}

/// A window has vanished.
struct Refuted;

impl Windows {
    fn not_before(&mut self, at: usize, time: Time) -> Result<bool, Refuted> {
        if time <= self.earliest[at] {
            return Ok(false);
        }
        self.earliest[at] = time;
        if time > self.latest[at] {
            Err(Refuted)
        } else {
            Ok(true)
        }
    }

    fn not_after(&mut self, at: usize, time: Time) -> Result<bool, Refuted> {
        if time >= self.latest[at] {
            return Ok(false);
        }
        self.latest[at] = time;
        if time < self.earliest[at] {
            Err(Refuted)
        } else {
            Ok(true)
        }
    }
}

impl<'a> Refuter<'a> {
    fn new(project: &'a Project, work: u64) -> Self {
        let busy = |&at: &usize| project.durations[at] > 0;
        let users = (0..project.capacities.len())
            .map(|resource| {
                let uses = |&at: &usize| project.demands[at][resource] > 0;
                (0..project.len()).filter(busy).filter(uses).collect()
            })
            .collect();
        let too_much = |one: usize, other: usize| {
            let demands = project.demands[one].iter().zip(&project.demands[other]);
            demands
                .zip(&project.capacities)
                .any(|((&one, &other), &have)| i64::from(one) + i64::from(other) > i64::from(have))
        };
        let mut pairs = Vec::new();
        for one in (0..project.len()).filter(busy) {
            for other in (one + 1..project.len()).filter(busy) {
                if too_much(one, other) {
                    pairs.push((one, other));
                }
            }
        }
        Self {
            project,
            users,
            pairs,
            work,
        }
    }

    /// Returns whether there is no schedule with this makespan, or `None` when the work is used up.
    fn refutes(&mut self, heads: &[Time], tails: &[Time], target: Time) -> Option<bool> {
        let mut windows = Windows {
            earliest: heads.to_vec(),
            latest: tails.iter().map(|&tail| target - tail).collect(),
        };
        let vanished = |(earliest, latest): (&Time, &Time)| earliest > latest;
        if windows.earliest.iter().zip(&windows.latest).any(vanished) {
            return Some(true);
        }
        loop {
            match self.narrow(&mut windows) {
                Err(Refuted) => return Some(true),
                Ok(narrowed) if self.work > 0 => {
                    if !narrowed {
                        return Some(false);
                    }
                }
                Ok(_) => return None,
            }
        }
    }

    fn narrow(&mut self, windows: &mut Windows) -> Result<bool, Refuted> {
        let mut any = false;
        loop {
            let mut narrowed = self.lags(windows)?;
            narrowed |= self.disjoint(windows)?;
            any |= narrowed;
            if !narrowed || self.work == 0 {
                break;
            }
        }
        for resource in 0..self.users.len() {
            any |= self.energy(resource, windows)?;
        }
        Ok(any)
    }

    fn spend(&mut self, work: usize) {
        self.work = self.work.saturating_sub(work as u64);
    }

    fn lags(&mut self, windows: &mut Windows) -> Result<bool, Refuted> {
        self.spend(self.project.arcs.len());
        let mut narrowed = false;
        for &(from, to, lag) in &self.project.arcs {
            narrowed |= windows.not_before(to, windows.earliest[from] + lag)?;
            narrowed |= windows.not_after(from, windows.latest[to] - lag)?;
        }
        Ok(narrowed)
    }

    /// Of two that cannot run side by side one comes first; where only one order is left, it holds.
    fn disjoint(&mut self, windows: &mut Windows) -> Result<bool, Refuted> {
        self.spend(self.pairs.len());
        let mut narrowed = false;
        let length = &self.project.durations;
        for &(one, other) in &self.pairs {
            let can = |first: usize, second: usize| {
                windows.earliest[first] + length[first] <= windows.latest[second]
            };
            let (first, second) = match (can(one, other), can(other, one)) {
                (true, true) => continue,
                (true, false) => (one, other),
                (false, true) => (other, one),
                (false, false) => return Err(Refuted),
            };
            narrowed |= windows.not_before(second, windows.earliest[first] + length[first])?;
            narrowed |= windows.not_after(first, windows.latest[second] - length[first])?;
        }
        Ok(narrowed)
    }

    /// What must fall into an interval fits into it, and where an activity would not fit beside the rest, it
    /// moves out.
    fn energy(&mut self, resource: usize, windows: &mut Windows) -> Result<bool, Refuted> {
        let capacity = i64::from(self.project.capacities[resource]);
        let users = std::mem::take(&mut self.users[resource]);
        let result = self.energy_of(&users, resource, capacity, windows);
        self.users[resource] = users;
        result
    }

    fn energy_of(
        &mut self,
        users: &[usize],
        resource: usize,
        capacity: i64,
        windows: &mut Windows,
    ) -> Result<bool, Refuted> {
        let length = &self.project.durations;
        // From starts and latest starts to ends: where the least work of an interval can change its slope.
        let mut froms: Vec<Time> = users
            .iter()
            .flat_map(|&at| [windows.earliest[at], windows.latest[at]])
            .collect();
        let mut untils: Vec<Time> = users
            .iter()
            .flat_map(|&at| {
                [
                    windows.earliest[at] + length[at],
                    windows.latest[at] + length[at],
                ]
            })
            .collect();
        for moments in [&mut froms, &mut untils] {
            moments.sort_unstable();
            moments.dedup();
        }
        let mut narrowed = false;
        let mut least = vec![0_i64; users.len()];
        for &from in &froms {
            for &until in untils.iter().filter(|&&until| until > from) {
                self.work = self.work.saturating_sub(users.len() as u64);
                let span = until - from;
                let room = capacity * i64::from(span);
                let mut sum = 0;
                for (least, &at) in least.iter_mut().zip(users) {
                    let left = windows.earliest[at] + length[at] - from;
                    let right = until - windows.latest[at];
                    let inside = left.min(right).min(span).min(length[at]).max(0);
                    *least = i64::from(inside) * i64::from(self.project.demands[at][resource]);
                    sum += *least;
                }
                if sum > room {
                    return Err(Refuted);
                }
                // Only where the rest is tight can anyone be in the way.
                if 2 * sum < room {
                    continue;
                }
                for (&least, &at) in least.iter().zip(users) {
                    let need = i64::from(self.project.demands[at][resource]);
                    let beside = room - (sum - least);
                    let left = (windows.earliest[at] + length[at] - from)
                        .min(span)
                        .min(length[at]);
                    let right = (until - windows.latest[at]).min(span).min(length[at]);
                    if i64::from(left) * need > beside {
                        let out = until - (beside / need) as Time;
                        narrowed |= windows.not_before(at, out)?;
                    }
                    if i64::from(right) * need > beside {
                        let out = from + (beside / need) as Time - length[at];
                        narrowed |= windows.not_after(at, out)?;
                    }
                }
            }
            if self.work == 0 {
                break;
            }
        }
        Ok(narrowed)
    }
}
