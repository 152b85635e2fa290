//! Chance: ten thousand evenings laid out for a plan, with margins tried; and the engine alone on 300 activities.

use std::hint::black_box;

use countback::plan::{self, Asked, Happened};
use countback::schedule::chance::{Question, Samples, Spread, Target, chance_unless};
use countback::schedule::{
    Activity, ActivityId, Demand, Duration, Edge, Instance, Lag, Mode, Placement, Resource,
    ResourceId, Time, Use,
};
use criterion::Criterion;

use crate::menus;
use crate::plan::fresh;

/// Sixty chains of five activities that share six pairs of hands, three announced at a time.
fn engine() -> (Instance, Vec<Placement>, Vec<Spread>) {
    let (mut instance, mut placements, mut spreads) = (
        Instance {
            earliest: 0,
            latest: 100_000,
            resources: vec![Resource {
                capacity: vec![(0, 6)],
                regular: None,
            }],
            ..Instance::default()
        },
        Vec::new(),
        Vec::new(),
    );
    for chain in 0..60 {
        for link in 0..5 {
            let length = 20 + 7 * ((chain * 5 + link) % 9) as Time;
            let start = (chain / 3 * 400 + link * 80) as Time;
            instance.activities.push(Activity {
                modes: vec![Mode {
                    duration: Duration::Fixed(length),
                    demands: vec![Demand {
                        resource: ResourceId(0),
                        quantity: 2,
                        when: Use::Whole,
                    }],
                    states: Vec::new(),
                    cost: 0,
                }],
                ..Activity::default()
            });
            placements.push(Placement {
                mode: 0,
                start,
                end: start + length,
            });
            spreads.push(Spread::Points {
                shortest: length / 2,
                usual: length,
                longest: length * 2,
            });
            if link > 0 {
                let (before, after) = (placements.len() - 2, placements.len() - 1);
                instance.lags.push(Lag {
                    from: (ActivityId(before), Edge::End),
                    to: (ActivityId(after), Edge::Start),
                    least: 0,
                    most: Some(240),
                });
            }
        }
    }
    (instance, placements, spreads)
}

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("chance");
    group.sample_size(10);
    let (instance, placements, spreads) = engine();
    let targets: Vec<Target> = (0..60)
        .map(|chain| Target {
            ends: vec![ActivityId(chain * 5 + 4)],
            due: placements[chain * 5 + 4].end + 30,
        })
        .collect();
    let samples = Samples {
        count: 10_000,
        seed: 1,
    };
    group.bench_function("300 activities, 10,000 samples", |bencher| {
        bencher.iter(|| {
            let question = Question {
                instance: black_box(&instance),
                placements: &placements,
                spreads: &spreads,
                targets: &targets,
                now: None,
            };
            chance_unless(&question, samples, &|| false)
        });
    });
    for measured in [menus::demonstration(), menus::large()] {
        let plan = fresh(&measured);
        let nothing = Happened::new();
        let asked = Asked {
            menu: &measured.menu,
            service: measured.service,
            happened: &nothing,
            now: measured.service.minute(measured.now),
            told: None,
            shown: None,
        };
        group.bench_function(format!("{}, margins tried", measured.name), |bencher| {
            bencher.iter(|| plan::chance(black_box(asked), &plan, &|| false));
        });
    }
    group.finish();
}
