//! When the sheet wakes by itself, and what it notices about the clock.
//!
//! A clock can be set, and a machine can sleep; neither is an event that a program is told of. So the sheet compares
//! what the clock shows at two wakes with the machine's count of elapsed time, which nobody can set and which stands
//! still while the machine sleeps. What the one has gained on the other was slept through or set, and what it has lost
//! was set. Waits too are counted in that elapsed time: after six hours of sleep a wait for the next minute would still
//! have to wait its minute out, and so the sheet looks at the clock every few seconds. That costs nothing that can be
//! measured, and draws nothing unless the minute is another.
//!
//! A clock of a rehearsal is driven by elapsed time and can do neither.

use std::time::{Duration, Instant};

use super::app::App;
use super::sheet::Sheet;
use super::view::day_heading;
use crate::prep::planned_from;
use crate::time::{Clock, ClockChange, Minute, Timestamp, Zone};

/// How far the clock may run ahead between two wakes without a word: a machine that was halted for a moment, and the
/// seconds that a time service corrects, are nobody's business.
const AHEAD: i64 = 5 * 60;

/// How far it may fall back. Less than for running ahead, because what is written meanwhile gets times that have been.
const BACK: i64 = 60;

/// How long the sheet sleeps at most while it follows the machine's clock.
const LONGEST_SLEEP: Duration = Duration::from_secs(5);

/// How long it sleeps at least while a clock runs faster: twenty frames a second are more than can be read.
const SHORTEST_SLEEP: Duration = Duration::from_millis(50);

/// How long a page stays on a sheet that hangs on the wall.
const PAGE_STAYS: Duration = Duration::from_secs(12);

/// What was noticed about the clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Noticed {
    /// The machine slept, or its clock was set forward.
    Ahead {
        /// What the clock showed when the sheet last looked.
        from: Timestamp,
        /// What it shows.
        to: Timestamp,
    },
    /// The clock was set back.
    Back {
        /// What it would have shown.
        from: Timestamp,
        /// What it shows.
        to: Timestamp,
    },
}

/// Compares the clock with elapsed time, wake by wake.
#[derive(Clone, Copy, Debug, Default)]
pub struct ClockWatch {
    last: Option<(Timestamp, Duration)>,
}

impl ClockWatch {
    /// Takes in what the clock shows after so much elapsed time since any fixed moment; returns what that says of it.
    pub fn see(&mut self, shown: Timestamp, elapsed: Duration) -> Option<Noticed> {
        let (was, then) = self.last.replace((shown, elapsed))?;
        let passed = i64::try_from(elapsed.saturating_sub(then).as_secs()).unwrap_or(i64::MAX);
        let expected = Timestamp(was.0.saturating_add(passed));
        let gained = shown.0.saturating_sub(expected.0);
        if gained >= AHEAD {
            Some(Noticed::Ahead {
                from: was,
                to: shown,
            })
        } else if gained <= -BACK {
            Some(Noticed::Back {
                from: expected,
                to: shown,
            })
        } else {
            None
        }
    }
}

/// The sheet's clock, and when the sheet wakes by it.
#[derive(Debug)]
pub(super) struct Timekeeper {
    clock: Clock,
    watch: ClockWatch,
    began: Instant,
    turned: Option<Instant>,
}

impl Timekeeper {
    /// Returns the keeper of a clock; one that also turns pages where `pages` says so.
    pub(super) fn new(clock: Clock, pages: bool) -> Self {
        let began = Instant::now();
        Self {
            clock,
            watch: ClockWatch::default(),
            began,
            turned: pages.then_some(began),
        }
    }

    /// Returns how long the sheet may sleep; none for as long as nothing else wakes it.
    pub(super) fn sleep(&self) -> Option<Duration> {
        let minute = self.clock.until_next_minute();
        let minute = minute.map(|left| match self.clock {
            Clock::Machine | Clock::Fixed(_) => left.min(LONGEST_SLEEP),
            Clock::Running { .. } => left.max(SHORTEST_SLEEP),
        });
        let page = self
            .turned
            .map(|at| PAGE_STAYS.saturating_sub(at.elapsed()));
        minute.into_iter().chain(page).min()
    }

