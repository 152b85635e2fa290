//! A step: what is done, how long it takes, whose hands and which kit it needs, and what it follows.

use super::{Caution, Control, Cooling, Freshness, KitId, Makes, Scale, Temperature};
use crate::time::{Date, Minutes, TimeOfDay, Weekday};

/// One step of a dish.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The name other steps and the book know it by; unique in its dish; letters, digits and hyphens.
    pub id: String,
    /// The line on the sheet.
    pub name: String,
    /// The method, as prose.
    pub method: Option<String>,
    /// Whether it is done once, once a batch or once a part.
    pub each: Multiple,
    /// Where it is done: the id of a station.
    pub station: Option<String>,
    /// What a cook must be able to do to do it.
    pub skill: Option<String>,
    /// How long it takes.
    pub time: StepTime,
    /// The test that ends it, in words ("until it coats a spoon").
    pub until: Option<String>,
    /// The reading at which it is there, for readings to be held against.
    pub goal: Option<Goal>,
    /// Whose hands, when.
    pub hands: Hands,
    /// Kit used while it lasts.
    pub uses: Vec<KitUse>,
    /// Kit it takes and does not give back until another step.
    pub keeps_kit: Vec<Keep>,
    /// The steps it follows.
    pub after: Vec<After>,
    /// Steps of the same dish that must end together with it.
    pub together: Vec<String>,
    /// It starts no earlier than this.
    pub not_before: Option<Moment>,
    /// It has ended by this.
    pub done_by: Option<Moment>,
    /// Clock hours inside which all of it must lie.
    pub within: Option<super::Span>,
    /// How long what it makes may wait for the step that takes it.
    pub fresh: Freshness,
    /// Other ways to do the same.
    pub ways: Vec<Way>,
    /// What it does to the temperature of the food; `None` when nobody has said.
    pub temperature: Option<Temperature>,
    /// In what and how it is cooled, where it is.
    pub cooling: Option<Cooling>,
    /// Whether what is in it needs temperature control; `None` is as the dish says.
    pub control: Option<Control>,
    /// How far a syrup is boiled.
    pub sugar: Option<SugarMark>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// The reading that ends a step. Whole units of the smallest grain that a kitchen's instruments show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Goal {
    /// A temperature.
    Heat {
        /// In tenths of a degree Celsius.
        tenths: i32,
        /// That of what surrounds it, where the card says so; also in tenths.
        around: Option<i32>,
    },
    /// So many millilitres left.
    Volume(i64),
    /// So many grams left.
    Weight(i64),
}

/// How often a step is done.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Multiple {
    /// Once, or once a batch.
    #[default]
    Dish,
    /// Again for each batch.
    Batch,
    /// Again for each of these parts of a divided batch ("rose", "saffron", "plain").
    Parts(Vec<String>),
}

impl Multiple {
    /// Returns what the step's work grows with.
    pub fn scale(&self) -> Scale {
        match self {
            Self::Batch => Scale::Batch,
            Self::Dish | Self::Parts(_) => Scale::Dish,
        }
    }
}

/// How long a step takes.
#[derive(Clone, Debug, PartialEq)]
pub enum StepTime {
    /// Elapsed time.
    Elapsed(Work),
    /// Until the clock on the wall says so.
    Clock {
        /// What the clock must say.
        until: ClockWait,
        /// But at least so long.
        at_least: Minutes,
    },
}

/// Elapsed work, in seconds: a part that is always there and parts that grow.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Work {
    /// The shortest it ever takes.
    pub shortest: i64,
    /// What it usually takes; `None` when the menu gives only a range.
    pub usual: Option<i64>,
    /// The longest it takes.
    pub longest: i64,
    /// For each portion made in this step.
    pub per_piece: i64,
    /// For each batch, when the step is done once for several.
    pub per_batch: i64,
    /// For each litre made in this step.
    pub per_litre: i64,
    /// The volume in millilitres for which the fixed part was measured, where it grows with what is heated or
    /// boiled down. Of a pan on a ring that is always as hot, the heat needed to warm a volume, and to drive off
    /// its share of water, is in proportion to the volume, and so is the time: twice as much takes twice as long.
    pub for_volume: Option<f64>,
}

impl Work {
    /// Returns work of one fixed length.
    pub fn fixed(minutes: Minutes) -> Self {
        let seconds = i64::from(minutes.0) * 60;
        Self {
            shortest: seconds,
            usual: Some(seconds),
            longest: seconds,
            ..Self::default()
        }
    }

