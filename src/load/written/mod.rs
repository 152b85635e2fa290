//! Menu → text, through the `ron` crate: the shape of a file as plain serde types, filled from a menu.
//!
//! Everything is written into the one file, and what a menu leaves unsaid is left out, except the order of the
//! steps: `after` is always written, because leaving it out of every step would mean "in the listed order".

mod dish;

use ron::ser::PrettyConfig;
use serde::{Serialize, Serializer};

use super::dish_card::{ALLERGENS, CAUTIONS};
use super::kitchen_card::COLD_BY;
use super::menu_card::{GELLINGS, GUEST_KINDS, RULES, STYLES};
use crate::menu::{self, words};
use crate::time::Minutes;
use dish::Dish;

/// Returns a menu as the text of one file that reads back as an equal menu.
///
/// # Panics
/// Never: what it writes has a form in RON whatever the menu says.
pub fn write_menu(menu: &menu::Menu) -> String {
    let layout = PrettyConfig::new()
        .struct_names(true)
        .indentor("    ")
        .new_line("\n");
    ron::ser::to_string_pretty(&Menu::of(menu), layout)
        .expect("plain structs, texts, numbers and lists have a form in RON")
}

/// A bare name, such as `Late`.
struct Bare(&'static str);

impl Serialize for Bare {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_unit_struct(self.0)
    }
}

