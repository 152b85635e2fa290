//! Amounts, batches, order lists.

mod any_menu;
mod by_hand;

use countback::load;
use countback::menu::{Amount, Menu};
use countback::plan::{self, Happened, Plan, PlanOutcome};
use countback::quantity::Kind;
use countback::quantity::order::{self, OrderList, When};
use countback::time::{Minute, ServiceTime, Timestamp, Zone};

struct Nothing;

impl load::Shelf for Nothing {
    fn read(&self, _: &str) -> std::io::Result<String> {
        Err(std::io::ErrorKind::NotFound.into())
    }
}

/// Returns a menu for 40 covers, served on Saturday 2026-11-28 at 19:30, with these fields, dishes and kit.
fn menu(fields: &str, kit: &str, dishes: &str) -> Menu {
    let text = format!(
        "Menu(id: \"test\", name: \"Test\", service: \"2026-11-28 19:30\", covers: 40, {fields}
           kitchen: Kitchen(name: \"k\", zone: \"Europe/London\",
             open: [Open(days: \"every day\", at: \"07:00..22:00\")],
             cooks: [Cook(name: \"one\"), Cook(name: \"two\")], kit: [{kit}]),
           dishes: [{dishes}])"
    );
    match load::menu_text("test.ron", &text, &Nothing) {
        Ok(loaded) => loaded.menu,
        Err(faults) => panic!("{faults}\n{text}"),
    }
}

fn service(menu: &Menu) -> ServiceTime {
    plan::service_of(menu, Timestamp(0), Zone::UTC)
}

fn planned(menu: &Menu) -> Plan {
    let now = Minute(-7 * 1440);
    match plan::plan(menu, service(menu), &Happened::new(), now, None) {
        PlanOutcome::Planned(plan) => {
            assert_eq!(
                crate::plan::audit::audit(menu, &plan, now),
                Vec::<String>::new()
            );
            plan
        }
        other => panic!("{other:#?}"),
    }
}

/// Returns the order list of a menu whose every step begins a day before service.
fn ordered(menu: &Menu) -> OrderList {
    order::list(menu, service(menu), &|_, _| When::At(Minute(-1440)))
}

/// Returns an amount in grams, millilitres or pieces.
fn number(amount: &Amount) -> f64 {
    Kind::of(amount).map_or(0.0, |(_, number)| number)
}
