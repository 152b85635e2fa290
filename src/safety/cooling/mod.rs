//! Will it be cold in time? Answered before anything is cooked.
//!
//! A body of food stands at an even temperature in a place that is colder, and gives its heat through its surface;
//! what is asked is when its warmest point, the middle or the face that nothing cools, is at a temperature. The
//! answer is the exact series ([`series`]), for a layer, a pan, a pot and a ball, or, where it is stirred all
//! the time, one temperature that falls by Newton's law.
//!
//! How well a place takes heat away is known only between bounds ([`Place::film`]), so every answer has two ends:
//! as early as the one and as late as the other. It *passes* only where the later end does.
//!
//! A lid, paper or foil on the food counts as a face that nothing cools. That is the careful side: a still layer of
//! air under a lid is some, and what a thin liquid moves inside makes it faster than conduction alone.
//!
//! Left out on purpose: freezing, a fridge that warms up from what is put in, and evaporation. All but the first
//! two only make it cool faster; a crowded fridge is told by the temperature that is given for it.

mod answer;
pub mod card;
mod material;
pub mod series;

use series::{Series, Solid, root};

pub use answer::{Asked, LegForecast, Passes};
pub use material::{FOODS, Material};

/// Terms of a series at the middle: exact to ten places (see [`Series::new`]).
const TERMS: usize = 12;

/// How food stands, in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// A wide layer, whatever lies at its edge.
    Layer {
        /// How deep.
        depth: f64,
    },
    /// A rectangular pan or tray.
    Pan {
        /// The longer side.
        length: f64,
        /// The shorter side.
        width: f64,
        /// How deep the food stands in it.
        depth: f64,
    },
    /// A round pot, bowl or mould with upright walls.
    Pot {
        /// Across.
        diameter: f64,
        /// How deep the food stands in it.
        depth: f64,
    },
    /// A ball, or a mould that is nearly one.
    Ball {
        /// Across.
        diameter: f64,
    },
}

impl Shape {
    /// Returns the same shape filled to another depth; a ball stays a ball.
    #[must_use]
    pub fn at_depth(self, depth: f64) -> Self {
        match self {
            Self::Layer { .. } => Self::Layer { depth },
            Self::Pan { length, width, .. } => Self::Pan {
                length,
                width,
                depth,
            },
            Self::Pot { diameter, .. } => Self::Pot { diameter, depth },
            Self::Ball { .. } => self,
        }
    }

    /// Returns how deep it stands; a ball is as deep as it is wide.
    pub fn depth(self) -> f64 {
        match self {
            Self::Layer { depth } | Self::Pan { depth, .. } | Self::Pot { depth, .. } => depth,
            Self::Ball { diameter } => diameter,
        }
    }

    /// Returns the area of its upper face in square metres, where it has one.
    pub fn area(self) -> Option<f64> {
        match self {
            Self::Pan { length, width, .. } => Some(length * width),
            Self::Pot { diameter, .. } => Some(std::f64::consts::PI * diameter * diameter / 4.0),
            Self::Layer { .. } | Self::Ball { .. } => None,
        }
    }

    /// Returns whether every length is a number a kitchen has: above a tenth of a millimetre, below ten metres.
    pub fn is_real(self) -> bool {
        let real = |length: f64| (1e-4..10.0).contains(&length);
        match self {
            Self::Layer { depth } => real(depth),
            Self::Pan {
                length,
                width,
                depth,
            } => real(length) && real(width) && real(depth),
            Self::Pot { diameter, depth } => real(diameter) && real(depth),
            Self::Ball { diameter } => real(diameter),
        }
    }
}

/// Where food is cooled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// A fridge or cold room without a fan on the food.
    Still,
    /// A fridge with a fan.
    Fan,
    /// A blast chiller.
    Blast,
    /// Water with ice in it, to the height of the food.
    IceBath,
}

