//! Rules of amounts that hold for any menu.

use countback::menu::{Amount, Density, Last, Menu, Unit};
use countback::prep::PrepState;
use countback::quantity::density::other;
use countback::quantity::order::{self, Wanted};
use countback::quantity::rounding::{MOST, rounded};
use countback::quantity::{amounts, for_doing, of_dish, sugar, temperature};
use countback::sheets;
use countback::time::{Minute, ServiceTime};
use proptest::prelude::*;

use super::{number, ordered, service};
use crate::support::menus::menus;

/// Units of every system.
const UNITS: [Unit; 14] = [
    Unit::Gram,
    Unit::Kilogram,
    Unit::Ounce,
    Unit::Pound,
    Unit::TroyOunce,
    Unit::Drachm,
    Unit::Millilitre,
    Unit::Litre,
    Unit::UsCup,
    Unit::UsTablespoon,
    Unit::ImperialPint,
    Unit::WinePint,
    Unit::AleGallon,
    Unit::AustralianTablespoon,
];

fn close(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * one.abs().max(other.abs()).max(1.0)
}

fn numbers(wanted: &Wanted) -> Vec<(String, f64)> {
    let all = wanted.iter().flat_map(|(key, sum)| {
        sum.numbers()
            .map(move |(kind, number)| (format!("{key:?} {kind:?}"), number))
    });
    all.collect()
}

/// Returns the menu with twice the covers, everywhere.
fn doubled(menu: &Menu) -> Menu {
    let mut more = menu.clone();
    more.covers *= 2;
    for dish in &mut more.dishes {
        dish.covers = dish.covers.map(|covers| covers * 2);
    }
    more
}

