//! What goes with the food, from step to step and from dish to dish.

use countback::load;
use countback::menu::{Allergen, Caution, Menu};
use countback::safety::allergens::{List, Standing, cell, matrix, undeclared};
use countback::safety::cautions::of_dish;
use countback::safety::guests;
use countback::safety::looks_like::{Suggests, suggestions};

/// A menu of dishes as they are written, in a kitchen with an oven.
fn menu(guests: &str, dishes: &[String]) -> Menu {
    let served: Vec<_> = dishes
        .iter()
        .map(|dish| format!("Serve(dish: Dish({dish}))"))
        .collect();
    let text = format!(
        r#"Menu(
    id: "m", name: "Menu", service: "2026-12-05 19:00", covers: 12,
    kitchen: Kitchen(
        name: "k", open: [Open(days: "every day", at: "07:00..22:00")], cooks: [Cook(name: "one")],
        kit: [Kit(id: "oven", name: "oven", count: 1, oven: Oven(shelves: 3, change: "20 min"))],
    ),
    guests: [{guests}],
    dishes: [{}],
)"#,
        served.join(", ")
    );
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("menu.ron");
    std::fs::write(&file, &text).unwrap();
    match load::menu_file(&file) {
        Ok(loaded) => loaded.menu,
        Err(faults) => panic!("{faults}\n{text}"),
    }
}

