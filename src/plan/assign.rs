//! Which cook does what.
//!
//! The engine has seen to it that there are hands enough at every minute, with the skills that are asked for
//! ([`shared`](super::shared)); here they are given names. Time is gone through from one change to the next
//! (a stretch of hands begins or ends, a cook comes or goes). Whoever is at a stretch stays at it. A stretch
//! without a cook gets the best who is free: one who can stay to its end, then whoever began the step, then
//! whoever has fewer skills to spare, has worked on the dish, has least to do. Where nobody free will do, others
//! change places along an augmenting path (Kuhn, *The Hungarian method for the assignment problem*, 1955; from
//! memory), so that whenever an assignment exists it is found. Cooks on their shifts come first, and those who
//! could stay longer only for what is then still without hands, so that no more overtime is given than must be.

use std::cmp::Reverse;

use super::from_menu::Bridge;
use super::run_sheet::Done;
use crate::schedule::Schedule;
use crate::time::{Minute, Window};

/// A stretch of hands with the cooks it is given to.
#[derive(Clone, Debug)]
pub(super) struct Given {
    pub(super) window: Window,
    /// In the order in which they take it up; more than hands where one hands over to another.
    pub(super) cooks: Vec<usize>,
}

/// Who does what.
#[derive(Clone, Debug)]
pub(super) struct Assignment {
    /// For each doing, its stretches in order.
    pub(super) given: Vec<Vec<Given>>,
    /// For each cook, when they must stay beyond their shifts.
    pub(super) overtime: Vec<Vec<Window>>,
}

/// A stretch of hands to be given away.
struct Stretch {
    doing: usize,
    window: Window,
    hands: u32,
    /// Which cooks can do it.
    able: Vec<bool>,
}

/// One pair of hands of a stretch, with who has it now.
struct Place {
    stretch: usize,
    cook: Option<usize>,
}

struct Crew<'a, 'b> {
    bridge: &'a Bridge<'b>,
    stretches: Vec<Stretch>,
    /// For each doing and dish, who has worked on it.
    begun: Vec<Vec<bool>>,
    on_dish: Vec<Vec<bool>>,
    /// How much each cook has been given, in minutes.
    load: Vec<i32>,
    /// How many of the skills that the menu asks for each cook has.
    skills: Vec<usize>,
}

/// Returns who does what on a schedule.
pub(super) fn assign(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    windows: impl Fn(usize) -> Vec<(Window, u32)>,
) -> Assignment {
    let (doings, cooks) = (&bridge.expanded.doings, bridge.shifts.len());
    debug_assert!(schedule.placements.len() >= doings.len());
    let mut crew = Crew::new(bridge, windows);
    let mut times: Vec<Minute> = crew
        .stretches
        .iter()
        .flat_map(|it| [it.window.start, it.window.end])
        .collect();
    let (Some(&first), Some(&last)) = (times.iter().min(), times.iter().max()) else {
        return Assignment {
            given: vec![Vec::new(); doings.len()],
            overtime: vec![Vec::new(); cooks],
        };
    };
    let hours = bridge.shifts.iter().chain(&bridge.overtime).flatten();
    times.extend(
        hours
            .flat_map(|window| [window.start, window.end])
            .filter(|&at| first < at && at < last),
    );
    times.sort_unstable();
    times.dedup();
    let mut places: Vec<Place> = Vec::new();
    let mut had: Vec<Vec<usize>> = vec![Vec::new(); crew.stretches.len()];
    let mut overtime: Vec<Vec<Window>> = vec![Vec::new(); cooks];
    let mut next = 0;
    for pair in times.windows(2) {
        let now = Window::new(pair[0], pair[1]);
        places.retain(|place| crew.stretches[place.stretch].window.end > now.start);
        for place in &mut places {
            if let Some(cook) = place.cook
                && !crew.on_shift(cook, now.start)
            {
                place.cook = None;
                crew.load[cook] -= crew.left(place.stretch, now.start);
            }
        }
        while let Some(stretch) = crew
            .stretches
            .get(next)
            .filter(|it| it.window.start <= now.start)
        {
            let hands = stretch.hands;
            places.extend((0..hands).map(|_| Place {
                stretch: next,
                cook: None,
            }));
            next += 1;
        }
        for with_overtime in [false, true] {
            for at in 0..places.len() {
                if places[at].cook.is_none() {
                    crew.give(&mut places, at, now.start, with_overtime);
                }
            }
        }
        for place in &places {
            let Some(cook) = place.cook else { continue };
            let stretch = &crew.stretches[place.stretch];
            let dish = doings[stretch.doing].dish;
            if !had[place.stretch].contains(&cook) {
                had[place.stretch].push(cook);
            }
            crew.begun[stretch.doing][cook] = true;
            crew.on_dish[dish][cook] = true;
            if !crew.on_shift(cook, now.start) {
                match overtime[cook].last_mut() {
                    Some(window) if window.end == now.start => window.end = now.end,
                    _ => overtime[cook].push(now),
                }
            }
        }
    }
    let mut given: Vec<Vec<Given>> = vec![Vec::new(); doings.len()];
    for (stretch, cooks) in crew.stretches.iter().zip(had) {
        given[stretch.doing].push(Given {
            window: stretch.window,
            cooks,
        });
    }
    for stretches in &mut given {
        stretches.sort_by_key(|given| given.window.start);
    }
    Assignment { given, overtime }
}

