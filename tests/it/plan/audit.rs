//! A plan held against its menu, minute by minute and in the kitchen's own terms.
//!
//! The engine's checker knows nothing of menus, so a fault of the bridge would pass it. This knows nothing of
//! the engine: it reads the menu and the times of the plan, and counts.

use std::collections::BTreeMap;

use countback::menu::*;
use countback::plan::{CookSpan, KitSpan, Plan, PlannedStep};
use countback::time::*;

/// Returns the time, the hands and the kit of the way in which a step is planned.
fn way<'a>(menu: &'a Menu, planned: &PlannedStep) -> (&'a StepTime, &'a Hands, &'a [KitUse]) {
    let step = &menu.dishes[planned.dish].steps[planned.step];
    match &planned.way {
        None => (&step.time, &step.hands, &step.uses),
        Some(chosen) => {
            let way = &step.ways[chosen.place];
            assert_eq!(way.name, chosen.name, "{}", planned.key);
            (&way.time, &way.hands, &way.uses)
        }
    }
}

/// Returns what is wrong with a plan of a menu on which nothing has happened yet; nothing may start before
/// `now`.
pub(crate) fn audit(menu: &Menu, plan: &Plan, now: Minute) -> Vec<String> {
    let mut wrong = Vec::new();
    let step_of = |planned: &PlannedStep| &menu.dishes[planned.dish].steps[planned.step];
    for planned in &plan.steps {
        let (step, name) = (step_of(planned), planned.key.to_string());
        let (time, hands, _) = way(menu, planned);
        if planned.someone_about != hands.someone_about {
            wrong.push(format!("{name}: whether anybody is about"));
        }
        let dish = &menu.dishes[planned.dish];
        if planned.window.start < now {
            wrong.push(format!("{name} starts before now"));
        }
        if planned.window.end > Minute::SERVICE + menu.course_of(dish).offset {
            wrong.push(format!("{name} ends after its course"));
        }
        if planned.can_slip_until < planned.window.start {
            wrong.push(format!("{name} could slip backward"));
        }
        if planned.reason.trim().is_empty() {
            wrong.push(format!("{name} stands where it does for no reason"));
        }
        if let StepTime::Elapsed(work) = time
            && work.per_piece == 0
            && work.per_batch == 0
            && work.for_volume.is_none()
            && work.per_litre == 0
        {
            let seconds = work.usual.unwrap_or(work.longest);
            if planned.window.length() != Minutes::from_seconds_rounded_up(seconds) {
                wrong.push(format!("{name} lasts {}", planned.window.length()));
            }
        }
        if let StepTime::Clock { until, at_least } = *time {
            // Taking it off comes after the clock has said so.
            let taken_off = hands.take_off.map(|touch| touch.time).unwrap_or_default();
            let said = planned.window.end - taken_off;
            if planned.window.length() < at_least {
                wrong.push(format!("{name} lasts less than {at_least}"));
            }
            if let ClockWait::TimeOfDay(time) = until
                && plan.service.local(said).time != time
            {
                wrong.push(format!("{name} ends at {}", plan.service.local(said)));
            }
            if let ClockWait::KitchenOpens(mornings) = until {
                let start = planned.window.start;
                let mut later = plan.openings.iter().filter(|&&it| it > start);
                let right = later
                    .clone()
                    .zip(1..)
                    .find(|&(&it, passed)| passed >= mornings && it - start >= at_least);
                if right.map(|(it, _)| *it) != Some(said) {
                    let passed = later.by_ref().filter(|&&it| it <= said).count();
                    wrong.push(format!("{name} lasts over {passed} openings"));
                }
            }
        }
        if let Some(span) = step.within {
            let start = plan.service.local(planned.window.start).time;
            let minute = start.hour() * 60 + start.minute();
            let length = planned.window.length().0 as u32;
            let inside = [minute, minute + 1440]
                .iter()
                .any(|&from| span.from <= from && from + length <= span.to);
            // A clock change inside the span shifts its end; the tests that cross one use no span.
            if !inside {
                wrong.push(format!("{name} leaves its hours"));
            }
        }
    }
    hands(menu, plan, &mut wrong);
    attended(menu, plan, &mut wrong);
    skills(menu, plan, &mut wrong);
    heats(menu, plan, &mut wrong);
    kit(menu, plan, &mut wrong);
    gaps(menu, plan, &mut wrong);
    wrong
}

