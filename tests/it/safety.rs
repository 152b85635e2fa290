//! What can hurt someone: nothing is safe or free because nobody has said, and what the demonstration shows.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Command, Stdio};

use countback::load;
use countback::menu::{
    Across, Allergen, Caution, Cold, ColdBy, Conducts, Control, Cooling, Guest, GuestKind,
    Ingredient, Menu, Rules, Temperature,
};
use countback::plan::{Happened, PlanOutcome, plan, service_of};
use countback::safety::allergens::{List, Standing, cell, matrix};
use countback::safety::guests;
use countback::safety::rules::{ENGLAND, RuleSet, SETS};
use countback::safety::timeline::{Checked, Doing, Verdict, check};
use countback::time::{Local, Minute, ServiceTime, Timestamp, Window, Zone, time_of_day};
use proptest::prelude::*;
use serde_json::Value;

use crate::support::banquet::{Banquet, lantern_supper};
use crate::support::menus::menus;
use crate::support::screen::Screen;

// Nothing is safe because data is missing.

/// One doing of each step, one after another with some minutes between, the last of a dish ending before service.
fn doings(menu: &Menu, minutes: &[u8]) -> Vec<Doing> {
    let mut doings: Vec<Doing> = Vec::new();
    for (dish, card) in menu.dishes.iter().enumerate() {
        let mut at = Minute(-3000);
        for (step, of) in card.steps.iter().enumerate() {
            let length = |more: usize| {
                let place = (dish * 7 + step * 3 + more) % minutes.len().max(1);
                i32::from(minutes.get(place).copied().unwrap_or(30))
            };
            let start = Minute(at.0 + length(1) % 3 * 20);
            let end = Minute(start.0 + length(0));
            let before = doings.len().checked_sub(1).filter(|_| step > 0);
            doings.push(Doing {
                dish,
                step,
                name: of.name.clone(),
                window: Window::new(start, end),
                follows: before.into_iter().collect(),
                left_out: false,
            });
            at = end;
        }
    }
    doings
}

/// Says something sensible of every temperature of a menu, by numbers.
fn say_all(menu: &mut Menu, picks: &[u8]) {
    let mut picks = picks.iter().copied().cycle();
    let mut next = move |below: u8| picks.next().unwrap_or(0) % below;
    for dish in &mut menu.dishes {
        dish.control = Some(Control::Needed);
        dish.waits_at = Some([30, 200, 650][usize::from(next(3))]);
        for step in &mut dish.steps {
            step.control = None;
            step.cooling = None;
            step.temperature = Some(match next(8) {
                0 => Temperature::Held { at: 200 },
                1 => Temperature::Cooked {
                    to: 820,
                    lasting: Some(30),
                },
                2 => Temperature::Held { at: 650 },
                3 => Temperature::Reheated {
                    to: 750,
                    lasting: Some(30),
                },
                4 | 5 => Temperature::Cooled { from: 820, to: 45 },
                _ => Temperature::Held { at: 30 },
            });
            if matches!(step.temperature, Some(Temperature::Cooled { .. })) {
                step.cooling = Some(Cooling {
                    kit: None,
                    depth: Some([40, 800][usize::from(next(2))]),
                    across: [None, Some(Across::Round(2400))][usize::from(next(2))],
                    covered: [Some(true), Some(false)][usize::from(next(2))],
                    stirred: next(2) == 0,
                    food: Some([Conducts::Water, Conducts::Paste][usize::from(next(2))]),
                });
            }
        }
    }
    say_how_cold(menu);
    let mut kit = menu.kitchen.kit.iter();
    let place = kit.find(|kit| kit.cold.is_some()).map(|kit| kit.id.clone());
    let steps = menu.dishes.iter_mut().flat_map(|dish| &mut dish.steps);
    for cooling in steps.filter_map(|step| step.cooling.as_mut()) {
        cooling.kit.clone_from(&place);
    }
}

/// Says how cold every place of a menu is. What food is heated on is none, and neither are ovens and vessels.
fn say_how_cold(menu: &mut Menu) {
    let steps = menu.dishes.iter().flat_map(|dish| &dish.steps);
    let hot = steps.filter(|step| match step.temperature {
        Some(Temperature::Cooked { .. } | Temperature::Reheated { .. }) => true,
        Some(Temperature::Held { at }) => at > 600,
        _ => false,
    });
    let hot: BTreeSet<String> = hot
        .flat_map(|step| {
            let ways = step.ways.iter().flat_map(|way| &way.uses);
            let uses = step.uses.iter().chain(ways).map(|it| it.kit.clone());
            let keeps = step.keeps_kit.iter().map(|it| it.kit.clone());
            uses.chain(keeps).collect::<Vec<_>>()
        })
        .collect();
    let batches = menu.dishes.iter().filter_map(|dish| dish.batch.as_ref());
    let vessels = batches.flat_map(|batch| batch.vessel.iter().chain(&batch.also));
    let no_place: BTreeSet<String> = vessels.cloned().chain(hot).collect();
    for kit in &mut menu.kitchen.kit {
        let is_place = kit.holds.is_none() && kit.oven.is_none() && !no_place.contains(&kit.id);
        kit.cold = is_place.then_some(Cold {
            at: 30,
            by: ColdBy::Fan,
        });
    }
}

