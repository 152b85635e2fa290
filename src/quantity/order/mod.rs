//! What must be bought for a menu, from whom, in how many packs, and by when.
//!
//! Everything the dishes take is added up by what it is bought as. Amounts add up where they are of one kind, or where a
//! density or the weight of a piece says how one becomes the other; where nothing does, both stand. What is lost in peel
//! and shell is put on top, what is in stock is taken off, and the rest is bought in whole packs.
//!
//! *When* goes backward from the first step that takes something: what is done to it before (soaked, defrosted) comes off,
//! then how far ahead it must be ordered, and then it is the last hour at which the supplier takes orders. The planner has
//! no part in this: ordering takes nobody's hands. It is reminded of, beside the steps.
//!
//! Where goods come in several sizes, the mix is bought that costs least, or leaves least over where not all have a price.
//!
//! Left out on purpose: the same goods from several suppliers. A larder says from whom the house buys.

mod buy;
mod packs;
mod sum;
mod when;

use std::collections::BTreeMap;

use super::bought::Kind;
use super::{density, pieces};
use crate::menu::{Ahead, Amount, Density, Goods, Larder, Menu, words};
use crate::time::{Date, Datelike, Minute, Minutes, ServiceTime};
use buy::{Bought, buy, counted};
use sum::{Taken, each_ingredient};
use when::{order_by, while_open};

pub use sum::{Key, Sum, Wanted, add, wanted};

/// When a step begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// At this minute of the plan.
    At(Minute),
    /// It is over, or will not be done: nothing need be reminded of for its sake.
    Over,
    /// No plan says when.
    Unknown,
}

/// Tells when a step of a dish first begins, by the places of both in the menu.
pub type Begins<'a> = &'a dyn Fn(usize, usize) -> When;

/// What must be bought.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OrderList {
    /// What prices are in.
    pub currency: Option<String>,
    /// The lines, by name.
    pub lines: Vec<Line>,
    /// What must be done before cooking begins, in the order of time; what no plan gives a time for comes last.
    pub reminders: Vec<Reminder>,
}

/// One thing to buy.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What it is, as the larder or the card writes it.
    pub name: String,
    /// Its heading.
    pub kind: Option<String>,
    /// Who supplies it.
    pub supplier: Option<String>,
    /// What the dishes take; several where they cannot be added.
    pub wanted: Vec<Amount>,
    /// The dishes that take it, by their place in the menu, each with what it takes.
    pub dishes: Vec<(usize, Vec<Amount>)>,
    /// What is in stock.
    pub stock: Option<Amount>,
    /// How many packs of each size to buy, in the order of the larder; `None` where nobody says what a pack holds.
    pub packs: Option<Vec<Packs>>,
    /// What to buy beside packs: what no pack is known of, or what cannot be counted in them.
    pub loose: Vec<Amount>,
    /// All of that before it is rounded up to packs.
    pub net: Sum,
    /// What the packs cost, in the smallest coin, where all that are bought have a price.
    pub cost: Option<u64>,
    /// What is to be known: losses, densities, what could not be taken off.
    pub remarks: Vec<String>,
    /// When the first step takes it.
    pub needed: Option<Minute>,
    /// By when it must be ordered; `None` where nothing says how far ahead, or no plan says when it is needed.
    pub order_by: Option<Minute>,
    /// How far ahead it must be ordered, where anything says so.
    pub order_ahead: Option<Minutes>,
}

/// Packs of one size.
#[derive(Clone, Debug, PartialEq)]
pub struct Packs {
    /// How many to buy.
    pub count: u64,
    /// What each holds.
    pub holds: Amount,
    /// What each costs, in the smallest coin.
    pub price: Option<u64>,
}

/// Something to do by a certain time that is no step of a dish.
#[derive(Clone, Debug, PartialEq)]
pub struct Reminder {
    /// By when an order must be out, or when what is done ahead begins.
    pub at: Minute,
    /// The dishes it is for, by their place in the menu.
    pub dishes: Vec<usize>,
    /// What.
    pub what: Todo,
    /// When the step takes what is done ahead, or the next thing is done to it; `None` of an order.
    pub taken: Option<Minute>,
    /// The step that takes it, by its place in its dish; `None` of an order.
    pub step: Option<usize>,
}

