//! What the sheet promises can be kept: whoever does everything at its time always has a plan for the rest, and
//! whoever starts a step as late as "can slip until" says still serves in time.

use std::path::Path;

use countback::load;
use countback::menu::Menu;
use countback::plan::{self, Done, Happened, Plan, PlanOutcome};
use countback::time::*;

fn opened(sample: &str, date: &str, hour: u32) -> (Menu, Plan) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-menus")
        .join(sample);
    let menu = load::menu_file(&path.join("menu.ron")).unwrap().menu;
    let local = Local {
        date: date.parse().unwrap(),
        time: time_of_day(hour, 5).unwrap(),
    };
    let now = Timestamp::from_local(local, Zone::Europe__London);
    let service = plan::service_of(&menu, now, Zone::Europe__London);
    match plan::plan(&menu, service, &Happened::new(), service.minute(now), None) {
        PlanOutcome::Planned(plan) => (menu, plan),
        other => panic!("{other:#?}"),
    }
}

/// What has happened by `now` when everything but the steps of `but` is done exactly as planned.
pub(super) fn as_planned(plan: &Plan, now: Minute, but: &[usize]) -> Happened {
    let steps = plan
        .steps
        .iter()
        .enumerate()
        .filter(|(index, _)| !but.contains(index));
    steps
        .filter_map(|(_, step)| {
            let done = if step.window.end <= now {
                Done::Finished(Some(step.window.start), step.window.end)
            } else if step.window.start < now {
                Done::Started(step.window.start)
            } else {
                return None;
            };
            Some((step.key.clone(), done))
        })
        .collect()
}

fn stays_on_time(sample: &str, date: &str, hour: u32, every: Minutes) {
    let (menu, first) = opened(sample, date, hour);
    let told = plan::told_by_menu(&menu, first.service);
    let mut now = first.steps[first.order[0]].window.start;
    while now < first.span.end {
        let happened = as_planned(&first, now, &[]);
        let outcome = plan::plan(&menu, first.service, &happened, now, told.as_ref());
        let at = first.service.local(now);
        let PlanOutcome::Planned(again) = outcome else {
            panic!("{sample} at {at}: {outcome:#?}")
        };
        for (step, planned) in again.steps.iter().zip(&first.steps) {
            assert_eq!(
                step.window, planned.window,
                "{sample} at {at}: {} has moved",
                step.key
            );
        }
        now += every;
    }
}

/// What must be ready together with a step: it waits for it, whenever it was to begin.
fn ready_with(menu: &Menu, plan: &Plan, step: usize) -> Vec<usize> {
    let of = |index: usize| {
        let key = &plan.steps[index].key;
        let dish = menu.dishes.iter().find(|dish| dish.id == key.dish)?;
        dish.steps.iter().find(|it| it.id == key.step)
    };
    let (Some(own), key) = (of(step), &plan.steps[step].key) else {
        return Vec::new();
    };
    let others = (0..plan.steps.len()).filter(|&other| plan.steps[other].key.dish == key.dish);
    let tied = others.filter(|&other| {
        let it = of(other).unwrap();
        own.together.contains(&it.id) || it.together.contains(&own.id)
    });
    tied.collect()
}

fn slips_as_promised(sample: &str, date: &str, hour: u32) -> usize {
    let (menu, first) = opened(sample, date, hour);
    let told = plan::told_by_menu(&menu, first.service);
    let mut slipping = 0;
    for (index, step) in first.steps.iter().enumerate() {
        if step.can_slip_until <= step.window.start {
            continue;
        }
        slipping += 1;
        let mut after = vec![index];
        let mut at = 0;
        while at < after.len() {
            let follow = first.steps[after[at]].followed_by.iter().copied();
            let next = follow.chain(ready_with(&menu, &first, after[at]));
            after.extend(next.filter(|it| !after.contains(it)).collect::<Vec<_>>());
            at += 1;
        }
        let now = step.can_slip_until;
        let happened = as_planned(&first, now, &after);
        let outcome = plan::plan(&menu, first.service, &happened, now, told.as_ref());
        assert!(
            matches!(outcome, PlanOutcome::Planned(_)),
            "{sample}: {} slipped until {}: {outcome:#?}",
            step.key,
            first.service.local(now)
        );
    }
    slipping
}

#[test]
fn the_demonstration_stays_on_time() {
    stays_on_time("lantern-supper", "2026-11-26", 14, Minutes(97));
}

#[test]
fn first_steps_stay_on_time() {
    stays_on_time("first-steps", "2026-12-04", 9, Minutes(31));
}

#[test]
fn the_large_one_stays_on_time() {
    stays_on_time("harbour-gala", "2026-12-08", 6, Minutes(487));
}

#[test]
fn every_sample_slips_as_promised() {
    let slipping = slips_as_promised("lantern-supper", "2026-11-26", 14)
        + slips_as_promised("first-steps", "2026-12-04", 9)
        + slips_as_promised("harbour-gala", "2026-12-08", 6);
    assert!(slipping >= 40, "only {slipping} steps can slip at all");
}
