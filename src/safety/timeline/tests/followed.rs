//! Food is followed through steps that need no control, through a second cooking, and along its own branch.

use super::*;
use crate::menu::{Edge, Keep};

fn dusted(temperature: Option<Temperature>) -> Step {
    let mut dust = step("dust", temperature);
    dust.control = Some(Control::NotNeeded);
    dust
}

#[test]
fn a_step_that_needs_no_control_takes_nothing_from_the_food_it_is_done_to() {
    use Verdict::{Breaks, NotKnown, Within};
    // A cake is cut, kept for nine days and dusted: it is nine days old (FDA Food Code §3-501.17).
    let day = 24 * 60;
    let cake = |dust| vec![step("fill", held(3)), step("keep", held(3)), dusted(dust)];
    let of = |dust, days: i32| verdict(cake(dust), &US, &[60, days * day, 5]);
    assert_eq!(of(held(3), 9), Breaks);
    assert_eq!(of(held(3), 2), Within);
    assert_eq!(of(None, 2), NotKnown);
    // Three and a half hours on the bench before it and as long after it are seven.
    let bench = || {
        let out = |id| step(id, held(20));
        vec![
            step("cold", held(3)),
            out("cut"),
            dusted(held(20)),
            out("lay"),
        ]
    };
    for set in [&US, &ENGLAND, &AUSTRALIA] {
        let found = verdict(bench(), set, &[60, 210, 5, 210]);
        assert_eq!(found, Breaks, "{}", set.key);
    }
    // And where it is the last, the food waits for its course as any other does.
    let mut waits = menu(cake(held(3)));
    waits.dishes[0].waits_at = Some(200);
    assert_eq!(checked(&waits, &US, &[60, 60, 5], 420).verdict, Breaks);
    // Dough that is fried dry needs none from then on, where the step that fries it says so.
    let mut fry = step("fry", cooked(98));
    let fried = |fry: &Step| vec![step("dough", held(3)), fry.clone(), dusted(None)];
    assert_eq!(verdict(fried(&fry), &US, &[60, 10, 9 * day]), Breaks);
    fry.control = Some(Control::NotNeeded);
    assert_eq!(verdict(fried(&fry), &US, &[60, 10, 9 * day]), Within);
    // Of what follows nothing but its like there is still nothing to say.
    let sugar = || vec![dusted(None), dusted(None)];
    assert_eq!(verdict(sugar(), &US, &[60, 9 * day]), Within);
}

#[test]
fn what_is_cooked_a_second_time_is_reheated_and_as_old_as_it_was() {
    use Verdict::{Breaks, NotKnown, Within};
    let day = 24 * 60;
    let of = |to: i32, lasting, days: i32| {
        let again = Some(Temperature::Cooked {
            to: to * 10,
            lasting,
        });
        let mut cool = step("cool", Some(Temperature::Cooled { from: 820, to: 30 }));
        cool.cooling = custard(Some(100), "ice bath").dishes[0].steps[1]
            .cooling
            .clone();
        let mut menu = menu(vec![
            step("cook", cooked(82)),
            cool,
            step("keep", held(3)),
            step("again", again),
        ]);
        menu.dishes[0].waits_at = Some(700);
        checked(&menu, &US, &[30, 180, days * day, 60], 0).verdict
    };
    // FDA Food Code §3-403.11: 74 °C for 15 s.
    assert_eq!(of(60, Some(15), 2), Breaks);
    assert_eq!(of(82, None, 2), NotKnown);
    assert_eq!(of(82, Some(30), 2), Within);
    // §3-501.17: its days run from the first cooking.
    assert_eq!(of(82, Some(30), 8), Breaks);
    // What has been hot all the while is not reheated.
    let mut hot = menu(vec![step("cook", cooked(82)), step("on", cooked(60))]);
    hot.dishes[0].waits_at = Some(700);
    assert_eq!(checked(&hot, &US, &[30, 30], 0).verdict, Within);
}

#[test]
fn what_another_branch_keeps_is_no_place_for_this_one() {
    // A custard out of its bath waits ten hours for a jelly, which stands on the shelf meanwhile.
    let keep = Keep {
        kit: "fridge".to_owned(),
        count: 1,
        from: Edge::Start,
        until: "fill".to_owned(),
        to: Edge::End,
    };
    let of = |keeper: usize| {
        let mut menu = custard(Some(100), "ice bath");
        let steps = &mut menu.dishes[0].steps;
        steps.push(step("jelly", held(3)));
        steps.push(step("fill", held(3)));
        steps[keeper].keeps_kit.push(keep.clone());
        let doing = |step: usize, start, end, follows| Doing {
            dish: 0,
            step,
            name: menu.dishes[0].steps[step].name.clone(),
            window: Window::new(Minute(start), Minute(end)),
            follows,
            left_out: false,
        };
        let doings = [
            doing(0, -1000, -970, vec![]),
            doing(1, -970, -700, vec![0]),
            doing(2, -1000, -60, vec![]),
            doing(3, -60, 0, vec![1, 2]),
        ];
        check(&menu, &US, service(), &doings).dishes[0].verdict
    };
    assert_eq!(of(0), Verdict::Within);
    assert_eq!(of(2), Verdict::NotKnown);
}

#[test]
fn what_nobody_knows_how_it_came_has_the_shorter_period_in_england_too() {
    // SI 2013/2996 Sch. 4 paras 5 and 7(2): less than four hours out of the cold, less than two below the hot limit.
    let of = |minutes| verdict(vec![step("mix", held(20))], &ENGLAND, &[minutes]);
    assert_eq!(of(119), Verdict::Within);
    assert_eq!(of(120), Verdict::NotKnown);
    assert_eq!(of(240), Verdict::Breaks);
}
