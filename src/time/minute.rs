//! Whole minutes counted from service.

use std::fmt;
use std::ops::{Add, AddAssign, Neg, Sub};

/// A length of elapsed time in whole minutes; it may be negative (a step may end before another begins).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Minutes(pub i32);

/// A moment, in whole elapsed minutes from service: zero at service, negative before it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Minute(pub i32);

/// A half-open stretch of time `[start, end)`; empty when `end <= start`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Window {
    /// The first minute inside.
    pub start: Minute,
    /// The first minute no longer inside.
    pub end: Minute,
}

impl Minutes {
    /// No time at all.
    pub const ZERO: Self = Self(0);

    /// Returns this many hours.
    pub const fn hours(hours: i32) -> Self {
        Self(hours * 60)
    }

    /// Returns this many days of exactly 24 elapsed hours.
    pub const fn days(days: i32) -> Self {
        Self(days * 24 * 60)
    }

    /// Returns the length rounded up from seconds, so that no work is ever booked too short.
    pub const fn from_seconds_rounded_up(seconds: i64) -> Self {
        Self(((seconds + 59).div_euclid(60)) as i32)
    }
}

impl fmt::Display for Minutes {
    /// Writes the length as a cook says it: `45 min`, `6h`, `6h30`, `2 days 3h`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let total = self.0.unsigned_abs();
        if self.0 < 0 {
            f.write_str("−")?;
        }
        let (days, hours, minutes) = (total / 1440, total % 1440 / 60, total % 60);
        if total >= 2880 {
            write!(f, "{days} days")?;
            return match (hours, minutes) {
                (0, 0) => Ok(()),
                (0, minutes) => write!(f, " {minutes} min"),
                (hours, 0) => write!(f, " {hours}h"),
                (hours, minutes) => write!(f, " {hours}h{minutes:02}"),
            };
        }
        match (total / 60, minutes) {
            (0, minutes) => write!(f, "{minutes} min"),
            (hours, 0) => write!(f, "{hours}h"),
            (hours, minutes) => write!(f, "{hours}h{minutes:02}"),
        }
    }
}

impl Minute {
    /// The moment of service.
    pub const SERVICE: Self = Self(0);

    /// Returns the countdown as it stands on the sheet: `T−14h30` before service, `T+0h20` after it.
    pub fn countdown(self) -> String {
        let sign = if self.0 > 0 { '+' } else { '−' };
        let total = self.0.unsigned_abs();
        format!("T{sign}{}h{:02}", total / 60, total % 60)
    }
}

impl Window {
    /// Returns the window from `start` up to, not including, `end`.
    pub const fn new(start: Minute, end: Minute) -> Self {
        Self { start, end }
    }

    /// Returns how long the window is; never negative.
    pub fn length(self) -> Minutes {
        Minutes((self.end.0 - self.start.0).max(0))
    }

    /// Returns whether no minute lies inside.
    pub fn is_empty(self) -> bool {
        self.end <= self.start
    }

    /// Returns whether `minute` lies inside.
    pub fn contains(self, minute: Minute) -> bool {
        self.start <= minute && minute < self.end
    }

    /// Returns whether the two windows share a minute.
    pub fn overlaps(self, other: Self) -> bool {
        self.start.max(other.start) < self.end.min(other.end)
    }

    /// Returns the minutes both windows share; empty when there are none.
    #[must_use]
    pub fn intersect(self, other: Self) -> Self {
        Self::new(self.start.max(other.start), self.end.min(other.end))
    }
}

impl Add<Minutes> for Minute {
    type Output = Self;
    fn add(self, rhs: Minutes) -> Self {
        Self(self.0 + rhs.0)
    }
}

impl AddAssign<Minutes> for Minute {
    fn add_assign(&mut self, rhs: Minutes) {
        self.0 += rhs.0;
    }
}

impl Sub<Minutes> for Minute {
    type Output = Self;
    fn sub(self, rhs: Minutes) -> Self {
        Self(self.0 - rhs.0)
    }
}

impl Sub for Minute {
    type Output = Minutes;
    fn sub(self, rhs: Self) -> Minutes {
        Minutes(self.0 - rhs.0)
    }
}

impl Add for Minutes {
    type Output = Self;
    fn add(self, rhs: Self) -> Self {
        Self(self.0 + rhs.0)
    }
}

impl Sub for Minutes {
    type Output = Self;
    fn sub(self, rhs: Self) -> Self {
        Self(self.0 - rhs.0)
    }
}

impl Neg for Minutes {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_read_as_a_cook_says_them() {
        let said = |minutes| Minutes(minutes).to_string();
        assert_eq!(said(0), "0 min");
        assert_eq!(said(45), "45 min");
        assert_eq!(said(360), "6h");
        assert_eq!(said(390), "6h30");
        assert_eq!(said(1500), "25h");
        assert_eq!(said(2880), "2 days");
        assert_eq!(said(2885), "2 days 5 min");
        assert_eq!(said(2880 + 185), "2 days 3h05");
        assert_eq!(said(-90), "−1h30");
    }

    #[test]
    fn countdown_counts_toward_service() {
        assert_eq!(Minute(-870).countdown(), "T−14h30");
        assert_eq!(Minute(0).countdown(), "T−0h00");
        assert_eq!(Minute(20).countdown(), "T+0h20");
    }

    #[test]
    fn windows_are_half_open() {
        let window = Window::new(Minute(0), Minute(10));
        assert!(window.contains(Minute(0)) && !window.contains(Minute(10)));
        assert!(!window.overlaps(Window::new(Minute(10), Minute(20))));
        assert_eq!(Window::new(Minute(5), Minute(3)).length(), Minutes::ZERO);
    }

    #[test]
    fn seconds_round_up() {
        assert_eq!(Minutes::from_seconds_rounded_up(0), Minutes(0));
        assert_eq!(Minutes::from_seconds_rounded_up(1), Minutes(1));
        assert_eq!(Minutes::from_seconds_rounded_up(60), Minutes(1));
        assert_eq!(Minutes::from_seconds_rounded_up(61), Minutes(2));
    }
}