fn minutes(plan: &Plan) -> impl Iterator<Item = Minute> {
    (plan.span.start.0..plan.span.end.0).map(Minute)
}

/// Whether any of the hours covers this minute, read off the clock face.
fn on(hours: &[Hours], plan: &Plan, minute: Minute) -> bool {
    let local = plan.service.local(minute);
    let face = local.time.hour() * 60 + local.time.minute();
    let covers = |date: Date, face: u32| {
        hours.iter().any(|hours| {
            let today = match &hours.days {
                Days::Every => true,
                Days::Weekdays(days) => days.contains(&date.weekday()),
                Days::Dates(dates) => dates.contains(&date),
                Days::BeforeService(counts) => counts.iter().any(|&count| {
                    day_after(plan.service.service_date(), -i64::from(count)) == date
                }),
            };
            today
                && hours
                    .spans
                    .iter()
                    .any(|span| span.from <= face && face < span.to)
        })
    };
    covers(local.date, face) || covers(day_after(local.date, -1), face + 1440)
}

fn hands(menu: &Menu, plan: &Plan, wrong: &mut Vec<String>) {
    let kitchen = &menu.kitchen;
    for minute in minutes(plan) {
        let open = kitchen.open.is_empty() || on(&kitchen.open, plan, minute);
        let regular =
            |cook: &Cook| open && (cook.shifts.is_empty() || on(&cook.shifts, plan, minute));
        let here = |cook: &Cook| regular(cook) || open && on(&cook.overtime, plan, minute);
        let on_shift = kitchen.cooks.iter().filter(|cook| here(cook)).count();
        let spans = || {
            plan.steps
                .iter()
                .flat_map(|step| &step.hands)
                .filter(|span| span.window.contains(minute))
        };
        let needed: u32 = spans().map(|span| span.hands).sum();
        if needed as usize > on_shift {
            wrong.push(format!(
                "{needed} hands at {}, {on_shift} on shift",
                plan.service.local(minute)
            ));
            return;
        }
        // Who stays beyond a shift is said, and nobody is said to who need not.
        let asked = |span: &&CookSpan| span.windows.iter().any(|it| it.contains(minute));
        let asked: Vec<&str> = plan
            .overtime
            .iter()
            .filter(asked)
            .map(|it| it.cook.as_str())
            .collect();
        let mistaken = kitchen
            .cooks
            .iter()
            .any(|cook| asked.contains(&cook.name.as_str()) && (regular(cook) || !here(cook)));
        let on_time = kitchen.cooks.iter().filter(|cook| regular(cook)).count();
        if mistaken || (needed as usize).saturating_sub(on_time) > asked.len() {
            wrong.push(format!("overtime at {}", plan.service.local(minute)));
            return;
        }
        let mut given: BTreeMap<&str, usize> = BTreeMap::new();
        for name in spans()
            .filter(|span| span.cooks.len() == span.hands as usize)
            .flat_map(|it| &it.cooks)
        {
            *given.entry(name).or_default() += 1;
            let there = kitchen
                .cooks
                .iter()
                .any(|cook| cook.name == *name && here(cook));
            if !there {
                wrong.push(format!(
                    "{name} is not on shift at {}",
                    plan.service.local(minute)
                ));
                return;
            }
        }
        if given.values().any(|&times| times > 1) {
            wrong.push(format!("one cook twice at {}", plan.service.local(minute)));
            return;
        }
        let watched = open || on(&kitchen.watched, plan, minute) || kitchen.cooks.iter().any(here);
        let needs_someone = plan
            .steps
            .iter()
            .any(|step| step.someone_about && step.window.contains(minute));
        if needs_someone && !watched {
            wrong.push(format!("nobody about at {}", plan.service.local(minute)));
            return;
        }
    }
}

