//! Now and next: what a cook at the stove has to know, and nothing else.
//!
//! Two lists. What *runs*, with when it is over; and what *wants hands*, with when: steps to start, looks at what runs
//! (stir, skim, turn: counted from when the step really began), and hands to take off what ends. Both are in the order
//! of their times, so that what matters most stands on top. Where no plan gives times, what runs still has its looks and
//! an end by its card, and what has not begun wants hands at no time that could be told.
//!
//! # Left out
//! A step that is left alone from its start to its end is not among what wants hands unless it should have begun: it
//! begins when what goes before it ends.

use super::watch::LOOKED_AT;
use super::{PrepState, Progress, Standing, expected_end, standing};
use crate::menu::{Hands, Look, Menu, Step, StepTime};
use crate::plan::{Named, Plan, PlannedStep, StepIndex, StepKey, named};
use crate::time::{Minute, Minutes, ServiceTime, Window};

/// Now and next.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NowAndNext {
    /// What runs, what is over first on top.
    pub runs: Vec<Runs>,
    /// What wants hands, in the order of the times.
    pub wants: Vec<Wants>,
    /// How many steps are over or will not be done.
    pub over: usize,
    /// How many of those will not be done.
    pub skipped: usize,
    /// How many steps there are.
    pub steps: usize,
    /// How many steps have not begun and no plan says when they should.
    pub untimed: usize,
    /// How much more will want hands, further on.
    pub later: usize,
}

/// How far ahead a cook at the stove looks.
const AHEAD: Minutes = Minutes::hours(12);

/// What wants hands is told so many at least, however far ahead, and so many at most, however near.
const TOLD: (usize, usize) = (3, 12);

/// Which step, and whose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Of {
    /// Its key.
    pub key: StepKey,
    /// The name of the step.
    pub name: String,
    /// The name of the dish.
    pub dish: String,
    /// The cooks it is given to; none where nobody is named, so that it is everybody's.
    pub cooks: Vec<String>,
    /// Where it is done.
    pub station: Option<String>,
}

/// A step that runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Runs {
    /// Which.
    pub of: Of,
    /// Since when.
    pub since: Minute,
    /// When it is over; none where nothing says so.
    pub end: Option<Minute>,
    /// When it is looked at next.
    pub look: Option<Minute>,
    /// The test that ends it, in the words of its card.
    pub until: Option<String>,
}

impl Runs {
    /// Returns what is left of it; negative where its end has passed, nothing where that is now, none where it is not
    /// known.
    pub fn left(&self, now: Minute) -> Option<Minutes> {
        Some(self.end? - now)
    }
}

/// Something that wants hands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wants {
    /// Which step.
    pub of: Of,
    /// What for.
    pub what: Want,
    /// From when.
    pub at: Minute,
    /// When it was told to start, where that is another time and it stands at one still to come.
    pub was: Option<Minute>,
    /// How many hands.
    pub hands: u32,
    /// Whether it should have been by now.
    pub is_late: bool,
}

/// What hands are wanted for; of what falls into the same minute, the first of these comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Want {
    /// To take off what ends.
    TakeOff,
    /// To look at it: stir, skim, turn.
    Look,
    /// To start it.
    Start,
}

impl Want {
    /// Returns the word on the page.
    pub fn word(self) -> &'static str {
        match self {
            Self::TakeOff => "take off",
            Self::Look => "look",
            Self::Start => "start",
        }
    }
}

/// Returns how many steps are done, and how many will not be, where some are skipped: `6 of 112 done, 1 skipped`.
pub fn done_words(over: usize, skipped: usize, steps: usize) -> String {
    let done = over.saturating_sub(skipped);
    match skipped {
        0 => format!("{done} of {steps} done"),
        skipped => format!("{done} of {steps} done, {skipped} skipped"),
    }
}

impl NowAndNext {
    /// Returns what stands at a minute, by the plan where there is one.
    pub fn of(
        menu: &Menu,
        plan: Option<&Plan>,
        prep: &PrepState,
        service: ServiceTime,
        now: Minute,
    ) -> Self {
        let mut found = Self::default();
        match plan {
            Some(plan) => {
                for index in 0..plan.steps.len() {
                    found.planned(menu, plan, index, prep, now);
                }
            }
            None => {
                for named in named(menu) {
                    found.unplanned(menu, &named, prep, service, now);
                }
            }
        }
        found.runs.sort_by_key(|runs| {
            let end = runs.end.unwrap_or(Minute(i32::MAX));
            (end, runs.since, runs.of.key.clone())
        });
        found
            .wants
            .sort_by_key(|wants| (wants.at, wants.what, wants.of.key.clone()));
        found
    }

