//! The larder: what is bought, from whom and in what, and what of it is there.
//!
//! It stands beside the dishes and not in them, because a card says what a dish takes and is used on many menus,
//! while packs, prices, suppliers and stock are the house's, and change without the card. An ingredient finds its
//! goods by name, or names them where they are called otherwise.

use super::{Amount, Days, Ingredient};
use crate::time::{Minutes, TimeOfDay};

/// Everything a house buys for its menus.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Larder {
    /// What prices are in, as it is to be shown: "EUR".
    pub currency: Option<String>,
    /// Who supplies.
    pub suppliers: Vec<Supplier>,
    /// What they supply.
    pub goods: Vec<Goods>,
}

/// A supplier, and when orders can be given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Supplier {
    /// The name goods refer to.
    pub name: String,
    /// How far ahead whatever they supply must be ordered, where the goods say nothing else.
    pub order_ahead: Option<Minutes>,
    /// The days on which they take orders; `None` is every day.
    pub days: Option<Days>,
    /// Until when on such a day; `None` is at any time.
    pub by: Option<TimeOfDay>,
}

/// Something that is bought.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Goods {
    /// What it is; the name ingredients find it by.
    pub name: String,
    /// Under which heading an order list puts it: "dairy", "dry".
    pub kind: Option<String>,
    /// Who supplies it.
    pub supplier: Option<String>,
    /// How far ahead it must be ordered.
    pub order_ahead: Option<Minutes>,
    /// What one pack holds, as it is bought: before peel, stone or shell come off.
    pub pack: Option<Amount>,
    /// What a pack costs, in the smallest coin (hundredths of the currency).
    pub price: Option<u64>,
    /// Other sizes it comes in, where there is one.
    pub other_packs: Vec<Pack>,
    /// What is thrown away of what is bought, in thousandths: peel, stone, shell. Below 1000.
    pub loss: u32,
    /// What a volume of it weighs.
    pub density: Option<Density>,
    /// What one piece weighs or measures, as it is used: an egg out of its shell.
    pub each: Option<Amount>,
    /// What is in the larder already, as it was bought.
    pub stock: Option<Amount>,
    /// How strongly it gels.
    pub strength: Option<Strength>,
    /// What has to be done with it before it can be used at all: defrosted.
    pub ahead: Option<Ahead>,
}

/// Another size of pack.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pack {
    /// What it holds: weighed, poured or counted as the goods' first pack is.
    pub holds: Amount,
    /// What it costs, in the smallest coin.
    pub price: Option<u64>,
}

/// Something done to an ingredient a while before it is used: "soak 12h", "defrost 1 day".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ahead {
    /// What: a word or a few.
    pub what: String,
    /// How long before it is used, or before what is done to it next.
    pub time: Minutes,
}

/// What a volume weighs. It is worth nothing without whoever says so.
#[derive(Clone, Debug, PartialEq)]
pub struct Density {
    /// Grams in a millilitre; above nought.
    pub grams_per_millilitre: f64,
    /// Who says so.
    pub source: String,
}

/// How strongly gelatine gels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strength {
    /// In grams Bloom.
    Bloom(u32),
    /// By the grade of its leaves.
    Leaf(Leaf),
}

/// A grade of leaf gelatine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "each variant is the name of its grade")]
pub enum Leaf {
    Bronze,
    Silver,
    Gold,
    Platinum,
}

/// By which law so much gelatine of one strength stands in for so much of another's. Both are published and they
/// disagree, so a menu says which, and whatever is worked out by it says so.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Gelling {
    /// Mass times strength stays the same.
    #[default]
    Linear,
    /// Mass times the square root of strength stays the same.
    SquareRoot,
}

impl Larder {
    /// Returns whether nothing stands in it.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Returns the goods an ingredient is bought as, where the larder has them: those it names, or those of its own
    /// name, capitals aside.
    pub fn goods_of(&self, ingredient: &Ingredient) -> Option<&Goods> {
        let name = ingredient.goods.as_ref().unwrap_or(&ingredient.name);
        self.goods(name)
    }

    /// Returns the goods of a name, capitals aside.
    pub fn goods(&self, name: &str) -> Option<&Goods> {
        let name = name.trim();
        let exact = self.goods.iter().find(|goods| goods.name.trim() == name);
        exact.or_else(|| {
            let name = name.to_lowercase();
            let mut goods = self.goods.iter();
            goods.find(|goods| goods.name.trim().to_lowercase() == name)
        })
    }

    /// Returns the supplier of a name.
    pub fn supplier(&self, name: &str) -> Option<&Supplier> {
        let mut suppliers = self.suppliers.iter();
        suppliers.find(|supplier| supplier.name.trim() == name.trim())
    }
}
