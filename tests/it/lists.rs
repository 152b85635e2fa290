//! The pages of what to buy and of what a dish takes, and what must be ordered among the steps.

use std::collections::BTreeMap;

use countback::book::{Errand, Happening, Much};
use countback::menu::{Ahead, Amount, Batch, Goods, Last, Supplier, Unit};
use countback::time::{Minutes, time_of_day};
use crossterm::event::MouseEventKind;

use crate::support::banquet::{Banquet, lantern_supper};
use crate::support::screen::Screen;

fn measured(number: f64, unit: Unit) -> Amount {
    Amount::Measured { number, unit }
}

/// The banquet planned by hand, its pears made in two batches, with a larder.
fn stocked() -> Banquet {
    let mut banquet = lantern_supper();
    let larder = &mut banquet.menu.larder;
    larder.currency = Some("EUR".into());
    larder.suppliers = vec![Supplier {
        name: "greengrocer".into(),
        order_ahead: Some(Minutes::days(1)),
        days: None,
        by: time_of_day(11, 0),
    }];
    larder.goods = vec![
        Goods {
            name: "firm pears, peeled".into(),
            kind: Some("fruit".into()),
            supplier: Some("greengrocer".into()),
            pack: Some(measured(20.0, Unit::Count(String::new()))),
            price: Some(950),
            loss: 100,
            ..Goods::default()
        },
        Goods {
            name: "cane sugar".into(),
            kind: Some("dry".into()),
            order_ahead: Some(Minutes::days(3)),
            pack: Some(measured(1.0, Unit::Kilogram)),
            price: Some(240),
            stock: Some(measured(500.0, Unit::Gram)),
            ahead: Some(Ahead {
                what: "warm".into(),
                time: Minutes(60),
            }),
            ..Goods::default()
        },
    ];
    let dish = banquet
        .menu
        .dishes
        .iter_mut()
        .find(|dish| !dish.ingredients.is_empty());
    dish.unwrap().batch = Some(Batch {
        portions: 60,
        vessel: None,
        vessels: 1,
        also: None,
        last: Last::Part,
        volume: Some(9000.0),
    });
    banquet
}

fn open(width: u16, height: u16) -> Screen {
    Screen::open(&stocked(), width, height)
}

#[test]
fn what_to_buy() {
    insta::assert_snapshot!("orders_80x24", open(80, 24).keys("o").text());
    insta::assert_snapshot!("orders_120x40", open(120, 40).keys("o<Tab>").text());
}

#[test]
fn what_a_dish_takes() {
    insta::assert_snapshot!("amounts_80x24", open(80, 24).keys("a").text());
    insta::assert_snapshot!(
        "amounts_120x40",
        open(120, 40).keys("/poach<Enter>a++++").text()
    );
}

#[test]
fn what_must_be_ordered_stands_among_the_steps() {
    insta::assert_snapshot!("reminders_80x24", open(80, 24).keys("<Home>").text());
    let mut screen = open(80, 24);
    screen.keys("<Home>");
    assert!(screen.shows("◇ Thu 14:40") && screen.shows("warm 4.5 kg cane sugar, 1h"));
    // Nobody's in particular, so everybody's, whoever's work is listed.
    screen.keys("f<Tab><Tab><Tab> <Esc>");
    assert!(
        screen.shows("only Bo") && screen.shows("warm 4.5 kg cane sugar"),
        "{}",
        screen.text()
    );
    // The search begins where the selection is, and Esc comes back to it.
    screen.keys("<Home>/cane<Esc>");
    assert!(
        screen.line("order: cane sugar").contains('▸'),
        "{}",
        screen.text()
    );
    // It is found as steps are.
    screen.keys("/warm<Enter>");
    assert!(screen.line("warm 4.5 kg").contains('▸') && screen.shows("\"warm\": 1 of 1"));
}

#[test]
fn an_order_is_ticked_told_and_taken_back_in_the_countdown() {
    let mut screen = open(80, 24);
    screen.keys("<Home>");
    assert!(screen.line("order: cane sugar").contains("▸◇ Mon 14:40"));
    screen.keys("d");
    let four_kilos = || Much {
        says: "4 × 1 kg".into(),
        all: BTreeMap::from([("g".into(), 4_000_000)]),
    };
    let errand = Errand::Order {
        goods: BTreeMap::from([("cane sugar".to_owned(), four_kilos())]),
    };
    let seen_to = Happening::SeenTo { errand };
    assert_eq!(screen.written.last().unwrap().what, seen_to);
    assert!(screen.shows("2 days 23h25 after the last hour to order it; seen to Thu 26 Nov 14:05"));
    let line = screen.line("order: cane sugar: seen to Thu 14:05");
    assert!(
        line.contains("▸✓ Mon 14:40") && line.contains("done"),
        "{line}"
    );
    screen.keys("d");
    assert!(screen.shows("is seen to already; undo it first"));
    // It stands in the order list too, and there no key ticks it.
    assert!(screen.keys("o").shows("ordered Thu 14:05"));
    screen.keys("<Esc>u");
    assert!(screen.line("order: cane sugar").contains("▸◇ Mon 14:40"));
    assert!(screen.shows("not seen to: order: cane sugar; R brings it back"));
    assert!(screen.keys("u").shows("has nothing to undo"));
    screen.keys("R");
    assert!(
        screen.line("order: cane sugar").contains("▸✓"),
        "{}",
        screen.text()
    );
    // At the real time, and not at one to come.
    screen.keys("uD13:50<Enter>");
    assert!(
        screen.shows("order: cane sugar: seen to Thu 13:50"),
        "{}",
        screen.text()
    );
    // Tonight lists what is not seen to, and of what is past only a day.
    screen.keys("t");
    assert!(screen.shows("warm 4.5 kg cane sugar") && !screen.shows("order: cane sugar"));
    screen.keys("t<Home>");
    // What is for steps is not for an order, and leaves it selected.
    screen.keys("u");
    for key in ["x", "r", "e"] {
        assert!(
            screen
                .keys(key)
                .shows("this is no step; s or d says that it is seen to"),
            "{key}"
        );
    }
    assert_eq!(screen.written.len(), 6, "{:?}", screen.written);
    // A step below it is ticked as ever.
    screen.keys("/press<Enter>s");
    assert!(matches!(
        screen.written.last().unwrap().what,
        Happening::Started { .. }
    ));
}

