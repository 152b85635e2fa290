//! What past banquets say of how long steps really take, held against the cards.
//!
//! # What counts
//! A doing of a step that was ticked started and ticked done, in any banquet of the book, under the same dish and step
//! id; ticks that were taken back do not count, because the state of the prep does not know them. Each batch, part and
//! round is a doing of its own. Left out, and said with the reason:
//! - a doing that was never ticked started;
//! - one started and done within the same minute, and one of four or more ticked done in the same minute: those were
//!   ticked afterwards;
//! - one of a banquet at which the step had another method, other hands, kit or test than now;
//! - one far from the others, by the modified z-score of Iglewicz and Hoaglin ("How to Detect and Handle Outliers",
//!   1993; 3.5 and 1.4826 from memory) of the logarithms, because times are off by factors: a tick that was forgotten
//!   until morning. Whatever is within three fifths of the middle is never far.
//!
//! # What is offered
//! Nothing from fewer than [`FEWEST`] doings on [`FEWEST_BANQUETS`] banquets. The card is what somebody knew before, so
//! it counts as [`CARD`] doings: the usual time is the mean of the card's and the median, so weighted, and moves all the
//! way only with many doings. An end of the spread is where it really went, where that is outside the card; where it is
//! inside, the card's end comes closer by the same weights and never further in than what was seen: of n doings alike in
//! kind the next one lies outside all of them with a chance of 2 in n + 1 (order statistics; Wilks, "Determination of
//! Sample Sizes for Setting Tolerance Limits", 1941), so what was not seen yet proves little.
//!
//! # What cannot be told
//! - A wait that the clock ends takes as long as the clock says.
//! - Time that grows with what is made ("40 s a piece"): the book does not keep how much was made that day, and one
//!   length cannot be parted into what was fixed and what grew.
//! - A step with other ways: the book keeps that it was done, not how.

use std::collections::BTreeMap;

use super::{PrepState, Progress, changes};
use crate::book::Entry;
use crate::menu::{Menu, Step, StepTime, Work};
use crate::plan::StepKey;
use crate::time::Timestamp;

/// How many doings it takes before anything is offered.
pub const FEWEST: usize = 4;

/// On how many banquets.
pub const FEWEST_BANQUETS: usize = 2;

/// How many doings the card counts as.
pub const CARD: f64 = 2.0;

/// So many steps ticked done in one minute were ticked afterwards.
const AT_ONCE: usize = 4;

/// One doing of a step that was measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doing {
    /// The banquet, as the book calls it.
    pub event: String,
    /// The step's key in it.
    pub key: String,
    /// When it ended.
    pub ended: Timestamp,
    /// How long it took, in seconds; none where it was never ticked started.
    pub seconds: Option<i64>,
}

/// Why a doing says nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LeftOut {
    /// It was never ticked started.
    NoStart,
    /// It was ticked afterwards.
    Afterwards,
    /// The step was another then.
    AnotherStep,
    /// It is far from the others.
    FarOff,
}

impl LeftOut {
    /// Returns the reason in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::NoStart => "its start was never ticked",
            Self::Afterwards => {
                "ticked afterwards, in the same minute as its start or as several other steps"
            }
            Self::AnotherStep => "the step had another method, hands, kit or test then",
            Self::FarOff => "far from the others: a tick forgotten, or made later",
        }
    }
}

/// A doing, and why it says nothing, where it does not by itself.
type Found = (Doing, Option<LeftOut>);

/// What comes of what was measured.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// Better times for the card.
    Offer(Work),
    /// The card says what was measured.
    Fits,
    /// Not measured often enough.
    TooFew,
    /// It cannot be told; why.
    Untold(&'static str),
}

/// What was measured of one step of the menu.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt {
    /// The dish's id.
    pub dish: String,
    /// The step's id.
    pub step: String,
    /// The step's name.
    pub name: String,
    /// What the card says.
    pub card: StepTime,
    /// The doings that count, in the order in which they ended.
    pub kept: Vec<Doing>,
    /// Those that do not, and why.
    pub left_out: Vec<(Doing, LeftOut)>,
    /// What comes of it.
    pub verdict: Verdict,
}

impl Learnt {
    /// Returns the step's key.
    pub fn key(&self) -> StepKey {
        StepKey::first(&self.dish, &self.step)
    }

    /// Returns on how many banquets it was measured.
    pub fn banquets(&self) -> usize {
        let mut events: Vec<&str> = self.kept.iter().map(|doing| doing.event.as_str()).collect();
        events.sort_unstable();
        events.dedup();
        events.len()
    }

    /// Returns the lengths that count, in seconds, the shortest first.
    pub fn lengths(&self) -> Vec<i64> {
        let mut lengths: Vec<i64> = self.kept.iter().filter_map(|doing| doing.seconds).collect();
        lengths.sort_unstable();
        lengths
    }

