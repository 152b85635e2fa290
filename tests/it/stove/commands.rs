//! `now`, `handover`, `note`, `read`, `change` and `wall`, of the real program.

use std::path::PathBuf;
use std::process::{Command, Stdio};

use countback::book::{Book, Happening};
use portable_pty::CommandBuilder;

use crate::support::terminal::{FRIDAY, Terminal};

const HILL: &str = "tests/data/menus/hill-supper.ron";

struct Kitchen(tempfile::TempDir);

impl Kitchen {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn book(&self) -> PathBuf {
        self.0.path().join("book.sqlite")
    }

    /// Runs the program on a Friday evening; returns the exit code and what it printed.
    fn run(&self, words: &[&str]) -> (i32, String) {
        self.run_at(FRIDAY, words)
    }

    fn run_at(&self, now: &str, words: &[&str]) -> (i32, String) {
        let output = Command::new(env!("CARGO_BIN_EXE_countback"))
            .args(words)
            .args(["--now", now, "--book"])
            .arg(self.book())
            .env_clear()
            .env("USER", "ana")
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let said =
            String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        (output.status.code().unwrap(), said)
    }
}

/// While somebody thinks over a decision the others tick: what is then announced is planned from what they ticked.
#[test]
fn a_decision_is_planned_again_where_the_book_has_gone_on_meanwhile() {
    let kitchen = Kitchen::new();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_countback"));
    command.args(["change", HILL, "covers", "50", "--now", FRIDAY, "--book"]);
    command.arg(kitchen.book());
    let mut terminal = Terminal::run(command, 120, 60);
    let asked = |times: usize| {
        move |screen: &vt100::Screen| screen.contents().matches("take it? y or n").count() == times
    };
    terminal.wait("the question", asked(1));
    let (code, said) = kitchen.run(&["tick", HILL, "tea", "start", "--at", "20:10"]);
    assert_eq!(code, 0, "{said}");
    terminal.press("y\r");
    terminal.wait("the question again", asked(2));
    terminal.wait_for("the book has gone on meanwhile; nothing is decided yet");
    let decided = || {
        let entries = Book::open(&kitchen.book())
            .unwrap()
            .entries("hill-supper@2026-11-28");
        let is_decided = |what: &Happening| matches!(what, Happening::Decided { .. });
        entries
            .unwrap()
            .iter()
            .filter(|entry| is_decided(&entry.what))
            .count()
    };
    assert_eq!(decided(), 0);
    terminal.press("y\r");
    terminal.wait_for("decided: 50 covers");
    terminal.wait_for_end();
    assert_eq!(decided(), 1);
}

