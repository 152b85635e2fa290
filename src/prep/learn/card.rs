//! What a card should say of a step's time, given how long it took: the arithmetic of [`super::learn`].

use crate::menu::{Makes, Work};

/// How many doings the card counts as.
const CARD: f64 = 2.0;

/// One doing that counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Seen {
    /// How long it took.
    pub(super) seconds: i64,
    /// What it made.
    pub(super) makes: Makes,
}

impl Seen {
    /// Returns how many times as long as the card says for what it made it took.
    pub(super) fn factor(&self, card: &Work) -> f64 {
        let says = card.seconds(typical(card).round() as i64, self.makes);
        self.seconds as f64 / (says as f64).max(1.0)
    }
}

/// Returns how many times the card's own volume something is; 1 where its time is not one for a volume.
fn volumes(card: &Work, makes: Makes) -> f64 {
    match card.for_volume {
        Some(volume) if volume > 0.0 && makes.millilitres > 0.0 => makes.millilitres / volume,
        _ => 1.0,
    }
}

/// Returns the seconds that a card's fixed part takes as a rule: of a range without a usual time the middle.
fn typical(card: &Work) -> f64 {
    match card.usual {
        Some(usual) => usual as f64,
        None => f64::midpoint(card.shortest as f64, card.longest as f64),
    }
}

/// Returns the [factors](Seen::factor) of doings, the least first.
pub(super) fn factors(card: &Work, seen: &[Seen]) -> Vec<f64> {
    let mut factors: Vec<f64> = seen.iter().map(|doing| doing.factor(card)).collect();
    factors.sort_by(f64::total_cmp);
    factors
}

/// Returns the middle of what is sorted and not empty.
pub(super) fn middle(sorted: &[f64]) -> f64 {
    let half = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        sorted[half]
    } else {
        f64::midpoint(sorted[half - 1], sorted[half])
    }
}

/// Returns what the card should say, given doings, at least one.
pub(super) fn better(card: &Work, seen: &[Seen]) -> Work {
    let count = seen.len() as f64;
    let weighed = |card: f64, seen: f64| (CARD * card + count * seen) / (CARD + count);
    let factor = middle(&factors(card, seen));
    let grown = |round: fn(f64) -> f64| {
        let rate = |rate: i64| match rate {
            0 => 0,
            rate => (round(weighed(rate as f64, rate as f64 * factor)) as i64).max(1),
        };
        Work {
            per_piece: rate(card.per_piece),
            per_batch: rate(card.per_batch),
            per_litre: rate(card.per_litre),
            ..card.clone()
        }
    };
    // What is left of so many seconds a doing for the fixed part, the least first, with these times for what grows.
    let left = |grown: &Work, seconds: &dyn Fn(&Seen) -> f64| {
        let left = seen.iter().map(|doing| {
            let left = seconds(doing) - grown.seconds(0, doing.makes) as f64;
            left.max(0.0) / volumes(card, doing.makes)
        });
        let mut left: Vec<f64> = left.collect();
        left.sort_by(f64::total_cmp);
        left
    };
    let weighed_whole = |doing: &Seen| {
        let says = card.seconds(typical(card).round() as i64, doing.makes);
        weighed(says as f64, doing.seconds as f64)
    };
    let (round, down) = (grown(f64::round), grown(f64::floor));
    let grown = if card.longest == 0 && card.grows() {
        // Whole seconds a piece are too coarse for many pieces: what they leave over becomes a fixed part.
        let whole = middle_of(seen.iter().map(weighed_whole));
        if middle(&left(&down, &weighed_whole)) <= slack(whole) {
            return round;
        }
        down
    } else {
        round
    };
    let usual = middle(&left(&grown, &weighed_whole));
    let ends = left(&grown, &|doing| doing.seconds as f64);
    let (least, most) = (ends[0], ends[ends.len() - 1]);
    let (shortest, longest) = (card.shortest as f64, card.longest as f64);
    let shortest = if shortest < least {
        weighed(shortest, least)
    } else {
        least
    };
    let longest = if most < longest {
        weighed(longest, most)
    } else {
        most
    };
    // A time for one litre is said as finely as the twenty litres need that are boiled by it.
    let volumes = middle_of(seen.iter().map(|doing| volumes(card, doing.makes)));
    let unit = fine(unit(usual * volumes) / volumes);
    let usual = ((usual / unit).round() * unit).max(unit);
    let floor = ((shortest / unit).floor() * unit).max(unit.min(60.0));
    Work {
        shortest: floor.min(usual).round() as i64,
        usual: Some(usual.round() as i64),
        longest: ((longest / unit).ceil() * unit).max(usual).round() as i64,
        ..grown
    }
}

