//! Phrases as a cook may write them, and what is no phrase.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop"
)]

use super::*;
use crate::menu::{StepTime, words};
use crate::time::time_of_day;

#[test]
fn lengths_of_time_in_a_cooks_hand() {
    let table = [
        ("90 min", 90),
        ("90min", 90),
        ("1h30", 90),
        ("1 h 30 min", 90),
        ("1H30", 90),
        ("1.5 h", 90),
        ("1½ hours", 90),
        ("half an hour", 30),
        ("an hour", 60),
        ("1 hour and 5 minutes", 65),
        ("2 days", 2880),
        ("1 day 6h", 1800),
        ("1 day 1h05", 1505),
        ("2 days 5 min", 2885),
        ("1 week", 10_080),
        ("120 s", 2),
        ("0 min", 0),
        ("60 days", 86_400),
    ];
    for (text, minutes) in table {
        assert_eq!(duration(text), Ok(Minutes(minutes)), "{text}");
    }
    for text in [
        "",
        "min",
        "90",
        "1h90min5",
        "1h60",
        "30 min 1h",
        "1h 1h",
        "-5 min",
        "5 min later",
        "1e3 min",
        "∞ h",
        "60 days 1 min",
        "99999999999999999999 h",
        "1/0 h",
        "0.1 min",
        "90 s",
    ] {
        assert!(duration(text).is_err(), "{text}");
    }
}

#[test]
fn times_of_steps_in_all_their_forms() {
    let table = [
        ("90 min", "1h30"),
        ("6h..7h", "6h..7h"),
        ("20 min..25 min..40 min", "20 min..25 min..40 min"),
        ("10 min + 40 s a piece", "10 min + 40 s a piece"),
        ("40 s a glass", "40 s a piece"),
        (
            "6 min per litre + 1h + 5 min a batch",
            "1h + 5 min a batch + 6 min a litre",
        ),
        ("Overnight", "overnight"),
        ("until the kitchen opens", "overnight"),
        ("until the first morning", "overnight"),
        ("overnight, at least 8h", "overnight, at least 8h"),
        ("until the  second morning", "until the second morning"),
        ("until 6:00, at least 3h", "until 06:00, at least 3h"),
    ];
    for (text, said) in table {
        assert_eq!(words::time(&step_time(text).unwrap()), said, "{text}");
    }
    let StepTime::Elapsed(work) = step_time("6h..7h + 40 s a piece").unwrap() else {
        panic!("elapsed");
    };
    assert_eq!(
        (work.shortest, work.usual, work.longest, work.per_piece),
        (21_600, None, 25_200, 40)
    );
}

#[test]
fn gaps_and_hands_in_all_their_forms() {
    for (text, said) in [
        ("straight on", "straight on"),
        ("0 min..0 min", "straight on"),
        ("within 20 min", "within 20 min"),
        ("at least 8h", "at least 8h"),
        ("at least 8h, at most 24h", "8h..24h"),
        ("at least a night", "overnight"),
        (
            "at least two nights, at most 3 days",
            "at least 2 nights, at most 3 days",
        ),
    ] {
        assert_eq!(words::gap(&gap(text).unwrap()), said, "{text}");
    }
    for (text, said) in [
        ("throughout", "throughout"),
        ("put on 5 min, take off 5 min", "each end 5 min"),
        (
            "put on 5 min by 2, take off 10 min",
            "put on 5 min by 2, take off 10 min",
        ),
        (
            "look 1 min every hour, someone about",
            "look 1 min every 1h, someone about",
        ),
        ("Look 5 min once a day by 2", "look 5 min once a day by 2"),
        ("left alone", "left alone"),
    ] {
        assert_eq!(words::hands(&hands(text).unwrap()), said, "{text}");
    }
}

#[test]
fn hours_days_and_moments_in_all_their_forms() {
    for (text, said) in [
        ("7:00..22:00", "07:00..22:00"),
        ("18:00..02:00", "18:00..02:00"),
        ("18:00..00:00", "18:00..24:00"),
        ("07:00..07:00 next day", "07:00..07:00 next day"),
    ] {
        assert_eq!(words::span(&span(text).unwrap()), said, "{text}");
    }
    for text in [
        "24:00..25:00",
        "07:00..07:00",
        "7..22",
        "22:00",
        "07:00..08:00 next day",
    ] {
        assert!(span(text).is_err(), "{text}");
    }
    for (text, said) in [
        ("Every day", "every day"),
        ("Friday, sat", "Fri, Sat"),
        ("Fri..Mon", "Fri, Sat, Sun, Mon"),
        (
            "2026-11-28..2026-11-30",
            "2026-11-28, 2026-11-29, 2026-11-30",
        ),
        (
            "the day, the day before, 2 days before",
            "the day, 1 day before, 2 days before",
        ),
    ] {
        assert_eq!(words::days(&days(text).unwrap()), said, "{text}");
    }
    for (text, said) in [
        ("06:00 on the day", "06:00 on the day"),
        ("14:00 the day before", "14:00 1 day before"),
        ("friday 14:00", "Fri 14:00"),
        ("2026-11-27 14:00", "2026-11-27 14:00"),
    ] {
        assert_eq!(words::moment(&moment(text).unwrap()), said, "{text}");
    }
}

#[test]
fn services_and_courses() {
    for (text, said) in [
        ("2026-11-28 19:30", "2026-11-28 19:30"),
        ("2026-11-28 at 19:30", "2026-11-28 19:30"),
        ("in 2 days at 19:30", "in 2 days at 19:30"),
        ("in 1 day at 9:00", "in 1 day at 09:00"),
    ] {
        assert_eq!(words::service(&service(text).unwrap()), said, "{text}");
    }
    let at = |text| course_at(text, time_of_day(19, 30)).unwrap().0;
    assert_eq!(at("19:30"), 0);
    assert_eq!(at("21:00"), 90);
    assert_eq!(at("00:30 next day"), 300);
    assert_eq!(at("+1h30"), 90);
    assert_eq!(at("−30 min"), -30);
}

/// °F = 1.8 °C + 32, exactly.
#[test]
fn an_ovens_heat_in_either_scale() {
    for (text, tenths) in [
        ("160 C", 1600),
        ("160°c", 1600),
        ("320 F", 1600),
        ("162.5 °C", 1625),
        ("-40 F", -400),
        ("41 F", 50),
    ] {
        assert_eq!(heat(text), Ok(tenths), "{text}");
    }
}

#[test]
fn the_reading_that_ends_a_step() {
    let heat = |tenths, around| Ok(Goal::Heat { tenths, around });
    for (text, meant) in [
        ("5 C", heat(50, None)),
        ("5 °C in 3 C", heat(50, Some(30))),
        ("41 F", heat(50, None)),
        ("1.2 l", Ok(Goal::Volume(1200))),
        ("750 ml", Ok(Goal::Volume(750))),
        ("1.2 kg", Ok(Goal::Weight(1200))),
        ("640 g", Ok(Goal::Weight(640))),
    ] {
        assert_eq!(goal(text), meant, "{text}");
    }
    for text in [
        "",
        "cold",
        "5",
        "1.2 l in 3 C",
        "5 C in the fridge",
        "2 pints",
        "3 leaves",
        "in 3 C",
    ] {
        let trouble = goal(text).expect_err(text);
        assert!(
            trouble.what.contains("no reading that ends a step"),
            "{text}: {}",
            trouble.what
        );
    }
}
