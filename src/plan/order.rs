//! What waits for what, and for how long it may → lags of the instance.

use super::expand::Link;
use super::from_menu::{Bound, Bridge, Broken, Meaning, Stretched, at_moment};
use super::run_sheet::Done;
use super::ways::every_way;
use crate::menu::{Edge, GapLeast};
use crate::schedule::{self, ActivityId, Duration, GateId, Lag, Time};
use crate::time::{Minute, Minutes};

impl Bridge<'_> {
    fn lag(&mut self, lag: Lag, meaning: Meaning) {
        self.instance.lags.push(lag);
        self.meaning.push(meaning);
    }

    /// Returns when the last course is at the pass, or service where that is later.
    fn last_course(&self) -> i32 {
        let courses = self.menu.courses.iter();
        courses
            .map(|course| course.offset.0)
            .max()
            .unwrap_or(0)
            .max(0)
    }

    pub(super) fn is_over(&self, doing: usize) -> bool {
        matches!(
            self.happened[doing],
            Some(Done::Finished(..) | Done::Skipped(_))
        )
    }

    pub(super) fn is_skipped(&self, doing: usize) -> bool {
        matches!(self.happened[doing], Some(Done::Skipped(_)))
    }

    /// The activity that stands for a course, at the pass.
    pub(super) fn course_activity(&self, course: usize) -> ActivityId {
        ActivityId(self.expanded.doings.len() + course)
    }

    pub(super) fn courses_and_keeping(&mut self, now: Minute) {
        for course in &self.menu.courses {
            self.instance.activities.push(at_moment(course.offset.0));
        }
        for index in 0..self.expanded.doings.len() {
            let (_, dish, step) = self.doing(index);
            let (dish_keeps, step_keeps) = (dish.fresh.keeps, step.fresh.keeps);
            let last = !self.expanded.links.iter().any(|link| link.from == index);
            let most = if last {
                dish_keeps
                    .into_iter()
                    .chain(step_keeps)
                    .min()
                    .map(|keeps| keeps.0)
            } else {
                None
            };
            let (from, to) = (
                (ActivityId(index), schedule::Edge::End),
                self.course_of(index),
            );
            // A course that may be missed is a wish; what keeps only so long still does not wait longer for it.
            let least = match self.bound {
                Bound::Late { .. } => -self.instance.latest,
                Bound::Now(_) | Bound::Menu | Bound::None => 0,
            };
            let lag = Lag {
                from,
                to: (to, schedule::Edge::Start),
                least,
                most,
            };
            if self.happened[index].is_none() {
                if least == 0 || most.is_some() {
                    self.lag(lag, Meaning::Course(index));
                }
            } else if let (Some(Done::Finished(_, end)), Some(most)) = (self.happened[index], most)
                && self.instance.activities[to.0]
                    .fixed
                    .is_some_and(|(at, _)| at > end.0 + most)
                && now.0 <= self.last_course()
            {
                // Made too early to be served: nothing that is still to come can mend it.
                let until = Minute(end.0 + most);
                self.broken.push(Broken::Keeps { step: index, until });
            }
            // What follows may have been done before it: then too the dish is not ready before it ends.
            let mut links = self.expanded.links.iter();
            let nothing_follows =
                !links.any(|link| link.from == index && self.happened[link.to].is_none());
            let runs = self.happened[index].is_some_and(|done| done.running_since().is_some());
            if let (Some((_, Some(end))), Some((course, _))) = (
                self.instance.activities[index].fixed,
                self.instance.activities[to.0].fixed,
            ) && runs
                && nothing_follows
                && least == 0
                && end > course
            {
                let end = Minute(end);
                self.broken.push(Broken::Course { step: index, end });
            }
        }
    }

    /// Notes that what follows on a link could have begun by then at the latest.
    fn breaks(&mut self, link: &Link, by: Time) {
        self.broken.push(Broken::Gap {
            step: link.to,
            by: Minute(by),
            after: link.from,
        });
    }

    pub(super) fn links(&mut self, now: Minute) {
        for link in self.expanded.links.clone() {
            // A skipped step holds nobody up, and what has begun waits for nothing any more.
            if self.is_skipped(link.from)
                || self.is_skipped(link.to)
                || self.happened[link.to].is_some()
            {
                continue;
            }
            let (_, _, step) = self.doing(link.from);
            let keeps = step.fresh.keeps.map(|keeps| keeps.0);
            let (from, to) = (ActivityId(link.from), ActivityId(link.to));
            let least = match link.gap.least {
                GapLeast::Elapsed(least) => least.0,
                GapLeast::Nights(nights) => {
                    self.nights(link, nights);
                    0
                }
            };
            let mut most = link.gap.most.map(|most| most.0);
            if most.is_none() && self.follows_on(&link) {
                most = Some(0);
            }
            let mut lag = Lag {
                from: (from, edge(link.from_edge)),
                to: (to, edge(link.to_edge)),
                least,
                most,
            };
            // The end of what has happened is known; a most that has already passed can hold nobody to it.
            if let (Some((start, Some(end))), Some(most)) =
                (self.instance.activities[from.0].fixed, lag.most)
                && self.is_over(link.from)
            {
                let last = if link.from_edge == Edge::End {
                    end
                } else {
                    start
                } + most;
                let passed = link.to_edge == Edge::Start && last < now.0;
                if passed && link.gap.most.is_some() {
                    self.breaks(&link, last);
                }
                if passed {
                    lag.most = None;
                    self.passed.push(link.to);
                }
            }
            let stretches = matches!(self.bound, Bound::Late { cards: true, .. })
                && self.happened[link.from].is_some();
            if stretches && let Some(most) = lag.most.take() {
                let (from, to) = ((link.from, link.from_edge), (link.to, link.to_edge));
                let most = Minutes(most);
                self.stretched.push(Stretched { from, to, most });
            }
            self.lag(lag, Meaning::After(link));
            if let Some(keeps) = keeps {
                let mut most = Some(keeps);
                if let Some((_, Some(end))) = self.instance.activities[from.0].fixed
                    && self.is_over(link.from)
                    && end + keeps < now.0
                {
                    self.breaks(&link, end + keeps);
                    self.passed.push(link.to);
                    most = None;
                }
                if stretches && let Some(most) = most.take() {
                    let (from, to) = ((link.from, Edge::End), (link.to, Edge::Start));
                    let most = Minutes(most);
                    self.stretched.push(Stretched { from, to, most });
                }
                let (from, to) = ((from, schedule::Edge::End), (to, schedule::Edge::Start));
                // A step may begin before what it takes is over, where the card says so.
                let least = if link.to_edge == Edge::Start && link.from_edge == Edge::End {
                    0
                } else {
                    -keeps
                };
                self.lag(
                    Lag {
                        from,
                        to,
                        least,
                        most,
                    },
                    Meaning::Keeps,
                );
            }
        }
    }

    /// Parts that must be ready together end at the same minute. Where one runs, the other is to be ready when it will
    /// be, as long as that can still be; where it cannot, nothing is tied to what has happened.
    pub(super) fn together(&mut self, now: Time) {
        for (one, other) in self.expanded.together.clone() {
            let end_of_running = |index: usize| {
                let runs = self.happened[index]?.running_since().is_some();
                self.instance.activities[index].fixed?.1.filter(|_| runs)
            };
            let (from, to) = match (self.happened[one], self.happened[other]) {
                (_, None) => (one, other),
                (None, Some(_)) => (other, one),
                (Some(_), Some(_)) => continue,
            };
            let has_happened = self.happened[from].is_some();
            let mut most = Some(0);
            if has_happened {
                let modes = &self.instance.activities[to].modes;
                let in_time = |end: Time| {
                    let ends = modes.iter().map(|mode| self.instance.end_of(mode, now));
                    ends.flatten().any(|earliest| earliest <= end)
                };
                if !end_of_running(from).is_some_and(in_time) {
                    continue;
                }
                if matches!(self.bound, Bound::Late { cards: true, .. }) {
                    self.stretched.push(Stretched {
                        from: (from, Edge::End),
                        to: (to, Edge::End),
                        most: Minutes(0),
                    });
                    // Later it may be, and that is said; a part that is ready before the other stands as well.
                    most = None;
                }
            }
            let ends = |index: usize| (ActivityId(index), schedule::Edge::End);
            self.lag(
                Lag {
                    from: ends(from),
                    to: ends(to),
                    least: 0,
                    most,
                },
                Meaning::Together,
            );
        }
    }

    /// Batches are alike, so the first is begun first.
    pub(super) fn turns(&mut self) {
        for (one, other) in self.expanded.turns.clone() {
            if self.happened[one].is_none() && self.happened[other].is_none() {
                let (from, to) = (
                    (ActivityId(one), schedule::Edge::Start),
                    (ActivityId(other), schedule::Edge::Start),
                );
                self.lag(
                    Lag {
                        from,
                        to,
                        least: 0,
                        most: None,
                    },
                    Meaning::InTurn,
                );
            }
        }
    }

    /// Whether a doing begins by itself the moment the one before it is over.
    fn follows_on(&self, link: &Link) -> bool {
        let (_, _, step) = self.doing(link.to);
        let untouched = every_way(step)
            .all(|(_, card)| card.hands.throughout == 0 && card.hands.put_on.is_none());
        let plain = link.gap == crate::menu::Gap::default()
            && link.from_edge == Edge::End
            && link.to_edge == Edge::Start;
        let only = self
            .expanded
            .links
            .iter()
            .filter(|other| other.to == link.to)
            .count()
            == 1;
        let unbound =
            step.not_before.is_none() && step.within.is_none() && step.together.is_empty();
        untouched && plain && only && unbound
    }

    /// A wait of so many nights between two edges: an activity of its own that ends when the kitchen opens.
    fn nights(&mut self, link: Link, count: u32) {
        let wait = ActivityId(self.instance.activities.len());
        let mut activity = at_moment(0);
        activity.fixed = None;
        activity.modes[0].duration = Duration::Until {
            gate: GateId(0),
            count: count.max(1),
            at_least: 0,
            then: 0,
        };
        self.instance.activities.push(activity);
        let from = (ActivityId(link.from), edge(link.from_edge));
        let to = (ActivityId(link.to), edge(link.to_edge));
        let begins = Lag {
            from,
            to: (wait, schedule::Edge::Start),
            least: 0,
            most: Some(0),
        };
        self.lag(begins, Meaning::After(link));
        let ends = Lag {
            from: (wait, schedule::Edge::End),
            to,
            least: 0,
            most: None,
        };
        self.lag(ends, Meaning::After(link));
    }
}

/// Returns an edge in the engine's words.
pub(super) fn edge(edge: Edge) -> schedule::Edge {
    match edge {
        Edge::Start => schedule::Edge::Start,
        Edge::End => schedule::Edge::End,
    }
}
