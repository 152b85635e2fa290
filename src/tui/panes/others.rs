//! The dishes for which the timeline has no row, in one line: what is foretold of a dish never has to be scrolled to.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::prep::Standing;
use crate::tui::sheet::Sheet;
use crate::tui::theme::{Tone, mark};
use crate::tui::ui::{Spot, Ui};
use crate::tui::view::DishRow;
use crate::tui::widgets::text::{columns, cut, put};
use crate::tui::words::LEAST_NAME;

const LEAD: &str = "   also ";
const BETWEEN: &str = " · ";

/// No dish takes fewer columns than this, with a name of one letter: of a thousand no more are tried than can stand there.
const LEAST_ITEM: usize = "a by 3 d".len();

/// Draws the dishes at these places of the view: the late ones first, then those with the least in hand; as many by
/// name as there is room for, and of all others how many they are and the least that any of them has in hand.
pub(super) fn draw(
    buffer: &mut Buffer,
    line: Rect,
    mut places: Vec<usize>,
    sheet: &Sheet,
    ui: &mut Ui,
) {
    let dish = |place: usize| &sheet.view.dishes[place];
    places.sort_by_key(|&place| in_hand(dish(place)));
    let dishes: Vec<&DishRow> = places.iter().map(|&place| dish(place)).collect();
    let room = usize::from(line.width).saturating_sub(columns(LEAD));
    let widths: Vec<_> = dishes.iter().map(|dish| widths(dish)).collect();
    let more: Vec<_> = (0..=dishes.len().min(room / LEAST_ITEM))
        .map(|named| more(&dishes[named..]))
        .collect();
    // Of so many by name, with names of so many columns at most.
    let wanted = |named: usize, most: usize| {
        let items = widths[..named]
            .iter()
            .map(|(name, rest)| name.min(&most) + rest);
        let items = items.chain(more[named].as_deref().map(columns));
        let wanted = items.map(|item| item + columns(BETWEEN)).sum::<usize>();
        wanted.saturating_sub(columns(BETWEEN))
    };
    let fits = |named: &usize| wanted(*named, LEAST_NAME) <= room;
    let named = (0..more.len()).rev().find(fits).unwrap_or(0);
    let wide_enough = |most: &usize| wanted(named, *most) <= room;
    let most = (LEAST_NAME..=room).rev().find(wide_enough);

    let quiet = sheet.colour.style(Tone::Quiet);
    let mut x = line.x;
    let mut say = |text: &str, style| {
        let from = x;
        x += put(
            buffer,
            x,
            line.y,
            line.right().saturating_sub(x),
            text,
            style,
        );
        Rect::new(from, line.y, x - from, 1)
    };
    say(LEAD, quiet);
    for (count, (dish, place)) in dishes.iter().zip(&places).take(named).enumerate() {
        if count > 0 {
            say(BETWEEN, quiet);
        }
        let tone = match (dish.late.is_some(), sign(dish)) {
            (true, _) => Tone::Alarm,
            (false, Some(_)) => Tone::State(dish.worst),
            (false, None) => Tone::Plain,
        };
        let text = item(dish, most.unwrap_or(LEAST_NAME));
        let spot = say(&text, sheet.colour.style(tone));
        ui.seen.spots.push((spot, Spot::Dish(*place)));
    }
    if let Some(more) = &more[named] {
        if named > 0 {
            say(BETWEEN, quiet);
        }
        say(more, quiet);
    }
}

/// Returns what orders the dishes: the late ones, the others, those with nothing left to do; each by what is in hand.
fn in_hand(dish: &DishRow) -> (bool, bool, i32) {
    let in_hand = dish.at_pass.0 - dish.ready.0;
    (dish.late.is_none(), dish.worst.is_over(), in_hand)
}

/// Returns the mark of a dish that somebody is at or should be, or that is over; none while it only waits.
fn sign(dish: &DishRow) -> Option<&'static str> {
    use Standing::{Ready, ToDo, Waiting};
    (!matches!(dish.worst, Ready | ToDo | Waiting)).then(|| mark(dish.worst))
}

/// Returns the columns of a dish's name, and of what stands beside it.
fn widths(dish: &DishRow) -> (usize, usize) {
    let sign = sign(dish).map_or(0, |sign| columns(sign) + 1);
    (columns(&dish.name), sign + 1 + columns(&dish.in_time))
}

/// Returns a dish and what is foretold of it, its name in so many columns at most.
fn item(dish: &DishRow, most: usize) -> String {
    let said = format!("{} {}", cut(&dish.name, most), dish.in_time);
    match sign(dish) {
        Some(sign) => format!("{sign} {said}"),
        None => said,
    }
}

/// Returns what is said of dishes that are not named; none where there are none.
fn more(dishes: &[&DishRow]) -> Option<String> {
    let all = dishes.len();
    let late = dishes.iter().filter(|dish| dish.late.is_some()).count();
    let open = dishes.iter().filter(|dish| !dish.worst.is_over());
    match (late, open.min_by_key(|dish| dish.at_pass - dish.ready)) {
        _ if all == 0 => None,
        (late, _) if late == all => Some(format!("{all} more, not in time")),
        (0, None) => Some(format!("{all} more, done")),
        (0, Some(nearest)) => Some(format!("{all} more {} at least", nearest.in_time)),
        (late, _) => Some(format!("{all} more, {late} of them not in time")),
    }
}
