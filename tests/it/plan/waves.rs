//! Vessels used in waves: each test is a plan that the search once did not find.

use super::promises::as_planned;
use super::{menu, planned, service};
use countback::menu::Menu;
use countback::plan::{self, PlanOutcome};
use countback::time::*;

const KITCHEN: &str = "open: [Open(days: \"every day\", at: \"06:00..24:00\")],
    cooks: [Cook(name: \"a\"), Cook(name: \"b\")],
    kit: [Kit(id: \"mould\", name: \"mould\", count: 2), Kit(id: \"freezer\", name: \"freezer\", count: 16)]";

/// Two moulds and four batches: two waves, each six hours in the cold.
fn two_waves(kept_after: &str) -> Menu {
    let dish = format!(
        "Serve(covers: 4, dish: Dish(id: \"ices\", name: \"Ices\", batch: Batch(portions: 1), steps: [
            Step(id: \"mix\", name: \"Mix\", time: \"10 min\", after: [], keeps: \"1 day\"),
            Step(id: \"fill\", name: \"Fill\", each: Batch, time: \"10 min\", keeps_kit: [Keep(kit: \"mould\", until: \"unmould\")], after: [\"mix\"]),
            Step(id: \"freeze\", name: \"Freeze\", each: Batch, time: \"6h\", hands: \"left alone\", after: [\"fill\"]),
            Step(id: \"unmould\", name: \"Unmould\", each: Batch, time: \"10 min\", {kept_after} after: [\"freeze\"]),
            Step(id: \"carry\", name: \"Carry\", time: \"15 min\", after: [\"unmould\"]),
        ]))"
    );
    menu("Europe/London", "2026-12-12 20:00", KITCHEN, &dish)
}

#[test]
fn moulds_are_filled_twice() {
    let plan = planned(&two_waves(""));
    let (_, first) = plan.find(&"ices/fill".parse().unwrap()).unwrap();
    let (_, last) = plan.find(&"ices/fill#4".parse().unwrap()).unwrap();
    assert!(last.window.start - first.window.start >= Minutes(380));
}

/// What is turned out keeps a shelf of its own: that hold must not be opened for every batch before the moulds of
/// the last are given back.
#[test]
fn moulds_are_filled_twice_although_what_is_turned_out_keeps_a_shelf() {
    planned(&two_waves(
        "keeps_kit: [Keep(kit: \"freezer\", from: End, until: \"carry\", to: Start)],",
    ));
}

/// Moulds that are full now are needed only until they are turned out, not for ever.
#[test]
fn between_the_waves_the_rest_is_still_planned() {
    let menu = two_waves("");
    let first = planned(&menu);
    let mut now = first.steps[first.order[0]].window.start;
    while now < Minute::SERVICE {
        let happened = as_planned(&first, now, &[]);
        let outcome = plan::plan(&menu, service(&menu), &happened, now, None);
        assert!(
            matches!(outcome, PlanOutcome::Planned(_)),
            "{}: {outcome:#?}",
            first.service.local(now)
        );
        now += Minutes(20);
    }
}