fn when(menu: &Menu) -> (ServiceTime, Minute) {
    (service(menu), Minute(-2000))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, max_shrink_time: 20_000, ..ProptestConfig::default() })]

    #[test]
    fn the_wants_of_all_dishes_are_those_of_the_menu(menu in menus(), at in 0_usize..4) {
        let count = menu.dishes.len();
        let all = order::wanted(&menu, 0..count);
        let mut sum = order::wanted(&menu, 0..at.min(count));
        order::add(&mut sum, &order::wanted(&menu, at.min(count)..count));
        let (all, sum) = (numbers(&all), numbers(&sum));
        prop_assert_eq!(all.len(), sum.len());
        for (one, other) in all.iter().zip(&sum) {
            prop_assert!(one.0 == other.0 && close(one.1, other.1), "{:?} {:?}", one, other);
        }
        // And every line says of which dishes it is, and no more than they take.
        for line in &ordered(&menu).lines {
            prop_assert!(!line.dishes.is_empty(), "{}", line.name);
        }
    }

    #[test]
    fn more_covers_never_take_less(menu in menus()) {
        let more = doubled(&menu);
        for (dish, fuller) in menu.dishes.iter().zip(&more.dishes) {
            let (made, also) = (menu.made(dish), more.made(fuller));
            prop_assert!(made.portions() <= also.portions());
            for ingredient in &dish.ingredients {
                let one = number(&of_dish(&menu, dish, &made, ingredient));
                let two = number(&of_dish(&more, fuller, &also, ingredient));
                prop_assert!(one <= two * (1.0 + 1e-9), "{}: {one} → {two}", ingredient.name);
            }
        }
        let (few, many) = (ordered(&menu), ordered(&more));
        for (one, two) in few.lines.iter().zip(&many.lines) {
            // One size is bought more often; of several another mix may have fewer packs, and holds as much.
            let packs = |line: &order::Line| -> Option<Vec<u64>> {
                let packs = line.packs.as_ref()?;
                Some(packs.iter().map(|it| it.count).collect())
            };
            if packs(one).is_none_or(|all| all.len() == 1) {
                prop_assert!(packs(one) <= packs(two), "{}", one.name);
            }
            let priced = |line: &order::Line| line.packs.iter().flatten().all(|it| it.price.is_some());
            if priced(one) {
                prop_assert!(one.cost <= two.cost, "{}", one.name);
            }
        }
    }

    #[test]
    fn batches_and_their_vessels_cover_the_portions(menu in menus()) {
        for dish in &menu.dishes {
            let made = menu.made(dish);
            let wanted = u64::from(menu.portions_of(dish));
            prop_assert_eq!(made.count(), menu.batches_of(dish));
            if dish.batches.is_none() {
                prop_assert!(made.portions() >= wanted, "{:?} for {wanted}", made);
            }
            let Some(batch) = &dish.batch else {
                continue;
            };
            if batch.last == Last::Part && dish.batches.is_none() {
                // Without the last batch there would not be enough.
                let last = made.batch(made.count()).portions;
                prop_assert!(made.portions() - u64::from(last) < wanted);
            }
            for (_, one) in &made.runs {
                prop_assert!(one.portions > 0 && one.portions <= batch.portions.max(1));
                let room: Option<u64> = one
                    .vessels
                    .iter()
                    .map(|&(kit, count)| {
                        Some(u64::from(menu.kitchen.kit[kit].holds?) * u64::from(count))
                    })
                    .sum();
                if let Some(room) = room.filter(|_| !one.vessels.is_empty()) {
                    prop_assert!(room >= u64::from(one.portions), "{:?}", one);
                }
                for &(kit, count) in &one.vessels {
                    prop_assert!(count <= menu.kitchen.kit[kit].places());
                }
            }
        }
    }

    #[test]
    fn what_all_doings_take_is_what_the_dish_takes(menu in menus()) {
        for dish in &menu.dishes {
            let made = menu.made(dish);
            if made.count() > 400 {
                continue;
            }
            for ingredient in dish.ingredients.iter().filter(|it| it.into.is_some()) {
                let Some((_, step)) = ingredient.into.as_deref().and_then(|id| dish.step(id)) else {
                    continue;
                };
                let doings = match &step.each {
                    countback::menu::Multiple::Batch => made.count(),
                    countback::menu::Multiple::Dish => 1,
                    // The part that takes it takes all of it.
                    countback::menu::Multiple::Parts(_) if ingredient.part.is_some() => 1,
                    countback::menu::Multiple::Parts(parts) => parts.len() as u32,
                };
                let each = (1..=doings)
                    .map(|batch| number(&for_doing(&menu, dish, &made, (step, batch), ingredient)));
                let (sum, all) = (each.sum::<f64>(), number(&of_dish(&menu, dish, &made, ingredient)));
                // One doing is said to four figures.
                prop_assert!((sum - all).abs() <= all * 1e-3 + 1e-9, "{sum} of {all}");
            }
        }
    }

    #[test]
    fn a_conversion_there_and_back_is_itself_within_the_rounding(
        of in 0.5..20_000_f64,
        density in 0.3..1.6_f64,
        unit in prop::sample::select(UNITS.to_vec()),
        metres in -400..3000_i32,
        brix in 0.0..90_f64,
    ) {
        let density = Density { grams_per_millilitre: density, source: "a test".into() };
        let amount = Amount::Measured { number: of, unit };
        let exact = number(&amount);
        // Rounded to weigh on the way out, and rounded to pour on the way back.
        let out = rounded(&other(&amount, &density).unwrap());
        let back = rounded(&other(&out.amount, &density).unwrap());
        let most = (1.0 + MOST) * (1.0 + MOST) - 1.0 + 1e-9;
        let off = (number(&back.amount) / exact - 1.0).abs();
        prop_assert!(off <= most || out.off.is_some() || back.off.is_some(), "{amount:?} → {out:?} → {back:?}");
        // And what is not rounded comes back as it was.
        let whole = other(&other(&amount, &density).unwrap(), &density).unwrap();
        prop_assert!((number(&whole) / exact - 1.0).abs() < 1e-12);
        let again = sugar::brix(sugar::boils(brix, metres).unwrap(), metres).unwrap();
        prop_assert!((again - brix).abs() < 1e-6);
        let celsius = temperature::celsius(temperature::fahrenheit(of));
        prop_assert!((celsius / of - 1.0).abs() < 1e-12);
    }

    #[test]
    fn any_list_can_be_printed(menu in menus()) {
        let list = ordered(&menu);
        let (at, now) = when(&menu);
        let mut page = Vec::new();
        for by in [order::By::Supplier, order::By::Kind, order::By::Date] {
            sheets::order::write(&list, (&menu, &PrepState::default()), by, (at, now), 80, &mut page).unwrap();
        }
        let dishes: Vec<usize> = (0..menu.dishes.len()).collect();
        let more = doubled(&menu);
        let asked = sheets::amounts::Asked { menu: &more, dishes: &dishes, before: Some(&menu) };
        sheets::amounts::write(asked, 80, &mut page).unwrap();
        let page = String::from_utf8(page).unwrap();
        prop_assert!(!page.chars().any(|c| c.is_control() && c != '\n'), "{page:?}");

        let mut json = Vec::new();
        sheets::order::write_json(&list, (&menu, &PrepState::default()), (at, now), &mut json).unwrap();
        let document: serde_json::Value = serde_json::from_slice(&json).unwrap();
        prop_assert_eq!(document["lines"].as_array().unwrap().len(), list.lines.len());
        let mut json = Vec::new();
        sheets::amounts::write_json(asked, &mut json).unwrap();
        let document: serde_json::Value = serde_json::from_slice(&json).unwrap();
        prop_assert_eq!(document["dishes"].as_array().unwrap().len(), dishes.len());

        // Read back by a reader of RFC 4180: as many fields in every record, and no formula among them.
        let mut table = Vec::new();
        sheets::order::write_csv(&list, (&menu, &PrepState::default()), order::By::Kind, at, &mut table).unwrap();
        let mut reader = csv::Reader::from_reader(table.as_slice());
        let mut count = 0;
        for record in reader.records() {
            let record = record.unwrap();
            prop_assert!(!record.iter().any(|field| field.starts_with(['=', '+', '@', '\t', '\r'])));
            count += 1;
        }
        prop_assert_eq!(count, list.lines.len());
    }

    #[test]
    fn trying_covers_says_what_changes(menu in menus(), covers in 1_u32..2000) {
        let mut other = menu.clone();
        other.covers = covers;
        for dish in 0..menu.dishes.len() {
            let before = amounts::amounts(&menu, dish).unwrap();
            let after = amounts::amounts(&other, dish).unwrap();
            let said = amounts::changes(&before, &after);
            prop_assert!(!said.is_empty());
            let batches = said.iter().any(|it| it.contains("batch"));
            prop_assert_eq!(batches, before.count() != after.count(), "{:?}", said);
            // The first covers that make it more batches or rounds do, and one fewer do not.
            if let Some((from, _)) = amounts::next_batch_from(&menu, dish) {
                let more = |covers: u32| {
                    let mut menu = menu.clone();
                    menu.covers = covers;
                    let found = amounts::amounts(&menu, dish).unwrap();
                    found.count() > before.count() || found.rounds > before.rounds
                };
                prop_assert!(from > menu.covers && more(from) && !more(from - 1));
            }
        }
    }
}
