//! What is wanted and not required → wishes and levels of the instance.

use super::from_menu::{Bound, Bridge, HANDS, Stretched};
use super::hours;
use super::order::edge;
use super::weights::{BEST, HOUR, LATE, MARGIN, NEAR, NEXT, REACH};
use crate::menu::{GapLeast, Style};
use crate::schedule::{ActivityId, Edge, Level, Wish};
use crate::time::Minute;

/// What a wish stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wanted {
    /// A doing is over with its dish's margin in hand.
    Margin(usize),
    /// What a doing makes is taken, or served, at its best.
    Best(usize),
    /// A doing is over by its course, where that may be missed.
    Course(usize),
    /// A doing comes within its gap after what has happened, where that may be stretched.
    Gap(usize),
    /// A doing that was told for now, or soon, begins then: nobody stands idle beside it.
    Next(usize),
}

impl Bridge<'_> {
    /// Food is wanted at its best, by the step that takes it, and what is taken by none by its course; and a
    /// dish with its margin in hand.
    pub(super) fn wishes(&mut self) {
        let end = |index: usize| (ActivityId(index), Edge::End);
        let mut wishes: Vec<(Wish, Wanted)> = Vec::new();
        let mut want = |index: usize, to: (ActivityId, Edge), least, most, weight, wanted| {
            let wish = Wish {
                from: end(index),
                to,
                least,
                most,
                weight,
            };
            if !wishes.contains(&(wish, wanted)) {
                wishes.push((wish, wanted));
            }
        };
        for link in &self.expanded.links {
            let (_, _, step) = self.doing(link.from);
            if let Some(best) = step.fresh.best
                && !self.is_skipped(link.from)
                && !self.is_skipped(link.to)
            {
                let to = (ActivityId(link.to), Edge::Start);
                let wanted = Wanted::Best(link.from);
                want(link.from, to, None, Some(best.0), BEST, wanted);
            }
        }
        for index in 0..self.expanded.doings.len() {
            let (doing, dish, step) = self.doing(index);
            let course = (self.course_of(index), Edge::Start);
            let mut next = self.expanded.links.iter().filter(|link| link.from == index);
            let taken = next.clone().next().is_some();
            let best = step.fresh.best.into_iter().chain(dish.fresh.best).min();
            if let (false, false, Some(best)) = (taken, self.is_skipped(index), best) {
                want(index, course, None, Some(best.0), BEST, Wanted::Best(index));
            }
            let last_of_dish = next.all(|link| self.expanded.doings[link.to].dish != doing.dish);
            if last_of_dish && dish.margin.0 > 0 {
                let (least, wanted) = (Some(dish.margin.0), Wanted::Margin(index));
                want(index, course, least, None, MARGIN, wanted);
            }
        }
        if matches!(self.bound, Bound::Late { .. }) {
            for dish in 0..self.menu.dishes.len() {
                let ends = self.ends_of(dish);
                // However many batches it is plated in, a dish that is a minute late is late by a minute.
                let share = LATE / i32::try_from(ends.len()).unwrap_or(LATE).max(1);
                for index in ends {
                    let course = (self.course_of(index), Edge::Start);
                    let wanted = Wanted::Course(index);
                    want(index, course, Some(0), None, share.max(1), wanted);
                }
            }
        }
        for index in 0..self.expanded.doings.len() {
            let Some(by) = self.is_next(index) else {
                continue;
            };
            // So long before its course as that is.
            let course = self.course_of(index);
            let (_, dish, _) = self.doing(index);
            let before = self.menu.course_of(dish).offset.0 - by.0;
            let wish = Wish {
                from: (ActivityId(index), Edge::Start),
                to: (course, Edge::Start),
                least: Some(before),
                most: None,
                weight: NEXT,
            };
            wishes.push((wish, Wanted::Next(index)));
        }
        for &Stretched { from, to, most } in &self.stretched {
            let wish = Wish {
                from: (ActivityId(from.0), edge(from.1)),
                to: (ActivityId(to.0), edge(to.1)),
                least: None,
                most: Some(most.0),
                weight: LATE,
            };
            wishes.push((wish, Wanted::Gap(to.0)));
        }
        (self.instance.wishes, self.wanted) = wishes.into_iter().unzip();
    }

    /// Returns when a doing that waits is to begin at the latest if nobody is to stand idle beside it: when it was told,
    /// where that is near, or now, where that or a gap before it has passed.
    fn is_next(&self, index: usize) -> Option<Minute> {
        let (Bound::Now(now) | Bound::Late { now, .. }) = self.bound else {
            return None;
        };
        if self.happened[index].is_some() {
            return None;
        }
        if self.passed.contains(&index) {
            return Some(now);
        }
        let told = self.told?.get(&self.expanded.doings[index].key)?;
        (told.start < now + NEAR).then_some(told.start.max(now))
    }

    /// Returns the doings a dish may end with: those that no other of the dish waits for the end of.
    pub(super) fn ends_of(&self, dish: usize) -> Vec<usize> {
        let doings = &self.expanded.doings;
        let is_followed = |index: usize| {
            let mut links = self.expanded.links.iter();
            links.any(|link| {
                let ordered = match link.gap.least {
                    GapLeast::Elapsed(least) => least.0 >= 0,
                    GapLeast::Nights(_) => true,
                };
                link.from == index
                    && link.from_edge == crate::menu::Edge::End
                    && ordered
                    && doings[link.to].dish == dish
            })
        };
        (0..doings.len())
            .filter(|&index| doings[index].dish == dish && !is_followed(index))
            .collect()
    }

    /// *Even* spreads the hands over the hours in which anybody works, as far back as its [`REACH`].
    pub(super) fn levels(&mut self) {
        if self.menu.style != Style::Even {
            return;
        }
        let reach = self.instance.latest - REACH;
        let from = match self.bound {
            Bound::Now(now) | Bound::Late { now, .. } => now.0.max(reach),
            Bound::Menu | Bound::None => reach,
        };
        let manned = self.shifts.iter().chain(&self.overtime).flatten().copied();
        let mut buckets = Vec::new();
        for window in hours::union(manned.collect()) {
            let end = window.end.0.min(self.instance.latest);
            let mut at = window.start.0;
            while at < end {
                let next = (at + HOUR).min(end);
                if next > from {
                    buckets.push((at, next));
                }
                at = next;
            }
        }
        self.instance.levels.push(Level {
            resource: HANDS,
            buckets,
            weight: 1,
        });
    }

    /// Returns the activity that stands for the course of a doing's dish.
    pub(super) fn course_of(&self, index: usize) -> ActivityId {
        let (_, dish, _) = self.doing(index);
        let courses = &self.menu.courses;
        let course = courses.iter().position(|course| course.id == dish.course);
        self.course_activity(course.unwrap_or_default())
    }
}
