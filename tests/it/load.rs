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
