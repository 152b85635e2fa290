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
    for file in ["kitchen.ron", "larder.ron", "dish.ron", "menu.ron"] {
        match load::check_file(&folder.join(file)) {
            Ok(load::Checked::Menu(loaded)) => assert_eq!(loaded.warnings, []),
            Ok(_) => {}
            Err(faults) => panic!("{faults}"),
        }
    }
}

#[test]
fn the_example_of_every_field_has_every_field() {
    let files = ["kitchen.ron", "larder.ron", "dish.ron", "menu.ron"];
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
        which in 0_usize..4,
    ) {
        let files = ["kitchen.ron", "larder.ron", "dish.ron", "menu.ron"];
        let mut text = repository(&format!("sample-menus/every-field/{}", files[which]));
        for (at, length, put) in cuts {
            let edge = |at: usize| (0..=at).rev().find(|&at| text.is_char_boundary(at)).unwrap();
            let from = edge(at.index(text.len() + 1));
            let to = edge((from + length).min(text.len()));
            text.replace_range(from..to, &put);
        }
        match load::check_text("slip.ron", &text, &EveryField) {
            Err(faults) => {
                prop_assert!(!faults.0.is_empty());
                prop_assert!(faults.0.is_sorted(), "{}", faults);
            }
            Ok(load::Checked::Menu(loaded)) => {
                let written = load::write_menu(&loaded.menu);
                match load::menu_text("written.ron", &written, &NoFiles) {
                    Ok(again) => prop_assert_eq!(again.menu, loaded.menu),
                    Err(faults) => prop_assert!(false, "{}\n{}", faults, written),
                }
            }
            Ok(_) => {}
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

/// Returns the one fault a file is refused with, its path cut off.
fn refusal(path: &std::path::Path) -> String {
    let faults = load::check_file(path).map(|_| ()).unwrap_err().0;
    assert_eq!(faults.len(), 1, "{faults:?}");
    let said = faults[0].to_string();
    said.replace(&path.display().to_string(), "FILE")
}

#[test]
fn what_is_no_text_file_is_refused_in_one_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("menu.ron");
    assert_eq!(
        refusal(&path),
        "FILE:1:1: there is no such file\n  try: look at the spelling; a path is taken from the folder of the file that names it"
    );
    assert_eq!(
        refusal(folder.path()),
        "FILE:1:1: this is a folder, not a file\n  try: name a file inside it"
    );
    let no_text =
        "FILE:1:1: this file is not text in UTF-8\n  try: save it again from your editor as UTF-8";
    let utf16: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain("Menu()".encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    for bytes in [&b"Menu(name: \"\xe8\")"[..], &utf16, &[0xed, 0xa0, 0x80]] {
        std::fs::write(&path, bytes).unwrap();
        assert_eq!(refusal(&path), no_text);
    }
    std::fs::write(&path, vec![b' '; 4 * 1024 * 1024 + 1]).unwrap();
    assert_eq!(
        refusal(&path),
        "FILE:1:1: this file is larger than 4 MB, so it is no menu"
    );
    std::fs::write(&path, "").unwrap();
    assert!(refusal(&path).starts_with("FILE:1:1: the file is empty"));
}

#[test]
fn a_byte_order_mark_is_no_fault_and_moves_no_column() {
    let loaded = load::menu_text(
        "m.ron",
        &format!("\u{feff}{}", PLAIN.trim_start()),
        &NoFiles,
    );
    let place = loaded.unwrap().places.of(None, None).unwrap();
    assert_eq!((place.line, place.column), (1, 1));
}

#[test]
fn columns_count_characters() {
    let text = "Dish(id: \"a\", name: \"Crème 杏仁 é\", colour: 1, steps: [Step(id: \"s\", name: \"S\", time: \"1h\")])";
    let faults = load::check_text("d.ron", text, &NoFiles).unwrap_err();
    assert_eq!(faults.0[0].place.column, 35);
}

#[test]
fn a_referred_file_is_named_in_its_faults_and_keeps_its_places() {
    let path =
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-menus/every-field/menu.ron");
    let loaded = load::menu_file(&path).unwrap();
    let place = loaded
        .places
        .of(Some("quince-dome"), Some("strain"))
        .unwrap();
    assert!(place.file.ends_with("dish.ron"), "{place}");
    let line = repository("sample-menus/every-field/dish.ron");
    let line = line.lines().nth(place.line as usize).unwrap();
    assert_eq!(line.trim(), "id: \"strain\",");
    assert_eq!(
        loaded.places.of(Some("quince-dome"), Some("no such step")),
        None
    );
}

/// Returns a dish of three steps with these fields in the second and in all of them the rest left out.
fn three_steps(second: &str) -> Vec<Vec<String>> {
    let text = format!(
        "Dish(id: \"d\", name: \"D\", steps: [Step(id: \"a\", name: \"A\", time: \"1h\"), Step(id: \"b\", name: \"B\", time: \"1h\"{second}), Step(id: \"c\", name: \"C\", time: \"1h\")])"
    );
    let Ok(load::Checked::Dish(dish)) = load::check_text("d.ron", &text, &NoFiles) else {
        panic!("{text}");
    };
    let after =
        |step: &countback::menu::Step| step.after.iter().map(|after| after.step.clone()).collect();
    dish.steps.iter().map(after).collect()
}

#[test]
fn steps_follow_their_list_until_one_says_otherwise() {
    let names = |names: [&[&str]; 3]| {
        names.map(|names| names.iter().map(ToString::to_string).collect::<Vec<_>>())
    };
    assert_eq!(three_steps(""), names([&[], &["a"], &["b"]]));
    assert_eq!(three_steps(", after: []"), names([&[], &[], &[]]));
    assert_eq!(three_steps(", after: [\"a\"]"), names([&[], &["a"], &[]]));
    assert_eq!(three_steps(", together: [\"a\"]"), names([&[], &[], &[]]));
}

#[test]
fn what_is_unwise_is_a_warning_with_a_place() {
    let text = PLAIN.replace("look 2 min every 30 min", "look 2 min every 8h");
    let loaded = load::menu_text("small.ron", &text, &NoFiles).unwrap();
    let said: Vec<_> = loaded.warnings.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "small.ron:13:80: a look every 8h, but the step is over after 7h: nobody ever looks\n  try: look more often, or leave the look out"
        ]
    );
}