/// Takes away one thing that somebody has said, named by numbers; returns what.
fn take_away(menu: &mut Menu, which: (u8, u8, u8)) {
    let (dish, step, what) = which;
    let dishes = menu.dishes.len();
    let Some(dish) = menu.dishes.get_mut(usize::from(dish) % dishes.max(1)) else {
        return;
    };
    let steps = dish.steps.len();
    let place = usize::from(step) % steps.max(1);
    match what % 10 {
        0 => dish.control = None,
        1 => dish.waits_at = None,
        2 => {
            for kit in &mut menu.kitchen.kit {
                kit.cold = None;
            }
        }
        what => {
            let Some(step) = dish.steps.get_mut(place) else {
                return;
            };
            match (what, step.cooling.as_mut()) {
                (3, Some(cooling)) => cooling.depth = None,
                (4, Some(cooling)) => cooling.kit = None,
                (5, Some(cooling)) => cooling.food = None,
                (6, Some(cooling)) => cooling.covered = None,
                (7, Some(cooling)) => cooling.across = None,
                (8, Some(cooling)) => cooling.stirred = false,
                (9, Some(_)) => step.cooling = None,
                _ => {
                    if let Some(
                        Temperature::Cooked { lasting, .. } | Temperature::Reheated { lasting, .. },
                    ) = &mut step.temperature
                        && lasting.is_some()
                        && what % 2 == 0
                    {
                        *lasting = None;
                    } else {
                        step.temperature = None;
                    }
                }
            }
        }
    }
}

fn service() -> ServiceTime {
    let local = Local {
        date: "2026-11-28".parse().unwrap(),
        time: time_of_day(19, 30).unwrap(),
    };
    ServiceTime::new(local, Zone::UTC)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_is_within_the_rule_because_something_is_left_unsaid(
        menu in menus(),
        picks in prop::collection::vec(any::<u8>(), 1..40),
        minutes in prop::collection::vec(1..120_u8, 1..12),
        taken in prop::collection::vec(any::<(u8, u8, u8)>(), 1..5),
    ) {
        let mut full = menu;
        say_all(&mut full, &picks);
        let mut reduced = full.clone();
        for which in taken {
            take_away(&mut reduced, which);
        }
        let doings = doings(&full, &minutes);
        for set in SETS {
            let full = check(&full, set, service(), &doings);
            let less = check(&reduced, set, service(), &doings);
            for (full, less) in full.dishes.iter().zip(&less.dishes) {
                if less.verdict == Verdict::Within {
                    prop_assert_eq!(full.verdict, Verdict::Within, "{}: {:?}", set.key, full.findings);
                }
            }
        }
    }

    #[test]
    fn nothing_is_within_the_rule_because_a_step_was_left_out(
        menu in menus(),
        picks in prop::collection::vec(any::<u8>(), 1..40),
        minutes in prop::collection::vec(1..120_u8, 1..12),
        which in any::<prop::sample::Index>(),
        long_before in any::<bool>(),
    ) {
        let mut full = menu;
        say_all(&mut full, &picks);
        let mut doings = doings(&full, &minutes);
        let left_out = which.index(doings.len());
        doings[left_out].left_out = true;
        // The book has it left out when its turn came, or at any time before.
        let at = if long_before { Minute(-9000) } else { doings[left_out].window.start };
        doings[left_out].window = Window::new(at, at);
        for set in SETS {
            let dish = &check(&full, set, service(), &doings).dishes[doings[left_out].dish];
            prop_assert_ne!(dish.verdict, Verdict::Within, "{}: {:?}", set.key, dish.findings);
        }
    }

    #[test]
    fn nothing_is_free_because_nobody_has_declared_it(
        menu in menus(),
        taken in prop::collection::vec(any::<(u8, u8, u8)>(), 1..6),
    ) {
        let mut reduced = menu.clone();
        for (dish, ingredient, what) in taken {
            let dishes = reduced.dishes.len();
            let dish = &mut reduced.dishes[usize::from(dish) % dishes];
            let count = dish.ingredients.len();
            if count == 0 {
                continue;
            }
            let one = &mut dish.ingredients[usize::from(ingredient) % count];
            match what % 6 {
                0 => dish.ingredients.clear(),
                1 if one.made_of.is_empty() => one.contains = None,
                2 => one.made_of.iter_mut().for_each(|part| part.contains = None),
                3 => one.may_contain = None,
                // What is declared of the whole good is declared of its parts: then a silent part is no gap.
                4 if one.may_contain.is_none() => one.made_of.iter_mut().for_each(|part| part.may_contain = None),
                // Beside what is declared of the whole or of its parts the number is a declaration of its own, and a bad one.
                5 if one.contains.is_none() && one.made_of.is_empty() => one.sulphites = None,
                _ => {}
            }
        }
        for list in List::ALL {
            let (full, less) = (matrix(&menu, list), matrix(&reduced, list));
            for (full, less) in full.rows.iter().flatten().zip(less.rows.iter().flatten()) {
                if less.standing() == Standing::Free {
                    prop_assert_eq!(full.standing(), Standing::Free, "{:?}", full.reasons);
                }
            }
        }
        for (full, less) in guests::check(&menu).iter().zip(guests::check(&reduced)) {
            for dish in less.served {
                prop_assert!(full.served.contains(&dish));
            }
        }
    }
}

