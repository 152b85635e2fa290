//! What can still be where a menu cannot be done as it stands, how long what runs may run, and that times hold still.

use std::collections::BTreeMap;
use std::path::Path;

use super::{dish, service, when};
use countback::load;
use countback::menu::Menu;
use countback::plan::{self, Asked, Done, Happened, Plan, PlanOutcome, StepKey};
use countback::prep;
use countback::time::*;

const CHAIN: &str = "steps: [
    Step(id: \"mix\", name: \"Mix\", time: \"30 min\"),
    Step(id: \"bake\", name: \"Bake\", time: \"1h\", uses: [Use(kit: \"oven\")]),
    Step(id: \"fill\", name: \"Fill\", time: \"20 min\"),
]";

fn key(text: &str) -> StepKey {
    text.parse().unwrap()
}

fn happened(of: &[(&str, Done)]) -> Happened {
    of.iter().map(|(text, done)| (key(text), *done)).collect()
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

fn after(menu: &Menu, of: &[(&str, Done)], now: i32) -> PlanOutcome {
    plan::plan(menu, service(menu), &happened(of), Minute(now), None)
}

fn forecast(menu: &Menu, of: &[(&str, Done)], now: i32) -> Plan {
    match after(menu, of, now) {
        PlanOutcome::TooLate {
            forecast: Some(plan),
            ..
        } => *plan,
        other => panic!("{other:#?}"),
    }
}

/// By how much the first dish is late, and because of what.
fn late(plan: &Plan) -> (Option<i32>, &str) {
    let late = plan.dishes[0].late.as_ref().expect("it is late");
    (late.by.map(|by| by.0), late.because.as_str())
}

#[test]
fn what_was_not_begun_in_time_begins_now_and_the_rest_follows() {
    // 110 minutes are left to do and 80 are left: half an hour late, however it is done.
    let menu = dish(CHAIN);
    let plan = forecast(&menu, &[], -80);
    assert_eq!(when(&plan, "d/mix"), "Sat 18:10..Sat 18:40");
    assert_eq!(when(&plan, "d/bake"), "Sat 18:40..Sat 19:40");
    assert_eq!(when(&plan, "d/fill"), "Sat 19:40..Sat 20:00");
    assert_eq!(
        late(&plan),
        (Some(30), "\"Mix\" of Dish should have started by Sat 17:40")
    );
    let (_, mix) = plan.find(&key("d/mix")).unwrap();
    assert_eq!(mix.needed_by, Some(Minute(-110)));
    assert_eq!(
        mix.can_slip_until,
        Minute(-80),
        "every minute makes it later"
    );
    let (_, bake) = plan.find(&key("d/bake")).unwrap();
    assert_eq!(bake.needed_by, None, "its time has not passed");
    assert_eq!(
        bake.told,
        Some(Minute(-80)),
        "an hour and twenty before service"
    );
}

#[test]
fn what_does_not_fit_before_the_kitchen_shuts_comes_when_it_opens() {
    // Begun at 21:30 the baking is out at 23:00, when the last have stayed for an hour; the kitchen opens at 07:00.
    let menu = dish(CHAIN);
    let plan = forecast(&menu, &[], 120);
    assert_eq!(when(&plan, "d/fill"), "Sun 07:00..Sun 07:20");
    assert_eq!(late(&plan).0, Some(11 * 60 + 50));
}

#[test]
fn what_runs_long_is_why_it_is_late() {
    let menu = dish(CHAIN);
    let plan = forecast(&menu, &[("d/mix", Done::Started(Minute(-120)))], -50);
    // It is over in a minute at the soonest, and eighty more are needed.
    assert_eq!(
        late(&plan),
        (
            Some(31),
            "\"Mix\" of Dish runs long, and was needed by Sat 18:10"
        )
    );
}

#[test]
fn a_time_on_a_card_is_missed_only_where_there_is_no_other_way() {
    let with = |done_by: &str| {
        dish(&format!(
            "steps: [
                Step(id: \"mix\", name: \"Mix\", time: \"30 min\", {done_by}),
                Step(id: \"fill\", name: \"Fill\", time: \"20 min\"),
            ]"
        ))
    };
    // Of 40 minutes 50 are needed. With half an hour of mixing the card's 19:30 can be kept, its 19:00 cannot.
    let kept = forecast(&with("done_by: \"19:30 on the day\""), &[], -40);
    assert_eq!(late(&kept).0, Some(10));
    let missed = forecast(&with("done_by: \"19:00 on the day\""), &[], -40);
    assert_eq!(late(&missed).0, Some(10));
    assert_eq!(when(&missed, "d/mix"), "Sat 18:50..Sat 19:20");
}

#[test]
fn a_gap_after_what_has_happened_is_stretched_and_said() {
    // The pour cannot follow within its ten minutes, because nobody is there for it before the mousse is whipped.
    let menu = dish(
        "steps: [
            Step(id: \"boil\", name: \"Boil\", time: \"30 min\"),
            Step(id: \"whip\", name: \"Whip\", time: \"25 min\", after: [], hands: \"throughout\"),
            Step(id: \"pour\", name: \"Pour\", time: \"10 min\",
                 after: [After(step: \"boil\", gap: \"within 10 min\"), \"whip\"]),
        ]",
    );
    let done = [("d/boil", Done::Finished(Some(Minute(-330)), Minute(-300)))];
    let plan = forecast(&menu, &done, -299);
    let (_, pour) = plan.find(&key("d/pour")).unwrap();
    assert_eq!(pour.window.start, Minute(-274), "as soon as it is whipped");
    assert_eq!(pour.needed_by, Some(Minute(-290)));
    assert!(plan.dishes[0].late.is_none(), "it is not late at the pass");
}

#[test]
fn a_part_that_cannot_be_ready_with_what_runs_is_ready_after_it_and_said() {
    // The cook is away from ten minutes before the cakes are done until half an hour after: the sauce fits before, but
    // would be ready before them, and that nobody is told of.
    let kitchen = "open: [Open(days: \"every day\", at: \"07:00..22:00\")],
        cooks: [Cook(name: \"one\", away: [Shift(days: \"the day\", at: \"16:20..17:00\")])]";
    let menu = super::menu(
        "Europe/London",
        "2026-11-28 19:30",
        kitchen,
        "Serve(dish: Dish(id: \"d\", name: \"Cakes\", steps: [
            Step(id: \"cakes\", name: \"Cakes\", time: \"1h\", hands: \"left alone\"),
            Step(id: \"sauce\", name: \"Sauce\", time: \"20 min\", after: [], together: [\"cakes\"]),
        ]))",
    );
    let done = [("d/cakes", Done::Started(Minute(-240)))];
    let plan = forecast(&menu, &done, -239);
    let (_, sauce) = plan.find(&key("d/sauce")).unwrap();
    assert_eq!(sauce.window.start, Minute(-150), "at five");
    assert_eq!(sauce.needed_by, Some(Minute(-200)));
    assert!(plan.dishes[0].late.is_none(), "it is not late at the pass");
}

#[test]
fn a_night_after_what_is_over_is_a_cause() {
    // Nobody ever begins a night; it ends when the kitchen opens.
    let menu = dish(
        "steps: [
            Step(id: \"soak\", name: \"Soak\", time: \"10 min\"),
            Step(id: \"fill\", name: \"Fill\", time: \"20 min\", after: [After(step: \"soak\", gap: \"at least a night\")]),
        ]",
    );
    let done = [("d/soak", Done::Finished(Some(Minute(-120)), Minute(-110)))];
    let plan = forecast(&menu, &done, -100);
    let (_, because) = late(&plan);
    assert!(
        because.starts_with("the night after \"Soak\" of ")
            && because.contains(" is over only at Sun "),
        "{because}"
    );
}

#[test]
fn a_dish_that_cannot_be_ready_is_given_up_and_the_rest_goes_on() {
    let kitchen =
        "open: [Open(days: \"every day\", at: \"07:00..22:00\")], cooks: [Cook(name: \"one\")]";
    let menu = super::menu(
        "Europe/London",
        "2026-11-28 19:30",
        kitchen,
        "Serve(dish: Dish(id: \"d\", name: \"Steeped\", steps: [
            Step(id: \"steep\", name: \"Steep\", time: \"until the third morning\", hands: \"put on 5 min\"),
        ])),
        Serve(dish: Dish(id: \"e\", name: \"Whipped\", steps: [
            Step(id: \"whip\", name: \"Whip\", time: \"30 min\"),
        ]))",
    );
    let plan = forecast(&menu, &[], -20);
    let (by, because) = late(&plan);
    assert_eq!(by, None, "three mornings are more than a day");
    assert!(
        because.starts_with("\"Steep\" of Steeped should have started by "),
        "{because}"
    );
    assert!(plan.is_given_up(0) && !plan.is_given_up(1));
    let whipped = plan.dishes[1]
        .late
        .as_ref()
        .expect("half an hour does not fit");
    assert_eq!(whipped.by, Some(Minutes(10)));
}

#[test]
fn the_last_dish_is_given_up_when_nobody_is_there_for_it_any_more() {
    let kitchen = "open: [Open(days: \"sat\", at: \"07:00..22:00\")], cooks: [Cook(name: \"one\")],
        kit: [Kit(id: \"oven\", name: \"Oven\", count: 1)]";
    let serve = format!("Serve(dish: Dish(id: \"d\", name: \"Dish\", {CHAIN}))");
    let menu = super::menu("Europe/London", "2026-11-28 19:30", kitchen, &serve);
    // At 00:50 it bakes for longer than it should; filling takes twenty minutes, and nobody stays beyond one.
    let of = [
        ("d/mix", Done::Finished(Some(Minute(20)), Minute(50))),
        ("d/bake", Done::Started(Minute(60))),
    ];
    let PlanOutcome::TooLate {
        forecast: Some(plan),
        because,
        ..
    } = after(&menu, &of, 320)
    else {
        panic!("what runs is to be seen")
    };
    assert!(plan.dishes[0].is_given_up());
    assert_eq!(when(&plan, "d/bake"), "Sat 20:30..Sun 00:51");
    let said = because.join("; ");
    assert!(said.contains("no hour left"), "{said}");
    assert!(
        !said.contains(" days "),
        "never is no number of days: {said}"
    );
}

/// Returns a menu served on Saturday at noon whose one dish is mixed the evening before.
fn rested_overnight(kitchen: &str) -> Menu {
    let serve = "Serve(dish: Dish(id: \"d\", name: \"Dish\", steps: [
        Step(id: \"mix\", name: \"Mix\", time: \"30 min\"),
        Step(id: \"rest\", name: \"Rest\", time: \"overnight\", hands: \"left alone\"),
        Step(id: \"bake\", name: \"Bake\", time: \"3h\"),
    ]))";
    super::menu("Europe/London", "2026-11-28 12:00", kitchen, serve)
}

#[test]
fn whoever_works_stays_on_rather_than_that_a_dish_is_given_up() {
    let kitchen = "open: [Open(days: \"every day\", at: \"07:00..22:00\")], cooks: [
        Cook(name: \"early\", shifts: [Shift(days: \"every day\", at: \"07:00..15:00\")]),
        Cook(name: \"late\", shifts: [Shift(days: \"every day\", at: \"14:00..22:00\")]),
    ]";
    let menu = rested_overnight(kitchen);
    // Service is on Saturday at noon; mixing begins on Friday by 21:30, or a night is missing.
    let at = |clock: i32| clock - 12 * 60 - 24 * 60;
    let tonight = |clock| forecast(&menu, &[], at(clock));
    let plan = tonight(21 * 60 + 31);
    assert_eq!(plan.dishes[0].late, None);
    assert_eq!(when(&plan, "d/mix"), "Fri 21:31..Fri 22:01");
    assert_eq!(
        plan.overtime_words(),
        ["late works beyond the shift, Fri 22:00 to Fri 22:01"],
        "who works until ten, not who went home at three"
    );
    let plan = tonight(24 * 60 + 30);
    assert_eq!(plan.dishes[0].late, None, "somebody may still be there");
    let plan = tonight(24 * 60 + 31);
    assert!(plan.dishes[0].late.is_some(), "three hours, and no longer");
}

#[test]
fn who_was_to_stay_is_still_counted_on_when_the_shift_has_ended() {
    let kitchen = "open: [Open(days: \"every day\", at: \"07:00..23:00\")], cooks: [
        Cook(name: \"early\", shifts: [Shift(days: \"every day\", at: \"14:00..22:00\")]),
        Cook(name: \"late\", shifts: [Shift(days: \"every day\", at: \"15:00..23:00\")]),
        Cook(name: \"morning\", shifts: [Shift(days: \"every day\", at: \"07:00..13:00\")]),
    ]";
    let steps = "steps: [
        Step(id: \"lift\", name: \"Lift\", time: \"20 min\", hands: \"throughout by 2\"),
        Step(id: \"rest\", name: \"Rest\", time: \"overnight\", hands: \"left alone\"),
        Step(id: \"bake\", name: \"Bake\", time: \"3h\"),
    ]";
    let serve = format!("Serve(dish: Dish(id: \"d\", name: \"Dish\", {steps}))");
    let menu = super::menu("Europe/London", "2026-11-28 12:00", kitchen, &serve);
    for clock in [21 * 60 + 50, 21 * 60 + 59, 22 * 60, 22 * 60 + 20] {
        let plan = forecast(&menu, &[], clock - 36 * 60);
        assert_eq!(plan.dishes[0].late, None, "at {clock}");
        assert_eq!(plan.overtime[0].cook, "early");
        assert!(!plan.breaks);
    }
}

#[test]
fn who_has_gone_home_long_since_is_not_called_back_while_others_work() {
    let with = |others: &str| {
        let kitchen = format!(
            "open: [Open(days: \"every day\", at: \"07:00..23:00\")], cooks: [
                Cook(name: \"baker\", skills: [\"bakes\"], shifts: [Shift(days: \"every day\", at: \"07:00..15:00\")]),
                {others}
            ]"
        );
        let steps =
            "steps: [Step(id: \"roll\", name: \"Roll\", time: \"20 min\", skill: \"bakes\")]";
        let serve = format!("Serve(dish: Dish(id: \"d\", name: \"Dish\", {steps}))");
        let menu = super::menu("Europe/London", "2026-11-28 15:00", &kitchen, &serve);
        // At half past four, an hour and a half after the baker has gone.
        when(&forecast(&menu, &[], 90), "d/roll")
    };
    let helper =
        "Cook(name: \"helper\", shifts: [Shift(days: \"every day\", at: \"08:00..20:00\")])";
    assert_eq!(with(helper), "Sun 07:00..Sun 07:20");
    assert_eq!(
        with(""),
        "Sat 16:30..Sat 16:50",
        "somebody may still be there"
    );
}

#[test]
fn food_taken_past_its_gap_is_called_for_whatever_was_told_and_is_not_only_behind() {
    let menu = dish(
        "steps: [
            Step(id: \"boil\", name: \"Boil\", time: \"30 min\"),
            Step(id: \"pour\", name: \"Pour\", time: \"10 min\", after: [After(step: \"boil\", gap: \"within 1h\")]),
        ]",
    );
    // Told for 19:20; boiled much too early, so that its hour was over at 14:30.
    let done = [("d/boil", Done::Finished(Some(Minute(-390)), Minute(-360)))];
    let outcome = after(&menu, &done, -299);
    let (_, pour) = outcome.times().unwrap().find(&key("d/pour")).unwrap();
    assert_eq!(pour.needed_by, Some(Minute(-300)));
    assert!(outcome.forecast().unwrap().dishes[0].late.is_none());
    assert!(outcome.only_behind().is_none(), "a limit is broken");
}

#[test]
fn what_is_overdue_begins_now_and_the_rest_goes_along() {
    // One after another until the last hands go home; the first was to start at 20:30.
    let kitchen =
        "open: [Open(days: \"every day\", at: \"07:00..22:00\")], cooks: [Cook(name: \"one\")]";
    let serve: String = ["a", "b", "c"]
        .map(|id| {
            format!(
                "Serve(dish: Dish(id: \"{id}\", name: \"Dish {id}\", steps: [
                    Step(id: \"mix\", name: \"Mix\", time: \"30 min\"),
                    Step(id: \"rest\", name: \"Rest\", time: \"overnight\", hands: \"left alone\"),
                    Step(id: \"cut\", name: \"Cut\", time: \"20 min\"),
                ])),"
            )
        })
        .concat();
    let menu = super::menu("Europe/London", "2026-11-28 12:00", kitchen, &serve);
    let now = 20 * 60 + 32 - 36 * 60;
    let plan = forecast(&menu, &[], now);
    assert!(plan.dishes.iter().all(|dish| dish.late.is_none()));
    let starts = plan.steps.iter().filter(|step| step.key.step == "mix");
    let mut starts: Vec<i32> = starts.map(|step| step.window.start.0 - now).collect();
    starts.sort_unstable();
    assert_eq!(starts, [0, 30, 60], "nobody stands idle beside it");
    assert_eq!(
        plan.overtime_words(),
        ["one works beyond the shift, Fri 22:00 to Fri 22:02"]
    );
}

#[test]
fn staying_on_is_a_way_out_and_its_decision_makes_the_plan_hold() {
    let kitchen =
        "open: [Open(days: \"every day\", at: \"07:00..24:00\")], cooks: [Cook(name: \"one\")]";
    let menu = rested_overnight(kitchen);
    let (service, now) = (service(&menu), Minute(23 * 60 + 35 - 36 * 60));
    let asked = Asked {
        menu: &menu,
        service,
        happened: &Happened::new(),
        now,
        told: None,
        shown: None,
    };
    let outcome = plan::plan_asked(asked);
    let behind = outcome.only_behind().expect("nothing is late");
    assert_eq!(behind.overtime_words().len(), 1);
    let found = plan::ways_out(asked, &outcome, plan::PLANNINGS, &|| false);
    let way = &found[0];
    let stay = Window::new(Minute(-12 * 60), Minute(-12 * 60 + 10));
    assert_eq!(way.way, plan::Way::StayingOn(stay));
    assert!(
        way.says
            .starts_with("whoever works until Sat 00:00 stays until Sat 00:10: first step "),
        "{}",
        way.says
    );
    // Who is still there two hours after closing may go on for an hour, and it is a way out too.
    let late = Asked {
        now: Minute(26 * 60 - 36 * 60),
        ..asked
    };
    let found = plan::ways_out(late, &plan::plan_asked(late), plan::PLANNINGS, &|| false);
    let until = Minute(-12 * 60 + 150);
    assert_eq!(
        found[0].way,
        plan::Way::StayingOn(Window::new(stay.start, until))
    );
    let decision = prep::decision_of(&way.way, &menu, service, None).expect("a decision");
    let card = |_: &str| Err("no card".to_owned());
    let (changed, service) = prep::decide(&menu, service, &decision, &card).expect("it fits");
    assert_eq!(changed.kitchen, way.menu.kitchen);
    let PlanOutcome::Planned(plan) = plan::plan(&changed, service, &Happened::new(), now, None)
    else {
        panic!("it holds")
    };
    assert_eq!(plan.overtime_words(), behind.overtime_words());
    assert_eq!(when(&plan, "d/rest"), "Sat 00:05..Sat 07:00");
    // Who stays may stay longer.
    let until = |at: i32| countback::book::Decision::StayingOn {
        from: service.timestamp(stay.start),
        until: service.timestamp(Minute(at)),
    };
    let more = prep::decide(&changed, service, &until(-11 * 60), &card);
    let (changed, _) = more.expect("it goes on from there");
    let more = prep::decide(&changed, service, &until(-11 * 60 - 10), &card);
    more.expect("nothing is asked that is not asked already");
}

#[test]
fn the_hours_on_a_card_are_overrun_by_minutes_only_where_there_is_no_other_way() {
    let menu = dish(
        "steps: [
            Step(id: \"boil\", name: \"Boil\", time: \"30 min\", within: \"09:00..10:00\"),
            Step(id: \"fill\", name: \"Fill\", time: \"20 min\"),
        ]",
    );
    // Service is at 19:30.
    let at = |clock: i32| clock - (19 * 60 + 30);
    let plan = forecast(&menu, &[], at(9 * 60 + 31));
    assert_eq!(when(&plan, "d/boil"), "Sat 09:31..Sat 10:01");
    assert_eq!(plan.dishes[0].late, None);
    let (_, boil) = plan.find(&key("d/boil")).unwrap();
    assert_eq!(boil.needed_by, Some(Minute(at(9 * 60 + 30))));
    // Three hours later they are over for the day, and the next are on Sunday.
    let plan = forecast(&menu, &[], at(13 * 60 + 1));
    assert_eq!(when(&plan, "d/boil"), "Sun 09:00..Sun 09:30");
    // What waits for another day all the same does not keep another dish from being saved by a minute.
    let kitchen = super::SMALL_KITCHEN;
    let with = |id: &str, within: &str| {
        format!(
            "Serve(dish: Dish(id: \"{id}\", name: \"{id}\", steps: [
                Step(id: \"boil\", name: \"Boil\", time: \"30 min\", within: \"{within}\"),
                Step(id: \"fill\", name: \"Fill\", time: \"20 min\"),
            ])),"
        )
    };
    let dishes = with("d", "11:00..12:00") + &with("e", "07:00..08:00");
    let menu = super::menu("Europe/London", "2026-11-28 19:30", kitchen, &dishes);
    let plan = forecast(&menu, &[], at(11 * 60 + 31));
    assert_eq!(when(&plan, "d/boil"), "Sat 11:31..Sat 12:01");
    assert_eq!(when(&plan, "e/boil"), "Sun 07:00..Sun 07:30");
}

#[test]
fn the_first_step_of_the_demonstration_a_minute_late_costs_no_dish() {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-menus");
    let menu = load::menu_file(&samples.join("lantern-supper/menu.ron")).expect("the sample");
    let menu = menu.menu;
    let monday = Timestamp::from_rfc3339("2026-11-23T09:00:00+01:00").expect("a moment");
    let service = plan::service_of(&menu, monday, Zone::Europe__Rome);
    let told = plan::told_by_menu(&menu, service).expect("times");
    let first = told.values().map(|told| told.start).min().expect("a step");
    let outcome = plan::plan(&menu, service, &Happened::new(), first + Minutes(1), None);
    assert!(
        outcome.only_behind().is_some() || matches!(outcome, PlanOutcome::Planned(_)),
        "{:?}",
        outcome.forecast().map(|plan| &plan.dishes)
    );
}

#[test]
fn a_cause_is_kit_in_use_where_nothing_was_missed() {
    // The oven is busy for an hour with what the book says was begun at half past six, and the baking needs it.
    let menu = super::menu(
        "Europe/London",
        "2026-11-28 19:30",
        super::SMALL_KITCHEN,
        "Serve(dish: Dish(id: \"d\", name: \"Tart\", steps: [
            Step(id: \"bake\", name: \"Bake\", time: \"30 min\", hands: \"left alone\", uses: [Use(kit: \"oven\")]),
        ])),
        Serve(dish: Dish(id: \"e\", name: \"Nuts\", steps: [
            Step(id: \"roast\", name: \"Roast\", time: \"20 min\", hands: \"left alone\", uses: [Use(kit: \"oven\")]),
        ]))",
    );
    let roasting = Done::Expected {
        since: Minute(-60),
        end: Minute(-10),
    };
    let plan = forecast(&menu, &[("e/roast", roasting)], -55);
    assert_eq!(
        late(&plan),
        (Some(20), "\"Roast\" of Nuts runs until Sat 19:20")
    );
}

#[test]
fn the_last_step_begun_too_late_makes_its_dish_late() {
    // Twenty minutes of filling begun eighteen before service, with nothing else left to do.
    let menu = dish(CHAIN);
    let of = [
        ("d/mix", Done::Finished(Some(Minute(-120)), Minute(-90))),
        ("d/bake", Done::Finished(Some(Minute(-80)), Minute(-20))),
        ("d/fill", Done::Started(Minute(-18))),
    ];
    for now in [-18, -10, 0, 1] {
        let plan = forecast(&menu, &of, now);
        let because = "\"Fill\" of Dish runs until Sat 19:32";
        let because = if now == 1 {
            "\"Fill\" of Dish runs long"
        } else {
            because
        };
        assert_eq!(late(&plan), (Some(2), because), "at {now}");
    }
}

#[test]
fn steps_that_move_say_what_was_told_until_it_is_announced_anew() {
    let menu = dish(CHAIN);
    let told: plan::Announced = match after(&menu, &[], -1000) {
        PlanOutcome::Planned(plan) => plan.announced(),
        other => panic!("{other:#?}"),
    };
    let late = [("d/mix", Done::Started(Minute(-105)))];
    let plan = plan::plan(
        &menu,
        service(&menu),
        &happened(&late),
        Minute(-104),
        Some(&told),
    );
    let plan = plan.times().unwrap().clone();
    let (_, mix) = plan.find(&key("d/mix")).unwrap();
    assert_eq!(mix.told, None, "it has begun");
    let (_, bake) = plan.find(&key("d/bake")).unwrap();
    assert_eq!(
        (bake.told, bake.window.start),
        (Some(Minute(-80)), Minute(-75))
    );
    let seen = plan.announced();
    let again = plan::plan(
        &menu,
        service(&menu),
        &happened(&late),
        Minute(-104),
        Some(&seen),
    );
    let again = again.times().unwrap();
    assert!(again.steps.iter().all(|step| step.told.is_none()));
    assert_eq!(
        again.find(&key("d/bake")).unwrap().1.window.start,
        Minute(-75)
    );
}

#[test]
fn what_runs_may_end_as_late_as_the_rest_still_fits() {
    // 80 minutes follow the mixing: it may end 80 minutes before service and not one later.
    let menu = dish(CHAIN);
    let of = happened(&[("d/mix", Done::Started(Minute(-120)))]);
    let now = Minute(-100);
    let planned = plan::plan(&menu, service(&menu), &of, now, None);
    assert!(matches!(planned, PlanOutcome::Planned(_)));
    let asked = asked(&menu, &of, now);
    let ends = plan::latest_ends(asked, &planned, |_| true, &|| false);
    assert_eq!(ends, BTreeMap::from([(key("d/mix"), Minute(-80))]));
    assert!(plan::latest_ends(asked, &planned, |_| true, &|| true).is_empty());
    assert!(plan::latest_ends(asked, &planned, |_| false, &|| false).is_empty());
    // What follows nothing may run until its course.
    let filling = happened(&[("d/fill", Done::Started(Minute(-30)))]);
    let now = Minute(-25);
    let planned = plan::plan(&menu, service(&menu), &filling, now, None);
    let asked = Asked {
        happened: &filling,
        now,
        ..asked
    };
    let ends = plan::latest_ends(asked, &planned, |_| true, &|| false);
    assert_eq!(ends[&key("d/fill")], Minute(0));
}

/// What runs has a last moment too where the plan only holds because somebody stays.
#[test]
fn what_runs_where_somebody_stays_may_end_as_late_as_they_can_stay() {
    let kitchen = "open: [Open(days: \"every day\", at: \"07:00..22:00\")], cooks: [
        Cook(name: \"late\", shifts: [Shift(days: \"every day\", at: \"14:00..22:00\")]),
    ]";
    let serve = "Serve(dish: Dish(id: \"d\", name: \"Dish\", steps: [
        Step(id: \"mix\", name: \"Mix\", time: \"30 min\"),
        Step(id: \"shape\", name: \"Shape\", time: \"30 min\"),
        Step(id: \"rest\", name: \"Rest\", time: \"overnight\", hands: \"left alone\"),
    ]))";
    let menu = super::menu("Europe/London", "2026-11-28 12:00", kitchen, serve);
    let at = |clock: i32| Minute(clock - 12 * 60 - 24 * 60);
    let of = happened(&[("d/mix", Done::Started(at(21 * 60 + 15)))]);
    let now = at(21 * 60 + 20);
    let outcome = plan::plan(&menu, service(&menu), &of, now, None);
    let behind = outcome.only_behind().expect("it hangs on who stays");
    assert_eq!(when(behind, "d/shape"), "Fri 21:45..Fri 22:15");
    let asked = asked(&menu, &of, now);
    let ends = plan::latest_ends(asked, &outcome, |_| true, &|| false);
    // The shaping is over when nobody can stay any longer.
    assert_eq!(ends, BTreeMap::from([(key("d/mix"), at(22 * 60 + 30))]));
}

fn demonstration() -> (Menu, Plan) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-menus/lantern-supper/menu.ron");
    let menu = load::menu_file(&path).unwrap().menu;
    let local = Local {
        date: "2026-11-26".parse().unwrap(),
        time: time_of_day(14, 5).unwrap(),
    };
    let now = Timestamp::from_local(local, Zone::Europe__London);
    let service = plan::service_of(&menu, now, Zone::Europe__London);
    match plan::plan(&menu, service, &Happened::new(), service.minute(now), None) {
        PlanOutcome::Planned(plan) => (menu, plan),
        other => panic!("{other:#?}"),
    }
}

/// Numbers from a seed (a linear congruence; the constants of Numerical Recipes, from memory).
struct Draws(u32);

impl Draws {
    fn below(&mut self, most: u32) -> i32 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        ((self.0 >> 16) % most) as i32
    }
}

/// A cook who starts each step up to three minutes late and takes up to two minutes longer, and ticks at once, so many times; returns
/// how many waiting steps start at another time after each tick, how many ticks there were no times after, and after how
/// many times had to be looked for, which then stood.
fn scripted(seed: u32, ticks: usize) -> (Vec<usize>, usize, usize) {
    let (menu, first) = demonstration();
    let service = first.service;
    let told = plan::told_by_menu(&menu, service);
    let mut draws = Draws(seed);
    let delays: Vec<(i32, i32)> = first
        .steps
        .iter()
        .map(|_| (draws.below(4), draws.below(3)))
        .collect();
    let mut shown = first;
    let mut since = plan::Announced::new();
    let mut done = Happened::new();
    let mut now = shown.span.start;
    let (mut moved, mut without, mut stood) = (Vec::new(), 0, 0);
    loop {
        let next = shown.steps.iter().zip(&delays).enumerate();
        let next = next.filter_map(|(index, (step, &(late, long)))| match done.get(&step.key) {
            None => Some((step.window.start + Minutes(late), 1, index)),
            Some(Done::Started(_)) => Some((step.window.end + Minutes(long), 0, index)),
            _ => None,
        });
        let Some((at, _, index)) = next.min().filter(|_| moved.len() < ticks) else {
            return (moved, without, stood);
        };
        now = now.max(at);
        let key = shown.steps[index].key.clone();
        let entry = match done.get(&key) {
            Some(Done::Started(since)) => Done::Finished(Some(*since), now),
            _ => Done::Started(now),
        };
        done.insert(key, entry);
        let asked = Asked {
            menu: &menu,
            service,
            happened: &done,
            now,
            told: told.as_ref(),
            shown: Some(&since),
        };
        let outcome = plan::plan_asked(asked);
        let Some(plan) = outcome
            .times()
            .filter(|_| matches!(outcome, PlanOutcome::Planned(_)) || outcome.forecast().is_some())
        else {
            without += 1;
            continue;
        };
        let changed =
            plan.steps.iter().zip(&shown.steps).filter(|(is, was)| {
                !done.contains_key(&is.key) && is.window.start != was.window.start
            });
        moved.push(changed.count());
        if plan.anew {
            let moved = plan.moved();
            // What was looked for once stands when the same is asked again, without being looked for.
            if matches!(outcome, PlanOutcome::Planned(_)) {
                let again = plan::plan_asked(Asked {
                    shown: Some(&moved),
                    ..asked
                });
                let again = again.times().expect("there were times");
                assert!(!again.anew);
                for (is, was) in again.steps.iter().zip(&plan.steps) {
                    assert_eq!(is.window, was.window, "{}", is.key);
                }
                stood += 1;
            }
            since = moved;
        }
        shown = plan.clone();
    }
}

#[test]
fn a_tick_moves_few_of_the_steps_that_wait() {
    // Planning takes its time unoptimised; `COUNTBACK_TICKS=1000` goes on to the last plate.
    let ticks = std::env::var("COUNTBACK_TICKS").ok();
    let ticks = ticks.and_then(|ticks| ticks.parse().ok()).unwrap_or(60);
    let (mut moved, without, stood) = scripted(1, ticks);
    moved.sort_unstable();
    let at = |hundredths: usize| moved[(moved.len() - 1) * hundredths / 100];
    println!(
        "{} ticks, {without} of them without times; steps moved by one: median {}, nine of ten {}, most {}",
        moved.len(),
        at(50),
        at(90),
        at(100)
    );
    assert!(stood > 0, "nothing had to be looked for");
    assert_eq!(without, 0, "after every tick there are times to show");
    assert!(moved.len() >= 60, "only {} ticks", moved.len());
    assert!(at(50) <= 2, "median {}", at(50));
}
