//! Menus that cannot be done: why, in the menu's own words, and what would make them possible.

use countback::menu::Menu;
use countback::plan::{self, Asked, Happened, PLANNINGS, PlanOutcome, Way, WayOut, WaysOut};
use countback::time::*;

use super::{audit, menu, service};

fn outcome(menu: &Menu, now: Minute) -> PlanOutcome {
    plan::plan(menu, service(menu), &Happened::new(), now, None)
}

fn because(menu: &Menu) -> Vec<String> {
    match outcome(menu, A_WEEK_BEFORE) {
        PlanOutcome::Impossible(because) => because,
        other => panic!("{other:#?}"),
    }
}

fn asked<'a>(menu: &'a Menu, happened: &'a Happened, now: Minute) -> Asked<'a> {
    Asked {
        menu,
        service: service(menu),
        happened,
        now,
        told: None,
        shown: None,
    }
}

/// Returns the ways out of a menu, each of its plans audited.
fn ways(menu: &Menu, now: Minute) -> Vec<WayOut> {
    let (outcome, happened) = (outcome(menu, now), Happened::new());
    let found = plan::ways_out(asked(menu, &happened, now), &outcome, PLANNINGS, &|| false);
    for way in &found {
        let moved = way.plan.service.minute(service(menu).timestamp(now));
        assert_eq!(
            audit::audit(&way.menu, &way.plan, moved),
            Vec::<String>::new(),
            "{}",
            way.says
        );
    }
    found
}

fn said(ways: &[WayOut]) -> Vec<&str> {
    ways.iter().map(|way| way.says.as_str()).collect()
}

const A_WEEK_BEFORE: Minute = Minute(-7 * 1440);

