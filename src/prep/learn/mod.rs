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
//! it counts as two doings: the usual time is the mean of the card's and the median, so weighted, and moves all the
//! way only with many doings. An end of the spread is where it really went, where that is outside the card; where it is
//! inside, the card's end comes closer by the same weights and never further in than what was seen: of n doings alike in
//! kind the next one lies outside all of them with a chance of 2 in n + 1 (order statistics; Wilks, "Determination of
//! Sample Sizes for Setting Tolerance Limits", 1941), so what was not seen yet proves little.
//!
//! # Time that grows with what is made
//! Of a step that takes "5 min + 20 s a piece" lengths of different banquets cannot be held against each other, only
//! each against what the card says for what was made that day; the book keeps that since the menu was seen with it. One
//! length cannot be parted into what was fixed and what grew, and few banquets differ enough for a line through them to
//! mean anything: both parts are taken to be off by the same factor, the middle one. What is left over after that is
//! what the fixed part is held against, so its ends cover what was seen.
//!
//! # What cannot be told
//! - A wait that the clock ends takes as long as the clock says.
//! - Time that grows, of a banquet at which covers or batches were decided anew: nobody knows what a doing made before
//!   and after.
//! - A step with other ways: the book keeps that it was done, not how.

mod card;

use std::collections::BTreeMap;

use super::{PrepState, Progress, changes};
use crate::book::{Decision, Entry, Happening, StepDigest};
use crate::menu::{Dish, Makes, Menu, Step, StepTime, Work};
use crate::plan::StepKey;
use crate::time::{Minutes, Timestamp};

/// How many doings it takes before anything is offered.
pub const FEWEST: usize = 4;

/// On how many banquets.
pub const FEWEST_BANQUETS: usize = 2;

/// So many steps ticked done in one minute were ticked afterwards.
const AT_ONCE: usize = 4;

/// One doing of a step that was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Doing {
    /// The banquet, as the book calls it.
    pub event: String,
    /// The step's key in it.
    pub key: String,
    /// When it ended.
    pub ended: Timestamp,
    /// How long it took, in seconds; none where it was never ticked started.
    pub seconds: Option<i64>,
    /// What it made, of steps whose time grows with that; none where the book does not say.
    pub makes: Option<Makes>,
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
    /// The time grows with what is made, and nobody knows how much that was.
    Amount,
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
            Self::Amount => {
                "its time grows with what is made, and the book does not say how much was made then"
            }
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
    /// What its first doing makes at the banquet that is planned.
    pub makes: Makes,
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
        let lengths: Vec<f64> = self.lengths().into_iter().map(|it| it as f64).collect();
        (!lengths.is_empty()).then(|| card::middle(&lengths).round() as i64)
    }

    /// Returns, of a step whose time grows, how many times as long as the card says each doing that counts took: 1.2
    /// where it was a fifth longer; the least first. Nothing of other steps.
    pub fn factors(&self) -> Vec<f64> {
        match &self.card {
            StepTime::Elapsed(work) if work.grows() => card::factors(work, &self.seen()),
            _ => Vec::new(),
        }
    }

    /// Returns the middle one of them.
    pub fn middle_factor(&self) -> Option<f64> {
        let factors = self.factors();
        (!factors.is_empty()).then(|| card::middle(&factors))
    }

    /// Returns what a plan of this menu books for a doing, by a time as it stands on a card.
    pub fn booked(&self, work: &Work) -> Minutes {
        let seconds = work.seconds(work.booked(), self.makes);
        Minutes::from_seconds_rounded_up(i64::try_from(seconds).unwrap_or(i64::MAX))
    }

    fn seen(&self) -> Vec<card::Seen> {
        let seen = self.kept.iter().filter_map(|doing| {
            Some(card::Seen {
                seconds: doing.seconds?,
                makes: doing.makes.unwrap_or(self.makes),
            })
        });
        seen.collect()
    }
}

/// Returns what the banquets of a book say of each step of a menu, in the order of the menu. `banquets` are the name of
/// each and its entries, oldest first.
pub fn learn(menu: &Menu, banquets: &[(String, Vec<Entry>)]) -> Vec<Learnt> {
    let now = changes::digest(menu);
    let mut doings: BTreeMap<(String, String), Vec<Found>> = BTreeMap::new();
    for (event, entries) in banquets {
        let prep = PrepState::fold(entries);
        let amounts = Amounts::of(&prep, entries);
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
            let makes = amounts.made(&key, started.unwrap_or(at), at);
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
                makes,
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
            of_step(menu, (dish, step), found.unwrap_or_default())
        })
        .collect()
}

/// What the doings of one banquet made.
struct Amounts<'a> {
    /// What the menu said, from when on; the oldest first.
    seen: Vec<(Timestamp, &'a BTreeMap<String, StepDigest>)>,
    /// The dishes of which that was decided anew; none for all.
    decided: Vec<Option<&'a str>>,
}

