//! Standing where announced: every start is given, and what is left to find is in which mode.
//!
//! An announced start does not say in which mode. The cheapest that fits is mostly the one meant, but where it is
//! not, it may leave another none; a plan would then seem not to hold that does. So modes are searched for: whoever
//! has one left takes it, and where nobody is so bound, whoever has fewest takes its cheapest (maintaining arc
//! consistency with the smallest domain first, Sabin and Freuder, *Contradicting conventional wisdom in constraint
//! satisfaction*, 1994; from memory). After a few failures the search begins again with those first that were left
//! none most often (Boussemart, Hemery, Lecoutre and Sais 2004; from memory).
//!
//! On a bold board nothing that stands takes more than it will in the end, so what does not fit now never does.

use super::board::Board;
use super::prepared::Prepared;
use super::seat::{self, Bounds, Turn};
use super::structure::Member;
use crate::schedule::network::Windows;
use crate::schedule::problem::{Activity, ActivityId, Instance, Time};

/// After how many failures the search first begins again; then after twice as many, and so on.
const FAILURES: u32 = 4;

/// How often modes are looked at, for each activity that has a choice, before the plan is taken not to stand.
const LOOKS: usize = 200;

/// Returns the board on which every activity stands at its announced start, in the cheapest modes that leave all
/// others one, if all of that still holds. What was not announced goes as late as the rest lets it.
pub(super) fn stands<'a>(prepared: &Prepared<'a>, starts: &[Option<Time>]) -> Option<Board<'a>> {
    let mut board = prepared.board();
    board.wary = false;
    let order = latest_first(prepared, starts);
    let mut choices = Vec::new();
    for &index in &order {
        let Some(start) = starts[index] else { continue };
        if prepared.instance.activities[index].modes.len() > 1 {
            choices.push(Choice {
                id: ActivityId(index),
                start,
                span: span(prepared, starts, index),
                wants: wants(prepared, index),
                modes: cheapest_first(&prepared.instance.activities[index]),
                stale: Stale::Fewer,
                trouble: 0,
            });
        } else if !stands_at(&mut board, &prepared.first, ActivityId(index), 0, start) {
            return None;
        }
    }
    let mut search = Search {
        looks: LOOKS * choices.len(),
        prepared,
        board,
        choices,
        stack: Vec::new(),
        failures: 0,
    };
    // What no longer stands is mostly what is next, which would be looked at last: when all the rest has been chosen.
    for choice in (0..search.choices.len()).rev() {
        search.look(choice);
        if search.choices[choice].modes.is_empty() {
            return None;
        }
    }
    if !search.run() {
        return None;
    }
    let Search { mut board, .. } = search;
    let new = order.into_iter().filter(|&index| starts[index].is_none());
    add(prepared, &mut board, new.map(ActivityId).collect())?;
    Some(board)
}

/// Returns the activities to come, the latest first, so that what is kept is given back before it is taken.
pub(super) fn latest_first(prepared: &Prepared<'_>, starts: &[Option<Time>]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..starts.len()).collect();
    order.retain(|&index| prepared.instance.activities[index].fixed.is_none());
    order.sort_by_key(|&index| std::cmp::Reverse(starts[index]));
    order
}

/// Puts an activity at a start in the cheapest mode that fits there.
pub(super) fn put(
    board: &mut Board<'_>,
    windows: &Windows,
    id: ActivityId,
    start: Time,
) -> Option<()> {
    let modes = cheapest_first(&board.instance.activities[id.0]);
    modes
        .into_iter()
        .any(|mode| stands_in(board, windows, id, mode, start))
        .then_some(())
}

/// Returns the modes of an activity, those that cost least first: whoever has been told a way is asked for any
/// other at a price.
fn cheapest_first(activity: &Activity) -> Vec<usize> {
    let mut modes: Vec<usize> = (0..activity.modes.len()).collect();
    modes.sort_by_key(|&mode| activity.modes[mode].cost);
    modes
}

/// Returns whether a start lies in an activity's window and the board has room for it there; the mode is chosen when it
/// returns.
fn has_room(
    board: &mut Board<'_>,
    windows: &Windows,
    id: ActivityId,
    mode: usize,
    start: Time,
) -> bool {
    board.network.choose(id, Some(mode));
    let (earliest, latest) = board.network.in_chosen_mode(windows, id);
    (earliest..=latest).contains(&start) && board.fits(id, mode, start)
}

/// Puts an activity at a start if that lies in its window and the board has room for it.
fn stands_in(
    board: &mut Board<'_>,
    windows: &Windows,
    id: ActivityId,
    mode: usize,
    start: Time,
) -> bool {
    if has_room(board, windows, id, mode, start) {
        board.place(id, mode, start);
        if !board.overdraws(id) {
            return true;
        }
        board.remove(id);
    }
    board.network.choose(id, None);
    false
}

