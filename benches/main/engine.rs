//! The engine by itself on generated instances with every feature: the first schedule of one that was just opened,
//! and the next after a tick. Printed, because what matters is the slowest of many and how often none is found.

use std::time::{Duration, Instant};

use countback::schedule::generate::{Random, generate};
use countback::schedule::{Effort, Instance, Outcome, Schedule, solve};
use criterion::Criterion;

use crate::memory;

pub(crate) fn bench(criterion: &mut Criterion) {
    // Asked for by name or with everything else, as the others are; criterion has nothing to time here.
    let _ = criterion;
    let wanted: Vec<String> = std::env::args().skip(1).collect();
    let named = wanted.iter().filter(|word| !word.starts_with("--"));
    if !named.clone().all(|word| "engine".contains(word.as_str())) {
        return;
    }
    let only_try = wanted.iter().any(|word| word == "--test");
    if only_try {
        firsts(50, 1);
        return;
    }
    for (count, seeds) in [(50, 40), (100, 40), (300, 40)] {
        firsts(count, seeds);
    }
    ticks(300, 24);
    for (count, seeds) in [(1_000, 20), (3_000, 12)] {
        firsts(count, seeds);
    }
    match memory::most_memory(std::process::id()) {
        Some(most) => eprintln!("engine/memory after all of these: {most} at most"),
        None => eprintln!("engine/memory: this system does not say"),
    }
}

fn firsts(count: usize, seeds: u64) {
    let (mut times, mut found) = (Vec::new(), 0);
    for seed in 0..seeds {
        let (instance, _) = generate(seed, count);
        let begun = Instant::now();
        let outcome = solve(&instance, Effort::first(&instance));
        times.push(begun.elapsed());
        found += u64::from(schedule(outcome).is_some());
    }
    let what = format!("first schedule, {count} activities: {found} of {seeds} found");
    say(&what, times);
}

/// How long some ticks took, by what came of them. Not found is where the engine is at fault, or could not say that it
/// is not.
#[derive(Default)]
struct Tally {
    found: Vec<Duration>,
    impossible: Vec<Duration>,
    not_found: Vec<Duration>,
}

impl Tally {
    /// Solves again, and notes how that went.
    fn solve(&mut self, instance: &Instance) -> Option<Schedule> {
        let begun = Instant::now();
        let outcome = solve(instance, Effort::first(instance));
        let times = match &outcome {
            Outcome::Optimal(_) | Outcome::Feasible(_) => &mut self.found,
            Outcome::Infeasible(_) => &mut self.impossible,
            Outcome::Unknown(_) => &mut self.not_found,
        };
        times.push(begun.elapsed());
        schedule(outcome)
    }

    fn say(self, what: &str) {
        let Self {
            found,
            impossible,
            not_found,
        } = self;
        for (times, how) in [
            (found, "found"),
            (impossible, "proved impossible"),
            (not_found, "not found"),
        ] {
            say(&format!("{what}: {} {how}", times.len()), times);
        }
    }
}

/// Ticks one activity after another, some a few minutes late, and solves again after each. A tick in time leaves the
/// plan as it was announced, so there is always one; of those late it is not known.
fn ticks(count: usize, seeds: u64) {
    let (mut in_time, mut late, mut moved) = (Tally::default(), Tally::default(), 0);
    for seed in 0..seeds {
        let (mut instance, _) = generate(seed, count);
        let Some(mut plan) = schedule(solve(&instance, Effort::quick(&instance))) else {
            continue;
        };
        let mut random = Random::new(seed);
        for _ in 0..60 {
            let next = (0..count)
                .filter(|&at| instance.activities[at].fixed.is_none())
                .min_by_key(|&at| (plan.placements[at].start, at));
            let Some(next) = next else { break };
            // Half of them in time, the others a few minutes late.
            let minutes = random.between(-5, 5).max(0);
            if minutes > 0 {
                let mut later = instance.clone();
                tick(&mut later, &plan, next, minutes);
                if let Some(new) = late.solve(&later) {
                    (instance, plan) = (later, new);
                    continue;
                }
                // So late that nothing fits any more, or nothing was found: it goes in time instead.
            }
            tick(&mut instance, &plan, next, 0);
            let Some(new) = in_time.solve(&instance) else {
                break;
            };
            let same = new.placements.iter().zip(&plan.placements);
            moved += u32::from(!same.clone().all(|(new, old)| new.start == old.start));
            plan = new;
        }
    }
    in_time.say(&format!("after a tick in time, {count} activities"));
    eprintln!("engine/after a tick in time: {moved} gave another plan than was announced");
    late.say(&format!(
        "after a tick 1 to 5 minutes late, {count} activities"
    ));
}

/// Lets an activity start so much later than planned; nothing to come starts before that, and all of it was
/// announced as planned.
fn tick(instance: &mut Instance, plan: &Schedule, which: usize, late: i32) {
    let now = plan.placements[which].start + late;
    for (at, (activity, placed)) in instance
        .activities
        .iter_mut()
        .zip(&plan.placements)
        .enumerate()
    {
        if activity.fixed.is_some() {
            continue;
        }
        if at == which {
            activity.modes = vec![activity.modes.swap_remove(placed.mode)];
            activity.fixed = Some((now, None));
        } else {
            activity.release = activity.release.max(Some(now));
            activity.announced = Some(placed.start);
        }
    }
}

fn schedule(outcome: Outcome) -> Option<Schedule> {
    match outcome {
        Outcome::Optimal(schedule) | Outcome::Feasible(schedule) => Some(schedule),
        Outcome::Infeasible(_) | Outcome::Unknown(_) => None,
    }
}

fn say(what: &str, mut times: Vec<Duration>) {
    if times.is_empty() {
        eprintln!("engine/{what}");
        return;
    }
    times.sort_unstable();
    let at = |share: usize| {
        let place = (times.len() * share / 100).min(times.len() - 1);
        times[place].as_secs_f64() * 1e3
    };
    eprintln!(
        "engine/{what}; median {:.1} ms, 90 % {:.1}, 99 % {:.1}",
        at(50),
        at(90),
        at(99)
    );
}