impl<'a> Amounts<'a> {
    fn of(prep: &'a PrepState, entries: &'a [Entry]) -> Self {
        let seen = entries.iter().filter_map(|entry| match &entry.what {
            Happening::MenuSeen { steps } => Some((entry.at, steps)),
            _ => None,
        });
        let decided = prep.decisions().filter_map(|decision| match decision {
            Decision::Covers { dish, .. } => Some(dish.as_deref()),
            // It may have been taken in again, for others.
            Decision::Batches { dish, .. } | Decision::DishDropped { dish } => {
                Some(Some(dish.as_str()))
            }
            _ => None,
        });
        Self {
            seen: seen.collect(),
            decided: decided.collect(),
        }
    }

    /// Returns what a doing that began and ended then made; none where nobody knows.
    fn made(&self, key: &StepKey, began: Timestamp, ended: Timestamp) -> Option<Makes> {
        let is_of_it = |dish: Option<&str>| dish.is_none_or(|dish| dish == key.dish);
        if self.decided.iter().copied().any(is_of_it) {
            return None;
        }
        let key = key.to_string();
        let said = |when: Timestamp| {
            let then = self.seen.iter().rev().find(|(at, _)| *at <= when);
            let (_, steps) = then.or(self.seen.first())?;
            steps.get(&key).and_then(changes::amount_of)
        };
        // A menu that was changed in between leaves open which of the two was made.
        said(began).filter(|made| said(ended) == Some(*made))
    }
}

fn minute(moment: Timestamp) -> i64 {
    moment.0.div_euclid(60)
}

fn of_step(menu: &Menu, (dish, step): (&Dish, &Step), doings: Vec<Found>) -> Learnt {
    let mut learnt = Learnt {
        dish: dish.id.clone(),
        step: step.id.clone(),
        name: step.name.clone(),
        card: step.time.clone(),
        makes: menu.makes(dish, &menu.made(dish), &step.each, 0),
        kept: Vec::new(),
        left_out: Vec::new(),
        verdict: Verdict::TooFew,
    };
    let is_unknown = |doing: &Doing| match (&step.time, doing.makes) {
        (StepTime::Elapsed(work), made) if work.grows() => {
            let by_volume = work.per_litre != 0 || work.for_volume.is_some();
            made.is_none_or(|made| by_volume && made.millilitres <= 0.0)
        }
        _ => false,
    };
    for (doing, left_out) in doings {
        let left_out = left_out.or(is_unknown(&doing).then_some(LeftOut::Amount));
        match left_out {
            None => learnt.kept.push(doing),
            Some(why) => learnt.left_out.push((doing, why)),
        }
    }
    let work = match &step.time {
        StepTime::Elapsed(work) => work.clone(),
        // How long it took is all that is known of a wait that the clock ended.
        StepTime::Clock { at_least, .. } => Work::fixed(*at_least),
    };
    let makes = learnt.makes;
    let factor = |doing: &Doing| {
        let makes = doing.makes.unwrap_or(makes);
        doing
            .seconds
            .map(|seconds| card::Seen { seconds, makes }.factor(&work))
    };
    let (least, most) = far_off(&card::factors(&work, &learnt.seen()));
    let is_far = |doing: &Doing| factor(doing).is_some_and(|it| it < least || most < it);
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

/// Returns the factors between which nothing is far from the others.
fn far_off(factors: &[f64]) -> (f64, f64) {
    if factors.len() < 3 {
        return (0.0, f64::INFINITY);
    }
    let logs: Vec<f64> = factors.iter().map(|factor| factor.ln()).collect();
    let centre = card::middle(&logs);
    let mut away: Vec<f64> = logs.iter().map(|log| (log - centre).abs()).collect();
    away.sort_by(f64::total_cmp);
    let room = 3.5 * (1.4826 * card::middle(&away)).max(1.15_f64.ln());
    ((centre - room).exp(), (centre + room).exp())
}

fn verdict(step: &Step, learnt: &Learnt) -> Verdict {
    let StepTime::Elapsed(card) = &step.time else {
        return Verdict::Untold("it lasts until the clock says so");
    };
    if !step.ways.is_empty() {
        return Verdict::Untold(
            "it has other ways, and the book does not keep in which it was done",
        );
    }
    let seen = learnt.seen();
    if seen.len() < FEWEST || learnt.banquets() < FEWEST_BANQUETS {
        return Verdict::TooFew;
    }
    let offer = card::better(card, &seen);
    if card::tells_nothing_new(card, &offer, &seen) {
        Verdict::Fits
    } else {
        Verdict::Offer(offer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{EntryId, Happening};

    #[test]
    fn a_tick_forgotten_until_morning_is_far_off() {
        let (least, most) = far_off(&[50, 55, 58, 60, 62, 640].map(f64::from));
        assert!(
            least < 50.0 && most < 640.0 && 100.0 > most,
            "{least} {most}"
        );
        // Alike to the second: a little more is not far.
        let (least, most) = far_off(&[60, 60, 60, 60, 90].map(f64::from));
        assert!(least < 40.0 && 90.0 < most, "{least} {most}");
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