    /// Returns the time, and what is noticed about the clock.
    pub(super) fn look(&mut self) -> (Timestamp, Option<Noticed>) {
        let now = self.clock.now();
        let noticed = self
            .clock
            .is_machine()
            .then(|| self.watch.see(now, self.began.elapsed()));
        (now, noticed.flatten())
    }

    /// Returns whether the next page is to be shown.
    pub(super) fn turns_page(&mut self) -> bool {
        let due = self.turned.is_some_and(|at| at.elapsed() >= PAGE_STAYS);
        if due {
            self.turned = Some(Instant::now());
        }
        due
    }
}

impl App {
    /// Takes in what was noticed about the clock: it is said until it is put away, and kept among the notices.
    pub(super) fn noticed(&mut self, noticed: Noticed) {
        let said = words(&self.sheet, noticed);
        self.notice(said);
    }

    /// Says what there is to know of the clock over the days of the plan, once the first plan is there.
    pub(super) fn tell_clock_changes(&mut self) {
        let Some(plan) = self.sheet.times() else {
            return;
        };
        let now = self.sheet.now_minute();
        let changes = plan.service.clock_changes(plan.span);
        let to_come = changes.iter().filter(|change| now < change.at);
        let said: Vec<String> = to_come.map(change_words).collect();
        for said in said {
            self.notice(said);
        }
    }

    /// Says on opening that the book has entries that are still to come.
    pub(super) fn tell_times_to_come(&mut self) {
        if let Some(latest) = to_come(&self.sheet) {
            let clock = self.sheet.service.local(latest).weekday_clock();
            let consequence = consequence(&self.sheet, latest);
            self.notice(format!(
                "the book has ticks that are still to come by this clock, the latest at {clock}: {consequence}"
            ));
        }
    }

    fn notice(&mut self, said: String) {
        if !self.sheet.notices.contains(&said) {
            // The newest first: only a few stand under the header.
            self.sheet.notices.insert(0, said);
            self.ui.notices = true;
        }
    }
}

fn words(sheet: &Sheet, noticed: Noticed) -> String {
    let zone = sheet.service.zone();
    match noticed {
        Noticed::Ahead { from, to } => format!(
            "the machine slept, or its clock was set forward: from {} to {} nobody looked; what happened meanwhile can \
             be ticked at its real time with S and D",
            clock(from, to, zone),
            to.local(zone).weekday_clock()
        ),
        Noticed::Back { from, to } => {
            let consequence = match to_come(sheet) {
                Some(latest) => consequence(sheet, latest),
                None => "nothing was ticked in between".to_owned(),
            };
            format!(
                "the clock was set back from {} to {}: {consequence}",
                clock(from, to, zone),
                to.local(zone).weekday_clock()
            )
        }
    }
}

/// What becomes of ticks that lie in the future of the clock.
fn consequence(sheet: &Sheet, latest: Minute) -> String {
    let clock = sheet.service.local(latest).weekday_clock();
    if sheet.planned_from() >= latest {
        format!(
            "times already written stay, and nothing is planned before the latest of them, {clock}; if it is wrong, u \
             takes it back"
        )
    } else {
        format!(
            "times already written stay; the latest, {clock}, lies too far ahead to plan from: u takes it back, and S \
             and D give the real time"
        )
    }
}

/// Returns the latest tick that lies in the future of the clock.
fn to_come(sheet: &Sheet) -> Option<Minute> {
    let happened = sheet.prep.happened(&sheet.menu, sheet.service);
    let latest = happened.values().map(|done| done.known_at()).max()?;
    // A time may be typed that is a minute ahead; that is how people read clocks.
    (latest > sheet.now_minute() + crate::time::Minutes(1)).then_some(latest)
}

/// Returns a moment with its date where another would be mistaken for it.
fn clock(moment: Timestamp, beside: Timestamp, zone: Zone) -> String {
    let (this, other) = (moment.local(zone), beside.local(zone));
    if this.date == other.date || (this.date - other.date).num_days().abs() < 6 {
        this.weekday_clock()
    } else {
        this.to_string()
    }
}

