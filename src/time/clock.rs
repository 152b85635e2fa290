//! The one reader of the machine's clock.
//!
//! Everything else takes the time as a value, so that a test, a rehearsal or `--now` can hand in any moment. A
//! rehearsal has a clock of its own: it begins at a moment and runs so many times as fast as the machine's, so that
//! three days are over in minutes. It is driven by the machine's count of elapsed time, which nobody can set; while the
//! machine sleeps it stands still.

use std::fmt;
use std::time::{Duration, Instant};

use super::{Timestamp, Zone};

/// Where "now" comes from: the machine, a moment given by hand that stands still, or a rehearsal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// The machine's own clock.
    Machine,
    /// A fixed moment, from `--now`.
    Fixed(Timestamp),
    /// A clock that runs faster or slower than the machine's, from `--speed`.
    Running {
        /// What it showed first.
        from: Timestamp,
        /// When that was, by the machine's count of elapsed time.
        since: Instant,
        /// How fast it runs.
        speed: Speed,
    },
}

/// How many times as fast as the machine's a clock runs; kept in thousandths, and within sane bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Speed(u32);

impl Speed {
    /// The slowest: a tenth of real time. What is slower is a clock that stands still.
    pub const SLOWEST: Self = Self(100);
    /// The fastest: a day in nine seconds. What is faster cannot be followed by anybody's eye.
    pub const FASTEST: Self = Self(10_000_000);

    /// Returns the speed a text names (`600`, `1.5`), or what to write instead.
    pub fn read(text: &str) -> Result<Self, String> {
        let number: Option<f64> = text.trim().parse().ok();
        let thousandths = number.filter(|it| it.is_finite()).map(|it| it * 1000.0);
        let within = f64::from(Self::SLOWEST.0)..=f64::from(Self::FASTEST.0);
        match thousandths.filter(|it| within.contains(it)) {
            Some(thousandths) => Ok(Self(thousandths.round() as u32)),
            None => Err(format!(
                "\"{text}\" is not a speed; write how many times as fast as real time, from {} to {}",
                Self::SLOWEST,
                Self::FASTEST
            )),
        }
    }

    /// Returns how much of the fast clock passes in so much real time, in milliseconds.
    fn shown(self, real: Duration) -> i64 {
        let milliseconds = real.as_millis().saturating_mul(u128::from(self.0)) / 1000;
        i64::try_from(milliseconds).unwrap_or(i64::MAX)
    }

    /// Returns in how much real time so many milliseconds of the fast clock pass, rounded up.
    fn real(self, milliseconds: u64) -> Duration {
        let micros = u128::from(milliseconds) * 1_000_000;
        let micros = micros.div_ceil(u128::from(self.0));
        Duration::from_micros(u64::try_from(micros).unwrap_or(u64::MAX))
    }
}

impl fmt::Display for Speed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", f64::from(self.0) / 1000.0)
    }
}

impl Clock {
    /// Returns a rehearsal's clock that begins to run now.
    pub fn running(from: Timestamp, speed: Speed) -> Self {
        Self::Running {
            from,
            since: Instant::now(),
            speed,
        }
    }

    /// Returns the moment this clock shows.
    pub fn now(self) -> Timestamp {
        Timestamp(self.milliseconds(Instant::now()).div_euclid(1000))
    }

    /// Returns after how much real time it shows another minute; none where it stands still.
    pub fn until_next_minute(self) -> Option<Duration> {
        let shown = self.milliseconds(Instant::now());
        let left = 60_000 - shown.rem_euclid(60_000);
        let left = left.unsigned_abs();
        match self {
            Self::Machine => Some(Duration::from_millis(left)),
            Self::Fixed(_) => None,
            Self::Running { speed, .. } => Some(speed.real(left)),
        }
    }

    /// Returns whether it is the machine's own, which may be set and may sleep.
    pub fn is_machine(self) -> bool {
        self == Self::Machine
    }

    #[allow(
        clippy::disallowed_methods,
        reason = "the one place that may read the machine's clock"
    )]
    fn milliseconds(self, elapsed: Instant) -> i64 {
        match self {
            Self::Machine => chrono::Utc::now().timestamp_millis(),
            Self::Fixed(moment) => moment.0.saturating_mul(1000),
            Self::Running { from, since, speed } => {
                let passed = speed.shown(elapsed.saturating_duration_since(since));
                from.0.saturating_mul(1000).saturating_add(passed)
            }
        }
    }
}

/// Returns the zone this machine is set to, or UTC where it does not say or says one that is not published.
pub fn machine_zone() -> Zone {
    iana_time_zone::get_timezone()
        .ok()
        .and_then(|name| name.parse().ok())
        .unwrap_or(Zone::UTC)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_speed_is_a_number_within_bounds() {
        for (text, said) in [
            ("600", "600"),
            (" 1.5 ", "1.5"),
            ("0.1", "0.1"),
            ("10000", "10000"),
        ] {
            assert_eq!(
                Speed::read(text).map(|it| it.to_string()).as_deref(),
                Ok(said)
            );
        }
        for text in ["", "0", "-3", "0.05", "10001", "fast", "NaN", "inf", "1e99"] {
            let refused = Speed::read(text).expect_err(text);
            assert!(refused.contains("from 0.1 to 10000"), "{text}: {refused}");
        }
    }

    #[test]
    fn a_rehearsal_runs_so_many_times_as_fast() {
        let since = Instant::now();
        let clock = Clock::Running {
            from: Timestamp(1_000_020),
            since,
            speed: Speed::read("600").expect("a speed"),
        };
        let shows = |real: u64| clock.milliseconds(since + Duration::from_millis(real));
        assert_eq!(shows(0), 1_000_020_000);
        assert_eq!(shows(100), 1_000_080_000, "a minute in a tenth of a second");
        assert_eq!(
            shows(432_000),
            1_000_020_000 + 3 * 86_400_000,
            "three days in seven minutes"
        );
        let left = clock.until_next_minute().expect("it runs");
        assert!(left <= Duration::from_millis(100), "{left:?}");
    }

    #[test]
    fn the_next_minute_is_waited_for_whole() {
        // Rounded up: a wake before the minute is over would find nothing changed and sleep again at once.
        assert_eq!(Speed(7000).real(60_000), Duration::from_micros(8_571_429));
        assert!(Speed(7000).shown(Duration::from_millis(8572)) >= 60_000);
        assert_eq!(Speed::SLOWEST.real(6_000), Duration::from_secs(60));
        assert_eq!(Clock::Fixed(Timestamp(0)).until_next_minute(), None);
        let left = Clock::Machine.until_next_minute().expect("it runs");
        assert!(left <= Duration::from_secs(60));
    }
}
