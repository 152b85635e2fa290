//! The order list on paper, for other programs and for spreadsheets.
//!
//! The JSON is one object; `format` says which version of this description holds. A *moment* is as in [`super::json`].
//! Amounts are in the cook's words (`text`), and where they are measured or counted also a `number` of a `unit`.
//!
//! ```text
//! {
//!   "format": "countback-order-2",
//!   "menu": {"id", "name", "covers"},
//!   "now": moment,
//!   "currency": name | null,
//!   "cost": number | null,               of all packs with a price, in the smallest coin
//!   "unpriced": number,                  lines to buy that have no price, or not for all of what is bought
//!   "lines": [
//!     {"name", "kind": name | null, "supplier": name | null,
//!      "takes": [amount, …],             what the dishes take; several where they cannot be added
//!      "dishes": [{"dish": id, "takes": [amount, …]}],
//!      "stock": amount | null,
//!      "packs": [{"count", "holds": amount, "price": number | null}],   every size; empty where none is known
//!      "loose": [amount, …],             to buy beside packs
//!      "cost": number | null,
//!      "needed": moment | null, "order_by": moment | null, "past": bool,
//!      "ordered": null | {"at": moment, "says", "more": text | null},   when it was ordered last, how much then, and
//!                                        what is still to be ordered beside all that is
//!      "remarks": [sentence, …]}],
//!   "reminders": [
//!     {"at": moment, "past": bool,        past where it is not seen to
//!      "what": "order" | "ahead", "says", "dishes": [id, …], "seen_to": moment | null,
//!      "late_minutes": number | null}]   by how much too late for the step that takes it
//! }
//! ```

use std::io;

use serde::Serialize;

use super::json::{Moment, OfMenu, moment, of_menu};
use super::page::hang;
use super::table::{self, Row};
use crate::menu::{Amount, Menu, words};
use crate::plan::Plan;
use crate::prep::{Begin, ErrandAt, Off, PrepState, begins, errands, ordered, short_of};
use crate::quantity::order::{self, By, Line, OrderList, Packs, When};
use crate::text::one_line;
use crate::time::{Minute, ServiceTime};

/// Names this version of the format.
const FORMAT: &str = "countback-order-2";

/// Returns the order list of a menu with the times of a plan, where there is one, for what has not begun.
pub fn order_list(
    menu: &Menu,
    plan: Option<&Plan>,
    prep: &PrepState,
    service: ServiceTime,
) -> OrderList {
    let begins = plan.map(|plan| begins(plan, prep));
    let when = |dish, step| match begins.as_ref().and_then(|of| of.get(&(dish, step))) {
        Some(Begin::At(minute)) => When::At(*minute),
        Some(Begin::Begun) => When::Over,
        None => When::Unknown,
    };
    order::list(menu, service, &when)
}

/// Returns what is to be seen to for a plan, in the order of time.
pub fn errands_of(menu: &Menu, plan: &Plan, prep: &PrepState) -> Vec<ErrandAt> {
    let list = order_list(menu, Some(plan), prep, plan.service);
    errands(&list, menu, prep, plan.service)
}

/// Writes the order list as text.
pub fn write(
    list: &OrderList,
    (menu, prep): (&Menu, &PrepState),
    by: By,
    (service, now): (ServiceTime, Minute),
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    writeln!(out, "{}", one_line(&menu.name))?;
    writeln!(
        out,
        "order list for {} covers, as of {}",
        menu.covers,
        service.local(now)
    )?;
    if list.lines.is_empty() {
        return writeln!(out, "\nno dish has an ingredient");
    }
    for (heading, lines) in list.divided(by, service) {
        writeln!(out, "\n{}", one_line(&heading))?;
        let lines = lines.iter().filter_map(|&line| list.lines.get(line));
        let rows: Vec<Row> = lines
            .map(|line| Row {
                cells: vec![
                    order_by(line, prep, service, now),
                    one_line(&line.name),
                    one_line(
                        &short_of(line, prep).map_or_else(|| line.buy(), |(rest, _)| rest.buy()),
                    ),
                    one_line(&words::amounts(&line.wanted)),
                    short_of(line, prep)
                        .map_or(line.cost, |(rest, _)| rest.cost)
                        .filter(|_| line.is_to_buy())
                        .map(words::price)
                        .unwrap_or_default(),
                ],
                remark: remark(line, (menu, prep), by),
            })
            .collect();
        table::write(
            &["order by", "what", "buy", "the dishes take", "cost"],
            &rows,
            width,
            out,
        )?;
    }
    writeln!(out)?;
    if let Some(said) = cost(list) {
        hang(&said, 0, width, out)?;
    }
    write_errands(
        &errands(list, menu, prep, service),
        (service, now),
        width,
        out,
    )
}

/// Returns what everything costs, in a sentence; nothing where no price is known.
pub fn cost(list: &OrderList) -> Option<String> {
    let (total, unpriced) = list.cost()?;
    let currency = list.currency.as_deref().unwrap_or_default();
    let more = match unpriced {
        0 => String::new(),
        unpriced => format!("; {unpriced} more to buy without a price"),
    };
    Some(one_line(&format!(
        "all packs with a price: {} {currency}{more}",
        words::price(total)
    )))
}

