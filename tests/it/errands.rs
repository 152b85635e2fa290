//! What is ordered, soaked or thawed: seen to goods by goods and dish by dish, taken back, and called for.

use std::collections::BTreeMap;

use countback::book::{Entry, EntryId, Happening};
use countback::load;
use countback::menu::Menu;
use countback::plan::{self, PlanOutcome};
use countback::prep::{Call, ErrandAt, Kind, PrepState, Watched, calls};
use countback::sheets::order::errands_of;
use countback::time::{ServiceTime, Timestamp, Zone};

/// Figs soaked a night for a tart that is made on Saturday at noon; they and the milk are ordered the day before that.
fn menu(covers: u32) -> (Menu, ServiceTime) {
    let text = format!(
        r#"Menu(
    id: "m", name: "Fig supper", service: "2026-12-05 19:00", covers: {covers},
    kitchen: Kitchen(name: "Mill", zone: "Europe/Rome", open: [Open(days: "every day", at: "06:00..23:00")],
        cooks: [Cook(name: "first cook")]),
    larder: Larder(
        suppliers: [Supplier(name: "dairy", order: "1 day ahead")],
        goods: [
            Goods(name: "milk", supplier: "dairy", pack: "5 l"),
            Goods(name: "dried figs", supplier: "dairy", pack: "1 kg"),
        ],
    ),
    dishes: [Serve(dish: Dish(
        id: "tart", name: "Fig tart", batch: Batch(portions: 10),
        ingredients: [
            Ingredient(name: "dried figs", amount: "1 kg", into: "fill", ahead: "soak 12h"),
            Ingredient(name: "milk", amount: "2 l", into: "fill"),
        ],
        steps: [Step(id: "fill", name: "Fill", time: "1h", not_before: "12:00 on the day", done_by: "13:00 on the day")],
    ))],
)"#
    );
    let loaded = load::menu_text("m.ron", &text, &load::Folder::of("m.ron".as_ref()));
    let menu = loaded.expect("is a menu").menu;
    let service = plan::service_of(&menu, at("05T08:00"), Zone::UTC);
    (menu, service)
}

fn at(text: &str) -> Timestamp {
    Timestamp::from_rfc3339(&format!("2026-12-{text}:00+01:00")).expect("a moment")
}

/// A book in memory, and what it makes of a menu.
#[derive(Default)]
struct Days {
    prep: PrepState,
    written: i64,
}

impl Days {
    fn write(&mut self, moment: &str, what: Happening) -> EntryId {
        self.written += 1;
        let entry = Entry {
            id: EntryId(self.written),
            event: "m".into(),
            at: at(moment),
            written: at(moment),
            who: String::new(),
            place: String::new(),
            what,
        };
        self.prep.apply(&entry);
        entry.id
    }

    fn planned(&self, covers: u32, now: &str) -> (PlanOutcome, Vec<ErrandAt>) {
        let (menu, service) = menu(covers);
        let happened = self.prep.happened(&menu, service);
        let outcome = plan::plan(&menu, service, &happened, service.minute(at(now)), None);
        let errands = outcome
            .times()
            .map(|plan| errands_of(&menu, plan, &self.prep));
        (outcome, errands.expect("has times"))
    }

    /// Returns each errand in words, by when before it.
    fn errands(&self, covers: u32) -> Vec<String> {
        let (_, service) = menu(covers);
        let (_, errands) = self.planned(covers, "03T08:00");
        let said = errands.iter().map(|it| {
            let by = service.local(it.at).weekday_clock();
            format!("{by} {}", it.words(service))
        });
        said.collect()
    }

    /// Sees to the first errand that has these words in it.
    fn see_to(&mut self, covers: u32, words: &str, moment: &str) -> EntryId {
        let (_, errands) = self.planned(covers, "03T08:00");
        let errand = errands.into_iter().find(|it| it.says.contains(words));
        let errand = errand.expect("is one").errand;
        self.write(moment, Happening::SeenTo { errand })
    }

    fn calls(&self, now: &str) -> Vec<Call> {
        let (menu, service) = menu(10);
        let (outcome, errands) = self.planned(10, now);
        let mut calls = calls(Watched {
            menu: &menu,
            outcome: &outcome,
            prep: &self.prep,
            errands: &errands,
            latest_ends: &BTreeMap::new(),
            now: service.minute(at(now)),
        });
        calls.retain(|call| call.kind == Kind::Errand);
        calls
    }
}

#[test]
fn what_is_seen_to_is_told_with_its_time_and_taken_back() {
    let mut days = Days::default();
    let open = [
        "Thu 22:59 order from dairy: dried figs",
        "Fri 12:00 order from dairy: milk",
        "Fri 22:59 soak 1 kg dried figs, 12h",
    ];
    assert_eq!(days.errands(10), open);
    let figs = days.see_to(10, "order from dairy: dried figs", "03T17:05");
    let soak = days.see_to(10, "soak", "04T22:30");
    let seen_to = [
        "Thu 22:59 order from dairy: dried figs: seen to Thu 17:05",
        "Fri 12:00 order from dairy: milk",
        "Fri 22:59 soak 1 kg dried figs, 12h: seen to Fri 22:30",
    ];
    assert_eq!(days.errands(10), seen_to);
    assert_eq!(days.prep.last_act(), Some(soak), "undo meets it");
    let undo = days.write("04T22:40", Happening::Undone { entry: soak });
    assert_eq!(days.errands(10)[2], open[2]);
    days.write("04T22:41", Happening::Undone { entry: undo });
    days.write("04T22:42", Happening::Undone { entry: figs });
    assert_eq!(days.errands(10), [open[0], open[1], seen_to[2]]);
}