/// The same, if the lags to all that stand hold too.
fn stands_at(
    board: &mut Board<'_>,
    first: &Windows,
    id: ActivityId,
    mode: usize,
    start: Time,
) -> bool {
    if !stands_in(board, first, id, mode, start) {
        return false;
    }
    let holds = board.against(id).is_empty();
    if !holds {
        board.remove(id);
    }
    holds
}

/// Returns whether it would; the board is as it was.
fn could_stand_at(
    board: &mut Board<'_>,
    first: &Windows,
    id: ActivityId,
    mode: usize,
    start: Time,
) -> bool {
    if board.keeps(id) {
        // What it uses and what it keeps may each fit and not together; that shows when it stands.
        let stands = stands_at(board, first, id, mode, start);
        if stands {
            board.remove(id);
        }
        return stands;
    }
    let stands = has_room(board, first, id, mode, start) && board.against_at(id, start).is_empty();
    board.network.choose(id, None);
    stands
}

/// Puts in what was not announced, each block as late as what stands lets it.
fn add(prepared: &Prepared<'_>, board: &mut Board<'_>, mut new: Vec<ActivityId>) -> Option<()> {
    if new.is_empty() {
        return Some(());
    }
    let mut windows = (*prepared.first).clone();
    for (index, placed) in board.placed.iter().enumerate() {
        if let Some(placed) = placed {
            let id = ActivityId(index);
            board.network.stand(&mut windows, id, placed.start);
        }
    }
    let network = &board.network;
    network.reopen(&mut windows, &prepared.first, &new).ok()?;
    new.sort_by_key(|id| std::cmp::Reverse(windows.latest[id.0]));
    for id in new {
        // Those that stand at fixed distances find room together, or not at all.
        let block = &prepared.structure.blocks[prepared.structure.block_of[id.0]];
        let mut members = block.members.clone();
        members.retain(|it| board.placed[it.id.0].is_none());
        if members.is_empty() {
            continue;
        }
        let bounds = |board: &Board<'_>, id: ActivityId| {
            let (earliest, latest) = board.network.in_chosen_mode(&windows, id);
            Bounds {
                earliest,
                latest,
                look_from: earliest,
            }
        };
        let latest = |it: &Member| seat::latest_time(&board.network, it, windows.latest[it.id.0]);
        let ceiling = members.iter().map(latest).min()?;
        seat::seat(board, &members, ceiling, Turn::From(0), &bounds).ok()?;
        for &Member { id, .. } in &members {
            let start = board.placed[id.0]?.start;
            board.network.place(&mut windows, id, start).ok()?;
        }
    }
    Some(())
}

/// Returns what an activity may want, and what it is in one block with, one bit for each resource and each state; some
/// share one where there are many.
fn wants(prepared: &Prepared<'_>, index: usize) -> u64 {
    let wants = &prepared.wants[prepared.structure.block_of[index]];
    wants.iter().fold(0, |bits, want| bits | 1 << (want % 64))
}

/// Returns the minutes for which an activity may take something, states and their changes counted.
fn span(prepared: &Prepared<'_>, starts: &[Option<Time>], index: usize) -> (Time, Time) {
    let instance = prepared.instance;
    let (mut from, mut to) = own_span(instance, starts, index);
    for &hold in &prepared.facts.holds_of[index] {
        let hold = &instance.holds[hold as usize];
        for id in [hold.from.0, hold.to.0] {
            let (since, until) = own_span(instance, starts, id.0);
            (from, to) = (from.min(since), to.max(until));
        }
    }
    (from, to)
}

fn own_span(instance: &Instance, starts: &[Option<Time>], index: usize) -> (Time, Time) {
    let activity = &instance.activities[index];
    let begun = activity.fixed.map(|(start, _)| start);
    let Some(start) = begun.or(starts[index]) else {
        return (instance.earliest, instance.latest);
    };
    let ended = activity.fixed.and_then(|(_, end)| end);
    let modes = activity.modes.iter();
    let ends = modes.map(|mode| instance.end_of(mode, start).unwrap_or(instance.latest));
    let change = instance.states.iter().map(|state| state.change).max();
    let end = ends.chain(ended).max().unwrap_or(start);
    (start, end + change.unwrap_or(0))
}

/// An activity with a choice of modes.
struct Choice {
    id: ActivityId,
    start: Time,
    span: (Time, Time),
    /// What it may want of resources and states, one bit for each kind of a few.
    wants: u64,
    /// Those that fit, when this was last looked at; the cheapest first.
    modes: Vec<usize>,
    /// What may have become of that since.
    stale: Stale,
    /// How often it was left none.
    trouble: u32,
}

/// What has happened since modes were last looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stale {
    /// Nothing that could change which fit.
    No,
    /// Something was put in: of those that fitted some may no longer.
    Fewer,
    /// Something was taken off: any may fit.
    Any,
}