/// Each step has, at its ends, at its looks and all along, the hands its card asks for.
fn attended(menu: &Menu, plan: &Plan, wrong: &mut Vec<String>) {
    for planned in &plan.steps {
        let (_, wants, _) = way(menu, planned);
        let there = |minute: Minute| {
            planned
                .hands
                .iter()
                .filter(|it| it.window.contains(minute))
                .map(|it| it.hands)
                .sum::<u32>()
        };
        let window = planned.window;
        if let Some(touch) = wants.put_on
            && touch.time.0 > 0
            && there(window.start) < touch.hands
        {
            wrong.push(format!("{}: nobody puts it on", planned.key));
        }
        if let Some(touch) = wants.take_off
            && touch.time.0 > 0
            && there(Minute(window.end.0 - 1)) < touch.hands
        {
            wrong.push(format!("{}: nobody takes it off", planned.key));
        }
        if let Some(look) = wants.look {
            let mut at = window.start + look.every;
            while at + look.time <= window.end {
                if there(at) < look.hands {
                    wrong.push(format!("{}: nobody looks at it", planned.key));
                }
                at += look.every;
            }
        }
        for minute in window.start.0..window.end.0 {
            if there(Minute(minute)) < wants.throughout {
                wrong.push(format!("{}: left alone", planned.key));
                break;
            }
        }
    }
}

/// At each moment there are different cooks for all hands, each with the skill that is asked for, and whoever is
/// named for a step has it.
fn skills(menu: &Menu, plan: &Plan, wrong: &mut Vec<String>) {
    let kitchen = &menu.kitchen;
    let skill =
        |planned: &PlannedStep| menu.dishes[planned.dish].steps[planned.step].skill.as_ref();
    let can = |cook: &Cook, skill: Option<&String>| skill.is_none_or(|it| cook.skills.contains(it));
    for planned in &plan.steps {
        for name in planned.hands.iter().flat_map(|span| &span.cooks) {
            let mut of_name = kitchen.cooks.iter().filter(|cook| cook.name == *name);
            if !of_name.any(|cook| can(cook, skill(planned))) {
                wrong.push(format!("{name} cannot do {}", planned.key));
            }
        }
    }
    let moments = plan.steps.iter().flat_map(|step| &step.hands);
    for minute in moments.map(|span| span.window.start) {
        let open = kitchen.open.is_empty() || on(&kitchen.open, plan, minute);
        let here: Vec<&Cook> = kitchen
            .cooks
            .iter()
            .filter(|it| {
                it.shifts.is_empty()
                    || on(&it.shifts, plan, minute)
                    || on(&it.overtime, plan, minute)
            })
            .filter(|_| open)
            .collect();
        let mut hands: Vec<Vec<usize>> = Vec::new();
        for planned in &plan.steps {
            for span in planned.hands.iter().filter(|it| it.window.contains(minute)) {
                let able = (0..here.len()).filter(|&at| can(here[at], skill(planned)));
                let able: Vec<usize> = able.collect();
                hands.extend((0..span.hands).map(|_| able.clone()));
            }
        }
        let mut has = vec![None; here.len()];
        let all = (0..hands.len()).all(|hand| seat(hand, &hands, &mut has, &mut Vec::new()));
        if !all {
            wrong.push(format!(
                "no cooks for all at {}",
                plan.service.local(minute)
            ));
            return;
        }
    }
}

/// Gives a hand a cook, others changing places; returns whether there is one.
fn seat(
    hand: usize,
    able: &[Vec<usize>],
    has: &mut [Option<usize>],
    seen: &mut Vec<usize>,
) -> bool {
    able[hand].iter().any(|&cook| {
        if seen.contains(&cook) {
            return false;
        }
        seen.push(cook);
        let free = has[cook].is_none_or(|other| seat(other, able, has, seen));
        if free {
            has[cook] = Some(hand);
        }
        free
    })
}