#[test]
fn the_property_meets_dishes_that_are_within_the_rule_and_some_that_are_not() {
    // Else it would hold of nothing.
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut met = BTreeSet::new();
    for round in 0..200_u8 {
        let mut menu = menus().new_tree(&mut runner).unwrap().current();
        say_all(&mut menu, &[round, round / 3, 7, 6, round / 2]);
        let doings = doings(&menu, &[30, 60, 90]);
        for dish in check(&menu, &ENGLAND, service(), &doings).dishes {
            met.insert(dish.verdict);
        }
    }
    let wanted = [Verdict::Within, Verdict::Doubtful, Verdict::Breaks];
    assert!(
        wanted.iter().all(|verdict| met.contains(verdict)),
        "{met:?}"
    );
}

// Allergens.

fn ingredient(name: &str, contains: Option<Vec<Allergen>>) -> Ingredient {
    let mut banquet = lantern_supper();
    let mut one = banquet.menu.dishes[0].ingredients.remove(0);
    name.clone_into(&mut one.name);
    one.contains = contains;
    one.may_contain = Some(Vec::new());
    one.made_of = Vec::new();
    one.declared_by = None;
    one.sulphites = None;
    one.cautions = Vec::new();
    one
}

fn one_dish(ingredients: Vec<Ingredient>) -> Menu {
    let mut menu = lantern_supper().menu;
    menu.dishes.truncate(1);
    menu.dishes[0].ingredients = ingredients;
    menu
}

#[test]
fn a_declaration_is_passed_on_with_who_made_it() {
    let mut cream = ingredient("cream", Some(vec![Allergen::Milk]));
    cream.declared_by = Some("the dairy's sheet".to_owned());
    let menu = one_dish(vec![cream, ingredient("sugar", Some(Vec::new()))]);
    let of = |allergens: &[Allergen]| cell(&menu, &menu.dishes[0], allergens, |_| true);
    let milk = of(&[Allergen::Milk]);
    assert_eq!(milk.standing(), Standing::Contains);
    assert_eq!(
        milk.reasons[0].sentence(),
        "milk in cream, as declared by the dairy's sheet"
    );
    assert_eq!(of(&[Allergen::Egg]).standing(), Standing::Free);
}

#[test]
fn what_may_be_there_by_contact_is_not_known_until_it_is_declared() {
    let standing = |ingredient: Ingredient, allergen| {
        let menu = one_dish(vec![ingredient]);
        cell(&menu, &menu.dishes[0], &[allergen], |_| true).standing()
    };
    let mut flour = ingredient("flour", Some(vec![Allergen::Wheat]));
    assert_eq!(standing(flour.clone(), Allergen::Egg), Standing::Free);
    flour.may_contain = None;
    assert_eq!(standing(flour.clone(), Allergen::Egg), Standing::NotKnown);
    assert_eq!(standing(flour, Allergen::Wheat), Standing::Contains);
    // Of a bought good only the whole says it: its parts do not know where they are put together.
    let part = |may_contain| countback::menu::Part {
        name: "meal".to_owned(),
        contains: Some(Vec::new()),
        may_contain,
    };
    let mut bought = ingredient("mix", None);
    bought.may_contain = None;
    bought.made_of = vec![part(Some(Vec::new())), part(Some(Vec::new()))];
    assert_eq!(standing(bought.clone(), Allergen::Egg), Standing::NotKnown);
    bought.made_of[1].may_contain = None;
    bought.may_contain = Some(Vec::new());
    assert_eq!(standing(bought, Allergen::Egg), Standing::Free);
}

#[test]
fn a_part_without_a_declaration_is_not_known_and_a_whole_of_declared_parts_is() {
    let mut bought = ingredient("biscuit", None);
    bought.made_of = vec![
        countback::menu::Part {
            name: "flour".to_owned(),
            contains: Some(vec![Allergen::Spelt]),
            may_contain: Some(Vec::new()),
        },
        countback::menu::Part {
            name: "aroma".to_owned(),
            contains: Some(Vec::new()),
            may_contain: Some(vec![Allergen::Almond]),
        },
    ];
    let mut menu = one_dish(vec![bought]);
    let of = |menu: &Menu, allergen| cell(menu, &menu.dishes[0], &[allergen], |_| true).standing();
    assert_eq!(of(&menu, Allergen::Spelt), Standing::Contains);
    assert_eq!(of(&menu, Allergen::Almond), Standing::May);
    assert_eq!(of(&menu, Allergen::Milk), Standing::Free);
    menu.dishes[0].ingredients[0].made_of[1].contains = None;
    assert_eq!(of(&menu, Allergen::Milk), Standing::NotKnown);
    menu.dishes[0].ingredients.clear();
    assert_eq!(of(&menu, Allergen::Milk), Standing::NotKnown);
}

#[test]
fn little_sulphite_may_contain_and_much_contains() {
    let mut wine = ingredient("perry", Some(vec![Allergen::Sulphites]));
    wine.sulphites = Some(10);
    let menu = one_dish(vec![wine]);
    let of = |list: List| {
        let groups = list.groups().iter();
        let place = groups
            .clone()
            .position(|group| group.allergens.contains(&Allergen::Sulphites));
        place.map(|place| matrix(&menu, list).rows[0][place].standing())
    };
    // More than 10 mg/kg in Annex II, 10 or more in Standard 1.2.3.
    assert_eq!(of(List::Eu), Some(Standing::May));
    assert_eq!(of(List::Anz), Some(Standing::Contains));
    assert_eq!(of(List::Us), None);
}