fn write_errands(
    errands: &[ErrandAt],
    (service, now): (ServiceTime, Minute),
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    if errands.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nin the order of time")?;
    for errand in errands {
        let said = format!(
            "{}  {}{}",
            service.local(errand.at),
            if errand.is_past(now) { "past: " } else { "" },
            one_line(&errand.words(service))
        );
        hang(&said, 0, width, out)?;
    }
    Ok(())
}

/// Returns by when a line must be ordered: `Wed 11:00`, `past: Wed 11:00`; or when it was: `ordered Tue 17:05`.
fn order_by(line: &Line, prep: &PrepState, service: ServiceTime, now: Minute) -> String {
    if let Some(at) = ordered(line, prep) {
        return format!("ordered {}", at.local(service.zone()).weekday_clock());
    }
    match (line.order_by, line.order_ahead) {
        _ if !line.is_to_buy() => String::new(),
        (Some(by), _) if by < now => format!("past: {}", service.local(by).weekday_clock()),
        (Some(by), _) => service.local(by).weekday_clock(),
        // No plan says when it is needed, or what needs it has begun.
        (None, Some(ahead)) => words::order_ahead(ahead),
        (None, None) => String::new(),
    }
}

fn remark(line: &Line, (menu, prep): (&Menu, &PrepState), by: By) -> String {
    let dishes = line.dishes.iter().map(|(dish, amounts)| {
        let name = menu.dishes.get(*dish).map_or("", |dish| &dish.name);
        if line.dishes.len() == 1 {
            name.to_owned()
        } else {
            format!("{name} ({})", words::amounts(amounts))
        }
    });
    let mut remarks = vec![format!("for {}", dishes.collect::<Vec<_>>().join(", "))];
    if by != By::Supplier
        && let Some(supplier) = &line.supplier
    {
        remarks.push(format!("from {supplier}"));
    }
    if let Some((_, known)) = short_of(line, prep) {
        remarks.push(format!("beside {known} that are ordered"));
    }
    if let Some(stock) = &line.stock {
        remarks.push(format!("{} in stock", words::amount(stock)));
    }
    remarks.extend(line.remarks.iter().cloned());
    one_line(&remarks.join("; "))
}

/// Writes the order list for a spreadsheet.
pub fn write_csv(
    list: &OrderList,
    (menu, prep): (&Menu, &PrepState),
    by: By,
    service: ServiceTime,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let heads = [
        "supplier",
        "kind",
        "what",
        "packs",
        "pack",
        "loose",
        "takes",
        "stock",
        "cost",
        "currency",
        "order by",
        "needed",
        "dishes",
        "remarks",
        "ordered",
        "ordered at",
    ];
    let at = |minute: Option<Minute>| {
        minute.map_or_else(String::new, |minute| service.local(minute).to_string())
    };
    let amount = |amount: &Option<Amount>| amount.as_ref().map(words::amount).unwrap_or_default();
    let groups = list.divided(by, service).into_iter();
    let lines = groups.flat_map(|(_, lines)| lines);
    let rows = lines.filter_map(|line| list.lines.get(line)).map(|line| {
        let dishes = line.dishes.iter();
        let dishes = dishes.filter_map(|(dish, _)| Some(menu.dishes.get(*dish)?.name.clone()));
        let known = prep.ordered(&line.name);
        vec![
            line.supplier.clone().unwrap_or_default(),
            line.kind.clone().unwrap_or_default(),
            line.name.clone(),
            packs(line, |it| it.count.to_string()),
            packs(line, |it| words::amount(&it.holds)),
            words::amounts(&line.loose),
            words::amounts(&line.wanted),
            amount(&line.stock),
            line.cost.map(words::price).unwrap_or_default(),
            list.currency.clone().unwrap_or_default(),
            at(line.order_by),
            at(line.needed),
            dishes.collect::<Vec<_>>().join("; "),
            line.remarks.join("; "),
            known.map_or_else(String::new, |(_, _, much)| much.says.clone()),
            known.map_or_else(String::new, |(_, at, _)| {
                at.local(service.zone()).to_string()
            }),
        ]
    });
    table::write_csv(&heads, rows, out)
}

/// Returns something of each size of pack that is bought, of the first size where none is; empty without packs.
fn packs(line: &Line, of: impl Fn(&Packs) -> String) -> String {
    let bought: Vec<String> = line.bought().map(&of).collect();
    if bought.is_empty() {
        let first = line.packs.iter().flatten().next();
        return first.map_or_else(String::new, of);
    }
    bought.join("; ")
}

/// An amount for other programs.
#[derive(Serialize)]
pub(super) struct OfAmount {
    text: String,
    number: Option<f64>,
    unit: Option<String>,
}

impl OfAmount {
    pub(super) fn of(amount: &Amount) -> Self {
        let (number, unit) = match amount {
            Amount::ToTaste => (None, None),
            Amount::Measured { number, unit } => {
                (Some(*number), Some(words::unit(unit).to_owned()))
            }
        };
        Self {
            text: words::amount(amount),
            number,
            unit,
        }
    }