/// One oven is at one heat at a time, and changing it takes its time; it has only so many shelves, and others
/// take the last ones.
fn heats(menu: &Menu, plan: &Plan, wrong: &mut Vec<String>) {
    for kit in &menu.kitchen.kit {
        let Some(oven) = kit.oven else { continue };
        let steps = || {
            plan.steps
                .iter()
                .flat_map(|step| step.kit.iter().map(move |it| (step, it)))
        };
        let in_ovens: Vec<(&PlannedStep, &KitSpan)> = steps()
            .filter(|(_, span)| span.name == kit.name && span.which.is_some())
            .collect();
        for (at, (one, first)) in in_ovens.iter().enumerate() {
            for (other, second) in &in_ovens[at + 1..] {
                let (Some(heat), Some(other_heat)) = (first.heat, second.heat) else {
                    continue;
                };
                let apart = first.window.end + oven.change <= second.window.start
                    || second.window.end + oven.change <= first.window.start;
                if first.which == second.which && heat != other_heat && !apart {
                    wrong.push(format!("{} and {} in one oven", one.key, other.key));
                }
            }
        }
        for minute in minutes(plan) {
            let taken: u32 = kit
                .taken
                .iter()
                .filter(|taken| on(std::slice::from_ref(&taken.hours), plan, minute))
                .map(|taken| taken.count.unwrap_or(kit.count))
                .sum();
            for which in 1..=kit.count {
                let of_it =
                    |span: &&KitSpan| span.which == Some(which) && span.window.contains(minute);
                let used: u32 = in_ovens
                    .iter()
                    .map(|it| it.1)
                    .filter(of_it)
                    .map(|it| it.count)
                    .sum();
                let there = if which > kit.count.saturating_sub(taken) {
                    0
                } else {
                    oven.shelves
                };
                if used > there {
                    wrong.push(format!(
                        "{used} in {} {which} at {}",
                        kit.name,
                        plan.service.local(minute)
                    ));
                    return;
                }
            }
        }
    }
}

fn kit(menu: &Menu, plan: &Plan, wrong: &mut Vec<String>) {
    for kit in &menu.kitchen.kit {
        for minute in minutes(plan) {
            let used: u32 = plan
                .steps
                .iter()
                .flat_map(|step| &step.kit)
                .filter(|span| span.name == kit.name && span.window.contains(minute))
                .map(|span| span.count)
                .sum();
            let taken: u32 = kit
                .taken
                .iter()
                .filter(|taken| on(std::slice::from_ref(&taken.hours), plan, minute))
                .map(|taken| taken.count.unwrap_or(kit.count))
                .sum();
            if used > kit.count.saturating_sub(taken) * kit.oven.map_or(1, |oven| oven.shelves) {
                wrong.push(format!(
                    "{used} × {} at {}",
                    kit.name,
                    plan.service.local(minute)
                ));
                break;
            }
        }
    }
    for planned in &plan.steps {
        let step = &menu.dishes[planned.dish].steps[planned.step];
        let (_, _, uses) = way(menu, planned);
        let mut wanted: BTreeMap<(&str, Option<i32>), u32> = BTreeMap::new();
        let varies = |kit: &str, count: u32| varies(menu, planned, kit, count);
        let fixed = |used: &&KitUse| !varies(&used.kit, used.count);
        for used in uses
            .iter()
            .filter(|_| !planned.window.is_empty())
            .filter(fixed)
        {
            let kit = menu.kitchen.kit(&used.kit).unwrap().1;
            *wanted.entry((&kit.name, used.heat)).or_default() += used.count;
        }
        for (&(name, heat), &count) in &wanted {
            let kind = menu
                .kitchen
                .kit
                .iter()
                .find(|kit| kit.name == *name)
                .unwrap();
            let shelves = kind.oven.map_or(u32::MAX, |oven| oven.shelves);
            let spans: Vec<&KitSpan> = planned
                .kit
                .iter()
                .filter(|it| it.name == *name && it.window == planned.window && it.heat == heat)
                .collect();
            let has: u32 = spans.iter().map(|it| it.count).sum();
            // Shelves of one oven where they fit into one, whole ovens where not.
            let right = match heat {
                Some(_) if count <= shelves => spans.len() == 1 && has == count,
                Some(_) => has == count.div_ceil(shelves) * shelves,
                None => has >= count,
            };
            if !right {
                wrong.push(format!("{}: without its {name}", planned.key));
            }
        }
        let filled = uses.iter().map(|used| (&used.kit, used.count));
        let filled = filled.chain(step.keeps_kit.iter().map(|keep| (&keep.kit, keep.count)));
        for (kit, _) in filled.filter(|(kit, count)| varies(kit, *count)) {
            if !planned.window.is_empty() && !has_room(menu, planned) {
                wrong.push(format!("{}: does not fill its {kit}", planned.key));
            }
        }
        for keep in step
            .keeps_kit
            .iter()
            .filter(|keep| !varies(&keep.kit, keep.count))
        {
            let name = &menu.kitchen.kit(&keep.kit).unwrap().1.name;
            let kept = planned.kit.iter().filter(|it| it.name == *name);
            if kept.map(|it| it.count).sum::<u32>() < keep.count {
                wrong.push(format!("{}: does not keep its {name}", planned.key));
            }
        }
    }
}

