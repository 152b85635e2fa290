//! Amounts and the order list of a whole menu.

use std::hint::black_box;

use countback::quantity::amounts::amounts;
use countback::sheets::order::order_list;
use criterion::Criterion;

use crate::menus;
use crate::plan::fresh;

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("order");
    for measured in [menus::demonstration(), menus::large()] {
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
