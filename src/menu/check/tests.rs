//! The search for contradicting gaps against brute force. What each rule says stands in
//! `tests/data/broken-menus`, and that a good menu breaks none in `tests/it/load.rs`.

use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;

use super::check_dish;
use crate::menu::{
    After, Dish, Edge, Freshness, Gap, GapLeast, Hands, Multiple, Step, StepTime, Work,
};
use crate::time::Minutes;

fn step(id: usize, shortest: i32, longest: i32, after: Vec<After>, together: Vec<String>) -> Step {
    Step {
        id: format!("s{id}"),
        name: "a step".to_owned(),
        method: None,
        each: Multiple::Dish,
        station: None,
        skill: None,
        time: StepTime::Elapsed(Work {
            shortest: i64::from(shortest) * 60,
            usual: None,
            longest: i64::from(longest) * 60,
            ..Work::default()
        }),
        until: None,
        goal: None,
        hands: Hands::default(),
        uses: Vec::new(),
        keeps_kit: Vec::new(),
        after,
        together,
        not_before: None,
        done_by: None,
        within: None,
        fresh: Freshness::default(),
        ways: Vec::new(),
        temperature: None,
        cooling: None,
        control: None,
        sugar: None,
        cautions: Vec::new(),
    }
}

fn dish(steps: Vec<Step>) -> Dish {
    Dish {
        id: "d".to_owned(),
        name: "a dish".to_owned(),
        note: None,
        course: String::new(),
        covers: None,
        spare: 0,
        batches: None,
        margin: Minutes::ZERO,
        batch: None,
        ingredients: Vec::new(),
        steps,
        repeats: Vec::new(),
        rescues: Vec::new(),
        fresh: Freshness::default(),
        control: None,
        waits_at: None,
    }
}

fn afters() -> impl Strategy<Value = Vec<After>> {
    let edge = prop_oneof![3 => Just(Edge::End), 1 => Just(Edge::Start)];
    let after = (
        0..3_usize,
        edge.clone(),
        edge,
        0..4,
        proptest::option::of(0..3),
    );
    let after = after.prop_map(|(step, from, to, least, more)| After {
        step: format!("s{step}"),
        gap: Gap {
            least: GapLeast::Elapsed(Minutes(least)),
            most: more.map(|more| Minutes(least + more)),
        },
        from,
        to,
    });
    proptest::collection::vec(after, 0..3)
}

/// Steps with their windows: `holds` says whether every gap is kept.
fn holds(dish: &Dish, windows: &[(i32, i32)]) -> bool {
    let edge = |step: usize, edge| match edge {
        Edge::Start => windows[step].0,
        Edge::End => windows[step].1,
    };
    let find = |id: &str| dish.steps.iter().position(|step| step.id == id);
    dish.steps.iter().enumerate().all(|(place, step)| {
        let gaps = step.after.iter().all(|after| {
            let Some(other) = find(&after.step) else {
                return false;
            };
            let gap = edge(place, after.to) - edge(other, after.from);
            let least = match after.gap.least {
                GapLeast::Elapsed(least) => least.0,
                GapLeast::Nights(_) => return false,
            };
            least <= gap && after.gap.most.is_none_or(|most| gap <= most.0)
        });
        let together = step.together.iter().all(|other| {
            find(other).is_some_and(|other| edge(other, Edge::End) == edge(place, Edge::End))
        });
        gaps && together
    })
}

/// Tries every placement of three steps within 24 minutes.
fn can_be_placed(dish: &Dish, lengths: &[(i32, i32)]) -> bool {
    let windows = |step: usize| {
        let (shortest, longest) = lengths[step];
        (0..24)
            .flat_map(move |start| (shortest..=longest).map(move |length| (start, start + length)))
    };
    windows(0).any(|first| {
        windows(1).any(|second| windows(2).any(|third| holds(dish, &[first, second, third])))
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct(
            "tests/proptest-regressions/check.txt",
        ))),
        ..ProptestConfig::with_cases(200)
    })]

    #[test]
    fn gaps_are_found_to_contradict_exactly_when_they_do(
        steps in proptest::collection::vec((1..4_i32, 0..2_i32, afters(), 0..8_usize), 3),
    ) {
        let lengths: Vec<_> = steps.iter().map(|&(shortest, more, ..)| (shortest, shortest + more)).collect();
        let steps = steps.into_iter().enumerate().map(|(place, (shortest, more, after, other))| {
            let together = (other < 3 && other != place).then(|| format!("s{other}"));
            step(place, shortest, shortest + more, after, together.into_iter().collect())
        });
        let dish = dish(steps.collect());
        let findings = check_dish(&dish);
        prop_assert_eq!(findings.is_empty(), can_be_placed(&dish, &lengths), "{:?}", findings);
    }
}
