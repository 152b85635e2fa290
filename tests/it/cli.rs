//! The real program from its command line: what it prints, where, and how it ends.
//!
//! Every run gets a home of its own, a fixed clock where time matters, and nothing of this machine's
//! environment.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use countback::book::{Book, Happening, Note};
use countback::time::Timestamp;

/// Thursday afternoon, two days before the service of `hill-supper.ron`.
const THURSDAY: &str = "2026-11-26 14:30";
const HILL: &str = "tests/data/menus/hill-supper.ron";

/// A home for one test.
struct Home(tempfile::TempDir);

/// What a run left.
#[derive(Debug)]
struct Ran {
    code: i32,
    out: String,
    errors: String,
}

impl Home {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Writes a file into the home and returns its path as text.
    fn file(&self, name: &str, text: impl AsRef<[u8]>) -> String {
        let path = self.path(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_countback"));
        command
            .args(words)
            .env_clear()
            .env("HOME", self.0.path())
            .env("XDG_DATA_HOME", self.path("data"))
            .env("USER", "ana")
            .stdin(Stdio::null());
        command
    }

    fn run(&self, words: &[&str]) -> Ran {
        let output = self.command(words).output().unwrap();
        let ran = Ran {
            code: output.status.code().expect("ends by itself"),
            out: String::from_utf8(output.stdout).unwrap(),
            errors: String::from_utf8(output.stderr).unwrap(),
        };
        for text in [&ran.out, &ran.errors] {
            let control = text.chars().find(|c| c.is_control() && *c != '\n');
            assert_eq!(control, None, "{words:?}: {ran:?}");
        }
        assert!(
            ran.errors.is_empty() || ran.errors.starts_with("countback: "),
            "{words:?}: {ran:?}"
        );
        ran
    }

    /// Returns the table a run prints, whose lines end as a spreadsheet's do.
    fn table(&self, words: &[&str]) -> String {
        let output = self.command(words).output().unwrap();
        assert!(output.status.success(), "{output:?}");
        String::from_utf8(output.stdout).unwrap()
    }

    /// Runs on Thursday afternoon.
    fn thursday(&self, words: &[&str]) -> Ran {
        self.run(&[words, &["--now", THURSDAY]].concat())
    }

    fn book(&self) -> PathBuf {
        self.path("data/countback/book.sqlite")
    }
}

fn hill() -> String {
    std::fs::read_to_string(HILL).unwrap()
}

#[test]
fn the_plan_is_printed_and_looking_makes_no_book() {
    let home = Home::new();
    let ran = home.thursday(&["plan", HILL]);
    assert_eq!((ran.code, ran.errors.as_str()), (0, ""));
    for said in [
        "Hill supper",
        "40 covers, service Sat 2026-11-28 19:30 (Europe/Rome)",
        "as of Thu 2026-11-26 14:30, T−53h00",
        "Poach the pears",
        "at the pass",
    ] {
        assert!(ran.out.contains(said), "{said}: {}", ran.out);
    }
    home.thursday(&["tonight", HILL]);
    home.thursday(&["book", HILL]);
    assert!(!home.path("data").exists());
}

#[test]
fn a_tick_goes_into_the_book_and_comes_back_on_every_sheet() {
    let home = Home::new();
    let tick = |words: &[&str]| home.thursday(&[&["tick", HILL], words].concat());
    let started = tick(&["steep", "start", "--at", "14:05"]);
    assert_eq!(
        (started.code, started.errors.as_str()),
        (0, ""),
        "{started:?}"
    );
    assert!(
        started.out.starts_with("pears/steep started Thu 14:05\n"),
        "{}",
        started.out
    );
    assert!(home.book().is_file());
    assert!(home.thursday(&["plan", HILL]).out.contains("running"));

    let done = tick(&["pears/steep", "done"]);
    assert!(
        done.out
            .starts_with("pears/steep done Thu 14:30, started Thu 14:05\nafter 25 min of "),
        "{}",
        done.out
    );
    assert!(done.out.contains(": a slip?"), "{}", done.out);
    let taken_back = tick(&["steep", "undo"]);
    assert!(
        taken_back
            .out
            .starts_with("taken back: pears/steep done\npears/steep started Thu 14:05\n"),
        "{}",
        taken_back.out
    );
    let skipped = tick(&["jelly/boil", "skip", "--reason", "no quince\u{1b}[2J today"]);
    assert!(
        skipped
            .out
            .starts_with("jelly/boil skipped Thu 14:30: no quince\u{FFFD}[2J today\n"),
        "{}",
        skipped.out
    );
    let book = home.thursday(&["book", HILL]);
    let lines: Vec<&str> = book.out.lines().collect();
    assert!(
        lines[0].starts_with("hill-supper@2026-11-28: 5 entries in "),
        "{}",
        book.out
    );
    for (line, said) in lines[1..].iter().zip([
        "menu seen, 6 steps",
        "Thu 2026-11-26 14:05 pears/steep started (written Thu 2026-11-26 14:30, by ana",
        "pears/steep done",
        "entry 3 taken back",
        "jelly/boil skipped: no quince",
    ]) {
        assert!(line.contains(said), "{said}: {line}");
    }
}

/// What is taken back is whatever was said of the step last, and is called by its name.
#[test]
fn what_an_undo_takes_back_is_said() {
    let home = Home::new();
    home.thursday(&["tick", HILL, "steep", "start"]);
    home.thursday(&["note", HILL, "steep", "the lid\u{1b} is cracked"]);
    for said in [
        "taken back: note on pears/steep: the lid\u{FFFD} is cracked\npears/steep started Thu 14:30\n",
        "taken back: pears/steep started\npears/steep waits\n",
    ] {
        let undone = home.thursday(&["tick", HILL, "steep", "undo"]);
        assert!(undone.out.starts_with(said), "{}", undone.out);
    }
}

#[test]
fn a_tick_that_makes_no_sense_is_refused_and_writes_nothing() {
    let home = Home::new();
    for (words, said) in [
        (&["boil-dwon", "start"][..], "the nearest are"),
        (
            &["pears", "start"],
            "could be pears/steep, pears/poach, pears/chill",
        ),
        (&["poach", "undo"], "nothing to undo"),
        (&["poach", "skip"], "--reason"),
        (&["poach", "skip", "--reason", " "], "--reason"),
        (&["poach", "start", "--reason", "x"], "--reason"),
        (&["poach", "start", "--at", "Thu 23:10"], "still to come"),
        (&["poach", "start", "--at", "noonish"], "--at"),
        (&["poach", "burn"], "burn"),
    ] {
        let ran = home.thursday(&[&["tick", HILL], words].concat());
        assert_eq!(ran.code, 2, "{words:?}: {ran:?}");
        assert!(ran.errors.contains(said), "{words:?}: {}", ran.errors);
        assert_eq!(ran.out, "", "{words:?}");
    }
    assert!(!home.book().exists());
}

/// Where it does not all fit any more, a tick is answered with what can still be.
#[test]
fn a_tick_too_late_is_told_what_can_still_be() {
    let home = Home::new();
    let ran = home.run(&["tick", HILL, "boil", "start", "--now", "2026-11-28 18:30"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    let said = |line: &str| assert!(ran.out.contains(line), "{line}: {}", ran.out);
    // An hour of boiling, half an hour of boiling down, six hours of setting.
    said("\nwhat can still be:\n  Smoked-tea pears: ");
    said("\n  Quince jelly: 6h30 late, ready Sun 02:00; ");
    said("\nit runs until Sat 19:30\nnext: pears/steep at Sat 18:30");
    assert!(!ran.out.contains("would have needed"), "{}", ran.out);
}

/// Nothing was announced with a decision that leaves no plan; then the command line keeps what the menu's file says, as
/// the sheet does, and says what can still be.
#[test]
fn after_a_decision_without_a_plan_the_command_line_says_what_can_still_be() {
    let home = Home::new();
    let menu = home.file(
        "menu.ron",
        r#"Menu(
            id: "figs", name: "Fig evening", service: "2026-11-28 19:30", covers: 10,
            kitchen: Kitchen(
                name: "Ferry house", zone: "Europe/Rome",
                open: [Open(days: "every day", at: "07:00..23:00")],
                cooks: [Cook(name: "Ines"), Cook(name: "Ugo", skills: ["sugar"])],
            ),
            dishes: [
                Serve(dish: Dish(id: "figs", name: "Glazed figs", steps: [
                    Step(id: "coat", name: "Coat", time: "4h"),
                ])),
                Serve(dish: Dish(id: "crisp", name: "Sesame crisp", steps: [
                    Step(id: "pull", name: "Pull", time: "2h", skill: "sugar", not_before: "13:00 on the day"),
                    Step(id: "snap", name: "Snap", time: "20 min"),
                ])),
            ],
        )"#,
    );
    let ran = |words: &[&str], now: &str| {
        let words = [words, &["--now", now]].concat();
        home.run(&words)
    };
    ran(&["tick", &menu, "coat", "start"], "2026-11-28 07:55");
    ran(
        &["change", &menu, "away", "Ugo", "--yes"],
        "2026-11-28 08:00",
    );
    let left_out = "Sesame crisp: is left out of what can still be";
    let plan = ran(&["plan", &menu], "2026-11-28 08:01");
    assert!(plan.out.contains(left_out), "{plan:?}");
    let now = ran(&["now", &menu], "2026-11-28 08:01");
    assert!(now.out.contains("\n! Sesame crisp is left out"), "{now:?}");
    assert!(!now.out.contains("Pull (Sesame crisp)"), "{now:?}");
    let tonight = ran(&["tonight", &menu], "2026-11-28 08:01");
    assert!(!tonight.out.contains("the next is"), "{tonight:?}");
}

/// Less than four hours out of the cold: the Food Safety and Hygiene (England) Regulations 2013, Schedule 4.
#[test]
fn what_was_read_warm_for_too_long_ends_against_the_rule_and_its_label_has_no_date() {
    let home = Home::new();
    let menu = home.file(
        "menu.ron",
        r#"Menu(
            id: "cups", name: "Cups", service: "2026-11-28 19:30", covers: 10, rules: England,
            kitchen: Kitchen(
                name: "Ferry house", zone: "Europe/London",
                open: [Open(days: "every day", at: "07:00..23:00")], cooks: [Cook(name: "Ines")],
            ),
            dishes: [Serve(dish: Dish(
                id: "cups", name: "Quince cups", control: Needed, waits_at: "3 C", keeps: "1 day",
                steps: [Step(id: "chill", name: "Chill", time: "6h", hands: "left alone", temperature: "held at 3 C")],
            ))],
        )"#,
    );
    let ran = |words: &[&str], now: &str| home.run(&[words, &["--now", now]].concat());
    let label = || ran(&["labels", &menu], "2026-11-28 17:00").out;
    ran(&["tick", &menu, "chill", "start"], "2026-11-28 12:00");
    assert_eq!(ran(&["safety", &menu], "2026-11-28 17:00").code, 0);
    assert!(label().contains("(the card)"), "{}", label());
    for (hour, degrees) in [("12:30", "18 C"), ("14:30", "16 C"), ("16:30", "14 C")] {
        let now = format!("2026-11-28 {hour}");
        ran(&["read", &menu, "chill", degrees], &now);
    }
    let safety = ran(&["safety", &menu], "2026-11-28 17:00");
    assert_eq!(safety.code, 1, "{safety:?}");
    assert!(safety.out.contains("for 4h, by the readings"), "{safety:?}");
    assert!(label().contains("use by      ____________"), "{}", label());
}

/// What is left out is not what comes next.
#[test]
fn a_tick_when_everybody_goes_home_says_that_nothing_comes_next() {
    let home = Home::new();
    let saturday = hill().replace("days: \"every day\"", "days: \"thu, fri, sat\"");
    let menu = home.file("menu.ron", saturday);
    // Whoever works until ten stays an hour at the most.
    let ran = home.run(&["tick", &menu, "boil", "start", "--now", "2026-11-28 23:30"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(
        ran.out
            .contains("\nnothing comes next: what still waits is left out\n"),
        "{}",
        ran.out
    );
}

#[test]
fn whoever_stays_on_is_said_before_it_is_decided_and_after() {
    let home = Home::new();
    let late = |words: &[&str]| {
        let ran = home.run(&[words, &["--now", "2026-11-26 22:59"]].concat());
        (ran.code, ran.out)
    };
    let said = "works beyond the shift, Fri 00:00 to Fri 00:0";
    let (_, out) = late(&["now", "demo"]);
    assert!(
        out.contains("\n! behind, but every dish can be in time: "),
        "{out}"
    );
    assert!(out.contains(said), "{out}");
    let (code, out) = late(&["change", "demo", "stay", "00:30", "--yes"]);
    assert_eq!(code, 0, "{out}");
    let decided = "decided: whoever works until Fri 00:00 stays until Fri 00:30\n";
    assert!(
        out.contains("it can then be done\n") && out.ends_with(decided),
        "{out}"
    );
    let (_, out) = late(&["now", "demo"]);
    assert!(out.contains(said) && !out.contains("behind"), "{out}");
    let (_, out) = late(&["tonight", "demo"]);
    assert!(out.contains(said), "{out}");
    let (_, out) = late(&["handover", "demo"]);
    assert!(
        out.contains("Beyond the shift") && out.contains(said),
        "{out}"
    );
    let (_, out) = late(&["plan", "demo", "--json"]);
    assert!(out.contains("\"overtime\""), "{out}");
}

/// A cook who has no plan still has a kitchen full of pots.
#[test]
fn ticks_need_no_plan() {
    let impossible = hill().replace("days: \"every day\"", "days: \"mon\"");
    for menu in [impossible] {
        let home = Home::new();
        let menu = home.file("menu.ron", menu);
        assert_eq!(home.thursday(&["plan", &menu]).code, 1);
        let tick = |words: &[&str]| {
            let ran = home.thursday(&[&["tick", menu.as_str()], words].concat());
            assert_eq!((ran.code, ran.errors.as_str()), (0, ""), "{ran:?}");
            ran.out
        };
        let said = tick(&["pears/steep", "start", "--at", "14:00"]);
        assert!(
            said.starts_with("pears/steep started Thu 14:00\n"),
            "{said}"
        );
        assert!(
            said.contains("\nno plan says what comes next:\n  "),
            "{said}"
        );
        assert!(
            !said.contains("it runs until") && !said.contains("next: "),
            "{said}"
        );
        assert!(
            tick(&["down", "skip", "--reason", "bought in"])
                .contains("skipped Thu 14:30: bought in\n")
        );
        assert!(tick(&["down", "undo"]).contains("bought in\njelly/boil-down waits\n"));
        assert!(tick(&["steep the tea", "done"]).contains("done Thu 14:30, started Thu 14:00\n"));
        for (step, what) in [
            ("poach", "start"),
            ("poach", "done"),
            ("chill", "done"),
            ("quince", "done"),
        ] {
            let ran = home.thursday(&["tick", &menu, step, what]);
            assert_eq!(ran.code, if step == "quince" { 2 } else { 0 }, "{ran:?}");
        }
        let ran = home.thursday(&["book", &menu]);
        assert_eq!(ran.out.matches("pears/").count(), 5, "{}", ran.out);
    }
}

#[test]
fn every_form_of_now_is_read_and_anything_else_refused() {
    let home = Home::new();
    for now in [
        THURSDAY,
        "2026-11-26T14:30:00+01:00",
        "2026-11-26T13:30:00Z",
        "2026-11-26T14:30",
    ] {
        let ran = home.run(&["plan", HILL, "--now", now]);
        assert!(
            ran.out.contains("as of Thu 2026-11-26 14:30"),
            "{now}: {ran:?}"
        );
    }
    // Today is whatever day it is: the menu is long past or far ahead, and only the clock shows.
    let ran = home.run(&["--now", "14:31", "plan", HILL]);
    assert!(ran.out.contains(" 14:31, T"), "{ran:?}");
    let ran = home.run(&["plan", HILL, "--now", "teatime"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.errors.contains("--now: \"teatime\" is not a time"),
        "{ran:?}"
    );
}

#[test]
fn tonight_ends_where_the_kitchen_opens_or_where_it_is_told() {
    let home = Home::new();
    let friday = |words: &[&str]| {
        home.run(&[&["tonight", HILL, "--now", "2026-11-27 20:00"], words].concat())
    };
    let ran = friday(&[]);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(
        ran.out.contains("to start until Sat 2026-11-28 07:00"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("Steep the tea"), "{}", ran.out);
    assert!(!ran.out.contains("Poach"), "{}", ran.out);
    let ran = friday(&["--until", "21:00"]);
    assert!(
        ran.out.contains("to start until Fri 2026-11-27 21:00"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("nothing; the next is"), "{}", ran.out);
    let ran = friday(&["--until", "Fri 19:00", "--json"]);
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["until"]["at"], "2026-12-04T19:00:00+01:00");
    let ran = friday(&["--until", "2026-11-27 19:00"]);
    assert_eq!(ran.code, 2);
    assert!(ran.errors.contains("is over"), "{ran:?}");
}

#[test]
fn json_is_json_and_names_every_step() {
    let home = Home::new();
    let ran = home.thursday(&["plan", HILL, "--json"]);
    assert_eq!((ran.code, ran.errors.as_str()), (0, ""));
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["format"], "countback-plan-1");
    assert_eq!(document["outcome"], "planned");
    assert_eq!(document["now"]["at"], "2026-11-26T14:30:00+01:00");
    let mut keys: Vec<&str> = document["steps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| step["key"].as_str().unwrap())
        .collect();
    keys.sort_unstable();
    assert_eq!(
        keys,
        [
            "jelly/boil",
            "jelly/boil-down",
            "jelly/set",
            "pears/chill",
            "pears/poach",
            "pears/steep"
        ]
    );
    assert_eq!(ran.out, home.thursday(&["plan", HILL, "--json"]).out);
}

#[test]
fn too_late_is_said_and_is_no_plan() {
    let home = Home::new();
    let now = ["--now", "2026-11-28 12:00"];
    let ran = home.run(&[&["plan", HILL], &now[..]].concat());
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(ran.out.contains("too late"), "{}", ran.out);
    assert!(ran.out.contains("(pears/steep): by "), "{}", ran.out);
    assert!(ran.out.contains("what can still be"), "{}", ran.out);
    let ran = home.run(&[&["plan", HILL, "--json"], &now[..]].concat());
    assert_eq!(ran.code, 1);
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["outcome"], "too-late");
    assert_eq!(document["steps"], serde_json::json!([]));
    let dishes = document["forecast"]["dishes"].as_array().unwrap();
    assert!(
        dishes
            .iter()
            .any(|dish| dish["late"]["because"].is_string())
    );
}

#[test]
fn every_fault_of_a_menu_is_said_with_its_place() {
    let home = Home::new();
    let broken = hill()
        .replace("\"2h\"", "\"2 hurs\"")
        .replace("name: \"Chill\"", "nmae: \"Chill\"");
    let menu = home.file("broken.ron", &broken);
    let line = |text: &str| {
        let at = broken.lines().position(|line| line.contains(text));
        at.unwrap() + 1
    };
    let (hours, name) = (line("2 hurs"), line("nmae"));
    for command in ["check", "plan", "tonight"] {
        let ran = home.run(&[command, &menu]);
        assert_eq!(ran.code, 1, "{ran:?}");
        let said = format!("{}{}", ran.out, ran.errors);
        assert!(said.contains(&format!("{menu}:{hours}:")), "{said}");
        assert!(said.contains(&format!("{menu}:{name}:")), "{said}");
    }
}

#[test]
fn check_goes_through_every_file_and_the_worst_decides() {
    let home = Home::new();
    let broken = home.file("broken.ron", "Menu(");
    let ran = home.run(&["check", HILL]);
    assert_eq!((ran.code, ran.errors.as_str()), (0, ""));
    assert_eq!(
        ran.out,
        format!("{HILL}: fine: 2 dishes, 6 steps, starts Fri 2026-11-27 21:50\n")
    );
    let ran = home.run(&["check", &broken, HILL]);
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(
        ran.out.contains("broken.ron:") && ran.out.contains("fine"),
        "{ran:?}"
    );
    let ran = home.run(&["check", &broken, "no-such.ron", HILL]);
    assert_eq!(ran.code, 2, "{ran:?}");
    assert!(ran.out.contains("fine"), "{ran:?}");
    assert!(
        ran.errors.contains("there is no file no-such.ron"),
        "{ran:?}"
    );
}

#[test]
fn check_says_what_cannot_be_done_however_early() {
    let home = Home::new();
    let two_hobs = hill().replacen("[Use(kit: \"hob\")]", "[Use(kit: \"hob\", count: 2)]", 9);
    let menu = home.file(
        "tight.ron",
        two_hobs.replace("at: \"07:00..22:00\"", "at: \"07:00..07:30\""),
    );
    let ran = home.run(&["check", &menu]);
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(ran.out.contains("does not fit"), "{ran:?}");
}

#[test]
fn wrong_use_ends_with_2_and_says_what_to_do() {
    let home = Home::new();
    for words in [
        &["no-such.ron"][..],
        &["plan"],
        &["plan", "src"],
        &["plan", HILL, "--frobnicate"],
        &["check"],
        &["tick", HILL, "poach"],
        &[HILL, "plan", HILL],
        &["plan", HILL, "--book", ""],
    ] {
        let ran = home.run(words);
        assert_eq!(ran.code, 2, "{words:?}: {ran:?}");
        assert!(ran.errors.len() > 20, "{words:?}: {ran:?}");
    }
}

#[test]
fn the_sheet_needs_a_terminal_and_says_so() {
    let home = Home::new();
    let ran = home.thursday(&[HILL]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{ran:?}");
    assert!(ran.errors.contains("countback plan"), "{ran:?}");
}

#[test]
fn a_picture_is_drawn_into_a_file_and_makes_no_book() {
    let home = Home::new();
    let picture = home.path("sheet.svg");
    let name = picture.to_str().unwrap();
    let words = ["picture", HILL, "--size", "100x30", "--out", name];
    let ran = home.thursday(&words);
    assert_eq!((ran.code, ran.errors.as_str()), (0, ""), "{ran:?}");
    let svg = std::fs::read_to_string(&picture).unwrap();
    assert!(
        svg.starts_with("<svg ") && svg.contains("Smoked-tea"),
        "{svg}"
    );
    assert!(!home.book().exists());
    let ran = home.thursday(&["picture", HILL, "--size", "0x30", "--out", name]);
    assert_eq!(ran.code, 2, "{ran:?}");
    let ran = home.thursday(&["picture", HILL, "--out", "/no/such/folder/x.svg"]);
    assert_eq!(ran.code, 3, "{ran:?}");
}

#[test]
fn a_book_that_cannot_be_used_ends_with_3() {
    let home = Home::new();
    let diary = home.file("diary.txt", "Dear diary, today the custard split.");
    let ran = home.thursday(&["plan", HILL, "--book", &diary]);
    assert_eq!(ran.code, 3, "{ran:?}");
    assert!(ran.errors.contains("diary.txt is not a book"), "{ran:?}");
    let ran = home.thursday(&["tick", HILL, "steep", "start", "--book", &diary]);
    assert_eq!(ran.code, 3, "{ran:?}");
    assert_eq!(
        std::fs::read_to_string(&diary).unwrap(),
        "Dear diary, today the custard split."
    );
}

#[test]
fn help_and_version_are_worth_reading_and_fine() {
    let home = Home::new();
    let help = home.run(&["--help"]);
    assert_eq!((help.code, help.errors.as_str()), (0, ""));
    for said in [
        "Examples:",
        "Exit codes:",
        "NO_COLOR",
        "book.sqlite",
        "the day after tomorrow",
        "--now",
        "check",
        "tonight",
        "tick",
        "picture",
        "local law",
    ] {
        assert!(help.out.contains(said), "{said}: {}", help.out);
    }
    assert!(help.out.lines().all(|line| line.chars().count() <= 100));
    let version = home.run(&["--version"]);
    assert_eq!(
        version.out,
        format!("countback {}\n", env!("CARGO_PKG_VERSION"))
    );
}

/// A reader that has seen enough closes the pipe; that is no error, and no word is said about it.
#[test]
fn a_reader_that_stops_is_no_error() {
    let home = Home::new();
    // So many dishes that the plan is longer than any pipe holds.
    let dish = |number: usize| {
        format!(
            "Serve(dish: Dish(id: \"d{number}\", name: \"Dish {number} {}\", steps: \
             [Step(id: \"rest\", name: \"Rest {}\", time: \"1h\", hands: \"left alone\")])),",
            "of many ".repeat(60),
            "a while ".repeat(60)
        )
    };
    let dishes: String = (0..150).map(dish).collect();
    let (head, _) = hill()
        .split_once("dishes: [")
        .map(|(h, t)| (h.to_owned(), t.to_owned()))
        .unwrap();
    let menu = home.file("long.ron", format!("{head}dishes: [{dishes}])"));
    for words in [
        &["plan", &menu, "--now", THURSDAY][..],
        &["plan", &menu, "--now", THURSDAY, "--json"],
    ] {
        let mut child = home
            .command(words)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut first = String::new();
        let mut reader = BufReader::new(child.stdout.take().unwrap());
        reader.read_line(&mut first).unwrap();
        drop(reader);
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        assert_eq!(output.stderr, b"", "{output:?}");
        assert!(!first.is_empty());
    }
}

/// Names that command a terminal, wide ones and right-to-left ones: every command stays harmless, which `run`
/// looks at.
#[test]
fn hostile_names_are_harmless_everywhere() {
    let home = Home::new();
    let menu = home.file(
        "hostile.ron",
        hill()
            .replace("Hill supper", "Hill \\u{1b}[2J\\u{202e} 柚子 e\\u{301}")
            .replace("Poach the pears", "Poach\\r\\n\\u{7}\\u{9b}31m")
            .replace("name: \"Ana\"", "name: \"Ana\\u{0}\\u{1b}]0;x\\u{7}\""),
    );
    for words in [
        &["check", &menu][..],
        &["plan", &menu],
        &["tonight", &menu],
        &["tick", &menu, "steep", "start"],
        &["tick", &menu, "steep\u{1b}[2J", "start"],
        &["book", &menu],
        &["plan", "no\u{1b}[2Jsuch.ron"],
    ] {
        home.thursday(words);
    }
    assert_eq!(home.thursday(&["plan", &menu]).code, 0);
}

#[test]
fn a_file_named_like_a_command_is_opened_by_its_path() {
    let home = Home::new();
    home.file("plan", "Menu(");
    let output = home
        .command(&["./plan"])
        .current_dir(home.0.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("./plan:1:"));
}

/// What changed in the menu since it was last seen is told with the next tick, once.
#[test]
fn a_changed_menu_is_told() {
    let home = Home::new();
    let menu = home.file("supper.ron", hill());
    home.thursday(&["tick", &menu, "steep", "start"]);
    home.file("supper.ron", hill().replace("\"2h\"", "\"3h\""));
    let ran = home.thursday(&["tick", &menu, "steep", "undo"]);
    assert!(
        ran.out
            .starts_with("the menu has changed: pears/poach: time was 2h, now 3h\n"),
        "{ran:?}"
    );
    let ran = home.thursday(&["tick", &menu, "steep", "start"]);
    assert!(ran.out.starts_with("pears/steep started"), "{ran:?}");
}

/// The last entry, or any by its number; what is brought back is what was taken back.
#[test]
fn entries_are_taken_back_and_brought_back_by_their_numbers() {
    let home = Home::new();
    let ran = |words: &[&str]| home.thursday(&[words, &[]].concat());
    ran(&["tick", HILL, "steep", "start", "--at", "14:05"]);
    ran(&["change", HILL, "covers", "41", "--yes"]);
    ran(&["note", HILL, "the lid is cracked"]);
    let undone = ran(&["undo", HILL]);
    assert_eq!(undone.code, 0, "{undone:?}");
    assert!(
        undone
            .out
            .starts_with("taken back: note: the lid is cracked\n"),
        "{}",
        undone.out
    );
    let listed = ran(&["book", HILL]);
    let number = |what: &str| {
        let line = listed
            .out
            .lines()
            .find(|line| line.contains(what))
            .expect("listed");
        line.split_whitespace().next().expect("a number").to_owned()
    };
    let decided = number("41 covers");
    let undone = ran(&["undo", HILL, &decided]);
    assert!(undone.out.starts_with("taken back: "), "{}", undone.out);
    assert!(undone.out.contains("\nnext: "), "{}", undone.out);
    let redone = ran(&["redo", HILL, &decided]);
    assert!(redone.out.starts_with("brought back: "), "{}", redone.out);
    assert!(redone.out.contains("41 covers"), "{}", redone.out);
    let redone = ran(&["redo", HILL]);
    assert!(
        redone.out.starts_with("brought back: note"),
        "{}",
        redone.out
    );
    for (words, said) in [
        (&["undo", HILL, "99"][..], "the book has no entry 99"),
        (&["redo", HILL], "nothing there to bring back"),
        (&["redo", HILL, &decided], "was not taken back"),
        (&["undo", HILL, "1"], "follows from what stands before it"),
    ] {
        let refused = ran(words);
        assert_eq!(refused.code, 2, "{words:?}: {refused:?}");
        assert!(
            refused.errors.contains(said),
            "{words:?}: {}",
            refused.errors
        );
    }
}

fn write(book: &Path, event: &str, what: Happening) {
    let at = Timestamp::from_rfc3339("2026-11-26T13:00:00Z").unwrap();
    Book::open(book)
        .unwrap()
        .append(&Note {
            event: event.into(),
            at,
            written: at,
            who: String::new(),
            place: String::new(),
            what,
        })
        .unwrap();
}

/// The demonstration is served the day after tomorrow; one that was ticked keeps its date until it is served.
#[test]
fn the_demonstration_is_served_soon_and_keeps_its_ticks() {
    let home = Home::new();
    let served = |now: &str| {
        let ran = home.run(&["plan", "demo", "--json", "--now", now]);
        let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let at = document["service"]["at"].as_str().unwrap().to_owned();
        (
            at[..10].to_owned(),
            document["menu"]["id"].as_str().unwrap().to_owned(),
        )
    };
    let (date, id) = served("2026-11-26T12:00:00Z");
    assert_eq!(date, "2026-11-28");
    assert_eq!(served("2026-11-27T12:00:00Z").0, "2026-11-29");
    // Being looked at is no tick.
    let event = format!("{id}@2026-11-28");
    let seen = Happening::MenuSeen {
        steps: std::collections::BTreeMap::new(),
    };
    write(&home.book(), &event, seen);
    assert_eq!(served("2026-11-27T12:00:00Z").0, "2026-11-29");
    let tick = Happening::Started { step: "a/b".into() };
    write(&home.book(), &event, tick);
    assert_eq!(served("2026-11-27T12:00:00Z").0, "2026-11-28");
    assert_eq!(served("2026-11-28T06:00:00Z").0, "2026-11-28");
    assert_eq!(served("2026-11-29T12:00:00Z").0, "2026-12-01");
    // A rehearsal in the future does not hold the demonstration there.
    assert_eq!(served("2026-11-20T12:00:00Z").0, "2026-11-22");
}

/// Any instance goes out, is solved, and comes back as a plan; the same epochs give the same bytes on one thread and two.
#[test]
fn instances_are_generated_and_solved_the_same_on_every_run() {
    let home = Home::new();
    let path = |name: &str| home.path(name).to_str().unwrap().to_owned();
    let (instance, planted) = (path("instance.json"), path("planted.json"));
    let words = [
        "generate", "8", "--small", "--seed", "3", "--out", &instance,
    ];
    let ran = home.run(&[&words[..], &["--plan", &planted]].concat());
    assert_eq!(
        (ran.code, ran.out.as_str(), ran.errors.as_str()),
        (0, "", "")
    );
    let written = std::fs::read_to_string(&instance).unwrap();
    let total = |file: &str| {
        let text = std::fs::read_to_string(file).unwrap();
        let answer = countback::exchange::read_answer(&text).unwrap();
        answer.cost.unwrap().total()
    };
    let solve = |out: &str, threads: &str| {
        let words = ["solve", &instance, "--epochs", "3", "--out", out];
        home.run(&[&words[..], &["--threads", threads]].concat())
    };
    let (one, two) = (path("one.json"), path("two.json"));
    let ran = solve(&one, "1");
    assert_eq!((ran.code, ran.errors.as_str()), (0, ""), "{ran:?}");
    let said = ["proved best: costs ", "at most ", "no proof: costs "];
    assert!(
        said.iter().any(|said| ran.out.starts_with(said)) && ran.out.lines().count() == 1,
        "{}",
        ran.out
    );
    assert!(ran.out.contains(&format!("costs {}", total(&one))));
    assert_eq!(solve(&two, "2").out, ran.out);
    assert_eq!(std::fs::read(&one).unwrap(), std::fs::read(&two).unwrap());
    home.run(&words);
    assert_eq!(std::fs::read_to_string(&instance).unwrap(), written);
}

/// A menu goes out with the names of its steps, and what it asks can be solved; the book stays unmade.
#[test]
fn the_instance_of_a_menu_can_be_solved() {
    let home = Home::new();
    let path = |name: &str| home.path(name).to_str().unwrap().to_owned();
    let (instance, plan) = (path("hill.json"), path("plan.json"));
    let ran = home.thursday(&["instance", HILL, "--out", &instance]);
    assert_eq!(
        (ran.code, ran.out.as_str(), ran.errors.as_str()),
        (0, "", "")
    );
    let ran = home.run(&["solve", &instance, "--epochs", "1", "--out", &plan]);
    assert_eq!((ran.code, ran.errors.as_str()), (0, ""), "{ran:?}");
    let plan = std::fs::read_to_string(&plan).unwrap();
    assert!(
        plan.contains("{\"name\": \"pears/poach\", \"mode\": 0, \"start\": "),
        "{plan}"
    );
    assert!(!home.path("data").exists());
}

#[test]
fn what_is_impossible_is_said_with_names_and_leaves_no_plan() {
    let home = Home::new();
    let instance = home.file(
        "impossible.json",
        r#"{"format": "countback-instance", "version": 1, "earliest": 0, "latest": 30,
            "activities": [{"name": "boil", "modes": [{"duration": 20}]}, {"name": "strain", "modes": [{"duration": 20}]}],
            "lags": [{"from": [0, "end"], "to": [1, "start"], "least": 0}]}"#,
    );
    let out = home.path("plan.json");
    let ran = home.run(&["solve", &instance, "--out", out.to_str().unwrap()]);
    assert_eq!((ran.code, ran.errors.as_str()), (1, ""), "{ran:?}");
    assert!(
        ran.out.starts_with("impossible: activities["),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("\"boil\"") || ran.out.contains("\"strain\""));
    let text = std::fs::read_to_string(out).unwrap();
    let answer = countback::exchange::read_answer(&text).unwrap();
    assert_eq!(answer.outcome, countback::exchange::plan::Known::Infeasible);
    assert_eq!((answer.cost, answer.placements.len()), (None, 0));
    assert_eq!(answer.because.len(), 1);
}

/// A published project comes as an instance like any other, and is solved by what is made for projects: `j301_1` is
/// proved to take 43 (PSPLIB's list of optima), and that `UBO10_01` has no schedule is proved (so says OR-Tools CP-SAT
/// 9.15). The search for all that an instance can ask proves neither.
#[test]
fn a_plain_project_is_solved_as_one() {
    let home = Home::new();
    let written = |name: &str| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/instances");
        let text = std::fs::read_to_string(folder.join(name)).unwrap();
        let extension = name.rsplit('.').next().unwrap();
        let format = countback::exchange::published::Format::of_extension(extension).unwrap();
        let named = countback::exchange::Named {
            instance: format.read(&text).unwrap().instance(200),
            ..Default::default()
        };
        let mut json = Vec::new();
        countback::exchange::write_instance(&named, &mut json).unwrap();
        home.file(&format!("{name}.json"), json)
    };
    let out = home.path("plan.json").to_str().unwrap().to_owned();
    let feasible = written("j301_1.sm");
    let ran = home.run(&["solve", &feasible, "--seconds", "60", "--out", &out]);
    assert_eq!(
        (ran.code, ran.out.as_str(), ran.errors.as_str()),
        (0, "proved best: costs 43 (early 43)\n", "")
    );
    let text = std::fs::read_to_string(&out).unwrap();
    let answer = countback::exchange::read_answer(&text).unwrap();
    assert_eq!(answer.placements[31].start, -43);
    let impossible = written("UBO10_01.sch");
    let ran = home.run(&["solve", &impossible, "--seconds", "60", "--out", &out]);
    assert_eq!((ran.code, ran.errors.as_str()), (1, ""), "{ran:?}");
    assert!(ran.out.starts_with("impossible: "), "{}", ran.out);
    let by_work = |threads: &str| {
        let words = ["solve", &feasible, "--epochs", "2", "--threads", threads];
        let ran = home.run(&[&words[..], &["--out", &out]].concat());
        assert_eq!((ran.code, ran.errors.as_str()), (0, ""), "{ran:?}");
        (ran.out, std::fs::read(&out).unwrap())
    };
    assert_eq!(by_work("1"), by_work("2"));
}

#[test]
fn files_that_cannot_be_exchanged_are_named() {
    let home = Home::new();
    let out = home.path("out.json").to_str().unwrap().to_owned();
    let empty = home.file("empty.json", "");
    let faulty = home.file(
        "faulty.json",
        r#"{"format": "countback-instance", "version": 1, "earliest": 0, "latest": 30, "lag": [], "gates": 1}"#,
    );
    let bytes = home.file("bytes.json", [0xFF, 0xFE, 0x00]);
    let good = home.file(
        "good.json",
        r#"{"format": "countback-instance", "version": 1, "earliest": 0, "latest": 30}"#,
    );
    let no_folder = home.path("no/out.json").to_str().unwrap().to_owned();
    let folder = home.0.path().to_str().unwrap().to_owned();
    for (words, code, said) in [
        (
            vec!["solve", "/nowhere.json", "--out", &out],
            2,
            "there is no file /nowhere.json",
        ),
        (vec!["solve", &folder, "--out", &out], 2, "is a folder"),
        (
            vec!["solve", &empty, "--out", &out],
            1,
            "empty.json: it is no JSON: EOF",
        ),
        (
            vec!["solve", &bytes, "--out", &out],
            1,
            "bytes.json: it is no text in UTF-8",
        ),
        (
            vec!["solve", &faulty, "--out", &out],
            1,
            "faulty.json: lag: there is no such field; write \"lags\"",
        ),
        (
            vec!["solve", &faulty, "--out", &out],
            1,
            "faulty.json: gates: 1 is no list",
        ),
        (
            vec!["solve", &good, "--out", &no_folder],
            2,
            "there is no folder",
        ),
        (vec!["solve", &good, "--out", &folder], 2, "is a folder"),
        (
            vec!["solve", &good, "--seconds", "soon", "--out", &out],
            2,
            "--seconds: \"soon\" is no number of seconds",
        ),
        (
            vec![
                "solve",
                &good,
                "--seconds",
                "1",
                "--epochs",
                "1",
                "--out",
                &out,
            ],
            2,
            "cannot be used with",
        ),
        (
            vec!["generate", "2", "--out", &out],
            2,
            "2 is not in 3..=100000",
        ),
        (
            vec!["generate", "5", "--only", "shifts,gate", "--out", &out],
            2,
            "there is no feature \"gate\"; there are modes",
        ),
    ] {
        let ran = home.run(&words);
        assert_eq!(
            (ran.code, ran.out.as_str()),
            (code, ""),
            "{words:?}: {ran:?}"
        );
        assert!(ran.errors.contains(said), "{words:?}: {}", ran.errors);
        assert!(!home.path("out.json").exists(), "{words:?}");
    }
    let ran = home.run(&["solve", &good, "--out", &out]);
    assert_eq!(
        (ran.code, ran.out.as_str()),
        (0, "proved best: costs 0\n"),
        "{ran:?}"
    );
}

#[test]
fn what_to_buy_is_printed_for_people_programs_and_spreadsheets() {
    let home = Home::new();
    let ran = home.run(&["order", "demo", "--now", "2026-11-20 09:00", "--by", "date"]);
    assert_eq!((ran.code, ran.errors.as_str()), (0, ""), "{ran:?}");
    assert!(ran.out.contains("order by Sun 2026-11-15"), "{}", ran.out);
    assert!(ran.out.contains("gelatine, beef") && ran.out.contains("1 × 100 leaves"));
    assert!(
        ran.out
            .contains("defrost in the cold 2.4 kg quince purée, 18h"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("all packs with a price: ") && ran.out.contains(" EUR"));
    let ran = home.run(&["order", "demo", "--now", "2026-11-20 09:00", "--json"]);
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["format"], "countback-order-2");
    let lines = document["lines"].as_array().unwrap();
    let of = |name: &str| lines.iter().find(|line| line["name"] == name).unwrap();
    // 4.7 l of cream in packs of one; 48 eggs, of which six are there, in packs of thirty.
    assert_eq!(
        (
            &of("double cream")["packs"][0]["count"],
            &of("double cream")["cost"]
        ),
        (&5.into(), &2700.into())
    );
    assert_eq!(of("egg")["packs"][0]["count"], 2);
    assert_eq!(of("salt")["packs"][0]["count"], 0);
    let table = home.table(&["order", "demo", "--now", "2026-11-20 09:00", "--csv"]);
    assert_eq!(table.matches("\r\n").count(), lines.len() + 1);
    assert!(
        table.starts_with("supplier,kind,what,packs,pack,"),
        "{table}"
    );
    let ran = home.run(&["order", "demo", "--csv", "--json"]);
    assert_eq!(ran.code, 2, "{ran:?}");
}

#[test]
fn orders_stand_in_the_plan_and_in_tonight() {
    let home = Home::new();
    // The evening before the purée must be out of the freezer.
    let ran = home.run(&["tonight", "demo", "--now", "2026-11-26 22:55"]);
    assert!(
        ran.out
            .contains("◇ defrost in the cold 700 g blackcurrant purée, 18h"),
        "{}",
        ran.out
    );
    assert!(
        ran.out
            .contains("should have been ordered or set to soak or thaw by now")
    );
    let ran = home.run(&["plan", "demo", "--now", "2026-11-23 07:00"]);
    assert!(ran.out.contains("◇ order from dairy: "), "{}", ran.out);
    let ran = home.run(&["plan", "demo", "--now", "2026-11-23 07:00", "--json"]);
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let reminders = document["reminders"].as_array().unwrap();
    assert!(
        reminders
            .iter()
            .any(|it| it["what"] == "order" && it["past"] == false)
    );
    assert!(reminders.iter().any(|it| it["what"] == "ahead"));
}

#[test]
fn what_dishes_take_is_printed_for_other_covers_too() {
    let home = Home::new();
    let ran = home.run(&["amounts", "demo", "domes"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(ran.out.contains("4 batches of 24 portions") && ran.out.contains("36 leaves"));
    assert!(ran.out.contains("leaf for leaf"), "{}", ran.out);
    let ran = home.run(&[
        "amounts",
        "demo",
        "chestnut-domes",
        "--covers",
        "100",
        "--json",
    ]);
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let dish = &document["dishes"][0];
    assert_eq!(
        (&dish["portions_made"], &dish["left_over"]),
        (&120.into(), &20.into())
    );
    assert_eq!(dish["changes"][0], "5 batches instead of 4 batches");
    let table = home.table(&["amounts", "demo", "--csv"]);
    // A record for each ingredient of the demonstration, and the heads.
    assert!(table.matches("\r\n").count() > 40, "{table}");
    for (dish, said) in [
        ("xyzzy", "no dish is called \"xyzzy\""),
        ("e", "could be several dishes"),
    ] {
        let ran = home.run(&["amounts", "demo", dish]);
        assert!(ran.code == 2 && ran.errors.contains(said), "{ran:?}");
    }
}
