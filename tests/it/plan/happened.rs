//! Planning around what has happened.

use super::{audit, dish, service, when};
use countback::plan::{self, Done, Happened, Plan, PlanOutcome, StepKey};
use countback::time::*;

const CHAIN: &str = "steps: [
    Step(id: \"mix\", name: \"Mix\", time: \"30 min\"),
    Step(id: \"bake\", name: \"Bake\", time: \"1h\", uses: [Use(kit: \"oven\")]),
    Step(id: \"fill\", name: \"Fill\", time: \"20 min\"),
]";

fn after(fields: &str, happened: &[(&str, Done)], now: i32) -> PlanOutcome {
    let menu = dish(fields);
    let happened: Happened = happened
        .iter()
        .map(|(key, done)| (key.parse::<StepKey>().unwrap(), *done))
        .collect();
    plan::plan(&menu, service(&menu), &happened, Minute(now), None)
}

fn plan(outcome: PlanOutcome) -> Plan {
    match outcome {
        PlanOutcome::Planned(plan) => plan,
        other => panic!("{other:#?}"),
    }
}

#[test]
fn what_is_done_keeps_its_real_times() {
    let done = Done::Finished(Some(Minute(-700)), Minute(-650));
    let plan = plan(after(CHAIN, &[("d/mix", done)], -600));
    assert_eq!(when(&plan, "d/mix"), "Sat 07:50..Sat 08:40");
    assert_eq!(when(&plan, "d/fill"), "Sat 19:10..Sat 19:30");
    assert_eq!(
        plan.find(&"d/mix".parse().unwrap()).unwrap().1.happened,
        Some(done)
    );
}

#[test]
fn what_runs_ends_no_earlier_than_now_and_the_rest_follows() {
    let started = |at| Done::Started(Minute(at));
    let running = plan(after(CHAIN, &[("d/mix", started(-120))], -100));
    assert_eq!(when(&running, "d/mix"), "Sat 17:30..Sat 18:00");
    let long = plan(after(CHAIN, &[("d/mix", started(-200))], -100));
    assert_eq!(when(&long, "d/mix"), "Sat 16:10..Sat 17:51");
}

#[test]
fn what_is_expected_to_be_over_holds_what_follows_and_its_kit_till_then() {
    let expected = |since, end| Done::Expected {
        since: Minute(since),
        end: Minute(end),
    };
    // The card says half an hour; the cook says ten past six.
    let later = plan(after(CHAIN, &[("d/mix", expected(-120, -80))], -100));
    assert_eq!(when(&later, "d/mix"), "Sat 17:30..Sat 18:10");
    assert_eq!(when(&later, "d/bake"), "Sat 18:10..Sat 19:10");
    let baking = plan(after(CHAIN, &[("d/bake", expected(-100, -25))], -60));
    let (_, bake) = baking.find(&"d/bake".parse().unwrap()).unwrap();
    let oven = bake.kit.iter().find(|kit| kit.name == "Oven").unwrap();
    assert_eq!(
        (oven.window.end, bake.hands[0].window.end),
        (Minute(-25), Minute(-25))
    );
    // Sooner than the card says is as good; and once it has passed it is over in a minute.
    let sooner = plan(after(CHAIN, &[("d/mix", expected(-120, -95))], -100));
    assert_eq!(when(&sooner, "d/mix"), "Sat 17:30..Sat 17:55");
    let passed = plan(after(CHAIN, &[("d/mix", expected(-120, -110))], -100));
    assert_eq!(when(&passed, "d/mix"), "Sat 17:30..Sat 17:51");
}

#[test]
fn what_runs_over_is_followed_within_its_gap_all_the_same() {
    let fields = "steps: [
        Step(id: \"temper\", name: \"Temper\", time: \"30 min\", after: []),
        Step(id: \"dip\", name: \"Dip\", time: \"20 min\", after: [After(step: \"temper\", gap: \"within 10 min\")]),
    ]";
    for since in [-120, -90, -61, -60] {
        let over = plan(after(
            fields,
            &[("d/temper", Done::Started(Minute(since)))],
            -30,
        ));
        let dip = over.find(&"d/dip".parse().unwrap()).unwrap().1.window;
        let temper = over.find(&"d/temper".parse().unwrap()).unwrap().1.window;
        assert_eq!(temper.start, Minute(since));
        assert!(
            (Minute(-29)..=Minute(0)).contains(&temper.end),
            "{temper:?}"
        );
        assert!((0..=10).contains(&(dip.start - temper.end).0), "{dip:?}");
    }
}

#[test]
fn what_is_skipped_holds_nobody_up() {
    let plan = plan(after(CHAIN, &[("d/mix", Done::Skipped(Minute(-85)))], -85));
    assert_eq!(when(&plan, "d/bake"), "Sat 18:10..Sat 19:10");
}

#[test]
fn a_step_nobody_ticked_is_presumed_over_once_the_next_has_begun() {
    let plan = plan(after(CHAIN, &[("d/bake", Done::Started(Minute(-90)))], -85));
    let (_, mix) = plan.find(&"d/mix".parse().unwrap()).unwrap();
    assert_eq!(mix.window.end, Minute(-90));
    assert_eq!(mix.happened, None, "the book says nothing of it");
}

#[test]
fn a_gap_that_has_passed_is_said() {
    let poured = "steps: [
        Step(id: \"boil\", name: \"Boil\", time: \"30 min\"),
        Step(id: \"pour\", name: \"Pour\", time: \"10 min\", after: [After(step: \"boil\", gap: \"within 20 min\")]),
    ]";
    let done = Done::Finished(Some(Minute(-400)), Minute(-370));
    let PlanOutcome::TooLate {
        late,
        because,
        needed,
        ..
    } = after(poured, &[("d/boil", done)], -300)
    else {
        panic!("twenty minutes have passed")
    };
    assert_eq!((late.len(), late[0].latest), (1, Minute(-350)));
    assert_eq!(
        because,
        ["\"Pour\" of Dish should have followed \"Boil\" of Dish by Sat 13:40; that has passed"]
    );
    assert_eq!(when(&needed, "d/pour"), "Sat 19:20..Sat 19:30");
    // In time it is simply planned within its gap.
    let in_time = plan(after(poured, &[("d/boil", done)], -360));
    assert_eq!(when(&in_time, "d/pour"), "Sat 13:40..Sat 13:50");
}

#[test]
fn a_late_start_that_still_fits_is_planned_from_now() {
    // Everything left needs 110 minutes; 115 are left.
    let menu = dish(CHAIN);
    let now = Minute(-115);
    let PlanOutcome::Planned(plan) = plan::plan(&menu, service(&menu), &Happened::new(), now, None)
    else {
        panic!("it fits")
    };
    assert_eq!(audit::audit(&menu, &plan, now), Vec::<String>::new());
}

#[test]
fn hostile_times_do_no_harm() {
    for at in [
        i32::MIN / 4,
        -1_000_000_000,
        -5_000_000,
        0,
        5_000,
        1_000_000_000,
    ] {
        for done in [
            Done::Started(Minute(at)),
            Done::Finished(None, Minute(at)),
            Done::Finished(Some(Minute(-100)), Minute(at)),
            Done::Skipped(Minute(at)),
            Done::Expected {
                since: Minute(-100),
                end: Minute(at),
            },
            Done::Expected {
                since: Minute(at),
                end: Minute(-100),
            },
        ] {
            let _ = after(CHAIN, &[("d/bake", done)], -85);
        }
        let _ = after(CHAIN, &[], at);
    }
}

#[test]
fn put_on_a_minute_late_it_is_taken_off_a_minute_late_not_a_night_later() {
    let steep = "steps: [
        Step(id: \"steep\", name: \"Steep\", time: \"overnight, at least 9h\", hands: \"put on 5 min\"),
        Step(id: \"use\", name: \"Use\", time: \"30 min\"),
    ]";
    // Saturday's service is at 19:30; 22:01 the evening before is 1289 minutes earlier.
    let plan = plan(after(
        steep,
        &[("d/steep", Done::Started(Minute(-1289)))],
        -1280,
    ));
    assert_eq!(when(&plan, "d/steep"), "Fri 22:01..Sat 07:01");
}

#[test]
fn a_forgotten_tick_leaves_the_times_of_everything_else() {
    let morning = "steps: [
        Step(id: \"blanch\", name: \"Blanch\", time: \"40 min\"),
        Step(id: \"boil\", name: \"Boil\", time: \"25 min\", within: \"07:00..12:00\"),
        Step(id: \"drain\", name: \"Drain\", time: \"10 min\"),
    ]";
    // Started at 10:50, over at 11:30, and nobody has said so by 11:40: the boil no longer fits before noon.
    let started = [("d/blanch", Done::Started(Minute(-520)))];
    let PlanOutcome::TooLate {
        needed, because, ..
    } = after(morning, &started, -470)
    else {
        panic!("the boil must be over by noon")
    };
    assert_eq!(when(&needed, "d/drain"), "Sat 19:20..Sat 19:30");
    assert!(
        because.iter().any(|line| line
            == "\"Blanch\" of Dish should have been over by Sat 11:30; if it is, tick it done at that time"),
        "{because:#?}"
    );
}

const TOGETHER: &str = "steps: [
    Step(id: \"cakes\", name: \"Cakes\", time: \"40 min\"),
    Step(id: \"sauce\", name: \"Sauce\", time: \"15 min\", after: [], together: [\"cakes\"]),
    Step(id: \"serve\", name: \"Serve\", time: \"5 min\", after: [After(step: \"cakes\"), After(step: \"sauce\")]),
]";

#[test]
fn what_is_to_be_ready_with_what_runs_is_ready_when_that_is() {
    let since = Minute(-100);
    let running = plan(after(TOGETHER, &[("d/cakes", Done::Started(since))], -95));
    assert_eq!(when(&running, "d/cakes"), "Sat 17:50..Sat 18:30");
    assert_eq!(when(&running, "d/sauce"), "Sat 18:15..Sat 18:30");
    // The oven is slow, and the sauce waits for it.
    let end = Minute(-40);
    let expected = Done::Expected { since, end };
    let slow = plan(after(TOGETHER, &[("d/cakes", expected)], -80));
    assert_eq!(when(&slow, "d/sauce"), "Sat 18:35..Sat 18:50");
    // Ten minutes before they are out there is no making it in fifteen; it is still to be in time for the pass.
    let apart = plan(after(TOGETHER, &[("d/cakes", Done::Started(since))], -70));
    assert_eq!(when(&apart, "d/sauce"), "Sat 19:10..Sat 19:25");
    // It holds the other way round as well.
    let sauce = Done::Expected {
        since,
        end: Minute(-30),
    };
    let turned = plan(after(TOGETHER, &[("d/sauce", sauce)], -95));
    assert_eq!(when(&turned, "d/cakes"), "Sat 18:20..Sat 19:00");
}
