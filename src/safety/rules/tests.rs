//! Boundaries of the rules on both sides, and what differs between countries.

use super::*;

/// A straight fall between points of (minute, °C).
fn falls(points: &[(f64, f64)]) -> impl Fn(f64) -> Option<f64> + '_ {
    move |goal| {
        points.windows(2).find_map(|pair| {
            let ((from, high), (to, low)) = (pair[0], pair[1]);
            (high >= goal && low <= goal)
                .then(|| from + (to - from) * (high - goal) / (high - low).max(1e-9))
        })
    }
}

fn passes(set: &RuleSet, points: &[(f64, f64)]) -> bool {
    set.cooling.failed(points[0].1, falls(points)).is_empty()
}

#[test]
fn sets_differ_where_the_laws_do() {
    // Exactly two hours to 21 °C passes, a minute more does not (FDA Food Code §3-501.14(A)).
    let fall = |first: f64| [(0.0, 57.0), (first, 21.0), (300.0, 5.0)];
    assert!(passes(&US, &fall(120.0)));
    assert!(!passes(&US, &fall(121.0)));
    // Half an hour to 21 °C leaves five and a half for the rest there, but four in Australia (cl. 7(3)).
    let slow = [(0.0, 57.0), (30.0, 21.0), (360.0, 5.0)];
    assert!(passes(&US, &slow));
    assert!(!passes(&AUSTRALIA, &slow));
    assert!(!passes(&US, &[(0.0, 57.0), (30.0, 21.0), (361.0, 5.0)]));
    assert!(passes(
        &AUSTRALIA,
        &[(0.0, 60.0), (120.0, 21.0), (360.0, 5.0)]
    ));
    assert!(!passes(
        &AUSTRALIA,
        &[(0.0, 60.0), (120.0, 21.0), (361.0, 5.0)]
    ));
    // A fridge at 7.5 °C is lawful in England alone, one at 5 everywhere.
    let cold = |degrees| {
        SETS.iter()
            .map(move |set| (set.key, set.holds_cold(degrees)))
    };
    assert!(cold(5.0).all(|(_, held)| held));
    for (key, held) in cold(7.5) {
        assert_eq!(held, !["us", "anz"].contains(&key), "{key}");
    }
    // Held at 58 °C is hot in the US alone.
    for set in SETS {
        assert_eq!(set.holds_hot(58.0), set.key == "us", "{}", set.key);
        assert_eq!(set.holds_hot(60.0), ["us", "anz"].contains(&set.key));
        assert!(set.holds_hot(63.0));
    }
}

#[test]
fn a_clock_starts_where_the_food_passes_its_beginning() {
    // From 85 °C with an hour before it passes 57: the hour does not count.
    let fall = [(0.0, 85.0), (60.0, 57.0), (180.0, 21.0), (420.0, 5.0)];
    assert!(passes(&US, &fall));
    let late = [(0.0, 85.0), (60.0, 57.0), (181.0, 21.0), (420.0, 5.0)];
    let failed = US.cooling.failed(85.0, falls(&late));
    assert_eq!(failed.len(), 1);
    assert!(failed[0].1.is_some_and(|took| (took - 121.0).abs() < 1e-9));
    // What begins at 20 °C has the second leg alone, from its beginning.
    let begun = [(0.0, 20.0), (240.0, 5.0)];
    assert!(passes(&AUSTRALIA, &begun));
    // What never gets there fails.
    assert!(!passes(&US, &[(0.0, 57.0), (60.0, 21.0), (300.0, 6.0)]));
}

/// FDA Food Code §3-501.14(A) for what was cooked, six hours; (B) for what was made at the temperature of the room, four.
#[test]
fn what_is_not_known_to_have_been_hot_keeps_the_stricter_of_both() {
    let keeps = |warmest: f64, points: &[(f64, f64)]| {
        let legs = US.cooling_of(warmest);
        legs.failed(points[0].1, falls(points)).is_empty()
    };
    let to_five = |minutes: f64| [(0.0, 25.0), (60.0, 21.0), (minutes, 5.0)];
    assert!(keeps(25.0, &to_five(240.0)) && !keeps(25.0, &to_five(241.0)));
    assert!(keeps(82.0, &to_five(360.0)) && !keeps(82.0, &to_five(361.0)));
    // Two hours to 21 °C hold for either.
    let slow = [(0.0, 50.0), (121.0, 21.0), (200.0, 5.0)];
    assert!(!keeps(50.0, &slow) && !keeps(82.0, &slow));
    // Hot begins at 57 °C.
    assert!(keeps(57.0, &to_five(300.0)) && !keeps(56.9, &to_five(300.0)));
    // England and Australia have one rule for both.
    for set in SETS.iter().filter(|set| set.key != "us") {
        assert_eq!(set.cooling_of(25.0), set.cooling, "{}", set.key);
    }
}

#[test]
fn the_day_it_is_made_is_the_first() {
    let date = |month, day| Date::from_ymd_opt(2026, month, day).unwrap_or_default();
    let keeping = Keeping {
        days: 7,
        source: "",
    };
    // Made on 1 April: used or thrown away by 7 April (Southern Nevada Health District).
    assert_eq!(last_day(keeping, date(4, 1), 0), Some(date(4, 7)));
    assert_eq!(day_of_keeping(date(4, 1), date(4, 7), 0), 7);
    // Cooked on 1 June and used in a dish on the 3rd: still 7 June, by its oldest part.
    assert_eq!(last_day(keeping, date(6, 1), 0), Some(date(6, 7)));
    // Two days, then ten frozen: five days are left after thawing.
    assert_eq!(last_day(keeping, date(4, 1), 10), Some(date(4, 17)));
    assert_eq!(day_of_keeping(date(4, 1), date(4, 17), 10), 7);
    // Over the end of a month and a leap day.
    let leap = Date::from_ymd_opt(2028, 2, 26).unwrap_or_default();
    assert_eq!(last_day(keeping, leap, 0), Date::from_ymd_opt(2028, 3, 3));
}

#[test]
fn reheating_needs_its_seconds_said() {
    let met = |set: &RuleSet, to, lasting| set.reheating.map(|it| it.is_met(to, lasting));
    assert_eq!(met(&US, 74.0, Some(15)), Some(Some(true)));
    assert_eq!(met(&US, 74.0, Some(14)), Some(Some(false)));
    assert_eq!(met(&US, 74.0, None), Some(None));
    assert_eq!(met(&US, 73.0, Some(600)), Some(Some(false)));
    assert_eq!(met(&ENGLAND, 70.0, Some(120)), Some(Some(true)));
    assert_eq!(met(&ENGLAND, 76.0, Some(30)), Some(Some(true)));
    assert_eq!(met(&SCOTLAND, 81.0, Some(600)), Some(Some(false)));
    assert_eq!(met(&AUSTRALIA, 60.0, None), Some(Some(true)));
}
