//! The bridge, from menu text to plan.

pub(crate) mod audit;
mod chance;
mod choices;
mod clock_changes;
mod forecast;
mod happened;
mod idioms;
mod promises;
mod unfit;
mod waves;

use countback::load;
use countback::menu::Menu;
use countback::plan::{self, Happened, Plan, PlanOutcome};
use countback::time::*;

struct Nothing;

impl load::Shelf for Nothing {
    fn read(&self, _: &str) -> std::io::Result<String> {
        Err(std::io::ErrorKind::NotFound.into())
    }
}

/// Returns a menu with this kitchen and these dishes, served on Saturday 2026-11-28 at 19:30 for 40 covers.
fn menu(zone: &str, service: &str, kitchen: &str, dishes: &str) -> Menu {
    let text = format!(
        "Menu(id: \"test\", name: \"Test\", service: \"{service}\", covers: 40,
           kitchen: Kitchen(name: \"k\", zone: \"{zone}\", {kitchen}), dishes: [{dishes}])"
    );
    match load::menu_text("test.ron", &text, &Nothing) {
        Ok(loaded) => loaded.menu,
        Err(faults) => panic!("{faults}\n{text}"),
    }
}

const SMALL_KITCHEN: &str = "open: [Open(days: \"every day\", at: \"07:00..22:00\")],
    cooks: [Cook(name: \"one\"), Cook(name: \"two\")],
    kit: [Kit(id: \"hob\", name: \"Hob\", count: 2), Kit(id: \"oven\", name: \"Oven\", count: 1),
          Kit(id: \"mould\", name: \"Mould\", count: 3)]";

/// Returns a menu of one dish with these steps in the small kitchen.
fn dish(fields: &str) -> Menu {
    let dish = format!("Serve(dish: Dish(id: \"d\", name: \"Dish\", {fields}))");
    menu("Europe/London", "2026-11-28 19:30", SMALL_KITCHEN, &dish)
}

fn service(menu: &Menu) -> ServiceTime {
    plan::service_of(menu, Timestamp(0), Zone::UTC)
}

/// Returns the plan of a menu a week before service, audited.
fn planned(menu: &Menu) -> Plan {
    let now = Minute(-7 * 1440);
    match plan::plan(menu, service(menu), &Happened::new(), now, None) {
        PlanOutcome::Planned(plan) => {
            assert_eq!(audit::audit(menu, &plan, now), Vec::<String>::new());
            plan
        }
        other => panic!("{other:#?}"),
    }
}

/// Returns what a step's window looks like on the wall: `Fri 07:00..Fri 09:00`.
fn when(plan: &Plan, key: &str) -> String {
    let (_, step) = plan
        .find(&key.parse().unwrap())
        .unwrap_or_else(|| panic!("no step {key}"));
    let local = |minute| plan.service.local(minute).weekday_clock();
    format!("{}..{}", local(step.window.start), local(step.window.end))
}