/// Whether so many of a piece of kit stand for what each batch fills, which differs from batch to batch.
fn varies(menu: &Menu, planned: &PlannedStep, kit: &str, count: u32) -> bool {
    let dish = &menu.dishes[planned.dish];
    let per_batch = dish.steps[planned.step].each == Multiple::Batch;
    dish.batch.as_ref().is_some_and(|batch| {
        per_batch
            && (batch.also.is_some() || batch.last == Last::Part)
            && batch.vessel.as_deref() == Some(kit)
            && batch.vessels == count
    })
}

/// Whether the vessels a step has hold what its batch makes.
fn has_room(menu: &Menu, planned: &PlannedStep) -> bool {
    let dish = &menu.dishes[planned.dish];
    let batch = dish.batch.as_ref().unwrap();
    let wanted = menu.covers_of(dish).saturating_add(dish.spare);
    // Where the cook has decided how many batches there are, each makes its share at least.
    let portions = match (batch.last, dish.batches) {
        (Last::Whole, _) => batch.portions,
        (Last::Part, Some(batches)) => (wanted / batches).min(batch.portions),
        (Last::Part, None) => {
            let before = u64::from(planned.key.batch - 1) * u64::from(batch.portions);
            let left = u64::from(wanted).saturating_sub(before);
            left.min(u64::from(batch.portions)) as u32
        }
    };
    let has = |id: &Option<String>| {
        let (_, kit) = id.as_deref().and_then(|id| menu.kitchen.kit(id))?;
        let of_it = planned.kit.iter().filter(|it| it.name == kit.name);
        Some((kit.holds, of_it.map(|it| u64::from(it.count)).sum::<u64>()))
    };
    let of = [has(&batch.vessel), has(&batch.also)];
    let room: Option<u64> = of
        .iter()
        .flatten()
        .map(|&(holds, count)| Some(u64::from(holds?) * count))
        .sum();
    match room {
        Some(room) => room >= u64::from(portions) || of[0].unwrap().1 >= u64::from(batch.vessels),
        None => {
            of[0].unwrap().1 * u64::from(batch.portions)
                >= u64::from(portions) * u64::from(batch.vessels)
        }
    }
}