    /// Returns the seconds a doing takes: a length of the fixed part, and what grows with what the doing makes.
    pub fn seconds(&self, fixed: i64, makes: Makes) -> i128 {
        let fixed = match self.for_volume {
            Some(volume) if volume > 0.0 => {
                (fixed as f64 * makes.millilitres / volume).ceil() as i128
            }
            _ => i128::from(fixed),
        };
        fixed
            + i128::from(self.per_piece) * i128::from(makes.portions)
            + i128::from(self.per_batch) * i128::from(makes.batches)
            + (self.per_litre as f64 * makes.millilitres / 1000.0).ceil() as i128
    }

    /// Returns whether it grows with what is made.
    pub fn grows(&self) -> bool {
        self.per_piece != 0
            || self.per_batch != 0
            || self.per_litre != 0
            || self.for_volume.is_some()
    }

    /// Returns the seconds the plan books for the fixed part: the usual time where the menu gives one, else
    /// the longer end of the range, because a range without a usual time promises nothing shorter.
    pub fn booked(&self) -> i64 {
        self.usual.unwrap_or(self.longest)
    }
}

/// How far a syrup is boiled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SugarMark {
    /// The grams of sugar in 100 g (degrees Brix) it begins with, where the card says.
    pub from: Option<f64>,
    /// Where it ends.
    pub to: Sugar,
}

/// How concentrated a syrup is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sugar {
    /// Grams of sugar in 100 g.
    Brix(f64),
    /// By its behaviour in cold water.
    Stage(Stage),
}

/// A stage of boiled sugar by the cold-water test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "each variant is the name of its stage")]
pub enum Stage {
    Thread,
    SoftBall,
    FirmBall,
    HardBall,
    SoftCrack,
    HardCrack,
    HardCandy,
    LightCaramel,
    MediumCaramel,
    DarkCaramel,
}

/// A wait that ends by the clock on the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockWait {
    /// Until the kitchen opens: on the next day (1, "overnight"), on the second morning (2), and so on.
    KitchenOpens(u32),
    /// Until this time of day comes round.
    TimeOfDay(TimeOfDay),
}

/// Whose hands a step needs, and when.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hands {
    /// Hands from beginning to end.
    pub throughout: u32,
    /// Hands only to put on.
    pub put_on: Option<Touch>,
    /// Hands only to take off.
    pub take_off: Option<Touch>,
    /// A look every so often.
    pub look: Option<Look>,
    /// Somebody in the building although no hands are needed.
    pub someone_about: bool,
}

/// Hands for a while at one end of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Touch {
    /// For how long.
    pub time: Minutes,
    /// How many.
    pub hands: u32,
}

/// A look every so often: skim, stir, turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// From the start of one look to the start of the next.
    pub every: Minutes,
    /// For how long.
    pub time: Minutes,
    /// How many hands.
    pub hands: u32,
}

/// Kit used while a step lasts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KitUse {
    /// Which.
    pub kit: KitId,
    /// How many.
    pub count: u32,
    /// For an oven, the temperature in tenths of a degree Celsius.
    pub heat: Option<i32>,
}

/// Kit taken at one step and given back at another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keep {
    /// Which.
    pub kit: KitId,
    /// How many.
    pub count: u32,
    /// From this edge of the step that takes it.
    pub from: Edge,
    /// Until this step of the same dish.
    pub until: String,
    /// Until this edge of that step.
    pub to: Edge,
}

/// One end of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Its start.
    Start,
    /// Its end.
    End,
}

/// A step that comes before this one, and the gap between.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct After {
    /// The id of a step of the same dish, or `dish/step` for another dish of the menu.
    pub step: String,
    /// The gap.
    pub gap: Gap,
    /// The edge of the other step the gap is counted from.
    pub from: Edge,
    /// The edge of this step the gap is counted to.
    pub to: Edge,
}

/// The gap between two steps: a least and perhaps a most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The least wait.
    pub least: GapLeast,
    /// The longest wait, where there is one.
    pub most: Option<Minutes>,
}

impl Default for Gap {
    fn default() -> Self {
        Self {
            least: GapLeast::Elapsed(Minutes::ZERO),
            most: None,
        }
    }
}

/// The least wait of a gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GapLeast {
    /// So much elapsed time.
    Elapsed(Minutes),
    /// So many nights: until the kitchen has opened on that many later days.
    Nights(u32),
}

/// A moment as a cook names it on a menu that may be served on any date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// A time of day so many days before service; 0 is the day itself.
    BeforeService(u32, TimeOfDay),
    /// A time on the last such weekday up to and including the day of service.
    Weekday(Weekday, TimeOfDay),
    /// A time on a date.
    On(Date, TimeOfDay),
}

/// Another way to do a step, with its own time, hands and kit.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// What the way is called on the sheet.
    pub name: String,
    /// How long it takes this way.
    pub time: StepTime,
    /// Whose hands this way.
    pub hands: Hands,
    /// Kit this way.
    pub uses: Vec<KitUse>,
}