#[test]
fn a_guest_who_avoids_wheat_is_not_served_spelt_or_what_nobody_declared() {
    let mut menu = one_dish(vec![ingredient("loaf", Some(vec![Allergen::Spelt]))]);
    menu.guests = vec![Guest {
        name: "table 1".to_owned(),
        count: 1,
        kind: GuestKind::Infant,
        avoids: vec![Allergen::Wheat],
        not: Vec::new(),
        without: Vec::new(),
    }];
    let standing = |menu: &Menu| {
        let checked = guests::check(menu);
        checked[0].clashes.iter().map(|clash| clash.standing).max()
    };
    assert_eq!(standing(&menu), Some(Standing::Contains));
    menu.dishes[0].ingredients[0].contains = None;
    assert_eq!(standing(&menu), Some(Standing::NotKnown));
    menu.dishes[0].ingredients[0].contains = Some(Vec::new());
    assert_eq!(standing(&menu), None);
    // Honey is not for infants.
    menu.dishes[0].ingredients[0].cautions = vec![Caution::Honey];
    assert_eq!(standing(&menu), Some(Standing::Contains));
    menu.guests[0].without = vec![menu.dishes[0].id.clone()];
    assert_eq!(standing(&menu), None);
}

#[test]
fn a_name_that_gives_it_away_is_not_known_to_be_fit() {
    let guest = |kind, avoids| Guest {
        name: "table 1".to_owned(),
        count: 1,
        kind,
        avoids,
        not: Vec::new(),
        without: Vec::new(),
    };
    let checked = |name: &str, contains: Option<Vec<Allergen>>, guest: Guest| {
        let mut menu = one_dish(vec![ingredient(name, contains)]);
        menu.guests = vec![guest];
        guests::check(&menu).remove(0)
    };
    let none = || Some(Vec::new());
    // Declared by nobody in particular to have no allergen, and no caution said.
    let honey = checked(
        "heather honey",
        none(),
        guest(GuestKind::Infant, Vec::new()),
    );
    assert_eq!(honey.clashes[0].standing, Standing::NotKnown, "{honey:?}");
    assert!(honey.served.is_empty());
    let almond = || guest(GuestKind::Anyone, vec![Allergen::Almond]);
    let marzipan = checked("marzipan", none(), almond());
    assert_eq!(marzipan.clashes[0].standing, Standing::NotKnown);
    let sugar = checked("sugar", none(), almond());
    assert!(sugar.clashes.is_empty() && sugar.served == [0], "{sugar:?}");
    // Somebody who stands on the list, and nobody has said why.
    let unsaid = checked("sugar", none(), guest(GuestKind::Anyone, Vec::new()));
    assert_eq!(unsaid.clashes[0].standing, Standing::NotKnown);
    assert!(unsaid.served.is_empty());
}

#[test]
fn an_egg_is_not_cooked_because_something_else_of_the_dish_is() {
    use countback::safety::looks_like::suggestions;
    let mut menu = one_dish(vec![ingredient("egg white", Some(vec![Allergen::Egg]))]);
    let dish = &mut menu.dishes[0];
    let steps = dish.steps.len();
    assert!(steps > 1);
    for step in &mut dish.steps {
        step.temperature = None;
        step.uses.iter_mut().for_each(|used| used.heat = None);
        step.cautions = Vec::new();
    }
    dish.steps[0].temperature = Some(Temperature::Cooked {
        to: 820,
        lasting: Some(60),
    });
    dish.ingredients[0].into = Some(dish.steps[0].id.clone());
    assert!(
        suggestions(dish).is_empty(),
        "it goes into the step that cooks"
    );
    dish.ingredients[0].into = Some(dish.steps[steps - 1].id.clone());
    assert_eq!(suggestions(dish).len(), 1, "it goes in behind it");
}

// The demonstration.

const NOW: &str = "2026-11-26 14:00";

fn demonstration() -> (Menu, ServiceTime, PlanOutcome) {
    let path = Path::new("sample-menus/lantern-supper/menu.ron");
    let mut menu = load::menu_file(path).unwrap().menu;
    let date = "2026-11-28".parse().unwrap();
    menu.service.day = countback::menu::ServiceDay::On(date);
    let local = Local {
        date: "2026-11-26".parse().unwrap(),
        time: time_of_day(14, 0).unwrap(),
    };
    let now = Timestamp::from_local(local, Zone::UTC);
    let service = service_of(&menu, now, Zone::UTC);
    let outcome = plan(&menu, service, &Happened::new(), service.minute(now), None);
    (menu, service, outcome)
}

fn of_demonstration(menu: &Menu, set: &'static RuleSet) -> Checked {
    let (_, service, outcome) = demonstration();
    countback::prep::held_against(menu, service, Some(&outcome), &[set]).remove(0)
}