impl<'a, 'b> Crew<'a, 'b> {
    fn new(bridge: &'a Bridge<'b>, windows: impl Fn(usize) -> Vec<(Window, u32)>) -> Self {
        let cooks = &bridge.menu.kitchen.cooks;
        let doings = &bridge.expanded.doings;
        let mut asked: Vec<&str> = Vec::new();
        let mut stretches = Vec::new();
        for index in 0..doings.len() {
            let over = matches!(
                bridge.happened[index],
                Some(Done::Finished(..) | Done::Skipped(_))
            );
            let (_, _, step) = bridge.doing(index);
            let skill = step.skill.as_deref();
            asked.extend(skill);
            if over {
                continue;
            }
            let can =
                |has: &Vec<String>| skill.is_none_or(|skill| has.iter().any(|it| it == skill));
            let able: Vec<bool> = cooks.iter().map(|cook| can(&cook.skills)).collect();
            stretches.extend(windows(index).into_iter().map(|(window, hands)| Stretch {
                doing: index,
                window,
                hands,
                able: able.clone(),
            }));
        }
        // Long stretches first among those that begin together: they are the hardest to cover whole.
        stretches.sort_by_key(|it| (it.window.start, Reverse(it.window.length()), it.doing));
        let skills = cooks.iter().map(|cook| {
            let has = |skill: &&String| asked.contains(&skill.as_str());
            cook.skills.iter().filter(has).count()
        });
        Self {
            bridge,
            stretches,
            begun: vec![vec![false; cooks.len()]; doings.len()],
            on_dish: vec![vec![false; cooks.len()]; bridge.menu.dishes.len()],
            load: vec![0; cooks.len()],
            skills: skills.collect(),
        }
    }

    /// Returns the minutes of a stretch that are left.
    fn left(&self, stretch: usize, now: Minute) -> i32 {
        (self.stretches[stretch].window.end - now).0
    }

    fn on_shift(&self, cook: usize, at: Minute) -> bool {
        self.bridge.shifts[cook].iter().any(|on| on.contains(at))
    }

    /// Returns until when a cook can stay, who is there at `at`; nothing where they are not.
    fn stays(&self, cook: usize, at: Minute, with_overtime: bool) -> Option<Minute> {
        let more: &[Window] = if with_overtime {
            &self.bridge.overtime[cook]
        } else {
            &[]
        };
        let mut hours = self.bridge.shifts[cook].iter().chain(more);
        hours.find(|on| on.contains(at)).map(|on| on.end)
    }

    /// Gives one place to a cook who is free, or has others change places until one is.
    fn give(&mut self, places: &mut [Place], at: usize, now: Minute, with_overtime: bool) {
        let mut asked = vec![false; self.load.len()];
        self.find(places, at, now, with_overtime, &mut asked);
    }

    /// Looks for a cook for a place, along an augmenting path; `asked` are the cooks already on it.
    fn find(
        &mut self,
        places: &mut [Place],
        at: usize,
        now: Minute,
        with_overtime: bool,
        asked: &mut [bool],
    ) -> bool {
        let ranked = self.ranked(places[at].stretch, now, with_overtime);
        let holder =
            |places: &[Place], cook: usize| places.iter().position(|it| it.cook == Some(cook));
        let free = ranked
            .iter()
            .copied()
            .find(|&cook| !asked[cook] && holder(places, cook).is_none());
        if let Some(cook) = free {
            self.take(places, at, cook, now);
            return true;
        }
        for cook in ranked {
            if asked[cook] {
                continue;
            }
            asked[cook] = true;
            let Some(other) = holder(places, cook) else {
                continue;
            };
            if other != at && self.find(places, other, now, with_overtime, asked) {
                self.take(places, at, cook, now);
                return true;
            }
        }
        false
    }

    fn take(&mut self, places: &mut [Place], at: usize, cook: usize, now: Minute) {
        let minutes = self.left(places[at].stretch, now);
        if let Some(before) = places[at].cook.replace(cook) {
            self.load[before] -= minutes;
        }
        self.load[cook] += minutes;
    }

    /// Returns the cooks who are there and can do a stretch, the best first.
    fn ranked(&self, stretch: usize, now: Minute, with_overtime: bool) -> Vec<usize> {
        let stretch = &self.stretches[stretch];
        let dish = self.bridge.expanded.doings[stretch.doing].dish;
        let mut there: Vec<(Minute, usize)> = (0..self.load.len())
            .filter(|&cook| stretch.able[cook])
            .filter_map(|cook| Some((self.stays(cook, now, with_overtime)?, cook)))
            .collect();
        there.sort_by_key(|&(until, cook)| {
            (
                Reverse(until.min(stretch.window.end)),
                !self.begun[stretch.doing][cook],
                self.skills[cook],
                !self.on_dish[dish][cook],
                self.load[cook],
                cook,
            )
        });
        there.into_iter().map(|(_, cook)| cook).collect()
    }
}