/// A choice made.
struct Chosen {
    choice: usize,
    /// What else it might have been.
    others: Vec<usize>,
}

struct Search<'p, 'a> {
    prepared: &'p Prepared<'a>,
    board: Board<'a>,
    choices: Vec<Choice>,
    stack: Vec<Chosen>,
    failures: u32,
    /// How often modes may still be looked at.
    looks: usize,
}

impl Search<'_, '_> {
    /// Chooses a mode for everybody; returns whether that could be done.
    fn run(&mut self) -> bool {
        loop {
            match self.next() {
                Err(none) => {
                    if !self.fail(none) {
                        return false;
                    }
                }
                Ok(None) => return true,
                Ok(Some(choice)) => {
                    let mut modes = self.choices[choice].modes.clone();
                    let mode = modes.remove(0);
                    self.choose(choice, mode, modes);
                }
            }
            if self.looks == 0 {
                return false;
            }
        }
    }

    /// Returns whose turn it is, or who has no mode left.
    fn next(&mut self) -> Result<Option<usize>, usize> {
        let stands = |it: &Choice| self.board.placed[it.id.0].is_some();
        let open: Vec<usize> = (0..self.choices.len())
            .filter(|&choice| !stands(&self.choices[choice]))
            .collect();
        // Whoever had one mode left has no other now; others are looked at once for many put in, not after each.
        let one_left = |it: &Choice| it.stale != Stale::Any && it.modes.len() == 1;
        let is_sure = |&&choice: &&usize| {
            let it = &self.choices[choice];
            one_left(it) && it.stale == Stale::No
        };
        if let Some(&sure) = open.iter().find(is_sure) {
            return Ok(Some(sure));
        }
        let (likely, others): (Vec<usize>, Vec<usize>) = open
            .into_iter()
            .partition(|&choice| one_left(&self.choices[choice]));
        let mut least: Option<(usize, std::cmp::Reverse<u32>, usize)> = None;
        for choice in likely.into_iter().chain(others) {
            if self.choices[choice].stale != Stale::No {
                self.look(choice);
            }
            let it = &self.choices[choice];
            match it.modes.len() {
                0 => return Err(choice),
                1 => return Ok(Some(choice)),
                modes => {
                    let key = (modes, std::cmp::Reverse(it.trouble), choice);
                    least = Some(least.map_or(key, |least| least.min(key)));
                }
            }
        }
        Ok(least.map(|(.., choice)| choice))
    }

    fn look(&mut self, choice: usize) {
        self.looks = self.looks.saturating_sub(1);
        let (board, first) = (&mut self.board, &self.prepared.first);
        let it = &mut self.choices[choice];
        if it.stale == Stale::Any {
            it.modes = cheapest_first(&self.prepared.instance.activities[it.id.0]);
        }
        it.modes
            .retain(|&mode| could_stand_at(board, first, it.id, mode, it.start));
        it.stale = Stale::No;
    }

    fn choose(&mut self, choice: usize, mode: usize, others: Vec<usize>) {
        let Choice { id, start, .. } = self.choices[choice];
        debug_assert!(
            self.board.clone().fits(id, mode, start),
            "whoever may no longer fit has been looked at again"
        );
        self.board.place(id, mode, start);
        self.stack.push(Chosen { choice, others });
        self.touch(choice, Stale::Fewer);
    }

    fn take_back(&mut self) -> Option<Chosen> {
        let chosen = self.stack.pop()?;
        self.board.remove(self.choices[chosen.choice].id);
        self.touch(chosen.choice, Stale::Any);
        Some(chosen)
    }

    /// Notes who may fit otherwise than before, now that one has been put in or taken off.
    fn touch(&mut self, choice: usize, stale: Stale) {
        let Choice {
            id,
            span: (from, to),
            wants,
            ..
        } = self.choices[choice];
        let neighbours: Vec<ActivityId> = self.prepared.network.neighbours(id).collect();
        for it in &mut self.choices {
            let meets = it.span.0 <= to && from <= it.span.1 && it.wants & wants != 0;
            if (meets || neighbours.contains(&it.id)) && it.stale != Stale::Any {
                it.stale = stale;
            }
        }
    }

    /// Takes back what left somebody none, and chooses otherwise; returns whether anything else is left to choose.
    fn fail(&mut self, none: usize) -> bool {
        self.choices[none].trouble += 1;
        self.failures += 1;
        let again = self.failures >= FAILURES && self.failures.is_power_of_two();
        let mut chose = false;
        while let Some(Chosen { choice, mut others }) = self.take_back() {
            chose |= !others.is_empty();
            if again || others.is_empty() {
                continue;
            }
            let mode = others.remove(0);
            self.choose(choice, mode, others);
            return true;
        }
        // Begun again, unless nothing was chosen that had to be.
        again && chose
    }
}
