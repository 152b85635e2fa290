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
//! Left out on purpose: which of several sizes of pack is cheapest. A larder says which one the house buys.

use std::collections::BTreeMap;

use super::bought::{Kind, bought_as, turned};
use super::density;
use super::scale::of_dish;
use crate::menu::{
    Ahead, Amount, Days, Density, Goods, Ingredient, Larder, Menu, Supplier, Unit, words,
};
use crate::time::{
    Date, Datelike, Local, Minute, Minutes, ServiceTime, TimeOfDay, Timelike, day_after,
};

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

/// Amounts of one thing, added up as far as they can be.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sum {
    /// How much of each kind, with the word it was first written with.
    of: BTreeMap<Kind, (f64, String)>,
    /// Whether some of it is to taste.
    pub to_taste: bool,
}

/// Everything some dishes take, by what it is bought as.
pub type Wanted = BTreeMap<Key, Sum>;

/// What something is bought as.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    /// The goods' name, or the ingredient's where the larder has none, in small letters.
    pub name: String,
    /// The supplier on the card, where the larder has no goods of that name.
    pub supplier: Option<String>,
}

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
    /// How many packs to buy, and what each holds; `None` where nobody says what a pack holds.
    pub packs: Option<(u64, Amount)>,
    /// What to buy beside packs: what no pack is known of, or what cannot be counted in them.
    pub loose: Vec<Amount>,
    /// What the packs cost, in the smallest coin.
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

/// Something to do by a certain time that is no step of a dish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reminder {
    /// By when an order must be out, or when what is done ahead begins.
    pub at: Minute,
    /// The dishes it is for, by their place in the menu.
    pub dishes: Vec<usize>,
    /// What.
    pub what: Todo,
}

/// What a reminder is of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Todo {
    /// Order from this supplier, or from whoever has it, these things.
    Order(Option<String>, Vec<String>),
    /// Do this to that, so long before it is used.
    Ahead(Ahead, String),
}

impl Line {
    /// Returns whether anything is to be bought.
    pub fn is_to_buy(&self) -> bool {
        self.packs.as_ref().is_some_and(|(count, _)| *count > 0) || !self.loose.is_empty()
    }

    /// Returns what to buy in words: `3 × 5 kg`, `2 × 1 l and 1 bunch`, `nothing`.
    pub fn buy(&self) -> String {
        let packs = self.packs.iter().filter(|(count, _)| *count > 0);
        let packs = packs.map(|(count, pack)| format!("{count} × {}", words::amount(pack)));
        let said: Vec<String> = packs.chain(self.loose.iter().map(words::amount)).collect();
        if said.is_empty() {
            "nothing".to_owned()
        } else {
            said.join(" and ")
        }
    }
}

impl Reminder {
    /// Returns it in one line: "order from the dairy: milk, butter", "soak dried fig, 12h".
    pub fn said(&self) -> String {
        match &self.what {
            Todo::Order(Some(supplier), names) => {
                format!("order from {supplier}: {}", names.join(", "))
            }
            Todo::Order(None, names) => format!("order: {}", names.join(", ")),
            Todo::Ahead(ahead, name) => {
                format!("{} {name}, {}", ahead.what, words::duration(ahead.time))
            }
        }
    }
}

impl Sum {
    fn add(&mut self, amount: &Amount, word: &str) {
        match Kind::of(amount) {
            Some((kind, number)) => self.add_of(kind, number, word),
            None => self.to_taste = true,
        }
    }

    fn add_of(&mut self, kind: Kind, number: f64, word: &str) {
        let known = self.of.entry(kind);
        known.or_insert_with(|| (0.0, word.to_owned())).0 += number;
    }

    /// Adds another sum of the same thing.
    pub fn add_all(&mut self, other: &Self) {
        for (kind, (number, word)) in &other.of {
            self.add_of(kind.clone(), *number, word);
        }
        self.to_taste |= other.to_taste;
    }

    /// Returns how much of each kind there is, in grams, millilitres and pieces by their word.
    pub fn numbers(&self) -> impl Iterator<Item = (&Kind, f64)> {
        self.of.iter().map(|(kind, (number, _))| (kind, *number))
    }

