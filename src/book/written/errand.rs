//! What was seen to, as it is written.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::book::{Errand, Much};

/// An [`Errand`] as it is written.
#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum ErrandAs {
    Order {
        goods: BTreeMap<String, OfMuch>,
    },
    Ahead {
        what: String,
        name: String,
        dish: String,
        much: OfMuch,
    },
}

impl ErrandAs {
    pub(super) fn of(errand: &Errand) -> Self {
        match errand.clone() {
            Errand::Order { goods } => {
                let goods = goods.into_iter();
                let goods = goods.map(|(name, much)| (name, OfMuch::of(much))).collect();
                Self::Order { goods }
            }
            Errand::Ahead {
                what,
                name,
                dish,
                much,
            } => Self::Ahead {
                what,
                name,
                dish,
                much: OfMuch::of(much),
            },
        }
    }

    pub(super) fn into_errand(self) -> Errand {
        match self {
            Self::Order { goods } => {
                let goods = goods.into_iter();
                let goods = goods.map(|(name, much)| (name, much.into_much())).collect();
                Errand::Order { goods }
            }
            Self::Ahead {
                what,
                name,
                dish,
                much,
            } => Errand::Ahead {
                what,
                name,
                dish,
                much: much.into_much(),
            },
        }
    }
}

#[derive(Serialize, Deserialize)]
pub(super) struct OfMuch {
    says: String,
    all: BTreeMap<String, i64>,
}

impl OfMuch {
    fn of(much: Much) -> Self {
        let Much { says, all } = much;
        Self { says, all }
    }

    fn into_much(self) -> Much {
        let Self { says, all } = self;
        Much { says, all }
    }
}