/// Returns the longest step that a cook would say a length in, in seconds, that is no longer than this.
fn fine(step: f64) -> f64 {
    const STEPS: [f64; 7] = [900.0, 300.0, 60.0, 30.0, 15.0, 10.0, 5.0];
    STEPS.into_iter().find(|it| *it <= step).unwrap_or(1.0)
}

/// Returns the middle one of some numbers, at least one.
fn middle_of(numbers: impl Iterator<Item = f64>) -> f64 {
    let mut numbers: Vec<f64> = numbers.collect();
    numbers.sort_by(f64::total_cmp);
    middle(&numbers)
}

/// Returns by how much two times of such a length differ that nobody would plan differently by.
fn slack(seconds: f64) -> f64 {
    unit(seconds).max(seconds * 0.05)
}

/// Returns the steps in which a cook would say such a length, in seconds.
fn unit(seconds: f64) -> f64 {
    if seconds < 1800.0 {
        60.0
    } else if seconds < 4.0 * 3600.0 {
        300.0
    } else {
        900.0
    }
}

/// Returns whether an offer says what the card says, as near as anybody would plan by, and nothing seen is outside it.
pub(super) fn tells_nothing_new(card: &Work, offer: &Work, seen: &[Seen]) -> bool {
    seen.iter().all(|doing| {
        let says = |fixed: i64| card.seconds(fixed, doing.makes) as f64;
        let offered = offer.seconds(offer.booked(), doing.makes) as f64;
        let booked = says(card.booked());
        let slack = slack(booked);
        // A time that only grows has no ends on a card.
        let is_inside = (card.longest == 0 && card.grows())
            || (says(card.shortest) - slack <= doing.seconds as f64
                && doing.seconds as f64 <= says(card.longest) + slack);
        (offered - booked).abs() <= slack && is_inside
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINUTE: i64 = 60;

    fn work(shortest: i64, usual: Option<i64>, longest: i64) -> Work {
        Work {
            shortest: shortest * MINUTE,
            usual: usual.map(|usual| usual * MINUTE),
            longest: longest * MINUTE,
            ..Work::default()
        }
    }

    /// Doings that took so many minutes and made so many pieces, a litre of every ten.
    fn made(doings: &[(i64, u32)]) -> Vec<Seen> {
        let seen = doings.iter().map(|&(minutes, portions)| Seen {
            seconds: minutes * MINUTE,
            makes: Makes {
                portions,
                batches: 1,
                millilitres: f64::from(portions) * 100.0,
                of_card: 1.0,
            },
        });
        seen.collect()
    }

    fn minutes(lengths: &[i64]) -> Vec<Seen> {
        made(
            &lengths
                .iter()
                .map(|&length| (length, 0))
                .collect::<Vec<_>>(),
        )
    }

    /// Worked by hand: (2 × 20 + 6 × 27) / 8 = 25.25, the ends 22 and 33 as seen.
    #[test]
    fn the_card_counts_as_two_doings() {
        let lengths = minutes(&[22, 24, 26, 28, 30, 33]);
        assert_eq!(better(&work(20, Some(20), 20), &lengths), {
            // The card's own 20 is shorter than anything seen: (2 × 20 + 6 × 22) / 8 = 21.5, down to 21.
            work(21, Some(25), 33)
        });
    }

    /// An end beyond what was seen comes closer, never inside what was seen.
    #[test]
    fn an_end_beyond_what_was_seen_comes_closer() {
        let lengths = minutes(&[20, 20, 20, 20]);
        // (2 × 10 + 4 × 20) / 6 = 16.67; (2 × 60 + 4 × 20) / 6 = 33.33; the usual (2 × 20 + 4 × 20) / 6 = 20.
        assert_eq!(
            better(&work(10, Some(20), 60), &lengths),
            work(16, Some(20), 34)
        );
    }

    #[test]
    fn a_range_becomes_three_points() {
        let lengths = minutes(&[365, 370, 372, 380]);
        // The middle of the range: (2 × 390 + 4 × 371) / 6 = 377.3, said in quarters of an hour.
        assert_eq!(
            better(&work(360, None, 420), &lengths),
            work(360, Some(375), 405)
        );
    }

    /// Worked by hand: of 40 s a piece 50, 50, 52.5 and 50 s; (2 × 40 + 4 × 50) / 6 = 46.7.
    #[test]
    fn what_a_piece_takes_is_learnt_from_different_amounts() {
        let card = Work {
            per_piece: 40,
            ..work(0, Some(0), 0)
        };
        let seen = made(&[(40, 48), (80, 96), (42, 48), (50, 60)]);
        let offer = better(&card, &seen);
        assert_eq!(
            offer,
            Work {
                per_piece: 47,
                ..work(0, Some(0), 0)
            }
        );
        assert!(!tells_nothing_new(&card, &offer, &seen));
        let seen = made(&[(32, 48), (65, 96), (31, 48), (40, 60)]);
        assert!(tells_nothing_new(&card, &better(&card, &seen), &seen));
    }

    /// Worked by hand: of 10 min and 30 s a piece all took a fifth longer. 34 s a piece are (2 × 30 + 4 × 36) / 6; the
    /// usual time of the rest (2 × 10 + 4 × 12) / 6 = 11.3; at 34 s a piece it went from 12.7 to 15.3, and the card's 10
    /// is shorter than that: (2 × 10 + 4 × 12.7) / 6 = 11.8.
    #[test]
    fn what_is_fixed_and_what_grows_are_off_alike() {
        let card = Work {
            per_piece: 30,
            ..work(10, Some(10), 10)
        };
        let seen = made(&[(36, 40), (48, 60), (72, 100), (24, 20)]);
        assert_eq!(
            better(&card, &seen),
            Work {
                per_piece: 34,
                ..work(11, Some(11), 16)
            }
        );
    }

    /// Worked by hand: of 30 min for 2 l, 80 min for 4 l are 40 for 2 l; (2 × 30 + 4 × 40) / 6 = 36.7.
    #[test]
    fn a_time_for_a_volume_stays_one_for_that_volume() {
        let card = Work {
            for_volume: Some(2000.0),
            ..work(30, Some(30), 30)
        };
        let seen = made(&[(80, 40), (40, 20), (60, 30), (20, 10)]);
        assert_eq!(
            better(&card, &seen),
            Work {
                for_volume: Some(2000.0),
                ..work(36, Some(37), 40)
            }
        );
    }

    /// Of 45 s for a litre 48 were needed, twenty litres at a time: (2 × 45 + 4 × 48) / 6 = 47; 20 litres are said to the
    /// minute, and so a litre to the second.
    #[test]
    fn a_short_time_for_a_little_is_said_as_finely_as_much_needs() {
        let card = Work {
            shortest: 45,
            usual: Some(45),
            longest: 45,
            for_volume: Some(1000.0),
            ..Work::default()
        };
        let seen = made(&[(16, 200); 4]);
        let offer = better(&card, &seen);
        assert_eq!(
            (offer.shortest, offer.usual, offer.longest),
            (47, Some(47), 48)
        );
    }

    /// Of 2 s a piece 2.5 were needed, six hundred at a time: (2 × 2 + 4 × 2.5) / 6 = 2.33, and the third of a second
    /// makes 200 s; at 2 s a piece 300 s were left.
    #[test]
    fn what_whole_seconds_leave_over_of_many_pieces_is_not_lost() {
        let card = Work {
            per_piece: 2,
            ..work(0, Some(0), 0)
        };
        let seen = made(&[(25, 600); 4]);
        let offer = better(&card, &seen);
        assert_eq!(
            offer,
            Work {
                per_piece: 2,
                ..work(3, Some(3), 5)
            }
        );
        assert!(!tells_nothing_new(&card, &offer, &seen));
        assert!(tells_nothing_new(&offer, &better(&offer, &seen), &seen));
    }

    /// A card that says nought and grows with nothing is held against what was seen like any other.
    #[test]
    fn a_card_of_no_time_is_not_what_it_took() {
        let card = work(0, Some(0), 0);
        let seen = minutes(&[20, 20, 20, 20]);
        let offer = better(&card, &seen);
        assert_eq!(offer, work(13, Some(13), 20));
        assert!(!tells_nothing_new(&card, &offer, &seen));
    }

    #[test]
    fn what_fits_is_not_offered() {
        let card = work(20, Some(25), 40);
        let lengths = minutes(&[24, 25, 26, 25]);
        assert!(tells_nothing_new(&card, &better(&card, &lengths), &lengths));
        let lengths = minutes(&[24, 25, 26, 52]);
        assert!(!tells_nothing_new(
            &card,
            &better(&card, &lengths),
            &lengths
        ));
    }
}