    /// Returns the sum as amounts; several where they cannot be added.
    pub fn amounts(&self) -> Vec<Amount> {
        let measured = self.of.iter().map(|(kind, (number, word))| {
            let amount = kind.amount(*number);
            match (amount, kind) {
                (Amount::Measured { number, .. }, Kind::Pieces(_)) => Amount::Measured {
                    number,
                    unit: Unit::Count(word.clone()),
                },
                (amount, _) => amount,
            }
        });
        let taste = self.to_taste.then_some(Amount::ToTaste);
        measured.chain(taste).collect()
    }

    /// Takes out how much there is of a kind, with all that can be turned into it.
    fn take(
        &mut self,
        kind: &Kind,
        density: Option<&Density>,
        each: Option<&Amount>,
    ) -> Option<f64> {
        let mut total: Option<f64> = None;
        self.of.retain(|of, (number, _)| {
            let Some(number) = turned((of, *number), kind, density, each) else {
                return true;
            };
            *total.get_or_insert(0.0) += number;
            false
        });
        total
    }
}

/// Returns what some dishes of a menu take, by what it is bought as; added up, the wants of two sets of dishes are those
/// of both.
pub fn wanted(menu: &Menu, dishes: impl IntoIterator<Item = usize>) -> Wanted {
    let mut wanted = Wanted::new();
    for dish_index in dishes {
        each_ingredient(menu, dish_index, |taken| {
            wanted.entry(taken.key).or_default().add_all(&taken.sum);
        });
    }
    wanted
}

/// Adds the wants of other dishes.
pub fn add(wanted: &mut Wanted, other: &Wanted) {
    for (key, sum) in other {
        wanted.entry(key.clone()).or_default().add_all(sum);
    }
}

/// An ingredient of a dish, and how much of it the dish takes of what it is bought as.
struct Taken<'m> {
    key: Key,
    ingredient: &'m Ingredient,
    goods: Option<&'m Goods>,
    sum: Sum,
    /// How the card's amount became what is bought, where it did not stay what it was.
    because: Vec<String>,
}

/// Calls `found` with each ingredient of a dish.
fn each_ingredient<'m>(menu: &'m Menu, dish_index: usize, mut found: impl FnMut(Taken<'m>)) {
    let Some(dish) = menu.dishes.get(dish_index) else {
        return;
    };
    let made = menu.made(dish);
    for ingredient in &dish.ingredients {
        let goods = menu.larder.goods_of(ingredient);
        let key = match goods {
            Some(goods) => Key {
                name: goods.name.trim().to_lowercase(),
                supplier: None,
            },
            None => Key {
                name: ingredient.name.trim().to_lowercase(),
                supplier: ingredient.supplier.clone(),
            },
        };
        let exact = of_dish(menu, dish, &made, ingredient);
        let bought = bought_as(&exact, ingredient, goods, menu.gelling);
        let (amount, mut because) = (bought.amount, Vec::new());
        because.extend(bought.because);
        let mut sum = Sum::default();
        // A card's own density holds for that card, so what it can turn is turned before anything is added.
        let turned = Kind::of(&amount).and_then(|(kind, number)| {
            let to = goods.and_then(counted_in)?;
            let density = density::of(ingredient, goods);
            let each = goods.and_then(|goods| goods.each.as_ref());
            let number = turned((&kind, number), &to, density.as_deref(), each)?;
            if kind != to {
                because.push(how_turned((&kind, &to), density.as_deref(), each));
            }
            Some((to, number))
        });
        match (turned, &amount) {
            (Some((kind, number)), _) => {
                let word = goods.and_then(|goods| goods.pack.as_ref().or(goods.stock.as_ref()));
                sum.add_of(kind, number, word.map_or("", word_of));
            }
            (None, amount) => sum.add(amount, word_of(amount)),
        }
        found(Taken {
            key,
            ingredient,
            goods,
            sum,
            because,
        });
    }
}

/// Returns by what an amount of one kind became one of another.
fn how_turned(
    (from, to): (&Kind, &Kind),
    density: Option<&Density>,
    each: Option<&Amount>,
) -> String {
    let pieces = [from, to]
        .into_iter()
        .any(|kind| matches!(kind, Kind::Pieces(_)));
    let each = each
        .filter(|_| pieces)
        .map(|each| format!("{} a piece", words::amount(each)));
    let volume = [from, to]
        .into_iter()
        .any(|kind| *kind == Kind::Millilitres);
    let density = density.filter(|_| volume).map(words::density);
    let by: Vec<String> = each.into_iter().chain(density).collect();
    format!("reckoned at {}", by.join("; "))
}