#[test]
fn notes_and_readings_are_written_and_handed_over() {
    let kitchen = Kitchen::new();
    let (code, said) = kitchen.run(&["note", HILL, "the fridge by the door is warm"]);
    assert_eq!(code, 0, "{said}");
    let (_, said) = kitchen.run(&["tick", HILL, "tea", "start"]);
    assert!(said.contains("started Fri 20:30"), "{said}");
    let (code, said) = kitchen.run(&["note", HILL, "tea", "two bags are short"]);
    assert_eq!((code, said.starts_with("noted of ")), (0, true), "{said}");
    let (code, said) = kitchen.run(&["read", HILL, "tea", "62 C to 5 C in 3 C"]);
    assert!(
        code == 0 && said.contains("62 °C, to 5 °C in 3 °C, Fri 20:30"),
        "{said}"
    );

    let (code, page) = kitchen.run(&["handover", HILL]);
    assert_eq!(code, 0, "{page}");
    for text in [
        "Runs (0 of",
        "62 °C at 20:30,",
        "two bags are short",
        "the fridge by the door is warm",
        "So far",
    ] {
        assert!(page.contains(text), "{text}:\n{page}");
    }
    let (code, json) = kitchen.run(&["handover", HILL, "--json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(code, 0);
    assert_eq!(json["format"], "countback-handover-1");
    assert_eq!(json["runs"][0]["since"]["at"], "2026-11-27T20:30:00+01:00");
    assert_eq!(json["runs"][0]["readings"][0]["says"], "62 °C");
    assert_eq!(json["notes"][1]["who"], "ana");

    kitchen.run(&["note", HILL, "handed over to Bo"]);
    let (_, page) = kitchen.run(&["handover", HILL]);
    assert!(
        page.contains("Since the handover of Fri 20:30, ana"),
        "{page}"
    );
    let (_, said) = kitchen.run(&["now", HILL]);
    assert!(
        said.starts_with("now Fri 20:30, 0 of ") && said.contains(" left, until "),
        "{said}"
    );
}

#[test]
fn what_was_ordered_is_written_from_the_command_line_and_stands_everywhere() {
    let kitchen = Kitchen::new();
    let noon = "2026-11-26 12:30";
    let run = |words: &[&str]| kitchen.run_at(noon, words);
    let (code, said) = run(&["see-to", "demo", "order"]);
    assert!(
        code == 2 && said.contains("could be any of these; write more of it:\n  order from"),
        "{said}"
    );
    let (code, said) = run(&["see-to", "demo", "swan"]);
    assert!(
        code == 2 && said.contains("\"swan\" is none of these:"),
        "{said}"
    );
    let (code, said) = run(&["see-to", "demo", "dairy", "thu", "--at", "12:10"]);
    assert!(
        code == 0 && said.contains("seen to Thu 2026-11-26 12:10: order from dairy: butter, egg, "),
        "{said}"
    );
    assert!(said.contains("\nto see to next: "), "{said}");
    let (code, said) = run(&["see-to", "demo", "butter"]);
    assert!(
        code == 2 && said.contains("\"butter\" is seen to already; undo takes it back"),
        "{said}"
    );
    let (_, said) = run(&["order", "demo"]);
    assert!(said.contains("ordered Thu 12:10"), "{said}");
    let (_, said) = run(&["plan", "demo"]);
    assert!(
        said.contains("✓ order from dairy: butter, ") && said.contains("✓ = seen to."),
        "{said}"
    );
    let (_, said) = run(&["book", "demo"]);
    assert!(said.contains("ordered: butter ("), "{said}");
    let (_, said) = run(&["handover", "demo"]);
    let to_order = said.split("To order, thaw or soak").nth(1).unwrap();
    let to_order = to_order.split("\n\n").next().unwrap();
    assert!(!to_order.contains("butter"), "{said}");
    let (_, said) = run(&["order", "demo", "--json"]);
    let json: serde_json::Value = serde_json::from_str(&said).unwrap();
    let of_dairy =
        |it: &&serde_json::Value| it["says"].as_str().unwrap().contains("from dairy: butter");
    let reminder = json["reminders"]
        .as_array()
        .unwrap()
        .iter()
        .find(of_dairy)
        .unwrap();
    assert_eq!(reminder["seen_to"]["at"], "2026-11-26T12:10:00+00:00");
    assert!(reminder["past"] == false && reminder["late_minutes"].is_null());
    let (code, said) = run(&["undo", "demo"]);
    assert!(code == 0 && said.contains("ordered: butter"), "{said}");
    let (_, said) = run(&["plan", "demo"]);
    assert!(said.contains("◇ order from dairy: butter, "), "{said}");
    // A dish tells two soaks apart; a name is that of one of the goods, on whichever day.
    for (words, says) in [
        (
            &["soak", "domes"][..],
            ": soak in cold water 36 leaves gelatine, beef, ",
        ),
        (&["dark", "sugar"], ": order from dry goods: dark sugar\n"),
        (&["sugar"], ": order from dry goods: sugar\n"),
        (&["honey", "wed"], ": order from dry goods: pale honey\n"),
    ] {
        let (code, said) = run(&[&["see-to", "demo"], words].concat());
        assert!(code == 0 && said.contains(says), "{words:?}: {said}");
    }
    // What could not be had is left open.
    let (_, said) = run(&["see-to", "demo", "butter"]);
    assert!(said.contains(": order from dairy: butter\n"), "{said}");
    let (_, said) = run(&["plan", "demo"]);
    assert!(
        said.contains("✓ order from dairy: butter: seen to Thu 12:30"),
        "{said}"
    );
    assert!(said.contains("◇ order from dairy: egg, egg yolk"), "{said}");
    // Whoever opens a book when most of it is ordered says so at once; what was set to thaw is said with its time.
    let (code, said) = run(&["see-to", "demo", "--past"]);
    let seen_to = said
        .lines()
        .filter(|line| line.starts_with("seen to ") && line.contains(": order from "));
    assert!(code == 0 && seen_to.count() > 10, "{said}");
    assert!(
        said.contains("seen to Wed 2026-11-25 16:00: order from dairy: double cream, milk\n"),
        "{said}"
    );
    assert!(
        said.contains("\n1 thing was to be seen to by now: order says which\nto see to next: "),
        "{said}"
    );
    let (code, said) = run(&["see-to", "demo", "--past"]);
    assert!(
        code == 0 && said.starts_with("no order was to be out by now\n"),
        "{said}"
    );
    let (_, said) = run(&["see-to", "demo", "thaw", "--past"]);
    assert!(said.contains("cannot be used with"), "{said}");
}

/// Eighteen hours are not left: it is said, and not as done.
#[test]
fn what_was_seen_to_too_late_is_said_wherever_it_stands() {
    let kitchen = Kitchen::new();
    let run = |words: &[&str]| kitchen.run_at("2026-11-26 22:55", words);
    let (code, said) = run(&["see-to", "demo", "defrost", "quince"]);
    let late = "17h58 too late for the step that takes it";
    assert!(
        code == 0 && said.contains(&format!("{late}: a slip? undo takes it back")),
        "{said}"
    );
    let (_, said) = run(&["handover", "demo"]);
    assert!(
        said.contains("! 17h58 too late: defrost in the cold 2.4 kg quince"),
        "{said}"
    );
    assert!(
        said.contains("; defrost in the cold 2.4 kg quince purée, 18h, 17h58 too late"),
        "its call: {said}"
    );
    // What more covers want of what is ordered is said before they are decided.
    run(&["see-to", "demo", "double"]);
    let (_, said) = run(&["change", "demo", "covers", "200", "--yes"]);
    assert!(said.contains("! double cream: 5 l ordered, and "), "{said}");
}

/// What the next shift must order or thaw is no step, and would be forgotten if the page did not say it.
#[test]
fn what_must_be_ordered_or_thawed_is_handed_over() {
    let kitchen = Kitchen::new();
    let evening = "2026-11-26 22:55";
    let (_, page) = kitchen.run_at(evening, &["handover", "demo"]);
    for text in [
        "To order, thaw or soak",
        "- was to be by 16:00, and nobody has ticked it: order from dairy: butter,",
        "- 23:52 defrost in the cold 700 g blackcurrant purée, 18h",
    ] {
        assert!(page.contains(text), "{text}:\n{page}");
    }
    assert!(
        !page.contains("plum spirit"),
        "that is for tomorrow:\n{page}"
    );
    let (_, json) = kitchen.run_at(evening, &["handover", "demo", "--json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let ahead = json["ahead"].as_array().unwrap();
    let says = "defrost in the cold 700 g blackcurrant purée, 18h";
    let thawed = ahead.iter().find(|it| it["says"] == says).unwrap();
    assert_eq!(thawed["by"]["at"], "2026-11-26T23:52:00+00:00");
}

#[test]
fn what_makes_no_sense_is_refused_before_a_book_is_made() {
    let kitchen = Kitchen::new();
    for (words, why) in [
        (vec!["note", HILL, "  "], "a note says something"),
        (
            vec!["note", HILL, "nothing-like-it", "text"],
            "there is no step",
        ),
        (vec!["read", HILL, "tea", "lukewarm"], "write 62 C"),
        (
            vec!["change", HILL, "covers", "none"],
            "covers are a whole number",
        ),
        (
            vec!["change", HILL, "moon", "full"],
            "is nothing that can be decided",
        ),
        (
            vec!["change", HILL, "without", "nothing-like-it"],
            "there is no dish",
        ),
        (
            vec!["change", HILL, "service", "2020-01-01 10:00"],
            "a service that has passed",
        ),
        (vec!["now", HILL, "--cook", "nobody"], "there is no cook"),
        (vec!["plan", HILL, "--speed", "0"], "from 0.1 to 10000"),
        (
            vec!["--on-alert", "say \"x", HILL],
            "is opened and never closed",
        ),
        (vec!["--quiet", "plan", HILL], "are for a sheet"),
    ] {
        let (code, said) = kitchen.run(&words);
        assert_eq!(code, 2, "{words:?}: {said}");
        assert!(said.contains(why), "{words:?}: {said}");
    }
    assert!(!kitchen.book().exists());
}

#[test]
fn a_decision_is_shown_before_it_is_taken_and_holds_afterwards() {
    let kitchen = Kitchen::new();
    let (code, said) = kitchen.run(&["change", HILL, "covers", "18"]);
    assert_eq!(code, 2, "nobody can be asked: {said}");
    assert!(
        said.starts_with("18 covers\n") && said.contains("--yes takes it"),
        "{said}"
    );
    assert!(!kitchen.book().exists());
    let (code, said) = kitchen.run(&["change", HILL, "covers", "18", "--yes"]);
    assert!(
        code == 0 && said.ends_with("decided: 18 covers\n") || said.contains("decided: 18 covers"),
        "{said}"
    );
    let (_, page) = kitchen.run(&["handover", HILL]);
    assert!(
        page.contains("Otherwise than the menu says\n  - 18 covers"),
        "{page}"
    );
    let (_, plan) = kitchen.run(&["plan", HILL, "--json"]);
    let plan: serde_json::Value = serde_json::from_str(&plan).unwrap();
    assert_eq!(plan["menu"]["covers"], 18);
}

#[test]
fn a_wall_follows_what_is_ticked_elsewhere_and_makes_no_book() {
    let kitchen = Kitchen::new();
    let mut wall = Terminal::open(&kitchen.book(), &["wall", HILL], 80, 24);
    wall.wait_for("NOTHING RUNS");
    wall.press("s");
    wall.wait_for("hangs on the wall");
    assert!(!kitchen.book().exists(), "looking leaves nothing behind");
    let (code, said) = kitchen.run(&["tick", HILL, "tea", "start"]);
    assert_eq!(code, 0, "{said}");
    wall.wait("the tick", |screen| {
        screen.contents().contains("since 20:30")
    });
    wall.press("q");
    assert!(wall.wait_for_end().success());
}
