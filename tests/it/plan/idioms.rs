//! Each thing a menu can say, on the smallest menu that says it, counted back by hand.

use super::{SMALL_KITCHEN, dish, menu, planned, service, when};
use countback::plan::{self, Happened, PlanOutcome};
use countback::time::*;

fn step(id: &str, rest: &str) -> String {
    format!("Step(id: \"{id}\", name: \"{id}\", {rest}),")
}

fn steps(all: &[(&str, &str)]) -> String {
    let steps: String = all.iter().map(|(id, rest)| step(id, rest)).collect();
    format!("steps: [{steps}]")
}

#[test]
fn a_range_is_booked_at_its_longer_end_and_three_points_at_the_middle() {
    let plan = planned(&dish(&steps(&[
        ("a", "time: \"20 min..25 min..40 min\""),
        ("b", "time: \"1h..2h\""),
    ])));
    assert_eq!(when(&plan, "d/b"), "Sat 17:30..Sat 19:30");
    assert_eq!(when(&plan, "d/a"), "Sat 17:05..Sat 17:30");
}

#[test]
fn what_a_step_may_take_grows_with_what_is_made() {
    let menu = dish(&steps(&[
        ("a", "time: \"20 min..25 min..40 min + 3 s a piece\""),
        ("b", "time: \"1h..2h\""),
        ("c", "time: \"7 min\""),
        ("d", "time: \"until 09:00\", hands: \"left alone\""),
    ]));
    let plan = planned(&menu);
    let portions = i64::from(menu.portions_of(&menu.dishes[0]));
    let spreads = plan::spreads(&menu, &plan);
    let points = |at: usize| spreads[at].map(|it| (it.shortest, it.usual, it.longest));
    let (twenty, forty) = (20 * 60 + 3 * portions, 40 * 60 + 3 * portions);
    assert_eq!(points(0), Some((twenty, Some(twenty + 300), forty)));
    assert_eq!(points(1), Some((3600, None, 7200)));
    assert_eq!(points(2), Some((420, Some(420), 420)));
    assert!(!spreads[0].unwrap().is_certain() && spreads[2].unwrap().is_certain());
    assert_eq!(points(3), None);
}

#[test]
fn overnight_ends_when_the_kitchen_opens_and_starts_when_hands_last_can() {
    let plan = planned(&dish(&steps(&[
        ("steep", "time: \"overnight\", hands: \"put on 10 min\""),
        ("use", "time: \"2h\""),
    ])));
    // As late as it may: the morning of the day itself is not needed, the evening before is.
    assert_eq!(when(&plan, "d/steep"), "Fri 21:50..Sat 07:00");
    assert_eq!(when(&plan, "d/use"), "Sat 17:30..Sat 19:30");
    let (_, steep) = plan.find(&"d/steep".parse().unwrap()).unwrap();
    assert!(!steep.reason.is_empty());
}

#[test]
fn the_second_morning_and_a_least_time() {
    let plan = planned(&dish(&steps(&[(
        "cure",
        "time: \"until the second morning\", hands: \"put on 5 min\"",
    )])));
    assert_eq!(when(&plan, "d/cure"), "Thu 21:55..Sat 07:00");
    let plan = planned(&dish(&steps(&[(
        "cure",
        "time: \"overnight, at least 12h\", hands: \"put on 5 min\"",
    )])));
    assert_eq!(when(&plan, "d/cure"), "Fri 19:00..Sat 07:00");
    // Both count: the second morning, and a day and a half at the least.
    let plan = planned(&dish(&steps(&[(
        "cure",
        "time: \"until the second morning, at least 36h\", hands: \"put on 5 min\"",
    )])));
    assert_eq!(when(&plan, "d/cure"), "Thu 19:00..Sat 07:00");
}

