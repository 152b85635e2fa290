//! Amounts and the order list of a whole menu.

use std::hint::black_box;

use countback::menu::{Amount, Goods, Menu, Pack};
use countback::quantity::amounts::amounts;
use countback::sheets::order::order_list;
use criterion::Criterion;

use crate::menus;
use crate::plan::fresh;

/// Puts everything that is measured into a larder, in three sizes of pack with a price each, so that mixes are tried.
fn stock(menu: &mut Menu) {
    let ingredients = menu.dishes.iter().flat_map(|dish| &dish.ingredients);
    let mut goods: Vec<Goods> = Vec::new();
    for ingredient in ingredients {
        let Amount::Measured { number, unit } = &ingredient.amount else {
            continue;
        };
        if goods.iter().any(|it| it.name == ingredient.name) {
            continue;
        }
        let holds = |share: f64| Amount::Measured {
            number: number * share,
            unit: unit.clone(),
        };
        goods.push(Goods {
            name: ingredient.name.clone(),
            pack: Some(holds(1.0)),
            price: Some(560),
            other_packs: [(0.3, 190), (2.7, 1480)]
                .into_iter()
                .map(|(share, price)| Pack {
                    holds: holds(share),
                    price: Some(price),
                })
                .collect(),
            loss: 120,
            ..Goods::default()
        });
    }
    menu.larder.currency = Some("EUR".into());
    menu.larder.goods = goods;
}

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("order");
    for mut measured in [menus::demonstration(), menus::large()] {
        if measured.menu.larder.is_empty() {
            stock(&mut measured.menu);
        }
        let plan = fresh(&measured);
        let prep = countback::prep::PrepState::fold(&[]);
        group.bench_function(format!("{}, order list", measured.name), |bencher| {
            bencher.iter(|| {
                let menu = black_box(&measured.menu);
                order_list(menu, Some(&plan), &prep, measured.service)
            });
        });
        group.bench_function(
            format!("{}, amounts of all dishes", measured.name),
            |bencher| {
                bencher.iter(|| {
                    let menu = black_box(&measured.menu);
                    (0..menu.dishes.len())
                        .filter_map(|dish| amounts(menu, dish))
                        .count()
                });
            },
        );
    }
    group.finish();
}
