//! How likely a plan comes out in time, from the words on the cards.

use std::path::PathBuf;

use countback::menu::{Menu, ServiceDay};
use countback::plan::{self, Asked, Chance, Done, Happened, Plan, PlanOutcome, Verdict};
use countback::time::*;

use super::{SMALL_KITCHEN, dish, menu, planned, service};

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

fn chance(menu: &Menu, plan: &Plan) -> Option<Chance> {
    let (nothing, now) = (Happened::new(), Minute(-7 * 1440));
    plan::chance(asked(menu, &nothing, now), plan, &|| false)
}

/// One dish: cooled for 20 to 40 minutes, usually 25, then turned out in ten.
fn cooled(serve: &str) -> Menu {
    let dish = format!(
        "Serve(dish: Dish(id: \"d\", name: \"Dish\", steps: [
            Step(id: \"cool\", name: \"Cool it\", time: \"20 min..25 min..40 min\"),
            Step(id: \"turn\", name: \"Turn out\", time: \"10 min\", after: [\"cool\"]),
        ]){serve})"
    );
    menu("Europe/London", "2026-11-28 19:30", SMALL_KITCHEN, &dish)
}

/// Returns the share of the beta distribution of 20, 25 and 40 (α 2, β 4) below `x` of its range.
fn below(x: f64) -> f64 {
    1.0 - (1.0 - x).powi(5) - 5.0 * x * (1.0 - x).powi(4)
}

#[test]
fn three_points_on_a_card_become_the_chance_of_their_beta_distribution() {
    let menu = cooled("");
    let plan = planned(&menu);
    let found = chance(&menu, &plan).expect("it varies");
    // In time is what rounds to the 25 minutes planned.
    let share = f64::from(found.whole.in_time) / f64::from(found.samples);
    assert!((share - below(5.5 / 20.0)).abs() < 0.015, "{share}");
    assert_eq!(found.dishes[0], found.courses[0]);
    let late = found.samples - found.whole.in_time;
    assert_eq!(found.whole.late_because, [(0, late)]);
    // 33 minutes are enough in 96 of 100 evenings, 32 in 93.
    assert_eq!(found.dishes[0].margin, Some(Minutes(8)));
    assert_eq!(
        found.dishes[0].sentences(&menu, &plan),
        [
            "at the pass in time: 42 %",
            "most often late because of \"Cool it\" of Dish (100 of 100 times)",
            "8 min more margin would make that 95 %"
        ]
    );
}

#[test]
fn the_margin_suggested_put_on_the_card_and_planned_gives_the_chance_it_is_for() {
    let without = cooled("");
    let suggested = chance(&without, &planned(&without)).expect("it varies");
    let margin = suggested.dishes[0].margin.expect("a margin helps");
    let with = cooled(&format!(", margin: \"{} min\"", margin.0));
    let found = chance(&with, &planned(&with)).expect("it varies");
    assert!(found.whole.is_likely(), "{found:?}");
    assert_eq!(found.dishes[0].margin, None, "it needs no more");
}

#[test]
fn cards_that_give_one_length_leave_nothing_to_chance() {
    let menu = dish("steps: [Step(id: \"a\", name: \"A\", time: \"20 min\")]");
    assert_eq!(chance(&menu, &planned(&menu)), None);
}

#[test]
fn what_is_over_varies_no_more_and_what_runs_lasts_as_long_as_it_has() {
    let menu = cooled("");
    let key: plan::StepKey = "d/cool".parse().unwrap();
    let started = planned(&menu).steps[0].window.start;
    let outlook = |done: Done, now: Minute| {
        let happened = Happened::from([(key.clone(), done)]);
        let outcome = plan::plan(&menu, service(&menu), &happened, now, None);
        let PlanOutcome::Planned(plan) = outcome else {
            panic!("{outcome:?}")
        };
        plan::chance(asked(&menu, &happened, now), &plan, &|| false)
    };
    let over = Done::Finished(Some(started), started + Minutes(25));
    assert_eq!(outlook(over, started + Minutes(25)), None);
    // Whoever says when it will be over leaves nothing of it to chance.
    let expected = Done::Expected {
        since: started,
        end: started + Minutes(25),
    };
    assert_eq!(outlook(expected, started + Minutes(20)), None);
    // After 24 minutes what rounds to less is out of the question, and 24 or 25 are in time.
    let running = outlook(Done::Started(started), started + Minutes(24)).expect("it may last");
    let share = f64::from(running.whole.in_time) / f64::from(running.samples);
    let (over, in_time) = (below(3.5 / 20.0), below(5.5 / 20.0));
    let wanted = (in_time - over) / (1.0 - over);
    assert!((share - wanted).abs() < 0.015, "{share}, not {wanted}");
}

