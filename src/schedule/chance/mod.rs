//! What becomes of a schedule when activities do not last as long as planned: the chance of being in time.
//!
//! # What is simulated
//! A schedule that has been announced, by Monte Carlo: each sample draws a length for every activity (`lengths`)
//! and lays the day out once in the order the schedule has (`replay`, on the [partial
//! order](super::partial_order) of its resources):
//!
//! - Nobody starts before the time announced; only where waiting for it would break a longest gap to what has
//!   ended early does an activity start as soon as that gap asks.
//! - Whatever waits, waits as long as it must: for lags, for the resource to come free, for the next time that
//!   calendars and capacity leave room. A wait for a gate that is missed goes on until the next opening.
//! - Whether an activity fits before its calendar or its resource closes is judged by its planned length,
//!   because nobody knows the other yet; whoever has begun stays to the end, and what is kept on longer than
//!   planned is kept on.
//! - An end may wait (for hands that take a thing off); so may a look in the middle. A start that has been made is
//!   never taken back: a longest gap, or a lag back to something earlier, that comes out broken is counted.
//!
//! # What it says
//! For each [`Target`] the share of samples in which it is in time, how late it gets, which activities overran on
//! the chain that made it late, and ([`margins_unless`]) how much earlier all that leads to it would have to be announced
//! for a wanted chance, tried by simulating it.
//!
//! # What it leaves out
//! Lengths are drawn independently of each other, nobody finds a cleverer order on the day, and other modes are
//! not switched to: replanning does better, so the chance is a cautious one. A question with the same
//! seed has the same answer on every machine.

mod lengths;
mod replay;

pub use lengths::Spread;

use super::problem::{ActivityId, Instance, Time};
use super::solution::Placement;
use lengths::Numbers;
use replay::{NEVER, Replay};

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// The instance; lengths are those of the modes chosen.
    pub instance: &'a Instance,
    /// The schedule announced, which keeps all rules of the instance.
    pub placements: &'a [Placement],
    /// How long each activity may take. What waits for a gate, or has ended, is as planned in any case.
    pub spreads: &'a [Spread],
    /// What should be in time.
    pub targets: &'a [Target],
    /// Nothing that has not started starts before this, and nothing that runs ends before it.
    pub now: Option<Time>,
}

/// Something that should be in time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    /// The activities that must have ended.
    pub ends: Vec<ActivityId>,
    /// By when.
    pub due: Time,
}

/// How much is simulated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Samples {
    /// How many days are laid out.
    pub count: u32,
    /// Which days: the same seed draws the same lengths.
    pub seed: u64,
}

/// What a simulation says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chance {
    /// One for each target.
    pub targets: Vec<Outlook>,
    /// All targets together: in time when each is.
    pub all: Outlook,
    /// Lags that came out broken though they held in the schedule, by place in the instance, with in how many
    /// samples; none with none.
    pub broken: Vec<(usize, u32)>,
    /// Activities that ended after their deadline, likewise.
    pub overdue: Vec<(ActivityId, u32)>,
}

/// How a target comes out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outlook {
    /// How many samples there are.
    pub samples: u32,
    /// In how many it is in time.
    pub in_time: u32,
    /// Activities that overran on the chain that made it late, with in how many samples; the most often first.
    pub causes: Vec<(ActivityId, u32)>,
    /// Minutes from due to end in every sample, rising; negative for early.
    lateness: Vec<Time>,
}

impl Outlook {
    /// Returns whether at least so many of a thousand samples are in time.
    pub fn reaches(&self, of_thousand: u32) -> bool {
        u64::from(self.in_time) * 1000 >= u64::from(self.samples) * u64::from(of_thousand)
    }

    /// Returns how late (negative: early) it is at most in so many of a thousand samples; `None` where that many
    /// samples do not end at all, because a gate or calendar that is missed never opens again.
    pub fn quantile(&self, of_thousand: u32) -> Option<Time> {
        let rank = (self.lateness.len() as u64 * u64::from(of_thousand.min(1000))).div_ceil(1000);
        let late = *self.lateness.get((rank as usize).saturating_sub(1))?;
        (late < NEVER / 2).then_some(late)
    }
}

/// A margin that gives a wanted chance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Margin {
    /// How many minutes earlier everything that leads to the target is announced.
    pub earlier: Time,
    /// In how many samples the target is then in time.
    pub in_time: u32,
}

/// Rounds in which margins are widened at most.
const ROUNDS: u32 = 6;

/// Returns what a simulation says.
///
/// `None` where `stop`, asked now and then, says that it is not wanted any more.
pub fn chance_unless(
    question: &Question<'_>,
    samples: Samples,
    stop: &dyn Fn() -> bool,
) -> Option<Chance> {
    simulate(question, &mut Replay::new(question), samples, stop)
}

