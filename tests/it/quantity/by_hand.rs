//! Menus worked by hand: batches, moulds, orders and when they must be out.

use countback::menu::{Amount, Unit, words};
use countback::quantity::amounts::{amounts, changes, next_batch_from};
use countback::quantity::for_doing;
use countback::quantity::order::{self, By, Todo, When};
use countback::time::{Minute, Minutes};

use super::{menu, ordered, planned, service};

/// Ten moulds of eight and twenty of three.
const MOULDS: &str = "Kit(id: \"large\", name: \"large mould\", count: 4, holds: 8),
    Kit(id: \"small\", name: \"small mould\", count: 6, holds: 3)";

fn dish(fields: &str, steps: &str) -> String {
    format!("Serve(dish: Dish(id: \"d\", name: \"Dish\", {fields} steps: [{steps}]))")
}

const FILLED: &str = "Step(id: \"fill\", name: \"Fill\", each: Batch, time: \"60 s a piece\"),
    Step(id: \"set\", name: \"Set\", each: Batch, time: \"2h\", hands: \"left alone\")";

#[test]
fn the_last_batch_makes_what_is_wanted_and_the_plan_knows() {
    let fields = "batch: Batch(portions: 24, last: Part),";
    let menu = menu("", "", &dish(fields, FILLED));
    let made = menu.made(&menu.dishes[0]);
    let portions: Vec<_> = made
        .runs
        .iter()
        .map(|(count, made)| (*count, made.portions))
        .collect();
    assert_eq!(portions, [(1, 24), (1, 16)]);
    let plan = planned(&menu);
    let length = |key: &str| {
        let (_, step) = plan.find(&key.parse().unwrap()).unwrap();
        step.window.length()
    };
    assert_eq!(length("d/fill"), Minutes(24));
    assert_eq!(length("d/fill#2"), Minutes(16));
    assert_eq!(plan.dishes[0].portions, 40);
}

#[test]
fn a_last_batch_that_fills_its_moulds_is_a_batch_like_the_others() {
    // Forty in batches of 24 leave 16, which two of three moulds take.
    let of = |portions: u32, vessels: u32| {
        let fields = format!(
            "batch: Batch(portions: {portions}, vessel: \"large\", vessels: {vessels}, last: Part),"
        );
        let menu = menu("", MOULDS, &dish(&fields, FILLED));
        amounts(&menu, 0).unwrap().sentences()
    };
    assert_eq!(
        of(24, 3),
        [
            "1 batch of 24 portions, in 3 × large mould, full",
            "1 batch of 16 portions (67 % of the card's), in 2 × large mould, full",
            "there are too few of its vessels for all at once, so they are filled 2 times",
            "nothing is left over",
        ]
    );
    assert_eq!(
        of(8, 1),
        [
            "5 batches of 8 portions, each in 1 large mould, full",
            "there are too few of its vessels for all at once, so they are filled 2 times",
            "nothing is left over",
        ]
    );
    // Twelve are wanted of the last: its two moulds make fourteen, as every batch does.
    assert_eq!(
        of(14, 2)[0],
        "3 batches of 14 portions, each in 2 × large mould, 88 % full"
    );
}

#[test]
fn a_batch_is_divided_between_moulds_of_two_sizes_and_the_plan_takes_them() {
    let fields =
        "batch: Batch(portions: 30, vessel: \"large\", vessels: 4, also: \"small\", last: Part),";
    let menu = menu("", MOULDS, &dish(fields, FILLED));
    // Thirty: three of eight and two of three leave no room. Ten: one of eight and one of three leave room for one.
    let made = menu.made(&menu.dishes[0]);
    assert_eq!(made.batch(1).vessels, [(0, 3), (1, 2)]);
    assert_eq!(made.batch(2).vessels, [(0, 1), (1, 1)]);
    assert_eq!(made.batch(2).portions, 11, "moulds are filled whole");
    let plan = planned(&menu);
    let kit = |key: &str| {
        let (_, step) = plan.find(&key.parse().unwrap()).unwrap();
        let all = step.kit.iter().map(|kit| (kit.name.clone(), kit.count));
        all.collect::<Vec<_>>()
    };
    let large = |count| ("large mould".to_owned(), count);
    let small = |count| ("small mould".to_owned(), count);
    assert_eq!(kit("d/fill"), [large(3), small(2)]);
    assert_eq!(kit("d/fill#2"), [large(1), small(1)]);
}

#[test]
fn kit_that_a_step_names_stands_for_what_each_batch_fills() {
    let steps = "Step(id: \"fill\", name: \"Fill\", each: Batch, time: \"20 min\",
          keeps_kit: [Keep(kit: \"large\", count: 4, until: \"out\")]),
        Step(id: \"out\", name: \"Turn out\", each: Batch, time: \"10 min\")";
    let fields = "batch: Batch(portions: 32, vessel: \"large\", vessels: 4, last: Part),";
    let menu = menu("", MOULDS, &dish(fields, steps));
    let plan = planned(&menu);
    let kept = |key: &str| {
        let (_, step) = plan.find(&key.parse().unwrap()).unwrap();
        step.kit.iter().map(|kit| kit.count).sum::<u32>()
    };
    // Thirty-two and eight: four moulds, and one.
    assert_eq!((kept("d/fill"), kept("d/fill#2")), (4, 1));
}

#[test]
fn the_cook_decides_how_many_batches() {
    let of = |batches: &str, last: &str| {
        let fields = format!("batch: Batch(portions: 24, last: {last}),");
        let text = dish(&fields, FILLED).replace("Serve(", &format!("Serve({batches}"));
        let menu = menu("", "", &text);
        let made = menu.made(&menu.dishes[0]);
        made.runs
            .iter()
            .map(|(count, made)| (*count, made.portions))
            .collect::<Vec<_>>()
    };
    assert_eq!(of("", "Whole"), [(2, 24)]);
    assert_eq!(of("batches: 3, ", "Whole"), [(3, 24)]);
    // Forty among three, as evenly as they go.
    assert_eq!(of("batches: 3, ", "Part"), [(1, 14), (2, 13)]);
    // Too few are taken at their word; the check of the menu warns of what is missing.
    assert_eq!(of("batches: 1, ", "Part"), [(1, 24)]);
}

#[test]
fn too_few_batches_are_warned_of() {
    let text = dish("batch: Batch(portions: 24),", FILLED).replace("Serve(", "Serve(batches: 1, ");
    let menu = menu("", "", &text);
    let said: Vec<String> = countback::menu::check(&menu)
        .into_iter()
        .map(|it| it.what)
        .collect();
    assert_eq!(said, ["1 batch makes 24 portions, and 40 are wanted"]);
}

#[test]
fn heating_takes_longer_for_more() {
    // Twelve minutes for three litres; a batch of 24 is three litres, the last of 16 is two.
    let steps = "Step(id: \"heat\", name: \"Heat\", each: Batch, time: \"12 min for 3 l\"),
        Step(id: \"all\", name: \"Reduce\", time: \"30 min..1h for 2 l\", hands: \"left alone\")";
    let fields = "batch: Batch(portions: 24, volume: \"3 l\", last: Part),";
    let plan = planned(&menu("", "", &dish(fields, steps)));
    let length = |key: &str| {
        let (_, step) = plan.find(&key.parse().unwrap()).unwrap();
        step.window.length()
    };
    assert_eq!(length("d/heat"), Minutes(12));
    assert_eq!(length("d/heat#2"), Minutes(8));
    // Five litres in all, the longer end of the range: 2½ hours.
    assert_eq!(length("d/all"), Minutes(150));
}

#[test]
fn what_really_changes_with_a_few_covers() {
    let fields =
        "batch: Batch(portions: 30, vessel: \"large\", vessels: 4, also: \"small\", last: Part),";
    let mut more = menu("", MOULDS, &dish(fields, FILLED));
    let before = amounts(&more, 0).unwrap();
    assert_eq!(
        before.sentences(),
        [
            "1 batch of 30 portions, in 3 × large mould and 2 × small mould, full",
            "1 batch of 11 portions (37 % of the card's), in 1 large mould and 1 small mould, full",
            "1 portion is left over",
        ]
    );
    more.covers = 41;
    let said = changes(&before, &amounts(&more, 0).unwrap());
    assert_eq!(said, ["0 left over instead of 1 left over"]);
    more.covers = 61;
    let said = changes(&before, &amounts(&more, 0).unwrap());
    assert_eq!(
        said,
        [
            "3 batches instead of 2 batches",
            "63 portions made instead of 41",
            "its vessels are filled 2 times instead of 1",
            "2 left over instead of 1 left over",
        ]
    );
    more.covers = 40;
    let (from, what) = next_batch_from(&more, 0).unwrap();
    assert_eq!(
        (from, what.as_str()),
        (45, "its vessels are filled 2 times")
    );
}

const LARDER: &str = "larder: Larder(currency: \"EUR\",
    suppliers: [Supplier(name: \"dairy\", order: \"1 day ahead\", days: \"Mon..Fri\", by: \"11:00\")],
    goods: [
        Goods(name: \"milk\", supplier: \"dairy\", kind: \"cold\", pack: \"5 l\", price: \"6.00\", stock: \"1 l\"),
        Goods(name: \"quince\", pack: \"2 kg\", price: \"5.50\", loss: \"20 %\", order: \"3 days ahead\", each: \"200 g\"),
        Goods(name: \"purée\", ahead: \"defrost 18h\"),
        Goods(name: \"egg\", pack: \"30\"), Goods(name: \"egg yolk\", pack: \"1 kg\"),
    ]),";

fn kitchen_of(ingredients: &str) -> countback::menu::Menu {
    let steps = "Step(id: \"boil\", name: \"Boil\", time: \"1h\")";
    menu(
        LARDER,
        "",
        &dish(&format!("ingredients: [{ingredients}],"), steps),
    )
}

#[test]
fn packs_losses_and_stock() {
    let menu = kitchen_of(
        "Ingredient(name: \"Milk\", amount: \"9 l\", per: Dish), Ingredient(name: \"milk\", amount: \"2.06 kg\", per: Dish),
         Ingredient(name: \"quince\", amount: \"3 kg\", per: Dish), Ingredient(name: \"quince\", amount: 2, per: Dish),
         Ingredient(name: \"bay\", amount: \"1 bunch\", per: Dish), Ingredient(name: \"bay\", amount: \"40 g\", per: Dish),
         Ingredient(name: \"salt\", amount: \"to taste\", per: Dish)",
    );
    let list = ordered(&menu);
    let line = |name: &str| list.lines.iter().find(|line| line.name == name).unwrap();
    // 9 l and 2.06 kg at 1.03 g/ml are 11 l; one is there; two packs of five.
    let milk = line("milk");
    assert_eq!(
        milk.wanted,
        [Amount::Measured {
            number: 11.0,
            unit: Unit::Litre
        }]
    );
    assert_eq!((milk.buy().as_str(), milk.cost), ("2 × 5 l", Some(1200)));
    assert!(
        milk.remarks.iter().any(|it| it.contains("Goff")),
        "{:?}",
        milk.remarks
    );
    // 3.4 kg peeled are 4.25 kg bought.
    let quince = line("quince");
    assert_eq!(
        (quince.buy().as_str(), quince.cost),
        ("3 × 2 kg", Some(1650))
    );
    // A bunch is no 40 g: both stand.
    let bay = line("bay");
    assert_eq!(bay.buy(), "40 g and 1 bunch");
    assert_eq!(bay.wanted.len(), 2);
    assert_eq!(line("salt").buy(), "to taste");
    assert_eq!(list.cost(), Some((2850, 2)));
    let by_kind: Vec<_> = list
        .divided(By::Kind, service(&menu))
        .into_iter()
        .map(|it| it.0)
        .collect();
    assert_eq!(by_kind, ["cold", "of no kind"]);
}

#[test]
fn orders_go_out_while_the_supplier_takes_them() {
    let menu = kitchen_of(
        "Ingredient(name: \"milk\", amount: \"9 l\"), Ingredient(name: \"quince\", amount: \"3 kg\"),
         Ingredient(name: \"purée\", amount: \"1 kg\", ahead: \"soak 30 min\")",
    );
    let service = service(&menu);
    let list = |at: Minute| order::list(&menu, service, &move |_, _| When::At(at));
    let said = |at: Minute| {
        let reminders = list(at).reminders.into_iter();
        reminders
            .map(|it| {
                format!(
                    "{} {}",
                    service.local(it.at).weekday_clock(),
                    it.what.said()
                )
            })
            .collect::<Vec<_>>()
    };
    // On Saturday at 18:30: milk a day before is Friday, past eleven; so Friday at eleven. Quinces three days before.
    assert_eq!(
        said(Minute(-60)),
        [
            "Wed 18:30 order: quince",
            "Fri 11:00 order from dairy: milk",
            "Fri 21:59 defrost 1 kg purée, 18h",
            "Sat 18:00 soak 1 kg purée, 30 min",
        ]
    );
    // On Monday morning, eight days on: a day before is Sunday, and the dairy takes orders on Friday last.
    let monday = service.at_minute_of_day("2026-11-30".parse().unwrap(), 8 * 60);
    assert!(said(monday).contains(&"Fri 11:00 order from dairy: milk".to_owned()));
    // What has begun needs no reminding, and is bought all the same.
    let begun = order::list(&menu, service, &|_, _| When::Over);
    assert!(begun.reminders.is_empty() && begun.lines.iter().all(order::Line::is_to_buy));
    assert!(begun.lines.iter().all(|line| line.order_by.is_none()));
}

/// USDA 01123 and 01125: an egg without its shell is 50 g, a yolk 17.
#[test]
fn eggs_are_counted_and_weighed() {
    let menu = kitchen_of(
        "Ingredient(name: \"egg\", amount: \"1.6 kg\", per: Dish), Ingredient(name: \"Egg\", amount: 4, per: Dish),
         Ingredient(name: \"egg yolk\", amount: 70, per: Dish)",
    );
    let list = ordered(&menu);
    let line = |name: &str| list.lines.iter().find(|line| line.name == name).unwrap();
    let wanted: Vec<String> = line("egg").wanted.iter().map(words::amount).collect();
    assert_eq!(wanted, ["36"]);
    assert_eq!(line("egg").buy(), "2 × 30");
    let said =
        "reckoned at 50 g a piece (USDA, one large in the US, medium in the EU, without the shell)";
    assert!(
        line("egg").remarks.iter().any(|it| it == said),
        "{:?}",
        line("egg").remarks
    );
    // 1.19 kg of yolks.
    assert_eq!(line("egg yolk").buy(), "2 × 1 kg");
}

/// Nothing is rounded past two in a hundred in silence, in another measure or of other goods either. 2.6 g at 225 bloom are
/// 3.656 g at 160 by the linear law (*Modernist Cuisine*, as quoted), and a silver leaf is 2.5 g: 1.4625 leaves. 0.26 ml of
/// honey at 1.42 g/ml are 0.3692 g.
#[test]
fn other_measures_and_other_goods_say_how_far_they_are_off() {
    let larder = "larder: Larder(goods: [Goods(name: \"gelatine\", strength: \"silver leaf\")]),";
    let ingredients = "ingredients: [
        Ingredient(name: \"gelatine\", amount: \"2.6 g\", per: Dish, strength: \"225 bloom\"),
        Ingredient(name: \"honey\", amount: \"0.26 ml\", per: Dish),
    ],";
    let steps = "Step(id: \"boil\", name: \"Boil\", time: \"1h\")";
    let menu = menu(larder, "", &dish(ingredients, steps));
    let found = amounts(&menu, 0).unwrap();
    let says = |place: usize, what: &str| {
        let remarks = &found.ingredients[place].remarks;
        assert!(remarks.iter().any(|it| it.contains(what)), "{remarks:?}");
    };
    says(0, "1½ leaves (3 % more than worked out) of silver leaf");
    says(1, "0.4 g (8 % more than worked out) at 1.42 g/ml");
}

#[test]
fn one_reminder_a_day_for_each_supplier_with_its_dishes() {
    let menu = kitchen_of(
        "Ingredient(name: \"quince\", amount: \"3 kg\"), Ingredient(name: \"pear\", amount: \"1 kg\", order: \"3 days ahead\")",
    );
    let list = ordered(&menu);
    let [only] = list.reminders.as_slice() else {
        panic!("{:?}", list.reminders);
    };
    assert_eq!(
        only.what,
        Todo::Order(None, vec!["pear".into(), "quince".into()])
    );
    assert_eq!(only.dishes, [0]);
}

#[test]
fn an_old_method_says_which_measures_it_means() {
    let of = |measures: &str| {
        let steps = "Step(id: \"boil\", name: \"Boil\", time: \"1h\")";
        let fields = format!(
            "measures: \"{measures}\", ingredients: [Ingredient(name: \"whey\", amount: \"2 pints\", per: Dish)],"
        );
        let menu = menu("", "", &dish(&fields, steps));
        words::amount(&ordered(&menu).lines[0].loose[0])
    };
    // 473.18, 577.64, 568.26 and 473.18 ml to the pint.
    assert_eq!(of("wine"), "946.4 ml");
    assert_eq!(of("ale"), "1.155 l");
    assert_eq!(of("imperial"), "1.137 l");
    assert_eq!(of("US"), "946.4 ml");
}

/// A third of the custard is coloured with saffron, and nothing else goes into that third.
#[test]
fn a_part_that_takes_an_ingredient_takes_all_of_it() {
    let step = "Step(id: \"colour\", name: \"Colour\", time: \"9 min\", each: Parts([\"saffron\", \"rose\", \"plain\"]))";
    let ingredients = "ingredients: [
        Ingredient(name: \"saffron\", amount: \"2 g\", per: Dish, into: \"colour\", part: \"saffron\"),
        Ingredient(name: \"sugar\", amount: \"300 g\", per: Dish, into: \"colour\"),
    ],";
    let menu = menu("", "", &dish(ingredients, step));
    let dish = &menu.dishes[0];
    let made = menu.made(dish);
    let taken = |part: &str| -> Vec<(String, Amount)> {
        dish.taken_by("colour", Some(part))
            .map(|it| {
                let amount = for_doing(&menu, dish, &made, (&dish.steps[0], 1), it);
                (it.name.clone(), amount)
            })
            .collect()
    };
    let grams = |number: f64| Amount::Measured {
        number,
        unit: Unit::Gram,
    };
    assert_eq!(
        taken("saffron"),
        [
            ("saffron".to_owned(), grams(2.0)),
            ("sugar".to_owned(), grams(100.0))
        ]
    );
    assert_eq!(taken("rose"), [("sugar".to_owned(), grams(100.0))]);
}
