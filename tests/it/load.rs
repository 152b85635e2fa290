//! Menu files: a plain menu loads, a broken one says everything that is wrong, writing and reading agree.

use std::io;

use countback::load::{self, Shelf};
use countback::menu::check;
use proptest::prelude::*;

use crate::support::menus::menus;

/// No files beside the menu.
struct NoFiles;

impl Shelf for NoFiles {
    fn read(&self, _: &str) -> io::Result<String> {
        Err(io::ErrorKind::NotFound.into())
    }
}

const PLAIN: &str = r#"
Menu(
    id: "small-supper", name: "Small supper", service: "2026-11-28 19:30", covers: 12,
    kitchen: Kitchen(
        name: "Ferry kitchen",
        open: [Open(days: "every day", at: "07:00..22:00")],
        cooks: [Cook(name: "first pair of hands")],
        kit: [Kit(id: "hob", name: "Hob ring", count: 2)],
    ),
    dishes: [Serve(dish: Dish(
        id: "quince", name: "Quince paste",
        steps: [
            Step(id: "simmer", name: "Simmer the pulp", time: "6h..7h", hands: "put on 10 min, look 2 min every 30 min", uses: [Use(kit: "hob")]),
            Step(id: "set", name: "Let it set", time: "overnight", hands: "left alone"),
        ],
    ))],
)
"#;

#[test]
fn a_plain_menu_loads_and_is_written_back() {
    let loaded = load::menu_text("small.ron", PLAIN, &NoFiles).unwrap_or_else(|f| panic!("{f}"));
    assert_eq!(loaded.warnings, []);
    let quince = &loaded.menu.dishes[0];
    assert_eq!(quince.course, "small-supper");
    assert_eq!(quince.steps[1].after[0].step, "simmer");
    let place = loaded.places.of(Some("quince"), Some("set")).unwrap();
    assert_eq!((place.line, place.column), (14, 13));
    let written = load::write_menu(&loaded.menu);
    let again = load::menu_text("written.ron", &written, &NoFiles)
        .unwrap_or_else(|f| panic!("{f}\n{written}"));
    assert_eq!(again.menu, loaded.menu);
}

/// Returns the text of a file of this repository.
fn repository(path: &str) -> String {
    std::fs::read_to_string(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

#[test]
fn the_example_of_every_field_loads() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-menus/every-field");
    for file in ["kitchen.ron", "dish.ron", "menu.ron"] {
        match load::check_file(&folder.join(file)) {
            Ok(load::Checked::Menu(loaded)) => assert_eq!(loaded.warnings, []),
            Ok(_) => {}
            Err(faults) => panic!("{faults}"),
        }
    }
}

#[test]
fn the_example_of_every_field_has_every_field() {
    let files = ["kitchen.ron", "dish.ron", "menu.ron"];
    let text: String = files
        .iter()
        .map(|file| repository(&format!("sample-menus/every-field/{file}")))
        .collect();
    for (bracket, field) in load::known_fields() {
        // The field must stand inside a bracket of its kind, not merely somewhere.
        let found = text.match_indices(&format!("{bracket}(")).any(|(at, _)| {
            let inside = inside_bracket(&text[at + bracket.len()..]);
            inside.contains(&format!("{field}:"))
        });
        assert!(found, "{bracket}.{field} is missing from the example");
    }
}

/// Returns what stands at the first level of the bracket a text begins with. The examples have no brackets in
/// texts; remarks are cut off.
fn inside_bracket(text: &str) -> String {
    let mut depth = 0;
    let mut inside = String::new();
    for line in text.lines() {
        let line = line.split("//").next().unwrap();
        for c in line.chars() {
            match c {
                '(' | '[' => depth += 1,
                ')' | ']' => depth -= 1,
                c if depth == 1 => inside.push(c),
                _ => {}
            }
            if depth == 0 {
                return inside;
            }
        }
    }
    inside
}

proptest! {
    #[test]
    fn a_menu_written_and_read_back_is_equal(menu in menus()) {
        let written = load::write_menu(&menu);
        match load::menu_text("written.ron", &written, &NoFiles) {
            Ok(loaded) => prop_assert_eq!(loaded.menu, menu),
            Err(faults) => prop_assert!(false, "{}\n{}", faults, written),
        }
    }

    #[test]
    fn what_is_generated_breaks_no_rule(menu in menus()) {
        let unwise = countback::menu::About::Unwise;
        let wrong: Vec<_> = check(&menu).into_iter().filter(|finding| finding.about != unwise).collect();
        prop_assert_eq!(wrong, vec![]);
    }

    #[test]
    fn any_text_loads_or_is_refused(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let text = String::from_utf8_lossy(&bytes);
        let _ = load::check_text("any.ron", &text, &NoFiles);
    }

    #[test]
    fn a_menu_with_a_slip_of_the_pen_loads_or_says_what_is_wrong(
        cuts in proptest::collection::vec((any::<proptest::sample::Index>(), 0_usize..12, "[ -~é]{0,6}"), 1..5),
        which in 0_usize..3,
    ) {
        let files = ["kitchen.ron", "dish.ron", "menu.ron"];
        let mut text = repository(&format!("sample-menus/every-field/{}", files[which]));
        for (at, length, put) in cuts {
            let edge = |at: usize| (0..=at).rev().find(|&at| text.is_char_boundary(at)).unwrap();
            let from = edge(at.index(text.len() + 1));
            let to = edge((from + length).min(text.len()));
            text.replace_range(from..to, &put);
        }
        if let Err(faults) = load::check_text("slip.ron", &text, &EveryField) {
            prop_assert!(!faults.0.is_empty());
            prop_assert!(faults.0.is_sorted(), "{}", faults);
        }
    }
}

/// The files beside the example of every field.
struct EveryField;

impl Shelf for EveryField {
    fn read(&self, path: &str) -> io::Result<String> {
        let folder =
            std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-menus/every-field");
        std::fs::read_to_string(folder.join(path))
    }
}

/// Every file of `tests/data/broken-menus` is refused with exactly the text beside it.
///
/// To see what a new or changed file says, run this test: it prints what it found.
#[test]
fn broken_menus_say_exactly_what_is_wrong() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/broken-menus");
    let mut names: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter_map(|name| name.strip_suffix(".ron").map(str::to_owned))
        .collect();
    names.sort();
    assert!(names.len() >= 25);
    let mut differences = String::new();
    for name in &names {
        let file = format!("{name}.ron");
        let text = std::fs::read_to_string(folder.join(&file)).unwrap();
        let found = match load::check_text(&file, &text, &load::Folder::of(&folder.join(&file))) {
            Ok(_) => "no fault\n".to_owned(),
            Err(faults) => format!("{faults}\n"),
        };
        let expected = std::fs::read_to_string(folder.join(format!("{name}.expected")));
        let expected = expected.unwrap_or_default();
        differences += &difference(&file, &expected, &found);
    }
    assert!(differences.is_empty(), "\n{differences}");
}

/// Returns the lines that two texts do not share, as `-` expected and `+` found.
fn difference(file: &str, expected: &str, found: &str) -> String {
    if expected == found {
        return String::new();
    }
    let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    let (expected, found) = (lines(expected), lines(found));
    let only = |sign: char, these: &[String], those: &[String]| {
        let only = these.iter().filter(|line| !those.contains(line));
        let only = only.map(|line| format!("{sign} {line}\n"));
        only.collect::<Vec<_>>().concat()
    };
    format!(
        "{file}:\n{}{}",
        only('-', &expected, &found),
        only('+', &found, &expected)
    )
}