impl Place {
    /// Returns how well it takes heat away, least and most, W/(m²·K).
    ///
    /// Çengel's lecture notes on convection give free gas 2–25, forced gas 25–250, free liquid 50–100, forced
    /// liquid 50–20,000; within those, what kitchens report: still fridge air 5–10 with radiation of the same size
    /// (Laguerre 2010), fan 15–40, ice bath 200–500 where the water is kept moving (common practice, no source);
    /// a blast chiller stands between fan and forced gas.
    pub fn film(self) -> (f64, f64) {
        match self {
            Self::Still => (5.0, 10.0),
            Self::Fan => (15.0, 40.0),
            Self::Blast => (30.0, 80.0),
            Self::IceBath => (200.0, 500.0),
        }
    }

    /// Returns its temperature where nobody has said another, in °C: advice for fridges is 0 to 5 (Food Standards
    /// Agency), ice water stands at 0 and is a degree warmer beside a hot pan (common practice, no source).
    pub fn usual(self) -> f64 {
        match self {
            Self::Still | Self::Fan => 4.0,
            Self::Blast => -2.0,
            Self::IceBath => 1.0,
        }
    }
}

/// Food that is to be cooled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// How it stands.
    pub shape: Shape,
    /// What it conducts.
    pub material: Material,
    /// How warm it is at first, in °C.
    pub from: f64,
    /// Whether something lies on it.
    pub covered: bool,
    /// Whether it is stirred all the time.
    pub stirred: bool,
}

/// Where it is put.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Medium {
    /// What kind of place.
    pub place: Place,
    /// How cold, in °C.
    pub at: f64,
}

/// A time known between two ends, in minutes from the beginning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// No earlier than this.
    pub early: f64,
    /// No later than this.
    pub late: f64,
}

/// Returns when the warmest point is at `goal` °C; `None` where the place is not colder than that, or a length is
/// none a kitchen has.
pub fn minutes_to(body: &Body, medium: Medium, goal: f64) -> Option<Span> {
    let all = [body.from, medium.at, goal];
    if !body.shape.is_real() || !all.iter().all(|it| it.is_finite()) {
        return None;
    }
    if body.from <= goal {
        return Some(Span {
            early: 0.0,
            late: 0.0,
        });
    }
    let left = (goal - medium.at) / (body.from - medium.at);
    if left <= 0.0 {
        return None;
    }
    let (least, most) = medium.place.film();
    Some(Span {
        early: minutes_at(body, medium.place, most, left),
        late: minutes_at(body, medium.place, least, left),
    })
}

/// Returns the minutes until `left` of the first difference is left at the warmest point, for one film coefficient.
pub fn minutes_at(body: &Body, place: Place, film: f64, left: f64) -> f64 {
    Fall::new(body, place, film).minutes(left)
}

/// How the warmest point of a body falls, for one film coefficient: the roots are found once, whatever is then asked.
#[derive(Clone, Debug)]
pub struct Fall {
    /// The series of each direction, with Fo by the second.
    axes: Vec<(Series, f64)>,
    /// For what is stirred: the share that goes each second.
    stirred: Option<f64>,
}

impl Fall {
    /// Returns how a body falls in a place that takes heat away so well, W/(m²·K).
    pub fn new(body: &Body, place: Place, film: f64) -> Self {
        // A face that nothing cools is the middle of a body twice as thick. In a bath the open top gives its heat to
        // the air of the room: next to nothing.
        let one_face = body.covered || place == Place::IceBath;
        if body.stirred {
            let rate = film * cooled_by_volume(body.shape, one_face) / body.material.heat();
            return Self {
                axes: Vec::new(),
                stirred: Some(rate),
            };
        }
        let alpha = body.material.diffusivity;
        let axes = axes(body.shape, one_face)
            .into_iter()
            .flatten()
            .map(|(solid, size)| {
                let biot = film * size / body.material.conductivity;
                (Series::new(solid, biot, 0.0, TERMS), alpha / (size * size))
            })
            .collect();
        Self {
            axes,
            stirred: None,
        }
    }

    /// Returns the fall of the same body at another depth: its sides stay as they are. A ball stays a ball.
    fn at_depth(&self, body: &Body, place: Place, film: f64, depth: f64) -> Self {
        let body = Body {
            shape: body.shape.at_depth(depth),
            ..*body
        };
        let mut fall = self.clone();
        let one_face = body.covered || place == Place::IceBath;
        // Upright is the first direction of every shape that has a depth.
        if let (Some(first), [Some((Solid::Slab, size)), ..]) =
            (fall.axes.first_mut(), axes(body.shape, one_face))
        {
            let biot = film * size / body.material.conductivity;
            let series = Series::new(Solid::Slab, biot, 0.0, TERMS);
            *first = (series, body.material.diffusivity / (size * size));
            return fall;
        }
        Self::new(&body, place, film)
    }