/// Returns the bare name of a value in a table of them.
fn bare<T: PartialEq>(table: &[(&'static str, T)], value: &T) -> Bare {
    let found = table.iter().find(|(_, known)| known == value);
    Bare(found.expect("each table has every value of its type").0)
}

/// Writes a value that is there without `Some(…)` around it.
#[allow(clippy::ref_option, reason = "the signature that serde asks for")]
fn plain<T: Serialize, S: Serializer>(value: &Option<T>, serializer: S) -> Result<S::Ok, S::Error> {
    match value {
        Some(value) => value.serialize(serializer),
        None => serializer.serialize_none(),
    }
}

/// Returns the value, unless it is what a file means by leaving the field out.
fn unless<T: PartialEq>(value: T, left_out: &T) -> Option<T> {
    (value != *left_out).then_some(value)
}

fn allergens(list: &[menu::Allergen]) -> Vec<Bare> {
    list.iter().map(|one| bare(ALLERGENS, one)).collect()
}

fn cautions(cautions: &[menu::Caution]) -> Vec<Bare> {
    cautions.iter().map(|one| bare(CAUTIONS, one)).collect()
}

fn length(length: Option<Minutes>) -> Option<String> {
    length.map(words::duration)
}

#[derive(Serialize)]
struct Menu {
    id: String,
    name: String,
    service: String,
    covers: u32,
    style: Bare,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    prep_from: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    rules: Option<Bare>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    guests: Vec<Guest>,
    kitchen: Kitchen,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    larder: Option<Larder>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    gelling: Option<Bare>,
    courses: Vec<Course>,
    dishes: Vec<Serve>,
}

impl Menu {
    fn of(menu: &menu::Menu) -> Self {
        Self {
            id: menu.id.clone(),
            name: menu.name.clone(),
            service: words::service(&menu.service),
            covers: menu.covers,
            style: bare(STYLES, &menu.style),
            prep_from: menu.prep_from.map(|date| date.to_string()),
            rules: menu.rules.map(|rules| bare(RULES, &rules)),
            guests: menu.guests.iter().map(Guest::of).collect(),
            kitchen: Kitchen::of(&menu.kitchen),
            larder: (!menu.larder.is_empty()).then(|| Larder::of(&menu.larder)),
            gelling: unless(menu.gelling, &menu::Gelling::default())
                .map(|gelling| bare(GELLINGS, &gelling)),
            courses: menu.courses.iter().map(Course::of).collect(),
            dishes: menu.dishes.iter().map(Serve::of).collect(),
        }
    }
}

#[derive(Serialize)]
struct Guest {
    name: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    count: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    kind: Option<Bare>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    avoids: Vec<Bare>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    not: Vec<Bare>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    without: Vec<String>,
}

impl Guest {
    fn of(guest: &menu::Guest) -> Self {
        Self {
            name: guest.name.clone(),
            count: unless(guest.count, &1),
            kind: unless(guest.kind, &menu::GuestKind::default())
                .map(|kind| bare(GUEST_KINDS, &kind)),
            avoids: allergens(&guest.avoids),
            not: cautions(&guest.not),
            without: guest.without.clone(),
        }
    }
}

#[derive(Serialize)]
struct Course {
    id: String,
    name: String,
    at: String,
}

impl Course {
    fn of(course: &menu::Course) -> Self {
        let at = if course.offset < Minutes::ZERO {
            format!("-{}", words::duration(-course.offset))
        } else {
            format!("+{}", words::duration(course.offset))
        };
        Self {
            id: course.id.clone(),
            name: course.name.clone(),
            at,
        }
    }
}

#[derive(Serialize)]
struct Larder {
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    currency: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    suppliers: Vec<Supplier>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    goods: Vec<Goods>,
}

impl Larder {
    fn of(larder: &menu::Larder) -> Self {
        Self {
            currency: larder.currency.clone(),
            suppliers: larder.suppliers.iter().map(Supplier::of).collect(),
            goods: larder.goods.iter().map(Goods::of).collect(),
        }
    }
}

#[derive(Serialize)]
struct Supplier {
    name: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    order: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    days: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    by: Option<String>,
}

impl Supplier {
    fn of(supplier: &menu::Supplier) -> Self {
        Self {
            name: supplier.name.clone(),
            order: supplier.order_ahead.map(words::order_ahead),
            days: supplier.days.as_ref().map(words::days),
            by: supplier.by.map(words::clock),
        }
    }
}

#[derive(Serialize)]
struct Goods {
    name: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    kind: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    supplier: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    order: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    pack: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    price: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    other_packs: Vec<Pack>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    loss: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    density: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    each: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    stock: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    strength: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    ahead: Option<String>,
}

impl Goods {
    fn of(goods: &menu::Goods) -> Self {
        Self {
            name: goods.name.clone(),
            kind: goods.kind.clone(),
            supplier: goods.supplier.clone(),
            order: goods.order_ahead.map(words::order_ahead),
            pack: goods.pack.as_ref().map(words::amount),
            price: goods.price.map(words::price),
            other_packs: goods.other_packs.iter().map(Pack::of).collect(),
            loss: unless(goods.loss, &0).map(words::share),
            density: goods.density.as_ref().map(words::density),
            each: goods.each.as_ref().map(words::amount),
            stock: goods.stock.as_ref().map(words::amount),
            strength: goods.strength.map(words::strength),
            ahead: goods.ahead.as_ref().map(words::ahead),
        }
    }
}

#[derive(Serialize)]
struct Pack {
    holds: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    price: Option<String>,
}

impl Pack {
    fn of(pack: &menu::Pack) -> Self {
        Self {
            holds: words::amount(&pack.holds),
            price: pack.price.map(words::price),
        }
    }
}

#[derive(Serialize)]
struct Kitchen {
    name: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    zone: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    altitude: Option<String>,
    open: Vec<Open>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    watched: Vec<Watch>,
    cooks: Vec<Cook>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    stations: Vec<Station>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    kit: Vec<Kit>,
}

impl Kitchen {
    fn of(kitchen: &menu::Kitchen) -> Self {
        Self {
            name: kitchen.name.clone(),
            zone: kitchen.zone.map(|zone| zone.name().to_owned()),
            altitude: kitchen.altitude.map(words::altitude),
            open: kitchen.open.iter().map(Open::of).collect(),
            watched: kitchen.watched.iter().map(Watch::of).collect(),
            cooks: kitchen.cooks.iter().map(Cook::of).collect(),
            stations: kitchen.stations.iter().map(Station::of).collect(),
            kit: kitchen.kit.iter().map(Kit::of).collect(),
        }
    }
}

/// Three brackets of one shape; RON writes the name of the type in front, so each is a type.
macro_rules! hours {
    ($($name:ident),*) => {$(
        #[derive(Serialize)]
        struct $name {
            days: String,
            at: String,
        }

        impl $name {
            fn of(hours: &menu::Hours) -> Self {
                Self {
                    days: words::days(&hours.days),
                    at: words::spans(&hours.spans),
                }
            }
        }
    )*};
}

hours!(Open, Watch, Shift);

#[derive(Serialize)]
struct Cook {
    name: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    skills: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    shifts: Vec<Shift>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    overtime: Vec<Shift>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    away: Vec<Shift>,
}

impl Cook {
    fn of(cook: &menu::Cook) -> Self {
        Self {
            name: cook.name.clone(),
            skills: cook.skills.clone(),
            shifts: cook.shifts.iter().map(Shift::of).collect(),
            overtime: cook.overtime.iter().map(Shift::of).collect(),
            away: cook.away.iter().map(Shift::of).collect(),
        }
    }
}

#[derive(Serialize)]
struct Station {
    id: String,
    name: String,
}

impl Station {
    fn of((id, name): &(String, String)) -> Self {
        Self {
            id: id.clone(),
            name: name.clone(),
        }
    }
}

#[derive(Serialize)]
struct Kit {
    id: String,
    name: String,
    count: u32,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    holds: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    oven: Option<Oven>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    cold: Option<Cold>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    taken: Vec<Taken>,
}

impl Kit {
    fn of(kit: &menu::Kit) -> Self {
        Self {
            id: kit.id.clone(),
            name: kit.name.clone(),
            count: kit.count,
            holds: kit.holds,
            oven: kit.oven.map(|oven| Oven {
                change: words::duration(oven.change),
                shelves: Some(oven.shelves).filter(|&shelves| shelves != 1),
            }),
            cold: kit.cold.map(|cold| Cold {
                at: words::heat(cold.at),
                by: bare(COLD_BY, &cold.by),
            }),
            taken: kit.taken.iter().map(Taken::of).collect(),
        }
    }
}

#[derive(Serialize)]
struct Oven {
    change: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    shelves: Option<u32>,
}

#[derive(Serialize)]
struct Cold {
    at: String,
    by: Bare,
}

#[derive(Serialize)]
struct Taken {
    days: String,
    at: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    count: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    by: Option<String>,
}

impl Taken {
    fn of(taken: &menu::Taken) -> Self {
        Self {
            days: words::days(&taken.hours.days),
            at: words::spans(&taken.hours.spans),
            count: taken.count,
            by: taken.by.clone(),
        }
    }
}

#[derive(Serialize)]
struct Serve {
    dish: Dish,
    course: String,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    covers: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    spare: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    batches: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "plain")]
    margin: Option<String>,
}

impl Serve {
    fn of(dish: &menu::Dish) -> Self {
        Self {
            dish: Dish::of(dish),
            course: dish.course.clone(),
            covers: dish.covers,
            spare: unless(dish.spare, &0),
            batches: dish.batches,
            margin: length(unless(dish.margin, &Minutes::ZERO)),
        }
    }
}