    /// Leaves only what these cooks and stations have to do; all of it where none is named. What nobody in particular
    /// has is left.
    pub fn only(&mut self, is_wanted: impl Fn(&Of) -> bool) {
        self.runs.retain(|runs| is_wanted(&runs.of));
        self.wants.retain(|wants| is_wanted(&wants.of));
    }

    /// Leaves of what wants hands only what is near: a shift ahead, a few at least, and no more than can be taken in.
    pub fn near(&mut self, now: Minute) {
        let all = self.wants.len();
        let near = self
            .wants
            .iter()
            .take_while(|wants| wants.at <= now + AHEAD)
            .count();
        self.wants.truncate(near.clamp(TOLD.0, TOLD.1));
        self.later += all - self.wants.len();
    }

    fn planned(
        &mut self,
        menu: &Menu,
        plan: &Plan,
        index: StepIndex,
        prep: &PrepState,
        now: Minute,
    ) {
        let planned = &plan.steps[index];
        self.steps += 1;
        let of = Of {
            key: planned.key.clone(),
            name: planned.name.clone(),
            dish: dish_name(menu, planned.dish),
            cooks: cooks(planned, planned.window),
            station: planned.station.clone(),
        };
        let card = step(menu, planned.dish, planned.step);
        let way = planned.way.as_ref().map(|way| way.place);
        let asked = card.map(|card| hands_of(card, way));
        match prep.progress(&planned.key) {
            Progress::Finished { .. } => self.over += 1,
            Progress::Skipped { .. } => {
                self.over += 1;
                self.skipped += 1;
            }
            Progress::Running { .. } => {
                let window = Window::new(planned.window.start, planned.to_end());
                self.running(of, window, card, asked, now);
            }
            // What is left out of what can still be has no time; what must be over wants no hands.
            Progress::Waiting if plan.is_given_up(index) => self.untimed += 1,
            Progress::Waiting if planned.is_presumed => {}
            Progress::Waiting => {
                let is_late = standing(plan, prep, index, now) == Standing::Late;
                let hands = planned.most_hands();
                if hands == 0 && !is_late {
                    return;
                }
                self.wants.push(Wants {
                    of,
                    what: Want::Start,
                    at: planned.window.start,
                    was: planned.told.filter(|_| planned.window.start > now),
                    hands,
                    is_late: is_late || planned.window.start < now,
                });
            }
        }
    }

    fn unplanned(
        &mut self,
        menu: &Menu,
        named: &Named,
        prep: &PrepState,
        service: ServiceTime,
        now: Minute,
    ) {
        self.steps += 1;
        let card = step(menu, named.dish, named.step);
        let of = Of {
            key: named.key.clone(),
            name: named.name.clone(),
            dish: dish_name(menu, named.dish),
            cooks: Vec::new(),
            station: card.and_then(|card| station_name(menu, card)),
        };
        match prep.progress(&named.key) {
            Progress::Finished { .. } => self.over += 1,
            Progress::Skipped { .. } => {
                self.over += 1;
                self.skipped += 1;
            }
            Progress::Waiting => self.untimed += 1,
            Progress::Running { since } => {
                let since = service.minute(since);
                let said = expected_end(menu, prep, &named.key).map(|end| service.minute(end));
                let end = said.or_else(|| card.and_then(|card| end_by_card(&card.time, since)));
                // Without an end it is looked at for as long as it runs.
                let window = Window::new(since, end.unwrap_or(now + Minutes::days(1)));
                self.running(of, window, card, card.map(|card| &card.hands), now);
                if end.is_none()
                    && let Some(runs) = self.runs.last_mut()
                {
                    runs.end = None;
                }
            }
        }
    }

    fn running(
        &mut self,
        of: Of,
        window: Window,
        card: Option<&Step>,
        hands: Option<&Hands>,
        now: Minute,
    ) {
        let look = hands.and_then(|hands| hands.look);
        let looked_at = if window.end <= now {
            Window::new(window.start, window.end + LOOKED_AT)
        } else {
            window
        };
        let next = look.and_then(|look| next_look(looked_at, look, now));
        if let (Some(look), Some(at)) = (look, next) {
            self.wants.push(Wants {
                of: of.clone(),
                what: Want::Look,
                at,
                was: None,
                hands: look.hands,
                is_late: false,
            });
        }
        if let Some(off) = hands.and_then(|hands| hands.take_off) {
            let at = (window.end - off.time).max(window.start);
            self.wants.push(Wants {
                of: of.clone(),
                what: Want::TakeOff,
                at,
                was: None,
                hands: off.hands,
                is_late: window.end <= now,
            });
        }
        self.runs.push(Runs {
            of,
            since: window.start,
            end: Some(window.end),
            look: next,
            until: card.and_then(|card| card.until.clone()),
        });
    }
}

