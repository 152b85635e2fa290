//! What can hurt someone: the plan held against the rules, the matrix of allergens, and a forecast.

use std::hint::black_box;

use countback::menu::{Across, Cold, ColdBy, Conducts, Control, Cooling, Menu, Temperature};
use countback::plan::PlanOutcome;
use countback::prep::held_against;
use countback::safety::allergens::{List, matrix};
use countback::safety::cooling::{Asked, Body, Material, Medium, Place, Shape};
use countback::safety::rules::US;
use countback::safety::timeline::check;
use criterion::Criterion;

use crate::menus::{self, Measured};
use crate::plan::fresh;

/// Says what becomes of the temperature in every step, so that nothing is passed over: held, cooked, and in each dish
/// one pan that is too deep, which is forecast and remedied.
fn said(menu: &mut Menu) {
    for kit in &mut menu.kitchen.kit {
        kit.cold = Some(Cold {
            at: 30,
            by: ColdBy::Fan,
        });
    }
    let kit = menu.kitchen.kit[0].id.clone();
    for dish in &mut menu.dishes {
        dish.control = Some(Control::Needed);
        dish.waits_at = Some(40);
        let middle = dish.steps.len() / 2;
        for (place, step) in dish.steps.iter_mut().enumerate() {
            step.temperature = Some(match place + 1 {
                place if place == middle => Temperature::Cooked {
                    to: 820,
                    lasting: None,
                },
                place if place == middle + 1 => Temperature::Cooled { from: 820, to: 50 },
                _ => Temperature::Held { at: 40 },
            });
            if place == middle {
                step.cooling = Some(Cooling {
                    kit: Some(kit.clone()),
                    depth: Some(900),
                    across: Some(Across::Sides(5300, 3250)),
                    food: Some(Conducts::Custard),
                    ..Cooling::default()
                });
            }
        }
    }
}

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("safety");
    for mut measured in [menus::demonstration(), menus::large()] {
        if measured.name == "large menu" {
            said(&mut measured.menu);
        }
        let Measured { menu, service, .. } = &measured;
        let outcome = PlanOutcome::Planned(fresh(&measured));
        group.bench_function(format!("{}, temperatures", measured.name), |bencher| {
            bencher.iter(|| held_against(black_box(menu), *service, Some(&outcome), &[&US]));
        });
        group.bench_function(format!("{}, allergens", measured.name), |bencher| {
            bencher.iter(|| List::ALL.map(|list| matrix(black_box(menu), list)));
        });
        // What the check does where no step has a time.
        assert!(!check(menu, &US, *service, &[]).dishes.is_empty());
    }
    let body = Body {
        shape: Shape::Pot {
            diameter: 0.3,
            depth: 0.12,
        },
        material: Material::of_water(0.7),
        from: 85.0,
        covered: false,
        stirred: false,
    };
    let asked = Asked {
        body,
        medium: Medium {
            place: Place::Fan,
            at: 3.0,
        },
        open: false,
    };
    group.bench_function("a forecast, and the depth that passes", |bencher| {
        bencher.iter(|| {
            let asked = black_box(&asked);
            (asked.legs(&US.cooling), asked.deepest(&US.cooling))
        });
    });
    group.finish();
}