    fn all(amounts: &[Amount]) -> Vec<Self> {
        amounts.iter().map(Self::of).collect()
    }
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    menu: OfMenu<'a>,
    now: Moment,
    currency: Option<&'a str>,
    cost: Option<u64>,
    unpriced: usize,
    lines: Vec<OfLine<'a>>,
    reminders: Vec<OfReminder<'a>>,
}

#[derive(Serialize)]
struct OfLine<'a> {
    name: &'a str,
    kind: Option<&'a str>,
    supplier: Option<&'a str>,
    takes: Vec<OfAmount>,
    dishes: Vec<OfUse<'a>>,
    stock: Option<OfAmount>,
    packs: Vec<OfPacks>,
    loose: Vec<OfAmount>,
    cost: Option<u64>,
    needed: Option<Moment>,
    order_by: Option<Moment>,
    past: bool,
    ordered: Option<OfOrder<'a>>,
    remarks: &'a [String],
}

/// What was ordered.
#[derive(Serialize)]
struct OfOrder<'a> {
    at: Moment,
    says: &'a str,
    more: Option<String>,
}

#[derive(Serialize)]
struct OfPacks {
    count: u64,
    holds: OfAmount,
    price: Option<u64>,
}

impl OfPacks {
    fn of(packs: &Packs) -> Self {
        Self {
            count: packs.count,
            holds: OfAmount::of(&packs.holds),
            price: packs.price,
        }
    }
}

#[derive(Serialize)]
struct OfUse<'a> {
    dish: &'a str,
    takes: Vec<OfAmount>,
}

/// A reminder for other programs.
#[derive(Serialize)]
pub(super) struct OfReminder<'a> {
    at: Moment,
    past: bool,
    what: &'static str,
    says: String,
    dishes: Vec<&'a str>,
    seen_to: Option<Moment>,
    late_minutes: Option<i32>,
}

impl<'a> OfReminder<'a> {
    pub(super) fn of(
        errand: &ErrandAt,
        menu: &'a Menu,
        (service, now): (ServiceTime, Minute),
    ) -> Self {
        let dishes = errand.dishes.iter();
        let seen_to = errand.seen_to.map(|(_, at)| service.minute(at));
        Self {
            at: moment(service, errand.at),
            past: errand.is_past(now),
            what: if errand.is_order() { "order" } else { "ahead" },
            says: errand.says.clone(),
            seen_to: seen_to.map(|at| moment(service, at)),
            late_minutes: match errand.off {
                Some(Off::TooLate(by)) => Some(by.0),
                Some(Off::TooEarly(_) | Off::AfterLastHour(_)) | None => None,
            },
            dishes: dishes
                .filter_map(|&dish| Some(menu.dishes.get(dish)?.id.as_str()))
                .collect(),
        }
    }
}

/// Writes the order list as one JSON object and a line end.
pub fn write_json(
    list: &OrderList,
    (menu, prep): (&Menu, &PrepState),
    (service, now): (ServiceTime, Minute),
    out: &mut impl io::Write,
) -> io::Result<()> {
    let at = |minute: Option<Minute>| minute.map(|minute| moment(service, minute));
    let lines = list.lines.iter().map(|line| OfLine {
        name: &line.name,
        kind: line.kind.as_deref(),
        supplier: line.supplier.as_deref(),
        takes: OfAmount::all(&line.wanted),
        dishes: line
            .dishes
            .iter()
            .filter_map(|(dish, takes)| {
                Some(OfUse {
                    dish: menu.dishes.get(*dish)?.id.as_str(),
                    takes: OfAmount::all(takes),
                })
            })
            .collect(),
        stock: line.stock.as_ref().map(OfAmount::of),
        packs: line.packs.iter().flatten().map(OfPacks::of).collect(),
        loose: OfAmount::all(&line.loose),
        cost: line.cost,
        needed: at(line.needed),
        order_by: at(line.order_by),
        past: line.is_to_buy()
            && ordered(line, prep).is_none()
            && line.order_by.is_some_and(|by| by < now),
        ordered: prep.ordered(&line.name).map(|(_, at, says)| OfOrder {
            at: moment(service, service.minute(at)),
            says: &says.says,
            more: short_of(line, prep).map(|(rest, _)| rest.buy()),
        }),
        remarks: &line.remarks,
    });
    let (cost, unpriced) = match list.cost() {
        Some((cost, unpriced)) => (Some(cost), unpriced),
        None => (
            None,
            list.lines.iter().filter(|line| line.is_to_buy()).count(),
        ),
    };
    let errands = errands(list, menu, prep, service);
    let document = Document {
        format: FORMAT,
        menu: of_menu(menu),
        now: moment(service, now),
        currency: list.currency.as_deref(),
        cost,
        unpriced,
        lines: lines.collect(),
        reminders: errands
            .iter()
            .map(|errand| OfReminder::of(errand, menu, (service, now)))
            .collect(),
    };
    serde_json::to_writer_pretty(&mut *out, &document).map_err(io::Error::from)?;
    writeln!(out)
}