fn dish(id: &str, ingredients: &str, steps: &str) -> String {
    format!(r#"id: "{id}", name: "{id}", ingredients: [{ingredients}], steps: [{steps}]"#)
}

fn step(id: &str, rest: &str) -> String {
    format!(r#"Step(id: "{id}", name: "{id}", time: "1h", hands: "left alone", {rest})"#)
}

/// Three dishes, each of which takes from the next what a step of it makes.
fn chain(guests: &str, first: &str, second: &str, third: &str) -> Menu {
    let take = |from: &str| step("take", &format!(r#"after: ["{from}/make"]"#));
    let both = |from| [take(from), step("make", r#"after: ["take"]"#)].join(", ");
    menu(
        guests,
        &[
            dish("top", first, &both("mid")),
            dish("mid", second, &both("low")),
            dish("low", third, &step("make", "after: []")),
        ],
    )
}

fn clean(name: &str, more: &str) -> String {
    format!(
        r#"Ingredient(name: "{name}", amount: "1 kg", contains: [], may_contain: [], declared_by: "the maker", {more})"#
    )
}

#[test]
fn what_is_in_a_dish_is_in_what_is_made_of_what_is_made_of_it() {
    let almond =
        r#"Ingredient(name: "paste", amount: "1 kg", contains: [Almond], may_contain: [])"#;
    let guest = r#"Guest(name: "table 1", avoids: [Almond])"#;
    let menu = chain(guest, &clean("sugar", ""), &clean("salt", ""), almond);
    let of = |place: usize| cell(&menu, &menu.dishes[place], &[Allergen::Almond], |_| true);
    assert_eq!(of(0).standing(), Standing::NotKnown);
    assert_eq!(of(1).standing(), Standing::NotKnown);
    assert_eq!(of(2).standing(), Standing::Contains);
    assert_eq!(
        of(0).reasons[0].sentence(),
        "nobody has declared anything of what it takes from low by way of mid, which one of its steps follows"
    );
    assert!(guests::check(&menu)[0].served.is_empty());
    // Said once, and only of the entries of the list that it is about.
    let row = &matrix(&menu, List::Eu).rows[0];
    let said = undeclared(row);
    assert_eq!(said.len(), 1);
    let names = said[0].1.iter().map(|&at| List::Eu.groups()[at].name);
    assert_eq!(names.collect::<Vec<_>>(), ["nuts"]);
}

#[test]
fn two_dishes_may_take_from_each_other() {
    let steps = |other: &str| {
        let take = step("take", &format!(r#"after: ["{other}/make"]"#));
        [step("make", "after: []"), take].join(", ")
    };
    let menu = menu(
        "",
        &[
            dish("one", &clean("sugar", ""), &steps("two")),
            dish("two", &clean("salt", "cautions: [Honey]"), &steps("one")),
        ],
    );
    for dish in &menu.dishes {
        assert_eq!(
            cell(&menu, dish, &[Allergen::Egg], |_| true).standing(),
            Standing::Free
        );
        let found = of_dish(&menu, dish);
        assert!(found.len() == 1 && found[0].places.len() == 1, "{found:?}");
    }
}

#[test]
fn what_is_not_listed_is_not_known_to_be_without_a_caution() {
    let guests = r#"Guest(name: "old", kind: Vulnerable), Guest(name: "small", kind: Infant, avoids: [Milk]), Guest(name: "no honey", not: [Honey])"#;
    let of =
        |low: &str| guests::check(&chain(guests, &clean("sugar", ""), &clean("salt", ""), low));
    for (checked, why) in of("").into_iter().zip([
        "raw egg, unpasteurised milk: nobody has declared anything of ",
        "milk, raw egg, unpasteurised milk, honey, choking size, alcohol: nobody has declared anything of ",
        "honey: nobody has declared anything of ",
    ]) {
        assert!(checked.served.is_empty(), "{checked:?}");
        let (above, below): (Vec<_>, Vec<_>) = checked.clashes.iter().partition(|it| it.dish < 2);
        assert!(above.len() == 2 && below.len() == 1, "{checked:?}");
        let what = format!("{why}its ingredients, of which none are on the card");
        assert!(below[0].standing == Standing::NotKnown && below[0].what == what, "{below:?}");
        let what = format!("{why}what it takes from low");
        assert!(above.iter().all(|it| it.what.starts_with(&what)), "{above:?}");
    }
    // Listed, and nothing of it stands against anybody.
    for checked in of(&clean("vinegar", "")) {
        assert_eq!(checked.served, [0, 1, 2]);
    }
}

#[test]
fn a_caution_goes_with_the_food_to_whoever_is_served_it() {
    let guests = r#"Guest(name: "old", kind: Vulnerable, without: ["mid", "low"]), Guest(name: "small", kind: Infant, without: ["mid", "low"])"#;
    for (caution, to) in [("RawEgg", [0, 1]), ("Honey", [1, 1])] {
        let third = clean("x", &format!("cautions: [{caution}]"));
        let menu = chain(guests, &clean("sugar", ""), &clean("salt", ""), &third);
        for guest in to {
            let checked = &guests::check(&menu)[guest];
            assert!(checked.served.is_empty(), "{checked:?}");
            assert_eq!(checked.clashes[0].standing, Standing::NotKnown);
            assert!(
                checked.clashes[0].what.contains("x in low by way of mid"),
                "{checked:?}"
            );
        }
        let found = of_dish(&menu, &menu.dishes[0]);
        assert_eq!(found[0].places, ["x in low by way of mid"]);
    }
    // What is only about the work stays with whoever does it.
    let third = clean("x", "cautions: [HotSugar]");
    let work = chain("", &clean("sugar", ""), &clean("salt", ""), &third);
    assert!(of_dish(&work, &work.dishes[0]).is_empty());
    // A rescue is food too, and a name gives away what is in it wherever it goes.
    let rescue = step("mend", "after: [], cautions: [RawEgg]");
    let with_rescue = format!(
        "{}, rescues: [{rescue}]",
        dish("a", &clean("sugar", ""), &step("make", "after: []"))
    );
    let guest = r#"Guest(name: "old", kind: Vulnerable, avoids: [Milk])"#;
    assert!(
        guests::check(&menu(guest, &[with_rescue]))[0]
            .served
            .is_empty()
    );
    let honey =
        r#"Ingredient(name: "heather honey", amount: "1 kg", contains: [], may_contain: [])"#;
    let menu = chain(guests, &clean("sugar", ""), &clean("salt", ""), honey);
    assert!(guests::check(&menu)[1].served.is_empty());
}

/// Yolks go into a custard and whites into a foam; both are put together.
fn foam(yolks: &str, whites: &str, custard: &str, foam: &str, together: &str) -> Menu {
    let egg = |name: &str, into: &str, more: &str| {
        format!(
            r#"Ingredient(name: "{name}", amount: 12, into: "{into}", contains: [Egg], may_contain: [], {more})"#
        )
    };
    let steps = [
        step("custard", &format!("after: [], {custard}")),
        step("foam", &format!("after: [], {foam}")),
        step(
            "together",
            &format!(r#"after: ["custard", "foam"], {together}"#),
        ),
    ];
    let eggs = [
        egg("egg yolks", "custard", yolks),
        egg("egg whites", "foam", whites),
    ];
    menu("", &[dish("a", &eggs.join(", "), &steps.join(", "))])
}

const COOKED: &str = r#"temperature: "cooked to 82 C for 30 s""#;
const RAW: &str = "cautions: [RawEgg]";

#[test]
fn heat_is_said_of_the_egg_that_it_reaches() {
    let more = |menu: &Menu| of_dish(menu, &menu.dishes[0])[0].more.clone().unwrap();
    let whites_raw = more(&foam(RAW, RAW, COOKED, "", ""));
    assert!(
        whites_raw.contains("custard heats egg yolks through")
            && whites_raw.contains("no step is said to heat egg whites through"),
        "{whites_raw}"
    );
    let both = more(&foam(RAW, RAW, "", "", COOKED));
    assert!(
        both.contains("together heats egg yolks through")
            && both.contains("together heats egg whites through")
            && !both.contains("no step"),
        "{both}"
    );
    // Of what goes two ways, one of them past the heat, some stays raw.
    let mut half = foam(RAW, "", "", "", COOKED);
    let mut glaze = half.dishes[0].steps[2].clone();
    "glaze".clone_into(&mut glaze.id);
    glaze.temperature = None;
    half.dishes[0].steps.push(glaze);
    let half = more(&half);
    assert!(half.contains("no step is said to heat egg yolks"), "{half}");
}

#[test]
fn an_egg_is_not_cooked_by_a_step_it_never_comes_to_or_that_only_warms() {
    let raw = |menu: &Menu| -> Vec<String> {
        let found = suggestions(&menu.dishes[0]).into_iter();
        let found = found.filter(|it| it.suggests == Suggests::Caution(Caution::RawEgg));
        found.map(|it| it.ingredient).collect()
    };
    assert_eq!(raw(&foam("", "", COOKED, "", "")), ["egg whites"]);
    assert!(raw(&foam("", "", "", "", COOKED)).is_empty());
    let warm = r#"temperature: "cooked to 40 C for 60 s""#;
    assert_eq!(raw(&foam("", "", "", "", warm)).len(), 2);
    let oven = r#"uses: [Use(kit: "oven", heat: "160 C")]"#;
    assert!(raw(&foam("", "", "", "", oven)).is_empty());
    // So hot that it is cooked at once.
    let through = r#"temperature: "cooked to 96 C""#;
    assert!(raw(&foam("", "", "", "", through)).is_empty());
    let cupboard = r#"uses: [Use(kit: "oven", heat: "55 C")]"#;
    assert_eq!(raw(&foam("", "", "", "", cupboard)).len(), 2);
}

#[test]
fn alcohol_goes_only_where_it_is_simmered_or_baked() {
    // USDA Table of Nutrient Retention Factors, release 6 (2007), p. 12, nutrient 221.
    let left = |into: &str, then: &str| {
        let liqueur = clean("liqueur", r#"into: "into", cautions: [Alcohol]"#);
        let steps = [
            step("into", into),
            step("then", &format!(r#"after: ["into"], {then}"#)),
        ];
        let menu = menu("", &[dish("a", &liqueur, &steps.join(", "))]);
        let more = of_dish(&menu, &menu.dishes[0])[0].more.clone().unwrap();
        let parts = more.split(' ').nth(1).unwrap();
        if more.starts_with("all the alcohol of liqueur") {
            100
        } else {
            parts.parse::<u32>().unwrap()
        }
    };
    let cold = "after: []";
    assert_eq!(left(r#"after: [], temperature: "cooked to 98 C""#, ""), 25);
    assert_eq!(left(cold, r#"temperature: "cooked to 98 C""#), 25);
    assert_eq!(left(cold, r#"uses: [Use(kit: "oven", heat: "160 C")]"#), 25);
    assert_eq!(left(r#"after: [], temperature: "cooked to 60 C""#, ""), 100);
    assert_eq!(left(cold, ""), 100);
    let overnight = |id: &str| step(id, "after: []").replace("1h", "overnight");
    let menu = menu(
        "",
        &[dish(
            "a",
            &clean("rum", r#"into: "soak", cautions: [Alcohol]"#),
            &overnight("soak"),
        )],
    );
    let more = of_dish(&menu, &menu.dishes[0])[0].more.clone().unwrap();
    assert!(more.starts_with("about 70 of 100"), "{more}");
}
