//! Rules of the larder, and of what dishes name in it.

use super::{Finding, Subject, instead_of, twice, unnamed};
use crate::menu::{Amount, Dish, Goods, Larder};

/// Returns what is wrong with a larder by itself.
pub(super) fn check(larder: &Larder) -> Vec<Finding> {
    let mut findings = Vec::new();
    let suppliers = larder.suppliers.iter().map(|it| it.name.as_str());
    findings.extend(twice(suppliers, "supplier", Subject::Supplier));
    for supplier in &larder.suppliers {
        let subject = Subject::Supplier(supplier.name.clone());
        findings.extend(unnamed(&supplier.name, subject));
    }
    findings.extend(twice(
        larder.goods.iter().map(|goods| goods.name.as_str()),
        "kind of goods",
        Subject::Goods,
    ));
    for goods in &larder.goods {
        findings.extend(unnamed(&goods.name, Subject::Goods(goods.name.clone())));
        findings.extend(of_goods(larder, goods));
    }
    findings
}

fn of_goods(larder: &Larder, goods: &Goods) -> Vec<Finding> {
    let mut findings = Vec::new();
    let subject = || Subject::Goods(goods.name.clone());
    // Where a larder lists its suppliers, one that it lacks is a slip of the pen; where it lists none, a name will do.
    if let Some(supplier) = &goods.supplier
        && !larder.suppliers.is_empty()
        && larder.supplier(supplier).is_none()
    {
        let known = larder.suppliers.iter().map(|it| it.name.as_str());
        findings.push(
            Finding::name(subject(), format!("no supplier is called \"{supplier}\""))
                .at("supplier")
                .instead(instead_of(supplier, known, "add it to `suppliers`")),
        );
    }
    for (amount, field, example) in [
        (&goods.pack, "pack", "pack: \"5 l\""),
        (&goods.each, "each", "each: \"50 g\""),
    ] {
        let nothing = match amount {
            None => continue,
            Some(Amount::ToTaste) => true,
            Some(Amount::Measured { number, .. }) => *number <= 0.0,
        };
        if nothing {
            findings.push(
                Finding::limit(subject(), "it is no amount that can be counted in")
                    .at(field)
                    .instead(example),
            );
        }
    }
    if goods.stock == Some(Amount::ToTaste) {
        findings.push(
            Finding::limit(subject(), "a stock of no amount")
                .at("stock")
                .instead("stock: \"2 kg\", or leave it out"),
        );
    }
    if goods.price.is_some() && goods.pack.is_none() {
        findings.push(
            Finding::limit(subject(), "it has a price, but of what?")
                .at("price")
                .instead("give it a `pack`: a price is that of a pack"),
        );
    }
    if goods.price.is_some() && larder.currency.is_none() {
        findings.push(
            Finding::limit(
                subject(),
                "it has a price, and the larder names no currency",
            )
            .at("price")
            .instead("currency: \"EUR\", once in the larder"),
        );
    }
    findings
}

/// Returns what a dish names in the larder that is not there.
pub(super) fn needs(larder: &Larder, dish: &Dish) -> Vec<Finding> {
    let missing = dish.ingredients.iter().filter_map(|ingredient| {
        let goods = ingredient.goods.as_ref()?;
        larder.goods(goods).is_none().then_some((ingredient, goods))
    });
    let findings = missing.map(|(ingredient, goods)| {
        let what = format!(
            "\"{}\" is bought as \"{goods}\", and the larder has no goods of that name",
            ingredient.name
        );
        let known = larder.goods.iter().map(|goods| goods.name.as_str());
        Finding::name(Subject::Dish(dish.id.clone()), what)
            .at("ingredients")
            .instead(instead_of(goods, known, "add them to the menu's `larder`"))
    });
    findings.collect()
}
