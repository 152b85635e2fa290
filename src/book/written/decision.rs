//! What was decided, as it is written.

use serde::{Deserialize, Serialize};

use crate::book::Decision;
use crate::time::Timestamp;

/// A [`Decision`] as it is written; moments are seconds since 1970.
#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum DecisionAs {
    Service {
        to: i64,
    },
    Covers {
        dish: Option<String>,
        covers: u32,
    },
    Batches {
        dish: String,
        #[serde(default)]
        batches: Option<u32>,
    },
    CookAway {
        cook: String,
        from: i64,
        until: Option<i64>,
    },
    KitOut {
        kit: String,
        count: u32,
        from: i64,
        until: Option<i64>,
    },
    HandsAdded {
        stretches: Vec<(i64, i64)>,
    },
    StayingOn {
        from: i64,
        until: i64,
    },
    KitAdded {
        kit: String,
        count: u32,
    },
    WorkFrom {
        day: i64,
    },
    DishDropped {
        dish: String,
    },
    DishAdded {
        card: String,
        #[serde(default)]
        course: Option<String>,
        #[serde(default)]
        covers: Option<u32>,
    },
}

impl DecisionAs {
    pub(super) fn of(decision: &Decision) -> Self {
        let seconds = |moment: &Option<Timestamp>| moment.map(|moment| moment.0);
        match decision {
            Decision::Service { to } => Self::Service { to: to.0 },
            Decision::Covers { dish, covers } => Self::Covers {
                dish: dish.clone(),
                covers: *covers,
            },
            Decision::Batches { dish, batches } => Self::Batches {
                dish: dish.clone(),
                batches: *batches,
            },
            Decision::CookAway { cook, from, until } => Self::CookAway {
                cook: cook.clone(),
                from: from.0,
                until: seconds(until),
            },
            Decision::KitOut {
                kit,
                count,
                from,
                until,
            } => Self::KitOut {
                kit: kit.clone(),
                count: *count,
                from: from.0,
                until: seconds(until),
            },
            Decision::HandsAdded { stretches } => Self::HandsAdded {
                stretches: stretches.iter().map(|(from, to)| (from.0, to.0)).collect(),
            },
            Decision::StayingOn { from, until } => Self::StayingOn {
                from: from.0,
                until: until.0,
            },
            Decision::KitAdded { kit, count } => Self::KitAdded {
                kit: kit.clone(),
                count: *count,
            },
            Decision::WorkFrom { day } => Self::WorkFrom { day: day.0 },
            Decision::DishDropped { dish } => Self::DishDropped { dish: dish.clone() },
            Decision::DishAdded {
                card,
                course,
                covers,
            } => Self::DishAdded {
                card: card.clone(),
                course: course.clone(),
                covers: *covers,
            },
        }
    }

    pub(super) fn into_decision(self) -> Decision {
        match self {
            Self::Service { to } => Decision::Service { to: Timestamp(to) },
            Self::Covers { dish, covers } => Decision::Covers { dish, covers },
            Self::Batches { dish, batches } => Decision::Batches { dish, batches },
            Self::CookAway { cook, from, until } => Decision::CookAway {
                cook,
                from: Timestamp(from),
                until: until.map(Timestamp),
            },
            Self::KitOut {
                kit,
                count,
                from,
                until,
            } => Decision::KitOut {
                kit,
                count,
                from: Timestamp(from),
                until: until.map(Timestamp),
            },
            Self::HandsAdded { stretches } => Decision::HandsAdded {
                stretches: stretches
                    .into_iter()
                    .map(|(from, to)| (Timestamp(from), Timestamp(to)))
                    .collect(),
            },
            Self::StayingOn { from, until } => Decision::StayingOn {
                from: Timestamp(from),
                until: Timestamp(until),
            },
            Self::KitAdded { kit, count } => Decision::KitAdded { kit, count },
            Self::WorkFrom { day } => Decision::WorkFrom {
                day: Timestamp(day),
            },
            Self::DishDropped { dish } => Decision::DishDropped { dish },
            Self::DishAdded {
                card,
                course,
                covers,
            } => Decision::DishAdded {
                card,
                course,
                covers,
            },
        }
    }
}
