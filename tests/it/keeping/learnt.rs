//! Times learnt from a book, and one time changed in a card with everything else in the file left as it is.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;

use countback::book::{Book, Decision, Entry, EntryId, Happening, Note};
use countback::load::{self, EditError};
use countback::menu::{StepTime, Work};
use countback::prep::{changes, learn};
use countback::time::Timestamp;
use proptest::prelude::*;

fn minutes(shortest: i64, usual: i64, longest: i64) -> StepTime {
    StepTime::Elapsed(Work {
        shortest: shortest * 60,
        usual: Some(usual * 60),
        longest: longest * 60,
        ..Work::default()
    })
}

/// A menu with its card in a file of its own, and another dish in the menu itself.
fn menu(card: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("dishes")).unwrap();
    std::fs::write(folder.path().join("dishes/pears.ron"), card).unwrap();
    let path = folder.path().join("menu.ron");
    std::fs::write(&path, MENU).unwrap();
    (folder, path)
}

const MENU: &str = r#"// Ferry house
Menu(
    id: "ferry", name: "Ferry supper", service: "2026-12-05 19:00", covers: 40,
    kitchen: Kitchen(
        name: "Ferry house", zone: "Europe/Rome",
        open: [Open(days: "every day", at: "07:00..22:00")],
        cooks: [Cook(name: "Ana")],
        kit: [Kit(id: "hob", name: "hob ring", count: 2)],
    ),
    dishes: [
        Serve(dish: File("dishes/pears.ron")),
        Serve(dish: Some(Dish(id: "figs", name: "Figs", steps: [
            Step(id: "steep", name: "Steep", time: Some(/* long */ "2h") /* enough */, hands: "left alone"),
        ]))),
    ],
)
"#;

const CARD: &str = r###"// time: "1h" stands in this remark and is not meant
Dish(
    /* id: "pears" */ id: "pears", name: "Pears – 梨, \"time: 5 min\"",
    steps: [
        Step(id: "poach", name: "Poach", method: "time: \"40 min\"", /* a */ time /* b */ : /* c */ r##"35 min"## /* d */,
            hands: "throughout", uses: [Use(kit: "hob")]),
        Step(id: "chill", name: "Chill", hands: "left alone",
            ways: [Way(name: "fast", time: "20 min", hands: "left alone")],
            time: "40 min", // 40 min
        ),
    ],
)
// the end"###;

/// Changes a time and asserts that all else in the file is byte for byte as it was.
fn changed(menu: &Path, file: &Path, dish: &str, step: &str, old: &str, new: &str) {
    let before = std::fs::read_to_string(file).unwrap();
    let edit = load::step_time(menu, dish, step, &minutes(30, 42, 55)).unwrap();
    assert_eq!(edit.change(), (old, new));
    edit.write().unwrap();
    let after = std::fs::read_to_string(file).unwrap();
    let mut spliced = before.match_indices(old).map(|(at, _)| {
        let end = at + old.len();
        format!("{}{new}{}", &before[..at], &before[end..])
    });
    assert!(
        spliced.any(|text| text == after),
        "only the value:\n{after}"
    );
    let loaded = load::menu_file(menu).unwrap().menu;
    let dish = loaded.dishes.iter().find(|it| it.id == dish).unwrap();
    let step = dish.steps.iter().find(|it| it.id == step).unwrap();
    assert_eq!(step.time, minutes(30, 42, 55));
    let left = std::fs::read_dir(file.parent().unwrap()).unwrap().count();
    assert!(left <= 2, "nothing is left lying about");
}

const NEW: &str = "\"30 min..42 min..55 min\"";

#[test]
fn one_time_is_changed_and_all_else_stays() {
    let crlf = CARD.replace('\n', "\r\n");
    let tabs = CARD.replace("    ", "\t");
    let marked = format!("\u{feff}{CARD}");
    let extended = format!("#![enable(implicit_some)]\n{CARD}\n\n\n");
    for card in [CARD, &crlf, &tabs, &marked, &extended] {
        let (folder, menu) = menu(card);
        let file = folder.path().join("dishes/pears.ron");
        changed(&menu, &file, "pears", "poach", "r##\"35 min\"##", NEW);
        changed(&menu, &file, "pears", "chill", "\"40 min\"", NEW);
    }
}

