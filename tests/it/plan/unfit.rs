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
        let plan = way.outcome.times().expect("a plan");
        let moved = plan.service.minute(service(menu).timestamp(now));
        assert_eq!(
            audit::audit(&way.menu, plan, moved),
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

/// Returns a menu and what was told of it when there was more of its first kit.
fn broken(mut menu: Menu, were: u32, are: u32) -> (Menu, plan::Announced) {
    menu.kitchen.kit[0].count = were;
    let told = plan::told_by_menu(&menu, service(&menu)).expect("it can be done");
    menu.kitchen.kit[0].count = are;
    (menu, told)
}

fn in_time(plan: &plan::Plan) -> usize {
    let in_time = plan.dishes.iter().filter(|it| it.late.is_none());
    in_time.count()
}

const BAKED: &str = "hands: \"left alone\", uses: [Use(kit: \"oven\")]";

/// An oven breaks after the plan was told and before anything was begun: whoever stands there needs to know what can
/// still be, and not only that it no longer all can.
#[test]
fn what_was_told_and_became_impossible_is_forecast_before_anything_has_begun() {
    let (menu, told) = broken(dishes(6, 100, BAKED), 2, 1);
    let (now, happened) = (Minute(-900), Happened::new());
    let untold = asked(&menu, &happened, now);
    let told = Asked {
        told: Some(&told),
        ..untold
    };
    let outcome = plan::plan_asked(told);
    let forecast = outcome.forecast().expect("something can still be");
    assert!((1..6).contains(&in_time(forecast)), "{:?}", forecast.dishes);
    // Never told, it is only said to be impossible.
    assert!(plan::plan_asked(untold).forecast().is_none());
    // One more oven makes all of it possible again, and nothing less is told then.
    let ways = plan::ways_out(told, &outcome, PLANNINGS, &|| false);
    let said = said(&ways);
    assert!(
        ways.iter().all(|way| way.gives.in_time.is_none()),
        "{said:?}"
    );
    assert!(
        said.iter().any(|says| says.starts_with("one more Oven")),
        "{said:?}"
    );
}

#[test]
fn where_nothing_makes_all_of_it_possible_what_saves_some_is_told() {
    // Three ovens too few.
    let (menu, told) = broken(dishes(10, 100, BAKED), 4, 1);
    let happened = Happened::new();
    let asked = Asked {
        told: Some(&told),
        ..asked(&menu, &happened, Minute(-900))
    };
    let outcome = plan::plan_asked(asked);
    let before = in_time(outcome.forecast().expect("something can still be"));
    let ways = plan::ways_out(asked, &outcome, PLANNINGS, &|| false);
    assert!(!ways.is_empty(), "one more oven saves some");
    for way in &ways {
        let after = in_time(way.outcome.forecast().expect("a forecast"));
        assert_eq!(way.gives.in_time, Some(after));
        assert!(after > before, "{}", way.says);
        assert!(way.says.contains("dishes in time"), "{}", way.says);
    }
    assert_eq!(
        plan::whole_ways_out(asked, &outcome, PLANNINGS),
        [],
        "whoever waits is told only what makes all of it possible"
    );
}

/// A dish that takes more moulds than there are is left out because of the moulds, and not because of the time.
#[test]
fn a_dish_left_out_for_want_of_kit_says_so() {
    let kitchen =
        "open: [Open(days: \"every day\", at: \"07:00..22:00\")], cooks: [Cook(name: \"one\")],
        kit: [Kit(id: \"dome\", name: \"dome\", count: 48)]";
    let serve = |id: &str, uses: &str| {
        format!(
            "Serve(dish: Dish(id: \"{id}\", name: \"{id}\", steps: [Step(id: \"fill\", name: \"Fill\", time: \"30 min\"{uses})]))"
        )
    };
    let dishes = format!(
        "{}, {}",
        serve("domes", ", uses: [Use(kit: \"dome\", count: 40)]"),
        serve("cake", "")
    );
    let menu = menu("Europe/London", "2026-11-28 19:30", kitchen, &dishes);
    let (menu, told) = broken(menu, 48, 30);
    let happened = Happened::new();
    let outcome = plan::plan_asked(Asked {
        told: Some(&told),
        ..asked(&menu, &happened, Minute(-900))
    });
    let forecast = outcome.forecast().expect("the cake can be");
    let late = forecast.dishes[0].late.as_ref().expect("left out");
    assert_eq!(late.by, None);
    assert_eq!(
        late.because,
        "\"Fill\" of domes needs more of the dome than there ever is (30)"
    );
    assert_eq!(forecast.dishes[1].late, None);
}
