//! Planning: menu → plan, the check of it and the reasons included.

use std::hint::black_box;

use countback::plan::{Done, Happened, Plan, PlanOutcome, plan};
use criterion::Criterion;

use crate::menus::{self, Measured};

/// Returns the plan of a menu nobody has ticked yet.
pub(crate) fn fresh(measured: &Measured) -> Plan {
    let now = measured.service.minute(measured.now);
    match plan(
        &measured.menu,
        measured.service,
        &Happened::new(),
        now,
        None,
    ) {
        PlanOutcome::Planned(plan) => plan,
        other => panic!("the {} has no plan: {other:?}", measured.name),
    }
}

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("plan");
    for measured in [menus::demonstration(), menus::large()] {
        let now = measured.service.minute(measured.now);
        let nothing = Happened::new();
        let first = fresh(&measured);
        let steps = first.steps.len();
        group.bench_function(format!("{}, {steps} steps", measured.name), |bencher| {
            bencher.iter(|| {
                plan(
                    black_box(&measured.menu),
                    measured.service,
                    &nothing,
                    now,
                    None,
                )
            });
        });
        // Half of it done as planned, and the first of the rest just started.
        let (done, rest) = first.order.split_at(first.order.len() / 2);
        let started = &first.steps[rest[0]];
        let mut happened: Happened = done
            .iter()
            .map(|&step| &first.steps[step])
            .filter(|step| step.window.end <= started.window.start)
            .map(|step| {
                let done = Done::Finished(Some(step.window.start), step.window.end);
                (step.key.clone(), done)
            })
            .collect();
        for &step in done {
            let step = &first.steps[step];
            happened
                .entry(step.key.clone())
                .or_insert(Done::Started(step.window.start));
        }
        happened.insert(started.key.clone(), Done::Started(started.window.start));
        let then = started.window.start;
        group.bench_function(format!("{}, half of it done", measured.name), |bencher| {
            bencher.iter(|| {
                plan(
                    &measured.menu,
                    measured.service,
                    black_box(&happened),
                    then,
                    None,
                )
            });
        });
    }
    group.finish();
}