#[test]
fn a_dish_that_stands_in_the_menu_is_changed_there() {
    let (_folder, menu) = menu(CARD);
    changed(&menu, &menu, "figs", "steep", "\"2h\"", NEW);
}

#[test]
fn what_cannot_be_changed_safely_is_refused() {
    let (folder, menu) = menu(CARD);
    let card = folder.path().join("dishes/pears.ron");
    let nothing = load::step_time(&menu, "pears", "glaze", &minutes(1, 2, 3));
    assert!(
        matches!(nothing, Err(EditError::NotFound(_))),
        "{nothing:?}"
    );

    // Changed meanwhile by somebody else.
    let edit = load::step_time(&menu, "pears", "poach", &minutes(1, 2, 3)).unwrap();
    let other = format!("{CARD}\n// one more thing");
    std::fs::write(&card, &other).unwrap();
    let error = edit.write().unwrap_err();
    assert!(
        error.to_string().contains("has changed since it was read"),
        "{error}"
    );
    assert_eq!(std::fs::read_to_string(&card).unwrap(), other);

    // May only be read; the administrator could write, and does not.
    let edit = load::step_time(&menu, "pears", "poach", &minutes(1, 2, 3)).unwrap();
    let mut only_read = std::fs::metadata(&card).unwrap().permissions();
    only_read.set_readonly(true);
    std::fs::set_permissions(&card, only_read).unwrap();
    let error = edit.write().unwrap_err();
    assert!(error.to_string().contains("may not be written"), "{error}");
    assert_eq!(std::fs::read_to_string(&card).unwrap(), other);
    assert_eq!(
        std::fs::read_dir(card.parent().unwrap()).unwrap().count(),
        1
    );
}

#[cfg(unix)]
#[test]
fn permissions_and_links_stay() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, menu) = menu(CARD);
    let card = folder.path().join("dishes/pears.ron");
    let real = folder.path().join("real.ron");
    std::fs::rename(&card, &real).unwrap();
    std::os::unix::fs::symlink("../real.ron", &card).unwrap();
    std::fs::set_permissions(&real, std::fs::Permissions::from_mode(0o640)).unwrap();
    load::step_time(&menu, "pears", "poach", &minutes(1, 2, 3))
        .unwrap()
        .write()
        .unwrap();
    assert!(std::fs::symlink_metadata(&card).unwrap().is_symlink());
    assert_eq!(
        std::fs::metadata(&real).unwrap().permissions().mode() & 0o777,
        0o640
    );
    assert!(
        std::fs::read_to_string(&real)
            .unwrap()
            .contains("1 min..2 min..3 min")
    );
}

/// What may stand between two words of a card.
fn blank() -> impl Strategy<Value = String> {
    prop::collection::vec(
        prop_oneof![
            Just(" ".to_owned()),
            Just("\t".to_owned()),
            Just("\r\n".to_owned()),
            Just("/* time: \"9h\" /* deeper, 梨 */ ) ] */".to_owned()),
            "// [ -~é梨]{0,20}\n",
        ],
        0..4,
    )
    .prop_map(|parts| parts.concat())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    /// Wherever remarks and blanks stand and in whatever order the fields: a changed time is the only change.
    #[test]
    fn only_the_value_changes(
        blanks in prop::collection::vec(blank(), 40),
        time_first in any::<bool>(),
        which in 0_usize..3,
        mark in any::<bool>(),
    ) {
        let mut blanks = blanks.iter().cycle();
        let mut b = || blanks.next().unwrap().clone();
        let mut steps = String::new();
        for number in 0..3 {
            let time = format!("{}time{}:{}\"{} min\"{},", b(), b(), b(), 10 + number, b());
            let id = format!("{}id{}:{}\"step-{number}\"{},", b(), b(), b(), b());
            let rest = format!("{}name:{}\"N é\",{}hands: \"left alone\"{}", b(), b(), b(), b());
            let fields = if time_first { [time, id, rest] } else { [id, time, rest] };
            write!(steps, "{}Step{}({}),", b(), b(), fields.concat()).unwrap();
        }
        let mark = if mark { "\u{feff}" } else { "" };
        let card = format!(
            "{mark}{}Dish(id: \"pears\",{}name: \"P\", steps: [{steps}{}])\n",
            b(), b(), b()
        );
        let (_folder, menu) = menu(&card);
        let step = format!("step-{which}");
        let edit = load::step_time(&menu, "pears", &step, &minutes(30, 42, 55)).unwrap();
        let old = format!("\"{} min\"", 10 + which);
        prop_assert_eq!(edit.change(), (old.as_str(), NEW));
        prop_assert_eq!(edit.text().replacen(NEW, &old, 1), card);
    }
}