/// What a reminder is of.
#[derive(Clone, Debug, PartialEq)]
pub enum Todo {
    /// Order from this supplier, or from whoever has it, these things.
    Order(Option<String>, Vec<String>),
    /// Do this to so much of that, so long before it is used.
    Ahead(Ahead, String, Sum),
}

impl Line {
    /// Returns whether anything is to be bought.
    pub fn is_to_buy(&self) -> bool {
        self.bought().next().is_some() || !self.loose.is_empty()
    }

    /// Returns the packs to buy, without the sizes of which none is.
    pub fn bought(&self) -> impl Iterator<Item = &Packs> {
        let packs = self.packs.iter().flatten();
        packs.filter(|packs| packs.count > 0)
    }

    /// Returns all that the packs and the rest hold together, of each kind.
    pub fn holds(&self) -> BTreeMap<Kind, f64> {
        let packs = self.bought();
        let packs = packs.filter_map(|it| {
            let (kind, holds) = Kind::of(&it.holds)?;
            Some((kind, holds * it.count as f64))
        });
        let mut all = BTreeMap::new();
        for (kind, number) in packs.chain(self.loose.iter().filter_map(Kind::of)) {
            *all.entry(kind).or_insert(0.0) += number;
        }
        all
    }

    /// Returns what is still to be bought of it where so much was ordered.
    #[must_use]
    pub fn beyond(&self, ordered: &BTreeMap<Kind, f64>) -> Self {
        // A thousandth more is no more: what was ordered is known in thousandths.
        const NONE: f64 = 2e-3;
        let mut rest = Self {
            net: Sum::default(),
            loose: Vec::new(),
            ..self.clone()
        };
        for (kind, (number, word)) in &self.net.of {
            let missing = number - ordered.get(kind).copied().unwrap_or(0.0);
            if missing > NONE {
                rest.net.add_of(kind.clone(), missing, word);
            }
        }
        let mut loose = rest.net.clone();
        if let Some(packs) = &self.packs {
            let kind = packs.first().and_then(|packs| Kind::of(&packs.holds));
            let missing = kind.and_then(|(kind, _)| loose.of.remove(&kind));
            let missing = missing.map_or(0.0, |(number, _)| number);
            let packs = counted(packs.clone(), missing);
            rest.cost = sum_of_prices(&packs);
            rest.packs = Some(packs);
        }
        rest.loose = loose.amounts();
        rest
    }

    /// Returns what to buy in words: `3 × 5 kg`, `2 × 1 l and 1 bunch`, `nothing`.
    pub fn buy(&self) -> String {
        let packs = self.bought();
        let packs = packs.map(|it| format!("{} × {}", it.count, words::amount(&it.holds)));
        let said: Vec<String> = packs.chain(self.loose.iter().map(words::amount)).collect();
        if said.is_empty() {
            "nothing".to_owned()
        } else {
            said.join(" and ")
        }
    }
}

impl Todo {
    /// Returns it in one line: "order from the dairy: milk, butter", "soak dried fig, 12h".
    pub fn said(&self) -> String {
        match self {
            Self::Order(Some(supplier), names) => {
                format!("order from {supplier}: {}", names.join(", "))
            }
            Self::Order(None, names) => format!("order: {}", names.join(", ")),
            Self::Ahead(ahead, name, much) => {
                let much = match much.amounts().as_slice() {
                    [] | [Amount::ToTaste] => String::new(),
                    amounts => format!("{} ", words::amounts(amounts)),
                };
                let time = words::duration(ahead.time);
                format!("{} {much}{name}, {time}", ahead.what)
            }
        }
    }
}

/// What is gathered of one line.
#[derive(Default)]
struct Gathered<'m> {
    name: &'m str,
    goods: Option<&'m Goods>,
    supplier: Option<&'m str>,
    order_ahead: Option<Minutes>,
    density: Option<Density>,
    sum: Sum,
    dishes: Vec<(usize, Sum)>,
    remarks: Vec<String>,
    /// When it is taken out of the larder first, and when a step takes it first.
    fetched: Option<Minute>,
    needed: Option<Minute>,
}