    /// Returns the minutes until so much of the first difference is left.
    pub fn minutes(&self, left: f64) -> f64 {
        if left >= 1.0 {
            return 0.0;
        }
        if let Some(rate) = self.stirred {
            return -left.ln() / rate / 60.0;
        }
        let warmest = |seconds| self.after(seconds);
        // Doubled from a few minutes: what is asked in years is answered in years.
        let (mut near, mut far) = (0.0, 256.0);
        while warmest(far) > left && far < 1e12 {
            (near, far) = (far, far * 2.0);
        }
        root(|seconds| warmest(seconds) - left, near, far) / 60.0
    }

    /// Returns the share of the first difference that is left after so many minutes: what [`Fall::minutes`] is the
    /// other way round.
    pub fn left(&self, minutes: f64) -> f64 {
        self.after(minutes * 60.0)
    }

    fn after(&self, seconds: f64) -> f64 {
        if let Some(rate) = self.stirred {
            return (-rate * seconds).exp();
        }
        let axes = self.axes.iter();
        axes.map(|(series, by)| series.left(by * seconds)).product()
    }
}

/// Returns the directions in which a shape conducts, each with its half thickness or radius.
fn axes(shape: Shape, one_face: bool) -> [Option<(Solid, f64)>; 3] {
    let upright = |depth: f64| {
        let half = if one_face { depth } else { depth / 2.0 };
        Some((Solid::Slab, half))
    };
    match shape {
        Shape::Layer { depth } => [upright(depth), None, None],
        Shape::Pan {
            length,
            width,
            depth,
        } => [
            upright(depth),
            Some((Solid::Slab, length / 2.0)),
            Some((Solid::Slab, width / 2.0)),
        ],
        Shape::Pot { diameter, depth } => [
            upright(depth),
            Some((Solid::Cylinder, diameter / 2.0)),
            None,
        ],
        Shape::Ball { diameter } => [Some((Solid::Sphere, diameter / 2.0)), None, None],
    }
}

/// Returns the surface that gives heat, by volume, 1/m.
fn cooled_by_volume(shape: Shape, one_face: bool) -> f64 {
    let faces = if one_face { 1.0 } else { 2.0 };
    match shape {
        Shape::Layer { depth } => faces / depth,
        Shape::Pan {
            length,
            width,
            depth,
        } => faces / depth + 2.0 / length + 2.0 / width,
        Shape::Pot { diameter, depth } => faces / depth + 4.0 / diameter,
        Shape::Ball { diameter } => 6.0 / diameter,
    }
}

/// Returns the greatest depth, in metres, at which something that holds for shallow food still holds, between a
/// millimetre and `depth`; `None` where it does not hold at a millimetre either.
pub fn deepest(depth: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    let (mut shallow, mut deep) = (1e-3, depth);
    if !holds(shallow) {
        return None;
    }
    if deep <= shallow || holds(deep) {
        return Some(deep.max(shallow));
    }
    // To half a millimetre: no cook fills to less.
    while deep - shallow > 5e-4 {
        let middle = f64::midpoint(shallow, deep);
        if holds(middle) {
            shallow = middle;
        } else {
            deep = middle;
        }
    }
    Some(shallow)
}

/// Returns how long a jelly takes: until its middle is at its setting temperature, then the cook's own time to set;
/// the later end, in whole minutes rounded up, to be taken as the time of a step. `None` as in [`minutes_to`].
pub fn setting_minutes(body: &Body, medium: Medium, sets_at: f64, own: f64) -> Option<u32> {
    let cold = minutes_to(body, medium, sets_at)?.late;
    let whole = (cold + own.max(0.0)).ceil();
    (whole < 60.0 * 24.0 * 60.0).then_some(whole as u32)
}

#[cfg(test)]
mod tests;