    /// Returns the middle one of the lengths that count, in seconds.
    pub fn median(&self) -> Option<i64> {
        let lengths = self.lengths();
        (!lengths.is_empty()).then(|| middle(&lengths).round() as i64)
    }
}

/// Returns what the banquets of a book say of each step of a menu, in the order of the menu. `banquets` are the name of
/// each and its entries, oldest first.
pub fn learn(menu: &Menu, banquets: &[(String, Vec<Entry>)]) -> Vec<Learnt> {
    let now = changes::digest(menu);
    let mut doings: BTreeMap<(String, String), Vec<Found>> = BTreeMap::new();
    for (event, entries) in banquets {
        let prep = PrepState::fold(entries);
        let mut ends: BTreeMap<i64, usize> = BTreeMap::new();
        let mut ended = Vec::new();
        for text in prep.ticked() {
            let Ok(key) = text.parse::<StepKey>() else {
                continue;
            };
            if let Progress::Finished { started, at } = prep.progress(&key) {
                *ends.entry(minute(at)).or_default() += 1;
                ended.push((key, started, at));
            }
        }
        for (key, started, at) in ended {
            let first = StepKey::first(&key.dish, &key.step).to_string();
            let text = key.to_string();
            let was = prep.seen().and_then(|seen| seen.get(&text));
            let is = now.get(&text).or_else(|| now.get(&first));
            let differs = |label: &&str| match (was, is) {
                (Some(was), Some(is)) => was.get(*label) != is.get(*label),
                _ => false,
            };
            let left_out = match started {
                None => Some(LeftOut::NoStart),
                Some(started) if at.0 - started.0 < 60 => Some(LeftOut::Afterwards),
                Some(_) if ends[&minute(at)] >= AT_ONCE => Some(LeftOut::Afterwards),
                Some(_) if ["method", "hands", "kit", "until"].iter().any(differs) => {
                    Some(LeftOut::AnotherStep)
                }
                Some(_) => None,
            };
            let doing = Doing {
                event: event.clone(),
                key: text,
                ended: at,
                seconds: started.map(|started| at.0 - started.0),
            };
            doings
                .entry((key.dish, key.step))
                .or_default()
                .push((doing, left_out));
        }
    }
    let steps = menu
        .dishes
        .iter()
        .flat_map(|dish| dish.steps.iter().map(move |step| (dish, step)));
    steps
        .map(|(dish, step)| {
            let found = doings.remove(&(dish.id.clone(), step.id.clone()));
            of_step(&dish.id, step, found.unwrap_or_default())
        })
        .collect()
}

fn minute(moment: Timestamp) -> i64 {
    moment.0.div_euclid(60)
}

fn of_step(dish: &str, step: &Step, doings: Vec<Found>) -> Learnt {
    let mut learnt = Learnt {
        dish: dish.to_owned(),
        step: step.id.clone(),
        name: step.name.clone(),
        card: step.time.clone(),
        kept: Vec::new(),
        left_out: Vec::new(),
        verdict: Verdict::TooFew,
    };
    for (doing, left_out) in doings {
        match left_out {
            None => learnt.kept.push(doing),
            Some(why) => learnt.left_out.push((doing, why)),
        }
    }
    let far = far_off(&learnt.lengths());
    let is_far = |doing: &Doing| {
        let (least, most) = far;
        doing
            .seconds
            .is_some_and(|seconds| (seconds as f64) < least || most < seconds as f64)
    };
    let (gone, kept) = std::mem::take(&mut learnt.kept)
        .into_iter()
        .partition(is_far);
    learnt.kept = kept;
    let gone: Vec<Doing> = gone;
    learnt
        .left_out
        .extend(gone.into_iter().map(|doing| (doing, LeftOut::FarOff)));
    learnt.kept.sort_by_key(|doing| doing.ended);
    learnt.left_out.sort_by_key(|(doing, _)| doing.ended);
    learnt.verdict = verdict(step, &learnt);
    learnt
}

/// Returns the lengths between which nothing is far from the others.
fn far_off(lengths: &[i64]) -> (f64, f64) {
    if lengths.len() < 3 {
        return (0.0, f64::INFINITY);
    }
    let logs: Vec<f64> = lengths
        .iter()
        .map(|&seconds| (seconds as f64).ln())
        .collect();
    let centre = middle(&logs);
    let mut away: Vec<f64> = logs.iter().map(|log| (log - centre).abs()).collect();
    away.sort_by(f64::total_cmp);
    let room = 3.5 * (1.4826 * middle(&away)).max(1.15_f64.ln());
    ((centre - room).exp(), (centre + room).exp())
}

