//! Decisions as they are typed.

use countback::load;
use countback::plan;
use countback::prep::{decision_words, typed_decision};
use countback::time::{Timestamp, Zone};

const MENU: &str = r#"Menu(
    id: "m", name: "M", service: "2026-11-28 19:30", covers: 40,
    kitchen: Kitchen(
        name: "K", zone: "Europe/Rome", open: [Open(days: "every day", at: "07:00..22:00")],
        cooks: [Cook(name: "first cook"), Cook(name: "second cook")],
        kit: [Kit(id: "hob", name: "hob ring", count: 4), Kit(id: "oven", name: "deck oven", count: 1)],
    ),
    dishes: [
        Serve(dish: Dish(id: "pears", name: "Pears in bay syrup", steps: [Step(id: "a", name: "A", time: "10 min")])),
        Serve(dish: Dish(id: "cream", name: "Bay cream", steps: [Step(id: "b", name: "B", time: "10 min")])),
    ],
)"#;

/// What is decided, in words, or what is said instead; typed on a Thursday at 14:00.
fn said(words: &str) -> String {
    let folder = load::Folder::of("menu.ron".as_ref());
    let menu = load::menu_text("menu.ron", MENU, &folder)
        .expect("a menu")
        .menu;
    let now = Timestamp::from_rfc3339("2026-11-26T14:00:00+01:00").expect("a moment");
    let service = plan::service_of(&menu, now, Zone::UTC);
    // As a shell hands them over: what stands in quotation marks is one word.
    let words: Vec<&str> = words.split('|').collect();
    let fetch = |name: &str| Ok(format!("card of {name}"));
    match typed_decision(&words, &menu, service, now, &fetch) {
        Ok(decision) => decision_words(&decision, service.zone()),
        Err(said) => said,
    }
}

#[test]
fn every_form_is_read() {
    for (words, decided) in [
        ("covers|90", "90 covers"),
        ("covers|60|of|pears", "60 covers of pears"),
        ("batches|3|of|pears", "3 batches of pears"),
        ("batches|1|cream", "1 batch of cream"),
        (
            "batches|needed|of|pears",
            "as many batches of pears as are needed",
        ),
        ("COVERS|60|cream", "60 covers of cream"),
        ("service|20:00", "service at Sat 2026-11-28 20:00"),
        (
            "service|2026-11-29|19:00",
            "service at Sun 2026-11-29 19:00",
        ),
        ("without|Pears in bay syrup", "without pears"),
        ("with|figs.ron", "one dish more"),
        ("with|dishes/our figs.ron", "one dish more"),
        ("with|figs.ron|for|40", "one dish more, 40 covers"),
        (
            "with|figs.ron for 40 in m",
            "one dish more, 40 covers, in m",
        ),
        ("away|second", "second cook away from Thu 14:00 on"),
        (
            "away|first cook|now until Sat 08:00",
            "first cook away from Thu 14:00 until Sat 08:00",
        ),
        (
            "away|second|Fri|14:00..20:00",
            "second cook away from Fri 14:00 until Fri 20:00",
        ),
        ("out|hob", "1 hob out of use from Thu 14:00 on"),
        (
            "out|ring|2|until|18:00",
            "2 hob out of use from Thu 14:00 until Thu 18:00",
        ),
        (
            "hands|14:00..20:00",
            "one more pair of hands, Thu 14:00 to Thu 20:00",
        ),
        ("more|oven", "1 more oven"),
        ("more|hob|2", "2 more hob"),
    ] {
        assert_eq!(said(words), decided, "{words}");
    }
}

#[test]
fn what_is_not_understood_is_said_with_what_to_write() {
    for (words, why) in [
        ("moon|full", "write covers 90"),
        ("covers", "how many?"),
        ("covers|-3", "covers are a whole number"),
        ("batches", "how many?"),
        ("batches|3", "of which dish?"),
        ("batches|0|of|pears", "batches are a whole number"),
        ("batches|some|of|pears", "batches are a whole number"),
        ("batches|3|of|figs", "there is no dish"),
        ("covers|99999999", "covers are a whole number"),
        ("without|figs", "there are pears, cream"),
        ("without|", "there is no dish"),
        ("without|bay", "could be pears, cream"),
        ("with", "which file?"),
        ("with|figs.ron|for", "says nothing of a dish"),
        ("with|figs.ron|for|many", "covers are a whole number"),
        ("with|figs.ron|in|moonlight", "there is no course"),
        ("away", "who?"),
        ("away|cook", "could be first cook, second cook"),
        ("away|second|someday", "is not a stretch of time"),
        ("out|hob|until", "is not a stretch of time"),
        ("hands|14:00", "until when?"),
        ("more|hob|none", "is not how many more"),
        ("more|hob|0", "is not how many more"),
        ("service|yesterday 10:00", "a service that has passed"),
    ] {
        assert!(said(words).contains(why), "{words}: {}", said(words));
    }
}
