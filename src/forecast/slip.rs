//! Which readings can well be, by how fast the others run.
//!
//! A finger that slips on a key writes a reading that no pot could show: 31 °C colder within five minutes, where it took
//! half an hour for twelve before. Such a one is not believed until the next reading says so too, which is nearer to it
//! than to what stood before: a pan that was put into ice runs as fast from then on, a slip does not come again.
//!
//! Left out on purpose: what is between plausible and certain. How many times as fast is a slip is our own judgement
//! (common practice, no source); what is doubted is only ever asked about, and counts for the worse.

/// How many times as fast as any stretch before it a stretch must run to be doubted.
const FASTER: f64 = 5.0;

/// What changes by the least that is ever doubted within so many minutes has not run fast, however still it stood before.
const STILL: f64 = 20.0;

/// Returns for each of some readings, minutes from any beginning and a value, rising in time, whether it is believed. A
/// change of less than `least` is never doubted, nor is anything before two readings have shown how fast it runs.
pub fn believed(readings: &[(f64, f64)], least: f64) -> Vec<bool> {
    let mut believed = vec![true; readings.len()];
    // The last reading believed, and the fastest stretch so far, a minute.
    let mut last: Option<(f64, f64)> = None;
    let mut fastest: Option<f64> = None;
    for (index, &reading) in readings.iter().enumerate() {
        let fits = |last: Option<(f64, f64)>, reading: (f64, f64)| match (last, fastest) {
            (Some(last), Some(fastest)) => {
                let fastest = f64::max(fastest, least / STILL);
                (reading.1 - last.1).abs() < least || rate(last, reading) <= FASTER * fastest
            }
            _ => true,
        };
        let is_confirmed = || {
            let (Some(last), Some(&next)) = (last, readings.get(index + 1)) else {
                return false;
            };
            let (to_it, to_last) = (next.1 - reading.1, next.1 - last.1);
            let same_side = to_last * (reading.1 - last.1) > 0.0;
            same_side && to_it.abs() < to_last.abs() && !fits(Some(last), next)
        };
        if !fits(last, reading) && !is_confirmed() {
            believed[index] = false;
            continue;
        }
        if let Some(last) = last {
            let rate = rate(last, reading);
            fastest = Some(fastest.map_or(rate, |fastest| fastest.max(rate)));
        }
        last = Some(reading);
    }
    believed
}

/// Returns how fast a value changed from one reading to another, a minute; what was read twice in a minute took one.
fn rate(from: (f64, f64), to: (f64, f64)) -> f64 {
    (to.1 - from.1).abs() / (to.0 - from.0).max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const COOLING: [(f64, f64); 4] = [(0.0, 80.0), (20.0, 60.0), (50.0, 41.0), (80.0, 29.0)];

    fn with(more: &[(f64, f64)]) -> Vec<bool> {
        let readings: Vec<_> = COOLING.iter().chain(more).copied().collect();
        believed(&readings, 10.0).split_off(COOLING.len())
    }

    #[test]
    fn what_no_pot_could_show_is_not_believed() {
        assert_eq!(with(&[(85.0, -2.0)]), [false]);
        assert_eq!(with(&[(85.0, 290.0)]), [false]);
        assert_eq!(with(&[(85.0, 27.0)]), [true]);
        // The next reading runs on from the one before the slip.
        assert_eq!(with(&[(85.0, -2.0), (90.0, 26.0)]), [false, true]);
    }

    #[test]
    fn what_is_read_again_is_believed() {
        // Into the ice: it runs as fast from then on.
        assert_eq!(with(&[(85.0, 8.0), (90.0, 4.0)]), [true, true]);
    }

    #[test]
    fn only_a_reading_like_it_confirms_one_that_is_doubted() {
        // A slip, and then the pan is put into ice: it runs fast, and is nothing like it.
        let slow = [(0.0, 58.0), (30.0, 56.0), (31.0, 5.0), (33.0, 40.0)];
        assert_eq!(believed(&slow, 10.0)[2..], [false, false]);
        let read_again: Vec<_> = slow.into_iter().chain([(36.0, 30.0)]).collect();
        assert_eq!(believed(&read_again, 10.0)[2..], [false, true, true]);
        // Two slips to either side.
        assert_eq!(with(&[(85.0, -2.0), (90.0, 290.0)]), [false, false]);
        // What stood still may begin to run.
        let still = [(0.0, 80.0), (5.0, 80.0), (64.0, 60.0)];
        assert_eq!(believed(&still, 10.0), [true, true, true]);
    }

    #[test]
    fn two_readings_show_how_fast_it_runs_and_small_changes_are_never_doubted() {
        assert_eq!(believed(&[(0.0, 80.0), (1.0, 5.0)], 10.0), [true, true]);
        assert_eq!(
            believed(&[(0.0, 5.0), (60.0, 5.0), (61.0, 9.0)], 10.0),
            [true, true, true]
        );
        assert_eq!(believed(&[], 10.0), [] as [bool; 0]);
    }
}