#[test]
fn a_step_that_waits_for_nothing_among_others_that_wait_is_asked_about() {
    let cut = "Step(id: \"cut\", name: \"Cut it\", time: \"10 min\", after: [\"set\"]),";
    let with = |set: &str| {
        let text = PLAIN.replace("\"left alone\"),", &format!("\"left alone\"{set}), {cut}"));
        let loaded = load::menu_text("small.ron", &text, &NoFiles).unwrap();
        let said = loaded.warnings.iter().map(ToString::to_string);
        said.collect::<Vec<_>>()
    };
    assert_eq!(
        with(""),
        [
            "small.ron:14:13: \"set\" waits for nothing: other steps of the dish say what they wait for, and it does not\n  try: after: [\"simmer\"], or after: [] where nothing is meant"
        ]
    );
    assert_eq!(with(", after: []"), [""; 0]);
    assert_eq!(with(", after: [\"simmer\"]"), [""; 0]);
}

#[test]
fn more_faults_than_anyone_reads_are_counted() {
    let steps = "Step(id: \"a b\", name: \"A\", time: \"soon\"),".repeat(150);
    let text = format!("Dish(id: \"d\", name: \"D\", steps: [{steps}])");
    let faults = load::check_text("d.ron", &text, &NoFiles).unwrap_err();
    assert_eq!(faults.0.len(), 201);
    assert_eq!(faults.0[200].what, "and 100 more from here on");
    assert!(faults.to_string().ends_with("201 faults"));
}

#[test]
fn large_files_are_read_or_refused() {
    let step = |number: usize| {
        format!("Step(id: \"s{number}\", name: \"S\", time: \"1 min\", hands: \"left alone\"),")
    };
    let chain: String = (0..15_000).map(step).collect::<Vec<_>>().concat();
    let text = format!("Dish(id: \"d\", name: \"D\", steps: [{chain}])");
    assert!(load::check_text("d.ron", &text, &NoFiles).is_ok());
    // Everything follows everything around it, and every name but one is unknown.
    let tangled = |number: usize| {
        format!(
            "Step(id: \"s{number}\", name: \"S\", time: \"1h\", after: [After(step: \"s{}\", gap: \"within 1 min\"), \"s{}\", \"x{number}\"]),",
            (number + 7) % 8000,
            (number * 31) % 8000,
        )
    };
    let tangle: String = (0..8000).map(tangled).collect::<Vec<_>>().concat();
    let text = format!("Dish(id: \"d\", name: \"D\", steps: [{tangle}])");
    assert!(load::check_text("d.ron", &text, &NoFiles).is_err());
    for nonsense in [
        "Step(",
        "Menu(id:\"",
        "Dish(id: \"a\", steps: [",
        "after: [After(",
        "\u{202e}\"",
        "9e9e9 ",
    ] {
        let text = nonsense.repeat(1_000_000 / nonsense.len());
        assert!(
            load::check_text("n.ron", &text, &NoFiles).is_err(),
            "{nonsense}"
        );
    }
}