/// Returns, for each target that `answer` does not show in time in so many of a thousand samples, how much earlier
/// it would have to be announced; found as the quantile of its lateness and tried by simulating all of them
/// together. `None` for targets that need none, and for those that no such margin helps; for all of them where
/// `stop` says that it is not wanted any more.
pub fn margins_unless(
    question: &Question<'_>,
    answer: &Chance,
    of_thousand: u32,
    samples: Samples,
    stop: &dyn Fn() -> bool,
) -> Option<Vec<Option<Margin>>> {
    let wanting: Vec<bool> = answer
        .targets
        .iter()
        .map(|target| !target.reaches(of_thousand))
        .collect();
    let mut found = vec![None; wanting.len()];
    let mut earlier = vec![0; wanting.len()];
    let mut shown = answer.targets.clone();
    let mut replay = Replay::new(question);
    for _ in 0..ROUNDS {
        let mut wider = false;
        for (target, outlook) in shown.iter().enumerate() {
            if !wanting[target] || found[target].is_some() {
                continue;
            }
            if let Some(late) = outlook.quantile(of_thousand).filter(|&late| late > 0) {
                earlier[target] += late;
                wider = true;
            } else if outlook.reaches(of_thousand) && earlier[target] == 0 {
                // It is in time only by what the others have been given; the same is tried for itself.
                earlier[target] = earlier.iter().copied().max().unwrap_or(0);
                wider = true;
            }
        }
        if !wider {
            break;
        }
        replay.announce_earlier(question, &earlier);
        shown = simulate(question, &mut replay, samples, stop)?.targets;
        for (target, outlook) in shown.iter().enumerate() {
            // What is announced earlier for one may help another more than it needs; each keeps its own.
            if wanting[target] && earlier[target] > 0 && outlook.reaches(of_thousand) {
                found[target].get_or_insert(Margin {
                    earlier: earlier[target],
                    in_time: outlook.in_time,
                });
            }
        }
    }
    Some(found)
}

/// Samples between two questions whether to stop.
const SLICE: u32 = 64;

fn simulate(
    question: &Question<'_>,
    replay: &mut Replay,
    samples: Samples,
    stop: &dyn Fn() -> bool,
) -> Option<Chance> {
    let count = question.targets.len();
    let activities = question.instance.activities.len();
    let mut tally: Vec<Tally> = vec![Tally::new(activities); count + 1];
    let mut broken = vec![0_u32; question.instance.lags.len()];
    let mut overdue = vec![0_u32; activities];
    for sample in 0..samples.count {
        if sample % SLICE == 0 && stop() {
            return None;
        }
        replay.run(question.instance, &mut Numbers::of(samples.seed, sample));
        let mut worst: Option<(Time, ActivityId)> = None;
        for (target, tally) in question.targets.iter().zip(&mut tally) {
            let last = target
                .ends
                .iter()
                .map(|&it| (replay.end(it), it))
                .max_by_key(|it| it.0);
            let Some((end, last)) = last else { continue };
            let late = end - target.due;
            tally.count(replay, late, last);
            if worst.is_none_or(|(most, _)| late > most) {
                worst = Some((late, last));
            }
        }
        if let Some((late, last)) = worst {
            tally[count].count(replay, late, last);
        }
        replay.broken(|lag| broken[lag] += 1);
        replay.overdue(|activity| overdue[activity.0] += 1);
    }
    let counted = |counts: Vec<u32>| -> Vec<(usize, u32)> {
        let counts = counts.into_iter().enumerate();
        counts.filter(|&(_, count)| count > 0).collect()
    };
    let mut outlooks: Vec<Outlook> = tally.into_iter().map(Tally::outlook).collect();
    let all = outlooks.pop().unwrap_or_else(|| Tally::new(0).outlook());
    Some(Chance {
        targets: outlooks,
        all,
        broken: counted(broken),
        overdue: counted(overdue)
            .into_iter()
            .map(|(activity, count)| (ActivityId(activity), count))
            .collect(),
    })
}

/// What is counted for one target.
#[derive(Clone)]
struct Tally {
    in_time: u32,
    lateness: Vec<Time>,
    causes: Vec<u32>,
}

impl Tally {
    fn new(activities: usize) -> Self {
        Self {
            in_time: 0,
            lateness: Vec::new(),
            causes: vec![0; activities],
        }
    }

    fn count(&mut self, replay: &Replay, late: Time, last: ActivityId) {
        self.lateness.push(late);
        if late <= 0 {
            self.in_time += 1;
        } else {
            replay.overran_before(last, |activity| self.causes[activity.0] += 1);
        }
    }

    fn outlook(mut self) -> Outlook {
        self.lateness.sort_unstable();
        let mut causes: Vec<(ActivityId, u32)> = self
            .causes
            .into_iter()
            .enumerate()
            .filter(|&(_, count)| count > 0)
            .map(|(activity, count)| (ActivityId(activity), count))
            .collect();
        causes.sort_by_key(|&(activity, count)| (std::cmp::Reverse(count), activity));
        Outlook {
            samples: self.lateness.len() as u32,
            in_time: self.in_time,
            causes,
            lateness: self.lateness,
        }
    }
}

#[cfg(test)]
mod tests;
