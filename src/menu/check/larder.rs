//! Rules of the larder, and of what dishes name in it.

use super::{Finding, Subject, instead_of, twice, unnamed};
use crate::menu::{Amount, Dish, Goods, Larder, Unit};

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
    findings.extend(other_packs(goods));
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
    let priced = goods.price.is_some() || goods.other_packs.iter().any(|it| it.price.is_some());
    if priced && larder.currency.is_none() {
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

/// Returns what is wrong with further sizes of pack: each is counted in beside the first, so it is of the same kind.
fn other_packs(goods: &Goods) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut push = |what: &str, instead: &str| {
        let subject = Subject::Goods(goods.name.clone());
        findings.push(
            Finding::limit(subject, what)
                .at("other_packs")
                .instead(instead),
        );
    };
    if goods.other_packs.is_empty() {
        return findings;
    }
    let Some(first) = &goods.pack else {
        push(
            "other packs than which?",
            "the first size as `pack`, the others here",
        );
        return findings;
    };
    for pack in &goods.other_packs {
        let Amount::Measured { number, unit } = &pack.holds else {
            push(
                "a pack that holds no amount",
                "Pack(holds: \"1 kg\", price: \"2.90\")",
            );
            continue;
        };
        let same = match first {
            Amount::ToTaste => true,
            Amount::Measured { unit: other, .. } => match (unit, other) {
                (Unit::Count(one), Unit::Count(other)) => one.trim() == other.trim(),
                (one, other) => one.dimension() == other.dimension(),
            },
        };
        if *number <= 0.0 {
            push(
                "a pack that holds nothing",
                "Pack(holds: \"1 kg\", price: \"2.90\")",
            );
        } else if !same {
            push(
                "a pack that is counted otherwise than the first",
                "all sizes by weight, or all by volume, or all in the same pieces",
            );
        }
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