const KITCHEN: &str = "open: [Open(days: \"every day\", at: \"07:00..22:00\")],
    cooks: [Cook(name: \"one\", shifts: [Shift(days: \"every day\", at: \"14:00..18:00\")]),
            Cook(name: \"two\", shifts: [Shift(days: \"every day\", at: \"14:00..18:00\")])],
    kit: [Kit(id: \"oven\", name: \"Oven\", count: 1)]";

/// Returns a menu of dishes with one step of so many minutes each, with these fields.
fn dishes(count: usize, minutes: u32, fields: &str) -> Menu {
    let dishes: Vec<String> = (1..=count)
        .map(|number| {
            format!(
                "Serve(dish: Dish(id: \"d{number}\", name: \"Tart {number}\", keeps: \"6h\",
                   steps: [Step(id: \"bake\", name: \"Bake\", time: \"{minutes} min\", {fields})]))"
            )
        })
        .collect();
    menu(
        "Europe/London",
        "2026-11-28 19:30",
        KITCHEN,
        &dishes.join(", "),
    )
}

#[test]
fn a_full_afternoon_is_told_with_its_minutes_and_what_fills_it() {
    // Seven times 77 minutes of one cook each, within six hours of half past seven: only from two to six is
    // anybody there.
    let menu = dishes(7, 77, "hands: \"throughout\"");
    insta::assert_snapshot!(because(&menu).join("\n"), @r#"
    between Sat 14:00 and Sat 18:00 two people have 480 minutes, and these seven steps need 539 there at the least:
    "Bake" of Tart 1
    "Bake" of Tart 2
    "Bake" of Tart 3
    "Bake" of Tart 4
    "Bake" of Tart 5
    "Bake" of Tart 6
    "Bake" of Tart 7
    "#);
}

#[test]
fn one_more_pair_of_hands_that_afternoon_is_a_way_out() {
    let menu = dishes(7, 77, "hands: \"throughout\"");
    insta::assert_snapshot!(said(&ways(&menu, A_WEEK_BEFORE)).join("\n"), @r#"
    one more pair of hands from Sat 14:00 to Sat 18:00: first step Sat 14:09
    without Tart 1: first step Sat 14:09
    without Tart 2: first step Sat 14:09
    without Tart 3: first step Sat 14:09
    without Tart 4: first step Sat 14:09
    without Tart 5: first step Sat 14:09
    without Tart 6: first step Sat 14:09
    without Tart 7: first step Sat 14:09
    "#);
}

#[test]
fn an_oven_too_few_is_told_and_one_more_is_the_way_out() {
    let menu = dishes(6, 90, "uses: [Use(kit: \"oven\")], hands: \"left alone\"");
    insta::assert_snapshot!(because(&menu).join("\n"), @r#"
    between Sat 12:00 and Sat 19:30 the Oven has 450 minutes, and these six steps need 540 there at the least:
    "Bake" of Tart 1
    "Bake" of Tart 2
    "Bake" of Tart 3
    "Bake" of Tart 4
    "Bake" of Tart 5
    "Bake" of Tart 6
    "#);
    insta::assert_snapshot!(said(&ways(&menu, A_WEEK_BEFORE)).join("\n"), @r#"
    one more Oven: first step Sat 15:00
    without Tart 1: first step Sat 12:00
    without Tart 2: first step Sat 12:00
    without Tart 3: first step Sat 12:00
    without Tart 4: first step Sat 12:00
    without Tart 5: first step Sat 12:00
    without Tart 6: first step Sat 12:00
    "#);
}

#[test]
fn gaps_that_contradict_one_another_are_told_with_what_would_do() {
    let mut menu = super::dish(
        "steps: [
           Step(id: \"mix\", name: \"Mix\", time: \"10 min\", hands: \"throughout\"),
           Step(id: \"rest\", name: \"Rest\", time: \"1h\", hands: \"left alone\", after: [After(step: \"mix\", gap: \"at least 30 min\")]),
           Step(id: \"fill\", name: \"Fill\", time: \"10 min\", hands: \"throughout\",
                after: [After(step: \"rest\"), After(step: \"mix\", gap: \"within 2h\")]),
         ]",
    );
    // A file that says so is refused when it is read; the planner must not rely on that.
    menu.dishes[0].steps[2].after[1].gap.most = Some(Minutes::hours(1));
    insta::assert_snapshot!(because(&menu).join("\n"), @r#"
    these gaps together ask for 30 min more than there is; one of them must give:
    "Rest" of Dish comes at least 30 min after "Mix" of Dish; no wait at all would do
    "Fill" of Dish comes after "Rest" of Dish
    "Fill" of Dish comes within 1h of "Mix" of Dish; 1h30 would do
    "#);
}

#[test]
fn twenty_minutes_too_late_are_mended_by_the_least_delay() {
    let menu = super::dish(
        "steps: [Step(id: \"bake\", name: \"Bake\", time: \"100 min\", hands: \"throughout\")]",
    );
    // It would have had to start at 17:50; it is 18:13. In steps of ten minutes half an hour is the least.
    let now = service(&menu).at(Local {
        date: "2026-11-28".parse().unwrap(),
        time: time_of_day(18, 13).unwrap(),
    });
    assert!(matches!(outcome(&menu, now), PlanOutcome::TooLate { .. }));
    insta::assert_snapshot!(said(&ways(&menu, now)).join("\n"), @r#"
    service 30 min later, at Sat 20:00: first step Sat 18:20
    "#);
}

#[test]
fn a_menu_that_can_be_done_has_no_ways_out() {
    let menu = dishes(1, 60, "hands: \"throughout\"");
    assert_eq!(ways(&menu, A_WEEK_BEFORE), []);
}

#[test]
fn a_search_that_is_left_goes_on_where_it_was() {
    let menu = dishes(7, 77, "hands: \"throughout\"");
    let (outcome, happened) = (outcome(&menu, A_WEEK_BEFORE), Happened::new());
    let mut whole = WaysOut::new(asked(&menu, &happened, A_WEEK_BEFORE), &outcome);
    let mut steps = 0;
    while whole.step() {
        steps += 1;
    }
    assert!(steps < PLANNINGS, "{steps} plannings");
    let mut parts = WaysOut::new(asked(&menu, &happened, A_WEEK_BEFORE), &outcome);
    for _ in 0..=steps {
        parts.step();
    }
    assert!(!parts.step());
    assert_eq!(parts.into_found(), whole.into_found());
    let stopped = plan::ways_out(
        asked(&menu, &happened, A_WEEK_BEFORE),
        &outcome,
        PLANNINGS,
        &|| true,
    );
    assert_eq!(stopped, []);
}

#[test]
fn work_that_may_begin_too_late_is_told_by_how_much() {
    let mut menu = super::dish(
        "steps: [Step(id: \"soak\", name: \"Soak\", time: \"30h\", hands: \"left alone\"),
                 Step(id: \"boil\", name: \"Boil\", time: \"1h\", hands: \"throughout\")]",
    );
    menu.prep_from = Some("2026-11-28".parse().unwrap());
    let found = ways(&menu, A_WEEK_BEFORE);
    insta::assert_snapshot!(said(&found).join("\n"), @r#"
    work that begins 11h30 before the menu lets it, on Fri 2026-11-27 12:30
    "#);
    assert!(matches!(found[0].way, Way::Earlier(_)));
}