/// Returns the order list of a menu.
pub fn list(menu: &Menu, service: ServiceTime, begins: Begins<'_>) -> OrderList {
    let mut gathered: BTreeMap<Key, Gathered<'_>> = BTreeMap::new();
    let mut reminders = Vec::new();
    for dish_index in 0..menu.dishes.len() {
        let dish = &menu.dishes[dish_index];
        each_ingredient(menu, dish_index, |taken| {
            let Taken {
                key,
                ingredient,
                goods,
                sum,
                because,
            } = taken;
            let one = gathered.entry(key).or_default();
            if one.name.is_empty() {
                one.name = goods.map_or(&ingredient.name, |goods| &goods.name);
            }
            one.goods = goods;
            one.supplier = one.supplier.or(goods
                .and_then(|goods| goods.supplier.as_deref())
                .or(ingredient.supplier.as_deref()));
            one.order_ahead = one.order_ahead.max(ingredient.order_ahead);
            if one.density.is_none() {
                one.density = density::of(ingredient, goods).map(std::borrow::Cow::into_owned);
            }
            one.sum.add_all(&sum);
            let own_sum = sum.clone();
            for said in because {
                if !one.remarks.contains(&said) {
                    one.remarks.push(said);
                }
            }
            match one
                .dishes
                .iter_mut()
                .find(|(known, _)| *known == dish_index)
            {
                Some((_, known)) => known.add_all(&sum),
                None => one.dishes.push((dish_index, sum)),
            }
            // What goes into no step by name is there from the first.
            let step = match &ingredient.into {
                Some(id) => dish.step(id).map(|(place, _)| place),
                None => (!dish.steps.is_empty()).then_some(0),
            };
            let Some(When::At(taken)) = step.map(|step| begins(dish_index, step)) else {
                return;
            };
            let mut fetched = taken;
            let own = ingredient.ahead.as_ref();
            let before = goods.and_then(|goods| goods.ahead.as_ref());
            for ahead in own.into_iter().chain(before) {
                let next = fetched;
                fetched = while_open(menu, service, fetched - ahead.time);
                let name = ingredient.name.clone();
                reminders.push(Reminder {
                    at: fetched,
                    dishes: vec![dish_index],
                    what: Todo::Ahead(ahead.clone(), name, own_sum.clone()),
                    taken: Some(next),
                    step,
                });
            }
            let earlier = |known: Option<Minute>, new| Some(known.map_or(new, |it| it.min(new)));
            one.fetched = earlier(one.fetched, fetched);
            one.needed = earlier(one.needed, taken);
        });
    }
    let lines: Vec<Line> = gathered
        .into_values()
        .map(|one| line(&menu.larder, service, one))
        .collect();
    reminders.extend(orders(&lines, service));
    OrderList {
        currency: menu.larder.currency.clone(),
        reminders: merged(reminders),
        lines,
    }
}

fn line(larder: &Larder, service: ServiceTime, one: Gathered<'_>) -> Line {
    let nothing = Goods::default();
    let goods = one.goods.unwrap_or(&nothing);
    let (density, each) = (one.density.as_ref(), pieces::of(goods));
    let wanted = one.sum.amounts();
    let mut remarks = one.remarks;
    let Bought { packs, loose, net } = buy(goods, density, each.as_ref(), one.sum, &mut remarks);
    let cost = packs.as_ref().and_then(|packs| cost(goods, packs));
    let supplier = one.supplier.map(str::to_owned);
    let of_supplier = supplier.as_deref().and_then(|name| larder.supplier(name));
    let order_ahead = one
        .order_ahead
        .or(goods.order_ahead)
        .or(of_supplier.and_then(|supplier| supplier.order_ahead));
    let order_by = order_ahead
        .zip(one.fetched)
        .and_then(|(ahead, fetched)| order_by(service, fetched, ahead, of_supplier));
    Line {
        name: one.name.to_owned(),
        kind: goods.kind.clone(),
        supplier,
        wanted,
        dishes: one
            .dishes
            .into_iter()
            .map(|(dish, sum)| (dish, sum.amounts()))
            .collect(),
        stock: goods.stock.clone(),
        packs,
        loose,
        net,
        cost,
        remarks,
        needed: one.needed,
        order_by,
        order_ahead,
    }
}

/// Returns what packs cost; nothing where one that is bought has no price, or none has.
fn cost(goods: &Goods, packs: &[Packs]) -> Option<u64> {
    sum_of_prices(packs).filter(|all| *all > 0 || goods.price.is_some())
}

/// Returns what packs cost where all that are bought have a price.
fn sum_of_prices(packs: &[Packs]) -> Option<u64> {
    let bought = packs.iter().filter(|it| it.count > 0);
    let costs = bought.map(|it| Some(it.count.saturating_mul(it.price?)));
    let all: Option<Vec<u64>> = costs.collect();
    Some(all?.into_iter().fold(0, u64::saturating_add))
}