#[test]
fn the_demonstration_has_one_cooling_fault_and_the_remedy_holds() {
    let (mut menu, ..) = demonstration();
    assert_eq!(menu.rules, Some(Rules::England));
    let checked = of_demonstration(&menu, &ENGLAND);
    for dish in &checked.dishes {
        let id = &menu.dishes[dish.dish].id;
        let wanted = if id == "barley-ice" {
            Verdict::Doubtful
        } else {
            Verdict::Within
        };
        assert_eq!(dish.verdict, wanted, "{id}: {:#?}", dish.findings);
    }
    let ice = menu.dish("barley-ice").unwrap().0;
    let finding = &checked.dishes[ice].findings[0];
    assert!(
        finding
            .what
            .contains("cannot be from 63 °C to 8 °C within 1h30"),
        "{finding:?}"
    );
    let remedy = finding.remedy.as_ref().unwrap();
    let depth: u32 = remedy
        .split("at most ")
        .find_map(|part| part.split_once(" mm deep in the ice bath")?.0.parse().ok())
        .unwrap();
    // By the US code it is against the rule, and the pan as shallow as the sheet says keeps England's advice.
    let strict = of_demonstration(&menu, &countback::safety::rules::US);
    assert_eq!(strict.dishes[ice].verdict, Verdict::Breaks);
    let (_, step) = menu.dishes[ice].step("cool").unwrap();
    let mut step = step.clone();
    step.cooling.as_mut().unwrap().depth = Some(depth * 10);
    let place = menu.dishes[ice].step("cool").unwrap().0;
    menu.dishes[ice].steps[place] = step;
    let mended = of_demonstration(&menu, &ENGLAND);
    let findings = &mended.dishes[ice].findings;
    assert!(
        findings.iter().all(|it| !it.what.contains("from 63 °C")),
        "{findings:#?}"
    );
}

#[test]
fn the_demonstration_has_two_guests_and_a_declaration_that_is_missing() {
    let (menu, ..) = demonstration();
    let checked = guests::check(&menu);
    assert_eq!(checked.len(), 2);
    let pears = menu.dish("ember-pears").unwrap().0;
    let clashes: Vec<_> = checked[0]
        .clashes
        .iter()
        .map(|clash| (clash.dish, clash.standing))
        .collect();
    assert!(!clashes.is_empty());
    assert!(
        clashes
            .iter()
            .all(|clash| *clash == (pears, Standing::NotKnown)),
        "{clashes:?}"
    );
    assert!(checked[1].clashes.is_empty(), "{:?}", checked[1].clashes);
    assert!(!checked[1].served.is_empty());
}

// The command line.

struct Ran {
    code: Option<i32>,
    out: String,
    errors: String,
}

fn run(words: &[&str]) -> Ran {
    let home = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_countback"))
        .args(words)
        .env_clear()
        .env("HOME", home.path())
        .stdin(Stdio::null())
        .output()
        .unwrap();
    Ran {
        code: output.status.code(),
        out: String::from_utf8(output.stdout).unwrap(),
        errors: String::from_utf8(output.stderr).unwrap(),
    }
}

fn json(words: &[&str]) -> Value {
    let ran = run(words);
    serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("{error}: {}", ran.out))
}