#[test]
fn a_gap_that_may_break_is_told_with_its_step() {
    // Two parts, and the mousse must be in the moulds within ten minutes of being whipped.
    let menu = dish(
        "steps: [
            Step(id: \"whip\", name: \"Whip\", time: \"20 min\"),
            Step(id: \"melt\", name: \"Melt\", time: \"10 min..40 min\"),
            Step(id: \"fill\", name: \"Fill\", time: \"10 min\",
                after: [\"melt\", After(step: \"whip\", gap: \"within 10 min\")]),
        ]",
    );
    let plan = planned(&menu);
    let found = chance(&menu, &plan).expect("it varies");
    // The longer end of a range is planned, so it is never broken here.
    assert_eq!(found.broken, []);
    assert!(found.whole.is_likely());
}

#[test]
fn the_sample_menus_have_chances_for_all_their_dishes_and_a_verdict() {
    for (name, at) in [
        ("lantern-supper", "2026-11-26"),
        ("harbour-gala", "2026-12-08"),
    ] {
        let file = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
            .join("sample-menus")
            .join(name)
            .join("menu.ron");
        let mut menu = countback::load::menu_file(&file).unwrap().menu;
        let date: Date = at.parse().unwrap();
        if let ServiceDay::InDays(days) = menu.service.day {
            menu.service.day = ServiceDay::On(day_after(date, i64::from(days)));
        }
        let served = service(&menu);
        let now = served.minute(Timestamp::from_local(
            Local {
                date,
                time: time_of_day(7, 0).unwrap(),
            },
            Zone::UTC,
        ));
        let nothing = Happened::new();
        let outcome = plan::plan(&menu, served, &nothing, now, None);
        let PlanOutcome::Planned(plan) = outcome else {
            panic!("{name}: {outcome:?}")
        };
        let asked = asked(&menu, &nothing, now);
        let found = plan::chance(asked, &plan, &|| false);
        let found = found.unwrap_or_else(|| panic!("{name} leaves nothing to chance"));
        assert_eq!(found.dishes.len(), menu.dishes.len());
        assert_eq!(found.courses.len(), menu.courses.len());
        let least = found.dishes.iter().map(|dish| dish.in_time).min();
        assert!(Some(found.whole.in_time) <= least);
        for said in found.sentences(&menu, &plan) {
            assert!(!said.is_empty() && !said.ends_with('.'), "{said}");
        }
        assert_eq!(plan::chance(asked, &plan, &|| false), Some(found));
        assert_eq!(plan::chance(asked, &plan, &|| true), None);
        assert!(!Verdict::of(&menu, &plan).sentence().is_empty());
    }
}

/// A night that is waited out after what was done in the evening has been waited out at six, and is not counted from then.
#[test]
fn a_night_that_has_passed_is_not_waited_for_again() {
    let steps = "steps: [
        Step(id: \"blanch\", name: \"Blanch\", time: \"20 min\"),
        Step(id: \"boil\", name: \"Boil again\", time: \"20 min..30 min..60 min\",
            after: [After(step: \"blanch\", gap: \"at least a night\")]),
    ]";
    let menu = dish(steps);
    // At half past seven on the evening before; the kitchen opens at seven.
    let blanched = Minute(-1440);
    let happened: Happened = [(
        countback::plan::StepKey::first("d", "blanch"),
        Done::Finished(Some(blanched - Minutes(20)), blanched),
    )]
    .into();
    let mut found = Vec::new();
    // Through the opening of the next morning, and past it.
    for hours in [10, 13, 15] {
        let asked = asked(&menu, &happened, blanched + Minutes::hours(hours));
        let PlanOutcome::Planned(plan) = plan::plan_asked(asked) else {
            panic!("it is in time")
        };
        let chance = plan::chance(asked, &plan, &|| false).expect("it varies");
        assert_eq!(chance.broken, [], "after {hours} hours");
        found.push(chance.whole.in_time);
    }
    assert!(found.iter().all(|it| *it == found[0]), "{found:?}");
}

/// That a plan keeps what was told is no proof that nothing is better: told early, it could be later.
#[test]
fn a_plan_that_was_told_is_held_against_what_could_be_had_it_not_been() {
    let menu = dish(
        "steps: [Step(id: \"a\", name: \"A\", time: \"20 min\"), Step(id: \"b\", name: \"B\", time: \"10 min\")]",
    );
    let happened = Happened::new();
    let now = Minute(-7 * 1440);
    let mut told = plan::told_by_menu(&menu, service(&menu)).expect("it can be done");
    let latest = plan::plan_asked(asked(&menu, &happened, now));
    let latest = latest.times().expect("a plan");
    assert_eq!(
        Verdict::of(&menu, latest),
        Verdict::Best,
        "as late as can be"
    );
    for told in told.values_mut() {
        told.start = told.start - Minutes(45);
    }
    let asked = Asked {
        told: Some(&told),
        ..asked(&menu, &happened, now)
    };
    let PlanOutcome::Planned(kept) = plan::plan_asked(asked) else {
        panic!("it is in time")
    };
    assert_eq!(
        kept.steps[0].window.start,
        latest.steps[0].window.start - Minutes(45)
    );
    let Verdict::AtMost(gain) = Verdict::of(&menu, &kept) else {
        panic!("{:?}", kept.quality)
    };
    // Both steps three quarters of an hour later, and not a minute more.
    assert_eq!(gain.later, Minutes(90));
}