fn word_of(amount: &Amount) -> &str {
    match amount {
        Amount::Measured {
            unit: Unit::Count(word),
            ..
        } => word,
        _ => "",
    }
}

/// Returns what kind of amount goods are bought in: their packs', else their stock's.
fn counted_in(goods: &Goods) -> Option<Kind> {
    let amount = goods.pack.as_ref().or(goods.stock.as_ref())?;
    Kind::of(amount).map(|(kind, _)| kind)
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
                fetched = while_open(menu, service, fetched - ahead.time);
                let name = ingredient.name.clone();
                reminders.push(Reminder {
                    at: fetched,
                    dishes: vec![dish_index],
                    what: Todo::Ahead(ahead.clone(), name),
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
    let (density, each) = (one.density.as_ref(), goods.each.as_ref());
    let wanted = one.sum.amounts();
    let mut rest = one.sum;
    let mut remarks = one.remarks;
    let kept_for_use = f64::from(1000 - goods.loss.min(999)) / 1000.0;
    if goods.loss > 0 {
        remarks.push(format!("{} is lost in trimming", words::share(goods.loss)));
    }
    let mut stock = goods.stock.as_ref().and_then(Kind::of);
    let mut packs = None;
    let mut loose = Sum {
        to_taste: rest.to_taste,
        ..Sum::default()
    };
    if let Some(pack) = &goods.pack
        && let Some((kind, size)) = Kind::of(pack)
        && size > 0.0
    {
        let taken = rest.take(&kind, density, each).unwrap_or(0.0);
        let mut needed = taken / kept_for_use;
        if let Some((of, number)) = &stock
            && let Some(there) = turned((of, *number), &kind, density, each)
        {
            needed -= there;
            stock = None;
        }
        packs = Some((whole_packs(needed, size), pack.clone()));
    }
    // Without packs to count in, what can be added is.
    if packs.is_none()
        && rest.of.len() > 1
        && let Some((kind, (_, word))) = rest.of.iter().next()
    {
        let (kind, word) = (kind.clone(), word.clone());
        let before = rest.of.len();
        if let Some(all) = rest.take(&kind, density, each) {
            if rest.of.len() + 1 < before {
                let to = if kind == Kind::Grams {
                    Kind::Millilitres
                } else {
                    Kind::Grams
                };
                remarks.push(how_turned((&kind, &to), density, each));
            }
            rest.add_of(kind, all, &word);
        }
    }
    // What no pack holds is bought by itself.
    for (kind, (number, word)) in std::mem::take(&mut rest.of) {
        let mut needed = number / kept_for_use;
        if let Some((of, there)) = &stock
            && let Some(there) = turned((of, *there), &kind, density, each)
        {
            needed -= there;
            stock = None;
        }
        if needed > 1e-9 {
            loose.add_of(kind, needed, &word);
        }
    }
    if stock.is_some() && (!loose.of.is_empty() || packs.as_ref().is_some_and(|it| it.0 > 0)) {
        remarks.push(
            "what is in stock is not taken off: nothing says what it is of what is wanted"
                .to_owned(),
        );
    }
    if packs.is_some() && !loose.of.is_empty() {
        remarks
            .push("not all of it can be counted in packs: nothing says what it weighs".to_owned());
    } else if loose.of.len() > 1 {
        remarks.push("its amounts cannot be added, so each stands".to_owned());
    }
    let cost = packs
        .as_ref()
        .zip(goods.price)
        .map(|((count, _), price)| count.saturating_mul(price));
    let supplier = one.supplier.map(str::to_owned);
    let of_supplier = supplier.as_deref().and_then(|name| larder.supplier(name));
    let order_ahead = one
        .order_ahead
        .or(goods.order_ahead)
        .or(of_supplier.and_then(|supplier| supplier.order_ahead));
    let order_by = order_ahead
        .zip(one.fetched)
        .and_then(|(ahead, fetched)| order_by(service, fetched, ahead, of_supplier));
    let mut loose = loose.amounts();
    // Of what is only wanted to taste there is no amount to order where it comes in packs.
    if packs.is_some() {
        loose.retain(|amount| *amount != Amount::ToTaste);
    }
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
        cost,
        remarks,
        needed: one.needed,
        order_by,
        order_ahead,
    }
}

/// Returns how many whole packs hold so much. What is over by less than a millionth is what adding left behind.
fn whole_packs(needed: f64, size: f64) -> u64 {
    let packs = (needed / size - 1e-6).ceil();
    if packs > 0.0 { packs as u64 } else { 0 }
}

/// Returns the last time an order can be given for something that is fetched at a minute: so far ahead, on the clock of
/// the kitchen, and then the last hour before at which the supplier takes orders. Nothing where the supplier takes none
/// in the two months before.
fn order_by(
    service: ServiceTime,
    fetched: Minute,
    ahead: Minutes,
    supplier: Option<&Supplier>,
) -> Option<Minute> {
    const DAY: i32 = 1440;
    // Days are days of the calendar: across a clock change the hour stays.
    let local = service.local(fetched);
    let days = ahead.0 / DAY;
    let date = day_after(local.date, -i64::from(days));
    let latest = service.at(Local { date, ..local }) - Minutes(ahead.0 % DAY);
    let Some(supplier) = supplier else {
        return Some(latest);
    };
    let last = service.local(latest);
    (0..62).find_map(|back| {
        let date = day_after(last.date, -back);
        if !is_on(supplier.days.as_ref(), date, service) {
            return None;
        }
        let end_of_day = service.at_minute_of_day(date, 1440) - Minutes(1);
        let by = supplier.by.map_or(end_of_day, |by| at(service, date, by));
        match back {
            0 if supplier.by.is_none() => Some(latest),
            0 if by > latest => None,
            _ => Some(by),
        }
    })
}

/// Returns the last minute up to this one at which the kitchen is open, so that somebody can do it; the minute itself where
/// it has not been open in the fortnight before.
fn while_open(menu: &Menu, service: ServiceTime, at: Minute) -> Minute {
    let date = service.local(at).date;
    let mut latest: Option<Minute> = None;
    for back in 0..14 {
        let date = day_after(date, -back);
        for hours in &menu.kitchen.open {
            if !is_on(Some(&hours.days), date, service) {
                continue;
            }
            for span in &hours.spans {
                let from = service.at_minute_of_day(date, span.from);
                let last = service.at_minute_of_day(date, span.to) - Minutes(1);
                if from <= at {
                    latest = latest.max(Some(last.min(at)));
                }
            }
        }
        // Hours of an earlier day end earlier, but for the one that reaches past midnight.
        if latest.is_some() && back > 0 {
            break;
        }
    }
    latest.unwrap_or(at)
}

fn at(service: ServiceTime, date: Date, time: TimeOfDay) -> Minute {
    service.at_minute_of_day(date, 60 * time.hour() + time.minute())
}

/// Returns whether a date is one of these days; all are where none are named.
fn is_on(days: Option<&Days>, date: Date, service: ServiceTime) -> bool {
    match days {
        None | Some(Days::Every) => true,
        Some(Days::Weekdays(days)) => days.contains(&date.weekday()),
        Some(Days::Dates(dates)) => dates.contains(&date),
        Some(Days::BeforeService(before)) => before
            .iter()
            .any(|&days| day_after(service.service_date(), -i64::from(days)) == date),
    }
}

/// Returns a reminder for each supplier and day on which something must be ordered, at the earliest of its times.
fn orders(lines: &[Line], service: ServiceTime) -> Vec<Reminder> {
    let mut of: BTreeMap<(Date, Option<&str>), (Minute, Vec<usize>, Vec<String>)> = BTreeMap::new();
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
        })
        .collect()
}

/// Returns reminders in the order of time, those of the same thing at the same time made one.
fn merged(mut reminders: Vec<Reminder>) -> Vec<Reminder> {
    reminders.sort_by(|one, other| (one.at, one.said()).cmp(&(other.at, other.said())));
    let mut found: Vec<Reminder> = Vec::new();
    for reminder in reminders {
        match found.last_mut() {
            Some(last) if last.at == reminder.at && last.what == reminder.what => {
                last.dishes.extend(reminder.dishes);
            }
            _ => found.push(reminder),
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
