//! The engine, from the outside.

mod announced;
pub(super) mod arbitrary;
mod bounds;
mod brute;
mod corners;
mod determinism;
mod large;
mod metamorphic;
mod mutated;
mod oracle;
mod projects;
mod published;
mod reference;
mod refused;

use countback::schedule::*;

/// Returns what the engine answers with so many shares of a small effort, which is fixed: no clock decides.
fn answer(instance: &Instance, shares: u32) -> Outcome {
    let effort = Effort {
        orders: 30 * shares,
        improve: shares,
        take_backs: 200,
        threads: 1,
        seed: 1,
    };
    solve(instance, effort)
}

/// Returns how many cases a property runs: few with every test run, as many as `COUNTBACK_CASES` says by hand.
fn cases(few: u32) -> u32 {
    let asked = std::env::var("COUNTBACK_CASES").ok();
    asked.and_then(|count| count.parse().ok()).unwrap_or(few)
}

/// Returns an activity of fixed length with these whole-length demands `(resource, quantity)`.
fn activity(length: Time, demands: &[(usize, i32)]) -> Activity {
    Activity {
        modes: vec![Mode {
            duration: Duration::Fixed(length),
            demands: demands
                .iter()
                .map(|&(resource, quantity)| Demand {
                    resource: ResourceId(resource),
                    quantity,
                    when: Use::Whole,
                })
                .collect(),
            states: Vec::new(),
            cost: 0,
        }],
        calendars: Vec::new(),
        release: None,
        deadline: None,
        due: None,
        fixed: None,
        weight: 1,
        announced: None,
    }
}

/// Returns "`to` starts after `from` has ended".
fn after(from: usize, to: usize) -> Lag {
    Lag {
        from: (ActivityId(from), Edge::End),
        to: (ActivityId(to), Edge::Start),
        least: 0,
        most: None,
    }
}