#[test]
fn a_step_whose_goods_are_not_ready_says_so_on_its_card_and_in_its_call() {
    let mut screen = open(80, 24);
    screen.keys("/poach<Enter><Enter>");
    assert!(
        screen.shows("nobody has ticked: warm 4.5 kg cane sugar, 1h"),
        "{}",
        screen.text()
    );
    screen.keys("<Esc>");
    screen.clock(crate::support::banquet::moment(26, 15, 36));
    let says = |screen: &Screen| {
        let mut calls = screen.app.sheet.calls.iter();
        calls.any(|call| {
            call.says
                .starts_with("not ready for it: start Poach the pears")
        })
    };
    assert!(says(&screen), "{:?}", screen.app.sheet.calls);
    // An hour from now is too late for it, and tonight does not take it for done.
    screen.keys("/warm<Enter>dt");
    let line = screen.line("56 min too late: warm 4.5 kg");
    assert!(line.contains('!') && line.contains("too late"), "{line}");
    screen.keys("u/warm<Enter>D14:30<Enter>");
    assert!(!says(&screen), "{:?}", screen.app.sheet.calls);
}

#[test]
fn an_errand_has_a_card_and_is_clicked_at_and_scrolled_past() {
    let mut screen = open(80, 24);
    screen.keys("<Home><Enter>");
    for text in [
        "order by",
        "cane sugar: 4 × 1 kg",
        "s or d: it is seen to now",
    ] {
        assert!(screen.shows(text), "{text}: {}", screen.text());
    }
    screen.keys("<Esc>");
    screen.click_on("warm 4.5 kg cane sugar");
    assert!(
        screen.line("warm 4.5 kg cane sugar").contains("▸◇"),
        "{}",
        screen.text()
    );
    screen.click_on("warm 4.5 kg cane sugar");
    assert!(screen.shows("begin by"), "its card: {}", screen.text());
    screen.keys("<Esc>s");
    assert!(
        screen.line("warm 4.5 kg cane sugar").contains("✓"),
        "{}",
        screen.text()
    );
    // The wheel takes the selection along, from an errand as from a step.
    screen.keys("<Home>");
    let (x, y) = screen.find("warm 4.5 kg cane sugar").unwrap();
    for _ in 0..20 {
        screen.mouse(MouseEventKind::ScrollDown, x, y);
    }
    assert!(!screen.shows("order: cane sugar"));
    screen.keys("s");
    assert!(matches!(
        screen.written.last().unwrap().what,
        Happening::Started { .. }
    ));
}

#[test]
fn the_list_is_divided_searched_narrowed_and_closed() {
    let mut screen = open(100, 30);
    assert!(screen.keys("o").shows("by supplier"));
    assert!(screen.shows("greengrocer") && screen.shows("6 × 20"));
    assert!(screen.keys("<Tab>").shows("by kind"));
    assert!(screen.keys("<Tab>").shows("by the day to order"));
    assert!(screen.keys("<Right>").shows("by supplier"));
    screen.keys("/cane<Enter>");
    assert!(screen.shows("\"cane\": in 1 line"), "{}", screen.text());
    assert!(
        screen
            .keys("/xyzzy<Enter>")
            .shows("nothing on this page has \"xyzzy\"")
    );
    // The filters narrow it, and give it back when they close.
    screen.keys("f");
    assert!(screen.shows("Dish"));
    screen.keys("<Esc>");
    assert!(screen.shows("by supplier"), "{}", screen.text());
    screen.keys("s");
    assert!(
        screen.written.is_empty(),
        "no step is ticked behind the page"
    );
    assert!(!screen.keys("<Esc>").shows("by supplier"));
    assert!(!screen.quit);
}

#[test]
fn other_covers_are_tried_out_and_change_nothing() {
    let mut screen = open(100, 30);
    screen.keys("/poach<Enter>a");
    assert!(screen.shows("For 96 covers"), "{}", screen.text());
    screen.keys("+");
    assert!(screen.shows("For 97 covers") && screen.shows("only tried out"));
    assert!(screen.keys("0").shows("For 96 covers"));
    assert!(screen.keys("--").shows("For 94 covers"));
    screen.keys("<Esc>a");
    assert!(screen.shows("For 96 covers"), "what was tried is forgotten");
    assert_eq!(screen.app.sheet.menu.covers, 96);
    let before = screen.text();
    assert_ne!(screen.keys("<Tab>").text(), before, "another dish");
    assert_eq!(screen.keys("<Left>").text(), before);
}

#[test]
fn the_mouse_scrolls_the_page_and_clicks_its_hints() {
    let mut screen = open(80, 24);
    screen.keys("o");
    screen.mouse(MouseEventKind::ScrollDown, 40, 10);
    assert!(screen.shows("to buy"));
    assert!(screen.click_on("Tab divide otherwise").shows("by kind"));
}