fn change_words(change: &ClockChange) -> String {
    let way = if change.forward.0 < 0 {
        "back"
    } else {
        "forward"
    };
    format!(
        "clocks go {way} {} on {} at {}, to {}; waits are elapsed time, and every time shown is the clock's",
        crate::time::Minutes(change.forward.0.abs()),
        day_heading(change.from.date),
        change.from.clock(),
        change.to.clock()
    )
}

impl Sheet {
    /// Returns the minute before which nothing is planned: now, or the latest tick where that lies ahead of the clock.
    pub fn planned_from(&self) -> Minute {
        planned_from(
            &self.prep.happened(&self.menu, self.service),
            self.now_minute(),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: i64 = 1_795_800_000;

    /// Feeds seconds of the clock and of elapsed time; returns what was noticed at each.
    fn seen(pairs: &[(i64, u64)]) -> Vec<Option<Noticed>> {
        let mut watch = ClockWatch::default();
        let see =
            |&(clock, elapsed)| watch.see(Timestamp(NOW + clock), Duration::from_secs(elapsed));
        pairs.iter().map(see).collect()
    }

    #[test]
    fn a_clock_that_keeps_time_is_not_spoken_of() {
        assert_eq!(seen(&[(0, 7), (5, 12), (65, 72), (3665, 3672)]), [None; 4]);
        // A time service that corrects some seconds; a machine that was halted for two minutes.
        assert_eq!(seen(&[(0, 0), (35, 5), (10, 10), (130, 12)]), [None; 4]);
    }

    #[test]
    fn six_hours_of_sleep_are_noticed_once() {
        let ahead = Noticed::Ahead {
            from: Timestamp(NOW + 5),
            to: Timestamp(NOW + 21_605),
        };
        let seen = seen(&[(0, 0), (5, 5), (21_605, 10), (21_610, 15)]);
        assert_eq!(seen, [None, None, Some(ahead), None]);
    }

    #[test]
    fn a_clock_set_back_is_noticed_once() {
        let back = Noticed::Back {
            from: Timestamp(NOW + 10),
            to: Timestamp(NOW - 7190),
        };
        let seen = seen(&[(0, 0), (5, 5), (-7190, 10), (-7185, 15)]);
        assert_eq!(seen, [None, None, Some(back), None]);
        // And set right again.
        let mut watch = ClockWatch::default();
        watch.see(Timestamp(NOW), Duration::ZERO);
        let back = watch.see(Timestamp(NOW - 600), Duration::from_secs(1));
        assert!(matches!(back, Some(Noticed::Back { .. })));
        let ahead = watch.see(Timestamp(NOW + 2), Duration::from_secs(2));
        assert!(matches!(ahead, Some(Noticed::Ahead { .. })));
    }

    #[test]
    fn extremes_do_not_overflow() {
        let mut watch = ClockWatch::default();
        for clock in [i64::MIN, i64::MAX, 0, i64::MIN] {
            watch.see(Timestamp(clock), Duration::MAX);
            watch.see(Timestamp(clock), Duration::ZERO);
        }
    }

    #[test]
    fn the_sheet_sleeps_as_its_clock_runs() {
        let fixed = Timekeeper::new(Clock::Fixed(Timestamp(NOW)), false);
        assert_eq!(
            fixed.sleep(),
            None,
            "a clock that stands still wakes nobody"
        );
        let machine = Timekeeper::new(Clock::Machine, false).sleep();
        assert!(machine.is_some_and(|sleep| sleep <= LONGEST_SLEEP));
        let fast = crate::time::Speed::FASTEST;
        let fast = Timekeeper::new(Clock::running(Timestamp(NOW), fast), false);
        assert_eq!(fast.sleep(), Some(SHORTEST_SLEEP), "it never spins");
        let mut wall = Timekeeper::new(Clock::Fixed(Timestamp(NOW)), true);
        assert!(wall.sleep().is_some_and(|sleep| sleep <= PAGE_STAYS));
        assert!(!wall.turns_page());
    }
}
