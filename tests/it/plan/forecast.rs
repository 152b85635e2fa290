//! What can still be: forecasts, and that they hold still.

use std::path::Path;

use super::promises::as_planned;
use countback::load;
use countback::menu::Menu;
use countback::plan::{self, Happened, Plan, PlanOutcome};
use countback::time::*;

fn opened(sample: &str, date: &str, hour: u32) -> (Menu, Plan) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-menus")
        .join(sample);
    let menu = load::menu_file(&path.join("menu.ron")).unwrap().menu;
    let local = Local {
        date: date.parse().unwrap(),
        time: time_of_day(hour, 5).unwrap(),
    };
    let now = Timestamp::from_local(local, Zone::Europe__London);
    let service = plan::service_of(&menu, now, Zone::Europe__London);
    match plan::plan(&menu, service, &Happened::new(), service.minute(now), None) {
        PlanOutcome::Planned(plan) => (menu, plan),
        other => panic!("{other:#?}"),
    }
}

#[test]
fn probe() {
    let (menu, first) = opened("lantern-supper", "2026-11-26", 14);
    let told = plan::told_by_menu(&menu, first.service);
    for (index, step) in first.steps.iter().enumerate() {
        let mut after = vec![index];
        let mut at = 0;
        while at < after.len() {
            let next = first.steps[after[at]].followed_by.iter().copied();
            after.extend(next.filter(|it| !after.contains(it)).collect::<Vec<_>>());
            at += 1;
        }
        let now = step.window.start + Minutes(45);
        let happened = as_planned(&first, now, &after);
        let clock = std::time::Instant::now();
        let outcome = plan::plan(&menu, first.service, &happened, now, told.as_ref());
        let took = clock.elapsed().as_millis();
        let said = match &outcome {
            PlanOutcome::Planned(_) => "planned".to_owned(),
            PlanOutcome::TooLate { forecast: None, .. } => "NO FORECAST".to_owned(),
            PlanOutcome::TooLate {
                forecast: Some(plan),
                ..
            } => {
                let moved = plan.steps.iter().filter(|it| it.told.is_some()).count();
                let mut said = format!("moved {moved}");
                for dish in &plan.dishes {
                    if let Some(late) = &dish.late {
                        said += &format!("\n      {} {:?} {}", dish.name, late.by, late.because);
                    }
                }
                said
            }
            PlanOutcome::Impossible(_) => "IMPOSSIBLE".to_owned(),
        };
        println!(
            "{took} ms {} {} at {}: {said}",
            step.key,
            step.name,
            first.service.local(now)
        );
    }
}