/// Returns when a step that runs in a window is looked at next, one look that is under way included. Looks are counted
/// from its start, and one that does not lie whole inside it is left out, as on the plan.
pub fn next_look(window: Window, look: Look, now: Minute) -> Option<Minute> {
    // In 64 bits, where no card's look overflows.
    let (every, length) = (
        i64::from(look.every.0.max(1)),
        i64::from(look.time.0.max(1)),
    );
    // The first whose last minute has not passed.
    let passed = i64::from(now.0) - i64::from(window.start.0) - (length - 1);
    let number = (passed.max(1) + every - 1) / every;
    let at = i64::from(window.start.0) + number * every;
    let lies_inside = at + i64::from(look.time.0) <= i64::from(window.end.0);
    let at = i32::try_from(at).ok()?;
    lies_inside.then_some(Minute(at))
}

fn step(menu: &Menu, dish: usize, step: usize) -> Option<&Step> {
    menu.dishes.get(dish)?.steps.get(step)
}

fn dish_name(menu: &Menu, dish: usize) -> String {
    menu.dishes
        .get(dish)
        .map_or(String::new(), |dish| dish.name.clone())
}

fn station_name(menu: &Menu, card: &Step) -> Option<String> {
    let wanted = card.station.as_ref()?;
    let mut stations = menu.kitchen.stations.iter();
    stations
        .find(|(id, _)| id == wanted)
        .map(|(_, name)| name.clone())
}

fn hands_of(card: &Step, way: Option<usize>) -> &Hands {
    way.and_then(|way| card.ways.get(way))
        .map_or(&card.hands, |way| &way.hands)
}

/// Returns the cooks whose hands a step has within a window, each once.
fn cooks(planned: &PlannedStep, within: Window) -> Vec<String> {
    let spans = planned
        .hands
        .iter()
        .filter(|span| span.window.overlaps(within));
    let mut cooks: Vec<String> = spans.flat_map(|span| span.cooks.iter().cloned()).collect();
    cooks.sort_unstable();
    cooks.dedup();
    cooks
}

/// Returns when a step that began at a moment is over by its card alone; none where its length depends on more.
fn end_by_card(time: &StepTime, since: Minute) -> Option<Minute> {
    match time {
        StepTime::Elapsed(work) if !work.grows() => {
            Some(since + Minutes::from_seconds_rounded_up(work.booked()))
        }
        StepTime::Elapsed(_) | StepTime::Clock { .. } => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::menu::Work;

    fn look(every: i32, time: i32) -> Look {
        Look {
            every: Minutes(every),
            time: Minutes(time),
            hands: 1,
        }
    }

    /// Thirty minutes for two litres are no thirty minutes of whatever is in the pan.
    #[test]
    fn a_card_alone_knows_no_end_of_what_grows() {
        let fixed = Work::fixed(Minutes(30));
        let end = |work: Work| end_by_card(&StepTime::Elapsed(work), Minute(5));
        assert_eq!(end(fixed.clone()), Some(Minute(35)));
        let for_volume = Some(2000.0);
        assert_eq!(
            end(Work {
                for_volume,
                ..fixed.clone()
            }),
            None
        );
        assert_eq!(
            end(Work {
                per_piece: 4,
                ..fixed
            }),
            None
        );
    }

    #[test]
    fn looks_are_counted_from_the_real_start() {
        let window = Window::new(Minute(3), Minute(53));
        let next = |now| next_look(window, look(15, 2), Minute(now)).map(|at| at.0);
        // Begun at 3: looked at at 18, 33, 48; the one at 48 ends at 50, inside.
        for (now, at) in [
            (0, 18),
            (3, 18),
            (17, 18),
            (18, 18),
            (19, 18),
            (20, 33),
            (33, 33),
            (35, 48),
        ] {
            assert_eq!(next(now), Some(at), "at {now}");
        }
        assert_eq!(next(50), None, "the next would end after the step");
        assert_eq!(next_look(window, look(15, 6), Minute(40)), None);
    }

    #[test]
    fn any_look_is_borne() {
        for (every, time) in [(0, 0), (-5, -5), (i32::MAX, i32::MAX), (1, 1)] {
            for now in [-1_000_000, 0, 1_000_000] {
                let window = Window::new(Minute(0), Minute(60));
                let _ = next_look(window, look(every, time), Minute(now));
            }
        }
    }
}
