//! An instance made ready to be searched.

use std::sync::Arc;

use super::board::Board;
use super::facts::Facts;
use super::insert::{Failure, Insertion, Order, Standing};
use super::order::Tried;
use super::structure::Structure;
use crate::schedule::conflict::{Conflict, too_much_asked};
use crate::schedule::network::{Network, Windows};
use crate::schedule::problem::{Activity, ActivityId, Instance};
use crate::schedule::solution::Placement;

/// An instance with its network, its windows and its blocks; cheap to clone.
#[derive(Clone, Debug)]
pub(super) struct Prepared<'a> {
    pub(super) instance: &'a Instance,
    pub(super) facts: Arc<Facts<'a>>,
    pub(super) network: Arc<Network<'a>>,
    pub(super) first: Arc<Windows>,
    earliest: Arc<Vec<crate::schedule::Time>>,
    pub(super) structure: Arc<Structure>,
    /// What each block wants of resources (even numbers) and states (odd), sorted.
    pub(super) wants: Arc<Vec<Vec<usize>>>,
    /// No schedule costs less. Nothing is concluded from windows here: they know one past, and there may be others.
    pub(super) bound: i64,
}

/// The modes in which things have happened, where they had more than one.
pub(super) type Past = Vec<(ActivityId, usize)>;

/// Returns modes in which what has begun may have, one after another so that the windows are not empty, and whether
/// any other past could be meant; or why there is none.
pub(super) fn likely_past(instance: &Instance) -> Result<(Past, bool), Conflict> {
    let begun: Vec<usize> = (0..instance.activities.len())
        .filter(|&index| {
            let activity = &instance.activities[index];
            activity.fixed.is_some() && activity.modes.len() > 1
        })
        .collect();
    if begun.is_empty() {
        return Ok((Past::new(), true));
    }
    let mut network = Network::new(instance);
    network.windows()?;
    let mut past = Past::new();
    for &index in &begun {
        let id = ActivityId(index);
        let activity = &instance.activities[index];
        let it_ends = |&mode: &usize| ends(instance, activity, mode);
        let mut ending = (0..activity.modes.len()).filter(it_ends);
        let holds = ending.clone().find(|&mode| {
            network.choose(id, Some(mode));
            network.windows().is_ok()
        });
        // One that never ends is never laid out: its looks would have no end either.
        let mode = holds.or_else(|| ending.next()).unwrap_or(0);
        network.choose(id, Some(mode));
        past.push((id, mode));
    }
    Ok((past, false))
}

/// Returns the past that a schedule tells of.
pub(super) fn past_of(instance: &Instance, placements: &[Placement]) -> Past {
    let activities = instance.activities.iter().zip(placements).enumerate();
    activities
        .filter(|(_, (activity, _))| activity.fixed.is_some() && activity.modes.len() > 1)
        .map(|(index, (_, placed))| (ActivityId(index), placed.mode))
        .collect()
}

impl<'a> Prepared<'a> {
    /// Returns the instance made ready, or why it has no schedule where that is seen at once; `past` says in
    /// which modes things have happened.
    pub(super) fn new(instance: &'a Instance, past: &Past) -> Result<Self, Conflict> {
        if let Some(conflict) = too_much_asked(instance).or_else(|| never_ends(instance)) {
            return Err(conflict);
        }
        let mut network = Network::new(instance);
        for &(activity, mode) in past {
            network.choose(activity, Some(mode));
        }
        let first = network.windows()?;
        let structure = Structure::new(instance, &network);
        Ok(Self {
            instance,
            facts: Arc::new(Facts::new(instance)),
            earliest: Arc::new(first.earliest.clone()),
            bound: 0,
            wants: Arc::new(wants(instance, &structure)),
            network: Arc::new(network),
            first: Arc::new(first),
            structure: Arc::new(structure),
        })
    }