/// Returns a reminder for each supplier and day on which something must be ordered, at the earliest of its times.
fn orders(lines: &[Line], service: ServiceTime) -> Vec<Reminder> {
    type Day<'a> = (Date, Option<&'a str>);
    type Goes = (Minute, Vec<usize>, Vec<String>);
    let mut of: BTreeMap<Day<'_>, Goes> = BTreeMap::new();
    for line in lines.iter().filter(|line| line.is_to_buy()) {
        let Some(by) = line.order_by else {
            continue;
        };
        let key = (service.local(by).date, line.supplier.as_deref());
        let (at, dishes, names) = of
            .entry(key)
            .or_insert_with(|| (by, Vec::new(), Vec::new()));
        *at = (*at).min(by);
        dishes.extend(line.dishes.iter().map(|(dish, _)| *dish));
        names.push(line.name.clone());
    }
    of.into_iter()
        .map(|((_, supplier), (at, dishes, names))| Reminder {
            at,
            dishes,
            what: Todo::Order(supplier.map(str::to_owned), names),
            taken: None,
            step: None,
        })
        .collect()
}

/// Returns reminders in the order of time, those of the same thing for the same step at the same time made one.
fn merged(mut reminders: Vec<Reminder>) -> Vec<Reminder> {
    reminders.sort_by_cached_key(|reminder| (reminder.at, reminder.what.said()));
    let mut found: Vec<Reminder> = Vec::new();
    for reminder in reminders {
        let same = found.iter_mut().rev().find_map(|known| {
            let is_same = (known.at, known.step, &known.dishes)
                == (reminder.at, reminder.step, &reminder.dishes);
            match (&mut known.what, &reminder.what) {
                (Todo::Ahead(ahead, name, much), Todo::Ahead(other, of, more))
                    if is_same && ahead == other && name == of =>
                {
                    Some((much, more))
                }
                _ => None,
            }
        });
        match same {
            Some((much, more)) => much.add_all(more),
            None => found.push(reminder),
        }
    }
    for reminder in &mut found {
        reminder.dishes.sort_unstable();
        reminder.dishes.dedup();
    }
    found
}

/// How an order list is divided.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum By {
    /// By who supplies it.
    #[default]
    Supplier,
    /// By what it is.
    Kind,
    /// By the day on which it must be ordered.
    Date,
}

impl OrderList {
    /// Returns the lines under headings, by their places: the headings in order, what belongs under none of them last.
    pub fn divided(&self, by: By, service: ServiceTime) -> Vec<(String, Vec<usize>)> {
        let mut groups: BTreeMap<(bool, Option<Minute>, String), Vec<usize>> = BTreeMap::new();
        for (place, line) in self.lines.iter().enumerate() {
            let key = match by {
                By::Supplier => named(line.supplier.as_deref(), "no supplier named"),
                By::Kind => named(line.kind.as_deref(), "of no kind"),
                By::Date => match line.order_by {
                    Some(by) => {
                        let date = service.local(by).date;
                        let heading = format!(
                            "order by {} {date}",
                            crate::time::weekday_name(date.weekday())
                        );
                        (false, Some(service.at_minute_of_day(date, 0)), heading)
                    }
                    None => (true, None, "no time to order by".to_owned()),
                },
            };
            groups.entry(key).or_default().push(place);
        }
        let groups = groups.into_iter();
        groups
            .map(|((_, _, heading), lines)| (heading, lines))
            .collect()
    }

    /// Returns what all priced packs cost, in the smallest coin, and how many lines to buy have no price; nothing where
    /// no line has one.
    pub fn cost(&self) -> Option<(u64, usize)> {
        let known = self.lines.iter().filter_map(|line| line.cost);
        let total = known.clone().fold(0, u64::saturating_add);
        let unpriced = self.lines.iter().filter(|line| line.is_to_buy());
        let unpriced = unpriced.filter(|line| line.cost.is_none() || !line.loose.is_empty());
        (known.count() > 0).then(|| (total, unpriced.count()))
    }
}

fn named(name: Option<&str>, none: &str) -> (bool, Option<Minute>, String) {
    (name.is_none(), None, name.unwrap_or(none).to_owned())
}