/// Steps that must be ready together end at the same minute.
fn together(dish: &Dish, plan: &Plan, planned: &PlannedStep, wrong: &mut Vec<String>) {
    let step = &dish.steps[planned.step];
    for other in &step.together {
        let ends: Vec<&PlannedStep> = plan
            .steps
            .iter()
            .filter(|it| it.key.dish == dish.id && it.key.step == *other)
            .collect();
        let group = |id: &str| {
            dish.repeats
                .iter()
                .position(|it| it.steps.iter().any(|step| step == id))
        };
        let times = |id: &str| group(id).map_or(1, |at| dish.repeats[at].times);
        let one_group = group(&step.id).is_some() && group(&step.id) == group(other);
        for partner in ends {
            // Of rounds of their own, it is the last of each that must be ready.
            let meet = if one_group {
                partner.key.round == planned.key.round
            } else {
                partner.key.round == times(other) && planned.key.round == times(&step.id)
            };
            // A part is ready with its own part of the other step; with all of them where that has no such part. The
            // card says which it has: what has begun may stand no longer among what is looked at.
            let has = |part: &String| {
                let mut others = dish.steps.iter().filter(|it| it.id == *other);
                others.any(|it| matches!(&it.each, Multiple::Parts(parts) if parts.contains(part)))
            };
            let knows = planned.key.part.as_ref().is_some_and(has);
            let parts = partner.key.part.is_none()
                || planned.key.part.is_none()
                || partner.key.part == planned.key.part
                || !knows;
            if meet
                && parts
                && partner.key.batch == planned.key.batch
                && partner.window.end != planned.window.end
            {
                wrong.push(format!("{} and {} end apart", planned.key, partner.key));
            }
        }
    }
}

/// Gaps between steps done once, of the same batch, or of all batches; rounds only within themselves.
fn gaps(menu: &Menu, plan: &Plan, wrong: &mut Vec<String>) {
    let edge = |step: &PlannedStep, edge: Edge| match edge {
        Edge::Start => step.window.start,
        Edge::End => step.window.end,
    };
    for planned in &plan.steps {
        let dish = &menu.dishes[planned.dish];
        let step = &dish.steps[planned.step];
        for after in &step.after {
            let (other_dish, other) = after
                .step
                .split_once('/')
                .unwrap_or((&dish.id, &after.step));
            let rounds = |id: &str| {
                let group = dish
                    .repeats
                    .iter()
                    .find(|it| it.steps.iter().any(|step| step == id));
                group.map_or(1, |group| group.times)
            };
            if rounds(&step.id) > 1 || (other_dish == dish.id && rounds(other) > 1) {
                continue;
            }
            for before in &plan.steps {
                let same_batch = before.key.batch == planned.key.batch
                    || menu.dishes[before.dish].steps[before.step].each != Multiple::Batch
                    || step.each != Multiple::Batch;
                let same_part = match (&before.key.part, &planned.key.part) {
                    (Some(one), Some(another)) => one == another,
                    _ => true,
                };
                if before.key.dish != other_dish
                    || before.key.step != other
                    || !same_batch
                    || !same_part
                {
                    continue;
                }
                let gap = edge(planned, after.to) - edge(before, after.from);
                let name = format!("{} after {}", planned.key, before.key);
                match after.gap.least {
                    GapLeast::Elapsed(least) if gap < least => {
                        wrong.push(format!("{name}: only {gap}"));
                    }
                    GapLeast::Nights(nights) => {
                        let (from, to) = (edge(before, after.from), edge(planned, after.to));
                        let passed = plan
                            .openings
                            .iter()
                            .filter(|&&it| from < it && it <= to)
                            .count();
                        if passed < nights as usize {
                            wrong.push(format!("{name}: {passed} nights"));
                        }
                    }
                    GapLeast::Elapsed(_) => {}
                }
                if after.gap.most.is_some_and(|most| gap > most) {
                    wrong.push(format!("{name}: {gap} is too long"));
                }
                let waited = planned.window.start - before.window.end;
                let keeps = menu.dishes[before.dish].steps[before.step].fresh.keeps;
                if keeps.is_some_and(|keeps| waited > keeps) {
                    wrong.push(format!("{name}: kept for {waited}"));
                }
            }
        }
        together(dish, plan, planned, wrong);
        let last = planned.followed_by.is_empty();
        let waited = Minute::SERVICE + menu.course_of(dish).offset - planned.window.end;
        if last && dish.fresh.keeps.is_some_and(|keeps| waited > keeps) {
            wrong.push(format!("{}: waits {waited} for its course", planned.key));
        }
    }
}