#[test]
fn temperatures_are_printed_by_the_rules_that_are_asked_for() {
    let ran = run(&["safety", "demo", "--now", NOW]);
    assert_eq!(ran.code, Some(0), "{}", ran.errors);
    assert!(ran.out.contains("By the rules of: England"), "{}", ran.out);
    assert!(ran.out.contains("what would do: at most"), "{}", ran.out);
    assert!(
        ran.out.contains("your local food-safety law"),
        "{}",
        ran.out
    );
    let ran = run(&["safety", "demo", "--now", NOW, "--rules", "us"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("against the rule"), "{}", ran.out);
    let ran = run(&["safety", "demo", "--rules", "atlantis"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.errors.contains("us, england"), "{}", ran.errors);
    let value = json(&["safety", "demo", "--now", NOW, "--rules", "anz", "--json"]);
    assert_eq!(value["format"], "countback-temperatures-1");
    assert_eq!(value["rules"][0]["key"], "anz");
    assert_eq!(value["rules"][0]["dishes"].as_array().unwrap().len(), 8);
    // As a table: a row for each finding, and for each dish of which there is nothing to say (RFC 4180).
    let table = run(&["safety", "demo", "--now", NOW, "--csv"]).out;
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 8, "{table}");
    assert!(
        rows.iter()
            .all(|row| &row[0] == "England" && row.len() == 8)
    );
    assert_eq!(&rows[0][2], "take care");
    assert!(rows[0][6].starts_with("at most") && &rows[0][3] == "barley-ice/cool");
    assert!(rows[1..].iter().all(|row| row[4].is_empty()), "{table}");
    assert!(table.contains("\r\n"));
    // A menu that names no rules is held against three.
    let value = json(&[
        "safety",
        "tests/data/menus/hill-supper.ron",
        "--now",
        NOW,
        "--json",
    ]);
    assert_eq!(value["rules"].as_array().unwrap().len(), 3);
    assert_eq!(value["rules"][0]["dishes"][0]["verdict"], "not-known");
}

#[test]
fn the_matrix_is_printed_as_text_as_json_and_as_a_table() {
    let ran = run(&["allergens", "demo", "--now", NOW]);
    // Somebody would be served what nobody has declared.
    assert_eq!(ran.code, Some(1), "{}", ran.errors);
    for said in [
        "smoked salt",
        "NOT Ember pears",
        "table 7 (6 guests)",
        "as declared by the maker's label",
    ] {
        assert!(ran.out.contains(said), "{said}: {}", ran.out);
    }
    assert!(ran.out.lines().all(|line| line.chars().count() <= 100));
    let value = json(&["allergens", "demo", "--now", NOW, "--list", "us", "--json"]);
    assert_eq!(value["dishes"][0]["allergens"].as_array().unwrap().len(), 9);
    let table = run(&["allergens", "demo", "--now", NOW, "--csv"]).out;
    let records: Vec<_> = table.split("\r\n").collect();
    // A head, eight dishes, and the break behind the last; fifteen fields each (RFC 4180).
    assert_eq!(records.len(), 10);
    assert_eq!(records[9], "");
    assert!(records[0].starts_with("dish,cereals containing gluten,"));
    let quoted = records
        .iter()
        .find(|record| record.starts_with('"'))
        .unwrap();
    assert!(
        quoted.starts_with("\"Buckwheat sponge, bay syrup, quince ribbon\","),
        "{quoted}"
    );
    for record in &records[1..9] {
        let cells = [
            "contains",
            "may contain",
            "not known",
            "\"free, as declared\"",
        ];
        let counted: usize = cells
            .iter()
            .map(|cell| record.matches(&format!(",{cell}")).count())
            .sum();
        assert_eq!(counted, 14, "{record}");
    }
}

#[test]
fn labels_have_what_a_label_needs() {
    let ran = run(&["labels", "demo", "chestnut-domes", "--now", NOW]);
    assert_eq!(ran.code, Some(0), "{}", ran.errors);
    assert_eq!(ran.out.matches("batch       ").count(), 4, "{}", ran.out);
    for said in [
        "made on     2026-11-2",
        "use by      ",
        "contains    egg, milk, hazelnut",
        "made by     ",
    ] {
        assert!(ran.out.contains(said), "{said}: {}", ran.out);
    }
    let ran = run(&["labels", "demo", "ember-pears", "--now", NOW]);
    assert!(ran.out.contains("NOT ALL IS DECLARED"), "{}", ran.out);
    // A part of the name is enough, and days of a rule are only for what keeps it and of which all is said.
    let ran = run(&["labels", "demo", "domes", "--now", NOW, "--rules", "us"]);
    assert_eq!(ran.code, Some(0), "{}", ran.errors);
    let hill = "tests/data/menus/hill-supper.ron";
    let ran = run(&["labels", hill, "--now", NOW, "--rules", "us"]);
    assert!(
        ran.out.contains("not all of its temperatures is said"),
        "{}",
        ran.out
    );
    assert!(!ran.out.contains("(US model code)"), "{}", ran.out);
    assert_eq!(
        run(&["labels", "demo", "trifle", "--now", NOW]).code,
        Some(2)
    );
}

#[test]
fn cooling_is_forecast_before_anything_is_cooked() {
    let deep = [
        "cool",
        "--volume",
        "5l",
        "--across",
        "300 x 200 mm",
        "--from",
        "85",
        "--in",
        "fridge",
        "--food",
        "custard",
        "--uncovered",
        "--rules",
        "us",
    ];
    let ran = run(&deep);
    assert_eq!(ran.code, Some(1), "{}", ran.errors);
    assert!(
        ran.out.contains("fails") && ran.out.contains("pans of this size"),
        "{}",
        ran.out
    );
    let value = json(&[&deep[..], &["--json"]].concat());
    // Five litres over six square decimetres.
    assert!((value["depth_mm"].as_f64().unwrap() - 83.33).abs() < 0.01);
    assert_eq!(value["rules"][0]["passes"], "fails");
    let depth = value["rules"][0]["deepest_mm"].as_f64().unwrap();
    let pans = value["rules"][0]["pans"].as_u64().unwrap();
    // The pans hold it at that depth or a little less.
    assert!(
        pans as f64 * 0.06 * depth / 1000.0 >= 0.005 - 0.06 * 0.001 * pans as f64,
        "{depth} {pans}"
    );
    let depth = format!("{depth} mm");
    let shallow = [
        "cool",
        "--depth",
        &depth,
        "--across",
        "300 x 200 mm",
        "--from",
        "85",
        "--in",
        "fridge",
        "--food",
        "custard",
        "--uncovered",
        "--rules",
        "us",
    ];
    let ran = run(&shallow);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(
        !ran.out.contains("fail") && !ran.out.contains("may not"),
        "{}",
        ran.out
    );
    let wrong = [
        &["cool", "--depth", "5cm", "--from", "4"][..],
        &["cool", "--from", "85"],
        &["cool", "--depth", "5cm"],
        &["cool", "--depth", "deep", "--from", "85"],
        &[
            "cool", "--depth", "5cm", "--from", "85", "--food", "granite",
        ],
        &["cool", "--depth", "5cm", "--from", "85", "--then", "4h"],
        &[
            "cool",
            "--depth",
            "5cm",
            "--from",
            "85",
            "--sets-at",
            "12",
            "--accept",
        ],
        &["cool", "demo", "barley-ice/cool", "--depth", "9km"],
        &["cool", "demo", "no such step"],
    ];
    for words in wrong {
        let ran = run(words);
        assert_eq!(ran.code, Some(2), "{words:?}: {}{}", ran.out, ran.errors);
    }
}

#[test]
fn what_is_not_said_of_cooling_is_taken_at_its_slowest_and_said() {
    let late = |more: &[&str]| {
        let words = [
            "cool", "--depth", "30 mm", "--from", "85", "--rules", "us", "--json",
        ];
        let value = json(&[&words[..], more].concat());
        value["late_minutes"].as_f64().unwrap()
    };
    let unsaid = late(&[]);
    for food in ["water", "jelly", "custard", "syrup", "paste"] {
        for lid in ["--covered", "--uncovered"] {
            for place in ["fridge", "fan", "blast", "ice"] {
                let said = late(&["--food", food, lid, "--in", place, "--at", "4"]);
                assert!(
                    said <= unsaid + 1e-6,
                    "{food} {lid} {place}: {said} and {unsaid}"
                );
            }
        }
    }
    let ran = run(&["cool", "--depth", "30 mm", "--from", "85"]);
    for said in [
        "the slowest, because no --food is named",
        "perhaps covered",
        "a fridge without a fan at 4 °C",
    ] {
        assert!(ran.out.contains(said), "{said}: {}", ran.out);
    }
    let ran = run(&[
        "cool",
        "--depth",
        "30 mm",
        "--from",
        "85",
        "--food",
        "jelly",
        "--uncovered",
    ]);
    assert!(
        ran.out.contains(", jelly, ") && ran.out.contains(", uncovered"),
        "{}",
        ran.out
    );
}

/// Where it never gets to 5 °C, which is looked for where nobody names another, the rule is still held against the
/// slowest food: of 15 mm water is later at 8 °C than paste, and too late for England's 90 minutes.
#[test]
fn the_slowest_food_is_the_slowest_for_each_leg_of_the_rule() {
    let ask = |more: &[&str]| {
        let words = [
            "cool",
            "--in",
            "fan",
            "--at",
            "5",
            "--depth",
            "15mm",
            "--uncovered",
            "--from",
            "85",
            "--rules",
            "england",
            "--json",
        ];
        json(&[&words[..], more].concat())["rules"][0].clone()
    };
    let unsaid = ask(&[]);
    assert_ne!(unsaid["passes"], "passes", "{unsaid}");
    let late = |rules: &Value| rules["legs"][0]["late_minutes"].as_f64().unwrap();
    for food in ["water", "custard", "paste"] {
        let said = ask(&["--food", food]);
        assert!(late(&said) <= late(&unsaid), "{food}: {said} and {unsaid}");
        let deepest = |rules: &Value| rules["deepest_mm"].as_f64().unwrap();
        assert!(deepest(&said) >= deepest(&unsaid), "{food}");
    }
    assert_eq!(ask(&["--food", "paste"])["passes"], "passes");
    assert_eq!(ask(&["--food", "water"])["passes"], "may not pass");
}

/// FDA Food Code §3-501.14(B): what is made at the temperature of the room is at 5 °C within four hours, and nobody has
/// said that this was cooked.
#[test]
fn what_begins_below_hot_has_four_hours_in_cool_as_on_the_plan() {
    let cream = [
        "cool",
        "--in",
        "fan",
        "--at",
        "3",
        "--depth",
        "45mm",
        "--uncovered",
        "--from",
        "25",
        "--food",
        "custard",
        "--rules",
        "us",
        "--json",
    ];
    let asked = json(&cream)["rules"][0].clone();
    assert_eq!(asked["passes"], "may not pass", "{asked}");
    assert!(asked["source"].as_str().unwrap().contains("(B)"));
    let legs = asked["legs"].as_array().unwrap();
    assert!(legs.iter().any(|leg| leg["within_minutes"] == 240.0));
    // From above hot it has six, and two to 21 °C.
    let hot = cream.map(|word| if word == "25" { "60" } else { word });
    let asked = json(&hot)["rules"][0].clone();
    let within = |leg: usize| asked["legs"][leg]["within_minutes"].clone();
    assert_eq!((within(0), within(1)), (120.0.into(), 360.0.into()));
}

/// The file and the exit code say what the text says: a fridge at 7.5 °C is against the law of the US, whatever the cards
/// say of the food in it.
#[test]
fn a_fridge_against_the_rule_is_in_the_table_and_in_the_exit_code() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("cream.ron");
    let text = r#"Menu(
    id: "cream", name: "Cream", service: "2026-12-05 19:00", covers: 12,
    kitchen: Kitchen(
        name: "k", open: [Open(days: "every day", at: "07:00..22:00")], cooks: [Cook(name: "one")],
        kit: [Kit(id: "shelf", name: "fridge", count: 1, cold: Cold(at: "7.5 C", by: Fan))],
    ),
    dishes: [Serve(dish: Dish(
        id: "d", name: "Perry cream", control: Needed, waits_at: "3 C",
        steps: [Step(id: "stand", name: "Stand", time: "1h", hands: "left alone", temperature: "held at 3 C")],
    ))],
)
"#;
    std::fs::write(&file, text).unwrap();
    let asked = |rules: &str, form: &str| {
        let menu = file.to_str().unwrap();
        run(&["safety", menu, "--now", NOW, "--rules", rules, form])
    };
    let value: Value = serde_json::from_str(&asked("us", "--json").out).unwrap();
    let dishes = value["rules"][0]["dishes"].as_array().unwrap();
    assert!(dishes.iter().all(|dish| dish["verdict"] != "against"));
    let ran = asked("us", "--csv");
    assert_eq!(ran.code, Some(1), "{}{}", ran.out, ran.errors);
    let mut reader = csv::Reader::from_reader(ran.out.as_bytes());
    let row = reader.records().map(Result::unwrap).next().unwrap();
    assert_eq!(
        (&row[0], &row[1], &row[4]),
        ("US model code", "", "against the rule")
    );
    assert!(row[5].contains("fridge stands at 7.5 °C"), "{row:?}");
    assert_eq!(&row[7], "FDA Food Code §3-501.16");
    // In England it may.
    let ran = asked("england", "--csv");
    assert!(!ran.out.contains("7.5 °C"), "{}", ran.out);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
}