#[test]
fn kit_kept_until_a_step_of_every_batch_is_kept_until_the_last() {
    let plan = planned(&dish(
        "batch: Batch(portions: 20), steps: [
            Step(id: \"base\", name: \"Base\", time: \"20 min\", keeps_kit: [Keep(kit: \"mould\", until: \"churn\")]),
            Step(id: \"churn\", name: \"Churn\", each: Batch, time: \"30 min\", uses: [Use(kit: \"oven\")], after: [\"base\"]),
        ]",
    ));
    let (_, base) = plan.find(&"d/base".parse().unwrap()).unwrap();
    let (_, last) = plan.find(&"d/churn#2".parse().unwrap()).unwrap();
    assert_eq!(base.kit[0].window.end, last.window.end);
    assert_eq!(last.window.end, Minute::SERVICE);
}

#[test]
fn what_waits_overnight_is_taken_off_once_the_kitchen_is_open() {
    let plan = planned(&dish(&steps(&[(
        "steep",
        "time: \"overnight\", hands: \"put on 10 min, take off 15 min\"",
    )])));
    assert_eq!(when(&plan, "d/steep"), "Fri 21:50..Sat 07:15");
}

#[test]
fn not_before_done_by_and_within() {
    let plan = planned(&dish(&steps(&[
        ("a", "time: \"30 min\", done_by: \"12:00 1 day before\""),
        ("b", "time: \"1h\", within: \"08:00..11:00\""),
        ("c", "time: \"10 min\", not_before: \"19:00 on the day\""),
    ])));
    assert_eq!(when(&plan, "d/c"), "Sat 19:20..Sat 19:30");
    assert_eq!(when(&plan, "d/b"), "Sat 10:00..Sat 11:00");
    assert_eq!(when(&plan, "d/a"), "Fri 11:30..Fri 12:00");
}

#[test]
fn hands_only_at_the_ends_let_a_step_run_through_the_night() {
    let plan = planned(&dish(&steps(&[(
        "bake",
        "time: \"12h\", hands: \"put on 10 min, take off 10 min\", done_by: \"10:00 on the day\"",
    )])));
    // Off by 10:00 at the latest; on twelve hours before, while somebody is there until 22:00.
    assert_eq!(when(&plan, "d/bake"), "Fri 21:50..Sat 09:50");
}

#[test]
fn looks_need_hands_and_a_flame_needs_somebody() {
    let looked_after = planned(&dish(&steps(&[(
        "reduce",
        "time: \"4h\", hands: \"look 2 min every 30 min\", done_by: \"08:45 on the day\"",
    )])));
    // Nobody looks before 07:00: it must be over before the first look of the night would be missed.
    assert_eq!(when(&looked_after, "d/reduce"), "Fri 18:28..Fri 22:28");
    let flame = planned(&dish(&steps(&[(
        "candy",
        "time: \"4h\", hands: \"someone about\", done_by: \"09:00 on the day\"",
    )])));
    assert_eq!(when(&flame, "d/candy"), "Fri 18:00..Fri 22:00");
    let alone = planned(&dish(&steps(&[(
        "dry",
        "time: \"4h\", hands: \"left alone\", done_by: \"09:00 on the day\"",
    )])));
    assert_eq!(when(&alone, "d/dry"), "Sat 05:00..Sat 09:00");
}

#[test]
fn gaps_of_every_kind() {
    let plan = planned(&dish(&steps(&[
        ("boil", "time: \"30 min\""),
        (
            "pour",
            "time: \"10 min\", after: [After(step: \"boil\", gap: \"straight on\")]",
        ),
        (
            "top",
            "time: \"10 min\", after: [After(step: \"pour\", gap: \"8h..24h\")]",
        ),
        (
            "serve",
            "time: \"5 min\", after: [After(step: \"top\", gap: \"at least a night\")]",
        ),
        (
            "sauce",
            "time: \"20 min\", after: [After(step: \"serve\", from: Start, gap: \"within 1 min\")]",
        ),
    ])));
    assert_eq!(when(&plan, "d/sauce"), "Sat 19:10..Sat 19:30");
    // Within a minute of the start of serving, counted from its start.
    assert_eq!(when(&plan, "d/serve"), "Sat 19:10..Sat 19:15");
    assert_eq!(when(&plan, "d/top"), "Fri 21:50..Fri 22:00");
    assert_eq!(when(&plan, "d/pour"), "Fri 13:40..Fri 13:50");
    assert_eq!(when(&plan, "d/boil"), "Fri 13:10..Fri 13:40");
}

#[test]
fn two_parts_ready_together() {
    let plan = planned(&dish(&steps(&[
        (
            "cakes",
            "time: \"40 min\", uses: [Use(kit: \"oven\")], done_by: \"18:00 on the day\"",
        ),
        ("sauce", "time: \"15 min\", together: [\"cakes\"]"),
    ])));
    assert_eq!(when(&plan, "d/cakes"), "Sat 17:20..Sat 18:00");
    assert_eq!(when(&plan, "d/sauce"), "Sat 17:45..Sat 18:00");
}

#[test]
fn repeats_go_round_with_their_gap() {
    let plan = planned(&dish(
        "repeats: [Repeat(steps: [\"boil\"], times: 3, gap: \"overnight\")], steps: [
            Step(id: \"boil\", name: \"Re-boil\", time: \"20 min\", done_by: \"09:00 on the day\"),
            Step(id: \"drain\", name: \"Drain\", time: \"10 min\", after: [\"boil\"]),
        ]",
    ));
    assert_eq!(when(&plan, "d/boil~3"), "Sat 08:40..Sat 09:00");
    assert_eq!(when(&plan, "d/boil~2"), "Fri 21:40..Fri 22:00");
    assert_eq!(when(&plan, "d/boil"), "Thu 21:40..Thu 22:00");
    assert_eq!(when(&plan, "d/drain"), "Sat 19:20..Sat 19:30");
}

#[test]
fn batches_take_turns_at_the_moulds_there_are() {
    // 40 covers, 10 a batch: four batches; a mould is kept from filling to turning out; three moulds.
    let plan = planned(&dish(
        "batch: Batch(portions: 10), steps: [
            Step(id: \"fill\", name: \"Fill\", time: \"10 min\", each: Batch,
                 keeps_kit: [Keep(kit: \"mould\", from: Start, until: \"turn-out\", to: End)]),
            Step(id: \"set\", name: \"Set\", time: \"3h\", each: Batch, hands: \"left alone\", after: [\"fill\"]),
            Step(id: \"turn-out\", name: \"Turn out\", time: \"5 min\", each: Batch, after: [\"set\"]),
        ]",
    ));
    assert_eq!(plan.steps.len(), 12);
    assert_eq!(plan.dishes[0].batches, 4);
    let starts: Vec<Minute> = ["d/fill", "d/fill#2", "d/fill#3", "d/fill#4"]
        .iter()
        .map(|key| plan.find(&key.parse().unwrap()).unwrap().1.window.start)
        .collect();
    let (first, last) = (starts.iter().min().unwrap(), starts.iter().max().unwrap());
    assert!(
        *last - *first >= Minutes(195),
        "a batch is through before the last is filled: {starts:?}"
    );
}

#[test]
fn work_grows_with_pieces_batches_and_litres() {
    let plan = planned(&dish(
        "batch: Batch(portions: 10, volume: \"2 l\"), steps: [
            Step(id: \"heat\", name: \"Heat\", time: \"5 min + 6 min a litre\"),
            Step(id: \"bake\", name: \"Bake\", time: \"10 min + 5 min a batch\"),
            Step(id: \"glass\", name: \"Glass\", time: \"40 s a piece\"),
            Step(id: \"tray\", name: \"Tray\", time: \"30 s a piece\", each: Batch),
        ]",
    ));
    let length = |key: &str| plan.find(&key.parse().unwrap()).unwrap().1.window.length();
    assert_eq!(length("d/heat"), Minutes(5 + 6 * 8));
    assert_eq!(length("d/bake"), Minutes(10 + 5 * 4));
    assert_eq!(length("d/glass"), Minutes(27), "40 × 40 s, rounded up");
    assert_eq!(length("d/tray"), Minutes(5));
}

#[test]
fn a_divided_batch_goes_on_part_by_part() {
    let plan = planned(&dish(
        "steps: [
            Step(id: \"base\", name: \"Base\", time: \"20 min\"),
            Step(id: \"colour\", name: \"Colour\", time: \"10 min\", each: Parts([\"rose\", \"plain\"]), after: [\"base\"]),
            Step(id: \"set\", name: \"Set\", time: \"1h\", hands: \"left alone\", each: Parts([\"rose\", \"plain\"]), after: [\"colour\"]),
            Step(id: \"stack\", name: \"Stack\", time: \"10 min\", after: [\"set\"]),
        ]",
    ));
    assert_eq!(plan.steps.len(), 6);
    for part in ["rose", "plain"] {
        let (at, set) = plan
            .find(&format!("d/set:{part}").parse().unwrap())
            .unwrap();
        assert_eq!(set.follows.len(), 1);
        assert_eq!(plan.steps[set.follows[0]].key.part.as_deref(), Some(part));
        let (_, stack) = plan.find(&"d/stack".parse().unwrap()).unwrap();
        assert!(stack.follows.contains(&at));
    }
}

#[test]
fn keeping_limits_and_the_best() {
    let plan = planned(&dish(
        "keeps: \"3h\", best: \"1h\", steps: [
            Step(id: \"bake\", name: \"Bake\", time: \"1h\", keeps: \"2h\"),
            Step(id: \"fill\", name: \"Fill\", time: \"30 min\", done_by: \"17:00 on the day\", after: [\"bake\"]),
        ]",
    ));
    assert_eq!(when(&plan, "d/fill"), "Sat 16:30..Sat 17:00");
    assert_eq!(plan.dishes[0].past_best, Some(Minutes(90)));
    let too_early = dish(
        "keeps: \"2h\", steps: [Step(id: \"fill\", name: \"Fill\", time: \"30 min\", done_by: \"17:00 on the day\")]",
    );
    let outcome = plan::plan(
        &too_early,
        service(&too_early),
        &Happened::new(),
        Minute(-9000),
        None,
    );
    let PlanOutcome::Impossible(said) = outcome else {
        panic!("{outcome:?}")
    };
    assert_eq!(
        said[0],
        "\"Fill\" of Dish keeps at most 2h, and cannot be made so late that it still keeps until Sat 19:30: 30 min are missing"
    );
}

#[test]
fn courses_are_served_at_their_own_times() {
    let text = "Menu(id: \"t\", name: \"T\", service: \"2026-11-28 19:30\", covers: 10,
        courses: [Course(id: \"one\", name: \"One\"), Course(id: \"two\", name: \"Two\", at: \"21:00\")],
        kitchen: Kitchen(name: \"k\", zone: \"Europe/London\", open: [Open(days: \"every day\", at: \"07:00..23:00\")], cooks: [Cook(name: \"one\")]),
        dishes: [
            Serve(course: \"one\", dish: Dish(id: \"a\", name: \"A\", steps: [Step(id: \"s\", name: \"S\", time: \"10 min\")])),
            Serve(course: \"two\", margin: \"20 min\", dish: Dish(id: \"b\", name: \"B\", steps: [Step(id: \"s\", name: \"S\", time: \"10 min\")])),
        ])";
    let menu = countback::load::menu_text("t.ron", text, &super::Nothing)
        .unwrap()
        .menu;
    let plan = planned(&menu);
    assert_eq!(when(&plan, "a/s"), "Sat 19:20..Sat 19:30");
    assert_eq!(when(&plan, "b/s"), "Sat 20:30..Sat 20:40");
    let (_, late) = plan.find(&"b/s".parse().unwrap()).unwrap();
    assert_eq!(late.can_slip_until, late.window.start + Minutes(20));
    assert_eq!(plan.dishes[1].at_pass, Minute(90));
}

#[test]
fn kit_taken_by_others_is_not_there() {
    let kitchen = "open: [Open(days: \"every day\", at: \"00:00..24:00\")], cooks: [Cook(name: \"one\")],
        kit: [Kit(id: \"oven\", name: \"Oven\", count: 1, taken: [Taken(days: \"every day\", at: \"03:00..08:00\", by: \"the bakery\")])]";
    let menu = menu(
        "Europe/London",
        "2026-11-28 08:30",
        kitchen,
        "Serve(dish: Dish(id: \"d\", name: \"D\", steps: [Step(id: \"bake\", name: \"Bake\", time: \"1h\", uses: [Use(kit: \"oven\")])]))",
    );
    let plan = planned(&menu);
    assert_eq!(when(&plan, "d/bake"), "Sat 02:00..Sat 03:00");
    let (_, bake) = plan.find(&"d/bake".parse().unwrap()).unwrap();
    assert_eq!(
        bake.reason,
        "the Oven is taken by the bakery from Sat 03:00"
    );
}

#[test]
fn two_hobs_and_three_pans() {
    let one = |id: &str| {
        format!(
            "Serve(dish: Dish(id: \"{id}\", name: \"{id}\", steps: [Step(id: \"boil\", name: \"Boil\", time: \"1h\", hands: \"left alone\", uses: [Use(kit: \"hob\")])])),"
        )
    };
    let menu = menu(
        "Europe/London",
        "2026-11-28 19:30",
        SMALL_KITCHEN,
        &["a", "b", "c"].map(one).concat(),
    );
    let plan = planned(&menu);
    let mut all: Vec<String> = ["a/boil", "b/boil", "c/boil"]
        .iter()
        .map(|key| when(&plan, key))
        .collect();
    all.sort();
    assert_eq!(
        all,
        [
            "Sat 17:30..Sat 18:30",
            "Sat 18:30..Sat 19:30",
            "Sat 18:30..Sat 19:30"
        ]
    );
}

#[test]
fn what_should_have_begun_is_said_and_not_shown_as_a_plan() {
    let menu = dish(&steps(&[
        ("simmer", "time: \"6h\", hands: \"someone about\""),
        ("cool", "time: \"2h\", hands: \"left alone\""),
    ]));
    let PlanOutcome::TooLate {
        late,
        because,
        needed,
        ..
    } = plan::plan(&menu, service(&menu), &Happened::new(), Minute(-300), None)
    else {
        panic!("eight hours do not fit into five")
    };
    assert_eq!(late.len(), 1);
    assert_eq!(needed.steps[late[0].step].key.to_string(), "d/simmer");
    assert_eq!(late[0].latest, Minute(-480));
    assert_eq!(
        because[0],
        "one step should have started before now; the first, \"simmer\" of Dish, by Sat 2026-11-28 11:30, 3h ago"
    );
}

#[test]
fn more_than_there_ever_is_and_gaps_that_contradict_are_named() {
    // Both cooks stop at 12:00 and 13:00: two hands at once are never there after noon, and never before 11:00.
    let kitchen = "open: [Open(days: \"every day\", at: \"07:00..22:00\")],
        cooks: [Cook(name: \"one\", shifts: [Shift(days: \"every day\", at: \"07:00..12:00\")]),
                Cook(name: \"two\", shifts: [Shift(days: \"every day\", at: \"12:00..20:00\")])]";
    let lift = "Serve(dish: Dish(id: \"d\", name: \"D\", steps: [Step(id: \"lift\", name: \"Lift\", time: \"10 min\", hands: \"throughout by 2\")]))";
    let menu = menu("Europe/London", "2026-11-28 19:30", kitchen, lift);
    let PlanOutcome::Impossible(said) =
        plan::plan(&menu, service(&menu), &Happened::new(), Minute(-9000), None)
    else {
        panic!("must be impossible")
    };
    assert_eq!(
        said,
        ["\"Lift\" of D needs more of the hands than there ever is (1)"]
    );
}

#[test]
fn a_night_ends_at_the_opening_of_a_day_even_if_the_kitchen_never_shut() {
    let rest = |open: &str| {
        let kitchen = format!("open: [{open}], cooks: [Cook(name: \"one\")]");
        let serve = "Serve(dish: Dish(id: \"d\", name: \"D\", steps: [
            Step(id: \"rest\", name: \"Rest\", time: \"overnight\", hands: \"put on 5 min\"),
            Step(id: \"cut\", name: \"Cut\", time: \"20 min\", after: [After(step: \"rest\", gap: \"straight on\")]),
        ]))";
        let menu = super::menu("Europe/London", "2026-11-28 12:00", &kitchen, serve);
        when(&super::planned(&menu), "d/rest")
    };
    let ends = |open: &str| rest(open).split("..").nth(1).map(str::to_owned);
    let saturday = |open: &str, end: &str| assert_eq!(ends(open).as_deref(), Some(end), "{open}");
    saturday(
        "Open(days: \"fri\", at: \"07:00..24:00\"), Open(days: \"sat\", at: \"00:00..22:00\")",
        "Sat 00:00",
    );
    saturday(
        "Open(days: \"fri\", at: \"07:00..24:00\"), Open(days: \"sat\", at: \"00:00..00:30, 08:00..22:00\")",
        "Sat 08:00",
    );
}