#[test]
fn what_more_covers_want_is_to_be_ordered_again() {
    let mut days = Days::default();
    days.see_to(10, "milk", "03T17:05");
    assert!(days.errands(10)[1].ends_with("milk: seen to Thu 17:05"));
    // Three batches want 6 l.
    assert_eq!(
        days.errands(30)[1],
        "Fri 12:00 order from dairy: milk (1 × 5 l more; ordered: 5 l)"
    );
    days.see_to(30, "milk", "04T09:00");
    assert!(days.errands(30)[1].ends_with("milk: seen to Fri 09:00"));
    // Fewer covers want nothing, and what is coming is not forgotten when there are more again.
    assert!(days.errands(10)[1].ends_with("milk: seen to Fri 09:00"));
    assert!(
        days.errands(40)[1].ends_with("milk: seen to Fri 09:00"),
        "8 l of 10"
    );
    assert!(days.errands(60)[1].contains("milk (1 × 5 l more; ordered: 10 l)"));
}

#[test]
fn more_is_to_be_soaked_where_more_is_wanted() {
    let mut days = Days::default();
    days.see_to(10, "soak", "04T22:30");
    assert_eq!(
        days.errands(30)[2],
        "Fri 22:59 soak 2 kg more dried figs, 12h (beside 1 kg)"
    );
    days.see_to(30, "soak", "04T22:40");
    assert!(days.errands(30)[2].ends_with("seen to Fri 22:40"));
    assert!(days.errands(10)[2].ends_with("seen to Fri 22:40"));
}

#[test]
fn what_was_seen_to_at_an_odd_time_says_so_first() {
    let mut days = Days::default();
    days.see_to(10, "milk", "04T14:30");
    days.see_to(10, "soak", "01T10:00");
    let errands = days.errands(10);
    assert_eq!(
        errands[1],
        "Fri 12:00 order from dairy: milk: seen to Fri 14:30"
    );
    assert_eq!(
        errands[2],
        "Fri 22:59 3 days 14h too early: soak 1 kg dried figs, 12h, Tue 10:00"
    );
}

#[test]
fn a_step_that_takes_what_is_not_soaked_says_so_in_its_call() {
    let mut days = Days::default();
    let start = |days: &Days| {
        let (menu, service) = menu(10);
        let now = "05T11:56";
        let (outcome, errands) = days.planned(10, now);
        let calls = calls(Watched {
            menu: &menu,
            outcome: &outcome,
            prep: &days.prep,
            errands: &errands,
            latest_ends: &BTreeMap::new(),
            now: service.minute(at(now)),
        });
        let start = calls.into_iter().find(|call| call.kind == Kind::Start);
        start.expect("in four minutes").says
    };
    let said = start(&days);
    assert!(
        said.starts_with("not ready for it: start Fill (Fig tart) at Sat 12:00")
            && said.ends_with("; nobody has ticked: soak 1 kg dried figs, 12h"),
        "{said}"
    );
    let late = days.see_to(10, "soak", "05T07:00");
    let said = start(&days);
    assert!(
        said.ends_with("12h, 7h too late for the step that takes it"),
        "{said}"
    );
    days.write("05T07:10", Happening::Undone { entry: late });
    days.see_to(10, "soak", "04T22:30");
    assert!(!start(&days).contains("figs"));
}

#[test]
fn a_soak_that_is_begun_late_says_by_how_much_it_is_short() {
    let mut days = Days::default();
    // From seven in the morning twelve hours last until seven in the evening, and the step begins at noon.
    days.see_to(10, "soak", "05T07:00");
    assert_eq!(
        days.errands(10)[2],
        "Fri 22:59 7h too late: soak 1 kg dried figs, 12h, Sat 07:00"
    );
}

#[test]
fn of_two_terminals_the_first_stands() {
    let mut days = Days::default();
    let again = |days: &Days, covers| {
        let (_, errands) = days.planned(covers, "03T08:00");
        let errand = errands[1].errand.clone();
        let entry = Entry {
            id: EntryId(99),
            event: "m".into(),
            at: at("03T18:00"),
            written: at("03T18:00"),
            who: String::new(),
            place: String::new(),
            what: Happening::SeenTo { errand },
        };
        days.prep.is_moved_by(&entry)
    };
    assert!(again(&days, 10));
    days.see_to(10, "milk", "03T17:05");
    assert!(!again(&days, 10), "it changes nothing");
    assert!(again(&days, 30), "more is something else");
}

#[test]
fn an_errand_calls_before_it_is_late_until_it_is_seen_to() {
    let mut days = Days::default();
    assert!(days.calls("03T22:28").is_empty());
    let [call] = days.calls("03T22:29").try_into().expect("one");
    assert_eq!(call.says, "by Thu 22:59: order from dairy: dried figs");
    assert!(call.step.is_none() && !call.is_urgent);
    let [last] = days.calls("03T22:58").try_into().expect("one");
    assert!(last.is_urgent && last.name == format!("last {}", call.name));
    let [late] = days.calls("03T23:30").try_into().expect("one");
    assert_eq!(
        late.says,
        "was to be by Thu 22:59: order from dairy: dried figs; is it?"
    );
    assert_eq!(late.name, last.name, "whoever heeded it is left in peace");
    // The milk calls by itself.
    let names = |calls: Vec<Call>| calls.into_iter().map(|it| it.says).collect::<Vec<_>>();
    assert_eq!(
        names(days.calls("04T11:59")),
        ["by Fri 12:00: order from dairy: milk"]
    );
    days.see_to(10, "figs", "03T22:35");
    assert!(days.calls("03T22:58").is_empty());
}