#[test]
fn a_step_is_asked_about_by_its_card_and_options_say_otherwise() {
    let of_card = json(&["cool", "demo", "barley-ice/cool", "--json", "--now", NOW]);
    assert_eq!(of_card["step"], "barley-ice/cool");
    assert_eq!(of_card["depth_mm"], 120.0);
    assert_eq!(of_card["food"], "custard");
    assert_eq!(of_card["rules"].as_array().unwrap().len(), 1);
    assert_eq!(of_card["rules"][0]["key"], "england");
    assert_eq!(of_card["rules"][0]["passes"], "fails");
    let deepest = of_card["rules"][0]["deepest_mm"].as_f64().unwrap();
    let depth = format!("{deepest} mm");
    let shallow = json(&[
        "cool",
        "demo",
        "barley-ice/cool",
        "--depth",
        &depth,
        "--json",
        "--now",
        NOW,
    ]);
    assert_eq!(shallow["rules"][0]["passes"], "passes");
    assert_eq!(run(&["cool", "demo"]).code, Some(2), "which step?");
}

#[test]
fn the_time_a_jelly_takes_is_written_into_its_card() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("jelly.ron");
    let text = r#"Menu(
    id: "jelly", name: "Jelly", service: "2026-12-05 19:00", covers: 12,
    kitchen: Kitchen(
        name: "k", open: [Open(days: "every day", at: "07:00..22:00")], cooks: [Cook(name: "one")],
        kit: [Kit(id: "shelf", name: "cold shelf", count: 1, cold: Cold(at: "4 C", by: Fan))],
    ),
    dishes: [Serve(dish: Dish(
        id: "d", name: "Perry jelly",
        steps: [
            // Until it stands when the mould is tipped.
            Step(id: "set", name: "Set", time: "3h", hands: "left alone", temperature: "cooled from 40 C to 5 C", cooling: Cooling(in: "shelf", across: "ball of 90 mm", covered: No, food: Jelly)),
        ],
    ))],
)
"#;
    std::fs::write(&file, text).unwrap();
    let menu = file.to_str().unwrap();
    let asked = ["cool", menu, "set", "--sets-at", "12", "--then", "4h"];
    let set = json(&[&asked[..], &["--json"]].concat());
    let whole = set["set_minutes"].as_u64().unwrap();
    // The middle is at 12 °C at the late end of the forecast, then four hours.
    let cold = json(&["cool", menu, "set", "--to", "12", "--json"]);
    let late = cold["late_minutes"].as_f64().unwrap();
    assert_eq!(whole, (late + 240.0).ceil() as u64);
    let ran = run(&[&asked[..], &["--accept"]].concat());
    assert_eq!(ran.code, Some(0), "{}", ran.errors);
    assert!(
        ran.out.contains("d/set takes") && ran.out.contains("it was \"3h\""),
        "{}",
        ran.out
    );
    let after = std::fs::read_to_string(&file).unwrap();
    let length = format!("{}h{:02}", whole / 60, whole % 60);
    assert_eq!(after, text.replace("\"3h\"", &format!("\"{length}\"")));
    // The demonstration has no file to write to.
    let demo = [
        "cool",
        "demo",
        "barley-ice/cool",
        "--sets-at",
        "12",
        "--accept",
    ];
    assert_eq!(run(&demo).code, Some(2));
}