/// Returns the middle of what is sorted and not empty.
fn middle<T: Copy + IntoReal>(sorted: &[T]) -> f64 {
    let half = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        sorted[half].real()
    } else {
        f64::midpoint(sorted[half - 1].real(), sorted[half].real())
    }
}

trait IntoReal {
    fn real(self) -> f64;
}

impl IntoReal for i64 {
    fn real(self) -> f64 {
        self as f64
    }
}

impl IntoReal for f64 {
    fn real(self) -> f64 {
        self
    }
}

fn verdict(step: &Step, learnt: &Learnt) -> Verdict {
    let StepTime::Elapsed(card) = &step.time else {
        return Verdict::Untold("it lasts until the clock says so");
    };
    if card.per_piece != 0 || card.per_batch != 0 || card.per_litre != 0 {
        return Verdict::Untold(
            "its time grows with what is made, and the book does not keep how much was made",
        );
    }
    if !step.ways.is_empty() {
        return Verdict::Untold(
            "it has other ways, and the book does not keep in which it was done",
        );
    }
    let lengths = learnt.lengths();
    if lengths.len() < FEWEST || learnt.banquets() < FEWEST_BANQUETS {
        return Verdict::TooFew;
    }
    let offer = better(card, &lengths);
    if tells_nothing_new(card, &offer, &lengths) {
        Verdict::Fits
    } else {
        Verdict::Offer(offer)
    }
}

/// Returns what the card should say, given lengths in seconds, the shortest first, at least one.
fn better(card: &Work, lengths: &[i64]) -> Work {
    let count = lengths.len() as f64;
    let weighed = |card: f64, seen: f64| (CARD * card + count * seen) / (CARD + count);
    let (least, most) = (lengths[0] as f64, lengths[lengths.len() - 1] as f64);
    let (shortest, longest) = (card.shortest as f64, card.longest as f64);
    let usual = card
        .usual
        .map_or(f64::midpoint(shortest, longest), |usual| usual as f64);
    let usual = weighed(usual, middle(lengths));
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
    let unit = unit(usual);
    let usual = ((usual / unit).round() * unit).max(unit);
    Work {
        shortest: (((shortest / unit).floor() * unit).max(60.0)).min(usual) as i64,
        usual: Some(usual as i64),
        longest: ((longest / unit).ceil() * unit).max(usual) as i64,
        ..Work::default()
    }
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
fn tells_nothing_new(card: &Work, offer: &Work, lengths: &[i64]) -> bool {
    let booked = card.booked();
    let slack = unit(booked as f64).max(booked as f64 * 0.05);
    let near = (offer.booked() - booked).abs() as f64 <= slack;
    let inside = lengths.iter().all(|&seconds| {
        card.shortest as f64 - slack <= seconds as f64
            && seconds as f64 <= card.longest as f64 + slack
    });
    near && inside
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{EntryId, Happening};

    const MINUTE: i64 = 60;

    fn work(shortest: i64, usual: Option<i64>, longest: i64) -> Work {
        Work {
            shortest: shortest * MINUTE,
            usual: usual.map(|usual| usual * MINUTE),
            longest: longest * MINUTE,
            ..Work::default()
        }
    }

    fn minutes(lengths: &[i64]) -> Vec<i64> {
        lengths.iter().map(|length| length * MINUTE).collect()
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

    #[test]
    fn a_tick_forgotten_until_morning_is_far_off() {
        let lengths = minutes(&[50, 55, 58, 60, 62, 640]);
        let (least, most) = far_off(&lengths);
        assert!(
            least < 50.0 * 60.0 && most < 640.0 * 60.0 && 100.0 * 60.0 > most,
            "{least} {most}"
        );
        // Alike to the second: a little more is not far.
        let (least, most) = far_off(&minutes(&[60, 60, 60, 60, 90]));
        assert!(least < 40.0 * 60.0 && 90.0 * 60.0 < most, "{least} {most}");
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

    fn ticked(id: i64, at: i64, what: Happening) -> Entry {
        Entry {
            id: EntryId(id),
            event: String::new(),
            at: Timestamp(at),
            written: Timestamp(at),
            who: String::new(),
            place: String::new(),
            what,
        }
    }

    #[test]
    fn what_was_taken_back_does_not_count() {
        let step = || "a/b".to_owned();
        let entries = vec![
            ticked(1, 0, Happening::Started { step: step() }),
            ticked(2, 900, Happening::Finished { step: step() }),
            ticked(3, 901, Happening::Undone { entry: EntryId(2) }),
            ticked(4, 1800, Happening::Finished { step: step() }),
        ];
        let prep = PrepState::fold(&entries);
        let key = step().parse().expect("a key");
        assert_eq!(
            prep.progress(&key),
            Progress::Finished {
                started: Some(Timestamp(0)),
                at: Timestamp(1800)
            }
        );
    }
}