fn note(event: &str, at: i64, what: Happening) -> Note {
    Note {
        event: event.to_owned(),
        at: Timestamp(at),
        written: Timestamp(at),
        who: String::new(),
        place: String::new(),
        what,
    }
}

/// Returns the exit code of `learn`, what it printed, and what it said of mistakes.
fn learn_told(menu: &Path, book: &Path, words: &[&str]) -> (i32, String, String) {
    let ran = Command::new(env!("CARGO_BIN_EXE_countback"))
        .arg("learn")
        .arg(menu)
        .args(words)
        .args(["--now", "2026-12-01 09:00", "--book"])
        .arg(book)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        ran.status.code().unwrap(),
        text(ran.stdout),
        text(ran.stderr),
    )
}

/// A year of suppers in the book, ticked at times made by hand; what comes of them by the real program.
#[test]
fn a_book_of_banquets_gives_better_times_and_they_go_into_the_card() {
    let (folder, menu) = menu(CARD);
    let card = folder.path().join("dishes/pears.ron");
    let book = folder.path().join("book.sqlite");
    let mut open = Book::open(&book).unwrap();
    let mut write = |event: &str, at: i64, what: Happening| {
        let note = note(event, at, what);
        open.append(&note).unwrap().id
    };
    // Poached in 44, 46, 47, 49 and 52 minutes, and once "until next morning".
    for (number, took) in [44, 46, 47, 49, 52, 700].into_iter().enumerate() {
        let event = format!("ferry@2026-0{}-07", number + 1);
        let begun = 1_767_000_000 + number as i64 * 30 * 86_400;
        let step = || "pears/poach".to_owned();
        write(&event, begun, Happening::Started { step: step() });
        if number == 0 {
            // Ticked done too early, and taken back.
            let early = write(&event, begun + 600, Happening::Finished { step: step() });
            write(&event, begun + 660, Happening::Undone { entry: early });
        }
        write(
            &event,
            begun + took * 60,
            Happening::Finished { step: step() },
        );
        // The chill was only ever ticked done.
        write(
            &event,
            begun + 9_000,
            Happening::Finished {
                step: "pears/chill".into(),
            },
        );
    }
    let run = |words: &[&str]| learn_told(&menu, &book, words);
    let (code, out, errors) = run(&[]);
    assert_eq!(code, 0, "{errors}");
    // (2 × 35 + 5 × 47) / 7 = 43.6 and (2 × 35 + 5 × 44) / 7 = 41.4, in steps of five minutes above half an hour.
    assert!(out.contains("measured 5 times on 5 banquets"), "{out}");
    assert!(out.contains("44 min to 52 min, middle 47 min"), "{out}");
    assert!(out.contains("11h40: far from the others"), "{out}");
    assert!(
        out.contains("offered: 40 min..45 min..55 min; a plan then books 45 min instead of 35 min"),
        "{out}"
    );
    assert!(out.contains("its start was never ticked"), "{out}");
    let (_, json, _) = run(&["--json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["steps"][0]["offer"]["usual"], 2700);
    assert_eq!(json["steps"][0]["measured"].as_array().unwrap().len(), 5);
    assert_eq!(
        std::fs::read_to_string(&card).unwrap(),
        CARD,
        "looking changes nothing"
    );

    let (code, _, errors) = run(&["--accept", "chill"]);
    assert_eq!(code, 2, "{errors}");
    assert!(errors.contains("nothing is offered"), "{errors}");
    let (code, out, errors) = run(&["--accept", "poach"]);
    assert_eq!(code, 0, "{errors}");
    assert!(
        out.contains("pears.ron:5:") && out.contains("35 min"),
        "{out}"
    );
    let after = std::fs::read_to_string(&card).unwrap();
    assert_eq!(
        after,
        CARD.replace("r##\"35 min\"##", "\"40 min..45 min..55 min\"")
    );
    // With the card so, nothing more is offered.
    let (_, out, _) = run(&[]);
    assert!(!out.contains("offered"), "{out}");
}

/// Filling takes "5 min + 20 s a piece"; on four suppers of different sizes it took a quarter longer.
#[test]
fn time_that_grows_is_learnt_from_suppers_of_different_sizes() {
    let filled = CARD.replace("r##\"35 min\"##", "\"5 min + 20 s a piece\"");
    let (folder, path) = menu(&filled);
    let card = folder.path().join("dishes/pears.ron");
    let book = folder.path().join("book.sqlite");
    let mut open = Book::open(&book).unwrap();
    let mut supper = |month: u32, covers: u32, took: i64, says: &[Happening]| {
        let begun = 1_767_000_000 + i64::from(month) * 30 * 86_400;
        let mut menu = load::menu_file(&path).unwrap().menu;
        menu.covers = covers;
        let seen = Happening::MenuSeen {
            steps: changes::digest(&menu),
        };
        let step = || "pears/poach".to_owned();
        let ticks = [
            (begun, Happening::Started { step: step() }),
            (begun + took, Happening::Finished { step: step() }),
        ];
        let says = says.iter().map(|what| (begun, what.clone()));
        let seen = (covers > 0).then_some((begun, seen));
        for (at, what) in seen.into_iter().chain(says).chain(ticks) {
            let note = note(&format!("ferry@2026-0{month}-07"), at, what);
            open.append(&note).unwrap();
        }
    };
    // Each guest one, without spare: (300 + 20 × covers) × 1.25 seconds.
    for (month, covers) in [(1, 40), (2, 60), (3, 100), (4, 24)] {
        supper(month, covers, i64::from(300 + 20 * covers) * 5 / 4, &[]);
    }
    // Nobody knows how many it was for: the menu was never seen, covers were raised in the middle, or the dish was
    // dropped, and perhaps taken in again for others.
    supper(5, 0, 3000, &[]);
    let raised = Happening::Decided {
        decision: Decision::Covers {
            dish: None,
            covers: 80,
        },
        steps: std::collections::BTreeMap::new(),
    };
    supper(6, 40, 3000, &[raised]);
    let dropped = Happening::Decided {
        decision: Decision::DishDropped {
            dish: "pears".into(),
        },
        steps: std::collections::BTreeMap::new(),
    };
    supper(7, 40, 3000, &[dropped]);
    let run = |words: &[&str]| {
        let (code, out, errors) = learn_told(&path, &book, words);
        assert_eq!(code, 0, "{errors}");
        out
    };
    let out = run(&[]);
    assert!(
        out.contains("that is 125 to 125 % of what the card says for what was made then"),
        "{out}"
    );
    assert_eq!(
        out.matches("the book does not say how much was made then")
            .count(),
        3,
        "{out}"
    );
    // (2 × 20 + 4 × 25) / 6 = 23.3 s a piece, (2 × 5 + 4 × 6.25) / 6 = 5.8 min; at 23 s a piece 100 covers left 9.6 min.
    // 6 × 60 + 40 × 23 s and 5 × 60 + 40 × 20 s, up to the minute.
    let offered = "offered: 6 min..6 min..10 min + 23 s a piece; for 40 portions a plan then books 22 min instead of 19 min";
    assert!(out.contains(offered), "{out}");
    let json: serde_json::Value = serde_json::from_str(&run(&["--json"])).unwrap();
    assert_eq!(json["steps"][0]["offer"]["per_piece"], 23);
    assert_eq!(json["steps"][0]["factor"]["median"], 1.25);
    run(&["--accept", "poach"]);
    let after = std::fs::read_to_string(&card).unwrap();
    assert_eq!(
        after,
        filled.replace(
            "5 min + 20 s a piece",
            "6 min..6 min..10 min + 23 s a piece"
        )
    );
    assert!(!run(&[]).contains("offered"));
}

/// What a doing makes comes back from the book as it went in, parts of a millilitre too.
#[test]
fn time_a_litre_and_time_for_a_volume_are_learnt() {
    for (time, offered) in [
        (
            "5 min + 200 s a litre",
            "6 min..6 min..12 min + 3 min 53 s a litre",
        ),
        ("30 min for 2 l", "34 min..35 min..38 min for 2 l"),
    ] {
        let batch = "name: \"Pears – 梨, \\\"time: 5 min\\\"\", batch: Batch(portions: 7, volume: \"1.333 l\"),";
        let card = CARD
            .replace("r##\"35 min\"##", &format!("\"{time}\""))
            .replace("name: \"Pears – 梨, \\\"time: 5 min\\\"\",", batch);
        let (folder, path) = menu(&card);
        let book = folder.path().join("book.sqlite");
        let mut open = Book::open(&book).unwrap();
        let mut millilitres = Vec::new();
        for (month, covers) in [(1, 40), (2, 60), (3, 100), (4, 24)] {
            let mut menu = load::menu_file(&path).unwrap().menu;
            menu.covers = covers;
            let dish = &menu.dishes[0];
            let makes = menu.makes(dish, &menu.made(dish), &dish.steps[0].each, 0);
            millilitres.push(makes.millilitres);
            let StepTime::Elapsed(work) = &dish.steps[0].time else {
                panic!("elapsed")
            };
            let took = work.seconds(work.booked(), makes) as i64 * 5 / 4;
            let begun = 1_767_000_000 + i64::from(month) * 30 * 86_400;
            let seen = Happening::MenuSeen {
                steps: changes::digest(&menu),
            };
            let step = || "pears/poach".to_owned();
            for (at, what) in [
                (begun, seen),
                (begun, Happening::Started { step: step() }),
                (begun + took, Happening::Finished { step: step() }),
            ] {
                let note = note(&format!("ferry@2026-0{month}-07"), at, what);
                open.append(&note).unwrap();
            }
        }
        let (_, json, _) = learn_told(&path, &book, &["--json"]);
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        let step = &json["steps"][0];
        let measured = step["measured"].as_array().unwrap().iter();
        let kept: Vec<f64> = measured
            .map(|doing| doing["millilitres"].as_f64().unwrap())
            .collect();
        assert_eq!(kept, millilitres);
        assert_eq!(step["offer"]["time"], offered);
    }
}

/// A menu that was changed in the middle of a doing leaves open for how many it was done.
#[test]
fn a_doing_during_which_the_covers_changed_says_nothing() {
    let card = CARD.replace("r##\"35 min\"##", "\"20 s a piece\"");
    let (_folder, path) = menu(&card);
    let mut menu = load::menu_file(&path).unwrap().menu;
    let seen = |menu: &countback::menu::Menu| Happening::MenuSeen {
        steps: changes::digest(menu),
    };
    let step = || "pears/poach".to_owned();
    let mut entries = Vec::new();
    let mut write = |at: i64, what: Happening| {
        entries.push(Entry {
            id: EntryId(entries.len() as i64 + 1),
            event: "ferry".into(),
            at: Timestamp(at),
            written: Timestamp(at),
            who: String::new(),
            place: String::new(),
            what,
        });
    };
    write(0, seen(&menu));
    write(0, Happening::Started { step: step() });
    menu.covers = 60;
    write(1800, seen(&menu));
    write(1800, Happening::Finished { step: step() });
    let learnt = learn::learn(&menu, &[("ferry".into(), entries)]);
    assert!(learnt[0].kept.is_empty());
    assert_eq!(learnt[0].left_out[0].1, learn::LeftOut::Amount);
}