// The sheet.

fn banquet() -> Banquet {
    let mut banquet = lantern_supper();
    let menu = &mut banquet.menu;
    menu.rules = Some(Rules::UsModelCode);
    menu.kitchen.kit.clear();
    menu.guests = vec![Guest {
        name: "table 2".to_owned(),
        count: 3,
        kind: GuestKind::Vulnerable,
        avoids: vec![Allergen::Milk],
        not: vec![Caution::Alcohol],
        without: Vec::new(),
    }];
    let first = &mut menu.dishes[0];
    first.control = Some(Control::Needed);
    for step in &mut first.steps {
        step.temperature = Some(Temperature::Held { at: 300 });
    }
    banquet
}

#[test]
fn the_pages_stand_on_a_small_and_on_a_large_screen() {
    for (width, height) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(&banquet(), width, height);
        insta::assert_snapshot!(
            format!("temperatures_{width}x{height}"),
            screen.keys("T").text()
        );
        insta::assert_snapshot!(
            format!("allergens_{width}x{height}"),
            screen.keys("<Esc>L").text()
        );
    }
}

#[test]
fn a_page_shows_only_what_is_looked_for_and_only_dishes_of_the_filter() {
    let names: Vec<String> = banquet()
        .menu
        .dishes
        .iter()
        .map(|dish| dish.name.clone())
        .collect();
    let mut screen = Screen::open(&banquet(), 120, 60);
    screen.keys("T");
    assert!(screen.shows(&names[0]) && screen.shows("US model code"));
    screen.keys("/against the rule<Enter>");
    let of = |screen: &mut Screen, name: &str| screen.shows(&format!("{name}: "));
    assert!(of(&mut screen, &names[0]));
    assert!(!of(&mut screen, &names[1]), "{}", screen.text());
    screen.keys("/nothing says this<Enter>");
    assert!(screen.shows("no dish has these words in it"));
    // The first Esc closes the page, the second forgets the words, T opens it again with everything.
    screen.keys("<Esc><Esc>T");
    assert!(of(&mut screen, &names[1]));
    // States and days come before the dishes.
    screen.keys("<Esc>f<Tab><Tab> <Esc>T");
    let shown = names.iter().filter(|name| of(&mut screen, name)).count();
    assert_eq!(shown, 1, "{}", screen.text());
}
