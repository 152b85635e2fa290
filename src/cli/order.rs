//! `order`: what to buy, on standard output.

use std::io::Write;

use super::args::{DividedBy, Form};
use super::command::Opened;
use super::print::width;
use super::report::{Ending, Failure};
use crate::prep::PrepState;
use crate::quantity::order::By;
use crate::sheets::order;

/// Prints the order list. Where no plan holds it still says what to buy; by when, it says as far as times are known.
pub(super) fn print(
    opened: &Opened,
    by: DividedBy,
    form: Form,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let prep = PrepState::fold(&opened.entries()?);
    let opened = &opened.as_decided(&prep);
    let outcome = opened.plan(&prep);
    let menu = &opened.loaded.menu;
    let list = order::order_list(menu, outcome.times(), &prep, opened.service);
    let by = match by {
        DividedBy::Supplier => By::Supplier,
        DividedBy::Kind => By::Kind,
        DividedBy::Date => By::Date,
    };
    let when = (opened.service, opened.minute());
    if form.json {
        order::write_json(&list, (menu, &prep), when, out)?;
    } else if form.csv {
        order::write_csv(&list, (menu, &prep), by, opened.service, out)?;
    } else {
        order::write(&list, (menu, &prep), by, when, width(), out)?;
    }
    Ok(Ending::Fine)
}
