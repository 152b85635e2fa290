//! The engine, from the outside.

mod bounds;
mod brute;
mod published;
mod refused;

use countback::schedule::*;

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