    /// Returns a board on which only what has happened stands.
    pub(super) fn board(&self) -> Board<'a> {
        Board::new(&self.facts, &self.network, &self.earliest)
    }

    /// Returns a board with everything where these placements put it.
    pub(super) fn board_of(&self, placements: &[Placement]) -> Board<'a> {
        let mut board = self.board();
        for (index, placed) in placements.iter().enumerate() {
            if self.instance.activities[index].fixed.is_none() {
                board.place(ActivityId(index), placed.mode, placed.start);
            }
        }
        board
    }

    /// Returns the blocks that have not happened.
    pub(super) fn to_come(&self) -> Vec<usize> {
        let blocks = 0..self.structure.blocks.len();
        blocks.filter(|&block| self.is_to_come(block)).collect()
    }

    /// Returns whether a block has not happened.
    pub(super) fn is_to_come(&self, block: usize) -> bool {
        let id = self.structure.blocks[block].members[0].id;
        self.instance.activities[id.0].fixed.is_none()
    }

    /// Returns the board that placing all blocks in this order leads to; adds the placements made to `work`.
    /// When it fails, or has looked at `looks` stretches, the board as it stood comes back with why.
    pub(super) fn decode(
        &self,
        order: &Tried,
        take_backs: u32,
        looks: u64,
        work: &mut u64,
    ) -> Result<Board<'a>, Box<(Failure, Board<'a>)>> {
        let mut board = self.board();
        board.allow(looks);
        board.wary = order.number.is_multiple_of(2);
        let mut standing = Standing::new(&self.structure, &board);
        let mut windows = (*self.first).clone();
        let number = order.number;
        let mut insertion = Insertion {
            board: &mut board,
            windows: &mut windows,
            first: &self.first,
            structure: &self.structure,
            standing: &mut standing,
            order: Order {
                keys: &order.keys,
                draw: u64::from(number),
                close_first: number % 4 < 3,
                sends_far: number.is_multiple_of(2),
                take_backs,
                starts: 3,
            },
        };
        let done = insertion.run(&self.to_come());
        *work += standing.placements().max(4);
        match done {
            Ok(()) => Ok(board),
            Err(failure) => Err(Box::new((failure, board))),
        }
    }
}

/// Returns how many stretches of so many blocks a search may look at in one go: some ten times what the busiest of
/// common ones do, and a fraction of a second.
pub(super) fn looks(blocks: usize) -> u64 {
    2_000_000 + 60_000 * blocks as u64
}

fn wants(instance: &Instance, structure: &Structure) -> Vec<Vec<usize>> {
    let mut wants: Vec<Vec<usize>> = vec![Vec::new(); structure.blocks.len()];
    for (index, activity) in instance.activities.iter().enumerate() {
        let list = &mut wants[structure.block_of[index]];
        for mode in &activity.modes {
            list.extend(mode.demands.iter().map(|demand| 2 * demand.resource.0));
            list.extend(mode.states.iter().map(|&(state, _)| 2 * state.0 + 1));
        }
    }
    for hold in &instance.holds {
        for id in [hold.from.0, hold.to.0] {
            wants[structure.block_of[id.0]].push(2 * hold.resource.0);
        }
    }
    for list in &mut wants {
        list.sort_unstable();
        list.dedup();
    }
    wants
}

/// Returns whether what has happened has an end in a mode: one that is known, or where its gate opens once more.
fn ends(instance: &Instance, activity: &Activity, mode: usize) -> bool {
    activity.fixed.is_some_and(|(start, end)| {
        end.is_some() || instance.end_of(&activity.modes[mode], start).is_some()
    })
}

/// Returns what has begun and waits for a gate that does not open any more.
fn never_ends(instance: &Instance) -> Option<Conflict> {
    let activities = instance.activities.iter().enumerate();
    activities
        .filter_map(|(index, activity)| Some((index, activity, activity.fixed?.0)))
        .find(|(_, activity, _)| {
            !(0..activity.modes.len()).any(|mode| ends(instance, activity, mode))
        })
        .map(|(index, _, start)| Conflict::Window {
            activity: ActivityId(index),
            earliest: start,
            latest: start - 1,
            moved_by: Vec::new(),
        })
}
