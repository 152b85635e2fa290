//! What is wanted and not required → wishes and levels of the instance.

use super::from_menu::{Bound, Bridge, HANDS};
use super::hours;
use super::weights::{BEST, HOUR};
use crate::menu::Style;
use crate::schedule::{ActivityId, Edge, Level, Time, Wish};

impl Bridge<'_> {
    /// Food is wanted at its best: by the step that takes it, and what is taken by none, by its course.
    pub(super) fn wishes(&mut self) {
        let end = |index: usize| (ActivityId(index), Edge::End);
        let best_by = |from: usize, to: (ActivityId, Edge), best: Time| Wish {
            from: end(from),
            to,
            least: None,
            most: Some(best),
            weight: BEST,
        };
        let mut wishes = Vec::new();
        for link in &self.expanded.links {
            let (_, _, step) = self.doing(link.from);
            if let Some(best) = step.fresh.best
                && !self.is_skipped(link.from)
                && !self.is_skipped(link.to)
            {
                let to = (ActivityId(link.to), Edge::Start);
                let wish = best_by(link.from, to, best.0);
                if !wishes.contains(&wish) {
                    wishes.push(wish);
                }
            }
        }
        for index in 0..self.expanded.doings.len() {
            let (_, dish, step) = self.doing(index);
            let taken = self.expanded.links.iter().any(|link| link.from == index);
            let best = step.fresh.best.into_iter().chain(dish.fresh.best).min();
            if let (false, false, Some(best)) = (taken, self.is_skipped(index), best) {
                let course = (self.course_of(index), Edge::Start);
                wishes.push(best_by(index, course, best.0));
            }
        }
        self.instance.wishes = wishes;
    }

    /// *Even* spreads the hands over the hours in which anybody works.
    pub(super) fn levels(&mut self, bound: Bound) {
        if self.menu.style != Style::Even {
            return;
        }
        let from = match bound {
            Bound::Now(now) => now.0,
            Bound::Menu | Bound::None => Time::MIN,
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
