//! Clock changes: elapsed hours stay elapsed hours, the clock face stays the clock face.
//!
//! Changes as published in the tz database (rules of the files europe, northamerica, australasia; instants for
//! 2026 and 2027 computed from release 2025b; Apia 2011 and Kathmandu 1985 historical).

use super::{SMALL_KITCHEN, menu, planned, when};
use countback::time::{Minutes, Timestamp};

/// Zone, date of service on the day after the changed night, elapsed minutes from 21:50 to the opening at
/// 07:00 (550 without a change).
const CHANGES: &[(&str, &str, i32)] = &[
    ("Europe/London", "2026-03-29", 490),
    ("Europe/London", "2026-10-25", 610),
    ("Europe/London", "2027-03-28", 490),
    ("Europe/London", "2027-10-31", 610),
    ("Europe/Paris", "2026-03-29", 490),
    ("Europe/Paris", "2026-10-25", 610),
    ("America/New_York", "2026-03-08", 490),
    ("America/New_York", "2026-11-01", 610),
    ("America/New_York", "2027-03-14", 490),
    ("America/New_York", "2027-11-07", 610),
    ("Australia/Lord_Howe", "2026-04-05", 580),
    ("Australia/Lord_Howe", "2026-10-04", 520),
    // The wall goes from Thursday to Saturday: one night, no time lost.
    ("Pacific/Apia", "2011-12-31", 550),
    ("Asia/Kathmandu", "1986-01-01", 535),
    // And a night on which nothing changes.
    ("Europe/London", "2026-11-28", 550),
];

#[test]
fn an_overnight_wait_ends_when_the_clock_on_the_wall_says_so() {
    for (zone, date, elapsed) in CHANGES {
        let menu = menu(
            zone,
            &format!("{date} 19:30"),
            SMALL_KITCHEN,
            "Serve(dish: Dish(id: \"d\", name: \"D\", steps: [
                Step(id: \"steep\", name: \"Steep\", time: \"overnight\", hands: \"put on 10 min\"),
                Step(id: \"use\", name: \"Use\", time: \"12h\", within: \"07:00..19:30\"),
            ]))",
        );
        let plan = planned(&menu);
        let (_, steep) = plan.find(&"d/steep".parse().unwrap()).unwrap();
        assert_eq!(
            plan.service.local(steep.window.start).clock(),
            "21:50",
            "{zone} {date}"
        );
        assert_eq!(
            plan.service.local(steep.window.end).clock(),
            "07:00",
            "{zone} {date}"
        );
        assert_eq!(steep.window.length(), Minutes(*elapsed), "{zone} {date}");
    }
}

#[test]
fn a_steep_of_twelve_hours_lasts_twelve_elapsed_hours() {
    for (zone, date, _) in CHANGES {
        let menu = menu(
            zone,
            &format!("{date} 07:30"),
            "open: [Open(days: \"every day\", at: \"00:00..24:00\")], cooks: [Cook(name: \"one\")]",
            "Serve(dish: Dish(id: \"d\", name: \"D\", steps: [
                Step(id: \"steep\", name: \"Steep\", time: \"12h\", hands: \"left alone\"),
            ]))",
        );
        let plan = planned(&menu);
        let (_, steep) = plan.find(&"d/steep".parse().unwrap()).unwrap();
        let seconds = |Timestamp(at)| at;
        let start = seconds(plan.service.timestamp(steep.window.start));
        let end = seconds(plan.service.timestamp(steep.window.end));
        assert_eq!(end - start, 12 * 3600, "{zone} {date}");
        let wall_start = plan.service.local(steep.window.start).clock();
        let unchanged = *date == "2026-11-28" || zone.starts_with("Pacific");
        assert_eq!(
            wall_start == "19:30",
            unchanged,
            "{zone} {date}: {wall_start}"
        );
        assert_eq!(plan.service.local(steep.window.end).clock(), "07:30");
    }
}

#[test]
fn until_a_time_of_day_reads_the_clock_face() {
    let menu = menu(
        "Europe/London",
        "2026-03-29 12:00",
        SMALL_KITCHEN,
        "Serve(dish: Dish(id: \"d\", name: \"D\", steps: [
            Step(id: \"hang\", name: \"Hang\", time: \"until 06:00, at least 5h\", hands: \"left alone\"),
            Step(id: \"use\", name: \"Use\", time: \"5h\", within: \"07:00..12:00\"),
        ]))",
    );
    let plan = planned(&menu);
    // Five elapsed hours before 06:00 summer time is midnight winter time.
    assert_eq!(when(&plan, "d/hang"), "Sun 00:00..Sun 06:00");
}
