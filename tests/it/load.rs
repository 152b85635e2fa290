//! Menu files: a plain menu loads, a broken one says everything that is wrong, writing and reading agree.

use std::io;

use countback::load::{self, Shelf};

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
